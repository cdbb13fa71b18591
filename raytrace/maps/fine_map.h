/* The tally behind a map: cells fine enough for spot sizes, kept for each replicate in whole quanta of flux. */
#ifndef RAYTRACE_MAPS_FINE_MAP_H
#define RAYTRACE_MAPS_FINE_MAP_H

#include "maps/estimate.h"

struct fine_map {
    int columns, rows;
    int split; /* a map cell is split x split of these */
    double cell_mm;
    int replicates;          /* LUXFALL_REPLICATES; 1: the direct way */
    uint64_t **quanta;       /* [replicate][cells + 1], the last one counts misses; NULL by the direct way */
    double lx_per_quantum;   /* of one replicate */
    const double *direct_lx; /* the direct way's map, else NULL */
};

size_t fine_map_cells(const struct fine_map *map);

/* Cells split so that the shorter side has a hundred or so, unless that makes too many. */
int fine_map_split(int columns, int rows);

/* Mean of replicates from .. to-1, one of them left out (-1: none), in lux. */
void fine_map_mean(const struct fine_map *map, int from, int to, int left_out, double *out_lx);

/* The scene's map: means over split x split cells, and the band of each from the replicates (NULL: not wanted). */
void fine_map_coarse(const struct fine_map *map, float *e_lx, float *e_u95_lx);

/* Area in mm2 of the region where a map, linear between the centres of its cells, exceeds a level; NaN: it meets the
 * map's edge, or nothing exceeds the level. */
double map_area_above(const double *lx, int columns, int rows, double cell_mm, double level_lx);

/* Diameter of the circle with the area of the region above share x peak. peak_lx[r] are the replicates of the peak,
 * of which those from peak_from on count. */
struct luxfall_estimate fine_map_spot(const struct fine_map *map, const double *mean_lx, double *scratch_lx,
                                      const double *peak_lx, int peak_from, double share);

/* Running sums along rows, for means over discs: columns + 1 a row. */
void map_running_sums(const double *lx, int columns, int rows, double *sums);
/* Mean over a disc, clipped by the map; lengths in cells from the map's corner. */
double map_disc_mean(const double *sums, int columns, int rows, double x, double y, double radius);

#endif
