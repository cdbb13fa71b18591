#include "maps/estimate.h"

#include <math.h>

double t95(int count) {
    /* Abramowitz and Stegun, table 26.10, to more digits */
    return count == 16 ? 2.13144955 : 2.03951345;
}

struct luxfall_estimate estimate_none(void) {
    return (struct luxfall_estimate){NAN, NAN};
}

struct luxfall_estimate estimate_mean(const double *values, size_t stride, int count, double factor) {
    double sum = 0, squares = 0;
    for (int r = 0; r < count; r++)
        sum += values[(size_t)r * stride];
    double mean = sum / count;
    if (count == 1)
        return (struct luxfall_estimate){mean, NAN};
    for (int r = 0; r < count; r++) {
        double away = values[(size_t)r * stride] - mean;
        squares += away * away;
    }
    return (struct luxfall_estimate){mean, factor * t95(count) * sqrt(squares / (count - 1) / count)};
}

struct luxfall_estimate estimate_jackknife(leave_out_function *f, const void *data, int count, double factor,
                                           bool unbias) {
    double whole = f(data, -1);
    if (count == 1)
        return (struct luxfall_estimate){whole, NAN};
    double without[LUXFALL_REPLICATES], sum = 0, squares = 0;
    for (int r = 0; r < count; r++) {
        without[r] = f(data, r);
        sum += without[r];
    }
    double mean = sum / count;
    for (int r = 0; r < count; r++)
        squares += (without[r] - mean) * (without[r] - mean);
    double value = unbias ? count * whole - (count - 1) * mean : whole;
    return (struct luxfall_estimate){value, factor * t95(count) * sqrt(squares * (count - 1) / count)};
}
