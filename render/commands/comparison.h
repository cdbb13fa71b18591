/* The table of luxfall compare: the whole map, then every field, a row a candidate; and its two files. */
#ifndef RENDER_COMMANDS_COMPARISON_H
#define RENDER_COMMANDS_COMPARISON_H

#include "candidates.h"
#include "statistic.h"

#include <jansson.h>

/* What is said above the table. */
const char *comparison_title(const struct candidates *candidates);

/* On standard output, with notes. 0, or 1 out of memory. */
int comparison_print(const struct candidates *candidates);

/* For a build log: the same as Markdown; and numbers alone, a row a level, candidate and field. Written whole or not
 * at all. 0 or error->status. */
int comparison_markdown(const char *path, const struct candidates *candidates, struct figure_error *error);
int comparison_csv(const char *path, const struct candidates *candidates, struct figure_error *error);

/* The statistics of all, and what their lamps draw and cost; NULL out of memory. The caller owns the object. */
json_t *comparison_json(const struct candidates *candidates);

/* ---- the columns, for comparison*.c alone ---------------------------------------------------------------------- */

enum { COLUMNS_MAX = 16 };
struct columns {
    size_t count;
    const struct statistic *items[COLUMNS_MAX];
    const char *headings[COLUMNS_MAX];
};
/* The statistics that are shown of a field, or of the map and the lamp; but none that no candidate knows. */
struct columns comparison_columns(const struct candidates *candidates, bool of_field);

/* The word for money that all scenes share, or NULL. */
const char *comparison_currency(const struct candidates *candidates);

/* NaN where the candidate has it not: its scene may have no field of that name. */
struct luxfall_estimate comparison_value(const struct candidate *candidate, const struct statistic *statistic,
                                         size_t plane, const char *field);

#endif
