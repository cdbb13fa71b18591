/* Light that comes back into what sent it, and what each of several covers absorbs.
 *
 * Sources. View factors of coaxial discs and of opposite rectangles: R. Siegel and J. R. Howell, "Thermal Radiation
 * Heat Transfer", 4th ed., 2002, app. C (closed forms from memory); of an element and a coaxial disc: J. R. Howell,
 * "A Catalog of Radiation Heat Transfer Configuration Factors", 2nd ed., 2001, section B (from memory). Plates upon
 * each other: G. G. Stokes, "On the intensity of the light reflected from or transmitted through a pile of plates",
 * Proc. R. Soc. 11, 1862 (from memory). */
#include "statistics/workbench.h"
#include "tracing/kernels.h"
#include "tracing/stage.h"

/* Half of the light mirrored, at a height; so wide that 2.5e-5 of it goes by. */
enum { MIRROR_MM = 10 };
static const struct luxfall_cover half_mirror = {.name = "half mirror",
                                                 .kind = LUXFALL_COVER_FILM,
                                                 .diameter_mm = 400 * MIRROR_MM,
                                                 .gap_mm = MIRROR_MM,
                                                 .passes = 0.5,
                                                 .comes_back = 0.5};

static struct luxfall_result *traced(struct luxfall_emitter emitter, const struct luxfall_lens *lens,
                                     const struct luxfall_cover *covers, size_t count) {
    struct bench b = {0};
    bench_map(&b, 400, 400, 4);
    size_t index = bench_emitter(&b, emitter);
    struct luxfall_module *module =
        bench_pose(&b, pose_down(0, 0, 500), index, lens ? bench_lens(&b, *lens) : LUXFALL_NO_LENS);
    struct luxfall_scene scene = bench_scene(&b);
    struct luxfall_options options = bench_rays(1 << 20, 3);
    struct luxfall_result *result = NULL;
    struct luxfall_error error = {0};
    scene.covers = covers;
    scene.cover_count = module->cover_count = count;
    for (size_t i = 0; i < count; i++)
        module->covers[i] = i;
    if (luxfall_trace(&scene, &options, &result, &error) != LUXFALL_OK)
        fail_msg("tracing: %s", error.text);
    return result;
}

/* Of the mirrored light of the emitter, 100 lm, the share that falls back upon it. */
static struct luxfall_estimate comes_home(struct luxfall_emitter emitter) {
    struct luxfall_result *result = traced(emitter, NULL, &half_mirror, 1);
    const struct luxfall_ledger *l = &result->planes[0].ledger;
    struct luxfall_estimate out = {l->loss_lm[LUXFALL_LOSS_SOURCE].value / 50,
                                   l->loss_lm[LUXFALL_LOSS_SOURCE].u95 / 50};
    double all_lm = l->loss_lm[LUXFALL_LOSS_SOURCE].value + l->loss_lm[LUXFALL_LOSS_RETURNED].value;
    assert_true(fabs(all_lm - 50) < 3 * l->loss_lm[LUXFALL_LOSS_RETURNED].u95 + 2.5e-3);
    luxfall_result_free(result);
    return out;
}

static void is_near(struct luxfall_estimate got, double wanted, double twin) {
    assert_true(fabs(got.value - wanted) < 2 * got.u95);
    assert_true(fabs(got.value - twin) > 4 * got.u95);
}

/* ---- dies ---- */

static double equal_discs(double radius, double apart) {
    double s = 2 + apart * apart / (radius * radius);
    return 2 / (s + sqrt(s * s - 4));
}

static double opposite_rectangles(double width, double height, double apart) {
    double x = width / apart, y = height / apart, p = sqrt(1 + x * x), q = sqrt(1 + y * y);
    double sum =
        log(p * q / sqrt(1 + x * x + y * y)) + x * q * atan(x / q) + y * p * atan(y / p) - x * atan(x) - y * atan(y);
    return 2 * sum / (BENCH_PI * x * y);
}

