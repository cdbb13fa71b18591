/* Small texts that the command line takes: what to vary, what is wanted, at which current. Every mistake is a message
 * with the option as its file, the place in the text and a caret. */
#ifndef RENDER_COMMANDS_WISHES_H
#define RENDER_COMMANDS_WISHES_H

#include "statistic.h"

enum { VARY_STEPS_MAX = 1000, VARY_STEPS_USUAL = 25, WISH_SIZE = 256 };

/* "modules.ring.aim=0 mm short..60 mm short/31": a path of the scene and numbers from one to the other, in their
 * unit. Without steps: 25, or every whole number of a count that has no unit. A unit after the second number holds
 * for the first. "20 mm past..60 mm short" goes through the centre: its numbers are -20..60, in "mm short". */
struct vary {
    char path[WISH_SIZE];
    char before[16]; /* all that stands before the number: "disc", "" */
    char unit[32];   /* all that stands behind the number: "mm short", "deg", "mA", "" */
    double from, to;
    size_t steps; /* 1 or more values */
};
bool vary_read(const char *text, struct messages *messages, struct vary *out);
/* A number that vary_text() writes so that it reads back to the same bits. */
double vary_number(const struct vary *vary, size_t step);
/* As the scene would say it, the number to 15 digits at most: "36 mm short", and "centre" for none of it. */
void vary_text(const struct vary *vary, double number, char out[WISH_SIZE]);

/* "U0 >= 0.9 in widest zoom": a statistic, at least or at most a limit in its unit, in a field (default: the first).
 */
struct want {
    const struct statistic *statistic;
    bool at_most;
    double limit;          /* in the unit of the statistic's values: lx, 1, mm, W */
    char currency[20];     /* of a price, as written; empty: the scene's */
    char field[WISH_SIZE]; /* empty: the first; not asked for by statistics of the map or the lamp */
};
bool want_read(const char *text, struct messages *messages, struct want *out);
/* A price is wanted in the scene's currency; another is an error. */
bool want_fits(const char *text, const struct want *want, const struct scene *scene, struct messages *messages);

/* "U0 in widest zoom, centre": statistics, each in a field, for --of. At most OF_MAX. field empty: every field. */
enum { OF_MAX = 8 };
struct of_wish {
    const struct statistic *statistic;
    char field[WISH_SIZE];
};
bool of_read(const char *text, struct messages *messages, size_t *count, struct of_wish out[OF_MAX]);

/* "current 500 mA", "500 mA", "power 2 W" or "2 W", several parted by commas. Watts are those of the whole lamp. */
enum { AT_MAX = 8 };
struct at_wish {
    bool watts;
    double value; /* A or W */
    char text[32];
};
bool at_read(const char *text, struct messages *messages, size_t *count, struct at_wish out[AT_MAX]);

#endif
