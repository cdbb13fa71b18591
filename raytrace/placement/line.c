/* Members a pitch apart at one height, centred over the origin, counted along the direction. */
#include "numbers/vec.h"
#include "placement/kind.h"

static size_t count(const struct luxfall_placement *p) {
    return (size_t)p->count;
}

static struct luxfall_vec position(const struct luxfall_placement *p, size_t member) {
    double along = ((double)member - (p->count - 1) / 2.0) * p->pitch_x_mm;
    return (struct luxfall_vec){along * cos(p->azimuth_rad), along * sin(p->azimuth_rad), p->height_mm};
}

const struct placement_kind placement_line = {count, position};
