#include "hint.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#define POOR_U0 0.90        /* darkest/average below which a hint may be earned; wanted for measuring by grey level */
#define WANTED_OF_DROP 0.40 /* the fall-off aimed at, of what it is */
#define WORTH_OF_DROP 0.70  /* a smaller gain is not worth a screw */
#define LIGHT_KEPT 0.40     /* of the centre's, at least */
#define STEPS 16            /* of the walk, up to twice the field's half diagonal */

/* A copy of the scene whose modules can be aimed anew. aim: mm short of the centre; past it when negative. */
struct trial {
    const struct scene *scene;
    struct luxfall_scene light;
    struct luxfall_module *modules;
    struct luxfall_pose *poses;
    const struct luxfall_field *field;
    double level_mm, now_mm;
};

static bool aimed_along_foot(const struct luxfall_placement *placement, double *aim_mm) {
    *aim_mm = placement->aim == LUXFALL_AIM_SHORT  ? placement->aim_mm
              : placement->aim == LUXFALL_AIM_PAST ? -placement->aim_mm
                                                   : 0;
    return placement->aim == LUXFALL_AIM_CENTRE || placement->aim == LUXFALL_AIM_SHORT ||
           placement->aim == LUXFALL_AIM_PAST;
}

static bool known_by_angle(const struct luxfall_scene *light) {
    for (size_t i = 0; i < light->module_count; i++) {
        size_t lens = light->modules[i].lens;
        if (!light->modules[i].dark && lens != LUXFALL_NO_LENS && light->lenses[lens].kind != LUXFALL_LENS_BEAM)
            return false;
    }
    return true;
}

/* All groups aimed along the line to their feet, and all by the same amount? */
static bool aimed_alike(const struct scene *scene, double *now_mm) {
    for (size_t i = 0; i < scene->group_count; i++) {
        double aim_mm;
        if (!aimed_along_foot(&scene->groups[i].placement, &aim_mm) || (i > 0 && aim_mm != *now_mm))
            return false;
        *now_mm = aim_mm;
    }
    return scene->group_count > 0;
}

static bool aim_at(struct trial *trial, double aim_mm) {
    for (size_t i = 0; i < trial->scene->group_count; i++) {
        const struct scene_group *group = &trial->scene->groups[i];
        struct luxfall_placement placement = group->placement;
        placement.aim = aim_mm > 0 ? LUXFALL_AIM_SHORT : aim_mm < 0 ? LUXFALL_AIM_PAST : LUXFALL_AIM_CENTRE;
        placement.aim_mm = fabs(aim_mm);
        if (luxfall_place(&placement, trial->poses, NULL) != LUXFALL_OK)
            return false;
        for (size_t j = 0; j < group->count; j++)
            trial->modules[group->first + j].pose = trial->poses[j];
    }
    return true;
}

static double reading_lx(const struct trial *trial, double x_mm, double y_mm) {
    double lx;
    if (luxfall_direct_reading(&trial->light, trial->field->x_mm + x_mm, trial->field->y_mm + y_mm, trial->level_mm,
                               0, &lx, NULL) != LUXFALL_OK)
        return NAN;
    return lx;
}

/* Fall-off from the centre to the darkest of eight points on the edge: corners and middles of sides. NaN: no aim. */
static double drop_at(struct trial *trial, double aim_mm) {
    if (!aim_at(trial, aim_mm))
        return NAN;
    double centre = reading_lx(trial, 0, 0), darkest = INFINITY;
    double diagonal = trial->field->round ? sqrt(0.5) : 1;
    for (int i = 0; i < 8; i++) {
        static const int x[8] = {1, 1, 0, -1, -1, -1, 0, 1}, y[8] = {0, 1, 1, 1, 0, -1, -1, -1};
        double scale = (x[i] && y[i] ? diagonal : 1) / 2;
        darkest = fmin(darkest, reading_lx(trial, scale * x[i] * trial->field->width_mm,
                                           scale * y[i] * trial->field->height_mm));
    }
    return 1 - darkest / centre;
}

static double round_to_screw(double aim_mm) {
    double step = fabs(aim_mm) < 10 ? 1 : fabs(aim_mm) < 100 ? 5 : 10;
    return step * round(aim_mm / step);
}

