/* A function of two variables, asked a few times and known everywhere: a rectangle cut into quarters until a
 * polynomial through Chebyshev points holds in each part (barycentric form: Berrut and Trefethen, SIAM Review 46
 * (2004) 501). */
#ifndef RAYTRACE_NUMBERS_SHEET_H
#define RAYTRACE_NUMBERS_SHEET_H

#include <stdbool.h>

/* Values at count places; may be called with any number at once. */
typedef void sheet_function(const void *data, int count, const double *x, const double *y, double *out);

struct sheet;

/* Over [x0, x1] x [y0, y1]. Parts are cut until probes agree within tolerance x the largest value seen, or until they
 * are too many; then sheet_error() is larger. NULL out of memory. */
struct sheet *sheet_make(sheet_function *f, const void *data, double x0, double x1, double y0, double y1,
                         double tolerance);
void sheet_free(struct sheet *sheet); /* accepts NULL */

/* Inside the rectangle; outside, the value of the nearest part runs on. */
double sheet_at(const struct sheet *sheet, double x, double y);
bool sheet_covers(const struct sheet *sheet, double x0, double x1, double y0, double y1);

/* Largest difference met at a probe of a part that was kept, over the largest value. */
double sheet_error(const struct sheet *sheet);
#endif
