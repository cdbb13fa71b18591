/* Options of the program: one table a command. Parser, --help, man page and completion all read it. */
#ifndef RENDER_COMMANDS_OPTIONS_H
#define RENDER_COMMANDS_OPTIONS_H

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>
#include <stdio.h>

/* Exit status of the program, design: done, the machine could not, the user's words or files are wrong, stopped. */
enum { EXIT_DONE = 0, EXIT_MACHINE = 1, EXIT_USER = 2, EXIT_STOPPED = 130 };

/* What an option was given. Given several times, the last counts: number, count, choice and text are its. */
struct option_value {
    bool given;
    const char *text;
    char **texts; /* every one that was given, in order, and NULL; NULL: none */
    size_t text_count;
    double number;
    uint64_t count;
    int choice;
};

/* What a shell may offer for a value or a word. */
enum completion { COMPLETE_NOTHING, COMPLETE_CHOICES, COMPLETE_FILE, COMPLETE_SCENE, COMPLETE_FOLDER };

struct option {
    const char *name;  /* without the dashes */
    const char *value; /* what stands for the value in the help; NULL: a switch */
    const char *help;  /* one sentence, no full stop */
    /* Turns the text into the value; false: reason says what is wrong with it and what is expected. NULL: a switch.
     */
    bool (*convert)(const struct option *option, const char *text, struct option_value *value, char *reason,
                    size_t reason_size);
    const char *const *choices; /* NULL-terminated, or NULL */
    enum completion completion;
};

struct command {
    const char *name;
    const char *words;        /* the words after the name, as the usage line shows them */
    const char *summary;      /* one line */
    const char *about;        /* paragraphs for help and manual, parted by empty lines */
    int words_min, words_max; /* how many of them; words_max 0: any number */
    enum completion words_completion;
    const char *const *word_choices; /* NULL-terminated, or NULL */
    const struct option *options;    /* ends with a NULL name */
    int (*run)(const struct option_value *values, const char *const *words);
};

/* Every command, NULL-terminated; the options that all of them take; those of the program without a command. */
extern const struct command *const commands[];
extern const struct option common_options[];
extern const struct option program_options[];

size_t options_count(const struct option *options);
#define OPTIONS_MAX 64 /* of one command, the common ones included */

/* Parses the words after the command's name and runs the command. Returns the exit status. */
int command_run(const struct command *command, int word_count, const char **words);

/* --help, the manual and the completion, all from the tables. */
void help_print_program(FILE *stream);
void help_print_command(const struct command *command, FILE *stream);
void manual_print(FILE *stream);
void completion_print_bash(FILE *stream);

#endif
