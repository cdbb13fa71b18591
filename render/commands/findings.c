#include "findings.h"

#include <math.h>

/* Rays and the direct way share nothing but the beam's shape: at three bands (six standard errors) apart, one of the
 * two is wrong; chance does it once in a million centres. */
#define DISAGREE_U95 3.0
/* Abandoned light that is worth a word. */
#define ABANDONED_SHARE 1e-6

struct finder {
    const struct scene *scene;
    const struct luxfall_result *result;
    struct messages *found;
};

static void warn_plane(const struct finder *finder, const struct luxfall_plane_result *plane, const char *text) {
    if (finder->result->plane_count > 1)
        messages_add(finder->found, MESSAGE_WARNING, finder->scene->target_place, NULL, "level %g mm: %s",
                     plane->level_mm, text);
    else
        messages_add(finder->found, MESSAGE_WARNING, finder->scene->target_place, NULL, "%s", text);
}

static void find_in_plane(const struct finder *finder, const struct luxfall_plane_result *plane) {
    bool dark = !(plane->ledger.on_map_lm.value > 0);
    if (dark)
        warn_plane(finder, plane, "no light reaches the map: its peak and spot are not to be had");
    else if (isnan(plane->half_peak_diameter_mm.value))
        warn_plane(finder, plane,
                   "the map's edge cuts the spot at 50 % of the peak, and the visible edge: neither "
                   "diameter is to be had; a larger target size holds them");
    else if (isnan(plane->tenth_peak_diameter_mm.value))
        warn_plane(finder, plane,
                   "the map's edge cuts the visible edge (10 % of the peak): its diameter is not to be "
                   "had; a larger target size holds it");
    double abandoned = plane->ledger.abandoned_lm.value, emitted = plane->ledger.emitted_lm.value;
    if (abandoned > ABANDONED_SHARE * emitted)
        messages_add(finder->found, MESSAGE_WARNING, finder->scene->target_place, NULL,
                     "%.2g %% of the light was abandoned after too many bounces in a lens",
                     100 * abandoned / emitted);
}

static void find_in_field(const struct finder *finder, const struct luxfall_plane_result *plane, size_t index) {
    const struct luxfall_field_result *field = &plane->fields[index];
    const char *name = finder->scene->light.fields[index].name;
    struct scene_place place = finder->scene->field_places[index];
    if (!(field->average_lx.value > 0)) {
        messages_add(finder->found, MESSAGE_WARNING, place, NULL,
                     "no light reaches the field '%s' on level %g mm: its ratios are not to be had", name,
                     plane->level_mm);
        return;
    }
    if (isnan(field->edge_over_centre.value) || isnan(field->minimum_over_average.value))
        messages_add(finder->found, MESSAGE_WARNING, place, NULL,
                     "too little light reaches the field '%s' on level %g mm: some of its ratios are not to be had",
                     name, plane->level_mm);
    if (fabs(field->centre_difference_in_u95) > DISAGREE_U95)
        messages_add(finder->found, MESSAGE_WARNING, place, NULL,
                     "rays and the direct integral disagree at the centre of the field '%s' on level %g mm: %.5g lx "
                     "against %.5g lx, %.1f bands apart; do not trust these figures, and please report the scene",
                     name, plane->level_mm, field->centre_lx.value, field->centre_direct_lx,
                     fabs(field->centre_difference_in_u95));
}

/* Where the modules that this one belongs to are said. */
static struct scene_place group_place(const struct scene *scene, size_t module) {
    size_t g = 0;
    while (g + 1 < scene->group_count && module >= scene->groups[g + 1].first)
        g++;
    return scene->groups[g].place;
}

/* What of a module is traced: a cover, its lens, or the package of a bare LED. */
static void find_traced(const struct finder *finder, size_t i) {
    const struct luxfall_scene *light = &finder->scene->light;
    const struct luxfall_module *module = &light->modules[i];
    struct scene_place place = group_place(finder->scene, i);
    const char *what = "package of emitter", *name = light->emitters[module->emitter].name;
    if (module->cover_count > 0) {
        what = "cover";
        name = light->covers[module->covers[0]].name;
    } else if (module->lens != LUXFALL_NO_LENS) {
        what = "lens";
        name = light->lenses[module->lens].name;
        place = finder->scene->lens_places[module->lens];
    }
    messages_add(finder->found, MESSAGE_WARNING, place, NULL,
                 "the %s '%s' is traced: the direct check of the fields' centres is not to be had", what, name);
}

static void find_in_tracing(const struct finder *finder) {
    const struct luxfall_result *result = finder->result;
    if (result->method != LUXFALL_RAYS)
        return;
    struct scene_place whole = {.file = finder->scene->path};
    if (result->accuracy_wanted > 0 && !result->accuracy_reached)
        messages_add(
            finder->found, MESSAGE_WARNING, whole, NULL,
            "accuracy of %.3g %% not reached%s: the widest band of a field's average, centre or minimum is %.3g %%",
            100 * result->accuracy_wanted, result->cap_reached ? " within the ray cap" : "",
            100 * result->accuracy_worst);
    const struct luxfall_scene *light = &finder->scene->light;
    for (size_t i = 0; i < light->module_count; i++) {
        const struct luxfall_module *module = &light->modules[i];
        if (module->dark || luxfall_known_by_angle(light, i))
            continue;
        find_traced(finder, i);
        return;
    }
}

void findings_add(const struct scene *scene, const struct luxfall_result *result, bool of_maps,
                  struct messages *found) {
    struct finder finder = {scene, result, found};
    find_in_tracing(&finder);
    for (size_t i = 0; i < result->plane_count; i++) {
        if (of_maps)
            find_in_plane(&finder, &result->planes[i]);
        for (size_t j = 0; j < result->field_count; j++)
            find_in_field(&finder, &result->planes[i], j);
    }
}

int findings_tell(const struct scene *scene, const struct luxfall_result *result, const char *name,
                  struct messages *messages) {
    struct messages found = {0}, told = {0};
    findings_add(scene, result, true, &found);
    for (size_t i = 0; i < found.count; i++)
        messages_add(&told, found.items[i].kind, found.items[i].place, found.items[i].source, "%s%s%s",
                     name ? name : "", name ? ": " : "", found.items[i].text);
    messages_print(&told, stderr);
    findings_add(scene, result, true, messages);
    bool failed = found.out_of_memory || told.out_of_memory || messages->out_of_memory;
    if (failed)
        fputs("luxfall: error: out of memory\n", stderr);
    messages_clear(&found);
    messages_clear(&told);
    return failed ? 1 : 0;
}
