/* Walls of any smooth shape, METHODS eq. (66): r^2 as a Chebyshev series of the height, which holds an analytic curve
 * to a dozen digits with some twenty terms (J. P. Boyd, "Chebyshev and Fourier Spectral Methods", 2nd ed. 2001, sec.
 * 2). */
#include "lenses/patch.h"

#include <math.h>

static const double PI = 3.14159265358979323846;

/* G(u) and dG/du by Clenshaw's recurrence for the series and its derivative. */
static double series(const struct patch *patch, double u, double *slope) {
    double b1 = 0, b2 = 0, d1 = 0, d2 = 0;
    for (int k = patch->poly_count - 1; k > 0; k--) {
        double b = patch->poly[k] + 2 * u * b1 - b2, d = 2 * b1 + 2 * u * d1 - d2;
        b2 = b1;
        b1 = b;
        d2 = d1;
        d1 = d;
    }
    *slope = b1 + u * d1 - d2;
    return patch->poly[0] + u * b1 - b2;
}

/* Chebyshev coefficients of r^2 through as many nodes. */
static void series_of(int count, const double *r2, double *out) {
    for (int k = 0; k < count; k++) {
        out[k] = 0;
        for (int i = 0; i < count; i++)
            out[k] += r2[i] * cos(PI * k * (i + 0.5) / count);
        out[k] *= (k == 0 ? 1.0 : 2.0) / count;
    }
}

/* The first `count` terms, so that it is the derivative's series that ends there: light is sent by the slope, and a
 * value's series cut off has its worst slope at the ends. c_k = (d_(k-1) - d_(k+1)) / 2 k (Boyd 2001, app. A). */
static void shorten_by_slope(int whole, const double *from, int count, double *out) {
    double slope[2 * PATCH_POLY_MAX + 2] = {0};
    for (int k = whole - 1; k > 0; k--)
        slope[k - 1] = slope[k + 1] + 2 * k * from[k];
    out[0] = from[0];
    for (int k = 1; k < count; k++)
        out[k] = (slope[k - 1] - (k + 1 < count - 1 ? slope[k + 1] : 0)) / (2 * k);
}

struct patch patch_profile(double z1_mm, double z2_mm, int count, double (*radius_mm)(const void *data, double z_mm),
                           const void *data) {
    struct patch patch = patch_without_bounds(PATCH_PROFILE, (z1_mm + z2_mm) / 2);
    double r2[2 * PATCH_POLY_MAX], terms[2 * PATCH_POLY_MAX] = {0}, largest = 0;
    const int nodes = 2 * count;
    patch.half_mm = fabs(z2_mm - z1_mm) / 2;
    patch.poly_count = count;
    patch.z_low_mm = fmin(z1_mm, z2_mm);
    patch.z_high_mm = fmax(z1_mm, z2_mm);
    for (int i = 0; i < nodes; i++) {
        double r = radius_mm(data, patch.vertex_mm + patch.half_mm * cos(PI * (i + 0.5) / nodes));
        r2[i] = r * r;
        largest = fmax(largest, r);
    }
    series_of(nodes, r2, terms);
    shorten_by_slope(nodes, terms, count, patch.poly);
    patch.radius_high_mm = largest * 1.01;
    patch.a = 1 / (2 * largest);
    return patch;
}

static double profiled_value(const struct patch *patch, const double p[3]) {
    double slope;
    return patch->a * (p[0] * p[0] + p[1] * p[1] - series(patch, p[2] / patch->half_mm, &slope));
}

static void profiled_gradient(const struct patch *patch, const double p[3], double out[3]) {
    double slope;
    series(patch, p[2] / patch->half_mm, &slope);
    out[0] = 2 * patch->a * p[0];
    out[1] = 2 * patch->a * p[1];
    out[2] = -patch->a * slope / patch->half_mm;
}

const struct patch_surface patch_profiled = {.value = profiled_value, .gradient = profiled_gradient};
