#include "scenes/units.h"
#include "scenes/keys.h"
#include "scenes/numbers.h"
#include "scenes/text.h"

#include <math.h>
#include <stdarg.h>
#include <stdio.h>
#include <string.h>

static const double PI = 3.14159265358979323846;

/* A value is number * times / over: a division by 100 gives the double nearest to the decimal, a product with 0.01
 * does not. */
struct unit {
    const char *name;
    enum dimension dimension;
    double times, over;
};

static const struct unit units[] = {
    {"um", LENGTH, 1, 1000},     {"µm", LENGTH, 1, 1000},  {"μm", LENGTH, 1, 1000},      {"mm", LENGTH, 1, 1},
    {"cm", LENGTH, 10, 1},       {"m", LENGTH, 1000, 1},   {"in", LENGTH, 25.4, 1},      {"deg", ANGLE, PI, 180},
    {"°", ANGLE, PI, 180},       {"rad", ANGLE, 1, 1},     {"lm", FLUX, 1, 1},           {"cd/lm", PEAK, 1, 1},
    {"lx", ILLUMINANCE, 1, 1},   {"mA", CURRENT, 1, 1000}, {"A", CURRENT, 1, 1},         {"V", VOLTAGE, 1, 1},
    {"°C", TEMPERATURE, 1, 1},   {"%", SHARE, 1, 100},     {"thousand", NUMBER, 1e3, 1}, {"million", NUMBER, 1e6, 1},
    {"nm", WAVELENGTH, 1, 1000}, {"", NUMBER, 1, 1},
};
enum { UNIT_COUNT = sizeof units / sizeof *units };

struct dimension_words {
    const char *name, *units, *written, *usual;
};

static const struct dimension_words words[DIMENSIONS] = {
    [LENGTH] = {"a length", "um, mm, cm, m or in", " mm", "mm"},
    [ANGLE] = {"an angle", "deg, ° or rad", " deg", "deg"},
    [WAVELENGTH] = {"a wavelength", "nm", " nm", "nm"},
    [FLUX] = {"a luminous flux", "lm", " lm", "lm"},
    [PEAK] = {"a peak in candela per lumen", "cd/lm", " cd/lm", "cd/lm"},
    [ILLUMINANCE] = {"an illuminance", "lx", " lx", "lx"},
    [CURRENT] = {"a current", "mA or A", " A", "mA"},
    [VOLTAGE] = {"a voltage", "V", " V", "V"},
    [TEMPERATURE] = {"a temperature", "°C", " °C", "°C"},
    [SHARE] = {"a share", "%", " %", "%"},
    [NUMBER] = {"a plain number", "thousand or million, if any", "", ""},
};

const char *dimension_name(enum dimension dimension) {
    return words[dimension].name;
}

const char *dimension_units(enum dimension dimension) {
    return words[dimension].units;
}

__attribute__((format(printf, 2, 3))) static bool refuse(struct reason *why, const char *format, ...) {
    va_list arguments;
    va_start(arguments, format);
    vsnprintf(why->text, sizeof why->text, format, arguments);
    va_end(arguments);
    return false;
}

static const char *skip_blanks(const char *text) {
    return text + strspn(text, " \t");
}

static size_t length_without_blanks_after(const char *text) {
    size_t length = strlen(text);
    while (length > 0 && (text[length - 1] == ' ' || text[length - 1] == '\t'))
        length--;
    return length;
}

static const struct unit *unit_named(const char *name, size_t length) {
    for (size_t i = 0; i < UNIT_COUNT; i++)
        if (strlen(units[i].name) == length && memcmp(units[i].name, name, length) == 0)
            return &units[i];
    return NULL;
}

static bool refuse_missing_unit(const char *text, double number, enum dimension dimension, struct reason *why) {
    char shown[32], hundred[32];
    number_write(number, shown, sizeof shown);
    if (dimension == SHARE && number > 0 && number < 1) {
        number_write(number * 100, hundred, sizeof hundred);
        return refuse(why, "'%.40s' has no unit; a share is written in %%: %s %% or %s %%", text, hundred, shown);
    }
    return refuse(why, "'%.40s' has no unit; %s takes %s, for instance %s %s", text, words[dimension].name,
                  words[dimension].units, shown, words[dimension].usual);
}

/* Characters that look like a minus or a blank come from web pages and word processors. */
static bool refuse_odd_character(const char *text, struct reason *why) {
    for (const char *c = text; *c != '\0';) {
        uint32_t code = 0;
        size_t length = utf8_character(c, strlen(c), &code);
        if (length == 0)
            return false;
        if (code == 0x2212 || code == 0x2013)
            return !refuse(why, "'%.40s' holds U+%04X, a dash that looks like a minus; write '-'", text,
                           (unsigned)code);
        if (code == 0xA0 || code == 0x202F || code == 0x2009)
            return !refuse(why, "'%.40s' holds U+%04X, a special blank; write an ordinary one", text, (unsigned)code);
        c += length;
    }
    return false;
}

