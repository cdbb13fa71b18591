#include "lenses/surface.h"

static bool plane_cross(const struct surface *surface, const double origin_mm[3], const double direction[3],
                        enum surface_sense sense, double *t_mm) {
    const bool crosses = sense == SURFACE_UP ? direction[2] > 0 : direction[2] < 0;
    if (crosses)
        *t_mm = (surface->vertex_mm - origin_mm[2]) / direction[2];
    return crosses;
}

static void plane_normal(const struct surface *surface, const double at_mm[3], double normal[3]) {
    (void)surface, (void)at_mm;
    normal[0] = 0;
    normal[1] = 0;
    normal[2] = 1;
}

static double plane_sag(const struct surface *surface, double radius_mm) {
    (void)surface, (void)radius_mm;
    return 0;
}

const struct surface_kind surface_plane = {plane_cross, plane_normal, plane_sag};
