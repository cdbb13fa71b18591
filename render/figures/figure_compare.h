/* The page of small multiples, drawn but not written. */
#ifndef RENDER_FIGURES_FIGURE_COMPARE_H
#define RENDER_FIGURES_FIGURE_COMPARE_H

#include "page.h"

/* Begins the page and draws it; the caller ends it and frees *caption. */
int figure_compare_draw(struct page *page, size_t count, const struct scene *const *scenes,
                        const struct luxfall_result *const *results, const char *const *names, size_t plane,
                        const struct figure_style *style, char **caption, struct figure_error *error);
#endif
