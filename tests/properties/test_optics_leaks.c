/* What must hold of every optic, whatever its numbers: no ray slips between two patches, every ray has one end, a
 * wave of rays does what single rays do, and all vector widths give the same bits. Random lenses, collimators and
 * grooves; LUXFALL_SCENES optics (default 200) of 20 480 rays each. By definition, no source is wanted: a count of
 * zero. */
#include "lenses/collimator.h"
#include "lenses/solid.h"
#include "lenses/wave.h"

#include <math.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <stdlib.h>
#include <string.h>

#include <cmocka.h>

enum { BATCHES = 20 };
static const double PI = 3.14159265358979323846;

static double between(struct pcg32 *random, double low, double high) {
    return low + (high - low) * pcg32_double(random);
}

static struct patch side(struct patch patch, int down, int up, double radius_mm, double z1_mm, double z2_mm) {
    patch.down = down;
    patch.up = up;
    patch.radius_high_mm = radius_mm;
    patch.z_low_mm = fmin(z1_mm, z2_mm);
    patch.z_high_mm = fmax(z1_mm, z2_mm);
    return patch;
}

/* Two conics and a clear rim: light may leave and enter everywhere. */
static void random_lens(struct pcg32 *random, struct optic *out) {
    double radius = between(random, 2, 15), gap = between(random, 0.2, 5), sags[2], thickness;
    double curvatures[2], conics[2];
    for (int i = 0; i < 2; i++) {
        curvatures[i] = between(random, -0.9, 0.9) / radius;
        conics[i] = between(random, -3, 0.2);
        sags[i] = conic_sag(curvatures[i], conics[i], 0, NULL, radius);
    }
    thickness = fmax(0, sags[0] - sags[1]) + fmax(0, sags[0]) + fmax(0, -sags[1]) + between(random, 0.01, 6);
    gap += fmax(0, -sags[0]);
    *out = (struct optic){.material_count = 2, .end_mm = gap + thickness};
    out->size_mm = 2 * radius + gap + thickness;
    out->materials[0] = (struct optic_material){1, 0, true};
    out->materials[1] = (struct optic_material){between(random, 1.3, 1.9), 0, false};
    double back = gap + thickness;
    out->patches[0] = side(patch_conic(gap, curvatures[0], conics[0]), 0, 1, radius, gap, gap + sags[0]);
    out->patches[1] = side(patch_conic(back, curvatures[1], conics[1]), 1, 0, radius, back, back + sags[1]);
    out->patches[2] = side(patch_cylinder(radius), 1, 0, radius * 1.01, gap + sags[0], back + sags[1]);
    out->patch_count = 3;
}

static void random_collimator(struct pcg32 *random, struct optic *out) {
    struct collimator c;
    do
        c = (struct collimator){.index = between(random, 1.4, 1.6),
                                .hollow_mm = between(random, 1.5, 4),
                                .focus_mm = between(random, 2, 5),
                                .radius_mm = between(random, 6, 14),
                                .face_mm = between(random, 6, 16)};
    while (!collimator_solve(&c));
    collimator_optic(&c, out);
}

static bool random_grooves(struct pcg32 *random, struct optic *out) {
    struct luxfall_lens lens = {.name = "fresnel",
                                .kind = LUXFALL_LENS_FRESNEL,
                                .material = {.index = between(random, 1.4, 1.6)},
                                .fresnel = {.diameter_mm = between(random, 10, 60),
                                            .thickness_mm = between(random, 1, 4),
                                            .focal_mm = between(random, 8, 50),
                                            .pitch_mm = between(random, 0.1, 3),
                                            .draft_rad = between(random, 0.01, 0.3),
                                            .gap_mm = between(random, 0.5, 30),
                                            .grooves_towards = pcg32_next(random) & 1,
                                            .holder_open = pcg32_next(random) & 1}};
    return solid_validate(&lens, NULL) == LUXFALL_OK && solid_optic(&lens, 0, out, NULL) == LUXFALL_OK;
}

static void random_fresnel(struct pcg32 *random, struct optic *out) {
    while (!random_grooves(random, out))
        ;
}

static void random_pipe(struct pcg32 *random, struct optic *out) {
    static struct luxfall_lens lens; /* its mirror is pointed to */
    lens = (struct luxfall_lens){.name = "pipe",
                                 .kind = LUXFALL_LENS_PIPE,
                                 .material = {.index = between(random, 1.4, 1.6)},
                                 .pipe = {.section = (enum luxfall_section_kind)(pcg32_next(random) % 3),
                                          .width_mm = between(random, 1, 10),
                                          .height_mm = between(random, 1, 10),
                                          .length_mm = between(random, 2, 40),
                                          .gap_mm = between(random, 0, 2),
                                          .mirror = {(int)(pcg32_next(random) & 1), {0}, {0.9}}}};
    lens.pipe.holder_open = lens.pipe.mirror.count == 0 && pcg32_next(random) & 1;
    if (lens.pipe.section != LUXFALL_SECTION_RECTANGLE)
        lens.pipe.height_mm = lens.pipe.width_mm;
    assert_int_equal(solid_validate(&lens, NULL), LUXFALL_OK);
    assert_int_equal(solid_optic(&lens, 0, out, NULL), LUXFALL_OK);
}

