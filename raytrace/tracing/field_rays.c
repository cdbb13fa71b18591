/* Rays launched at the fields, from every lamp known by angle: a point of the face, a point of the reading, and the
 * weight that free rays would have had there. METHODS eq. (36). */
#include "numbers/keys.h"
#include "numbers/vec.h"
#include "tracing/rays.h"

enum { DIMENSIONS = 4 };

/* What tells the random numbers of one purpose, plane, field and lamp from all others. */
static uint64_t points_index(const struct ray_run *run, size_t plane, size_t field, size_t lamp) {
    return ((uint64_t)plane * (run->seen->field_count + 1) + field) * run->stage->lamp_count + lamp;
}

/* ---- points ------------------------------------------------------------------------------------------------------
 */

/* From a unit square to a centred disc or rectangle. */
static void spread(bool round, double width_mm, double height_mm, double u, double v, double *x, double *y) {
    if (round) {
        double r = width_mm / 2 * sqrt(u), turn = 2 * PI * v;
        *x = r * cos(turn);
        *y = r * sin(turn);
    } else {
        *x = (u - 0.5) * width_mm;
        *y = (v - 0.5) * height_mm;
    }
}

/* One of n dies in a row, and what is left of u. */
static double choose_die(int n, double pitch_mm, double *u) {
    double scaled = *u * n;
    int die = (int)scaled < n ? (int)scaled : n - 1;
    *u = scaled - die;
    return (die - (n - 1) / 2.0) * pitch_mm;
}

static void place_on_face(const struct bundle *bundle, double u, double v, double *x, double *y) {
    double column_mm = choose_die(bundle->columns, bundle->pitch_x_mm, &u);
    double row_mm = choose_die(bundle->rows, bundle->pitch_y_mm, &v);
    spread(bundle->face.kind != LUXFALL_RECTANGLE, bundle->face.width_mm, bundle->face.height_mm, u, v, x, y);
    *x += column_mm;
    *y += row_mm;
}

struct lit_area {
    bool round;
    double width_mm, height_mm;
};

static void make_points(const struct ray_run *run, const struct lamp *lamp, const struct lit_area *area, uint64_t key,
                        uint64_t first, int count, struct ray_scratch *scratch) {
    const struct bundle *bundle = &run->stage->bundles[lamp->bundle];
    const struct luxfall_pose *pose = &lamp->pose;
    struct light_points *points = &scratch->points;
    float *columns[DIMENSIONS] = {points->px, points->py, points->sx, points->sy};
    run->kernels->points(&(struct point_key){key, run->options->points}, first, count, DIMENSIONS, columns);
    points->count = count;
    for (int i = 0; i < count; i++) {
        double px, py, x, y;
        spread(area->round, area->width_mm, area->height_mm, (double)points->px[i], (double)points->py[i], &px, &py);
        place_on_face(bundle, (double)points->sx[i], (double)points->sy[i], &x, &y);
        points->px[i] = (float)px;
        points->py[i] = (float)py;
        points->sx[i] = (float)(x * pose->x.x + y * pose->y.x);
        points->sy[i] = (float)(x * pose->x.y + y * pose->y.y);
        points->sz[i] = (float)(x * pose->x.z + y * pose->y.z);
    }
}

/* ---- light of one lamp on places of one plane --------------------------------------------------------------------
 */

struct places {
    size_t plane;
    int count;
    const double *x_mm, *y_mm;
    double origin_x_mm, origin_y_mm; /* added to every place */
    bool stops;                      /* the user may stop here: a replicate that is cut short counts for nothing */
};

