/* One module by itself: its intensity over angle, from rays sorted into rings or from the law it is known by. METHODS
 * sec. 12. */
#include "emitters/emitter.h"
#include "fail.h"
#include "maps/estimate.h"
#include "numbers/keys.h"
#include "numbers/vec.h"
#include "tracing/rays.h"

#include <stdlib.h>
#include <string.h>

enum { RINGS = LUXFALL_RINGS, R = LUXFALL_REPLICATES };
#define RING_RAD (PI / 2 / RINGS)

static double ring_sr(int ring) {
    return 2 * PI * (cos(ring * RING_RAD) - cos((ring + 1) * RING_RAD));
}

/* ---- by rays --------------------------------------------------------------------------------------------------- */

enum sector { ALL, ALONG_X, ALONG_Y, SECTORS };

/* Rays of one replicate by ring: of all azimuths, and within 22.5 deg of the module's x and y. */
struct tally {
    uint64_t ring[SECTORS][RINGS];
    struct wave_fates fates;
};

struct inspection_run {
    const struct stage *stage;
    const struct luxfall_options *options;
    const struct kernels *kernels;
    uint64_t rays; /* a replicate */
    struct tally tallies[R];
    struct ray_run numbers; /* for its keys alone */
    omp_lock_t reporting;   /* guards the user's progress function */
    atomic_bool stopped, no_memory;
    atomic_ullong done;
};

static void sort_rays(const struct ray_batch *rays, struct tally *tally) {
    const float tangent = 0.41421356f; /* of 22.5 deg */
    for (int i = 0; i < rays->count; i++) {
        float x = fabsf(rays->dx[i]), y = fabsf(rays->dy[i]);
        if (!(rays->dz[i] > 0))
            continue; /* level: in no ring */
        int ring = (int)(atan2(hypot((double)x, (double)y), (double)rays->dz[i]) / RING_RAD);
        ring = ring < RINGS ? ring : RINGS - 1;
        tally->ring[ALL][ring]++;
        tally->ring[ALONG_X][ring] += y < tangent * x;
        tally->ring[ALONG_Y][ring] += x < tangent * y;
    }
}

struct bench {
    struct ray_batch inside, out;
    struct wave_space space;
};

static void trace_replicate(struct inspection_run *run, int replicate, struct bench *bench) {
    const struct bundle *bundle = &run->stage->bundles[0];
    const struct ray_maker maker = {
        run->kernels,
        {run_key(&run->numbers, replicate, PURPOSE_LAUNCH, 0), run->options->points},
        pcg32_seed(run_key(&run->numbers, replicate, PURPOSE_SURFACES, 0), 0),
        &bench->inside,
        &bench->space,
    };
    struct tally *tally = &run->tallies[replicate];
    for (uint64_t first = 0; first < run->rays && !atomic_load(&run->stopped); first += RAY_BATCH) {
        int count = (int)(run->rays - first < RAY_BATCH ? run->rays - first : RAY_BATCH);
        bundle_rays(bundle, &maker, first, count, &bench->out, &tally->fates);
        sort_rays(&bench->out, tally);
        atomic_fetch_add(&run->done, (unsigned)count);
    }
}

static void ask_user(struct inspection_run *run) {
    struct luxfall_progress now = {false, atomic_load(&run->done), run->rays * R, NAN};
    if (run->options->progress && !atomic_load(&run->stopped) && !run->options->progress(run->options->user, &now))
        atomic_store(&run->stopped, true);
}

