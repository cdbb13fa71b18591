/* Lux to shutter time. METHODS section 11. */
#include "luxfall.h"

#include <math.h>

/* Exposure of the sensor, lx s, that saturates a camera of ISO speed 1. METHODS eq. (55). */
#define SATURATING_LX_S 78.0

double luxfall_sensor_lx(const struct luxfall_camera *camera, double object_lx) {
    double effective = camera->f_number * (1 + camera->magnification);
    return camera->reflectance * camera->transmission * object_lx / (4 * effective * effective); /* eq. (54) */
}

double luxfall_shutter_s(const struct luxfall_camera *camera, double object_lx) {
    return SATURATING_LX_S / camera->iso / luxfall_sensor_lx(camera, object_lx);
}

double luxfall_stops(double ratio) {
    return -log2(ratio); /* METHODS eq. (56) */
}
