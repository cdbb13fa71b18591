/* What the bench and its bare kernel share. */
#ifndef TESTS_BENCH_BENCH_H
#define TESTS_BENCH_BENCH_H

#include "lenses/collimator.h"
#include "tracing/kernels.h"

enum { MAP_SIDE = 160, MAP_CELLS = MAP_SIDE * MAP_SIDE };
#define DIE_MM 1.2f
#define HEIGHT_MM 100.0f

/* `batches` batches of rays to the map with nothing in the way: one generator that runs on, no keys, no tables. */
void bare_plain(int batches, uint32_t seed, uint32_t *counts);
#ifdef __x86_64__
void bare_avx2(int batches, uint32_t seed, uint32_t *counts);
void bare_avx512(int batches, uint32_t seed, uint32_t *counts);
#endif

/* Optics that the same rays are followed through, round after round with other numbers at their surfaces; from the
 * frosted one on rays leave the wave to be met one by one. */
enum {
    FOLLOW_COLLIMATOR,
    FOLLOW_PLANO_CONVEX,
    FOLLOW_BALL,
    FOLLOW_ASPHERE,
    FOLLOW_PIPE,
    FOLLOW_FROSTED,
    FOLLOW_FRESNEL,
    FOLLOW_SQUARE,
    FOLLOW_HEXAGON,
    FOLLOW_CONCENTRATOR,
    FOLLOW_COUNT
};
extern const char *const follow_names[FOLLOW_COUNT];
void follow_prepare(void);
int follow_batches(int which); /* of a round: enough to time, fewer where a ray takes long */
struct wave_fates follow_run(const struct kernels *kernels, int which, int batches, int round);

#ifdef BENCH_MESH
/* The collimator as a mesh: `fineness` steps along its middle, four times as many around. */
void mesh_prepare(const struct collimator *collimator, const struct optic *optic, int fineness);
size_t mesh_triangles(void);
void mesh_follow(int width, const struct ray_batch *in, struct pcg32 *random, struct ray_batch *out);
/* The coarsest mesh whose map is as good as that of the exact surfaces; prints how that was seen. False: none is. */
bool follow_prepare_mesh(void);
void follow_mesh_run(int width, int batches, int round);
#endif
#endif
