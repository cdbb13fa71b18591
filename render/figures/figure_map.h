/* The map's page, drawn but not written: what figure_map() does before it saves. */
#ifndef RENDER_FIGURES_FIGURE_MAP_H
#define RENDER_FIGURES_FIGURE_MAP_H

#include "page.h"
#include "tone.h"

/* Where things came to lie, for those who look at the finished page. */
struct map_layout {
    struct rect map, bar_panel;
    double px_per_mm;
    size_t unnamed_fields;
};

/* Begins the page, draws it; the caller ends it. *caption, when not NULL, is the caller's to free. */
int figure_map_draw(struct page *page, const struct scene *scene, const struct luxfall_result *result, size_t plane,
                    const struct figure_style *style, struct map_layout *layout, char **caption,
                    struct figure_error *error);
#endif
