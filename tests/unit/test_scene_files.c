/* Scenes on disk: parts and curves beside the file that names them, the shipped scenes, the starting scenes, and the
 * way back to text. */
#include "unit/scene_text.h"

#include <dirent.h>
#include <math.h>
#include <sys/stat.h>
#include <unistd.h>

static char folder[700];

static char *path_of(const char *name) {
    static char path[1000];
    snprintf(path, sizeof path, "%s/%s", folder, name);
    return path;
}

static void write_file(const char *name, const char *text) {
    FILE *file = fopen(path_of(name), "w");
    assert_non_null(file);
    fputs(text, file);
    assert_int_equal(fclose(file), 0);
}

static struct outcome read_path(const char *path) {
    struct messages messages = {0};
    struct scene *scene = NULL;
    int status = scene_read(path, &scene, &messages);
    return outcome_of(status, scene, &messages);
}

static int make_folder(void **state) {
    (void)state;
    char here[600];
    if (getcwd(here, sizeof here) == NULL)
        return 1;
    snprintf(folder, sizeof folder, "%s/scene-files-XXXXXX", here);
    if (mkdtemp(folder) == NULL || mkdir(path_of("scenes"), 0700) != 0 || mkdir(path_of("scenes/parts"), 0700) != 0)
        return 1;
    write_file("scenes/lamp.yaml", "parts: [parts/leds.yaml]\n"
                                   "modules: [{emitter: led, lens: wide, single: {height: 10 cm}}]\n"
                                   "target: {size: 100 mm x 100 mm}\n");
    write_file("scenes/parts/leds.yaml",
               "emitters: {led: {surface: disc 2 mm, flux: 9 lm, intensity: {curve: led.csv}}}\n"
               "lenses: {wide: {beam_angle: 60 deg, efficiency: 90 %, face: disc 20 mm}}\n");
    write_file("scenes/parts/led.csv", "angle_deg,rel\n0,1\n45,0.5\n90,0\n");
    return 0;
}

static int remove_folder(void **state) {
    (void)state;
    static const char *const names[] = {"scenes/parts/led.csv",
                                        "scenes/parts/leds.yaml",
                                        "scenes/lamp.yaml",
                                        "scenes/other.yaml",
                                        "scenes/parts",
                                        "scenes",
                                        ""};
    for (size_t i = 0; i < sizeof names / sizeof *names; i++)
        remove(path_of(names[i]));
    return 0;
}

/* The same scene from two working folders; the twin is the file that would be found from the working folder alone. */
static void parts_stand_beside_the_scene(void **state) {
    (void)state;
    char before[1000];
    assert_non_null(getcwd(before, sizeof before));
    const char *const folders[][2] = {{"/", NULL}, {path_of("scenes"), "lamp.yaml"}};
    char absolute[1000], here[1000];
    snprintf(absolute, sizeof absolute, "%s/scenes/lamp.yaml", folder);
    snprintf(here, sizeof here, "%s/scenes", folder);
    for (size_t i = 0; i < 2; i++) {
        assert_int_equal(chdir(i == 0 ? "/" : here), 0);
        struct outcome outcome = read_path(folders[i][1] != NULL ? folders[i][1] : absolute);
        assert_int_equal(chdir(before), 0);
        if (outcome.status != 0)
            fail_msg("%s", outcome.said);
        assert_int_equal(outcome.scene->light.emitters[0].intensity.curve_count, 3);
        assert_true(outcome.scene->light.emitters[0].intensity.curve_relative[1] == 0.5);
        char *text = written(outcome.scene);
        assert_non_null(strstr(text, "{curve: \"parts/led.csv\"}")); /* from the scene's folder, not the parts' */
        free(text);
        outcome_clear(&outcome);
    }
}

static void assert_file_error(const char *text, int status, const char *expected) {
    char whole[3000];
    write_file("scenes/other.yaml", text);
    snprintf(whole, sizeof whole, "%s/scenes/%s", folder, expected);
    struct outcome outcome = read_path(path_of("scenes/other.yaml"));
    if (outcome.status != status || strncmp(outcome.said, whole, strlen(whole)) != 0)
        fail_msg("expected %d %s\nand it said %d\n%s", status, whole, outcome.status, outcome.said);
    outcome_clear(&outcome);
}

