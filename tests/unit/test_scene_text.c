/* Scenes as bytes and as YAML: what is refused before a single key is looked at. Places are file:line:column, the
 * column in bytes from 1; YAML itself after the YAML 1.2.2 specification (yaml.org, 2021). */
#include "unit/scene_text.h"

static void the_sound_scene_is_sound(void **state) { /* the twin of every refusal in this file */
    (void)state;
    assert_sound(sound_scene);
}

static void bytes_are_checked_first(void **state) {
    (void)state;
    assert_only_error("", "s.yaml: error: the file is empty");
    assert_only_error("# nothing\n", "s.yaml: error: the file is empty");
    assert_only_error("title: a\nname: \xFF\n", "s.yaml:2:7: error: byte 0xFF is not UTF-8; save the file as UTF-8\n"
                                                "    name: \\xFF\n"
                                                "          ^");
    assert_only_error("title: \x1B[31m\n", "s.yaml:1:8: error: control character U+001B; take it out\n"
                                           "    title: \\x1B[31m\n"
                                           "           ^");
    assert_only_error("title: a\xE2\x80\xA8z\n", "s.yaml:1:9: error: control character U+2028; take it out\n"
                                                 "    title: a\\xE2\\x80\\xA8z\n"
                                                 "            ^");
    assert_only_error("title: a\xEF\xBB\xBF\n",
                      "s.yaml:1:9: error: a byte order mark (U+FEFF) in the middle of the text");
}

static void assert_bytes(const char *bytes, size_t size, const char *expected) {
    struct outcome outcome = read_bytes(bytes, size);
    assert_int_equal(outcome.status, 2);
    assert_int_equal(outcome.errors, 1);
    if (strncmp(outcome.said, expected, strlen(expected)) != 0)
        fail_msg("expected %s, and it said %s", expected, outcome.said);
    outcome_clear(&outcome);
}

static void nul_utf16_and_size(void **state) {
    (void)state;
    assert_bytes("a: b\0c", 6, "s.yaml:1:5: error: a NUL byte (0x00): this is binary data, not text");
    assert_bytes("\xFF\xFE"
                 "a\0",
                 4, "s.yaml: error: UTF-16 text; save the file as UTF-8");
    assert_bytes("\xFE\xFF\0a", 4, "s.yaml: error: UTF-16 text; save the file as UTF-8");
    size_t most = 1 << 20;
    char *large = malloc(most + 1);
    assert_non_null(large);
    memset(large, ' ', most + 1);
    assert_bytes(large, most + 1, "s.yaml: error: the file is over 1 MiB");
    memset(large, ' ', most);
    memcpy(large, sound_scene, strlen(sound_scene));
    large[strlen(sound_scene)] = '#';
    struct outcome outcome = read_bytes(large, most); /* one byte less is taken */
    assert_int_equal(outcome.status, 0);
    outcome_clear(&outcome);
    free(large);
}

static void a_mark_and_line_ends_are_taken(void **state) {
    (void)state;
    char *marked = with(sound_scene, "emitters",
                        "\xEF\xBB\xBF"
                        "emitters");
    assert_sound(marked);
    free(marked);
    char returns[2 * sizeof sound_scene], *out = returns;
    for (const char *c = sound_scene; *c != '\0'; c++) {
        if (*c == '\n')
            *out++ = '\r';
        *out++ = *c;
    }
    *out = '\0';
    assert_sound(returns);
    char *slip = with(returns, "seed: 1", "sed: 1"); /* and places are counted the same */
    assert_only_error(slip,
                      "s.yaml:14:1: error: unknown key 'sed' in a scene; did you mean 'seed'?\n    sed: 1\n    ^");
    free(slip);
}

static void tabs_are_all_told(void **state) {
    (void)state;
    struct outcome outcome = read_text("a:\n\tb: 1\n  \tc: 2\n\t# a comment may\nd:\te\n");
    assert_int_equal(outcome.errors, 2);
    assert_string_equal(outcome.said, "s.yaml:2:1: error: a tab in the indent; YAML takes only blanks there\n"
                                      "     b: 1\n"
                                      "    ^\n"
                                      "s.yaml:3:3: error: a tab in the indent; YAML takes only blanks there\n"
                                      "       c: 2\n"
                                      "      ^\n");
    outcome_clear(&outcome);
}

static void duplicate_keys(void **state) {
    (void)state;
    assert_slip("seed: 1\n", "seed: 1\nseed: 2\n",
                "s.yaml:15:1: error: key 'seed' stands twice; the first is in line 14\n"
                "    seed: 2\n"
                "    ^");
    assert_slip("flux: 95 lm", "flux: 95 lm, flux: 96 lm",
                "s.yaml:2:48: error: key 'flux' stands twice; the first is in line 2");
}

static void a_harmless_alias_is_taken(void **state) {
    (void)state;
    char *anchored = with(sound_scene, "size: 160 mm x 160 mm", "size: &side 160 mm x 160 mm");
    char *text = with(anchored, "size: 36 mm x 27 mm", "size: *side");
    struct outcome outcome = read_text(text);
    assert_int_equal(outcome.status, 0);
    assert_true(outcome.scene->light.fields[0].width_mm == 160);
    outcome_clear(&outcome);
    free(text);
    free(anchored);
}

