/* A kind of placement: how many members it has and where each stands. One file a kind, one line in place.c's table.
 */
#ifndef RAYTRACE_PLACEMENT_KIND_H
#define RAYTRACE_PLACEMENT_KIND_H

#include "luxfall.h"

struct placement_kind {
    size_t (*count)(const struct luxfall_placement *placement);
    struct luxfall_vec (*position)(const struct luxfall_placement *placement, size_t member); /* members from 0 */
};

extern const struct placement_kind placement_ring, placement_single, placement_line, placement_grid, placement_point;
#endif
