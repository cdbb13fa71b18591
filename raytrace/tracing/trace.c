/* The way in: options checked, the stage set, rays or the direct way, and the direct values beside the rays. */
#include "fail.h"
#include "numbers/vec.h"
#include "tracing/direct.h"
#include "tracing/rays.h"

#include <string.h>

/* A caller built against an older header gives a shorter struct: what it does not know keeps its default. */
enum luxfall_status options_read(const struct luxfall_options *given, struct luxfall_options *out,
                                 struct luxfall_error *error) {
    luxfall_options_init(out);
    size_t size = given->size < sizeof *out ? given->size : sizeof *out;
    memcpy(out, given, size);
    if (!(out->accuracy >= 0 && out->accuracy < 1))
        return fail(error, LUXFALL_E_VALUE, 0, "the accuracy must lie above 0 and below 100 %%, not %.4g %%",
                    100 * out->accuracy);
    if (out->method == LUXFALL_RAYS && out->accuracy == 0 && out->rays == 0)
        return fail(error, LUXFALL_E_VALUE, 0, "either an accuracy or a number of rays is needed");
    if (out->rays > UINT64_C(1) << 40)
        return fail(error, LUXFALL_E_VALUE, 0, "at most 2^40 rays can be traced, not %llu",
                    (unsigned long long)out->rays);
    if (out->threads < 0 || out->threads > 1024)
        return fail(error, LUXFALL_E_VALUE, 0, "0 to 1024 threads are possible, not %d", out->threads);
    return LUXFALL_OK;
}

/* The direct integral at the fields' centres, over the same reading discs. */
static enum luxfall_status add_direct_centres(const struct stage *stage, const struct luxfall_options *options,
                                              struct luxfall_result *result, struct luxfall_error *error) {
    if (!stage->known_by_angle || (options->method == LUXFALL_DIRECT && options->fields_only))
        return LUXFALL_OK;
    struct direct_way *way = direct_way_make(stage, options->threads);
    bool memory = way != NULL;
    for (size_t p = 0; memory && p < result->plane_count; p++) {
        for (size_t f = 0; f < result->field_count; f++) {
            const struct luxfall_field *frame = &stage->scene->fields[f];
            struct luxfall_field_result *field = &result->planes[p].fields[f];
            field->centre_direct_lx = direct_reading_lx(way, frame->x_mm, frame->y_mm, result->planes[p].level_mm,
                                                        stage->grids[f].reading_mm);
            memory = memory && !isnan(field->centre_direct_lx);
            if (options->method == LUXFALL_RAYS && field->centre_lx.u95 > 0)
                field->centre_difference_in_u95 =
                    (field->centre_lx.value - field->centre_direct_lx) / field->centre_lx.u95;
        }
    }
    direct_way_free(way);
    return memory ? LUXFALL_OK : fail_memory(error);
}

static enum luxfall_status trace_stage(const struct stage *stage, const struct luxfall_options *options,
                                       struct luxfall_result **out, struct luxfall_error *error) {
    enum luxfall_status status = options->method == LUXFALL_DIRECT ? trace_direct(stage, options, out, error)
                                                                   : trace_by_rays(stage, options, out, error);
    if (status == LUXFALL_OK)
        status = add_direct_centres(stage, options, *out, error);
    return status;
}

enum luxfall_status luxfall_trace(const struct luxfall_scene *scene, const struct luxfall_options *options,
                                  struct luxfall_result **out, struct luxfall_error *error) {
    struct luxfall_options read;
    struct stage stage;
    *out = NULL;
    enum luxfall_status status = options_read(options, &read, error);
    if (status != LUXFALL_OK)
        return status;
    status = stage_make(scene, &stage, error);
    if (status == LUXFALL_OK && read.method == LUXFALL_RAYS)
        status = stage_add_launch_tables(&stage, error);
    if (status == LUXFALL_OK)
        status = trace_stage(&stage, &read, out, error);
    stage_free(&stage);
    if (status != LUXFALL_OK) {
        luxfall_result_free(*out);
        *out = NULL;
    }
    return status;
}

enum luxfall_status luxfall_direct_reading(const struct luxfall_scene *scene, double x_mm, double y_mm,
                                           double level_mm, double reading_mm, double *out_lx,
                                           struct luxfall_error *error) {
    struct stage stage;
    enum luxfall_status status = stage_make(scene, &stage, error);
    if (status == LUXFALL_OK && !stage.known_by_angle)
        status = fail(error, LUXFALL_E_METHOD, 0,
                      "the direct way knows light by angle alone, not a traced lens, a cover or a package");
    struct direct_way *way = status == LUXFALL_OK ? direct_way_exact(&stage) : NULL;
    if (way)
        *out_lx = direct_reading_lx(way, x_mm, y_mm, level_mm, reading_mm);
    if (status == LUXFALL_OK && (!way || isnan(*out_lx)))
        status = fail_memory(error);
    direct_way_free(way);
    stage_free(&stage);
    return status;
}
