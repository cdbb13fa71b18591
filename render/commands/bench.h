/* Readings of a meter held against the forecast, and shown. */
#ifndef RENDER_COMMANDS_BENCH_H
#define RENDER_COMMANDS_BENCH_H

#include "render/files/readings.h"

/* For a scene that has readings: forecasts, scale, judgement, verdict. bench_release() takes it, after a failure
 * too. */
LUXFALL_CHECKED enum luxfall_status bench_make(const struct scene *scene, const struct luxfall_options *options,
                                               struct bench *out, struct luxfall_error *error);
void bench_release(struct bench *bench);

/* Table, scale, residuals, repeated points, verdict. Returns 0, or 1 out of memory. */
int bench_print(const struct bench *bench, FILE *stream);

/* One line from all that the rest of the bench holds. */
void verdict_write(const struct bench *bench, char out[VERDICT_SIZE]);

#endif
