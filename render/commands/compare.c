/* luxfall compare: several scenes, or one scene with several lenses, side by side: one table, one colour scale. */
#include "comparison.h"

#include "render/files/files.h"
#include "report.h"
#include "stop.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

enum { OPT_LENSES = TRACING_OPTION_COUNT };

static const struct option compare_options[] = {
    TRACING_OPTIONS(OPTION_ROW){
        "lenses", "A,B,C",
        "with one SCENE: the lenses to compare, as the scene or its parts name them; each takes "
        "the place of every lens in the scene",
        value_text, NULL, COMPLETE_NOTHING},
    {NULL, NULL, NULL, NULL, NULL, 0}};

static int wrong_words(const char *format, const char *detail) {
    fputs("luxfall compare: error: ", stderr);
    fprintf(stderr, format, detail);
    fputc('\n', stderr);
    return EXIT_USER;
}

int comparison_out_of_memory(void) {
    fputs("luxfall compare: error: out of memory\n", stderr);
    return EXIT_MACHINE;
}

/* ---- candidates ------------------------------------------------------------------------------------------------ */

static char *copy_of(const char *text, size_t length) {
    char *copy = malloc(length + 1);
    if (copy) {
        memcpy(copy, text, length);
        copy[length] = '\0';
    }
    return copy;
}

/* "scenes/ring.yaml" is "ring". */
static char *name_of_scene(const char *path) {
    const char *slash = strrchr(path, '/'), *name = slash ? slash + 1 : path;
    const char *dot = strrchr(name, '.');
    return copy_of(name, dot && dot > name ? (size_t)(dot - name) : strlen(name));
}

/* Names are also folder names, and must differ. */
static bool names_differ(const struct comparison *comparison) {
    for (size_t i = 0; i < comparison->count; i++)
        for (size_t j = 0; j < i; j++)
            if (strcmp(comparison->names[i], comparison->names[j]) == 0)
                return false;
    return true;
}

static int add_candidate(struct comparison *comparison, char *name, const char *path, const char *lens) {
    if (!name)
        return comparison_out_of_memory();
    size_t i = comparison->count++;
    comparison->names[i] = name;
    struct traced *traced = &comparison->traced[i];
    if (!lens)
        return traced_read(traced, path);
    traced->path = path;
    struct scene_changes changes = {.lens = lens, .origin = "--lenses"};
    int status = scene_read_changed(path, &changes, &traced->scene, &traced->messages);
    messages_print(&traced->messages, stderr);
    return status;
}

static int read_lenses(struct comparison *comparison, const char *path, const char *lenses) {
    int status = 0;
    for (const char *at = lenses; status == 0;) {
        at += strspn(at, " ");
        size_t length = strcspn(at, ","), named = length;
        while (named > 0 && at[named - 1] == ' ')
            named--;
        if (named == 0)
            return wrong_words("--lenses: '%s' holds an empty name", lenses);
        if (comparison->count == CANDIDATES_MAX)
            return wrong_words("--lenses: %s", "more than 24 of them");
        char *name = copy_of(at, named);
        status = add_candidate(comparison, name, path, name);
        if (at[length] == '\0')
            break;
        at += length + 1;
    }
    return status;
}

/* Every scene is read, so that all their mistakes are told in one go. */
static int read_scenes(struct comparison *comparison, const char *const *paths) {
    int status = 0;
    for (; *paths; paths++) {
        if (comparison->count == CANDIDATES_MAX)
            return wrong_words("%s", "more than 24 scenes");
        int own = add_candidate(comparison, name_of_scene(*paths), *paths, NULL);
        status = status ? status : own;
    }
    return status;
}

static bool same_levels(const struct comparison *comparison) {
    const struct luxfall_target *first = &comparison->traced[0].scene->light.target;
    for (size_t i = 1; i < comparison->count; i++) {
        const struct luxfall_target *target = &comparison->traced[i].scene->light.target;
        if (target->level_count != first->level_count ||
            memcmp(target->level_mm, first->level_mm, first->level_count * sizeof *first->level_mm) != 0)
            return false;
    }
    return true;
}

static int read_all(struct comparison *comparison, const char *lenses, const char *const *words) {
    if (lenses && words[1])
        return wrong_words("%s", "--lenses goes with one SCENE");
    int status = lenses ? read_lenses(comparison, words[0], lenses) : read_scenes(comparison, words);
    if (status)
        return status;
    if (comparison->count < 2)
        return wrong_words("%s", lenses ? "--lenses: give at least two, such as --lenses medium,wide"
                                        : "give at least two scenes, or one scene and --lenses A,B");
    if (!names_differ(comparison))
        return wrong_words("%s", "two candidates have the same name");
    if (!same_levels(comparison))
        return wrong_words("%s", "the scenes differ in the levels of their targets: nothing to set side by side");
    return 0;
}

