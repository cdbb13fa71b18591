/* What a meter's head reads: means over discs through the public interface, against closed forms and quadratures that
 * are not the library's.
 * (derived) worked out from the definition of the mean over the head and checked by an independent quadrature. */
#include "statistics/workbench.h"

static double head_lx(const struct bench *bench, double x_mm, double head_mm) {
    struct luxfall_scene scene = bench_scene(bench);
    struct luxfall_reading reading = {.x_mm = x_mm, .head_mm = head_mm};
    struct luxfall_estimate out;
    struct luxfall_options options;
    struct luxfall_error error;
    luxfall_options_init(&options);
    if (luxfall_forecast_readings(&scene, 1, &reading, &options, &out, &error) != LUXFALL_OK)
        fail_msg("forecast: %s", error.text);
    assert_true(isnan(out.u95));
    return out.value;
}

/* ---- a bell of light ---------------------------------------------------------------------------------------------
 */

enum { CURVE = 4001 };
static double curve_angle[CURVE], curve_relative[CURVE];

/* A point at 200 mm whose light is a bell of `spot` mm (full width at half) on the plane: I = bell(r) / cos^3. */
static void bell_on_plane(struct bench *bench, double spot_mm) {
    const double height_mm = 200, reach_mm = 60;
    for (int i = 0; i < CURVE; i++) {
        double angle = atan(reach_mm / height_mm) * i / (CURVE - 1), r = height_mm * tan(angle);
        curve_angle[i] = angle;
        curve_relative[i] = exp(-4 * log(2) * r * r / (spot_mm * spot_mm)) / pow(cos(angle), 3);
    }
    *bench = (struct bench){0};
    bench_map(bench, 100, 100, 1);
    struct luxfall_emitter emitter = cosine_emitter(point_face(), 100, 1);
    emitter.intensity = (struct luxfall_intensity){.kind = LUXFALL_CURVE,
                                                   .curve_count = CURVE,
                                                   .curve_angle_rad = curve_angle,
                                                   .curve_relative = curve_relative};
    bench_pose(bench, pose_down(0, 0, height_mm), bench_emitter(bench, emitter), LUXFALL_NO_LENS);
}

enum head_mistake { HEAD_RIGHT, HEAD_DIAMETER_FOR_RADIUS, HEAD_WIDTH_FOR_RADIUS, HEAD_A_POINT };

static double head_of(enum head_mistake mistake, double diameter_mm, double spot_mm) {
    const double heads[] = {diameter_mm, 2 * diameter_mm, 2 * spot_mm / 3, 0};
    return heads[mistake];
}

/* Mean over peak of a bell, centred: (1 - exp(-k a^2)) / (k a^2), k = 4 ln 2 / w^2, with a the head's radius
 * (derived). Spots of beams of 6, 10 and 20 deg at 200 mm: w = 2 x 200 tan(b/2). */
static struct verdict centred_heads(enum head_mistake mistake) {
    static const double rows[][3] = {{20.96311171, 10, 0.9251230345}, {34.99546541, 10, 0.9722273674},
                                     {70.53079228, 10, 0.9930653721}, {20.96311171, 20, 0.7416123463},
                                     {34.99546541, 20, 0.8948836550}, {70.53079228, 20, 0.9726431022}};
    struct verdict v = {0};
    struct bench bench;
    for (size_t i = 0; i < sizeof rows / sizeof *rows; i++) {
        bell_on_plane(&bench, rows[i][0]);
        double mean = head_lx(&bench, 0, head_of(mistake, rows[i][1], rows[i][0]));
        verdict_add(&v, mean / head_lx(&bench, 0, 0), rows[i][2], 2e-5, "centred head on a bell");
    }
    return v;
}

/* Off the centre by r0: (2/a^2) int_0^a r exp(-k (r^2 + r0^2)) I0(2 k r r0) dr (derived). Far out the head reads more
 * than its middle. */
static struct verdict heads_off_centre(enum head_mistake mistake) {
    static const double rows[][4] = {
        {5, 35, 10, 0.7802384233}, {10, 35, 20, 0.3988037488}, {10, 21, 15, 0.2631106975}};
    struct verdict v = {0};
    struct bench bench;
    for (size_t i = 0; i < sizeof rows / sizeof *rows; i++) {
        bell_on_plane(&bench, rows[i][1]);
        double mean = head_lx(&bench, rows[i][2], head_of(mistake, 2 * rows[i][0], rows[i][1]));
        verdict_add(&v, mean / head_lx(&bench, 0, 0), rows[i][3], 1e-4, "head off the centre of a bell");
    }
    return v;
}

static void heads_on_a_bell(void **state) {
    (void)state;
    struct verdict v = centred_heads(HEAD_RIGHT);
    verdict_holds(&v, 6);
    v = heads_off_centre(HEAD_RIGHT);
    verdict_holds(&v, 3);
    for (int mistake = HEAD_DIAMETER_FOR_RADIUS; mistake <= HEAD_A_POINT; mistake++) {
        v = centred_heads((enum head_mistake)mistake);
        verdict_fails(&v);
        v = heads_off_centre((enum head_mistake)mistake);
        verdict_fails(&v);
    }
}

/* ---- cos^4 -------------------------------------------------------------------------------------------------------
 */

/* A small Lambertian source at 100 mm, 50 mm aside: cos^4 gives 0.64 of the light below it; the mean over a head of
 * 20 mm there is 0.6379439644 (derived); a head 10 mm too high under a lamp at 200 mm reads (200/190)^2 (derived). */
