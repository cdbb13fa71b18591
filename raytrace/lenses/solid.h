/* Traced solids: a ray goes in at the emitter, one outcome comes back. One kind is one file and one line in the table
 * of solid.c. Frame: the emitter plane is z = 0, light travels towards +z, the axis is the solid's. Lengths in mm.
 *
 * At every surface the ray goes back or on by a random number, and where it is absorbed on its way is one more: so it
 * stays one path of constant weight, and outcomes can be counted exactly. METHODS sec. 5, eq. (30), (64). */
#ifndef RAYTRACE_LENSES_SOLID_H
#define RAYTRACE_LENSES_SOLID_H

#include "luxfall.h"
#include "numbers/pcg32.h"

#include <stdbool.h>

struct solid_ray {
    double origin[3];    /* mm */
    double direction[3]; /* going in: of any length; coming out: unit */
};

enum solid_fate {
    SOLID_EXIT,
    SOLID_ABSORBED,
    SOLID_ABANDONED /* still inside after SOLID_BOUNCES_MAX surfaces */
};
enum { SOLID_BOUNCES_MAX = 1000 };

struct solid_outcome {
    enum solid_fate fate;
    enum luxfall_loss loss; /* SOLID_ABSORBED */
    struct solid_ray exit;  /* SOLID_EXIT: origin relative to the last vertex */
};

/* A lens as light of one wavelength meets it. */
struct solid {
    const struct luxfall_lens *lens; /* NULL: none */
    double index;
    double absorption_per_mm; /* 0: clear */
};

/* Is this lens traced surface by surface? The functions below are for such lenses only. */
bool solid_is(const struct luxfall_lens *lens);

/* Can this solid be made and traced? Error VALUE (a lens that is no solid, too); the text says why. */
LUXFALL_CHECKED enum luxfall_status solid_validate(const struct luxfall_lens *lens, struct luxfall_error *error);

/* A validated lens made ready. Error VALUE: its material has no index at that wavelength. */
LUXFALL_CHECKED enum luxfall_status solid_make(const struct luxfall_lens *lens, double wavelength_um,
                                               struct solid *out, struct luxfall_error *error);

/* z of the last vertex. */
double solid_length_mm(const struct luxfall_lens *lens);

/* One ray through a solid. `random` is the ray's own stream: as many draws as surfaces are met, and before them one
 * more where the material absorbs. */
void solid_trace(const struct solid *solid, const struct solid_ray *in, struct pcg32 *random,
                 struct solid_outcome *out);

/* A kind of solid; the same contracts. */
struct solid_kind {
    enum luxfall_status (*validate)(const struct luxfall_lens *lens, struct luxfall_error *error); /* its shape */
    const struct luxfall_material *(*material)(const struct luxfall_lens *lens);
    double (*length_mm)(const struct luxfall_lens *lens);
    void (*trace)(const struct solid *solid, const struct solid_ray *in, struct pcg32 *random,
                  struct solid_outcome *out);
};
extern const struct solid_kind solid_plano_convex;
#endif
