/* Everything the direct way: the same observations as by rays, with one replicate and no noise. */
#include "fail.h"
#include "numbers/adaptive.h"
#include "numbers/sheet.h"
#include "numbers/vec.h"
#include "tracing/direct_way.h"

#include <stdlib.h>

/* ---- one plane ---------------------------------------------------------------------------------------------------
 */

/* The light of a plane as sheets: the faces are integrated at some hundreds or thousands of places, all else reads
 * the sheets. */
struct plane_light {
    struct direct_way *way;
    double level_mm;
    struct sheet *sheet;  /* over the map and a little more; NULL: nobody has asked for it */
    struct sheet *fields; /* over all fields, where they are a small part of the map; else NULL */
    struct rule disc;     /* over which peak, centre and sections are read */
};

static void light_for_sheet(const void *data, int count, const double *x_mm, const double *y_mm, double *out_lx) {
    const struct plane_light *light = data;
    light_on_places(light->way, count, x_mm, y_mm, light->level_mm, out_lx);
}

static struct sheet *sheet_of(const struct plane_light *light, double x_mm, double y_mm, double half_width_mm,
                              double half_height_mm) {
    struct sheet *sheet = sheet_make(light_for_sheet, light, x_mm - half_width_mm, x_mm + half_width_mm,
                                     y_mm - half_height_mm, y_mm + half_height_mm, light->way->tolerance);
    if (sheet)
        light->way->error = fmax(light->way->error, sheet_error(sheet));
    return sheet;
}

static bool make_map_sheet(struct plane_light *light) {
    const struct luxfall_target *target = &light->way->stage->scene->target;
    double margin_mm = fmax(2 * target->cell_mm, light->way->stage->disc_mm);
    if (!light->sheet)
        light->sheet = sheet_of(light, 0, 0, target->columns * target->cell_mm / 2 + margin_mm,
                                target->rows * target->cell_mm / 2 + margin_mm);
    return light->sheet != NULL;
}

/* Fields of a camera lie together in the middle: one small sheet serves them all. */
static bool make_fields_sheet(struct plane_light *light) {
    const double SMALL = 0.5;
    const struct stage *stage = light->way->stage;
    const struct luxfall_target *target = &stage->scene->target;
    double left = INFINITY, right = -INFINITY, low = INFINITY, high = -INFINITY;
    for (size_t f = 0; f < stage->scene->field_count; f++) {
        const struct luxfall_field *field = &stage->scene->fields[f];
        double reach_x = (field->width_mm + stage->grids[f].reading_mm) / 2;
        double reach_y = (field->height_mm + stage->grids[f].reading_mm) / 2;
        left = fmin(left, field->x_mm - reach_x);
        right = fmax(right, field->x_mm + reach_x);
        low = fmin(low, field->y_mm - reach_y);
        high = fmax(high, field->y_mm + reach_y);
    }
    double map_mm2 = target->columns * target->cell_mm * target->rows * target->cell_mm;
    if (!(right > left) || (right - left) * (high - low) > SMALL * map_mm2)
        return true;
    light->fields = sheet_of(light, (left + right) / 2, (low + high) / 2, (right - left) / 2, (high - low) / 2);
    return light->fields != NULL;
}

static bool plane_light_make(struct direct_way *way, double level_mm, bool fields_only, struct plane_light *out) {
    enum { DISC_ORDER = 4 };
    *out = (struct plane_light){.way = way, .level_mm = level_mm};
    return make_fields_sheet(out) && (fields_only || make_map_sheet(out)) &&
           rule_make(true, DISC_ORDER, way->stage->disc_mm, way->stage->disc_mm, &out->disc);
}

static void plane_light_free(struct plane_light *light) {
    sheet_free(light->sheet);
    sheet_free(light->fields);
    rule_free(&light->disc);
}

static double mean_over(const struct sheet *sheet, const struct rule *rule, double x_mm, double y_mm) {
    double mean = 0;
    for (int i = 0; i < rule->count; i++)
        mean += rule->w[i] * sheet_at(sheet, x_mm + rule->x[i], y_mm + rule->y[i]);
    return mean;
}

/* Means over cells: E + (cell^2 / 24) laplacian, from neighbours, METHODS eq. (12). Light is never negative, however
 * the polynomials ripple by their tolerance. */
