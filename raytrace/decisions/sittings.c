#include "decisions/sittings.h"

#include "fail.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

static bool is_length(double value_mm) {
    return fabs(value_mm) <= 1e9;
}

static enum luxfall_status check(const struct luxfall_reading *reading, size_t i, struct luxfall_error *error) {
    if (!is_length(reading->x_mm) || !is_length(reading->y_mm) || !is_length(reading->level_mm))
        return fail(error, LUXFALL_E_VALUE, i, "reading %zu has no place", i + 1);
    if (!(reading->head_mm >= 0) || !is_length(reading->head_mm))
        return fail(error, LUXFALL_E_VALUE, i, "reading %zu needs a head of 0 mm or more", i + 1);
    return LUXFALL_OK;
}

enum luxfall_status sittings_make(const struct luxfall_scene *scene, size_t count,
                                  const struct luxfall_reading *readings, int threads, struct sittings *out,
                                  struct luxfall_error *error) {
    *out = (struct sittings){scene, count, readings, threads, NULL};
    for (size_t i = 0; i < count; i++) {
        enum luxfall_status status = check(&readings[i], i, error);
        if (status != LUXFALL_OK)
            return status;
    }
    out->seated = calloc(count + 1, sizeof *out->seated);
    return out->seated ? LUXFALL_OK : fail_memory(error);
}

void sittings_free(struct sittings *sittings) {
    free(sittings->seated);
}

/* Two lists of a value for each module; NULL: as the scene has them. */
static bool same_list(const void *a, const void *b, size_t bytes) {
    return a == b || (a && b && memcmp(a, b, bytes) == 0);
}

static bool sit_together(const struct sittings *all, size_t i, size_t j) {
    const struct luxfall_reading *a = &all->readings[i], *b = &all->readings[j];
    size_t modules = all->scene->module_count;
    return a->level_mm == b->level_mm && same_list(a->dark, b->dark, modules * sizeof *a->dark) &&
           same_list(a->current_a, b->current_a, modules * sizeof *a->current_a);
}

/* The first that is left and all that go with it. */
static void seat(struct sittings *all, struct sitting *out) {
    size_t i = 0;
    while (i < all->count && all->seated[i])
        i++;
    for (size_t j = i; j < all->count && out->count < LUXFALL_FIELDS_MAX; j++) {
        if (all->seated[j] || !sit_together(all, i, j))
            continue;
        all->seated[j] = true;
        out->index[out->count++] = j;
    }
}

/* A head that is a point is still a place at which the faces' rules are tried. */
static void add_fields(const struct sittings *all, struct sitting *sitting) {
    static const double POINT_MM = 1e-3;
    for (size_t k = 0; k < sitting->count; k++) {
        const struct luxfall_reading *reading = &all->readings[sitting->index[k]];
        double head_mm = fmax(reading->head_mm, POINT_MM);
        sitting->fields[k] =
            (struct luxfall_field){"reading", true, head_mm, head_mm, reading->x_mm, reading->y_mm, head_mm};
    }
    sitting->scene.fields = sitting->fields;
    sitting->scene.field_count = sitting->count;
}

static bool light_modules(const struct sittings *all, struct sitting *sitting) {
    const struct luxfall_reading *reading = &all->readings[sitting->index[0]];
    size_t count = all->scene->module_count;
    sitting->modules = malloc((count + 1) * sizeof *sitting->modules);
    if (!sitting->modules)
        return false;
    memcpy(sitting->modules, all->scene->modules, count * sizeof *sitting->modules);
    for (size_t m = 0; m < count; m++) {
        if (reading->dark)
            sitting->modules[m].dark = reading->dark[m];
        if (reading->current_a)
            sitting->modules[m].current_a = reading->current_a[m];
    }
    sitting->scene.modules = sitting->modules;
    return true;
}

enum luxfall_status sitting_next(struct sittings *sittings, struct sitting *out, struct luxfall_error *error) {
    *out = (struct sitting){.scene = *sittings->scene};
    seat(sittings, out);
    if (out->count == 0)
        return LUXFALL_OK;
    if (!light_modules(sittings, out))
        return fail_memory(error);
    add_fields(sittings, out);
    out->level_mm = sittings->readings[out->index[0]].level_mm;
    out->scene.target.level_mm = &out->level_mm;
    out->scene.target.level_count = 1;
    enum luxfall_status status = stage_make(&out->scene, &out->stage, error);
    if (status != LUXFALL_OK || !out->stage.known_by_angle)
        return status;
    out->way = direct_way_make(&out->stage, sittings->threads);
    return out->way ? LUXFALL_OK : fail_memory(error);
}

void sitting_free(struct sitting *sitting) {
    direct_way_free(sitting->way);
    stage_free(&sitting->stage);
    free(sitting->modules);
    *sitting = (struct sitting){0};
}

double sitting_lx(const struct sitting *sitting, const struct luxfall_reading *reading, const struct lamp *lamp) {
    return lamp ? direct_lamp_reading_lx(sitting->way, lamp, reading->x_mm, reading->y_mm, reading->level_mm,
                                         reading->head_mm)
                : direct_reading_lx(sitting->way, reading->x_mm, reading->y_mm, reading->level_mm, reading->head_mm);
}
