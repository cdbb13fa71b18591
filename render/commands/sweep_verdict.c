/* What a sweep is for: where a limit is crossed, and the best point. */
#include "sweep.h"

#include <math.h>
#include <string.h>

static bool meets(const struct sweep *sweep, size_t want, const struct sweep_point *point) {
    return want_is_met(&sweep->wants[want].want, point->values[sweep->wants[want].quantity].value);
}

/* ---- crossings ------------------------------------------------------------------------------------------------- */

static double tolerance(const struct sweep *sweep) {
    return sweep_step(&sweep->varied[0]);
}

/* Bisection with the scene itself: a limit may be crossed at a kink, where lines and parabolas mislead. */
static int bisect(struct sweep *sweep, size_t want, const struct sweep_point *met, const struct sweep_point *missed,
                  struct crossing *out) {
    struct sweep_point in = *met, out_of = *missed;
    while (fabs(in.number[0] - out_of.number[0]) > tolerance(sweep)) {
        struct sweep_point middle = {.number[0] =
                                         sweep_rounded((in.number[0] + out_of.number[0]) / 2, tolerance(sweep))};
        if (middle.number[0] == in.number[0] || middle.number[0] == out_of.number[0])
            break;
        int status = sweep_try_point(sweep, &middle, &out->whole);
        if (status)
            return status;
        if (out->whole)
            break;
        *(meets(sweep, want, &middle) ? &in : &out_of) = middle;
    }
    out->point = in;
    out->other = out_of.number[0];
    return 0;
}

/* By rays a straight line between the two, and the band that the statistic's own band makes of it; drawn again from
 * what is traced there until the limit lies in the band, or the line has shrunk to a step. */
static int interpolate(struct sweep *sweep, size_t want, const struct sweep_point *met,
                       const struct sweep_point *missed, struct crossing *out) {
    const struct want *wish = &sweep->wants[want].want;
    size_t quantity = sweep->wants[want].quantity;
    struct sweep_point in = *met, out_of = *missed;
    for (bool near = false; !near;) {
        struct luxfall_estimate a = in.values[quantity], b = out_of.values[quantity];
        double width = out_of.number[0] - in.number[0], slope = (b.value - a.value) / width;
        bool line = isfinite(slope) && slope != 0;
        double at = line ? in.number[0] + (wish->limit - a.value) / slope : in.number[0] + width / 2;
        out->u95 = line ? fmax(a.u95, b.u95) / fabs(slope) : fabs(width);
        out->point = (struct sweep_point){.number[0] = sweep_rounded(at, fmax(out->u95 / 10, tolerance(sweep)))};
        out->other = out_of.number[0];
        int status = sweep_try_point(sweep, &out->point, &out->whole);
        if (status)
            return status;
        if (out->whole) {
            out->point = in;
            return 0;
        }
        struct luxfall_estimate there = out->point.values[quantity];
        near = fabs(there.value - wish->limit) <= there.u95 || fabs(width) <= tolerance(sweep) ||
               out->point.number[0] == in.number[0] || out->point.number[0] == out_of.number[0];
        *(meets(sweep, want, &out->point) ? &in : &out_of) = out->point;
    }
    return 0;
}

static int find_crossings(struct sweep *sweep, size_t want) {
    struct sweep_want *wish = &sweep->wants[want];
    for (size_t i = 0; i + 1 < sweep->point_count && wish->crossing_count < CROSSINGS_MAX; i++) {
        const struct sweep_point *left = &sweep->points[i], *right = &sweep->points[i + 1];
        bool met = meets(sweep, want, left);
        if (met == meets(sweep, want, right))
            continue;
        struct crossing crossing = {.u95 = NAN, .rises = !met};
        bool by_rays = sweep->tracing.options.method == LUXFALL_RAYS;
        int status = (by_rays ? interpolate : bisect)(sweep, want, met ? left : right, met ? right : left, &crossing);
        if (status)
            return status;
        wish->crossings[wish->crossing_count++] = crossing;
    }
    return 0;
}

