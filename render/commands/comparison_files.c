#include "comparison_files.h"

#include "comparison.h"
#include "render/files/files.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

typedef int sheet_writer(const char *path, const struct comparison *comparison, size_t plane,
                         struct figure_error *error);

static int write_maps(const char *path, const struct comparison *c, size_t plane, struct figure_error *error) {
    return figure_compare(path, c->candidates.count, c->scenes, c->results, c->names, plane, &c->tracing.style,
                          error);
}

static int write_sections(const char *path, const struct comparison *c, size_t plane, struct figure_error *error) {
    return figure_compare_sections(path, c->candidates.count, c->scenes, c->results, c->names, plane,
                                   &c->tracing.style, error);
}

static int write_difference(const char *path, const struct comparison *c, size_t plane, struct figure_error *error) {
    return figure_difference(path, (const struct scene *const[]){c->scenes[c->first], c->scenes[c->second]},
                             (const struct luxfall_result *const[]){c->results[c->first], c->results[c->second]},
                             (const char *const[]){c->names[c->first], c->names[c->second]}, plane, &c->tracing.style,
                             error);
}

/* Pictures of all candidates, one of each for every level. The last is made where two are set against each other. */
static const struct {
    const char *stem;
    sheet_writer *write;
} sheets[] = {{"compare", write_maps}, {"compare-sections", write_sections}, {"difference", write_difference}};

static const struct {
    const char *name;
    int (*write)(const char *path, const struct candidates *candidates, struct figure_error *error);
} tables[COMPARISON_TABLES] = {{"compare.md", comparison_markdown}, {"compare.csv", comparison_csv}};

static size_t sheets_a_plane(const struct comparison *comparison) {
    return sizeof sheets / sizeof *sheets - (comparison->difference ? 0 : 1);
}

static size_t sheet_count(const struct comparison *comparison) {
    return sheets_a_plane(comparison) * comparison->candidates.items[0].traced.scene->light.target.level_count;
}

/* Takes over the path. */
static const char *stage(struct outputs *outputs, char *path, struct figure_error *error) {
    const char *staged = path ? outputs_stage(outputs, path, error) : NULL;
    if (!path)
        figure_fail(error, EXIT_MACHINE, "out of memory");
    free(path);
    return staged;
}

static int stage_sheets(struct comparison *comparison, struct outputs *outputs, struct figure_error *error) {
    const struct scene *scene = comparison->candidates.items[0].traced.scene;
    const char *out = comparison->tracing.out;
    size_t each = sheets_a_plane(comparison), count = sheet_count(comparison);
    comparison->sheets = calloc(count, sizeof *comparison->sheets);
    if (!comparison->sheets)
        return figure_fail(error, EXIT_MACHINE, "out of memory");
    for (size_t i = 0; i < count; i++) {
        char *path = plane_file_name(scene, i / each, out, sheets[i % each].stem, "png");
        if (!(comparison->sheets[i] = stage(outputs, path, error)))
            return error->status;
    }
    for (size_t i = 0; i < COMPARISON_TABLES; i++)
        if (!(comparison->tables[i] = traced_stage_file(outputs, out, tables[i].name, error)))
            return error->status;
    return 0;
}

static int stage_candidate(struct candidate *candidate, const struct tracing *tracing, struct outputs *outputs,
                           struct figure_error *error) {
    size_t size = strlen(tracing->out) + strlen(candidate->folder) + 2;
    char *folder = malloc(size);
    if (folder)
        snprintf(folder, size, "%s/%s", tracing->out, candidate->folder);
    candidate->staged = calloc(traced_file_count(&candidate->traced, tracing), sizeof *candidate->staged);
    int status = folder && candidate->staged
                     ? traced_stage(&candidate->traced, tracing, folder, outputs, candidate->staged, error)
                     : figure_fail(error, EXIT_MACHINE, "out of memory");
    free(folder);
    return status;
}

int comparison_stage(struct comparison *comparison, struct outputs *outputs) {
    const struct tracing *tracing = &comparison->tracing;
    struct candidates *candidates = &comparison->candidates;
    struct figure_error error = {0};
    if (tracing->json && strcmp(tracing->json, "-") != 0) {
        comparison->json = outputs_stage(outputs, tracing->json, &error);
        if (!comparison->json)
            return tell_error("compare", outputs, &error);
    }
    if (!tracing->out)
        return 0;
    int status = outputs_folder(outputs, tracing->out, &error);
    if (status == 0)
        status = stage_sheets(comparison, outputs, &error);
    for (size_t i = 0; status == 0 && i < candidates->count; i++)
        status = stage_candidate(&candidates->items[i], tracing, outputs, &error);
    return status ? tell_error("compare", outputs, &error) : 0;
}

/* Pictures that can be laid side by side: one top of the colour bar for all, unless the user gave it. */
static void choose_top(struct comparison *comparison) {
    double peak_lx = 0;
    for (size_t i = 0; i < comparison->candidates.count; i++)
        for (size_t plane = 0; plane < comparison->results[i]->plane_count; plane++)
            peak_lx = fmax(peak_lx, comparison->results[i]->planes[plane].peak_lx.value);
    if (!(comparison->tracing.style.top_lx > 0) && peak_lx > 0)
        comparison->tracing.style.top_lx = figure_top_lx(peak_lx);
}

/* The sheets, the tables, then the files of one candidate after the other. */
static int write_file(const void *user, size_t index, struct figure_error *error) {
    const struct comparison *comparison = user;
    size_t each = sheets_a_plane(comparison), count = sheet_count(comparison);
    if (index < count)
        return sheets[index % each].write(comparison->sheets[index], comparison, index / each, error);
    index -= count;
    if (index < COMPARISON_TABLES)
        return tables[index].write(comparison->tables[index], &comparison->candidates, error);
    index -= COMPARISON_TABLES;
    const struct candidate *candidate = comparison->candidates.items;
    while (index >= traced_file_count(&candidate->traced, &comparison->tracing))
        index -= traced_file_count(&candidate++->traced, &comparison->tracing);
    return traced_write_file(&candidate->traced, &comparison->tracing, candidate->staged, index, error);
}

static int write_folder(struct comparison *comparison, struct figure_error *error) {
    size_t count = sheet_count(comparison) + COMPARISON_TABLES;
    for (size_t i = 0; i < comparison->candidates.count; i++)
        count += traced_file_count(&comparison->candidates.items[i].traced, &comparison->tracing);
    choose_top(comparison);
    return files_write(count, write_file, comparison, error);
}

int comparison_write_json(const struct candidates *candidates, FILE *stream) {
    json_t *json = comparison_json(candidates);
    if (!json)
        return EXIT_MACHINE;
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
    if (comparison_write_json(&comparison->candidates, file.stream) != 0)
        return whole_file_fail(&file, "not written", error);
    return whole_file_commit(&file, error);
}

int comparison_write(struct comparison *comparison, struct outputs *outputs) {
    struct figure_error error = {0};
    for (size_t i = 0; i < comparison->candidates.count; i++) {
        const struct candidate *candidate = &comparison->candidates.items[i];
        comparison->scenes[i] = candidate->traced.scene;
        comparison->results[i] = candidate->traced.result;
        comparison->names[i] = candidate->name;
    }
    int status = comparison->json ? write_json_file(comparison, &error) : 0;
    if (status == 0 && comparison->tracing.out)
        status = write_folder(comparison, &error);
    return status ? tell_error("compare", outputs, &error) : 0;
}
