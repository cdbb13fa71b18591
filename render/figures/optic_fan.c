/* A fan of rays for a drawing: which rays start where, and what becomes of them. */
#include "figures.h"

#include <math.h>
#include <stdlib.h>

static const double WIDEST_RAD = 84 * 3.14159265358979323846 / 180;

/* Places on the emitter, those of the middle first. */
enum { PLACES_MAX = 4 };
struct places {
    double at_mm[PLACES_MAX];
    size_t middles, count;
};

/* The middle of the middle die, or of the two; then both ends. */
static struct places places_of(const struct luxfall_outline *outline) {
    struct places p = {.middles = outline->die_count % 2 ? 1 : 2};
    const struct luxfall_span *dies = outline->dies, *last = &dies[outline->die_count - 1];
    for (size_t i = 0; i < p.middles; i++) {
        const struct luxfall_span *die = &dies[(outline->die_count - 1) / 2 + i];
        p.at_mm[p.count++] = (die->from_mm + die->to_mm) / 2;
    }
    if (last->to_mm > dies[0].from_mm) {
        p.at_mm[p.count++] = dies[0].from_mm;
        p.at_mm[p.count++] = last->to_mm;
    }
    return p;
}

static void count_ends(struct figure_fan *fan) {
    for (size_t i = 0; i < fan->paths->count; i++) {
        const struct luxfall_path *path = &fan->paths->each[i];
        if (path->end == LUXFALL_PATH_LEAVES)
            fan->leaving++;
        else if (path->end == LUXFALL_PATH_ABSORBED)
            fan->lost[path->loss]++;
        else
            fan->others++;
    }
}

enum luxfall_status figure_fan_make(const struct luxfall_scene *light, size_t module, size_t rays,
                                    struct figure_fan *out, struct luxfall_error *error) {
    *out = (struct figure_fan){.step_rad = 2 * WIDEST_RAD / (double)(rays - 1)};
    enum luxfall_status status = luxfall_outline(light, module, NAN, &out->outline, error);
    if (status != LUXFALL_OK)
        return status;
    const struct places places = places_of(out->outline);
    size_t edge_rays = (rays + 1) / 2, total = places.middles * rays + (places.count - places.middles) * edge_rays;
    struct luxfall_start *starts = calloc(total, sizeof *starts), *next = starts;
    out->edge_step_rad = 2 * WIDEST_RAD / (double)(edge_rays - 1);
    out->middle_count = places.middles * rays;
    for (size_t i = 0; starts && i < places.count; i++) {
        size_t count = i < places.middles ? rays : edge_rays;
        luxfall_fan(out->outline, places.at_mm[i], WIDEST_RAD, count, next);
        next += count;
    }
    if (starts)
        status = luxfall_follow(light, module, total, starts, &out->paths, error);
    else
        status = LUXFALL_E_MEMORY;
    free(starts);
    if (status == LUXFALL_OK)
        count_ends(out);
    return status;
}

void figure_fan_free(struct figure_fan *fan) {
    luxfall_outline_free(fan->outline);
    luxfall_paths_free(fan->paths);
    *fan = (struct figure_fan){0};
}
