/* Free rays: launched once for every bundle, bent by its optics, cast for every lamp and symmetry image. */
#include "numbers/keys.h"
#include "numbers/vec.h"
#include "tracing/packed.h"
#include "tracing/rays.h"

#include <string.h>

bool read_by_free_rays(const struct ray_run *run, const struct bundle *bundle) {
    return bundle->solid || run->options->free_only;
}

/* ---- exit rays of a bundle ---------------------------------------------------------------------------------------
 */

/* Lamps of one bundle and one flux: every cast of theirs weighs the same, so that whole counts can be kept. */
struct lamp_class {
    const struct bundle *bundle;
    size_t first, count, bundle_index;
    uint64_t emitted; /* quanta with each cast */
    uint64_t leaving; /* of those, what a known-by-angle lens lets out; all for a solid */
};

/* Casts between two looks at the user's wish to stop: some hundredths of a second. */
enum { REPORT_CASTS = 1 << 20 };

void bundle_rays(const struct bundle *bundle, const struct ray_maker *maker, uint64_t first, int count,
                 struct ray_batch *out, struct wave_fates *fates) {
    struct launch_source source = {
        bundle->face,  bundle->columns, bundle->rows, (float)bundle->pitch_x_mm, (float)bundle->pitch_y_mm,
        bundle->launch};
    if (!bundle->solid) {
        maker->kernels->launch(&source, &maker->launch, first, count, out);
        fates->exits += (uint64_t)count;
        return;
    }
    struct pcg32 surfaces = maker->surfaces;
    pcg32_jump(&surfaces, first);
    if (bundle->packed)
        packed_rays(bundle->packed, &source, maker, first, count, out, fates);
    else
        maker->kernels->launch(&source, &maker->launch, first, count, maker->inside);
    if (!bundle->mounting.drawn)
        mounting_enter(&bundle->mounting, maker->inside);
    maker->kernels->follow(&bundle->solid->wave, maker->space, maker->inside, surfaces, out, fates);
    if (!bundle->mounting.drawn)
        mounting_leave(&bundle->mounting, out);
}

static void exit_rays(const struct ray_run *run, int replicate, const struct lamp_class *class, uint64_t first,
                      int count, struct ray_scratch *scratch, struct wave_fates *fates) {
    size_t bundle = class->bundle_index;
    const struct ray_maker maker = {
        run->kernels,
        {run_key(run, replicate, PURPOSE_LAUNCH, bundle), run->options->points},
        pcg32_seed(run_key(run, replicate, PURPOSE_SURFACES, bundle), bundle),
        &scratch->inside,
        &scratch->packed,
        scratch->space,
    };
    bundle_rays(class->bundle, &maker, first, count, &scratch->batch, fates);
}

/* ---- casting -----------------------------------------------------------------------------------------------------
 */

/* Image k of a module's plane: bits 0 and 1 mirror x and y, bit 2 swaps them. */
static void image_axes(const struct luxfall_pose *pose, int image, struct luxfall_vec *x, struct luxfall_vec *y) {
    *x = image & 4 ? pose->y : pose->x;
    *y = image & 4 ? pose->x : pose->y;
    *x = vec_sum(image & 1 ? -1 : 1, *x, 0, *x);
    *y = vec_sum(image & 2 ? -1 : 1, *y, 0, *y);
}

static struct cast_frame cast_frame(const struct ray_run *run, const struct lamp *lamp, int image, size_t plane) {
    const struct fine_map *map = &run->seen->maps[plane];
    const struct luxfall_pose *pose = &lamp->pose;
    double level_mm = run->stage->scene->target.level_mm[plane], scale = 1 / map->cell_mm;
    struct luxfall_vec x, y;
    image_axes(pose, image, &x, &y);
    return (struct cast_frame){(float)(pose->at_mm.x * scale + map->columns / 2.0),
                               (float)(pose->at_mm.y * scale + map->rows / 2.0),
                               (float)(pose->at_mm.z - level_mm),
                               {(float)(x.x * scale), (float)(y.x * scale), (float)(pose->axis.x * scale)},
                               {(float)(x.y * scale), (float)(y.y * scale), (float)(pose->axis.y * scale)},
                               {(float)x.z, (float)y.z, (float)pose->axis.z}};
}

static int first_from(double place) {
    return place <= 0 ? 0 : (int)ceil(place);
}
static int last_to(double place) {
    return place >= READINGS_SIDE - 1 ? READINGS_SIDE - 1 : (int)floor(place);
}

static bool near(double dx, double dy, double radius2) {
    return dx * dx + dy * dy < radius2;
}

