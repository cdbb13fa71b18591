/* Values with bands from independent replicates. METHODS section 7, eq. (40)-(44).
 *
 * The unit of observation is one replicate. With a single one (the direct way) there is a value and no band: u95 NaN.
 */
#ifndef RAYTRACE_MAPS_ESTIMATE_H
#define RAYTRACE_MAPS_ESTIMATE_H

#include "luxfall.h"

/* Two-sided 95 % point of Student's t for count - 1 degrees of freedom; count is 16 or 32. */
double t95(int count);

/* Half-widths of extremes are wider: the place was chosen, though by other replicates. */
#define EXTREME_FACTOR 1.25

/* Mean of values[0], values[stride], ...; band factor x t x standard error. */
struct luxfall_estimate estimate_mean(const double *values, size_t stride, int count, double factor);

/* f of all replicates (left_out = -1) and with each left out in turn: delete-one jackknife.
 * unbias: takes the jackknife's estimate of the bias off the value. */
typedef double leave_out_function(const void *data, int left_out);
struct luxfall_estimate estimate_jackknife(leave_out_function *f, const void *data, int count, double factor,
                                           bool unbias);

struct luxfall_estimate estimate_none(void);
#endif
