/* Optics for the bench, and rays of a Lambertian 1 mm square on their way into them. Sizes are invented; those of the
 * collimator are the worked example of test_optics_collimator. */
#include "bench/bench.h"
#include "lenses/solid.h"
#include "numbers/keys.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

enum { BATCHES = 4 };

const char *const follow_names[FOLLOW_COUNT] = {"collimator",     "plano-convex",       "ball",         "asphere",
                                                "round pipe",     "frosted collimator", "Fresnel lens", "square body",
                                                "hexagonal pipe", "concentrator"};

static struct collimator collimator = {.index = 1.49, .hollow_mm = 3, .focus_mm = 4, .radius_mm = 10, .face_mm = 11};
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

int follow_batches(int which) {
    return which < FOLLOW_FROSTED ? 64 : which < FOLLOW_SQUARE ? 8 : 2;
}

static void make(int which, struct luxfall_lens lens) {
    struct luxfall_error error = {0};
    if (solid_validate(&lens, &error) != LUXFALL_OK || solid_optic(&lens, 0, &optics[which], &error) != LUXFALL_OK) {
        fprintf(stderr, "%s: %s\n", follow_names[which], error.text);
        exit(1);
    }
}

static void make_others(void) {
    const struct luxfall_side flat = {0}, bulge = {.radius_mm = 10, .conic = -1};
    const struct luxfall_mirror silver = {.count = 1, .share = {0.9}};
    struct luxfall_lens square = singlet_of(16, 6, 3, flat, bulge), pipe = square, hexagon, concentrator = square,
                        fresnel = square;
    square.singlet.body_mm[0] = square.singlet.body_mm[1] = 20;
    pipe.kind = LUXFALL_LENS_PIPE;
    pipe.pipe = (struct luxfall_pipe){
        .section = LUXFALL_SECTION_ROUND, .width_mm = 6, .height_mm = 6, .length_mm = 50, .gap_mm = 0.2};
    hexagon = pipe;
    hexagon.pipe.section = LUXFALL_SECTION_HEXAGON;
    fresnel.kind = LUXFALL_LENS_FRESNEL;
    fresnel.fresnel = (struct luxfall_fresnel){
        .diameter_mm = 40, .thickness_mm = 2, .focal_mm = 25, .pitch_mm = 0.5, .gap_mm = 25, .draft_rad = 0.05};
    concentrator.kind = LUXFALL_LENS_CONCENTRATOR;
    concentrator.concentrator = (struct luxfall_concentrator){.small_mm = 3, .beam_rad = 0.7, .mirror = silver};
    make(FOLLOW_SQUARE, square);
    make(FOLLOW_PIPE, pipe);
    make(FOLLOW_HEXAGON, hexagon);
    make(FOLLOW_FRESNEL, fresnel);
    make(FOLLOW_CONCENTRATOR, concentrator);
}

void follow_prepare(void) {
    const struct luxfall_side flat = {0}, ball = {.radius_mm = 5}, bulge = {.radius_mm = 10, .conic = -1},
                              asphere = {.radius_mm = 7, .conic = -0.8, .power_count = 2, .powers = {1e-4, 2e-6}};
    if (!collimator_solve(&collimator))
        exit(1);
    collimator_optic(&collimator, &optics[FOLLOW_COLLIMATOR]);
    optics[FOLLOW_FROSTED] = optics[FOLLOW_COLLIMATOR];
    optics[FOLLOW_FROSTED].patches[COLLIMATOR_FACE].deed = PATCH_FROSTED;
    optics[FOLLOW_FROSTED].patches[COLLIMATOR_FACE].spread_rad = 0.05;
    make(FOLLOW_PLANO_CONVEX, singlet_of(16, 6, 3, flat, bulge));
    make(FOLLOW_BALL, singlet_of(9.5, 10, 1, ball, ball));
    make(FOLLOW_ASPHERE, singlet_of(12, 6, 2, flat, asphere));
    make_others();
    const struct angle_launch_table angles = {.lambertian = true};
    const struct launch_source die = {.face = {LUXFALL_RECTANGLE, 1, 1}, .columns = 1, .rows = 1, .angles = &angles};
    for (int i = 0; i < FOLLOW_COUNT; i++) {
        optics[i].source = (struct source_area){.face = die.face, .columns = 1, .rows = 1};
        wave_optic_make(&optics[i], &waves[i]);
    }
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
        pcg32_jump(&random, RAY_BATCH);
    }
    return fates;
}

