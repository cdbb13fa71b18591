/* Files of luxfall inspect: JSON, a table that scenes read as a curve, and the picture. */
#include "inspected.h"
#include "render/files/files.h"
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

static json_t *rings_json(const struct luxfall_inspection *light, bool by_rays) {
    json_t *rings = json_array();
    bool good = rings != NULL;
    for (int k = 0; k < RINGS && good; k++) {
        json_t *ring = json_object();
        good = ring && json_object_set_new(ring, "angle_deg", json_real(ring_deg(k))) == 0 &&
               put(ring, "intensity_cd", light->cd[k], 1, by_rays);
        good = json_array_append_new(rings, ring) == 0 && good;
    }
    if (good)
        return rings;
    json_decref(rings);
    return NULL;
}

static json_t *flux_json(const struct luxfall_inspection *light, bool by_rays) {
    json_t *flux = json_object();
    bool good = flux && json_object_set_new(flux, "emitter", json_real(light->flux_lm)) == 0 &&
                put(flux, "leaving", light->leaving_lm, 1, by_rays) &&
                put(flux, "abandoned", light->abandoned_lm, 1, by_rays);
    for (enum luxfall_loss i = 0; i < LUXFALL_LOSS_COUNT && good; i++)
        good = put(flux, luxfall_loss_name(i), light->loss_lm[i], 1, by_rays);
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

static bool fill_json(json_t *root, const struct inspected *inspected) {
    const struct luxfall_inspection *light = &inspected->light;
    const struct luxfall_scene *scene = &inspected->scene->light;
    const struct luxfall_module *module = &inspected->alone;
    bool by_rays = light->rays_traced > 0, lens = module->lens != LUXFALL_NO_LENS;
    return json_object_set_new(root, "luxfall", json_string(luxfall_version())) == 0 &&
           json_object_set_new(root, "scene", json_string(inspected->scene->path)) == 0 &&
           json_object_set_new(root, "module", json_string(module->name)) == 0 &&
           json_object_set_new(root, "emitter", json_string(scene->emitters[module->emitter].name)) == 0 &&
           json_object_set_new(root, "lens", lens ? json_string(scene->lenses[module->lens].name) : json_null()) ==
               0 &&
           json_object_set_new(root, "method", json_string(by_rays ? "rays" : "direct")) == 0 &&
           json_object_set_new(root, "seed", json_integer((json_int_t)inspected->options.seed)) == 0 &&
           json_object_set_new(root, "rays_traced", json_integer((json_int_t)light->rays_traced)) == 0 &&
           json_object_set_new(root, "stage", stage_json(inspected, by_rays)) == 0 &&
           put(root, "beam_angle_deg", light->beam_angle_rad, 1 / DEGREE, by_rays) &&
           put(root, "beam_angle_along_x_deg", light->plane_beam_rad[0], 1 / DEGREE, by_rays) &&
           put(root, "beam_angle_along_y_deg", light->plane_beam_rad[2], 1 / DEGREE, by_rays) &&
           put(root, "field_angle_deg", light->field_angle_rad, 1 / DEGREE, by_rays) &&
           put(root, "centre_beam_cd", light->centre_cd, 1, by_rays) &&
           put(root, "centre_beam_cd_per_lm", light->centre_cd, 1 / light->flux_lm, by_rays) &&
           put(root, "efficiency", light->efficiency, 1, by_rays) &&
           put(root, "share_in_beam_angle", light->in_beam, 1, by_rays) &&
           put(root, "share_in_field_angle", light->in_field, 1, by_rays) &&
           json_object_set_new(root, "bound_cd_per_lm", number(light->bound_cd_per_lm)) == 0 &&
           json_object_set_new(root, "bound_domed_cd_per_lm", number(light->bound_domed_cd_per_lm)) == 0 &&
           json_object_set_new(root, "narrowest_full_beam_deg", number(light->floor_rad / DEGREE)) == 0 &&
           json_object_set_new(root, "narrowest_full_beam_domed_deg", number(light->floor_domed_rad / DEGREE)) == 0 &&
           json_object_set_new(root, "flux_lm", flux_json(light, by_rays)) == 0 &&
           json_object_set_new(root, "rings", rings_json(light, by_rays)) == 0;
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

int inspected_write_csv(const struct inspected *inspected, const char *path, struct figure_error *error) {
    const struct luxfall_inspection *light = &inspected->light;
    struct whole_file file;
    if (whole_file_begin(&file, path, error) != 0)
        return error->status;
    fputs("angle_deg,intensity_cd,intensity_cd_u95,cd_per_lm\n", file.stream);
    fprintf(file.stream, "0,%.7g,%.3g,%.7g\n", light->centre_cd.value,
            isnan(light->centre_cd.u95) ? 0 : light->centre_cd.u95, light->centre_cd.value / light->flux_lm);
    for (int k = 0; k < RINGS; k++)
        fprintf(file.stream, "%.6g,%.7g,%.3g,%.7g\n", ring_deg(k), light->cd[k].value,
                isnan(light->cd[k].u95) ? 0 : light->cd[k].u95, light->cd[k].value / light->flux_lm);
    return ferror(file.stream) ? whole_file_fail(&file, NULL, error) : whole_file_commit(&file, error);
}

/* ---- the picture ----------------------------------------------------------------------------------------------- */

enum { POINTS = RINGS + 1 }; /* the axis, and the middle of every ring */
struct curves {
    size_t count;
    double angle_deg[POINTS], stage_mm[POINTS], cd[POINTS], cd_u95[POINTS], lx[POINTS], lx_u95[POINTS];
};

/* Along x from the middle outwards, between two points of the section. */
static void read_stage(const struct luxfall_section *section, double at_mm, double *lx, double *u95) {
    *lx = *u95 = NAN;
    for (size_t i = 1; i < section->count; i++) {
        double from = section->at_mm[i - 1], to = section->at_mm[i];
        if (at_mm < from || at_mm > to)
            continue;
        double share = (at_mm - from) / (to - from);
        *lx = (1 - share) * section->lx[i - 1] + share * section->lx[i];
        *u95 = section->u95_lx ? fmax(section->u95_lx[i - 1], section->u95_lx[i]) : NAN;
        return;
    }
}

/* Out to where the beam has faded, and not beyond what the stage shows. */
static double last_deg(const struct inspected *inspected) {
    double field_deg = inspected->light.field_angle_rad.value / DEGREE;
    return isnan(field_deg) ? 88 : fmin(88, 0.85 * field_deg);
}

static void add_point(const struct inspected *inspected, double angle_deg, struct luxfall_estimate cd,
                      struct curves *curves) {
    size_t i = curves->count++;
    curves->angle_deg[i] = angle_deg;
    curves->stage_mm[i] = inspected->distance_mm * tan(angle_deg * DEGREE);
    curves->cd[i] = cd.value;
    curves->cd_u95[i] = cd.u95;
    read_stage(&inspected->spot->planes[0].along_x, curves->stage_mm[i], &curves->lx[i], &curves->lx_u95[i]);
}

static void fill_curves(const struct inspected *inspected, struct curves *curves) {
    double last = last_deg(inspected);
    add_point(inspected, 0, inspected->light.centre_cd, curves);
    for (int k = 0; k < RINGS && ring_deg(k) <= last && !isnan(curves->lx[curves->count - 1]); k++)
        add_point(inspected, ring_deg(k), inspected->light.cd[k], curves);
}

static char *caption_text(const struct inspected *inspected) {
    char *text = NULL, *lamp = figure_lamp_text(&inspected->stage, inspected->spot);
    size_t size = 0;
    FILE *out = lamp ? open_memstream(&text, &size) : NULL;
    if (out) {
        char rays[FORMAT_SIZE];
        fprintf(out, "%sAbove: on the stage, %.5g mm straight below; below: far away, over the angle from the axis. ",
                lamp, inspected->distance_mm);
        format_rays(rays, inspected->light.rays_traced);
        if (inspected->light.rays_traced > 0)
            fprintf(out, "%s rays, seed %llu, bands of 95 %%; ", rays, (unsigned long long)inspected->options.seed);
        fputs("luxfall " LUXFALL_VERSION ".", out);
        bool lost = ferror(out) != 0;
        if (fclose(out) != 0 || lost) {
            free(text);
            text = NULL;
        }
    }
    free(lamp);
    return text;
}

static int draw(const struct inspected *inspected, const struct curves *curves, const char *caption,
                const struct figure_style *style, const char *path, struct figure_error *error) {
    const struct luxfall_inspection *light = &inspected->light;
    bool by_rays = light->rays_traced > 0;
    const struct figure_series stage = {"", curves->lx, by_rays ? curves->lx_u95 : NULL};
    const struct figure_series far = {"", curves->cd, by_rays ? curves->cd_u95 : NULL};
    const struct figure_panel panels[] = {{"on the stage", "lx", 1, &stage, NAN}, {"intensity", "cd", 1, &far, NAN}};
    const struct figure_mark marks[] = {{light->beam_angle_rad.value / DEGREE / 2, "half the beam angle"},
                                        {light->field_angle_rad.value / DEGREE / 2, "half the field angle"}};
    size_t mark_count = isnan(light->beam_angle_rad.value) ? 0 : isnan(light->field_angle_rad.value) ? 1 : 2;
    char title[300];
    snprintf(title, sizeof title, "%.200s: %.80s", inspected->scene->title, inspected->alone.name);
    const struct figure_sweep figure = {.title = title,
                                        .caption = caption,
                                        .x_label = "angle from the axis",
                                        .x_unit = "deg",
                                        .count = curves->count,
                                        .x = curves->angle_deg,
                                        .x2_label = "from the middle of the stage",
                                        .x2_unit = "mm",
                                        .x2 = curves->stage_mm,
                                        .panel_count = 2,
                                        .panels = panels,
                                        .mark_count = mark_count,
                                        .marks = marks};
    return figure_sweep(path, &figure, style, error);
}

int inspected_write_figure(const struct inspected *inspected, const struct figure_style *style, const char *path,
                           struct figure_error *error) {
    struct curves *curves = calloc(1, sizeof *curves);
    char *caption = caption_text(inspected);
    int status;
    if (curves && caption) {
        fill_curves(inspected, curves);
        status = draw(inspected, curves, caption, style, path, error);
    } else
        status = figure_fail(error, EXIT_MACHINE, "%s could not be written: out of memory", path);
    free(curves);
    free(caption);
    return status;
}
