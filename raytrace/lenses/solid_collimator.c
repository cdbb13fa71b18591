/* A collimator with total reflection, solved from its sizes: lenses/collimator.h. */
#include "fail.h"
#include "lenses/collimator.h"
#include "lenses/lenslets.h"
#include "lenses/material.h"
#include "lenses/solid.h"

#include <math.h>

static struct collimator sizes_of(const struct luxfall_collimator *p, double index) {
    return (struct collimator){.index = index,
                               .hollow_mm = p->hollow_mm / 2,
                               .focus_mm = p->middle_mm,
                               .radius_mm = p->diameter_mm / 2,
                               .face_mm = p->height_mm};
}

/* A size as one would write it down: in whole micrometres, unless it is of a toy. */
static double written_mm(double mm) {
    return mm < 0.1 ? mm : round(mm * 1000) / 1000;
}

void luxfall_collimator_usual(struct luxfall_lens *lens) {
    struct luxfall_collimator *p = &lens->collimator;
    double index;
    if (p->hollow_mm == 0)
        p->hollow_mm = written_mm(0.3 * p->diameter_mm);
    if (p->middle_mm == 0)
        p->middle_mm = written_mm(0.2 * p->diameter_mm);
    if (p->height_mm > 0 ||
        luxfall_material_index(&lens->material, LUXFALL_WAVELENGTH_UM, &index, NULL) != LUXFALL_OK)
        return;
    struct collimator tall = sizes_of(p, index);
    tall.face_mm = INFINITY;
    p->height_mm = collimator_solve(&tall) ? written_mm(tall.top_mm + 0.015 * p->diameter_mm) : p->diameter_mm;
}

static bool above_nothing(double mm) {
    return mm > 0 && isfinite(mm);
}

static enum luxfall_status tell_no_wall(const struct collimator *c, struct luxfall_error *error) {
    if (c->foot_mm <= c->hollow_mm)
        return fail(
            error, LUXFALL_E_VALUE, 0,
            "no reflecting wall fits: it would begin %.4g mm from the axis, inside the hollow of radius %.4g mm; "
            "a wider face or a smaller hollow makes room",
            c->foot_mm, c->hollow_mm);
    return fail(error, LUXFALL_E_VALUE, 0,
                "no reflecting wall fits: its top would stand %.4g mm over the board, above the face at %.4g mm; a "
                "narrower face or a greater height makes room",
                c->top_mm, c->face_mm);
}

static enum luxfall_status check_lenslets(const struct luxfall_collimator *p, struct luxfall_error *error) {
    if (p->lenslets.pitch_mm == 0)
        return LUXFALL_OK;
    if (p->texture_rad > 0)
        return fail(error, LUXFALL_E_VALUE, 0, "a face has a texture or lenslets, not both");
    return lenslets_validate(&p->lenslets, p->diameter_mm, error);
}

static enum luxfall_status collimator_validate(const struct luxfall_lens *lens, struct luxfall_error *error) {
    const struct luxfall_collimator *p = &lens->collimator;
    double index;
    if (!above_nothing(p->diameter_mm) || !above_nothing(p->height_mm) || !above_nothing(p->hollow_mm) ||
        !above_nothing(p->middle_mm))
        return fail(error, LUXFALL_E_VALUE, 0,
                    "diameter, height, hollow and middle of the collimator must be above 0");
    if (p->hollow_mm >= p->diameter_mm)
        return fail(error, LUXFALL_E_VALUE, 0, "a hollow of %g mm does not fit into a collimator of %g mm",
                    p->hollow_mm, p->diameter_mm);
    if (!(p->texture_rad >= 0 && p->texture_rad < 2))
        return fail(error, LUXFALL_E_VALUE, 0, "the texture of the face must spread by 0 to 114 deg");
    enum luxfall_status status = check_lenslets(p, error);
    if (status == LUXFALL_OK)
        status = luxfall_material_index(&lens->material, LUXFALL_WAVELENGTH_UM, &index, error);
    if (status != LUXFALL_OK)
        return status;
    struct collimator solved = sizes_of(p, index);
    return collimator_solve(&solved) ? LUXFALL_OK : tell_no_wall(&solved, error);
}

/* The ground rim goes as high as they do: beside them nothing meets it. */
static void add_lenslets(const struct luxfall_collimator *p, struct optic *out) {
    struct patch *face = &out->patches[COLLIMATOR_FACE], flat = *face;
    *face = lenslets_patch(&p->lenslets, p->height_mm);
    face->radius_high_mm = flat.radius_high_mm;
    face->down = flat.down;
    face->up = flat.up;
    out->end_mm = out->patches[COLLIMATOR_RIM].z_high_mm = face->z_high_mm;
    out->size_mm += face->z_high_mm - p->height_mm;
}

/* The wall is cut for LUXFALL_WAVELENGTH_UM, whatever light goes through it later. */
static void collimator_build(const struct luxfall_lens *lens, struct optic *out) {
    const struct luxfall_collimator *p = &lens->collimator;
    struct optic_material material = out->materials[1];
    double index;
    if (luxfall_material_index(&lens->material, LUXFALL_WAVELENGTH_UM, &index, NULL) != LUXFALL_OK)
        index = material.index;
    struct collimator solved = sizes_of(p, index);
    if (!collimator_solve(&solved))
        return; /* validated: it does solve */
    collimator_optic(&solved, out);
    out->materials[1] = material;
    if (p->lenslets.pitch_mm > 0)
        add_lenslets(p, out);
    if (p->texture_rad > 0) {
        out->patches[COLLIMATOR_FACE].deed = PATCH_FROSTED;
        out->patches[COLLIMATOR_FACE].spread_rad = p->texture_rad / WIDTH_OVER_SD;
    }
}

static struct solid_looks collimator_looks(const struct luxfall_lens *lens) {
    const struct luxfall_lenslets *cells = &lens->collimator.lenslets;
    struct solid_looks looks = solid_round(lens->collimator.diameter_mm, false, false);
    looks.entry_mm = lens->collimator.hollow_mm;
    looks.images = cells->pitch_mm > 0 && cells->hexagonal ? 4 : 8;
    return looks;
}

const struct solid_kind solid_collimator = {collimator_validate, collimator_build, collimator_looks};