/* A mirror shows a die to itself at twice its distance. Printed: 0.1998 for opposite faces of a cube, 0.382 for discs
 * one radius apart (Siegel and Howell 2002, from memory). Twins: once its distance. */
static void a_mirror_shows_a_die_to_itself(void **state) {
    (void)state;
    assert_true(fabs(opposite_rectangles(1, 1, 1) - 0.1998) < 5e-5);
    assert_true(fabs(equal_discs(1, 1) - 0.382) < 5e-4);
    is_near(comes_home(cosine_emitter(disc_face(16), 100, 1)), equal_discs(8, 2 * MIRROR_MM),
            equal_discs(8, MIRROR_MM));
    is_near(comes_home(cosine_emitter(oblong_face(30, 8), 100, 1)), opposite_rectangles(30, 8, 2 * MIRROR_MM),
            opposite_rectangles(30, 8, MIRROR_MM));
}

/* Dies that touch are one large one. Twin: one of them. */
static void dies_in_rows_are_all_met(void **state) {
    (void)state;
    struct luxfall_emitter dies = cosine_emitter(oblong_face(10, 4), 100, 1);
    dies.columns = 3;
    dies.rows = 2;
    dies.pitch_x_mm = 10;
    dies.pitch_y_mm = 4;
    is_near(comes_home(dies), opposite_rectangles(30, 8, 2 * MIRROR_MM), opposite_rectangles(10, 4, 2 * MIRROR_MM));
}

/* A point under half a ball sends its light on as it is, and gets back what falls within the foot: R^2 / (R^2 + H^2)
 * of it, at the distance H of its image. Twin: the mirror at its height over the top alone. */
static void a_package_takes_light_with_its_foot(void **state) {
    (void)state;
    struct luxfall_emitter led = cosine_emitter(disc_face(0.001), 100, 1);
    led.package = (struct luxfall_package){
        .dome_mm = 12, .dome_height_mm = 6, .material = {.kind = LUXFALL_MATERIAL_INDEX, .index = 1.5}};
    double far = 2.0 * (6 + MIRROR_MM), near = 2.0 * MIRROR_MM;
    is_near(comes_home(led), 36 / (36 + far * far), 36 / (36 + near * near));
}

/* A beam straight up from a round face meets it again as a disc moved aside by 2 h tan a: the share that two equal
 * discs have in common (plane geometry: (2/pi)(acos x - x sqrt(1 - x^2)), x half the shift over the diameter), over
 * the bell of the beam. Twin: once the distance. */
static double bell_home(double width_deg, double radius, double height) {
    enum { STEPS = 20000 };
    double home = 0, all = 0;
    for (int i = 0; i < STEPS; i++) {
        double a = BENCH_PI / 2 * (i + 0.5) / STEPS, over = 2 * a / (width_deg * DEG);
        double piece = exp(-log(2) * over * over) * sin(a), x = height * tan(a) / radius;
        all += piece;
        home += x < 1 ? piece * 2 / BENCH_PI * (acos(x) - x * sqrt(1 - x * x)) : 0;
    }
    return home / all;
}

static void a_sheet_lens_takes_light_with_its_face(void **state) {
    (void)state;
    const struct luxfall_lens sheet_lens = beam_lens(40, 0, 0, 1, disc_face(20));
    struct luxfall_result *result = traced(cosine_emitter(oblong_face(1, 1), 100, 1), &sheet_lens, &half_mirror, 1);
    struct luxfall_estimate lm = result->planes[0].ledger.loss_lm[LUXFALL_LOSS_SOURCE];
    is_near((struct luxfall_estimate){lm.value / 50, lm.u95 / 50}, bell_home(40, 10, MIRROR_MM),
            bell_home(40, 10, MIRROR_MM / 2.0));
    luxfall_result_free(result);
}

/* ---- as built ---- */

