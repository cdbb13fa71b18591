#include "scenes/numbers.h"

#include <ctype.h>
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <strings.h>

enum { TOKEN_MAX = 64 };

/* uselocale() works on this thread alone. A failure leaves the locale as it was. */
locale_t numbers_begin(void) {
    locale_t plain = newlocale(LC_ALL_MASK, "C", (locale_t)0);
    return plain == (locale_t)0 ? (locale_t)0 : uselocale(plain);
}

void numbers_end(locale_t before) {
    if (before == (locale_t)0)
        return;
    locale_t plain = uselocale(before);
    if (plain != before)
        freelocale(plain);
}

static bool is_digit(char c) {
    return c >= '0' && c <= '9';
}

static size_t digits(const char *text) {
    size_t count = 0;
    while (is_digit(text[count]))
        count++;
    return count;
}

static size_t exponent_length(const char *text) {
    if (text[0] != 'e' && text[0] != 'E')
        return 0;
    size_t sign = text[1] == '+' || text[1] == '-';
    size_t count = digits(&text[1 + sign]);
    return count == 0 ? 0 : 1 + sign + count;
}

static enum number_status why_no_number(const char *text) {
    if (text[0] == '+' || text[0] == '-') {
        if (text[1] == '+' || text[1] == '-')
            return NUMBER_DOUBLE_SIGN;
        text++;
    }
    if (text[0] == '.' && isalpha((unsigned char)text[1]))
        text++; /* YAML's own .inf and .nan */
    if (strncasecmp(text, "inf", 3) == 0 || strncasecmp(text, "nan", 3) == 0)
        return NUMBER_NOT_REAL;
    return NUMBER_NONE;
}

static enum number_status convert(const char *text, size_t length, double *out) {
    char token[TOKEN_MAX + 1];
    memcpy(token, text, length);
    token[length] = '\0';
    locale_t before = numbers_begin();
    double value = strtod(token, NULL);
    numbers_end(before);
    if (!(fabs(value) <= 1e300))
        return NUMBER_OVERFLOW;
    *out = value;
    return NUMBER_OK;
}

enum number_status number_read(const char *text, double *out, const char **rest) {
    size_t sign = text[0] == '+' || text[0] == '-';
    size_t whole = digits(&text[sign]), length = sign + whole, part = 0;
    if (whole == 1 && text[sign] == '0' && (text[length] == 'x' || text[length] == 'X') &&
        isxdigit((unsigned char)text[length + 1]))
        return NUMBER_HEX;
    if (text[length] == '.') {
        part = digits(&text[length + 1]);
        length += whole > 0 || part > 0 ? 1 + part : 0;
    }
    if (whole == 0 && part == 0)
        return why_no_number(text);
    length += exponent_length(&text[length]);
    if (text[length] == '.')
        return NUMBER_TWO_POINTS;
    if (text[length] == ',' && is_digit(text[length + 1]))
        return NUMBER_COMMA;
    if (length > TOKEN_MAX)
        return NUMBER_LONG;
    *rest = &text[length];
    return convert(text, length, out);
}

const char *number_complaint(enum number_status status) {
    static const char *const complaints[] = {
        [NUMBER_OK] = "is a number",
        [NUMBER_NONE] = "does not begin with a number",
        [NUMBER_NOT_REAL] = "is not a finite number",
        [NUMBER_HEX] = "is hexadecimal; write it in decimal",
        [NUMBER_DOUBLE_SIGN] = "has two signs",
        [NUMBER_TWO_POINTS] = "has two decimal points",
        [NUMBER_COMMA] = "has a decimal comma; write a point",
        [NUMBER_LONG] = "is too long for a number (64 bytes at most)",
        [NUMBER_OVERFLOW] = "is too large a number",
    };
    return complaints[status];
}

void number_write(double value, char *text, size_t size) {
    locale_t before = numbers_begin();
    for (int precision = 1; precision <= 17; precision++) {
        snprintf(text, size, "%.*g", precision, value);
        if (strtod(text, NULL) == value)
            break;
    }
    /* 1e+02 is right but unkind. */
    if (strchr(text, 'e') != NULL && fabs(value) >= 1 && fabs(value) < 1e15 && value == floor(value))
        snprintf(text, size, "%.0f", value);
    numbers_end(before);
}

double number_rounded(double value, int digits_kept) {
    char text[32];
    locale_t before = numbers_begin();
    snprintf(text, sizeof text, "%.*g", digits_kept, value);
    double rounded = strtod(text, NULL);
    numbers_end(before);
    return rounded;
}
