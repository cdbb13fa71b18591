/* The incomplete beta function, for the tails of Student's t and Fisher's F. */
#ifndef RAYTRACE_NUMBERS_BETA_H
#define RAYTRACE_NUMBERS_BETA_H

/* I_x(a, b), regularised; 0 <= x <= 1, a and b above 0. Abramowitz and Stegun 26.5. */
double beta_share(double x, double a, double b);

/* That F with k and dof degrees of freedom comes out as high by chance, from what is left of the squares once the k
 * columns have explained theirs: F = ((1 - left) / k) / (left / dof). */
double chance_of_f(double left, int k, int dof);
#endif
