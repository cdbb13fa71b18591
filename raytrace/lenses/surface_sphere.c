/* The sphere seen from its vertex: with p from the vertex and curvature c, F(p) = c p.p - 2 p_z = 0. METHODS eq.
 * (20). Nothing of the size of the radius is ever subtracted, so a nearly flat sphere is as exact as a plane. */
#include "lenses/surface.h"
#include "lenses/vector3.h"

#include <math.h>

/* Root of c t^2 - 2 b t + e = 0 with dF/dt < 0 (up) or > 0 (down), without cancellation. METHODS eq. (21). */
static bool root_of_sense(double c, double b, double e, enum surface_sense sense, double *t) {
    const double discriminant = b * b - c * e;
    if (!(discriminant >= 0))
        return false;
    const double root = sense == SURFACE_UP ? sqrt(discriminant) : -sqrt(discriminant);
    const bool same_sign = (b > 0) == (sense == SURFACE_UP);
    if (same_sign && b + root != 0) {
        *t = e / (b + root);
        return true;
    }
    *t = (b - root) / c;
    return c != 0;
}

static bool sphere_cross(const struct surface *surface, const double origin_mm[3], const double direction[3],
                         enum surface_sense sense, double *t_mm) {
    const double c = surface->curvature_per_mm;
    const double from_vertex[3] = {origin_mm[0], origin_mm[1], origin_mm[2] - surface->vertex_mm};
    /* The origin moves to where the line passes nearest to the vertex: a far one would drown the surface in rounding.
     */
    const double advance = -dot3(from_vertex, direction);
    double p[3];
    along3(from_vertex, advance, direction, p);
    const double b = direction[2] - c * dot3(p, direction);
    const double e = c * dot3(p, p) - 2 * p[2];
    double t;
    if (!root_of_sense(c, b, e, sense, &t) || c * (p[2] + t * direction[2]) > 1)
        return false; /* misses, or meets the half away from the vertex */
    *t_mm = advance + t;
    return true;
}

static void sphere_normal(const struct surface *surface, const double at_mm[3], double normal[3]) {
    const double c = surface->curvature_per_mm;
    const double n[3] = {-c * at_mm[0], -c * at_mm[1], 1 - c * (at_mm[2] - surface->vertex_mm)};
    const double scale = 1 / sqrt(dot3(n, n));
    for (int i = 0; i < 3; i++)
        normal[i] = scale * n[i];
}

/* METHODS eq. (22); the form R - sqrt(R^2 - r^2) would lose every digit of a small sag. */
static double sphere_sag(const struct surface *surface, double radius_mm) {
    const double c = surface->curvature_per_mm;
    return c * radius_mm * radius_mm / (1 + sqrt((1 - c * radius_mm) * (1 + c * radius_mm)));
}

const struct surface_kind surface_sphere = {sphere_cross, sphere_normal, sphere_sag};
