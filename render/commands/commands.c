/* The program's one table of commands. A command is one file that exports its struct, and one line here. */
#include "options.h"

#include "values.h"

extern const struct command command_trace, command_check, command_new, command_compare, command_sweep,
    command_inspect, command_draw;

const struct command *const commands[] = {
    &command_trace, &command_check,   &command_new,  &command_compare,
    &command_sweep, &command_inspect, &command_draw, NULL,
};

const struct option common_options[] = {
    {"help", NULL, "print this help and leave", NULL, NULL, COMPLETE_NOTHING},
    {"version", NULL, "print the version and leave", NULL, NULL, COMPLETE_NOTHING},
    {NULL, NULL, NULL, NULL, NULL, COMPLETE_NOTHING},
};

static const char *const shells[] = {"bash", NULL};

const struct option program_options[] = {
    {"help", NULL, "print this help and leave", NULL, NULL, COMPLETE_NOTHING},
    {"version", NULL, "print the version and leave", NULL, NULL, COMPLETE_NOTHING},
    {"print-manual", NULL, "print the manual page, as troff text, and leave", NULL, NULL, COMPLETE_NOTHING},
    {"print-completion", "SHELL", "print the completion for a shell and leave: bash", value_choice, shells,
     COMPLETE_CHOICES},
    {NULL, NULL, NULL, NULL, NULL, COMPLETE_NOTHING},
};
