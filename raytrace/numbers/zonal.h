/* Functions on the sphere that depend on the angle from an axis alone, as series of Legendre polynomials: to turn
 * every direction by a random angle is to multiply term by term (Driscoll and Healy, Adv. Appl. Math. 15, 202
 * (1994), theorem 1, from memory). METHODS eq. (71). */
#ifndef RAYTRACE_NUMBERS_ZONAL_H
#define RAYTRACE_NUMBERS_ZONAL_H

enum { ZONAL_MAX = 1600 };

/* Value at an angle a: sum of c_l P_l(cos a), l < count. */
struct zonal {
    int count;
    double c[ZONAL_MAX];
};

/* Terms that a Gaussian of this standard deviation leaves above 1e-9, at most ZONAL_MAX. */
int zonal_terms(double spread_rad);
/* Density over solid angle of flux given in rings: ring k of `rings` lies between k and k + 1 of their shares of
 * pi/2. */
void zonal_of_rings(int rings, const double *flux, int count, struct zonal *out);
/* By which turning with a density of sin g exp(-g^2 / 2 s^2) multiplies each term; 1 first. */
void zonal_gaussian(double spread_rad, int count, double *factor);
double zonal_value(const struct zonal *zonal, double angle_rad);
/* Full angle at half of the value on the axis; pi when it is nowhere so low. */
double zonal_width(const struct zonal *zonal);
#endif
