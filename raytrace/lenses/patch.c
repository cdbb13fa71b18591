/* Where a ray meets a patch: the kinds' table, bounds, and the search along the line for kinds without a closed form.
 */
#include "lenses/patch.h"
#include "lenses/vector3.h"

#include <math.h>

enum { NEWTON_MAX = 40 };

static const struct patch_surface *const surfaces[] = {
    [PATCH_QUADRIC] = &patch_quadric, [PATCH_ASPHERE] = &patch_aspheric, [PATCH_FACETS] = &patch_faceted,
    [PATCH_WALL] = &patch_walled,     [PATCH_PROFILE] = &patch_profiled, [PATCH_LENSLETS] = &patch_lensleted,
};

struct patch patch_without_bounds(enum patch_kind kind, double vertex_mm) {
    return (struct patch){.kind = kind,
                          .vertex_mm = vertex_mm,
                          .radius_high_mm = INFINITY,
                          .z_low_mm = -INFINITY,
                          .z_high_mm = INFINITY};
}

/* Stretch of the line within the patch's bounds of height and outer radius. False: it passes them by. */
static bool stretch_within(const struct patch *patch, const struct line *line, double slack_mm, double t[2]) {
    double lo = patch->z_low_mm - patch->vertex_mm - slack_mm, hi = patch->z_high_mm - patch->vertex_mm + slack_mm;
    if (line->d[2] != 0) {
        double t1 = (lo - line->p[2]) / line->d[2], t2 = (hi - line->p[2]) / line->d[2];
        t[0] = fmax(t[0], fmin(t1, t2));
        t[1] = fmin(t[1], fmax(t1, t2));
    } else if (line->p[2] < lo || line->p[2] > hi) {
        return false;
    }
    double a = line->d[0] * line->d[0] + line->d[1] * line->d[1];
    double half_b = line->p[0] * line->d[0] + line->p[1] * line->d[1];
    double reach = patch->radius_high_mm + slack_mm;
    double c = line->p[0] * line->p[0] + line->p[1] * line->p[1] - reach * reach, disc = half_b * half_b - a * c;
    if (a > 0 && isfinite(reach)) {
        if (disc < 0)
            return false;
        t[0] = fmax(t[0], (-half_b - sqrt(disc)) / a);
        t[1] = fmin(t[1], (-half_b + sqrt(disc)) / a);
    } else if (c > 0) {
        return false;
    }
    return t[0] <= t[1];
}

/* Looking along a line for F = level: 0, or what rounding made of it where the line begins on the patch. */
struct search {
    const struct patch *patch;
    const struct line *line;
    double level;
    bool going_up;
};

static double over(const struct search *search, double t) {
    double p[3];
    along3(search->line->p, t, search->line->d, p);
    return surfaces[search->patch->kind]->value(search->patch, p) - search->level;
}

/* Between two distances where F changes its side: Newton, held in the bracket. */
static double settle(const struct search *search, double lo, double hi) {
    const struct patch_surface *surface = surfaces[search->patch->kind];
    double t = (lo + hi) / 2;
    for (int i = 0; i < NEWTON_MAX && hi - lo > 1e-15 * fmax(fabs(lo), fabs(hi)); i++) {
        double p[3], gradient[3], value = over(search, t);
        along3(search->line->p, t, search->line->d, p);
        surface->gradient(search->patch, p, gradient);
        if ((value > 0) == search->going_up)
            hi = t;
        else
            lo = t;
        double next = t - value / dot3(gradient, search->line->d);
        if (next == t)
            break;
        t = next > lo && next < hi ? next : (lo + hi) / 2;
    }
    return t;
}

/* The first change of side in the sense, from one side. A grazing pair between two looks is passed over as a pair:
 * the ray stays on its side. */
static bool looks_along(const struct search *search, const double t[2], bool above, double *t_mm) {
    enum { LOOKS = 16 };
    double before = t[0];
    for (int i = 1; i <= LOOKS; i++) {
        double here = t[0] + (t[1] - t[0]) * i / LOOKS;
        bool now_above = over(search, here) > 0;
        if (now_above != above && now_above == search->going_up) {
            *t_mm = settle(search, before, here);
            return true;
        }
        before = here;
        above = now_above;
    }
    return false;
}

/* F over the length of its gradient where the line begins: about the distance. The gradient then has unit length. */
static double off_at_start(const struct patch *patch, const struct line *line, double gradient[3]) {
    surfaces[patch->kind]->gradient(patch, line->p, gradient);
    const double scale = 1 / sqrt(dot3(gradient, gradient));
    for (int i = 0; i < 3; i++)
        gradient[i] *= scale;
    return scale * surfaces[patch->kind]->value(patch, line->p);
}

/* The side on which the line begins. On the patch itself, and so near to it that rounding may have carried it over,
 * the ray's material tells; one that is beyond and comes back counts from where it has: *from_mm. */
