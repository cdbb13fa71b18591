/* Quadrics of revolution, in closed form. METHODS eq. (20), (21). */
#include "lenses/patch.h"
#include "lenses/vector3.h"

#include <math.h>

struct patch patch_plane(double vertex_mm) {
    struct patch patch = patch_without_bounds(PATCH_QUADRIC, vertex_mm);
    patch.c = 1;
    return patch;
}

/* c r^2 + c (1 + K) w^2 - 2 w = 0, halved and turned so that +z is up. */
struct patch patch_conic(double vertex_mm, double curvature_per_mm, double conic_constant) {
    struct patch patch = patch_without_bounds(PATCH_QUADRIC, vertex_mm);
    patch.a = -curvature_per_mm / 2;
    patch.b = -curvature_per_mm * (1 + conic_constant) / 2;
    patch.c = 1;
    return patch;
}

struct patch patch_cylinder(double radius_mm) {
    struct patch patch = patch_without_bounds(PATCH_QUADRIC, 0);
    patch.a = 1 / (2 * radius_mm);
    patch.d = -radius_mm / 2;
    return patch;
}

struct patch patch_ring(double z_mm, double low_mm, double high_mm) {
    struct patch patch = patch_plane(z_mm);
    patch.radius_low_mm = low_mm;
    patch.radius_high_mm = high_mm;
    return patch;
}

struct patch patch_tube(double radius_mm, double low_mm, double high_mm) {
    struct patch patch = patch_cylinder(radius_mm);
    patch.z_low_mm = low_mm;
    patch.z_high_mm = high_mm;
    return patch;
}

/* r^2 = (r1 + s (z - z1))^2; the tip's other side is cut off by the bounds. */
struct patch patch_cone(double z1_mm, double r1_mm, double z2_mm, double r2_mm) {
    double slope = (r2_mm - r1_mm) / (z2_mm - z1_mm), scale = 1 / (fmax(r1_mm, r2_mm) * 2);
    struct patch patch = patch_without_bounds(PATCH_QUADRIC, z1_mm);
    patch.a = scale;
    patch.b = -scale * slope * slope;
    patch.c = -scale * 2 * r1_mm * slope;
    patch.d = -scale * r1_mm * r1_mm;
    patch.z_low_mm = fmin(z1_mm, z2_mm);
    patch.z_high_mm = fmax(z1_mm, z2_mm);
    return patch;
}

/* The root of A t^2 + B t + C with F rising (up) or falling, by the form that does not subtract. METHODS eq. (21). */
static bool quadric_root(double a2, double b1, double c0, bool going_up, double *t) {
    double disc = b1 * b1 - 4 * a2 * c0;
    if (!(disc >= 0))
        return false;
    double s = going_up ? sqrt(disc) : -sqrt(disc); /* F' at the root */
    if ((b1 > 0) == going_up && b1 + s != 0) {
        *t = -2 * c0 / (b1 + s);
        return true;
    }
    *t = (s - b1) / (2 * a2);
    return a2 != 0;
}

static double quadric_value(const struct patch *patch, const double p[3]) {
    return patch->a * (p[0] * p[0] + p[1] * p[1]) + (patch->b * p[2] + patch->c) * p[2] + patch->d;
}

static void quadric_gradient(const struct patch *patch, const double p[3], double out[3]) {
    out[0] = 2 * patch->a * p[0];
    out[1] = 2 * patch->a * p[1];
    out[2] = 2 * patch->b * p[2] + patch->c;
}

/* Slope of F along a ray, of single precision too, that has just come back from the patch and should have none. */
static const double TURNED_BY_ROUNDING = 1e-6;

static bool quadric_cross(const struct patch *patch, const struct line *line, bool going_up, double *t_mm) {
    /* the start moves near to the vertex: a far one would drown the surface in rounding; on the patch it stays */
    double advance = line->own ? 0 : -dot3(line->p, line->d), p[3], t;
    along3(line->p, advance, line->d, p);
    const double *d = line->d;
    double a2 = patch->a * (d[0] * d[0] + d[1] * d[1]) + patch->b * d[2] * d[2];
    double b1 = 2 * (patch->a * (p[0] * d[0] + p[1] * d[1]) + patch->b * p[2] * d[2]) + patch->c * d[2];
    if (line->own) { /* the other root; a ray that rounding alone has turned outwards is held at once */
        *t_mm = fabs(b1) < TURNED_BY_ROUNDING ? fmax(-b1 / a2, 0) : -b1 / a2;
        return a2 != 0 && (a2 > 0) == going_up;
    }
    if (!quadric_root(a2, b1, quadric_value(patch, p), going_up, &t))
        return false;
    *t_mm = advance + t;
    return true;
}

const struct patch_surface patch_quadric = {
    .value = quadric_value, .gradient = quadric_gradient, .cross = quadric_cross};
