#include "lenses/mirror.h"
#include "fail.h"

#include <math.h>

enum luxfall_status mirror_validate(const struct luxfall_mirror *mirror, struct luxfall_error *error) {
    if (mirror->count < 1 || mirror->count > LUXFALL_MIRROR_POINTS_MAX)
        return fail(error, LUXFALL_E_VALUE, 0, "a mirror needs a reflectance");
    for (int i = 0; i < mirror->count; i++) {
        if (!(mirror->share[i] >= 0 && mirror->share[i] <= 1))
            return fail(error, LUXFALL_E_VALUE, 0, "the reflectance of a mirror must be 0 to 100 %%");
        if (!(mirror->incidence_rad[i] >= 0 && mirror->incidence_rad[i] < 1.5708) ||
            (i > 0 && mirror->incidence_rad[i] <= mirror->incidence_rad[i - 1]))
            return fail(error, LUXFALL_E_VALUE, 0,
                        "the angles of incidence of a mirror's reflectance must ascend from 0 to 90 deg");
    }
    return LUXFALL_OK;
}

double mirror_share(const struct luxfall_mirror *mirror, double cos_incidence) {
    double angle = acos(fmin(fmax(cos_incidence, 0), 1));
    int i = 0;
    while (i < mirror->count && mirror->incidence_rad[i] < angle)
        i++;
    if (i == 0 || i == mirror->count)
        return mirror->share[i == 0 ? 0 : i - 1];
    double low = mirror->incidence_rad[i - 1], high = mirror->incidence_rad[i];
    return mirror->share[i - 1] + (mirror->share[i] - mirror->share[i - 1]) * (angle - low) / (high - low);
}

void mirror_patch(const struct luxfall_mirror *mirror, bool air_is_up, struct optic *optic, struct patch *patch) {
    enum { AIR, BEHIND };
    optic->material_count = 2;
    optic->materials[BEHIND] = (struct optic_material){1, 0, false, 0};
    patch->up = air_is_up ? AIR : BEHIND;
    patch->down = air_is_up ? BEHIND : AIR;
    patch->deed = PATCH_MIRROR;
    patch->loss = LUXFALL_LOSS_MIRROR;
    patch->has_back = true;
    patch->comes_back = mirror->share[0];
    patch->mirror = mirror->count > 1 ? mirror : NULL;
}
