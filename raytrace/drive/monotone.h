/* A curve through points that turns nowhere between them: Fritsch and Butland 1984. METHODS eq. (46)-(48). */
#ifndef RAYTRACE_DRIVE_MONOTONE_H
#define RAYTRACE_DRIVE_MONOTONE_H

#include <stddef.h>

/* The value at `at`, x[0] <= at <= x[count-1]; x ascends, two points or more. At a point, its own bits. */
double monotone_cubic(size_t count, const double *x, const double *y, double at);
#endif
