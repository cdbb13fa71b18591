/* luxfall trace: a scene, traced; its table on standard output, its files in a folder. */
#include "tracing.h"

#include "render/files/files.h"
#include "report.h"
#include "stop.h"

#include <stdlib.h>
#include <string.h>

static const struct option trace_options[] = {TRACING_OPTIONS(OPTION_ROW){NULL, NULL, NULL, NULL, NULL, 0}};

/* Results on standard output: the table, or with --json - the JSON alone. */
static int print_result(const struct traced *traced, const struct tracing *tracing) {
    if (!tracing->json || strcmp(tracing->json, "-") != 0) {
        int status = report_print(traced->scene, traced->result, traced_measured(traced), stdout);
        return status ? status : report_flush("trace");
    }
    json_t *json = statistics_json(traced->scene, traced->result, traced_measured(traced), &traced->messages);
    if (!json || json_dumpf(json, stdout, STATISTICS_DUMP) != 0)
        fputs(json ? "" : "luxfall trace: error: out of memory\n", stderr);
    bool made = json != NULL;
    json_decref(json);
    putchar('\n');
    return made ? report_flush("trace") : EXIT_MACHINE;
}

/* Traces between choosing the places of the files and filling them. */
static int trace_into(struct traced *traced, const struct tracing *tracing, struct outputs *outputs,
                      const char **staged) {
    struct figure_error error = {0};
    const char *json = NULL, *readings = NULL;
    bool has_readings = tracing->out && traced->scene->reading_count > 0;
    bool json_file = tracing->json && strcmp(tracing->json, "-") != 0;
    if (json_file && !(json = outputs_stage(outputs, tracing->json, &error)))
        return tell_error("trace", outputs, &error);
    if (tracing->out && traced_stage(traced, tracing, tracing->out, outputs, staged, &error) != 0)
        return tell_error("trace", outputs, &error);
    if (has_readings && !(readings = traced_stage_file(outputs, tracing->out, "readings.csv", &error)))
        return tell_error("trace", outputs, &error);
    int status = traced_run(traced, tracing, traced->scene->title, NULL);
    if (status == 0)
        status = traced_readings(traced, tracing);
    if (status)
        return status;
    if (json &&
        file_statistics(json, traced->scene, traced->result, traced_measured(traced), &traced->messages, &error) != 0)
        return tell_error("trace", outputs, &error);
    if (tracing->out && traced_write(traced, tracing, staged, &error) != 0)
        return tell_error("trace", outputs, &error);
    if (readings && file_readings_csv(readings, traced_measured(traced), &error) != 0)
        return tell_error("trace", outputs, &error);
    status = print_result(traced, tracing);
    if (status)
        return status;
    stop_phase(STOP_HELD);
    return outputs_commit(outputs, &error) ? tell_error("trace", outputs, &error) : EXIT_DONE;
}

static int trace(const struct option_value *values, const char *const *words) {
    struct tracing tracing;
    struct traced traced;
    struct outputs outputs = {NULL};
    int status = tracing_init(&tracing, "trace", values);
    if (status)
        return status;
    stop_install();
    status = traced_read(&traced, words[0]);
    const char **staged = NULL;
    if (status == 0) {
        staged = calloc(traced_file_count(&traced, &tracing), sizeof *staged);
        status = staged ? trace_into(&traced, &tracing, &outputs, staged) : EXIT_MACHINE;
        if (!staged)
            fputs("luxfall trace: error: out of memory\n", stderr);
    }
    outputs_release(&outputs);
    free(staged);
    traced_release(&traced);
    return status;
}

const struct command command_trace = {
    .name = "trace",
    .words = "SCENE",
    .summary = "trace a scene: the table of its fields, and with --out pictures and data files",
    .about =
        "Traces the scene and prints where its light falls: for every level the spot and its visible edge, for every "
        "field the centre, how even it is and how much light lands in it, each with its 95 % band, and what became "
        "of all lumens. A scene that names readings of a meter has each of them beside the forecast over its head, "
        "the "
        "one scale factor between the two, and a line of verdict; with --out also readings.csv.\n\n"
        "By default rays are launched until the scene's accuracy is reached. Warnings, the progress line (on a "
        "terminal only) and errors go to standard error. Ctrl-C leaves nothing half-written.",
    .words_min = 1,
    .words_max = 1,
    .words_completion = COMPLETE_SCENE,
    .options = trace_options,
    .run = trace,
};
