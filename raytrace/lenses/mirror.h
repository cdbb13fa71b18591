/* What a mirror sends back over the angle of incidence. METHODS eq. (81). */
#ifndef RAYTRACE_LENSES_MIRROR_H
#define RAYTRACE_LENSES_MIRROR_H

#include "lenses/optic.h"

LUXFALL_CHECKED enum luxfall_status mirror_validate(const struct luxfall_mirror *mirror, struct luxfall_error *error);
/* Makes the patch such a mirror, met from the air on its up side or its down side alone: two mirrors that join are
 * then never met from behind at their seam. What lies behind it becomes material 1 of the optic, the last. The mirror
 * must outlive the patch. */
void mirror_patch(const struct luxfall_mirror *mirror, bool air_is_up, struct optic *optic, struct patch *patch);
double mirror_share(const struct luxfall_mirror *mirror, double cos_incidence);
#endif
