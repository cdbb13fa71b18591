/* What is said of a sound but doubtful scene: verdicts on lens figures with their sums, slips of scale, dark fields.
 * Bell beams after common practice (no source): K = peak x angle^2 is about 2900 x efficiency for narrow bells. */
#include "unit/scene_text.h"

#include <math.h>

static void assert_warns(const char *old, const char *new, const char *expected) {
    char *text = with(sound_scene, old, new);
    struct outcome outcome = read_text(text);
    if (outcome.status != 0 || outcome.warnings != 1 || strncmp(outcome.said, expected, strlen(expected)) != 0)
        fail_msg("expected\n%s\nand it said (status %d)\n%s", expected, outcome.status, outcome.said);
    outcome_clear(&outcome);
    free(text);
}

static void assert_silent(const char *old, const char *new) {
    char *text = with(sound_scene, old, new);
    struct outcome outcome = read_text(text);
    if (outcome.status != 0 || outcome.warnings != 0)
        fail_msg("'%s' is sound, and it said\n%s", new, outcome.said);
    outcome_clear(&outcome);
    free(text);
}

static void verdict_on_the_peak(void **state) {
    (void)state;
    assert_silent("efficiency: 84 %", "efficiency: 84 %, peak: 4.2 cd/lm");
    assert_silent("efficiency: 84 %", "efficiency: 84 %, peak: 3.9 cd/lm");
    assert_warns(
        "efficiency: 84 %", "efficiency: 84 %, peak: 5.5 cd/lm",
        "s.yaml:4:56: warning: 5.5 cd/lm is 1.29 of what a bell of 24 deg and 84 % gives (4.27 cd/lm; an even disc: "
        "6.118 cd/lm): a flat-topped beam");
    assert_warns("efficiency: 84 %", "efficiency: 84 %, peak: 2.4 cd/lm",
                 "s.yaml:4:56: warning: 2.4 cd/lm is 0.56 of what a bell of 24 deg and 84 % gives (4.27 cd/lm): "
                 "much light lies "
                 "outside the main beam, ");
}

static void a_half_angle_is_suspected(void **state) {
    (void)state;
    assert_warns("beam_angle: 24 deg, efficiency: 84 %", "beam_angle: 12 deg, efficiency: 84 %, peak: 4.2 cd/lm",
                 "s.yaml:4:56: warning: 4.2 cd/lm is 0.25 of what a bell of 12 deg and 84 % gives (16.95 cd/lm), but "
                 "0.98 of that "
                 "of 24 deg: is beam_angle a half angle?");
    assert_slip("efficiency: 84 %", "efficiency: 84 %, field_angle: 22 deg",
                "s.yaml:4:63: error: 'field_angle' (full angle at 10 %) is 22 deg, not wider than 'beam_angle' (full "
                "angle at 50 "
                "%), 24 deg; is it a half angle? Twice it is 44 deg");
}

/* A peak that no beam meets is an error at the peak, whatever else the library says about it. */
static void impossible_figures(void **state) {
    (void)state;
    char *text = with(sound_scene, "efficiency: 84 %", "efficiency: 84 %, peak: 12 cd/lm");
    struct outcome outcome = read_text(text);
    assert_int_equal(outcome.status, 2);
    assert_int_equal(outcome.errors, 1);
    assert_memory_equal(outcome.said, "s.yaml:4:56: error: a peak of 12 cd/lm", 38);
    outcome_clear(&outcome);
    free(text);
}

/* A peak that another die reached is no slip of the angle: that is asked, too, where face and die are at odds. Twin:
 * where beam and peak alone are, no die is to blame. */