static void missing_files_are_the_users(void **state) {
    (void)state;
    struct outcome outcome = read_path("/no/such/scene.yaml");
    assert_int_equal(outcome.status, 2);
    assert_string_equal(outcome.said, "/no/such/scene.yaml: error: cannot read it: No such file or directory\n");
    outcome_clear(&outcome);
    outcome = read_path(SOURCE_DIR);
    assert_int_equal(outcome.status, 2);
    outcome_clear(&outcome);
    char expected[1500];
    snprintf(expected, sizeof expected,
             "other.yaml:1:9: error: cannot read '%s/scenes/gone.yaml': No such file or directory\n"
             "    parts: [gone.yaml]\n"
             "            ^\n",
             folder);
    assert_file_error(
        "parts: [gone.yaml]\nmodules: [{emitter: led, single: {height: 1 cm}}]\ntarget: {size: 9 mm x 9 mm}\n", 2,
        expected);
}

static void a_locked_file_is_the_machines(void **state) {
    (void)state;
    if (geteuid() == 0)
        skip(); /* root may read everything */
    write_file("scenes/other.yaml", "seed: 1\n");
    chmod(path_of("scenes/other.yaml"), 0);
    struct outcome outcome = read_path(path_of("scenes/other.yaml"));
    assert_int_equal(outcome.status, 1);
    outcome_clear(&outcome);
    remove(path_of("scenes/other.yaml"));
}

static void mistakes_in_parts_carry_their_file(void **state) {
    (void)state;
    write_file("scenes/parts/leds.yaml",
               "emitters: {led: {surface: disc 2 mm, flux: 9 lux, intensity: {curve: led.csv}}}\n"
               "lens: {wide: {}}\n");
    struct outcome outcome = read_path(path_of("scenes/lamp.yaml"));
    assert_int_equal(outcome.status, 2);
    assert_non_null(strstr(outcome.said, "scenes/parts/leds.yaml:1:44: error: '9 lux': unknown unit 'lux'"));
    assert_non_null(strstr(outcome.said,
                           "scenes/parts/leds.yaml:2:1: error: unknown key 'lens' in a parts file; did you mean "
                           "'lenses'?"));
    assert_non_null(strstr(outcome.said, "scenes/lamp.yaml:2:32: error: no lens is named 'wide'"));
    outcome_clear(&outcome);
    write_file("scenes/parts/leds.yaml",
               "emitters: {led: {surface: disc 2 mm, flux: 9 lm, intensity: {curve: led.csv}}}\n"
               "lenses: {wide: {beam_angle: 60 deg, efficiency: 90 %, face: disc 20 mm}}\n");
}

static void the_same_name_twice(void **state) {
    (void)state;
    char expected[1500];
    write_file("scenes/other.yaml", "");
    snprintf(expected, sizeof expected,
             "parts/leds.yaml:1:12: error: emitter 'led' stands twice; the first is in "
             "%s/scenes/other.yaml:2",
             folder);
    assert_file_error("parts: [parts/leds.yaml]\nemitters: {led: {surface: point, flux: 1 lm}}\n"
                      "modules: [{emitter: led, single: {height: 1 cm}}]\ntarget: {size: 9 mm x 9 mm}\n",
                      2, expected);
}

/* ---- to text and back ------------------------------------------------------------------------------------------ */

static bool same_double(double a, double b) {
    return memcmp(&a, &b, sizeof a) == 0;
}

static void assert_same_material(const struct luxfall_material *a, const struct luxfall_material *b) {
    assert_int_equal(a->kind, b->kind);
    assert_true((a->name == NULL) == (b->name == NULL) && (a->name == NULL || strcmp(a->name, b->name) == 0));
    assert_int_equal(a->term_count, b->term_count);
    assert_memory_equal(a->terms, b->terms, sizeof a->terms);
    assert_true(same_double(a->index, b->index) && same_double(a->transmittance, b->transmittance));
    assert_true(same_double(a->transmittance_mm, b->transmittance_mm));
}

