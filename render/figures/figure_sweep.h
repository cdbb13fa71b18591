/* The page of curves over a varied number, drawn but not written. */
#ifndef RENDER_FIGURES_FIGURE_SWEEP_H
#define RENDER_FIGURES_FIGURE_SWEEP_H

#include "sweep_panel.h"

/* Begins the page and draws it; the caller ends it. The panels are told where they came to lie: room for panel_count
 * of them. */
int figure_sweep_draw(struct page *page, const struct figure_sweep *sweep, const struct figure_style *style,
                      struct sweep_panel *panels, struct figure_error *error);
#endif
