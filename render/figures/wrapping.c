#include "wrapping.h"

#include <ctype.h>
#include <stdbool.h>
#include <stdlib.h>
#include <string.h>

static const char *const units[] = {"mm", "cm", "m",  "µm", "nm", "lm", "lx", "klx", "Mlx",     "cd",
                                    "mA", "A",  "mV", "V",  "mW", "W",  "s",  "ms",  "million", "thousand"};
static const char *const signs[] = {"±", "×"}, *const marks[] = {"%", "°", "‰"};

static bool starts(const char *words, const char *with) {
    return strncmp(words, with, strlen(with)) == 0;
}

static bool starts_with_unit(const char *words) {
    for (size_t i = 0; i < sizeof marks / sizeof *marks; i++)
        if (starts(words, marks[i]))
            return true;
    for (size_t i = 0; i < sizeof units / sizeof *units; i++)
        if (starts(words, units[i]) && !isalnum((unsigned char)words[strlen(units[i])]))
            return true;
    return false;
}

static bool ends_with_sign(const char *words, size_t length) {
    for (size_t i = 0; i < sizeof signs / sizeof *signs; i++) {
        size_t size = strlen(signs[i]);
        if (length >= size && starts(words + length - size, signs[i]))
            return true;
    }
    return false;
}

/* Of a space after a comma: it stands among numbers in brackets. */
static bool is_within_place(const char *words, size_t space) {
    static const char numbers[] = "0123456789.,+ \u2212"; /* the last is the minus sign, by its bytes */
    size_t from = space;
    while (from > 0 && strchr(numbers, words[from - 1]) != NULL)
        from--;
    return words[space - 1] == ',' && from > 0 && words[from - 1] == '(' &&
           words[space + strspn(words + space, numbers)] == ')';
}

/* A break at this space would part what is read as one. */
static bool joins(const char *words, size_t space) {
    const char *after = words + space + 1;
    if (space == 0)
        return false;
    bool number = isdigit((unsigned char)words[space - 1]) || words[space - 1] == ')';
    bool next_number = isdigit((unsigned char)*after) || starts(after, "−");
    return (number && (starts_with_unit(after) || starts(after, signs[0]) || starts(after, signs[1]))) ||
           (next_number && (ends_with_sign(words, space) || is_within_place(words, space)));
}

char *words_kept_together(const char *words) {
    static const char no_break_space[] = "\u00a0";
    char *out = malloc(strlen(words) * (sizeof no_break_space - 1) + 1), *to = out;
    for (size_t i = 0; out != NULL && words[i] != '\0'; i++) {
        if (words[i] == ' ' && joins(words, i))
            to = stpcpy(to, no_break_space);
        else
            *to++ = words[i];
    }
    if (out != NULL)
        *to = '\0';
    return out;
}
