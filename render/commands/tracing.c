#include "tracing.h"

#include "findings.h"
#include "progress.h"
#include "render/files/files.h"
#include "stop.h"

#include <stdlib.h>
#include <string.h>
#include <unistd.h>

/* In the order of the library's enums and of enum figure_scale. */
const char *const method_choices[] = {"rays", "direct", NULL};
const char *const points_choices[] = {"scrambled", "random", NULL};
const char *const vectors_choices[] = {"best", "plain", "avx2", "avx512", NULL};
const char *const scale_choices[] = {"linear", "log", NULL};

/* ---- options --------------------------------------------------------------------------------------------------- */

static int wrong_words(const char *command, const char *what) {
    fprintf(stderr, "luxfall %s: error: %s\n", command, what);
    return EXIT_USER;
}

/* --vectors, or the environment's word. Asking for what the processor has not is told, not refused: same results. */
static int choose_vectors(struct tracing *tracing, const char *command, const struct option_value *given) {
    const struct option row = {.name = "vectors", .choices = vectors_choices};
    struct option_value value = *given;
    const char *environment = getenv("LUXFALL_VECTORS");
    char reason[300];
    if (!given->given && environment && *environment &&
        !value_choice(&row, environment, &value, reason, sizeof reason)) {
        fprintf(stderr, "luxfall %s: error: environment variable LUXFALL_VECTORS: %s\n", command, reason);
        return EXIT_USER;
    }
    tracing->options.vectors = (enum luxfall_vectors)value.choice;
    const char *wanted = vectors_choices[value.choice], *got = luxfall_vectors_name(tracing->options.vectors);
    if (value.choice != LUXFALL_VECTORS_BEST && strcmp(wanted, got) != 0)
        fprintf(stderr, "luxfall %s: this machine has no %s units: %s is used, with the same results\n", command,
                wanted, got);
    return 0;
}

int tracing_init_shared(struct tracing *tracing, const char *command, const struct option_value *values) {
    *tracing = (struct tracing){.out = values[OPT_OUT].text, .json = values[OPT_JSON].text};
    struct luxfall_options *options = &tracing->options;
    luxfall_options_init(options);
    if (values[OPT_ACCURACY].given && values[OPT_RAYS].given)
        return wrong_words(command, "--accuracy and --rays exclude each other: one decides the number of rays");
    options->method = values[OPT_METHOD].choice ? LUXFALL_DIRECT : LUXFALL_RAYS;
    if (options->method == LUXFALL_DIRECT && (values[OPT_ACCURACY].given || values[OPT_RAYS].given))
        return wrong_words(command, "--accuracy and --rays belong to --method rays: the direct way has no noise");
    options->accuracy = values[OPT_ACCURACY].number;
    options->rays = values[OPT_RAYS].count;
    tracing->seed_given = values[OPT_SEED].given;
    if (tracing->seed_given)
        options->seed = values[OPT_SEED].count;
    options->threads = (int)values[OPT_THREADS].count;
    options->points = values[OPT_POINTS].choice ? LUXFALL_RANDOM : LUXFALL_SCRAMBLED;
    tracing->style.width_px = (int)values[OPT_WIDTH].count;
    if (!tracing->out && values[OPT_WIDTH].given)
        return wrong_words(command, "--width shapes pictures: give --out DIR too");
    return choose_vectors(tracing, command, &values[OPT_VECTORS]);
}

int tracing_init(struct tracing *tracing, const char *command, const struct option_value *values) {
    int status = tracing_init_shared(tracing, command, values);
    if (status)
        return status;
    tracing->style.scale = values[OPT_SCALE].choice ? FIGURE_LOG : FIGURE_LINEAR;
    tracing->style.top_lx = values[OPT_TOP].number;
    tracing->linear_png = values[OPT_LINEAR_PNG].given;
    if (!tracing->out && (tracing->linear_png || values[OPT_SCALE].given || values[OPT_TOP].given))
        return wrong_words(command, "--scale, --top and --linear-png shape pictures: give --out DIR too");
    return 0;
}

/* ---- reading and tracing --------------------------------------------------------------------------------------- */

int traced_read(struct traced *traced, const char *path) {
    *traced = (struct traced){.path = path};
    int status = scene_read(path, &traced->scene, &traced->messages);
    messages_print(&traced->messages, stderr);
    if (traced->messages.out_of_memory)
        fputs("luxfall: error: out of memory\n", stderr);
    return status;
}

/* Light that is not known by angle: where its lens is said, or its module. */
static struct scene_place place_of_traced(const struct scene *scene) {
    for (size_t g = 0; g < scene->group_count; g++) {
        const struct scene_group *group = &scene->groups[g];
        if (!luxfall_known_by_angle(&scene->light, group->first))
            return group->lens != LUXFALL_NO_LENS && group->cover_count == 0 ? scene->lens_places[group->lens]
                                                                             : group->place;
    }
    return (struct scene_place){.file = scene->path};
}

