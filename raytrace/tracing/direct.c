/* Everything the direct way: the same observations as by rays, with one replicate and no noise. */
#include "fail.h"
#include "numbers/vec.h"
#include "tracing/direct_way.h"

#include <stdlib.h>

/* ---- map ---------------------------------------------------------------------------------------------------------
 */

/* Means over cells from values at their centres and those of their neighbours: E + (cell^2 / 24) laplacian, eq. (12).
 */
static void cell_means(const double *centre, int columns, int rows, double *out) {
    size_t stride = (size_t)columns + 2;
    for (int j = 0; j < rows; j++) {
        for (int i = 0; i < columns; i++) {
            const double *e = centre + ((size_t)j + 1) * stride + (size_t)i + 1;
            out[(size_t)j * (size_t)columns + (size_t)i] =
                *e + (e[1] + e[-1] + e[stride] + *(e - stride) - 4 * *e) / 24;
        }
    }
}

static double *direct_map(const struct direct_way *way, const struct fine_map *map, double level_mm) {
    size_t stride = (size_t)map->columns + 2, count = stride * ((size_t)map->rows + 2);
    double *x = malloc(count * sizeof *x), *y = malloc(count * sizeof *y), *lx = malloc(count * sizeof *lx);
    double *out = malloc(fine_map_cells(map) * sizeof *out);
    if (x && y && lx && out) {
        for (size_t i = 0; i < count; i++) {
            x[i] = ((double)(i % stride) - 0.5 - map->columns / 2.0) * map->cell_mm;
            y[i] = ((double)(i / stride) - 0.5 - map->rows / 2.0) * map->cell_mm;
        }
        light_on_places(way, DIRECT_MAP, (int)count, x, y, level_mm, lx);
        cell_means(lx, map->columns, map->rows, out);
    } else {
        free(out);
        out = NULL;
    }
    free(x);
    free(y);
    free(lx);
    return out;
}

/* ---- readings ----------------------------------------------------------------------------------------------------
 */

/* Means over discs about many places at once. */
static bool discs_lx(const struct direct_way *way, const struct rule *disc, int count, const double *x_mm,
                     const double *y_mm, double level_mm, double *out_lx) {
    size_t total = (size_t)count * (size_t)disc->count;
    double *x = malloc(total * sizeof *x), *y = malloc(total * sizeof *y), *lx = malloc(total * sizeof *lx);
    bool good = x && y && lx;
    for (size_t i = 0; i < total && good; i++) {
        x[i] = x_mm[i / (size_t)disc->count] + disc->x[i % (size_t)disc->count];
        y[i] = y_mm[i / (size_t)disc->count] + disc->y[i % (size_t)disc->count];
    }
    if (good)
        light_on_places(way, DIRECT_READING, (int)total, x, y, level_mm, lx);
    for (int k = 0; k < count && good; k++) {
        out_lx[k] = 0;
        for (int i = 0; i < disc->count; i++)
            out_lx[k] += disc->w[i] * lx[(size_t)k * (size_t)disc->count + (size_t)i];
    }
    free(x);
    free(y);
    free(lx);
    return good;
}

/* Orders are chosen at the middle and at a corner, whichever asks for more. */
static int field_order(struct direct_way *way, const struct luxfall_field *field, bool round, double width_mm,
                       double height_mm, double level_mm, bool corner_too) {
    double scale_lx = direct_reading_lx(way, field->x_mm, field->y_mm, level_mm, 0);
    int order = patch_order(way, round, width_mm, height_mm, field->x_mm, field->y_mm, level_mm, scale_lx);
    if (!corner_too)
        return order;
    int corner = patch_order(way, round, width_mm, height_mm, field->x_mm + field->width_mm / 2,
                             field->y_mm + (field->round ? 0 : field->height_mm / 2), level_mm, scale_lx);
    return corner > order ? corner : order;
}

static bool read_field(struct direct_way *way, struct observations *seen, size_t plane, size_t f) {
    enum { DISC_ORDER_LIMIT = 6 };
    const struct luxfall_field *field = &way->stage->scene->fields[f];
    const struct reading_grid *grid = &way->stage->grids[f];
    double level_mm = way->stage->scene->target.level_mm[plane], x[READINGS_MAX], y[READINGS_MAX];
    size_t index = plane * seen->field_count + f;
    struct rule disc, whole;
    int order = field_order(way, field, true, grid->reading_mm, grid->reading_mm, level_mm, true);
    for (int k = 0; k < grid->count; k++) {
        x[k] = field->x_mm + grid->x_mm[k];
        y[k] = field->y_mm + grid->y_mm[k];
    }
    if (!rule_make(true, order < DISC_ORDER_LIMIT ? order : DISC_ORDER_LIMIT, grid->reading_mm, grid->reading_mm,
                   &disc))
        return false;
    bool good = discs_lx(way, &disc, grid->count, x, y, level_mm, seen->readings_lx[index]);
    rule_free(&disc);
    order = field_order(way, field, field->round, field->width_mm, field->height_mm, level_mm, false);
    if (!good || !rule_make(field->round, order, field->width_mm, field->height_mm, &whole))
        return false;
    *seen->average_lx[index] = patch_mean_lx(way, &whole, field->x_mm, field->y_mm, level_mm);
    rule_free(&whole);
    return true;
}

