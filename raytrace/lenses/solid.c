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
    out->materials[0] = (struct optic_material){1, 0, true};
    if (body)
        out->materials[1] = (struct optic_material){index, luxfall_material_absorption_per_mm(material), false};
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
    solid->optic = (struct optic){.material_count = 1, .materials = {{1, 0, true}}};
    enum luxfall_status status = lens ? solid_optic(lens, wavelength_um, &solid->optic, error) : LUXFALL_OK;
    if (status != LUXFALL_OK) {
        free(solid);
        return status;
    }
    wave_optic_make(&solid->optic, &solid->wave);
    *out = solid;
    return LUXFALL_OK;
}

bool luxfall_lens_has_material(const struct luxfall_lens *lens) {
    bool hollow = lens->kind == LUXFALL_LENS_PIPE && lens->pipe.mirror.count > 0;
    return solid_is(lens) && !hollow && lens->kind != LUXFALL_LENS_REFLECTOR &&
           lens->kind != LUXFALL_LENS_CONCENTRATOR;
}

int solid_images(const struct luxfall_lens *lens) {
    const struct luxfall_pipe *p = &lens->pipe;
    bool hexagon = lens->kind == LUXFALL_LENS_PIPE && p->section == LUXFALL_SECTION_HEXAGON;
    bool oblong = lens->kind == LUXFALL_LENS_PIPE && p->width_mm != p->height_mm;
    const struct luxfall_lenslets *small = &lens->collimator.lenslets;
    bool cells = lens->kind == LUXFALL_LENS_COLLIMATOR && small->pitch_mm > 0 && small->hexagonal;
    return hexagon || oblong || cells ? 4 : 8;
}

enum luxfall_status luxfall_lens_check(const struct luxfall_lens *lens, struct luxfall_error *error) {
    struct luxfall_beam_solution beam;
    if (lens->kind == LUXFALL_LENS_BEAM)
        return luxfall_beam_solve(&lens->beam, NULL, &beam, error);
    return solid_validate(lens, error);
}

double luxfall_lens_diameter_mm(const struct luxfall_lens *lens) {
    if (lens->kind == LUXFALL_LENS_SINGLET)
        return lens->singlet.diameter_mm;
    if (lens->kind == LUXFALL_LENS_COLLIMATOR)
        return lens->collimator.diameter_mm;
    if (lens->kind == LUXFALL_LENS_FRESNEL)
        return lens->fresnel.diameter_mm;
    if (lens->kind == LUXFALL_LENS_TURNED)
        return 2 * lens->turned.towards.radius_mm[lens->turned.towards.count - 1];
    if (lens->kind == LUXFALL_LENS_REFLECTOR)
        return lens->reflector.opening_mm;
    if (lens->kind == LUXFALL_LENS_CONCENTRATOR)
        return lens->concentrator.small_mm / sin(lens->concentrator.beam_rad / 2);
    if (lens->kind == LUXFALL_LENS_PIPE)
        return lens->pipe.section == LUXFALL_SECTION_RECTANGLE ? hypot(lens->pipe.width_mm, lens->pipe.height_mm)
               : lens->pipe.section == LUXFALL_SECTION_HEXAGON ? lens->pipe.width_mm / sqrt(0.75)
                                                               : lens->pipe.width_mm;
    return lens->beam.face.width_mm > lens->beam.face.height_mm ? lens->beam.face.width_mm
                                                                : lens->beam.face.height_mm;
}
