/* Clear materials: refractive index over wavelength, and what they absorb. A named one is one line of the table in
 * material.c; what callers ask stands in luxfall.h. */
#ifndef RAYTRACE_LENSES_MATERIAL_H
#define RAYTRACE_LENSES_MATERIAL_H

#include "luxfall.h"

/* Does the material make sense, whatever the wavelength? Error VALUE. */
LUXFALL_CHECKED enum luxfall_status material_validate(const struct luxfall_material *material,
                                                      struct luxfall_error *error);
#endif
