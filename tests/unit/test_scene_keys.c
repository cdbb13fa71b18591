/* Keys and values of a scene: every refusal at its own place, several in one run, no echoes; and the values that
 * sound scenes are read to. */
#include "unit/scene_text.h"

#include <math.h>

static void unknown_keys(void **state) {
    (void)state;
    assert_slip("seed: 1", "sede: 1",
                "s.yaml:14:1: error: unknown key 'sede' in a scene; did you mean 'seed'?\n"
                "    sede: 1\n"
                "    ^");
    assert_slip("efficiency:", "eficiency: 80 %, efficiency:",
                "s.yaml:4:32: error: unknown key 'eficiency' in a lens; did you mean 'efficiency'?");
    assert_slip("flux: 95 lm", "flux: 95 lm, current: 350 mA",
                "s.yaml:2:48: error: unknown key 'current' in an emitter; it takes surface, dies, flux, voltage, "
                "drive, intensity, wavelength, price, current_limit or package");
    assert_slip(
        "face: disc 18 mm", "face: disc 18 mm, gap: 1 mm",
        "s.yaml:4:68: error: 'gap' belongs to a traced lens, which says its kind, such as 'solid: plano-convex'");
    assert_slip("count: 8", "count: 8, radios: 3 mm",
                "s.yaml:9:22: error: unknown key 'radios' in a ring; did you mean "
                "'radius'?");
}

static void missing_keys(void **state) {
    (void)state;
    assert_slip("flux: 95 lm, ", "",
                "s.yaml:2:3: error: missing key 'flux'\n"
                "      die: {surface: 1.2 mm x 1.2 mm, intensity: lambertian}\n"
                "      ^");
    assert_slip("target: {size: 160 mm x 160 mm, cell: 1 mm}\n", "", "s.yaml:1:1: error: missing key 'target'");
    assert_slip("size: 160 mm x 160 mm, ", "", "s.yaml:11:1: error: missing key 'size'");
    assert_slip("beam_angle: 24 deg, ", "", "s.yaml:4:3: error: missing key 'beam_angle'");
    assert_slip("    ring: {count: 8, distance: 165 mm, incidence: 38 deg}\n", "",
                "s.yaml:6:5: error: this module stands nowhere; it takes ring, single, line, grid or at");
    assert_slip("count: 8, ", "", "s.yaml:9:5: error: missing key 'count'");
}

