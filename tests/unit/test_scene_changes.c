/* Values changed before a scene is read: a changed scene is the scene whose text says so. */
#include "unit/scene_text.h"

#include "scenes/reader.h"

#include <unistd.h>

/* ---- fixtures -------------------------------------------------------------------------------------------------- */

static struct outcome read_changed(const char *text, const struct scene_changes *changes) {
    struct messages messages = {0};
    struct scene *scene = NULL;
    struct origin origin = {"s.yaml", text, strlen(text), true, changes};
    int status = reader_scene(&origin, &scene, &messages);
    return outcome_of(status, scene, &messages);
}

static bool same_scene(const struct outcome *a, const struct outcome *b) {
    if (a->scene == NULL || b->scene == NULL)
        fail_msg("a sound scene was refused:\n%s%s", a->said, b->said);
    char *one = written(a->scene), *other = written(b->scene);
    bool same = strcmp(one, other) == 0;
    free(one);
    free(other);
    return same;
}

/* The text with one edit is the scene of the other text, and not that of the text as it stands. */
static void assert_edit_of(const char *text, const char *path, const char *value, const char *meant) {
    struct scene_edit edit = {path, value, "--vary"};
    struct scene_changes changes = {.edit_count = 1, .edits = &edit};
    struct outcome changed = read_changed(text, &changes), wanted = read_text(meant), before = read_text(text);
    if (!same_scene(&changed, &wanted))
        fail_msg("%s=%s did not change what it should", path, value);
    if (same_scene(&changed, &before))
        fail_msg("%s=%s changed nothing", path, value);
    outcome_clear(&changed);
    outcome_clear(&wanted);
    outcome_clear(&before);
}

static void assert_edit(const char *path, const char *value, const char *old, const char *new) {
    char *meant = with(sound_scene, old, new);
    assert_edit_of(sound_scene, path, value, meant);
    free(meant);
}

static void assert_refused_in(const char *text, const char *path, const char *value, const char *expected) {
    struct scene_edit edit = {path, value, "--vary"};
    struct scene_changes changes = {.edit_count = 1, .edits = &edit};
    struct outcome outcome = read_changed(text, &changes);
    assert_int_equal(outcome.status, 2);
    assert_null(outcome.scene);
    assert_int_equal(outcome.errors, 1);
    assert_string_equal(outcome.said, expected);
    outcome_clear(&outcome);
}

static void assert_refused(const char *path, const char *value, const char *expected) {
    assert_refused_in(sound_scene, path, value, expected);
}

/* ---- paths ----------------------------------------------------------------------------------------------------- */

static void a_path_goes_through_maps_and_lists(void **state) {
    (void)state;
    assert_edit("modules.ring.aim", "36 mm short", "aim: centre", "aim: 36 mm short");
    assert_edit("lenses.medium.beam_angle", "30 deg", "beam_angle: 24 deg", "beam_angle: 30 deg");
    assert_edit("emitters.die.flux", "120 lm", "flux: 95 lm", "flux: 120 lm");
    assert_edit("modules.1.ring.count", "5", "count: 8", "count: 5");
    assert_edit("seed", "7", "seed: 1", "seed: 7");
    assert_edit("fields.zoom.size", "disc 9 mm", "size: 36 mm x 27 mm", "size: disc 9 mm");
    assert_edit(" seed ", " 7 ", "seed: 1", "seed: 7");
}

static void a_key_that_is_not_there_is_added(void **state) {
    (void)state;
    assert_edit("target.level", "-5 mm", "cell: 1 mm", "cell: 1 mm, level: -5 mm");
    assert_edit("fields.zoom.reading", "disc 2 mm", "36 mm x 27 mm}", "36 mm x 27 mm, reading: disc 2 mm}");
    assert_edit("title", "Another: 1", "seed: 1", "seed: 1\ntitle: 'Another: 1'");
}

static void entries_of_lists_go_by_number(void **state) {
    (void)state;
    char *lamp = with(sound_scene, "  - name: ring\n",
                      "  - {name: lamp, at: [-30 mm, 0 mm, 300 mm], aim: down, dark: [1]}\n  - name: ring\n");
    char *high = with(lamp, "300 mm", "450 mm");
    assert_edit_of(lamp, "modules.lamp.at.3", "450 mm", high);
    assert_edit_of(lamp, "modules.1.at.3", "450 mm", high);
    char *five = with(lamp, "count: 8", "count: 5");
    assert_edit_of(lamp, "modules.2.ring.count", "5", five);
    free(five);
    free(high);
    free(lamp);
}

