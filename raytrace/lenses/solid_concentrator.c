/* A compound parabolic concentrator with the emitter in its small end: light leaves the wide end within the
 * acceptance angle. METHODS eq. (82). */
#include "fail.h"
#include "lenses/mirror.h"
#include "lenses/solid.h"

#include <math.h>

static const double PI = 3.14159265358979323846;

static double focal_mm(const struct luxfall_concentrator *p) {
    return p->small_mm / 2 * (1 + sin(p->beam_rad / 2));
}

static double length_mm(const struct luxfall_concentrator *p) {
    double half = p->beam_rad / 2;
    return p->small_mm / 2 * (1 + 1 / sin(half)) / tan(half);
}

/* The wall at its parameter, from 90 deg + half the beam at the small end down to the beam at the wide one. */
static void wall_at(const struct luxfall_concentrator *p, double parameter, double *radius_mm, double *z_mm) {
    double half = p->beam_rad / 2, reach = 2 * focal_mm(p) / (1 - cos(parameter));
    *radius_mm = reach * sin(parameter - half) - p->small_mm / 2;
    *z_mm = reach * cos(parameter - half);
}

static double wall_radius(const void *data, double z_mm) {
    const struct luxfall_concentrator *p = data;
    double low = p->beam_rad, high = PI / 2 + p->beam_rad / 2, radius_mm = 0, z;
    for (int i = 0; i < 100; i++) {
        double middle = (low + high) / 2;
        wall_at(p, middle, &radius_mm, &z);
        *(z > z_mm ? &low : &high) = middle;
    }
    return radius_mm;
}

static enum luxfall_status concentrator_validate(const struct luxfall_lens *lens, struct luxfall_error *error) {
    const struct luxfall_concentrator *p = &lens->concentrator;
    if (!(p->small_mm > 0 && isfinite(p->small_mm)))
        return fail(error, LUXFALL_E_VALUE, 0, "the small end of a concentrator must be above 0 mm");
    if (!(p->beam_rad >= PI / 45 && p->beam_rad <= 0.9 * PI))
        return fail(error, LUXFALL_E_VALUE, 0, "the beam of a concentrator must be 4 to 162 deg, not %.4g deg",
                    p->beam_rad * 180 / PI);
    return mirror_validate(&p->mirror, error);
}

/* The wall bends most near the small end: its stretches are shorter there, so that few terms hold each. */
static void concentrator_build(const struct luxfall_lens *lens, struct optic *out) {
    enum { STRETCHES = 4, TERMS = 12 };
    const struct luxfall_concentrator *p = &lens->concentrator;
    static const double ends[STRETCHES + 1] = {0, 0.06, 0.2, 0.5, 1};
    double length = length_mm(p);
    for (int i = 0; i < STRETCHES; i++) {
        struct patch wall = patch_profile(ends[i] * length, ends[i + 1] * length, TERMS, wall_radius, p);
        mirror_patch(&p->mirror, false, out, &wall);
        out->patches[i] = wall;
    }
    out->patch_count = STRETCHES;
    out->end_mm = length;
    out->size_mm = length + p->small_mm / sin(p->beam_rad / 2);
}

static struct solid_looks concentrator_looks(const struct luxfall_lens *lens) {
    const struct luxfall_concentrator *p = &lens->concentrator;
    struct solid_looks looks = solid_round(p->small_mm / sin(p->beam_rad / 2), true, false);
    looks.entry_mm = p->small_mm;
    return looks;
}

const struct solid_kind solid_concentrator = {concentrator_validate, concentrator_build, concentrator_looks};