static bool refuse_unknown_unit(const char *text, const char *name, size_t length, enum dimension dimension,
                                struct reason *why) {
    const char *known[UNIT_COUNT + 1] = {NULL};
    size_t count = 0;
    for (size_t i = 0; i < UNIT_COUNT; i++)
        if (units[i].dimension == dimension && units[i].name[0] != '\0')
            known[count++] = units[i].name;
    char copy[24];
    snprintf(copy, sizeof copy, "%.*s", (int)(length < 20 ? length : 20), name);
    const char *near = nearest_word(copy, known);
    if (dimension == NUMBER)
        return refuse(why, "'%.40s' has a unit; %s is expected", text, words[dimension].name);
    return refuse(why, "'%.40s': unknown unit '%s'; %s takes %s%s%s%s", text, copy, words[dimension].name,
                  words[dimension].units, near ? " (did you mean '" : "", near ? near : "", near ? "'?)" : "");
}

bool quantity_read(const char *text, enum dimension dimension, double *out, struct reason *why) {
    double number = 0;
    const char *rest = text;
    if (refuse_odd_character(text, why))
        return false;
    text = skip_blanks(text);
    enum number_status status = number_read(text, &number, &rest);
    if (status != NUMBER_OK)
        return refuse(why, "'%.40s' %s; %s with %s is expected", text, number_complaint(status),
                      words[dimension].name, words[dimension].units);
    const char *name = skip_blanks(rest);
    size_t length = length_without_blanks_after(name);
    const struct unit *unit = unit_named(name, length);
    if (unit == NULL)
        return refuse_unknown_unit(text, name, length, dimension, why);
    if (length == 0 && dimension != NUMBER && number != 0)
        return refuse_missing_unit(text, number, dimension, why);
    if (length > 0 && unit->dimension != dimension && dimension == NUMBER)
        return refuse(why, "'%.40s' has a unit; %s is expected", text, words[dimension].name);
    if (length > 0 && unit->dimension != dimension)
        return refuse(why, "'%.40s' is %s; %s is expected, with %s", text, words[unit->dimension].name,
                      words[dimension].name, words[dimension].units);
    *out = length == 0 ? number : number * unit->times / unit->over;
    return isfinite(*out) || refuse(why, "'%.40s' is too large a number", text);
}

/* No unit of a product holds an x, so the first sign splits it. */
static const char *product_sign(const char *text, size_t *length) {
    for (const char *c = text; *c != '\0'; c++) {
        *length = *c == 'x' || *c == 'X' || *c == '*' ? 1 : strncmp(c, "×", 2) == 0 ? 2 : 0;
        if (*length > 0)
            return c;
    }
    return NULL;
}

bool is_product(const char *text) {
    size_t length = 0;
    return product_sign(text, &length) != NULL;
}

bool product_read(const char *text, enum dimension dimension, double out[2], struct reason *why) {
    size_t sign_length = 0;
    const char *sign = product_sign(text, &sign_length);
    if (sign == NULL)
        return refuse(why, "'%.40s' is not a product; two values are expected, such as 12 %s x 18 %s", text,
                      words[dimension].usual, words[dimension].usual);
    char first[80];
    if (sign - text >= (ptrdiff_t)sizeof first)
        return refuse(why, "'%.40s...' is too long", text);
    memcpy(first, text, (size_t)(sign - text));
    first[sign - text] = '\0';
    first[length_without_blanks_after(first)] = '\0';
    if (product_sign(sign + sign_length, &sign_length) != NULL)
        return refuse(why, "'%.40s' is a product of more than two values", text);
    if (skip_blanks(first)[0] == '0' && sign[-(sign > text)] == '0' && strlen(skip_blanks(first)) == 1 &&
        sign[1] != ' ' && *sign != '*')
        return refuse(why, "'%.40s' is hexadecimal; write it in decimal", text);
    return quantity_read(first, dimension, &out[0], why) &&
           quantity_read(sign + (strncmp(sign, "×", 2) == 0 ? 2 : 1), dimension, &out[1], why);
}

/* The number before the unit, in the unit people write. */
static double in_written_unit(double value, enum dimension dimension) {
    return dimension == ANGLE        ? value * 180 / PI
           : dimension == WAVELENGTH ? value * 1000
           : dimension == SHARE      ? value * 100
                                     : value;
}

/* A value that came from text in that unit has a number of at most 17 digits that leads back to it, close to the
 * quotient; a computed angle may have none and is then written in rad, which always leads back. */
void quantity_write(double value, enum dimension dimension, char *text, size_t size) {
    double number = in_written_unit(value, dimension);
    for (int precision = 1; precision <= 17; precision++) {
        char digits[40], whole[64];
        double back = 0;
        struct reason why;
        locale_t before = numbers_begin();
        snprintf(digits, sizeof digits, "%.*g", precision, number);
        numbers_end(before);
        snprintf(whole, sizeof whole, "%s%s", digits, words[dimension].written);
        if (quantity_read(whole, dimension, &back, &why) && back == value) {
            const char *rest = NULL;
            number_read(digits, &number, &rest);
            number_write(number, digits, sizeof digits);
            snprintf(text, size, "%s%s", digits, words[dimension].written);
            return;
        }
    }
    char digits[40];
    number_write(dimension == ANGLE ? value : number, digits, sizeof digits);
    snprintf(text, size, "%s%s", digits, dimension == ANGLE ? " rad" : words[dimension].written);
}

void quantity_show(double value, enum dimension dimension, char *text, size_t size) {
    char digits[40];
    bool milli = dimension == CURRENT && value != 0 && fabs(value) < 1;
    number_write(number_rounded(in_written_unit(milli ? 1000 * value : value, dimension), 6), digits, sizeof digits);
    snprintf(text, size, "%s%s", digits, milli ? " mA" : words[dimension].written);
}
