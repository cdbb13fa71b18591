/* What `luxfall check` and the camera lines of `luxfall trace` give their users: the workshop sheet whole or not at
 * all, clock hours, exposure, warnings. */
#include "run.h"

#include <jansson.h>

static bool there(const char *path) {
    return access(path, F_OK) == 0;
}

static void the_sheet_comes_with_the_figures(void **state) {
    (void)state;
    struct outcome outcome = run("luxfall check " RING " --out sheet");
    assert_int_equal(outcome.status, 0);
    assert_string_equal(outcome.err, "");
    assert_non_null(strstr(outcome.out, "# ring 8   38.00 deg   315.00 deg    4:30    165.00 mm"));
    assert_null(strstr(outcome.out, "315.00 deg    7:30")); /* twin: a clock that runs backwards */
    assert_int_equal(entries("sheet"), 1);
    assert_true(there("sheet/bracket.png"));
    forget(&outcome);
    outcome =
        run("sed 's/count: 8/count: 90/' " RING " > many.yaml && luxfall check many.yaml --out many >/dev/null");
    assert_int_equal(outcome.status, 0);
    assert_int_equal(entries("many"), 2);
    assert_true(there("many/bracket-2.png"));
    forget(&outcome);
}

/* What check offers in a datasheet lens's place is what a scene takes. */
static void a_sheet_is_offered_as_a_solid(void **state) {
    (void)state;
    struct outcome outcome = run("luxfall check " RING);
    assert_non_null(strstr(outcome.out,
                           "\n# medium: {solid: collimator, material: acrylic, diameter: 18 mm, beam_angle: "
                           "24 deg, listed_die: 1.2 mm x 1.2 mm, efficiency: 84 %}\n"));
    assert_non_null(
        strstr(outcome.out, "within 5 %, with dies up to twice\n# as wide. How far the maker's lens lies"));
    forget(&outcome);
    outcome =
        run("solid=$(luxfall check " RING " | sed -n 's/^# medium: //p') && sed '/^  medium:/,/^modules:/"
            "{/^  medium:/!{/^modules:/!d}}' " RING " | sed \"s/^  medium:.*/  medium: $solid/\" >solid.yaml && "
            "luxfall check solid.yaml >/dev/null");
    assert_int_equal(outcome.status, 0);
    assert_non_null(strstr(outcome.err, "made up to fit"));
    forget(&outcome);
    outcome = run("sed 's/beam_angle: 24 deg/beam_angle: 7 deg/' " RING " >thin.yaml && luxfall check thin.yaml");
    assert_non_null(strstr(outcome.out, "# medium: none, this die and collimator have a beam of "));
    forget(&outcome);
}

/* Where the offer says so: the number behind these words. */
static double told(const char *text, const char *before) {
    const char *place = strstr(text, before);
    if (place == NULL)
        fail_msg("'%s' is not in\n%s", before, text);
    return strtod(place + strlen(before), NULL);
}

static double of_json(json_t *json, const char *key) {
    return json_number_value(json_object_get(json, key));
}

static bool are_near(double a, double b) {
    return a > 0.95 * b && a < 1.05 * b;
}

/* The solid's beam, peak and field angle are those that `luxfall inspect` finds of it, and the band lies about them
 * (15 % of the angle, and its square). Twin: the sheet's own peak and field angle lie elsewhere. */
