/* luxfall new: a starting scene on standard output. */
#include "options.h"

#include "scenes/keys.h"
#include "scenes/scene.h"

static const struct option new_options[] = {{NULL, NULL, NULL, NULL, NULL, 0}};

static int new_scene(const struct option_value *values, const char *const *words) {
    (void)values;
    const char *text = scene_starter(words[0]);
    if (text) {
        fputs(text, stdout);
        return EXIT_DONE;
    }
    const char *near = nearest_word(words[0], scene_starter_kinds);
    fprintf(stderr, "luxfall new: error: no starting scene '%.60s'", words[0]);
    if (near)
        fprintf(stderr, "; did you mean '%s'?", near);
    fputs("\nthere are:", stderr);
    for (size_t i = 0; scene_starter_kinds[i]; i++)
        fprintf(stderr, " %s", scene_starter_kinds[i]);
    fputc('\n', stderr);
    return EXIT_USER;
}

const struct command command_new = {
    .name = "new",
    .words = "KIND",
    .summary = "print a commented starting scene: ring, single, line, grid or stand",
    .about = "Prints a commented, valid scene to start from. KIND is ring, single, line, grid or stand.\n\n"
             "Example: luxfall new ring > my-ring.yaml",
    .words_min = 1,
    .words_max = 1,
    .words_completion = COMPLETE_CHOICES,
    .word_choices = scene_starter_kinds,
    .options = new_options,
    .run = new_scene,
};
