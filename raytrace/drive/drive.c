/* What emitters do at a current. METHODS sec. 9. */
#include "drive/drive.h"

#include "drive/monotone.h"
#include "fail.h"

#include <math.h>

static const double CURRENT_MAX_A = 1e6, FLUX_MAX_LM = 1e12, VOLTAGE_MAX_V = 1e6;
static const double COLDEST_C = -273.15, HOTTEST_C = 1e4;
/* A current that was worked out may miss an end of the points by its last digits. */
static const double ROUNDING = 1e-12;

static bool all_within(size_t count, const double *values, double above, double most) {
    for (size_t i = 0; values && i < count; i++)
        if (!(values[i] > above && values[i] <= most))
            return false;
    return true;
}

static bool ascend(size_t count, const double *values) {
    for (size_t i = 1; i < count; i++)
        if (!(values[i] > values[i - 1]))
            return false;
    return true;
}

bool drive_is_good(const struct luxfall_drive *drive) {
    size_t count = drive->count;
    return count == 0 ||
           (drive->current_a && drive->flux_lm && all_within(count, drive->current_a, 0, CURRENT_MAX_A) &&
            ascend(count, drive->current_a) && all_within(count, drive->flux_lm, 0, FLUX_MAX_LM) &&
            all_within(count, drive->voltage_v, 0, VOLTAGE_MAX_V) &&
            all_within(count, drive->junction_c, COLDEST_C, HOTTEST_C));
}

static double curve_at(const struct luxfall_drive *drive, const double *values, double current_a) {
    if (!values)
        return NAN;
    return drive->count == 1 ? values[0] : monotone_cubic(drive->count, drive->current_a, values, current_a);
}

enum luxfall_status luxfall_drive_at(const struct luxfall_drive *drive, double current_a,
                                     struct luxfall_operating_point *out, struct luxfall_error *error) {
    *out = (struct luxfall_operating_point){NAN, NAN, NAN, NAN, NAN};
    if (drive->count == 0)
        return fail(error, LUXFALL_E_VALUE, 0, "no flux is known at any current, so none at %.6g A", current_a);
    double least = drive->current_a[0], most = drive->current_a[drive->count - 1];
    if (!(current_a >= least * (1 - ROUNDING) && current_a <= most * (1 + ROUNDING))) {
        if (drive->count == 1)
            return fail(error, LUXFALL_E_VALUE, 0, "known at %.6g A alone, not at %.6g A", least, current_a);
        return fail(error, LUXFALL_E_VALUE, 0, "known from %.6g A to %.6g A, not at %.6g A", least, most, current_a);
    }
    double held_a = fmin(fmax(current_a, least), most);
    out->current_a = current_a;
    out->flux_lm = curve_at(drive, drive->flux_lm, held_a);
    out->voltage_v = curve_at(drive, drive->voltage_v, held_a);
    out->power_w = out->voltage_v * current_a; /* METHODS eq. (49) */
    out->junction_c = curve_at(drive, drive->junction_c, held_a);
    return LUXFALL_OK;
}

enum luxfall_status luxfall_module_at(const struct luxfall_scene *scene, size_t index,
                                      struct luxfall_operating_point *out, struct luxfall_error *error) {
    const struct luxfall_module *module = &scene->modules[index];
    const struct luxfall_emitter *emitter = &scene->emitters[module->emitter];
    *out = (struct luxfall_operating_point){NAN, emitter->flux_lm, NAN, NAN, NAN};
    if (module->current_a == 0 && emitter->flux_lm == 0)
        return fail(error, LUXFALL_E_VALUE, index, "module %zu must name a current: its emitter has no flux without",
                    index);
    if (module->current_a != 0) {
        enum luxfall_status status = luxfall_drive_at(&emitter->drive, module->current_a, out, error);
        if (error)
            error->item = index;
        if (status != LUXFALL_OK)
            return status;
    }
    out->flux_lm *= module->scale;
    if (module->dark)
        *out = (struct luxfall_operating_point){0, 0, NAN, 0, NAN};
    return LUXFALL_OK;
}
