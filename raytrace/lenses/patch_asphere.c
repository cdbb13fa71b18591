/* Rotational aspheres: a conic and even powers of the radius, ISO 10110-12. METHODS eq. (22). */
#include "lenses/patch.h"

#include <math.h>

struct patch patch_asphere(double vertex_mm, double curvature_per_mm, double conic_constant, int poly_count,
                           const double *poly) {
    struct patch patch = patch_conic(vertex_mm, curvature_per_mm, conic_constant);
    patch.kind = poly_count > 0 ? PATCH_ASPHERE : PATCH_QUADRIC;
    patch.poly_count = poly_count;
    for (int k = 0; k < poly_count; k++)
        patch.poly[k] = poly[k];
    return patch;
}

static double even_powers(int count, const double *poly, double r2) {
    double sum = 0;
    for (int k = count - 1; k >= 0; k--)
        sum = sum * r2 + poly[k];
    return sum * r2 * r2;
}

/* d/d(r^2) of that. */
static double even_slopes(int count, const double *poly, double r2) {
    double sum = 0;
    for (int k = count - 1; k >= 0; k--)
        sum = sum * r2 + (k + 2) * poly[k];
    return sum * r2;
}

double conic_sag(double curvature_per_mm, double conic_constant, int poly_count, const double *poly,
                 double radius_mm) {
    double r2 = radius_mm * radius_mm;
    double under = 1 - (1 + conic_constant) * curvature_per_mm * curvature_per_mm * r2;
    if (under < 0 && under > -1e-12)
        under = 0; /* the equator of a ball, rounded */
    return curvature_per_mm * r2 / (1 + sqrt(under)) + even_powers(poly_count, poly, r2);
}

static double aspheric_value(const struct patch *patch, const double p[3]) {
    double r2 = p[0] * p[0] + p[1] * p[1], w = p[2] - even_powers(patch->poly_count, patch->poly, r2);
    return patch->a * r2 + (patch->b * w + patch->c) * w + patch->d;
}

static void aspheric_gradient(const struct patch *patch, const double p[3], double out[3]) {
    double r2 = p[0] * p[0] + p[1] * p[1], w = p[2] - even_powers(patch->poly_count, patch->poly, r2);
    double rise = 2 * patch->b * w + patch->c;
    double radial = 2 * (patch->a - rise * even_slopes(patch->poly_count, patch->poly, r2));
    out[0] = radial * p[0];
    out[1] = radial * p[1];
    out[2] = rise;
}

const struct patch_surface patch_aspheric = {.value = aspheric_value, .gradient = aspheric_gradient};
