/* Traced solids: lenses made of surfaces. A kind writes its surfaces down as an optic, which is then traced like any
 * other; one kind is one file and one line in the table of solid.c. Frame: the emitter plane is z = 0, light travels
 * towards +z, the axis is the solid's. Lengths in mm. METHODS sec. 5. */
#ifndef RAYTRACE_LENSES_SOLID_H
#define RAYTRACE_LENSES_SOLID_H

#include "lenses/wave.h"

#include <stdbool.h>

/* A lens as light of one wavelength meets it. */
struct solid {
    const struct luxfall_lens *lens; /* NULL: none */
    struct optic optic;
    struct wave_optic wave; /* the same for many rays */
};

/* Is this lens traced surface by surface? The functions below are for such lenses only. */
bool solid_is(const struct luxfall_lens *lens);

/* Can this solid be made and traced? Error VALUE (a lens that is no solid, too); the text says why. */
LUXFALL_CHECKED enum luxfall_status solid_validate(const struct luxfall_lens *lens, struct luxfall_error *error);

/* The surfaces of a validated lens. Error VALUE: its material has no index at that wavelength. */
LUXFALL_CHECKED enum luxfall_status solid_optic(const struct luxfall_lens *lens, double wavelength_um,
                                                struct optic *out, struct luxfall_error *error);

/* A validated lens made ready (NULL: air alone, for covers to stand in); free() gives it back. Errors: MEMORY; VALUE,
 * its material has no index at that wavelength.
 */
LUXFALL_CHECKED enum luxfall_status solid_make(const struct luxfall_lens *lens, double wavelength_um,
                                               struct solid **out, struct luxfall_error *error);

/* What the house asks of a solid besides its surfaces; of one that is not validated, too. */
struct solid_looks {
    struct luxfall_face face; /* outline across the axis: a disc about it, or a rectangle */
    double front_mm2;         /* what light leaves from, seen along the axis; 0: all of the face */
    double entry_mm;          /* width that it has for the dies; 0: all of the face's */
    int images;   /* rotations and mirror images that leave it as it is, as face_images() counts: 8 or 4 */
    bool mirrors; /* no body of lens.material */
    bool open;    /* light may pass beside it */
};
struct solid_looks solid_looks(const struct luxfall_lens *lens);

/* A solid of revolution. */
static inline struct solid_looks solid_round(double diameter_mm, bool mirrors, bool open) {
    return (struct solid_looks){{LUXFALL_DISC, diameter_mm, diameter_mm}, 0, 0, 8, mirrors, open};
}

/* The closed holder of a body: a black plane about its section, which is round or lies within sides. */
void solid_add_holder(struct optic *out, double z_mm, double radius_mm, int side_count,
                      const struct patch_side *sides);

/* A kind of solid. */
struct solid_kind {
    enum luxfall_status (*validate)(const struct luxfall_lens *lens, struct luxfall_error *error); /* its shape */
    /* Patches and end of an optic whose materials are there: 0 the air, 1 the lens. */
    void (*build)(const struct luxfall_lens *lens, struct optic *out);
    struct solid_looks (*looks)(const struct luxfall_lens *lens);
};
extern const struct solid_kind solid_singlet, solid_collimator, solid_fresnel, solid_pipe, solid_reflector,
    solid_concentrator, solid_turned;
#endif
