/* Reading tables of readings from text, against a small scene. */
#ifndef TESTS_UNIT_READINGS_TEXT_H
#define TESTS_UNIT_READINGS_TEXT_H

#include "scenes/readings.h"
#include "scenes/storage.h"

#include <string.h>

/* A lamp of two groups: three in a ring, one behind. */
static const char readings_scene[] = "emitters:\n"
                                     "  die: {surface: point, flux: 95 lm at 350 mA, intensity: lambertian}\n"
                                     "modules:\n"
                                     "  - {name: ring, ring: {count: 3, distance: 100 mm, incidence: 30 deg}}\n"
                                     "  - {name: back, at: [0 mm, 90 mm, 80 mm]}\n"
                                     "target: {size: 100 mm x 100 mm, levels: [5 mm, 0 mm]}\n";

/* The table into a scene that the caller frees; *good is what the reader said. NULL: no memory. */
static inline struct scene *scene_with_readings(const char *scene_text, const char *table, size_t size,
                                                double head_mm, struct messages *messages, bool *good) {
    static const char line[] = "readings: b.csv";
    struct scene *scene = NULL;
    int status = 0;
    *good = false;
    if (scene_read_text("s.yaml", scene_text, strlen(scene_text), true, &scene, messages) != 0)
        return NULL;
    struct arena *arena = &((struct storage *)scene->storage)->arena;
    struct reader reader = {.arena = arena, .messages = messages, .path = scene->path, .scene = scene};
    struct source *naming = source_from_bytes(arena, messages, "s.yaml", line, sizeof line - 1, &status);
    struct source *source = source_from_bytes(arena, messages, "b.csv", table, size, &status);
    struct node node = {.kind = NODE_TEXT, .source = naming, .place = {"s.yaml", 1, 11}, .text = "b.csv"};
    scene->readings_file = "b.csv";
    *good = naming != NULL && source != NULL && readings_from_source(&reader, &node, source, head_mm);
    return scene;
}
#endif
