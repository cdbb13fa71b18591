/* One module where the scene says. */
#include "placement/kind.h"

static size_t count(const struct luxfall_placement *p) {
    (void)p;
    return 1;
}

static struct luxfall_vec position(const struct luxfall_placement *p, size_t member) {
    (void)member;
    return p->at_mm;
}

const struct placement_kind placement_point = {count, position};
