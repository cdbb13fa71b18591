/* readings.csv, and the readings in statistics.json. */
#include "readings.h"

#include "files.h"
#include "table.h"

#include <math.h>
#include <string.h>

double measured_ratio(const struct measured *measured, size_t reading) {
    double forecast = measured->forecast[reading].value;
    return forecast > 0 ? measured->scene->readings[reading].lx / forecast : NAN;
}

double measured_residual(const struct measured *measured, size_t reading) {
    return measured_ratio(measured, reading) / measured->fit.scale - 1;
}

void measured_lit(const struct measured *measured, size_t reading, char *out, size_t size) {
    const struct scene_reading *taken = &measured->scene->readings[reading];
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
static double residual_percent(const struct measured *measured, size_t reading) {
    return 100 * measured_residual(measured, reading);
}

static json_t *item_json(const struct measured *measured, size_t i) {
    const struct scene_reading *reading = &measured->scene->readings[i];
    const struct luxfall_reading *taken = &reading->taken;
    return json_pack("{s:[f,f],s:f,s:o,s:o,s:o,s:f,s:o,s:f,s:o,s:o,s:o,s:o}", "at_mm", taken->x_mm, taken->y_mm,
                     "level_mm", taken->level_mm, "module", text(reading->module), "dark", text(reading->dark),
                     "current_a", number(reading->current_a), "reading_lx", reading->lx, "u_lx",
                     number(reading->u_lx), "forecast_lx", measured->forecast[i].value, "forecast_lx_u95",
                     number(measured->forecast[i].u95), "ratio", number(measured_ratio(measured, i)),
                     "residual_percent", number(residual_percent(measured, i)), "note", text(reading->note));
}

json_t *readings_json(const struct measured *measured) {
    const struct scene *scene = measured->scene;
    json_t *items = json_array();
    bool lost = items == NULL;
    for (size_t i = 0; i < scene->reading_count && !lost; i++)
        lost = json_array_append_new(items, item_json(measured, i)) != 0;
    if (lost) {
        json_decref(items);
        return NULL;
    }
    return json_pack("{s:s,s:f,s:f,s:o,s:o,s:o,s:s,s:o}", "file", scene->readings_file, "head_mm", scene->head_mm,
                     "dark_lx", scene->dark_lx, "scale", number(measured->fit.scale), "scale_u",
                     number(measured->fit.scale_u), "residual_percent", number(100 * measured->residual), "verdict",
                     measured->verdict, "items", items);
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

static void put_row(FILE *out, const struct measured *measured, size_t i) {
    const struct scene_reading *reading = &measured->scene->readings[i];
    char lit[300];
    measured_lit(measured, i, lit, sizeof lit);
    fprintf(out, "%.10g,%.10g,%.10g", reading->taken.x_mm, reading->taken.y_mm, reading->taken.level_mm);
    put_text(out, lit);
    put_number(out, 1000 * reading->current_a);
    put_number(out, reading->lx);
    put_number(out, reading->u_lx);
    put_number(out, measured->forecast[i].value);
    put_number(out, measured->forecast[i].u95);
    put_number(out, measured_ratio(measured, i));
    put_number(out, residual_percent(measured, i));
    put_text(out, reading->note ? reading->note : "");
    fputc('\n', out);
}

int file_readings_csv(const char *path, const struct measured *measured, struct figure_error *error) {
    struct whole_file file;
    if (whole_file_begin(&file, path, error) != 0)
        return error->status;
    struct number_locale locale;
    number_locale_begin(&locale);
    fprintf(file.stream, "# meter_aperture_mm: %.10g\n# software: luxfall " LUXFALL_VERSION "\n# scale: %.7g\n",
            measured->scene->head_mm, measured->fit.scale);
    fputs(
        "x_mm,y_mm,level_mm,lit,current_mA,reading_lx,u_lx,forecast_lx,forecast_u95_lx,ratio,residual_percent,note\n",
        file.stream);
    for (size_t i = 0; i < measured->scene->reading_count; i++)
        put_row(file.stream, measured, i);
    number_locale_end(&locale);
    return whole_file_commit(&file, error);
}
