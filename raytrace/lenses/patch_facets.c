/* Facets between points of a profile z(r): grooves, a turned part. F = w - h(r), w the height over the vertex.
 * Between two points h is straight, a piece of a cone, or a piece of a cubic spline. METHODS eq. (73), (85). */
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

/* Of a straight facet. */
static double slope_of(const struct patch *patch, int facet) {
    const struct profile_point *p = &patch->points[facet];
    return (p[1].z_mm - p[0].z_mm) / (p[1].radius_mm - p[0].radius_mm);
}

/* h = height + s (slope + s (bend + s twist)), s the radius over the start. */
struct piece {
    double start_mm, height_mm, slope, bend, twist;
};

static struct piece piece_of(const struct patch *patch, int facet) {
    const struct profile_point *p = &patch->points[facet];
    double chord = slope_of(patch, facet), run = p[1].radius_mm - p[0].radius_mm;
    struct piece piece = {.start_mm = p->radius_mm, .height_mm = p->z_mm, .slope = chord};
    if (patch->smooth) {
        piece.slope = p[0].slope;
        piece.bend = (3 * chord - 2 * p[0].slope - p[1].slope) / run;
        piece.twist = (p[0].slope + p[1].slope - 2 * chord) / (run * run);
    }
    return piece;
}

static double height_at(const struct patch *patch, int facet, double radius_mm) {
    const struct piece p = piece_of(patch, facet);
    double s = radius_mm - p.start_mm;
    return p.height_mm + s * (p.slope + s * (p.bend + s * p.twist));
}

static double slope_at(const struct patch *patch, int facet, double radius_mm) {
    const struct piece p = piece_of(patch, facet);
    double s = radius_mm - p.start_mm;
    return p.slope + s * (2 * p.bend + 3 * s * p.twist);
}

/* ---- smooth ones ----------------------------------------------------------------------------------------------- */

/* Slopes of the cubic spline that is level on the axis and has no curvature at its last point: METHODS eq. (85), a
 * tridiagonal system. */
static void add_slopes(int count, struct profile_point *p) {
    double factor = 0; /* of the next slope in this one, p[i].slope = constant - factor p[i + 1].slope */
    double factors[OPTIC_POINTS_MAX];
    p[0].slope = factors[0] = 0;
    for (int i = 1; i < count; i++) {
        double before = p[i].radius_mm - p[i - 1].radius_mm, chord = (p[i].z_mm - p[i - 1].z_mm) / before;
        bool last = i == count - 1;
        double after = last ? INFINITY : p[i + 1].radius_mm - p[i].radius_mm;
        double next = last ? 0 : (p[i + 1].z_mm - p[i].z_mm) / (after * after);
        double pivot = (2 - factor) / before + 2 / after;
        p[i].slope = (3 * (chord / before + next) - p[i - 1].slope / before) / pivot;
        factor = factors[i] = 1 / (after * pivot);
    }
    for (int i = count - 2; i >= 0; i--)
        p[i].slope -= factors[i] * p[i + 1].slope;
}

/* Heights where a piece turns, within it. */
static void add_turns(const struct patch *patch, int facet, double *low_mm, double *high_mm) {
    const struct piece p = piece_of(patch, facet);
    double inside = p.bend * p.bend - 3 * p.twist * p.slope, end_mm = patch->points[facet + 1].radius_mm;
    double q = -(p.bend + copysign(sqrt(fmax(inside, 0)), p.bend));
    const double roots[] = {q / (3 * p.twist), p.slope / q};
    for (int i = 0; i < 2; i++) {
        double radius_mm = p.start_mm + roots[i];
        if (!(radius_mm > p.start_mm && radius_mm < end_mm))
            continue;
        *low_mm = fmin(*low_mm, patch->vertex_mm + height_at(patch, facet, radius_mm));
        *high_mm = fmax(*high_mm, patch->vertex_mm + height_at(patch, facet, radius_mm));
    }
}

