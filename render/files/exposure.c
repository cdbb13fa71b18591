#include "exposure.h"

#include <math.h>

static const struct luxfall_estimate NOT_TO_BE_HAD = {NAN, NAN};

static double relative_band(struct luxfall_estimate value) {
    return value.u95 / fabs(value.value);
}

static struct luxfall_estimate stops_of(double ratio, double relative) {
    if (!(ratio > 0) || isinf(ratio))
        return NOT_TO_BE_HAD;
    return (struct luxfall_estimate){luxfall_stops(ratio) + 0.0, relative / log(2)};
}

/* Both bands in full: how far the two go together is not known. */
static struct luxfall_estimate stops_between(struct luxfall_estimate light, struct luxfall_estimate reference,
                                             double factor) {
    return stops_of(factor * light.value / reference.value, relative_band(light) + relative_band(reference));
}

static const struct luxfall_camera *camera_of(const struct scene *scene, size_t field) {
    return scene->field_cameras ? &scene->field_cameras[field] : NULL;
}

struct exposure exposure_of_field(const struct scene *scene, const struct luxfall_plane_result *plane, size_t field) {
    const struct luxfall_field_result *result = &plane->fields[field];
    const struct luxfall_camera *camera = camera_of(scene, field), *first = camera_of(scene, 0);
    struct luxfall_estimate centre = result->centre_lx;
    double relative = relative_band(centre);
    struct exposure exposure = {NOT_TO_BE_HAD, NOT_TO_BE_HAD, NOT_TO_BE_HAD, NOT_TO_BE_HAD, NOT_TO_BE_HAD};
    if (!(centre.value > 0))
        return exposure;
    exposure.stops_edge = stops_of(result->edge_over_centre.value, relative_band(result->edge_over_centre));
    exposure.stops_darkest = stops_between(result->minimum_lx, centre, 1);
    double zoom = camera ? luxfall_sensor_lx(camera, 1) / luxfall_sensor_lx(first, 1) : 1;
    exposure.stops_to_first_field = stops_between(centre, plane->fields[0].centre_lx, zoom);
    if (field == 0)
        exposure.stops_to_first_field.u95 *= 0; /* it is the first */
    if (camera) {
        double sensor_lx = luxfall_sensor_lx(camera, centre.value),
               shutter_s = luxfall_shutter_s(camera, centre.value);
        exposure.sensor_lx = (struct luxfall_estimate){sensor_lx, sensor_lx * relative};
        exposure.shutter_s = (struct luxfall_estimate){shutter_s, shutter_s * relative};
    }
    return exposure;
}
