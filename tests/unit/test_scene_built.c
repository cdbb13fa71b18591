/* How a module is built and what stands over it, as scenes say it: keys, mistakes at their places, and the way back.
 */
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
    struct outcome outcome = read_sound(text);
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
         "s.yaml:10:12: error: the die at (0, 0) mm on the board would reach into the lens or its wall\n"
         "        built: {seat: -5 mm}\n"
         "               ^");
    slip(CUP, "    built: {seat: -30 mm}\n",
         "s.yaml:10:12: error: the emitter would lie over the lens, which is 10.93 mm high\n"
         "        built: {seat: -30 mm}\n"
         "               ^");
    slip("{solid: concentrator, small_end: 1 mm, beam: 40 deg, reflectance: 90 %}", "    aim: centre\n",
         "s.yaml:8:11: error: behind lens 'medium': the die at (0, 0) mm on the board would reach into the lens or "
         "its "
         "wall\n"
         "        lens: medium\n"
         "              ^");
}

/* The solid that can follow is told with the mistake, as it is to be written in place of the lens; pasted there, the
 * scene is taken. Twin: so is the sheet's lens of a module as drawn, with no word of solids. */
#define SHEET(figures) "{beam_angle: 24 deg, " figures "efficiency: 84 %, face: disc 18 mm}"
#define SOLID                                                                                                   \
    "{solid: collimator, material: acrylic, diameter: 18 mm, beam_angle: 24 deg, listed_die: 1.2 mm x 1.2 mm, " \
    "efficiency: 84 %}"

static void a_sheet_cannot_follow(void **state) {
    (void)state;
    static const char seat[] = "    built: {seat: -0.3 mm}\n";
    static const char *const cases[][2] = {
        {SHEET(""), "a traced solid can: in place of lens 'medium' write " SOLID},
        {SHEET("peak: 2.5 cd/lm, "),
         "a traced solid can (it keeps the beam angle, but not the sheet's peak): in place "
         "of lens 'medium' write " SOLID},
        {SHEET("field_angle: 44 deg, "),
         "a traced solid can (it keeps the beam angle, but not the sheet's field angle): "
         "in place of lens 'medium' write " SOLID},
        {SHEET("peak: 2.5 cd/lm, field_angle: 60 deg, "), "a traced solid can (it keeps the beam angle, but neither "
                                                          "the sheet's peak nor its field angle): in place of "
                                                          "lens 'medium' write " SOLID},
        {"{beam_angle: 24 deg, efficiency: 84 %, face: 18 mm x 18 mm}",
         "no solid is made up in place of 'medium': a collimator has a round face"},
        {"{beam_angle: 7 deg, efficiency: 84 %, face: disc 18 mm}",
         "no solid is made up in place of 'medium': this die and collimator have a beam of "},
    };
    for (size_t i = 0; i < sizeof cases / sizeof *cases; i++) {
        char expected[700], *text = built_text(cases[i][0], seat);
        snprintf(expected, sizeof expected,
                 "s.yaml:10:12: error: the beam of a lens sheet cannot follow how the module is built; %s",
                 cases[i][1]);
        struct outcome outcome = read_text(text);
        if (outcome.errors != 1 || strstr(outcome.said, expected) == NULL)
            fail_msg("%s: expected\n%s\nand it said\n%s", cases[i][0], expected, outcome.said);
        outcome_clear(&outcome);
        free(text);
    }
    char *pasted = built_text(SOLID, seat), *drawn = built_text(SHEET(""), "    built: {seat: 0 mm}\n");
    assert_sound(pasted);
    assert_sound(drawn);
    free(pasted);
    free(drawn);
}

/* Nothing is made up from what is itself refused. */
static void a_refused_sheet_has_no_solid(void **state) {
    (void)state;
    slip("{beam_angle: 24, efficiency: 84 %, face: disc 18 mm}", "    built: {seat: -0.3 mm}\n",
         "s.yaml:4:24: error: '24' has no unit; an angle takes deg, ° or rad, for instance 24 deg\n"
         "      medium: {beam_angle: 24, efficiency: 84 %, face: disc 18 mm}\n"
         "                           ^");
}

/* ---- covers ---- */

static char *covered_text(const char *cover, const char *named) {
    char *with_cover = with(sound_scene, "modules:\n", "covers:\n  top: COVER\nmodules:\n");
    char *text = with(with_cover, "COVER", cover);
    char *out = with(text, "    aim: centre\n", named);
    free(with_cover);
    free(text);
    return out;
}