static enum luxfall_status trace_all(struct inspection_run *run, struct luxfall_error *error) {
    int threads = run->options->threads > 0 ? run->options->threads : omp_get_num_procs();
#pragma omp parallel num_threads(threads < R ? threads : R)
    {
        struct bench *bench = aligned_alloc(64, (sizeof *bench + 63) / 64 * 64);
        if (bench)
            memset(bench, 0, sizeof *bench);
        else
            atomic_store(&run->no_memory, true);
#pragma omp for schedule(dynamic, 1)
        for (int r = 0; r < R; r++) {
            if (bench && !atomic_load(&run->stopped))
                trace_replicate(run, r, bench);
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

/* ---- what the rings say ---------------------------------------------------------------------------------------- */

/* Rays in the rings of all replicates but one (-1: of all); in share of the launched. */
struct rings {
    double share[RINGS];
};
struct question {
    const struct inspection_run *run;
    enum sector sector;
    double fraction; /* of the centre's intensity; or 0 */
    double per_lm;   /* candela of a share of 1 per steradian */
};

static struct rings rings_of(const struct question *q, int left_out) {
    struct rings rings = {{0}};
    double launched = (double)q->run->rays * (left_out < 0 ? R : R - 1);
    for (int r = 0; r < R; r++)
        for (int k = 0; k < RINGS && r != left_out; k++)
            rings.share[k] += (double)q->run->tallies[r].ring[q->sector][k] / launched;
    double whole = q->sector == ALL ? 1 : 4; /* a sector is a quarter of the circle, both of its halves */
    for (int k = 0; k < RINGS; k++)
        rings.share[k] *= whole;
    return rings;
}

static double ring_cd(const struct rings *rings, int k) {
    return rings->share[k] / ring_sr(k);
}

static double mean_within(const struct rings *rings, int count) {
    double share = 0;
    for (int k = 0; k < count; k++)
        share += rings->share[k];
    return share / (2 * PI * (1 - cos(count * RING_RAD)));
}

/* Where the intensity first falls to a level, between the middles of two rings; NaN: nowhere. */
static double falls_to(const struct rings *rings, double level) {
    double before = INFINITY;
    for (int k = 0; k < RINGS; k++) {
        double here = ring_cd(rings, k);
        if (here < level)
            return k == 0 ? 0.25 * RING_RAD : (k - 0.5 + (before - level) / (before - here)) * RING_RAD;
        before = here;
    }
    return NAN;
}

/* On the axis: from the means over a small cone and one of twice its angle, the square of the angle taken out.
 * METHODS eq. (97). */
static double centre_of(const struct rings *rings) {
    double rough_rad = falls_to(rings, mean_within(rings, 2) / 2);
    int inner = isnan(rough_rad) ? RINGS / 8 : (int)(0.15 * rough_rad / RING_RAD);
    inner = inner < 2 ? 2 : inner;
    return (4 * mean_within(rings, inner) - mean_within(rings, 2 * inner)) / 3;
}

static double width_without(const void *data, int left_out) {
    const struct question *q = data, whole = {q->run, ALL, 0, 1};
    struct rings all = rings_of(&whole, left_out), rings = rings_of(q, left_out);
    return 2 * falls_to(&rings, q->fraction * centre_of(&all));
}

static double centre_without(const void *data, int left_out) {
    const struct question *q = data;
    struct rings rings = rings_of(q, left_out);
    return q->per_lm * centre_of(&rings);
}

/* Share of the leaving light within half of the width at the fraction. */
static double within_without(const void *data, int left_out) {
    const struct question *q = data;
    struct rings rings = rings_of(q, left_out);
    double half = falls_to(&rings, q->fraction * centre_of(&rings)) / RING_RAD, inside = 0, whole = 0;
    for (int k = 0; k < RINGS; k++) {
        whole += rings.share[k];
        inside += rings.share[k] * fmax(0, fmin(1, half - k));
    }
    return isnan(half) ? NAN : inside / whole;
}

static struct luxfall_estimate told(const struct inspection_run *run, leave_out_function *f, enum sector sector,
                                    double fraction, double per_lm) {
    struct question question = {run, sector, fraction, per_lm};
    return estimate_jackknife(f, &question, R, 1, false);
}

static struct luxfall_estimate share_of(const struct inspection_run *run, double factor,
                                        double (*of)(const struct tally *tally, int index), int index) {
    double values[R];
    for (int r = 0; r < R; r++)
        values[r] = factor * of(&run->tallies[r], index) / (double)run->rays;
    return estimate_mean(values, 1, R, 1);
}
static double of_ring(const struct tally *tally, int ring) {
    return (double)tally->ring[ALL][ring];
}
static double of_exits(const struct tally *tally, int unused) {
    (void)unused;
    return (double)tally->fates.exits;
}
static double of_loss(const struct tally *tally, int loss) {
    return (double)tally->fates.loss[loss];
}
static double of_abandoned(const struct tally *tally, int unused) {
    (void)unused;
    return (double)(tally->fates.abandoned + tally->fates.lost);
}

static void read_tallies(const struct inspection_run *run, double flux_lm, struct luxfall_inspection *out) {
    out->leaving_lm = share_of(run, flux_lm, of_exits, 0);
    out->efficiency = share_of(run, 1, of_exits, 0);
    out->abandoned_lm = share_of(run, flux_lm, of_abandoned, 0);
    for (int i = 0; i < LUXFALL_LOSS_COUNT; i++)
        out->loss_lm[i] = share_of(run, flux_lm, of_loss, i);
    for (int k = 0; k < RINGS; k++)
        out->cd[k] = share_of(run, flux_lm / ring_sr(k), of_ring, k);
    out->centre_cd = told(run, centre_without, ALL, 0, flux_lm);
    out->beam_angle_rad = told(run, width_without, ALL, 0.5, 1);
    out->field_angle_rad = told(run, width_without, ALL, 0.1, 1);
    out->beam_x_rad = told(run, width_without, ALONG_X, 0.5, 1);
    out->beam_y_rad = told(run, width_without, ALONG_Y, 0.5, 1);
    out->in_beam = told(run, within_without, ALL, 0.5, 1);
    out->in_field = told(run, within_without, ALL, 0.1, 1);
    out->rays_traced = run->rays * R;
}

static enum luxfall_status inspect_by_rays(struct stage *stage, const struct luxfall_options *options,
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
    run->numbers = (struct ray_run){.stage = stage, .options = options};
    omp_init_lock(&run->reporting);
    status = trace_all(run, error);
    omp_destroy_lock(&run->reporting);
    if (status == LUXFALL_OK)
        read_tallies(run, stage->lamps[0].flux_lm, out);
    free(run);
    return status;
}

/* ---- known by angle -------------------------------------------------------------------------------------------- */

static struct luxfall_estimate exactly(double value) {
    return (struct luxfall_estimate){value, NAN};
}

/* Full angle at a fraction of the axis; NaN: nowhere. */
static double width_of_law(const struct angle_law *law, double fraction) {
    double level = fraction * angle_law_relative(law, 0), low = 0, high = NAN;
    for (int k = 1; k <= 4 * RINGS && isnan(high); k++) {
        double angle = k * RING_RAD / 4;
        if (k == 4 * RINGS || angle_law_relative(law, angle) < level)
            high = angle;
        else
            low = angle;
    }
    if (!(level > 0))
        return NAN;
    for (int i = 0; i < 60; i++) {
        double middle = (low + high) / 2;
        *(angle_law_relative(law, middle) < level ? &high : &low) = middle;
    }
    return low + high;
}

static double share_within_width(const struct angle_law *law, double width_rad) {
    return isnan(width_rad) ? NAN : angle_law_share_within(law, width_rad / 2);
}

static void inspect_law(const struct bundle *bundle, double flux_lm, struct luxfall_inspection *out) {
    const struct angle_law *law = &bundle->law;
    double leaving_lm = flux_lm * bundle->efficiency, per_unit_cd = leaving_lm * angle_law_peak_per_lm(law);
    out->leaving_lm = exactly(leaving_lm);
    out->efficiency = exactly(bundle->efficiency);
    out->abandoned_lm = exactly(0);
    for (int i = 0; i < LUXFALL_LOSS_COUNT; i++)
        out->loss_lm[i] = exactly(i == LUXFALL_LOSS_DATASHEET ? flux_lm - leaving_lm : 0);
    double before = 0;
    for (int k = 0; k < RINGS; k++) {
        double within = angle_law_share_within(law, (k + 1) * RING_RAD);
        out->cd[k] = exactly(leaving_lm * (within - before) / ring_sr(k));
        before = within;
    }
    out->centre_cd = exactly(per_unit_cd * angle_law_relative(law, 0));
    out->beam_angle_rad = out->beam_x_rad = out->beam_y_rad = exactly(width_of_law(law, 0.5));
    out->field_angle_rad = exactly(width_of_law(law, 0.1));
    out->in_beam = exactly(share_within_width(law, out->beam_angle_rad.value));
    out->in_field = exactly(share_within_width(law, out->field_angle_rad.value));
}

/* ---- bounds ---------------------------------------------------------------------------------------------------- */

static double floor_for(double index, double die_mm2, double face_mm2) {
    double sine = index * sqrt(die_mm2 / face_mm2);
    return sine < 1 ? 2 * asin(sine) : PI;
}

/* METHODS eq. (9). */
static void add_bounds(const struct luxfall_scene *scene, const struct luxfall_module *module,
                       struct luxfall_inspection *out) {
    const double domed = 1.5;
    if (module->lens == LUXFALL_NO_LENS)
        return;
    const struct luxfall_lens *lens = &scene->lenses[module->lens];
    const struct luxfall_emitter *emitter = &scene->emitters[module->emitter];
    double diameter_mm = luxfall_lens_diameter_mm(lens), die_mm2 = emitter_area_mm2(emitter);
    double face_mm2 =
        lens->kind == LUXFALL_LENS_BEAM ? face_area_mm2(&lens->beam.face) : PI / 4 * diameter_mm * diameter_mm;
    double greatest = emitter_greatest_per_cosine(emitter);
    if (!(face_mm2 > 0 && die_mm2 > 0 && isfinite(greatest)))
        return;
    out->bound_cd_per_lm = greatest * face_mm2 / die_mm2;
    out->bound_domed_cd_per_lm = out->bound_cd_per_lm / (domed * domed);
    out->floor_rad = floor_for(1, die_mm2, face_mm2);
    out->floor_domed_rad = floor_for(domed, die_mm2, face_mm2);
}

enum luxfall_status luxfall_inspect(const struct luxfall_scene *scene, size_t module,
                                    const struct luxfall_options *options, struct luxfall_inspection *out,
                                    struct luxfall_error *error) {
    struct luxfall_options checked;
    struct stage stage = {0};
    *out = (struct luxfall_inspection){0};
    if (module >= scene->module_count)
        return fail(error, LUXFALL_E_VALUE, module, "there is no module of that number");
    struct luxfall_module alone = scene->modules[module];
    struct luxfall_scene one = *scene;
    alone.dark = false;
    one.modules = &alone;
    one.module_count = 1;
    one.field_count = 0;
    enum luxfall_status status = options_read(options, &checked, error);
    if (status == LUXFALL_OK)
        status = stage_make(&one, &stage, error);
    if (status == LUXFALL_OK) {
        out->flux_lm = stage.lamps[0].flux_lm;
        if (stage.bundles[0].solid)
            status = inspect_by_rays(&stage, &checked, out, error);
        else
            inspect_law(&stage.bundles[0], out->flux_lm, out);
    }
    if (status == LUXFALL_OK)
        add_bounds(&one, &alone, out);
    stage_free(&stage);
    return status;
}
