/* From observations to the result that users get. */
#include "fail.h"
#include "maps/field_statistics.h"
#include "maps/peak.h"
#include "numbers/vec.h"
#include "tracing/observations.h"

#include <stdlib.h>

/* Replicates that choose a place, and the first of those that give its value: halves, or the one there is. */
static int choosing(const struct observations *seen) {
    return seen->replicates == 1 ? 1 : seen->replicates / 2;
}
static int valuing_from(const struct observations *seen) {
    return seen->replicates == 1 ? 0 : seen->replicates / 2;
}

/* Room for the work on one plane. */
struct plane_work {
    const struct observations *seen;
    size_t plane;
    const struct fine_map *map;
    double *mean_lx, *scratch_lx, *sums;
};

static bool work_make(const struct observations *seen, size_t plane, struct plane_work *out) {
    const struct fine_map *map = &seen->maps[plane];
    size_t cells = fine_map_cells(map);
    *out = (struct plane_work){.seen = seen, .plane = plane, .map = map};
    out->mean_lx = malloc(cells * sizeof *out->mean_lx);
    out->scratch_lx = malloc(cells * sizeof *out->scratch_lx);
    out->sums = malloc((cells + (size_t)map->rows) * sizeof *out->sums);
    return out->mean_lx && out->scratch_lx && out->sums;
}

static void work_free(struct plane_work *work) {
    free(work->mean_lx);
    free(work->scratch_lx);
    free(work->sums);
}

static double to_cells(const struct plane_work *work, double mm, int cells) {
    return mm / work->map->cell_mm + cells / 2.0;
}
static double to_mm(const struct plane_work *work, double cells, int count) {
    return (cells - count / 2.0) * work->map->cell_mm;
}

/* ---- means over discs --------------------------------------------------------------------------------------------
 */

/* out_lx[r * count + k] of every replicate, from rays at the places or from the maps. */
static void discs_of_replicates(struct plane_work *work, int count, const double *x_mm, const double *y_mm,
                                double *out_lx) {
    const struct observations *seen = work->seen;
    double radius = seen->stage->disc_mm / 2 / work->map->cell_mm;
    for (int r = 0; r < seen->replicates; r++) {
        double *out = out_lx + (size_t)r * (size_t)count;
        if (seen->discs_lx) {
            seen->discs_lx(seen->reader, r, work->plane, count, x_mm, y_mm, out);
            continue;
        }
        fine_map_mean(work->map, r, r + 1, -1, work->scratch_lx);
        map_running_sums(work->scratch_lx, work->map->columns, work->map->rows, work->sums);
        for (int k = 0; k < count; k++)
            out[k] = map_disc_mean(work->sums, work->map->columns, work->map->rows,
                                   to_cells(work, x_mm[k], work->map->columns),
                                   to_cells(work, y_mm[k], work->map->rows), radius);
    }
}

/* ---- peak --------------------------------------------------------------------------------------------------------
 */

/* Sum over the choosing replicates. */
static void choosing_discs(const struct plane_work *work, int count, const double *x_mm, const double *y_mm,
                           double *out_lx) {
    double lx[PEAK_CANDIDATES];
    for (int k = 0; k < count; k++)
        out_lx[k] = 0;
    for (int r = 0; r < choosing(work->seen); r++) {
        work->seen->discs_lx(work->seen->reader, r, work->plane, count, x_mm, y_mm, lx);
        for (int k = 0; k < count; k++)
            out_lx[k] += lx[k];
    }
}

static int greatest(const double *values, int count) {
    int best = 0;
    for (int k = 1; k < count; k++)
        if (values[k] > values[best])
            best = k;
    return best;
}

