/* Rates of the inner loops, as ratios in one run: this processor, one core (two where it says so). Every case is
 * measured in turn, round after round, so that a busy moment hurts all of them alike; best and median of the rounds.
 * The job: independent rays from a Lambertian 1.2 mm square, 100 mm above a map of 160 x 160 cells of 1 mm. */
#include "bench/bench.h"
#include "numbers/keys.h"
#include "numbers/pcg32.h"

#include <math.h>
#include <omp.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <time.h>

enum { ROUNDS = 60, BATCHES = 512, PLAIN_BATCHES = 64, MESH_BATCHES = 8, CASES_MAX = 80 };

struct job {
    const struct kernels *kernels;
    enum luxfall_points points;
    bool beam, disc;
    int threads;
    int optic;
};

struct measured {
    char name[64];
    void (*run)(const struct job *job, int round);
    struct job job;
    double work; /* rays, landings or points of one run */
    double rate[ROUNDS];
};

static uint32_t counts[2][MAP_CELLS + 1];
static struct angle_launch_table lambertian, beam;
static struct angle_shape_table shape;
static struct light_points lit;
static struct ray_batch batch[2];
static int32_t cells[2][RAY_BATCH];
static double light_sum;

/* ---- the loop that anyone would write ---- */

static void run_plain_loop(const struct job *job, int round) {
    (void)job;
    struct pcg32 numbers = pcg32_seed(1, (uint64_t)round);
    for (int i = 0; i < PLAIN_BATCHES * RAY_BATCH; i++) {
        double cosine = sqrt(1.0 - pcg32_next(&numbers) * 0x1p-32), sine = sqrt(1.0 - cosine * cosine);
        double azimuth = 6.283185307179586 * (pcg32_next(&numbers) * 0x1p-32);
        double x = DIE_MM * (pcg32_next(&numbers) * 0x1p-32 - 0.5),
               y = DIE_MM * (pcg32_next(&numbers) * 0x1p-32 - 0.5);
        double reach = HEIGHT_MM / cosine;
        double gx = x + reach * sine * cos(azimuth) + 0.5 * MAP_SIDE,
               gy = y + reach * sine * sin(azimuth) + 0.5 * MAP_SIDE;
        if (gx >= 0 && gx < MAP_SIDE && gy >= 0 && gy < MAP_SIDE)
            counts[0][(int)gy * MAP_SIDE + (int)gx]++;
        else
            counts[0][MAP_CELLS]++;
    }
}

static void run_bare_plain(const struct job *job, int round) {
    (void)job;
    bare_plain(BATCHES, (uint32_t)round, counts[0]);
}

#ifdef __x86_64__
static void run_bare_avx2(const struct job *job, int round) {
    (void)job;
    bare_avx2(BATCHES, (uint32_t)round, counts[0]);
}

static void run_bare_avx512(const struct job *job, int round) {
    (void)job;
    bare_avx512(BATCHES, (uint32_t)round, counts[0]);
}
#endif

/* ---- ours ---- */

static const struct cast_frame straight_down = {.hx = 0.5f * MAP_SIDE,
                                                .hy = 0.5f * MAP_SIDE,
                                                .hz = HEIGHT_MM,
                                                .mx = {1, 0, 0},
                                                .my = {0, 1, 0},
                                                .mz = {0, 0, -1}};
static const struct cast_grid map = {MAP_SIDE, MAP_SIDE};

static struct launch_source source_of(const struct job *job) {
    return (struct launch_source){.face = {job->disc ? LUXFALL_DISC : LUXFALL_RECTANGLE, DIE_MM, DIE_MM},
                                  .columns = 1,
                                  .rows = 1,
                                  .angles = job->beam ? &beam : &lambertian};
}

