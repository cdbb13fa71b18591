/* How bright the faces look, and which facets mirror them into a camera. METHODS section 11. */
#include "emitters/emitter.h"
#include "numbers/vec.h"
#include "tracing/stage.h"

/* Faces dimmer than this share of the brightest do not count among those that flare. */
#define FLARES_SHARE 0.1
/* Nearer to the vertical the lamp stands where the camera would. */
#define OVERHEAD_RAD 0.02

/* cd/m^2 of a lamp's face towards an angle from its axis; 0 where the face is a point. METHODS eq. (57). */
static double face_cd_per_m2(const struct stage *stage, const struct lamp *lamp, double angle_rad) {
    const struct bundle *bundle = &stage->bundles[lamp->bundle];
    double area_m2 = bundle->columns * bundle->rows * face_area_mm2(&bundle->face) * 1e-6;
    double cd = lamp->flux_lm * bundle->efficiency * angle_law_peak_per_lm(&bundle->law) *
                angle_law_relative(&bundle->law, angle_rad);
    return area_m2 > 0 && angle_rad < PI / 2 ? cd / (area_m2 * cos(angle_rad)) : 0;
}

struct sight {
    double slope_rad, cd_per_m2; /* 0: does not flare */
};

static struct sight look(const struct stage *stage, const struct lamp *lamp, struct luxfall_vec place_mm) {
    struct luxfall_vec up = vec_sum(1, lamp->pose.at_mm, -1, place_mm);
    double polar_rad = atan2(hypot(up.x, up.y), up.z);
    double angle_rad = acos(fmin(1, -vec_dot(up, lamp->pose.axis) / vec_length(up)));
    if (stage->bundles[lamp->bundle].solid || !(up.z > 0) || polar_rad < OVERHEAD_RAD)
        return (struct sight){0};
    return (struct sight){polar_rad / 2, face_cd_per_m2(stage, lamp, angle_rad)};
}

static void add_slopes(const struct stage *stage, struct luxfall_vec place_mm, struct luxfall_glare *out) {
    for (size_t i = 0; i < stage->lamp_count; i++) {
        struct sight sight = look(stage, &stage->lamps[i], place_mm);
        if (!(sight.cd_per_m2 > 0) || sight.cd_per_m2 < FLARES_SHARE * out->mirrored_cd_per_m2)
            continue;
        out->slope_low_rad = fmin(out->slope_low_rad, sight.slope_rad);
        out->slope_high_rad = fmax(out->slope_high_rad, sight.slope_rad);
    }
}

enum luxfall_status luxfall_glare_at(const struct luxfall_scene *scene, struct luxfall_vec place_mm,
                                     struct luxfall_glare *out, struct luxfall_error *error) {
    struct stage stage;
    enum luxfall_status status = stage_make(scene, &stage, error);
    *out = (struct luxfall_glare){.slope_low_rad = INFINITY, .slope_high_rad = -INFINITY};
    for (size_t i = 0; status == LUXFALL_OK && i < stage.lamp_count; i++) {
        out->face_cd_per_m2 = fmax(out->face_cd_per_m2, face_cd_per_m2(&stage, &stage.lamps[i], 0));
        out->mirrored_cd_per_m2 = fmax(out->mirrored_cd_per_m2, look(&stage, &stage.lamps[i], place_mm).cd_per_m2);
    }
    if (status == LUXFALL_OK)
        add_slopes(&stage, place_mm, out);
    if (!(out->slope_high_rad >= 0))
        out->slope_low_rad = out->slope_high_rad = NAN;
    stage_free(&stage);
    return status;
}
