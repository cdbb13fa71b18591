/* luxfall: the program. Chooses the command; results go to stdout, talk to stderr. */
#include "luxfall.h"
#include "options.h"
#include "scenes/keys.h"

#include <errno.h>
#include <signal.h>
#include <stdlib.h>
#include <string.h>

static int wrong_first_word(const char *word) {
    const char *names[OPTIONS_MAX];
    size_t count = 0;
    if (word[0] == '-')
        for (const struct option *option = program_options; option->name; option++)
            names[count++] = option->name;
    else
        for (size_t i = 0; commands[i]; i++)
            names[count++] = commands[i]->name;
    names[count] = NULL;
    const char *near = nearest_word(word + strspn(word, "-"), names);
    fprintf(stderr, "luxfall: error: unknown %s '%.60s'", word[0] == '-' ? "option" : "command", word);
    if (near)
        fprintf(stderr, "; did you mean '%s%s'?", word[0] == '-' ? "--" : "", near);
    fputs("\nluxfall --help lists the commands\n", stderr);
    return EXIT_USER;
}

static int print_completion(const char *shell) {
    struct option_value value;
    char reason[300] = "needs a value: bash";
    const struct option *option = program_options;
    while (strcmp(option->name, "print-completion") != 0)
        option++;
    if (shell && option->convert(option, shell, &value, reason, sizeof reason)) {
        completion_print_bash(stdout);
        return EXIT_DONE;
    }
    fprintf(stderr, "luxfall: error: --print-completion: %s\n", reason);
    return EXIT_USER;
}

static int choose(int word_count, const char **words) {
    if (word_count < 2) {
        fputs("usage: luxfall COMMAND [options]\ncommands:", stderr);
        for (size_t i = 0; commands[i]; i++)
            fprintf(stderr, " %s", commands[i]->name);
        fputs("\nluxfall --help tells more; luxfall new ring > my-ring.yaml writes a first scene\n", stderr);
        return EXIT_USER;
    }
    const char *first = words[1];
    for (size_t i = 0; commands[i]; i++)
        if (strcmp(commands[i]->name, first) == 0)
            return command_run(commands[i], word_count - 1, words + 1);
    if (strcmp(first, "--version") == 0)
        printf("luxfall %s\n", luxfall_version());
    else if (strcmp(first, "--help") == 0)
        help_print_program(stdout);
    else if (strcmp(first, "--print-manual") == 0)
        manual_print(stdout);
    else if (strcmp(first, "--print-completion") == 0)
        return print_completion(word_count > 2 ? words[2] : NULL);
    else if (strncmp(first, "--print-completion=", 19) == 0)
        return print_completion(first + 19);
    else
        return wrong_first_word(first);
    return EXIT_DONE;
}

int main(int word_count, char **words) {
    signal(SIGPIPE, SIG_IGN); /* a reader that leaves is an error to report, not a death with half-written files */
    int status = choose(word_count, (const char **)words);
    bool failed = ferror(stdout) != 0;
    if ((fclose(stdout) != 0 || failed) && status == EXIT_DONE) {
        fprintf(stderr, "luxfall: error: standard output: %s\n", strerror(errno));
        status = EXIT_MACHINE;
    }
    return status;
}
