/* One hint where one is earned: aiming the modules short of the centre, or past it, evens the widest field. Every
 * number in it is computed by the direct way. */
#ifndef RENDER_COMMANDS_HINT_H
#define RENDER_COMMANDS_HINT_H

#include "scenes/scene.h"

enum { HINT_SIZE = 240 };

/* True: text holds the hint. False: the widest field is even enough, or another aim would not help, or the light of a
 * module is not known by angle, or the modules are not all aimed alike. */
bool hint_find(const struct scene *scene, const struct luxfall_result *result, char text[HINT_SIZE]);

#endif
