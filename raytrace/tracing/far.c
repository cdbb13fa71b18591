/* From where on a module is as good as a point: lux on the axis against those of inverse squares. METHODS eq. (99).
 */
#include "numbers/gauss.h"
#include "numbers/vec.h"
#include "tracing/inspect.h"

double far_distance_mm(double across_mm, int step) {
    return across_mm / 16 * exp2(step / 4.0);
}

/* ---- by rays --------------------------------------------------------------------------------------------------- */

void far_count(const struct ray_batch *rays, double across_mm, double tangent, struct far_counts *counts) {
    float x[RAY_BATCH], y[RAY_BATCH], along_x[RAY_BATCH], along_y[RAY_BATCH];
    const float cone = (float)(tangent * tangent);
    int count = 0;
    for (int i = 0; i < rays->count; i++) {
        if (!(rays->dz[i] > 0))
            continue;
        float u = rays->dx[i] / rays->dz[i], v = rays->dy[i] / rays->dz[i];
        along_x[count] = u;
        along_y[count] = v;
        x[count] = rays->x[i] - rays->z[i] * u;
        y[count++] = rays->y[i] - rays->z[i] * v;
        counts->cone += u * u + v * v < cone;
    }
    for (int step = 0; step < FAR_STEPS; step++) {
        const float d = (float)far_distance_mm(across_mm, step), radius2 = d * d * cone;
        uint32_t hits = 0;
        for (int i = 0; i < count; i++) {
            float at_x = x[i] + d * along_x[i], at_y = y[i] + d * along_y[i];
            hits += at_x * at_x + at_y * at_y < radius2;
        }
        counts->within[step] += hits;
    }
}

/* Between two distances what is missing goes with the inverse square of the distance. */
double far_by_counts(const double within[FAR_STEPS], double cone, double across_mm, double share) {
    double beyond = NAN, off_beyond = NAN;
    for (int step = FAR_STEPS - 1; step >= 0; step--) {
        double off = fabs(within[step] / cone - 1), nearness = pow(far_distance_mm(across_mm, step), -2);
        if (!(off <= share))
            return 1 / sqrt(beyond + (share - off_beyond) / (off - off_beyond) * (nearness - beyond));
        beyond = nearness;
        off_beyond = off;
    }
    return far_distance_mm(across_mm, 0);
}

/* ---- known by angle -------------------------------------------------------------------------------------------- */

/* Lux on the axis over those of inverse squares: the mean of s(a) cos^3 a over the face. */
static double of_inverse_squares(const struct bundle *bundle, double distance_mm) {
    enum { ORDER = 16, ORDER_OF_MANY = 2, MANY = 64 };
    double x[2 * ORDER * ORDER], y[2 * ORDER * ORDER], w[2 * ORDER * ORDER], sum = 0;
    const struct luxfall_face *face = &bundle->face;
    int order = bundle->columns * bundle->rows < MANY ? ORDER : ORDER_OF_MANY;
    int nodes = face->kind == LUXFALL_DISC ? gauss_disc(order, x, y, w) : gauss_square(order, x, y, w);
    for (int die = 0; die < bundle->columns * bundle->rows; die++) {
        double die_x = (die % bundle->columns - (bundle->columns - 1) / 2.0) * bundle->pitch_x_mm;
        double die_y = (die / bundle->columns - (bundle->rows - 1) / 2.0) * bundle->pitch_y_mm;
        for (int i = 0; i < nodes; i++) {
            double aside = hypot(die_x + x[i] * face->width_mm / 2, die_y + y[i] * face->height_mm / 2);
            double angle = atan2(aside, distance_mm);
            sum += w[i] * angle_law_relative(&bundle->law, angle) * pow(cos(angle), 3);
        }
    }
    return sum / (bundle->columns * bundle->rows) / angle_law_relative(&bundle->law, 0);
}

static double across_of(const struct bundle *bundle) {
    double x = (bundle->columns - 1) * bundle->pitch_x_mm + bundle->face.width_mm;
    double y = (bundle->rows - 1) * bundle->pitch_y_mm + bundle->face.height_mm;
    return fmax(x, y);
}

double far_of_bundle(const struct bundle *bundle, double share) {
    double across_mm = across_of(bundle), far_mm = NAN;
    if (!(across_mm > 0))
        return 0;
    for (int step = FAR_STEPS - 1; step >= 0; step--) {
        double here_mm = far_distance_mm(across_mm, step);
        if (fabs(of_inverse_squares(bundle, here_mm) - 1) <= share) {
            far_mm = here_mm;
            continue;
        }
        double near_mm = here_mm;
        for (int i = 0; i < 50 && isfinite(far_mm); i++) {
            double middle_mm = (near_mm + far_mm) / 2;
            *(fabs(of_inverse_squares(bundle, middle_mm) - 1) <= share ? &far_mm : &near_mm) = middle_mm;
        }
        break;
    }
    return far_mm;
}