static struct verdict lambertian_heads(double head_mm, double height_mm) {
    struct verdict v = {0};
    struct bench bench = {0};
    bench_map(&bench, 100, 100, 1);
    bench_pose(&bench, pose_down(0, 0, 100), bench_emitter(&bench, cosine_emitter(point_face(), 100, 1)),
               LUXFALL_NO_LENS);
    double below = head_lx(&bench, 0, 0);
    verdict_add(&v, head_lx(&bench, 50, 0) / below, 0.64, 1e-6, "a point aside");
    verdict_add(&v, head_lx(&bench, 50, head_mm) / below, 0.6379439644, 1e-6, "a head aside");
    struct bench high = {0};
    bench_map(&high, 100, 100, 1);
    bench_pose(&high, pose_down(0, 0, 200), bench_emitter(&high, cosine_emitter(point_face(), 100, 1)),
               LUXFALL_NO_LENS);
    double on_stage = head_lx(&high, 0, 0);
    struct luxfall_scene scene = bench_scene(&high);
    struct luxfall_reading reading = {.level_mm = height_mm};
    struct luxfall_estimate out;
    struct luxfall_options options;
    luxfall_options_init(&options);
    assert_int_equal(luxfall_forecast_readings(&scene, 1, &reading, &options, &out, NULL), LUXFALL_OK);
    verdict_add(&v, out.value / on_stage, 1.108033241, 1e-6, "a head 10 mm too high");
    return v;
}

static void heads_under_a_lambertian_point(void **state) {
    (void)state;
    struct verdict v = lambertian_heads(20, 10);
    verdict_holds(&v, 3);
    v = lambertian_heads(10, 10); /* the radius for the diameter */
    verdict_fails(&v);
    v = lambertian_heads(20, -10); /* too low for too high */
    verdict_fails(&v);
}

/* ---- lighting and rays -------------------------------------------------------------------------------------------
 */

/* Light adds: the modules read alone are the whole (definition of illuminance), to the last digits. */
static void modules_alone_add_up(void **state) {
    (void)state;
    struct bench bench;
    bench_sorting_ring(&bench, 24, 0);
    struct luxfall_scene scene = bench_scene(&bench);
    struct luxfall_reading readings[9];
    struct luxfall_estimate out[9];
    struct luxfall_options options;
    bool dark[8][8];
    luxfall_options_init(&options);
    for (int i = 0; i < 9; i++) {
        readings[i] = (struct luxfall_reading){.x_mm = 7, .y_mm = -4, .head_mm = 10};
        for (int m = 0; m < 8 && i < 8; m++)
            dark[i][m] = m != i;
        readings[i].dark = i < 8 ? dark[i] : NULL;
    }
    assert_int_equal(luxfall_forecast_readings(&scene, 9, readings, &options, out, NULL), LUXFALL_OK);
    double sum = 0;
    for (int i = 0; i < 8; i++)
        sum += out[i].value;
    assert_true(fabs(sum / out[8].value - 1) < 2e-6);
    assert_false(fabs((sum - out[2].value) / out[8].value - 1) < 2e-6); /* the twin: one left out */
}

/* Behind a traced lens the readings come by rays: with their bands they meet a finer run, and a point has none. */
static void a_traced_lens_is_read_by_rays(void **state) {
    (void)state;
    struct bench bench = {0};
    bench_map(&bench, 100, 100, 1);
    struct luxfall_lens lens = {
        .name = "solid",
        .kind = LUXFALL_LENS_SINGLET,
        .material = {.index = 1.49},
        .singlet = {.diameter_mm = 20, .thickness_mm = 7, .gap_mm = 12, .away = {.radius_mm = 12}}};
    size_t die = bench_emitter(&bench, cosine_emitter(oblong_face(1, 1), 100, 1));
    bench_pose(&bench, pose_down(0, 0, 200), die, bench_lens(&bench, lens));
    struct luxfall_scene scene = bench_scene(&bench);
    struct luxfall_reading readings[] = {{.head_mm = 10}, {.x_mm = 15, .head_mm = 10}, {.head_mm = 0}};
    struct luxfall_estimate few[2], many[2];
    struct luxfall_options options = bench_rays(400000, 3), finer = bench_rays(3200000, 4);
    struct luxfall_error error;
    assert_int_equal(luxfall_forecast_readings(&scene, 2, readings, &options, few, &error), LUXFALL_OK);
    assert_int_equal(luxfall_forecast_readings(&scene, 2, readings, &finer, many, &error), LUXFALL_OK);
    for (int i = 0; i < 2; i++)
        assert_true(few[i].u95 > 0 && fabs(few[i].value - many[i].value) < 2 * few[i].u95);
    assert_int_equal(luxfall_forecast_readings(&scene, 1, &readings[2], &options, few, &error), LUXFALL_E_VALUE);
    assert_string_equal(error.text, "rays fall on a head with a diameter above 0 mm, not on a point");
    options.method = LUXFALL_DIRECT;
    assert_int_equal(luxfall_forecast_readings(&scene, 1, readings, &options, few, &error), LUXFALL_E_METHOD);
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(heads_on_a_bell),
        cmocka_unit_test(heads_under_a_lambertian_point),
        cmocka_unit_test(modules_alone_add_up),
        cmocka_unit_test(a_traced_lens_is_read_by_rays),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