static void values_out_of_range(void **state) {
    (void)state;
    static const char *const cases[][3] = {
        {"1.2 mm x 1.2 mm", "0 mm x 1.2 mm",
         "s.yaml:2:18: error: 'surface' is 0 mm; it must be above 0 mm and at most 1000000 mm"},
        {"flux: 95 lm", "flux: -95 lm",
         "s.yaml:2:41: error: 'flux' is -95 lm; it must be above 0 lm and at most 100000000 lm"},
        {"beam_angle: 24 deg", "beam_angle: 180 deg",
         "s.yaml:4:24: error: 'beam_angle' is 180 deg; it must be above 0 deg and below 180 deg"},
        {"84 %", "184 %", "s.yaml:4:44: error: 'efficiency' is 184 %; it must be above 0 % and at most 100 %"},
        {"count: 8", "count: 0", "s.yaml:9:19: error: 'count' is 0; it must be a whole number from 1 to 10000"},
        {"count: 8", "count: 2147483648",
         "s.yaml:9:19: error: 'count' is 2147483648; it must be a whole number from 1 to 10000"},
        {"count: 8", "count: 8.5", "s.yaml:9:19: error: 'count' is 8.5; a whole number is expected"},
        {"count: 8", "count: -8", "s.yaml:9:19: error: 'count' is -8; it must be a whole number from 1 to 10000"},
        {"38 deg", "90 deg", "s.yaml:9:51: error: 'incidence' is 90 deg; it must be at least 0 deg and below 90 deg"},
        {"38 deg", "0",
         "s.yaml:9:51: error: with an incidence of 0 all 8 modules of the ring would stand in one place"},
        {"165 mm", "1e9 mm",
         "s.yaml:9:32: error: 'distance' is 1000000000 mm; it must be above 0 mm and at most 1000000 mm"},
        {"165 mm", "nan",
         "s.yaml:9:32: error: 'nan' is not a finite number; a length with um, mm, cm, m or in is expected"},
        {"cell: 1 mm", "cell: -1 mm",
         "s.yaml:11:39: error: 'cell' is -1 mm; it must be above 0 mm and at most 1000000 mm"},
        {"cell: 1 mm", "cell: 0.01 mm",
         "s.yaml:11:39: error: 160 mm x 160 mm in cells of 0.01 mm on 1 level are 2.56e+08 cells; at most 1000000, "
         "with cells of about 0.18 mm"},
        {"cell: 1 mm", "cell: 1 mm, level: inf mm",
         "s.yaml:11:52: error: 'inf mm' is not a finite number; a length with um, mm, cm, m or in is expected"},
        {"cell: 1 mm", "cell: 1 mm, levels: [1 mm, 1 mm]", "s.yaml:11:60: error: level 1 mm stands twice"},
        {"cell: 1 mm", "cell: 1 mm, levels: []",
         "s.yaml:11:53: error: 'levels' lists 0 heights; from 1 to 64 are taken"},
        {"cell: 1 mm", "cell: 1 mm, level: 0, levels: [0]",
         "s.yaml:11:55: error: 'level' and 'levels' exclude each other"},
        {"seed: 1", "seed: 1.5", "s.yaml:14:7: error: 'seed' is 1.5; a whole number is expected"},
        {"seed: 1", "accuracy: 200 %",
         "s.yaml:14:11: error: 'accuracy' is 200 %; it must be at least 0.01 % and at most 50 %"},
        {"seed: 1", "rays: 10",
         "s.yaml:14:7: error: 'rays' is 10; it must be a whole number from 1000 to 4294967296"},
        {"seed: 1", "accuracy: 1 %\nrays: 2 million", "s.yaml:15:1: error: 'accuracy' and 'rays' exclude each other"},
        {"lambertian", "{viewing_angle: 0 deg}",
         "s.yaml:2:75: error: 'viewing_angle' is 0 deg; it must be above 0 deg and below 180 deg"},
        {"lambertian", "lambertain",
         "s.yaml:2:59: error: 'lambertain' is not known here; did you mean 'lambertian'?"},
        {"lambertian", "{curve: a.csv}", "s.yaml:2:67: error: no other file is opened here"},
        {"flux: 95 lm", "flux: 95 lm at 0 mA",
         "s.yaml:2:41: error: 'flux' is 0 A; it must be above 0 A and at most 1000 A"},
        {"flux: 95 lm", "flux: 95 lm, dies: {columns: 1000}",
         "s.yaml:2:64: error: 'columns' is 1000; it must be a whole number from 1 to 100"},
        {"flux: 95 lm", "flux: 95 lm, dies: {columns: 2, pitch: 1 mm}",
         "s.yaml:2:74: error: dies of 1.2 mm x 1.2 mm at a pitch of 1 mm x 1 mm would overlap"},
    };
    for (size_t i = 0; i < sizeof cases / sizeof *cases; i++) {
        char *text = with(sound_scene, cases[i][0], cases[i][1]);
        char *slip =
            strstr(cases[i][1], "columns: 1000") ? with(text, "columns: 1000", "columns: 1000, pitch: 2 mm") : NULL;
        assert_only_error(slip ? slip : text, cases[i][2]);
        free(slip);
        free(text);
    }
}

static void names_and_references(void **state) {
    (void)state;
    assert_slip("emitter: die", "emitter: dye", "s.yaml:7:14: error: no emitter is named 'dye'; did you mean 'die'?");
    assert_slip("lens: medium", "lens: wide", "s.yaml:8:11: error: no lens is named 'wide'");
    assert_slip("  medium:", "  none: {beam_angle: 9 deg, efficiency: 1 %, face: point}\n  medium:",
                "s.yaml:4:3: error: a lens cannot be named 'none': that is said by modules without a lens");
    assert_slip("seed: 1", "  - {name: zoom, size: 1 mm x 1 mm}\nseed: 1",
                "s.yaml:14:12: error: a second field is named 'zoom'");
}

