/* readings.csv, and the readings in statistics.json. */
#include "readings.h"

#include "files.h"
#include "table.h"

#include <math.h>
#include <string.h>

double bench_ratio(const struct bench *bench, size_t reading) {
    double forecast = bench->forecast[reading].value;
    return forecast > 0 ? bench->scene->readings[reading].lx / forecast : NAN;
}

double bench_residual(const struct bench *bench, size_t reading) {
    return bench_ratio(bench, reading) / bench->fit.scale - 1;
}

void bench_lit(const struct bench *bench, size_t reading, char *out, size_t size) {
    const struct scene_reading *taken = &bench->scene->readings[reading];
    const char *lit = taken->module ? taken->module : "all";
    snprintf(out, size, "%s%s%s", lit, taken->dark ? " but " : "", taken->dark ? taken->dark : "");
}

/* ---- JSON ------------------------------------------------------------------------------------------------------ */

static json_t *number(double value) {
    return isfinite(value) ? json_real(value) : json_null();
}

static json_t *text(const char *string) {
    return string ? json_string(string) : json_null();
}

/* What is left after scaling, in percent. */
static double residual_percent(const struct bench *bench, size_t reading) {
    return 100 * bench_residual(bench, reading);
}

static json_t *item_json(const struct bench *bench, size_t i) {
    const struct scene_reading *reading = &bench->scene->readings[i];
    const struct luxfall_reading *taken = &reading->taken;
    return json_pack("{s:[f,f],s:f,s:o,s:o,s:o,s:f,s:o,s:f,s:o,s:o,s:o,s:o}", "at_mm", taken->x_mm, taken->y_mm,
                     "level_mm", taken->level_mm, "module", text(reading->module), "dark", text(reading->dark),
                     "current_a", number(reading->current_a), "reading_lx", reading->lx, "u_lx",
                     number(reading->u_lx), "forecast_lx", bench->forecast[i].value, "forecast_lx_u95",
                     number(bench->forecast[i].u95), "ratio", number(bench_ratio(bench, i)), "residual_percent",
                     number(residual_percent(bench, i)), "note", text(reading->note));
}

json_t *readings_json(const struct bench *bench) {
    const struct scene *scene = bench->scene;
    json_t *items = json_array();
    bool lost = items == NULL;
    for (size_t i = 0; i < scene->reading_count && !lost; i++)
        lost = json_array_append_new(items, item_json(bench, i)) != 0;
    if (lost) {
        json_decref(items);
        return NULL;
    }
    return json_pack("{s:s,s:f,s:f,s:o,s:o,s:o,s:s,s:o}", "file", scene->readings_file, "head_mm", scene->head_mm,
                     "dark_lx", scene->dark_lx, "scale", number(bench->fit.scale), "scale_u",
                     number(bench->fit.scale_u), "residual_percent", number(100 * bench->residual), "verdict",
                     bench->verdict, "items", items);
}

/* ---- CSV ------------------------------------------------------------------------------------------------------- */

/* Quoted; a quote inside is doubled, control characters become blanks. */
static void put_text(FILE *out, const char *string) {
    fputs(",\"", out);
    for (const char *c = string; *c != '\0'; c++)
        fprintf(out, "%s%c", *c == '"' ? "\"" : "", (unsigned char)*c < ' ' ? ' ' : *c);
    fputc('"', out);
}

/* What is not to be had is an empty cell. */
static void put_number(FILE *out, double value) {
    if (isfinite(value))
        fprintf(out, ",%.7g", value);
    else
        fputc(',', out);
}

static void put_row(FILE *out, const struct bench *bench, size_t i) {
    const struct scene_reading *reading = &bench->scene->readings[i];
    char lit[300];
    bench_lit(bench, i, lit, sizeof lit);
    fprintf(out, "%.10g,%.10g,%.10g", reading->taken.x_mm, reading->taken.y_mm, reading->taken.level_mm);
    put_text(out, lit);
    put_number(out, 1000 * reading->current_a);
    put_number(out, reading->lx);
    put_number(out, reading->u_lx);
    put_number(out, bench->forecast[i].value);
    put_number(out, bench->forecast[i].u95);
    put_number(out, bench_ratio(bench, i));
    put_number(out, residual_percent(bench, i));
    put_text(out, reading->note ? reading->note : "");
    fputc('\n', out);
}

int file_readings_csv(const char *path, const struct bench *bench, struct figure_error *error) {
    struct whole_file file;
    if (whole_file_begin(&file, path, error) != 0)
        return error->status;
    struct number_locale locale;
    number_locale_begin(&locale);
    fprintf(file.stream, "# meter_aperture_mm: %.10g\n# software: luxfall " LUXFALL_VERSION "\n# scale: %.7g\n",
            bench->scene->head_mm, bench->fit.scale);
    fputs(
        "x_mm,y_mm,level_mm,lit,current_mA,reading_lx,u_lx,forecast_lx,forecast_u95_lx,ratio,residual_percent,note\n",
        file.stream);
    for (size_t i = 0; i < bench->scene->reading_count; i++)
        put_row(file.stream, bench, i);
    number_locale_end(&locale);
    return whole_file_commit(&file, error);
}
