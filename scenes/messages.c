/* Located messages: kept in order of place, printed with the source line and a caret. */
#include "scenes/messages.h"
#include "scenes/numbers.h"
#include "scenes/text.h"

#include <stdlib.h>
#include <string.h>

enum { KEPT_OF_A_KIND = 20, SHOWN_BEFORE = 90, SHOWN_AFTER = 60 };

struct message_tally {
    const char *format;
    size_t count;
};

static char *copy_of(const char *text) {
    size_t size = strlen(text) + 1;
    char *copy = malloc(size);
    if (copy != NULL)
        memcpy(copy, text, size);
    return copy;
}

static char *formatted(const char *format, va_list arguments) {
    va_list again;
    va_copy(again, arguments);
    locale_t before = numbers_begin();
    int length = vsnprintf(NULL, 0, format, again);
    char *text = length < 0 ? NULL : malloc((size_t)length + 1);
    if (text != NULL)
        vsnprintf(text, (size_t)length + 1, format, arguments);
    numbers_end(before);
    va_end(again);
    return text;
}

static void message_free(struct message *message) {
    free(message->text);
    free(message->source);
    free(message->file);
}

static struct message_tally *tally_of(struct messages *messages, const char *format) {
    for (size_t i = 0; i < messages->tally_count; i++)
        if (strcmp(messages->tallies[i].format, format) == 0)
            return &messages->tallies[i];
    struct message_tally *grown = realloc(messages->tallies, (messages->tally_count + 1) * sizeof *messages->tallies);
    if (grown == NULL)
        return NULL;
    messages->tallies = grown;
    struct message_tally *tally = &grown[messages->tally_count++];
    *tally = (struct message_tally){.format = format};
    return tally;
}

static bool before(const struct scene_place *a, const struct scene_place *b) {
    return a->line != b->line ? a->line < b->line : a->column < b->column;
}

/* Behind the messages of its file that stand no later; a new file comes last. */
static size_t slot_for(const struct messages *messages, const struct scene_place *place) {
    size_t i = 0;
    while (i < messages->count && strcmp(messages->items[i].place.file, place->file) != 0)
        i++;
    while (i < messages->count && strcmp(messages->items[i].place.file, place->file) == 0 &&
           !before(place, &messages->items[i].place))
        i++;
    return i;
}

static bool is_repeat(const struct messages *messages, const struct scene_place *place, const char *text) {
    for (size_t i = 0; i < messages->count; i++) {
        const struct message *item = &messages->items[i];
        if (item->place.line == place->line && item->place.column == place->column && strcmp(item->text, text) == 0 &&
            strcmp(item->place.file, place->file) == 0)
            return true;
    }
    return false;
}

static bool insert(struct messages *messages, const struct message *message) {
    struct message *grown = realloc(messages->items, (messages->count + 1) * sizeof *messages->items);
    if (grown == NULL)
        return false;
    messages->items = grown;
    size_t slot = slot_for(messages, &message->place);
    memmove(&grown[slot + 1], &grown[slot], (messages->count - slot) * sizeof *grown);
    grown[slot] = *message;
    messages->count++;
    messages->errors += message->kind == MESSAGE_ERROR;
    return true;
}

void messages_add_list(struct messages *messages, enum message_kind kind, struct scene_place place,
                       const char *source, const char *format, va_list arguments) {
    if (place.file == NULL)
        place.file = "";
    struct message message = {.kind = kind, .place = place};
    struct message_tally *tally = tally_of(messages, format);
    if (tally == NULL)
        goto no_memory;
    if (tally->count >= KEPT_OF_A_KIND) {
        tally->count++;
        return;
    }
    message.text = formatted(format, arguments);
    message.file = copy_of(place.file);
    message.source = source == NULL ? NULL : copy_of(source);
    if (message.text == NULL || message.file == NULL || (source != NULL && message.source == NULL))
        goto no_memory;
    message.place.file = message.file;
    if (is_repeat(messages, &place, message.text)) {
        message_free(&message);
        return;
    }
    if (!insert(messages, &message))
        goto no_memory;
    tally->count++;
    return;
no_memory:
    message_free(&message);
    messages->out_of_memory = true;
}