#ifdef BENCH_MESH
enum { SIDE = 40, CHECK_BATCHES = 1024, FINEST = 512 };
static const double CHECK_HEIGHT_MM = 100, CHECK_CELL_MM = 2;

static void bin(const struct ray_batch *out, double map[SIDE * SIDE]) {
    for (int i = 0; i < out->count; i++) {
        double t = (CHECK_HEIGHT_MM - out->z[i]) / out->dz[i];
        double x = (out->x[i] + t * out->dx[i]) / CHECK_CELL_MM + SIDE / 2,
               y = (out->y[i] + t * out->dy[i]) / CHECK_CELL_MM + SIDE / 2;
        if (x >= 0 && x < SIDE && y >= 0 && y < SIDE)
            map[(int)y * SIDE + (int)x]++;
    }
}

static double sum_of(const double map[SIDE * SIDE]) {
    double sum = 0;
    for (int i = 0; i < SIDE * SIDE; i++)
        sum += map[i];
    return sum;
}

/* Over the cells that have enough rays; shares of the light, so that neither map's total counts. */
static double chi2(const double a[SIDE * SIDE], const double b[SIDE * SIDE], int *cells) {
    double sum_a = sum_of(a), sum_b = sum_of(b), chi = 0;
    *cells = 0;
    for (int i = 0; i < SIDE * SIDE; i++) {
        if (a[i] + b[i] < 50)
            continue;
        double difference = a[i] / sum_a - b[i] / sum_b;
        chi += difference * difference / (a[i] / (sum_a * sum_a) + b[i] / (sum_b * sum_b));
        ++*cells;
    }
    return chi / *cells;
}

static void fresh_rays(struct pcg32 *random, struct ray_batch *in) {
    const struct angle_launch_table angles = {.lambertian = true};
    const struct launch_source die = {.face = {LUXFALL_RECTANGLE, 1, 1}, .columns = 1, .rows = 1, .angles = &angles};
    const struct point_key key = {pcg32_next(random), LUXFALL_RANDOM};
    kernels_choose(LUXFALL_VECTORS_BEST)->launch(&die, &key, 0, RAY_BATCH, in);
}

static void map_of(bool exact, struct pcg32 random, double map[SIDE * SIDE]) {
    static struct ray_batch in, out;
    struct wave_fates fates = {0};
    memset(map, 0, SIDE * SIDE * sizeof *map);
    for (int b = 0; b < CHECK_BATCHES; b++) {
        fresh_rays(&random, &in);
        struct pcg32 own = pcg32_seed(pcg32_next(&random), 9);
        if (exact)
            kernels_choose(LUXFALL_VECTORS_BEST)->follow(&waves[FOLLOW_COLLIMATOR], &space, &in, own, &out, &fates);
        else
            mesh_follow(8, &in, &own, &out);
        bin(&out, map);
    }
}

bool follow_prepare_mesh(void) {
    static double exact[SIDE * SIDE], other[SIDE * SIDE], meshed[SIDE * SIDE];
    int cells;
    map_of(true, pcg32_seed(1, 1), exact);
    map_of(true, pcg32_seed(2, 2), other);
    printf("maps of %.1f million rays each; chi^2 a cell, two of the exact surfaces: %.3f\n",
           1e-6 * CHECK_BATCHES * RAY_BATCH, chi2(exact, other, &cells));
    for (int fineness = 8; fineness <= FINEST; fineness += fineness / 2) {
        mesh_prepare(&collimator, &optics[FOLLOW_COLLIMATOR], fineness);
        map_of(false, pcg32_seed(3, 3), meshed);
        double chi = chi2(exact, meshed, &cells);
        printf("  a mesh of %zu triangles: %.3f over %d cells\n", mesh_triangles(), chi, cells);
        if (chi < 1 + 3 * sqrt(2.0 / cells))
            return true;
    }
    return false;
}

void follow_mesh_run(int width, int batches, int round) {
    static struct ray_batch out;
    struct pcg32 random = pcg32_seed((uint64_t)round, 5);
    for (int b = 0; b < batches; b++)
        mesh_follow(width, &rays[b % BATCHES], &random, &out);
}
#endif
