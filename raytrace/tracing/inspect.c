/* One module by itself: its intensity over angle, by rays or from the law it is known by, and the most that die and
 * face allow. METHODS sec. 12. */
#include "tracing/inspect.h"

#include "emitters/emitter.h"
#include "fail.h"
#include "lenses/solid.h"
#include "numbers/vec.h"
#include "tracing/packed.h"

enum { RINGS = LUXFALL_RINGS, HALVES = LUXFALL_HALF_PLANES };

double ring_sr(int ring) {
    return 2 * PI * (cos(ring * RING_RAD) - cos((ring + 1) * RING_RAD));
}

/* ---- known by angle -------------------------------------------------------------------------------------------- */

static struct luxfall_estimate exactly(double value) {
    return (struct luxfall_estimate){value, NAN};
}

/* Full angle at a fraction of the axis; NaN: nowhere. */
static double width_of_law(const struct angle_law *law, double fraction) {
    double level = fraction * angle_law_relative(law, 0), low = 0, high = NAN;
    for (int k = 1; k <= 4 * RINGS && isnan(high); k++) {
        double angle = k * RING_RAD / 4;
        if (k == 4 * RINGS || angle_law_relative(law, angle) < level)
            high = angle;
        else
            low = angle;
    }
    if (!(level > 0))
        return NAN;
    for (int i = 0; i < 60; i++) {
        double middle = (low + high) / 2;
        *(angle_law_relative(law, middle) < level ? &high : &low) = middle;
    }
    return low + high;
}

static double share_within_width(const struct angle_law *law, double width_rad) {
    return isnan(width_rad) ? NAN : angle_law_share_within(law, width_rad / 2);
}

static void inspect_law(const struct bundle *bundle, double flux_lm, struct luxfall_inspection *out) {
    const struct angle_law *law = &bundle->law;
    double leaving_lm = flux_lm * bundle->efficiency, per_unit_cd = leaving_lm * angle_law_peak_per_lm(law);
    out->leaving_lm = exactly(leaving_lm);
    out->efficiency = exactly(bundle->efficiency);
    out->abandoned_lm = exactly(0);
    for (int i = 0; i < LUXFALL_LOSS_COUNT; i++)
        out->loss_lm[i] = exactly(i == LUXFALL_LOSS_DATASHEET ? flux_lm - leaving_lm : 0);
    for (int i = 0; i < LUXFALL_COVERS_MAX; i++)
        out->cover_lm[i] = exactly(0);
    double before = 0;
    for (int k = 0; k < RINGS; k++) {
        double within = angle_law_share_within(law, (k + 1) * RING_RAD);
        out->cd[k] = exactly(leaving_lm * (within - before) / ring_sr(k));
        for (int half = 0; half < HALVES; half++)
            out->half_plane_cd[half][k] = out->cd[k];
        before = within;
    }
    out->level_cd = out->centre_cd = exactly(per_unit_cd * angle_law_relative(law, 0));
    out->beam_angle_rad = exactly(width_of_law(law, 0.5));
    for (int plane = 0; plane < HALVES / 2; plane++)
        out->plane_beam_rad[plane] = out->beam_angle_rad;
    out->lean_x_rad = out->lean_y_rad = exactly(0);
    out->field_angle_rad = exactly(width_of_law(law, 0.1));
    out->in_beam = exactly(share_within_width(law, out->beam_angle_rad.value));
    out->in_field = exactly(share_within_width(law, out->field_angle_rad.value));
    out->far_5_percent_mm = exactly(far_of_bundle(bundle, 0.05));
    out->far_1_percent_mm = exactly(far_of_bundle(bundle, 0.01));
}

/* ---- bounds ---------------------------------------------------------------------------------------------------- */

static double floor_for(double index, double die_mm2, double face_mm2) {
    double sine = index * sqrt(die_mm2 / face_mm2);
    return sine < 1 ? 2 * asin(sine) : PI;
}

