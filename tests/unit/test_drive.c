/* What emitters and modules do at a current: the library's side. */
#include "luxfall.h"

#include <math.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <string.h>

#include <cmocka.h>

/* Invented. */
static const double amps[] = {0.1, 0.35, 0.7, 1.0}, lumens[] = {30, 95, 170, 220}, volts[] = {2.7, 2.9, 3.1, 3.2},
                    celsius[] = {40, 60, 85, 110};
static const struct luxfall_drive table = {4, amps, lumens, volts, celsius};
static const struct luxfall_drive unknown = {0};
static const struct luxfall_drive point = {1, &amps[1], &lumens[1], &volts[1], NULL};

static void assert_close(double got, double expected, double tolerance) {
    if (!(fabs(got - expected) <= tolerance))
        fail_msg("%.17g is not %.17g", got, expected);
}

/* At its rows a table is what it says; between them it rises with its points. */
static void a_table_between_its_rows(void **state) {
    (void)state;
    struct luxfall_operating_point at, before = {0};
    for (size_t i = 0; i < 4; i++) {
        assert_int_equal(luxfall_drive_at(&table, amps[i], &at, NULL), LUXFALL_OK);
        assert_true(at.current_a == amps[i] && at.flux_lm == lumens[i] && at.voltage_v == volts[i] &&
                    at.junction_c == celsius[i]);
        assert_close(at.power_w, amps[i] * volts[i], 1e-15);
    }
    for (int i = 0; i <= 900; i++) {
        assert_int_equal(luxfall_drive_at(&table, 0.1 + 0.001 * i, &at, NULL), LUXFALL_OK);
        assert_true(at.flux_lm > before.flux_lm && at.voltage_v > before.voltage_v &&
                    at.junction_c > before.junction_c);
        before = at;
    }
    /* the twin: light in proportion to the current is another, and 500 mA would promise 6 % more of it */
    assert_int_equal(luxfall_drive_at(&table, 0.5, &at, NULL), LUXFALL_OK);
    assert_true(lumens[1] * 0.5 / amps[1] > 1.04 * at.flux_lm);
}

/* Outside the points an error names their range; a current that misses an end by rounding is the end. */
static void nothing_outside_the_points(void **state) {
    (void)state;
    static const struct {
        const struct luxfall_drive *drive;
        double current_a;
        const char *text;
    } row[] = {
        {&table, 0.0999, "known from 0.1 A to 1 A, not at 0.0999 A"},
        {&table, 1.0001, "known from 0.1 A to 1 A, not at 1.0001 A"},
        {&table, NAN, "known from 0.1 A to 1 A, not at nan A"},
        {&table, -0.35, "known from 0.1 A to 1 A, not at -0.35 A"},
        {&point, 0.7, "known at 0.35 A alone, not at 0.7 A"},
        {&unknown, 0.35, "no flux is known at any current, so none at 0.35 A"},
    };
    for (size_t i = 0; i < sizeof row / sizeof *row; i++) {
        struct luxfall_operating_point at;
        struct luxfall_error error;
        assert_int_equal(luxfall_drive_at(row[i].drive, row[i].current_a, &at, &error), LUXFALL_E_VALUE);
        assert_string_equal(error.text, row[i].text);
    }
    struct luxfall_operating_point at;
    assert_int_equal(luxfall_drive_at(&table, nextafter(1.0, 2), &at, NULL), LUXFALL_OK);
    assert_true(at.flux_lm == 220);
    assert_int_equal(luxfall_drive_at(&point, 350 * 0.001, &at, NULL), LUXFALL_OK);
    assert_true(at.flux_lm == 95 && at.voltage_v == 2.9 && isnan(at.junction_c));
}

/* ---- modules ----------------------------------------------------------------------------------------------------
 */

struct lamp {
    struct luxfall_emitter emitters[2];
    struct luxfall_module modules[3];
    double level_mm;
    struct luxfall_scene scene;
};

/* Three bare modules 100 mm above a map, at 350 mA, 700 mA and none that is named. */
static void make_lamp(struct lamp *lamp) {
    const struct luxfall_pose pose = {{0, 0, 100}, {1, 0, 0}, {0, -1, 0}, {0, 0, -1}};
    const struct luxfall_emitter emitter = {.name = "led",
                                            .die = {.kind = LUXFALL_POINT},
                                            .columns = 1,
                                            .rows = 1,
                                            .flux_lm = 50,
                                            .intensity = {.viewing_angle_rad = 2},
                                            .drive = table};
    *lamp = (struct lamp){.emitters = {emitter, emitter}};
    lamp->emitters[1].flux_lm = 0;
    for (size_t i = 0; i < 3; i++)
        lamp->modules[i] = (struct luxfall_module){
            .name = "m", .lens = LUXFALL_NO_LENS, .pose = pose, .scale = 1, .current_a = i == 0 ? 0.35 : 0.7};
    lamp->modules[2].current_a = 0;
    lamp->scene = (struct luxfall_scene){.emitters = lamp->emitters,
                                         .emitter_count = 2,
                                         .modules = lamp->modules,
                                         .module_count = 3,
                                         .target = {8, 8, 10, 1, &lamp->level_mm}};
}

static struct luxfall_result *traced(const struct lamp *lamp, enum luxfall_method method) {
    struct luxfall_options options;
    struct luxfall_result *result = NULL;
    luxfall_options_init(&options);
    options.method = method;
    options.accuracy = 0;
    options.rays = 1000;
    options.threads = 1;
    assert_int_equal(luxfall_trace(&lamp->scene, &options, &result, NULL), LUXFALL_OK);
    return result;
}