static void cover_slip(const char *cover, const char *named, const char *expected) {
    char *text = covered_text(cover, named);
    assert_only_error(text, expected);
    free(text);
}

static bool same_cover(const struct luxfall_cover *a, const struct luxfall_cover *b) {
    return a->kind == b->kind && a->diameter_mm == b->diameter_mm && a->width_mm == b->width_mm &&
           a->height_mm == b->height_mm && a->gap_mm == b->gap_mm && a->thickness_mm == b->thickness_mm &&
           a->spread_rad == b->spread_rad && a->passes == b->passes && a->comes_back == b->comes_back &&
           a->hole_mm == b->hole_mm && a->material.index == b->material.index &&
           a->material.transmittance == b->material.transmittance && a->lenslets.pitch_mm == b->lenslets.pitch_mm &&
           a->lenslets.radius_mm == b->lenslets.radius_mm && a->lenslets.hexagonal == b->lenslets.hexagonal;
}

static void covers_come_back(void **state) {
    (void)state;
    static const char lenslets[] = "{kind: window, diameter: 30 mm, thickness: 2 mm, material: acrylic, lenslets: "
                                   "{pitch: 1.1 mm, radius: -2 mm, cells: hexagonal}}";
    static const char *const covers[] = {
        lenslets,
        "{kind: window, diameter: 30 mm, thickness: 2.3 mm, material: acrylic, gap: 1 um, texture: 3.3 deg}",
        "{kind: window, diameter: 30 mm, thickness: 2 mm, material: {index: 1.5, transmittance: 90 % per 20 mm}}",
        "{kind: film, diameter: 30 mm, width: 17.1 deg, passes: 88.8 %, sends_back: 7 %}",
        "{kind: opal, diameter: 30 mm, passes: 50 %, sends_back: 41 %, gap: 12 mm}",
        "{kind: stop, diameter: 30 mm, hole: 12.3 mm, height: 4 mm}",
        "{kind: window, size: 30 mm x 24.1 mm, thickness: 2 mm, material: acrylic}",
        "{kind: film, size: 30 mm x 24.1 mm, width: 17.1 deg, passes: 88.8 %}",
    };
    for (size_t i = 0; i < sizeof covers / sizeof *covers; i++) {
        char *text = covered_text(covers[i], i % 2 ? "    cover: [top, top]\n" : "    cover: top\n");
        struct outcome outcome = read_sound(text);
        char *again = written(outcome.scene);
        struct outcome back = read_text(again);
        assert_int_equal(back.status, 0);
        assert_true(same_cover(&outcome.scene->light.covers[0], &back.scene->light.covers[0]));
        assert_int_equal(back.scene->light.modules[3].cover_count, i % 2 ? 2 : 1);
        assert_int_equal(outcome.scene->light.modules[3].cover_count, i % 2 ? 2 : 1);
        free(again);
        free(text);
        outcome_clear(&back);
        outcome_clear(&outcome);
    }
}

static void mistakes_in_covers_are_told(void **state) {
    (void)state;
    const char *const film = "{kind: film, diameter: 20 mm, width: 20 deg, passes: 90 %}";
    cover_slip("{kind: glass, diameter: 20 mm}", "    aim: centre\n",
               "s.yaml:6:15: error: 'glass' is not known here; 'kind' takes window, film, opal or stop\n"
               "      top: {kind: glass, diameter: 20 mm}\n"
               "                  ^");
    cover_slip(
        "{kind: opal, diameter: 20 mm, passes: 50 %, width: 3 deg}", "    aim: centre\n",
        "s.yaml:6:52: error: unknown key 'width' in a cover of this kind; it takes kind, diameter, gap, size, passes "
        "or sends_back\n"
        "      top: {kind: opal, diameter: 20 mm, passes: 50 %, width: 3 deg}\n"
        "                                                       ^");
    cover_slip(
        "{kind: film, diameter: 20 mm, width: 20 deg, passes: 90 %, sends_back: 20 %}", "    aim: centre\n",
        "s.yaml:6:15: error: what passes (90 %) and what comes back (20 %) must each be 0 to 100 %, and no more "
        "together\n"
        "      top: {kind: film, diameter: 20 mm, width: 20 deg, passes: 90 %, sends_ba...\n"
        "                  ^");
    cover_slip("{kind: opal, diameter: 20 mm, size: 20 mm x 9 mm, passes: 50 %}", "    aim: centre\n",
               "s.yaml:6:44: error: a cover has a diameter or a size, not both\n"
               "      top: {kind: opal, diameter: 20 mm, size: 20 mm x 9 mm, passes: 50 %}\n"
               "                                               ^");
    cover_slip("{kind: stop, diameter: 20 mm, hole: 20 mm}", "    aim: centre\n",
               "s.yaml:6:15: error: a hole of 20 mm does not leave a ring of 20 mm\n"
               "      top: {kind: stop, diameter: 20 mm, hole: 20 mm}\n"
               "                  ^");
    cover_slip(
        "{kind: window, diameter: 9 mm, thickness: 2 mm, material: PC, texture: 3 deg, lenslets: {pitch: 1 mm, "
        "radius: 2 mm}}",
        "    aim: centre\n", "s.yaml:6:15: error: a window has a texture or lenslets, not both");
    cover_slip("{knd: opal, diameter: 20 mm, passes: 50 %}", "    aim: centre\n",
               "s.yaml:6:9: error: unknown key 'knd' in a cover; did you mean 'kind'?\n"
               "      top: {knd: opal, diameter: 20 mm, passes: 50 %}\n"
               "            ^");
    cover_slip(film, "    cover: tip\n",
               "s.yaml:12:12: error: no cover is named 'tip'; did you mean 'top'?\n"
               "        cover: tip\n"
               "               ^");
    cover_slip(film, "    cover: [top, top, top, top, top]\n",
               "s.yaml:12:12: error: more than 4 covers over a module\n"
               "        cover: [top, top, top, top, top]\n"
               "               ^");
}