static void run_rays(const struct job *job, int round) {
    struct launch_source source = source_of(job);
    struct point_key key = {key_make(1, (uint32_t)round, PURPOSE_LAUNCH, 0), job->points};
#pragma omp parallel for schedule(static) num_threads(job->threads)
    for (int b = 0; b < BATCHES; b++) {
        int me = omp_get_thread_num();
        job->kernels->launch(&source, &key, (uint64_t)b * RAY_BATCH, RAY_BATCH, &batch[me]);
        job->kernels->cast(&batch[me], &straight_down, &map, cells[me], NULL, NULL);
        kernels_tally(cells[me], RAY_BATCH, counts[me]);
    }
}

static void run_launch(const struct job *job, int round) {
    struct launch_source source = source_of(job);
    struct point_key key = {key_make(1, (uint32_t)round, PURPOSE_LAUNCH, 0), job->points};
    for (int b = 0; b < BATCHES; b++)
        job->kernels->launch(&source, &key, (uint64_t)b * RAY_BATCH, RAY_BATCH, &batch[0]);
}

static void run_cast(const struct job *job, int round) {
    (void)round;
    for (int b = 0; b < BATCHES; b++)
        job->kernels->cast(&batch[0], &straight_down, &map, cells[0], NULL, NULL);
}

static void run_cast_and_tally(const struct job *job, int round) {
    (void)round;
    for (int b = 0; b < BATCHES; b++) {
        job->kernels->cast(&batch[0], &straight_down, &map, cells[0], NULL, NULL);
        kernels_tally(cells[0], RAY_BATCH, counts[0]);
    }
}

static void run_light(const struct job *job, int round) {
    const float axis[3] = {0.6f, 0, -0.8f};
    for (int b = 0; b < BATCHES; b++)
        light_sum += job->kernels->light(&lit, &shape, axis, 100.0f + (float)round, (float)b * 0.01f, -130.0f);
}

static void run_follow(const struct job *job, int round) {
    struct wave_fates fates = follow_run(job->kernels, job->optic, follow_batches(job->optic), round);
    counts[0][0] += (uint32_t)fates.exits;
}

#ifdef BENCH_MESH
static void run_mesh(const struct job *job, int round) {
    follow_mesh_run(job->optic, MESH_BATCHES, round);
}
#endif

/* ---- measuring ---- */

static double now_s(clockid_t clock) {
    struct timespec t;
    clock_gettime(clock, &t);
    return (double)t.tv_sec + 1e-9 * (double)t.tv_nsec;
}

/* One thread is measured by its own processor time, so that other programs disturb less; two by the clock on the
 * wall. */
static void measure(struct measured *cases, int count) {
    for (int round = -2; round < ROUNDS; round++) /* the first two warm up */
        for (int i = 0; i < count; i++) {
            clockid_t clock = cases[i].job.threads > 1 ? CLOCK_MONOTONIC : CLOCK_THREAD_CPUTIME_ID;
            double start = now_s(clock);
            cases[i].run(&cases[i].job, round + 2);
            if (round >= 0)
                cases[i].rate[round] = cases[i].work / (now_s(clock) - start);
        }
}

static int ascending(const void *a, const void *b) {
    double x = *(const double *)a, y = *(const double *)b;
    return (x > y) - (x < y);
}

static double best(const struct measured *m) {
    return m->rate[ROUNDS - 1];
}

static double median(const struct measured *m) {
    return m->rate[ROUNDS / 2];
}

static void print_row(const struct measured *m, const struct measured *loop, const struct measured *bare) {
    printf("%-44s %8.1f %8.1f %8.2f %8.2f\n", m->name, 1e-6 * best(m), 1e-6 * median(m), best(m) / best(loop),
           best(m) / best(bare));
}

/* ---- the table ---- */

struct table {
    struct measured cases[CASES_MAX];
    int bare_of[CASES_MAX]; /* the bare kernel of the same width */
    int count;
};

static int add(struct table *table, const char *name, void (*run)(const struct job *, int), struct job job,
               int batches) {
    struct measured *m = &table->cases[table->count];
    snprintf(m->name, sizeof m->name, "%s%s%s", job.kernels ? job.kernels->name : "", job.kernels ? ": " : "", name);
    m->run = run;
    m->job = job;
    m->work = (double)batches * RAY_BATCH;
    return table->count++;
}

