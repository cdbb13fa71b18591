/* The numbers that tell one lamp from another, by the names that users write: one table for compare, sweep and
 * --want.
 */
#ifndef RENDER_COMMANDS_STATISTIC_H
#define RENDER_COMMANDS_STATISTIC_H

#include "text.h"

#include "scenes/scene.h"

/* Of a field; of a level's whole map; of the lamp, whatever is lit by it. */
enum statistic_scope { OF_FIELD, OF_MAP, OF_LAMP };

/* Room for a name. */
enum { STATISTIC_WORD = 40 };

enum statistic_best { BEST_NONE, BEST_HIGHEST, BEST_LOWEST, BEST_NEAREST_ONE };

struct statistic_source {
    const struct scene *scene;
    const struct luxfall_result *result;
    size_t plane, field;
};

struct statistic {
    const char *name;    /* as --want and --of take it: "U0" */
    const char *aliases; /* other words for it, parted by '|': "uniformity|darkest/average"; NULL: none */
    const char *label;   /* heading of a column, axis of a figure: "darkest/average" */
    const char *unit;    /* that a limit is written in and a figure shows: "lx", "%", "mm", "W", "lx/W"; "": a plain
                          * number, or a price in the scene's currency */
    double unit_size;    /* value / unit_size is the number in that unit: 0.01 for % */
    enum statistic_scope scope;
    enum statistic_best best;
    void (*format)(char out[FORMAT_SIZE], struct luxfall_estimate value);
    struct luxfall_estimate (*of)(const struct statistic_source *source); /* NaN: not to be had */
};

/* Ends with a NULL name. */
extern const struct statistic statistics[];
const struct statistic *statistic_named(const char *name); /* by name or alias, any case; NULL: none */
const char *statistic_near(const char *name);              /* the name that may be meant, or NULL */

#endif
