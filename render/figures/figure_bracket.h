/* The workshop sheet's insides, for its tests. */
#ifndef RENDER_FIGURES_FIGURE_BRACKET_H
#define RENDER_FIGURES_FIGURE_BRACKET_H

#include "bracket_sheet.h"

/* Draws one page of the sheet; the caller ends the page, also after a failure. */
int figure_bracket_draw(struct page *page, const struct scene *scene, size_t number, const struct figure_style *style,
                        struct sheet_layout *layout, struct figure_error *error);

#endif
