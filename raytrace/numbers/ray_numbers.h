/* The random numbers that a ray draws at surfaces: a stream of its own, with a state small enough to be carried along
 * by every ray. PCG (RXS M XS 32/32), after M. E. O'Neill, "PCG: A Family of Simple Fast Space-Efficient
 * Statistically Good Algorithms for Random Number Generation", HMC-CS-2014-0905, 2014; METHODS eq. (102). It comes
 * round after 2^32 numbers; where it starts is a number of a greater generator. */
#ifndef RAYTRACE_NUMBERS_RAY_NUMBERS_H
#define RAYTRACE_NUMBERS_RAY_NUMBERS_H

#include <stdint.h>

struct ray_numbers {
    uint32_t state;
};

#define RAY_NUMBERS_MULTIPLIER 747796405u
#define RAY_NUMBERS_PLUS 2891336453u
#define RAY_NUMBERS_MIXER 277803737u

static inline uint32_t ray_numbers_next(struct ray_numbers *numbers) {
    uint32_t old = numbers->state, word = ((old >> ((old >> 28) + 4)) ^ old) * RAY_NUMBERS_MIXER;
    numbers->state = old * RAY_NUMBERS_MULTIPLIER + RAY_NUMBERS_PLUS;
    return word >> 22 ^ word;
}
#endif
