/* A text file in memory, its bytes checked before anything reads them. */
#ifndef SCENES_SOURCE_H
#define SCENES_SOURCE_H

#include "scenes/arena.h"
#include "scenes/scene.h"

enum { SOURCE_BYTES_MAX = 1 << 20 };

struct source {
    const char *label;     /* as messages name it */
    const char *folder_of; /* files that it names are relative to where this one lies */
    const char *bytes;     /* a NUL stands behind the last */
    size_t size;
    const size_t *line_at; /* offset of each line, and of the end */
    size_t line_count;
};

/* Reads the file at path. NULL after a message; *status is then 1 (the machine failed) or 2 (the user's file is
 * wrong or missing). at: who names the file, for the message; its file may be NULL: nobody, the path itself. */
struct source *source_open(struct arena *arena, struct messages *messages, const char *path, struct scene_place at,
                           const char *at_line, int *status);
/* The same from memory; the bytes are copied. */
struct source *source_from_bytes(struct arena *arena, struct messages *messages, const char *label, const char *bytes,
                                 size_t size, int *status);

/* A place from a line and a column counted from 0 in characters. */
struct scene_place source_place(const struct source *source, size_t line, size_t characters);
/* The line as a string in the arena, without its end; NULL for a line that is not there. */
const char *source_line(struct arena *arena, const struct source *source, int line);

#endif
