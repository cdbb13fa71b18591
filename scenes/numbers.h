/* Numbers as text. The grammar is ours, so that neither a locale nor "inf", "nan" or hexadecimal gets in. */
#ifndef SCENES_NUMBERS_H
#define SCENES_NUMBERS_H

#include <locale.h>
#include <stdbool.h>
#include <stddef.h>

enum number_status {
    NUMBER_OK,
    NUMBER_NONE,     /* no number here */
    NUMBER_NOT_REAL, /* inf or nan */
    NUMBER_HEX,
    NUMBER_DOUBLE_SIGN,
    NUMBER_TWO_POINTS,
    NUMBER_COMMA,
    NUMBER_LONG, /* over 64 bytes */
    NUMBER_OVERFLOW
};

/* Reads [+-]? ( D+ ( . D* )? | . D+ ) ( [eE] [+-]? D+ )? and sets *rest behind it. Underflow gives 0. */
enum number_status number_read(const char *text, double *out, const char **rest);

/* What was wrong, to follow a quote of the text: "is not a finite number". */
const char *number_complaint(enum number_status status);

/* The shortest text that number_read() turns into the same bits; at least 32 bytes of room. */
void number_write(double value, char *text, size_t size);

/* To so many significant digits: a computed value that reads as people would write it. */
double number_rounded(double value, int digits);

/* Numbers print with a point between these two, whatever the locale. */
locale_t numbers_begin(void);
void numbers_end(locale_t before);

#endif
