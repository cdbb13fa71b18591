#include "measured.h"

#include "report.h"
#include "text.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

/* ---- holding against the forecast ------------------------------------------------------------------------------ */

/* What the library takes, side by side. */
struct columns {
    struct luxfall_reading *taken;
    double *forecast, *lx, *u;
};

static bool columns_make(size_t count, struct columns *out) {
    out->taken = calloc(count, sizeof *out->taken);
    out->forecast = calloc(3 * count, sizeof *out->forecast);
    if (out->forecast) {
        out->lx = out->forecast + count;
        out->u = out->lx + count;
    }
    return out->taken && out->forecast;
}

static void columns_free(struct columns *columns) {
    free(columns->taken);
    free(columns->forecast);
}

static void find_residuals(struct measured *measured) {
    double squares = 0, most = -1;
    size_t count = 0;
    for (size_t i = 0; i < measured->scene->reading_count; i++) {
        double residual = measured_residual(measured, i);
        if (!isfinite(residual))
            continue;
        squares += residual * residual;
        count++;
        if (fabs(residual) > most) {
            most = fabs(residual);
            measured->furthest = i;
        }
    }
    measured->residual = count > 1 ? sqrt(squares / (double)(count - 1)) : NAN;
}

/* Some reading lies where a meter would show something; the far tail of a bell is no light. */
static bool some_light(size_t count, const double *forecast_lx) {
    static const double LEAST_LX = 1e-3;
    for (size_t i = 0; i < count; i++)
        if (forecast_lx[i] >= LEAST_LX)
            return true;
    return false;
}

static enum luxfall_status refuse_dark(struct luxfall_error *error) {
    *error = (struct luxfall_error){LUXFALL_E_VALUE, 0, "no light is forecast where the readings were taken"};
    return error->status;
}

static enum luxfall_status hold(struct measured *measured, struct columns *columns,
                                const struct luxfall_options *options, struct luxfall_error *error) {
    const struct scene *scene = measured->scene;
    size_t count = scene->reading_count;
    bool weighted = !isnan(scene->readings[0].u_lx);
    for (size_t i = 0; i < count; i++) {
        columns->taken[i] = scene->readings[i].taken;
        columns->lx[i] = scene->readings[i].lx;
        columns->u[i] = scene->readings[i].u_lx;
    }
    const double *u = weighted ? columns->u : NULL;
    enum luxfall_status status =
        luxfall_forecast_readings(&scene->light, count, columns->taken, options, measured->forecast, error);
    for (size_t i = 0; i < count; i++)
        columns->forecast[i] = measured->forecast[i].value;
    if (status == LUXFALL_OK && !some_light(count, columns->forecast))
        status = refuse_dark(error);
    if (status == LUXFALL_OK)
        status = luxfall_scale_fit(count, columns->forecast, columns->lx, u, &measured->fit, error);
    if (status == LUXFALL_OK)
        status = luxfall_judge_readings(&scene->light, count, columns->taken, columns->forecast, columns->lx, u,
                                        options, &measured->judgement, error);
    return status;
}

enum luxfall_status measured_make(const struct scene *scene, const struct luxfall_options *options,
                                  struct measured *out, struct luxfall_error *error) {
    struct columns columns = {0};
    *out = (struct measured){.scene = scene};
    out->forecast = calloc(scene->reading_count, sizeof *out->forecast);
    enum luxfall_status status = LUXFALL_E_MEMORY;
    if (out->forecast && columns_make(scene->reading_count, &columns))
        status = hold(out, &columns, options, error);
    columns_free(&columns);
    if (status != LUXFALL_OK)
        return status;
    find_residuals(out);
    verdict_write(out, out->verdict);
    return LUXFALL_OK;
}

void measured_release(struct measured *measured) {
    free(measured->forecast);
    *measured = (struct measured){0};
}

/* ---- the table ------------------------------------------------------------------------------------------------- */

enum heading { PLACE, LEVEL, LIT, CURRENT, READ, FORECAST, RATIO, RESIDUAL, NOTE, HEADINGS };
static const char *const headings[HEADINGS] = {"place",    "level",         "lit",    "current", "read",
                                               "forecast", "read/forecast", "scaled", "note"};

