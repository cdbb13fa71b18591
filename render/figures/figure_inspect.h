/* The page of one module by itself, drawn but not written. */
#ifndef RENDER_FIGURES_FIGURE_INSPECT_H
#define RENDER_FIGURES_FIGURE_INSPECT_H

#include "page.h"

/* Where the intensity came to lie, for those who look at the finished page: -last_deg .. last_deg, 0 .. top_cd. */
struct inspect_layout {
    struct rect plot;
    double last_deg, top_cd;
};

/* Begins the page and draws it; the caller ends it. */
int figure_inspect_draw(struct page *page, const struct figure_inspect *shown, const struct figure_style *style,
                        struct inspect_layout *layout, struct figure_error *error);
#endif
