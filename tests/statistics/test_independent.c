/* Varied scenes, direct and by rays, against the independent reckoning of reference.h: placements, beams, faces,
 * readings and every statistic of a field are worked out there a second time from the definitions.
 *
 * The direct way must agree closely, rays within their own band. The scenes are invented. */
#include "statistics/reference.h"
#include "statistics/workbench.h"

struct study {
    const char *name;
    struct bench bench;
    struct luxfall_pose poses[BENCH_MODULES]; /* by the reference's own geometry */
    int nodes, pieces;                        /* of the reference: points across a face, panels across a field */
    bool narrow_map;                          /* the map cuts the spot: no diameters */
};

static void put(struct study *s, struct luxfall_placement placement, size_t emitter, size_t lens) {
    size_t first = s->bench.module_count;
    bench_place(&s->bench, &placement, emitter, lens);
    for (size_t i = first; i < s->bench.module_count; i++)
        s->poses[i] = ref_pose(&placement, (int)(i - first));
}

static size_t add_die(struct study *s, double flux_lm) {
    return bench_emitter(&s->bench, cosine_emitter(oblong_face(1.2, 1.2), flux_lm, 1.0));
}

static struct luxfall_placement ring(int count, double distance_mm, double incidence_deg) {
    return (struct luxfall_placement){
        .kind = LUXFALL_AT_RING, .count = count, .distance_mm = distance_mm, .incidence_rad = incidence_deg * DEG};
}

static struct luxfall_placement single(double distance_mm, double incidence_deg, double azimuth_deg) {
    return (struct luxfall_placement){.kind = LUXFALL_AT_SINGLE,
                                      .distance_mm = distance_mm,
                                      .incidence_rad = incidence_deg * DEG,
                                      .azimuth_rad = azimuth_deg * DEG};
}

/* ---- the scenes --------------------------------------------------------------------------------------------------
 */

static void ring_at_three_levels(struct study *s) {
    bench_sorting_ring(&s->bench, 24.0, 36.0);
    struct luxfall_placement placement = ring(8, 165, 38);
    placement.aim = LUXFALL_AIM_SHORT;
    placement.aim_mm = 36;
    for (int i = 0; i < 8; i++)
        s->poses[i] = ref_pose(&placement, i);
    s->bench.level_count = 3;
    s->bench.level_mm[0] = -10;
    s->bench.level_mm[1] = 0;
    s->bench.level_mm[2] = 10;
}

static void line_bar(struct study *s) {
    struct luxfall_placement line = {.kind = LUXFALL_AT_LINE,
                                     .count = 8,
                                     .pitch_x_mm = 40,
                                     .height_mm = 150,
                                     .azimuth_rad = 0.1,
                                     .aim = LUXFALL_AIM_DOWN};
    bench_map(&s->bench, 420, 220, 2);
    put(s, line, add_die(s, 250), bench_lens(&s->bench, beam_lens(30, 0, 0, 0.86, disc_face(13))));
    s->bench.modules[0].scale = 1.3;
    s->bench.modules[7].scale = 1.3;
    bench_field(&s->bench, 240, 10)->reading_mm = 4;
    bench_field(&s->bench, 60, 40)->y_mm = 30;
}

static void seedling_grid(struct study *s) {
    struct luxfall_placement grid = {.kind = LUXFALL_AT_GRID,
                                     .columns = 4,
                                     .rows = 3,
                                     .pitch_x_mm = 150,
                                     .pitch_y_mm = 130,
                                     .height_mm = 600,
                                     .aim = LUXFALL_AIM_DOWN};
    bench_map(&s->bench, 1400, 1200, 10);
    put(s, grid, add_die(s, 180), bench_lens(&s->bench, beam_lens(45, 0, 0, 0.85, disc_face(22))));
    s->bench.modules[1].dark = true;
    s->bench.modules[8].scale = 0.7;
    bench_field(&s->bench, 540, 280)->reading_mm = 20;
}

