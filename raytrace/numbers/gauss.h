/* Nodes and weights for smooth integrals. */
#ifndef RAYTRACE_NUMBERS_GAUSS_H
#define RAYTRACE_NUMBERS_GAUSS_H

#include <stddef.h>

enum { GAUSS_MAX = 64 };

/* Gauss-Legendre rule of n points (1 .. GAUSS_MAX) on [-1, 1]; Newton's method on the Legendre recurrence,
 * Abramowitz and Stegun 25.4.29. Weights add to 2. */
void gauss_legendre(int n, double *x, double *w);

/* Panels: ascending edges[0 .. count]; the integral of f over all of them, 16 points a panel. */
double gauss_panels(double (*f)(const void *data, double x), const void *data, const double *edges, size_t count);

/* Even averages over a disc of radius 1 (exact up to degree 2 order - 1): order rings, 2 order nodes on each, Gauss
 * in r^2; order 1 is the centre alone. Returns the count of nodes, at most DISC_NODES_MAX; weights add to 1. */
enum { DISC_ORDER_MAX = 32, DISC_NODES_MAX = 2 * DISC_ORDER_MAX * DISC_ORDER_MAX };
int gauss_disc(int order, double *x, double *y, double *w);

/* The same over the square [-1, 1]^2: order^2 nodes. */
int gauss_square(int order, double *x, double *y, double *w);
#endif
