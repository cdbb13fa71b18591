/* What a camera makes of a field: light on the sensor, time, stops. METHODS section 11. */
#ifndef RENDER_FILES_EXPOSURE_H
#define RENDER_FILES_EXPOSURE_H

#include "scenes/scene.h"

/* Estimates with bands as of the field's readings; NaN: not to be had, or no camera. */
struct exposure {
    struct luxfall_estimate sensor_lx, shutter_s; /* at the field's centre; shutter: the time that fills the sensor */
    struct luxfall_estimate stops_edge, stops_darkest; /* below the field's centre */
    struct luxfall_estimate stops_to_first_field; /* on the sensor at its centre, below that of the first field */
};
struct exposure exposure_of_field(const struct scene *scene, const struct luxfall_plane_result *plane, size_t field);

#endif