/* ---- the reader of peak, centre and sections ----------------------------------------------------------------------
 */

struct disc_reader {
    const struct direct_way *way;
    struct rule disc;
};

static void read_discs(const void *reader, int replicate, size_t plane, int count, const double *x_mm,
                       const double *y_mm, double *out_lx) {
    const struct disc_reader *discs = reader;
    double level_mm = discs->way->stage->scene->target.level_mm[plane];
    (void)replicate;
    if (!discs_lx(discs->way, &discs->disc, count, x_mm, y_mm, level_mm, out_lx))
        for (int k = 0; k < count; k++)
            out_lx[k] = NAN;
}

/* ---- all of it ---------------------------------------------------------------------------------------------------
 */

static bool goes_on(const struct luxfall_options *options, uint64_t done, uint64_t planned) {
    struct luxfall_progress now = {false, done, planned, NAN};
    return !options->progress || options->progress(options->user, &now);
}

static enum luxfall_status observe(struct direct_way *way, const struct luxfall_options *options,
                                   struct observations *seen, double **maps, struct luxfall_error *error) {
    const struct luxfall_target *target = &way->stage->scene->target;
    for (size_t l = 0; l < way->stage->lamp_count; l++)
        *seen->leaving_lm +=
            way->stage->lamps[l].flux_lm * way->stage->bundles[way->stage->lamps[l].bundle].efficiency;
    for (size_t p = 0; p < seen->plane_count; p++) {
        if (!goes_on(options, p, seen->plane_count))
            return fail(error, LUXFALL_E_STOPPED, 0, "stopped");
        maps[p] = direct_map(way, &seen->maps[p], target->level_mm[p]);
        seen->maps[p].direct_lx = maps[p];
        seen->off_map_lm[p] = off_map_lm(way, p);
        bool good = maps[p] && !isnan(seen->off_map_lm[p]);
        for (size_t f = 0; f < seen->field_count && good; f++)
            good = read_field(way, seen, p, f);
        if (!good)
            return fail_memory(error);
    }
    return LUXFALL_OK;
}

static enum luxfall_status finish(struct direct_way *way, struct observations *seen,
                                  const struct luxfall_options *options, struct luxfall_result **out,
                                  struct luxfall_error *error) {
    enum { DISC_ORDER = 3 };
    struct disc_reader reader = {.way = way};
    if (!rule_make(true, DISC_ORDER, way->stage->disc_mm, way->stage->disc_mm, &reader.disc))
        return fail_memory(error);
    seen->discs_lx = read_discs;
    seen->reader = &reader;
    enum luxfall_status status = result_make(seen, out, error);
    rule_free(&reader.disc);
    if (status != LUXFALL_OK)
        return status;
    (*out)->method = LUXFALL_DIRECT;
    (*out)->seed = options->seed;
    (*out)->quadrature_error = way->error;
    (*out)->accuracy_reached = true;
    (*out)->accuracy_wanted = options->accuracy;
    return LUXFALL_OK;
}

enum luxfall_status trace_direct(const struct stage *stage, const struct luxfall_options *options,
                                 struct luxfall_result **out, struct luxfall_error *error) {
    struct observations seen = {0};
    if (!stage->known_by_angle)
        return fail(error, LUXFALL_E_METHOD, 0, "the direct way knows light by angle alone, not a traced lens");
    struct direct_way *way = direct_way_make(stage, options->threads);
    double **maps = calloc(stage->scene->target.level_count, sizeof *maps);
    bool good = way && maps && observations_make(stage, 1, &seen);
    enum luxfall_status status = good ? observe(way, options, &seen, maps, error) : fail_memory(error);
    if (status == LUXFALL_OK)
        status = finish(way, &seen, options, out, error);
    for (size_t p = 0; maps && p < stage->scene->target.level_count; p++)
        free(maps[p]);
    free(maps);
    observations_free(&seen);
    direct_way_free(way);
    return status;
}
