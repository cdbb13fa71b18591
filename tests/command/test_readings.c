/* A scene with readings, as a user runs it: table, scale, verdict; JSON and files; mistakes in the table. */
#include "run.h"

#include <jansson.h>

#define BENCH_SCENE SOURCE_DIR "/scenes/bench-readings.yaml"

static void done(struct outcome *outcome) {
    free(outcome->out);
    free(outcome->err);
}

static void the_table_stands_under_the_fields(void **state) {
    (void)state;
    struct outcome outcome = run("luxfall trace %s --method direct", BENCH_SCENE);
    assert_int_equal(outcome.status, 0);
    assert_string_equal(outcome.err, "");
    assert_non_null(strstr(outcome.out,
                           "readings      bench-readings.csv, each the mean over a head of 10 mm; 12 lx of "
                           "the dark taken off\n"));
    assert_non_null(strstr(outcome.out, "Nothing else is fitted"));
    assert_non_null(strstr(outcome.out, "repeated      (0, 0) mm with all lit, 3 times"));
    assert_non_null(strstr(outcome.out, "read alone    ring 1 101 %, ring 2 99 %, ring 3 92 %"));
    /* what was hidden in the invented readings: the third aims wide, away from the centre, at azimuth 120 deg */
    assert_non_null(
        strstr(outcome.out, "verdict       forecast 7 % high on the whole; ring 3 aims wide, towards 12"));
    done(&outcome);
}

/* Rays trace the scene; light that is known by angle is forecast directly all the same. */
static void the_files_say_the_same(void **state) {
    (void)state;
    struct outcome outcome = run("luxfall trace %s --rays 200000 --out files --json s.json", BENCH_SCENE);
    assert_int_equal(outcome.status, 0);
    done(&outcome);
    json_t *root = json_load_file("s.json", 0, NULL), *readings = json_object_get(root, "readings");
    assert_string_equal(json_string_value(json_object_get(readings, "file")), "bench-readings.csv");
    assert_true(json_number_value(json_object_get(readings, "head_mm")) == 10);
    assert_true(json_number_value(json_object_get(readings, "scale_u")) > 0);
    double scale = json_number_value(json_object_get(readings, "scale"));
    json_t *items = json_object_get(readings, "items"), *last = json_array_get(items, json_array_size(items) - 1);
    assert_true(scale > 0.9 && scale < 0.96);
    assert_int_equal(json_array_size(items), 33);
    assert_string_equal(json_string_value(json_object_get(last, "module")), "ring 6");
    assert_true(json_is_null(json_object_get(last, "forecast_lx_u95")));
    double ratio = json_number_value(json_object_get(last, "reading_lx")) /
                   json_number_value(json_object_get(last, "forecast_lx"));
    double residual = json_number_value(json_object_get(last, "residual_percent"));
    assert_true(residual > 100 * (ratio / scale - 1) - 1e-4 && residual < 100 * (ratio / scale - 1) + 1e-4);
    json_decref(root);
    char *csv = read_file("files/readings.csv");
    assert_non_null(csv);
    assert_non_null(strstr(csv, "\n0,0,0,\"ring 6\",,"));
    free(csv);
}

static void checked_scenes_keep_their_readings(void **state) {
    (void)state;
    struct outcome outcome =
        run("cp %s/scenes/bench-readings.csv . && luxfall check %s >checked.yaml && luxfall trace "
            "checked.yaml --method direct | grep verdict",
            SOURCE_DIR, BENCH_SCENE);
    assert_int_equal(outcome.status, 0);
    assert_non_null(strstr(outcome.out, "ring 3 aims wide"));
    done(&outcome);
}

static void mistakes_are_told_at_their_cell(void **state) {
    (void)state;
    struct outcome outcome =
        run("sed 's/ring 6/ring 7/' %s/scenes/bench-readings.csv >bench-readings.csv && cp %s s.yaml "
            "&& luxfall trace s.yaml --out none",
            SOURCE_DIR, BENCH_SCENE);
    assert_int_equal(outcome.status, 2);
    assert_string_equal(outcome.out, "");
    assert_non_null(strstr(outcome.err, "bench-readings.csv:37:11: error: no module is called 'ring 7'"));
    done(&outcome);
    outcome = run("rm bench-readings.csv; luxfall trace s.yaml");
    assert_int_equal(outcome.status, 2);
    assert_non_null(strstr(outcome.err, "s.yaml:35:11: error: cannot read 'bench-readings.csv': No such file"));
    done(&outcome);
    assert_null(read_file("none/statistics.json"));
}

/* Five metres aside a bell of light still has some figure, of no lux. */
static void readings_in_the_dark_are_told(void **state) {
    (void)state;
    struct outcome outcome =
        run("printf '# meter_aperture_mm: 10\\nx_mm,y_mm,lux\\n5000,0,1\\n' >bench-readings.csv && "
            "cp %s s.yaml && luxfall trace s.yaml --method direct --out none",
            BENCH_SCENE);
    assert_int_equal(outcome.status, 2);
    assert_string_equal(outcome.out, "");
    assert_string_equal(outcome.err,
                        "bench-readings.csv:3:8: error: no light is forecast where the readings were taken\n");
    assert_null(read_file("none/statistics.json"));
    done(&outcome);
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(the_table_stands_under_the_fields),  cmocka_unit_test(the_files_say_the_same),
        cmocka_unit_test(checked_scenes_keep_their_readings), cmocka_unit_test(mistakes_are_told_at_their_cell),
        cmocka_unit_test(readings_in_the_dark_are_told),
    };
    return cmocka_run_group_tests(tests, enter_scratch, leave_scratch);
}
