/* A whole run by rays: a pilot sets the counts, a fresh run gives the answer. METHODS section 6. */
#include "tracing/rays.h"

#include "fail.h"
#include "maps/field_statistics.h"
#include "numbers/keys.h"
#include "numbers/vec.h"

#include <omp.h>
#include <stdlib.h>
#include <string.h>

enum { QUANTA_BITS = 22 };
static const uint64_t RAYS_CAP = UINT64_C(1) << 30, CASTS_CAP = UINT64_C(1) << 33, LEAST_FREE_RAYS = 4096,
                      PILOT_POINTS = 32, LEAST_POINTS = 32, MOST_POINTS = 1 << 16, FIELD_POINTS_FACTOR = 2;

uint64_t run_key(const struct ray_run *run, int replicate, uint32_t purpose, uint64_t index) {
    uint32_t offset = run->plan.pilot ? PURPOSE_PILOT_OFFSET : 0;
    return key_make(run->options->seed, (uint32_t)replicate, purpose + offset, index);
}

/* ---- scratch -----------------------------------------------------------------------------------------------------
 */

static size_t round_up(size_t size, size_t to) {
    return (size + to - 1) / to * to;
}

static struct wave_space *space_for_solids(const struct stage *stage) {
    size_t size = round_up(sizeof(struct wave_space), 64);
    struct wave_space *space = stage->known_by_angle ? NULL : aligned_alloc(64, size);
    if (space)
        memset(space, 0, size);
    return space;
}

struct ray_scratch *ray_scratch_make(const struct ray_run *run) {
    const struct observations *seen = run->seen;
    size_t fields = seen->plane_count * seen->field_count;
    struct ray_scratch *scratch = aligned_alloc(64, round_up(sizeof *scratch, 64));
    if (!scratch)
        return NULL;
    memset(scratch, 0, sizeof *scratch);
    scratch->counts = calloc(seen->plane_count, sizeof *scratch->counts);
    scratch->readings = calloc(fields + 1, sizeof *scratch->readings);
    scratch->space = space_for_solids(run->stage);
    bool good = scratch->counts && scratch->readings && (scratch->space || run->stage->known_by_angle);
    for (size_t p = 0; p < seen->plane_count && good; p++)
        good = (scratch->counts[p] = calloc(fine_map_cells(&seen->maps[p]) + 1, sizeof **scratch->counts)) != NULL;
    for (size_t i = 0; i < fields && good; i++) {
        size_t places = (size_t)run->stage->grids[i % seen->field_count].count + 1;
        good = (scratch->readings[i] = calloc(places, sizeof **scratch->readings)) != NULL;
    }
    if (good)
        return scratch;
    ray_scratch_free(run, scratch);
    return NULL;
}

void ray_scratch_free(const struct ray_run *run, struct ray_scratch *scratch) {
    if (!scratch)
        return;
    for (size_t p = 0; p < run->seen->plane_count && scratch->counts; p++)
        free(scratch->counts[p]);
    for (size_t i = 0; i < run->seen->plane_count * run->seen->field_count && scratch->readings; i++)
        free(scratch->readings[i]);
    free(scratch->counts);
    free(scratch->readings);
    free(scratch->space);
    free(scratch);
}

/* Lamps of the same bundle and flux are traced together. */
static size_t class_count(const struct stage *stage) {
    size_t classes = 0;
    for (size_t l = 0; l < stage->lamp_count; l++)
        classes += l == 0 || stage->lamps[l].bundle != stage->lamps[l - 1].bundle ||
                   stage->lamps[l].flux_lm != stage->lamps[l - 1].flux_lm;
    return classes;
}

/* ---- quanta ------------------------------------------------------------------------------------------------------
 */

/* One quantum for the whole scene, so that casts of all lamps add up exactly; the brightest cast has 2^QUANTA_BITS.
 */
static void set_quanta(struct ray_run *run) {
    const struct stage *stage = run->stage;
    double brightest_lm = 0;
    for (size_t l = 0; l < stage->lamp_count; l++)
        brightest_lm =
            fmax(brightest_lm, stage->lamps[l].flux_lm / stage->bundles[stage->lamps[l].bundle].images.count);
    double quantum_lm = brightest_lm / (double)(1 << QUANTA_BITS); /* times rays of a bundle */
    for (size_t l = 0; l < stage->lamp_count; l++) {
        double cast_lm = stage->lamps[l].flux_lm / stage->bundles[stage->lamps[l].bundle].images.count;
        run->lamp_quanta[l] = (uint64_t)llround(cast_lm / quantum_lm);
    }
    run->lm_per_quantum = quantum_lm / (double)run->plan.free_rays;
    run->seen->lm_per_quantum = run->lm_per_quantum;
    for (size_t p = 0; p < run->seen->plane_count; p++) {
        double cell_m2 = run->seen->maps[p].cell_mm * run->seen->maps[p].cell_mm * 1e-6;
        run->seen->maps[p].lx_per_quantum = run->lm_per_quantum / cell_m2;
    }
}

