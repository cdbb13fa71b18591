/* The scene reader against any bytes: it must end, leak nothing, never put a control character into its output, and a
 * scene that it takes must come back from its own text as the same text. Other files are not opened. */
#include "fuzz/check.h"

int LLVMFuzzerTestOneInput(const unsigned char *data, size_t size) {
    struct messages messages = {0};
    struct scene *scene = NULL;
    int status = scene_read_text("fuzz.yaml", (const char *)data, size, true, &scene, &messages);
    check_reading(status, scene, &messages);
    return 0;
}