static void random_cup(struct pcg32 *random, struct optic *out) {
    static struct luxfall_lens lens; /* its mirror is pointed to */
    do
        lens = (struct luxfall_lens){.name = "cup",
                                     .kind = LUXFALL_LENS_REFLECTOR,
                                     .reflector = {between(random, 10, 60),
                                                   between(random, 2, 8),
                                                   pcg32_next(random) & 1 ? between(random, 10, 90) : 0,
                                                   between(random, 3, 20),
                                                   {1, {0}, {0.9}}}};
    while (solid_validate(&lens, NULL) != LUXFALL_OK);
    assert_int_equal(solid_optic(&lens, 0, out, NULL), LUXFALL_OK);
}

static void random_horn(struct pcg32 *random, struct optic *out) {
    static struct luxfall_lens lens;
    lens = (struct luxfall_lens){.name = "horn",
                                 .kind = LUXFALL_LENS_CONCENTRATOR,
                                 .concentrator = {between(random, 2, 5), between(random, 0.2, 2), {1, {0}, {0.9}}}};
    assert_int_equal(solid_validate(&lens, NULL), LUXFALL_OK);
    assert_int_equal(solid_optic(&lens, 0, out, NULL), LUXFALL_OK);
}

/* Lenslets on top of it. */
static void random_lenslets(struct pcg32 *random, struct optic *out) {
    static struct luxfall_lens lens;
    lens = (struct luxfall_lens){.name = "lenslets",
                                 .kind = LUXFALL_LENS_COLLIMATOR,
                                 .material = {.index = between(random, 1.4, 1.6)},
                                 .collimator = {.diameter_mm = between(random, 12, 30)}};
    struct luxfall_lenslets *cells = &lens.collimator.lenslets;
    cells->pitch_mm = between(random, 0.3, 6);
    cells->hexagonal = pcg32_next(random) & 1;
    cells->radius_mm = between(random, 1.1, 6) * lenslet_corner_mm(cells->pitch_mm, cells->hexagonal) *
                       (pcg32_next(random) & 1 ? 1 : -1);
    luxfall_collimator_usual(&lens);
    assert_int_equal(solid_validate(&lens, NULL), LUXFALL_OK);
    assert_int_equal(solid_optic(&lens, 0, out, NULL), LUXFALL_OK);
}

/* Wavy sides, straight or smooth between few points, that may come close to each other. */
static bool random_profiles(struct pcg32 *random, struct optic *out) {
    enum { POINTS = 6 };
    static double radius_mm[2][POINTS], height_mm[2][POINTS];
    struct luxfall_lens lens = {.name = "turned",
                                .kind = LUXFALL_LENS_TURNED,
                                .material = {.index = between(random, 1.4, 1.6)},
                                .turned = {.gap_mm = between(random, 0, 4), .holder_open = pcg32_next(random) & 1}};
    double rim = between(random, 4, 15);
    for (int side = 0; side < 2; side++) {
        for (int i = 0; i < POINTS; i++) {
            radius_mm[side][i] =
                i == POINTS - 1 ? rim : rim * (i + (i > 0 ? between(random, -0.4, 0.4) : 0)) / (POINTS - 1);
            height_mm[side][i] = between(random, 0, 3) + 3.2 * side;
        }
        *(side ? &lens.turned.away : &lens.turned.towards) =
            (struct luxfall_profile){POINTS, radius_mm[side], height_mm[side], pcg32_next(random) & 1};
    }
    return solid_validate(&lens, NULL) == LUXFALL_OK && solid_optic(&lens, 0, out, NULL) == LUXFALL_OK;
}

static void random_turned(struct pcg32 *random, struct optic *out) {
    while (!random_profiles(random, out))
        ;
}

static void random_rays(struct pcg32 *random, double die_mm, struct ray_batch *out) {
    out->count = RAY_BATCH;
    for (int i = 0; i < RAY_BATCH; i++) {
        double u = pcg32_double(random), around = 2 * PI * pcg32_double(random);
        out->x[i] = (float)(die_mm * (pcg32_double(random) - 0.5));
        out->y[i] = (float)(die_mm * (pcg32_double(random) - 0.5));
        out->z[i] = 0;
        out->dx[i] = (float)(sqrt(u) * cos(around));
        out->dy[i] = (float)(sqrt(u) * sin(around));
        out->dz[i] = (float)sqrt(1 - u);
    }
}

static int optics_wanted(void) {
    const char *text = getenv("LUXFALL_SCENES");
    return text ? atoi(text) : 200;
}

