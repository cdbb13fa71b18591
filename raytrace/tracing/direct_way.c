/* Faces cut into weighted points, as finely as the scene needs. METHODS section 4, eq. (10)-(12). */
#include "tracing/direct_way.h"

#include "numbers/adaptive.h"
#include "numbers/vec.h"

#include <omp.h>
#include <stdlib.h>
#include <string.h>

static const int ORDERS[] = {1, 2, 3, 4, 6, 8, 12, 16, 24, 32};
enum { ORDER_COUNT = sizeof ORDERS / sizeof *ORDERS };
static const int FACE_ORDER_MAX = 16;
static const double DIRECT_TOLERANCE = 5e-7, EXACT_TOLERANCE = 1e-9, CUT_TOLERANCE = 1e-5, NARROW_FROM = 1e-4;
static const double NEGLIGIBLE = 1e-6;   /* of what an even face of the same lumens would send along its axis */
static const double WORTH_THREADS = 5e6; /* points; fewer are lit before other threads wake up */

/* ---- rules -------------------------------------------------------------------------------------------------------
 */

bool rule_make(bool round, int order, double width_mm, double height_mm, struct rule *out) {
    size_t room = DISC_NODES_MAX;
    out->x = malloc(3 * room * sizeof *out->x);
    if (!out->x)
        return false;
    out->y = out->x + room;
    out->w = out->y + room;
    out->count = round ? gauss_disc(order, out->x, out->y, out->w) : gauss_square(order, out->x, out->y, out->w);
    for (int i = 0; i < out->count; i++) {
        out->x[i] *= width_mm / 2;
        out->y[i] *= height_mm / 2;
    }
    return true;
}

void rule_free(struct rule *rule) {
    free(rule->x);
    *rule = (struct rule){0};
}

bool face_rule_make(const struct bundle *bundle, int order, struct rule *out) {
    struct rule one;
    int dies = bundle->columns * bundle->rows;
    bool point = bundle->face.kind == LUXFALL_POINT;
    if (!rule_make(bundle->face.kind == LUXFALL_DISC, point ? 1 : order, bundle->face.width_mm,
                   bundle->face.height_mm, &one))
        return false;
    out->count = one.count * dies;
    out->x = malloc(3 * (size_t)out->count * sizeof *out->x);
    if (out->x) {
        out->y = out->x + out->count;
        out->w = out->y + out->count;
    }
    for (int i = 0; i < out->count && out->x; i++) {
        int die = i / one.count, k = i % one.count;
        out->x[i] = one.x[k] + (die % bundle->columns - (bundle->columns - 1) / 2.0) * bundle->pitch_x_mm;
        out->y[i] = one.y[k] + (die / bundle->columns - (bundle->rows - 1) / 2.0) * bundle->pitch_y_mm;
        out->w[i] = one.w[k] / dies;
    }
    rule_free(&one);
    return out->x != NULL;
}

/* ---- light -------------------------------------------------------------------------------------------------------
 */

/* shape(a) cos(incidence) / r^2 from a start to a place, both relative to the lamp; METHODS eq. (10). */
static double light_between(const struct angle_shape_table *shape, struct luxfall_vec axis, struct luxfall_vec v) {
    double along = vec_dot(axis, v), rr = vec_dot(v, v), r = sqrt(rr);
    if (!(along > 0 && v.z < 0))
        return 0;
    struct luxfall_vec c = vec_cross(axis, v);
    double s = sqrt(vec_dot(c, c) / (r * (r + along))) * SHAPE_PIECES;
    int piece = (int)s < SHAPE_PIECES ? (int)s : SHAPE_PIECES;
    const float *k = shape->c[piece];
    double f = s - piece;
    return ((double)k[0] + f * ((double)k[1] + f * ((double)k[2] + f * (double)k[3]))) * -v.z / (rr * r);
}

/* The same from the exact law. */
static double exact_light_between(const struct angle_law *law, struct luxfall_vec axis, struct luxfall_vec v) {
    double along = vec_dot(axis, v), rr = vec_dot(v, v);
    if (!(along > 0 && v.z < 0))
        return 0;
    double angle = atan2(vec_length(vec_cross(axis, v)), along);
    return angle_law_relative(law, angle) * -v.z / (rr * sqrt(rr));
}