/* ---- the best -------------------------------------------------------------------------------------------------- */

/* Where nothing is asked for but enough light, more of it is only heat. */
bool sweep_wants_light_alone(const struct sweep *sweep) {
    for (size_t i = 0; i < sweep->want_count; i++) {
        const struct want *want = &sweep->wants[i].want;
        if (want->at_most || strcmp(want->statistic->unit, "lx") != 0)
            return false;
    }
    return sweep->want_count > 0;
}

/* The more the better; NaN: no candidate. */
static double merit(const struct sweep *sweep, const struct sweep_point *point) {
    if (sweep->want_count > 0) {
        double lx = sweep->lux == NO_QUANTITY ? 0 : point->values[sweep->lux].value;
        return sweep_wants_light_alone(sweep) ? -lx : lx;
    }
    double value = point->values[sweep->judged].value;
    switch (sweep->quantities[sweep->judged].statistic->best) {
    case BEST_HIGHEST:
        return value;
    case BEST_LOWEST:
        return -value;
    case BEST_NEAREST_ONE:
        return -fabs(value - 1);
    case BEST_NONE:
        break;
    }
    return NAN;
}

/* A crossing counts as meeting its own want: by rays its value lies within its band of the limit. */
static void consider(struct sweep *sweep, const struct sweep_point *point, size_t own) {
    for (size_t i = 0; i < sweep->want_count; i++)
        if (i != own && !meets(sweep, i, point))
            return;
    const double TELLABLE = 1e-6; /* relative: below, two points are alike and the first stands */
    double candidate = merit(sweep, point), best = sweep->best_found ? merit(sweep, &sweep->best) : -INFINITY;
    if (isnan(candidate) || !(candidate > best + TELLABLE * fabs(isinf(best) ? 0 : best)))
        return;
    sweep->best_found = true;
    sweep->best = *point;
}

const struct sweep_point *sweep_most_per_watt(const struct sweep *sweep) {
    const struct sweep_point *most = NULL;
    for (size_t i = 0; sweep->lux_per_watt != NO_QUANTITY && i < sweep->point_count; i++) {
        double value = sweep->points[i].values[sweep->lux_per_watt].value;
        if (!isnan(value) && (!most || value > most->values[sweep->lux_per_watt].value))
            most = &sweep->points[i];
    }
    return most;
}

static bool same_values(const struct sweep *sweep, const struct sweep_point *a, const struct sweep_point *b) {
    for (size_t i = 0; i < sweep->quantity_count; i++) {
        double x = a->values[i].value, y = b->values[i].value;
        if (x != y && !(isnan(x) && isnan(y)))
            return false;
    }
    return true;
}

bool sweep_is_idle(const struct sweep *sweep, size_t varied) {
    size_t first = sweep->varied[0].steps;
    for (size_t i = 0; i < sweep->point_count; i++)
        if (!same_values(sweep, &sweep->points[i], &sweep->points[varied == 0 ? i - i % first : i % first]))
            return false;
    return sweep->point_count > 1 && sweep->varied[varied].steps > 1;
}

/* Nothing that is told depends on any number: no point is better than another. */
static bool all_idle(const struct sweep *sweep) {
    for (size_t i = 0; i < sweep->varied_count; i++)
        if (!sweep_is_idle(sweep, i))
            return false;
    return true;
}

int sweep_judge(struct sweep *sweep) {
    int status = 0;
    if (all_idle(sweep))
        return 0;
    for (size_t i = 0; status == 0 && sweep->varied_count == 1 && i < sweep->want_count; i++)
        status = find_crossings(sweep, i);
    for (size_t i = 0; i < sweep->point_count; i++)
        consider(sweep, &sweep->points[i], NO_QUANTITY);
    for (size_t i = 0; i < sweep->want_count; i++)
        for (size_t j = 0; j < sweep->wants[i].crossing_count; j++)
            consider(sweep, &sweep->wants[i].crossings[j].point, i);
    return status;
}
