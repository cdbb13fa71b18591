/* One module by itself, and what it lays on a stage straight below it. */
#ifndef RENDER_COMMANDS_INSPECTED_H
#define RENDER_COMMANDS_INSPECTED_H

#include "outputs.h"
#include "tracing.h"

struct inspected {
    const struct scene *scene; /* as read */
    size_t module;
    double distance_mm;
    struct luxfall_options options;
    struct luxfall_inspection light;
    struct scene stage; /* the same with this module alone, straight down at the distance; its arrays are below */
    struct luxfall_module alone;
    struct scene_group group;
    double level_mm;
    struct luxfall_result *spot; /* of the stage */
};

/* Traces both under a progress line; distance_mm 0: the module's own. The error is the library's. */
enum luxfall_status inspected_make(struct inspected *inspected, struct luxfall_error *error);
void inspected_release(struct inspected *inspected);

/* The middle of its light is off the axis by more than its band and two per cent of the beam. */
bool inspected_is_aside(const struct luxfall_inspection *light);
/* Planes, by their half plane, whose light differs beyond its bands and two per cent of the beam; one: it is round.
 */
size_t inspected_planes(const struct luxfall_inspection *light, int planes[LUXFALL_HALF_PLANES / 2]);

/* "along x", of one of them. */
const char *inspected_plane_name(int plane);

/* ---- inspect_report.c: on standard output; 0 or an exit status. */
int inspected_print(const struct inspected *inspected, FILE *stream);

/* ---- inspect_files.c */
json_t *inspected_json(const struct inspected *inspected, const struct messages *warnings); /* NULL: out of memory */
int inspected_write_json(const struct inspected *inspected, const struct messages *warnings, const char *path,
                         struct figure_error *error);
int inspected_write_csv(const struct inspected *inspected, const char *path, struct figure_error *error);
int inspected_write_figure(const struct inspected *inspected, const struct figure_style *style, const char *path,
                           struct figure_error *error);
#endif
