/* Points of a sweep: the scene read with changed numbers, and traced as luxfall trace does it. */
#include "sweep.h"

#include "findings.h"
#include "stop.h"

#include <ctype.h>
#include <math.h>
#include <omp.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

/* ---- reading --------------------------------------------------------------------------------------------------- */

/* The path "current" is that of every group. */
static bool of_every_group(const struct vary *vary) {
    return strcmp(vary->path, "current") == 0;
}

int sweep_read_at(const struct sweep *sweep, const char *const *texts, struct scene **out,
                  struct messages *messages) {
    size_t groups = sweep->base.scene->group_count, count = 0;
    struct scene_edit *edits = calloc(sweep->varied_count * (groups + 1), sizeof *edits);
    char(*paths)[48] = calloc(groups + 1, sizeof *paths);
    int status = edits && paths ? 0 : sweep_out_of_memory();
    for (size_t i = 0; status == 0 && i < sweep->varied_count; i++) {
        bool every = of_every_group(&sweep->varied[i]);
        for (size_t group = 0; group < (every ? groups : 1); group++) {
            snprintf(paths[group], sizeof *paths, "modules.%zu.current", group + 1);
            const char *path = every ? paths[group] : sweep->varied[i].path;
            edits[count++] = (struct scene_edit){path, texts[i], "--vary"};
        }
    }
    struct scene_changes changes = {.origin = "--vary", .edit_count = count, .edits = edits};
    if (status == 0)
        status = scene_read_changed(sweep->base.path, &changes, out, messages);
    free(edits);
    free(paths);
    return status;
}

static int read_point(const struct sweep *sweep, const struct sweep_point *point, struct scene **out,
                      struct messages *messages) {
    char texts[VARIED_MAX][WISH_SIZE];
    const char *each[VARIED_MAX] = {texts[0], texts[1]};
    for (size_t i = 0; i < sweep->varied_count; i++)
        vary_text(&sweep->varied[i], point->number[i], texts[i]);
    return sweep_read_at(sweep, each, out, messages);
}

/* ---- warnings, told once --------------------------------------------------------------------------------------- */

/* Alike but for their numbers. */
static bool same_words(const char *a, const char *b) {
    for (;; a++, b++) {
        a += strspn(a, "0123456789.");
        b += strspn(b, "0123456789.");
        if (*a != *b)
            return false;
        if (*a == '\0')
            return true;
    }
}

static bool same_place(const struct scene_place *a, const struct scene_place *b) {
    return a->line == b->line && a->column == b->column && strcmp(a->file, b->file) == 0;
}

static bool is_told(const struct messages *told, const struct message *message) {
    for (size_t i = 0; i < told->count; i++)
        if (same_place(&told->items[i].place, &message->place) && same_words(told->items[i].text, message->text))
            return true;
    return false;
}

/* Those that the scene as written, or an earlier point, has not said already. */
static void tell_new(struct sweep *sweep, const struct sweep_point *point, const struct messages *messages) {
    char at[POINT_TEXT];
    struct messages fresh = {0};
    sweep_point_text(sweep, point->number, at);
    for (size_t i = 0; i < messages->count; i++) {
        const struct message *message = &messages->items[i];
        if (message->kind != MESSAGE_WARNING || is_told(&sweep->told, message))
            continue;
        messages_add(&sweep->told, MESSAGE_WARNING, message->place, NULL, "%s", message->text);
        messages_add(&fresh, MESSAGE_WARNING, message->place, message->source, "at %s: %s", at, message->text);
        messages_add(&sweep->base.messages, MESSAGE_WARNING, message->place, NULL, "at %s: %s", at, message->text);
    }
    messages_print(&fresh, stderr);
    messages_clear(&fresh);
}

/* ---- tracing --------------------------------------------------------------------------------------------------- */

/* A point on its way. The scene of a borrowed one belongs to the caller. */
struct job {
    struct sweep_point *point;
    struct traced traced;
    int status;
    bool borrowed;
    struct luxfall_error error;
};

/* What is shown while it lasts. */
struct watch {
    struct sweep *sweep;
    struct progress progress;
    char label[160];
    size_t done, count;
    bool quiet;
};

static bool on_progress(void *user, const struct luxfall_progress *now) {
    struct watch *watch = user;
    if (!watch->quiet)
        progress_show(&watch->progress, now);
    return !stop_wanted();
}

static size_t field_index(const struct luxfall_scene *light, const char *name) {
    for (size_t i = 0; name && i < light->field_count; i++)
        if (strcmp(light->fields[i].name, name) == 0)
            return i;
    return 0;
}

