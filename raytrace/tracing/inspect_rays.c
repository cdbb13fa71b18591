/* A traced lens by itself: exit rays sorted into rings and half planes. METHODS sec. 12. */
#include "fail.h"
#include "maps/estimate.h"
#include "numbers/keys.h"
#include "numbers/vec.h"
#include "tracing/inspect.h"
#include "tracing/rays.h"

#include <stdlib.h>
#include <string.h>

enum { RINGS = LUXFALL_RINGS, HALVES = LUXFALL_HALF_PLANES, R = LUXFALL_REPLICATES };

/* Rays of one replicate as they left. */
struct tally {
    uint64_t half[HALVES][RINGS], beside;
    double along_x, along_y, along_axis; /* sums of directions */
    struct far_counts far;
    struct wave_fates fates;
};

/* The same as shares of the launched rays, over all symmetry images. */
enum { ALL = HALVES, SORTS };
struct shares {
    double ring[SORTS][RINGS];
    double along_x, along_y, along_axis;
    double far[FAR_STEPS], cone;
};

struct inspection_run {
    const struct stage *stage;
    const struct luxfall_options *options;
    const struct kernels *kernels;
    uint64_t rays; /* a replicate */
    double across_mm, tangent;
    bool leans;
    struct luxfall_vec x, y, axis; /* of the light: its mean direction, told by a pilot */
    struct tally tallies[R];
    struct shares shares[R];
    struct ray_run numbers; /* for its keys alone */
    omp_lock_t reporting;   /* guards the user's progress function */
    atomic_bool stopped, no_memory;
    atomic_ullong done;
};

/* Within 22.5 deg of the x axis, of the y axis, or of neither. */
static int half_plane(float x, float y) {
    const float tangent = 0.41421356f;
    if (fabsf(y) < tangent * fabsf(x))
        return x > 0 ? 0 : 4;
    if (fabsf(x) < tangent * fabsf(y))
        return y > 0 ? 2 : 6;
    return x > 0 ? (y > 0 ? 1 : 7) : (y > 0 ? 3 : 5);
}

static float along(const struct luxfall_vec *way, float x, float y, float z) {
    return (float)(way->x * (double)x + way->y * (double)y + way->z * (double)z);
}

/* Light that leaves aside is looked at along its own axis; the turn is the shortest, which images leave as it is. */
static void turn_to_light(const struct inspection_run *run, struct ray_batch *rays) {
    for (int i = 0; i < rays->count; i++) {
        float x = rays->x[i], y = rays->y[i], z = rays->z[i], dx = rays->dx[i], dy = rays->dy[i], dz = rays->dz[i];
        rays->x[i] = along(&run->x, x, y, z);
        rays->y[i] = along(&run->y, x, y, z);
        rays->z[i] = along(&run->axis, x, y, z);
        rays->dx[i] = along(&run->x, dx, dy, dz);
        rays->dy[i] = along(&run->y, dx, dy, dz);
        rays->dz[i] = along(&run->axis, dx, dy, dz);
    }
}

static void sort_rays(const struct ray_batch *rays, struct tally *tally) {
    for (int i = 0; i < rays->count; i++) {
        float x = rays->dx[i], y = rays->dy[i], z = rays->dz[i];
        tally->along_x += (double)x;
        tally->along_y += (double)y;
        tally->along_axis += (double)z;
        if (!(z > 0)) {
            tally->beside++;
            continue;
        }
        int ring = (int)(atan2(hypot((double)x, (double)y), (double)z) / RING_RAD);
        tally->half[half_plane(x, y)][ring < RINGS ? ring : RINGS - 1]++;
    }
}

struct bench {
    struct ray_batch inside, packed, out;
    struct wave_space space;
};