/* One hit, from the field's centre, in every reading that it falls into. */
static void count_hit(const struct reading_grid *grid, double x, double y, uint32_t *counts) {
    double radius = grid->reading_mm / 2, radius2 = radius * radius;
    double half_width = grid->step_x_mm * (READINGS_SIDE - 1) / 2,
           half_height = grid->step_y_mm * (READINGS_SIDE - 1) / 2;
    int left = first_from((x - radius + half_width) / grid->step_x_mm);
    int right = last_to((x + radius + half_width) / grid->step_x_mm);
    int high = last_to((y + radius + half_height) / grid->step_y_mm);
    counts[grid->count] +=
        grid->round ? near(x, y, half_width * half_width) : fabs(x) < half_width && fabs(y) < half_height;
    for (int j = first_from((y - radius + half_height) / grid->step_y_mm); j <= high; j++) {
        for (int i = left; i <= right; i++) {
            int place = grid->at[j][i];
            if (place >= 0 && near(x - grid->x_mm[place], y - grid->y_mm[place], radius2))
                counts[place]++;
        }
    }
    if (grid->round && !near(x, y, fmax(half_width - radius, 0) * fmax(half_width - radius, 0)))
        for (int place = grid->count - READINGS_RIM; place < grid->count; place++)
            counts[place] += near(x - grid->x_mm[place], y - grid->y_mm[place], radius2);
}

static void count_in_field(const struct ray_run *run, size_t plane, size_t field, const struct ray_scratch *scratch,
                           uint32_t *counts) {
    const struct fine_map *map = &run->seen->maps[plane];
    const struct luxfall_field *frame = &run->stage->scene->fields[field];
    const struct reading_grid *grid = &run->stage->grids[field];
    double cell = map->cell_mm, reach_mm = grid->reading_mm / 2;
    float middle_x = (float)(frame->x_mm / cell + map->columns / 2.0);
    float middle_y = (float)(frame->y_mm / cell + map->rows / 2.0);
    float reach_x = (float)((frame->width_mm / 2 + reach_mm) / cell);
    float reach_y = (float)((frame->height_mm / 2 + reach_mm) / cell);
    /* the few that fall near are sorted out first, without branches: most hits are far away */
    int near_by[RAY_BATCH + 1], count = 0;
    for (int i = 0; i < scratch->batch.count; i++) {
        near_by[count] = i;
        count += (fabsf(scratch->gx[i] - middle_x) <= reach_x) & (fabsf(scratch->gy[i] - middle_y) <= reach_y);
    }
    for (int k = 0; k < count; k++)
        count_hit(grid, (double)(scratch->gx[near_by[k]] - middle_x) * cell,
                  (double)(scratch->gy[near_by[k]] - middle_y) * cell, counts);
}

static void cast_batch(const struct ray_run *run, const struct lamp_class *class, struct ray_scratch *scratch) {
    const struct observations *seen = run->seen;
    const struct image_set *images = &class->bundle->images;
    bool read = read_by_free_rays(run, class->bundle) && seen->field_count > 0;
    for (size_t plane = 0; plane < seen->plane_count; plane++) {
        const struct fine_map *map = &seen->maps[plane];
        struct cast_grid grid = {map->columns, map->rows};
        for (size_t l = class->first; l < class->first + class->count; l++) {
            for (int k = 0; k < images->count; k++) {
                struct cast_frame frame = cast_frame(run, &run->stage->lamps[l], images->image[k], plane);
                run->kernels->cast(&scratch->batch, &frame, &grid, scratch->cell, read ? scratch->gx : NULL,
                                   read ? scratch->gy : NULL);
                kernels_tally(scratch->cell, scratch->batch.count, scratch->counts[plane]);
                for (size_t f = 0; f < seen->field_count && read; f++)
                    count_in_field(run, plane, f, scratch, scratch->readings[plane * seen->field_count + f]);
            }
        }
    }
}

/* ---- from counts to quanta ---------------------------------------------------------------------------------------
 */

static void fold_map(struct fine_map *map, int replicate, uint64_t weight, uint32_t *counts, uint64_t *off_map) {
    size_t cells = fine_map_cells(map);
    for (size_t i = 0; i < cells; i++)
        map->quanta[replicate][i] += weight * counts[i];
    *off_map += weight * counts[cells];
    memset(counts, 0, (cells + 1) * sizeof *counts);
}

/* METHODS eq. (35), and the same over all of a field. */
static void fold_readings(struct observations *seen, int replicate, size_t index, double weight_lm,
                          uint32_t *counts) {
    const struct reading_grid *grid = &seen->stage->grids[index % seen->field_count];
    double radius_m = grid->reading_mm * 1e-3 / 2, per_count_lx = weight_lm / (PI * radius_m * radius_m);
    double *readings = seen->readings_lx[index] + (size_t)replicate * (size_t)grid->count;
    for (int k = 0; k < grid->count; k++)
        readings[k] += per_count_lx * counts[k];
    seen->average_lx[index][replicate] += weight_lm * counts[grid->count] / (grid->area_mm2 * 1e-6);
    memset(counts, 0, ((size_t)grid->count + 1) * sizeof *counts);
}

