/* The readers of tables, curves and drives against any bytes: what they take keeps the promises of luxfall.h. */
#include "scenes/curve.h"
#include "scenes/drive_table.h"

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

/* Between its points every value lies between those at the points beside it. */
static void check_between(const struct luxfall_drive *drive, size_t i) {
    double a = drive->flux_lm[i], b = drive->flux_lm[i + 1], slack = 1e-12 * (a + b);
    for (int step = 0; step <= 4; step++) {
        struct luxfall_operating_point at;
        double share = step / 4.0, current_a = (1 - share) * drive->current_a[i] + share * drive->current_a[i + 1];
        if (luxfall_drive_at(drive, current_a, &at, NULL) != LUXFALL_OK ||
            !(at.flux_lm >= fmin(a, b) - slack && at.flux_lm <= fmax(a, b) + slack))
            abort();
    }
}

static void check_drive(const struct luxfall_drive *drive) {
    if (drive->count < 2)
        abort();
    for (size_t i = 0; i < drive->count; i++) {
        if (!(drive->current_a[i] > 0 && drive->flux_lm[i] > 0) || (drive->voltage_v && !(drive->voltage_v[i] > 0)))
            abort();
        if (i > 0 && !(drive->current_a[i] > drive->current_a[i - 1]))
            abort();
        if (i > 0 && i <= 20)
            check_between(drive, i - 1);
    }
}

enum table_kind { CURVE, DRIVE, KINDS };

static bool take(enum table_kind kind, struct arena *arena, struct messages *messages, const struct source *source) {
    struct luxfall_intensity curve;
    struct luxfall_drive drive;
    if (kind == CURVE ? !curve_from_source(arena, messages, source, false, &curve)
                      : !drive_from_source(arena, messages, source, false, &drive))
        return false;
    if (kind == CURVE)
        check_curve(&curve);
    else
        check_drive(&drive);
    return true;
}

/* What is not taken is told why. */
int LLVMFuzzerTestOneInput(const unsigned char *data, size_t size) {
    for (enum table_kind kind = 0; kind < KINDS; kind++) {
        struct messages messages = {0};
        struct arena arena = {0};
        int status = 0;
        const struct source *source =
            source_from_bytes(&arena, &messages, "fuzz.csv", (const char *)data, size, &status);
        bool taken = source != NULL && take(kind, &arena, &messages, source);
        if (taken ? messages.errors > 0 : messages.errors == 0 && !arena.failed)
            abort();
        arena_clear(&arena);
        messages_clear(&messages);
    }
    return 0;
}