static void trace_replicate(struct inspection_run *run, int replicate, uint64_t rays, struct bench *bench) {
    const struct bundle *bundle = &run->stage->bundles[0];
    const struct ray_maker maker = {
        run->kernels,
        {run_key(&run->numbers, replicate, PURPOSE_LAUNCH, 0), run->options->points},
        pcg32_seed(run_key(&run->numbers, replicate, PURPOSE_SURFACES, 0), 0),
        &bench->inside,
        &bench->packed,
        &bench->space,
    };
    struct tally *tally = &run->tallies[replicate];
    for (uint64_t first = 0; first < rays && !atomic_load(&run->stopped); first += RAY_BATCH) {
        int count = (int)(rays - first < RAY_BATCH ? rays - first : RAY_BATCH);
        bundle_rays(bundle, &maker, first, count, &bench->out, &tally->fates);
        if (run->leans)
            turn_to_light(run, &bench->out);
        sort_rays(&bench->out, tally);
        if (!run->numbers.plan.pilot)
            far_count(&bench->out, run->across_mm, run->tangent, &tally->far);
        atomic_fetch_add(&run->done, (unsigned)count);
    }
}

static void ask_user(struct inspection_run *run) {
    struct luxfall_progress now = {false, atomic_load(&run->done), run->rays * R, NAN};
    if (run->options->progress && !atomic_load(&run->stopped) && !run->options->progress(run->options->user, &now))
        atomic_store(&run->stopped, true);
}

static struct bench *bench_make(void) {
    size_t size = (sizeof(struct bench) + 63) / 64 * 64;
    struct bench *bench = aligned_alloc(64, size);
    return bench ? memset(bench, 0, size) : NULL;
}

static enum luxfall_status trace_all(struct inspection_run *run, struct luxfall_error *error) {
    int threads = run->options->threads > 0 ? run->options->threads : omp_get_num_procs();
#pragma omp parallel num_threads(threads < R ? threads : R)
    {
        struct bench *bench = bench_make();
        if (!bench)
            atomic_store(&run->no_memory, true);
#pragma omp for schedule(dynamic, 1)
        for (int r = 0; r < R; r++) {
            if (bench && !atomic_load(&run->stopped))
                trace_replicate(run, r, run->rays, bench);
            omp_set_lock(&run->reporting);
            ask_user(run);
            omp_unset_lock(&run->reporting);
        }
        free(bench);
    }
    if (atomic_load(&run->no_memory))
        return fail_memory(error);
    return atomic_load(&run->stopped) ? fail(error, LUXFALL_E_STOPPED, 0, "stopped") : LUXFALL_OK;
}

/* ---- shares, symmetry images included -------------------------------------------------------------------------- */

/* Where the light of a half plane lies in image k of the module: free_rays.c, image_axes(). */
static int half_in_image(int half, int image) {
    half = image & 4 ? 2 - half : half;
    half = image & 1 ? 4 - half : half;
    half = image & 2 ? -half : half;
    return (half + 2 * HALVES) % HALVES;
}

static void add_image(const struct tally *tally, int image, double weight, struct shares *out) {
    double along_x = image & 4 ? tally->along_y : tally->along_x;
    double along_y = image & 4 ? tally->along_x : tally->along_y;
    out->along_x += weight * (image & 1 ? -along_x : along_x);
    out->along_y += weight * (image & 2 ? -along_y : along_y);
    out->along_axis += weight * tally->along_axis;
    for (int half = 0; half < HALVES; half++) {
        double *ring = out->ring[half_in_image(half, image)];
        for (int k = 0; k < RINGS; k++)
            ring[k] += weight * HALVES * (double)tally->half[half][k];
    }
}

static void shares_of(const struct inspection_run *run, const struct tally *tally, uint64_t rays,
                      struct shares *out) {
    const struct image_set *images = &run->stage->bundles[0].images;
    *out = (struct shares){.cone = (double)tally->far.cone / (double)rays};
    for (int i = 0; i < images->count; i++)
        add_image(tally, images->image[i], 1 / ((double)rays * images->count), out);
    for (int k = 0; k < RINGS; k++) {
        for (int half = 0; half < HALVES; half++)
            out->ring[ALL][k] += out->ring[half][k] / HALVES;
    }
    for (int step = 0; step < FAR_STEPS; step++)
        out->far[step] = (double)tally->far.within[step] / (double)rays;
}

/* ---- what the rings say ---------------------------------------------------------------------------------------- */

