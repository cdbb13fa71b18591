/* Many rays through an optic side by side, in single precision: the walk of optic.h, a vector of rays at a
 * time. Rays that stand on the same side of the same patch wait
 * together; so all of a vector look for the same patches, in the same sense. Compiled once a vector width (wave_*.c);
 * all give the same bits. What scatters does so in double, ray by ray, and comes back to the wave. What the wave
 * cannot decide (kinds that it does not know, a ray that finds no surface inside a lens) goes on in double, alone, by
 * walk_to_end().
 */
#ifndef RAYTRACE_LENSES_WAVE_H
#define RAYTRACE_LENSES_WAVE_H

#include "lenses/optic.h"
#include "lenses/ray_batch.h"

struct wave_fates {
    uint64_t loss[OPTIC_LOSSES], abandoned, lost, exits, segments;
};

/* What the wave does not know of a patch: where it is met; or what it does with light. */
#define WAVE_LEFT_TO_WALK (-2.0f)
#define WAVE_DEED_ALONE (-3.0f)

/* A patch as rays of one material see it: they can cross it in one sense alone. */
enum { WAVE_POWERS = 14 };
struct wave_patch {
    enum patch_kind kind;
    float a, b, c, d; /* of F, or of a quadric near to it, turned so that it rises along a crossing */
    float vertex, radius2_low, radius2_high, z_low, z_high; /* heights over the vertex */
    float powers[WAVE_POWERS]; /* ASPHERE: of r^4, r^6, ...; PROFILE: of u^0, u^1, ... in G(u), u = w inverse */
    float slopes[WAVE_POWERS]; /* ASPHERE: of dS/d(r^2), over r^2; PROFILE: of u^0, u^1, ... in dG/du */
    float inverse;             /* PROFILE: 1 / half the height */
    bool bulges; /* a wall round what is convex, met from inside: a line leaves it once. Then the square of the radius
                    that a ray must have passed, at its lower and its upper edge, and the least: */
    float reach_low, reach_high, reach_least;
    bool left_for_good; /* a ray that comes from it does not meet it again: F, which was 0 there and fell, does not
                           come back to 0 along any line */
    float near;         /* ASPHERE, PROFILE: it is not met farther than that from where its quadric is */
    float bend;         /* ASPHERE, PROFILE: F does not bend more than that along any line near the patch */
    float ratio;        /* index before / beyond */
    float mirror;       /* share that comes back of a mirror; a stop: 0; clear: -1; or one of these */
    int32_t index;      /* in the optic */
    int32_t rising;     /* the ray passes to its up side */
    int32_t beyond;     /* the material there */
    int32_t place;      /* in its room's list */
    int32_t back, on;   /* stands of rays that it sends back, and of those that pass */
    bool ends;          /* what it does not send back is absorbed */
    bool at_back;       /* of a mirror */
    bool outside;       /* what passes is in the open, and at the top meets nothing more */
};

enum { WAVE_PLACES_MAX = 2 * OPTIC_PATCHES_MAX, WAVE_STANDS_MAX = WAVE_PLACES_MAX + 1 };
struct wave_room { /* all that is one material */
    struct wave_patch patches[WAVE_PLACES_MAX];
    int count;
    float absorption;
};

/* Where rays stand: on a side of a patch, or at their start; and what can be met from there. */
struct wave_ahead {
    int32_t place;
    float least; /* distance at which it is met; some less than 0, but on the patch itself */
};
struct wave_stand {
    int room, place; /* place -1: the start */
    int ahead_count;
    struct wave_ahead ahead[WAVE_PLACES_MAX];
};

/* The optic's source_area; [0] along its x, [1] along its y. */
struct wave_source {
    float row[3][3], step[3]; /* the faces lie at height 0 of this frame */
    float count[2], pitch[2], per_pitch[2];
    float half[2], radius2; /* of a face: within both; no face: half below 0 */
};

/* An optic in the form that the wave reads. */
struct wave_optic {
    const struct optic *optic;
    struct wave_source source;
    struct wave_room rooms[OPTIC_MATERIALS_MAX];
    int stand_count; /* the first is the start */
    struct wave_stand stands[WAVE_STANDS_MAX];
    float slack, top; /* top: nothing lies above */
    bool absorbs;     /* some material */
    bool scatters;    /* some patch, or it mirrors as measured: deeds that the wave does not know */
};