static void placements(void **state) {
    (void)state;
    static const char ring[] = "ring: {count: 8, distance: 165 mm, incidence: 38 deg}";
    static const char *const cases[][2] = {
        {"ring: {count: 8, distance: 165 mm, incidence: 38 deg, height: 1 mm}",
         "s.yaml:9:5: error: a ring takes either distance and incidence, or radius and height"},
        {"ring: {count: 8, radius: 10 mm}", "s.yaml:9:5: error: missing key 'height'"},
        {"single: {distance: 9 mm}\n    line: {count: 1, height: 9 mm}",
         "s.yaml:10:5: error: a second placement, 'line'; this module already has 'single'"},
        {"single: {height: 9 mm, incidence: 1 deg}",
         "s.yaml:9:39: error: 'incidence' goes with distance; a height alone is right above the centre"},
        {"line: {count: 8, height: 9 mm}", "s.yaml:9:5: error: missing key 'pitch'"},
        {"grid: {columns: 200, rows: 200, pitch: 9 mm, height: 9 mm}",
         "s.yaml:9:11: error: 200 columns x 200 rows are 40000 modules; at most 10000"},
        {"at: [1 mm, 2 mm]", "s.yaml:9:9: error: 'at' takes [x, y, z], each a length with its unit"},
    };
    for (size_t i = 0; i < sizeof cases / sizeof *cases; i++)
        assert_slip(ring, cases[i][0], cases[i][1]);
}

static void aims_leans_and_members(void **state) {
    (void)state;
    static const char *const cases[][2] = {
        {"aim: center", "s.yaml:10:10: error: 'center' is not known here; did you mean 'centre'?"},
        {"aim: 36 mm",
         "s.yaml:10:10: error: '36 mm' short or past? Write '36 mm short' (on the module's own side) or "
         "'36 mm past'"},
        {"aim: 36 short",
         "s.yaml:10:10: error: '36' has no unit; a length takes um, mm, cm, m or in, for instance 36 mm"},
        {"lean: 2 deg",
         "s.yaml:10:11: error: 'lean' takes how far and where to, for instance '2 deg towards 90 deg'"},
        {"lean: 2 deg towards 90",
         "s.yaml:10:11: error: '90' has no unit; an angle takes deg, ° or rad, for instance 90 "
         "deg"},
        {"dark: [9]", "s.yaml:10:12: error: an entry of 'dark' is 9; it must be a whole number from 1 to 8"},
        {"dark: [3, 3]", "s.yaml:10:15: error: member 3 is listed twice"},
        {"scale: [100 %, 90 %]", "s.yaml:10:12: error: 'scale' lists 2 values for 8 members"},
        {"scale: 0", "s.yaml:10:12: error: 'scale' is 0 %; it must be above 0 % and at most 100000 %"},
    };
    for (size_t i = 0; i < sizeof cases / sizeof *cases; i++)
        assert_slip("aim: centre", cases[i][0], cases[i][1]);
}

/* What the library refuses is told at the value that it speaks of. */
static void the_library_refuses_at_a_place(void **state) {
    (void)state;
    static const char ring[] = "    ring: {count: 8, distance: 165 mm, incidence: 38 deg}\n    aim: centre\n";
    char *below = with(sound_scene, ring, "    at: [0, 0, -5 mm]\n    aim: centre\n");
    struct outcome outcome = read_text(below);
    assert_int_equal(outcome.errors, 1);
    assert_memory_equal(outcome.said, "s.yaml:9:9: error: ", 19);
    outcome_clear(&outcome);
    free(below);
    char *above = with(sound_scene, ring, "    single: {height: 9 cm}\n    aim: 3 mm short\n");
    outcome = read_text(above);
    assert_int_equal(outcome.errors, 1);
    assert_memory_equal(outcome.said, "s.yaml:10:10: error: ", 21);
    outcome_clear(&outcome);
    free(above);
}