struct question {
    const struct inspection_run *run;
    int sort;      /* half plane, or ALL */
    double number; /* fraction, or share */
    double factor; /* of the answer */
};

/* Means over all replicates but one (-1: over all) of a row of numbers in each. */
static void means(const struct inspection_run *run, size_t offset, int count, int left_out, double *out) {
    for (int k = 0; k < count; k++)
        out[k] = 0;
    for (int r = 0; r < R; r++) {
        const double *row = (const double *)(const void *)((const char *)&run->shares[r] + offset);
        for (int k = 0; k < count && r != left_out; k++)
            out[k] += row[k] / (left_out < 0 ? R : R - 1);
    }
}

static void rings_of(const struct inspection_run *run, int sort, int left_out, double rings[RINGS]) {
    means(run, offsetof(struct shares, ring) + (size_t)sort * sizeof run->shares[0].ring[0], RINGS, left_out, rings);
}

static double mean_within(const double *rings, int count) {
    double share = 0;
    for (int k = 0; k < count; k++)
        share += rings[k];
    return share / (2 * PI * (1 - cos(count * RING_RAD)));
}

/* Where the intensity falls to a level between the middles of two rings, the second of which is k or beyond; NaN:
 * nowhere before the last ring. */
static double falls_from(const double *rings, int k, int last, double level) {
    for (; k <= last; k++) {
        double here = rings[k] / ring_sr(k), before = k > 0 ? rings[k - 1] / ring_sr(k - 1) : INFINITY;
        if (here < level && before >= level)
            return k == 0 ? 0.25 * RING_RAD : (k - 0.5 + (before - level) / (before - here)) * RING_RAD;
    }
    return NAN;
}

/* Beyond the first rings, the first such place. Noise crosses a level early and late: within an eighth of the angle,
 * the middle between the first and the last. */
static double falls_beyond(const double *rings, int first, double level) {
    double early = falls_from(rings, first, RINGS - 1, level), late = early;
    if (isnan(early))
        return NAN;
    for (int k = (int)(early / RING_RAD) + 2; k < RINGS && k < 1.125 * early / RING_RAD; k++) {
        double again = falls_from(rings, k, k, level);
        late = isnan(again) ? late : again;
    }
    return (early + late) / 2;
}

/* Rings about the axis that hold a two-hundredth of the light; none where two do. Single ones of a wide beam hold too
 * few rays to tell where it falls to anything. */
static int small_rings(const double *rings) {
    double whole = 0, inside = 0;
    int count = 0;
    for (int k = 0; k < RINGS; k++)
        whole += rings[k];
    while (count < RINGS / 8 && inside < whole / 200)
        inside += rings[count++];
    return count <= 2 ? 0 : count;
}

/* Rings in a cone of 0.15 of the half beam angle; two at the least. */
static int inner_rings(const double *rings) {
    int first = small_rings(rings);
    double rough_rad = falls_beyond(rings, first, mean_within(rings, first > 0 ? first : 2) / 2);
    int inner = isnan(rough_rad) ? RINGS / 8 : (int)(0.15 * rough_rad / RING_RAD);
    return inner < 2 ? 2 : inner;
}

/* Such as the picture of a gap between dies. */
static bool has_hole(const double *rings) {
    int inner = inner_rings(rings);
    return mean_within(rings, 2 * inner) > 1.1 * mean_within(rings, inner);
}

/* Where the intensity last is at a level, between the middles of two rings; NaN: nowhere. */
static double leaves(const double *rings, double level) {
    double beyond = 0;
    for (int k = RINGS - 1; k >= 0; k--) {
        double here = rings[k] / ring_sr(k);
        if (here >= level)
            return (k + 0.5 + (here - level) / (here - beyond)) * RING_RAD;
        beyond = here;
    }
    return NAN;
}

/* The half angle at a level, of the mean over all azimuths or of one half plane. */
static double half_angle(const double *all, const double *rings, double level) {
    return has_hole(all) ? leaves(rings, level) : falls_beyond(rings, small_rings(all), level);
}

