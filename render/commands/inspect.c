/* luxfall inspect: what one module sends by itself, on a stage straight below it and over angle. */
#include "inspected.h"

#include "module_choice.h"
#include "render/files/files.h"
#include "report.h"
#include "stop.h"
#include "values.h"

#include <stdlib.h>
#include <string.h>

enum { OPT_MODULE, OPT_LENS, OPT_DISTANCE, OPT_DIR, OPT_FILE, OPT_NUMBER, OPT_SEED_OF, OPT_PROCESSORS, OPT_PX };
static const struct option inspect_options[] = {
    {"module", "NAME",
     "the module, such as \"ring 3\", or a group, of which the first (default: the first that is lit)", value_text,
     NULL, COMPLETE_NOTHING},
    {"lens", "NAME", "put this lens of the scene or its parts in place of the module's own", value_text, NULL,
     COMPLETE_NOTHING},
    {"distance", "LENGTH",
     "from the module straight down to the stage, such as \"250 mm\" (default: its own distance)", value_length, NULL,
     COMPLETE_NOTHING},
    {"out", "DIR",
     "write inspect.png, inspect.json and intensity.csv there; a scene takes the table as {curve: intensity.csv}; "
     "the "
     "folder is made when missing, the files appear all together or not at all",
     value_text, NULL, COMPLETE_FOLDER},
    {"json", "FILE", "write what is found as JSON; - is standard output, which then carries nothing else", value_text,
     NULL, COMPLETE_FILE},
    {"rays", "N", "number of rays through a traced lens, such as 20e6 or \"20 million\" (default: 16 million)",
     value_rays, NULL, COMPLETE_NOTHING},
    {"seed", "N", "the same scene and seed give the same files; in place of the scene's own", value_seed, NULL,
     COMPLETE_NOTHING},
    {"threads", "N", "processors to work on (default: all); the results do not depend on it", value_threads, NULL,
     COMPLETE_NOTHING},
    {"width", "PX", "width of the picture in pixels", value_pixels, NULL, COMPLETE_NOTHING},
    {NULL, NULL, NULL, NULL, NULL, 0}};

enum { PICTURE, JSON_IN_DIR, TABLE, FILES };
static const char *const file_names[FILES] = {"inspect.png", "inspect.json", "intensity.csv"};

struct places {
    const char *json, *files[FILES]; /* hidden names; NULL: not asked for */
};

static int choose_places(const struct option_value *values, struct outputs *outputs, struct places *places,
                         struct figure_error *error) {
    const char *json = values[OPT_FILE].text, *folder = values[OPT_DIR].text;
    if (json && strcmp(json, "-") != 0 && !(places->json = outputs_stage(outputs, json, error)))
        return error->status;
    if (!folder)
        return 0;
    if (outputs_folder(outputs, folder, error) != 0)
        return error->status;
    for (int i = 0; i < FILES; i++)
        if (!(places->files[i] = traced_stage_file(outputs, folder, file_names[i], error)))
            return error->status;
    return 0;
}

static int write_files(const struct inspected *inspected, const struct messages *warnings,
                       const struct places *places, const struct figure_style *style, struct figure_error *error) {
    int status = places->json ? inspected_write_json(inspected, warnings, places->json, error) : 0;
    if (status == 0 && places->files[0])
        status = inspected_write_figure(inspected, style, places->files[PICTURE], error);
    if (status == 0 && places->files[0])
        status = inspected_write_json(inspected, warnings, places->files[JSON_IN_DIR], error);
    if (status == 0 && places->files[0])
        status = inspected_write_csv(inspected, places->files[TABLE], error);
    return status;
}

static int print_result(const struct inspected *inspected, const struct messages *warnings, bool json_alone) {
    if (!json_alone) {
        int status = inspected_print(inspected, stdout);
        return status ? status : report_flush("inspect");
    }
    json_t *json = inspected_json(inspected, warnings);
    bool made = json && json_dumpf(json, stdout, STATISTICS_DUMP) == 0;
    json_decref(json);
    if (!made) {
        fputs("luxfall inspect: error: out of memory\n", stderr);
        return EXIT_MACHINE;
    }
    putchar('\n');
    return report_flush("inspect");
}

