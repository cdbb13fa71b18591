/* Files of luxfall inspect: JSON, a table that scenes read as a curve, and the picture. */
#include "inspected.h"
#include "render/files/files.h"
#include "render/files/table.h"
#include "text.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

enum { RINGS = LUXFALL_RINGS };
static const double DEGREE = 3.14159265358979323846 / 180;

static double ring_deg(int ring) {
    return (ring + 0.5) * 90 / RINGS;
}

/* ---- JSON ------------------------------------------------------------------------------------------------------ */

static json_t *number(double value) {
    return isfinite(value) ? json_real(value) : json_null();
}

/* `key`, and by rays `key`_u95; false: out of memory. */
static bool put(json_t *object, const char *key, struct luxfall_estimate value, double factor, bool by_rays) {
    char band[64];
    snprintf(band, sizeof band, "%s_u95", key);
    return json_object_set_new(object, key, number(value.value * factor)) == 0 &&
           (!by_rays || json_object_set_new(object, band, number(value.u95 * factor)) == 0);
}

static json_t *values_json(const struct luxfall_estimate *values, bool bands) {
    json_t *array = json_array();
    for (int k = 0; array && k < RINGS; k++)
        if (json_array_append_new(array, number(bands ? values[k].u95 : values[k].value)) != 0) {
            json_decref(array);
            return NULL;
        }
    return array;
}

static json_t *angles_json(void) {
    json_t *array = json_array();
    for (int k = 0; array && k < RINGS; k++)
        if (json_array_append_new(array, json_real(ring_deg(k))) != 0) {
            json_decref(array);
            return NULL;
        }
    return array;
}

static bool put_values(json_t *object, const struct luxfall_estimate *values, bool by_rays) {
    return json_object_set_new(object, "intensity_cd", values_json(values, false)) == 0 &&
           (!by_rays || json_object_set_new(object, "intensity_cd_u95", values_json(values, true)) == 0);
}

/* The mean over all azimuths, and by rays each half plane. */
static json_t *curve_json(const struct luxfall_inspection *light, bool by_rays) {
    json_t *curve = json_object(), *halves = json_array();
    bool good = curve && halves && json_object_set_new(curve, "angle_deg", angles_json()) == 0 &&
                put_values(curve, light->cd, by_rays);
    for (int half = 0; half < LUXFALL_HALF_PLANES && by_rays && good; half++) {
        json_t *item = json_object();
        good = item && json_object_set_new(item, "azimuth_deg", json_real(half * 360.0 / LUXFALL_HALF_PLANES)) == 0 &&
               put_values(item, light->half_plane_cd[half], by_rays);
        good = json_array_append_new(halves, item) == 0 && good;
    }
    if (good && (!by_rays || json_object_set(curve, "half_planes", halves) == 0)) {
        json_decref(halves);
        return curve;
    }
    json_decref(halves);
    json_decref(curve);
    return NULL;
}

/* Rays and their ends, which add up. */
static json_t *rays_json(const struct luxfall_inspection *light) {
    json_t *rays = json_pack("{s:I, s:I, s:I}", "traced", (json_int_t)light->rays_traced, "out",
                             (json_int_t)light->rays_out, "abandoned", (json_int_t)light->rays_abandoned);
    bool good = rays != NULL;
    for (enum luxfall_loss i = 0; i < LUXFALL_LOSS_COUNT && good; i++)
        good = json_object_set_new(rays, luxfall_loss_name(i), json_integer((json_int_t)light->rays_lost[i])) == 0;
    if (good)
        return rays;
    json_decref(rays);
    return NULL;
}

/* Under a module's covers, from the lens on. */
static json_t *covers_json(const struct inspected *inspected, bool by_rays) {
    const struct luxfall_module *module = &inspected->alone;
    json_t *covers = json_array();
    for (size_t i = 0; covers && i < module->cover_count; i++) {
        const char *name = inspected->scene->light.covers[module->covers[i]].name;
        json_t *item = json_pack("{s:s}", "name", name);
        bool good = item && put(item, "absorbed", inspected->light.cover_lm[i], 1, by_rays);
        if (json_array_append_new(covers, item) != 0 || !good) {
            json_decref(covers);
            return NULL;
        }
    }
    return covers;
}

