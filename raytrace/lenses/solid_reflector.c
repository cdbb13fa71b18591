/* A mirror cup about the emitter: a paraboloid, or an ellipsoid with two foci, METHODS eq. (80). The emitter stands
 * in the near focus; what the cup does not catch leaves by the opening. */
#include "fail.h"
#include "lenses/mirror.h"
#include "lenses/solid.h"

#include <math.h>

/* Eccentricity; 1: the second focus is far away. */
static double eccentricity(const struct luxfall_reflector *p) {
    double half = p->second_focus_mm / 2;
    return p->second_focus_mm > 0 ? half / (p->focal_mm + half) : 1;
}

static double sag_at(const struct luxfall_reflector *p, double radius_mm) {
    double e = eccentricity(p);
    return conic_sag(1 / (p->focal_mm * (1 + e)), -e * e, 0, NULL, radius_mm) - p->focal_mm;
}

static bool is_size(double mm) {
    return mm > 0 && isfinite(mm);
}

static enum luxfall_status reflector_validate(const struct luxfall_lens *lens, struct luxfall_error *error) {
    const struct luxfall_reflector *p = &lens->reflector;
    if (!is_size(p->opening_mm) || !is_size(p->focal_mm) || !is_size(p->hole_mm) ||
        !(p->second_focus_mm >= 0 && isfinite(p->second_focus_mm)))
        return fail(error, LUXFALL_E_VALUE, 0, "opening, hole and focal length of the reflector must be above 0");
    if (p->hole_mm >= p->opening_mm)
        return fail(error, LUXFALL_E_VALUE, 0, "a hole of %g mm leaves nothing of a reflector of %g mm", p->hole_mm,
                    p->opening_mm);
    double e = eccentricity(p), widest_mm = e < 1 ? 2 * p->focal_mm * sqrt((1 + e) / (1 - e)) : INFINITY;
    if (p->opening_mm > widest_mm)
        return fail(error, LUXFALL_E_VALUE, 0,
                    "an ellipsoid of these foci is %.4g mm wide at its widest and cannot open to %g mm", widest_mm,
                    p->opening_mm);
    if (!(sag_at(p, p->opening_mm / 2) > 0))
        return fail(
            error, LUXFALL_E_VALUE, 0,
            "the rim of the reflector, %g mm wide, would lie below the emitter: above %g mm it would catch light",
            p->opening_mm, 2 * p->focal_mm * (1 + e));
    return mirror_validate(&p->mirror, error);
}

static void reflector_build(const struct luxfall_lens *lens, struct optic *out) {
    const struct luxfall_reflector *p = &lens->reflector;
    double e = eccentricity(p), low_mm = sag_at(p, p->hole_mm / 2), high_mm = sag_at(p, p->opening_mm / 2);
    struct patch cup = patch_conic(-p->focal_mm, 1 / (p->focal_mm * (1 + e)), -e * e);
    cup.radius_low_mm = p->hole_mm / 2;
    cup.radius_high_mm = p->opening_mm / 2;
    cup.z_low_mm = low_mm;
    cup.z_high_mm = high_mm;
    mirror_patch(&p->mirror, true, out, &cup);
    out->patches[0] = cup;
    out->patch_count = 1;
    if (low_mm > 0) { /* light below the lower edge ends in its mount */
        struct patch mount = patch_plane(low_mm);
        mount.radius_low_mm = p->hole_mm / 2;
        mount.deed = PATCH_STOP;
        mount.loss = LUXFALL_LOSS_HOLDER;
        out->patches[out->patch_count++] = mount;
    }
    out->end_mm = high_mm;
    out->size_mm = p->opening_mm + high_mm + p->focal_mm;
}

static struct solid_looks reflector_looks(const struct luxfall_lens *lens) {
    struct solid_looks looks = solid_round(lens->reflector.opening_mm, true, false);
    looks.entry_mm = lens->reflector.hole_mm;
    return looks;
}

const struct solid_kind solid_reflector = {reflector_validate, reflector_build, reflector_looks};