static void copy_stand(struct study *s) {
    size_t die = add_die(s, 900), lens = bench_lens(&s->bench, beam_lens(60, 0, 0, 0.85, disc_face(50)));
    bench_map(&s->bench, 900, 700, 10);
    for (int i = 0; i < 4; i++) {
        double x = i % 2 ? 600 : -600, y = i / 2 ? 300 : -300;
        struct luxfall_placement head = {.kind = LUXFALL_AT_POINT,
                                         .at_mm = {x, y, 600},
                                         .aim = LUXFALL_AIM_POINT,
                                         .aim_x_mm = -0.3 * x,
                                         .aim_y_mm = -0.2 * y};
        put(s, head, die, lens);
    }
    s->narrow_map = true;
    bench_field(&s->bench, 420, 297);
}

static void coin_stand(struct study *s) {
    struct luxfall_placement placement = ring(3, 350, 12);
    placement.aim = LUXFALL_AIM_PAST;
    placement.aim_mm = 20;
    placement.azimuth_rad = 0.4;
    bench_map(&s->bench, 300, 300, 2);
    put(s, placement, add_die(s, 150), bench_lens(&s->bench, beam_lens(15, 0, 0, 0.85, disc_face(20))));
    bench_round_field(&s->bench, 40);
    struct luxfall_field *corner = bench_round_field(&s->bench, 22);
    corner->x_mm = 25;
    corner->y_mm = -10;
    corner->reading_mm = 3;
}

static void rework_station(struct study *s) {
    struct luxfall_placement placement = ring(8, 300, 45);
    placement.aim = LUXFALL_AIM_SHORT;
    placement.aim_mm = 60;
    bench_map(&s->bench, 600, 500, 5);
    put(s, placement, add_die(s, 220), bench_lens(&s->bench, beam_lens(30, 0, 0, 0.86, disc_face(22))));
    s->bench.modules[2].dark = true;
    bench_field(&s->bench, 160, 100);
    struct luxfall_field *connector = bench_field(&s->bench, 30, 12);
    connector->x_mm = 60;
    connector->y_mm = -40;
}

/* Six dies without a lens, close to the plane, so that each die counts by itself. */
static void bare_dies(struct study *s) {
    struct luxfall_emitter board = cosine_emitter(oblong_face(1.4, 2.0), 300, 1.0);
    struct luxfall_placement placement = single(30, 25, 70);
    board.columns = 3;
    board.rows = 2;
    board.pitch_x_mm = 8;
    board.pitch_y_mm = 6;
    placement.roll_rad = 20 * DEG;
    bench_map(&s->bench, 200, 200, 2);
    put(s, placement, bench_emitter(&s->bench, board), LUXFALL_NO_LENS);
    bench_field(&s->bench, 30, 20);
}

static void cosine_discs(struct study *s) {
    struct luxfall_emitter led = cosine_emitter(disc_face(3), 100, 1.0);
    struct luxfall_placement placement = ring(3, 120, 30);
    led.intensity.viewing_angle_rad = 80 * DEG;
    placement.lean_rad = 5 * DEG;
    placement.lean_azimuth_rad = 30 * DEG;
    bench_map(&s->bench, 500, 500, 5);
    put(s, placement, bench_emitter(&s->bench, led), LUXFALL_NO_LENS);
    bench_field(&s->bench, 60, 60);
}

/* A batwing: brightest off the axis. */
static void curve(struct study *s) {
    static const double angle[] = {0, 15 * DEG, 35 * DEG, 50 * DEG, 70 * DEG, 80 * DEG};
    static const double relative[] = {0.6, 0.7, 1.0, 0.8, 0.15, 0.0};
    struct luxfall_emitter led = cosine_emitter(disc_face(8), 400, 1.0);
    struct luxfall_placement placement = single(150, 0, 0);
    led.intensity = (struct luxfall_intensity){
        .kind = LUXFALL_CURVE, .curve_count = 6, .curve_angle_rad = angle, .curve_relative = relative};
    placement.lean_rad = 10 * DEG;
    placement.lean_azimuth_rad = 200 * DEG;
    bench_map(&s->bench, 400, 400, 4);
    put(s, placement, bench_emitter(&s->bench, led), LUXFALL_NO_LENS);
    s->nodes = 20;
    s->pieces = 16;
    s->narrow_map = true;
    bench_field(&s->bench, 200, 120);
}