static size_t judged_plane(const struct luxfall_target *target) {
    size_t nearest = 0;
    for (size_t i = 1; i < target->level_count; i++)
        if (fabs(target->level_mm[i]) < fabs(target->level_mm[nearest]))
            nearest = i;
    return nearest;
}

double sweep_level_mm(const struct luxfall_target *target) {
    return target->level_mm[judged_plane(target)];
}

static void take_values(const struct sweep *sweep, const struct traced *traced, struct sweep_point *point) {
    for (size_t i = 0; i < sweep->quantity_count; i++) {
        const struct quantity *quantity = &sweep->quantities[i];
        const struct statistic_source source = {traced->scene, traced->result,
                                                judged_plane(&traced->scene->light.target),
                                                field_index(&traced->scene->light, quantity->field)};
        point->values[i] = quantity->statistic->of(&source);
    }
    point->over_limit = scene_over_limit(traced->scene);
}

static bool needs_map(const struct sweep *sweep) {
    for (size_t i = 0; i < sweep->quantity_count; i++)
        if (sweep->quantities[i].statistic->scope == OF_MAP)
            return true;
    return false;
}

static void trace_job(struct watch *watch, struct job *job, bool alone) {
    const struct sweep *sweep = watch->sweep;
    struct luxfall_options options = sweep->tracing.options;
    options.fields_only = !needs_map(sweep);
    if (alone) {
        options.progress = on_progress;
        options.user = watch;
    } else
        options.threads = 1;
    if (traced_trace(&job->traced, options, &sweep->tracing, &job->error) != LUXFALL_OK)
        return;
    take_values(sweep, &job->traced, job->point);
    if (!job->borrowed)
        findings_add(job->traced.scene, job->traced.result, needs_map(sweep), &job->traced.messages);
}

static void release_traced(struct traced *traced, bool borrowed) {
    luxfall_result_free(traced->result);
    traced->result = NULL;
    if (!borrowed)
        scene_free(traced->scene);
    traced->scene = NULL;
}

/* The brightest point stands for all in notes and cautions; of equal ones the first. The rest need not be kept. */
static void keep_brightest(struct sweep *sweep, struct job *job) {
    double lx = sweep->lux == NO_QUANTITY ? 0 : job->point->values[sweep->lux].value;
    bool first = !sweep->shown.result, brighter = !first && lx > sweep->shown_lx,
         earlier = !first && lx == sweep->shown_lx && job->point < sweep->shown_point;
    if (first || brighter || earlier) {
        release_traced(&sweep->shown, false);
        sweep->shown =
            (struct traced){.path = sweep->base.path, .scene = job->traced.scene, .result = job->traced.result};
        sweep->shown_point = job->point;
        sweep->shown_lx = lx;
        job->traced.scene = NULL;
        job->traced.result = NULL;
    }
}

static void finish_job(struct watch *watch, struct job *job) {
    char said[60];
    if (job->error.status == LUXFALL_OK) {
        if (!job->borrowed && !watch->quiet)
            keep_brightest(watch->sweep, job);
        release_traced(&job->traced, job->borrowed);
    }
    snprintf(said, sizeof said, "%zu of %zu points", ++watch->done, watch->count);
    if (!watch->quiet)
        progress_say(&watch->progress, said);
}

/* By rays one after the other, each on all threads; by the direct way each on one, side by side. */
static void trace_jobs(struct watch *watch, struct job *jobs) {
    const struct luxfall_options *options = &watch->sweep->tracing.options;
    bool alone = options->method == LUXFALL_RAYS || watch->count == 1;
    int threads = alone ? 1 : options->threads > 0 ? options->threads : omp_get_max_threads();
#pragma omp parallel for schedule(dynamic, 1) num_threads(threads)
    for (size_t i = 0; i < watch->count; i++) {
        if (stop_wanted())
            continue;
        if (alone) {
            snprintf(watch->label, sizeof watch->label, "point %zu of %zu", i + 1, watch->count);
            watch->progress.pilot = true;
        }
        trace_job(watch, &jobs[i], alone);
#pragma omp critical(sweep_watch)
        finish_job(watch, &jobs[i]);
    }
}

static void watched(struct sweep *sweep, size_t count, struct job *jobs, bool quiet) {
    struct watch watch = {.sweep = sweep, .count = count, .quiet = quiet, .label = "sweep"};
    progress_begin(&watch.progress, stderr, isatty(STDERR_FILENO), watch.label, NULL, NULL);
    stop_phase(STOP_BY_FLAG);
    trace_jobs(&watch, jobs);
    stop_phase(STOP_AT_ONCE);
    progress_end(&watch.progress);
}