static bool on_dies(double x_mm, double y_mm, double *margin_mm) {
    double u = fabs(x_mm), v = fabs(fabs(y_mm) - 1); /* three dies of 1 x 0.8 at 1.5, two rows at 2 */
    u = u < 0.75 ? u : fabs(u - 1.5);
    *margin_mm = fmin(fabs(u - 0.5), fabs(v - 0.4));
    return u < 0.5 && v < 0.4;
}

static const struct luxfall_lens collimator = {
    .name = "collimator",
    .kind = LUXFALL_LENS_COLLIMATOR,
    .material = {.index = 1.49},
    .collimator = {.diameter_mm = 40, .height_mm = 22, .hollow_mm = 12, .middle_mm = 8}};

/* Rays down to places about the dies, told in the lens's frame. */
static void rays_down(const struct mounting *mounting, struct ray_batch *rays, double x_mm[], double y_mm[]) {
    uint64_t s = 7;
    rays->count = RAY_BATCH;
    for (int i = 0; i < RAY_BATCH; i++) {
        double slant = bench_draw(&s), round = 2 * BENCH_PI * bench_draw(&s), rise = sqrt(1 - slant * slant);
        x_mm[i] = 6 * bench_draw(&s) - 3;
        y_mm[i] = 4 * bench_draw(&s) - 2;
        rays->dx[i] = (float)(slant * cos(round));
        rays->dy[i] = (float)(slant * sin(round));
        rays->dz[i] = (float)-rise;
        rays->x[i] = (float)(x_mm[i] - 3 * slant * cos(round));
        rays->y[i] = (float)(y_mm[i] - 3 * slant * sin(round));
        rays->z[i] = (float)(3 * rise);
    }
    mounting_enter(mounting, rays);
}

static int wrong_places(const struct bundle *bundle, const struct source_area *area) {
    static struct ray_batch rays;
    double x_mm[RAY_BATCH], y_mm[RAY_BATCH];
    int wrong = 0;
    rays_down(&bundle->mounting, &rays, x_mm, y_mm);
    for (int i = 0; i < RAY_BATCH; i++) {
        const double along[3] = {rays.dx[i], rays.dy[i], rays.dz[i]}, at[3] = {rays.x[i], rays.y[i], rays.z[i]};
        double margin_mm;
        bool on = on_dies(x_mm[i], y_mm[i], &margin_mm);
        wrong += margin_mm > 1e-3 && on != source_area_is_met(area, at, along);
    }
    return wrong;
}

/* The same rays in waves, through air: how many that fall on a die more than of single rays. */
static int waved_more(const struct bundle *bundle, const struct source_area *area, enum luxfall_vectors vectors) {
    static struct ray_batch rays, out;
    static struct wave_optic wave;
    static struct wave_space space;
    static struct optic air;
    struct wave_fates fates = {0};
    double x_mm[RAY_BATCH], y_mm[RAY_BATCH];
    int alone = 0;
    rays_down(&bundle->mounting, &rays, x_mm, y_mm);
    for (int i = 0; i < RAY_BATCH; i++) {
        const double along[3] = {rays.dx[i], rays.dy[i], rays.dz[i]}, at[3] = {rays.x[i], rays.y[i], rays.z[i]};
        alone += source_area_is_met(&bundle->solid->optic.source, at, along);
    }
    optic_clear(&air);
    air.material_count = 1;
    air.materials[0] = (struct optic_material){1, 0, true, 0};
    air.size_mm = 10;
    air.source = *area;
    wave_optic_make(&air, &wave);
    kernels_choose(vectors)->follow(&wave, &space, &rays, pcg32_seed(1, 1), &out, &fates);
    assert_true(alone > 200);
    assert_true(fates.loss[LUXFALL_LOSS_SOURCE] + fates.loss[LUXFALL_LOSS_RETURNED] + (uint64_t)out.count ==
                RAY_BATCH);
    return (int)fates.loss[LUXFALL_LOSS_SOURCE] - alone;
}