/* Where in the scene an error of the library belongs. */
static struct scene_place place_of_error(const struct scene *scene, const struct luxfall_error *error) {
    if (error->status == LUXFALL_E_METHOD)
        return place_of_traced(scene);
    if (error->status == LUXFALL_E_BEAM && error->item < scene->light.lens_count)
        return scene->lens_places[error->item];
    return (struct scene_place){.file = scene->path};
}

static int tell_library_error(struct traced *traced, struct scene_place place, const struct luxfall_error *error) {
    if (error->status == LUXFALL_E_STOPPED)
        return stop_report();
    if (error->status == LUXFALL_E_MEMORY) {
        fprintf(stderr, "luxfall: error: %s: out of memory\n", traced->path);
        return EXIT_MACHINE;
    }
    struct messages told = {0};
    messages_add(&told, MESSAGE_ERROR, place, NULL, "%s", error->text);
    messages_print(&told, stderr);
    messages_clear(&told);
    return EXIT_USER;
}

static bool on_progress(void *progress, const struct luxfall_progress *now) {
    progress_show(progress, now);
    return !stop_wanted();
}

/* What the scene says of the effort where the options say nothing. */
static struct luxfall_options filled_in(struct luxfall_options options, const struct tracing *tracing,
                                        const struct scene *scene) {
    if (options.accuracy == 0 && options.rays == 0) {
        options.accuracy = scene->accuracy;
        options.rays = scene->rays;
    }
    if (!tracing->seed_given)
        options.seed = scene->seed;
    return options;
}

typedef enum luxfall_status library_work(struct traced *traced, struct luxfall_options options,
                                         const struct tracing *tracing, struct luxfall_error *error);

enum luxfall_status traced_trace(struct traced *traced, struct luxfall_options options, const struct tracing *tracing,
                                 struct luxfall_error *error) {
    options = filled_in(options, tracing, traced->scene);
    *error = (struct luxfall_error){.status = LUXFALL_OK};
    error->status = luxfall_trace(&traced->scene->light, &options, &traced->result, error);
    return error->status;
}

static enum luxfall_status hold_readings(struct traced *traced, struct luxfall_options options,
                                         const struct tracing *tracing, struct luxfall_error *error) {
    options = filled_in(options, tracing, traced->scene);
    *error = (struct luxfall_error){.status = LUXFALL_OK};
    traced->has_measured = true;
    error->status = measured_make(traced->scene, &options, &traced->measured, error);
    return error->status;
}

int traced_tell(struct traced *traced, const char *name, const struct luxfall_error *error) {
    if (error->status != LUXFALL_OK)
        return tell_library_error(traced, place_of_error(traced->scene, error), error);
    if (stop_wanted())
        return stop_report();
    return findings_tell(traced->scene, traced->result, name, &traced->messages);
}

/* Under a progress line that Ctrl-C stops. */
static void work(struct traced *traced, const struct tracing *tracing, const char *label, library_work *function,
                 struct luxfall_error *error) {
    struct luxfall_options options = tracing->options;
    struct progress progress;
    progress_begin(&progress, stderr, isatty(STDERR_FILENO), label, NULL, NULL);
    options.progress = on_progress;
    options.user = &progress;
    stop_phase(STOP_BY_FLAG);
    function(traced, options, tracing, error);
    stop_phase(STOP_AT_ONCE);
    progress_end(&progress);
}

int traced_run(struct traced *traced, const struct tracing *tracing, const char *label, const char *name) {
    struct luxfall_error error;
    work(traced, tracing, label, traced_trace, &error);
    return traced_tell(traced, name, &error);
}

/* A value that is wrong is one of the readings. */
static struct scene_place place_of_reading(const struct scene *scene, const struct luxfall_error *error) {
    return error->status == LUXFALL_E_VALUE && error->item < scene->reading_count ? scene->readings[error->item].place
                                                                                  : place_of_error(scene, error);
}

int traced_readings(struct traced *traced, const struct tracing *tracing) {
    struct luxfall_error error;
    if (traced->scene->reading_count == 0)
        return 0;
    work(traced, tracing, "readings", hold_readings, &error);
    if (error.status != LUXFALL_OK)
        return tell_library_error(traced, place_of_reading(traced->scene, &error), &error);
    return stop_wanted() ? stop_report() : 0;
}

const struct measured *traced_measured(const struct traced *traced) {
    return traced->has_measured ? &traced->measured : NULL;
}

void traced_release(struct traced *traced) {
    measured_release(&traced->measured);
    luxfall_result_free(traced->result);
    messages_clear(&traced->messages);
    scene_free(traced->scene);
}

/* ---- files ----------------------------------------------------------------------------------------------------- */

typedef int plane_writer(const char *path, const struct traced *traced, size_t plane,
                         const struct figure_style *style, struct figure_error *error);

static int write_map(const char *path, const struct traced *traced, size_t plane, const struct figure_style *style,
                     struct figure_error *error) {
    return figure_map(path, traced->scene, traced->result, plane, style, error);
}

static int write_section(const char *path, const struct traced *traced, size_t plane,
                         const struct figure_style *style, struct figure_error *error) {
    return figure_section(path, traced->scene, traced->result, plane, style, error);
}

