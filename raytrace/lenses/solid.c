#include "lenses/solid.h"
#include "fail.h"
#include "lenses/material.h"
#include "lenses/vector3.h"

#include <math.h>

static const struct solid_kind *const kinds[] = {
    [LUXFALL_LENS_PLANO_CONVEX] = &solid_plano_convex,
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
    enum luxfall_status status = material_validate(kind->material(lens), error);
    return status == LUXFALL_OK ? kind->validate(lens, error) : status;
}

enum luxfall_status solid_make(const struct luxfall_lens *lens, double wavelength_um, struct solid *out,
                               struct luxfall_error *error) {
    const struct luxfall_material *material = kind_of(lens)->material(lens);
    *out = (struct solid){.lens = lens, .absorption_per_mm = luxfall_material_absorption_per_mm(material)};
    return luxfall_material_index(material, wavelength_um, &out->index, error);
}

double solid_length_mm(const struct luxfall_lens *lens) {
    return kind_of(lens)->length_mm(lens);
}

void solid_trace(const struct solid *solid, const struct solid_ray *in, struct pcg32 *random,
                 struct solid_outcome *out) {
    /* Rays come in single precision; the surfaces reckon with directions of unit length. */
    const double scale = 1 / sqrt(dot3(in->direction, in->direction));
    struct solid_ray unit = *in;
    for (int i = 0; i < 3; i++)
        unit.direction[i] *= scale;
    kind_of(solid->lens)->trace(solid, &unit, random, out);
}