static void a_smaller_die_is_suspected(void **state) {
    (void)state;
    static const char asks[] = "Or was the sheet measured with a smaller die than emitter 'die' has?";
    static const struct {
        const char *old, *new;
        bool asked;
    } cases[] = {
        {"1.2 mm x 1.2 mm, flux: 95 lm, intensity: lambertian", "6 mm x 6 mm, flux: 95 lm", true},
        {"efficiency: 84 %", "efficiency: 84 %, peak: 12 cd/lm", false},
    };
    for (size_t i = 0; i < sizeof cases / sizeof *cases; i++) {
        char *text = with(sound_scene, cases[i].old, cases[i].new);
        struct outcome outcome = read_text(text);
        if (outcome.errors != 1 || (strstr(outcome.said, asks) != NULL) != cases[i].asked)
            fail_msg("%s: it said\n%s", cases[i].new, outcome.said);
        outcome_clear(&outcome);
        free(text);
    }
}

/* Large figures are written out. */
static void no_power_of_ten_is_told(void **state) {
    (void)state;
    char *narrow = with(sound_scene, "beam_angle: 24 deg", "beam_angle: 0.3 deg, peak: 15000 cd/lm");
    char *text = with(narrow, "1.2 mm x 1.2 mm", "0.01 mm x 0.01 mm");
    struct outcome outcome = read_text(text);
    assert_non_null(strstr(outcome.said, "warning: 15000 cd/lm is 0.5"));
    assert_non_null(strstr(outcome.said, "84 % gives (270"));
    assert_null(strstr(outcome.said, "e+"));
    outcome_clear(&outcome);
    free(text);
    free(narrow);
}

/* 2 asin(n sqrt(1.44 mm2 / (pi 9^2 mm2))): 8.63 deg and 12.96 deg; conservation of etendue, e.g. Winston, Minano and
 * Benitez, Nonimaging Optics (2005), ch. 2. */
static void the_floor_of_die_and_face(void **state) {
    (void)state;
    assert_warns(
        "beam_angle: 24 deg", "beam_angle: 12 deg",
        "s.yaml:4:24: warning: 12 deg with emitter 'die': die and face allow a full beam of 2 asin(n sqrt(A_die / "
        "A_face)) = 8.63 deg (bare die) to 13 deg (dome of n = 1.5) at the least");
    assert_silent("beam_angle: 24 deg", "beam_angle: 14 deg"); /* the twin: one that clears the floor */
}

static void what_a_sheet_leaves_out(void **state) {
    (void)state;
    assert_warns(", face: disc 18 mm", "",
                 "s.yaml:4:3: warning: the lens has no face: its light leaves a point, and lux near to it "
                 "are overstated; write for instance 'face: disc 18 mm'");
    assert_warns("efficiency: 84 %, ", "",
                 "s.yaml:4:3: warning: no 'efficiency' for this lens; 85 % is taken (82 to 92 % is "
                 "usual)");
    assert_warns("lambertian", "{viewing_angle: 60 deg}",
                 "s.yaml:2:75: warning: a viewing angle of 60 deg is narrow for a bare LED; it is the full angle at "
                 "50 %: a sheet "
                 "that says ±60 deg means 2 x 60 = 120 deg");
    assert_silent("lambertian", "{viewing_angle: 125 deg}");
}

static void slips_of_scale(void **state) {
    (void)state;
    assert_warns("165 mm", "165 m",
                 "s.yaml:9:32: warning: the module is 165000 mm away, 1031 times the side of the map (160 mm); "
                 "is a length in m that should be in mm?");
    char *text = with(sound_scene, "distance: 165 mm", "distance: 16.5 mm");
    struct outcome outcome = read_text(text);
    assert_non_null(strstr(outcome.said,
                           "s.yaml:9:32: warning: the module is 16.5 mm away, less than its own lens is wide (18 "
                           "mm); is a length in mm that should be in m or cm?"));
    outcome_clear(&outcome);
    free(text);
}