/* Adds to out_lx[k] the mean over the area about place k. */
static void light_places(struct ray_run *run, const struct lamp *lamp, const struct lit_area *area, uint64_t key,
                         uint64_t points, const struct places *places, struct ray_scratch *scratch, double *out_lx) {
    const struct bundle *bundle = &run->stage->bundles[lamp->bundle];
    const struct luxfall_pose *pose = &lamp->pose;
    const float axis[3] = {(float)pose->axis.x, (float)pose->axis.y, (float)pose->axis.z};
    float rz = (float)(run->stage->scene->target.level_mm[places->plane] - pose->at_mm.z);
    /* candela on the axis; 1e6: from per mm2 to per m2 */
    double peak_cd = lamp->flux_lm * bundle->efficiency * bundle->launch->peak_per_lm;
    double weight = peak_cd * 1e6 / (double)points;
    for (uint64_t first = 0; first < points && (!places->stops || run_goes_on(run)); first += RAY_BATCH) {
        int count = (int)(points - first < RAY_BATCH ? points - first : RAY_BATCH);
        make_points(run, lamp, area, key, first, count, scratch);
        for (int k = 0; k < places->count; k++) {
            float rx = (float)(places->x_mm[k] + places->origin_x_mm - pose->at_mm.x);
            float ry = (float)(places->y_mm[k] + places->origin_y_mm - pose->at_mm.y);
            out_lx[k] += weight * run->kernels->light(&scratch->points, bundle->shape, axis, rx, ry, rz);
        }
    }
}

/* ---- fields ------------------------------------------------------------------------------------------------------
 */

static void light_field(struct ray_run *run, int replicate, size_t plane, size_t field, size_t l,
                        struct ray_scratch *scratch) {
    const struct lamp *lamp = &run->stage->lamps[l];
    const struct luxfall_field *frame = &run->stage->scene->fields[field];
    const struct reading_grid *grid = &run->stage->grids[field];
    struct observations *seen = run->seen;
    size_t index = plane * seen->field_count + field;
    uint64_t numbers = points_index(run, plane, field, l);
    const double origin = 0;
    struct lit_area disc = {true, grid->reading_mm, grid->reading_mm};
    struct lit_area whole = {frame->round, frame->width_mm, frame->height_mm};
    struct places readings = {plane, grid->count, grid->x_mm, grid->y_mm, frame->x_mm, frame->y_mm, true};
    struct places middle = {plane, 1, &origin, &origin, frame->x_mm, frame->y_mm, true};
    light_places(run, lamp, &disc, run_key(run, replicate, PURPOSE_READING, numbers), run->plan.read_points,
                 &readings, scratch, seen->readings_lx[index] + (size_t)replicate * (size_t)grid->count);
    light_places(run, lamp, &whole, run_key(run, replicate, PURPOSE_FIELD, numbers), run->plan.field_points, &middle,
                 scratch, &seen->average_lx[index][replicate]);
}

void field_rays(struct ray_run *run, int replicate, struct ray_scratch *scratch) {
    for (size_t plane = 0; plane < run->seen->plane_count; plane++)
        for (size_t field = 0; field < run->seen->field_count; field++)
            for (size_t l = 0; l < run->stage->lamp_count && !atomic_load(&run->stopped); l++)
                if (!read_by_free_rays(run, &run->stage->bundles[run->stage->lamps[l].bundle]))
                    light_field(run, replicate, plane, field, l, scratch);
}

uint64_t field_rays_count(const struct ray_run *run) {
    uint64_t places = 0, lamps = 0;
    for (size_t f = 0; f < run->seen->field_count; f++)
        places += (uint64_t)run->stage->grids[f].count * run->plan.read_points + run->plan.field_points;
    for (size_t l = 0; l < run->stage->lamp_count; l++)
        lamps += !read_by_free_rays(run, &run->stage->bundles[run->stage->lamps[l].bundle]);
    return places * lamps * run->seen->plane_count * (uint64_t)run->seen->replicates;
}

void ray_discs_lx(const void *reader, int replicate, size_t plane, int count, const double *x_mm, const double *y_mm,
                  double *out_lx) {
    struct ray_run *run = (struct ray_run *)reader; /* its scratch is written, nothing that is told */
    struct lit_area disc = {true, run->stage->disc_mm, run->stage->disc_mm};
    struct places places = {plane, count, x_mm, y_mm, 0, 0, false};
    for (int k = 0; k < count; k++)
        out_lx[k] = 0;
    for (size_t l = 0; l < run->stage->lamp_count; l++) {
        uint64_t numbers = points_index(run, plane, run->seen->field_count, l);
        light_places(run, &run->stage->lamps[l], &disc, run_key(run, replicate, PURPOSE_READING, numbers),
                     run->plan.read_points, &places, run->reader_scratch, out_lx);
    }
}
