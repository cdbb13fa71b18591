/* Cameras and glare: lux to shutter time, stops, and how bright a lens face looks beside a white card.
 * Evidence after each source: (memory) cited from memory; (derived) worked out from the definition. */
#include "statistics/workbench.h"

/* ---- light on the sensor -----------------------------------------------------------------------------------------
 */

enum exposure_mistake { EXPOSURE_RIGHT, MAGNIFIED_ONCE, F_NUMBER_ONCE, NO_FOUR };

static struct luxfall_camera camera_at(double f_number, double magnification) {
    return (struct luxfall_camera){f_number, magnification, 100, 0.5, 0.7};
}

static double sensor(struct luxfall_camera camera, enum exposure_mistake mistake) {
    double lux = luxfall_sensor_lx(&camera, 84000);
    return mistake == MAGNIFIED_ONCE  ? lux * (1 + camera.magnification)
           : mistake == F_NUMBER_ONCE ? lux * camera.f_number
           : mistake == NO_FOUR       ? lux * 4
                                      : lux;
}

static void add_sensors(struct verdict *v, enum exposure_mistake mistake) {
    verdict_add(v, sensor(camera_at(22, 0), mistake), 15.18595041, 1e-9, "f/22 effective");
    verdict_add(v, sensor(camera_at(8, 1.5), mistake), 18.375, 1e-12, "f/8 at 1.5 x");
    verdict_add(v, sensor(camera_at(4, 4), mistake), sensor(camera_at(20, 0), mistake), 1e-12, "f/4 at 4 x is f/20");
}

/* E = r T E_object/(4 N^2 (1 + m)^2), textbooks of photographic optics (memory; values derived): 84 klx on a 50 %
 * grey through 70 %. Twins: (1 + m) once, N for N^2, the 4 left out. */
static void light_on_the_sensor(void **state) {
    (void)state;
    struct verdict v = {0};
    add_sensors(&v, EXPOSURE_RIGHT);
    verdict_holds(&v, 3);
    for (enum exposure_mistake mistake = MAGNIFIED_ONCE; mistake <= NO_FOUR; mistake++) {
        struct verdict twin = {0};
        add_sensors(&twin, mistake);
        verdict_fails(&twin);
    }
}

/* ---- time that fills the sensor ----------------------------------------------------------------------------------
 */

/* ISO 12232: the saturation-based speed is 78 over the exposure in lx s that fills the sensor (memory). The twin
 * takes the 10 lx s of the standard output sensitivity. */
static void time_that_fills_the_sensor(void **state) {
    (void)state;
    struct luxfall_camera camera = camera_at(22, 0), fast = camera;
    struct verdict v = {0}, twin = {0};
    fast.iso = 800;
    double t = luxfall_shutter_s(&camera, 84000);
    verdict_add(&v, t, 0.05136326531, 1e-9, "84 klx, f/22, ISO 100");
    verdict_add(&v, luxfall_shutter_s(&fast, 84000), 0.05136326531 / 8, 1e-9, "ISO 800");
    verdict_add(&v, t * luxfall_sensor_lx(&camera, 84000), 0.78, 1e-12, "lx s at ISO 100");
    verdict_holds(&v, 3);
    verdict_add(&twin, t, 10.0 / 100 / luxfall_sensor_lx(&camera, 84000), 1e-3, "standard output sensitivity");
    verdict_fails(&twin);
}

/* ---- stops -------------------------------------------------------------------------------------------------------
 */

/* One stop is a halving (definition; values derived), and the standard f-numbers sqrt(2)^n are a stop apart each
 * (ISO 517, memory). The twin takes the decadic logarithm. */
static void stops(void **state) {
    (void)state;
    static const double cases[][2] = {
        {0.9, 0.15200309}, {0.8, 0.32192809}, {0.7, 0.51457317}, {0.5, 1}, {0.25, 2}, {0.1, 3.3219281}, {1, 0}};
    static const double f_numbers[] = {1, 1.4142136, 2, 2.8284271, 4, 5.6568542, 8, 11.313708};
    enum { CASES = sizeof cases / sizeof *cases, SERIES = sizeof f_numbers / sizeof *f_numbers };
    struct verdict v = {0}, twin = {0};
    for (size_t i = 0; i < CASES; i++) {
        verdict_add(&v, luxfall_stops(cases[i][0]), cases[i][1], 1e-7, "stops");
        verdict_add(&twin, -log10(cases[i][0]), cases[i][1], 1e-3, "decades for stops");
    }
    for (size_t i = 1; i < SERIES; i++) {
        struct luxfall_camera open = camera_at(f_numbers[i - 1], 0), closed = camera_at(f_numbers[i], 0);
        verdict_add(&v, luxfall_stops(luxfall_sensor_lx(&closed, 1000) / luxfall_sensor_lx(&open, 1000)), 1, 1e-6,
                    "neighbouring f-numbers");
    }
    verdict_holds(&v, CASES + SERIES - 1);
    verdict_fails(&twin);
}

/* ---- faces seen --------------------------------------------------------------------------------------------------
 */

static struct luxfall_glare glare_of(const struct bench *b, struct luxfall_vec place) {
    struct luxfall_scene scene = bench_scene(b);
    struct luxfall_error error = {0};
    struct luxfall_glare glare;
    if (luxfall_glare_at(&scene, place, &glare, &error) != LUXFALL_OK)
        fail_msg("glare: %s", error.text);
    return glare;
}