/* "2" is first of all the module of that name. */
static void a_name_goes_before_a_number(void **state) {
    (void)state;
    char *two = with(sound_scene, "  - name: ring\n",
                     "  - {name: 2, at: [-30 mm, 0 mm, 300 mm], aim: down}\n  - name: ring\n");
    char *high = with(two, "300 mm", "450 mm");
    assert_edit_of(two, "modules.2.at.3", "450 mm", high);
    free(high);
    free(two);
}

static void nameless_entries_go_by_the_names_they_are_given(void **state) {
    (void)state;
    char *text = with(sound_scene, "  - name: ring\n    emitter",
                      "  - {single: {height: 1 m}}\n  - {single: {height: 2 m}}\n"
                      "  - {name: single-3, single: {height: 3 m}}\n  - emitter");
    char *nameless = with(text, "{name: zoom, size", "{size: disc 5 mm}\n  - {size");
    char *second = with(nameless, "2 m}", "2.5 m}"), *ring = with(nameless, "count: 8", "count: 3");
    char *field = with(nameless, "36 mm x 27 mm", "36 mm x 36 mm");
    assert_edit_of(nameless, "modules.single-2.single.height", "2.5 m", second);
    assert_edit_of(nameless, "modules.ring.ring.count", "3", ring);
    assert_edit_of(nameless, "fields.field 2.size", "36 mm x 36 mm", field);
    free(field);
    free(ring);
    free(second);
    free(nameless);
    free(text);
}

static void names_may_hold_blanks_and_dots(void **state) {
    (void)state;
    char *text = with(sound_scene, "name: zoom", "name: widest zoom. x2.5");
    char *meant = with(text, "36 mm x 27 mm", "disc 4 mm");
    assert_edit_of(text, "fields.widest zoom. x2.5.size", "disc 4 mm", meant);
    char *lenses = with(sound_scene, "lenses:\n",
                        "lenses:\n  m: {beam_angle: 9 deg, face: disc 5 mm}\n"
                        "  m.5: {beam_angle: 8 deg, face: disc 5 mm}\n");
    char *shorter = with(lenses, "9 deg", "10 deg"), *longer = with(lenses, "8 deg", "10 deg");
    assert_edit_of(lenses, "lenses.m.beam_angle", "10 deg", shorter);
    assert_edit_of(lenses, "lenses.m.5.beam_angle", "10 deg", longer);
    free(longer);
    free(shorter);
    free(lenses);
    free(meant);
    free(text);
}

/* ---- aliases --------------------------------------------------------------------------------------------------- */

static const char shared_scene[] = "emitters: {die: {surface: point, flux: 95 lm}}\n"
                                   "modules:\n"
                                   "  - {name: left, ring: &r {count: 8, distance: 165 mm, incidence: 38 deg}}\n"
                                   "  - {name: right, ring: *r}\n"
                                   "target: {size: 160 mm x 160 mm, cell: 1 mm}\n";

static void an_alias_elsewhere_keeps_its_value(void **state) {
    (void)state;
    char *right = with(shared_scene, "*r", "{count: 8, distance: 165 mm, incidence: 20 deg}");
    assert_edit_of(shared_scene, "modules.right.ring.incidence", "20 deg", right);
    char *left = with(right, "38 deg", "20 deg"), *only_left = with(left, "20 deg}}\ntarget", "38 deg}}\ntarget");
    assert_edit_of(shared_scene, "modules.left.ring.incidence", "20 deg", only_left);
    free(only_left);
    free(left);
    free(right);
}

/* ---- several --------------------------------------------------------------------------------------------------- */

