#include "lenses/source_area.h"

#include "lenses/vector3.h"

#include <math.h>

/* From the middle of the nearest of `count` faces. */
static double off_nearest(double place_mm, int count, double pitch_mm) {
    if (count == 1)
        return place_mm;
    double number = floor(place_mm / pitch_mm + count / 2.0);
    return place_mm - (fmin(fmax(number, 0), count - 1) - (count - 1) / 2.0) * pitch_mm;
}

static bool lies_on(const struct luxfall_face *face, double x_mm, double y_mm) {
    switch (face->kind) {
    case LUXFALL_DISC:
        return 4 * (x_mm * x_mm + y_mm * y_mm) <= face->width_mm * face->width_mm;
    case LUXFALL_RECTANGLE:
        return 2 * fabs(x_mm) <= face->width_mm && 2 * fabs(y_mm) <= face->height_mm;
    case LUXFALL_POINT:
        break;
    }
    return false;
}

static bool falls_on(const struct source_area *area, const double at_mm[3], const double direction[3]) {
    double over_mm = at_mm[2] + area->step_mm[2] - area->height_mm;
    if (!(direction[2] < 0) || !(over_mm >= 0))
        return false;
    double t_mm = -over_mm / direction[2];
    double x_mm = at_mm[0] + area->step_mm[0] + t_mm * direction[0];
    double y_mm = at_mm[1] + area->step_mm[1] + t_mm * direction[1];
    return lies_on(&area->face, off_nearest(x_mm, area->columns, area->pitch_x_mm),
                   off_nearest(y_mm, area->rows, area->pitch_y_mm));
}

bool source_area_is_met(const struct source_area *area, const double at_mm[3], const double direction[3]) {
    double at[3], along[3];
    if (area->columns == 0)
        return false;
    if (!area->turned)
        return falls_on(area, at_mm, direction);
    for (int i = 0; i < 3; i++) {
        at[i] = dot3(area->row[i], at_mm);
        along[i] = dot3(area->row[i], direction);
    }
    return falls_on(area, at, along);
}
