#include "lenses/fresnel.h"
#include "lenses/vector3.h"

#include <math.h>

void path_start(struct path *path, const double at_mm[3], const double direction[3]) {
    int least = fabs(direction[0]) < fabs(direction[1]) ? 0 : 1;
    if (fabs(direction[2]) < fabs(direction[least]))
        least = 2;
    const double axis[3] = {least == 0, least == 1, least == 2};
    double across[3];
    cross3(direction, axis, across);
    const double scale = 1 / sqrt(dot3(across, across));
    for (int i = 0; i < 3; i++) {
        path->at_mm[i] = at_mm[i];
        path->direction[i] = direction[i];
        path->reference[i] = scale * across[i];
    }
    path->q = path->u = path->v = 0;
}

/* METHODS eq. (24), (25). cos_out comes from 1 - sin^2: through the angle it would lose its digits near the critical
 * one. */
struct fresnel fresnel_at(double index_ratio, double cos_in) {
    const double m = index_ratio, sin2_in = (1 - cos_in) * (1 + cos_in);
    const double cos2_out = 1 - m * m * sin2_in;
    if (!(cos2_out > 0))
        return (struct fresnel){cos_in, 0, 1, 1, true};
    const double cos_out = sqrt(cos2_out);
    const double rs = (m * cos_in - cos_out) / (m * cos_in + cos_out);
    const double rp = (cos_in - m * cos_out) / (cos_in + m * cos_out);
    return (struct fresnel){cos_in, cos_out, rs, rp, false};
}

/* Turns the reference to the direction s, METHODS eq. (26). */
static void turn_reference(struct path *path, const double s[3]) {
    double across[3];
    cross3(path->direction, path->reference, across);
    const double x = dot3(path->reference, s), y = dot3(across, s), scale = 1 / (x * x + y * y);
    const double cos_double = (x * x - y * y) * scale, sin_double = 2 * x * y * scale;
    const double q = path->q, u = path->u;
    path->q = q * cos_double + u * sin_double;
    path->u = u * cos_double - q * sin_double;
    for (int i = 0; i < 3; i++)
        path->reference[i] = s[i];
}

void meeting_find(struct path *path, const double normal[3], double index_ratio, struct meeting *out) {
    const double along = dot3(path->direction, normal), side = along > 0 ? -1 : 1;
    for (int i = 0; i < 3; i++)
        out->normal[i] = side * normal[i];
    out->index_ratio = index_ratio;
    out->fresnel = fresnel_at(index_ratio, fmin(fabs(along), 1));

    double s[3];
    cross3(path->direction, normal, s);
    const double sin2 = dot3(s, s);
    if (sin2 > 1e-20) { /* below, s and p differ by less than rounding and any reference will do */
        const double scale = 1 / sqrt(sin2);
        for (int i = 0; i < 3; i++)
            s[i] *= scale;
        turn_reference(path, s);
    }
    const double rs = out->fresnel.rs, rp = out->fresnel.rp;
    out->reflectance = out->fresnel.total ? 1 : 0.5 * (rs * rs * (1 + path->q) + rp * rp * (1 - path->q));
}

/* Both amplitudes scaled, then made relative to the new intensity again. METHODS eq. (27). */
static void scale_amplitudes(struct path *path, double s, double p) {
    const double from_s = s * s * (1 + path->q), from_p = p * p * (1 - path->q), sum = from_s + from_p;
    path->q = (from_s - from_p) / sum;
    path->u *= 2 * s * p / sum;
    path->v *= 2 * s * p / sum;
}

/* Total reflection sets s and p apart in phase, METHODS eq. (28); the tangent of half the phase is y / x. */
static void retard(struct path *path, double index_ratio, double cos_in) {
    const double sin2 = (1 - cos_in) * (1 + cos_in);
    const double x = sin2, y = cos_in * sqrt(fmax(sin2 - 1 / (index_ratio * index_ratio), 0));
    const double scale = 1 / (x * x + y * y);
    const double cos_phase = (x * x - y * y) * scale, sin_phase = 2 * x * y * scale;
    const double u = path->u, v = path->v;
    path->u = u * cos_phase + v * sin_phase;
    path->v = v * cos_phase - u * sin_phase;
}

void meeting_reflect(const struct meeting *meeting, struct path *path) {
    const struct fresnel *f = &meeting->fresnel;
    if (f->total)
        retard(path, meeting->index_ratio, f->cos_in);
    else
        scale_amplitudes(path, f->rs, f->rp);
    along3(path->direction, 2 * f->cos_in, meeting->normal, path->direction);
}

void meeting_refract(const struct meeting *meeting, struct path *path) {
    const struct fresnel *f = &meeting->fresnel;
    const double m = meeting->index_ratio;
    /* t_s and t_p without their common factor, METHODS eq. (27). */
    scale_amplitudes(path, f->cos_in + m * f->cos_out, m * f->cos_in + f->cos_out);
    double *d = path->direction;
    for (int i = 0; i < 3; i++)
        d[i] = m * d[i] + (m * f->cos_in - f->cos_out) * meeting->normal[i];
    /* One Newton step back to unit length: the rounding of hundreds of inner reflections would add up. */
    const double unit = 0.5 * (3 - dot3(d, d));
    for (int i = 0; i < 3; i++)
        d[i] *= unit;
}

void meeting_mirror(const struct meeting *meeting, struct path *path) {
    path->u = -path->u;
    path->v = -path->v;
    along3(path->direction, 2 * meeting->fresnel.cos_in, meeting->normal, path->direction);
}
