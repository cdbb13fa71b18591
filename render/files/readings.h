/* Readings of a meter beside the forecast: what trace shows, and the files of it. */
#ifndef RENDER_FILES_READINGS_H
#define RENDER_FILES_READINGS_H

#include "render/figures/figures.h"

#include <jansson.h>

enum { VERDICT_SIZE = 700 };

struct measured {
    const struct scene *scene;
    struct luxfall_estimate *forecast; /* of each reading, lx */
    struct luxfall_scale_fit fit;
    struct luxfall_judgement judgement;
    double residual; /* root of the mean square of reading / (scale forecast) - 1, over one less; NaN: one reading */
    size_t furthest; /* the reading whose residual is the largest */
    char verdict[VERDICT_SIZE];
};

/* reading / forecast, and what is left of it when the scale is taken out; NaN where no light is forecast. */
double measured_ratio(const struct measured *measured, size_t reading);
double measured_residual(const struct measured *measured, size_t reading);

/* What was lit: "all", "ring 3", "all but ring 3". */
void measured_lit(const struct measured *measured, size_t reading, char *out, size_t size);

/* The value of "readings" in statistics.json; NULL out of memory. */
json_t *readings_json(const struct measured *measured);
int file_readings_csv(const char *path, const struct measured *measured, struct figure_error *error);
#endif
