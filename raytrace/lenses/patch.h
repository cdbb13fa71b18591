/* Inside of patches: what a kind of surface is. Private to patch*.c. */
#ifndef RAYTRACE_LENSES_PATCH_H
#define RAYTRACE_LENSES_PATCH_H

#include "lenses/optic.h"

/* Places and lines are relative to the patch's vertex. */
struct line {
    double p[3], d[3];
    bool own; /* it begins on the patch itself: whatever the rounding says, F is 0 there */
};

struct patch_surface {
    double (*value)(const struct patch *patch, const double p[3]);
    void (*gradient)(const struct patch *patch, const double p[3], double out[3]);
    /* In closed form; NULL: found by looking along the line. Bounds are not counted. */
    bool (*cross)(const struct patch *patch, const struct line *line, bool going_up, double *t_mm);
    /* Otherwise, where a kind knows better than to look here and there: the first crossing between t[0] and t[1];
     * above: on which side the line begins. NULL: looks. */
    bool (*along)(const struct patch *patch, const struct line *line, const double t[2], bool above, bool going_up,
                  double *t_mm);
};
extern const struct patch_surface patch_quadric, patch_aspheric, patch_profiled, patch_faceted, patch_walled,
    patch_lensleted;

struct patch patch_without_bounds(enum patch_kind kind, double vertex_mm);
#endif