/* A column that would say the same in every row is left out. */
static bool is_told(const struct scene *scene, enum heading heading) {
    for (size_t i = 0; i < scene->reading_count; i++) {
        const struct scene_reading *reading = &scene->readings[i];
        if ((heading == LEVEL && reading->taken.level_mm != scene->light.target.level_mm[0]) ||
            (heading == LIT && (reading->module || reading->dark)) ||
            (heading == CURRENT && !isnan(reading->current_a)) || (heading == NOTE && reading->note))
            return true;
    }
    return heading != LEVEL && heading != LIT && heading != CURRENT && heading != NOTE;
}

static void place_text(char out[TEXT_CELL], const struct scene_reading *reading) {
    snprintf(out, TEXT_CELL, "(%.6g, %.6g) mm", reading->taken.x_mm, reading->taken.y_mm);
}

static void percent_text(char out[TEXT_CELL], double part) {
    if (isfinite(part))
        snprintf(out, TEXT_CELL, "%+.1f %%", 100 * part);
    else
        snprintf(out, TEXT_CELL, "-");
}

static void fill_cell(const struct measured *measured, size_t i, enum heading heading, char text[TEXT_CELL]) {
    const struct scene_reading *reading = &measured->scene->readings[i];
    text[0] = '\0';
    switch (heading) {
    case PLACE:
        place_text(text, reading);
        break;
    case LEVEL:
        snprintf(text, TEXT_CELL, "%.6g mm", reading->taken.level_mm);
        break;
    case LIT:
        measured_lit(measured, i, text, TEXT_CELL);
        break;
    case CURRENT:
        if (!isnan(reading->current_a))
            snprintf(text, TEXT_CELL, "%.4g mA", 1000 * reading->current_a);
        break;
    case READ:
        format_lux(text, (struct luxfall_estimate){reading->lx, NAN});
        break;
    case FORECAST:
        format_lux(text, measured->forecast[i]);
        break;
    case RATIO:
        format_ratio(text, (struct luxfall_estimate){measured_ratio(measured, i), NAN});
        break;
    case RESIDUAL:
        percent_text(text, measured_residual(measured, i));
        break;
    default:
        snprintf(text, TEXT_CELL, "%.*s", TEXT_CELL - 4, reading->note ? reading->note : "");
    }
}

static int print_table(const struct measured *measured, FILE *stream) {
    struct text_table table;
    enum heading told[HEADINGS];
    size_t columns = 0, rows = measured->scene->reading_count;
    for (int heading = 0; heading < HEADINGS; heading++)
        if (is_told(measured->scene, (enum heading)heading))
            told[columns++] = (enum heading)heading;
    if (text_table_init(&table, rows + 1, columns) != 0)
        return 1;
    for (size_t column = 0; column < columns; column++) {
        text_table_put(&table, 0, column, headings[told[column]]);
        for (size_t i = 0; i < rows; i++) {
            char text[TEXT_CELL];
            fill_cell(measured, i, told[column], text);
            text_table_put(&table, i + 1, column, text);
        }
    }
    text_table_print(&table, "  ", stream);
    text_table_release(&table);
    return 0;
}

/* ---- lines ----------------------------------------------------------------------------------------------------- */

static void print_head(const struct measured *measured, FILE *stream) {
    char text[400];
    const struct scene *scene = measured->scene;
    int used = snprintf(text, sizeof text, "%.200s, each the mean over a head of %.6g mm", scene->readings_file,
                        scene->head_mm);
    if (scene->dark_lx > 0)
        snprintf(text + used, sizeof text - (size_t)used, "; %.6g lx of the dark taken off", scene->dark_lx);
    fputc('\n', stream);
    report_note(stream, "readings", text);
}

