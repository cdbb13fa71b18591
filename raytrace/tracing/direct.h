/* The direct way: light known by angle, integrated over the faces at every place, without noise. METHODS section 4.
 */
#ifndef RAYTRACE_TRACING_DIRECT_H
#define RAYTRACE_TRACING_DIRECT_H

#include "tracing/observations.h"

struct direct_way;

/* For a stage that is known by angle; chooses how finely faces are cut. NULL out of memory. */
LUXFALL_CHECKED struct direct_way *direct_way_make(const struct stage *stage, int threads);
/* Slower, to some 1e-9: faces are cut for every place. */
LUXFALL_CHECKED struct direct_way *direct_way_exact(const struct stage *stage);
void direct_way_free(struct direct_way *way); /* accepts NULL */

/* Mean illuminance over a disc (0 mm: a point); NAN out of memory. */
double direct_reading_lx(const struct direct_way *way, double x_mm, double y_mm, double level_mm, double reading_mm);
/* The same of one lamp alone, which stands as the stage has it or is turned; of a bundle of the stage. */
double direct_lamp_reading_lx(const struct direct_way *way, const struct lamp *lamp, double x_mm, double y_mm,
                              double level_mm, double reading_mm);

/* Everything that way. Error METHOD for a traced lens. */
LUXFALL_CHECKED enum luxfall_status trace_direct(const struct stage *stage, const struct luxfall_options *options,
                                                 struct luxfall_result **out, struct luxfall_error *error);
#endif
