/* Means over discs and rectangles of functions that may have narrow parts or kinks: cut into quarters until they
 * hold. */
#ifndef RAYTRACE_NUMBERS_ADAPTIVE_H
#define RAYTRACE_NUMBERS_ADAPTIVE_H

#include <stdbool.h>

typedef double adaptive_function(const void *data, double x, double y);

/* Mean of f over a centred disc (diameter width) or rectangle, to tolerance x the mean, or x what is negligible where
 * that is more, where the cuts suffice. */
double adaptive_mean(bool round, double width, double height, adaptive_function *f, const void *data,
                     double tolerance, double negligible);
#endif