/* Dies are met where they are, with the lens shifted, low and leaning. Twin: as drawn. */
static void dies_are_met_where_they_are(void **state) {
    (void)state;
    struct bench b = {0};
    bench_map(&b, 40, 40, 4);
    struct luxfall_emitter dies = cosine_emitter(oblong_face(1, 0.8), 100, 1);
    dies.columns = 3;
    dies.rows = 2;
    dies.pitch_x_mm = 1.5;
    dies.pitch_y_mm = 2;
    size_t emitter = bench_emitter(&b, dies);
    struct luxfall_module *module = bench_pose(&b, pose_down(0, 0, 500), emitter, bench_lens(&b, collimator));
    module->built = (struct luxfall_assembly){.die_x_mm = 0.4,
                                              .die_y_mm = -0.3,
                                              .seat_mm = 0.5,
                                              .decentre_x_mm = -0.2,
                                              .decentre_y_mm = 0.1,
                                              .lean_rad = 4 * DEG,
                                              .lean_azimuth_rad = 30 * DEG};
    struct luxfall_scene scene = bench_scene(&b);
    struct stage stage;
    struct luxfall_error error = {0};
    if (stage_make(&scene, &stage, &error) != LUXFALL_OK)
        fail_msg("%s", error.text);
    const struct bundle *bundle = &stage.bundles[0];
    struct source_area drawn = bundle->solid->optic.source;
    assert_int_equal(wrong_places(bundle, &bundle->solid->optic.source), 0);
    mounting_place(&(struct mounting){.drawn = true}, &drawn);
    assert_true(wrong_places(bundle, &drawn) > RAY_BATCH / 20);
    for (int vectors = LUXFALL_VECTORS_BEST; vectors <= LUXFALL_VECTORS_PLAIN; vectors++) {
        assert_true(abs(waved_more(bundle, &bundle->solid->optic.source, (enum luxfall_vectors)vectors)) <= 1);
        assert_true(abs(waved_more(bundle, &drawn, (enum luxfall_vectors)vectors)) > 5);
    }
    stage_free(&stage);
}

/* ---- covers ---- */

/* Two sheets: the first absorbs a1 (1 + t1 r2 / (1 - r1 r2)), the second t1 a2 / (1 - r1 r2). Twin: the other one. */
static void each_cover_tells_its_own(void **state) {
    (void)state;
    struct luxfall_cover sheets[2] = {half_mirror, half_mirror};
    const struct luxfall_lens sheet_lens = beam_lens(10, 0, 0, 0.86, disc_face(20));
    sheets[0].passes = 0.6, sheets[0].comes_back = 0.3;
    sheets[1].passes = 0.5, sheets[1].comes_back = 0.2;
    struct luxfall_result *result = traced(cosine_emitter(oblong_face(1, 1), 100, 1), &sheet_lens, sheets, 2);
    const struct luxfall_plane_result *plane = &result->planes[0];
    double to_and_fro = 1 / (1 - 0.3 * 0.2), first = 86 * 0.1 * (1 + 0.6 * 0.2 * to_and_fro),
           second = 86 * 0.6 * 0.3 * to_and_fro;
    assert_int_equal(result->cover_count, 2);
    is_near(plane->cover_lm[0], first, second);
    is_near(plane->cover_lm[1], second, first);
    assert_true(fabs(plane->cover_lm[0].value + plane->cover_lm[1].value -
                     plane->ledger.loss_lm[LUXFALL_LOSS_COVER].value) < 1e-9);
    luxfall_result_free(result);
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(a_mirror_shows_a_die_to_itself),
        cmocka_unit_test(dies_in_rows_are_all_met),
        cmocka_unit_test(a_package_takes_light_with_its_foot),
        cmocka_unit_test(a_sheet_lens_takes_light_with_its_face),
        cmocka_unit_test(dies_are_met_where_they_are),
        cmocka_unit_test(each_cover_tells_its_own),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
