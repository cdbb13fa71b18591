/* One ray through a solid, as the tests of lenses ask for it. */
#ifndef TESTS_UNIT_ONE_RAY_H
#define TESTS_UNIT_ONE_RAY_H

#include "lenses/solid.h"

#include <math.h>

struct solid_ray {
    double origin[3];    /* mm */
    double direction[3]; /* going in: of any length; coming out: unit */
};

struct solid_outcome {
    enum optic_fate fate;
    enum luxfall_loss loss; /* OPTIC_ABSORBED */
    struct solid_ray exit;  /* OPTIC_EXIT: origin relative to the last vertex */
};

/* A stream that starts a ray of which the first four draws exceed 1 - 2^-6: at any smaller reflectance it goes
 * straight through. A state below 2^59 is not turned on its way out, eq. (31): so its digits can be chosen. */
static inline struct pcg32 stream_that_passes(void) {
    const uint32_t start = 1893255; /* the least of its kind */
    return (struct pcg32){.state = (uint64_t)(start ^ start >> 18) << 27, .inc = 1};
}

static inline void optic_trace_ray(const struct optic *optic, const struct solid_ray *in, struct pcg32 *random,
                                   struct solid_outcome *out) {
    const double *d = in->direction, scale = 1 / sqrt(d[0] * d[0] + d[1] * d[1] + d[2] * d[2]);
    const double direction[3] = {scale * d[0], scale * d[1], scale * d[2]};
    struct optic_outcome end;
    optic_trace(optic, in->origin, direction, random, &end);
    *out = (struct solid_outcome){.fate = end.fate, .loss = (enum luxfall_loss)end.loss};
    for (int i = 0; i < 3; i++) {
        out->exit.origin[i] = end.end.at_mm[i];
        out->exit.direction[i] = end.end.direction[i];
    }
    out->exit.origin[2] -= optic->end_mm;
}
#endif
