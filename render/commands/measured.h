/* Readings of a meter held against the forecast, and shown. */
#ifndef RENDER_COMMANDS_MEASURED_H
#define RENDER_COMMANDS_MEASURED_H

#include "render/files/readings.h"

/* For a scene that has readings: forecasts, scale, judgement, verdict. measured_release() takes it, after a failure
 * too. */
LUXFALL_CHECKED enum luxfall_status measured_make(const struct scene *scene, const struct luxfall_options *options,
                                                  struct measured *out, struct luxfall_error *error);
void measured_release(struct measured *measured);

/* Table, scale, residuals, repeated points, verdict. Returns 0, or 1 out of memory. */
int measured_print(const struct measured *measured, FILE *stream);

/* One line from all that the rest holds. */
void verdict_write(const struct measured *measured, char out[VERDICT_SIZE]);

#endif
