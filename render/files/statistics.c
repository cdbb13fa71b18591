#include "files.h"

#include "exposure.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

/* ---- small helpers: a failed json_* returns NULL, and setting NULL fails in turn, so that `lost` gathers all
 * -------- */

struct writer {
    bool by_rays, lost;
};

static void put(struct writer *w, json_t *object, const char *key, json_t *value) {
    if (json_object_set_new(object, key, value) != 0)
        w->lost = true;
}

static void append(struct writer *w, json_t *array, json_t *value) {
    if (json_array_append_new(array, value) != 0)
        w->lost = true;
}

/* JSON has no NaN: what is not to be had is null. */
static json_t *number(double value) {
    return isfinite(value) ? json_real(value) : json_null();
}

static void put_number(struct writer *w, json_t *object, const char *key, double value) {
    put(w, object, key, number(value));
}

/* JSON integers of most readers end at 2^63; a larger seed or count goes as text. */
static void put_count(struct writer *w, json_t *object, const char *key, uint64_t value) {
    char text[24];
    snprintf(text, sizeof text, "%llu", (unsigned long long)value);
    put(w, object, key, value <= INT64_MAX ? json_integer((json_int_t)value) : json_string(text));
}

static void put_estimate(struct writer *w, json_t *object, const char *key, struct luxfall_estimate e) {
    put_number(w, object, key, e.value);
    if (w->by_rays) {
        char band[64];
        snprintf(band, sizeof band, "%s_u95", key);
        put_number(w, object, band, isfinite(e.value) ? e.u95 : NAN);
    }
}

/* Names come from checked scenes, but bytes that are no UTF-8 must not cost the whole file. */
static json_t *text(const char *string) {
    json_t *value = json_string(string);
    return value != NULL ? value : json_string_nocheck("(not readable)");
}

static json_t *numbers(size_t count, const double *values) {
    json_t *array = json_array();
    for (size_t i = 0; array != NULL && i < count; i++)
        if (json_array_append_new(array, number(values[i])) != 0) {
            json_decref(array);
            return NULL;
        }
    return array;
}

static json_t *vector(struct luxfall_vec v) {
    return numbers(3, (double[]){v.x, v.y, v.z});
}

/* ---- the parts ------------------------------------------------------------------------------------------------- */

static double degrees(double rad) {
    return rad * 57.295779513082320877;
}

/* At which wavelength a traced lens was traced, and with which index. */
static void put_optics(struct writer *w, json_t *object, const struct luxfall_scene *light,
                       const struct luxfall_module *module) {
    double index = 0, wavelength_um = light->emitters[module->emitter].wavelength_um;
    if (module->lens == LUXFALL_NO_LENS || !luxfall_lens_has_material(&light->lenses[module->lens]) ||
        luxfall_material_index(&light->lenses[module->lens].material, wavelength_um, &index, NULL) != LUXFALL_OK)
        return;
    put_number(w, object, "wavelength_nm", wavelength_um * 1e3);
    put_number(w, object, "lens_index", index);
}

/* How it is built, where that is not as drawn. */
static void put_built(struct writer *w, json_t *object, const struct luxfall_assembly *built) {
    bool drawn = built->die_x_mm == 0 && built->die_y_mm == 0 && built->seat_mm == 0 && built->decentre_x_mm == 0 &&
                 built->decentre_y_mm == 0 && built->lean_rad == 0;
    if (drawn)
        return;
    json_t *how = json_object();
    put(w, how, "die_shift_mm", numbers(2, (double[]){built->die_x_mm, built->die_y_mm}));
    put_number(w, how, "seat_mm", built->seat_mm);
    put(w, how, "decentre_mm", numbers(2, (double[]){built->decentre_x_mm, built->decentre_y_mm}));
    put_number(w, how, "lens_lean_deg", degrees(built->lean_rad));
    put_number(w, how, "lens_lean_towards_deg", degrees(built->lean_azimuth_rad));
    put(w, object, "built", how);
}