/* One die or face as seen from one place. */
struct view {
    const struct bundle *bundle;
    const struct luxfall_pose *pose;
    bool exact;
    struct luxfall_vec to; /* from the middle of the face to the place */
};

static double view_light(const void *data, double x, double y) {
    const struct view *view = data;
    struct luxfall_vec v = vec_sum(1, view->to, -1, vec_sum(x, view->pose->x, y, view->pose->y));
    return view->exact ? exact_light_between(&view->bundle->law, view->pose->axis, v)
                       : light_between(view->bundle->shape, view->pose->axis, v);
}

/* The face cut as finely as this one place needs. */
static double cut_light(const struct direct_way *way, const struct lamp *lamp, struct luxfall_vec to) {
    const struct bundle *bundle = &way->stage->bundles[lamp->bundle];
    const struct luxfall_pose *pose = &lamp->pose;
    const double negligible = NEGLIGIBLE / (PI * way->peak_per_lm[lamp->bundle]);
    int dies = bundle->columns * bundle->rows;
    double sum = 0;
    for (int die = 0; die < dies; die++) {
        double x = (die % bundle->columns - (bundle->columns - 1) / 2.0) * bundle->pitch_x_mm;
        double y = (die / bundle->columns - (bundle->rows - 1) / 2.0) * bundle->pitch_y_mm;
        struct view view = {bundle, pose, way->exact, vec_sum(1, to, -1, vec_sum(x, pose->x, y, pose->y))};
        sum += bundle->face.kind == LUXFALL_POINT
                   ? view_light(&view, 0, 0)
                   : adaptive_mean(bundle->face.kind == LUXFALL_DISC, bundle->face.width_mm, bundle->face.height_mm,
                                   view_light, &view, way->exact ? EXACT_TOLERANCE : CUT_TOLERANCE,
                                   negligible / vec_dot(view.to, view.to));
    }
    return sum / dies;
}

/* out_lx[k] += light of one lamp at place k of a level. */
static void light_of_lamp(const struct direct_way *way, const struct rule *face, const struct lamp *lamp, int count,
                          const double *x_mm, const double *y_mm, double level_mm, double *out_lx) {
    const struct bundle *bundle = &way->stage->bundles[lamp->bundle];
    const struct luxfall_pose *pose = &lamp->pose;
    /* 1e6: from per mm2 to per m2 */
    double peak_cd = 1e6 * lamp->flux_lm * bundle->efficiency * way->peak_per_lm[lamp->bundle];
    if (way->exact || way->narrow[lamp->bundle]) {
        for (int k = 0; k < count; k++) {
            struct luxfall_vec place = {x_mm[k], y_mm[k], level_mm};
            out_lx[k] += peak_cd * cut_light(way, lamp, vec_sum(1, place, -1, pose->at_mm));
        }
        return;
    }
    for (int i = 0; i < face->count; i++) {
        struct luxfall_vec start = vec_sum(1, pose->at_mm, 1, vec_sum(face->x[i], pose->x, face->y[i], pose->y));
        double weight = peak_cd * face->w[i];
        for (int k = 0; k < count; k++) {
            struct luxfall_vec v = {x_mm[k] - start.x, y_mm[k] - start.y, level_mm - start.z};
            out_lx[k] += weight * light_between(bundle->shape, pose->axis, v);
        }
    }
}

/* Points of faces that light one place, about. */
static double work_of_place(const struct direct_way *way) {
    const double cut = 1000;
    double points = 0;
    for (size_t l = 0; l < way->stage->lamp_count; l++) {
        size_t b = way->stage->lamps[l].bundle;
        points += way->exact || way->narrow[b] ? cut : way->faces[b].count;
    }
    return points;
}

void light_on_places(const struct direct_way *way, int count, const double *x_mm, const double *y_mm, double level_mm,
                     double *out_lx) {
    enum { BLOCK = 256 };
    memset(out_lx, 0, (size_t)count * sizeof *out_lx);
    int blocks = (count + BLOCK - 1) / BLOCK;
    bool worth = blocks > 1 && count * work_of_place(way) > WORTH_THREADS;
#pragma omp parallel for schedule(dynamic, 1) num_threads(way->threads) if (worth)
    for (int b = 0; b < blocks; b++) {
        int from = b * BLOCK, n = count - from < BLOCK ? count - from : BLOCK;
        for (size_t l = 0; l < way->stage->lamp_count; l++) {
            const struct lamp *lamp = &way->stage->lamps[l];
            light_of_lamp(way, &way->faces[lamp->bundle], lamp, n, x_mm + from, y_mm + from, level_mm, out_lx + from);
        }
    }
}

