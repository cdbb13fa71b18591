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

/* Rotations and mirror images that leave the solid as it is, as face_images() counts them: 8 or 4. */
int solid_images(const struct luxfall_lens *lens);

/* A kind of solid. */
struct solid_kind {
    enum luxfall_status (*validate)(const struct luxfall_lens *lens, struct luxfall_error *error); /* its shape */
    /* Patches and end of an optic whose materials are there: 0 the air, 1 the lens. */
    void (*build)(const struct luxfall_lens *lens, struct optic *out);
};
extern const struct solid_kind solid_singlet, solid_collimator, solid_fresnel, solid_pipe, solid_reflector,
    solid_concentrator, solid_turned;
#endif
