/* A sweep as pictures: curves over one number, or a heat map of each statistic over two. */
#include "sweep_files.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

/* ---- numbers in the order that figures take -------------------------------------------------------------------- */

static double in_unit(const struct quantity *quantity, double value) {
    return value / quantity->statistic->unit_size;
}

/* Values of a quantity at every point, and behind them their bands. */
static double *values_of(const struct sweep *sweep, size_t quantity) {
    size_t count = sweep->point_count;
    double *values = calloc(2 * count, sizeof *values);
    for (size_t i = 0; values && i < count; i++) {
        struct luxfall_estimate value = sweep->points[i].values[quantity];
        values[i] = in_unit(&sweep->quantities[quantity], value.value);
        values[count + i] = in_unit(&sweep->quantities[quantity], value.u95);
    }
    return values;
}

static double want_of(const struct sweep *sweep, const struct statistic *statistic) {
    for (size_t i = 0; i < sweep->want_count; i++)
        if (sweep->wants[i].want.statistic == statistic)
            return sweep->wants[i].want.limit / statistic->unit_size;
    return NAN;
}

static void put_method(FILE *out, const struct sweep *sweep) {
    const struct luxfall_result *result = sweep->shown.result;
    char rays[FORMAT_SIZE];
    fprintf(out, "%zu point%s, ", sweep->point_count, sweep->point_count == 1 ? "" : "s");
    if (result->method == LUXFALL_DIRECT)
        fputs("direct integral over the lens faces", out);
    else {
        format_rays(rays, result->rays_traced);
        fprintf(out, "by rays, %s there, seed %llu; bands of 95\u00a0%%", rays, (unsigned long long)result->seed);
    }
    fprintf(out, "; level %g mm, luxfall " LUXFALL_VERSION ".", sweep_level_mm(&sweep->shown.scene->light.target));
}

/* What was traced, told of the brightest point; the caller frees. */
static char *caption_text(const struct sweep *sweep) {
    char *text = NULL, *lamp = figure_lamp_text(sweep->shown.scene, sweep->shown.result), at[POINT_TEXT];
    size_t size = 0;
    FILE *out = lamp ? open_memstream(&text, &size) : NULL;
    if (out) {
        sweep_point_text(sweep, sweep->shown_point->number, at);
        fprintf(out, "At %s: %s", at, lamp);
        put_method(out, sweep);
        bool lost = ferror(out) != 0;
        if (fclose(out) != 0 || lost) {
            free(text);
            text = NULL;
        }
    }
    free(lamp);
    return text;
}

/* ---- curves ---------------------------------------------------------------------------------------------------- */

/* Everything that a figure_sweep points to. */
struct curves {
    struct figure_sweep figure;
    char *caption;
    double *x, *x2, *values[QUANTITIES_MAX];
    struct figure_panel panels[QUANTITIES_MAX];
    struct figure_series series[QUANTITIES_MAX];
    struct figure_mark marks[WANTS_MAX * CROSSINGS_MAX + 3];
    char best[WISH_SIZE + 8];
};

static void release_curves(struct curves *curves) {
    for (size_t i = 0; i < QUANTITIES_MAX; i++)
        free(curves->values[i]);
    free(curves->caption);
    free(curves->x);
    free(curves);
}

/* Watts become the axis along the top where they are known and rise with what is varied. */
static bool watts_are_an_axis(const struct sweep *sweep) {
    if (sweep->watts == NO_QUANTITY)
        return false;
    for (size_t i = 0; i < sweep->point_count; i++) {
        double value = sweep->points[i].values[sweep->watts].value;
        if (isnan(value) || (i > 0 && !(value > sweep->points[i - 1].values[sweep->watts].value)))
            return false;
    }
    return true;
}

/* A panel for every statistic, in it a curve for every field. */
static bool fill_panels(const struct sweep *sweep, struct curves *curves, bool watts_apart) {
    size_t series = 0;
    for (size_t i = 0; i < sweep->quantity_count; i++) {
        const struct statistic *statistic = sweep->quantities[i].statistic;
        bool drawn = watts_apart && i == sweep->watts;
        for (size_t j = 0; j < i; j++)
            drawn |= sweep->quantities[j].statistic == statistic;
        if (drawn)
            continue;
        struct figure_panel *panel = &curves->panels[curves->figure.panel_count++];
        *panel = (struct figure_panel){.label = statistic->label,
                                       .unit = statistic->unit,
                                       .series = &curves->series[series],
                                       .want = want_of(sweep, statistic)};
        for (size_t j = i; j < sweep->quantity_count; j++) {
            const struct quantity *quantity = &sweep->quantities[j];
            if (quantity->statistic != statistic)
                continue;
            if (!(curves->values[j] = values_of(sweep, j)))
                return false;
            bool by_rays = sweep->tracing.options.method == LUXFALL_RAYS;
            curves->series[series++] =
                (struct figure_series){.label = quantity->field ? quantity->field : statistic->label,
                                       .value = curves->values[j],
                                       .u95 = by_rays ? curves->values[j] + sweep->point_count : NULL};
            panel->series_count++;
        }
    }
    return true;
}