/* ---- how finely --------------------------------------------------------------------------------------------------
 */

enum { PROBES_SIDE = 5, PROBE_LAMPS = 8, PROBES_MAX = PROBES_SIDE * PROBES_SIDE + 5 * LUXFALL_FIELDS_MAX };

struct probes {
    int count;
    double x_mm[PROBES_MAX], y_mm[PROBES_MAX];
};

static void add_probe(struct probes *probes, double x_mm, double y_mm) {
    probes->x_mm[probes->count] = x_mm;
    probes->y_mm[probes->count++] = y_mm;
}

/* Over the map, and at the middle and the corners of every field. */
static void probes_make(const struct luxfall_scene *scene, struct probes *out) {
    const struct luxfall_target *target = &scene->target;
    out->count = 0;
    for (int i = 0; i < PROBES_SIDE * PROBES_SIDE; i++)
        add_probe(out, (i % PROBES_SIDE / (PROBES_SIDE - 1.0) - 0.5) * target->columns * target->cell_mm,
                  (i / PROBES_SIDE / (PROBES_SIDE - 1.0) - 0.5) * target->rows * target->cell_mm);
    for (size_t f = 0; f < scene->field_count; f++) {
        const struct luxfall_field *field = &scene->fields[f];
        add_probe(out, field->x_mm, field->y_mm);
        for (int corner = 0; corner < 4; corner++)
            add_probe(out, field->x_mm + (corner & 1 ? 0.5 : -0.5) * field->width_mm,
                      field->y_mm + (corner & 2 ? 0.5 : -0.5) * field->height_mm);
    }
}

/* Lamps first, first + step, ... of a bundle: a few stand for all. */
static void probe_bundle(const struct direct_way *way, size_t bundle, const struct rule *face,
                         const struct probes *probes, double *out_lx) {
    const struct stage *stage = way->stage;
    const struct luxfall_target *target = &stage->scene->target;
    size_t first = 0, count = 0;
    while (stage->lamps[first].bundle != bundle)
        first++;
    while (first + count < stage->lamp_count && stage->lamps[first + count].bundle == bundle)
        count++;
    size_t step = (count + PROBE_LAMPS - 1) / PROBE_LAMPS;
    memset(out_lx, 0, (size_t)probes->count * sizeof *out_lx);
    for (size_t l = first; l < first + count; l += step)
        light_of_lamp(way, face, &stage->lamps[l], probes->count, probes->x_mm, probes->y_mm, target->level_mm[0],
                      out_lx);
}

/* Largest difference over the largest value; 0 where all is dark. */
static double relative_difference(const double *a, const double *b, int count) {
    double difference = 0, scale = 0;
    for (int k = 0; k < count; k++) {
        difference = fmax(difference, fabs(a[k] - b[k]));
        scale = fmax(scale, fabs(b[k]));
    }
    return scale > 0 ? difference / scale : 0;
}

/* Finer and finer until the probes no longer change, or a limit. */
static bool choose_face(struct direct_way *way, size_t b, const struct probes *probes) {
    double coarse[PROBES_MAX], fine[PROBES_MAX], difference = 0;
    const struct bundle *bundle = &way->stage->bundles[b];
    struct rule *rule = &way->faces[b];
    if (!face_rule_make(bundle, ORDERS[0], rule))
        return false;
    probe_bundle(way, b, rule, probes, coarse);
    for (int i = 1; i < ORDER_COUNT && ORDERS[i] <= 2 * FACE_ORDER_MAX; i++) {
        struct rule finer;
        if (!face_rule_make(bundle, ORDERS[i], &finer))
            return false;
        probe_bundle(way, b, &finer, probes, fine);
        difference = relative_difference(coarse, fine, probes->count);
        if (difference <= DIRECT_TOLERANCE || ORDERS[i] > FACE_ORDER_MAX) {
            rule_free(&finer);
            break;
        }
        memcpy(coarse, fine, sizeof coarse);
        rule_free(rule);
        *rule = finer;
    }
    /* cutting for every place is slow: it pays where the rules are far off */
    way->narrow[b] = difference > NARROW_FROM;
    way->tolerance = fmax(way->tolerance, way->narrow[b] ? CUT_TOLERANCE : difference);
    return true;
}