static void an_offer_tells_the_solids_figures(void **state) {
    (void)state;
    struct outcome outcome =
        run("sed 's|^    efficiency: 84 %%|    peak: 2.5 cd/lm\\n    field_angle: 60 deg\\n&|' " RING
            " >spill.yaml && luxfall check spill.yaml 2>/dev/null");
    assert_int_equal(outcome.status, 0);
    struct outcome inspected = run("luxfall inspect solid.yaml --module 'ring 1' --json - 2>/dev/null");
    json_t *json = json_loads(inspected.out, 0, NULL);
    assert_non_null(json);
    double cd_per_lm = of_json(json, "centre_beam_cd_per_lm"), field_deg = of_json(json, "field_angle_deg");
    assert_true(are_near(told(outcome.out, "it gives (±: 95 % band): beam "), of_json(json, "beam_angle_deg")));
    assert_true(are_near(told(outcome.out, ", field angle "), field_deg));
    assert_non_null(strstr(outcome.out, " cd ±"));
    assert_true(are_near(told(outcome.out, "the sheet's peak: 2.5 cd/lm there, "), cd_per_lm));
    assert_true(are_near(told(outcome.out, "the sheet's field angle: 60 deg there, "), field_deg));
    assert_true(
        are_near(told(outcome.out, "the sheet's efficiency: 84 % there, "), 100 * of_json(json, "efficiency")));
    double low = told(outcome.out, "#   worth: a beam of 20.5 to 27.8 deg, "),
           high = told(outcome.out, "deg, 3.48 to ");
    assert_true(are_near(low, cd_per_lm / (1.15 * 1.15)) && are_near(high, cd_per_lm / (0.85 * 0.85)));
    assert_false(are_near(low, 2.5 / (1.15 * 1.15)) || are_near(cd_per_lm, 2.5) || are_near(field_deg, 60));
    json_decref(json);
    forget(&inspected);
    forget(&outcome);
    outcome = run("luxfall check " RING);
    assert_true(told(outcome.out, "#   worth: a beam of 20.5 to 27.8 deg, ") == low); /* it is the same solid */
    assert_null(strstr(outcome.out, "the sheet's peak"));
    assert_null(strstr(outcome.out, "the sheet's field angle"));
    forget(&outcome);
}

/* A lamp that is not built as drawn cannot have a sheet's lens: the message has the solid, which is then taken. */
static void a_sheet_that_cannot_follow_is_offered_too(void **state) {
    (void)state;
    struct outcome outcome =
        run("sed 's/^    lens: medium/&\\n    built: {seat: -0.3 mm}/' " RING " >low.yaml && luxfall check low.yaml");
    assert_int_equal(outcome.status, 2);
    assert_non_null(strstr(outcome.err, "in place of lens 'medium' write {solid: collimator, "));
    forget(&outcome);
    outcome =
        run("solid=$(luxfall check low.yaml 2>&1 | sed -n \"s/.*in place of lens 'medium' write //p\") && sed "
            "'/^  medium:/,/^modules:/{/^  medium:/!{/^modules:/!d}}' low.yaml | sed \"s/^  medium:.*/  medium: "
            "$solid/\" >mended.yaml && luxfall check mended.yaml");
    assert_int_equal(outcome.status, 0);
    forget(&outcome);
}

/* Twin: with a lens it is the lens (the_sheet_comes_with_the_figures). */
static void without_a_lens_the_led_is_measured_from(void **state) {
    (void)state;
    struct outcome outcome = run("sed 's/lens: medium/lens: none/' " RING " >bare.yaml && luxfall check bare.yaml");
    assert_int_equal(outcome.status, 0);
    assert_non_null(strstr(outcome.out, "   LED to spot   incidence"));
    assert_null(strstr(outcome.out, "lens to spot"));
    forget(&outcome);
    outcome = run("luxfall check " RING);
    assert_non_null(strstr(outcome.out, "   lens to spot   incidence"));
    assert_null(strstr(outcome.out, "LED to spot"));
    forget(&outcome);
}

static void no_sheet_is_left_by_a_run_that_fails(void **state) {
    (void)state;
    static const struct {
        const char *command, *said, *folder;
        int status;
    } runs[] = {
        {"sed 's/count: 8/count: 0/' " RING " > bad.yaml; luxfall check bad.yaml --out none", "'count' is 0", "none",
         2},
        {"luxfall check " RING " --out none/deep > /dev/full", "No space left", "none", 1},
        {"touch file; luxfall check " RING " --out file/sheet", "cannot make the folder 'file'", "none", 1},
        {"luxfall check " RING " --out", "--out needs a value", "none", 2},
        {"luxfall check " RING " --outt none", "did you mean '--out'?", "none", 2},
    };
    for (size_t i = 0; i < sizeof runs / sizeof *runs; i++) {
        struct outcome outcome = run("%s", runs[i].command);
        if (outcome.status != runs[i].status || strstr(outcome.err, runs[i].said) == NULL)
            fail_msg("%s: status %d, %s", runs[i].command, outcome.status, outcome.err);
        assert_false(there(runs[i].folder));
        forget(&outcome);
    }
}