static void assert_same_light(const struct luxfall_scene *a, const struct luxfall_scene *b) {
    assert_int_equal(a->module_count, b->module_count);
    for (size_t i = 0; i < a->module_count; i++) {
        assert_string_equal(a->modules[i].name, b->modules[i].name);
        assert_memory_equal(&a->modules[i].pose, &b->modules[i].pose, sizeof a->modules[i].pose);
        assert_true(same_double(a->modules[i].scale, b->modules[i].scale) &&
                    a->modules[i].dark == b->modules[i].dark);
    }
    assert_int_equal(a->lens_count, b->lens_count);
    for (size_t i = 0; i < a->lens_count; i++) {
        const struct luxfall_beam *x = &a->lenses[i].beam, *y = &b->lenses[i].beam;
        assert_true(same_double(x->beam_angle_rad, y->beam_angle_rad) && same_double(x->efficiency, y->efficiency));
        assert_true(same_double(x->field_angle_rad, y->field_angle_rad) && same_double(x->skirt_rad, y->skirt_rad));
        assert_true(same_double(x->peak_cd_per_lm, y->peak_cd_per_lm));
        assert_true(same_double(x->face.width_mm, y->face.width_mm));
        assert_same_material(&a->lenses[i].material, &b->lenses[i].material);
    }
    assert_int_equal(a->emitter_count, b->emitter_count);
    for (size_t i = 0; i < a->emitter_count; i++) {
        assert_true(same_double(a->emitters[i].flux_lm, b->emitters[i].flux_lm));
        assert_true(same_double(a->emitters[i].wavelength_um, b->emitters[i].wavelength_um));
        assert_int_equal(a->emitters[i].columns, b->emitters[i].columns);
        assert_int_equal(a->emitters[i].rows, b->emitters[i].rows);
        assert_true(same_double(a->emitters[i].pitch_x_mm, b->emitters[i].pitch_x_mm));
        assert_true(same_double(a->emitters[i].pitch_y_mm, b->emitters[i].pitch_y_mm));
        assert_int_equal(a->emitters[i].intensity.curve_count, b->emitters[i].intensity.curve_count);
    }
    assert_true(a->target.columns == b->target.columns && a->target.rows == b->target.rows);
    assert_true(same_double(a->target.cell_mm, b->target.cell_mm));
    assert_int_equal(a->field_count, b->field_count);
    for (size_t i = 0; i < a->field_count; i++)
        assert_true(same_double(a->fields[i].reading_mm, b->fields[i].reading_mm));
}

static void assert_round_trip(struct scene *scene, const char *path) {
    struct messages messages = {0};
    struct scene *again = NULL;
    char *text = written(scene);
    if (scene_read_text(path, text, strlen(text), false, &again, &messages) != 0) {
        char *said = printed(&messages);
        fail_msg("%s: its own text is refused:\n%s\n%s", path, said, text);
    }
    char *text_again = written(again);
    assert_string_equal(text, text_again);
    assert_same_light(&scene->light, &again->light);
    free(text);
    free(text_again);
    scene_free(again);
    messages_clear(&messages);
}

static void shipped_scenes_are_sound_and_come_back(void **state) {
    (void)state;
    size_t count = 0;
    DIR *shipped = opendir(SOURCE_DIR "/scenes");
    assert_non_null(shipped);
    for (struct dirent *entry = readdir(shipped); entry != NULL; entry = readdir(shipped)) {
        char path[700];
        const char *dot = strrchr(entry->d_name, '.');
        if (dot == NULL || strcmp(dot, ".yaml") != 0)
            continue;
        snprintf(path, sizeof path, "%s/scenes/%s", SOURCE_DIR, entry->d_name);
        struct outcome outcome = read_path(path);
        if (outcome.status != 0 || outcome.warnings != 0)
            fail_msg("%s is not clean:\n%s", path, outcome.said);
        assert_round_trip(outcome.scene, path);
        outcome_clear(&outcome);
        count++;
    }
    closedir(shipped);
    assert_true(count >= 7);
}

static void starting_scenes_are_sound(void **state) {
    (void)state;
    for (size_t i = 0; scene_starter_kinds[i] != NULL; i++) {
        const char *text = scene_starter(scene_starter_kinds[i]);
        assert_non_null(text);
        assert_non_null(strchr(text, '#'));
        struct outcome outcome = read_text(text);
        if (outcome.status != 0 || outcome.warnings != 0)
            fail_msg("'%s' is not clean:\n%s", scene_starter_kinds[i], outcome.said);
        assert_round_trip(outcome.scene, "start.yaml");
        outcome_clear(&outcome);
    }
    assert_null(scene_starter("rings"));
}

