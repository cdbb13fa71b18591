/* The files of a sweep. */
#ifndef RENDER_COMMANDS_SWEEP_FILES_H
#define RENDER_COMMANDS_SWEEP_FILES_H

#include "sweep.h"

#include "render/files/files.h"

enum { SWEEP_FILES_MAX = 4 + QUANTITIES_MAX };

/* Hidden names of what is to be written. */
struct sweep_staged {
    size_t count;
    const char *paths[SWEEP_FILES_MAX];
    const char *json; /* of --json; NULL: none */
};

/* Chosen before the tracing, written after it. 0 or error->status. */
int sweep_stage(const struct sweep *sweep, struct outputs *outputs, struct sweep_staged *staged,
                struct figure_error *error);
int sweep_write(const struct sweep *sweep, const struct sweep_staged *staged, struct figure_error *error);

/* NULL out of memory. */
json_t *sweep_json(const struct sweep *sweep);
/* The same as text; false: out of memory, or the stream failed. */
bool sweep_write_json(const struct sweep *sweep, FILE *stream);

/* sweep_figures.c: curves over one number; one statistic over two. */
int sweep_write_curves(const struct sweep *sweep, const char *path, struct figure_error *error);
int sweep_write_heat(const struct sweep *sweep, size_t quantity, const char *path, struct figure_error *error);

#endif
