/* What every fuzz target of texts asks of what is said and of what is written. */
#ifndef TESTS_FUZZ_CHECK_H
#define TESTS_FUZZ_CHECK_H

#include "scenes/scene.h"

#include <stdlib.h>
#include <string.h>

int LLVMFuzzerTestOneInput(const unsigned char *data, size_t size);

/* No control character reaches a terminal. */
static inline void check_said(const struct messages *messages) {
    char *text = NULL;
    size_t length = 0;
    FILE *stream = open_memstream(&text, &length);
    if (stream == NULL)
        abort();
    messages_print(messages, stream);
    fclose(stream);
    for (size_t i = 0; i < length; i++)
        if (((unsigned char)text[i] < 0x20 && text[i] != '\n') || text[i] == 0x7F)
            abort();
    free(text);
}

static inline char *scene_text(const struct scene *scene, size_t *length) {
    char *text = NULL;
    FILE *stream = open_memstream(&text, length);
    if (stream == NULL || scene_write(scene, stream) != 0)
        abort();
    fclose(stream);
    return text;
}

/* A scene that is taken comes back from its own text as the same text. */
static inline void check_round_trip(const struct scene *scene) {
    struct messages messages = {0};
    struct scene *again = NULL;
    size_t length = 0, length_again = 0;
    char *text = scene_text(scene, &length);
    if (scene_read_text("again.yaml", text, length, true, &again, &messages) != 0)
        abort();
    char *text_again = scene_text(again, &length_again);
    if (length != length_again || memcmp(text, text_again, length) != 0)
        abort();
    free(text_again);
    free(text);
    scene_free(again);
    messages_clear(&messages);
}

/* Taken whole, or refused with a reason. */
static inline void check_reading(int status, struct scene *scene, struct messages *messages) {
    if ((status == 0) != (scene != NULL) || (status == 2 && messages->errors == 0))
        abort();
    check_said(messages);
    if (scene != NULL)
        check_round_trip(scene);
    scene_free(scene);
    messages_clear(messages);
}
#endif
