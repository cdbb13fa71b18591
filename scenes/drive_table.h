/* What an LED does over its current, as light sheets print it, from a table. */
#ifndef SCENES_DRIVE_TABLE_H
#define SCENES_DRIVE_TABLE_H

#include "scenes/tables.h"

/* Columns current_mA or current_A, flux_lm, voltage_V and, where known, junction_C; currents ascend. The arrays live
 * in the arena. False after messages. */
bool drive_from_source(struct arena *arena, struct messages *messages, const struct source *source, bool quiet,
                       struct luxfall_drive *out);

/* What is odd about lumens per watt, by which slips of units show; NULL: nothing. *kind: an error where no light
 * could be so, a warning where no LED that one would take is. */
const char *efficacy_slip(struct arena *arena, double flux_lm, double voltage_v, double current_a,
                          enum message_kind *kind);

#endif
