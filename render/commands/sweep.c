/* luxfall sweep: one or two numbers of a scene varied, and what follows: curves, limits, the best point. */
#include "sweep.h"

#include "report.h"
#include "stop.h"
#include "sweep_files.h"

#include <stdlib.h>
#include <string.h>

enum { OPT_VARY = SHARED_OPTION_COUNT, OPT_OF, OPT_WANT };

static const struct option sweep_options[] = {
    {"out", "DIR",
     "write sweep.csv (every point), sweep.json, sweep.md (the table for a build log) and sweep.png there, or of two "
     "varied numbers a picture of each statistic; the folder is made when missing, the files appear all together or "
     "not at all",
     value_text, NULL, COMPLETE_FOLDER},
    {"json", "FILE", "write every point as JSON; - is standard output, which then carries nothing else", value_text,
     NULL, COMPLETE_FILE},
    SHARED_OPTIONS(OPTION_ROW){
        "vary", "PATH=A..B[/N]",
        "the number to vary, from A to B in N values: \"modules.ring.aim=0 mm short..60 mm short/31\", "
        "\"lenses.medium.beam_angle=15..45 deg\", \"modules.ring.ring.count=3..12\"; the path names keys of the "
        "scene, "
        "entries of lists by their name or number; \"current\" alone is that of all modules; given twice it makes a "
        "grid",
        value_text, NULL, COMPLETE_NOTHING},
    {"of", "STATISTICS",
     "what to keep of every point: \"U0 in widest zoom, centre\"; without a field, of every field; by default U0 and "
     "centre of the field that is wanted or else the first, over a current centre and lux per watt",
     value_text, NULL, COMPLETE_NOTHING},
    {"want", "LIMIT",
     "a limit to meet: \"U0 >= 0.9 in widest zoom\" (the first field when none is named); may be given several times",
     value_text, NULL, COMPLETE_NOTHING},
    {NULL, NULL, NULL, NULL, NULL, COMPLETE_NOTHING}};

int sweep_out_of_memory(void) {
    fputs("luxfall sweep: error: out of memory\n", stderr);
    return EXIT_MACHINE;
}

/* The ends are as they were given; between them no more digits than anybody can set. */
static double number_at(const struct vary *varied, size_t step) {
    double number = vary_number(varied, step);
    bool end = step == 0 || step + 1 == varied->steps;
    return end ? number : sweep_rounded(number, sweep_step(varied));
}

static int make_points(struct sweep *sweep) {
    size_t first = sweep->varied[0].steps;
    sweep->points = calloc(sweep->point_count, sizeof *sweep->points);
    if (!sweep->points)
        return sweep_out_of_memory();
    for (size_t i = 0; i < sweep->point_count; i++) {
        sweep->points[i].number[0] = number_at(&sweep->varied[0], i % first);
        if (sweep->varied_count > 1)
            sweep->points[i].number[1] = number_at(&sweep->varied[1], i / first);
    }
    return 0;
}

static int trace_all(struct sweep *sweep) {
    int status = make_points(sweep);
    if (status == 0)
        status = sweep_trace_points(sweep, sweep->point_count, sweep->points);
    if (status == 0)
        status = sweep_judge(sweep);
    return status ? status : sweep_find_price(sweep);
}

static int print_result(const struct sweep *sweep) {
    if (!sweep->tracing.json || strcmp(sweep->tracing.json, "-") != 0) {
        int status = sweep_print(sweep, stdout);
        return status ? status : report_flush("sweep");
    }
    int status = report_flush("sweep");
    if (status == 0 && !sweep_write_json(sweep, stdout) && !ferror(stdout))
        return sweep_out_of_memory();
    return status ? status : report_flush("sweep");
}

static int run(struct sweep *sweep, struct outputs *outputs) {
    struct figure_error error = {0};
    struct sweep_staged staged;
    if (sweep_stage(sweep, outputs, &staged, &error) != 0)
        return tell_error("sweep", outputs, &error);
    int status = trace_all(sweep);
    if (status)
        return status;
    if (sweep_write(sweep, &staged, &error) != 0)
        return tell_error("sweep", outputs, &error);
    status = print_result(sweep);
    if (status)
        return status;
    stop_phase(STOP_HELD);
    return outputs_commit(outputs, &error) ? tell_error("sweep", outputs, &error) : EXIT_DONE;
}

static int read_base(struct sweep *sweep, const char *path) {
    int status = traced_read(&sweep->base, path);
    const struct messages *messages = &sweep->base.messages;
    for (size_t i = 0; status == 0 && i < messages->count; i++)
        messages_add(&sweep->told, messages->items[i].kind, messages->items[i].place, NULL, "%s",
                     messages->items[i].text);
    return status;
}

static int sweep(const struct option_value *values, const char *const *words) {
    struct outputs outputs = {NULL};
    struct sweep *sweep = calloc(1, sizeof *sweep);
    if (!sweep)
        return sweep_out_of_memory();
    int status = tracing_init_shared(&sweep->tracing, "sweep", values);
    if (status == 0) {
        stop_install();
        status = read_base(sweep, words[0]);
    }
    if (status == 0)
        status = sweep_wish(sweep, &values[OPT_VARY], &values[OPT_OF], &values[OPT_WANT]);
    if (status == 0)
        status = run(sweep, &outputs);
    outputs_release(&outputs);
    traced_release(&sweep->base);
    traced_release(&sweep->shown);
    messages_clear(&sweep->told);
    free(sweep->points);
    free(sweep);
    return status;
}

const struct command command_sweep = {
    .name = "sweep",
    .words = "SCENE",
    .summary = "vary one or two numbers of a scene: curves, where limits are crossed, the best point",
    .about =
        "Traces the scene at many values of one number, or of two, and prints a table of statistics. Every --want is "
        "answered by where its limit is crossed, which part of the range meets it, and the point that meets all of "
        "them at the most light (or, where nothing but light is wanted, at just enough of it). By the direct way a "
        "crossing is found with the scene itself, to a ten-thousandth of the range; by rays on a straight line "
        "between two points, with its band.\n\n"
        "Where the aim of modules is varied, the price of the best aim is told beside the aim at the centre: lux "
        "kept, what 10 mm of level change, and how even the field stays with one module dark. Over a current, lux "
        "and lux per watt are told with the watts.\n\n"
        "Every number is the one that luxfall trace gives, with the same method and seed, for the scene written out "
        "at that point.",
    .words_min = 1,
    .words_max = 1,
    .words_completion = COMPLETE_SCENE,
    .options = sweep_options,
    .run = sweep,
};
