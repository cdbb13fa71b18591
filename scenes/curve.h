/* Relative intensity over angle, as light sheets print it, from a table. */
#ifndef SCENES_CURVE_H
#define SCENES_CURVE_H

#include "scenes/tables.h"

/* Half or full curve, percent or fraction; a full one is averaged over its halves and its asymmetry told. The arrays
 * live in the arena. False after messages. */
bool curve_from_source(struct arena *arena, struct messages *messages, const struct source *source, bool quiet,
                       struct luxfall_intensity *out);

#endif
