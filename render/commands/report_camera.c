#include "report_camera.h"

#include "render/files/exposure.h"
#include "report.h"
#include "scenes/numbers.h"

#include <math.h>
#include <string.h>

static const double PI = 3.14159265358979323846;

/* ---- times ----------------------------------------------------------------------------------------------------- */

/* Longer ones are read in tenths of a second. */
#define FRACTIONS_BELOW_S 0.3

void format_shutter(char out[FORMAT_SIZE], double seconds) {
    if (!isfinite(seconds) || !(seconds > 0))
        snprintf(out, FORMAT_SIZE, "-");
    else if (seconds < FRACTIONS_BELOW_S)
        snprintf(out, FORMAT_SIZE, "1/%.10g s", number_rounded(1 / seconds, seconds > 0.01 ? 2 : 3));
    else
        snprintf(out, FORMAT_SIZE, "%.10g s", number_rounded(seconds, seconds < 100 ? 2 : 3));
}

/* Full stops as they are engraved (ISO 516). */
double standard_shutter_s(double seconds) {
    static const double engraved[] = {30,        15,         8,          4,          2,         1,         1.0 / 2,
                                      1.0 / 4,   1.0 / 8,    1.0 / 15,   1.0 / 30,   1.0 / 60,  1.0 / 125, 1.0 / 250,
                                      1.0 / 500, 1.0 / 1000, 1.0 / 2000, 1.0 / 4000, 1.0 / 8000};
    for (size_t i = 0; i < sizeof engraved / sizeof *engraved; i++)
        if (engraved[i] <= seconds * (1 + 1e-9))
            return engraved[i];
    return NAN;
}

/* ---- exposure of the fields ------------------------------------------------------------------------------------ */

static void stops_cell(char *cell, double stops, const char *unit) {
    if (isnan(stops))
        snprintf(cell, TEXT_CELL, "-");
    else
        snprintf(cell, TEXT_CELL, "%.2f%s", fabs(stops) < 0.005 ? 0.0 : stops, unit);
}

static void camera_cell(char *cell, const struct luxfall_camera *camera) {
    if (camera->magnification > 0)
        snprintf(cell, TEXT_CELL, "f/%.3g, %.3g x", camera->f_number, camera->magnification);
    else
        snprintf(cell, TEXT_CELL, "f/%.3g", camera->f_number);
}

static void exposure_row(const struct text_table *table, size_t row, const struct scene *scene,
                         const struct luxfall_plane_result *plane) {
    struct exposure exposure = exposure_of_field(scene, plane, row - 1);
    double fills_s = exposure.shutter_s.value;
    text_table_put(table, row, 0, scene->light.fields[row - 1].name);
    camera_cell(text_table_cell(table, row, 1), &scene->field_cameras[row - 1]);
    format_shutter(text_table_cell(table, row, 2), fills_s);
    format_shutter(text_table_cell(table, row, 3), standard_shutter_s(fills_s));
    stops_cell(text_table_cell(table, row, 4), exposure.stops_to_first_field.value, " stops");
    stops_cell(text_table_cell(table, row, 5), exposure.stops_edge.value, " stops");
    stops_cell(text_table_cell(table, row, 6), exposure.stops_darkest.value, " stops");
}

static int print_exposures(const struct scene *scene, const struct luxfall_plane_result *plane, FILE *stream) {
    static const char *const headings[] = {
        "exposure", "at", "sensor full", "set", "under the first field", "edge under centre", "darkest under centre"};
    enum { COLUMNS = sizeof headings / sizeof *headings };
    struct text_table table;
    if (text_table_init(&table, scene->light.field_count + 1, COLUMNS) != 0)
        return 1;
    for (size_t i = 0; i < COLUMNS; i++)
        text_table_put(&table, 0, i, headings[i]);
    for (size_t i = 0; i < scene->light.field_count; i++)
        exposure_row(&table, i + 1, scene, plane);
    text_table_print(&table, "  ", stream);
    text_table_release(&table);
    return 0;
}