static double *direct_map(const struct plane_light *light, const struct fine_map *map) {
    size_t stride = (size_t)map->columns + 2, count = stride * ((size_t)map->rows + 2);
    double *lx = malloc(count * sizeof *lx), *out = malloc(fine_map_cells(map) * sizeof *out);
    for (size_t i = 0; i < count && lx; i++)
        lx[i] = sheet_at(light->sheet, ((double)(i % stride) - 0.5 - map->columns / 2.0) * map->cell_mm,
                         ((double)(i / stride) - 0.5 - map->rows / 2.0) * map->cell_mm);
    for (size_t i = 0; i < fine_map_cells(map) && lx && out; i++) {
        const double *e = lx + (i / (size_t)map->columns + 1) * stride + i % (size_t)map->columns + 1;
        out[i] = fmax(*e + (e[1] + e[-1] + e[stride] + *(e - stride) - 4 * *e) / 24, 0);
    }
    if (!lx) {
        free(out);
        out = NULL;
    }
    free(lx);
    return out;
}

/* ---- readings ----------------------------------------------------------------------------------------------------
 */

/* Smallest order of a rule over a reading that no longer changes at the middle and at a corner of the field. */
static int reading_order(struct direct_way *way, const struct sheet *sheet, const struct luxfall_field *field,
                         double reading_mm) {
    static const int orders[] = {2, 3, 4, 6, 8, 12};
    enum { COUNT = sizeof orders / sizeof *orders };
    double corner_x_mm = field->x_mm + field->width_mm / 2;
    double corner_y_mm = field->y_mm + (field->round ? 0 : field->height_mm / 2);
    double middle = 0, corner = 0, difference = 0;
    for (int i = 0; i < COUNT; i++) {
        struct rule disc;
        double middle_before = middle, corner_before = corner;
        if (!rule_make(true, orders[i], reading_mm, reading_mm, &disc))
            break;
        middle = mean_over(sheet, &disc, field->x_mm, field->y_mm);
        corner = mean_over(sheet, &disc, corner_x_mm, corner_y_mm);
        rule_free(&disc);
        double away = fmax(fabs(middle - middle_before), fabs(corner - corner_before));
        difference = away > 0 ? away / fmax(fabs(middle), fabs(corner)) : 0;
        if (i > 0 && difference <= way->tolerance)
            return orders[i - 1];
    }
    way->error = fmax(way->error, difference);
    return orders[COUNT - 1];
}

struct field_sheet {
    const struct sheet *sheet;
    double x_mm, y_mm;
};

static double light_in_field(const void *data, double x_mm, double y_mm) {
    const struct field_sheet *field = data;
    return sheet_at(field->sheet, field->x_mm + x_mm, field->y_mm + y_mm);
}

static bool read_field(struct plane_light *light, struct observations *seen, size_t plane, size_t f) {
    const struct luxfall_field *field = &light->way->stage->scene->fields[f];
    const struct reading_grid *grid = &light->way->stage->grids[f];
    size_t index = plane * seen->field_count + f;
    double half_width = (field->width_mm + grid->reading_mm) / 2, x = field->x_mm, y = field->y_mm;
    double half_height = (field->height_mm + grid->reading_mm) / 2;
    const struct sheet *sheet = light->fields;
    if (!sheet && make_map_sheet(light) &&
        sheet_covers(light->sheet, x - half_width, x + half_width, y - half_height, y + half_height))
        sheet = light->sheet;
    struct sheet *own = sheet ? NULL : sheet_of(light, x, y, half_width, half_height);
    sheet = own ? own : sheet;
    struct rule disc = {0};
    bool good = sheet && rule_make(true, reading_order(light->way, sheet, field, grid->reading_mm), grid->reading_mm,
                                   grid->reading_mm, &disc);
    for (int k = 0; k < grid->count && good; k++)
        seen->readings_lx[index][k] = fmax(mean_over(sheet, &disc, x + grid->x_mm[k], y + grid->y_mm[k]), 0);
    if (good)
        *seen->average_lx[index] = adaptive_mean(field->round, field->width_mm, field->height_mm, light_in_field,
                                                 &(struct field_sheet){sheet, x, y}, light->way->tolerance, 0);
    rule_free(&disc);
    sheet_free(own);
    return good;
}