/* From the best candidate uphill, with shorter and shorter steps, never off the map. */
static void climb(const struct plane_work *work, double *x_mm, double *y_mm, double now_lx) {
    enum { WAYS = 4 };
    double half_width = work->map->columns * work->map->cell_mm / 2;
    double half_height = work->map->rows * work->map->cell_mm / 2;
    double step = fmax(work->map->cell_mm, work->seen->stage->disc_mm / 4), least = step / 100;
    for (int moves = 0; step > least && moves < 200; moves++) {
        double x[WAYS] = {fmin(*x_mm + step, half_width), fmax(*x_mm - step, -half_width), *x_mm, *x_mm};
        double y[WAYS] = {*y_mm, *y_mm, fmin(*y_mm + step, half_height), fmax(*y_mm - step, -half_height)};
        double lx[WAYS];
        choosing_discs(work, WAYS, x, y, lx);
        int best = greatest(lx, WAYS);
        if (lx[best] > now_lx) {
            *x_mm = x[best];
            *y_mm = y[best];
            now_lx = lx[best];
        } else {
            step /= 3;
        }
    }
}

/* The map that shows where to look: means over discs, so that noise raises no peaks; without noise as it is. */
static void map_for_peaks(struct plane_work *work) {
    const struct fine_map *map = work->map;
    double radius = work->seen->stage->disc_mm / 2 / map->cell_mm;
    fine_map_mean(map, 0, choosing(work->seen), -1, work->scratch_lx);
    if (work->seen->replicates == 1)
        return;
    map_running_sums(work->scratch_lx, map->columns, map->rows, work->sums);
    for (size_t i = 0; i < fine_map_cells(map); i++)
        work->scratch_lx[i] =
            map_disc_mean(work->sums, map->columns, map->rows, (double)(i % (size_t)map->columns) + 0.5,
                          (double)(i / (size_t)map->columns) + 0.5, radius);
}

static void find_peak(struct plane_work *work, double *x_mm, double *y_mm) {
    const struct fine_map *map = work->map;
    struct peak_place places[PEAK_CANDIDATES];
    double x[PEAK_CANDIDATES], y[PEAK_CANDIDATES], lx[PEAK_CANDIDATES];
    map_for_peaks(work);
    int count = peak_candidates(work->scratch_lx, map->columns, map->rows, places);
    for (int k = 0; k < count; k++) {
        x[k] = to_mm(work, places[k].x, map->columns);
        y[k] = to_mm(work, places[k].y, map->rows);
    }
    int best = 0;
    if (work->seen->discs_lx) {
        choosing_discs(work, count, x, y, lx);
        best = greatest(lx, count);
        climb(work, &x[best], &y[best], lx[best]);
    }
    *x_mm = x[best];
    *y_mm = y[best];
}

static void peak_and_spots(struct plane_work *work, struct luxfall_plane_result *out) {
    double lx[LUXFALL_REPLICATES];
    const double origin = 0;
    int from = valuing_from(work->seen), replicates = work->seen->replicates;
    discs_of_replicates(work, 1, &origin, &origin, lx);
    out->centre_lx = estimate_mean(lx, 1, replicates, 1);
    find_peak(work, &out->peak_x_mm, &out->peak_y_mm);
    discs_of_replicates(work, 1, &out->peak_x_mm, &out->peak_y_mm, lx);
    out->peak_lx = estimate_mean(lx + from, 1, replicates - from, EXTREME_FACTOR);
    fine_map_mean(work->map, 0, replicates, -1, work->mean_lx);
    out->half_peak_diameter_mm = fine_map_spot(work->map, work->mean_lx, work->scratch_lx, lx, from, 0.5);
    out->tenth_peak_diameter_mm = fine_map_spot(work->map, work->mean_lx, work->scratch_lx, lx, from, 0.1);
}

/* ---- sections ----------------------------------------------------------------------------------------------------
 */

