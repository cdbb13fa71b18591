/* Light at a bare surface between two clear materials: Snell, Fresnel, total reflection, and its polarisation.
 *
 * A path is one ray with the polarisation it has gathered, as Stokes numbers divided by the intensity: q > 0 swings
 * along `reference`, q < 0 across it, u at 45 deg towards direction x reference, v turns. All surfaces of a path are
 * thereby exact, also where averaging s and p at each of them would not be. METHODS eq. (23)-(29). */
#ifndef RAYTRACE_LENSES_FRESNEL_H
#define RAYTRACE_LENSES_FRESNEL_H

#include <stdbool.h>

struct path {
    double at_mm[3];
    double direction[3]; /* unit */
    double reference[3]; /* unit, perpendicular to the direction */
    double q, u, v;
};

/* Unpolarised light. */
void path_start(struct path *path, const double at_mm[3], const double direction[3]);

/* Amplitudes of one surface, as E_s and E_p keep their sign along (s, direction x s). METHODS eq. (25). */
struct fresnel {
    double cos_in, cos_out; /* cos_out: 0 when total */
    double rs, rp;          /* when total: 1, the phases apart */
    bool total;
};
struct fresnel fresnel_at(double index_ratio, double cos_in); /* ratio: index before / index beyond */

/* A path about to meet a surface. */
struct meeting {
    struct fresnel fresnel;
    double index_ratio;
    double normal[3];   /* turned against the path */
    double reflectance; /* of this path, its polarisation counted, 0 .. 1 */
};

/* Finds the meeting, and turns the path's reference into the s direction of this surface; the light stays the same.
 * The normal may point to either side. */
void meeting_find(struct path *path, const double normal[3], double index_ratio, struct meeting *out);

/* The path after it: direction and polarisation of the light that came back, or that went through (never when total).
 */
void meeting_reflect(const struct meeting *meeting, struct path *path);
void meeting_refract(const struct meeting *meeting, struct path *path);
/* From a perfect mirror: the two components part by half a wave. */
void meeting_mirror(const struct meeting *meeting, struct path *path);
#endif