static void traced_lenses(void **state) {
    (void)state;
    static const char beam[] = "{beam_angle: 24 deg, efficiency: 84 %, face: disc 18 mm}";
    static const char *const cases[][2] = {
        {"{solid: plano-concave, diameter: 1 mm}",
         "s.yaml:4:19: error: 'plano-concave' is not known here; did you mean "
         "'plano-convex'?"},
        {"{solid: plano-convex, material: {index: 1.49}, diameter: 25 mm, radius: 12 mm, thickness: 9 mm, gap: 0}",
         "s.yaml:4:83: error: a radius of 12 mm cannot curve a lens of diameter 25 mm: it must be at least 12.5 mm"},
        {"{solid: plano-convex, material: {index: 1.49}, diameter: 24 mm, radius: 13 mm, thickness: 7 mm, gap: 0}",
         "s.yaml:4:101: error: a thickness of 7 mm leaves no edge: the curved side alone is 13 - sqrt(13^2 - 12^2) = "
         "8 mm "
         "high"},
        {"{solid: plano-convex, material: {index: 1}, diameter: 24 mm, radius: 13 mm, thickness: 9 mm, gap: 0}",
         "s.yaml:4:51: error: 'index' is 1; it must be above 1 and at most 4"},
        {"{solid: plano-convex, material: {index: 1.5}, diameter: 24 mm, radius: 13 mm, thickness: 9 mm, gap: 0, "
         "face: point}",
         "s.yaml:4:114: error: 'face' belongs to a datasheet beam; a solid is traced and needs no such figure"},
    };
    for (size_t i = 0; i < sizeof cases / sizeof *cases; i++)
        assert_slip(beam, cases[i][0], cases[i][1]);
}

#define PLANO(material) \
    "{solid: plano-convex, diameter: 24 mm, radius: 13 mm, thickness: 9 mm, gap: 0, material: " material "}"

static void materials_are_told_apart(void **state) {
    (void)state;
    static const char beam[] = "{beam_angle: 24 deg, efficiency: 84 %, face: disc 18 mm}";
    static const char *const cases[][2] = {
        {PLANO("acrilic"),
         "s.yaml:4:100: error: no material 'acrilic' is known (did you mean 'acrylic'?): there are acrylic (PMMA), "
         "acrylic one-term, polycarbonate (PC), polystyrene (PS), silicone (PDMS), crown glass (517642), fused "
         "silica "
         "(silica), or {index: 1.49}"},
        {PLANO("[1.49]"), "s.yaml:4:100: error: a material is a name such as acrylic, or its index: {index: 1.49}"},
        {PLANO("crown"),
         "s.yaml:4:100: error: no material 'crown' is known (did you mean 'crown glass'?): there are acrylic (PMMA), "
         "acrylic one-term, polycarbonate (PC), polystyrene (PS), silicone (PDMS), crown glass (517642), fused "
         "silica "
         "(silica), or {index: 1.49}"},
        {PLANO("1.49"), "s.yaml:4:100: error: an index is written 'material: {index: 1.49}'"},
        {PLANO("{}"), "s.yaml:4:100: error: a material takes one of name, index, sellmeier and cauchy, and here are "
                      "none"},
        {PLANO("{index: 1.49, cauchy: [1.5]}"),
         "s.yaml:4:100: error: a material takes one of name, index, sellmeier and cauchy, and here are more"},
        {PLANO("{refraction: 1.49}"), "s.yaml:4:101: error: unknown key 'refraction' in a material; it takes name, "
                                      "index, sellmeier, cauchy or transmittance"},
        {PLANO("{sellmeier: [1.0093, 0.013185]}"),
         "s.yaml:4:113: error: 'sellmeier' takes pairs [B, C], C in um^2: [[1.0093, 0.013185]]"},
        {PLANO("{sellmeier: [[1.0093, -0.01]]}"),
         "s.yaml:4:122: error: C is a wavelength squared, in um^2, and cannot be -0.01"},
        {PLANO("{sellmeier: [[1, 0], [1, 0], [1, 0], [1, 0], [1, 0], [1, 0], [1, 0]]}"),
         "s.yaml:4:112: error: 'sellmeier' has 7 pairs; 1 to 6 are expected, as in [[1.0093, 0.013185]]"},
        {PLANO("{cauchy: []}"),
         "s.yaml:4:109: error: 'cauchy' has 0 terms; 1 to 6 are expected, as in [1.478, 0.0043]"},
        {PLANO("{cauchy: [1.478, 4300]}"),
         "s.yaml:4:100: error: light of emitter 'die' in lens 'medium': no index at 550 nm: the formula of these "
         "terms, with wavelengths in um, gives n^2 = 2.021e+08, and n must be above 1 and at most 4"},
        {PLANO("{sellmeier: [[1.4, 0.3025]]}"),
         "s.yaml:4:100: error: light of emitter 'die' in lens 'medium': no index at 550 nm: the formula of these "
         "terms, with wavelengths in um and C in um^2, has a pole on the way there, at 550 nm"},
        {PLANO("{name: acrylic, transmittance: 99.8 %}"),
         "s.yaml:4:131: error: '99.8 %' says over no length; write '99.8 % per 10 mm', surfaces not counted"},
        {PLANO("{name: acrylic, transmittance: 101 % per 10 mm}"),
         "s.yaml:4:131: error: 'transmittance' is 101 %; it must be above 0 % and at most 100 %"},
        {PLANO("{name: acrylic, transmittance: 99 % per 10}"),
         "s.yaml:4:131: error: '10' has no unit; a length takes um, mm, cm, m or in, for instance 10 mm"},
    };
    for (size_t i = 0; i < sizeof cases / sizeof *cases; i++)
        assert_slip(beam, cases[i][0], cases[i][1]);
}

