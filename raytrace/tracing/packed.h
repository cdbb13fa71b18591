/* Rays out of the package of an LED. METHODS eq. (100), (101). */
#ifndef RAYTRACE_TRACING_PACKED_H
#define RAYTRACE_TRACING_PACKED_H

#include "tracing/rays.h"

/* A package ready to shine, its dies in it. */
struct packed {
    struct optic optic;
    struct wave_optic wave;
    struct turn turn; /* of rays as launched, dies level at z = 0, into the package, and their shift */
    double step_mm[3];
    double index;         /* of what the dies stand in */
    double etendue_ratio; /* of the light that leaves over that of bare dies: (9) with n^2 times the share out */
};
/* Of a packed, validated emitter; free() gives it back. Errors: MEMORY; VALUE: the resin has no index at its
 * wavelength, or so little light comes out that nobody would sell it. */
LUXFALL_CHECKED enum luxfall_status packed_make(const struct luxfall_emitter *emitter, struct packed **out,
                                                struct luxfall_error *error);

/* Rays first .. first + count - 1, where they leave the bare package: into maker->inside, in the module's frame.
 * room: for work. fates: rays that never came out, as abandoned. */
void packed_rays(const struct packed *packed, const struct launch_source *source, const struct ray_maker *maker,
                 uint64_t first, int count, struct ray_batch *room, struct wave_fates *fates);
#endif
