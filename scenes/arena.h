/* Memory that is given back all at once: everything read from a scene lives as long as the scene. */
#ifndef SCENES_ARENA_H
#define SCENES_ARENA_H

#include <stdbool.h>
#include <stddef.h>

struct arena_block;

struct arena {
    struct arena_block *last;
    bool failed; /* an allocation failed; stays set */
};

/* Zeroed memory, or NULL and failed set. */
void *arena_take(struct arena *arena, size_t count, size_t size);
char *arena_text(struct arena *arena, const char *text, size_t length);
char *arena_format(struct arena *arena, const char *format, ...) __attribute__((format(printf, 2, 3)));
/* Room for one more item behind count of them; may move them. NULL: no memory, the old items stay. */
void *arena_more(struct arena *arena, void *items, size_t count, size_t size);
void arena_clear(struct arena *arena);

#endif
