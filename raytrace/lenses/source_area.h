/* What sends the light, as light that comes back meets it: METHODS sec. 5. */
#ifndef RAYTRACE_LENSES_SOURCE_AREA_H
#define RAYTRACE_LENSES_SOURCE_AREA_H

#include "luxfall.h"

/* Faces in columns x rows, level in a frame of their own: the optic's, turned if it is, then shifted. */
struct source_area {
    bool turned;
    double row[3][3], step_mm[3];
    double height_mm; /* of the faces in their frame */
    struct luxfall_face face;
    int columns, rows; /* 0: nothing is met */
    double pitch_x_mm, pitch_y_mm;
};

/* Does the ray fall upon one of the faces, from above? */
bool source_area_is_met(const struct source_area *area, const double at_mm[3], const double direction[3]);
#endif