static bool begins_above(const struct search *search, double slack_mm, double *from_mm) {
    const double STEEPEST = 1e4; /* spares most the gradient */
    const struct patch *patch = search->patch;
    if (search->line->own)
        return !search->going_up;
    double value = over(search, 0), gradient[3];
    if (patch->up == patch->down || !(fabs(value) <= STEEPEST * slack_mm))
        return value > 0;
    double off_mm = off_at_start(patch, search->line, gradient), rate = dot3(gradient, search->line->d);
    if (!(fabs(off_mm) <= slack_mm))
        return value > 0;
    if ((off_mm > 0) == search->going_up && off_mm * rate < 0)
        *from_mm = 2 * fabs(off_mm / rate);
    return !search->going_up;
}

/* Within the patch's reach. A ray that begins on a smooth patch must part from it before it can meet it again: nearer
 * than this share of it rounding would be met. */
static bool cross_by_search(const struct patch *patch, const struct line *line, bool going_up, double slack_mm,
                            double *t_mm) {
    const double PARTED = 1e-9;
    const struct patch_surface *surface = surfaces[patch->kind];
    struct search search = {patch, line, 0, going_up};
    bool parts = line->own && !surface->along;
    double start = parts ? PARTED * patch->radius_high_mm : 0, t[2] = {start, INFINITY};
    if (!stretch_within(patch, line, slack_mm, t) || !isfinite(t[1]))
        return false;
    search.level = parts ? over(&search, 0) : 0;
    bool above = t[0] > start ? over(&search, t[0]) > 0 : begins_above(&search, slack_mm, &t[0]);
    if (t[0] > t[1])
        return false;
    return surface->along ? surface->along(patch, line, t, above, going_up, t_mm)
                          : looks_along(&search, t, above, t_mm);
}

static bool within_sides(const struct patch *patch, double x, double y, double slack_mm) {
    const struct patch_side *first = &patch->sides[0];
    if (patch->kind == PATCH_WALL)
        return fabs(first->x * y - first->y * x) <= patch->half_mm + slack_mm;
    for (const struct patch_side *side = first; side < first + patch->side_count; side++)
        if (side->x * x + side->y * y > side->reach_mm + slack_mm)
            return false;
    return true;
}

static bool within_bounds(const struct patch *patch, const struct line *line, double t, double slack_mm) {
    double x = line->p[0] + t * line->d[0], y = line->p[1] + t * line->d[1];
    double z = line->p[2] + t * line->d[2] + patch->vertex_mm, r2 = x * x + y * y;
    double low = fmax(patch->radius_low_mm - slack_mm, 0), high = patch->radius_high_mm + slack_mm;
    return r2 >= low * low && r2 <= high * high && z >= patch->z_low_mm - slack_mm &&
           z <= patch->z_high_mm + slack_mm && within_sides(patch, x, y, slack_mm);
}

/* How far behind its start along the line a crossing still counts. Off a plane slack is measured straight down: a
 * grazing ray that rounding carried past an edge and over the plane must find it. */
static double least_of(const struct patch *patch, const struct line *line, double slack_mm) {
    bool plane = patch->kind == PATCH_QUADRIC && patch->a == 0 && patch->b == 0;
    return line->own ? 0 : plane ? -slack_mm / fabs(line->d[2]) : -slack_mm;
}

bool patch_cross(const struct patch *patch, const double at_mm[3], const double direction[3], bool going_up, bool own,
                 double slack_mm, double *t_mm) {
    const struct patch_surface *surface = surfaces[patch->kind];
    struct line line = {
        {at_mm[0], at_mm[1], at_mm[2] - patch->vertex_mm}, {direction[0], direction[1], direction[2]}, own};
    double t_least = least_of(patch, &line, slack_mm);
    bool found = surface->cross ? surface->cross(patch, &line, going_up, t_mm)
                                : cross_by_search(patch, &line, going_up, slack_mm, t_mm);
    return found && *t_mm >= t_least && within_bounds(patch, &line, fmax(*t_mm, 0), slack_mm);
}

bool patch_passed(const struct patch *patch, const double at_mm[3], const double direction[3], bool going_up,
                  double slack_mm, double least_rise, double *off_mm) {
    struct line line = {
        {at_mm[0], at_mm[1], at_mm[2] - patch->vertex_mm}, {direction[0], direction[1], direction[2]}, false};
    double gradient[3], sense = going_up ? 1 : -1;
    *off_mm = sense * off_at_start(patch, &line, gradient);
    return *off_mm >= 0 && *off_mm <= slack_mm && sense * dot3(gradient, direction) > least_rise &&
           within_bounds(patch, &line, 0, slack_mm);
}

void patch_normal(const struct patch *patch, const double at_mm[3], double normal[3]) {
    const double p[3] = {at_mm[0], at_mm[1], at_mm[2] - patch->vertex_mm};
    surfaces[patch->kind]->gradient(patch, p, normal);
    const double scale = 1 / sqrt(dot3(normal, normal));
    for (int i = 0; i < 3; i++)
        normal[i] *= scale;
}
