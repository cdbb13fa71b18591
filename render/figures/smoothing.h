/* Ray noise of a map, smoothed away for the eye. Files keep the cells as they were counted. */
#ifndef RENDER_FIGURES_SMOOTHING_H
#define RENDER_FIGURES_SMOOTHING_H

#include "luxfall.h"

/* Widths of the smoothing bell in nodes; 0: none. */
struct smoothing {
    double across, up;
};

/* Widths that bring white noise of nodes (block x block cells each, standard deviation over value) down to what is
 * wanted, but never so wide that the kernel moves a bell's peak by 0.3 %. */
struct smoothing smoothing_for(const struct luxfall_plane_result *plane, double noise, double wanted, int block);

/* Smooths rows of `columns` values, `stride` apart, in place. False out of memory. */
bool smooth_values(float *values, int columns, int rows, size_t stride, struct smoothing nodes);

/* The widths in mm that the picture of a plane is smoothed by: its colours would otherwise show the noise of cells.
 * Nothing by the direct way and where the noise is hardly seen. */
struct smoothing picture_smoothing(const struct luxfall_plane_result *plane);

/* A copy of the map for the picture; the caller frees. NULL out of memory. */
float *picture_cells(const struct luxfall_plane_result *plane);
#endif
