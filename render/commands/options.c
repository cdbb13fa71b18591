#include "options.h"

#include "luxfall.h"
#include "scenes/keys.h"

#include <popt.h>
#include <stdlib.h>
#include <string.h>

size_t options_count(const struct option *options) {
    size_t count = 0;
    while (options[count].name)
        count++;
    return count;
}

/* One parse: the values by the table's order, and how it ended. status -1: go on and run. */
struct parse {
    const struct command *command;
    struct option_value values[OPTIONS_MAX];
    int status;
};

static const char *nearest_option(const struct command *command, const char *typed) {
    const char *names[OPTIONS_MAX + 1];
    size_t count = 0;
    for (const struct option *option = command->options; option->name; option++)
        names[count++] = option->name;
    for (const struct option *option = common_options; option->name; option++)
        names[count++] = option->name;
    names[count] = NULL;
    return nearest_word(typed, names);
}

static int wrong_use(const struct command *command, const char *what) {
    fprintf(stderr, "luxfall %s: error: %s\nusage: luxfall %s %s [options]; luxfall %s --help tells more\n",
            command->name, what, command->name, command->words, command->name);
    return EXIT_USER;
}

static int bad_option(const struct command *command, const char *given, int code) {
    char what[256];
    const char *typed = given + strspn(given, "-");
    char name[64];
    snprintf(name, sizeof name, "%.*s", (int)strcspn(typed, "="), typed);
    const char *near = code == POPT_ERROR_BADOPT ? nearest_option(command, name) : NULL;
    if (code == POPT_ERROR_NOARG)
        snprintf(what, sizeof what, "--%.60s needs a value", name);
    else if (code == POPT_ERROR_UNWANTEDARG)
        snprintf(what, sizeof what, "--%.60s takes no value", name);
    else if (code != POPT_ERROR_BADOPT)
        snprintf(what, sizeof what, "%.100s: %.100s", given, poptStrerror(code));
    else if (near)
        snprintf(what, sizeof what, "unknown option '%.60s'; did you mean '--%s'?", given, near);
    else
        snprintf(what, sizeof what, "unknown option '%.60s'", given);
    return wrong_use(command, what);
}

/* Takes over the text; NULL stays for a switch. */
static bool keep_text(struct option_value *value, char *text) {
    char **more = realloc(value->texts, (value->text_count + 2) * sizeof *more);
    if (!more) {
        free(text);
        return false;
    }
    more[value->text_count] = text;
    value->text_count += text != NULL;
    more[value->text_count] = NULL;
    value->texts = more;
    value->text = text;
    return true;
}

static void take_value(struct parse *parse, size_t index, char *text) {
    const struct option *option = &parse->command->options[index];
    struct option_value *value = &parse->values[index];
    char reason[300], what[400];
    *value = (struct option_value){.given = true, .texts = value->texts, .text_count = value->text_count};
    if (!keep_text(value, text)) {
        fputs("luxfall: error: out of memory\n", stderr);
        parse->status = EXIT_MACHINE;
    } else if (option->convert && !option->convert(option, text, value, reason, sizeof reason)) {
        snprintf(what, sizeof what, "--%s: %s", option->name, reason);
        parse->status = wrong_use(parse->command, what);
    }
}

static void release_value(struct option_value *value) {
    for (size_t i = 0; i < value->text_count; i++)
        free(value->texts[i]);
    free(value->texts);
}

/* popt sees the command's options and the common ones; its number for each is the index + 1. */
static void popt_table(const struct command *command, struct poptOption *table) {
    size_t own = options_count(command->options), all = own + options_count(common_options);
    for (size_t i = 0; i < all; i++) {
        const struct option *option = i < own ? &command->options[i] : &common_options[i - own];
        table[i] = (struct poptOption){
            .longName = option->name, .argInfo = option->value ? POPT_ARG_STRING : POPT_ARG_NONE, .val = (int)i + 1};
    }
    table[all] = (struct poptOption){0};
}

static void take_options(struct parse *parse, poptContext context) {
    size_t own = options_count(parse->command->options);
    int found;
    while (parse->status < 0 && (found = poptGetNextOpt(context)) > 0) {
        size_t index = (size_t)found - 1;
        if (index < own)
            take_value(parse, index, poptGetOptArg(context));
        else {
            if (strcmp(common_options[index - own].name, "help") == 0)
                help_print_command(parse->command, stdout);
            else
                printf("luxfall %s\n", luxfall_version());
            parse->status = EXIT_DONE;
        }
    }
    if (parse->status < 0 && found < -1)
        parse->status = bad_option(parse->command, poptBadOption(context, POPT_BADOPTION_NOALIAS), found);
}

static int run_parsed(struct parse *parse, poptContext context) {
    const struct command *command = parse->command;
    const char *const none[] = {NULL};
    const char **rest = poptGetArgs(context);
    const char *const *words = rest ? (const char *const *)rest : none;
    int count = 0;
    while (words[count])
        count++;
    char what[200];
    if (count >= command->words_min && (command->words_max == 0 || count <= command->words_max))
        return command->run(parse->values, words);
    if (count < command->words_min)
        snprintf(what, sizeof what, "%s is missing", command->words);
    else
        snprintf(what, sizeof what, "'%.100s' is one word too many", words[command->words_max]);
    return wrong_use(command, what);
}

int command_run(const struct command *command, int word_count, const char **words) {
    struct parse parse = {.command = command, .status = -1};
    struct poptOption table[OPTIONS_MAX + 1];
    popt_table(command, table);
    poptContext context = poptGetContext("luxfall", word_count, words, table, 0);
    if (!context) {
        fputs("luxfall: error: out of memory\n", stderr);
        return EXIT_MACHINE;
    }
    take_options(&parse, context);
    int status = parse.status < 0 ? run_parsed(&parse, context) : parse.status;
    for (size_t i = 0; i < options_count(command->options); i++)
        release_value(&parse.values[i]);
    poptFreeContext(context);
    return status;
}
