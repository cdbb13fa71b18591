/* Members round the vertical through the origin, at one slant distance, counter-clockwise from the start. */
#include "numbers/vec.h"
#include "placement/kind.h"

static size_t count(const struct luxfall_placement *p) {
    return (size_t)p->count;
}

static struct luxfall_vec position(const struct luxfall_placement *p, size_t member) {
    return vec_slant(p->distance_mm, p->incidence_rad, p->azimuth_rad + 2 * PI * (double)member / p->count);
}

const struct placement_kind placement_ring = {count, position};
