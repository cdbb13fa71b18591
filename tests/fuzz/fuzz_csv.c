/* The table and curve readers against any bytes: a curve that they take keeps the promises of luxfall.h. */
#include "scenes/curve.h"

#include <math.h>
#include <stdlib.h>

int LLVMFuzzerTestOneInput(const unsigned char *data, size_t size);

static void check_curve(const struct luxfall_intensity *curve) {
    double peak = 0;
    if (curve->kind != LUXFALL_CURVE || curve->curve_count < 2 || curve->curve_angle_rad[0] != 0)
        abort();
    for (size_t i = 0; i < curve->curve_count; i++) {
        if (!(curve->curve_relative[i] >= 0) || !isfinite(curve->curve_relative[i]))
            abort();
        if (i > 0 && !(curve->curve_angle_rad[i] > curve->curve_angle_rad[i - 1]))
            abort();
        peak = fmax(peak, curve->curve_relative[i]);
    }
    if (!(peak > 0) || curve->curve_angle_rad[curve->curve_count - 1] > 1.5707963267948968)
        abort();
}

int LLVMFuzzerTestOneInput(const unsigned char *data, size_t size) {
    struct messages messages = {0};
    struct arena arena = {0};
    struct luxfall_intensity curve;
    int status = 0;
    const struct source *source = source_from_bytes(&arena, &messages, "fuzz.csv", (const char *)data, size, &status);
    if (source == NULL ? messages.errors == 0 : curve_from_source(&arena, &messages, source, false, &curve)) {
        if (source == NULL)
            abort();
        check_curve(&curve);
    } else if (messages.errors == 0 && !arena.failed) {
        abort();
    }
    arena_clear(&arena);
    messages_clear(&messages);
    return 0;
}
