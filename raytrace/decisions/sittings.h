/* Readings sorted into sittings: those taken on one level with the same modules lit at the same currents. A scene is
 * made ready once for each. */
#ifndef RAYTRACE_DECISIONS_SITTINGS_H
#define RAYTRACE_DECISIONS_SITTINGS_H

#include "tracing/direct.h"

struct sittings {
    const struct luxfall_scene *scene;
    size_t count;
    const struct luxfall_reading *readings;
    int threads;
    bool *seated; /* readings that a sitting has had */
};

struct sitting {
    size_t count, index[LUXFALL_FIELDS_MAX]; /* of its readings */
    double level_mm;
    struct luxfall_scene scene; /* as it was lit, each reading a field as wide as the head */
    struct luxfall_module *modules;
    struct luxfall_field fields[LUXFALL_FIELDS_MAX];
    struct stage stage;
    struct direct_way *way; /* NULL: some of its light is not known by angle */
};

/* Errors: MEMORY, VALUE. */
LUXFALL_CHECKED enum luxfall_status sittings_make(const struct luxfall_scene *scene, size_t count,
                                                  const struct luxfall_reading *readings, int threads,
                                                  struct sittings *out, struct luxfall_error *error);
void sittings_free(struct sittings *sittings);

/* The next sitting; count 0 after the last. sitting_free() takes it, after a failure too. */
LUXFALL_CHECKED enum luxfall_status sitting_next(struct sittings *sittings, struct sitting *out,
                                                 struct luxfall_error *error);
void sitting_free(struct sitting *sitting);

/* Light at a reading of the sitting, all lamps or one alone. */
double sitting_lx(const struct sitting *sitting, const struct luxfall_reading *reading, const struct lamp *lamp);
#endif
