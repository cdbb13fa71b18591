/* Pictures of a traced scene: structs to pixels. Each function writes one PNG, whole or not at all. */
#ifndef RENDER_FIGURES_FIGURES_H
#define RENDER_FIGURES_FIGURES_H

#include "scenes/scene.h"

#define FIGURE_WIDTH_PX 1200 /* the default */
#define FIGURE_WIDTH_MIN_PX 240
#define FIGURE_WIDTH_MAX_PX 8000

enum figure_scale { FIGURE_LINEAR, FIGURE_LOG };

struct figure_style {
    int width_px; /* 0: default */
    enum figure_scale scale;
    double top_lx; /* top of the colour bar; 0: a round number above the peak */
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
#endif