/* On the axis: from the means over a small cone and one of twice its angle, the square of the angle taken out; in a
 * hole, such as the picture of a gap between dies, the innermost ring alone. METHODS eq. (97). */
static double centre_of(const double *rings) {
    int inner = inner_rings(rings);
    return has_hole(rings) ? mean_within(rings, 1)
                           : (4 * mean_within(rings, inner) - mean_within(rings, 2 * inner)) / 3;
}

/* Of which beam and field angle are: METHODS eq. (97). */
static double level_of(const double *rings) {
    double greatest = 0;
    if (!has_hole(rings))
        return centre_of(rings);
    for (int k = 0; k < RINGS; k++)
        greatest = fmax(greatest, rings[k] / ring_sr(k));
    return greatest;
}

static double level_without(const void *data, int left_out) {
    const struct question *q = data;
    double rings[RINGS];
    rings_of(q->run, ALL, left_out, rings);
    return q->factor * level_of(rings);
}

static double centre_without(const void *data, int left_out) {
    const struct question *q = data;
    double rings[RINGS];
    rings_of(q->run, ALL, left_out, rings);
    return q->factor * centre_of(rings);
}

/* Both halves of a plane, or twice the mean over all azimuths. */
static double width_without(const void *data, int left_out) {
    const struct question *q = data;
    double all[RINGS], one[RINGS], other[RINGS];
    rings_of(q->run, ALL, left_out, all);
    double level = q->number * level_of(all);
    if (q->sort == ALL)
        return 2 * half_angle(all, all, level);
    rings_of(q->run, q->sort, left_out, one);
    rings_of(q->run, q->sort + HALVES / 2, left_out, other);
    return half_angle(all, one, level) + half_angle(all, other, level);
}

/* Share of the leaving light within half of the width at the fraction. METHODS eq. (98). */
static double within_without(const void *data, int left_out) {
    const struct question *q = data;
    double rings[RINGS], inside = 0, whole = 0;
    rings_of(q->run, ALL, left_out, rings);
    double level = q->number * level_of(rings);
    double half = half_angle(rings, rings, level) / RING_RAD;
    for (int k = 0; k < RINGS; k++) {
        whole += rings[k];
        inside += rings[k] * fmax(0, fmin(1, half - k));
    }
    return isnan(half) ? NAN : inside / whole;
}

static double lean_without(const void *data, int left_out) {
    const struct question *q = data;
    const struct inspection_run *run = q->run;
    double m[3];
    means(run, offsetof(struct shares, along_x), 3, left_out, m);
    double x = m[0] * run->x.x + m[1] * run->y.x + m[2] * run->axis.x;
    double y = m[0] * run->x.y + m[1] * run->y.y + m[2] * run->axis.y;
    double z = m[0] * run->x.z + m[1] * run->y.z + m[2] * run->axis.z;
    return atan2(q->sort == 0 ? x : y, z);
}

static double far_without(const void *data, int left_out) {
    const struct question *q = data;
    double far[FAR_STEPS + 1];
    means(q->run, offsetof(struct shares, far), FAR_STEPS + 1, left_out, far);
    return far_by_counts(far, far[FAR_STEPS], q->run->across_mm, q->number);
}

static struct luxfall_estimate told(const struct inspection_run *run, leave_out_function *f, int sort, double number,
                                    double factor) {
    struct question question = {run, sort, number, factor};
    return estimate_jackknife(f, &question, R, 1, false);
}

/* ---- the answer ------------------------------------------------------------------------------------------------ */

typedef uint64_t count_of(const struct wave_fates *fates, int number);

static uint64_t count_out(const struct wave_fates *fates, int unused) {
    (void)unused;
    return fates->exits;
}
static uint64_t count_abandoned(const struct wave_fates *fates, int unused) {
    (void)unused;
    return fates->abandoned + fates->lost;
}
static uint64_t count_lost(const struct wave_fates *fates, int cause) {
    uint64_t sum = 0;
    for (int part = 0; part < OPTIC_PARTS_MAX; part++)
        sum += fates->loss[optic_loss((enum luxfall_loss)cause, part)];
    return sum;
}
static uint64_t count_in_part(const struct wave_fates *fates, int part) {
    uint64_t sum = 0;
    for (int cause = 0; cause < LUXFALL_LOSS_COUNT; cause++)
        sum += fates->loss[optic_loss((enum luxfall_loss)cause, part)];
    return sum;
}