/* ---- progress ----------------------------------------------------------------------------------------------------
 */

/* Relative band that the averages of the finished replicates promise for all of them; NaN while they are few. */
static double band_so_far(const struct ray_run *run) {
    enum { FEW = 4 };
    double values[LUXFALL_REPLICATES], worst = NAN;
    const struct observations *seen = run->seen;
    for (size_t i = 0; i < seen->plane_count * seen->field_count; i++) {
        int count = 0;
        double sum = 0, squares = 0;
        for (int r = 0; r < seen->replicates; r++)
            if (run->finished[r])
                sum += values[count++] = seen->average_lx[i][r];
        for (int k = 0; k < count; k++)
            squares += (values[k] - sum / count) * (values[k] - sum / count);
        if (count >= FEW && sum > 0) {
            double error = sqrt(squares / (count - 1) / seen->replicates);
            worst = fmax(worst, t95(seen->replicates) * error / (sum / count));
        }
    }
    return worst;
}

static void report(struct ray_run *run) {
    if (!run->options->progress || atomic_load(&run->stopped))
        return;
    struct luxfall_progress now = {run->plan.pilot, atomic_load(&run->rays_done),
                                   run->plan.free_rays * run->class_count * LUXFALL_REPLICATES, band_so_far(run)};
    if (!run->options->progress(run->options->user, &now))
        atomic_store(&run->stopped, true);
}

bool run_goes_on(struct ray_run *run) {
    if (run->options->progress) {
        omp_set_lock(&run->reporting);
        report(run);
        omp_unset_lock(&run->reporting);
    }
    return !atomic_load(&run->stopped);
}

/* ---- a run -------------------------------------------------------------------------------------------------------
 */

/* Each replicate is one thread's from end to end, so nothing depends on how many threads there are. */
static enum luxfall_status run_replicates(struct ray_run *run, struct luxfall_error *error) {
    atomic_bool no_memory = false;
    int threads = run->options->threads > 0 ? run->options->threads : omp_get_num_procs();
#pragma omp parallel num_threads(threads < LUXFALL_REPLICATES ? threads : LUXFALL_REPLICATES)
    {
        struct ray_scratch *scratch = ray_scratch_make(run);
        if (!scratch)
            atomic_store(&no_memory, true);
#pragma omp for schedule(dynamic, 1)
        for (int r = 0; r < LUXFALL_REPLICATES; r++) {
            if (!scratch || !run_goes_on(run))
                continue;
            field_rays(run, r, scratch);
            free_rays(run, r, scratch);
            omp_set_lock(&run->reporting);
            run->finished[r] = !atomic_load(&run->stopped);
            omp_unset_lock(&run->reporting);
        }
        ray_scratch_free(run, scratch);
    }
    if (atomic_load(&no_memory))
        return fail_memory(error);
    return atomic_load(&run->stopped) ? fail(error, LUXFALL_E_STOPPED, 0, "stopped") : LUXFALL_OK;
}

static void run_free(struct ray_run *run) {
    omp_destroy_lock(&run->reporting);
    ray_scratch_free(run, run->reader_scratch); /* counts what `seen` holds */
    if (run->seen)
        observations_free(run->seen);
    free(run->seen);
    free(run->lamp_quanta);
}

/* Makes a run ready and does it; the caller frees it in any case. */
static enum luxfall_status run_plan(const struct stage *stage, const struct luxfall_options *options,
                                    struct ray_plan plan, struct ray_run *run, struct luxfall_error *error) {
    *run = (struct ray_run){.stage = stage, .options = options, .plan = plan};
    omp_init_lock(&run->reporting);
    run->kernels = kernels_choose(options->vectors);
    run->class_count = class_count(stage);
    run->lamp_quanta = calloc(stage->lamp_count + 1, sizeof *run->lamp_quanta);
    run->seen = calloc(1, sizeof *run->seen);
    if (!run->lamp_quanta || !run->seen || !observations_make(stage, LUXFALL_REPLICATES, run->seen))
        return fail_memory(error);
    set_quanta(run);
    return run_replicates(run, error);
}

/* ---- how much to do ----------------------------------------------------------------------------------------------
 */

static uint64_t power_of_two_from(double wanted) {
    uint64_t power = 1;
    while ((double)power < wanted && power < UINT64_C(1) << 62)
        power *= 2;
    return power;
}

