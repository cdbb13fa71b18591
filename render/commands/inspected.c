#include "inspected.h"

#include "progress.h"
#include "stop.h"

#include <math.h>
#include <stdlib.h>
#include <unistd.h>

static const double PI = 3.14159265358979323846;

/* ---- the stage ------------------------------------------------------------------------------------------------- */

static double own_distance_mm(const struct luxfall_pose *pose) {
    struct luxfall_bracket bracket;
    luxfall_bracket(pose, &bracket);
    return isfinite(bracket.distance_mm) ? bracket.distance_mm : pose->at_mm.z;
}

/* A map that holds the visible edge with room to spare. */
static struct luxfall_target stage_target(const struct inspected *inspected) {
    enum { CELLS = 240 };
    const double widest_rad = 64 * PI / 180; /* a Lambertian spot falls to a tenth at 56 */
    const struct luxfall_inspection *light = &inspected->light;
    double field_rad = isnan(light->field_angle_rad.value) ? PI : light->field_angle_rad.value;
    double lean_rad = hypot(light->lean_x_rad.value, light->lean_y_rad.value);
    double half_mm = inspected->distance_mm * tan(fmin(0.7 * field_rad + lean_rad, widest_rad));
    if (inspected->alone.lens != LUXFALL_NO_LENS)
        half_mm += luxfall_lens_diameter_mm(&inspected->scene->light.lenses[inspected->alone.lens]) / 2;
    return (struct luxfall_target){CELLS, CELLS, 2 * half_mm / CELLS, 1, &inspected->level_mm};
}

static struct scene_group group_of(const struct scene *scene, size_t module) {
    size_t i = 0;
    while (i + 1 < scene->group_count && module >= scene->groups[i].first + scene->groups[i].count)
        i++;
    return scene->groups[i];
}

static void set_stage(struct inspected *inspected) {
    const struct luxfall_scene *light = &inspected->scene->light;
    inspected->alone.pose = (struct luxfall_pose){
        .at_mm = {0, 0, inspected->distance_mm}, .x = {1, 0, 0}, .y = {0, -1, 0}, .axis = {0, 0, -1}};
    inspected->stage = *inspected->scene;
    inspected->group = group_of(inspected->scene, inspected->module);
    inspected->group.name = inspected->alone.name;
    inspected->group.first = 0;
    inspected->group.count = 1;
    inspected->group.placement =
        (struct luxfall_placement){.kind = LUXFALL_AT_SINGLE, .distance_mm = inspected->distance_mm};
    inspected->stage.groups = &inspected->group;
    inspected->stage.group_count = 1;
    inspected->stage.light = *light;
    inspected->stage.light.modules = &inspected->alone;
    inspected->stage.light.module_count = 1;
    inspected->stage.light.field_count = 0;
    inspected->stage.light.target = stage_target(inspected);
}

/* Exact where the light is known by angle. */
static enum luxfall_status trace_spot(struct inspected *inspected, struct luxfall_error *error) {
    struct luxfall_options options = inspected->options;
    options.method = inspected->light.rays_traced > 0 ? LUXFALL_RAYS : LUXFALL_DIRECT;
    options.accuracy = 0;
    options.rays = options.rays > 0 ? options.rays : LUXFALL_INSPECTION_RAYS;
    return luxfall_trace(&inspected->stage.light, &options, &inspected->spot, error);
}

static bool on_progress(void *progress, const struct luxfall_progress *now) {
    progress_show(progress, now);
    return !stop_wanted();
}

enum luxfall_status inspected_make(struct inspected *inspected, struct luxfall_error *error) {
    const struct luxfall_scene *light = &inspected->scene->light;
    struct progress progress;
    progress_begin(&progress, stderr, isatty(STDERR_FILENO), light->modules[inspected->module].name, NULL, NULL);
    inspected->options.progress = on_progress;
    inspected->options.user = &progress;
    inspected->alone = light->modules[inspected->module];
    inspected->alone.dark = false;
    if (inspected->distance_mm == 0)
        inspected->distance_mm = own_distance_mm(&inspected->alone.pose);
    stop_phase(STOP_BY_FLAG);
    enum luxfall_status status =
        luxfall_inspect(light, inspected->module, &inspected->options, &inspected->light, error);
    if (status == LUXFALL_OK) {
        set_stage(inspected);
        status = trace_spot(inspected, error);
    }
    stop_phase(STOP_AT_ONCE);
    progress_end(&progress);
    return status;
}

void inspected_release(struct inspected *inspected) {
    luxfall_result_free(inspected->spot);
}

/* ---- round or not ---------------------------------------------------------------------------------------------- */

static const double LITTLE = 0.02;

bool inspected_is_aside(const struct luxfall_inspection *light) {
    double little_rad = LITTLE * light->beam_angle_rad.value;
    return fabs(light->lean_x_rad.value) > fmax(little_rad, light->lean_x_rad.u95) ||
           fabs(light->lean_y_rad.value) > fmax(little_rad, light->lean_y_rad.u95);
}

static bool are_alike(struct luxfall_estimate a, struct luxfall_estimate b) {
    return fabs(a.value - b.value) <= fmax(LITTLE * a.value, hypot(a.u95, b.u95));
}

size_t inspected_planes(const struct luxfall_inspection *light, int planes[LUXFALL_HALF_PLANES / 2]) {
    static const int order[] = {0, 2, 1, 3};
    const struct luxfall_estimate *beam = light->plane_beam_rad;
    size_t count = 1;
    planes[0] = 0;
    if (light->rays_traced == 0)
        return count;
    for (size_t i = 1; i < sizeof order / sizeof *order; i++) {
        bool told = inspected_is_aside(light) && i > 1;
        for (size_t k = 0; k < count; k++)
            told = told || (are_alike(beam[order[i]], beam[planes[k]]) && !inspected_is_aside(light));
        if (!told)
            planes[count++] = order[i];
    }
    return count;
}

const char *inspected_plane_name(int plane) {
    static const char *const names[LUXFALL_HALF_PLANES / 2] = {"along x", "at 45°", "along y", "at 135°"};
    return names[plane];
}