static struct luxfall_estimate mean_count(const struct inspection_run *run, count_of *count, int number,
                                          double factor) {
    double values[R];
    for (int r = 0; r < R; r++)
        values[r] = factor / (double)run->rays * (double)count(&run->tallies[r].fates, number);
    return estimate_mean(values, 1, R, 1);
}

/* sent_lm: what a lens sheet leaves of the flux; the rest never comes to a cover. */
static void read_ledger(const struct inspection_run *run, double flux_lm, double sent_lm,
                        struct luxfall_inspection *out) {
    out->leaving_lm = mean_count(run, count_out, 0, sent_lm);
    out->efficiency = mean_count(run, count_out, 0, sent_lm / flux_lm);
    out->abandoned_lm = mean_count(run, count_abandoned, 0, sent_lm);
    for (int cause = 0; cause < LUXFALL_LOSS_COUNT; cause++)
        out->loss_lm[cause] = mean_count(run, count_lost, cause, sent_lm);
    for (int i = 0; i < LUXFALL_COVERS_MAX; i++)
        out->cover_lm[i] = mean_count(run, count_in_part, 1 + i, sent_lm);
    out->loss_lm[LUXFALL_LOSS_DATASHEET].value += flux_lm - sent_lm;
    out->rays_traced = run->rays * R;
    for (int r = 0; r < R; r++) {
        const struct wave_fates *fates = &run->tallies[r].fates;
        out->rays_out += fates->exits;
        out->rays_abandoned += count_abandoned(fates, 0);
        out->rays_beside += run->tallies[r].beside;
        for (int i = 0; i < LUXFALL_LOSS_COUNT; i++)
            out->rays_lost[i] += count_lost(fates, i);
    }
}

static void read_curves(const struct inspection_run *run, double sent_lm, struct luxfall_inspection *out) {
    for (int sort = 0; sort < SORTS; sort++) {
        struct luxfall_estimate *cd = sort == ALL ? out->cd : out->half_plane_cd[sort];
        for (int k = 0; k < RINGS; k++)
            cd[k] = estimate_mean(&run->shares[0].ring[sort][k], sizeof run->shares[0] / sizeof(double), R, 1);
        for (int k = 0; k < RINGS; k++) {
            cd[k].value *= sent_lm / ring_sr(k);
            cd[k].u95 *= sent_lm / ring_sr(k);
        }
    }
}

static void read_tallies(struct inspection_run *run, double flux_lm, struct luxfall_inspection *out) {
    for (int r = 0; r < R; r++)
        shares_of(run, &run->tallies[r], run->rays, &run->shares[r]);
    double sent_lm = flux_lm * run->stage->bundles[0].efficiency;
    read_ledger(run, flux_lm, sent_lm, out);
    read_curves(run, sent_lm, out);
    out->centre_cd = told(run, centre_without, ALL, 0, sent_lm);
    out->level_cd = told(run, level_without, ALL, 0, sent_lm);
    out->beam_angle_rad = told(run, width_without, ALL, 0.5, 1);
    out->field_angle_rad = told(run, width_without, ALL, 0.1, 1);
    for (int plane = 0; plane < HALVES / 2; plane++)
        out->plane_beam_rad[plane] = told(run, width_without, plane, 0.5, 1);
    out->in_beam = told(run, within_without, ALL, 0.5, 1);
    out->in_field = told(run, within_without, ALL, 0.1, 1);
    out->lean_x_rad = told(run, lean_without, 0, 0, 1);
    out->lean_y_rad = told(run, lean_without, 1, 0, 1);
    out->far_5_percent_mm = told(run, far_without, 0, 0.05, 1);
    out->far_1_percent_mm = told(run, far_without, 0, 0.01, 1);
}

enum { PILOT_RAYS = 1 << 16 };