/* Scrambled points balance in powers of two. */
static uint64_t whole_share(const struct luxfall_options *options, double wanted) {
    return options->points == LUXFALL_SCRAMBLED ? power_of_two_from(wanted) : (uint64_t)ceil(fmax(wanted, 1));
}

static double casts_per_ray(const struct stage *stage) {
    double casts = 0;
    for (size_t l = 0; l < stage->lamp_count; l++)
        casts += stage->bundles[stage->lamps[l].bundle].images.count;
    return casts * (double)stage->scene->target.level_count;
}

/* Of every bundle and replicate: what the user allows, or what a machine does in a minute or so. */
static uint64_t most_free_rays(const struct stage *stage, const struct luxfall_options *options) {
    uint64_t cap = options->rays_cap ? options->rays_cap : RAYS_CAP;
    uint64_t share = cap / LUXFALL_REPLICATES / (stage->bundle_count ? stage->bundle_count : 1);
    double casts = casts_per_ray(stage) * LUXFALL_REPLICATES;
    if (!options->rays_cap && (double)share * casts > (double)CASTS_CAP)
        share = (uint64_t)((double)CASTS_CAP / casts);
    if (options->points == LUXFALL_SCRAMBLED && share > 1)
        share = power_of_two_from((double)share / 2 + 1); /* the power of two at or below */
    return share < 1 ? 1 : share;
}

/* Share of the light leaving the lenses that lands on the maps, as a run saw it. */
static double share_on_maps(const struct ray_run *run) {
    const struct observations *seen = run->seen;
    double leaving = 0, missed = 0;
    for (int r = 0; r < seen->replicates; r++) {
        leaving += (double)seen->ledgers[r].leaving;
        for (size_t p = 0; p < seen->plane_count; p++)
            missed += (double)seen->ledgers[r].off_map[p] / (double)seen->plane_count;
    }
    return leaving > 0 ? fmax(1 - missed / leaving, 0) : 0;
}

/* Enough landings for a calm picture, within reason. */
static double free_rays_for_map(const struct stage *stage, double share) {
    const double hits_per_cell = 5000, most_casts = 1e9;
    const struct luxfall_target *target = &stage->scene->target;
    double planes = (double)target->level_count;
    double cells = fmax((double)target->columns * target->rows, 1e4) * planes;
    double casts = fmin(hits_per_cell * cells / fmax(share, 1e-3), most_casts);
    return casts / fmax(casts_per_ray(stage), 1) / LUXFALL_REPLICATES;
}

/* Widest band over all fields, and the hits that free rays make in a reading of average brightness. */
static double worst_band(const struct ray_run *run, double *hits_per_reading) {
    const struct observations *seen = run->seen;
    double worst = 0;
    *hits_per_reading = INFINITY;
    for (size_t i = 0; i < seen->plane_count * seen->field_count; i++) {
        const struct reading_grid *grid = &run->stage->grids[i % seen->field_count];
        struct field_data data = {seen->replicates, grid, seen->readings_lx[i], seen->average_lx[i],
                                  seen->leaving_lm};
        struct luxfall_field_result field = {.width_mm = grid->half_diagonal_mm, .height_mm = grid->half_diagonal_mm};
        field_statistics(&data, &field);
        worst = fmax(worst, field_worst_band(&field));
        double disc_m2 = PI / 4 * grid->reading_mm * grid->reading_mm * 1e-6;
        double casts = (double)free_casts_count(run) / (double)seen->plane_count;
        if (field.average_lx.value > 0)
            *hits_per_reading =
                fmin(*hits_per_reading, casts * field.average_lx.value * disc_m2 / fmax(seen->leaving_lm[0], 1e-300));
    }
    return worst;
}

static bool any_read_by_free_rays(const struct stage *stage, const struct luxfall_options *options) {
    return stage->scene->field_count > 0 && (options->free_only || !stage->known_by_angle);
}

