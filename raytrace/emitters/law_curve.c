/* Straight lines between points of intensity over angle; nothing beyond the last. */
#include "emitters/angle_law.h"
#include "numbers/vec.h"

static double relative(const struct angle_law *law, double angle_rad) {
    const double *angle = law->curve_angle_rad, *value = law->curve_relative;
    size_t low = 0, high = law->curve_count - 1;
    if (angle_rad > angle[high])
        return 0;
    while (high - low > 1) {
        size_t middle = (low + high) / 2;
        if (angle[middle] <= angle_rad)
            low = middle;
        else
            high = middle;
    }
    return value[low] + (value[high] - value[low]) * (angle_rad - angle[low]) / (angle[high] - angle[low]);
}

static size_t panels_room(const struct angle_law *law) {
    return law->curve_count + 2;
}

/* Edges clipped at 90 deg; light beyond the last point of a curve is none. */
static size_t panels(const struct angle_law *law, double *edges) {
    size_t count = 0;
    for (size_t i = 0; i < law->curve_count && law->curve_angle_rad[i] < PI / 2; i++)
        edges[count++] = law->curve_angle_rad[i];
    double last = law->curve_angle_rad[law->curve_count - 1];
    if (last >= PI / 2)
        edges[count++] = PI / 2;
    return count - 1;
}

const struct angle_law_kind angle_law_curve = {relative, panels_room, panels, true};