struct patch patch_spline(double vertex_mm, int count, struct profile_point *points) {
    add_slopes(count, points);
    struct patch patch = patch_facets(vertex_mm, count, points);
    patch.smooth = true;
    for (int i = 0; i < count - 1; i++)
        add_turns(&patch, i, &patch.z_low_mm, &patch.z_high_mm);
    return patch;
}

double patch_height(const struct patch *patch, double radius_mm) {
    return height_at(patch, facet_at(patch, radius_mm), radius_mm);
}

/* ---- where a line meets them ----------------------------------------------------------------------------------- */

static double faceted_value(const struct patch *patch, const double p[3]) {
    double radius = hypot(p[0], p[1]);
    return p[2] - height_at(patch, facet_at(patch, radius), radius);
}

static void faceted_gradient(const struct patch *patch, const double p[3], double out[3]) {
    double radius = hypot(p[0], p[1]), slope = slope_at(patch, facet_at(patch, radius), radius);
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

/* dF/dt. */
static double pace(const struct course *c, int facet, double t) {
    double radius = radius_on(c, t), run = radius > 0 ? c->a * (t - c->near) / radius : 0;
    return c->line->d[2] - slope_at(c->patch, facet, radius) * run;
}

/* Between two places where F rises and falls. */
static double turn_between(const struct course *c, int facet, double lo, double hi) {
    bool rises = pace(c, facet, hi) > 0;
    for (int i = 0; i < 50; i++) {
        double middle = (lo + hi) / 2;
        *((pace(c, facet, middle) > 0) == rises ? &hi : &lo) = middle;
    }
    return (lo + hi) / 2;
}

/* Cuts a stretch into parts in each of which F rises or falls; of smooth facets as far as four looks tell. Returns
 * the number of parts. */
enum { LOOKS = 4, PARTS_MAX = 2 * LOOKS };
static int parts_of(const struct course *c, int facet, double lo, double hi, double cuts[PARTS_MAX + 1]) {
    int count = 0, looks = c->patch->smooth ? LOOKS : 1;
    cuts[0] = lo;
    for (int i = 1; i <= looks; i++) {
        double from = cuts[count], to = i == looks ? hi : lo + (hi - lo) * i / looks, turn = NAN;
        if (!c->patch->smooth)
            turn = turning_point(c, facet);
        else if ((pace(c, facet, from) > 0) != (pace(c, facet, to) > 0))
            turn = turn_between(c, facet, from, to);
        if (turn > from && turn < to)
            cuts[++count] = turn;
        cuts[++count] = to;
    }
    return count;
}

/* Too short a stretch to tell sides apart. A ray meets a facet so far within its edges: there it must find the normal
 * of the facet that it meets, not of its neighbour, which would send it back. */
static double hairbreadth(const struct course *c) {
    return 1e-12 * c->patch->radius_high_mm;
}

/* A stretch of the line within one facet; *above: on which side it begins, and ends. */
static bool cross_stretch(const struct course *c, int facet, double lo, double hi, bool going_up, bool *above,
                          double *t) {
    double cuts[PARTS_MAX + 1];
    int parts = parts_of(c, facet, lo, hi, cuts);
    for (int i = 0; i < parts; i++) {
        double from = cuts[i], to = cuts[i + 1];
        bool ends_above = over(c, facet, to) > 0, found = ends_above != *above && ends_above == going_up;
        *above = ends_above;
        if (!found)
            continue;
        bool crosses_here = (over(c, facet, from) > 0) != ends_above;
        /* where rounding alone parts the sides: at once */
        double root = crosses_here ? settle(c, facet, from, to) : from;
        *t = fmin(to, fmax(from + hairbreadth(c), fmin(root, to - hairbreadth(c))));
        return true;
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
        if (hi - lo > hairbreadth(&c) && cross_stretch(&c, facet, lo, hi, going_up, &above, t_mm))
            return true;
        lo = next == facet && hi < t[1] ? nextafter(hi, INFINITY) : hi;
        facet = next < 0 ? 0 : next;
    }
    return false;
}

const struct patch_surface patch_faceted = {
    .value = faceted_value, .gradient = faceted_gradient, .along = faceted_along};