static bool make_section(struct plane_work *work, bool along_x, struct luxfall_section *out) {
    const struct luxfall_target *target = &work->seen->stage->scene->target;
    int count = along_x ? target->columns : target->rows, replicates = work->seen->replicates;
    size_t size = (size_t)count;
    double *zero = calloc(size, sizeof *zero), *all = malloc(size * (size_t)replicates * sizeof *all);
    out->count = size;
    out->at_mm = malloc(size * sizeof *out->at_mm);
    out->lx = malloc(size * sizeof *out->lx);
    out->u95_lx = malloc(size * sizeof *out->u95_lx);
    bool good = zero && all && out->at_mm && out->lx && out->u95_lx;
    for (int k = 0; k < count && good; k++)
        out->at_mm[k] = (k + 0.5 - count / 2.0) * target->cell_mm;
    if (good)
        discs_of_replicates(work, count, along_x ? out->at_mm : zero, along_x ? zero : out->at_mm, all);
    for (size_t k = 0; k < size && good; k++) {
        struct luxfall_estimate e = estimate_mean(all + k, size, replicates, 1);
        out->lx[k] = e.value;
        out->u95_lx[k] = e.u95;
    }
    free(zero);
    free(all);
    return good;
}

/* ---- ledger ------------------------------------------------------------------------------------------------------
 */

typedef uint64_t ledger_column(const struct quanta_ledger *ledger, size_t plane, int loss);

static uint64_t column_emitted(const struct quanta_ledger *ledger, size_t plane, int loss) {
    (void)plane;
    (void)loss;
    return ledger->emitted;
}
static uint64_t column_off_map(const struct quanta_ledger *ledger, size_t plane, int loss) {
    (void)loss;
    return ledger->off_map[plane];
}
static uint64_t column_abandoned(const struct quanta_ledger *ledger, size_t plane, int loss) {
    (void)plane;
    (void)loss;
    return ledger->abandoned;
}
static uint64_t column_loss(const struct quanta_ledger *ledger, size_t plane, int loss) {
    (void)plane;
    return ledger->loss[loss];
}
static uint64_t column_absorbed(const struct quanta_ledger *ledger, size_t plane, int loss) {
    (void)plane;
    (void)loss;
    uint64_t sum = 0;
    for (int i = 0; i < LUXFALL_LOSS_COUNT; i++)
        sum += ledger->loss[i];
    return sum;
}

static uint64_t column_cover(const struct quanta_ledger *ledger, size_t plane, int cover) {
    (void)plane;
    return ledger->cover[cover];
}

static struct luxfall_estimate ledger_entry(const struct observations *seen, size_t plane, ledger_column *column,
                                            int loss, uint64_t *quanta) {
    double lm[LUXFALL_REPLICATES];
    uint64_t sum = 0;
    for (int r = 0; r < seen->replicates; r++) {
        uint64_t one = column(&seen->ledgers[r], plane, loss);
        lm[r] = (double)one * seen->lm_per_quantum;
        sum += one;
    }
    if (quanta)
        *quanta = sum;
    return estimate_mean(lm, 1, seen->replicates, 1);
}

/* What landed, from the map itself. */
static struct luxfall_estimate ledger_on_map(const struct observations *seen, size_t plane, uint64_t *quanta) {
    const struct fine_map *map = &seen->maps[plane];
    double lm[LUXFALL_REPLICATES];
    size_t cells = fine_map_cells(map);
    *quanta = 0;
    for (int r = 0; r < seen->replicates; r++) {
        uint64_t sum = 0;
        for (size_t i = 0; i < cells; i++)
            sum += map->quanta[r][i];
        lm[r] = (double)sum * seen->lm_per_quantum;
        *quanta += sum;
    }
    return estimate_mean(lm, 1, seen->replicates, 1);
}

static void ledger_by_rays(const struct observations *seen, size_t plane, struct luxfall_plane_result *result) {
    struct luxfall_ledger *out = &result->ledger;
    out->emitted_lm = ledger_entry(seen, plane, column_emitted, 0, &out->emitted_quanta);
    out->on_map_lm = ledger_on_map(seen, plane, &out->on_map_quanta);
    out->off_map_lm = ledger_entry(seen, plane, column_off_map, 0, &out->off_map_quanta);
    out->absorbed_lm = ledger_entry(seen, plane, column_absorbed, 0, &out->absorbed_quanta);
    out->abandoned_lm = ledger_entry(seen, plane, column_abandoned, 0, &out->abandoned_quanta);
    for (int loss = 0; loss < LUXFALL_LOSS_COUNT; loss++)
        out->loss_lm[loss] = ledger_entry(seen, plane, column_loss, loss, NULL);
    for (size_t i = 0; i < seen->stage->scene->cover_count; i++)
        result->cover_lm[i] = ledger_entry(seen, plane, column_cover, (int)i, NULL);
}

