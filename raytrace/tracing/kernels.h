/* The inner loops: launching rays, casting them to a plane, lighting points. The same source is compiled once for
 * every vector width and chosen at run time; all widths give the same bits (no contraction, no reassociation, own
 * elementary functions). Nothing here allocates. Lengths in mm, single precision; counts are exact. */
#ifndef RAYTRACE_TRACING_KERNELS_H
#define RAYTRACE_TRACING_KERNELS_H

#include "emitters/angle_law.h"
#include "lenses/wave.h"
#include "luxfall.h"

#include <stdint.h>

/* What random numbers belong to: one stream or scramble for each (seed, replicate, purpose), jumped to the ray.
 * Number 16 i + d of the stream, or point i of the scrambled sequence, is dimension d of ray i. */
struct point_key {
    uint64_t key; /* from key_make(): seed, replicate, purpose and index mixed */
    enum luxfall_points points;
};

/* A face and its law, ready to launch. Dies: columns x rows of `face`, centred. */
struct launch_source {
    struct luxfall_face face;
    int columns, rows;
    float pitch_x_mm, pitch_y_mm;
    const struct angle_launch_table *angles;
};

/* A placement, a symmetry image and a map in one: hit in cells from the map's lower left corner.
 * With o = (x,y,z) and d of a ray: height p = hz + mz.o above the plane, fall q = -(mz.d) > 0, t = p / q,
 * gx = hx + mx.o + t (mx.d), gy likewise. mx, my carry 1/cell; mz is in mm. */
struct cast_frame {
    float hx, hy, hz;
    float mx[3], my[3], mz[3];
};
#define CAST_NOWHERE (-1e30f)
struct cast_grid {
    int32_t columns, rows; /* of the tally; columns * rows < 2^31 */
};

/* A disc or rectangle of points to be lit, for rays launched at fields. */
struct light_points {
    int count;                        /* at most RAY_BATCH */
    _Alignas(64) float px[RAY_BATCH]; /* offsets on the plane from the place to be lit, mm */
    _Alignas(64) float py[RAY_BATCH];
    _Alignas(64) float sx[RAY_BATCH]; /* starting points on the face, world mm, relative to the module's centre */
    _Alignas(64) float sy[RAY_BATCH];
    _Alignas(64) float sz[RAY_BATCH];
};

struct kernels {
    const char *name; /* "plain", "avx2", "avx512" */

    /* Rays first .. first+count-1 of a stream; count <= RAY_BATCH; first a multiple of 16 for scrambled points.
     * Dimensions: 0 t (polar), 1 azimuth, 2 and 3 place. */
    void (*launch)(const struct launch_source *source, const struct point_key *key, uint64_t first, int count,
                   struct ray_batch *out);

    wave_trace *follow; /* through an optic: lenses/wave.h */

    /* cell[i] = gy * columns + gx, or columns*rows when ray i misses the map, i < count. gx and gy (in cells, both or
     * none NULL) also for hits beside the map; CAST_NOWHERE for rays that do not come down to the plane. */
    void (*cast)(const struct ray_batch *rays, const struct cast_frame *frame, const struct cast_grid *grid,
                 int32_t *cell, float *gx, float *gy);

    /* Sum over the points of shape(a) cos(incidence) / r^2 in 1/mm^2: the place (x,y,z=level)
     * relative to the module's centre is (rx, ry, rz) with rz = level - module height < 0; axis is the module's axis
     * in the world. Points behind the face or above it count 0. Added in double in a fixed order. */
    double (*light)(const struct light_points *points, const struct angle_shape_table *shape, const float axis[3],
                    float rx, float ry, float rz);

    /* Unit-square points, dims 0..dims-1 (dims <= 16) of points first .. first+count-1, each dim count floats in
     * [0,1). The same numbers that launch() uses; first a multiple of 16 for scrambled points, whose index ends at
     * 2^32. */
    void (*points)(const struct point_key *key, uint64_t first, int count, int dims, float *const *out);
};

/* Best set this processor runs, or the wanted one if it does; PLAIN always does. */
const struct kernels *kernels_choose(enum luxfall_vectors wanted);

/* counts[cell[i]] += 1 for i < count; counts has columns*rows + 1 entries, the last for misses. */
void kernels_tally(const int32_t *cell, int count, uint32_t *counts);
#endif
