/* Pictures of a traced scene: structs to pixels. Each function writes one PNG, whole or not at all. */
#ifndef RENDER_FIGURES_FIGURES_H
#define RENDER_FIGURES_FIGURES_H

#include "scenes/scene.h"

#define FIGURE_WIDTH_PX 1200 /* the default */
#define FIGURE_WIDTH_MIN_PX 240
#define FIGURE_WIDTH_MAX_PX 8000

enum figure_scale { FIGURE_LINEAR, FIGURE_LOG };

/* Readings of a meter to set on the pictures, with what they should have been. */
struct figure_readings {
    size_t count;
    const struct scene_reading *readings;
    const struct luxfall_estimate *forecast_lx;
};

struct figure_style {
    int width_px; /* 0: default */
    enum figure_scale scale;
    double top_lx;                          /* top of the colour bar; 0: a round number above the peak */
    const struct figure_readings *readings; /* shown on map and section; NULL: none */
    bool pdf;                               /* in place of a PNG; drawings alone */
};

/* The top that a scale takes by itself above this peak: pictures made apart can share it. */
double figure_top_lx(double peak_lx);

/* What went wrong: status 1 the machine, 2 the user's wish; the text names the file. */
struct figure_error {
    int status;
    char text[512];
};
/* Fills in the error and returns its status, so that one line reports and leaves. */
int figure_fail(struct figure_error *error, int status, const char *format, ...)
    __attribute__((format(printf, 3, 4)));

/* Where light is lost, in words for a reader; the library's own names are keys. */
const char *figure_loss(enum luxfall_loss loss);

/* False-colour map of one plane. Returns 0 or error->status. */
int figure_map(const char *path, const struct scene *scene, const struct luxfall_result *result, size_t plane,
               const struct figure_style *style, struct figure_error *error);

/* Profiles along x and y through the centre. */
int figure_section(const char *path, const struct scene *scene, const struct luxfall_result *result, size_t plane,
                   const struct figure_style *style, struct figure_error *error);

/* Small multiples of several results, one scale; and their profiles overlaid. names[i] labels each. */
int figure_compare(const char *path, size_t count, const struct scene *const *scenes,
                   const struct luxfall_result *const *results, const char *const *names, size_t plane,
                   const struct figure_style *style, struct figure_error *error);
int figure_compare_sections(const char *path, size_t count, const struct scene *const *scenes,
                            const struct luxfall_result *const *results, const char *const *names, size_t plane,
                            const struct figure_style *style, struct figure_error *error);

/* What shines, a line for each group, as captions say it; NULL out of memory. The caller frees. */
char *figure_lamp_text(const struct scene *scene, const struct luxfall_result *result);

/* How a map by rays was made smooth to look at, a sentence; false: it was not. */
enum { FIGURE_SMOOTHED_SIZE = 160 };
bool figure_smoothed_text(const struct luxfall_plane_result *plane, char out[FIGURE_SMOOTHED_SIZE]);

/* Curves over one varied number: panels above each other with one x axis, each with one unit. Values come in the unit
 * named; lx and lx/W are shown as klx where they are large. Of the style the width counts. */
struct figure_series {
    const char *label;         /* at the curve's end; empty: none */
    const double *value, *u95; /* count of them; NaN: a gap; u95 NULL: no bands */
};
struct figure_panel {
    const char *label, *unit;
    size_t series_count;
    const struct figure_series *series;
    double want; /* a limit drawn across; NaN: none */
};
struct figure_mark {
    double x; /* one off the axis is not shown */
    const char *label;
};
struct figure_sweep {
    const char *title, *caption;
    const char *x_label, *x_unit;
    size_t count;
    const double *x;
    const char *x2_label, *x2_unit; /* a second axis along the top, such as watts over current; NULL: none */
    const double *x2;               /* count of them, ascending with x */
    size_t panel_count, mark_count;
    const struct figure_panel *panels;
    const struct figure_mark *marks;
};
int figure_sweep(const char *path, const struct figure_sweep *sweep, const struct figure_style *style,
                 struct figure_error *error);

/* One statistic over two varied numbers, each rising or falling. Units as for curves. Of the style the width counts.
 */
struct figure_heat {
    const char *title, *caption;
    const char *x_label, *x_unit, *y_label, *y_unit, *value_label, *value_unit;
    size_t columns, rows;
    const double *x, *y, *value; /* value: rows x columns; NaN: not to be had */
    double want;                 /* a line where the value crosses it; NaN: none */
    double best_x, best_y;       /* marked; NaN: none */
};
int figure_heat(const char *path, const struct figure_heat *heat, const struct figure_style *style,
                struct figure_error *error);

/* One module by itself: its spot on the stage in false colour with the profile through the middle, and below it the
 * intensity over angle, in planes that are half planes of the inspection, each with the one across; of a single one,
 * the mean over all azimuths. Of the style the width counts. */
struct figure_inspect {
    const char *title, *caption;
    const struct scene *stage;
    const struct luxfall_result *spot; /* its first plane */
    const struct luxfall_inspection *light;
    size_t plane_count; /* 1 .. 4 */
    int planes[LUXFALL_HALF_PLANES / 2];
    const char *plane_names[LUXFALL_HALF_PLANES / 2];
};
int figure_inspect(const char *path, const struct figure_inspect *shown, const struct figure_style *style,
                   struct figure_error *error);

/* b over a - 1 in percent, cell by cell, diverging colours, of two results (a, b) on the same target; else status 2.
 * Hatched where a gives under 0.1 % of its peak. */
int figure_difference(const char *path, const struct scene *const scenes[2],
                      const struct luxfall_result *const results[2], const char *const names[2], size_t plane,
                      const struct figure_style *style, struct figure_error *error);

/* The workshop sheet: plan and side view with angles, distances and clock numbers, and their table; black on white,
 * A4 landscape, to scale in print. Long tables go on to further pages; number counts from 1. Of the style, the width
 * alone is heeded; 0: 300 dots an inch. */
int figure_bracket(const char *path, const struct scene *scene, size_t number, const struct figure_style *style,
                   struct figure_error *error);
int figure_bracket_pages(const struct scene *scene, const struct figure_style *style, size_t *pages,
                         struct figure_error *error);

/* A fan of rays through a traced module: first those from the middle of its dies, then those from their edges. */
struct figure_fan {
    struct luxfall_outline *outline;
    struct luxfall_paths *paths;
    size_t middle_count;
    double step_rad, edge_step_rad; /* between rays of one place */
    size_t leaving, lost[LUXFALL_LOSS_COUNT], others;
};
/* rays: from one place of the middle, 3 or more. Errors as of luxfall_outline(). */
LUXFALL_CHECKED enum luxfall_status figure_fan_make(const struct luxfall_scene *light, size_t module, size_t rays,
                                                    struct figure_fan *out, struct luxfall_error *error);
void figure_fan_free(struct figure_fan *fan);

/* That module in section, to scale, with its sizes and the fan; A4 landscape, PNG or PDF. Of the style, width and pdf
 * are heeded. */
struct figure_optic {
    const struct figure_fan *fan;
    size_t module;
    size_t number, count; /* of the sheets about one scene, number from 1 */
    const char *modules;  /* names of those that it stands for */
};
int figure_optic(const char *path, const struct scene *scene, const struct figure_optic *optic,
                 const struct figure_style *style, struct figure_error *error);

/* All modules in plan and from the side, with aim lines, fields, angles and distances; otherwise alike. */
int figure_layout(const char *path, const struct scene *scene, const struct figure_style *style,
                  struct figure_error *error);
#endif