static json_t *flux_json(const struct inspected *inspected, bool by_rays) {
    const struct luxfall_inspection *light = &inspected->light;
    json_t *flux = json_object();
    bool good = flux && json_object_set_new(flux, "emitter", json_real(light->flux_lm)) == 0 &&
                put(flux, "leaving", light->leaving_lm, 1, by_rays) &&
                put(flux, "abandoned", light->abandoned_lm, 1, by_rays);
    for (enum luxfall_loss i = 0; i < LUXFALL_LOSS_COUNT && good; i++)
        good = put(flux, luxfall_loss_name(i), light->loss_lm[i], 1, by_rays);
    if (good && inspected->alone.cover_count > 0)
        good = json_object_set_new(flux, "absorbed_by_cover", covers_json(inspected, by_rays)) == 0;
    if (good)
        return flux;
    json_decref(flux);
    return NULL;
}

static json_t *stage_json(const struct inspected *inspected, bool by_rays) {
    const struct luxfall_plane_result *plane = &inspected->spot->planes[0];
    json_t *stage = json_object();
    bool good = stage && json_object_set_new(stage, "distance_mm", json_real(inspected->distance_mm)) == 0 &&
                put(stage, "centre_lx", plane->centre_lx, 1, by_rays) &&
                put(stage, "half_peak_diameter_mm", plane->half_peak_diameter_mm, 1, by_rays) &&
                put(stage, "tenth_peak_diameter_mm", plane->tenth_peak_diameter_mm, 1, by_rays);
    if (good)
        return stage;
    json_decref(stage);
    return NULL;
}

static bool put_angles(json_t *root, const struct luxfall_inspection *light, bool by_rays) {
    static const char *const beams[LUXFALL_HALF_PLANES / 2] = {"beam_angle_along_x_deg", "beam_angle_at_45_deg",
                                                               "beam_angle_along_y_deg", "beam_angle_at_135_deg"};
    bool good = put(root, "beam_angle_deg", light->beam_angle_rad, 1 / DEGREE, by_rays) &&
                put(root, "field_angle_deg", light->field_angle_rad, 1 / DEGREE, by_rays) &&
                put(root, "lean_towards_x_deg", light->lean_x_rad, 1 / DEGREE, by_rays) &&
                put(root, "lean_towards_y_deg", light->lean_y_rad, 1 / DEGREE, by_rays);
    for (int plane = 0; plane < LUXFALL_HALF_PLANES / 2 && good; plane++)
        good = put(root, beams[plane], light->plane_beam_rad[plane], 1 / DEGREE, by_rays);
    return good;
}

static bool put_bounds(json_t *root, const struct luxfall_inspection *light) {
    bool bounded = light->bound_cd_per_lm > 0, domed = bounded && light->package_index == 0;
    return json_object_set_new(root, "bound_cd_per_lm", number(bounded ? light->bound_cd_per_lm : NAN)) == 0 &&
           json_object_set_new(root, "bound_domed_cd_per_lm", number(domed ? light->bound_domed_cd_per_lm : NAN)) ==
               0 &&
           json_object_set_new(root, "narrowest_full_beam_deg", number(bounded ? light->floor_rad / DEGREE : NAN)) ==
               0 &&
           json_object_set_new(root, "narrowest_full_beam_domed_deg",
                               number(domed ? light->floor_domed_rad / DEGREE : NAN)) == 0;
}