/* ---- points ---------------------------------------------------------------------------------------------------- */

/* Which numbers the message before it came of. */
static int tell_where(const struct sweep *sweep, const struct sweep_point *point, int status) {
    char text[WISH_SIZE];
    for (size_t i = 0; status == EXIT_USER && i < sweep->varied_count; i++) {
        vary_text(&sweep->varied[i], point->number[i], text);
        fprintf(stderr, "%s%s: %s", i ? ", " : "luxfall sweep: error: the scene cannot be traced with ",
                sweep->varied[i].path, text);
    }
    if (status == EXIT_USER)
        fputc('\n', stderr);
    return status;
}

/* The first point that failed speaks for all. */
static int tell_jobs(struct sweep *sweep, size_t count, struct job *jobs) {
    for (size_t i = 0; i < count; i++) {
        if (stop_wanted())
            return stop_report();
        if (jobs[i].error.status != LUXFALL_OK)
            return tell_where(sweep, jobs[i].point, traced_tell(&jobs[i].traced, NULL, &jobs[i].error));
        if (jobs[i].traced.messages.out_of_memory)
            return sweep_out_of_memory();
        if (!jobs[i].borrowed)
            tell_new(sweep, jobs[i].point, &jobs[i].traced.messages);
    }
    return sweep->told.out_of_memory || sweep->base.messages.out_of_memory ? sweep_out_of_memory() : 0;
}

static void release_jobs(size_t count, struct job *jobs) {
    for (size_t i = 0; i < count; i++) {
        messages_clear(&jobs[i].traced.messages);
        release_traced(&jobs[i].traced, jobs[i].borrowed);
    }
    free(jobs);
}

/* All are read before the first is traced, so that a number that the scene does not take is told at once. */
static int read_jobs(struct sweep *sweep, size_t count, struct job *jobs) {
#pragma omp parallel for schedule(dynamic, 1)
    for (size_t i = 0; i < count; i++) {
        jobs[i].traced.path = sweep->base.path;
        jobs[i].status = read_point(sweep, jobs[i].point, &jobs[i].traced.scene, &jobs[i].traced.messages);
    }
    for (size_t i = 0; i < count; i++) {
        if (jobs[i].status == 0)
            continue;
        messages_print(&jobs[i].traced.messages, stderr);
        return tell_where(sweep, jobs[i].point, jobs[i].status);
    }
    return 0;
}

int sweep_trace_points(struct sweep *sweep, size_t count, struct sweep_point *points) {
    struct job *jobs = calloc(count, sizeof *jobs);
    if (!jobs)
        return sweep_out_of_memory();
    for (size_t i = 0; i < count; i++)
        jobs[i].point = &points[i];
    int status = read_jobs(sweep, count, jobs);
    if (status == 0) {
        watched(sweep, count, jobs, false);
        status = tell_jobs(sweep, count, jobs);
    }
    release_jobs(count, jobs);
    return status;
}

int sweep_trace_scenes(struct sweep *sweep, size_t count, struct scene *scenes, struct sweep_point *points) {
    struct job *jobs = calloc(count, sizeof *jobs);
    if (!jobs)
        return sweep_out_of_memory();
    for (size_t i = 0; i < count; i++)
        jobs[i] = (struct job){.point = &points[i], .borrowed = true, .traced = {.path = sweep->base.path}};
    for (size_t i = 0; i < count; i++)
        jobs[i].traced.scene = &scenes[i];
    watched(sweep, count, jobs, false);
    int status = tell_jobs(sweep, count, jobs);
    release_jobs(count, jobs);
    return status;
}

/* What the user got wrong is a number that the scene does not take; the rest is told. */
int sweep_try_point(struct sweep *sweep, struct sweep_point *point, bool *refused) {
    struct job *job = calloc(1, sizeof *job);
    if (!job)
        return sweep_out_of_memory();
    job->point = point;
    job->traced.path = sweep->base.path;
    int status = read_point(sweep, point, &job->traced.scene, &job->traced.messages);
    if (status == 0) {
        watched(sweep, 1, job, true);
        bool wrong = job->error.status == LUXFALL_E_VALUE || job->error.status == LUXFALL_E_BEAM;
        status = wrong ? EXIT_USER : tell_jobs(sweep, 1, job);
    }
    *refused = status == EXIT_USER;
    if (status == EXIT_MACHINE)
        messages_print(&job->traced.messages, stderr);
    release_jobs(1, job);
    return *refused ? 0 : status;
}