/* Each module shines at its own current, by both ways; without one, by its emitter's own flux. */
static void modules_shine_at_their_currents(void **state) {
    (void)state;
    struct lamp lamp;
    make_lamp(&lamp);
    lamp.modules[1].scale = 1.3;
    for (int method = LUXFALL_RAYS; method <= LUXFALL_DIRECT; method++) {
        struct luxfall_result *result = traced(&lamp, (enum luxfall_method)method);
        const struct luxfall_module_result *m = result->modules;
        assert_true(m[0].flux_lm == 95 && m[0].current_a == 0.35 && m[0].voltage_v == 2.9 && m[0].junction_c == 60);
        assert_close(m[1].flux_lm, 1.3 * 170, 1e-12);
        assert_close(m[1].power_w, 0.7 * 3.1, 1e-15); /* scale is no matter of watts */
        assert_true(m[2].flux_lm == 50 && isnan(m[2].current_a) && isnan(m[2].power_w) && isnan(m[2].junction_c));
        assert_true(isnan(result->power_w)); /* not known of the third */
        assert_close(result->planes[0].ledger.emitted_lm.value, 95 + 1.3 * 170 + 50, 1e-3);
        luxfall_result_free(result);
    }
    lamp.modules[2].dark = true;
    struct luxfall_result *result = traced(&lamp, LUXFALL_DIRECT);
    const struct luxfall_module_result *dark = &result->modules[2];
    assert_true(dark->current_a == 0 && dark->power_w == 0 && dark->flux_lm == 0 && isnan(dark->voltage_v));
    assert_close(result->power_w, 0.35 * 2.9 + 0.7 * 3.1, 1e-15);
    luxfall_result_free(result);
}

/* A lamp at one current is to the bit the lamp whose emitter has that flux. */
static void a_current_is_a_flux(void **state) {
    (void)state;
    struct lamp lamp;
    make_lamp(&lamp);
    for (size_t i = 0; i < 3; i++)
        lamp.modules[i].current_a = 0.35;
    struct luxfall_result *by_current = traced(&lamp, LUXFALL_RAYS);
    for (size_t i = 0; i < 3; i++)
        lamp.modules[i].current_a = 0;
    lamp.emitters[0].flux_lm = 95;
    struct luxfall_result *by_flux = traced(&lamp, LUXFALL_RAYS);
    size_t size = 8 * 8 * sizeof *by_flux->planes[0].e_lx;
    assert_memory_equal(by_current->planes[0].e_lx, by_flux->planes[0].e_lx, size);
    lamp.emitters[0].flux_lm = 96;
    struct luxfall_result *twin = traced(&lamp, LUXFALL_RAYS);
    assert_true(memcmp(by_current->planes[0].e_lx, twin->planes[0].e_lx, size) != 0);
    luxfall_result_free(by_current);
    luxfall_result_free(by_flux);
    luxfall_result_free(twin);
}

static void assert_refused(const struct lamp *lamp, size_t item, const char *text) {
    struct luxfall_options options;
    struct luxfall_result *result = NULL;
    struct luxfall_error error = {.text = ""};
    luxfall_options_init(&options);
    options.method = LUXFALL_DIRECT;
    assert_int_equal(luxfall_trace(&lamp->scene, &options, &result, &error), LUXFALL_E_VALUE);
    assert_null(result);
    assert_string_equal(error.text, text);
    assert_int_equal(error.item, item);
}

static void what_the_library_refuses(void **state) {
    (void)state;
    static const double falling[] = {0.1, 0.35, 0.35, 1.0}, dark[] = {30, 0, 170, 220},
                        frozen[] = {40, -300, 85, 110};
    static const struct luxfall_drive broken[] = {
        {4, falling, lumens, volts, NULL}, {4, amps, dark, volts, NULL},   {4, amps, lumens, dark, NULL},
        {4, amps, lumens, volts, frozen},  {4, NULL, lumens, volts, NULL}, {4, amps, NULL, volts, NULL},
    };
    struct lamp lamp;
    for (size_t i = 0; i < sizeof broken / sizeof *broken; i++) {
        make_lamp(&lamp);
        lamp.emitters[1].drive = broken[i];
        assert_refused(&lamp, 1,
                       "the drive of emitter 1 needs ascending currents above 0, and flux and voltage above 0");
    }
    make_lamp(&lamp);
    lamp.emitters[1].drive.count = 0;
    assert_refused(&lamp, 1, "emitter 1 needs a flux above 0 lm, or a drive");
    make_lamp(&lamp);
    lamp.modules[2].emitter = 1;
    assert_refused(&lamp, 2, "module 2 must name a current: its emitter has no flux without");
    make_lamp(&lamp);
    lamp.modules[1].current_a = 1.2;
    assert_refused(&lamp, 1, "known from 0.1 A to 1 A, not at 1.2 A");
    lamp.modules[1].dark = true; /* a dark one must be right, too: it may be lit for a reading */
    assert_refused(&lamp, 1, "known from 0.1 A to 1 A, not at 1.2 A");
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(a_table_between_its_rows),        cmocka_unit_test(nothing_outside_the_points),
        cmocka_unit_test(modules_shine_at_their_currents), cmocka_unit_test(a_current_is_a_flux),
        cmocka_unit_test(what_the_library_refuses),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
