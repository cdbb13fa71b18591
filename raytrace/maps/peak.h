/* The brightest disc of a map. */
#ifndef RAYTRACE_MAPS_PEAK_H
#define RAYTRACE_MAPS_PEAK_H

enum { PEAK_CANDIDATES = 16 };

struct peak_place {
    double x, y, lx; /* in cells from the map's corner */
};

/* The best local maxima of means over discs of a radius (in cells) about the centres of cells, brightest first.
 * sums: map_running_sums(). Returns their count, at least 1, at most PEAK_CANDIDATES. */
int peak_candidates(const double *sums, int columns, int rows, double radius, double *scratch,
                    struct peak_place out[PEAK_CANDIDATES]);
#endif
