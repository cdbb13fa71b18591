#include "scenes/arena.h"

#include <stdarg.h>
#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

enum { BLOCK_SIZE = 16384, ALIGNMENT = _Alignof(max_align_t) };

struct arena_block {
    struct arena_block *before;
    size_t used, size;
    _Alignas(max_align_t) unsigned char bytes[];
};

static struct arena_block *block_with_room(struct arena *arena, size_t wanted) {
    struct arena_block *block = arena->last;
    if (block != NULL && block->size - block->used >= wanted)
        return block;
    size_t size = wanted > BLOCK_SIZE ? wanted : BLOCK_SIZE;
    block = calloc(1, sizeof *block + size);
    if (block == NULL) {
        arena->failed = true;
        return NULL;
    }
    block->before = arena->last;
    block->size = size;
    arena->last = block;
    return block;
}

void *arena_take(struct arena *arena, size_t count, size_t size) {
    if (size != 0 && count > SIZE_MAX / 2 / size) {
        arena->failed = true;
        return NULL;
    }
    size_t wanted = count * size;
    wanted = (wanted + ALIGNMENT - 1) / ALIGNMENT * ALIGNMENT;
    if (wanted == 0)
        wanted = ALIGNMENT;
    struct arena_block *block = block_with_room(arena, wanted);
    if (block == NULL)
        return NULL;
    void *taken = block->bytes + block->used;
    block->used += wanted;
    return taken;
}

char *arena_text(struct arena *arena, const char *text, size_t length) {
    char *copy = arena_take(arena, length + 1, 1);
    if (copy != NULL && length > 0)
        memcpy(copy, text, length);
    return copy;
}

char *arena_format(struct arena *arena, const char *format, ...) {
    va_list arguments, again;
    va_start(arguments, format);
    va_copy(again, arguments);
    int length = vsnprintf(NULL, 0, format, arguments);
    char *text = length < 0 ? NULL : arena_take(arena, (size_t)length + 1, 1);
    if (text != NULL)
        vsnprintf(text, (size_t)length + 1, format, again);
    va_end(again);
    va_end(arguments);
    return text;
}

/* Room doubles at every power of two, so the room of any count is known without being kept. */
void *arena_more(struct arena *arena, void *items, size_t count, size_t size) {
    if (count != 0 && (count & (count - 1)) != 0)
        return items;
    void *moved = arena_take(arena, count == 0 ? 1 : 2 * count, size);
    if (moved != NULL && count > 0)
        memcpy(moved, items, count * size);
    return moved;
}

void arena_clear(struct arena *arena) {
    for (struct arena_block *block = arena->last; block != NULL;) {
        struct arena_block *before = block->before;
        free(block);
        block = before;
    }
    *arena = (struct arena){0};
}
