/* Datasheet lenses offered as traced solids, as comment lines behind a scene. */
#ifndef RENDER_COMMANDS_AS_SOLID_H
#define RENDER_COMMANDS_AS_SOLID_H

#include "luxfall.h"

#include <stdio.h>

/* Nothing where the scene has no datasheet lens in use. */
void as_solid_print(const struct luxfall_scene *light, FILE *out);
#endif