/* What the dies are packed in, where their light is traced out of it. */
static void put_package(struct writer *w, json_t *object, const struct luxfall_scene *light, size_t module) {
    const struct luxfall_emitter *emitter = &light->emitters[light->modules[module].emitter];
    const struct luxfall_package *p = &emitter->package;
    double index;
    if (!luxfall_traces_package(light, module))
        return;
    json_t *how = json_object();
    if (p->dome_mm > 0) {
        put_number(w, how, "dome_mm", p->dome_mm);
        put_number(w, how, "dome_height_mm", p->dome_height_mm);
    }
    if (p->depth_mm > 0) {
        put_number(w, how, "cup_floor_mm", p->floor_mm);
        put_number(w, how, "cup_opening_mm", p->opening_mm);
        put_number(w, how, "cup_depth_mm", p->depth_mm);
        put_number(w, how, "cup_reflectance", p->wall);
        put(w, how, "cup_finish", json_string(p->wall_mirror ? "mirror" : "white"));
    }
    put_number(w, how, "bottom_reflectance", p->bottom);
    if (luxfall_material_index(&p->material, emitter->wavelength_um, &index, NULL) == LUXFALL_OK)
        put_number(w, how, "index", index);
    put_number(w, how, "die_height_mm", p->die_height_mm);
    put(w, how, "die_offset_mm", numbers(2, (double[]){p->die_x_mm, p->die_y_mm}));
    put_number(w, how, "die_lean_deg", degrees(p->die_lean_rad));
    put_number(w, how, "die_lean_towards_deg", degrees(p->die_lean_azimuth_rad));
    put(w, object, "package", how);
}

static void put_covers(struct writer *w, json_t *object, const struct luxfall_scene *light,
                       const struct luxfall_module *module) {
    json_t *names = json_array();
    for (size_t i = 0; i < module->cover_count; i++)
        append(w, names, text(light->covers[module->covers[i]].name));
    if (module->cover_count > 0)
        put(w, object, "covers", names);
    else
        json_decref(names);
}

static json_t *module_json(struct writer *w, const struct luxfall_scene *light, size_t i,
                           const struct luxfall_module_result *result) {
    const struct luxfall_module *module = &light->modules[i];
    const struct luxfall_bracket *bracket = &result->bracket;
    json_t *object = json_object();
    put(w, object, "name", text(module->name));
    put(w, object, "at_mm", vector(module->pose.at_mm));
    put(w, object, "aim_mm", vector(bracket->aim_mm));
    put_number(w, object, "lean_deg", degrees(bracket->lean_rad));
    put_number(w, object, "clock_deg", degrees(bracket->clock_rad));
    put_number(w, object, "distance_mm", bracket->distance_mm);
    put_number(w, object, "incidence_deg", degrees(bracket->incidence_rad));
    put_number(w, object, "flux_lm", result->flux_lm);
    put_number(w, object, "current_a", result->current_a);
    put_number(w, object, "voltage_v", result->voltage_v);
    put_number(w, object, "power_w", result->power_w);
    put_number(w, object, "junction_c", result->junction_c);
    put(w, object, "dark", json_boolean(module->dark));
    put_optics(w, object, light, module);
    put_package(w, object, light, i);
    put_built(w, object, &module->built);
    put_covers(w, object, light, module);
    return object;
}

static json_t *ledger_json(struct writer *w, const struct luxfall_scene *light,
                           const struct luxfall_plane_result *plane) {
    const struct luxfall_ledger *ledger = &plane->ledger;
    json_t *object = json_object(), *by_cause = json_object(), *by_cover = json_array();
    put_estimate(w, object, "emitted", ledger->emitted_lm);
    put_estimate(w, object, "on_map", ledger->on_map_lm);
    put_estimate(w, object, "off_map", ledger->off_map_lm);
    put_estimate(w, object, "absorbed", ledger->absorbed_lm);
    put_estimate(w, object, "abandoned", ledger->abandoned_lm);
    for (int i = 0; i < LUXFALL_LOSS_COUNT; i++)
        put_estimate(w, by_cause, luxfall_loss_name(i), ledger->loss_lm[i]);
    for (size_t i = 0; i < light->cover_count; i++) {
        json_t *cover = json_object();
        put(w, cover, "name", text(light->covers[i].name));
        put_estimate(w, cover, "absorbed", plane->cover_lm[i]);
        append(w, by_cover, cover);
    }
    put(w, object, "absorbed_by", by_cause);
    if (light->cover_count > 0)
        put(w, object, "absorbed_by_cover", by_cover);
    else
        json_decref(by_cover);
    return object;
}

