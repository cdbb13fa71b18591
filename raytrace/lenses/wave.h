/* Many rays through an optic side by side, in single precision: the walk of optic.h, surface by surface, for a wave
 * of rays that is filled up as rays end. Compiled once a vector width (wave_*.c); all give the same bits. What the
 * wave cannot decide (scatter, a ray that finds no surface inside a lens) goes on in double, alone, by walk_to_end().
 */
#ifndef RAYTRACE_LENSES_WAVE_H
#define RAYTRACE_LENSES_WAVE_H

#include "lenses/optic.h"
#include "lenses/ray_batch.h"

struct wave_fates {
    uint64_t loss[LUXFALL_LOSS_COUNT], abandoned, lost, exits, segments;
};

/* A patch as rays of one material see it: they can cross it in one sense alone. Its place in the room's list stands
 * for it and the side it is met from. */
enum { WAVE_POWERS = 14 };
struct wave_patch {
    enum patch_kind kind;
    float a, b, c, d;                                       /* of F, turned so that it rises along a crossing */
    float vertex, radius2_low, radius2_high, z_low, z_high; /* heights over the vertex */
    float powers[WAVE_POWERS]; /* ASPHERE: of r^4, r^6, ...; PROFILE: of u^0, u^1, ... in G(u), u = w inverse */
    float inverse;             /* PROFILE: 1 / half the height */
    float ratio;               /* index before / beyond */
    float mirror;     /* share that comes back of a mirror; a stop: 0; clear: -1; left to walk_to_end(): -2 */
    int32_t index;    /* in the optic */
    int32_t rising;   /* the ray passes to its up side */
    int32_t beyond;   /* the material there, */
    int32_t place;    /* and where its list has this patch */
    int32_t far_side; /* place of the same patch met from its other side in this room: a mirror in the air; else -2 */
};

enum { WAVE_PLACES_MAX = 2 * OPTIC_PATCHES_MAX };
struct wave_room { /* all that is one material */
    struct wave_patch patches[WAVE_PLACES_MAX];
    int count;
    float absorption;
};

/* An optic in the form that the wave reads. */
struct wave_optic {
    const struct optic *optic;
    struct wave_room rooms[OPTIC_MATERIALS_MAX];
    float slack, top; /* top: nothing lies above */
    bool absorbs;
};
enum { WAVE = 256 }; /* rays on their way, over all materials; their numbers stay in the nearest cache */

#define COLUMN(type, name) _Alignas(64) type name[WAVE]
struct wave {
    COLUMN(float, x);
    COLUMN(float, y);
    COLUMN(float, z);
    COLUMN(float, dx);
    COLUMN(float, dy);
    COLUMN(float, dz);
    COLUMN(float, ex); /* reference of the polarisation */
    COLUMN(float, ey);
    COLUMN(float, ez);
    COLUMN(float, q);
    COLUMN(float, u);
    COLUMN(float, v);
    COLUMN(float, depth);   /* optical, that may still be crossed */
    COLUMN(int32_t, stand); /* place of the patch that it stands on, -1: none */
    COLUMN(int32_t, segments);
    COLUMN(uint64_t, state);
    COLUMN(float, t);  /* to the next patch */
    COLUMN(float, nx); /* its normal along the ray, of no length */
    COLUMN(float, ny);
    COLUMN(float, nz);
    COLUMN(float, ratio);
    COLUMN(float, mirror);
    COLUMN(int32_t, next); /* its place in the room's list; -1: none */
    COLUMN(uint32_t, drawn);
    COLUMN(int32_t, fate);
    COLUMN(int32_t, there); /* 0: a hole, to be filled by the next ray */
    int32_t holes[WAVE];
    int count, hole_count; /* count: with holes */
};

/* Room for the work; starts as zeros. */
struct wave_space {
    struct wave waves[OPTIC_MATERIALS_MAX];
};

void wave_optic_make(const struct optic *optic, struct wave_optic *out);

/* Rays of a batch from the emitter to their ends; out gets those that leave, relative to optic->end_mm. random stands
 * at the first ray's numbers; each ray has OPTIC_DRAWS_MAX of its own. */
typedef void wave_trace(const struct wave_optic *optic, struct wave_space *space, const struct ray_batch *in,
                        struct pcg32 random, struct ray_batch *out, struct wave_fates *fates);
extern wave_trace wave_trace_plain, wave_trace_avx2, wave_trace_avx512; /* one of them is in struct kernels */
#endif
