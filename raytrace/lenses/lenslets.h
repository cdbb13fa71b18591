/* Small lenses on a face, as a scene tells them. METHODS eq. (83), (84). */
#ifndef RAYTRACE_LENSES_LENSLETS_H
#define RAYTRACE_LENSES_LENSLETS_H

#include "lenses/optic.h"

/* On a face of that diameter. Error VALUE; the text says why not. */
LUXFALL_CHECKED enum luxfall_status lenslets_validate(const struct luxfall_lenslets *lenslets, double diameter_mm,
                                                      struct luxfall_error *error);
/* Their surface, added to a face that looks up: its lowest points lie at the face's height. */
struct patch lenslets_patch(const struct luxfall_lenslets *lenslets, double face_mm);
#endif