/* A computed incidence, odd names, every kind of value. */
static void an_odd_scene_comes_back(void **state) {
    (void)state;
    struct outcome outcome = read_text(
        "title: '\"quoted\" \\ é #: '\n"
        "emitters:\n"
        "  'on: off': {surface: disc 1.3 mm, dies: {columns: 2, rows: 3, pitch: 4 mm x 0.2 in}, flux: 9.1 lm at 350 "
        "mA,\n"
        "    intensity: {viewing_angle: 110.3°}, wavelength: 632.8 nm}\n"
        "lenses:\n"
        "  '24': {beam_angle: 0.4 rad, field_angle: 44 deg, efficiency: 81.7 %, face: 12 mm x 1.83 cm}\n"
        "  's': {beam_angle: 20 deg, peak: 4.1 cd/lm, skirt: 60 deg, efficiency: 86 %, face: 18 mm x 18 mm}\n"
        "  t: {solid: plano-convex, material: {index: 1.4917}, diameter: 25 mm, radius: 15 mm, thickness: 9 mm, gap: "
        "0,\n"
        "    curved: towards, holder: open}\n"
        "  u: {solid: plano-convex, material: {name: silica, transmittance: 99.81 % per 0.4 in}, diameter: 25 mm,\n"
        "    radius: 15 mm, thickness: 9 mm, gap: 0}\n"
        "  v: {solid: plano-convex, material: {sellmeier: [[1.03961212, 6.00069867e-3], [0.1, 100.3]]}, diameter: 2 "
        "cm,\n"
        "    radius: 15 mm, thickness: 9 mm, gap: 0}\n"
        "  w: {solid: plano-convex, material: {cauchy: [1.478, 0.0043], transmittance: 1 % per 3 m}, diameter: 2 "
        "cm,\n"
        "    radius: 15 mm, thickness: 9 mm, gap: 0}\n"
        "  x: {solid: plano-convex, material: acrylic one-term, diameter: 2 cm, radius: 15 mm, thickness: 9 mm, gap: "
        "0}\n"
        "modules:\n"
        "  - {emitter: 'on: off', lens: '24', ring: {count: 3, radius: 77.7 mm, height: 131 mm, start: 0.1 rad},\n"
        "     aim: 36.6 mm short, scale: [130 %, 0.1 %, 33.3 %], dark: [2]}\n"
        "  - {emitter: 'on: off', lens: t, grid: {columns: 2, rows: 2, pitch: 120 mm, height: 6 in},\n"
        "     lean: -2.7 deg towards 90.9 deg, roll: 30 deg}\n"
        "  - {emitter: 'on: off', lens: 's', line: {count: 1, height: 1 cm}, aim: [0.1 mm, -7 mm], name: 'a ''b'''}\n"
        "target: {size: 100 mm x 70 mm, cell: 0.7 mm, levels: [-1.1 mm, 0]}\n"
        "fields: [{size: disc 7 mm, at: [0.3 mm, 0]}, {name: '- x', size: 3 mm x 9 mm}]\n"
        "rays: 2.5 million\n"
        "seed: 999999999999999999\n");
    if (outcome.status != 0)
        fail_msg("%s", outcome.said);
    assert_true(outcome.scene->seed == 999999999999999999u && outcome.scene->rays == 2500000);
    assert_round_trip(outcome.scene, "s.yaml");
    outcome_clear(&outcome);
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(parts_stand_beside_the_scene),  cmocka_unit_test(missing_files_are_the_users),
        cmocka_unit_test(a_locked_file_is_the_machines), cmocka_unit_test(mistakes_in_parts_carry_their_file),
        cmocka_unit_test(the_same_name_twice),           cmocka_unit_test(shipped_scenes_are_sound_and_come_back),
        cmocka_unit_test(starting_scenes_are_sound),     cmocka_unit_test(an_odd_scene_comes_back),
    };
    return cmocka_run_group_tests(tests, make_folder, remove_folder);
}
