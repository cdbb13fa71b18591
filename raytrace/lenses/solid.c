#include "lenses/solid.h"
#include "fail.h"
#include "lenses/material.h"

#include <math.h>
#include <stdlib.h>

static const struct solid_kind *const kinds[] = {
    [LUXFALL_LENS_SINGLET] = &solid_singlet,     [LUXFALL_LENS_COLLIMATOR] = &solid_collimator,
    [LUXFALL_LENS_FRESNEL] = &solid_fresnel,     [LUXFALL_LENS_PIPE] = &solid_pipe,
    [LUXFALL_LENS_REFLECTOR] = &solid_reflector, [LUXFALL_LENS_CONCENTRATOR] = &solid_concentrator,
    [LUXFALL_LENS_TURNED] = &solid_turned,
};

static const struct solid_kind *kind_of(const struct luxfall_lens *lens) {
    const size_t kind = (size_t)lens->kind;
    return kind < sizeof kinds / sizeof *kinds ? kinds[kind] : NULL;
}

bool solid_is(const struct luxfall_lens *lens) {
    return kind_of(lens) != NULL;
}

enum luxfall_status solid_validate(const struct luxfall_lens *lens, struct luxfall_error *error) {
    const struct solid_kind *kind = kind_of(lens);
    if (!kind)
        return fail(error, LUXFALL_E_VALUE, 0, "this lens is no solid that can be traced");
    enum luxfall_status status =
        luxfall_lens_has_material(lens) ? material_validate(&lens->material, error) : LUXFALL_OK;
    return status == LUXFALL_OK ? kind->validate(lens, error) : status;
}

enum luxfall_status solid_optic(const struct luxfall_lens *lens, double wavelength_um, struct optic *out,
                                struct luxfall_error *error) {
    const struct luxfall_material *material = &lens->material;
    double index = 1;
    bool body = luxfall_lens_has_material(lens);
    enum luxfall_status status = body ? luxfall_material_index(material, wavelength_um, &index, error) : LUXFALL_OK;
    if (status != LUXFALL_OK)
        return status;
    optic_clear(out);
    out->material_count = body ? 2 : 1;
    out->materials[0] = (struct optic_material){1, 0, true, 0};
    if (body)
        out->materials[1] = (struct optic_material){index, luxfall_material_absorption_per_mm(material), false,
                                                    LUXFALL_LOSS_MATERIAL};
    kind_of(lens)->build(lens, out);
    return LUXFALL_OK;
}

enum luxfall_status solid_make(const struct luxfall_lens *lens, double wavelength_um, struct solid **out,
                               struct luxfall_error *error) {
    struct solid *solid = calloc(1, sizeof *solid);
    *out = NULL;
    if (!solid)
        return fail_memory(error);
    solid->lens = lens;
    solid->optic = (struct optic){.material_count = 1, .materials = {{1, 0, true, 0}}};
    enum luxfall_status status = lens ? solid_optic(lens, wavelength_um, &solid->optic, error) : LUXFALL_OK;
    if (status != LUXFALL_OK) {
        free(solid);
        return status;
    }
    wave_optic_make(&solid->optic, &solid->wave);
    *out = solid;
    return LUXFALL_OK;
}

struct solid_looks solid_looks(const struct luxfall_lens *lens) {
    return kind_of(lens)->looks(lens);
}

bool luxfall_lens_has_material(const struct luxfall_lens *lens) {
    return solid_is(lens) && !solid_looks(lens).mirrors;
}

enum luxfall_status luxfall_lens_check(const struct luxfall_lens *lens, struct luxfall_error *error) {
    struct luxfall_beam_solution beam;
    if (lens->kind == LUXFALL_LENS_BEAM)
        return luxfall_beam_solve(&lens->beam, NULL, &beam, error);
    return solid_validate(lens, error);
}

struct luxfall_face luxfall_lens_face(const struct luxfall_lens *lens) {
    return solid_is(lens) ? solid_looks(lens).face : lens->beam.face;
}

double luxfall_lens_entry_mm(const struct luxfall_lens *lens) {
    struct luxfall_face face = luxfall_lens_face(lens);
    double entry_mm = solid_is(lens) ? solid_looks(lens).entry_mm : 0;
    return entry_mm > 0 ? entry_mm : fmin(face.width_mm, face.height_mm);
}

double luxfall_lens_diameter_mm(const struct luxfall_lens *lens) {
    struct luxfall_face face = luxfall_lens_face(lens);
    if (solid_is(lens) && face.kind == LUXFALL_RECTANGLE)
        return hypot(face.width_mm, face.height_mm);
    return fmax(face.width_mm, face.height_mm);
}

/* Of sides: all of the plane that lies beyond one of them. */
void solid_add_holder(struct optic *out, double z_mm, double radius_mm, int side_count,
                      const struct patch_side *sides) {
    struct patch holder = patch_plane(z_mm);
    holder.deed = PATCH_STOP;
    holder.loss = LUXFALL_LOSS_HOLDER;
    holder.radius_low_mm = side_count == 0 ? radius_mm : 0;
    holder.side_count = side_count > 0;
    for (int i = 0; i < side_count || i == 0; i++) {
        if (side_count > 0)
            holder.sides[0] = (struct patch_side){-sides[i].x, -sides[i].y, -sides[i].reach_mm};
        out->patches[out->patch_count++] = holder;
    }
}
