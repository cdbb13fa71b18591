/* What the tables say, in three forms: --help, the manual page and the shell's completion. */
#include "options.h"
#include "text.h"

#include "luxfall.h"

#include <string.h>

#define PAGE_WIDTH 100

static const char purpose[] = "where the light of LEDs behind lenses falls";

static const char exit_text[] =
    "0 done, warnings included; 1 the machine could not (memory, disk, permission); 2 the "
    "scene, a named file or the words of the command are wrong; 130 stopped by the user.";

static const char vectors_text[] = "sets the default of --vectors.";

static const char cautions_text[] =
    "Do not look into a lit lens: start at low current and aim by the spot on paper; mirrors, eyepieces and shiny "
    "parts "
    "send the beam back. White LEDs carry strong blue; lenses and boards burn skin. Prefer a certified low-voltage "
    "supply; "
    "mains work is for a licensed electrician. All results are estimates from typical data, no assessment of any "
    "product; local codes and licensed practice decide.";

/* ---- help ------------------------------------------------------------------------------------------------------ */

void print_wrapped(FILE *stream, const char *text, int at, int indent) {
    while (*text) {
        int length = (int)strcspn(text, " \n");
        if (at > indent && at + 1 + length > PAGE_WIDTH) {
            fprintf(stream, "\n%*s", indent, "");
            at = indent;
        }
        at += fprintf(stream, "%s%.*s", at > indent ? " " : "", length, text);
        text += length;
        if (text[0] == '\n' && text[1] == '\n') {
            fprintf(stream, "\n\n%*s", indent, "");
            at = indent;
        }
        text += strspn(text, " \n");
    }
    fputc('\n', stream);
}

static void print_option(FILE *stream, const struct option *option) {
    int at =
        fprintf(stream, "  --%s%s%s", option->name, option->value ? " " : "", option->value ? option->value : "");
    int column = 24;
    if (at >= column)
        fprintf(stream, "\n%*s", column, "");
    else
        fprintf(stream, "%*s", column - at, "");
    print_wrapped(stream, option->help, column, column);
}

static void print_options(FILE *stream, const struct option *options) {
    for (; options->name; options++)
        print_option(stream, options);
}

void help_print_program(FILE *stream) {
    fprintf(stream, "luxfall %s: %s\n\nusage: luxfall COMMAND [options]\n\ncommands:\n", luxfall_version(), purpose);
    for (size_t i = 0; commands[i]; i++) {
        fprintf(stream, "  %-22s", commands[i]->name);
        print_wrapped(stream, commands[i]->summary, 24, 24);
    }
    fputs("\noptions:\n", stream);
    print_options(stream, program_options);
    fputs("\nluxfall COMMAND --help tells the options of a command.\n\nexit status:", stream);
    print_wrapped(stream, exit_text, 12, 0);
    fputs("environment: LUXFALL_VECTORS", stream);
    print_wrapped(stream, vectors_text, 28, 0);
    fputc('\n', stream);
    print_wrapped(stream, cautions_text, 0, 0);
}

void help_print_command(const struct command *command, FILE *stream) {
    fprintf(stream, "usage: luxfall %s %s [options]\n\n", command->name, command->words);
    print_wrapped(stream, command->about, 0, 0);
    fputs("\noptions:\n", stream);
    print_options(stream, command->options);
    print_options(stream, common_options);
}

/* ---- manual ---------------------------------------------------------------------------------------------------- */

/* A hyphen of an option must stay a minus sign when it is printed; a backslash starts an escape. */
static void print_troff(FILE *stream, const char *text) {
    for (bool line_start = true; *text; text++) {
        if (text[0] == '\n' && text[1] == '\n') {
            fputs("\n.PP\n", stream);
            text += strspn(text, "\n") - 1;
            line_start = true;
            continue;
        }
        if (line_start && (*text == '.' || *text == '\''))
            fputs("\\&", stream);
        if (*text == '-')
            fputs("\\-", stream);
        else if (*text == '\\')
            fputs("\\e", stream);
        else
            fputc(*text, stream);
        line_start = *text == '\n';
    }
    fputc('\n', stream);
}

static void manual_options(FILE *stream, const struct option *options) {
    for (; options->name; options++) {
        fputs(".TP\n\\fB\\-\\-", stream);
        for (const char *c = options->name; *c; c++)
            fputs(*c == '-' ? "\\-" : (char[]){*c, '\0'}, stream);
        fprintf(stream, "\\fR%s%s%s\n", options->value ? " \\fI" : "", options->value ? options->value : "",
                options->value ? "\\fR" : "");
        print_troff(stream, options->help);
    }
}

static void manual_command(FILE *stream, const struct command *command) {
    fprintf(stream, ".SS luxfall %s %s\n", command->name, command->words);
    print_troff(stream, command->about);
    manual_options(stream, command->options);
}

