/* A checked scene made ready to shine: what is the same for many modules is worked out once. */
#ifndef RAYTRACE_TRACING_STAGE_H
#define RAYTRACE_TRACING_STAGE_H

#include "emitters/angle_law.h"
#include "lenses/solid.h"
#include "maps/readings.h"
#include "tracing/assembly.h"

/* Modules that share emitter, lens, covers and how they are put together share their rays: traced once, cast for
 * every one of them. */
struct packed;
struct bundle {
    const struct luxfall_module *first; /* of them */
    const struct luxfall_assembly *built;
    struct mounting mounting; /* of a solid */
    struct packed *packed;    /* what a solid's rays come out of; NULL: dies in the air */
    struct solid *solid; /* NULL: known by angle. `law` leaves `face`: the dies, or the face of a datasheet lens */
    struct angle_law law;
    struct luxfall_face face;
    int columns, rows; /* of faces: dies, or one lens */
    double pitch_x_mm, pitch_y_mm;
    double efficiency; /* of a datasheet lens, else 1 */
    struct image_set images;
    struct angle_launch_table *launch; /* by rays */
    struct angle_shape_table *shape;
};

/* A module that is not dark. */
struct lamp {
    size_t module, bundle;
    struct luxfall_pose pose;
    double flux_lm; /* of its emitter, scale included */
};

struct stage {
    const struct luxfall_scene *scene;
    struct bundle *bundles;
    size_t bundle_count;
    struct lamp *lamps; /* ordered by bundle, then flux */
    size_t lamp_count;
    struct reading_grid *grids; /* of the scene's fields */
    bool known_by_angle;        /* all of the light */
    double disc_mm;             /* over which the map's peak and centre are read */
};

/* On failure too, stage_free() takes what was made. */
LUXFALL_CHECKED enum luxfall_status stage_make(const struct luxfall_scene *scene, struct stage *out,
                                               struct luxfall_error *error);
void stage_free(struct stage *stage);

/* What launching needs beyond stage_make(). */
LUXFALL_CHECKED enum luxfall_status stage_add_launch_tables(struct stage *stage, struct luxfall_error *error);

/* Checks every value of a scene. raytrace/tracing/validate.c */
LUXFALL_CHECKED enum luxfall_status scene_validate(const struct luxfall_scene *scene, struct luxfall_error *error);
/* A caller's options, checked. raytrace/tracing/trace.c */
LUXFALL_CHECKED enum luxfall_status options_read(const struct luxfall_options *given, struct luxfall_options *out,
                                                 struct luxfall_error *error);
#endif
