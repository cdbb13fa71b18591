/* A module as it is drawn: its optic, and the frames between board and lens. METHODS sec. 13. */
#ifndef RAYTRACE_TRACING_DRAWN_H
#define RAYTRACE_TRACING_DRAWN_H

#include "numbers/vec.h"
#include "tracing/stage.h"

/* Stays where it is made: the stage points into it. */
struct drawn {
    struct luxfall_module alone;
    struct luxfall_scene one;
    struct stage stage;
    const struct bundle *bundle;
    const struct optic *optic;
};

/* Whose frame a place is told in: that of the lens, or of the LED's package where there is one. */
enum drawn_part { DRAWN_LENS, DRAWN_PACKAGE };
const struct optic *drawn_optic(const struct drawn *drawn, enum drawn_part part);

/* The only way to a module's optic. drawn_end() also after a failure. Error VALUE: it has none. */
LUXFALL_CHECKED enum luxfall_status drawn_begin(const struct luxfall_scene *scene, size_t module, struct drawn *out,
                                                struct luxfall_error *error);
void drawn_end(struct drawn *drawn);

/* Between the module's frame and that of a part. Places: shift true; directions: false. */
void drawn_to_part(const struct drawn *drawn, enum drawn_part part, struct luxfall_vec v, bool shift, double out[3]);
struct luxfall_vec drawn_to_module(const struct drawn *drawn, enum drawn_part part, const double v[3], bool shift);
#endif
