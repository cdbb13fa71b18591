/* One module by itself: what inspect.c and far.c share. METHODS sec. 12. */
#ifndef RAYTRACE_TRACING_INSPECT_H
#define RAYTRACE_TRACING_INSPECT_H

#include "tracing/stage.h"

#define RING_RAD (PI / 2 / LUXFALL_RINGS)
double ring_sr(int ring);

/* What rays tell, of a stage with one lamp behind a solid. raytrace/tracing/inspect_rays.c */
LUXFALL_CHECKED enum luxfall_status inspect_by_rays(struct stage *stage, const struct luxfall_options *options,
                                                    struct luxfall_inspection *out, struct luxfall_error *error);

/* Distances at which lux on the axis are held against those of inverse squares: from a sixteenth of what is lit to
 * two thousand times that, in steps of a fourth of an octave. */
enum { FAR_STEPS = 61 };
double far_distance_mm(double across_mm, int step);

/* Rays that land within a narrow cone about the axis. */
struct far_counts {
    uint64_t within[FAR_STEPS]; /* the disc that it cuts at each distance */
    uint64_t cone;              /* by their direction alone */
};
void far_count(const struct ray_batch *rays, double across_mm, double tangent, struct far_counts *counts);

/* The least distance from which on lux are within the share of inverse squares; NaN: not at any. METHODS eq. (99). */
double far_by_counts(const double within[FAR_STEPS], double cone, double across_mm, double share);
double far_of_bundle(const struct bundle *bundle, double share);
#endif
