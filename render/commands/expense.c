#include "expense.h"

#include "text.h"

#include "scenes/units.h"

#include <math.h>
#include <stdarg.h>
#include <string.h>

enum { POINTS_TOLD = 3 };

struct line {
    char *text;
    size_t used;
};

__attribute__((format(printf, 2, 3))) static void append(struct line *line, const char *format, ...) {
    va_list arguments;
    va_start(arguments, format);
    vsnprintf(line->text + line->used, EXPENSE_SIZE - line->used, format, arguments);
    va_end(arguments);
    line->used += strlen(line->text + line->used);
}

static void next(struct line *line) {
    append(line, "%s", line->used > 0 ? "; " : "");
}

/* ---- currents -------------------------------------------------------------------------------------------------- */

/* Lit modules at one current and voltage. */
struct point {
    double current_a, voltage_v;
    size_t count;
};

static bool same(double a, double b) {
    return a == b || (isnan(a) && isnan(b));
}

static void count_module(const struct luxfall_module_result *module, struct point points[POINTS_TOLD], size_t *count,
                         size_t *others) {
    size_t i = 0;
    while (i < *count &&
           !(same(points[i].current_a, module->current_a) && same(points[i].voltage_v, module->voltage_v)))
        i++;
    if (i == POINTS_TOLD) {
        ++*others;
        return;
    }
    if (i == *count)
        points[(*count)++] = (struct point){module->current_a, module->voltage_v, 0};
    points[i].count++;
}

static void append_point(struct line *line, const struct point *point) {
    char current[40];
    append(line, "%zu %s", point->count, point->count == 1 ? "module" : "modules");
    if (isnan(point->current_a)) {
        append(line, " at no known current");
        return;
    }
    quantity_show(point->current_a, CURRENT, current, sizeof current);
    append(line, " at %s", current);
    if (!isnan(point->voltage_v))
        append(line, ", %.3g V", point->voltage_v);
}

/* The lamp's watts stand behind its currents. */
static void append_currents(struct line *line, const struct scene *scene, const struct luxfall_result *result) {
    struct point points[POINTS_TOLD];
    size_t count = 0, others = 0;
    for (size_t i = 0; i < result->module_count; i++)
        if (!scene->light.modules[i].dark)
            count_module(&result->modules[i], points, &count, &others);
    if (count == 0 || (count == 1 && isnan(points[0].current_a)))
        return;
    for (size_t i = 0; i < count; i++) {
        append(line, "%s", i == 0 ? "" : i + 1 < count || others > 0 ? " + " : " and ");
        append_point(line, &points[i]);
    }
    if (others > 0)
        append(line, " and %zu at other currents", others);
    if (isfinite(result->power_w))
        append(line, ": %.3g W", result->power_w);
}

static void append_lux_per_watt(struct line *line, const struct scene *scene, const struct luxfall_result *result) {
    const struct luxfall_plane_result *plane = &result->planes[0];
    const char *field = scene->light.field_count > 0 ? scene->light.fields[0].name : NULL;
    double lx = field != NULL ? plane->fields[0].centre_lx.value : plane->centre_lx.value;
    char lux[FORMAT_SIZE];
    if (!(result->power_w > 0) || !isfinite(lx))
        return;
    format_lux(lux, (struct luxfall_estimate){lx / result->power_w, NAN});
    next(line);
    append(line, "%s/W at the centre of %.60s", lux, field != NULL ? field : "the map");
    if (result->plane_count > 1)
        append(line, ", level %g mm", plane->level_mm);
}

static void append_scale(struct line *line, const struct scene *scene, const struct luxfall_result *result) {
    bool scaled = false;
    for (size_t i = 0; i < result->module_count; i++)
        scaled = scaled || (!scene->light.modules[i].dark && scene->light.modules[i].scale != 1);
    if (scaled && result->power_w > 0)
        append(line, " (scale changes lumens, not watts)");
}

/* ---- price, temperature ---------------------------------------------------------------------------------------- */

static void append_price(struct line *line, const struct scene *scene) {
    const char *missing = NULL;
    double price = scene_price(scene, &missing);
    if (scene->currency == NULL)
        return;
    next(line);
    if (missing != NULL)
        append(line, "price not known: none for '%.60s'", missing);
    else
        append(line, "%.2f %s", price, scene->currency);
}

static void append_junction(struct line *line, const struct luxfall_result *result) {
    double least = INFINITY, most = -INFINITY;
    for (size_t i = 0; i < result->module_count; i++) {
        least = fmin(least, result->modules[i].junction_c);
        most = fmax(most, result->modules[i].junction_c);
    }
    if (!(most >= least))
        return;
    next(line);
    append(line, "lumens at a junction of %.3g", least);
    if (most - least >= 1)
        append(line, " to %.3g", most);
    append(line, " °C: at another temperature they differ");
}

bool expense_line(const struct scene *scene, const struct luxfall_result *result, char text[EXPENSE_SIZE]) {
    struct line line = {text, 0};
    text[0] = '\0';
    append_currents(&line, scene, result);
    append_lux_per_watt(&line, scene, result);
    append_scale(&line, scene, result);
    append_price(&line, scene);
    append_junction(&line, result);
    return line.used > 0;
}
