/* Lines of equal illuminance on a map. */
#ifndef RENDER_FIGURES_CONTOURS_H
#define RENDER_FIGURES_CONTOURS_H

#include "luxfall.h"

/* Values at the crossings of x and y, both ascending; row-major, lowest y first. NaN: no line passes beside it. */
struct value_grid {
    int columns, rows;
    double *x, *y;
    float *value;
};

/* A map made ready for the line at a share of the peak: at most about 400 nodes a side, reaching the map's very
 * border, ray noise smoothed away as far as that line asks for (by rays only). False out of memory. */
bool value_grid_for_line(const struct luxfall_plane_result *plane, double share, struct value_grid *grid);
/* The width in mm over which it is smoothed; 0: not at all. */
double value_grid_smoothed_mm(const struct luxfall_plane_result *plane, double share);
/* An empty one. False out of memory. */
bool value_grid_make(struct value_grid *grid, int columns, int rows);
void value_grid_free(struct value_grid *grid);

struct contour_point {
    double x, y;
};
/* Lines one after another in points; line i runs from starts[i] to starts[i + 1] - 1. A closed line repeats its
 * first point. */
struct contours {
    size_t line_count, point_count;
    size_t *starts;
    struct contour_point *points;
};
bool contours_trace(const struct value_grid *grid, double level, struct contours *contours);
void contours_free(struct contours *contours);

#endif
