/* The brightest disc of a map. */
#ifndef RAYTRACE_MAPS_PEAK_H
#define RAYTRACE_MAPS_PEAK_H

enum { PEAK_CANDIDATES = 16 };

struct peak_place {
    double x, y, lx; /* in cells from the map's corner */
};

/* The best local maxima of a map, brightest first. Returns their count, at least 1, at most PEAK_CANDIDATES. */
int peak_candidates(const double *lx, int columns, int rows, struct peak_place out[PEAK_CANDIDATES]);
#endif