/* ---- files ----------------------------------------------------------------------------------------------------- */

static char *joined(const char *folder, const char *name) {
    size_t size = strlen(folder) + strlen(name) + 2;
    char *path = malloc(size);
    if (!path)
        return NULL;
    int used = snprintf(path, size, "%s/", folder);
    /* A lens name may hold a slash, and must not lead out of the folder. */
    for (size_t i = 0; name[i]; i++)
        path[(size_t)used + i] = name[i] == '/' || (i == 0 && name[i] == '.') ? '-' : name[i];
    path[size - 1] = '\0';
    return path;
}

static int stage_overview(struct comparison *comparison, struct outputs *outputs, struct figure_error *error) {
    static const char *const stems[] = {"compare", "compare-sections"};
    const struct scene *scene = comparison->traced[0].scene;
    size_t planes = scene->light.target.level_count;
    comparison->overview = calloc(2 * planes, sizeof *comparison->overview);
    if (!comparison->overview)
        return comparison_out_of_memory();
    for (size_t i = 0; i < 2 * planes; i++) {
        char *name = plane_file_name(scene, i / 2, comparison->tracing.out, stems[i % 2], "png");
        if (!name)
            return comparison_out_of_memory();
        comparison->overview[i] = outputs_stage(outputs, name, error);
        free(name);
        if (!comparison->overview[i])
            return tell_error("compare", outputs, error);
    }
    return 0;
}

static int stage_all(struct comparison *comparison, struct outputs *outputs) {
    const struct tracing *tracing = &comparison->tracing;
    struct figure_error error = {0};
    if (tracing->json && strcmp(tracing->json, "-") != 0) {
        comparison->json = outputs_stage(outputs, tracing->json, &error);
        if (!comparison->json)
            return tell_error("compare", outputs, &error);
    }
    if (!tracing->out)
        return 0;
    if (outputs_folder(outputs, tracing->out, &error) != 0)
        return tell_error("compare", outputs, &error);
    int status = stage_overview(comparison, outputs, &error);
    for (size_t i = 0; status == 0 && i < comparison->count; i++) {
        struct traced *traced = &comparison->traced[i];
        char *folder = joined(tracing->out, comparison->names[i]);
        comparison->staged[i] = calloc(traced_file_count(traced, tracing), sizeof **comparison->staged);
        if (!folder || !comparison->staged[i])
            status = comparison_out_of_memory();
        else if (traced_stage(traced, tracing, folder, outputs, comparison->staged[i], &error) != 0)
            status = tell_error("compare", outputs, &error);
        free(folder);
    }
    return status;
}

/* Pictures that can be laid side by side: one top of the colour bar for all, unless the user gave it. */
static void choose_top(struct comparison *comparison) {
    double peak_lx = 0;
    for (size_t i = 0; i < comparison->count; i++)
        for (size_t plane = 0; plane < comparison->traced[i].result->plane_count; plane++)
            peak_lx = fmax(peak_lx, comparison->traced[i].result->planes[plane].peak_lx.value);
    if (!(comparison->tracing.style.top_lx > 0) && peak_lx > 0)
        comparison->tracing.style.top_lx = figure_top_lx(peak_lx);
}

static int write_overview(const struct comparison *comparison, struct figure_error *error) {
    const struct scene *scenes[CANDIDATES_MAX];
    const struct luxfall_result *results[CANDIDATES_MAX];
    for (size_t i = 0; i < comparison->count; i++) {
        scenes[i] = comparison->traced[i].scene;
        results[i] = comparison->traced[i].result;
    }
    int status = 0;
    const char *const *names = (const char *const *)comparison->names;
    for (size_t plane = 0; status == 0 && plane < results[0]->plane_count; plane++) {
        status = figure_compare(comparison->overview[2 * plane], comparison->count, scenes, results, names, plane,
                                &comparison->tracing.style, error);
        if (status == 0)
            status = figure_compare_sections(comparison->overview[2 * plane + 1], comparison->count, scenes, results,
                                             names, plane, &comparison->tracing.style, error);
    }
    return status;
}

