#include "values.h"

#include "render/figures/figures.h"
#include "scenes/keys.h"
#include "scenes/numbers.h"
#include "scenes/units.h"

#include <math.h>
#include <stdarg.h>
#include <stdlib.h>
#include <string.h>

static bool refuse(char *reason, size_t size, const char *format, ...) __attribute__((format(printf, 3, 4)));

static bool refuse(char *reason, size_t size, const char *format, ...) {
    va_list arguments;
    va_start(arguments, format);
    vsnprintf(reason, size, format, arguments);
    va_end(arguments);
    return false;
}

/* A decimal number at the start of text, then perhaps blanks; *rest is what follows. */
static bool decimal(const char *text, double *number, const char **rest) {
    if (number_read(text, number, rest) != NUMBER_OK)
        return false;
    *rest += strspn(*rest, " ");
    return true;
}

static bool whole_number(const char *text, uint64_t low, uint64_t high, uint64_t *number) {
    if (*text == '\0' || text[strspn(text, "0123456789")] != '\0' || strlen(text) > 19)
        return false;
    *number = strtoull(text, NULL, 10); /* at most 19 digits: below 2^64 */
    return *number >= low && *number <= high;
}

CONVERTER(value_text) {
    (void)option;
    (void)value; /* the caller keeps the text itself */
    return *text != '\0' || refuse(reason, reason_size, "is empty");
}

CONVERTER(value_choice) {
    char list[160] = "";
    for (int i = 0; option->choices[i]; i++) {
        if (strcmp(option->choices[i], text) == 0) {
            value->choice = i;
            return true;
        }
        size_t used = strlen(list);
        snprintf(list + used, sizeof list - used, "%s%s", i ? ", " : "", option->choices[i]);
    }
    const char *near = nearest_word(text, option->choices);
    if (near)
        return refuse(reason, reason_size, "'%s' is none of %s; did you mean '%s'?", text, list, near);
    return refuse(reason, reason_size, "'%s' is none of %s", text, list);
}

CONVERTER(value_percent) {
    (void)option;
    const char *rest;
    double percent;
    if (!decimal(text, &percent, &rest) || (*rest && strcmp(rest, "%") != 0))
        return refuse(reason, reason_size, "'%s' is not a percentage such as 0.5 or 0.5%%", text);
    if (!(percent > 0 && percent <= 50))
        return refuse(reason, reason_size, "'%s' is out of range: over 0, at most 50 %%", text);
    value->number = percent / 100;
    return true;
}

CONVERTER(value_rays) {
    (void)option;
    const char *rest;
    double count;
    if (!decimal(text, &count, &rest))
        return refuse(reason, reason_size, "'%s' is not a number of rays such as 20e6 or \"20 million\"", text);
    if (strcmp(rest, "thousand") == 0)
        count *= 1e3;
    else if (strcmp(rest, "million") == 0)
        count *= 1e6;
    else if (*rest)
        return refuse(reason, reason_size, "'%s' ends in '%s'; expected nothing, thousand or million", text, rest);
    if (!(count >= 1 && count <= 0x1p40))
        return refuse(reason, reason_size, "'%s' is out of range: 1 to 2^40 rays", text);
    if (count != floor(count))
        return refuse(reason, reason_size, "'%s' is not a whole number of rays", text);
    value->count = (uint64_t)count;
    return true;
}

CONVERTER(value_seed) {
    (void)option;
    return whole_number(text, 0, INT64_MAX, &value->count) ||
           refuse(reason, reason_size, "'%s' is not a whole number from 0 to 2^63 - 1", text);
}

CONVERTER(value_threads) {
    (void)option;
    return whole_number(text, 1, 1024, &value->count) ||
           refuse(reason, reason_size, "'%s' is not a whole number from 1 to 1024", text);
}

CONVERTER(value_pixels) {
    (void)option;
    return whole_number(text, FIGURE_WIDTH_MIN_PX, FIGURE_WIDTH_MAX_PX, &value->count) ||
           refuse(reason, reason_size, "'%s' is not a whole number of pixels from %d to %d", text,
                  FIGURE_WIDTH_MIN_PX, FIGURE_WIDTH_MAX_PX);
}

CONVERTER(value_length) {
    (void)option;
    struct reason why;
    double mm;
    if (!quantity_read(text, LENGTH, &mm, &why))
        return refuse(reason, reason_size, "%s", why.text);
    if (!(mm > 0 && mm <= 1e6))
        return refuse(reason, reason_size, "'%s' is out of range: over 0, at most 1 km", text);
    value->number = mm;
    return true;
}

CONVERTER(value_lux) {
    (void)option;
    const char *rest;
    double lux;
    if (!decimal(text, &lux, &rest))
        return refuse(reason, reason_size, "'%s' is not an illuminance such as 120000 or \"120 klx\"", text);
    if (strcmp(rest, "klx") == 0)
        lux *= 1e3;
    else if (*rest && strcmp(rest, "lx") != 0)
        return refuse(reason, reason_size, "'%s' ends in '%s'; expected nothing, lx or klx", text, rest);
    if (!(lux > 0 && lux <= 1e9))
        return refuse(reason, reason_size, "'%s' is out of range: over 0, at most 1e9 lx", text);
    value->number = lux;
    return true;
}
