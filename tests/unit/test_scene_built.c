/* How a module is built, as scenes say it: keys, mistakes at their places, and the way back. */
#include "unit/scene_text.h"

#include <math.h>

static const char CUP[] = "{solid: collimator, material: acrylic, diameter: 20 mm}";
static const double DEG = 3.14159265358979323846 / 180;

/* The sound scene with this lens and this line in its module. */
static char *built_text(const char *lens, const char *line) {
    char *traced = with(sound_scene, "{beam_angle: 24 deg, efficiency: 84 %, face: disc 18 mm}", lens);
    char *text = with(traced, "    aim: centre\n", line);
    free(traced);
    return text;
}

static void slip(const char *lens, const char *line, const char *expected) {
    char *text = built_text(lens, line);
    assert_only_error(text, expected);
    free(text);
}

static struct outcome read_built(const char *line) {
    char *text = built_text(CUP, line);
    struct outcome outcome = read_text(text);
    if (outcome.status != 0)
        fail_msg("%s\nwas refused:\n%s", line, outcome.said);
    free(text);
    return outcome;
}

static void keys_say_sizes(void **state) {
    (void)state;
    struct outcome outcome = read_built("    built: {die_shift: [0.1 mm, -0.2 mm], seat: -0.3 mm, decentre: [0, 200 "
                                        "um], lens_lean: 1 deg towards 90 deg}\n");
    for (size_t i = 0; i < 8; i++) {
        const struct luxfall_assembly *built = &outcome.scene->light.modules[i].built;
        assert_true(built->die_x_mm == 0.1 && built->die_y_mm == -0.2 && built->seat_mm == -0.3);
        assert_true(built->decentre_x_mm == 0 && fabs(built->decentre_y_mm - 0.2) < 1e-15);
        assert_true(fabs(built->lean_rad - DEG) < 1e-15 && fabs(built->lean_azimuth_rad - 90 * DEG) < 1e-15);
    }
    outcome_clear(&outcome);
}

static void they_come_back(void **state) {
    (void)state;
    static const char all[] = "    built: {die_shift: [0.1 mm, -0.7 um], decentre: [1e-3 mm, 0.3 mm], "
                              "lens_lean: 0.7 deg towards 33 deg}\n";
    static const char *const lines[] = {"    aim: centre\n", "    built: {}\n", "    built: {seat: 0.1234567 mm}\n",
                                        all};
    for (size_t i = 0; i < sizeof lines / sizeof *lines; i++) {
        struct outcome outcome = read_built(lines[i]);
        char *text = written(outcome.scene);
        struct outcome back = read_text(text);
        assert_int_equal(back.status, 0);
        assert_memory_equal(&outcome.scene->light.modules[0].built, &back.scene->light.modules[0].built,
                            sizeof(struct luxfall_assembly));
        free(text);
        outcome_clear(&back);
        outcome_clear(&outcome);
    }
}

static void mistakes_are_told_at_their_place(void **state) {
    (void)state;
    slip(CUP, "    built: {seat: -0.3}\n",
         "s.yaml:10:19: error: '-0.3' has no unit; a length takes um, mm, cm, m or in, for instance -0.3 mm\n"
         "        built: {seat: -0.3}\n"
         "                      ^");
    slip(CUP, "    built: {seating: 1 mm}\n",
         "s.yaml:10:13: error: unknown key 'seating' in how a module is built; it takes die_shift, seat, decentre or "
         "lens_lean\n"
         "        built: {seating: 1 mm}\n"
         "                ^");
    slip(CUP, "    built: 1 mm\n",
         "s.yaml:10:12: error: 'built' is text; a map of keys and values is expected\n"
         "        built: 1 mm\n"
         "               ^");
    slip(CUP, "    built: {lens_lean: 1 deg}\n",
         "s.yaml:10:24: error: 'lens_lean' takes how far and where to, for instance '2 deg towards 90 deg'\n"
         "        built: {lens_lean: 1 deg}\n"
         "                           ^");
    slip(CUP, "    built: {lens_lean: 31 deg towards 0 deg}\n",
         "s.yaml:10:24: error: 'lens_lean' is 31 deg; it must be at least 0 deg and at most 30 deg\n"
         "        built: {lens_lean: 31 deg towards 0 deg}\n"
         "                           ^");
    slip(CUP, "    built: {seat: -5 mm}\n",
         "s.yaml:10:12: error: the die at (0, 0) mm on the board would lie partly inside the lens\n"
         "        built: {seat: -5 mm}\n"
         "               ^");
    slip("{beam_angle: 24 deg, efficiency: 84 %, face: disc 18 mm}", "    built: {seat: -0.3 mm}\n",
         "s.yaml:10:12: error: the beam of a lens sheet cannot follow how the module is built; a traced solid of the "
         "same figures can: 'solid: collimator', as luxfall check offers it\n"
         "        built: {seat: -0.3 mm}\n"
         "               ^");
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(keys_say_sizes),
        cmocka_unit_test(they_come_back),
        cmocka_unit_test(mistakes_are_told_at_their_place),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