static void read_discs(const void *reader, int replicate, size_t plane, int count, const double *x_mm,
                       const double *y_mm, double *out_lx) {
    const struct plane_light *light = (const struct plane_light *)reader + plane;
    (void)replicate;
    for (int k = 0; k < count; k++)
        out_lx[k] = mean_over(light->sheet, &light->disc, x_mm[k], y_mm[k]);
}

/* ---- all of it ---------------------------------------------------------------------------------------------------
 */

static bool goes_on(const struct luxfall_options *options, uint64_t done, uint64_t planned) {
    struct luxfall_progress now = {false, done, planned, NAN};
    return !options->progress || options->progress(options->user, &now);
}

static bool observe_plane(struct direct_way *way, size_t plane, struct observations *seen, double **map,
                          struct plane_light *light) {
    double level_mm = way->stage->scene->target.level_mm[plane];
    if (!plane_light_make(way, level_mm, seen->fields_only, light))
        return false;
    if (!seen->fields_only) {
        *map = direct_map(light, &seen->maps[plane]);
        seen->maps[plane].direct_lx = *map;
        seen->off_map_lm[plane] = off_map_lm(way, plane);
    }
    bool good = seen->fields_only || (*map && !isnan(seen->off_map_lm[plane]));
    for (size_t f = 0; f < seen->field_count && good; f++)
        good = read_field(light, seen, plane, f);
    return good;
}

static enum luxfall_status observe(struct direct_way *way, const struct luxfall_options *options,
                                   struct observations *seen, double **maps, struct plane_light *lights,
                                   struct luxfall_error *error) {
    for (size_t l = 0; l < way->stage->lamp_count; l++)
        *seen->leaving_lm +=
            way->stage->lamps[l].flux_lm * way->stage->bundles[way->stage->lamps[l].bundle].efficiency;
    for (size_t p = 0; p < seen->plane_count; p++) {
        if (!goes_on(options, p, seen->plane_count))
            return fail(error, LUXFALL_E_STOPPED, 0, "stopped");
        if (!observe_plane(way, p, seen, &maps[p], &lights[p]))
            return fail_memory(error);
    }
    seen->discs_lx = read_discs;
    seen->reader = lights;
    return LUXFALL_OK;
}

/* What the ledger fails to close by, over what was emitted: each entry is an integral of its own. */
static double ledger_gap(const struct luxfall_result *result) {
    double gap = 0;
    for (size_t p = 0; p < result->plane_count; p++) {
        const struct luxfall_ledger *ledger = &result->planes[p].ledger;
        double sum_lm = ledger->on_map_lm.value + ledger->off_map_lm.value + ledger->absorbed_lm.value;
        if (ledger->emitted_lm.value > 0)
            gap = fmax(gap, fabs(sum_lm / ledger->emitted_lm.value - 1));
    }
    return gap;
}

enum luxfall_status trace_direct(const struct stage *stage, const struct luxfall_options *options,
                                 struct luxfall_result **out, struct luxfall_error *error) {
    struct observations seen = {0};
    if (!stage->known_by_angle)
        return fail(error, LUXFALL_E_METHOD, 0,
                    "the direct way knows light by angle alone, not a traced lens, a cover or a package");
    size_t planes = stage->scene->target.level_count;
    struct direct_way *way = direct_way_make(stage, options->threads);
    double **maps = calloc(planes, sizeof *maps);
    struct plane_light *lights = calloc(planes, sizeof *lights);
    bool good = way && maps && lights && observations_make(stage, 1, &seen);
    seen.fields_only = options->fields_only;
    enum luxfall_status status = good ? observe(way, options, &seen, maps, lights, error) : fail_memory(error);
    if (status == LUXFALL_OK)
        status = result_make(&seen, out, error);
    if (status == LUXFALL_OK) {
        (*out)->method = LUXFALL_DIRECT;
        (*out)->seed = options->seed;
        (*out)->quadrature_error = fmax(way->error, ledger_gap(*out));
        (*out)->accuracy_reached = true;
        (*out)->accuracy_wanted = options->accuracy;
    }
    for (size_t p = 0; p < planes; p++) {
        if (maps)
            free(maps[p]);
        if (lights)
            plane_light_free(&lights[p]);
    }
    free(maps);
    free(lights);
    observations_free(&seen);
    direct_way_free(way);
    return status;
}
