/* A side of a plot with its ticks, numbers and words; and the pens that tell its curves apart. */
#ifndef RENDER_FIGURES_AXIS_H
#define RENDER_FIGURES_AXIS_H

#include "colour_scale.h"
#include "page.h"
#include "ticks.h"

enum side { SIDE_LEFT, SIDE_RIGHT, SIDE_ABOVE, SIDE_BELOW };

struct axis {
    enum side side;
    struct ticks ticks;
    double px[TICKS_MAX]; /* where they stand along the side, on the page */
    const char *label;    /* NULL: none */
    double label_px;      /* a longer label takes up to three lines, then ends in an ellipsis; 0: no limit */
    double text_scale;    /* 0: 1; smaller in small multiples */
};

/* Round numbers from lo to hi whose texts stand well apart along length_px; at least one. */
struct ticks axis_ticks(struct page *page, enum side side, double lo, double hi, double length_px, double text_scale);
/* The same for an axis whose values are known: a single one has one number, and whole ones, which count things, have
 * no halves between them. */
struct ticks axis_ticks_of(struct page *page, enum side side, size_t count, const double *values, double lo,
                           double hi, double length_px);
/* "label (unit)", without the unit where there is none. */
void axis_label(char *out, size_t size, const char *label, const char *unit);
/* Places the ticks evenly: lo at lo_px, hi at hi_px. */
void axis_place(struct axis *axis, double lo, double hi, double lo_px, double hi_px);
double axis_number_width(struct page *page, const struct axis *axis, int i);
/* px that numbers and words take outside the plot. */
double axis_depth(struct page *page, const struct axis *axis);
void axis_draw(struct page *page, const struct axis *axis, struct rect plot);

/* Curves are told apart by their dashes; colours, of rising lightness, help where there are colours. */
struct pen {
    struct ink ink;
    int style;
};
struct pen pen_of(const struct colour_scale *colours, size_t index, size_t count);
void pen_take(struct page *page, struct pen pen);
void pen_rest(struct page *page); /* no dashes */

#endif
