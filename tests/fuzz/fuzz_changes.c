/* Changed scenes against any bytes: a first line "path=text", or a letter of what every module takes and its name,
 * and then the scene. It must end, leak nothing and say why it refuses; what it takes must come back from its own
 * text. */
#include "scenes/reader.h"

#include <stdlib.h>
#include <string.h>

int LLVMFuzzerTestOneInput(const unsigned char *data, size_t size);

static void read_back(const struct scene *scene) {
    struct messages messages = {0};
    struct scene *again = NULL;
    char *text = NULL;
    size_t length = 0;
    FILE *stream = open_memstream(&text, &length);
    if (stream == NULL || scene_write(scene, stream) != 0)
        abort();
    fclose(stream);
    if (scene_read_text("again.yaml", text, length, true, &again, &messages) != 0)
        abort();
    free(text);
    scene_free(again);
    messages_clear(&messages);
}

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

/* The line becomes two texts in place. */
static void take_line(char *line, struct scene_edit *edit, struct scene_changes *changes) {
    char *sign = strchr(line, '=');
    changes->origin = "fuzz";
    if (sign != NULL) {
        *sign = '\0';
        *edit = (struct scene_edit){line, sign + 1, "fuzz"};
        changes->edits = edit;
        changes->edit_count = 1;
    } else if (line[0] == 'e') {
        changes->emitter = line + 1;
    } else if (line[0] == 'l') {
        changes->lens = line + 1;
    } else {
        changes->current_a = (double)strlen(line) / 100;
    }
}

int LLVMFuzzerTestOneInput(const unsigned char *data, size_t size) {
    const unsigned char *end = memchr(data, '\n', size);
    size_t length = end == NULL ? size : (size_t)(end - data), skipped = end == NULL ? size : length + 1;
    char *line = malloc(length + 1);
    struct scene_edit edit;
    struct scene_changes changes = {0};
    struct messages messages = {0};
    struct scene *scene = NULL;
    if (line == NULL)
        abort();
    if (length > 0)
        memcpy(line, data, length);
    line[length] = '\0';
    take_line(line, &edit, &changes);
    struct origin origin = {"fuzz.yaml", size > skipped ? (const char *)data + skipped : "", size - skipped, true,
                            &changes};
    int status = reader_scene(&origin, &scene, &messages);
    if ((status == 0) != (scene != NULL) || (status == 2 && messages.errors == 0))
        abort();
    check_output(&messages);
    if (scene != NULL)
        read_back(scene);
    scene_free(scene);
    messages_clear(&messages);
    free(line);
    return 0;
}