static void edits_add_up_and_the_last_of_a_place_rules(void **state) {
    (void)state;
    struct scene_edit edits[] = {
        {"modules.ring.aim", "20 mm short", "--vary"},
        {"seed", "9", "--vary"},
        {"modules.ring.aim", "30 mm short", "--vary"},
        {"modules.ring.ring.count", "6", "--vary"},
    };
    struct scene_changes changes = {.edit_count = 4, .edits = edits};
    char *aim = with(sound_scene, "aim: centre", "aim: 30 mm short"), *count = with(aim, "count: 8", "count: 6");
    char *meant = with(count, "seed: 1", "seed: 9");
    struct outcome changed = read_changed(sound_scene, &changes), wanted = read_text(meant), other = read_text(count);
    assert_true(same_scene(&changed, &wanted));
    assert_false(same_scene(&changed, &other));
    outcome_clear(&changed);
    outcome_clear(&wanted);
    outcome_clear(&other);
    free(meant);
    free(count);
    free(aim);
}

/* ---- every module ---------------------------------------------------------------------------------------------- */

static const char two_groups[] = "emitters:\n"
                                 "  small: {surface: disc 1 mm, flux: 95 lm at 350 mA}\n"
                                 "  large: {surface: disc 2 mm, flux: 250 lm at 700 mA}\n"
                                 "lenses:\n"
                                 "  narrow: {beam_angle: 12 deg, efficiency: 84 %, face: disc 18 mm}\n"
                                 "  wide: {beam_angle: 40 deg, efficiency: 84 %, face: disc 18 mm}\n"
                                 "modules:\n"
                                 "  - {name: a, emitter: small, lens: narrow, single: {height: 300 mm}}\n"
                                 "  - {name: b, emitter: large, single: {height: 400 mm}}\n"
                                 "  - {name: c, emitter: large, lens: none, single: {height: 500 mm}}\n"
                                 "target: {size: 160 mm x 160 mm, cell: 1 mm}\n";

static void assert_changes(const struct scene_changes *changes, const char *const swaps[][2], size_t count) {
    char *meant = with(two_groups, "", "");
    for (size_t i = 0; i < count; i++) {
        char *next = with(meant, swaps[i][0], swaps[i][1]);
        free(meant);
        meant = next;
    }
    struct outcome changed = read_changed(two_groups, changes), wanted = read_text(meant);
    struct outcome before = read_text(two_groups);
    assert_true(same_scene(&changed, &wanted));
    assert_false(same_scene(&changed, &before));
    outcome_clear(&before);
    outcome_clear(&changed);
    outcome_clear(&wanted);
    free(meant);
}

static void one_lens_one_emitter_one_current_for_all(void **state) {
    (void)state;
    assert_changes(&(struct scene_changes){.lens = "wide", .origin = "--lenses"},
                   (const char *const[][2]){{"lens: narrow", "lens: wide"}}, 1);
    assert_changes(
        &(struct scene_changes){.emitter = "small", .origin = "--emitters"},
        (const char *const[][2]){{"emitter: large", "emitter: small"}, {"emitter: large", "emitter: small"}}, 2);
    assert_changes(
        &(struct scene_changes){.emitter = "large", .current_a = 0.7, .lens = "wide", .origin = "--at"},
        (const char *const[][2]){
            {"emitter: small, lens: narrow", "current: 700 mA, emitter: large, lens: wide"},
            {"emitter: large, single: {height: 400 mm}", "emitter: large, current: 0.7 A, single: {height: 400 mm}"},
            {"emitter: large, lens: none", "emitter: large, current: 0.7 A, lens: none"}},
        3);
}

static void assert_all_refused(const char *text, const struct scene_changes *changes, const char *expected) {
    struct outcome outcome = read_changed(text, changes);
    assert_int_equal(outcome.status, 2);
    assert_null(outcome.scene);
    assert_string_equal(outcome.said, expected);
    outcome_clear(&outcome);
}

static void unknown_parts_for_all_are_told_once(void **state) {
    (void)state;
    assert_all_refused(two_groups, &(struct scene_changes){.lens = "wid", .origin = "--lenses"},
                       "--lenses:1:1: error: no lens is named 'wid'; did you mean 'wide'?\n"
                       "    wid\n"
                       "    ^\n");
    assert_all_refused(two_groups, &(struct scene_changes){.emitter = "lrage", .origin = "--emitters"},
                       "--emitters:1:1: error: no emitter is named 'lrage'; did you mean 'large'?\n"
                       "    lrage\n"
                       "    ^\n");
    assert_all_refused(shared_scene, &(struct scene_changes){.lens = "wide", .origin = "--lenses"},
                       "--lenses:1:1: error: no module of the scene has a lens that this could replace\n"
                       "    wide\n"
                       "    ^\n");
}

