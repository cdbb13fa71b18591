/* Scenes and results made up for the pictures' and files' tests, without the tracer: bell-shaped beams summed at the
 * cells' centres, with invented bands and, when asked, noise of that size. All of it is demonstration data. */
#ifndef TESTS_FIGURES_FIXTURE_H
#define TESTS_FIGURES_FIXTURE_H

#include "scenes/scene.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

struct fixture_spec {
    const char *title;
    int columns, rows;
    double cell_mm;
    enum luxfall_placement_kind kind; /* RING or GRID */
    int count, grid_columns, grid_rows;
    double distance_mm, incidence_deg, beam_deg, pitch_mm;
    double peak_lx; /* the map is scaled to it; 0: no light at all */
    double noise;   /* relative 95 % band of a cell at the peak; 0: the direct way */
    size_t field_count;
    struct luxfall_field fields[12];
};

struct fixture {
    struct scene scene;
    struct scene_group group;
    struct luxfall_emitter emitter;
    struct luxfall_lens lens;
    struct luxfall_module *modules;
    double level_mm;
    struct luxfall_field fields[12];
    struct luxfall_result result;
    struct luxfall_plane_result plane;
};

static inline double fixture_random(uint64_t *state) { /* a plain 64-bit congruence, good enough for speckle */
    *state = *state * 6364136223846793005U + 1442695040888963407U;
    return (double)(*state >> 11) / 9007199254740992.0;
}

static inline double fixture_bell(const struct luxfall_module *m, double beam_rad, double x, double y) {
    double dx = x - m->pose.at_mm.x, dy = y - m->pose.at_mm.y, dz = -m->pose.at_mm.z;
    double d = sqrt(dx * dx + dy * dy + dz * dz);
    double along = (dx * m->pose.axis.x + dy * m->pose.axis.y + dz * m->pose.axis.z) / d;
    double angle = acos(along > 1 ? 1 : along < -1 ? -1 : along);
    return exp(-log(2) * pow(2 * angle / beam_rad, 2)) * (-dz / d) / (d * d);
}

static inline double fixture_lux(const struct fixture *f, double x, double y) {
    double sum = 0;
    for (size_t m = 0; m < f->scene.light.module_count; m++)
        if (!f->modules[m].dark)
            sum += fixture_bell(&f->modules[m], f->lens.beam.beam_angle_rad, x, y);
    return sum;
}

static inline void fixture_modules(struct fixture *f, const struct fixture_spec *spec) {
    double rad = acos(-1) / 180;
    size_t count =
        spec->kind == LUXFALL_AT_GRID ? (size_t)(spec->grid_columns * spec->grid_rows) : (size_t)spec->count;
    f->modules = calloc(count, sizeof *f->modules);
    f->result.modules = calloc(count, sizeof *f->result.modules);
    for (size_t i = 0; i < count; i++) {
        struct luxfall_vec at;
        if (spec->kind == LUXFALL_AT_GRID) {
            int column = (int)i % spec->grid_columns, row = (int)i / spec->grid_columns;
            at = (struct luxfall_vec){(column - (spec->grid_columns - 1) / 2.0) * spec->pitch_mm,
                                      (row - (spec->grid_rows - 1) / 2.0) * spec->pitch_mm, spec->distance_mm};
        } else {
            double azimuth = 2 * acos(-1) * (double)i / (double)count, lean = spec->incidence_deg * rad;
            at = (struct luxfall_vec){spec->distance_mm * sin(lean) * cos(azimuth),
                                      spec->distance_mm * sin(lean) * sin(azimuth), spec->distance_mm * cos(lean)};
        }
        double d = sqrt(at.x * at.x + at.y * at.y + at.z * at.z);
        struct luxfall_vec axis = spec->kind == LUXFALL_AT_GRID
                                      ? (struct luxfall_vec){0, 0, -1}
                                      : (struct luxfall_vec){-at.x / d, -at.y / d, -at.z / d};
        f->modules[i] = (struct luxfall_module){.name = "module", .pose = {.at_mm = at, .axis = axis}, .scale = 1};
        f->result.modules[i] = (struct luxfall_module_result){
            .bracket = {spec->incidence_deg * rad, 0, d, spec->incidence_deg * rad, {0, 0, 0}}, .flux_lm = 95};
    }
    f->group = (struct scene_group){.name = spec->kind == LUXFALL_AT_GRID ? "panel" : "ring", .count = count};
    f->group.placement =
        (struct luxfall_placement){.kind = spec->kind,
                                   .count = spec->count,
                                   .columns = spec->grid_columns,
                                   .rows = spec->grid_rows,
                                   .distance_mm = spec->distance_mm,
                                   .incidence_rad = spec->incidence_deg * rad,
                                   .pitch_x_mm = spec->pitch_mm,
                                   .pitch_y_mm = spec->pitch_mm,
                                   .height_mm = spec->distance_mm,
                                   .aim = spec->kind == LUXFALL_AT_GRID ? LUXFALL_AIM_DOWN : LUXFALL_AIM_CENTRE};
    f->scene.light.modules = f->modules;
    f->scene.light.module_count = f->result.module_count = count;
}

