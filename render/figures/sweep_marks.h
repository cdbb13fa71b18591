/* Names of places along the axis, in rows above the panels, each with a line down from it. */
#ifndef RENDER_FIGURES_SWEEP_MARKS_H
#define RENDER_FIGURES_SWEEP_MARKS_H

#include "page.h"

struct mark_label {
    const char *string;
    double x;      /* px of its line */
    double x0, x1; /* px that the label takes, its line included */
    double cut;    /* most px of its text; 0: it has room */
    double lacks;  /* px that are cut off */
    int row;       /* from the top */
    bool leftwards;
};

/* Sides and rows of labels that know their x, within bounds from left to right: no label touches another, and no line
 * runs through one as long as that can be had. Returns the number of rows. */
int mark_labels_place(struct page *page, struct mark_label *labels, size_t count, double left, double right);
double mark_labels_height(const struct page *page, int rows);
/* Lines from the labels, whose rows begin at top, down to bottom; and the labels. */
void mark_lines_draw(struct page *page, const struct mark_label *labels, size_t count, double top, double bottom);
void mark_labels_draw(struct page *page, const struct mark_label *labels, size_t count, double top);

#endif
