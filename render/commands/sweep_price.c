/* What an aim costs: light at the centre, sureness of the level, and sureness against a lamp that dies. */
#include "sweep.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#define LEVEL_STEP_MM 10.0

/* Of one aim the scenes to trace: as it is, with the stage lower and higher, then with each member dark. */
enum { FIRST_DARK = PRICED_LEVELS };

/* The varied place that aims a group of modules, and the group; false: none does. */
static bool find_aim(const struct sweep *sweep, size_t *varied, size_t *group) {
    const struct scene *scene = sweep->base.scene;
    for (size_t i = 0; i < sweep->varied_count; i++) {
        char by_name[POINT_TEXT], by_number[64];
        for (size_t j = 0; j < scene->group_count; j++) {
            snprintf(by_name, sizeof by_name, "modules.%s.aim", scene->groups[j].name);
            snprintf(by_number, sizeof by_number, "modules.%zu.aim", j + 1);
            if (strcmp(sweep->varied[i].path, by_name) != 0 && strcmp(sweep->varied[i].path, by_number) != 0)
                continue;
            *varied = i;
            *group = j;
            return true;
        }
    }
    return false;
}

/* Scenes of one aim; their levels and modules are in `levels` and `modules`, which outlive them. */
struct aim_scenes {
    struct scene *read; /* the scene at this aim */
    size_t count;       /* FIRST_DARK and one for every member */
    struct scene *each;
    struct luxfall_module *modules; /* of the scenes with a dark member, one after the other */
    struct sweep_point *points;
};

static void darken(struct aim_scenes *aim, const struct scene_group *group) {
    size_t all = aim->read->light.module_count;
    for (size_t i = 0; i < group->count; i++) {
        struct luxfall_module *modules = aim->modules + i * all;
        memcpy(modules, aim->read->light.modules, all * sizeof *modules);
        modules[group->first + i].dark = true;
        aim->each[FIRST_DARK + i].light.modules = modules;
    }
}

static bool make_scenes(struct aim_scenes *aim, const struct scene_group *group,
                        const double level_mm[PRICED_LEVELS]) {
    aim->count = FIRST_DARK + group->count;
    aim->each = calloc(aim->count, sizeof *aim->each);
    aim->points = calloc(aim->count, sizeof *aim->points);
    aim->modules = calloc(group->count * aim->read->light.module_count, sizeof *aim->modules);
    if (!aim->each || !aim->points || !aim->modules)
        return false;
    for (size_t i = 0; i < aim->count; i++) {
        aim->each[i] = *aim->read;
        aim->each[i].light.target.level_count = 1;
        aim->each[i].light.target.level_mm = &level_mm[i < FIRST_DARK ? i : 0];
    }
    darken(aim, group);
    return true;
}

static void take_price(const struct sweep *sweep, const struct aim_scenes *aim, const struct scene_group *group,
                       struct priced_aim *out) {
    for (size_t i = 0; i < FIRST_DARK; i++) {
        out->lx[i] = aim->points[i].values[sweep->lux];
        out->even[i] = aim->points[i].values[sweep->even];
    }
    out->dark_even = (struct luxfall_estimate){NAN, NAN};
    for (size_t i = 0; i < group->count; i++) {
        struct luxfall_estimate even = aim->points[FIRST_DARK + i].values[sweep->even];
        if (aim->read->light.modules[group->first + i].dark || isnan(even.value) ||
            even.value >= out->dark_even.value)
            continue;
        out->dark_even = even;
        out->dark = group->first + i;
    }
}

/* The aim as a scene says it: text. */
static int price_aim(struct sweep *sweep, size_t varied, size_t group_index, const char *text,
                     struct priced_aim *out) {
    struct messages messages = {0};
    struct aim_scenes aim = {0};
    char texts[VARIED_MAX][WISH_SIZE];
    const char *each[VARIED_MAX] = {texts[0], texts[1]};
    for (size_t i = 0; i < sweep->varied_count; i++)
        vary_text(&sweep->varied[i], sweep->best.number[i], texts[i]);
    if (text)
        each[varied] = text;
    int status = sweep_read_at(sweep, each, &aim.read, &messages);
    if (status == 0) {
        const struct scene_group *group = &aim.read->groups[group_index];
        if (make_scenes(&aim, group, sweep->price.level_mm))
            status = sweep_trace_scenes(sweep, aim.count, aim.each, aim.points);
        else
            status = sweep_out_of_memory();
        if (status == 0)
            take_price(sweep, &aim, group, out);
    } else
        messages_print(&messages, stderr);
    messages_clear(&messages);
    free(aim.each);
    free(aim.points);
    free(aim.modules);
    scene_free(aim.read);
    return status;
}

int sweep_find_price(struct sweep *sweep) {
    size_t varied, group;
    if (!sweep->best_found || sweep->lux == NO_QUANTITY || sweep->even == NO_QUANTITY ||
        !find_aim(sweep, &varied, &group))
        return 0;
    double level_mm = sweep_level_mm(&sweep->base.scene->light.target);
    sweep->price = (struct sweep_price){.level_mm = {level_mm, level_mm - LEVEL_STEP_MM, level_mm + LEVEL_STEP_MM}};
    int status = price_aim(sweep, varied, group, NULL, &sweep->price.best);
    if (status == 0)
        status = price_aim(sweep, varied, group, "centre", &sweep->price.centre);
    sweep->price.known = status == 0;
    return status;
}