/* Do the dies reach out beside the lens, wherever it stands over them? */
static bool is_wider(const struct luxfall_emitter *emitter, const struct luxfall_assembly *built,
                     const struct luxfall_lens *lens) {
    double half_x_mm = ((emitter->columns - 1) * emitter->pitch_x_mm + emitter->die.width_mm) / 2,
           half_y_mm = ((emitter->rows - 1) * emitter->pitch_y_mm + emitter->die.height_mm) / 2,
           aside_mm = hypot(built->die_x_mm - built->decentre_x_mm, built->die_y_mm - built->decentre_y_mm);
    return hypot(half_x_mm, half_y_mm) + aside_mm > luxfall_lens_diameter_mm(lens) / 2;
}

/* What light may leave from, as seen along the axis; past an open holder or a small lens also the dies, as large as
 * their package shows them. */
static double face_of_lens_mm2(const struct luxfall_emitter *emitter, const struct luxfall_module *module,
                               const struct luxfall_lens *lens, double etendue_ratio) {
    if (!solid_is(lens))
        return face_area_mm2(&lens->beam.face);
    struct solid_looks looks = solid_looks(lens);
    bool beside = looks.open || is_wider(emitter, &module->built, lens);
    return (looks.front_mm2 > 0 ? looks.front_mm2 : face_area_mm2(&looks.face)) +
           (beside ? etendue_ratio * emitter_area_mm2(emitter) : 0);
}

/* What scatters over the lens shines with all of its own area. */
static double with_covers_mm2(const struct luxfall_scene *scene, const struct luxfall_module *module,
                              double face_mm2) {
    for (size_t i = 0; i < module->cover_count; i++) {
        const struct luxfall_cover *cover = &scene->covers[module->covers[i]];
        if (luxfall_cover_spreads(cover))
            face_mm2 = fmax(face_mm2, luxfall_cover_area_mm2(cover));
    }
    return face_mm2;
}

/* METHODS eq. (9). packed NULL: no package is traced. */
static void add_bounds(const struct luxfall_scene *scene, const struct luxfall_module *module,
                       const struct packed *packed, struct luxfall_inspection *out) {
    const double domed = 1.5, ratio = packed ? packed->etendue_ratio : 1;
    if (module->lens == LUXFALL_NO_LENS)
        return;
    const struct luxfall_lens *lens = &scene->lenses[module->lens];
    const struct luxfall_emitter *emitter = &scene->emitters[module->emitter];
    double die_mm2 = emitter_area_mm2(emitter), face_mm2 = face_of_lens_mm2(emitter, module, lens, ratio);
    face_mm2 = face_mm2 > 0 ? with_covers_mm2(scene, module, face_mm2) : 0;
    double greatest = emitter_greatest_per_cosine(emitter);
    if (!(face_mm2 > 0 && die_mm2 > 0 && isfinite(greatest)))
        return;
    out->bound_cd_per_lm = greatest * face_mm2 / die_mm2 / ratio;
    out->floor_rad = floor_for(sqrt(ratio), die_mm2, face_mm2);
    out->package_index = packed ? packed->index : 0;
    if (packed)
        return;
    out->bound_domed_cd_per_lm = out->bound_cd_per_lm / (domed * domed);
    out->floor_domed_rad = floor_for(domed, die_mm2, face_mm2);
}

enum luxfall_status luxfall_inspect(const struct luxfall_scene *scene, size_t module,
                                    const struct luxfall_options *options, struct luxfall_inspection *out,
                                    struct luxfall_error *error) {
    struct luxfall_options checked;
    struct stage stage = {0};
    *out = (struct luxfall_inspection){0};
    if (module >= scene->module_count)
        return fail(error, LUXFALL_E_VALUE, module, "there is no module of that number");
    struct luxfall_module alone = scene->modules[module];
    struct luxfall_scene one = *scene;
    alone.dark = false;
    one.modules = &alone;
    one.module_count = 1;
    one.field_count = 0;
    enum luxfall_status status = options_read(options, &checked, error);
    if (status == LUXFALL_OK)
        status = stage_make(&one, &stage, error);
    if (status == LUXFALL_OK) {
        out->flux_lm = stage.lamps[0].flux_lm;
        if (stage.bundles[0].solid)
            status = inspect_by_rays(&stage, &checked, out, error);
        else
            inspect_law(&stage.bundles[0], out->flux_lm, out);
    }
    if (status == LUXFALL_OK)
        add_bounds(&one, &alone, stage.bundles[0].packed, out);
    stage_free(&stage);
    return status;
}