void messages_add(struct messages *messages, enum message_kind kind, struct scene_place place, const char *source,
                  const char *format, ...) {
    va_list arguments;
    va_start(arguments, format);
    messages_add_list(messages, kind, place, source, format, arguments);
    va_end(arguments);
}

void messages_clear(struct messages *messages) {
    for (size_t i = 0; i < messages->count; i++)
        message_free(&messages->items[i]);
    free(messages->items);
    free(messages->tallies);
    *messages = (struct messages){0};
}

/* Writes up to size bytes so that no byte of them can steer a terminal; returns the columns that they take. */
static int print_safely(const char *bytes, size_t size, FILE *stream) {
    int columns = 0;
    while (size > 0) {
        uint32_t code = 0;
        size_t length = utf8_character(bytes, size, &code);
        if (length > 0 && !character_is_control(code)) {
            fwrite(bytes, 1, length, stream);
            columns += character_columns(code);
        } else {
            length = length == 0 ? 1 : length;
            for (size_t i = 0; i < length; i++)
                fprintf(stream, "\\x%02X", (unsigned char)bytes[i]);
            columns += 4 * (int)length;
        }
        bytes += length;
        size -= length;
    }
    return columns;
}

static bool is_inside_character(char byte) {
    return ((unsigned char)byte & 0xC0) == 0x80;
}

/* The part of the line round the caret, tabs as blanks, and the caret below it. */
static void print_source(const char *line, int column, FILE *stream) {
    size_t size = strlen(line), mark = column > 0 ? (size_t)column - 1 : 0;
    mark = mark > size ? size : mark;
    size_t from = mark > SHOWN_BEFORE ? mark - SHOWN_BEFORE : 0;
    size_t to = size - mark > SHOWN_AFTER ? mark + SHOWN_AFTER : size;
    while (from < mark && is_inside_character(line[from]))
        from++;
    while (to < size && is_inside_character(line[to]))
        to++;
    int caret = from > 0 ? 3 : 0;
    fputs(from > 0 ? "    ..." : "    ", stream);
    for (size_t i = from; i < to;) {
        size_t run = strcspn(&line[i], "\t");
        run = run > to - i ? to - i : run;
        size_t ahead = i >= mark ? 0 : mark - i < run ? mark - i : run;
        caret += print_safely(&line[i], ahead, stream);
        print_safely(&line[i + ahead], run - ahead, stream);
        i += run;
        if (i < to) {
            fputc(' ', stream);
            caret += i < mark;
            i++;
        }
    }
    fprintf(stream, "%s\n    %*s^\n", to < size ? "..." : "", caret, "");
}

static void print_place(const struct scene_place *place, FILE *stream) {
    print_safely(place->file, strlen(place->file), stream);
    if (place->line > 0)
        fprintf(stream, ":%d:%d", place->line, place->column);
}

static void print_message(const struct message *message, FILE *stream) {
    print_place(&message->place, stream);
    fprintf(stream, "%s%s: ", message->place.file[0] == '\0' ? "" : ": ",
            message->kind == MESSAGE_ERROR ? "error" : "warning");
    print_safely(message->text, strlen(message->text), stream);
    fputc('\n', stream);
    if (message->source != NULL && message->place.line > 0)
        print_source(message->source, message->place.column, stream);
}

void messages_print(const struct messages *messages, FILE *stream) {
    size_t more = 0;
    for (size_t i = 0; i < messages->count; i++)
        print_message(&messages->items[i], stream);
    for (size_t i = 0; i < messages->tally_count; i++)
        if (messages->tallies[i].count > KEPT_OF_A_KIND)
            more += messages->tallies[i].count - KEPT_OF_A_KIND;
    if (more > 0)
        fprintf(stream, "and %zu more of the same kinds; %d of a kind are shown\n", more, KEPT_OF_A_KIND);
    if (messages->out_of_memory)
        fputs("error: no memory for all messages\n", stream);
}
