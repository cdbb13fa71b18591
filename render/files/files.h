/* Data files of a traced scene. Each appears whole or not at all: written beside its target, closed, then renamed. */
#ifndef RENDER_FILES_FILES_H
#define RENDER_FILES_FILES_H

#include "readings.h"

/* The content of statistics.json; NULL out of memory. The caller owns the object. measured NULL: no readings. */
json_t *statistics_json(const struct scene *scene, const struct luxfall_result *result,
                        const struct measured *measured, const struct messages *warnings);

/* Flags of json_dumpf() for every JSON text of the program: a file and standard output carry the same bytes. */
#define STATISTICS_DUMP (JSON_INDENT(2) | JSON_REAL_PRECISION(9))

int file_statistics(const char *path, const struct scene *scene, const struct luxfall_result *result,
                    const struct measured *measured, const struct messages *warnings, struct figure_error *error);
int file_map_csv(const char *path, const struct scene *scene, const struct luxfall_result *result, size_t plane,
                 struct figure_error *error);
int file_map_tiff(const char *path, const struct scene *scene, const struct luxfall_result *result, size_t plane,
                  struct figure_error *error);
int file_map_png16(const char *path, const struct scene *scene, const struct luxfall_result *result, size_t plane,
                   struct figure_error *error);

/* A file that is whole or absent. begin opens PATH's temporary neighbour, commit flushes, closes and renames it,
 * discard removes it (a failed commit has done so). A folder full of discarded files is left as it was found.
 * A device or a pipe is written to as it stands, since nothing may take its place. */
struct whole_file {
    FILE *stream;
    char *path, *temporary;
};
int whole_file_begin(struct whole_file *file, const char *path, struct figure_error *error);
int whole_file_commit(struct whole_file *file, struct figure_error *error);
/* Gives up a file: names it and the stream's error, else the cause; discards it and returns the status. */
int whole_file_fail(struct whole_file *file, const char *cause, struct figure_error *error);
void whole_file_discard(struct whole_file *file);
/* For a signal handler: removes temporaries that are open now; async-signal-safe. */
void whole_file_discard_all(void);
#endif
