/* What --module names. */
#ifndef RENDER_COMMANDS_MODULE_CHOICE_H
#define RENDER_COMMANDS_MODULE_CHOICE_H

#include "scenes/scene.h"

/* The module of that name, or the first of the group of that name; NULL: the first that is lit. 0, or EXIT_USER after
 * telling stderr. */
int module_choose(const char *command, const struct scene *scene, const char *name, size_t *module);

#endif