/* Runs pilots, longer ones while free rays hardly hit the readings, and plans the run from the last one's bands. */
static enum luxfall_status plan_for_accuracy(const struct stage *stage, const struct luxfall_options *options,
                                             struct ray_plan *plan, struct luxfall_error *error) {
    const double first_pilot = 1 << 15, map_pilot = 1 << 8, enough_hits = 2000, safety = 2, growth = 8;
    uint64_t most = most_free_rays(stage, options);
    bool free_read = any_read_by_free_rays(stage, options);
    struct ray_plan pilot = {whole_share(options, free_read ? first_pilot : map_pilot), PILOT_POINTS,
                             PILOT_POINTS * FIELD_POINTS_FACTOR, .pilot = true};
    double hits, band, share;
    for (;;) {
        struct ray_run run;
        pilot.free_rays = pilot.free_rays < most ? pilot.free_rays : most;
        enum luxfall_status status = run_plan(stage, options, pilot, &run, error);
        band = status == LUXFALL_OK ? worst_band(&run, &hits) : 0;
        share = status == LUXFALL_OK ? share_on_maps(&run) : 0;
        run_free(&run);
        if (status != LUXFALL_OK)
            return status;
        if (!free_read || hits >= enough_hits || (double)pilot.free_rays * growth * growth > (double)most)
            break;
        pilot.free_rays = whole_share(options, (double)pilot.free_rays * growth);
    }
    double more = safety * (band / options->accuracy) * (band / options->accuracy);
    double points = fmin(fmax((double)PILOT_POINTS * more, (double)LEAST_POINTS), (double)MOST_POINTS);
    plan->read_points = power_of_two_from(points);
    /* too few hits to tell a band: all that is allowed */
    double rays = !free_read ? 0 : hits < enough_hits ? (double)most : (double)pilot.free_rays * more;
    rays = fmax(fmax(rays, free_rays_for_map(stage, share)), (double)LEAST_FREE_RAYS);
    plan->capped = rays > (double)most;
    plan->free_rays = plan->capped ? most : whole_share(options, rays);
    plan->free_rays = plan->free_rays < most ? plan->free_rays : most;
    return LUXFALL_OK;
}

/* As many rays to the fields as free ones, about, when their number is given. */
static uint64_t points_for_rays(const struct stage *stage, uint64_t rays) {
    enum { FEWEST = 8 };
    double a_point = 0; /* rays that one point at every reading takes */
    for (size_t f = 0; f < stage->scene->field_count; f++)
        a_point += stage->grids[f].count + (double)FIELD_POINTS_FACTOR;
    a_point *= (double)(stage->lamp_count * stage->scene->target.level_count) * LUXFALL_REPLICATES;
    double points = (double)rays / fmax(a_point, 1);
    uint64_t power = power_of_two_from(points / 2 + 0.5); /* at or below */
    return power < FEWEST ? FEWEST : power > MOST_POINTS ? MOST_POINTS : power;
}

static enum luxfall_status make_plan(const struct stage *stage, const struct luxfall_options *options,
                                     struct ray_plan *plan, struct luxfall_error *error) {
    *plan = (struct ray_plan){.read_points = points_for_rays(stage, options->rays)};
    enum luxfall_status status = LUXFALL_OK;
    if (options->accuracy > 0) {
        status = plan_for_accuracy(stage, options, plan, error);
    } else {
        double bundles = stage->bundle_count ? (double)stage->bundle_count : 1;
        plan->free_rays = whole_share(options, (double)options->rays / LUXFALL_REPLICATES / bundles);
    }
    plan->field_points = plan->read_points * FIELD_POINTS_FACTOR;
    return status;
}

/* ---- all of it ---------------------------------------------------------------------------------------------------
 */

static void note_run(const struct ray_run *run, struct luxfall_result *result) {
    const struct luxfall_options *options = run->options;
    uint64_t free_count = run->plan.free_rays * run->stage->bundle_count * LUXFALL_REPLICATES;
    result->method = LUXFALL_RAYS;
    result->seed = options->seed;
    result->rays_to_fields = field_rays_count(run);
    result->rays_traced = free_count + result->rays_to_fields;
    result->rays_cast = free_casts_count(run) + result->rays_to_fields;
    result->quadrature_error = NAN;
    result->accuracy_wanted = options->accuracy;
    for (size_t p = 0; p < result->plane_count; p++)
        for (size_t f = 0; f < result->field_count; f++)
            result->accuracy_worst = fmax(result->accuracy_worst, field_worst_band(&result->planes[p].fields[f]));
    result->cap_reached = run->plan.capped;
    result->accuracy_reached = options->accuracy == 0 || result->accuracy_worst <= options->accuracy;
}

enum luxfall_status trace_by_rays(const struct stage *stage, const struct luxfall_options *options,
                                  struct luxfall_result **out, struct luxfall_error *error) {
    struct ray_plan plan;
    struct ray_run run;
    enum luxfall_status status = make_plan(stage, options, &plan, error);
    if (status != LUXFALL_OK)
        return status;
    status = run_plan(stage, options, plan, &run, error);
    if (status == LUXFALL_OK && stage->known_by_angle && !options->free_only) {
        run.reader_scratch = ray_scratch_make(&run);
        run.seen->discs_lx = ray_discs_lx;
        run.seen->reader = &run;
        status = run.reader_scratch ? LUXFALL_OK : fail_memory(error);
    }
    if (status == LUXFALL_OK)
        status = result_make(run.seen, out, error);
    if (status == LUXFALL_OK)
        note_run(&run, *out);
    run_free(&run);
    return status;
}
