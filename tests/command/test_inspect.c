/* luxfall inspect as its users meet it: one module by itself, in words, as JSON and as files. */
#include "run.h"

#include <jansson.h>
#include <math.h>

#define CUP SOURCE_DIR "/scenes/collimator-bench.yaml"
#define TORCH SOURCE_DIR "/scenes/plano-convex-torch.yaml"
#define BENCH SOURCE_DIR "/scenes/bench-lenses.yaml"

static json_t *json_of(const char *command) {
    struct outcome outcome = run("%s --json -", command);
    json_error_t error;
    if (outcome.status != 0)
        fail_msg("%s: %s", command, outcome.err);
    json_t *json = json_loads(outcome.out, 0, &error);
    assert_non_null(json);
    forget(&outcome);
    return json;
}

static double value(json_t *json, const char *key) {
    return json_number_value(json_object_get(json, key));
}

static void a_sheet_is_told_exactly(void **state) {
    (void)state;
    json_t *json = json_of("luxfall inspect " RING " --module ring");
    assert_string_equal(json_string_value(json_object_get(json, "module")), "ring 1");
    assert_float_equal(value(json, "beam_angle_deg"), 24, 1e-6);
    assert_float_equal(value(json, "efficiency"), 0.84, 1e-9);
    assert_null(json_object_get(json, "efficiency_u95"));
    json_t *curve = json_object_get(json, "intensity");
    assert_int_equal(json_array_size(json_object_get(curve, "intensity_cd")), 360);
    assert_null(json_object_get(curve, "half_planes")); /* round, exactly */
    assert_null(json_object_get(json, "rays"));
    json_decref(json);
    struct outcome outcome = run("luxfall inspect " RING " --module 'ring 3' --distance '33 cm'");
    assert_int_equal(outcome.status, 0);
    assert_string_equal(outcome.err, "");
    assert_non_null(strstr(outcome.out, "Mineral-sorting ring: ring 3, die behind medium"));
    assert_non_null(strstr(outcome.out, "straight down from 330 mm"));
    assert_non_null(strstr(outcome.out, "do not look into a lit lens"));
    assert_non_null(strstr(outcome.out, "the peak is 1.00 of that of a bell"));
    assert_non_null(strstr(outcome.out, "solid tells: luxfall check offers"));
    assert_null(strstr(outcome.out, "too many")); /* 330 mm: farther than the 264 mm of 1 % */
    forget(&outcome);
}

/* Every ray has an end, and the lumens add up to the emitter's. */
static void rays_and_lumens_add_up(void **state) {
    (void)state;
    json_t *json = json_of("luxfall inspect " TORCH " --rays 300000"), *rays = json_object_get(json, "rays"), *item;
    const char *key;
    json_int_t ends = 0;
    double lumens = 0;
    json_object_foreach(rays, key, item) ends += strcmp(key, "traced") ? json_integer_value(item) : 0;
    assert_true(ends == json_integer_value(json_object_get(rays, "traced")) && ends >= 300000);
    json_t *flux = json_object_get(json, "flux_lm");
    json_object_foreach(flux, key, item) if (!strstr(key, "_u95")) lumens += json_number_value(item);
    assert_float_equal(lumens, 2 * value(flux, "emitter"), 1e-6 * lumens);
    assert_int_equal(json_array_size(json_object_get(json_object_get(json, "intensity"), "half_planes")), 8);
    assert_true(value(json, "beam_angle_at_45_deg") < 0.99 * value(json, "beam_angle_along_x_deg"));
    json_decref(json);
}