static void add_width(struct table *table, const struct kernels *kernels, void (*bare)(const struct job *, int)) {
    int first = table->count;
    struct job random = {kernels, LUXFALL_RANDOM, .threads = 1}, scrambled = random, wide = random, pair = random;
    scrambled.points = LUXFALL_SCRAMBLED;
    wide.points = LUXFALL_SCRAMBLED;
    wide.beam = wide.disc = true;
    pair.threads = 2;
    add(table, "bare kernel, running numbers, to map", bare, random, BATCHES);
    add(table, "random rays to map", run_rays, random, BATCHES);
    add(table, "scrambled rays to map", run_rays, scrambled, BATCHES);
    add(table, "random rays to map, two threads", run_rays, pair, BATCHES);
    add(table, "launch, Lambertian square, random", run_launch, random, BATCHES);
    add(table, "launch, Lambertian square, scrambled", run_launch, scrambled, BATCHES);
    add(table, "launch, beam from a disc, scrambled", run_launch, wide, BATCHES);
    add(table, "cast alone", run_cast, random, BATCHES);
    add(table, "cast and tally", run_cast_and_tally, random, BATCHES);
    add(table, "light points", run_light, random, BATCHES);
    for (struct job follow = {kernels, .threads = 1}; follow.optic < FOLLOW_COUNT; follow.optic++) {
        char name[40];
        snprintf(name, sizeof name, "follow: %s", follow_names[follow.optic]);
        add(table, name, run_follow, follow, follow_batches(follow.optic));
    }
    for (int i = first; i < table->count; i++)
        table->bare_of[i] = first;
}

static void prepare(void) {
    struct angle_law bell = {.kind = &angle_law_beam, .beam = {.width_rad = 24 * 0.017453292519943295, .power = 2}};
    lambertian.lambertian = true;
    if (angle_launch_table_build(&bell, &beam) != LUXFALL_OK)
        exit(1);
    angle_shape_table_build(&bell, &shape);
    struct pcg32 numbers = pcg32_seed(3, 1);
    lit.count = RAY_BATCH;
    for (int i = 0; i < RAY_BATCH; i++) {
        lit.px[i] = 5 * unit_float(pcg32_next(&numbers));
        lit.py[i] = 5 * unit_float(pcg32_next(&numbers));
        lit.sx[i] = 9 * unit_float(pcg32_next(&numbers));
        lit.sy[i] = 9 * unit_float(pcg32_next(&numbers));
        lit.sz[i] = 5 * unit_float(pcg32_next(&numbers));
    }
}

/* All of them must do the same job: the share of rays on the map, each way. */
static bool same_physics(const struct table *table) {
    double share[CASES_MAX], expected = 0;
    for (int i = 0; i < table->count; i++) {
        const struct measured *m = &table->cases[i];
        memset(counts, 0, sizeof counts);
        m->run(&m->job, 0);
        double missed = (double)counts[0][MAP_CELLS] + counts[1][MAP_CELLS];
        share[i] = 1 - missed / m->work;
        if (i == 0)
            expected = share[0];
        bool to_map = strstr(m->name, "to map") || strstr(m->name, "libm");
        double sigma = sqrt(expected * (1 - expected) / (PLAIN_BATCHES * RAY_BATCH));
        if (to_map && !(fabs(share[i] - expected) < 5 * sigma)) {
            fprintf(stderr, "%s: share on the map %.5f, the plain loop has %.5f\n", m->name, share[i], expected);
            return false;
        }
    }
    return true;
}