static void manual_section(FILE *stream, const char *heading, const char *text) {
    fprintf(stream, ".SH %s\n", heading);
    print_troff(stream, text);
}

void manual_print(FILE *stream) {
    fprintf(stream, ".TH LUXFALL 1 \"\" \"luxfall %s\" \"User Commands\"\n.SH NAME\nluxfall \\- %s\n.SH SYNOPSIS\n",
            luxfall_version(), purpose);
    for (size_t i = 0; commands[i]; i++)
        fprintf(stream, "%s\\fBluxfall %s\\fR %s [\\fIoptions\\fR]\n", i ? ".br\n" : "", commands[i]->name,
                commands[i]->words);
    manual_section(stream, "DESCRIPTION",
                   "Reads a scene (emitters, lenses, modules, target and fields, in YAML) and forecasts the map of "
                   "illuminance, with the 95 % band of every figure. Results go to standard output, talk to standard "
                   "error.");
    fputs(".SH COMMANDS\n", stream);
    for (size_t i = 0; commands[i]; i++)
        manual_command(stream, commands[i]);
    fputs(".SH OPTIONS OF EVERY COMMAND\n", stream);
    manual_options(stream, common_options);
    fputs(".SH OPTIONS WITHOUT A COMMAND\n", stream);
    manual_options(stream, program_options);
    manual_section(stream, "EXIT STATUS", exit_text);
    fputs(".SH ENVIRONMENT\n.TP\n\\fBLUXFALL_VECTORS\\fR\n", stream);
    print_troff(stream, vectors_text);
    manual_section(stream, "CAUTIONS", cautions_text);
}

/* ---- completion ------------------------------------------------------------------------------------------------ */

static void completion_words(FILE *stream, const char *const *words) {
    for (; *words; words++)
        fprintf(stream, " %s", *words);
}

static void completion_of(FILE *stream, enum completion kind, const char *const *choices) {
    switch (kind) {
    case COMPLETE_CHOICES:
        fputs("_luxfall_words", stream);
        completion_words(stream, choices);
        break;
    case COMPLETE_FILE:
        fputs("_luxfall_files -f", stream);
        break;
    case COMPLETE_SCENE:
        fputs("_luxfall_files -f -X '!*.y*ml'", stream);
        break;
    case COMPLETE_FOLDER:
        fputs("_luxfall_files", stream);
        break;
    case COMPLETE_NOTHING:
        fputc(':', stream);
        break;
    }
}

static void completion_command(FILE *stream, const struct command *command) {
    fprintf(stream, "    %s)\n        case $before in\n", command->name);
    for (const struct option *option = command->options; option->name; option++) {
        if (!option->value)
            continue;
        fprintf(stream, "        --%s) ", option->name);
        completion_of(stream, option->completion, option->choices);
        fputs("; return ;;\n", stream);
    }
    fputs("        esac\n        case $word in\n        -*) _luxfall_words", stream);
    for (const struct option *option = command->options; option->name; option++)
        fprintf(stream, " --%s", option->name);
    for (const struct option *option = common_options; option->name; option++)
        fprintf(stream, " --%s", option->name);
    fputs(" ;;\n        *) ", stream);
    completion_of(stream, command->words_completion, command->word_choices);
    fputs(" ;;\n        esac ;;\n", stream);
}

void completion_print_bash(FILE *stream) {
    fputs("# Completion of luxfall for bash; made by luxfall --print-completion bash.\n"
          "_luxfall_words() { mapfile -t COMPREPLY < <(compgen -W \"$*\" -- \"$word\"); }\n"
          "_luxfall_files() {\n"
          "    compopt -o filenames\n"
          "    mapfile -t COMPREPLY < <({ compgen -d -- \"$word\"; "
          "[ $# -eq 0 ] || compgen \"$@\" -- \"$word\"; } | sort -u)\n"
          "}\n"
          "_luxfall() {\n"
          "    local word=${COMP_WORDS[COMP_CWORD]} before=${COMP_WORDS[COMP_CWORD-1]}\n"
          "    COMPREPLY=()\n"
          "    if [ \"$COMP_CWORD\" -eq 1 ]; then\n"
          "        _luxfall_words",
          stream);
    for (size_t i = 0; commands[i]; i++)
        fprintf(stream, " %s", commands[i]->name);
    for (const struct option *option = program_options; option->name; option++)
        fprintf(stream, " --%s", option->name);
    fputs("\n        return\n    fi\n    case ${COMP_WORDS[1]} in\n", stream);
    for (size_t i = 0; commands[i]; i++)
        completion_command(stream, commands[i]);
    for (const struct option *option = program_options; option->name; option++) {
        if (!option->choices)
            continue;
        fprintf(stream, "    --%s) _luxfall_words", option->name);
        completion_words(stream, option->choices);
        fputs(" ;;\n", stream);
    }
    fputs("    esac\n}\ncomplete -F _luxfall luxfall\n", stream);
}