/* Every entry is found by itself; that they close is a check, not a rule. METHODS eq. (34). */
static void ledger_direct(const struct observations *seen, size_t plane, struct luxfall_plane_result *result) {
    struct luxfall_ledger *out = &result->ledger;
    const struct fine_map *map = &seen->maps[plane];
    const struct stage *stage = seen->stage;
    double emitted = 0, absorbed = 0, on_map = 0, cell_m2 = map->cell_mm * map->cell_mm * 1e-6;
    for (size_t l = 0; l < stage->lamp_count; l++) {
        emitted += stage->lamps[l].flux_lm;
        absorbed += stage->lamps[l].flux_lm * (1 - stage->bundles[stage->lamps[l].bundle].efficiency);
    }
    for (size_t i = 0; i < fine_map_cells(map); i++)
        on_map += map->direct_lx[i] * cell_m2;
    for (int loss = 0; loss < LUXFALL_LOSS_COUNT; loss++)
        out->loss_lm[loss] = (struct luxfall_estimate){0, NAN};
    for (size_t i = 0; i < stage->scene->cover_count; i++)
        result->cover_lm[i] = (struct luxfall_estimate){0, NAN};
    out->emitted_lm = (struct luxfall_estimate){emitted, NAN};
    out->on_map_lm = (struct luxfall_estimate){on_map, NAN};
    out->off_map_lm = (struct luxfall_estimate){seen->off_map_lm[plane], NAN};
    out->absorbed_lm = (struct luxfall_estimate){absorbed, NAN};
    out->abandoned_lm = (struct luxfall_estimate){0, NAN};
    out->loss_lm[LUXFALL_LOSS_DATASHEET] = out->absorbed_lm;
}

/* ---- planes and all ----------------------------------------------------------------------------------------------
 */

static void make_fields(const struct observations *seen, size_t plane, struct luxfall_field_result *out) {
    for (size_t f = 0; f < seen->field_count; f++) {
        const struct luxfall_field *field = &seen->stage->scene->fields[f];
        size_t index = plane * seen->field_count + f;
        struct field_data data = {seen->replicates, &seen->stage->grids[f], seen->readings_lx[index],
                                  seen->average_lx[index], seen->leaving_lm};
        out[f] = (struct luxfall_field_result){.width_mm = field->width_mm,
                                               .height_mm = field->height_mm,
                                               .centre_direct_lx = NAN,
                                               .centre_difference_in_u95 = NAN};
        field_statistics(&data, &out[f]);
    }
}

/* Map, peak, spots, ledger, sections. */
static bool make_map(const struct observations *seen, size_t plane, struct luxfall_plane_result *out) {
    size_t cells = (size_t)out->columns * (size_t)out->rows;
    struct plane_work work;
    out->e_lx = malloc(cells * sizeof *out->e_lx);
    out->e_u95_lx = seen->replicates > 1 ? malloc(cells * sizeof *out->e_u95_lx) : NULL;
    bool good = work_make(seen, plane, &work) && out->e_lx && (out->e_u95_lx || seen->replicates == 1);
    if (good) {
        fine_map_coarse(&seen->maps[plane], out->e_lx, out->e_u95_lx);
        peak_and_spots(&work, out);
        if (seen->replicates > 1)
            ledger_by_rays(seen, plane, out);
        else
            ledger_direct(seen, plane, out);
        good = make_section(&work, true, &out->along_x) && make_section(&work, false, &out->along_y);
    }
    work_free(&work);
    return good;
}