static int write_csv(const char *path, const struct traced *traced, size_t plane, const struct figure_style *style,
                     struct figure_error *error) {
    (void)style;
    return file_map_csv(path, traced->scene, traced->result, plane, error);
}

static int write_tiff(const char *path, const struct traced *traced, size_t plane, const struct figure_style *style,
                      struct figure_error *error) {
    (void)style;
    return file_map_tiff(path, traced->scene, traced->result, plane, error);
}

static int write_png16(const char *path, const struct traced *traced, size_t plane, const struct figure_style *style,
                       struct figure_error *error) {
    (void)style;
    return file_map_png16(path, traced->scene, traced->result, plane, error);
}

/* The files of every plane; an output file is one line here. The last is made on demand. */
static const struct {
    const char *stem, *ending;
    plane_writer *write;
} plane_files[] = {
    {"map", "png", write_map},   {"section", "png", write_section},  {"map", "csv", write_csv},
    {"map", "tiff", write_tiff}, {"map-linear", "png", write_png16},
};

static size_t files_a_plane(const struct tracing *tracing) {
    return sizeof plane_files / sizeof *plane_files - (tracing->linear_png ? 0 : 1);
}

size_t traced_file_count(const struct traced *traced, const struct tracing *tracing) {
    return 1 + files_a_plane(tracing) * traced->scene->light.target.level_count;
}

char *plane_file_name(const struct scene *scene, size_t plane, const char *folder, const char *stem,
                      const char *ending) {
    size_t size = strlen(folder) + strlen(stem) + strlen(ending) + 40;
    char *name = malloc(size);
    if (name && scene->light.target.level_count > 1)
        snprintf(name, size, "%s/%s_%.10gmm.%s", folder, stem, scene->light.target.level_mm[plane], ending);
    else if (name)
        snprintf(name, size, "%s/%s.%s", folder, stem, ending);
    return name;
}

/* Takes over the name. */
static const char *stage_named(struct outputs *outputs, char *name, struct figure_error *error) {
    const char *staged = name ? outputs_stage(outputs, name, error) : NULL;
    if (!name)
        *error = (struct figure_error){EXIT_MACHINE, "out of memory"};
    free(name);
    return staged;
}

const char *traced_stage_file(struct outputs *outputs, const char *folder, const char *file,
                              struct figure_error *error) {
    size_t size = strlen(folder) + strlen(file) + 2;
    char *name = malloc(size);
    if (name)
        snprintf(name, size, "%s/%s", folder, file);
    return stage_named(outputs, name, error);
}

int traced_stage(const struct traced *traced, const struct tracing *tracing, const char *folder,
                 struct outputs *outputs, const char **staged, struct figure_error *error) {
    if (outputs_folder(outputs, folder, error) != 0)
        return error->status;
    *staged = traced_stage_file(outputs, folder, "statistics.json", error);
    for (size_t plane = 0; *staged && plane < traced->scene->light.target.level_count; plane++)
        for (size_t i = 0; *staged && i < files_a_plane(tracing); i++)
            *++staged = stage_named(
                outputs, plane_file_name(traced->scene, plane, folder, plane_files[i].stem, plane_files[i].ending),
                error);
    return *staged ? 0 : error->status;
}

int traced_write_file(const struct traced *traced, const struct tracing *tracing, const char *const *staged,
                      size_t index, struct figure_error *error) {
    if (index == 0)
        return file_statistics(*staged, traced->scene, traced->result, traced_measured(traced), &traced->messages,
                               error);
    size_t each = files_a_plane(tracing), plane = (index - 1) / each;
    struct figure_style style = tracing->style;
    struct figure_readings shown = {traced->scene->reading_count, traced->scene->readings, traced->measured.forecast};
    style.readings = traced->has_measured ? &shown : NULL;
    return plane_files[(index - 1) % each].write(staged[index], traced, plane, &style, error);
}

int files_write(size_t count, file_writer *write, const void *user, struct figure_error *error) {
    size_t failed = count;
#pragma omp parallel for schedule(dynamic, 1)
    for (size_t i = 0; i < count; i++) {
        struct figure_error own = {0};
        if (write(user, i, &own) != 0) {
#pragma omp critical(files_write)
            if (i < failed) {
                failed = i;
                *error = own;
            }
        }
    }
    return failed < count ? error->status : 0;
}

struct written {
    const struct traced *traced;
    const struct tracing *tracing;
    const char *const *staged;
};

static int write_one(const void *user, size_t index, struct figure_error *error) {
    const struct written *written = user;
    return traced_write_file(written->traced, written->tracing, written->staged, index, error);
}

int traced_write(const struct traced *traced, const struct tracing *tracing, const char *const *staged,
                 struct figure_error *error) {
    const struct written written = {traced, tracing, staged};
    return files_write(traced_file_count(traced, tracing), write_one, &written, error);
}

int tell_error(const char *command, const struct outputs *outputs, struct figure_error *error) {
    outputs_name_place(outputs, error);
    fprintf(stderr, "luxfall %s: error: %s\n", command, error->text);
    return error->status;
}
