/* Round numbers for axes and colour bars, and the units they are told in. */
#ifndef RENDER_FIGURES_TICKS_H
#define RENDER_FIGURES_TICKS_H

#include <stddef.h>

#define TICKS_MAX 32
#define NUMBER_SIZE 32

struct ticks {
    int count;
    double at[TICKS_MAX];
    int decimals; /* that tell them apart; -1: each its own (log) */
};

/* A unit to show values in: value / size are numbers of it. */
struct shown_unit {
    const char *name;
    double size;
};

/* Multiples of 1, 2 or 5 x 10^n within lo..hi, as many as fit into at_most (2 or more). */
struct ticks ticks_linear(double lo, double hi, int at_most);
/* Decades, and 2 and 5 between them where they fit; 0 < lo < hi. */
struct ticks ticks_log(double lo, double hi, int at_most);
/* The one value, with as many decimals as it takes, at most to its fourth digit. */
struct ticks ticks_single(double value);
/* A typographic number: proper minus, fixed decimals. */
void tick_text(const struct ticks *ticks, int i, char text[NUMBER_SIZE]);

/* Unit of an axis as long as extent_mm: mm, cm or m. Unit of a lux scale that ends at top_lx: lx, klx or Mlx. */
struct shown_unit length_unit(double extent_mm);
struct shown_unit lux_unit(double top_lx);

/* What values of a unit up to `largest` are shown in: lux, and lux of something ("lx/W"), in klx or Mlx where they
 * are large; others as they come. Fills in the name, returns the size. */
#define UNIT_SIZE 64
double unit_to_show(const char *unit, double largest, char name[UNIT_SIZE]);

/* The next round number above a positive value: the top of a scale; 1, 2 or 5 x 10^n below it: the bottom. */
double round_above(double value);
double round_below(double value);
/* 1, 2 or 5 x 10^n, not below the value. */
double round_step(double value);

/* number_text() of at most four digits without the zeros at its end. */
void short_number_text(double value, char text[NUMBER_SIZE]);
/* value with digits significant digits, no exponent between 1e-4 and 1e7, typographic minus. */
void number_text(double value, int digits, char text[NUMBER_SIZE]);

#endif
