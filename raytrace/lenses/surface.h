/* Surfaces of revolution about z that bound solids. One kind is one file: it defines a struct surface_kind, and the
 * list at the end of this header gains a line.
 *
 * A surface has an up side (+z at its vertex) and a down side. A ray is asked for the crossing of one sense: up,
 * where it passes to the up side, or down. So a ray that starts on a surface never finds its own start again,
 * whatever the rounding, and no distance has to count as "nearly zero". Lengths in mm. Directions are unit vectors.
 * Equations of METHODS sec. 5 are cited by number. */
#ifndef RAYTRACE_LENSES_SURFACE_H
#define RAYTRACE_LENSES_SURFACE_H

#include <stdbool.h>

enum surface_sense { SURFACE_UP, SURFACE_DOWN };

struct surface {
    const struct surface_kind *kind;
    double vertex_mm;        /* z where the surface meets the axis */
    double curvature_per_mm; /* > 0: centre on the +z side; a plane: 0 */
};

struct surface_kind {
    /* The crossing of the given sense, as distance t from the origin along the direction; negative lies behind it.
     * False when the line has none. The only crossing counted is that with the sheet that bears the vertex. */
    bool (*cross)(const struct surface *surface, const double origin_mm[3], const double direction[3],
                  enum surface_sense sense, double *t_mm);
    /* Unit normal at a point of the surface, towards the up side. */
    void (*normal)(const struct surface *surface, const double at_mm[3], double normal[3]);
    /* z over the vertex at a distance from the axis; beyond the surface's reach NaN. */
    double (*sag)(const struct surface *surface, double radius_mm);
};

extern const struct surface_kind surface_plane;
extern const struct surface_kind surface_sphere; /* the half about the vertex */
#endif
