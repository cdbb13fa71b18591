/* The layout sheet's insides: the whole lamp from the side. */
#ifndef RENDER_FIGURES_LAYOUT_SHEET_H
#define RENDER_FIGURES_LAYOUT_SHEET_H

#include "bracket_sheet.h"

/* What a test wants to know of it. */
struct layout_side {
    struct drawing drawing;
    bool crowded;
    bool along_y; /* seen from +x, y to the right; otherwise from -y, x to the right */
    double height_mm;
    struct segment height; /* the dimension line of the highest module; mm of paper */
    size_t numbered;
    struct clutter clutter; /* of the whole sheet: words, and lines that they keep off; the caller frees */
};
void layout_side_draw(struct sheet *sheet, struct rect box, struct layout_side *side);
/* Along the view, mm of scene; and of the circle about a module that is clear of its body, mm of paper. */
double layout_across(const struct layout_side *side, struct luxfall_vec at);
double layout_radius(const struct layout_side *side, size_t module);

/* layout_numbers.c: beside the modules, with leaders where they stand close; clear of lines if it may be. */
void layout_numbers_write(struct layout_side *side);

/* figure_layout.c: draws the page; the caller ends it and frees the side's clutter, also after a failure. */
int figure_layout_draw(struct page *page, const struct scene *scene, const struct figure_style *style,
                       struct sheet_layout *plan, struct layout_side *side, struct figure_error *error);
#endif
