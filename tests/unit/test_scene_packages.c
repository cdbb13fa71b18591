/* Packages of LEDs as scenes say them: keys, mistakes at their places, and the way back. */
#include "unit/scene_text.h"

#include <math.h>

static const double DEG = 3.14159265358979323846 / 180;
static const char COLLIMATOR[] = "{solid: collimator, material: acrylic, diameter: 20 mm}";

/* The sound scene with this package and lens. */
static char *packed_text(const char *package, const char *lens) {
    char *packed = with(sound_scene, "95 lm, intensity: lambertian", "95 lm, package: PACKAGE");
    char *said = with(packed, "PACKAGE", package);
    char *text = with(said, "{beam_angle: 24 deg, efficiency: 84 %, face: disc 18 mm}", lens);
    free(packed);
    free(said);
    return text;
}

static struct outcome read_packed(const char *package) {
    char *text = packed_text(package, COLLIMATOR);
    struct outcome outcome = read_sound(text);
    free(text);
    return outcome;
}

static void slip(const char *package, const char *expected) {
    char *text = packed_text(package, COLLIMATOR);
    assert_only_error(text, expected);
    free(text);
}

static void keys_say_sizes(void **state) {
    (void)state;
    struct outcome outcome = read_packed(
        "{dome: {diameter: 4 mm, height: 1.9 mm}, cup: {floor: 3 mm, opening: 3.4 mm, depth: 400 um, "
        "reflectance: 92 %, finish: mirror}, material: {index: 1.53}, bottom: 80 %, die: {height: 0.1 mm, "
        "offset: [0.1 mm, -50 um], lean: 2 deg towards 90 deg}}");
    const struct luxfall_package *p = &outcome.scene->light.emitters[0].package;
    assert_true(p->dome_mm == 4 && p->dome_height_mm == 1.9 && p->floor_mm == 3 && p->opening_mm == 3.4);
    assert_true(fabs(p->depth_mm - 0.4) < 1e-15 && p->wall == 0.92 && p->bottom == 0.8 && p->wall_mirror);
    assert_true(p->material.kind == LUXFALL_MATERIAL_INDEX && p->material.index == 1.53);
    assert_true(p->die_height_mm == 0.1 && p->die_x_mm == 0.1 && fabs(p->die_y_mm + 0.05) < 1e-15);
    assert_true(fabs(p->die_lean_rad - 2 * DEG) < 1e-15 && fabs(p->die_lean_azimuth_rad - 90 * DEG) < 1e-15);
    outcome_clear(&outcome);
}

/* "A pair of dies under a 5 mm silicone dome". */
static void what_is_not_said_is_usual(void **state) {
    (void)state;
    struct outcome outcome = read_packed("{dome: 5 mm}, dies: {columns: 2, pitch: 1.3 mm}");
    const struct luxfall_package *p = &outcome.scene->light.emitters[0].package;
    assert_true(p->dome_mm == 5 && p->dome_height_mm == 2.5 && p->depth_mm == 0 && p->die_height_mm == 0);
    assert_string_equal(p->material.name, "silicone");
    assert_int_equal(outcome.scene->light.emitters[0].columns, 2);
    outcome_clear(&outcome);
    outcome = read_packed("{dome: 4 mm, cup: {floor: 3 mm, opening: 4 mm, depth: 0.5 mm, reflectance: 90 %}}");
    p = &outcome.scene->light.emitters[0].package;
    assert_true(p->dome_height_mm == 2.5 && !p->wall_mirror && p->bottom == 0);
    outcome_clear(&outcome);
}

static bool same_package(const struct luxfall_package *a, const struct luxfall_package *b) {
    return a->dome_mm == b->dome_mm && a->dome_height_mm == b->dome_height_mm && a->floor_mm == b->floor_mm &&
           a->opening_mm == b->opening_mm && a->depth_mm == b->depth_mm && a->wall == b->wall &&
           a->bottom == b->bottom && a->wall_mirror == b->wall_mirror && a->die_height_mm == b->die_height_mm &&
           a->die_x_mm == b->die_x_mm && a->die_y_mm == b->die_y_mm && a->die_lean_rad == b->die_lean_rad &&
           a->die_lean_azimuth_rad == b->die_lean_azimuth_rad && a->material.kind == b->material.kind &&
           a->material.index == b->material.index && a->material.transmittance == b->material.transmittance &&
           a->material.term_count == b->material.term_count &&
           memcmp(a->material.terms, b->material.terms, sizeof a->material.terms) == 0;
}

static void packages_come_back(void **state) {
    (void)state;
    static const char *const packages[] = {
        "{dome: 5 mm}",
        "{dome: {diameter: 5.0000001 mm, height: 3.3 mm}, material: acrylic, bottom: 33.3 %}",
        "{cup: {floor: 3.3 mm, opening: 3.4 mm, depth: 0.7 mm, reflectance: 91.7 %}, die: {lean: 0.7 deg towards 33 "
        "deg}}",
        "{dome: 3.6 mm, cup: {floor: 3.3 mm, opening: 3.4 mm, depth: 1 um, reflectance: 1 %, finish: mirror}}",
        "{dome: 5 mm, material: {cauchy: [1.4, 0.0043], transmittance: 99 % per 3 mm}, die: {height: 1 um, offset: "
        "[0.1 mm, 0]}}",
        "{dome: 5 mm, material: {sellmeier: [[1.0093, 0.013185]]}, die: {}}",
    };
    for (size_t i = 0; i < sizeof packages / sizeof *packages; i++) {
        struct outcome outcome = read_packed(packages[i]);
        char *text = written(outcome.scene);
        struct outcome back = read_text(text);
        if (back.status != 0)
            fail_msg("%s came back as\n%s\n%s", packages[i], text, back.said);
        assert_true(same_package(&outcome.scene->light.emitters[0].package, &back.scene->light.emitters[0].package));
        free(text);
        outcome_clear(&back);
        outcome_clear(&outcome);
    }
}

