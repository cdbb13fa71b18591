/* The pages of profiles, drawn but not written. */
#ifndef RENDER_FIGURES_FIGURE_SECTION_H
#define RENDER_FIGURES_FIGURE_SECTION_H

#include "page.h"

/* Begin the page and draw it; the caller ends it and frees *caption. */
int figure_section_draw(struct page *page, const struct scene *scene, const struct luxfall_result *result,
                        size_t plane, const struct figure_style *style, char **caption, struct figure_error *error);
int figure_compare_sections_draw(struct page *page, size_t count, const struct scene *const *scenes,
                                 const struct luxfall_result *const *results, const char *const *names, size_t plane,
                                 const struct figure_style *style, char **caption, struct figure_error *error);
#endif
