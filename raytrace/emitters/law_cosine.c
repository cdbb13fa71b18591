/* cos^m of the angle from the normal. METHODS eq. (2). */
#include "emitters/angle_law.h"
#include "numbers/vec.h"

enum { STEPS = 10 };

static double relative(const struct angle_law *law, double angle_rad) {
    return law->power == 1 ? cos(angle_rad) : pow(fmax(cos(angle_rad), 0), law->power);
}

static size_t panels_room(const struct angle_law *law) {
    (void)law;
    return STEPS + 1;
}

/* As narrow as a bell of half width acos(2^(-1/m)). */
static size_t panels(const struct angle_law *law, double *edges) {
    static const double steps[STEPS] = {0, 0.5, 1, 1.5, 2, 3, 4, 6, 9, 14};
    double half = acos(exp2(-1 / law->power));
    size_t count = 0;
    for (size_t i = 0; i < STEPS && steps[i] * half < PI / 2; i++)
        edges[count++] = steps[i] * half;
    edges[count] = PI / 2;
    return count;
}

const struct angle_law_kind angle_law_cosine = {relative, panels_room, panels, false};