static inline struct luxfall_estimate fixture_estimate(double value, double band) {
    return (struct luxfall_estimate){value, band > 0 ? fabs(value) * band : NAN};
}

static inline void fixture_section(struct luxfall_section *s, const struct fixture *f, int count, double cell_mm,
                                   double factor, double band, bool along_y) {
    s->count = (size_t)count;
    s->at_mm = calloc(s->count, sizeof(double));
    s->lx = calloc(s->count, sizeof(double));
    s->u95_lx = calloc(s->count, sizeof(double));
    for (int i = 0; i < count; i++) {
        s->at_mm[i] = (i + 0.5 - count / 2.0) * cell_mm;
        s->lx[i] = factor * (along_y ? fixture_lux(f, 0, s->at_mm[i]) : fixture_lux(f, s->at_mm[i], 0));
        s->u95_lx[i] = band > 0 ? band * sqrt(s->lx[i] * f->plane.peak_lx.value) : NAN;
    }
}

static inline void fixture_map(struct fixture *f, const struct fixture_spec *spec) {
    struct luxfall_plane_result *p = &f->plane;
    size_t cells = (size_t)spec->columns * (size_t)spec->rows;
    uint64_t state = 7;
    double peak = 0;
    p->e_lx = calloc(cells, sizeof *p->e_lx);
    p->e_u95_lx = spec->noise > 0 ? calloc(cells, sizeof *p->e_u95_lx) : NULL;
    for (size_t i = 0; i < cells; i++) {
        double x = ((double)(i % (size_t)spec->columns) + 0.5 - spec->columns / 2.0) * spec->cell_mm;
        double y = ((double)(i / (size_t)spec->columns) + 0.5 - spec->rows / 2.0) * spec->cell_mm;
        double lux = fixture_lux(f, x, y);
        p->e_lx[i] = (float)lux;
        if (lux > peak) {
            peak = lux;
            p->peak_x_mm = x;
            p->peak_y_mm = y;
        }
    }
    double factor = peak > 0 ? spec->peak_lx / peak : 0;
    p->peak_lx = fixture_estimate(spec->peak_lx, spec->noise / 10);
    p->centre_lx = fixture_estimate(factor * fixture_lux(f, 0, 0), spec->noise / 10);
    for (size_t i = 0; i < cells; i++) {
        double lux = factor * p->e_lx[i], band = spec->noise * sqrt(lux * spec->peak_lx);
        if (p->e_u95_lx != NULL)
            p->e_u95_lx[i] = (float)band;
        double bell = fixture_random(&state) + fixture_random(&state) + fixture_random(&state) - 1.5; /* sd 1/2 */
        p->e_lx[i] = (float)fmax(0, lux + bell * band);
    }
    fixture_section(&p->along_x, f, spec->columns, spec->cell_mm, factor, spec->noise / 10, false);
    fixture_section(&p->along_y, f, spec->rows, spec->cell_mm, factor, spec->noise / 10, true);
}

static inline void fixture_fields(struct fixture *f, const struct fixture_spec *spec) {
    struct luxfall_field_result *out = calloc(spec->field_count + 1, sizeof *out);
    for (size_t i = 0; i < spec->field_count; i++) {
        double band = spec->noise / 10;
        f->fields[i] = spec->fields[i];
        out[i] = (struct luxfall_field_result){.reading_mm =
                                                   fmin(spec->fields[i].width_mm, spec->fields[i].height_mm) / 10,
                                               .width_mm = spec->fields[i].width_mm,
                                               .height_mm = spec->fields[i].height_mm,
                                               .centre_lx = f->plane.centre_lx,
                                               .average_lx = fixture_estimate(0.95 * spec->peak_lx, band),
                                               .minimum_lx = fixture_estimate(0.8 * spec->peak_lx, band),
                                               .maximum_lx = fixture_estimate(spec->peak_lx, band),
                                               .centre_direct_lx = f->plane.centre_lx.value * 1.001,
                                               .centre_difference_in_u95 = spec->noise > 0 ? -0.4 : NAN,
                                               .minimum_over_average = fixture_estimate(0.853, band),
                                               .minimum_over_maximum = fixture_estimate(0.8, band),
                                               .edge_over_centre = fixture_estimate(0.81, band),
                                               .variation = fixture_estimate(0.05, band),
                                               .tilt_percent_per_mm = fixture_estimate(0.01, band),
                                               .tilt_direction_deg = {NAN, NAN},
                                               .dome_percent = fixture_estimate(12, band),
                                               .flux_lm = fixture_estimate(81, band),
                                               .utilisation = fixture_estimate(0.129, band)};
    }
    f->plane.fields = out;
    f->scene.light.fields = f->fields;
    f->scene.light.field_count = f->result.field_count = spec->field_count;
}

