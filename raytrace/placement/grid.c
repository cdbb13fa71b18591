/* Columns and rows at one height, centred over the origin, counted row by row from the lower left. */
#include "placement/kind.h"

static size_t count(const struct luxfall_placement *p) {
    return (size_t)p->columns * (size_t)p->rows;
}

static struct luxfall_vec position(const struct luxfall_placement *p, size_t member) {
    double column = (double)(member % (size_t)p->columns), row = (double)(member / (size_t)p->columns);
    return (struct luxfall_vec){(column - (p->columns - 1) / 2.0) * p->pitch_x_mm,
                                (row - (p->rows - 1) / 2.0) * p->pitch_y_mm, p->height_mm};
}

const struct placement_kind placement_grid = {count, position};