/* What a lens that is not in the scene's modules would do; near and far are told with the stage. */
static void a_lens_can_be_put_in_place(void **state) {
    (void)state;
    json_t *own = json_of("luxfall inspect " BENCH), *other = json_of("luxfall inspect " BENCH " --lens 'bench 45'");
    assert_string_equal(json_string_value(json_object_get(other, "lens")), "bench 45");
    assert_float_equal(value(other, "beam_angle_deg"), 45, 1e-6);
    assert_true(fabs(value(own, "beam_angle_deg") - 45) > 1);
    json_decref(own);
    json_decref(other);
    struct outcome outcome = run("luxfall inspect " CUP " --rays 4000000");
    assert_non_null(strstr(outcome.out, "too many"));
    assert_non_null(strstr(outcome.out, "five face"));
    forget(&outcome);
    outcome = run("luxfall inspect " CUP " --distance '30 mm' --rays 200000");
    assert_non_null(strstr(outcome.out, "times as many"));
    assert_null(strstr(outcome.out, "too many"));
    forget(&outcome);
}

/* The stage is what luxfall trace finds there. */
static void the_stage_is_that_of_trace(void **state) {
    (void)state;
    json_t *json = json_of("luxfall inspect " CUP " --rays 2000000"), *stage = json_object_get(json, "stage");
    struct outcome outcome = run("luxfall trace " CUP " --rays 2000000 --seed 7 --json -");
    json_t *traced = json_loads(outcome.out, 0, NULL);
    json_t *map = json_object_get(json_array_get(json_object_get(traced, "planes"), 0), "spot");
    double half = value(map, "half_peak_diameter_mm"), band = value(map, "half_peak_diameter_mm_u95");
    assert_float_equal(value(stage, "distance_mm"), 250, 1e-9);
    assert_float_equal(value(stage, "half_peak_diameter_mm"), half,
                       2 * hypot(band, value(stage, "half_peak_diameter_mm_u95")));
    assert_true(value(json, "efficiency_u95") > 0);
    json_decref(json);
    json_decref(traced);
    forget(&outcome);
}

/* The table is a curve that a scene reads: a bare emitter of that curve sends the same beam. */
static void the_table_is_a_curve(void **state) {
    (void)state;
    struct outcome outcome = run("luxfall inspect " CUP " --rays 4000000 --out cup && ls cup");
    assert_int_equal(outcome.status, 0);
    assert_int_equal(entries("cup"), 3);
    forget(&outcome);
    outcome =
        run("printf 'emitters:\\n  cup: {surface: disc 20 mm, flux: 99 lm, intensity: {curve: "
            "cup/intensity.csv}}\\nmodules:\\n  - {name: lamp, emitter: cup, single: {height: 250 mm}}\\ntarget: "
            "{size: 160 mm x 160 mm, cell: 1 mm}\\n' >again.yaml && luxfall check again.yaml >/dev/null");
    assert_int_equal(outcome.status, 0);
    forget(&outcome);
    json_t *first = json_of("luxfall inspect " CUP " --rays 4000000"), *again = json_of("luxfall inspect again.yaml");
    assert_float_equal(value(again, "beam_angle_deg"), value(first, "beam_angle_deg"),
                       0.01 * value(first, "beam_angle_deg"));
    assert_float_equal(value(again, "centre_beam_cd") / 99,
                       value(first, "centre_beam_cd") / value(json_object_get(first, "flux_lm"), "leaving"),
                       0.01 * value(again, "centre_beam_cd") / 99);
    json_decref(first);
    json_decref(again);
}

/* Of few rays the band of the distance is wider than the distance. */
static void what_few_rays_do_not_tell_is_not_told(void **state) {
    (void)state;
    struct outcome outcome = run("luxfall inspect " SOURCE_DIR "/scenes/collimator-bench.yaml --rays 50000");
    assert_int_equal(outcome.status, 0);
    assert_non_null(strstr(outcome.out, " mm ±"));
    assert_non_null(strstr(outcome.out, "so few rays do not"));
    forget(&outcome);
    outcome = run("luxfall inspect " RING);
    assert_null(strstr(outcome.out, "so few rays"));
    forget(&outcome);
}