static bool put_module(json_t *root, const struct inspected *inspected, bool by_rays) {
    const struct luxfall_scene *scene = &inspected->scene->light;
    const struct luxfall_module *module = &inspected->alone;
    bool lens = module->lens != LUXFALL_NO_LENS;
    return json_object_set_new(root, "luxfall", json_string(luxfall_version())) == 0 &&
           json_object_set_new(root, "scene", json_string(inspected->scene->path)) == 0 &&
           json_object_set_new(root, "title", json_string(inspected->scene->title)) == 0 &&
           json_object_set_new(root, "module", json_string(module->name)) == 0 &&
           json_object_set_new(root, "emitter", json_string(scene->emitters[module->emitter].name)) == 0 &&
           json_object_set_new(root, "lens", lens ? json_string(scene->lenses[module->lens].name) : json_null()) ==
               0 &&
           json_object_set_new(root, "method", json_string(by_rays ? "rays" : "direct")) == 0 &&
           json_object_set_new(root, "seed", json_integer((json_int_t)inspected->options.seed)) == 0;
}

static bool fill_json(json_t *root, const struct inspected *inspected) {
    const struct luxfall_inspection *light = &inspected->light;
    bool by_rays = light->rays_traced > 0;
    return put_module(root, inspected, by_rays) &&
           json_object_set_new(root, "stage", stage_json(inspected, by_rays)) == 0 &&
           put_angles(root, light, by_rays) && put(root, "centre_beam_cd", light->centre_cd, 1, by_rays) &&
           put(root, "centre_beam_cd_per_lm", light->centre_cd, 1 / light->flux_lm, by_rays) &&
           put(root, "efficiency", light->efficiency, 1, by_rays) &&
           put(root, "share_in_beam_angle", light->in_beam, 1, by_rays) &&
           put(root, "share_in_field_angle", light->in_field, 1, by_rays) &&
           put(root, "inverse_square_within_5_percent_from_mm", light->far_5_percent_mm, 1, by_rays) &&
           put(root, "inverse_square_within_1_percent_from_mm", light->far_1_percent_mm, 1, by_rays) &&
           put_bounds(root, light) && json_object_set_new(root, "flux_lm", flux_json(inspected, by_rays)) == 0 &&
           (!by_rays || json_object_set_new(root, "rays", rays_json(light)) == 0) &&
           json_object_set_new(root, "intensity", curve_json(light, by_rays)) == 0;
}

static json_t *warnings_json(const struct messages *warnings) {
    json_t *array = json_array();
    for (size_t i = 0; array && i < warnings->count; i++) {
        const struct message *m = &warnings->items[i];
        json_t *item =
            json_pack("{s:o, s:s}", "at",
                      json_sprintf("%s:%d:%d", m->place.file ? m->place.file : "", m->place.line, m->place.column),
                      "text", m->text);
        if (json_array_append_new(array, item) != 0) {
            json_decref(array);
            return NULL;
        }
    }
    return array;
}

json_t *inspected_json(const struct inspected *inspected, const struct messages *warnings) {
    json_t *root = json_object();
    if (root && fill_json(root, inspected) && json_object_set_new(root, "warnings", warnings_json(warnings)) == 0)
        return root;
    json_decref(root);
    return NULL;
}

int inspected_write_json(const struct inspected *inspected, const struct messages *warnings, const char *path,
                         struct figure_error *error) {
    struct whole_file file;
    json_t *json = inspected_json(inspected, warnings);
    if (!json)
        return figure_fail(error, EXIT_MACHINE, "%s could not be written: out of memory", path);
    int status = whole_file_begin(&file, path, error);
    if (status == 0) {
        bool written = json_dumpf(json, file.stream, STATISTICS_DUMP) == 0 && fputc('\n', file.stream) != EOF;
        status = written ? whole_file_commit(&file, error) : whole_file_fail(&file, NULL, error);
    }
    json_decref(json);
    return status;
}

/* ---- the table: scenes read it as an intensity, {curve: intensity.csv} ------------------------------------------
 */

