/* What a camera makes of the result: exposure, stops, highlights. */
#ifndef RENDER_COMMANDS_REPORT_CAMERA_H
#define RENDER_COMMANDS_REPORT_CAMERA_H

#include "text.h"

#include "scenes/scene.h"

/* Under the table of a plane's fields: with a camera times and stops field by field, otherwise one line of stops.
 * Returns 0, or 1 out of memory. */
int report_exposure(const struct scene *scene, const struct luxfall_plane_result *plane, FILE *stream);

/* What the times rest on; nothing without a camera. */
void report_camera(const struct scene *scene, FILE *stream);

/* Which shiny facets flare, and how much brighter than white they are; nothing where that is little. Returns 0, or 1
 * out of memory. */
int report_highlights(const struct scene *scene, const struct luxfall_plane_result *plane, FILE *stream);

/* A time as photographers write it, such as "1/125 s" or "2 s"; "-" for NaN. */
void format_shutter(char out[FORMAT_SIZE], double seconds);
/* The longest standard shutter time that is no longer; NaN: there is none. */
double standard_shutter_s(double seconds);

#endif