/* Outside the range of a formula, and a plate's transmittance: told, and no reason to stop. The twins say nothing. */
static void materials_with_their_light(void **state) {
    (void)state;
    static const char beam[] = "{beam_angle: 24 deg, efficiency: 84 %, face: disc 18 mm}",
                      lit[] = "intensity: lambertian";
    static const struct {
        const char *lens, *light, *warning;
    } cases[] = {
        {PLANO("acrylic"), "wavelength: 405 nm",
         "s.yaml:2:60: warning: the formula of acrylic (lens 'medium') holds from 420 to 1620 nm; carried on to 405 "
         "nm "
         "it says n = 1.5069, which nobody has measured here"},
        {PLANO("PDMS"), "wavelength: 740 nm",
         "s.yaml:2:60: warning: the formula of silicone (lens 'medium') holds from 350 to 700 nm"},
        {PLANO("{name: acrylic, transmittance: 92 % per 3 mm}"), "wavelength: 550 nm",
         "s.yaml:4:131: warning: 92 % is about what passes a clear plate of index 1.494, 92.44 %, because its two "
         "surfaces reflect; they are traced by themselves: without them it is 99.52 % per 3 mm"},
        {PLANO("PMMA"), "wavelength: 450 nm", NULL},
        {PLANO("{name: acrylic, transmittance: 99.6 % per 3 mm}"), "wavelength: 550 nm", NULL},
        {PLANO("{index: 1.49, transmittance: 80 % per 3 mm}"), "wavelength: 400 nm", NULL},
    };
    for (size_t i = 0; i < sizeof cases / sizeof *cases; i++) {
        char *lensed = with(sound_scene, beam, cases[i].lens), *text = with(lensed, lit, cases[i].light);
        struct outcome outcome = read_text(text);
        const char *warning = cases[i].warning ? cases[i].warning : "";
        if (outcome.status != 0 || outcome.warnings != (cases[i].warning != NULL) ||
            strncmp(outcome.said, warning, strlen(warning)) != 0)
            fail_msg("expected\n%s\nand it said\n%s", warning, outcome.said);
        outcome_clear(&outcome);
        free(lensed);
        free(text);
    }
}

