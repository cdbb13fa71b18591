/* Candidates traced. By rays one after the other, each on all processors, which it keeps busy. The direct way goes
 * from one short step to the next, few of them worth a second processor: several scenes go side by side. */
#include "candidates.h"
#include "progress.h"
#include "stop.h"

#include <omp.h>
#include <unistd.h>

static int trace_in_turn(struct candidates *candidates, const struct tracing *tracing) {
    int status = 0;
    for (size_t i = 0; status == 0 && i < candidates->count; i++) {
        char label[100];
        snprintf(label, sizeof label, "%zu of %zu, %s", i + 1, candidates->count, candidates->items[i].name);
        status = traced_run(&candidates->items[i].traced, tracing, label, candidates->items[i].name);
    }
    return status;
}

static bool goes_on(void *user, const struct luxfall_progress *now) {
    (void)user;
    (void)now;
    return !stop_wanted();
}

/* What was traced by one of several threads, told. */
static void count_traced(struct progress *progress, size_t *traced, size_t count) {
#pragma omp critical(count_traced)
    {
        char text[60];
        snprintf(text, sizeof text, "%zu of %zu traced", ++*traced, count);
        progress_say(progress, text);
    }
}

/* The threads are shared out: each result is the same on any number of them. */
static void trace_beside(struct candidates *candidates, const struct tracing *tracing, struct luxfall_error *errors) {
    size_t count = candidates->count, traced = 0;
    int threads = tracing->options.threads > 0 ? tracing->options.threads : omp_get_num_procs();
    int beside = threads < (int)count ? threads : (int)count;
    struct luxfall_options options = tracing->options;
    options.threads = threads / beside;
    options.progress = goes_on;
    struct progress progress;
    progress_begin(&progress, stderr, isatty(STDERR_FILENO), "candidates", NULL, NULL);
    omp_set_max_active_levels(2);
#pragma omp parallel for schedule(dynamic, 1) num_threads(beside)
    for (size_t i = 0; i < count; i++) {
        traced_trace(&candidates->items[i].traced, options, tracing, &errors[i]);
        count_traced(&progress, &traced, count);
    }
    omp_set_max_active_levels(1);
    progress_end(&progress);
}

static int trace_side_by_side(struct candidates *candidates, const struct tracing *tracing) {
    struct luxfall_error errors[CANDIDATES_MAX];
    int status = 0;
    stop_phase(STOP_BY_FLAG);
    trace_beside(candidates, tracing, errors);
    stop_phase(STOP_AT_ONCE);
    for (size_t i = 0; status == 0 && i < candidates->count; i++)
        status = traced_tell(&candidates->items[i].traced, candidates->items[i].name, &errors[i]);
    return status;
}

int candidates_trace(struct candidates *candidates, const struct tracing *tracing) {
    return tracing->options.method == LUXFALL_DIRECT ? trace_side_by_side(candidates, tracing)
                                                     : trace_in_turn(candidates, tracing);
}
