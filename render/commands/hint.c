#include "hint.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#define POOR_U0 0.90        /* darkest/average below which a hint may be earned; wanted for measuring by grey level */
#define WANTED_OF_DROP 0.40 /* the fall-off aimed at, of what it is */
#define WORTH_OF_DROP 0.70  /* a smaller gain is not worth a screw */
#define LIGHT_KEPT 0.40     /* of the centre's, at least */
#define TRIALS 5            /* aims that are tried, at most */

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
        if (!light->modules[i].dark && !luxfall_known_by_angle(light, i))
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

static double round_to_screw(double aim_mm) {
    double step = fabs(aim_mm) < 10 ? 1 : fabs(aim_mm) < 100 ? 5 : 10;
    return step * round(aim_mm / step);
}

/* What an aim gives in the widest field, by its own definitions and the direct way, over a map of one cell. */
struct outlook {
    double aim_mm, drop, centre_lx, u0;
};

static bool look(struct trial *trial, double aim_mm, struct outlook *out) {
    struct luxfall_options options;
    struct luxfall_result *result;
    luxfall_options_init(&options);
    options.method = LUXFALL_DIRECT;
    if (!aim_at(trial, aim_mm) || luxfall_trace(&trial->light, &options, &result, NULL) != LUXFALL_OK)
        return false;
    const struct luxfall_field_result *field = &result->planes[0].fields[0];
    *out = (struct outlook){aim_mm, 1 - field->edge_over_centre.value, field->centre_lx.value,
                            field->minimum_over_average.value};
    luxfall_result_free(result);
    return true;
}

/* Near its aim the fall-off goes down with the square of the offset; the parabola through the present aim and the one
 * tried tells where it would be what is wanted. The aim whose fall-off came nearest to that is kept. */
static bool best_aim(struct trial *trial, const struct outlook *now, struct outlook *best) {
    double half_mm = hypot(trial->field->width_mm, trial->field->height_mm) / 2, wanted = WANTED_OF_DROP * now->drop;
    double offset_mm = half_mm, tried_mm = 0;
    bool found = false;
    for (int i = 0; i < TRIALS; i++) {
        double aim_mm = round_to_screw(now->aim_mm + offset_mm);
        struct outlook next;
        if (aim_mm == now->aim_mm || aim_mm == tried_mm)
            break;
        tried_mm = aim_mm;
        if (!look(trial, aim_mm, &next) || !(next.drop < now->drop)) {
            if (i > 0)
                break;
            offset_mm = -half_mm; /* short did not help: past may */
            continue;
        }
        if (!found || fabs(next.drop - wanted) < fabs(best->drop - wanted))
            *best = next;
        found = true;
        offset_mm = (aim_mm - now->aim_mm) * sqrt((now->drop - wanted) / (now->drop - next.drop));
        offset_mm = copysign(fmin(fabs(offset_mm), 2 * half_mm), offset_mm);
    }
    return found;
}

static bool describe(const struct trial *trial, const struct outlook *now, const struct outlook *then,
                     char text[HINT_SIZE]) {
    double light = then->centre_lx / now->centre_lx;
    if (!(then->drop < WORTH_OF_DROP * now->drop) || !(light >= LIGHT_KEPT) || !(then->u0 > now->u0))
        return false;
    char aim[40] = "at the centre";
    if (then->aim_mm != 0)
        snprintf(aim, sizeof aim, "%g mm %s", fabs(then->aim_mm), then->aim_mm > 0 ? "short" : "past");
    snprintf(text, HINT_SIZE, "%s %.0f %% darker than the centre: aim %s gives %.0f %%, at %.0f %% %s light",
             trial->field->round ? "the edge is" : "corners", 100 * now->drop, aim, 100 * fmax(then->drop, 0),
             100 * fabs(1 - light), light < 1 ? "less" : "more");
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
        const struct luxfall_field_result *result_now = &result->planes[0].fields[widest];
        struct outlook best, now = {now_mm, 1 - result_now->edge_over_centre.value, result_now->centre_lx.value,
                                    result_now->minimum_over_average.value};
        earned = now.drop > 0 && best_aim(&trial, &now, &best) && describe(&trial, &now, &best, text);
    }
    free(trial.modules);
    free(trial.poses);
    return earned;
}
