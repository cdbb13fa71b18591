/* Where a field is read: 25 x 25 places whose outer rows lie on its edges; a round field: those inside and 64 on its
 * rim. */
#ifndef RAYTRACE_MAPS_READINGS_H
#define RAYTRACE_MAPS_READINGS_H

#include "luxfall.h"

enum { READINGS_SIDE = 25, READINGS_RIM = 64, READINGS_MAX = READINGS_SIDE * READINGS_SIDE + READINGS_RIM };

struct reading_grid {
    double reading_mm;
    double area_mm2; /* of the field */
    double half_diagonal_mm;
    int count, centre;
    double x_mm[READINGS_MAX], y_mm[READINGS_MAX]; /* from the field's centre */
    bool edge[READINGS_MAX];
    short at[READINGS_SIDE][READINGS_SIDE]; /* row, column: the place's number, -1 outside a round field */
    bool round;
    double step_x_mm, step_y_mm;
};

void reading_grid_make(const struct luxfall_field *field, struct reading_grid *out);
#endif