/* ---- making ------------------------------------------------------------------------------------------------------
 */

static struct direct_way *way_make(const struct stage *stage, int threads, bool exact) {
    struct direct_way *way = calloc(1, sizeof *way);
    struct probes *probes = malloc(sizeof *probes);
    bool good = way && probes;
    if (good) {
        way->stage = stage;
        way->exact = exact;
        way->tolerance = exact ? EXACT_TOLERANCE : DIRECT_TOLERANCE;
        way->threads = threads > 0 ? threads : omp_get_num_procs();
        way->peak_per_lm = calloc(stage->bundle_count + 1, sizeof *way->peak_per_lm);
        way->narrow = calloc(stage->bundle_count + 1, sizeof *way->narrow);
        way->faces = calloc(stage->bundle_count + 1, sizeof *way->faces);
        good = way->peak_per_lm && way->narrow && way->faces;
        probes_make(stage->scene, probes);
    }
    for (size_t b = 0; good && b < stage->bundle_count; b++) {
        way->peak_per_lm[b] = angle_law_peak_per_lm(&stage->bundles[b].law);
        good = exact || choose_face(way, b, probes);
    }
    free(probes);
    if (good) {
        way->error = exact || way->tolerance == DIRECT_TOLERANCE ? 0 : way->tolerance;
        return way;
    }
    direct_way_free(way);
    return NULL;
}

struct direct_way *direct_way_make(const struct stage *stage, int threads) {
    return way_make(stage, threads, false);
}

struct direct_way *direct_way_exact(const struct stage *stage) {
    return way_make(stage, 1, true);
}

void direct_way_free(struct direct_way *way) {
    if (!way)
        return;
    for (size_t b = 0; way->faces && b < way->stage->bundle_count; b++)
        rule_free(&way->faces[b]);
    free(way->faces);
    free(way->narrow);
    free(way->peak_per_lm);
    free(way);
}

/* ---- readings ----------------------------------------------------------------------------------------------------
 */

/* lamp NULL: all of them. */
static double mean_over(const struct direct_way *way, const struct lamp *lamp, const struct rule *disc, double x_mm,
                        double y_mm, double level_mm) {
    double x[DISC_NODES_MAX], y[DISC_NODES_MAX], lx[DISC_NODES_MAX] = {0}, mean = 0;
    for (int i = 0; i < disc->count; i++) {
        x[i] = x_mm + disc->x[i];
        y[i] = y_mm + disc->y[i];
    }
    if (lamp)
        light_of_lamp(way, &way->faces[lamp->bundle], lamp, disc->count, x, y, level_mm, lx);
    else
        light_on_places(way, disc->count, x, y, level_mm, lx);
    for (int i = 0; i < disc->count; i++)
        mean += disc->w[i] * lx[i];
    return mean;
}

/* Finer and finer until the mean no longer changes. */
double direct_lamp_reading_lx(const struct direct_way *way, const struct lamp *lamp, double x_mm, double y_mm,
                              double level_mm, double reading_mm) {
    double mean = 0;
    for (int i = 0; i < (reading_mm > 0 ? ORDER_COUNT : 1); i++) {
        struct rule disc;
        double before = mean;
        if (!rule_make(true, ORDERS[i], reading_mm, reading_mm, &disc))
            return NAN;
        mean = mean_over(way, lamp, &disc, x_mm, y_mm, level_mm);
        rule_free(&disc);
        if (i > 0 && fabs(mean - before) <= way->tolerance * mean)
            break;
    }
    return mean;
}

double direct_reading_lx(const struct direct_way *way, double x_mm, double y_mm, double level_mm, double reading_mm) {
    return direct_lamp_reading_lx(way, NULL, x_mm, y_mm, level_mm, reading_mm);
}