/* A window that absorbs is no lens, and there is none. */
static void a_window_is_no_lens(void **state) {
    (void)state;
    struct outcome outcome = run(
        "printf 'emitters: {die: {surface: disc 1 mm, flux: 100 lm}}\ncovers:\n  pane: {kind: window, diameter: "
        "30 mm, thickness: 3 mm, material: {index: 1.5, transmittance: 90 %%%% per 10 mm}}\nmodules: [{name: lamp, "
        "emitter: die, cover: pane, single: {height: 250 mm}}]\ntarget: {size: 100 mm x 100 mm}\n' >pane.yaml && "
        "luxfall inspect pane.yaml --rays 50000");
    assert_int_equal(outcome.status, 0);
    assert_non_null(strstr(outcome.out, "absorbed by covers"));
    assert_null(strstr(outcome.out, "in the lens"));
    forget(&outcome);
}

/* Each of several covers is told by its name, with what it absorbs; together they are the cause's. */
static void covers_are_told_apart(void **state) {
    (void)state;
    struct outcome outcome = run(
        "printf 'emitters: {die: {surface: disc 1 mm, flux: 100 lm}}\ncovers:\n  front pane: {kind: window, "
        "diameter: "
        "30 mm, thickness: 3 mm, material: {index: 1.5, transmittance: 90 %%%% per 10 mm}}\n  frost: {kind: film, "
        "diameter: 30 mm, gap: 1 mm, width: 20 deg, passes: 80 %%%%, sends_back: 10 %%%%}\nmodules: [{name: lamp, "
        "emitter: die, cover: [front pane, frost], single: {height: 250 mm}}]\ntarget: {size: 100 mm x 100 mm}\n' "
        ">two.yaml && luxfall inspect two.yaml --rays 50000 && luxfall trace two.yaml --rays 50000");
    assert_int_equal(outcome.status, 0);
    const char *first = strstr(outcome.out, "covers        front pane absorbs ");
    assert_non_null(first);
    assert_non_null(strstr(first, ", frost "));
    assert_non_null(strstr(first + 1, "covers        front pane absorbs "));
    assert_non_null(strstr(outcome.out, "back upon its source"));
    forget(&outcome);
    json_t *json = json_of("luxfall inspect two.yaml --rays 50000"), *lumens = json_object_get(json, "flux_lm"),
           *covers = json_object_get(lumens, "absorbed_by_cover");
    double sum = 0;
    for (size_t i = 0; i < json_array_size(covers); i++)
        sum += value(json_array_get(covers, i), "absorbed");
    assert_int_equal(json_array_size(covers), 2);
    assert_float_equal(sum, value(lumens, "cover"), 1e-9);
    assert_true(sum > 1);
    json_decref(json);
    json = json_of("luxfall trace two.yaml --rays 50000");
    json_t *flux = json_object_get(json_array_get(json_object_get(json, "planes"), 0), "flux_lm");
    json_t *by = json_object_get(flux, "absorbed_by_cover");
    double absorbed = value(json_array_get(by, 0), "absorbed") + value(json_array_get(by, 1), "absorbed");
    assert_string_equal(json_string_value(json_object_get(json_array_get(by, 1), "name")), "frost");
    assert_float_equal(absorbed, value(json_object_get(flux, "absorbed_by"), "cover"), 1e-9);
    json_decref(json);
}

/* A beam that leaves aside is no wider for that, and no darker in its middle. */
static void a_beam_that_leans_is_told(void **state) {
    (void)state;
    struct outcome outcome =
        run("sed 's/single: {height: 250 mm}/single: {height: 250 mm}\\n    built: {lens_lean: 4 deg towards 0 "
            "deg}/' " CUP " >leaning.yaml && luxfall inspect leaning.yaml --rays 150000");
    assert_int_equal(outcome.status, 0);
    assert_non_null(strstr(outcome.out, "aside, towards"));
    assert_null(strstr(outcome.out, "inverse squares would"));
    forget(&outcome);
    json_t *leaning = json_of("luxfall inspect leaning.yaml --rays 150000");
    json_t *own = json_of("luxfall inspect " CUP " --rays 150000");
    assert_float_equal(value(leaning, "lean_towards_x_deg"), 4, 0.4);
    assert_float_equal(value(leaning, "beam_angle_deg"), value(own, "beam_angle_deg"),
                       0.15 * value(own, "beam_angle_deg"));
    assert_float_equal(value(leaning, "centre_beam_cd"), value(own, "centre_beam_cd"),
                       0.15 * value(own, "centre_beam_cd"));
    json_decref(leaning);
    json_decref(own);
}

