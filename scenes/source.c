#include "scenes/source.h"
#include "scenes/text.h"

#include <errno.h>
#include <stdlib.h>
#include <string.h>

static bool split_lines(struct arena *arena, struct source *source) {
    size_t count = 0, *at = arena_take(arena, 1, sizeof *at);
    for (size_t i = 0; i < source->size && at != NULL; i++) {
        bool end = source->bytes[i] == '\n' || (source->bytes[i] == '\r' && source->bytes[i + 1] != '\n');
        if (!end)
            continue;
        count++;
        at = arena_more(arena, at, count, sizeof *at);
        if (at != NULL)
            at[count] = i + 1;
    }
    if (at == NULL)
        return false;
    at = arena_more(arena, at, count + 1, sizeof *at);
    if (at == NULL)
        return false;
    at[count + 1] = source->size;
    source->line_at = at;
    source->line_count = count + 1;
    return true;
}

struct scene_place source_place(const struct source *source, size_t line, size_t characters) {
    if (line >= source->line_count)
        line = source->line_count - 1;
    size_t start = source->line_at[line], end = source->line_at[line + 1], at = start;
    while (characters > 0 && at < end) {
        uint32_t code;
        size_t length = utf8_character(&source->bytes[at], end - at, &code);
        at += length == 0 ? 1 : length;
        characters--;
    }
    return (struct scene_place){source->label, (int)line + 1, (int)(at - start) + 1};
}

const char *source_line(struct arena *arena, const struct source *source, int line) {
    if (line < 1 || (size_t)line > source->line_count)
        return NULL;
    size_t start = source->line_at[line - 1], end = source->line_at[line];
    while (end > start && (source->bytes[end - 1] == '\n' || source->bytes[end - 1] == '\r'))
        end--;
    return arena_text(arena, &source->bytes[start], end - start);
}

static struct scene_place place_of_byte(const struct source *source, size_t offset) {
    size_t low = 0, high = source->line_count;
    while (high - low > 1) {
        size_t middle = (low + high) / 2;
        *(source->line_at[middle] <= offset ? &low : &high) = middle;
    }
    return (struct scene_place){source->label, (int)low + 1, (int)(offset - source->line_at[low]) + 1};
}

struct checker {
    struct arena *arena;
    struct messages *messages;
    const struct source *source;
};

/* format takes one unsigned. */
static void complain(struct checker *checker, size_t offset, const char *format, unsigned value) {
    struct scene_place place = place_of_byte(checker->source, offset);
    messages_add(checker->messages, MESSAGE_ERROR, place, source_line(checker->arena, checker->source, place.line),
                 format, value);
}

/* What libyaml would stop at without a good place is refused here. */
static bool check_character(struct checker *checker, size_t offset, size_t length, uint32_t code) {
    unsigned char byte = (unsigned char)checker->source->bytes[offset];
    if (length == 0)
        complain(checker, offset, "byte 0x%02X is not UTF-8; save the file as UTF-8", byte);
    else if (code == 0)
        complain(checker, offset, "a NUL byte (0x%02X): this is binary data, not text", byte);
    else if (code == 0xFEFF)
        complain(checker, offset, "a byte order mark (U+%04X) in the middle of the text", (unsigned)code);
    else if (character_is_control(code) && code != '\t' && code != '\n' && code != '\r')
        complain(checker, offset, "control character U+%04X; take it out", (unsigned)code);
    else
        return true;
    return false;
}

static bool check_characters(struct checker *checker) {
    const struct source *source = checker->source;
    size_t wrong = 0;
    for (size_t i = 0; i < source->size && wrong < 100;) {
        uint32_t code = 0;
        size_t length = utf8_character(&source->bytes[i], source->size - i, &code);
        wrong += !check_character(checker, i, length, code);
        i += length == 0 ? 1 : length;
    }
    return wrong == 0;
}

static bool is_utf16(const char *bytes, size_t size) {
    return size >= 2 && (memcmp(bytes, "\xFF\xFE", 2) == 0 || memcmp(bytes, "\xFE\xFF", 2) == 0);
}

struct source *source_from_bytes(struct arena *arena, struct messages *messages, const char *label, const char *bytes,
                                 size_t size, int *status) {
    struct scene_place whole = {label, 0, 0};
    *status = 2;
    if (size > SOURCE_BYTES_MAX) {
        messages_add(messages, MESSAGE_ERROR, whole, NULL, "the file is over 1 MiB");
        return NULL;
    }
    if (is_utf16(bytes, size)) {
        messages_add(messages, MESSAGE_ERROR, whole, NULL, "UTF-16 text; save the file as UTF-8");
        return NULL;
    }
    size_t mark = size >= 3 && memcmp(bytes, "\xEF\xBB\xBF", 3) == 0 ? 3 : 0;
    struct source *source = arena_take(arena, 1, sizeof *source);
    char *copy = arena_text(arena, bytes + mark, size - mark), *name = arena_text(arena, label, strlen(label));
    if (source != NULL && copy != NULL && name != NULL) {
        *source = (struct source){.label = name, .folder_of = name, .bytes = copy, .size = size - mark};
        if (split_lines(arena, source)) {
            struct checker checker = {arena, messages, source};
            return check_characters(&checker) ? source : NULL;
        }
    }
    *status = 1;
    return NULL;
}

static void tell_errno(struct messages *messages, const char *path, struct scene_place at, const char *at_line,
                       int number, int *status) {
    *status = number == ENOENT || number == ENOTDIR || number == EISDIR || number == ENAMETOOLONG ? 2 : 1;
    if (at.file == NULL)
        messages_add(messages, MESSAGE_ERROR, (struct scene_place){path, 0, 0}, NULL, "cannot read it: %s",
                     strerror(number));
    else
        messages_add(messages, MESSAGE_ERROR, at, at_line, "cannot read '%s': %s", path, strerror(number));
}

struct source *source_open(struct arena *arena, struct messages *messages, const char *path, struct scene_place at,
                           const char *at_line, int *status) {
    FILE *file = fopen(path, "rb");
    if (file == NULL) {
        tell_errno(messages, path, at, at_line, errno, status);
        return NULL;
    }
    struct source *source = NULL;
    char *bytes = malloc(SOURCE_BYTES_MAX + 1);
    *status = 1;
    if (bytes != NULL) {
        errno = 0;
        size_t size = fread(bytes, 1, SOURCE_BYTES_MAX + 1, file);
        if (ferror(file))
            tell_errno(messages, path, at, at_line, errno, status);
        else
            source = source_from_bytes(arena, messages, path, bytes, size, status);
    }
    free(bytes);
    fclose(file);
    return source;
}
