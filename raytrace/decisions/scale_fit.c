/* One factor between a forecast and readings. METHODS section 10, eq. (51). */
#include "fail.h"

#include <math.h>

enum luxfall_status luxfall_scale_fit(size_t count, const double *forecast, const double *reading, const double *u,
                                      struct luxfall_scale_fit *out, struct luxfall_error *error) {
    double xx = 0, xy = 0, weights = 0, squares = 0;
    if (count == 0)
        return fail(error, LUXFALL_E_VALUE, 0, "no reading to fit a scale to");
    for (size_t i = 0; i < count; i++) {
        if (!isfinite(forecast[i]) || !isfinite(reading[i]) || (u && !(u[i] > 0 && isfinite(u[i]))))
            return fail(error, LUXFALL_E_VALUE, i, "reading %zu, its forecast or its uncertainty is no number",
                        i + 1);
        double weight = u ? 1 / (u[i] * u[i]) : 1;
        xx += weight * forecast[i] * forecast[i];
        xy += weight * forecast[i] * reading[i];
        weights += weight;
    }
    if (!(xx > 0))
        return fail(error, LUXFALL_E_VALUE, 0, "no light is forecast where the readings were taken");
    *out = (struct luxfall_scale_fit){xy / xx, NAN, NAN};
    if (count == 1)
        return LUXFALL_OK;
    for (size_t i = 0; i < count; i++) {
        double away = reading[i] - out->scale * forecast[i];
        squares += (u ? 1 / (u[i] * u[i]) : 1) * away * away;
    }
    double variance = squares / (double)(count - 1);
    out->scale_u = sqrt(variance / xx);
    out->residual_sd = sqrt(variance * (double)count / weights);
    return LUXFALL_OK;
}
