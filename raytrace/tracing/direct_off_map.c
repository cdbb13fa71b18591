/* Light that lands beside the map or nowhere, by its own integral over directions: about each lamp's axis, the angles
 * that reach the map are one interval in every half plane through the axis, for the map is convex. METHODS eq. (13).
 */
#include "numbers/vec.h"
#include "tracing/direct_way.h"

#include <stdlib.h>

enum { SHARE_PIECES = 4096, TURN_PARTS = 4, TURN_POINTS = 16 };

/* Share of the flux within an angle, against s = sqrt(1 - cos a), with its slope. */
struct share_table {
    double share[SHARE_PIECES + 1], slope[SHARE_PIECES + 1];
};

static double angle_of(double s) {
    return 2 * asin(fmin(s, 1) / sqrt(2));
}

/* Integral of I sin a da = 2 s I ds, by a three-point Gauss rule in each piece. */
static void share_table_make(const struct angle_law *law, struct share_table *out) {
    double node[3], weight[3], step = 1.0 / SHARE_PIECES;
    gauss_legendre(3, node, weight);
    out->share[0] = 0;
    for (int i = 0; i < SHARE_PIECES; i++) {
        double piece = 0;
        for (int k = 0; k < 3; k++) {
            double s = (i + (1 + node[k]) / 2) * step;
            piece += weight[k] / 2 * step * 2 * s * angle_law_relative(law, angle_of(s));
        }
        out->share[i + 1] = out->share[i] + piece;
    }
    double total = out->share[SHARE_PIECES];
    for (int i = 0; i <= SHARE_PIECES; i++) {
        out->share[i] /= total;
        out->slope[i] = 2 * (i * step) * angle_law_relative(law, angle_of(i * step)) / total * step;
    }
}

/* Within the angle whose tangent is given. */
static double share_within(const struct share_table *table, double tangent) {
    double cosine = 1 / sqrt(1 + tangent * tangent);
    /* 1 - cos from the tangent, without a small difference */
    double h = isinf(tangent) ? 1 : tangent * tangent * cosine * cosine / (1 + cosine);
    double s = sqrt(h) * SHARE_PIECES;
    int i = (int)s < SHARE_PIECES ? (int)s : SHARE_PIECES - 1;
    double f = s - i, a = table->share[i], b = table->share[i + 1];
    double u = table->slope[i], v = table->slope[i + 1];
    return a + f * (u + f * (3 * (b - a) - 2 * u - v + f * (u + v - 2 * (b - a))));
}

struct interval {
    double low, high; /* of the tangent */
};

/* Keeps the tangents with c + s t <= 0. */
static void keep(struct interval *tangent, double c, double s) {
    if (s > 0)
        tangent->high = fmin(tangent->high, -c / s);
    else if (s < 0)
        tangent->low = fmax(tangent->low, -c / s);
    else if (c > 0)
        tangent->high = -1;
}

struct map_frame {
    double half_width_mm, half_height_mm, level_mm;
};

/* Tangents of the angles from the axis, on the side of `way`, that reach the map from a start. */
static struct interval reaching(const struct map_frame *map, struct luxfall_vec start, struct luxfall_vec axis,
                                struct luxfall_vec way) {
    struct interval tangent = {0, INFINITY};
    double height = start.z - map->level_mm;
    keep(&tangent, axis.z, way.z);
    for (int side = -1; side <= 1; side += 2) {
        double x = side * map->half_width_mm - start.x, y = side * map->half_height_mm - start.y;
        keep(&tangent, side * (height * axis.x + x * axis.z), side * (height * way.x + x * way.z));
        keep(&tangent, side * (height * axis.y + y * axis.z), side * (height * way.y + y * way.z));
    }
    return tangent;
}

static int ascending(const void *a, const void *b) {
    double x = *(const double *)a, y = *(const double *)b;
    return (x > y) - (x < y);
}

