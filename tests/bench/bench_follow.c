/* Optics for the bench, and rays of a Lambertian 1 mm square on their way into them. Sizes are invented; those of the
 * collimator are the worked example of test_optics_collimator. */
#include "bench/bench.h"
#include "lenses/collimator.h"
#include "lenses/solid.h"
#include "numbers/keys.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>

enum { BATCHES = 4 };

const char *const follow_names[FOLLOW_COUNT] = {"collimator", "plano-convex", "ball", "asphere"};

static struct optic optics[FOLLOW_COUNT];
static struct wave_optic waves[FOLLOW_COUNT];
static struct ray_batch rays[BATCHES];
static struct wave_space space;

static struct luxfall_lens singlet_of(double diameter_mm, double thickness_mm, double gap_mm,
                                      struct luxfall_side towards, struct luxfall_side away) {
    return (struct luxfall_lens){.kind = LUXFALL_LENS_SINGLET,
                                 .material = {.kind = LUXFALL_MATERIAL_NAMED, .name = "acrylic"},
                                 .singlet = {.diameter_mm = diameter_mm,
                                             .thickness_mm = thickness_mm,
                                             .gap_mm = gap_mm,
                                             .towards = towards,
                                             .away = away}};
}

static void make_singlet(int which, struct luxfall_lens lens) {
    struct luxfall_error error = {0};
    if (solid_validate(&lens, &error) != LUXFALL_OK || solid_optic(&lens, 0, &optics[which], &error) != LUXFALL_OK) {
        fprintf(stderr, "%s: %s\n", follow_names[which], error.text);
        exit(1);
    }
}

void follow_prepare(void) {
    struct collimator c = {.index = 1.49, .hollow_mm = 3, .focus_mm = 4, .radius_mm = 10, .face_mm = 11};
    const struct luxfall_side flat = {0}, ball = {.radius_mm = 5}, bulge = {.radius_mm = 10, .conic = -1},
                              asphere = {.radius_mm = 7, .conic = -0.8, .power_count = 2, .powers = {1e-4, 2e-6}};
    if (!collimator_solve(&c))
        exit(1);
    collimator_optic(&c, &optics[FOLLOW_COLLIMATOR]);
    make_singlet(FOLLOW_PLANO_CONVEX, singlet_of(16, 6, 3, flat, bulge));
    make_singlet(FOLLOW_BALL, singlet_of(9.5, 10, 1, ball, ball));
    make_singlet(FOLLOW_ASPHERE, singlet_of(12, 6, 2, flat, asphere));
    for (int i = 0; i < FOLLOW_COUNT; i++)
        wave_optic_make(&optics[i], &waves[i]);
    const struct angle_launch_table angles = {.lambertian = true};
    const struct launch_source die = {.face = {LUXFALL_RECTANGLE, 1, 1}, .columns = 1, .rows = 1, .angles = &angles};
    const struct point_key key = {key_make(1, 0, PURPOSE_LAUNCH, 0), LUXFALL_RANDOM};
    for (int b = 0; b < BATCHES; b++)
        kernels_choose(LUXFALL_VECTORS_PLAIN)->launch(&die, &key, (uint64_t)b * RAY_BATCH, RAY_BATCH, &rays[b]);
}

struct wave_fates follow_run(const struct kernels *kernels, int which, int batches, int round) {
    static struct ray_batch out;
    struct wave_fates fates = {0};
    struct pcg32 random = pcg32_seed((uint64_t)round, 5);
    for (int b = 0; b < batches; b++) {
        kernels->follow(&waves[which], &space, &rays[b % BATCHES], random, &out, &fates);
        pcg32_jump(&random, (uint64_t)RAY_BATCH * OPTIC_DRAWS_MAX);
    }
    return fates;
}
