/* One module at a slant distance, an incidence and an azimuth. */
#include "numbers/vec.h"
#include "placement/kind.h"

static size_t count(const struct luxfall_placement *p) {
    (void)p;
    return 1;
}

static struct luxfall_vec position(const struct luxfall_placement *p, size_t member) {
    (void)member;
    return vec_slant(p->distance_mm, p->incidence_rad, p->azimuth_rad);
}

const struct placement_kind placement_single = {count, position};