/* Our collimator over the best of the mesh that gives an equally good map, in every width. */
static void print_over_mesh(const struct table *table) {
    double mesh = 0;
    for (int i = 0; i < table->count; i++)
        if (strstr(table->cases[i].name, "Embree"))
            mesh = fmax(mesh, best(&table->cases[i]));
    for (int i = 0; i < table->count && mesh > 0; i++)
        if (strstr(table->cases[i].name, "follow: collimator"))
            printf("%s: %.1f times Embree's best at equal map error\n", table->cases[i].name,
                   best(&table->cases[i]) / mesh);
}

/* Segments a ray, so that a rate of rays can be read as one of surfaces. */
static void print_segments(void) {
    for (int i = 0; i < FOLLOW_COUNT; i++) {
        struct wave_fates fates = follow_run(kernels_choose(LUXFALL_VECTORS_BEST), i, follow_batches(i), 0);
        double followed = (double)follow_batches(i) * RAY_BATCH;
        printf("follow: %s: %.2f segments a ray, %.4f of them leave\n", follow_names[i],
               (double)fates.segments / followed, (double)fates.exits / followed);
    }
}

/* A start of the program beside this one, shell and all; 20 ms are the aim. */
static void print_start(const char *bench) {
    enum { STARTS = 20 };
    char program[4096], command[8192];
    const char *slash = strrchr(bench, '/');
    snprintf(program, sizeof program, "%.*s/../luxfall", slash ? (int)(slash - bench) : 1, slash ? bench : ".");
    snprintf(command, sizeof command, "'%s' --version >/dev/null", program);
    double start = now_s(CLOCK_MONOTONIC);
    for (int i = 0; i < STARTS; i++)
        if (system(command) != 0) {
            printf("%s: not there to be started\n", program);
            return;
        }
    printf("luxfall --version: %.1f ms\n", 1e3 * (now_s(CLOCK_MONOTONIC) - start) / STARTS);
}

int main(int count, char **arguments) {
    static struct table table;
    prepare();
    follow_prepare();
    add(&table, "plain scalar loop with libm", run_plain_loop, (struct job){0}, PLAIN_BATCHES);
    add_width(&table, kernels_choose(LUXFALL_VECTORS_PLAIN), run_bare_plain);
#ifdef __x86_64__
    const struct kernels *avx2 = kernels_choose(LUXFALL_VECTORS_AVX2),
                         *avx512 = kernels_choose(LUXFALL_VECTORS_AVX512);
    if (strcmp(avx2->name, "avx2") == 0)
        add_width(&table, avx2, run_bare_avx2);
    if (strcmp(avx512->name, "avx512") == 0)
        add_width(&table, avx512, run_bare_avx512);
#endif
#ifdef BENCH_MESH
    bool mesh_is_as_good = follow_prepare_mesh();
    for (int width = 1; width <= 16 && mesh_is_as_good; width = width == 1 ? 8 : 2 * width) {
        char name[64];
        snprintf(name, sizeof name, "Embree: collimator as a mesh, rays at once: %d", width);
        add(&table, name, run_mesh, (struct job){.threads = 1, .optic = width}, MESH_BATCHES);
    }
#endif
    table.bare_of[0] = 1;
    if (!same_physics(&table))
        return 1;
    measure(table.cases, table.count);
    for (int i = 0; i < table.count; i++)
        qsort(table.cases[i].rate, ROUNDS, sizeof(double), ascending);
    printf(
        "millions a second, best and median of %d rounds; ratios of the best to the plain loop and the bare kernel\n",
        ROUNDS);
    printf("%-44s %8s %8s %8s %8s\n", "", "best", "median", "/plain", "/bare");
    for (int i = 0; i < table.count; i++)
        print_row(&table.cases[i], &table.cases[0], &table.cases[table.bare_of[i]]);
    for (int i = 2; i < table.count; i++)
        if (table.cases[i].job.threads == 2)
            printf("%s over one: %.2f\n", table.cases[i].name, best(&table.cases[i]) / best(&table.cases[i - 2]));
    print_over_mesh(&table);
    print_segments();
    print_start(count > 0 ? arguments[0] : "bench");
    return light_sum > 0 ? 0 : 1;
}
