#include "maps/readings.h"

#include "numbers/vec.h"

static void add_place(struct reading_grid *grid, double x_mm, double y_mm, bool edge) {
    grid->x_mm[grid->count] = x_mm;
    grid->y_mm[grid->count] = y_mm;
    grid->edge[grid->count++] = edge;
}

void reading_grid_make(const struct luxfall_field *field, struct reading_grid *out) {
    enum { LAST = READINGS_SIDE - 1 };
    double half_width = field->width_mm / 2, half_height = field->height_mm / 2;
    out->reading_mm = field->reading_mm > 0 ? field->reading_mm : fmin(field->width_mm, field->height_mm) / 10;
    out->area_mm2 = field->width_mm * field->height_mm * (field->round ? PI / 4 : 1);
    out->half_diagonal_mm = field->round ? half_width : hypot(half_width, half_height);
    out->count = 0;
    out->round = field->round;
    out->step_x_mm = field->width_mm / LAST;
    out->step_y_mm = field->height_mm / LAST;
    for (int j = 0; j <= LAST; j++) {
        for (int i = 0; i <= LAST; i++) {
            double x = half_width * (2.0 * i / LAST - 1), y = half_height * (2.0 * j / LAST - 1);
            out->at[j][i] = -1;
            if (field->round && hypot(x, y) > half_width * (1 - 1e-9))
                continue;
            if (2 * i == LAST && 2 * j == LAST)
                out->centre = out->count;
            out->at[j][i] = (short)out->count;
            add_place(out, x, y, !field->round && (i == 0 || i == LAST || j == 0 || j == LAST));
        }
    }
    for (int k = 0; k < READINGS_RIM && field->round; k++) {
        double angle = 2 * PI * k / READINGS_RIM;
        add_place(out, half_width * cos(angle), half_width * sin(angle), true);
    }
}
