/* The comparison as data: a table of plain numbers, and JSON. */
#include "comparison.h"
#include "render/files/files.h"
#include "render/files/table.h"

#include <math.h>
#include <string.h>

/* ---- numbers alone --------------------------------------------------------------------------------------------- */

/* RFC 4180: a text with a comma or a quote stands in quotes, quotes in it are doubled. */
static void put_text(FILE *out, const char *text) {
    bool quoted = strpbrk(text, ",\"\r\n") != NULL;
    if (quoted)
        fputc('"', out);
    for (; *text; text++) {
        if (*text == '"')
            fputc('"', out);
        fputc(*text, out);
    }
    if (quoted)
        fputc('"', out);
}

/* Nine digits, as in JSON; an empty cell where there is no number. */
static void put_number(FILE *out, double value) {
    fputc(',', out);
    if (isfinite(value))
        fprintf(out, "%.9g", value);
}

struct csv {
    FILE *out;
    const char *currency;    /* NULL: none is told, or several */
    struct columns parts[2]; /* of the map and the lamp, of the field */
    bool by_rays;            /* estimates are followed by their bands */
};

/* With the unit; money has that of the scenes. */
static void put_heading(const struct csv *csv, const struct statistic *statistic, const char *what) {
    bool money = strstr(statistic->name, "price") != NULL && csv->currency != NULL;
    const char *per = money && statistic->scope == OF_FIELD ? "lx/" : "",
               *unit = money ? csv->currency : statistic->unit;
    char heading[120];
    snprintf(heading, sizeof heading, "%s%s%s%s%.20s%s", statistic->name, what, *unit ? " (" : "", per, unit,
             *unit ? ")" : "");
    fputc(',', csv->out);
    put_text(csv->out, heading);
}

/* What a lamp draws and costs is not estimated. */
static bool has_band(const struct csv *csv, const struct statistic *statistic) {
    return csv->by_rays && statistic->scope != OF_LAMP;
}

static void put_headings(const struct csv *csv) {
    fputs("candidate,level (mm),field", csv->out);
    for (size_t part = 0; part < 2; part++)
        for (size_t i = 0; i < csv->parts[part].count; i++) {
            put_heading(csv, csv->parts[part].items[i], "");
            if (has_band(csv, csv->parts[part].items[i]))
                put_heading(csv, csv->parts[part].items[i], " u95");
        }
    fputs("\r\n", csv->out);
}

/* field NULL: a scene without fields. */
static void put_row(const struct csv *csv, const struct candidate *candidate, size_t plane, const char *field) {
    put_text(csv->out, candidate->name);
    put_number(csv->out, candidate->traced.result->planes[plane].level_mm);
    fputc(',', csv->out);
    put_text(csv->out, field ? field : "");
    for (size_t part = 0; part < 2; part++)
        for (size_t i = 0; i < csv->parts[part].count; i++) {
            const struct statistic *statistic = csv->parts[part].items[i];
            struct luxfall_estimate value = {NAN, NAN};
            if (part == 0 || field)
                value = comparison_value(candidate, statistic, plane, field);
            put_number(csv->out, value.value / statistic->unit_size);
            if (has_band(csv, statistic))
                put_number(csv->out, value.u95 / statistic->unit_size);
        }
    fputs("\r\n", csv->out);
}

int comparison_csv(const char *path, const struct candidates *candidates, struct figure_error *error) {
    struct whole_file file;
    if (whole_file_begin(&file, path, error) != 0)
        return error->status;
    struct number_locale locale;
    number_locale_begin(&locale);
    const struct csv csv = {file.stream,
                            comparison_currency(candidates),
                            {comparison_columns(candidates, false), comparison_columns(candidates, true)},
                            candidates->items[0].traced.result->method == LUXFALL_RAYS};
    put_headings(&csv);
    for (size_t plane = 0; plane < candidates->items[0].traced.result->plane_count; plane++)
        for (size_t i = 0; i < candidates->count; i++) {
            const struct luxfall_scene *light = &candidates->items[i].traced.scene->light;
            for (size_t j = 0; j < light->field_count; j++)
                put_row(&csv, &candidates->items[i], plane, light->fields[j].name);
            if (light->field_count == 0)
                put_row(&csv, &candidates->items[i], plane, NULL);
        }
    number_locale_end(&locale);
    return whole_file_commit(&file, error);
}

/* ---- JSON ------------------------------------------------------------------------------------------------------ */

static json_t *number(double value) {
    return isfinite(value) ? json_real(value) : json_null();
}

/* The current that all lit modules share; NaN: not known, or not one. */
static double shared_current_a(const struct traced *traced) {
    double current_a = NAN;
    for (size_t i = 0; i < traced->result->module_count; i++) {
        if (traced->scene->light.modules[i].dark)
            continue;
        double own_a = traced->result->modules[i].current_a;
        if (!isnan(current_a) && own_a != current_a)
            return NAN;
        current_a = own_a;
    }
    return current_a;
}

static json_t *lamp_json(const struct traced *traced) {
    const struct scene *scene = traced->scene;
    const char *missing;
    return json_pack("{s:o, s:o, s:o, s:o, s:o}", "current_a", number(shared_current_a(traced)), "power_w",
                     number(traced->result->power_w), "leaving_lm", number(traced->result->leaving_lm), "price",
                     number(scene_price(scene, &missing)), "currency",
                     scene->currency ? json_string(scene->currency) : json_null());
}

json_t *comparison_json(const struct candidates *candidates) {
    json_t *array = json_array();
    for (size_t i = 0; i < candidates->count; i++) {
        const struct candidate *candidate = &candidates->items[i];
        const struct traced *traced = &candidate->traced;
        json_t *object =
            json_pack("{s:s, s:o, s:o}", "name", candidate->name, "lamp", lamp_json(traced), "statistics",
                      statistics_json(traced->scene, traced->result, NULL, &traced->messages));
        if (json_array_append_new(array, object) != 0) {
            json_decref(array);
            return NULL;
        }
    }
    return json_pack("{s:s, s:o}", "luxfall", luxfall_version(), "candidates", array);
}