static json_t *map_json(struct writer *w, const struct luxfall_plane_result *plane) {
    json_t *object = json_object();
    put_count(w, object, "columns", (uint64_t)plane->columns);
    put_count(w, object, "rows", (uint64_t)plane->rows);
    put_number(w, object, "cell_mm", plane->cell_mm);
    put_number(w, object, "disc_mm", plane->disc_mm);
    put_estimate(w, object, "peak_lx", plane->peak_lx);
    put(w, object, "peak_at_mm", numbers(2, (double[]){plane->peak_x_mm, plane->peak_y_mm}));
    put_estimate(w, object, "centre_lx", plane->centre_lx);
    return object;
}

/* Without a camera its light and time are null; the stops need none. */
static json_t *exposure_json(struct writer *w, const struct exposure *exposure) {
    json_t *object = json_object();
    put_estimate(w, object, "sensor_lx", exposure->sensor_lx);
    put_estimate(w, object, "shutter_s", exposure->shutter_s);
    put_estimate(w, object, "stops_edge", exposure->stops_edge);
    put_estimate(w, object, "stops_darkest", exposure->stops_darkest);
    put_estimate(w, object, "stops_to_first_field", exposure->stops_to_first_field);
    return object;
}

static json_t *field_json(struct writer *w, const struct scene *scene, const struct luxfall_plane_result *plane,
                          size_t index) {
    const struct luxfall_field *field = &scene->light.fields[index];
    const struct luxfall_field_result *r = &plane->fields[index];
    struct exposure exposure = exposure_of_field(scene, plane, index);
    json_t *object = json_object();
    put(w, object, "name", text(field->name));
    put(w, object, "round", json_boolean(field->round));
    put(w, object, "at_mm", numbers(2, (double[]){field->x_mm, field->y_mm}));
    put(w, object, "size_mm", numbers(2, (double[]){r->width_mm, r->height_mm}));
    put_number(w, object, "reading_mm", r->reading_mm);
    put_estimate(w, object, "centre_lx", r->centre_lx);
    put_number(w, object, "centre_direct_lx", r->centre_direct_lx);
    put_number(w, object, "centre_difference_in_u95", r->centre_difference_in_u95);
    put_estimate(w, object, "average_lx", r->average_lx);
    put_estimate(w, object, "minimum_lx", r->minimum_lx);
    put_estimate(w, object, "maximum_lx", r->maximum_lx);
    put_estimate(w, object, "minimum_over_average", r->minimum_over_average);
    put_estimate(w, object, "minimum_over_maximum", r->minimum_over_maximum);
    put_estimate(w, object, "edge_over_centre", r->edge_over_centre);
    put_estimate(w, object, "variation", r->variation);
    put_estimate(w, object, "tilt_percent_per_mm", r->tilt_percent_per_mm);
    put_estimate(w, object, "tilt_direction_deg", r->tilt_direction_deg);
    put_estimate(w, object, "dome_percent", r->dome_percent);
    put_estimate(w, object, "flux_lm", r->flux_lm);
    put_estimate(w, object, "utilisation", r->utilisation);
    put(w, object, "exposure", exposure_json(w, &exposure));
    return object;
}

static json_t *plane_json(struct writer *w, const struct scene *scene, const struct luxfall_plane_result *plane) {
    json_t *object = json_object(), *spot = json_object(), *fields = json_array();
    put_number(w, object, "level_mm", plane->level_mm);
    put(w, object, "flux_lm", ledger_json(w, &scene->light, plane));
    put(w, object, "map", map_json(w, plane));
    put_estimate(w, spot, "half_peak_diameter_mm", plane->half_peak_diameter_mm);
    put_estimate(w, spot, "tenth_peak_diameter_mm", plane->tenth_peak_diameter_mm);
    put(w, object, "spot", spot);
    for (size_t i = 0; i < scene->light.field_count; i++)
        append(w, fields, field_json(w, scene, plane, i));
    put(w, object, "fields", fields);
    return object;
}