/* Turns about the axis at which the corners of the map lie: between them the miss is smooth. */
static void corner_turns(const struct map_frame *map, struct luxfall_vec start, const struct luxfall_pose *pose,
                         double turns[5]) {
    for (int k = 0; k < 4; k++) {
        struct luxfall_vec to = {(k & 1 ? 1 : -1) * map->half_width_mm - start.x,
                                 (k & 2 ? 1 : -1) * map->half_height_mm - start.y, map->level_mm - start.z};
        turns[k] = atan2(vec_dot(to, pose->y), vec_dot(to, pose->x));
    }
    qsort(turns, 4, sizeof *turns, ascending);
    turns[4] = turns[0] + 2 * PI;
}

static double missed_share(const struct share_table *table, const struct map_frame *map, struct luxfall_vec start,
                           const struct luxfall_pose *pose) {
    double turns[5], node[TURN_POINTS], weight[TURN_POINTS], missed = 0;
    if (!(start.z > map->level_mm))
        return 1;
    corner_turns(map, start, pose, turns);
    gauss_legendre(TURN_POINTS, node, weight);
    for (int part = 0; part < 4 * TURN_PARTS; part++) {
        double from = turns[part / TURN_PARTS], width = (turns[part / TURN_PARTS + 1] - from) / TURN_PARTS;
        for (int k = 0; k < TURN_POINTS; k++) {
            double turn = from + width * (part % TURN_PARTS + (1 + node[k]) / 2);
            struct luxfall_vec way = vec_sum(cos(turn), pose->x, sin(turn), pose->y);
            struct interval hit = reaching(map, start, pose->axis, way);
            double here = hit.high > hit.low ? share_within(table, hit.low) + (1 - share_within(table, hit.high)) : 1;
            missed += weight[k] / 2 * width / (2 * PI) * here;
        }
    }
    return missed;
}

/* Share of a lamp's light that misses, with the face cut by a rule. */
static double missed_by(const struct share_table *table, const struct map_frame *map, const struct rule *face,
                        const struct luxfall_pose *pose) {
    double missed = 0;
    for (int i = 0; i < face->count; i++) {
        struct luxfall_vec start = vec_sum(1, pose->at_mm, 1, vec_sum(face->x[i], pose->x, face->y[i], pose->y));
        missed += face->w[i] * missed_share(table, map, start, pose);
    }
    return missed;
}

/* Finer and finer until the share no longer changes: it depends on the face far less than the light of a place does.
 */
static double missed_of_lamp(const struct share_table *table, const struct map_frame *map,
                             const struct bundle *bundle, const struct luxfall_pose *pose) {
    static const int orders[] = {2, 3, 4, 6, 8, 12};
    const double tolerance = 1e-7;
    double missed = 0;
    for (size_t i = 0; i < sizeof orders / sizeof *orders; i++) {
        double before = missed;
        struct rule face;
        if (!face_rule_make(bundle, orders[i], &face))
            return NAN;
        missed = missed_by(table, map, &face, pose);
        rule_free(&face);
        if (i > 0 && fabs(missed - before) <= tolerance)
            break;
    }
    return missed;
}

double off_map_lm(const struct direct_way *way, size_t plane) {
    const struct stage *stage = way->stage;
    const struct luxfall_target *target = &stage->scene->target;
    struct map_frame map = {target->columns * target->cell_mm / 2, target->rows * target->cell_mm / 2,
                            target->level_mm[plane]};
    struct share_table *table = malloc(sizeof *table);
    double sum_lm = table ? 0 : NAN;
    for (size_t l = 0; l < stage->lamp_count && table; l++) {
        const struct lamp *lamp = &stage->lamps[l];
        const struct bundle *bundle = &stage->bundles[lamp->bundle];
        if (l == 0 || lamp->bundle != stage->lamps[l - 1].bundle)
            share_table_make(&bundle->law, table);
        sum_lm += lamp->flux_lm * bundle->efficiency * missed_of_lamp(table, &map, bundle, &lamp->pose);
    }
    free(table);
    return sum_lm;
}
