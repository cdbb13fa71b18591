/* luxfall compare: several scenes, or one scene with other lenses, emitters and currents, side by side: one table,
 * one colour scale. */
#include "comparison.h"
#include "comparison_files.h"
#include "report.h"
#include "stop.h"

#include <stdlib.h>
#include <string.h>

enum { OPT_LENSES = TRACING_OPTION_COUNT, OPT_EMITTERS, OPT_AT, OPT_DIFFERENCE };

static const struct option compare_options[] = {
    TRACING_OPTIONS(OPTION_ROW){
        "lenses", "A,B,C",
        "with one SCENE: the lenses to compare, as the scene or its parts name them; each takes "
        "the place of every lens in the scene",
        value_text, NULL, COMPLETE_NOTHING},
    {"emitters", "A,B",
     "with one SCENE: the emitters to compare, each in the place of every emitter; with --lenses, all pairs",
     value_text, NULL, COMPLETE_NOTHING},
    {"at", "LIST",
     "the current of every module, such as '350 mA, 700 mA', or watts that the whole lamp draws, such as '10 W': "
     "each "
     "candidate at each of them",
     value_text, NULL, COMPLETE_NOTHING},
    {"difference", "A,B",
     "with --out: the two candidates of difference.png, by their names in the table, B against A; of two candidates "
     "it is made unasked",
     value_text, NULL, COMPLETE_NOTHING},
    {NULL, NULL, NULL, NULL, NULL, 0}};

static int out_of_memory(void) {
    fputs("luxfall compare: error: out of memory\n", stderr);
    return EXIT_MACHINE;
}

/* ---- the two of the difference --------------------------------------------------------------------------------- */

static size_t candidate_named(const struct candidates *candidates, const char *name, size_t length) {
    size_t i = 0;
    while (i < candidates->count &&
           (strlen(candidates->items[i].name) != length || strncmp(candidates->items[i].name, name, length) != 0))
        i++;
    return i;
}

/* Names may hold commas: the one that parts two of them is looked for. */
static bool split_difference(struct comparison *comparison, const char *text) {
    const struct candidates *candidates = &comparison->candidates;
    for (const char *comma = strchr(text, ','); comma; comma = strchr(comma + 1, ',')) {
        const char *first = text + strspn(text, " "), *second = comma + 1 + strspn(comma + 1, " "), *end = comma;
        size_t left = strlen(second);
        while (end > first && end[-1] == ' ')
            end--;
        while (left > 0 && second[left - 1] == ' ')
            left--;
        comparison->first = candidate_named(candidates, first, (size_t)(end - first));
        comparison->second = candidate_named(candidates, second, left);
        if (comparison->first < candidates->count && comparison->second < candidates->count)
            return true;
    }
    return false;
}

static bool same_maps(const struct comparison *comparison) {
    const struct candidate *items = comparison->candidates.items;
    const struct luxfall_target *a = &items[comparison->first].traced.scene->light.target;
    const struct luxfall_target *b = &items[comparison->second].traced.scene->light.target;
    return a->columns == b->columns && a->rows == b->rows && a->cell_mm == b->cell_mm;
}

static int wrong_difference(const struct comparison *comparison, const char *text, const char *what) {
    struct messages told = {0};
    char list[1000] = "";
    size_t used = 0;
    for (size_t i = 0; i < comparison->candidates.count && used < sizeof list; i++)
        used += (size_t)snprintf(list + used, sizeof list - used, "%s'%s'", i ? ", " : "",
                                 comparison->candidates.items[i].name);
    messages_add(&told, MESSAGE_ERROR, (struct scene_place){"--difference", 1, 1}, text, "%s; the candidates are %s",
                 what, list);
    messages_print(&told, stderr);
    messages_clear(&told);
    return EXIT_USER;
}

static int choose_difference(struct comparison *comparison, const char *text) {
    comparison->second = 1;
    comparison->difference = text || (comparison->candidates.count == 2 && same_maps(comparison));
    if (!text)
        return 0;
    if (!split_difference(comparison, text))
        return wrong_difference(comparison, text, "expected the names of two candidates, parted by a comma");
    if (comparison->first == comparison->second)
        return wrong_difference(comparison, text, "a candidate does not differ from itself");
    if (!same_maps(comparison))
        return wrong_difference(comparison, text, "the targets of the two differ in size or cell");
    return 0;
}

/* ---- the command ----------------------------------------------------------------------------------------------- */

static int print_result(const struct comparison *comparison) {
    const struct candidates *candidates = &comparison->candidates;
    bool json_alone = comparison->tracing.json && !comparison->json;
    int status = json_alone ? comparison_write_json(candidates, stdout) : comparison_print(candidates);
    return status && !ferror(stdout) ? out_of_memory() : report_flush("compare");
}

static int run(struct comparison *comparison, const struct option_value *values, const char *const *words,
               struct outputs *outputs) {
    const struct candidate_wishes wishes = {words, values[OPT_LENSES].text, values[OPT_EMITTERS].text,
                                            values[OPT_AT].text};
    int status = candidates_read(&wishes, &comparison->candidates);
    if (status == 0)
        status = choose_difference(comparison, values[OPT_DIFFERENCE].text);
    if (status == 0)
        status = comparison_stage(comparison, outputs);
    if (status == 0)
        status = candidates_trace(&comparison->candidates, &comparison->tracing);
    if (status == 0)
        status = comparison_write(comparison, outputs);
    if (status == 0)
        status = print_result(comparison);
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
        return out_of_memory();
    int status = tracing_init(&comparison->tracing, "compare", values);
    if (status == 0 && values[OPT_DIFFERENCE].given && !comparison->tracing.out) {
        fputs("luxfall compare: error: --difference makes a picture: give --out DIR too\n", stderr);
        status = EXIT_USER;
    }
    if (status == 0) {
        stop_install();
        status = run(comparison, values, words, &outputs);
    }
    outputs_release(&outputs);
    candidates_release(&comparison->candidates);
    free(comparison->sheets);
    free(comparison);
    return status;
}

const struct command command_compare = {
    .name = "compare",
    .words = "SCENE...",
    .summary = "set scenes, or lenses, emitters and currents in one scene, side by side: one table, one colour scale",
    .about =
        "Traces several scenes, or one scene with each of several lenses, emitters and currents, and prints one "
        "table: centre, spot and visible edge, what the lamp draws and costs, and for every field how bright and "
        "even "
        "it is, how much light lands in it and what it takes in watts and money. Fields are set side by side by "
        "their "
        "names; columns that no scene tells, such as prices, are left out. The best of each column is marked, with "
        "those that the bands do not tell from it. Every number is that of luxfall trace.\n\n"
        "With --out, DIR gets compare.png (small maps on one colour scale), compare-sections.png (profiles, "
        "overlaid), difference.png (of two candidates, in percent), compare.md (the table for a build log), "
        "compare.csv (its numbers) and a folder of every candidate with the files of luxfall trace. --json writes "
        "the "
        "statistics of all, and the current, watts and price of their lamps.",
    .words_min = 1,
    .words_max = 0,
    .words_completion = COMPLETE_SCENE,
    .options = compare_options,
    .run = compare,
};