static json_t *warnings_json(struct writer *w, const struct messages *warnings) {
    json_t *array = json_array();
    for (size_t i = 0; warnings != NULL && i < warnings->count; i++) {
        const struct message *m = &warnings->items[i];
        if (m->kind != MESSAGE_WARNING)
            continue;
        json_t *object = json_object(), *at;
        const char *file = m->place.file != NULL ? m->place.file : "";
        if (m->place.line > 0)
            at = json_sprintf("%s:%d:%d", file, m->place.line, m->place.column);
        else
            at = text(file);
        put(w, object, "at", at);
        put(w, object, "text", text(m->text));
        append(w, array, object);
    }
    return array;
}

/* What the numbers rest on and no band covers. */
static json_t *assumptions_json(struct writer *w, const struct luxfall_scene *light) {
    json_t *array = json_array();
    for (size_t i = 0; i < light->lens_count; i++) {
        if (light->lenses[i].kind != LUXFALL_LENS_BEAM)
            continue;
        append(
            w, array,
            json_sprintf("lens %s: the beam is taken from the lens sheet, the same from every point of the face; it "
                         "does not follow another die",
                         light->lenses[i].name));
    }
    return array;
}

static void put_method(struct writer *w, json_t *root, const struct luxfall_result *result) {
    put_count(w, root, "seed", result->seed);
    put(w, root, "method", json_string(w->by_rays ? "rays" : "direct"));
    put_count(w, root, "rays_traced", result->rays_traced);
    put_count(w, root, "rays_to_fields", result->rays_to_fields);
    put_count(w, root, "rays_cast", result->rays_cast);
    put_count(w, root, "replicates", (uint64_t)result->replicates);
    if (!w->by_rays) {
        put_number(w, root, "quadrature_error", result->quadrature_error);
        return;
    }
    put(w, root, "accuracy_reached", json_boolean(result->accuracy_reached));
    put_number(w, root, "accuracy_wanted", result->accuracy_wanted);
    put_number(w, root, "accuracy_worst", result->accuracy_worst);
}

/* What the lamp takes and costs. */
static void put_expense(struct writer *w, json_t *root, const struct scene *scene,
                        const struct luxfall_result *result) {
    put_number(w, root, "power_w", result->power_w);
    put_number(w, root, "price", scene_price(scene, NULL));
    put(w, root, "currency", scene->currency != NULL ? text(scene->currency) : json_null());
}

json_t *statistics_json(const struct scene *scene, const struct luxfall_result *result,
                        const struct measured *measured, const struct messages *warnings) {
    struct writer w = {.by_rays = result->method == LUXFALL_RAYS};
    json_t *root = json_object(), *modules = json_array(), *planes = json_array();
    put(&w, root, "luxfall", json_string(luxfall_version()));
    put(&w, root, "scene", text(scene->path));
    put(&w, root, "title", text(scene->title));
    put_method(&w, root, result);
    put_number(&w, root, "leaving_lm", result->leaving_lm);
    put_expense(&w, root, scene, result);
    for (size_t i = 0; i < result->module_count; i++)
        append(&w, modules, module_json(&w, &scene->light, i, &result->modules[i]));
    put(&w, root, "modules", modules);
    for (size_t i = 0; i < result->plane_count; i++)
        append(&w, planes, plane_json(&w, scene, &result->planes[i]));
    put(&w, root, "planes", planes);
    if (measured != NULL)
        put(&w, root, "readings", readings_json(measured));
    put(&w, root, "assumptions", assumptions_json(&w, &scene->light));
    put(&w, root, "warnings", warnings_json(&w, warnings));
    if (w.lost) {
        json_decref(root);
        return NULL;
    }
    return root;
}

int file_statistics(const char *path, const struct scene *scene, const struct luxfall_result *result,
                    const struct measured *measured, const struct messages *warnings, struct figure_error *error) {
    json_t *root = statistics_json(scene, result, measured, warnings);
    if (root == NULL)
        return figure_fail(error, 1, "%s could not be written: out of memory", path);
    struct whole_file file;
    int status = whole_file_begin(&file, path, error);
    if (status == 0) {
        int lost = json_dumpf(root, file.stream, STATISTICS_DUMP);
        fputc('\n', file.stream);
        status = lost == 0 ? whole_file_commit(&file, error) : whole_file_fail(&file, "out of memory", error);
    }
    json_decref(root);
    return status;
}