static void fold(struct ray_run *run, int replicate, const struct lamp_class *class, struct ray_scratch *scratch) {
    struct observations *seen = run->seen;
    for (size_t plane = 0; plane < seen->plane_count; plane++) {
        fold_map(&seen->maps[plane], replicate, class->leaving, scratch->counts[plane],
                 &seen->ledgers[replicate].off_map[plane]);
        for (size_t f = 0; f < seen->field_count; f++) {
            size_t index = plane * seen->field_count + f;
            fold_readings(seen, replicate, index, (double)class->leaving * run->lm_per_quantum,
                          scratch->readings[index]);
        }
    }
}

static void fold_fates(const struct lamp_class *class, const struct wave_fates *fates, uint64_t rays,
                       struct quanta_ledger *ledger) {
    uint64_t casts = class->count * (uint64_t) class->bundle->images.count;
    ledger->emitted += rays * casts * class->emitted;
    ledger->leaving += fates->exits * casts * class->leaving;
    ledger->abandoned += (fates->abandoned + fates->lost) * casts * class->leaving;
    for (int loss = 0; loss < OPTIC_LOSSES; loss++) {
        const uint64_t quanta = fates->loss[loss] * casts * class->leaving;
        const int part = optic_loss_part(loss);
        ledger->loss[optic_loss_cause(loss)] += quanta;
        if (part > 0 && (size_t)part <= class->bundle->first->cover_count)
            ledger->cover[class->bundle->first->covers[part - 1]] += quanta;
    }
    ledger->loss[LUXFALL_LOSS_DATASHEET] += rays * casts * (class->emitted - class->leaving);
}

/* ---- a replicate -------------------------------------------------------------------------------------------------
 */

static struct lamp_class class_from(const struct ray_run *run, size_t first) {
    const struct stage *stage = run->stage;
    const struct lamp *lamp = &stage->lamps[first];
    const struct bundle *bundle = &stage->bundles[lamp->bundle];
    struct lamp_class class = {.bundle = bundle, .first = first, .bundle_index = lamp->bundle};
    while (first + class.count < stage->lamp_count && stage->lamps[first + class.count].bundle == lamp->bundle &&
           stage->lamps[first + class.count].flux_lm == lamp->flux_lm)
        class.count++;
    class.emitted = run->lamp_quanta[first];
    class.leaving = (uint64_t)llround((double)class.emitted * bundle->efficiency);
    return class;
}

static void trace_class(struct ray_run *run, int replicate, const struct lamp_class *class,
                        struct ray_scratch *scratch) {
    struct wave_fates fates = {0};
    uint64_t rays = run->plan.free_rays, casts = class->count * (uint64_t) class->bundle->images.count;
    uint64_t since_fold = 0, since_report = 0;
    for (uint64_t first = 0; first < rays; first += RAY_BATCH) {
        int count = (int)(rays - first < RAY_BATCH ? rays - first : RAY_BATCH);
        exit_rays(run, replicate, class, first, count, scratch, &fates);
        since_fold += casts * RAY_BATCH;
        if (since_fold > UINT32_MAX) { /* a count of 32 bits might be full */
            fold(run, replicate, class, scratch);
            since_fold = casts * RAY_BATCH;
        }
        cast_batch(run, class, scratch);
        atomic_fetch_add(&run->rays_done, (unsigned)count);
        since_report += casts * RAY_BATCH;
        if (since_report > REPORT_CASTS && !run_goes_on(run))
            break;
        since_report = since_report > REPORT_CASTS ? 0 : since_report;
    }
    fold(run, replicate, class, scratch);
    fold_fates(class, &fates, rays, &run->seen->ledgers[replicate]);
}

void free_rays(struct ray_run *run, int replicate, struct ray_scratch *scratch) {
    for (size_t first = 0; first < run->stage->lamp_count;) {
        struct lamp_class class = class_from(run, first);
        trace_class(run, replicate, &class, scratch);
        first += class.count;
    }
    run->seen->leaving_lm[replicate] = (double)run->seen->ledgers[replicate].leaving * run->lm_per_quantum;
}

uint64_t free_casts_count(const struct ray_run *run) {
    uint64_t casts = 0;
    for (size_t l = 0; l < run->stage->lamp_count; l++)
        casts += (uint64_t)run->stage->bundles[run->stage->lamps[l].bundle].images.count;
    return casts * run->plan.free_rays * LUXFALL_REPLICATES * run->stage->scene->target.level_count;
}
