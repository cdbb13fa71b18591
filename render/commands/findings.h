/* What the traced result itself warns of: figures that are not to be had, and figures not to be trusted. */
#ifndef RENDER_COMMANDS_FINDINGS_H
#define RENDER_COMMANDS_FINDINGS_H

#include "scenes/scene.h"

/* Tells them on stderr, with the name of one of several results before each, and adds them to the messages. Returns
 * 0, or 1 out of memory. */
int findings_tell(const struct scene *scene, const struct luxfall_result *result, const char *name,
                  struct messages *messages);
/* Adds them and says nothing; those of whole maps only where they are asked for. */
void findings_add(const struct scene *scene, const struct luxfall_result *result, bool of_maps,
                  struct messages *found);

#endif
