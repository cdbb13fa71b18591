/* Bare emitters: areas, laws and the symmetries that leave them unchanged. */
#ifndef RAYTRACE_EMITTERS_EMITTER_H
#define RAYTRACE_EMITTERS_EMITTER_H

#include "emitters/angle_law.h"

double face_area_mm2(const struct luxfall_face *face);
double emitter_area_mm2(const struct luxfall_emitter *emitter); /* all dies */

/* The law by which every point of the dies shines; points into the emitter's curve. */
struct angle_law emitter_law(const struct luxfall_emitter *emitter);

/* The greatest I(a)/cos a per emitter lumen, 1/sr: 1/pi for a Lambertian one. Infinite where light grazes. */
double emitter_greatest_per_cosine(const struct luxfall_emitter *emitter);

/* Images in the plane that leave a face or an emitter as it is: 8 (round or square) or 4 (oblong). */
int face_images(const struct luxfall_face *face);
int emitter_images(const struct luxfall_emitter *emitter);
#endif