static struct luxfall_pose tilted(double distance_mm, double incidence_deg, double azimuth_deg) {
    double i = incidence_deg * DEG, q = azimuth_deg * DEG;
    struct luxfall_vec out = {sin(i) * cos(q), sin(i) * sin(q), cos(i)};
    return pose_looking((struct luxfall_vec){distance_mm * out.x, distance_mm * out.y, distance_mm * out.z},
                        (struct luxfall_vec){-out.x, -out.y, -out.z});
}

/* A Lambertian face has the luminance flux/(pi A) from everywhere (definition). The twin forgets pi. */
static void a_lambertian_face_looks_alike_from_everywhere(void **state) {
    (void)state;
    struct bench b = {0};
    struct verdict v = {0}, twin = {0};
    bench_map(&b, 10.0, 10.0, 1.0);
    struct luxfall_face die = oblong_face(1.4, 1.4);
    bench_pose(&b, tilted(200, 40, 10), bench_emitter(&b, cosine_emitter(die, 100, 1)), LUXFALL_NO_LENS);
    double want = 100 / (BENCH_PI * 1.4e-3 * 1.4e-3);
    for (int x = -60; x <= 60; x += 30) {
        struct luxfall_glare glare = glare_of(&b, (struct luxfall_vec){x, x / 2.0, 0});
        verdict_add(&v, glare.face_cd_per_m2, want, 1e-9, "on the axis");
        verdict_add(&v, glare.mirrored_cd_per_m2, want, 1e-9, "from aside");
        verdict_add(&twin, glare.mirrored_cd_per_m2, want * BENCH_PI, 1e-3, "exitance for luminance");
    }
    verdict_holds(&v, 10);
    verdict_fails(&twin);
}

/* A facet that slopes by half the angle mirrors the lamp straight up (the law of reflection, definition): a ring at
 * 38 deg and one at 60 deg ask for 19 and 30 deg. Twins: the whole angle; a lamp straight above, which no facet
 * mirrors past itself. */
static void facets_slope_by_half_the_incidence(void **state) {
    (void)state;
    struct bench b = {0};
    struct verdict v = {0}, twin = {0};
    bench_map(&b, 10.0, 10.0, 1.0);
    size_t emitter = bench_emitter(&b, cosine_emitter(disc_face(2), 100, 1));
    bench_pose(&b, pose_down(0, 0, 150), emitter, LUXFALL_NO_LENS);
    assert_true(isnan(glare_of(&b, (struct luxfall_vec){0}).slope_low_rad));
    bench_pose(&b, tilted(165, 38, 0), emitter, LUXFALL_NO_LENS);
    bench_pose(&b, tilted(120, 60, 77), emitter, LUXFALL_NO_LENS);
    struct luxfall_glare glare = glare_of(&b, (struct luxfall_vec){0});
    verdict_add(&v, glare.slope_low_rad / DEG, 19, 1e-9, "lower ring");
    verdict_add(&v, glare.slope_high_rad / DEG, 30, 1e-9, "upper ring");
    verdict_holds(&v, 2);
    verdict_add(&twin, glare.slope_low_rad / DEG, 38, 1e-3, "the whole angle");
    verdict_fails(&twin);
}

/* Six lamps of 120 lm behind 20 deg lenses (86 %, 20 mm face), 200 mm away at 40 deg, solder of 0.6 beside a card of
 * 0.9: the brightest highlights are about 60 times the card (derived by hand from L = I/A with 750 cd on 314 mm^2 and
 * 84 klx). The twin takes the die for the face. */
static void solder_beside_a_white_card(void **state) {
    (void)state;
    struct bench b = {0};
    bench_map(&b, 10.0, 10.0, 1.0);
    struct luxfall_lens lens = {.kind = LUXFALL_LENS_BEAM, .name = "twenty"};
    lens.beam = (struct luxfall_beam){.beam_angle_rad = 20 * DEG, .efficiency = 0.86, .face = {LUXFALL_DISC, 20, 20}};
    size_t emitter = bench_emitter(&b, cosine_emitter(oblong_face(1.4, 1.4), 120, 1));
    size_t twenty = bench_lens(&b, lens);
    for (int i = 0; i < 6; i++)
        bench_pose(&b, tilted(200, 40, 60 * i), emitter, twenty);
    double lux = bench_reading(&b, 0, 0, 0);
    double excess = 0.6 * glare_of(&b, (struct luxfall_vec){0}).mirrored_cd_per_m2 / (0.9 * lux / BENCH_PI);
    struct verdict v = {0}, twin = {0};
    verdict_add(&v, lux, 84000, 0.01, "lux at the centre");
    verdict_add(&v, excess, 60, 0.03, "solder over card");
    verdict_holds(&v, 2);
    verdict_add(&twin, excess * 314.16 / 1.96, 60, 0.03, "die for face");
    verdict_fails(&twin);
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(light_on_the_sensor),
        cmocka_unit_test(time_that_fills_the_sensor),
        cmocka_unit_test(stops),
        cmocka_unit_test(a_lambertian_face_looks_alike_from_everywhere),
        cmocka_unit_test(facets_slope_by_half_the_incidence),
        cmocka_unit_test(solder_beside_a_white_card),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