/* NULL: none. */
static const struct sweep_point *first_over_limit(const struct sweep *sweep) {
    for (size_t i = 0; i < sweep->point_count; i++)
        if (sweep->points[i].over_limit)
            return &sweep->points[i];
    return NULL;
}

static void fill_marks(const struct sweep *sweep, struct curves *curves) {
    char at[WISH_SIZE];
    for (size_t i = 0; i < sweep->want_count; i++)
        for (size_t j = 0; j < sweep->wants[i].crossing_count; j++) {
            double number = sweep->wants[i].crossings[j].point.number[0];
            if (!sweep->best_found || number != sweep->best.number[0])
                curves->marks[curves->figure.mark_count++] = (struct figure_mark){number, sweep->wants[i].text};
        }
    const struct sweep_point *most = sweep_most_per_watt(sweep);
    if (most && (!sweep->best_found || most->number[0] != sweep->best.number[0]))
        curves->marks[curves->figure.mark_count++] = (struct figure_mark){most->number[0], "most lux per watt"};
    const struct sweep_point *over = first_over_limit(sweep);
    if (over)
        curves->marks[curves->figure.mark_count++] = (struct figure_mark){over->number[0], "above the current limit"};
    if (!sweep->best_found)
        return;
    vary_text(&sweep->varied[0], sweep->best.number[0], at);
    snprintf(curves->best, sizeof curves->best, "best: %s", at);
    curves->marks[curves->figure.mark_count++] = (struct figure_mark){sweep->best.number[0], curves->best};
}

static bool fill_curves(const struct sweep *sweep, struct curves *curves) {
    bool watts = watts_are_an_axis(sweep);
    curves->x = calloc(2 * sweep->point_count, sizeof *curves->x);
    curves->caption = caption_text(sweep);
    if (!curves->x || !curves->caption)
        return false;
    curves->x2 = curves->x + sweep->point_count;
    for (size_t i = 0; i < sweep->point_count; i++) {
        curves->x[i] = sweep->points[i].number[0];
        curves->x2[i] = watts ? sweep->points[i].values[sweep->watts].value : NAN;
    }
    curves->figure = (struct figure_sweep){.title = sweep->base.scene->title,
                                           .caption = curves->caption,
                                           .x_label = sweep->varied[0].path,
                                           .x_unit = sweep->varied[0].unit,
                                           .count = sweep->point_count,
                                           .x = curves->x,
                                           .panels = curves->panels,
                                           .marks = curves->marks};
    if (watts) {
        curves->figure.x2 = curves->x2;
        curves->figure.x2_label = sweep->quantities[sweep->watts].statistic->label;
        curves->figure.x2_unit = sweep->quantities[sweep->watts].statistic->unit;
    }
    fill_marks(sweep, curves);
    return fill_panels(sweep, curves, watts);
}

int sweep_write_curves(const struct sweep *sweep, const char *path, struct figure_error *error) {
    struct curves *curves = calloc(1, sizeof *curves);
    if (!curves)
        return figure_fail(error, EXIT_MACHINE, "%s could not be written: out of memory", path);
    int status = fill_curves(sweep, curves)
                     ? figure_sweep(path, &curves->figure, &sweep->tracing.style, error)
                     : figure_fail(error, EXIT_MACHINE, "%s could not be written: out of memory", path);
    release_curves(curves);
    return status;
}

/* ---- heat maps ------------------------------------------------------------------------------------------------- */

int sweep_write_heat(const struct sweep *sweep, size_t quantity, const char *path, struct figure_error *error) {
    const struct statistic *statistic = sweep->quantities[quantity].statistic;
    size_t columns = sweep->varied[0].steps, rows = sweep->varied[1].steps;
    double *values = values_of(sweep, quantity), *axes = calloc(columns + rows, sizeof *axes);
    char *caption = caption_text(sweep), label[TEXT_CELL];
    quantity_text(&sweep->quantities[quantity], label);
    int status;
    if (values && axes && caption) {
        for (size_t i = 0; i < columns; i++)
            axes[i] = sweep->points[i].number[0];
        for (size_t i = 0; i < rows; i++)
            axes[columns + i] = sweep->points[i * columns].number[1];
        const struct figure_heat heat = {.title = sweep->base.scene->title,
                                         .caption = caption,
                                         .x_label = sweep->varied[0].path,
                                         .x_unit = sweep->varied[0].unit,
                                         .y_label = sweep->varied[1].path,
                                         .y_unit = sweep->varied[1].unit,
                                         .value_label = label,
                                         .value_unit = statistic->unit,
                                         .columns = columns,
                                         .rows = rows,
                                         .x = axes,
                                         .y = axes + columns,
                                         .value = values,
                                         .want = want_of(sweep, statistic),
                                         .best_x = sweep->best_found ? sweep->best.number[0] : NAN,
                                         .best_y = sweep->best_found ? sweep->best.number[1] : NAN};
        status = figure_heat(path, &heat, &sweep->tracing.style, error);
    } else
        status = figure_fail(error, EXIT_MACHINE, "%s could not be written: out of memory", path);
    free(values);
    free(axes);
    free(caption);
    return status;
}
