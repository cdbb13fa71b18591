/* What trace and compare share: their options, a scene read and traced under them, and the files of one result. */
#ifndef RENDER_COMMANDS_TRACING_H
#define RENDER_COMMANDS_TRACING_H

#include "measured.h"
#include "options.h"
#include "outputs.h"
#include "render/figures/figures.h"
#include "values.h"

/* X(ID, rows of struct option). Those of every command that traces... */
#define SHARED_OPTIONS(X)                                                                                            \
    X(METHOD, "method", "WAY",                                                                                       \
      "rays (default), or direct: the integral over the lens faces, at once and without noise, for light that is "   \
      "known by angle",                                                                                              \
      value_choice, method_choices, COMPLETE_CHOICES)                                                                \
    X(ACCURACY, "accuracy", "P",                                                                                     \
      "wanted half-width of the 95 % band of every field's average, centre and minimum, in percent: 0.5 or 0.5%; "   \
      "in "                                                                                                          \
      "place of the scene's own",                                                                                    \
      value_percent, NULL, COMPLETE_NOTHING)                                                                         \
    X(RAYS, "rays", "N", "number of rays, such as 20e6 or \"20 million\", in place of an accuracy", value_rays,      \
      NULL, COMPLETE_NOTHING)                                                                                        \
    X(SEED, "seed", "N", "the same scene and seed give the same files; in place of the scene's own", value_seed,     \
      NULL, COMPLETE_NOTHING)                                                                                        \
    X(THREADS, "threads", "N", "processors to work on (default: all); the results do not depend on it",              \
      value_threads, NULL, COMPLETE_NOTHING)                                                                         \
    X(POINTS, "points", "KIND", "scrambled (default): low-discrepancy points; random: plain Monte Carlo",            \
      value_choice, points_choices, COMPLETE_CHOICES)                                                                \
    X(VECTORS, "vectors", "WIDTH",                                                                                   \
      "best (default), plain, avx2 or avx512: the processor's vector units to use; the results do not depend on it", \
      value_choice, vectors_choices, COMPLETE_CHOICES)                                                               \
    X(WIDTH, "width", "PX", "width of the pictures in pixels", value_pixels, NULL, COMPLETE_NOTHING)

/* ...and all of a command whose result is a traced scene with its map. */
#define TRACING_OPTIONS(X)                                                                                           \
    X(OUT, "out", "DIR",                                                                                             \
      "write map.png, section.png, statistics.json, map.csv and map.tiff there; the folder is made when missing, "   \
      "the "                                                                                                         \
      "files appear all together or not at all; with several levels the level joins the name, as in map_-10mm.png",  \
      value_text, NULL, COMPLETE_FOLDER)                                                                             \
    X(JSON, "json", "FILE", "write the statistics as JSON; - is standard output, which then carries nothing else",   \
      value_text, NULL, COMPLETE_FILE)                                                                               \
    SHARED_OPTIONS(X)                                                                                                \
    X(SCALE, "scale", "KIND", "linear (default) or log colours in the pictures", value_choice, scale_choices,        \
      COMPLETE_CHOICES)                                                                                              \
    X(TOP, "top", "LUX", "top of the colour bar, such as 120000 or \"120 klx\", to compare pictures", value_lux,     \
      NULL, COMPLETE_NOTHING)                                                                                        \
    X(LINEAR_PNG, "linear-png", NULL, "with --out: also map-linear.png, 16-bit grey, even steps of lux", NULL, NULL, \
      COMPLETE_NOTHING)

/* Whoever writes rows of its own for the first two keeps their order. */
#define OPTION_ID(id, ...) OPT_##id,
#define OPTION_ROW(id, ...) {__VA_ARGS__},
enum tracing_option { TRACING_OPTIONS(OPTION_ID) TRACING_OPTION_COUNT };
enum { SHARED_OPTION_COUNT = OPT_WIDTH + 1 };

extern const char *const method_choices[], *const points_choices[], *const vectors_choices[], *const scale_choices[];

/* The options of one run, checked against each other. */
struct tracing {
    struct luxfall_options options; /* accuracy and rays both 0: the scene's own */
    bool seed_given, linear_png;
    struct figure_style style;
    const char *out, *json; /* NULL: not asked for */
};

/* 0, or an exit status after telling stderr why. The first is for commands of TRACING_OPTIONS, the other for those
 * that take SHARED_OPTIONS after their own --out and --json. */
int tracing_init(struct tracing *tracing, const char *command, const struct option_value *values);
int tracing_init_shared(struct tracing *tracing, const char *command, const struct option_value *values);

/* A scene with its messages and, once traced, its result. */
struct traced {
    const char *path;
    struct scene *scene;
    struct messages messages; /* warnings of reading, then of the result */
    struct luxfall_result *result;
    bool has_measured;
    struct measured measured; /* has_measured: the scene's readings beside the forecast */
};
/* Reads PATH and tells its messages on stderr. 0 or an exit status. */
int traced_read(struct traced *traced, const char *path);
/* Traces; progress, under the label, and messages go to stderr, with a name that tells this result from others (NULL:
 * there are none). 0 or an exit status. */
int traced_run(struct traced *traced, const struct tracing *tracing, const char *label, const char *name);
/* The two halves of it, for several at once: the tracing, which says nothing, under options of the tracing's with a
 * progress and threads of the caller's; and what there is to say of it. */
enum luxfall_status traced_trace(struct traced *traced, struct luxfall_options options, const struct tracing *tracing,
                                 struct luxfall_error *error);
int traced_tell(struct traced *traced, const char *name, const struct luxfall_error *error);
/* The scene's readings, if it has any, against the forecast, after traced_run(). 0 or an exit status. */
int traced_readings(struct traced *traced, const struct tracing *tracing);
const struct measured *traced_measured(const struct traced *traced); /* NULL: no readings */
void traced_release(struct traced *traced);

/* Every file of one result, under FOLDER: chosen before the tracing, written after it. */
int traced_stage(const struct traced *traced, const struct tracing *tracing, const char *folder,
                 struct outputs *outputs, const char **staged, struct figure_error *error);
int traced_write(const struct traced *traced, const struct tracing *tracing, const char *const *staged,
                 struct figure_error *error);
/* Number of names that traced_stage fills in; and one of these files. */
size_t traced_file_count(const struct traced *traced, const struct tracing *tracing);
int traced_write_file(const struct traced *traced, const struct tracing *tracing, const char *const *staged,
                      size_t index, struct figure_error *error);

/* Files that are made by themselves each, so that they are made side by side; the first in order that fails speaks
 * for all. 0 or error->status. */
typedef int file_writer(const void *user, size_t index, struct figure_error *error);
int files_write(size_t count, file_writer *write, const void *user, struct figure_error *error);

/* One more file in the folder that traced_stage() has chosen; NULL after an error. */
const char *traced_stage_file(struct outputs *outputs, const char *folder, const char *file,
                              struct figure_error *error);

/* FOLDER/STEM.ENDING, with the level in between when the scene has several; the caller frees. */
char *plane_file_name(const struct scene *scene, size_t plane, const char *folder, const char *stem,
                      const char *ending);

/* Says a figure_error on stderr and returns its status. */
int tell_error(const char *command, const struct outputs *outputs, struct figure_error *error);

#endif