static void slips_of_size(void **state) {
    (void)state;
    assert_warns(
        "size: 160 mm x 160 mm, cell: 1 mm", "size: 160 m x 160 m",
        "s.yaml:11:16: warning: the map is 160000 mm wide, 969.7 times as far as its module is away (165 mm); is a "
        "length in m that should be in mm?");
    assert_warns(
        "size: 36 mm x 27 mm", "size: 36 m x 27 m",
        "s.yaml:13:24: warning: the field is 36000 mm wide, 225 times the side of the map (160 mm); is a length in m "
        "that should be in mm?");
}

static void faces_that_do_not_fit(void **state) {
    (void)state;
    assert_warns("ring: {count: 8,", "ring: {count: 40,",
                 "s.yaml:9:11: warning: members 1 and 2 stand 15.94 mm apart, but their lens 'medium' is 18 mm wide: "
                 "they do not fit beside each other");
    assert_silent("ring: {count: 8,", "ring: {count: 35,");
    char *bar = with(sound_scene, "ring: {count: 8, distance: 165 mm, incidence: 38 deg}\n    aim: centre",
                     "line: {count: 5, pitch: 12 mm, height: 150 mm}\n    aim: down");
    char *oblong = with(bar, "disc 18 mm", "12 mm x 18 mm"), *turned = with(bar, "disc 18 mm", "18 mm x 12 mm");
    struct outcome fits = read_text(oblong), meets = read_text(turned);
    assert_null(strstr(fits.said, "do not fit"));
    assert_non_null(strstr(meets.said, "do not fit"));
    outcome_clear(&fits);
    outcome_clear(&meets);
    free(bar);
    free(oblong);
    free(turned);
}

static void a_map_of_broken_cells(void **state) {
    (void)state;
    assert_warns("cell: 1 mm", "cell: 3 mm",
                 "s.yaml:11:39: warning: 160 mm x 160 mm is no whole number of 3 mm cells; the map "
                 "becomes 159 mm x 159 mm (53 x 53 cells)");
}

static void fields_in_the_dark(void **state) {
    (void)state;
    assert_silent("size: 36 mm x 27 mm", "size: 36 mm x 27 mm, at: [90 mm, 0]"); /* beyond the map, and lit */
    char *text = with(sound_scene, "size: 36 mm x 27 mm", "size: 36 mm x 27 mm, at: [2 m, 0]");
    struct outcome outcome = read_text(text);
    assert_int_equal(outcome.status, 0);
    assert_memory_equal(outcome.said, "s.yaml:13:5: warning: hardly any light reaches the field 'zoom': ", 64);
    outcome_clear(&outcome);
    free(text);
    assert_warns("aim: centre", "dark: [1, 2, 3, 4, 5, 6, 7, 8]",
                 "s.yaml:6:5: warning: every module is dark: the scene has no light");
}

/* Parts that no module uses may be doubtful in silence, but not wrong. */
static void unused_parts_are_quiet(void **state) {
    (void)state;
    assert_silent("lenses:\n", "lenses:\n  spare: {beam_angle: 24 deg, peak: 2 cd/lm}\n");
    assert_slip("lenses:\n", "lenses:\n  spare: {beam_angle: 24 deg, peak: 2 cd}\n",
                "s.yaml:4:37: error: '2 cd': unknown unit 'cd'; a peak in candela per lumen takes cd/lm");
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(verdict_on_the_peak),
        cmocka_unit_test(a_half_angle_is_suspected),
        cmocka_unit_test(a_smaller_die_is_suspected),
        cmocka_unit_test(no_power_of_ten_is_told),
        cmocka_unit_test(impossible_figures),
        cmocka_unit_test(the_floor_of_die_and_face),
        cmocka_unit_test(what_a_sheet_leaves_out),
        cmocka_unit_test(slips_of_scale),
        cmocka_unit_test(slips_of_size),
        cmocka_unit_test(faces_that_do_not_fit),
        cmocka_unit_test(a_map_of_broken_cells),
        cmocka_unit_test(fields_in_the_dark),
        cmocka_unit_test(unused_parts_are_quiet),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
