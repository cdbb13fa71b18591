/* Scenes put together in memory for the tests, and the checks that go with them.
 * A bench owns its arrays; bench_scene() points into it, so the bench must outlive the scene. */
#ifndef TESTS_STATISTICS_WORKBENCH_H
#define TESTS_STATISTICS_WORKBENCH_H

#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>

#include <cmocka.h>

#include "luxfall.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#define BENCH_PI 3.14159265358979323846
#define DEG (BENCH_PI / 180.0)
enum { BENCH_PARTS = 8, BENCH_MODULES = 40 };

struct bench {
    struct luxfall_emitter emitters[BENCH_PARTS];
    struct luxfall_lens lenses[BENCH_PARTS];
    struct luxfall_module modules[BENCH_MODULES];
    struct luxfall_field fields[BENCH_PARTS];
    double level_mm[BENCH_PARTS];
    size_t emitter_count, lens_count, module_count, field_count, level_count;
    int columns, rows;
    double cell_mm;
};

/* ---- chance ------------------------------------------------------------------------------------------------------
 */

/* SplitMix64 (Steele, Lea and Flood, OOPSLA 2014; memory): for drawing test cases, 0 to 1. */
static inline double bench_draw(uint64_t *s) {
    uint64_t z = (*s += 0x9e3779b97f4a7c15u);
    z = (z ^ (z >> 30)) * 0xbf58476d1ce4e5b9u;
    z = (z ^ (z >> 27)) * 0x94d049bb133111ebu;
    return (double)((z ^ (z >> 31)) >> 11) * 0x1p-53;
}

/* A standard normal number, by Box and Muller. */
static inline double bench_normal(uint64_t *s) {
    double radius = sqrt(-2.0 * log(1.0 - bench_draw(s)));
    return radius * cos(2.0 * BENCH_PI * bench_draw(s));
}

/* ---- parts ------------------------------------------------------------------------------------------------------
 */

static inline struct luxfall_face point_face(void) {
    return (struct luxfall_face){LUXFALL_POINT, 0, 0};
}

static inline struct luxfall_face disc_face(double diameter_mm) {
    return (struct luxfall_face){LUXFALL_DISC, diameter_mm, diameter_mm};
}

static inline struct luxfall_face oblong_face(double width_mm, double height_mm) {
    return (struct luxfall_face){LUXFALL_RECTANGLE, width_mm, height_mm};
}

/* One die of cos^m; m = 1 is Lambertian. */
static inline struct luxfall_emitter cosine_emitter(struct luxfall_face die, double flux_lm, double m) {
    return (struct luxfall_emitter){
        .name = "die",
        .die = die,
        .columns = 1,
        .rows = 1,
        .flux_lm = flux_lm,
        .intensity = {.kind = LUXFALL_COSINE, .viewing_angle_rad = 2.0 * acos(exp2(-1.0 / m))}};
}

static inline struct luxfall_lens beam_lens(double beam_deg, double field_deg, double peak_cd_per_lm,
                                            double efficiency, struct luxfall_face face) {
    return (struct luxfall_lens){.name = "lens",
                                 .kind = LUXFALL_LENS_BEAM,
                                 .beam = {.beam_angle_rad = beam_deg * DEG,
                                          .field_angle_rad = field_deg * DEG,
                                          .peak_cd_per_lm = peak_cd_per_lm,
                                          .efficiency = efficiency,
                                          .face = face}};
}

/* ---- the scene --------------------------------------------------------------------------------------------------
 */

static inline void bench_map(struct bench *b, double width_mm, double height_mm, double cell_mm) {
    b->columns = (int)lround(width_mm / cell_mm);
    b->rows = (int)lround(height_mm / cell_mm);
    b->cell_mm = cell_mm;
    b->level_count = 1;
    b->level_mm[0] = 0.0;
}

static inline size_t bench_emitter(struct bench *b, struct luxfall_emitter emitter) {
    assert_true(b->emitter_count < BENCH_PARTS);
    b->emitters[b->emitter_count] = emitter;
    return b->emitter_count++;
}

static inline size_t bench_lens(struct bench *b, struct luxfall_lens lens) {
    assert_true(b->lens_count < BENCH_PARTS);
    b->lenses[b->lens_count] = lens;
    return b->lens_count++;
}

static inline struct luxfall_field *bench_field(struct bench *b, double width_mm, double height_mm) {
    assert_true(b->field_count < BENCH_PARTS);
    struct luxfall_field *field = &b->fields[b->field_count++];
    *field = (struct luxfall_field){.name = "field", .width_mm = width_mm, .height_mm = height_mm};
    return field;
}

static inline struct luxfall_field *bench_round_field(struct bench *b, double diameter_mm) {
    struct luxfall_field *field = bench_field(b, diameter_mm, diameter_mm);
    field->round = true;
    return field;
}

static inline struct luxfall_module *bench_pose(struct bench *b, struct luxfall_pose pose, size_t emitter,
                                                size_t lens) {
    assert_true(b->module_count < BENCH_MODULES);
    struct luxfall_module *module = &b->modules[b->module_count++];
    *module = (struct luxfall_module){.name = "lamp", .emitter = emitter, .lens = lens, .pose = pose, .scale = 1.0};
    return module;
}

static inline void bench_place(struct bench *b, const struct luxfall_placement *placement, size_t emitter,
                               size_t lens) {
    struct luxfall_pose poses[BENCH_MODULES];
    struct luxfall_error error;
    size_t count = luxfall_placement_count(placement);
    assert_true(count <= BENCH_MODULES);
    if (luxfall_place(placement, poses, &error) != LUXFALL_OK)
        fail_msg("placing: %s", error.text);
    for (size_t i = 0; i < count; i++)
        bench_pose(b, poses[i], emitter, lens);
}