/* One row: the mean over all azimuths first, which is what a curve is read from. */
static void put_row(FILE *stream, double angle_deg, const struct luxfall_inspection *light, int ring) {
    struct luxfall_estimate mean = ring < 0 ? light->centre_cd : light->cd[ring];
    fprintf(stream, "%.6g,%.7g,%.3g,%.7g", angle_deg, mean.value, isnan(mean.u95) ? 0 : mean.u95,
            mean.value / light->flux_lm);
    for (int half = 0; half < LUXFALL_HALF_PLANES && light->rays_traced > 0; half++)
        fprintf(stream, ",%.7g", ring < 0 ? mean.value : light->half_plane_cd[half][ring].value);
    fputc('\n', stream);
}

int inspected_write_csv(const struct inspected *inspected, const char *path, struct figure_error *error) {
    const struct luxfall_inspection *light = &inspected->light;
    struct whole_file file;
    struct number_locale locale;
    if (whole_file_begin(&file, path, error) != 0)
        return error->status;
    number_locale_begin(&locale);
    fputs("angle_deg,intensity_cd,intensity_cd_u95,cd_per_lm", file.stream);
    for (int half = 0; half < LUXFALL_HALF_PLANES && light->rays_traced > 0; half++)
        fprintf(file.stream, ",azimuth_%d_cd", half * 360 / LUXFALL_HALF_PLANES);
    fputc('\n', file.stream);
    put_row(file.stream, 0, light, -1);
    for (int k = 0; k < RINGS; k++)
        put_row(file.stream, ring_deg(k), light, k);
    number_locale_end(&locale);
    return ferror(file.stream) ? whole_file_fail(&file, NULL, error) : whole_file_commit(&file, error);
}

/* ---- the picture ----------------------------------------------------------------------------------------------- */

static void put_readings_and_colours(const struct luxfall_plane_result *plane, FILE *out) {
    char smoothed[FIGURE_SMOOTHED_SIZE];
    fprintf(out, "\nPeak and profiles on the stage: over discs of %.3g mm.", plane->disc_mm);
    if (figure_smoothed_text(plane, smoothed))
        fprintf(out, " %s", smoothed);
}

static char *caption_text(const struct inspected *inspected) {
    char *text = NULL, *lamp = figure_lamp_text(&inspected->stage, inspected->spot);
    size_t size = 0;
    FILE *out = lamp ? open_memstream(&text, &size) : NULL;
    if (out) {
        char rays[FORMAT_SIZE];
        bool of_axis = inspected->light.level_cd.value == inspected->light.centre_cd.value;
        fprintf(
            out,
            "%sAbove: on the stage, %.5g mm straight below; below: far away, over the angle, per cent of the %s. ",
            lamp, inspected->distance_mm, of_axis ? "axis" : "brightest ring");
        format_rays(rays, inspected->light.rays_traced);
        if (inspected->light.rays_traced > 0)
            fprintf(out, "%s rays, seed %llu, bands of 95\u00a0%%; ", rays,
                    (unsigned long long)inspected->options.seed);
        fputs("luxfall " LUXFALL_VERSION ".", out);
        put_readings_and_colours(&inspected->spot->planes[0], out);
        bool lost = ferror(out) != 0;
        if (fclose(out) != 0 || lost) {
            free(text);
            text = NULL;
        }
    }
    free(lamp);
    return text;
}

int inspected_write_figure(const struct inspected *inspected, const struct figure_style *style, const char *path,
                           struct figure_error *error) {
    char *caption = caption_text(inspected), title[300];
    if (!caption)
        return figure_fail(error, EXIT_MACHINE, "%s could not be written: out of memory", path);
    snprintf(title, sizeof title, "%.200s: %.80s", inspected->scene->title, inspected->alone.name);
    struct figure_inspect figure = {.title = title,
                                    .caption = caption,
                                    .stage = &inspected->stage,
                                    .spot = inspected->spot,
                                    .light = &inspected->light};
    figure.plane_count = inspected_planes(&inspected->light, figure.planes);
    for (size_t i = 0; i < figure.plane_count; i++)
        figure.plane_names[i] = inspected_plane_name(figure.planes[i]);
    int status = figure_inspect(path, &figure, style, error);
    free(caption);
    return status;
}