static void flat_topped_oblong(struct study *s) {
    struct luxfall_placement placement = single(80, 40, 300);
    placement.roll_rad = 35 * DEG;
    placement.lean_rad = 4 * DEG;
    placement.lean_azimuth_rad = 100 * DEG;
    bench_map(&s->bench, 240, 240, 2);
    put(s, placement, add_die(s, 200), bench_lens(&s->bench, beam_lens(30, 42, 0, 0.8, oblong_face(12, 40))));
    s->nodes = 16;
    bench_field(&s->bench, 24, 16);
    bench_field(&s->bench, 70, 50);
}

static struct luxfall_lens peaked(double beam_deg, double field_deg, double over_bell, double skirt_deg) {
    double bell = 2897.2158 / (beam_deg * beam_deg);
    struct luxfall_lens lens = beam_lens(beam_deg, field_deg, 0.85 * bell * over_bell, 0.85, disc_face(21));
    lens.beam.skirt_rad = skirt_deg * DEG;
    return lens;
}

static void peak_above_bell(struct study *s) {
    bench_map(&s->bench, 300, 300, 2);
    put(s, ring(5, 200, 40), add_die(s, 120), bench_lens(&s->bench, peaked(20, 0, 1.25, 0)));
    bench_field(&s->bench, 40, 30);
}

static void peak_below_bell(struct study *s) {
    bench_map(&s->bench, 300, 300, 2);
    put(s, single(250, 35, 35), add_die(s, 110), bench_lens(&s->bench, peaked(15, 0, 0.6, 0)));
    put(s, single(250, 35, 145), 0, 0);
    bench_field(&s->bench, 60, 60);
}

static void peak_field_and_skirt(struct study *s) {
    bench_map(&s->bench, 400, 400, 2);
    put(s, ring(4, 220, 25), add_die(s, 140), bench_lens(&s->bench, peaked(18, 34, 0.55, 70)));
    bench_round_field(&s->bench, 60);
}

static void raking_light(struct study *s) {
    bench_map(&s->bench, 400, 200, 2);
    put(s, single(300, 80, 180), add_die(s, 200), bench_lens(&s->bench, beam_lens(10, 0, 0, 0.85, disc_face(20))));
    s->narrow_map = true;
    s->pieces = 8;
    bench_field(&s->bench, 50, 50);
}

/* A point in place of a face, a wall far off, beams of two widths. */
static void helmet_lamp(struct study *s) {
    bench_map(&s->bench, 3000, 3000, 25);
    put(s, single(3000, 0, 0), add_die(s, 250), bench_lens(&s->bench, beam_lens(10, 0, 0, 0.86, point_face())));
    put(s, single(3000, 1, 30), 0, bench_lens(&s->bench, beam_lens(45, 0, 0, 0.86, disc_face(20))));
    s->pieces = 8;
    s->narrow_map = true;
    bench_field(&s->bench, 2000, 2000)->reading_mm = 60;
}

static void (*const SCENES[])(struct study *) = {
    ring_at_three_levels, line_bar,        seedling_grid,        copy_stand,   coin_stand,
    rework_station,       bare_dies,       cosine_discs,         curve,        flat_topped_oblong,
    peak_above_bell,      peak_below_bell, peak_field_and_skirt, raking_light, helmet_lamp,
};
static const char *const NAMES[] = {
    "ring at three levels", "line bar",        "seedling grid",         "copy stand",   "coin stand",
    "rework station",       "bare dies",       "cosine discs",          "curve",        "flat-topped oblong",
    "peak above bell",      "peak below bell", "peak, field and skirt", "raking light", "helmet lamp",
};
enum { SCENE_COUNT = sizeof SCENES / sizeof *SCENES };

/* ---- comparing ---------------------------------------------------------------------------------------------------
 */

struct comparison {
    const char *scene;
    bool rays, quiet;
    double closest; /* direct: relative tolerance */
    int numbers, bad;
    double worst;
};

