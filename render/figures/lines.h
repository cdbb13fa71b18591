/* Lines of equal value on a page: contours moved to px, drawn round, and the places for their labels. */
#ifndef RENDER_FIGURES_LINES_H
#define RENDER_FIGURES_LINES_H

#include "contours.h"
#include "labels.h"

bool line_is_ring(const struct contour_point *points, size_t count);
double line_length(const struct contour_point *points, size_t count);
void line_path(cairo_t *cr, const struct contour_point *points, size_t count);

/* A place on the line for a label of this size, padded at its sides: free of other words, clear of frames, over as
 * little of the other lines as may be (NULL: there are none), towards the lower right if it may. */
bool line_label_spot(const struct clutter *clutter, const struct clutter *others, struct rect within,
                     const struct contour_point *points, size_t count, struct rect size, double pad,
                     struct rect *box);
/* The same; where other lines would be under it, rather beside its own with a leader to it, in a place that is free
 * of all lines. */
struct label_place line_label_place(const struct clutter *clutter, const struct clutter *others, struct rect within,
                                    const struct contour_point *points, size_t count, struct rect size, double pad);

#endif
