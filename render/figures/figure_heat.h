/* The page of one statistic over two varied numbers, drawn but not written. */
#ifndef RENDER_FIGURES_FIGURE_HEAT_H
#define RENDER_FIGURES_FIGURE_HEAT_H

#include "tone.h"

/* Where things came to lie: the plot, and the numbers at its sides. */
struct heat_layout {
    struct rect plot;
    double x_from, x_to, y_from, y_to;
    struct tone tone;
};

/* Begins the page, draws it; the caller ends it and frees *caption. */
int figure_heat_draw(struct page *page, const struct figure_heat *heat, const struct figure_style *style,
                     struct heat_layout *layout, char **caption, struct figure_error *error);
#endif
