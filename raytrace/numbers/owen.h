/* Owen scrambling by a hash (A. B. Owen 1995 for the scrambling; S. Laine and T. Karras, "Stratified Sampling for
 * Stochastic Transparency", 2011, and B. Burley, "Practical Hash-based Owen Scrambling", JCGT 9(4), 2020, for the
 * hash). Written on the bits in mirrored order, every step carries bits upward only: a digit is flipped depending on
 * the digits before it and the seed. Constants: the better mixed set of N. Vegdahl, "Building a Better LK Hash",
 * 2021. */
#ifndef RAYTRACE_NUMBERS_OWEN_H
#define RAYTRACE_NUMBERS_OWEN_H

#include "numbers/sobol.h"

#include <stdint.h>

/* Mirrored digits in, mirrored digits out. */
static inline uint32_t owen_hash(uint32_t x, uint32_t seed) {
    x ^= x * 0x3d20adeau;
    x += seed;
    x *= seed >> 16 | 1u;
    x ^= x * 0x05526c56u;
    x ^= x * 0x53a22864u;
    return x;
}

static inline uint32_t owen_scramble(uint32_t x, uint32_t seed) {
    return bits_mirror(owen_hash(bits_mirror(x), seed));
}

/* A seed of its own for every dimension of a key: one seed for all would tie the dimensions together. */
uint32_t owen_seed(uint64_t key, int dimension);
#endif
