/* The package of an LED as surfaces: resin under a dome or a flat top, in a cup or on a plain floor. METHODS eq.
 * (95), (101). */
#ifndef RAYTRACE_LENSES_PACKAGE_H
#define RAYTRACE_LENSES_PACKAGE_H

#include "lenses/optic.h"

/* Sizes and shares alone, and whether the dies lie in the resin. Error VALUE. */
LUXFALL_CHECKED enum luxfall_status package_validate(const struct luxfall_emitter *emitter,
                                                     struct luxfall_error *error);

/* The patches of a sound package, rays starting in its resin; what leaves is counted from z = 0. Error VALUE: its
 * material has no index at that wavelength. */
LUXFALL_CHECKED enum luxfall_status package_optic(const struct luxfall_package *package, double wavelength_um,
                                                  struct optic *out, struct luxfall_error *error);

/* Radius of the package, its cup straight outside, at a height from 0 to its top. */
double package_radius_mm(const struct luxfall_package *package, double z_mm);
/* Height of the dies' middle over the floor, the lowest point of leaning ones being where the package says. METHODS
 * eq. (101). */
double package_die_mm(const struct luxfall_emitter *emitter);
#endif