static void print_scale(const struct measured *measured, FILE *stream) {
    char text[400];
    int used = snprintf(text, sizeof text, measured->fit.scale < 0.1 ? "%.3g" : "%.3f", measured->fit.scale);
    if (isfinite(measured->fit.scale_u))
        used +=
            snprintf(text + used, sizeof text - (size_t)used, ", standard uncertainty %.2g", measured->fit.scale_u);
    snprintf(text + used, sizeof text - (size_t)used,
             ": read = scale x forecast by least squares%s; 0.7 to 1.1 is normal. Nothing else is fitted",
             isnan(measured->scene->readings[0].u_lx) ? "" : " weighted by the uncertainties");
    report_note(stream, "scale", text);
    if (isnan(measured->residual))
        return;
    char place[TEXT_CELL];
    place_text(place, &measured->scene->readings[measured->furthest]);
    snprintf(text, sizeof text, "%.1f %% of the scaled forecast, root mean square; the furthest %+.1f %% at %s",
             100 * measured->residual, 100 * measured_residual(measured, measured->furthest), place);
    report_note(stream, "residuals", text);
}

static bool same_conditions(const struct luxfall_reading *a, const struct luxfall_reading *b) {
    return a->x_mm == b->x_mm && a->y_mm == b->y_mm && a->level_mm == b->level_mm && a->dark == b->dark &&
           a->current_a == b->current_a;
}

/* Readings like the first of them, from it on: how many, and highest less lowest over their mean. */
static size_t repeated(const struct scene *scene, size_t first, double *spread) {
    double low = INFINITY, high = -INFINITY, sum = 0;
    size_t count = 0;
    for (size_t i = 0; i < scene->reading_count; i++) {
        if (!same_conditions(&scene->readings[first].taken, &scene->readings[i].taken))
            continue;
        if (i < first)
            return 0; /* told with an earlier one */
        low = fmin(low, scene->readings[i].lx);
        high = fmax(high, scene->readings[i].lx);
        sum += scene->readings[i].lx;
        count++;
    }
    *spread = (high - low) / (sum / (double)count);
    return count;
}

static void print_repeated(const struct measured *measured, FILE *stream) {
    const struct scene *scene = measured->scene;
    for (size_t i = 0; i < scene->reading_count; i++) {
        double spread = NAN;
        size_t count = repeated(scene, i, &spread);
        char text[800], place[TEXT_CELL], lit[300];
        if (count < 2 || !isfinite(spread))
            continue;
        place_text(place, &scene->readings[i]);
        measured_lit(measured, i, lit, sizeof lit);
        snprintf(text, sizeof text, "%s with %s lit, %zu times: highest less lowest %.1f %% of their mean", place,
                 lit, count, 100 * spread);
        report_note(stream, "repeated", text);
    }
}

/* The one module lit for a reading, or SIZE_MAX. */
static size_t alone(const struct scene *scene, const struct scene_reading *reading) {
    size_t found = SIZE_MAX;
    for (size_t m = 0; reading->taken.dark && m < scene->light.module_count; m++) {
        if (reading->taken.dark[m])
            continue;
        if (found != SIZE_MAX)
            return SIZE_MAX;
        found = m;
    }
    return found;
}

/* Each module that was read alone: its readings over the scaled forecast. */
static int print_levels(const struct measured *measured, FILE *stream) {
    const struct scene *scene = measured->scene;
    char *text = NULL;
    size_t size = 0, told = 0;
    FILE *line = open_memstream(&text, &size);
    if (!line)
        return 1;
    for (size_t m = 0; m < scene->light.module_count; m++) {
        double sum = 0;
        size_t count = 0;
        for (size_t i = 0; i < scene->reading_count; i++)
            if (alone(scene, &scene->readings[i]) == m && isfinite(measured_residual(measured, i))) {
                sum += 1 + measured_residual(measured, i);
                count++;
            }
        if (count > 0)
            fprintf(line, "%s%s %.0f %%", told++ > 0 ? ", " : "", scene->light.modules[m].name,
                    100 * sum / (double)count);
    }
    bool good = fclose(line) == 0;
    if (good && told > 0)
        report_note(stream, "read alone", text);
    free(text);
    return good ? 0 : 1;
}

int measured_print(const struct measured *measured, FILE *stream) {
    print_head(measured, stream);
    if (print_table(measured, stream) != 0)
        return 1;
    print_scale(measured, stream);
    print_repeated(measured, stream);
    if (print_levels(measured, stream) != 0)
        return 1;
    report_note(stream, "verdict", measured->verdict);
    return 0;
}