static void wavelengths_are_in_nm(void **state) {
    (void)state;
    static const char *const cases[][2] = {
        {"wavelength: 550", "s.yaml:2:60: error: '550' has no unit; a wavelength takes nm, for instance 550 nm"},
        {"wavelength: 0.55 um", "s.yaml:2:60: error: '0.55 um' is a length; a wavelength is expected, with nm"},
        {"wavelength: 940 nm", "s.yaml:2:60: error: 'wavelength' is 940 nm; it must be at least 360 nm and at most "
                               "830 nm"},
    };
    for (size_t i = 0; i < sizeof cases / sizeof *cases; i++)
        assert_slip("intensity: lambertian", cases[i][0], cases[i][1]);
    struct outcome outcome = read_text(sound_scene);
    assert_true(outcome.scene->light.emitters[0].wavelength_um == 0.55);
    outcome_clear(&outcome);
    char *text = with(sound_scene, "intensity: lambertian", "wavelength: 455.5 nm");
    outcome = read_text(text);
    assert_true(outcome.scene->light.emitters[0].wavelength_um == 0.4555);
    outcome_clear(&outcome);
    free(text);
}

/* Mistakes of every kind in one run, in order of place, and no echo: the lens that failed is not called missing, nor
 * is the module that names it. */
static void all_mistakes_in_one_run(void **state) {
    (void)state;
    struct outcome outcome = read_text("titel: x\n"
                                       "emitters:\n"
                                       "  die: {surface: 1.2 mm x 1.2 mm, flux: 95}\n"
                                       "lenses:\n"
                                       "  medium: {beem_angle: 24 deg, efficiency: 84 mm, face: disc 18 mm}\n"
                                       "modules:\n"
                                       "  - {emitter: die, lens: medium, ring: {count: 8, distance: 165 m m}}\n"
                                       "target: {size: 160 mm x 160 mm, cell: 0}\n");
    static const char *const places[] = {"s.yaml:1:1: error: unknown key 'titel'",
                                         "s.yaml:3:41: error: '95' has no unit",
                                         "s.yaml:5:12: error: unknown key 'beem_angle'",
                                         "s.yaml:5:44: error: '84 mm' is a length",
                                         "s.yaml:7:34: error: missing key 'incidence'",
                                         "s.yaml:7:61: error: '165 m m': unknown unit 'm m'",
                                         "s.yaml:8:39: error: 'cell' is 0 mm"};
    enum { COUNT = sizeof places / sizeof *places };
    const char *at = outcome.said;
    assert_int_equal(outcome.status, 2);
    for (size_t i = 0; i < COUNT; i++) {
        const char *found = strstr(at, places[i]);
        if (found == NULL)
            fail_msg("'%s' is missing or out of order in\n%s", places[i], outcome.said);
        at = found;
    }
    assert_int_equal(outcome.errors, COUNT);
    outcome_clear(&outcome);
}

static void no_more_than_twenty_of_a_kind(void **state) {
    (void)state;
    char text[4000] = "title: many\n";
    for (int i = 0; i < 50; i++)
        snprintf(text + strlen(text), sizeof text - strlen(text), "wrong%02d: 1\n", i);
    struct outcome outcome = read_text(text);
    assert_int_equal(outcome.errors, 20 + 3); /* and emitters, modules, target are missing */
    assert_non_null(strstr(outcome.said, "and 30 more of the same kinds; 20 of a kind are shown\n"));
    outcome_clear(&outcome);
}

/* The caret stands below the character whatever bytes stand before it: two bytes for the accent, three for a wide
 * character of two columns. */
static void the_caret_under_other_scripts(void **state) {
    (void)state;
    assert_slip("{name: zoom, size: 36 mm x 27 mm}", "{name: é光, size: 36}",
                "s.yaml:13:25: error: '36' is no size; write 'disc 18 mm' or '12 mm x 18 mm'\n"
                "      - {name: é光, size: 36}\n"
                "                          ^");
}

