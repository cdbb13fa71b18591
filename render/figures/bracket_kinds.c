#include "bracket_kinds.h"

#include <math.h>
#include <stdlib.h>

static const double TURN = 2 * 3.14159265358979323846;

/* Finer than anybody sets a bracket. */
#define SAME_MM 0.005
#define SAME_RAD 1e-4

void bracket_kind_letter(size_t kind, char out[KIND_SIZE]) {
    char backwards[KIND_SIZE];
    int used = 0, length = 0;
    for (size_t rest = kind + 1; rest > 0 && used < KIND_SIZE - 1; rest = (rest - 1) / 26)
        backwards[used++] = (char)('A' + (rest - 1) % 26);
    while (used > 0)
        out[length++] = backwards[--used];
    out[length] = '\0';
}

void clock_hour_text(double clock_rad, char out[CLOCK_SIZE]) {
    double turns = 0.25 - clock_rad / TURN;
    int minutes = (int)lround(720 * (turns - floor(turns))) % 720;
    snprintf(out, CLOCK_SIZE, "%d:%02d", minutes < 60 ? 12 : minutes / 60 % 12, minutes % 60);
}

bool bracket_above_centre(const struct luxfall_pose *pose) {
    return hypot(pose->at_mm.x, pose->at_mm.y) < SAME_MM;
}

static bool near(double a, double b, double within) {
    return fabs(a - b) <= within || (isnan(a) && isnan(b));
}

/* From the direction in which the foot sees the centre to the one in which the axis leans. */
static double turn_of_lean(const struct luxfall_pose *pose) {
    struct luxfall_vec at = pose->at_mm, axis = pose->axis;
    if (bracket_above_centre(pose) || hypot(axis.x, axis.y) < SAME_RAD)
        return 0;
    return atan2(-at.x * axis.y + at.y * axis.x, -at.x * axis.x - at.y * axis.y);
}

static bool alike(const struct luxfall_scene *light, const struct bracket_list *list, size_t a, size_t b) {
    const struct luxfall_module *m = &light->modules[a], *n = &light->modules[b];
    const struct luxfall_bracket *p = &list->each[a], *q = &list->each[b];
    return m->emitter == n->emitter && m->lens == n->lens && near(m->pose.at_mm.z, n->pose.at_mm.z, SAME_MM) &&
           near(p->lean_rad, q->lean_rad, SAME_RAD) && near(p->distance_mm, q->distance_mm, SAME_MM) &&
           fabs(remainder(turn_of_lean(&m->pose) - turn_of_lean(&n->pose), TURN)) <= SAME_RAD;
}

static double radius(struct luxfall_vec at) {
    return hypot(at.x, at.y);
}

static void add_member(const struct luxfall_scene *light, struct bracket_list *list, size_t module) {
    double radius_mm = radius(light->modules[module].pose.at_mm), aim_mm = radius(list->each[module].aim_mm);
    size_t k = 0;
    while (k < list->kind_count && !alike(light, list, list->kinds[k].first, module))
        k++;
    struct bracket_kind *kind = &list->kinds[k];
    if (k == list->kind_count)
        list->kinds[list->kind_count++] = (struct bracket_kind){module, 0, radius_mm, aim_mm};
    kind->count++;
    if (!near(kind->radius_mm, radius_mm, SAME_MM))
        kind->radius_mm = NAN;
    if (!near(kind->aim_mm, aim_mm, SAME_MM))
        kind->aim_mm = NAN;
    list->kind_of[module] = k;
}

int bracket_list_make(const struct luxfall_scene *light, struct bracket_list *out) {
    size_t count = light->module_count;
    *out = (struct bracket_list){.count = count};
    out->each = calloc(count + 1, sizeof *out->each);
    out->kind_of = calloc(count + 1, sizeof *out->kind_of);
    out->kinds = calloc(count + 1, sizeof *out->kinds);
    if (!out->each || !out->kind_of || !out->kinds) {
        bracket_list_free(out);
        return 1;
    }
    for (size_t i = 0; i < count; i++) {
        luxfall_bracket(&light->modules[i].pose, &out->each[i]);
        add_member(light, out, i);
    }
    return 0;
}

void bracket_list_free(struct bracket_list *list) {
    free(list->each);
    free(list->kind_of);
    free(list->kinds);
    *list = (struct bracket_list){0};
}

const char *spot_heading(const struct luxfall_module *modules, size_t count) {
    size_t lenses = 0;
    for (size_t i = 0; i < count; i++)
        lenses += modules[i].lens != LUXFALL_NO_LENS;
    return lenses == count ? "lens to spot" : lenses == 0 ? "LED to spot" : "to spot";
}