/* What only a map tells, when none was made. */
static void leave_map_out(size_t cover_count, struct luxfall_plane_result *out) {
    const struct luxfall_estimate none = {NAN, NAN};
    struct luxfall_ledger *ledger = &out->ledger;
    out->peak_lx = out->centre_lx = out->half_peak_diameter_mm = out->tenth_peak_diameter_mm = none;
    out->peak_x_mm = out->peak_y_mm = NAN;
    ledger->emitted_lm = ledger->on_map_lm = ledger->off_map_lm = ledger->absorbed_lm = ledger->abandoned_lm = none;
    for (int loss = 0; loss < LUXFALL_LOSS_COUNT; loss++)
        ledger->loss_lm[loss] = none;
    for (size_t i = 0; i < cover_count; i++)
        out->cover_lm[i] = none;
}

static bool make_plane(const struct observations *seen, size_t plane, struct luxfall_plane_result *out) {
    const struct luxfall_target *target = &seen->stage->scene->target;
    const size_t cover_count = seen->stage->scene->cover_count;
    out->level_mm = target->level_mm[plane];
    out->columns = target->columns;
    out->rows = target->rows;
    out->cell_mm = target->cell_mm;
    out->disc_mm = seen->stage->disc_mm;
    out->fields = calloc(seen->field_count + 1, sizeof *out->fields);
    out->cover_lm = calloc(cover_count + 1, sizeof *out->cover_lm);
    if (!out->fields || !out->cover_lm)
        return false;
    make_fields(seen, plane, out->fields);
    if (!seen->fields_only)
        return make_map(seen, plane, out);
    leave_map_out(cover_count, out);
    return true;
}

/* The scene is checked: every module is known at its current. */
static enum luxfall_status make_modules(const struct luxfall_scene *scene, struct luxfall_result *result,
                                        struct luxfall_error *error) {
    for (size_t m = 0; m < scene->module_count; m++) {
        struct luxfall_module_result *out = &result->modules[m];
        struct luxfall_operating_point point;
        enum luxfall_status status = luxfall_module_at(scene, m, &point, error);
        if (status != LUXFALL_OK)
            return status;
        luxfall_bracket(&scene->modules[m].pose, &out->bracket);
        out->flux_lm = point.flux_lm;
        out->current_a = point.current_a;
        out->voltage_v = point.voltage_v;
        out->power_w = point.power_w;
        out->junction_c = point.junction_c;
        result->power_w += point.power_w;
    }
    return LUXFALL_OK;
}

enum luxfall_status result_make(const struct observations *seen, struct luxfall_result **out,
                                struct luxfall_error *error) {
    const struct luxfall_scene *scene = seen->stage->scene;
    struct luxfall_result *result = calloc(1, sizeof *result);
    if (!result)
        return fail_memory(error);
    result->replicates = seen->replicates;
    result->plane_count = seen->plane_count;
    result->field_count = seen->field_count;
    result->module_count = scene->module_count;
    result->cover_count = scene->cover_count;
    result->planes = calloc(seen->plane_count, sizeof *result->planes);
    result->modules = calloc(scene->module_count, sizeof *result->modules);
    bool good = result->planes && result->modules;
    for (size_t p = 0; p < seen->plane_count && good; p++)
        good = make_plane(seen, p, &result->planes[p]);
    enum luxfall_status status = good ? make_modules(scene, result, error) : fail_memory(error);
    if (status != LUXFALL_OK) {
        luxfall_result_free(result);
        return status;
    }
    result->leaving_lm = estimate_mean(seen->leaving_lm, 1, seen->replicates, 1).value;
    *out = result;
    return LUXFALL_OK;
}

static void section_free(struct luxfall_section *section) {
    free(section->at_mm);
    free(section->lx);
    free(section->u95_lx);
}

void luxfall_result_free(struct luxfall_result *result) {
    if (!result)
        return;
    for (size_t p = 0; p < result->plane_count && result->planes; p++) {
        struct luxfall_plane_result *plane = &result->planes[p];
        free(plane->e_lx);
        free(plane->e_u95_lx);
        free(plane->fields);
        free(plane->cover_lm);
        section_free(&plane->along_x);
        section_free(&plane->along_y);
    }
    free(result->planes);
    free(result->modules);
    free(result);
}
