/* The scene reader against any bytes: it must end, leak nothing, never put a control character into its output, and a
 * scene that it takes must come back from its own text as the same text. Other files are not opened. */
#include "scenes/scene.h"

#include <stdlib.h>
#include <string.h>

int LLVMFuzzerTestOneInput(const unsigned char *data, size_t size);

static void check_output(const struct messages *messages) {
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

static char *written(const struct scene *scene, size_t *length) {
    char *text = NULL;
    FILE *stream = open_memstream(&text, length);
    if (stream == NULL || scene_write(scene, stream) != 0)
        abort();
    fclose(stream);
    return text;
}

static void check_round_trip(const struct scene *scene) {
    struct messages messages = {0};
    struct scene *again = NULL;
    size_t length = 0, length_again = 0;
    char *text = written(scene, &length);
    if (scene_read_text("again.yaml", text, length, true, &again, &messages) != 0)
        abort();
    char *text_again = written(again, &length_again);
    if (length != length_again || memcmp(text, text_again, length) != 0)
        abort();
    free(text_again);
    free(text);
    scene_free(again);
    messages_clear(&messages);
}

int LLVMFuzzerTestOneInput(const unsigned char *data, size_t size) {
    struct messages messages = {0};
    struct scene *scene = NULL;
    int status = scene_read_text("fuzz.yaml", (const char *)data, size, true, &scene, &messages);
    if ((status == 0) != (scene != NULL) || (status == 2 && messages.errors == 0))
        abort();
    check_output(&messages);
    if (scene != NULL)
        check_round_trip(scene);
    scene_free(scene);
    messages_clear(&messages);
    return 0;
}