static inline void fixture_ledger(struct fixture *f, double band) {
    double emitted = 95.0 * (double)f->result.module_count;
    f->plane.ledger = (struct luxfall_ledger){.emitted_lm = {emitted, band > 0 ? 0 : NAN},
                                              .on_map_lm = fixture_estimate(0.7 * emitted, band),
                                              .off_map_lm = fixture_estimate(0.14 * emitted, band),
                                              .absorbed_lm = fixture_estimate(0.16 * emitted, band),
                                              .abandoned_lm = {0, band > 0 ? 0 : NAN}};
    f->plane.ledger.loss_lm[LUXFALL_LOSS_DATASHEET] = f->plane.ledger.absorbed_lm;
    f->result.leaving_lm = 0.84 * emitted;
}

/* The pointers inside lead into *f: it must not be moved. */
static inline void fixture_make(struct fixture *f, const struct fixture_spec *spec) {
    *f = (struct fixture){0};
    f->emitter =
        (struct luxfall_emitter){.name = "die",
                                 .die = {LUXFALL_RECTANGLE, 1.2, 1.2},
                                 .columns = 1,
                                 .rows = 1,
                                 .flux_lm = 95,
                                 .intensity = {.kind = LUXFALL_COSINE, .viewing_angle_rad = acos(-1) * 2 / 3}};
    f->lens = (struct luxfall_lens){.name = "medium", .kind = LUXFALL_LENS_BEAM};
    f->lens.beam = (struct luxfall_beam){
        .beam_angle_rad = spec->beam_deg * acos(-1) / 180, .efficiency = 0.84, .face = {LUXFALL_DISC, 18, 18}};
    f->scene.path = strdup("scenes/invented.yaml");
    f->scene.title = strdup(spec->title);
    f->scene.light.emitters = &f->emitter;
    f->scene.light.emitter_count = 1;
    f->scene.light.lenses = &f->lens;
    f->scene.light.lens_count = 1;
    f->scene.light.target = (struct luxfall_target){spec->columns, spec->rows, spec->cell_mm, 1, &f->level_mm};
    f->scene.groups = &f->group;
    f->scene.group_count = 1;
    f->scene.seed = f->result.seed = 1;
    fixture_modules(f, spec);
    f->plane.columns = spec->columns;
    f->plane.rows = spec->rows;
    f->plane.cell_mm = spec->cell_mm;
    f->plane.disc_mm = spec->cell_mm * fmin(spec->columns, spec->rows) / 40;
    fixture_map(f, spec);
    fixture_fields(f, spec);
    fixture_ledger(f, spec->noise / 10);
    f->plane.half_peak_diameter_mm = fixture_estimate(0.3 * spec->columns * spec->cell_mm, spec->noise / 10);
    f->plane.tenth_peak_diameter_mm = (struct luxfall_estimate){NAN, NAN};
    f->result.method = spec->noise > 0 ? LUXFALL_RAYS : LUXFALL_DIRECT;
    f->result.rays_traced = spec->noise > 0 ? 4194304 : 0;
    f->result.rays_cast = spec->noise > 0 ? 268435456 : 0;
    f->result.replicates = spec->noise > 0 ? LUXFALL_REPLICATES : 0;
    f->result.accuracy_reached = true;
    f->result.quadrature_error = spec->noise > 0 ? NAN : 2e-7;
    f->result.planes = &f->plane;
    f->result.plane_count = 1;
}

static inline void fixture_free(struct fixture *f) {
    free(f->modules);
    free(f->result.modules);
    free(f->plane.e_lx);
    free(f->plane.e_u95_lx);
    free(f->plane.fields);
    struct luxfall_section *sections[] = {&f->plane.along_x, &f->plane.along_y};
    for (int i = 0; i < 2; i++) {
        free(sections[i]->at_mm);
        free(sections[i]->lx);
        free(sections[i]->u95_lx);
    }
    free(f->scene.path);
    free(f->scene.title);
}

/* ---- the cases that pictures are tried with ---------------------------------------------------------------------
 */

#define FIXTURE_THREE_ZOOMS(k)                                                                           \
    .field_count = 3, .fields = {{.name = "widest zoom", .width_mm = 36 * (k), .height_mm = 27 * (k)},   \
                                 {.name = "middle zoom", .width_mm = 18 * (k), .height_mm = 13.5 * (k)}, \
                                 {.name = "closest zoom", .width_mm = 4.5 * (k), .height_mm = 3.4 * (k)}}