static json_t *comparison_json(const struct comparison *comparison) {
    json_t *candidates = json_array();
    for (size_t i = 0; i < comparison->count; i++) {
        const struct traced *traced = &comparison->traced[i];
        json_t *statistics = statistics_json(traced->scene, traced->result, NULL, &traced->messages);
        json_t *candidate = json_pack("{s:s, s:o}", "name", comparison->names[i], "statistics", statistics);
        if (json_array_append_new(candidates, candidate) != 0) {
            json_decref(candidates);
            return NULL;
        }
    }
    return json_pack("{s:s, s:o}", "luxfall", luxfall_version(), "candidates", candidates);
}

static int write_json(const struct comparison *comparison, FILE *stream) {
    json_t *json = comparison_json(comparison);
    if (!json)
        return comparison_out_of_memory();
    int status = json_dumpf(json, stream, STATISTICS_DUMP) == 0 ? 0 : EXIT_MACHINE;
    json_decref(json);
    fputc('\n', stream);
    return status;
}

static int write_json_file(const struct comparison *comparison, struct figure_error *error) {
    struct whole_file file;
    int status = whole_file_begin(&file, comparison->json, error);
    if (status)
        return status;
    if (write_json(comparison, file.stream) != 0)
        return whole_file_fail(&file, "not written", error);
    return whole_file_commit(&file, error);
}

static int write_all(struct comparison *comparison, struct outputs *outputs) {
    struct figure_error error = {0};
    int status = comparison->json ? write_json_file(comparison, &error) : 0;
    if (status == 0 && comparison->tracing.out) {
        choose_top(comparison);
        status = write_overview(comparison, &error);
        for (size_t i = 0; status == 0 && i < comparison->count; i++)
            status = traced_write(&comparison->traced[i], &comparison->tracing, comparison->staged[i], &error);
    }
    return status ? tell_error("compare", outputs, &error) : 0;
}

/* ---- the command ----------------------------------------------------------------------------------------------- */

static int trace_all(struct comparison *comparison) {
    int status = 0;
    for (size_t i = 0; status == 0 && i < comparison->count; i++) {
        char label[100];
        snprintf(label, sizeof label, "%zu of %zu, %s", i + 1, comparison->count, comparison->names[i]);
        status = traced_run(&comparison->traced[i], &comparison->tracing, label, comparison->names[i]);
    }
    return status;
}

static int run(struct comparison *comparison, const char *lenses, const char *const *words, struct outputs *outputs) {
    int status = read_all(comparison, lenses, words);
    if (status == 0)
        status = stage_all(comparison, outputs);
    if (status == 0)
        status = trace_all(comparison);
    if (status == 0)
        status = write_all(comparison, outputs);
    if (status)
        return status;
    bool json_alone = comparison->tracing.json && !comparison->json;
    status = json_alone ? write_json(comparison, stdout) : comparison_print(comparison);
    if (status == 0)
        status = report_flush("compare");
    if (status)
        return status;
    struct figure_error error = {0};
    stop_phase(STOP_HELD);
    return outputs_commit(outputs, &error) ? tell_error("compare", outputs, &error) : EXIT_DONE;
}

static int compare(const struct option_value *values, const char *const *words) {
    struct outputs outputs = {NULL};
    struct comparison *comparison = calloc(1, sizeof *comparison);
    if (!comparison)
        return comparison_out_of_memory();
    int status = tracing_init(&comparison->tracing, "compare", values);
    if (status == 0) {
        stop_install();
        status = run(comparison, values[OPT_LENSES].text, words, &outputs);
    }
    outputs_release(&outputs);
    for (size_t i = 0; i < comparison->count; i++) {
        traced_release(&comparison->traced[i]);
        free(comparison->staged[i]);
        free(comparison->names[i]);
    }
    free(comparison->overview);
    free(comparison);
    return status;
}

const struct command command_compare = {
    .name = "compare",
    .words = "SCENE...",
    .summary = "set scenes, or lenses in one scene, side by side: one table, one colour scale",
    .about = "Traces several scenes, or one scene with each of several lenses, and prints one table: centre, spot "
             "and visible "
             "edge, and for every field the centre, how even it is and how much light lands in it. Fields are set "
             "side by side by "
             "their names. The best of each column is marked, with those that the bands do not tell from it.\n\n"
             "With --out, DIR gets compare.png (small maps on one colour scale), compare-sections.png (profiles, "
             "overlaid) and "
             "a folder of every candidate with the files of luxfall trace. --json writes the statistics of all.",
    .words_min = 1,
    .words_max = 0,
    .words_completion = COMPLETE_SCENE,
    .options = compare_options,
    .run = compare,
};