/* Direct: relative or absolute tolerance. Rays: twice the band and two parts in ten thousand. */
static void compare(struct comparison *c, const char *what, struct luxfall_estimate got, double want, double relative,
                    double absolute) {
    double room = c->rays ? 2.0 * got.u95 + 2e-4 * fabs(want) + 1e-9 : relative * fabs(want) + absolute;
    double error = fabs(got.value - want) / room;
    c->numbers++;
    c->worst = error > c->worst ? error : c->worst;
    if (error <= 1.0)
        return;
    c->bad++;
    if (c->quiet)
        return;
    print_error("%s, %s: %s is %.8g +- %.2g, the reference has %.8g\n", c->scene, c->rays ? "rays" : "direct", what,
                got.value, got.u95, want);
}

static void compare_field(struct comparison *c, const struct luxfall_field_result *got, const struct ref_field *want,
                          double half_diagonal) {
    double r = c->closest, percent = 100.0 * r;
    compare(c, "centre", got->centre_lx, want->centre_lx, r, 0);
    compare(c, "average", got->average_lx, want->average_lx, r, 0);
    compare(c, "minimum", got->minimum_lx, want->minimum_lx, r, 0);
    compare(c, "maximum", got->maximum_lx, want->maximum_lx, r, 0);
    compare(c, "U0", got->minimum_over_average, want->minimum_over_average, r, 0);
    compare(c, "minimum/maximum", got->minimum_over_maximum, want->minimum_over_maximum, r, 0);
    compare(c, "edge/centre", got->edge_over_centre, want->edge_over_centre, r, 0);
    compare(c, "variation", got->variation, want->variation, 1e-3, r);
    compare(c, "tilt", got->tilt_percent_per_mm, want->tilt_percent_per_mm, r, percent / half_diagonal);
    compare(c, "dome", got->dome_percent, want->dome_percent, r, percent);
    compare(c, "flux", got->flux_lm, want->flux_lm, r, 0);
    compare(c, "utilisation", got->utilisation, want->utilisation, r, 0);
    if (want->tilt_percent_per_mm * half_diagonal > 3.0 && !c->rays) {
        double turn = remainder(got->tilt_direction_deg.value - want->tilt_direction_deg, 360.0);
        compare(c, "tilt direction", (struct luxfall_estimate){turn, NAN}, 0.0, 0, 0.05);
    }
}

/* Everything that the reference says of a scene. */
struct reckoning {
    double emitted_lm, leaving_lm;
    struct ref_field fields[BENCH_PARTS][BENCH_PARTS]; /* of each plane */
    struct ref_map maps[BENCH_PARTS];
    double on_map_lm[BENCH_PARTS];
};

static void reckon(struct reckoning *out, const struct study *s, const struct luxfall_pose *poses) {
    struct luxfall_scene scene = bench_scene(&s->bench);
    const struct luxfall_target *t = &scene.target;
    struct ref_light light = ref_light_make(&scene, poses, s->nodes), coarse = ref_light_make(&scene, poses, 4);
    out->emitted_lm = light.emitted_lm;
    out->leaving_lm = light.leaving_lm;
    for (size_t p = 0; p < s->bench.level_count; p++) {
        double z = s->bench.level_mm[p];
        for (size_t f = 0; f < s->bench.field_count; f++)
            out->fields[p][f] = ref_field_make(&light, &s->bench.fields[f], z, s->pieces);
        out->maps[p] = ref_map_make(&light, &coarse, t, z, 160);
        out->on_map_lm[p] = ref_rectangle_flux(&coarse, 0, 0, t->columns * t->cell_mm, t->rows * t->cell_mm, z,
                                               s->pieces > 8 ? 16 : 10);
    }
    ref_light_free(&light);
    ref_light_free(&coarse);
}

