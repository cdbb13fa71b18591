/* Straight facets between points of a profile z(r): grooves, steps of a turned part. F = w - h(r), w the height over
 * the vertex; each facet is a piece of a cone, crossed in closed form. METHODS eq. (73), (74). */
#include "lenses/patch.h"
#include "lenses/vector3.h"

#include <math.h>

struct patch patch_facets(double vertex_mm, int count, const struct profile_point *points) {
    struct patch patch = patch_without_bounds(PATCH_FACETS, vertex_mm);
    patch.point_count = count;
    patch.points = points;
    patch.radius_low_mm = points[0].radius_mm;
    patch.radius_high_mm = points[count - 1].radius_mm;
    patch.z_low_mm = INFINITY;
    patch.z_high_mm = -INFINITY;
    for (int i = 0; i < count; i++) {
        patch.z_low_mm = fmin(patch.z_low_mm, vertex_mm + points[i].z_mm);
        patch.z_high_mm = fmax(patch.z_high_mm, vertex_mm + points[i].z_mm);
    }
    return patch;
}

/* The facet at a distance from the axis; the first or last beyond them. */
static int facet_at(const struct patch *patch, double radius_mm) {
    int low = 0, high = patch->point_count - 1;
    while (high - low > 1) {
        int middle = (low + high) / 2;
        if (patch->points[middle].radius_mm <= radius_mm)
            low = middle;
        else
            high = middle;
    }
    return low;
}

static double slope_of(const struct patch *patch, int facet) {
    const struct profile_point *p = &patch->points[facet];
    return (p[1].z_mm - p[0].z_mm) / (p[1].radius_mm - p[0].radius_mm);
}

static double height_at(const struct patch *patch, int facet, double radius_mm) {
    const struct profile_point *p = &patch->points[facet];
    return p->z_mm + slope_of(patch, facet) * (radius_mm - p->radius_mm);
}

static double faceted_value(const struct patch *patch, const double p[3]) {
    double radius = hypot(p[0], p[1]);
    return p[2] - height_at(patch, facet_at(patch, radius), radius);
}

static void faceted_gradient(const struct patch *patch, const double p[3], double out[3]) {
    double radius = hypot(p[0], p[1]), slope = slope_of(patch, facet_at(patch, radius));
    out[0] = radius > 0 ? -slope * p[0] / radius : 0;
    out[1] = radius > 0 ? -slope * p[1] / radius : 0;
    out[2] = 1;
}

/* ---- along a line: r^2 = a (t - near)^2 + least^2 -------------------------------------------------------------- */

struct course {
    const struct patch *patch;
    const struct line *line;
    double a, near, least2;
};

static double radius_on(const struct course *c, double t) {
    return sqrt(c->a * (t - c->near) * (t - c->near) + c->least2);
}

static double over(const struct course *c, int facet, double t) {
    return c->line->p[2] + t * c->line->d[2] - height_at(c->patch, facet, radius_on(c, t));
}

/* Where the line, in one facet, has its greatest distance from it on one side: between there and the ends F is
 * monotone. NaN: nowhere. */
static double turning_point(const struct course *c, int facet) {
    double s = slope_of(c->patch, facet), rise = c->line->d[2], under = c->a * (s * s * c->a - rise * rise);
    return under > 0 ? c->near + rise * sqrt(c->least2 / under) * (s > 0 ? 1 : -1) : NAN;
}

/* F changes its sign between lo and hi: the root by regula falsi on a monotone stretch, held in its bracket. */
static double settle(const struct course *c, int facet, double lo, double hi) {
    double at_lo = over(c, facet, lo), at_hi = over(c, facet, hi);
    double t = lo;
    for (int i = 0; i < 100 && hi - lo > 1e-15 * fmax(fabs(lo), fabs(hi)); i++) {
        t = i % 3 == 2 ? (lo + hi) / 2 : lo - at_lo * (hi - lo) / (at_hi - at_lo);
        t = t > lo && t < hi ? t : (lo + hi) / 2;
        double value = over(c, facet, t);
        if (value == 0)
            return t;
        if ((value > 0) == (at_hi > 0)) {
            hi = t;
            at_hi = value;
        } else {
            lo = t;
            at_lo = value;
        }
    }
    return t;
}

/* A stretch of the line within one facet; *above: on which side it begins, and ends. */
static bool cross_stretch(const struct course *c, int facet, double lo, double hi, bool going_up, bool *above,
                          double *t) {
    double turn = turning_point(c, facet);
    bool turns = turn > lo && turn < hi;
    for (int half = turns ? 0 : 1; half < 2; half++) {
        double from = half == 1 && turns ? turn : lo, to = half == 0 ? turn : hi;
        bool ends_above = over(c, facet, to) > 0, found = ends_above != *above && ends_above == going_up;
        bool crosses_here = (over(c, facet, from) > 0) != ends_above;
        *above = ends_above;
        if (found) {
            *t = crosses_here ? settle(c, facet, from, to) : from; /* rounding alone parts the sides: at once */
            return true;
        }
    }
    return false;
}

/* Where the line leaves a facet, going in or out; hi where it does not before that. */
static double leaves(const struct course *c, int facet, double lo, double hi, int *next) {
    bool inwards = lo < c->near;
    double radius = c->patch->points[facet + (inwards ? 0 : 1)].radius_mm;
    double reach2 = (radius * radius - c->least2) / c->a;
    *next = facet + (inwards ? -1 : 1);
    if (inwards && (facet == 0 || !(reach2 > 0))) { /* past its nearest point, then out again */
        *next = facet;
        return fmin(c->near, hi);
    }
    if (facet == c->patch->point_count - 2 && !inwards)
        return hi;
    double t = inwards ? c->near - sqrt(reach2) : c->near + sqrt(fmax(reach2, 0));
    return fmin(fmax(t, lo), hi);
}

/* Facet by facet from t[0] to t[1]. */
static bool faceted_along(const struct patch *patch, const struct line *line, const double t[2], bool above,
                          bool going_up, double *t_mm) {
    const double *p = line->p, *d = line->d;
    struct course c = {.patch = patch, .line = line, .a = d[0] * d[0] + d[1] * d[1]};
    double lo = t[0];
    bool upright = c.a < 1e-30;
    c.near = upright ? -INFINITY : -(p[0] * d[0] + p[1] * d[1]) / c.a;
    c.least2 = upright ? p[0] * p[0] + p[1] * p[1] : pow(p[0] * d[1] - p[1] * d[0], 2) / c.a;
    if (upright)
        c.a = c.near = 0;
    int facet = facet_at(patch, radius_on(&c, lo));
    if (upright)
        return cross_stretch(&c, facet, lo, t[1], going_up, &above, t_mm);
    for (int steps = 0; steps < 4 * patch->point_count && lo < t[1]; steps++) {
        int next;
        double hi = leaves(&c, facet, lo, t[1], &next);
        if (cross_stretch(&c, facet, lo, hi, going_up, &above, t_mm))
            return true;
        lo = next == facet && hi < t[1] ? nextafter(hi, INFINITY) : hi;
        facet = next < 0 ? 0 : next;
    }
    return false;
}

const struct patch_surface patch_faceted = {
    .value = faceted_value, .gradient = faceted_gradient, .along = faceted_along};