static const struct fixture_spec fixture_cases[] = {
    {.title = "Mineral-sorting ring",
     .columns = 160,
     .rows = 160,
     .cell_mm = 1,
     .kind = LUXFALL_AT_RING,
     .count = 8,
     .distance_mm = 165,
     .incidence_deg = 38,
     .beam_deg = 24,
     .peak_lx = 91550,
     .noise = 0.03,
     FIXTURE_THREE_ZOOMS(1)},
    {.title = "Die under the microscope",
     .columns = 100,
     .rows = 100,
     .cell_mm = 0.02,
     .kind = LUXFALL_AT_RING,
     .count = 3,
     .distance_mm = 4,
     .incidence_deg = 20,
     .beam_deg = 12,
     .peak_lx = 1.04e6,
     .noise = 0.03,
     FIXTURE_THREE_ZOOMS(0.02)},
    {.title = "Wall of a hall, five metres wide",
     .columns = 250,
     .rows = 150,
     .cell_mm = 20,
     .kind = LUXFALL_AT_GRID,
     .grid_columns = 10,
     .grid_rows = 10,
     .pitch_mm = 300,
     .distance_mm = 2500,
     .beam_deg = 40,
     .peak_lx = 1.3,
     .noise = 0,
     .field_count = 2,
     .fields =
         {{.name = "picture", .width_mm = 1200, .height_mm = 800, .x_mm = -900},
          {.name = "round table", .round = true, .width_mm = 700, .height_mm = 700, .x_mm = 1300, .y_mm = -500}}},
    {.title = "Bar over a conveyor",
     .columns = 240,
     .rows = 10,
     .cell_mm = 1,
     .kind = LUXFALL_AT_GRID,
     .grid_columns = 8,
     .grid_rows = 1,
     .pitch_mm = 25,
     .distance_mm = 60,
     .beam_deg = 30,
     .peak_lx = 21000,
     .noise = 0.02,
     .field_count = 2,
     .fields = {{.name = "scan line", .width_mm = 200, .height_mm = 2},
                {.name = "part", .width_mm = 30, .height_mm = 8, .x_mm = 60}}},
    {.title = "Upright strip",
     .columns = 10,
     .rows = 240,
     .cell_mm = 1,
     .kind = LUXFALL_AT_GRID,
     .grid_columns = 1,
     .grid_rows = 8,
     .pitch_mm = 25,
     .distance_mm = 60,
     .beam_deg = 30,
     .peak_lx = 21000,
     .noise = 0,
     .field_count = 2,
     .fields = {{.name = "scan line", .width_mm = 2, .height_mm = 200},
                {.name = "part", .width_mm = 8, .height_mm = 30, .y_mm = 60}}},
    {.title = "Ten fields, some of them tiny, in a map that holds more than they need",
     .columns = 200,
     .rows = 200,
     .cell_mm = 1,
     .kind = LUXFALL_AT_RING,
     .count = 100,
     .distance_mm = 220,
     .incidence_deg = 30,
     .beam_deg = 20,
     .peak_lx = 480,
     .noise = 0.08,
     .field_count = 10,
     .fields = {{.name = "full frame", .width_mm = 120, .height_mm = 90},
                {.name = "half frame", .width_mm = 60, .height_mm = 45},
                {.name = "zoom 1", .width_mm = 16, .height_mm = 12},
                {.name = "zoom 2", .width_mm = 8, .height_mm = 6},
                {.name = "zoom 3", .width_mm = 4, .height_mm = 3},
                {.name = "pinhole", .round = true, .width_mm = 1, .height_mm = 1},
                {.name = "left coin", .round = true, .width_mm = 22, .height_mm = 22, .x_mm = -30, .y_mm = 20},
                {.name = "right coin", .round = true, .width_mm = 22, .height_mm = 22, .x_mm = 30, .y_mm = 20},
                {.name = "a field with quite a long name given to it by its owner",
                 .width_mm = 20,
                 .height_mm = 5,
                 .y_mm = -60},
                {.name = "corner", .width_mm = 10, .height_mm = 10, .x_mm = 92, .y_mm = 92}}},
    {.title = "No lamp is lit",
     .columns = 40,
     .rows = 40,
     .cell_mm = 2,
     .kind = LUXFALL_AT_RING,
     .count = 1,
     .distance_mm = 200,
     .incidence_deg = 0,
     .beam_deg = 24,
     .peak_lx = 0,
     .noise = 0,
     .field_count = 1,
     .fields = {{.name = "coin", .round = true, .width_mm = 25, .height_mm = 25}}},
};
enum { FIXTURE_CASES = sizeof fixture_cases / sizeof *fixture_cases };

#endif