static void a_current_that_an_emitter_cannot_take_is_told(void **state) {
    (void)state;
    assert_all_refused(sound_scene, &(struct scene_changes){.current_a = 0.35, .origin = "--at"},
                       "--at:1:9: error: emitter 'die' gives its flux at no current, so that nothing is known at 350 "
                       "mA; write its flux as '95 lm at 350 mA', or 'drive: led.csv' for several currents\n"
                       "    current 0.35 A\n"
                       "            ^\n");
}

/* ---- mistakes -------------------------------------------------------------------------------------------------- */

static void unknown_keys_and_values_are_told_at_the_edit(void **state) {
    (void)state;
    assert_refused("modules.ring.agm", "36 mm short",
                   "--vary:1:14: error: unknown key 'agm' in a module; did you mean 'aim'?\n"
                   "    modules.ring.agm=36 mm short\n"
                   "                 ^\n");
    assert_refused("modules.ring.aim", "36 mm",
                   "--vary:1:18: error: '36 mm' short or past? Write '36 mm short' (on the module's own side) or '36 "
                   "mm past'\n"
                   "    modules.ring.aim=36 mm\n"
                   "                     ^\n");
    assert_refused("lenses.medium.beam_angle", "30",
                   "--vary:1:26: error: '30' has no unit; an angle takes deg, ° or rad, for instance 30 deg\n"
                   "    lenses.medium.beam_angle=30\n"
                   "                             ^\n");
    assert_refused(" seed", "",
                   "--vary:1:2: error: 'seed' has no value\n"
                   "     seed=\n"
                   "     ^\n");
    assert_refused("tilte", "Ring",
                   "--vary:1:1: error: unknown key 'tilte' in a scene; did you mean 'title'?\n"
                   "    tilte=Ring\n"
                   "    ^\n");
    assert_refused("modules.ring.aim", "centre\nseed: 2",
                   "--vary:1:1: error: a control character or a line end inside this; it must be one plain line\n"
                   "    modules.ring.aim=centre\n"
                   "    ^\n");
}

static void steps_that_name_nothing(void **state) {
    (void)state;
    assert_refused("lense.medium.beam_angle", "30 deg",
                   "--vary:1:1: error: no 'lense' in the scene; did you mean 'lenses'?\n"
                   "    lense.medium.beam_angle=30 deg\n"
                   "    ^\n");
    assert_refused("lenses.medum.beam_angle", "30 deg",
                   "--vary:1:8: error: no 'medum' in 'lenses'; did you mean 'medium'?\n"
                   "    lenses.medum.beam_angle=30 deg\n"
                   "           ^\n");
    assert_refused("modules.ringg.aim", "centre",
                   "--vary:1:9: error: no 'ringg' in 'modules'; did you mean 'ring'?\n"
                   "    modules.ringg.aim=centre\n"
                   "            ^\n");
    assert_refused("modules.2.aim", "centre",
                   "--vary:1:9: error: no '2' in 'modules'; its entries go by name or by a number from 1 to 1\n"
                   "    modules.2.aim=centre\n"
                   "            ^\n");
    assert_refused("lenses.bench.face", "disc 18 mm",
                   "--vary:1:8: error: no 'bench' in 'lenses'; it has medium\n"
                   "    lenses.bench.face=disc 18 mm\n"
                   "           ^\n");
    assert_refused("modules.ring.aim.x", "1 mm",
                   "--vary:1:18: error: 'modules.ring.aim' is one value; nothing stands below it\n"
                   "    modules.ring.aim.x=1 mm\n"
                   "                     ^\n");
    assert_refused("modules..aim", "1 mm",
                   "--vary:1:9: error: no '' in 'modules'; its entries go by name or by a number from 1 to 1\n"
                   "    modules..aim=1 mm\n"
                   "            ^\n");
}