static int inspect_into(struct traced *traced, struct inspected *inspected, const struct option_value *values,
                        struct outputs *outputs) {
    struct figure_error error = {0};
    struct luxfall_error why = {.status = LUXFALL_OK};
    struct places places = {0};
    const struct figure_style style = {.width_px = (int)values[OPT_PX].count};
    const char *json = values[OPT_FILE].text;
    if (choose_places(values, outputs, &places, &error) != 0)
        return tell_error("inspect", outputs, &error);
    if (inspected_make(inspected, &why) != LUXFALL_OK)
        return traced_tell(traced, NULL, &why);
    if (stop_wanted())
        return stop_report();
    if (write_files(inspected, &traced->messages, &places, &style, &error) != 0)
        return tell_error("inspect", outputs, &error);
    int status = print_result(inspected, &traced->messages, json && strcmp(json, "-") == 0);
    if (status)
        return status;
    stop_phase(STOP_HELD);
    return outputs_commit(outputs, &error) ? tell_error("inspect", outputs, &error) : EXIT_DONE;
}

static int read_scene(struct traced *traced, const char *path, const char *lens) {
    const struct scene_changes changes = {.lens = lens, .origin = "--lens"};
    if (!lens)
        return traced_read(traced, path);
    *traced = (struct traced){.path = path};
    int status = scene_read_changed(path, &changes, &traced->scene, &traced->messages);
    messages_print(&traced->messages, stderr);
    if (traced->messages.out_of_memory)
        fputs("luxfall: error: out of memory\n", stderr);
    return status;
}

/* A lens has been put in place where there was one. */
static int check_lens(const struct scene *scene, const struct option_value *values, size_t module) {
    const struct luxfall_module *chosen = &scene->light.modules[module];
    if (!values[OPT_LENS].given || chosen->lens != LUXFALL_NO_LENS)
        return 0;
    fprintf(stderr, "luxfall inspect: error: --lens replaces a lens, but module '%s' has none\n", chosen->name);
    return EXIT_USER;
}

static int inspect(const struct option_value *values, const char *const *words) {
    struct traced traced;
    struct outputs outputs = {NULL};
    struct inspected inspected = {.distance_mm = values[OPT_DISTANCE].number};
    if (values[OPT_PX].given && !values[OPT_DIR].given) {
        fputs("luxfall inspect: error: --width shapes the picture: give --out DIR too\n", stderr);
        return EXIT_USER;
    }
    stop_install();
    int status = read_scene(&traced, words[0], values[OPT_LENS].text);
    if (status == 0)
        status = module_choose("inspect", traced.scene, values[OPT_MODULE].text, &inspected.module);
    if (status == 0)
        status = check_lens(traced.scene, values, inspected.module);
    if (status == 0) {
        inspected.scene = traced.scene;
        luxfall_options_init(&inspected.options);
        inspected.options.rays = values[OPT_NUMBER].count;
        inspected.options.seed = values[OPT_SEED_OF].given ? values[OPT_SEED_OF].count : traced.scene->seed;
        inspected.options.threads = (int)values[OPT_PROCESSORS].count;
        status = inspect_into(&traced, &inspected, values, &outputs);
    }
    outputs_release(&outputs);
    inspected_release(&inspected);
    traced_release(&traced);
    return status;
}

const struct command command_inspect = {
    .name = "inspect",
    .words = "SCENE",
    .summary = "inspect one module: its light on a stage straight below, its intensity over angle, its losses",
    .about =
        "Takes one module out of the scene and tells what it sends by itself: where its light lands on a stage "
        "straight below at your distance, then its intensity over the angle from the axis with beam and field angle, "
        "what leaves and what becomes of the rest, and beside it the most that die and face allow.\n\n"
        "A traced lens is followed by rays, with 95 % bands; light that is known by angle (a lens sheet, a bare "
        "emitter) is exact. Do not look into a lit lens.",
    .words_min = 1,
    .words_max = 1,
    .words_completion = COMPLETE_SCENE,
    .options = inspect_options,
    .run = inspect,
};