static struct wave_space *space_make(void) {
    struct wave_space *space = aligned_alloc(64, sizeof *space);
    assert_non_null(space);
    memset(space, 0, sizeof *space);
    return space;
}

/* Walks of single rays, in double. */
static void walk_all(const struct optic *optic, const struct ray_batch *in, struct pcg32 random,
                     struct wave_fates *fates) {
    for (int i = 0; i < in->count; i++) {
        const double at[3] = {in->x[i], in->y[i], in->z[i]}, direction[3] = {in->dx[i], in->dy[i], in->dz[i]};
        struct pcg32 own = random;
        struct optic_outcome out;
        pcg32_jump(&own, (uint64_t)i * OPTIC_DRAWS_MAX);
        optic_trace(optic, at, direction, &own, &out);
        if (out.fate == OPTIC_EXIT)
            fates->exits++;
        else if (out.fate == OPTIC_ABSORBED)
            fates->loss[out.loss]++;
        else if (out.fate == OPTIC_LOST)
            fates->lost++;
        else
            fates->abandoned++;
    }
}

static uint64_t ends(const struct wave_fates *fates) {
    uint64_t sum = fates->exits + fates->abandoned + fates->lost;
    for (int i = 0; i < LUXFALL_LOSS_COUNT; i++)
        sum += fates->loss[i];
    return sum;
}

static void same_rays(const struct ray_batch *a, const struct ray_batch *b) {
    size_t size = (size_t)a->count * sizeof *a->x;
    assert_int_equal(a->count, b->count);
    assert_memory_equal(a->x, b->x, size);
    assert_memory_equal(a->z, b->z, size);
    assert_memory_equal(a->dx, b->dx, size);
    assert_memory_equal(a->dz, b->dz, size);
}

static wave_trace *widest(void) {
#ifdef __x86_64__
    if (__builtin_cpu_supports("avx512f") && __builtin_cpu_supports("avx512dq"))
        return wave_trace_avx512;
    if (__builtin_cpu_supports("avx2"))
        return wave_trace_avx2;
#endif
    return wave_trace_plain;
}

static void check_optic(const struct optic *optic, struct pcg32 *random, struct wave_space *space,
                        struct wave_fates *waved, struct wave_fates *walked) {
    struct wave_optic wave;
    wave_optic_make(optic, &wave);
    for (int batch = 0; batch < BATCHES; batch++) {
        struct ray_batch in, out, plain;
        struct wave_fates again = {0};
        random_rays(random, between(random, 0.2, 2), &in);
        struct pcg32 stream = pcg32_seed((uint64_t)batch, pcg32_next(random));
        widest()(&wave, space, &in, stream, &out, waved);
        wave_trace_plain(&wave, space, &in, stream, &plain, &again);
        same_rays(&out, &plain);
        if (batch == 0)
            walk_all(optic, &in, stream, walked);
    }
}

static void (*const makers[])(struct pcg32 *random,
                              struct optic *out) = {random_lens, random_collimator, random_fresnel,  random_pipe,
                                                    random_cup,  random_horn,       random_lenslets, random_turned};
enum { MAKERS = sizeof makers / sizeof *makers };

static void no_ray_is_lost(void **state) {
    (void)state;
    struct pcg32 random = pcg32_seed(2026, 4);
    struct wave_space *space = space_make();
    struct wave_fates waved = {0}, walked = {0};
    int optics = optics_wanted();
    for (int i = 0; i < optics; i++) {
        static struct optic optic;
        makers[i % MAKERS](&random, &optic);
        check_optic(&optic, &random, space, &waved, &walked);
        if (waved.lost > 0 || walked.lost > 0)
            fail_msg("optic %d loses light", i);
    }
    assert_int_equal(ends(&waved), (uint64_t)optics * BATCHES * RAY_BATCH);
    assert_int_equal(ends(&walked), (uint64_t)optics * RAY_BATCH);
    assert_true((double)waved.abandoned < 1e-6 * (double)ends(&waved));
    /* and the wave lets out what single rays do, four standard errors */
    double p = (double)waved.exits / (double)ends(&waved), q = (double)walked.exits / (double)ends(&walked);
    assert_true(fabs(p - q) < 4 * sqrt(0.25 / (double)ends(&walked)));
    free(space);
}

/* Twin: an optic with a gap between its patches loses light, and is told so. */
static void a_gap_is_found(void **state) {
    (void)state;
    struct pcg32 random = pcg32_seed(7, 7);
    struct wave_space *space = space_make();
    struct wave_fates waved = {0}, walked = {0};
    struct optic optic;
    random_lens(&random, &optic);
    optic.patches[2].z_low_mm += 0.3 * (optic.patches[2].z_high_mm - optic.patches[2].z_low_mm);
    check_optic(&optic, &random, space, &waved, &walked);
    assert_true(waved.lost > 0 && walked.lost > 0);
    free(space);
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(no_ray_is_lost),
        cmocka_unit_test(a_gap_is_found),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
