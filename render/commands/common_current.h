/* Equal watts: the current, common to all lit modules, at which a lamp draws them. */
#ifndef RENDER_COMMANDS_COMMON_CURRENT_H
#define RENDER_COMMANDS_COMMON_CURRENT_H

#include "scenes/scene.h"

/* Where a wish stands that nobody can meet: the place and the text for the caret. */
struct wish_place {
    struct scene_place place;
    const char *source;
};

/* Solved to the last bit of the current. false after a message: the voltage of an emitter is not known, the tables of
 * two emitters share no current, no module is lit, or the watts lie outside of what the tables reach. */
bool common_current(const struct scene *scene, double wanted_w, const struct wish_place *wish,
                    struct messages *messages, double *out_a);

#endif