static void maps_and_lists_are_not_replaced(void **state) {
    (void)state;
    assert_refused("modules.ring.ring", "8",
                   "--vary:1:1: error: 'modules.ring.ring' is a map, and one value at a time is changed; it has "
                   "count, distance or incidence\n"
                   "    modules.ring.ring=8\n"
                   "    ^\n");
    assert_refused("modules", "8",
                   "--vary:1:1: error: 'modules' is a list, and one value at a time is changed; its entries go by "
                   "name or by a number from 1 to 1\n"
                   "    modules=8\n"
                   "    ^\n");
}

/* ---- parts files ----------------------------------------------------------------------------------------------- */

static const char bench[] = SOURCE_DIR "/scenes/bench-lenses.yaml";

static void parts_are_changed_where_they_are_at_home(void **state) {
    (void)state;
    struct messages messages = {0};
    struct scene *scene = NULL;
    struct scene_edit edit = {"lenses.bench 45.beam_angle", "44 deg", "--vary"};
    struct scene_changes changes = {.lens = "bench 45", .origin = "--lenses", .edit_count = 1, .edits = &edit};
    assert_int_equal(scene_read_changed(bench, &changes, &scene, &messages), 0);
    const struct luxfall_lens *lens = &scene->light.lenses[scene->light.modules[0].lens];
    assert_string_equal(lens->name, "bench 45");
    assert_true(lens->beam.beam_angle_rad == 44 * 3.14159265358979323846 / 180);
    scene_free(scene);
    messages_clear(&messages);
}

static void a_near_part_of_another_file_is_suggested(void **state) {
    (void)state;
    struct messages messages = {0};
    struct scene *scene = NULL;
    struct scene_edit edit = {"lenses.bench 46.beam_angle", "44 deg", "--vary"};
    struct scene_changes changes = {.edit_count = 1, .edits = &edit};
    assert_int_equal(scene_read_changed(bench, &changes, &scene, &messages), 2);
    assert_null(scene);
    char *said = printed(&messages);
    assert_non_null(strstr(said, "--vary:1:8: error: no 'bench 46' in 'lenses'; did you mean 'bench "));
    free(said);
    messages_clear(&messages);
}

/* A file that an edit names lies where it would lie if the scene named it. */
static void files_of_an_edit_are_relative_to_the_scene(void **state) {
    (void)state;
    struct messages messages = {0};
    struct scene *scene = NULL;
    struct scene_edit edits[] = {{"parts.1", "parts/./invented.yaml", "--vary"},
                                 {"parts.1", "parts/gone.yaml", "--vary"}};
    struct scene_changes changes = {.edit_count = 1, .edits = edits};
    assert_int_equal(chdir("/"), 0);
    assert_int_equal(scene_read_changed(bench, &changes, &scene, &messages), 0);
    scene_free(scene);
    messages_clear(&messages);
    changes.edit_count = 2;
    assert_int_equal(scene_read_changed(bench, &changes, &scene, &messages), 2);
    char *said = printed(&messages);
    assert_non_null(strstr(said, "--vary:1:9: error: cannot read '" SOURCE_DIR "/scenes/parts/gone.yaml'"));
    free(said);
    messages_clear(&messages);
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(a_path_goes_through_maps_and_lists),
        cmocka_unit_test(a_key_that_is_not_there_is_added),
        cmocka_unit_test(entries_of_lists_go_by_number),
        cmocka_unit_test(a_name_goes_before_a_number),
        cmocka_unit_test(nameless_entries_go_by_the_names_they_are_given),
        cmocka_unit_test(names_may_hold_blanks_and_dots),
        cmocka_unit_test(an_alias_elsewhere_keeps_its_value),
        cmocka_unit_test(edits_add_up_and_the_last_of_a_place_rules),
        cmocka_unit_test(one_lens_one_emitter_one_current_for_all),
        cmocka_unit_test(unknown_parts_for_all_are_told_once),
        cmocka_unit_test(a_current_that_an_emitter_cannot_take_is_told),
        cmocka_unit_test(unknown_keys_and_values_are_told_at_the_edit),
        cmocka_unit_test(steps_that_name_nothing),
        cmocka_unit_test(maps_and_lists_are_not_replaced),
        cmocka_unit_test(parts_are_changed_where_they_are_at_home),
        cmocka_unit_test(a_near_part_of_another_file_is_suggested),
        cmocka_unit_test(files_of_an_edit_are_relative_to_the_scene),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