/* Rays on their way; so many start together; room to store a whole vector behind the last. */
enum { WAVE = 768, WAVE_START = 384, WAVE_ROOM = WAVE + 16 };

/* Steps of a batch; those that are still on their way then may be caught, and go on alone. No ray takes more surfaces
 * than the batch takes steps: so half of the bounces are left to it, and nothing is counted ray by ray. */
enum { WAVE_STEPS_MAX = OPTIC_BOUNCES_MAX / 2 };

/* Rays of one stand. Their polarisation is told against the s of the last surface: d x (x, y, z - centre). */
enum { WAVE_COLUMNS = 12 };
#define COLUMN(type, name) _Alignas(64) type name[WAVE_ROOM]
struct wave {
    union {
        struct {
            COLUMN(float, x);
            COLUMN(float, y);
            COLUMN(float, z);
            COLUMN(float, dx);
            COLUMN(float, dy);
            COLUMN(float, dz);
            COLUMN(float, q);
            COLUMN(float, u);
            COLUMN(float, v);
            COLUMN(float, centre);     /* height at which the normal of the last surface meets the axis */
            COLUMN(uint32_t, numbers); /* state of the ray's own */
            COLUMN(float, depth);      /* optical, that may still be crossed; kept only where something absorbs */
        };
        COLUMN(float, columns[WAVE_COLUMNS]);
    };
    int count;
};

/* What is worked out of so many rays of a stand at a time, one short loop over all of them after the other: the
 * processor has several turns of such a loop under way, and it all stays in the nearest cache. */
enum { WAVE_BLOCK = 384, WAVE_NOWHERE = -1, WAVE_ALONE = -2 };
#define WORK(type, name) _Alignas(64) type name[WAVE_BLOCK]
struct wave_work {
    WORK(float, per_dz); /* 1/dz; dx^2 + dy^2, x^2 + y^2, x dx + y dy */
    WORK(float, across2);
    WORK(float, r2);
    WORK(float, across_r);
    WORK(float, t);       /* of the nearest crossing so far */
    WORK(int32_t, place); /* of its patch; WAVE_NOWHERE, WAVE_ALONE */
    WORK(float, radial);  /* its normal, (radial x, radial y, rise) */
    WORK(float, rise);
    WORK(float, per_length);
    WORK(float, ratio); /* as in its patch */
    WORK(float, mirror);
    WORK(float, found);   /* where a patch with powers is met, */
    WORK(int32_t, worth); /* if the search for it is worth it: -1; no: 0 */
    WORK(float, cosine);  /* of incidence */
    WORK(float, out2);    /* cos^2 beyond; root of its size */
    WORK(float, root);
    WORK(float, along); /* the new direction: along times the old one, aside times the normal */
    WORK(float, aside);
    unsigned going[WAVE_BLOCK / 4], back[WAVE_BLOCK / 4], searching[WAVE_BLOCK / 4]; /* bits of each vector */
};

/* Rays `from` and so many more of a stand. */
struct wave_block {
    struct wave *rays;
    int from, count;
    struct wave_work *work;
};

/* Room for the work of one thread; need not be filled. */
struct wave_space {
    struct wave waves[WAVE_STANDS_MAX + 1], alone, deeds;
    int32_t deed_places[WAVE_ROOM]; /* of the patches that rays of deeds have met */
    struct wave_work work;
};

/* The optic must outlive what is made of it. */
void wave_optic_make(const struct optic *optic, struct wave_optic *out);

/* Rays of a batch from the emitter to their ends; out gets those that leave, relative to optic->end_mm, and fates are
 * added to. Read and written is by whole vectors: behind the last ray of `in` any numbers do, and any stand in `out`.
 * random stands at the number that starts the first ray's own; the next one starts those of the next ray. */
typedef void wave_trace(const struct wave_optic *optic, struct wave_space *space, const struct ray_batch *in,
                        struct pcg32 random, struct ray_batch *out, struct wave_fates *fates);
extern wave_trace wave_trace_plain, wave_trace_avx2, wave_trace_avx512; /* one of them is in struct kernels */
#endif
