/* A packed LED as users of the command meet it: what is told of it where its light is traced out of the package. */
#include "run.h"

#include <jansson.h>

#define PAIR SOURCE_DIR "/scenes/domed-pair.yaml"

static json_t *package_of(const char *scene) {
    struct outcome outcome = run("luxfall trace %s --rays 20000 --json -", scene);
    json_error_t error;
    assert_int_equal(outcome.status, 0);
    json_t *json = json_loads(outcome.out, 0, &error);
    assert_non_null(json);
    json_t *package = json_object_get(json_array_get(json_object_get(json, "modules"), 0), "package");
    json_incref(package);
    json_decref(json);
    forget(&outcome);
    return package;
}

static void statistics_tell_the_package(void **state) {
    (void)state;
    json_t *package = package_of(PAIR);
    assert_non_null(package);
    assert_float_equal(json_number_value(json_object_get(package, "dome_mm")), 5, 1e-12);
    assert_float_equal(json_number_value(json_object_get(package, "dome_height_mm")), 2.7, 1e-12);
    assert_float_equal(json_number_value(json_array_get(json_object_get(package, "die_offset_mm"), 0)), 0.1, 1e-12);
    assert_null(json_object_get(package, "cup_floor_mm"));
    json_decref(package);
    struct outcome outcome = run("sed '/package:/,/^lenses/{/^lenses/!d}' " PAIR " > bare.yaml");
    assert_int_equal(outcome.status, 0);
    forget(&outcome);
    assert_null(package_of("bare.yaml")); /* twin: no package */
}

static void reports_name_the_resin(void **state) {
    (void)state;
    struct outcome outcome = run("luxfall trace " PAIR " --rays 20000");
    assert_int_equal(outcome.status, 0);
    assert_non_null(strstr(outcome.out, "pair: silicone, n = 1.4336 at 550 nm"));
    forget(&outcome);
}

/* Of an LED without a lens, the package is what keeps its light from being known by angle. */
static void a_bare_one_is_traced(void **state) {
    (void)state;
    struct outcome outcome = run("sed 's/lens: cup 20/lens: none/' " PAIR " > alone.yaml");
    forget(&outcome);
    outcome = run("luxfall trace alone.yaml --rays 20000");
    assert_int_equal(outcome.status, 0);
    assert_non_null(strstr(outcome.err, "alone.yaml:26:5: warning: the package of emitter 'pair' is traced"));
    forget(&outcome);
    outcome = run("luxfall trace alone.yaml --method direct");
    assert_int_equal(outcome.status, 2);
    assert_non_null(strstr(outcome.err, "alone.yaml:26:5: error: the direct way knows light by angle alone, not a "
                                        "traced lens, a cover or a package"));
    forget(&outcome);
    outcome = run("luxfall draw alone.yaml --out drawn");
    assert_int_equal(outcome.status, 0);
    assert_non_null(strstr(outcome.out, "no lens (the LED in its package) of lamp in section"));
    assert_int_equal(access("drawn/optic.png", F_OK), 0);
    forget(&outcome);
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(statistics_tell_the_package),
        cmocka_unit_test(reports_name_the_resin),
        cmocka_unit_test(a_bare_one_is_traced),
    };
    return cmocka_run_group_tests(tests, enter_scratch, leave_scratch);
}
