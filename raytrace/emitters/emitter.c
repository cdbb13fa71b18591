#include "emitters/emitter.h"

#include "numbers/vec.h"

double face_area_mm2(const struct luxfall_face *face) {
    switch (face->kind) {
    case LUXFALL_DISC:
        return PI / 4 * face->width_mm * face->width_mm;
    case LUXFALL_RECTANGLE:
        return face->width_mm * face->height_mm;
    case LUXFALL_POINT:
        break;
    }
    return 0;
}

double emitter_area_mm2(const struct luxfall_emitter *emitter) {
    return emitter->columns * emitter->rows * face_area_mm2(&emitter->die);
}

struct angle_law emitter_law(const struct luxfall_emitter *emitter) {
    const struct luxfall_intensity *intensity = &emitter->intensity;
    if (intensity->kind == LUXFALL_CURVE)
        return (struct angle_law){.kind = &angle_law_curve,
                                  .curve_count = intensity->curve_count,
                                  .curve_angle_rad = intensity->curve_angle_rad,
                                  .curve_relative = intensity->curve_relative};
    /* METHODS eq. (2); 120 deg is cos^1 exactly, whatever the rounding of the angle */
    double power = -log(2) / log(cos(intensity->viewing_angle_rad / 2));
    return (struct angle_law){.kind = &angle_law_cosine, .power = fabs(power - 1) < 1e-12 ? 1 : power};
}

double emitter_greatest_per_cosine(const struct luxfall_emitter *emitter) {
    enum { STEPS = 9000 };
    struct angle_law law = emitter_law(emitter);
    double peak_per_lm = angle_law_peak_per_lm(&law), greatest = 0;
    if (law.kind == &angle_law_cosine)
        return law.power < 1 ? INFINITY : peak_per_lm;
    if (angle_law_relative(&law, PI / 2) > 0)
        return INFINITY;
    for (int i = 0; i < STEPS; i++) {
        double angle = PI / 2 * i / STEPS;
        greatest = fmax(greatest, angle_law_relative(&law, angle) / cos(angle));
    }
    return greatest * peak_per_lm;
}

int face_images(const struct luxfall_face *face) {
    return face->kind == LUXFALL_RECTANGLE && face->width_mm != face->height_mm ? 4 : 8;
}

int emitter_images(const struct luxfall_emitter *emitter) {
    bool single = emitter->columns == 1 && emitter->rows == 1;
    bool square = emitter->columns == emitter->rows && emitter->pitch_x_mm == emitter->pitch_y_mm;
    return single || square ? face_images(&emitter->die) : 4;
}