static void values_are_read(void **state) {
    (void)state;
    struct outcome outcome = read_text(sound_scene);
    const struct luxfall_scene *light = &outcome.scene->light;
    const double pi = acos(-1);
    assert_true(light->emitters[0].die.kind == LUXFALL_RECTANGLE && light->emitters[0].die.width_mm == 1.2);
    assert_true(light->emitters[0].flux_lm == 95 && light->emitters[0].columns == 1);
    assert_true(fabs(light->emitters[0].intensity.viewing_angle_rad - 2 * pi / 3) < 1e-15);
    assert_true(fabs(light->lenses[0].beam.beam_angle_rad - 24 * pi / 180) < 1e-15);
    assert_true(light->lenses[0].beam.efficiency == 0.84 && light->lenses[0].beam.field_angle_rad == 0);
    assert_int_equal(light->module_count, 8);
    assert_string_equal(light->modules[7].name, "ring 8");
    assert_true(fabs(light->modules[0].pose.at_mm.z - 165 * cos(38 * pi / 180)) < 1e-9);
    assert_true(light->target.columns == 160 && light->target.rows == 160 && light->target.level_mm[0] == 0);
    assert_true(fabs(light->fields[0].reading_mm - 2.7) < 1e-12);
    assert_true(outcome.scene->accuracy == 0.005 && outcome.scene->rays == 0 && outcome.scene->seed == 1);
    assert_string_equal(outcome.scene->title, "s.yaml");
    assert_int_equal(outcome.scene->lens_places[0].line, 4);
    assert_int_equal(outcome.scene->field_places[0].line, 13);
    assert_int_equal(outcome.warnings, 0);
    outcome_clear(&outcome);
}

/* A radius and a height are the same ring as their distance and incidence: 3, 4, 5. */
static void a_ring_by_radius_and_height(void **state) {
    (void)state;
    char *text = with(sound_scene, "distance: 165 mm, incidence: 38 deg", "radius: 90 mm, height: 120 mm");
    struct outcome outcome = read_text(text);
    const struct luxfall_placement *ring = &outcome.scene->groups[0].placement;
    assert_true(fabs(ring->distance_mm - 150) < 1e-12);
    assert_true(fabs(tan(ring->incidence_rad) - 0.75) < 1e-12);
    assert_false(fabs(tan(ring->incidence_rad) - 4 / 3.0) < 1e-3); /* the twin: the angle from the plane */
    outcome_clear(&outcome);
    free(text);
}

static void defaults_of_a_small_scene(void **state) {
    (void)state;
    struct outcome outcome = read_text("emitters: {led: {surface: point, flux: 1 lm}}\n"
                                       "modules: [{single: {height: 10 cm}}, {single: {height: 20 cm}, dark: 1}]\n"
                                       "target: {size: 420 mm x 297 mm}\n");
    assert_int_equal(outcome.status, 0);
    assert_int_equal(outcome.warnings, 0);
    const struct luxfall_scene *light = &outcome.scene->light;
    assert_string_equal(light->modules[0].name, "single");
    assert_string_equal(light->modules[1].name, "single-2");
    assert_true(light->modules[1].dark && !light->modules[0].dark);
    assert_true(light->modules[0].lens == LUXFALL_NO_LENS);
    assert_true(light->target.cell_mm == 1.5 && light->target.columns == 280 && light->target.rows == 198);
    outcome_clear(&outcome);
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(unknown_keys),
        cmocka_unit_test(missing_keys),
        cmocka_unit_test(values_out_of_range),
        cmocka_unit_test(names_and_references),
        cmocka_unit_test(placements),
        cmocka_unit_test(aims_leans_and_members),
        cmocka_unit_test(the_library_refuses_at_a_place),
        cmocka_unit_test(traced_lenses),
        cmocka_unit_test(materials_are_told_apart),
        cmocka_unit_test(materials_with_their_light),
        cmocka_unit_test(wavelengths_are_in_nm),
        cmocka_unit_test(all_mistakes_in_one_run),
        cmocka_unit_test(no_more_than_twenty_of_a_kind),
        cmocka_unit_test(the_caret_under_other_scripts),
        cmocka_unit_test(values_are_read),
        cmocka_unit_test(a_ring_by_radius_and_height),
        cmocka_unit_test(defaults_of_a_small_scene),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
