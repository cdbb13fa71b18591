/* From the readings of every replicate to the statistics of a field, each with its band. METHODS section 7. */
#ifndef RAYTRACE_MAPS_FIELD_STATISTICS_H
#define RAYTRACE_MAPS_FIELD_STATISTICS_H

#include "maps/estimate.h"
#include "maps/readings.h"

struct field_data {
    int replicates; /* LUXFALL_REPLICATES, or 1 by the direct way */
    const struct reading_grid *grid;
    const double *readings_lx; /* replicates x grid->count */
    const double *average_lx;  /* replicates */
    const double *leaving_lm;  /* replicates: lumens that leave the lenses */
};

void field_statistics(const struct field_data *data, struct luxfall_field_result *out);

/* Widest relative band of average, centre and minimum; 0 where there is no light. What the accuracy is held against.
 */
double field_worst_band(const struct luxfall_field_result *field);
#endif