static void trace_pilot(struct inspection_run *run, struct bench *bench) {
    run->tallies[0] = (struct tally){.beside = 0};
    trace_replicate(run, 0, PILOT_RAYS, bench);
    shares_of(run, &run->tallies[0], PILOT_RAYS, &run->shares[0]);
}

/* The axis of the light: the module's own where images keep it so. */
static void find_axis(struct inspection_run *run) {
    const struct shares *s = &run->shares[0];
    double length = sqrt(s->along_x * s->along_x + s->along_y * s->along_y + s->along_axis * s->along_axis);
    double x = s->along_x / length, y = s->along_y / length, z = s->along_axis / length;
    run->leans = length > 0 && z > 0 && hypot(x, y) > 1e-6;
    if (!run->leans)
        return;
    run->x = (struct luxfall_vec){1 - x * x / (1 + z), -x * y / (1 + z), -x};
    run->y = (struct luxfall_vec){-x * y / (1 + z), 1 - y * y / (1 + z), -y};
    run->axis = (struct luxfall_vec){x, y, z};
}

/* Rays of a pilot tell where the light goes, and how wide the cone is in which the near field is counted. */
static enum luxfall_status look_first(struct inspection_run *run, struct luxfall_error *error) {
    struct bench *bench = bench_make();
    if (!bench)
        return fail_memory(error);
    run->numbers.plan.pilot = true;
    trace_pilot(run, bench);
    find_axis(run);
    if (run->leans)
        trace_pilot(run, bench);
    run->tangent = tan(inner_rings(run->shares[0].ring[ALL]) * RING_RAD);
    run->tallies[0] = (struct tally){.beside = 0};
    run->numbers.plan.pilot = false;
    atomic_store(&run->done, 0);
    free(bench);
    return LUXFALL_OK;
}

/* The widest of what light leaves from. */
static double across_of(const struct stage *stage) {
    const struct luxfall_scene *scene = stage->scene;
    const struct bundle *bundle = &stage->bundles[0];
    const struct luxfall_module *module = bundle->first;
    double across_mm = fmax(bundle->face.width_mm + (bundle->columns - 1) * bundle->pitch_x_mm,
                            bundle->face.height_mm + (bundle->rows - 1) * bundle->pitch_y_mm);
    if (module->lens != LUXFALL_NO_LENS)
        across_mm = fmax(across_mm, luxfall_lens_diameter_mm(&scene->lenses[module->lens]));
    for (size_t i = 0; i < module->cover_count; i++)
        if (scene->covers[module->covers[i]].kind != LUXFALL_COVER_STOP)
            across_mm = fmax(across_mm, luxfall_cover_across_mm(&scene->covers[module->covers[i]]));
    return across_mm > 0 ? across_mm : 1;
}

enum luxfall_status inspect_by_rays(struct stage *stage, const struct luxfall_options *options,
                                    struct luxfall_inspection *out, struct luxfall_error *error) {
    uint64_t wanted = options->rays > 0 ? options->rays : LUXFALL_INSPECTION_RAYS;
    enum luxfall_status status = stage_add_launch_tables(stage, error);
    struct inspection_run *run = status == LUXFALL_OK ? calloc(1, sizeof *run) : NULL;
    if (status != LUXFALL_OK)
        return status;
    if (!run)
        return fail_memory(error);
    run->stage = stage;
    run->options = options;
    run->kernels = kernels_choose(options->vectors);
    run->rays = (wanted + R - 1) / R;
    run->across_mm = across_of(stage);
    run->x = (struct luxfall_vec){1, 0, 0};
    run->y = (struct luxfall_vec){0, 1, 0};
    run->axis = (struct luxfall_vec){0, 0, 1};
    run->numbers = (struct ray_run){.stage = stage, .options = options};
    omp_init_lock(&run->reporting);
    status = look_first(run, error);
    if (status == LUXFALL_OK)
        status = trace_all(run, error);
    omp_destroy_lock(&run->reporting);
    if (status == LUXFALL_OK)
        read_tallies(run, stage->lamps[0].flux_lm, out);
    free(run);
    return status;
}