static void mistakes_are_told_at_their_place(void **state) {
    (void)state;
    slip("{dom: 5 mm}", "s.yaml:2:58: error: unknown key 'dom' in a package; did you mean 'dome'?\n"
                        "      die: {surface: 1.2 mm x 1.2 mm, flux: 95 lm, package: {dom: 5 mm}}\n"
                        "                                                             ^");
    slip("{}", "s.yaml:2:57: error: a package has a dome, a cup or both, such as {dome: 5 mm}\n"
               "      die: {surface: 1.2 mm x 1.2 mm, flux: 95 lm, package: {}}\n"
               "                                                            ^");
    slip("{dome: 5}", "s.yaml:2:64: error: '5' has no unit; a length takes um, mm, cm, m or in, for instance 5 mm\n"
                      "      die: {surface: 1.2 mm x 1.2 mm, flux: 95 lm, package: {dome: 5}}\n"
                      "                                                                   ^");
    slip("{dome: {height: 3 mm}}", "s.yaml:2:58: error: missing key 'diameter'");
    slip("{dome: [5 mm]}", "s.yaml:2:64: error: 'dome' is a list; text is expected");
    slip("{dome: 5 mm, cup: 3 mm}", "s.yaml:2:75: error: 'cup' is text; a map of keys and values is expected");
    slip("{cup: {floor: 3 mm, opening: 4 mm, depth: 1 mm}}", "s.yaml:2:58: error: missing key 'reflectance'");
    slip("{cup: {floor: 3 mm, opening: 4 mm, depth: 1 mm, reflectance: 90 %, finish: shiny}}",
         "s.yaml:2:132: error: 'shiny' is not known here; 'finish' takes white or mirror");
    slip("{dome: 5 mm, die: 3 mm}", "s.yaml:2:75: error: 'die' is text; a map of keys and values is expected");
    slip("{dome: 5 mm, die: {offset: 1 mm}}",
         "s.yaml:2:84: error: 'offset' takes [x, y], each a length with its unit");
    slip("{dome: 5 mm, die: {lean: 31 deg towards 0 deg}}",
         "s.yaml:2:82: error: 'lean' is 31 deg; it must be at least 0 deg and at most 30 deg");
    slip("5 mm", "s.yaml:2:57: error: 'package' is text; a map of keys and values is expected");
}

static void what_does_not_fit_is_told(void **state) {
    (void)state;
    slip("{dome: 1.5 mm}",
         "s.yaml:2:57: error: the dies reach 0.8485 mm from the axis at a height of 0 mm, where the "
         "package has room for 0.75 mm\n"
         "      die: {surface: 1.2 mm x 1.2 mm, flux: 95 lm, package: {dome: 1.5 mm}}\n"
         "                                                            ^");
    slip("{dome: 7 mm}",
         "s.yaml:2:57: error: behind lens 'medium': the package of the LED, 7 mm wide and 3.5 mm high, "
         "would reach into the lens");
    slip("{dome: 5 mm}, intensity: {viewing_angle: 110 deg}",
         "s.yaml:2:82: error: an LED with a package shines as the package lets it, its dies lambertian inside: leave "
         "out 'intensity' or 'package'");
    char *text = packed_text("{dome: 5.9 mm}", COLLIMATOR);
    char *aside = with(text, "    aim: centre\n", "    built: {decentre: [0.1 mm, 0]}\n");
    assert_only_error(aside, "s.yaml:10:12: error: the package of the LED, 5.9 mm wide and 2.95 mm high, would reach "
                             "into the lens\n"
                             "        built: {decentre: [0.1 mm, 0]}\n"
                             "               ^");
    free(aside);
    free(text);
}

/* A lens sheet's beam is what it is; a bare LED is traced out of its package. */
static void where_a_package_does_nothing_is_told(void **state) {
    (void)state;
    char *text = packed_text("{dome: 5 mm}", "{beam_angle: 24 deg, efficiency: 84 %, face: disc 18 mm}");
    char *bare = with(text, "lens: medium", "lens: none");
    struct outcome outcome = read_text(text);
    assert_true(outcome.status == 0 && outcome.warnings == 1);
    assert_non_null(strstr(outcome.said, "s.yaml:8:11: warning: the package of emitter 'die' changes nothing here: "
                                         "lens 'medium' has the beam of its sheet"));
    assert_true(luxfall_known_by_angle(&outcome.scene->light, 0));
    outcome_clear(&outcome);
    outcome = read_text(bare);
    assert_true(outcome.status == 0 && outcome.warnings == 0);
    assert_false(luxfall_known_by_angle(&outcome.scene->light, 0));
    outcome_clear(&outcome);
    free(bare);
    free(text);
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(keys_say_sizes),
        cmocka_unit_test(what_is_not_said_is_usual),
        cmocka_unit_test(packages_come_back),
        cmocka_unit_test(mistakes_are_told_at_their_place),
        cmocka_unit_test(what_does_not_fit_is_told),
        cmocka_unit_test(where_a_package_does_nothing_is_told),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
