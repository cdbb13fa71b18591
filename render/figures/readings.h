/* Readings of a meter on the pictures: those of the whole lamp at its own current, at the level of the plane. */
#ifndef RENDER_FIGURES_READINGS_H
#define RENDER_FIGURES_READINGS_H

#include "map_panel.h"

/* Whether the map of this plane shows the reading; and whether the profile along 'x' or 'y' does, which passes within
 * half a head of it. */
bool reading_is_on_map(const struct scene_reading *reading, const struct luxfall_plane_result *plane);
bool reading_is_on_profile(const struct scene_reading *reading, const struct luxfall_plane_result *plane, char axis);

/* Appends to the caption's last line what the readings on the picture are and how many are left out; nothing where
 * there are none. */
void readings_tell_map(const struct figure_readings *readings, const struct luxfall_plane_result *plane, char *line,
                       size_t size);
void readings_tell_profiles(const struct figure_readings *readings, const struct luxfall_plane_result *plane,
                            char *line, size_t size);

/* Rings as large as the meter's head; later their numbers, reading over forecast, as far as there is room. */
void panel_readings_draw(struct map_panel *panel, const struct figure_readings *readings);
void panel_readings_label(struct map_panel *panel, const struct figure_readings *readings);

#endif
