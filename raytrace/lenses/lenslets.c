#include "lenses/lenslets.h"
#include "fail.h"

#include <math.h>

enum { CELLS_ACROSS_MAX = 1000 };

enum luxfall_status lenslets_validate(const struct luxfall_lenslets *lenslets, double diameter_mm,
                                      struct luxfall_error *error) {
    const double steepest = 0.95; /* sine of the slope at a corner */
    double pitch_mm = lenslets->pitch_mm, radius_mm = fabs(lenslets->radius_mm);
    if (!(pitch_mm > 0 && isfinite(radius_mm) && radius_mm > 0))
        return fail(error, LUXFALL_E_VALUE, 0, "lenslets need a pitch above 0 and a radius that is not 0");
    if (!(pitch_mm <= diameter_mm && diameter_mm <= CELLS_ACROSS_MAX * pitch_mm))
        return fail(error, LUXFALL_E_VALUE, 0, "lenslets of a pitch of %g mm on a face of %g mm: 1 to %d must fit",
                    pitch_mm, diameter_mm, CELLS_ACROSS_MAX);
    double corner_mm = lenslet_corner_mm(pitch_mm, lenslets->hexagonal);
    if (!(corner_mm <= steepest * radius_mm))
        return fail(error, LUXFALL_E_VALUE, 0,
                    "lenslets of a pitch of %g mm reach %.4g mm from their middles and need a radius of at least "
                    "%.4g mm",
                    pitch_mm, corner_mm, corner_mm / steepest);
    return LUXFALL_OK;
}

struct patch lenslets_patch(const struct luxfall_lenslets *lenslets, double face_mm) {
    double corner_mm = lenslet_corner_mm(lenslets->pitch_mm, lenslets->hexagonal);
    double sag_mm = conic_sag(-1 / lenslets->radius_mm, 0, 0, NULL, corner_mm);
    return patch_lenslets(face_mm + fmax(-sag_mm, 0), -1 / lenslets->radius_mm, lenslets->pitch_mm,
                          lenslets->hexagonal);
}