static void compare_map(struct comparison *c, const struct study *s, const struct luxfall_plane_result *got,
                        const struct reckoning *want, size_t plane) {
    const struct ref_map *map = &want->maps[plane];
    double smaller_mm = fmin(s->bench.columns, s->bench.rows) * s->bench.cell_mm;
    double off_map_lm = want->leaving_lm - want->on_map_lm[plane], absorbed_lm = want->emitted_lm - want->leaving_lm;
    compare(c, "map centre", got->centre_lx, map->centre_lx, c->closest, 0);
    compare(c, "map peak", got->peak_lx, map->peak_lx, 2e-3, 0);
    compare(c, "on the map", got->ledger.on_map_lm, want->on_map_lm[plane], c->closest, 0);
    compare(c, "off the map", got->ledger.off_map_lm, off_map_lm, 0, c->closest * want->leaving_lm);
    compare(c, "emitted", got->ledger.emitted_lm, want->emitted_lm, 1e-9, 0);
    compare(c, "absorbed", got->ledger.absorbed_lm, absorbed_lm, 0, 1e-9 * want->emitted_lm);
    if (s->narrow_map)
        return;
    compare(c, "spot", got->half_peak_diameter_mm, map->half_diameter_mm, 3e-3, 0);
    if (map->tenth_diameter_mm < 0.9 * smaller_mm)
        compare(c, "visible edge", got->tenth_peak_diameter_mm, map->tenth_diameter_mm, 3e-3, 0);
}

/* Traces the bench and compares it. */
static void examine(struct comparison *c, const struct study *s, const struct reckoning *want) {
    struct luxfall_options options = bench_rays(1 << 20, 20);
    options.method = c->rays ? LUXFALL_RAYS : LUXFALL_DIRECT;
    struct luxfall_result *result = bench_trace(&s->bench, &options);
    for (size_t p = 0; p < result->plane_count; p++) {
        const struct luxfall_plane_result *plane = &result->planes[p];
        for (size_t f = 0; f < s->bench.field_count; f++) {
            const struct luxfall_field *field = &s->bench.fields[f];
            double half = field->round ? 0.5 * field->width_mm : 0.5 * hypot(field->width_mm, field->height_mm);
            compare_field(c, &plane->fields[f], &want->fields[p][f], half);
        }
        compare_map(c, s, plane, want, p);
    }
    luxfall_result_free(result);
}

static struct study *study_make(int index) {
    struct study *s = calloc(1, sizeof *s);
    assert_non_null(s);
    s->nodes = 7;
    s->pieces = 4;
    SCENES[index](s);
    return s;
}

static void direct_and_by_rays(void **state) {
    (void)state;
    int numbers = 0, bad = 0;
    for (int i = 0; i < SCENE_COUNT; i++) {
        struct comparison direct = {.scene = NAMES[i], .closest = 1e-4};
        struct comparison rays = {.scene = NAMES[i], .closest = 1e-4, .rays = true};
        struct study *s = study_make(i);
        struct reckoning want;
        reckon(&want, s, s->poses);
        examine(&direct, s, &want);
        examine(&rays, s, &want);
        numbers += direct.numbers + rays.numbers;
        bad += direct.bad + rays.bad;
        free(s);
    }
    print_message("%d numbers of %d scenes compared, %d apart\n", numbers, (int)SCENE_COUNT, bad);
    assert_true(numbers > 600);
    assert_int_equal(bad, 0);
}

/* Twin: the library is given a face half as wide; the coin stand's centre moves by a few per cent. */
static void a_smaller_face_is_noticed(void **state) {
    (void)state;
    struct comparison c = {.quiet = true, .closest = 1e-4};
    struct study *s = study_make(4);
    struct reckoning want;
    reckon(&want, s, s->poses);
    s->bench.lenses[0].beam.face = disc_face(10);
    examine(&c, s, &want);
    free(s);
    assert_true(c.bad > 10);
}

/* Twin: the reference takes past for short. */
static void a_mirrored_aim_is_noticed(void **state) {
    (void)state;
    struct comparison c = {.quiet = true, .closest = 1e-4};
    struct study *s = study_make(4);
    struct luxfall_placement mirrored = ring(3, 350, 12);
    struct reckoning want;
    mirrored.aim = LUXFALL_AIM_SHORT;
    mirrored.aim_mm = 20;
    mirrored.azimuth_rad = 0.4;
    for (int i = 0; i < 3; i++)
        s->poses[i] = ref_pose(&mirrored, i);
    reckon(&want, s, s->poses);
    examine(&c, s, &want);
    free(s);
    assert_true(c.bad > 10);
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(direct_and_by_rays),
        cmocka_unit_test(a_smaller_face_is_noticed),
        cmocka_unit_test(a_mirrored_aim_is_noticed),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
