#include "numbers/zonal.h"

#include "numbers/gauss.h"

#include <math.h>

static const double PI = 3.14159265358979323846;

/* P_0 .. P_(count-1) at x. Abramowitz and Stegun 8.5.3. */
static void legendre(double x, int count, double *p) {
    p[0] = 1;
    if (count > 1)
        p[1] = x;
    for (int l = 1; l + 1 < count; l++)
        p[l + 1] = ((2 * l + 1) * x * p[l] - l * p[l - 1]) / (l + 1);
}

int zonal_terms(double spread_rad) {
    const double reach = 6.5; /* exp(-reach^2 / 2) = 7e-10 */
    double terms = reach / spread_rad + 8;
    return terms < ZONAL_MAX ? (int)terms : ZONAL_MAX;
}

void zonal_of_rings(int rings, const double *flux, int count, struct zonal *out) {
    double p[ZONAL_MAX];
    *out = (struct zonal){.count = count};
    for (int k = 0; k < rings; k++) {
        if (flux[k] == 0)
            continue;
        legendre(cos((k + 0.5) * PI / 2 / rings), count, p);
        for (int l = 0; l < count; l++)
            out->c[l] += flux[k] * (2 * l + 1) / (4 * PI) * p[l];
    }
}

void zonal_gaussian(double spread_rad, int count, double *factor) {
    enum { PANELS = 12, POINTS = 16 };
    double x[POINTS], w[POINTS], p[ZONAL_MAX], reach_rad = fmin(PI, 9 * spread_rad), whole = 0;
    gauss_legendre(POINTS, x, w);
    for (int l = 0; l < count; l++)
        factor[l] = 0;
    for (int i = 0; i < PANELS * POINTS; i++) {
        double angle = reach_rad / PANELS * (i / POINTS + (1 + x[i % POINTS]) / 2), turns = angle / spread_rad;
        double weight = w[i % POINTS] * sin(angle) * exp(-turns * turns / 2);
        legendre(cos(angle), count, p);
        whole += weight;
        for (int l = 0; l < count; l++)
            factor[l] += weight * p[l];
    }
    for (int l = 0; l < count; l++)
        factor[l] /= whole;
}

double zonal_value(const struct zonal *zonal, double angle_rad) {
    double p[ZONAL_MAX], sum = 0;
    legendre(cos(angle_rad), zonal->count, p);
    for (int l = 0; l < zonal->count; l++)
        sum += zonal->c[l] * p[l];
    return sum;
}

double zonal_width(const struct zonal *zonal) {
    double half = zonal_value(zonal, 0) / 2, low = 0, step = 1.0 / zonal->count;
    while (low + step < PI / 2 && zonal_value(zonal, low + step) > half)
        low += step;
    if (low + step >= PI / 2)
        return PI;
    double high = low + step;
    for (int i = 0; i < 50; i++) {
        double middle = (low + high) / 2;
        if (zonal_value(zonal, middle) > half)
            low = middle;
        else
            high = middle;
    }
    return low + high;
}
