/* The layout sheet's insides: the whole lamp from the side. */
#ifndef RENDER_FIGURES_LAYOUT_SHEET_H
#define RENDER_FIGURES_LAYOUT_SHEET_H

#include "bracket_sheet.h"

/* What a test wants to know of it. */
struct layout_side {
    struct drawing drawing;
    bool along_y; /* seen from +x, y to the right; otherwise from -y, x to the right */
    double height_mm;
    struct segment height; /* the dimension line of the highest module; mm of paper */
    size_t numbered;
};
void layout_side_draw(struct sheet *sheet, struct rect box, struct layout_side *side);

/* figure_layout.c: draws the page; the caller ends it, also after a failure. */
int figure_layout_draw(struct page *page, const struct scene *scene, const struct figure_style *style,
                       struct sheet_layout *plan, struct layout_side *side, struct figure_error *error);
#endif
