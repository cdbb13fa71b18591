/* What a meter should have read: the mean over its head. METHODS section 10, eq. (50). */
#include "decisions/sittings.h"
#include "fail.h"

#include <math.h>

static enum luxfall_status directly(const struct sittings *all, const struct sitting *sitting,
                                    const struct luxfall_options *options, struct luxfall_estimate *out,
                                    struct luxfall_error *error) {
    struct luxfall_progress now = {false, 0, 0, NAN};
    if (options->progress && !options->progress(options->user, &now))
        return fail(error, LUXFALL_E_STOPPED, 0, "stopped");
    for (size_t k = 0; k < sitting->count; k++) {
        double lx = sitting_lx(sitting, &all->readings[sitting->index[k]], NULL);
        if (isnan(lx))
            return fail_memory(error);
        out[sitting->index[k]] = (struct luxfall_estimate){lx, NAN};
    }
    return LUXFALL_OK;
}

/* The map is of no interest: a few cells over the same ground. */
static void coarsen(struct luxfall_target *target) {
    enum { CELLS = 8 };
    double side_mm = target->cell_mm * fmax(target->columns, target->rows);
    target->columns = target->rows = CELLS;
    target->cell_mm = side_mm / CELLS;
}

static enum luxfall_status by_rays(const struct sittings *all, const struct sitting *sitting,
                                   const struct luxfall_options *options, struct luxfall_estimate *out,
                                   struct luxfall_error *error) {
    struct luxfall_scene scene = sitting->scene;
    struct luxfall_result *result = NULL;
    if (options->method != LUXFALL_RAYS)
        return fail(error, LUXFALL_E_METHOD, 0,
                    "the direct way knows light by angle alone, not a traced lens, a cover or a package");
    for (size_t k = 0; k < sitting->count; k++)
        if (!(all->readings[sitting->index[k]].head_mm > 0))
            return fail(error, LUXFALL_E_VALUE, sitting->index[k],
                        "rays fall on a head with a diameter above 0 mm, not on a point");
    coarsen(&scene.target);
    enum luxfall_status status = luxfall_trace(&scene, options, &result, error);
    for (size_t k = 0; status == LUXFALL_OK && k < sitting->count; k++)
        out[sitting->index[k]] = result->planes[0].fields[k].centre_lx;
    luxfall_result_free(result);
    return status;
}

enum luxfall_status luxfall_forecast_readings(const struct luxfall_scene *scene, size_t count,
                                              const struct luxfall_reading *readings,
                                              const struct luxfall_options *options, struct luxfall_estimate *out,
                                              struct luxfall_error *error) {
    struct sittings all;
    struct luxfall_options read;
    enum luxfall_status status = options_read(options, &read, error);
    if (status == LUXFALL_OK)
        status = sittings_make(scene, count, readings, read.threads, &all, error);
    else
        return status;
    for (bool more = true; more && status == LUXFALL_OK;) {
        struct sitting sitting;
        status = sitting_next(&all, &sitting, error);
        more = sitting.count > 0;
        if (more && status == LUXFALL_OK)
            status = sitting.way ? directly(&all, &sitting, &read, out, error)
                                 : by_rays(&all, &sitting, &read, out, error);
        sitting_free(&sitting);
    }
    sittings_free(&all);
    return status;
}
