/* The page of a difference between two maps, drawn but not written. */
#ifndef RENDER_FIGURES_FIGURE_DIFFERENCE_H
#define RENDER_FIGURES_FIGURE_DIFFERENCE_H

#include "figure_map.h"

struct difference_words {
    char *title, *caption; /* the caller's to free */
};

/* Begins the page, draws it; the caller ends it. *limit: the percent at the bar's ends. */
int figure_difference_draw(struct page *page, const struct scene *const scenes[2],
                           const struct luxfall_result *const results[2], const char *const names[2], size_t plane,
                           const struct figure_style *style, struct difference_words *words,
                           struct map_layout *layout, double *limit, struct figure_error *error);
#endif
