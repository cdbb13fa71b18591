/* What stands over a lens: patches that are added to those of its optic. METHODS eq. (93). */
#ifndef RAYTRACE_LENSES_COVER_H
#define RAYTRACE_LENSES_COVER_H

#include "lenses/optic.h"

/* A checked cover on top of all that the optic has, or of what the emitter has, floor_mm over z = 0, where that is
 * higher. part: of the losses, optic_loss(). Error VALUE: there is no room for its patches, or its material has no
 * index at that wavelength. */
LUXFALL_CHECKED enum luxfall_status cover_add(const struct luxfall_cover *cover, int part, double floor_mm,
                                              double wavelength_um, struct optic *optic, struct luxfall_error *error);
#endif