enum { STOPS_SHOWN = 6 }; /* fields, in the line */

static void note_stops(const struct scene *scene, const struct luxfall_plane_result *plane, FILE *stream) {
    char text[1000] = "edge (darkest) under the centre:";
    size_t used = strlen(text), count = scene->light.field_count, shown = count > STOPS_SHOWN ? STOPS_SHOWN : count;
    for (size_t i = 0; i < shown; i++) {
        struct exposure exposure = exposure_of_field(scene, plane, i);
        char edge[TEXT_CELL], darkest[TEXT_CELL];
        stops_cell(edge, exposure.stops_edge.value, "");
        stops_cell(darkest, exposure.stops_darkest.value, "");
        used += (size_t)snprintf(text + used, sizeof text - used, "%s %.60s %s (%s)", i ? "," : "",
                                 scene->light.fields[i].name, edge, darkest);
    }
    if (count > shown)
        snprintf(text + used, sizeof text - used, ", and %zu more fields in statistics.json", count - shown);
    report_note(stream, "stops", text);
}

int report_exposure(const struct scene *scene, const struct luxfall_plane_result *plane, FILE *stream) {
    if (scene->light.field_count == 0)
        return 0;
    if (scene->has_camera)
        return print_exposures(scene, plane, stream);
    note_stops(scene, plane, stream);
    return 0;
}

void report_camera(const struct scene *scene, FILE *stream) {
    const struct luxfall_camera *camera = &scene->camera;
    if (!scene->has_camera || scene->light.field_count == 0)
        return;
    char text[400];
    snprintf(
        text, sizeof text,
        "a %.3g %% grey at the field's centre fills the sensor in that time (78/ISO lx s, as ISO 12232 has it) at "
        "ISO %.6g, with %.3g %% of the light through the optics; set: the next faster standard time",
        100 * camera->reflectance, camera->iso, 100 * camera->transmission);
    report_note(stream, "camera", text);
}

/* ---- highlights ------------------------------------------------------------------------------------------------ */

/* Of solder that wets well, and of a white card; common practice, no source. */
#define SHINY_REFLECTANCE 0.6
#define WHITE_REFLECTANCE 0.9
/* Below this many times a white card nobody minds. */
#define FLARE_LEAST 2.0

static void slopes_text(char out[FORMAT_SIZE], const struct luxfall_glare *glare) {
    double low = round(glare->slope_low_rad * 180 / PI), high = round(glare->slope_high_rad * 180 / PI);
    if (low < high)
        snprintf(out, FORMAT_SIZE, "%.0f to %.0f deg", low, high);
    else
        snprintf(out, FORMAT_SIZE, "%.0f deg", high);
}

int report_highlights(const struct scene *scene, const struct luxfall_plane_result *plane, FILE *stream) {
    const struct luxfall_scene *light = &scene->light;
    bool fields = light->field_count > 0;
    struct luxfall_vec place = {0, 0, plane->level_mm};
    double lux = fields ? plane->fields[0].centre_lx.value : plane->centre_lx.value;
    struct luxfall_glare glare;
    char slopes[FORMAT_SIZE], text[400];
    if (fields) {
        place.x = light->fields[0].x_mm;
        place.y = light->fields[0].y_mm;
    }
    if (luxfall_glare_at(light, place, &glare, NULL) != LUXFALL_OK)
        return 1;
    double excess = SHINY_REFLECTANCE * glare.mirrored_cd_per_m2 / (WHITE_REFLECTANCE * lux / PI);
    if (isnan(glare.slope_low_rad) || !(excess >= FLARE_LEAST))
        return 0;
    slopes_text(slopes, &glare);
    snprintf(
        text, sizeof text,
        "shiny facets sloped %s flare in a camera straight above: about %.10g x a white card (a lens face mirrored "
        "by solder of reflectance 60 %%, beside a card of 90 %%)",
        slopes, number_rounded(excess, 2));
    report_note(stream, "highlights", text);
    return 0;
}
