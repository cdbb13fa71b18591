/* One table for parser, help, manual and completion: every option stands in each of them. The contract is the house's
 * own. */
#include "run.h"

#include "render/commands/options.h"
#include "render/commands/values.h"

#include <ctype.h>

/* --name as a whole word: not as the beginning of a longer one. */
static bool mentions(const char *text, const char *name) {
    size_t length = strlen(name);
    for (const char *at = text; (at = strstr(at, "--")) != NULL; at += 2)
        if (strncmp(at + 2, name, length) == 0 && !isalnum((unsigned char)at[2 + length]) && at[2 + length] != '-')
            return true;
    return false;
}

/* Options of a table that a text does not mention. */
static size_t missing(const struct option *options, const char *text) {
    size_t count = 0;
    for (; options->name; options++) {
        if (mentions(text, options->name))
            continue;
        print_message("--%s is not mentioned\n", options->name);
        count++;
    }
    return count;
}

/* The part of the text from `begin` up to the next `end`; the caller frees. */
static char *part(const char *text, const char *begin, const char *end) {
    const char *from = strstr(text, begin);
    assert_non_null(from);
    const char *to = strstr(from + strlen(begin), end);
    size_t length = to ? (size_t)(to - from) : strlen(from);
    char *copy = calloc(1, length + 1);
    memcpy(copy, from, length);
    return copy;
}

/* Troff spells a minus sign "\-". */
static void plain_hyphens(char *text) {
    char *to = text;
    for (const char *from = text; *from; from++)
        if (from[0] != '\\' || from[1] != '-')
            *to++ = *from;
    *to = '\0';
}

static void help_tells_every_option(void **state) {
    (void)state;
    for (size_t i = 0; commands[i]; i++) {
        struct outcome outcome = run("luxfall %s --help", commands[i]->name);
        assert_int_equal(outcome.status, 0);
        assert_int_equal(missing(commands[i]->options, outcome.out), 0);
        assert_int_equal(missing(common_options, outcome.out), 0);
        forget(&outcome);
    }
    struct outcome outcome = run("luxfall --help");
    assert_int_equal(missing(program_options, outcome.out), 0);
    for (size_t i = 0; commands[i]; i++)
        assert_non_null(strstr(outcome.out, commands[i]->name));
    /* Twin: the program's help speaks of one or two options of a command, and lacks the others. */
    assert_true(missing(commands[0]->options, outcome.out) > options_count(commands[0]->options) / 2);
    forget(&outcome);
}

static void the_manual_tells_every_option(void **state) {
    (void)state;
    struct outcome outcome = run("luxfall --print-manual");
    assert_int_equal(outcome.status, 0);
    plain_hyphens(outcome.out);
    for (size_t i = 0; commands[i]; i++) {
        char heading[64];
        snprintf(heading, sizeof heading, ".SS luxfall %s ", commands[i]->name);
        char *section = part(outcome.out, heading, "\n.S");
        assert_int_equal(missing(commands[i]->options, section), 0);
        free(section);
    }
    char *section = part(outcome.out, ".SH OPTIONS OF EVERY COMMAND", "\n.SH");
    assert_int_equal(missing(common_options, section), 0);
    assert_int_equal(missing(program_options, section), 2); /* twin: it lacks those without a command */
    free(section);
    section = part(outcome.out, ".SH OPTIONS WITHOUT A COMMAND", "\n.SH");
    assert_int_equal(missing(program_options, section), 0);
    free(section);
    forget(&outcome);
}

/* What the shell offers for the last of the words, one a line. */
static struct outcome offered(const char *words) {
    return run(
        "luxfall --print-completion bash > done.bash && bash -c '. ./done.bash; COMP_WORDS=(luxfall %s); "
        "COMP_CWORD=$((${#COMP_WORDS[@]} - 1)); compopt() { :; }; _luxfall; printf \"%%s\\n\" \"${COMPREPLY[@]}\"'",
        words);
}