static const struct row mistakes[] = {
    {"luxfall inspect " RING " --module rnig", 2, "no module is named 'rnig'; did you mean 'ring'?"},
    {"luxfall inspect " RING " --distance 25", 2, "'25' has no unit"},
    {"luxfall inspect " RING " --distance '0 mm'", 2, "out of range"},
    {"luxfall inspect " RING " --lens mediun", 2, "did you mean 'medium'?"},
    {"luxfall inspect naked.yaml --lens none", 2, "--lens"},
    {"luxfall inspect " RING " --rays 0", 2, "--rays"},
    {"luxfall inspect " RING " --width 900", 2, "give --out DIR too"},
    {"luxfall inspect missing.yaml", 2, "missing.yaml"},
};

static void every_mistake_has_its_message(void **state) {
    (void)state;
    struct outcome outcome =
        run("printf 'emitters:\\n  die: {surface: 1 mm x 1 mm, flux: 99 lm}\\nlenses:\\n  none: {beam_angle: 24 deg, "
            "efficiency: 84 %%%%, face: disc 18 mm}\\nmodules:\\n  - {name: lamp, emitter: die, single: {height: 250 "
            "mm}}\\ntarget: {size: 160 mm x 160 mm, cell: 1 mm}\\n' >naked.yaml");
    forget(&outcome);
    for (size_t i = 0; i < sizeof mistakes / sizeof *mistakes; i++)
        assert_true(fails_as(&mistakes[i]));
}

static void what_cannot_be_written_leaves_nothing(void **state) {
    (void)state;
    struct outcome outcome =
        run("mkdir taken && mkdir taken/inspect.png && luxfall inspect " RING " --out taken; s=$?; ls "
            "-A taken | wc -l; exit $s");
    assert_int_not_equal(outcome.status, 0);
    assert_int_equal(atoi(outcome.out), 1);
    forget(&outcome);
}

/* Large figures are written out: "95000 lm", no "9.5e+04 lm". */
static void no_power_of_ten_is_told(void **state) {
    (void)state;
    struct outcome outcome =
        run("sed 's/95 lm/95000 lm/; s/1.2 mm x 1.2 mm/0.04 mm x 0.04 mm/' " RING " >bright.yaml && luxfall inspect "
            "bright.yaml --module 'ring 1'");
    assert_int_equal(outcome.status, 0);
    assert_non_null(strstr(outcome.out, "95000 lm of the emitter"));
    assert_non_null(strstr(outcome.out, "allow 50620 cd/lm on the axis"));
    assert_non_null(strstr(outcome.out, "up to 1600 Mcd/m²"));
    assert_null(strstr(outcome.out, "e+0"));
    forget(&outcome);
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(a_sheet_is_told_exactly),       cmocka_unit_test(rays_and_lumens_add_up),
        cmocka_unit_test(a_lens_can_be_put_in_place),    cmocka_unit_test(the_stage_is_that_of_trace),
        cmocka_unit_test(the_table_is_a_curve),          cmocka_unit_test(a_window_is_no_lens),
        cmocka_unit_test(covers_are_told_apart),         cmocka_unit_test(what_few_rays_do_not_tell_is_not_told),
        cmocka_unit_test(a_beam_that_leans_is_told),     cmocka_unit_test(no_power_of_ten_is_told),
        cmocka_unit_test(every_mistake_has_its_message), cmocka_unit_test(what_cannot_be_written_leaves_nothing),
    };
    return cmocka_run_group_tests(tests, enter_scratch, leave_scratch);
}