/* A cover that lets light pass beside it is told, a stop is meant so. */
static void a_small_cover_is_told(void **state) {
    (void)state;
    char *text = covered_text("{kind: film, diameter: 17 mm, width: 20 deg, passes: 90 %}", "    cover: top\n");
    struct outcome outcome = read_text(text);
    assert_int_equal(outcome.status, 0);
    assert_non_null(strstr(outcome.said, "s.yaml:12:12: warning: the cover 'top', 17 mm across, is smaller than its "
                                         "lens, 18 mm: light passes beside it"));
    outcome_clear(&outcome);
    free(text);
    text = covered_text("{kind: stop, diameter: 17 mm, hole: 3 mm}", "    cover: top\n");
    outcome = read_text(text);
    assert_int_equal(outcome.warnings, 0);
    outcome_clear(&outcome);
    free(text);
}

static void assert_warnings(const char *lens, const char *line, const char *expected) {
    char *text = built_text(lens, line);
    struct outcome outcome = read_text(text);
    assert_int_equal(outcome.status, 0);
    assert_int_equal(outcome.warnings, expected != NULL);
    if (expected != NULL)
        assert_non_null(strstr(outcome.said, expected));
    outcome_clear(&outcome);
    free(text);
}

/* A die that is wider than what the lens has for it, or stands beside it. */
static void a_die_beside_its_lens_is_told(void **state) {
    (void)state;
    assert_warnings(
        "{solid: ball, material: acrylic, diameter: 1 mm, gap: 2 mm}", "    aim: centre\n",
        "s.yaml:8:11: warning: the dies of 'die' reach 0.6 mm from the axis of lens 'medium', which has room "
        "for 0.5 mm: light that starts beside it misses it");
    assert_warnings(CUP, "    built: {die_shift: [0 mm, 2.5 mm]}\n", "reach 3.1 mm from the axis of lens 'medium'");
    assert_warnings(CUP, "    built: {die_shift: [0 mm, 2.3 mm]}\n", NULL);
    assert_warnings(CUP, "    built: {die_shift: [0 mm, 2.5 mm], decentre: [0 mm, 2.4 mm]}\n", NULL);
    assert_warnings("{solid: reflector, opening: 20 mm, focal_length: 2 mm, hole: 1 mm, reflectance: 90 %}",
                    "    aim: centre\n", "which has room for 0.5 mm");
    assert_warnings("{solid: light pipe, material: acrylic, section: 6 mm x 1 mm, length: 40 mm, gap: 0.2 mm}",
                    "    aim: centre\n", "which has room for 0.5 mm");
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(keys_say_sizes),
        cmocka_unit_test(they_come_back),
        cmocka_unit_test(mistakes_are_told_at_their_place),
        cmocka_unit_test(a_sheet_cannot_follow),
        cmocka_unit_test(a_refused_sheet_has_no_solid),
        cmocka_unit_test(a_die_beside_its_lens_is_told),
        cmocka_unit_test(covers_come_back),
        cmocka_unit_test(mistakes_in_covers_are_told),
        cmocka_unit_test(a_small_cover_is_told),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