#define CAMERA "camera: {f_number: 22, magnification: 0, iso: 100, reflectance: 50 %%, transmission: 70 %%}"

static void a_camera_tells_times_and_stops(void **state) {
    (void)state;
    struct outcome outcome =
        run("sed 's|^accuracy.*|" CAMERA "|; s/closest zoom,/closest zoom, f_number: f\\/44,/' " RING
            " > camera.yaml && luxfall trace camera.yaml --method direct --json camera.json");
    assert_int_equal(outcome.status, 0);
    assert_string_equal(outcome.err, "");
    assert_non_null(strstr(outcome.out, "  widest zoom    f/22   1/21 s        1/30 s"));
    assert_non_null(strstr(outcome.out, "  closest zoom   f/44   1/5.3 s       1/8 s    2.00 stops"));
    assert_non_null(strstr(outcome.out, "camera        a 50 % grey at the field's centre fills the sensor"));
    assert_null(strstr(outcome.out, "\nstops  "));
    forget(&outcome);
    json_t *root = json_load_file("camera.json", 0, NULL);
    json_t *fields = json_object_get(json_array_get(json_object_get(root, "planes"), 0), "fields");
    json_t *first = json_object_get(json_array_get(fields, 0), "exposure");
    json_t *last = json_object_get(json_array_get(fields, 2), "exposure");
    double ratio =
        json_real_value(json_object_get(last, "shutter_s")) / json_real_value(json_object_get(first, "shutter_s"));
    assert_true(ratio > 3.99 && ratio < 4.01); /* two stops less, the same lux */
    double filled =
        json_real_value(json_object_get(first, "shutter_s")) * json_real_value(json_object_get(first, "sensor_lx"));
    assert_true(filled > 0.7799 && filled < 0.7801); /* 78 lx s over ISO 100 */
    json_decref(root);
}

static void without_a_camera_there_are_stops_alone(void **state) {
    (void)state;
    struct outcome outcome = run("luxfall trace " RING " --method direct --json plain.json");
    assert_int_equal(outcome.status, 0);
    assert_non_null(strstr(outcome.out, "stops         edge (darkest) under the centre: widest zoom 0.34 (0.34), "));
    assert_null(strstr(outcome.out, "sensor full"));
    assert_non_null(strstr(outcome.out, "highlights    shiny facets sloped 19 deg flare"));
    assert_non_null(strstr(outcome.out, "Mcd/m²"));
    forget(&outcome);
    json_t *root = json_load_file("plain.json", 0, NULL);
    json_t *field = json_array_get(json_object_get(json_array_get(json_object_get(root, "planes"), 0), "fields"), 0);
    json_t *exposure = json_object_get(field, "exposure");
    assert_true(json_is_null(json_object_get(exposure, "shutter_s")));
    assert_true(json_is_real(json_object_get(exposure, "stops_edge")));
    json_decref(root);
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(the_sheet_comes_with_the_figures),
        cmocka_unit_test(a_sheet_is_offered_as_a_solid),
        cmocka_unit_test(an_offer_tells_the_solids_figures),
        cmocka_unit_test(a_sheet_that_cannot_follow_is_offered_too),
        cmocka_unit_test(without_a_lens_the_led_is_measured_from),
        cmocka_unit_test(no_sheet_is_left_by_a_run_that_fails),
        cmocka_unit_test(a_camera_tells_times_and_stops),
        cmocka_unit_test(without_a_camera_there_are_stops_alone),
    };
    return cmocka_run_group_tests(tests, enter_scratch, leave_scratch);
}
