/* PCG32 (XSH-RR 64/32), after M. E. O'Neill, "PCG: A Family of Simple Fast Space-Efficient Statistically Good
 * Algorithms for Random Number Generation", HMC-CS-2014-0905, 2014; and SplitMix64, after Steele, Lea and Flood,
 * "Fast Splittable Pseudorandom Number Generators", OOPSLA 2014. Values are owned by the caller; no state is global.
 */
#ifndef RAYTRACE_NUMBERS_PCG32_H
#define RAYTRACE_NUMBERS_PCG32_H

#include <stdint.h>

struct pcg32 {
    uint64_t state;
    uint64_t inc; /* odd: twice the stream plus one */
};

#define PCG32_MULTIPLIER UINT64_C(0x5851f42d4c957f2d)

/* The output that belongs to a state, before that state is stepped. */
static inline uint32_t pcg32_output(uint64_t state) {
    uint32_t mixed = (uint32_t)(((state >> 18) ^ state) >> 27);
    uint32_t turn = (uint32_t)(state >> 59);
    return mixed >> turn | mixed << ((32u - turn) & 31u);
}

static inline uint32_t pcg32_next(struct pcg32 *generator) {
    uint64_t old = generator->state;
    generator->state = old * PCG32_MULTIPLIER + generator->inc;
    return pcg32_output(old);
}

struct pcg32 pcg32_seed(uint64_t seed, uint64_t stream);

/* n steps of the state at once are one step: state' = state * multiplier + plus. n = 2^64 - k goes k steps back. */
struct pcg32_leap {
    uint64_t multiplier, plus;
};
struct pcg32_leap pcg32_leap(uint64_t inc, uint64_t steps);
void pcg32_jump(struct pcg32 *generator, uint64_t steps);

/* Even over 0 .. bound-1, bound > 0; draws again where a remainder would favour the small ones. */
uint32_t pcg32_bounded(struct pcg32 *generator, uint32_t bound);

/* [0, 1) on a grid of 2^-24: the largest is 1 - 2^-24, never 1. */
static inline float unit_float(uint32_t bits) {
    return (float)(int32_t)(bits >> 8) * 0x1p-24f;
}

/* [0, 1) on a grid of 2^-53; takes two draws. */
double pcg32_double(struct pcg32 *generator);

static inline uint64_t splitmix64(uint64_t *state) {
    uint64_t z = *state += UINT64_C(0x9e3779b97f4a7c15);
    z = (z ^ z >> 30) * UINT64_C(0xbf58476d1ce4e5b9);
    z = (z ^ z >> 27) * UINT64_C(0x94d049bb133111eb);
    return z ^ z >> 31;
}
#endif