/* A frame that looks along an axis; x and y are any two that fit. */
static inline struct luxfall_pose pose_looking(struct luxfall_vec at, struct luxfall_vec axis) {
    double length = sqrt(axis.x * axis.x + axis.y * axis.y + axis.z * axis.z);
    struct luxfall_vec a = {axis.x / length, axis.y / length, axis.z / length};
    double level = hypot(a.x, a.y);
    struct luxfall_vec x =
        level > 1e-12 ? (struct luxfall_vec){a.y / level, -a.x / level, 0.0} : (struct luxfall_vec){1.0, 0.0, 0.0};
    struct luxfall_vec y = {a.y * x.z - a.z * x.y, a.z * x.x - a.x * x.z, a.x * x.y - a.y * x.x};
    return (struct luxfall_pose){.at_mm = at, .x = x, .y = y, .axis = a};
}

static inline struct luxfall_pose pose_down(double x_mm, double y_mm, double height_mm) {
    return pose_looking((struct luxfall_vec){x_mm, y_mm, height_mm}, (struct luxfall_vec){0.0, 0.0, -1.0});
}

static inline struct luxfall_scene bench_scene(const struct bench *b) {
    return (struct luxfall_scene){
        .emitters = b->emitters,
        .emitter_count = b->emitter_count,
        .lenses = b->lenses,
        .lens_count = b->lens_count,
        .modules = b->modules,
        .module_count = b->module_count,
        .target = {.columns = b->columns,
                   .rows = b->rows,
                   .cell_mm = b->cell_mm,
                   .level_count = b->level_count,
                   .level_mm = b->level_mm},
        .fields = b->fields,
        .field_count = b->field_count,
    };
}

/* The mineral-sorting ring: 8 modules, 165 mm, 38 deg, 95 lm, 84 %, 18 mm face, three zoom fields, a 160 mm map. */
static inline void bench_sorting_ring(struct bench *b, double beam_deg, double short_mm) {
    struct luxfall_placement ring = {.kind = LUXFALL_AT_RING,
                                     .count = 8,
                                     .distance_mm = 165.0,
                                     .incidence_rad = 38.0 * DEG,
                                     .aim = short_mm > 0.0 ? LUXFALL_AIM_SHORT : LUXFALL_AIM_CENTRE,
                                     .aim_mm = short_mm};
    *b = (struct bench){0};
    bench_map(b, 160.0, 160.0, 1.0);
    size_t die = bench_emitter(b, cosine_emitter(oblong_face(1.2, 1.2), 95.0, 1.0));
    size_t lens = bench_lens(b, beam_lens(beam_deg, 0.0, 0.0, 0.84, disc_face(18.0)));
    bench_place(b, &ring, die, lens);
    bench_field(b, 36.0, 27.0);
    bench_field(b, 18.0, 13.5);
    bench_field(b, 4.5, 3.4);
}

/* ---- asking the library -----------------------------------------------------------------------------------------
 */

static inline struct luxfall_result *bench_trace(const struct bench *b, const struct luxfall_options *options) {
    struct luxfall_scene scene = bench_scene(b);
    struct luxfall_error error = {0};
    struct luxfall_result *result = NULL;
    if (luxfall_trace(&scene, options, &result, &error) != LUXFALL_OK)
        fail_msg("tracing: %s", error.text);
    return result;
}

static inline struct luxfall_result *bench_direct(const struct bench *b) {
    struct luxfall_options options;
    luxfall_options_init(&options);
    options.method = LUXFALL_DIRECT;
    return bench_trace(b, &options);
}

/* Rays of a fixed count. */
static inline struct luxfall_options bench_rays(uint64_t rays, uint64_t seed) {
    struct luxfall_options options;
    luxfall_options_init(&options);
    options.accuracy = 0.0;
    options.rays = rays;
    options.seed = seed;
    return options;
}

static inline double bench_reading(const struct bench *b, double x_mm, double y_mm, double reading_mm) {
    struct luxfall_scene scene = bench_scene(b);
    struct luxfall_error error = {0};
    double lux = NAN;
    if (luxfall_direct_reading(&scene, x_mm, y_mm, b->level_mm[0], reading_mm, &lux, &error) != LUXFALL_OK)
        fail_msg("reading: %s", error.text);
    return lux;
}

/* ---- checks with a tolerance ------------------------------------------------------------------------------------
 */

/* Worst error of a family in units of its tolerance; NaN counts as infinitely wrong. */
struct verdict {
    double worst;
    int numbers;
    char where[96];
};

static inline void verdict_add(struct verdict *v, double got, double want, double relative, const char *where) {
    double error = fabs(got - want) / (relative * (want != 0.0 ? fabs(want) : 1.0));
    v->numbers++;
    if (error <= v->worst)
        return;
    v->worst = isnan(error) ? INFINITY : error;
    snprintf(v->where, sizeof v->where, "%s: got %.10g, want %.10g", where, got, want);
}

static inline void verdict_holds(const struct verdict *v, int numbers) {
    if (!(v->worst <= 1.0))
        fail_msg("%g tolerances off at %s", v->worst, v->where);
    assert_int_equal(v->numbers, numbers);
}

/* For twins: the mistake must be noticed. */
static inline void verdict_fails(const struct verdict *v) {
    if (v->worst <= 1.0)
        fail_msg("the mistake went unnoticed; worst error is %g tolerances", v->worst);
}
#endif