/* Walks from the present aim to the better side until the fall-off is what is wanted, or as small as it gets. */
static double best_aim(struct trial *trial, double drop_now) {
    double step = hypot(trial->field->width_mm, trial->field->height_mm) / STEPS;
    double ahead = drop_at(trial, trial->now_mm + step), behind = drop_at(trial, trial->now_mm - step);
    if (!(fmin(ahead, behind) < drop_now)) /* fmin passes over a NaN */
        return trial->now_mm;
    if (isnan(ahead) || behind < ahead)
        step = -step;
    double aim = trial->now_mm, drop = drop_now;
    for (int i = 1; i <= STEPS; i++) {
        double next = trial->now_mm + i * step, next_drop = drop_at(trial, next);
        if (!(next_drop < drop))
            break;
        double wanted = WANTED_OF_DROP * drop_now;
        if (next_drop <= wanted)
            return aim + (next - aim) * (drop - wanted) / (drop - next_drop);
        aim = next;
        drop = next_drop;
    }
    return aim;
}

/* The widest field's own definitions, by the direct way, over a map of one cell. */
static bool measure(struct trial *trial, double aim_mm, struct luxfall_field_result *out) {
    struct luxfall_options options;
    struct luxfall_result *result;
    luxfall_options_init(&options);
    options.method = LUXFALL_DIRECT;
    if (!aim_at(trial, aim_mm) || luxfall_trace(&trial->light, &options, &result, NULL) != LUXFALL_OK)
        return false;
    *out = result->planes[0].fields[0];
    luxfall_result_free(result);
    return true;
}

static bool describe(struct trial *trial, double aim_mm, char text[HINT_SIZE]) {
    struct luxfall_field_result now, then;
    if (!measure(trial, trial->now_mm, &now) || !measure(trial, aim_mm, &then))
        return false;
    double drop_now = 1 - now.edge_over_centre.value, drop_then = 1 - then.edge_over_centre.value;
    double light = then.centre_lx.value / now.centre_lx.value;
    if (!(drop_then < WORTH_OF_DROP * drop_now) || !(light >= LIGHT_KEPT) ||
        !(then.minimum_over_average.value > now.minimum_over_average.value))
        return false;
    snprintf(text, HINT_SIZE, "%s %.0f %% darker than the centre: aim %g mm %s gives %.0f %%, at %.0f %% %s light",
             trial->field->round ? "the edge is" : "corners", 100 * drop_now, fabs(aim_mm),
             aim_mm > 0 ? "short" : "past", 100 * fmax(drop_then, 0), 100 * fabs(1 - light),
             light < 1 ? "less" : "more");
    return true;
}

static const struct luxfall_field *widest_field(const struct luxfall_scene *light, size_t *index) {
    const struct luxfall_field *widest = NULL;
    for (size_t i = 0; i < light->field_count; i++) {
        const struct luxfall_field *field = &light->fields[i];
        if (widest && field->width_mm * field->height_mm <= widest->width_mm * widest->height_mm)
            continue;
        widest = field;
        *index = i;
    }
    return widest;
}

static bool trial_init(struct trial *trial, const struct scene *scene, double now_mm, double level_mm) {
    const struct luxfall_scene *light = &scene->light;
    size_t size = light->module_count * sizeof *light->modules;
    *trial = (struct trial){.scene = scene, .light = *light, .level_mm = level_mm, .now_mm = now_mm};
    trial->modules = malloc(size);
    trial->poses = malloc(light->module_count * sizeof *trial->poses);
    if (!trial->modules || !trial->poses)
        return false;
    memcpy(trial->modules, light->modules, size);
    trial->light.modules = trial->modules;
    trial->light.target = (struct luxfall_target){
        .columns = 1, .rows = 1, .cell_mm = light->target.cell_mm, .level_count = 1, .level_mm = &trial->level_mm};
    return true;
}

static bool search(struct trial *trial, char text[HINT_SIZE]) {
    double drop_now = drop_at(trial, trial->now_mm);
    if (!(drop_now > 0))
        return false;
    double aim_mm = round_to_screw(best_aim(trial, drop_now));
    return aim_mm != trial->now_mm && aim_mm != 0 && describe(trial, aim_mm, text);
}

bool hint_find(const struct scene *scene, const struct luxfall_result *result, char text[HINT_SIZE]) {
    size_t widest = 0;
    double now_mm = 0;
    const struct luxfall_field *field = widest_field(&scene->light, &widest);
    if (!field || !(result->planes[0].fields[widest].minimum_over_average.value < POOR_U0) ||
        !known_by_angle(&scene->light) || !aimed_alike(scene, &now_mm))
        return false;
    struct trial trial;
    bool earned = trial_init(&trial, scene, now_mm, result->planes[0].level_mm);
    if (earned) {
        trial.field = field;
        trial.light.fields = field;
        trial.light.field_count = 1;
        earned = search(&trial, text);
    }
    free(trial.modules);
    free(trial.poses);
    return earned;
}
