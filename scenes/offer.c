/* A traced solid in a datasheet lens's place, as text that a scene takes. */
#include "scenes/scene.h"

#include <math.h>
#include <string.h>

static const double DEGREE = 3.14159265358979323846 / 180;

/* All dies together, as the one that a sheet would list. */
static struct luxfall_face die_of(const struct luxfall_emitter *emitter) {
    struct luxfall_face die = emitter->die;
    if (emitter->columns == 1 && emitter->rows == 1)
        return die;
    return (struct luxfall_face){LUXFALL_RECTANGLE, die.width_mm + (emitter->columns - 1) * emitter->pitch_x_mm,
                                 die.height_mm + (emitter->rows - 1) * emitter->pitch_y_mm};
}

static enum luxfall_status plan(const struct luxfall_beam *beam, const struct luxfall_face *die,
                                struct luxfall_lens *lens, struct luxfall_error *error) {
    struct luxfall_collimator_plan plan;
    luxfall_collimator_usual(lens);
    enum luxfall_status status = luxfall_collimator_for_beam(lens, die, beam->beam_angle_rad, &plan, error);
    if (status == LUXFALL_OK)
        lens->collimator.texture_rad = plan.texture_rad;
    return status;
}

static void write_text(const struct luxfall_beam *beam, const struct luxfall_face *die, struct scene_offer *offer) {
    int used =
        snprintf(offer->text, sizeof offer->text,
                 "{solid: collimator, material: acrylic, diameter: %.6g mm, beam_angle: %.6g deg, listed_die: ",
                 beam->face.width_mm, beam->beam_angle_rad / DEGREE);
    if (die->kind == LUXFALL_DISC)
        used += snprintf(offer->text + used, sizeof offer->text - (size_t)used, "disc %.6g mm", die->width_mm);
    else
        used += snprintf(offer->text + used, sizeof offer->text - (size_t)used, "%.6g mm x %.6g mm", die->width_mm,
                         die->height_mm);
    snprintf(offer->text + used, sizeof offer->text - (size_t)used, ", efficiency: %.4g %%}", 100 * beam->efficiency);
}

enum luxfall_status scene_offer_solid(const struct luxfall_emitter *emitter, const struct luxfall_lens *sheet,
                                      struct scene_offer *out, struct luxfall_error *error) {
    struct luxfall_face die = die_of(emitter);
    const char *refused = sheet->beam.face.kind != LUXFALL_DISC ? "a collimator has a round face"
                          : die.kind == LUXFALL_POINT           ? "the emitter has no size"
                                                                : NULL;
    *out = (struct scene_offer){.lens = {.name = sheet->name,
                                         .kind = LUXFALL_LENS_COLLIMATOR,
                                         .material = {.kind = LUXFALL_MATERIAL_NAMED, .name = "acrylic"},
                                         .collimator = {.diameter_mm = sheet->beam.face.width_mm}}};
    if (refused != NULL) {
        *error = (struct luxfall_error){.status = LUXFALL_E_VALUE};
        snprintf(error->text, sizeof error->text, "%s", refused);
        return LUXFALL_E_VALUE;
    }
    enum luxfall_status status = plan(&sheet->beam, &die, &out->lens, error);
    if (status == LUXFALL_OK)
        write_text(&sheet->beam, &die, out);
    return status;
}