static void the_completion_offers_every_option(void **state) {
    (void)state;
    for (size_t i = 0; commands[i]; i++) {
        char words[64];
        snprintf(words, sizeof words, "%s --", commands[i]->name);
        struct outcome outcome = offered(words);
        assert_int_equal(outcome.status, 0);
        assert_int_equal(missing(commands[i]->options, outcome.out), 0);
        assert_int_equal(missing(common_options, outcome.out), 0);
        forget(&outcome);
    }
    struct outcome outcome = offered("\"\"");
    for (size_t i = 0; commands[i]; i++)
        assert_non_null(strstr(outcome.out, commands[i]->name));
    assert_int_equal(missing(program_options, outcome.out), 0);
    forget(&outcome);
    outcome = offered("new --");
    assert_int_equal(missing(commands[0]->options, outcome.out), options_count(commands[0]->options)); /* twin */
    forget(&outcome);
}

static void the_completion_offers_values_and_files(void **state) {
    (void)state;
    struct outcome outcome = run("touch 'my ring.yaml' other.txt; mkdir -p 'a folder'");
    forget(&outcome);
    static const struct {
        const char *words, *wanted;
    } rows[] = {
        {"trace --method d", "direct\n"},
        {"trace --vectors avx", "avx2\navx512\n"},
        {"trace --accuracy \"\"", "\n"},
        {"new s", "single\nstand\n"},
        {"trace m", "my ring.yaml\n"},
        {"trace --out a", "a folder\n"},
        {"trace --json o", "other.txt\n"},
        {"trace o", "\n"},
        {"ch", "check\n"},
    };
    for (size_t i = 0; i < sizeof rows / sizeof *rows; i++) {
        outcome = offered(rows[i].words);
        assert_string_equal(outcome.out, rows[i].wanted);
        forget(&outcome);
    }
}

static void tables_are_sound(void **state) {
    (void)state;
    for (size_t i = 0; commands[i]; i++) {
        const struct option *options = commands[i]->options;
        assert_true(options_count(options) + options_count(common_options) <= OPTIONS_MAX);
        for (size_t j = 0; j < options_count(options); j++) {
            assert_true((options[j].value == NULL) == (options[j].convert == NULL));
            assert_true((options[j].completion == COMPLETE_CHOICES) == (options[j].choices != NULL));
            assert_true(options[j].help[strlen(options[j].help) - 1] != '.');
            for (size_t k = 0; k < j; k++)
                assert_string_not_equal(options[j].name, options[k].name);
        }
    }
}

/* ---- what a command is given -------------------------------------------------------------------------------------
 */

static const struct option given_options[] = {
    {"word", "W", "a word", value_text, NULL, COMPLETE_NOTHING},
    {"switch", NULL, "a switch", NULL, NULL, COMPLETE_NOTHING},
    {NULL, NULL, NULL, NULL, NULL, COMPLETE_NOTHING},
};

static int three_words_in_order(const struct option_value *values, const char *const *words) {
    (void)words;
    const struct option_value *word = &values[0];
    bool right = word->given && word->text_count == 3 && word->texts[3] == NULL && values[1].given &&
                 values[1].text_count == 0 && strcmp(word->text, "c") == 0;
    for (size_t i = 0; right && i < 3; i++)
        right = strcmp(word->texts[i], ((const char *const[]){"a", "b", "c"})[i]) == 0;
    return right ? EXIT_DONE : EXIT_MACHINE;
}

static void an_option_given_again_keeps_every_text(void **state) {
    (void)state;
    const struct command command = {.name = "given", .options = given_options, .run = three_words_in_order};
    const char *words[] = {"given", "--word", "a", "--switch", "--word=b", "--switch", "--word", "c"};
    assert_int_equal(command_run(&command, 8, words), EXIT_DONE);
    assert_int_equal(command_run(&command, 6, words), EXIT_MACHINE); /* twin: one word less */
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(help_tells_every_option),
        cmocka_unit_test(the_manual_tells_every_option),
        cmocka_unit_test(the_completion_offers_every_option),
        cmocka_unit_test(the_completion_offers_values_and_files),
        cmocka_unit_test(tables_are_sound),
        cmocka_unit_test(an_option_given_again_keeps_every_text),
    };
    return cmocka_run_group_tests(tests, enter_scratch, leave_scratch);
}
