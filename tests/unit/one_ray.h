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

/* A stream whose first number gives a ray draws that all exceed 1 - 2^-6: at any smaller reflectance it goes straight
 * through. */
static inline struct pcg32 stream_that_passes(int draws) {
    for (uint64_t seed = 1;; seed++) {
        struct pcg32 stream = pcg32_seed(seed, 1), probe = stream;
        struct ray_numbers numbers = {pcg32_next(&probe)};
        int passed = 0;
        while (passed < draws && ray_numbers_next(&numbers) >= 0xfc000000u)
            passed++;
        if (passed == draws)
            return stream;
    }
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
