/* Changed scenes against any bytes: a first line "path=text", or a letter of what every module takes and its name,
 * and then the scene. It must end, leak nothing and say why it refuses; what it takes must come back from its own
 * text. */
#include "fuzz/check.h"
#include "scenes/reader.h"

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
    check_reading(status, scene, &messages);
    free(line);
    return 0;
}