static void aliases_that_loop_or_explode(void **state) {
    (void)state;
    assert_only_error("emitters: &a\n  b: *a\n",
                      "s.yaml:2:6: error: alias '*a' loops: it stands inside the value that it names\n"
                      "      b: *a\n"
                      "         ^");
    assert_only_error("emitters: *b\n",
                      "s.yaml:1:11: error: alias '*b' names nothing; an anchor '&b' must stand before it");
    char text[2000] = "a0: &a0 [x, x, x, x, x, x, x, x, x]\n";
    for (int i = 1; i < 9; i++) { /* nine times nine times nine ... */
        char line[160];
        snprintf(line, sizeof line, "a%d: &a%d [*a%d, *a%d, *a%d, *a%d, *a%d, *a%d, *a%d, *a%d, *a%d]\n", i, i, i - 1,
                 i - 1, i - 1, i - 1, i - 1, i - 1, i - 1, i - 1, i - 1);
        strcat(text, line);
    }
    struct outcome outcome = read_text(text);
    assert_int_equal(outcome.status, 2);
    assert_non_null(strstr(outcome.said, "s.yaml:6:10: error: more than 100000 values in one file, with every alias "
                                         "written out"));
    outcome_clear(&outcome);
}

static void deep_nesting(void **state) {
    (void)state;
    assert_only_error("title: [[[[[[[[[[[[[[[[[[[[x]]]]]]]]]]]]]]]]]]]]\n",
                      "s.yaml:1:23: error: nested deeper than 16 levels");
}

static void what_yaml_has_and_scenes_have_not(void **state) {
    (void)state;
    assert_slip("seed: 1", "seed: !!int 1", "s.yaml:14:7: error: tags ('!...') have no meaning in a scene");
    assert_slip("seed: 1\n", "seed: 1\n---\nseed: 1\n",
                "s.yaml:15:1: error: a second document begins; a file holds one");
    assert_slip("name: zoom", "name: \"zo\\0om\"",
                "s.yaml:13:12: error: a control character or a line end inside a text; it must be one plain line");
    assert_slip("seed: 1", "[a]: 1", "s.yaml:14:1: error: a key is a word, not a list");
}

static void broken_yaml_in_plain_words(void **state) {
    (void)state;
    assert_only_error(
        "title: a\n  seed: 1\n",
        "s.yaml:2:7: error: not valid YAML: a ':' where none can stand: check the indent of this line and of "
        "the one above, or put the text in quotes\n"
        "      seed: 1\n"
        "          ^");
    assert_only_error("title: \"a\n",
                      "s.yaml:1:8: error: not valid YAML: the file ends inside this text: a quote is not "
                      "closed");
    assert_only_error("title: @a\n",
                      "s.yaml:1:8: error: not valid YAML: a value cannot begin with this character; put it "
                      "in quotes");
    assert_only_error(
        "target: {size: 1 mm x 1 mm\nseed: 1\n",
        "s.yaml:2:5: error: not valid YAML: a ',' or '}' is missing before this: a map opened by '{' is not "
        "closed");
}

/* What stands before the break is still read: both mistakes in one run, and nothing is called missing. */
static void a_break_hides_no_earlier_mistake(void **state) {
    (void)state;
    struct outcome outcome = read_text("titel: a\nemitters:\n  die: {surface: 3 mm}\nmodules: ]\n");
    assert_int_equal(outcome.errors, 3);
    assert_non_null(strstr(outcome.said, "s.yaml:1:1: error: unknown key 'titel' in a scene; did you mean 'title'?"));
    assert_non_null(strstr(outcome.said, "s.yaml:3:18: error: '3 mm' is one length"));
    assert_non_null(strstr(outcome.said, "s.yaml:4:10: error: not valid YAML"));
    assert_null(strstr(outcome.said, "missing key"));
    outcome_clear(&outcome);
}

static void wrong_shapes(void **state) {
    (void)state;
    assert_only_error("- a\n", "s.yaml:1:1: error: this is a list; a map of keys and values is expected");
    assert_slip("fields:\n  - {name: zoom, size: 36 mm x 27 mm}\n", "fields: none\n",
                "s.yaml:12:9: error: 'fields' is text; a list is expected");
    assert_slip("seed: 1", "seed: [1]", "s.yaml:14:7: error: 'seed' is a list; text is expected");
    assert_slip("aim: centre", "aim:", "s.yaml:10:5: error: 'aim' has no value");
    assert_slip("{name: zoom, size: 36 mm x 27 mm}", "zoom",
                "s.yaml:13:5: error: an entry of 'fields' is text; a map of keys and values is expected");
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(the_sound_scene_is_sound),
        cmocka_unit_test(bytes_are_checked_first),
        cmocka_unit_test(nul_utf16_and_size),
        cmocka_unit_test(a_mark_and_line_ends_are_taken),
        cmocka_unit_test(tabs_are_all_told),
        cmocka_unit_test(duplicate_keys),
        cmocka_unit_test(a_harmless_alias_is_taken),
        cmocka_unit_test(aliases_that_loop_or_explode),
        cmocka_unit_test(deep_nesting),
        cmocka_unit_test(what_yaml_has_and_scenes_have_not),
        cmocka_unit_test(broken_yaml_in_plain_words),
        cmocka_unit_test(a_break_hides_no_earlier_mistake),
        cmocka_unit_test(wrong_shapes),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
