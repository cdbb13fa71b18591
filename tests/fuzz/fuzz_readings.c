/* The reader of meter tables against any bytes: readings that it takes keep the promises of luxfall.h and scene.h. */
#include "unit/readings_text.h"

#include <math.h>
#include <stdlib.h>

int LLVMFuzzerTestOneInput(const unsigned char *data, size_t size);

static void check(const struct scene *scene, const struct scene_reading *reading) {
    const struct luxfall_reading *taken = &reading->taken;
    bool lit = taken->dark == NULL;
    for (size_t m = 0; taken->dark != NULL && m < scene->light.module_count; m++)
        lit |= !taken->dark[m];
    if (!lit || !isfinite(reading->lx) || !(taken->head_mm > 0) || !(reading->u_lx > 0 || isnan(reading->u_lx)) ||
        !(fabs(taken->x_mm) <= 1e4) || !(fabs(taken->y_mm) <= 1e4) || !(fabs(taken->level_mm) <= 1e4))
        abort();
}

int LLVMFuzzerTestOneInput(const unsigned char *data, size_t size) {
    struct messages messages = {0};
    bool good = false;
    struct scene *scene = scene_with_readings(readings_scene, (const char *)data, size, 10, &messages, &good);
    if (scene == NULL || good == (messages.errors > 0))
        abort();
    for (size_t i = 0; good && i < scene->reading_count; i++)
        check(scene, &scene->readings[i]);
    scene_free(scene);
    messages_clear(&messages);
    return 0;
}
