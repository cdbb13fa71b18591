/* Sobol points in 16 dimensions, direction numbers of S. Joe and F. Y. Kuo, "Constructing Sobol sequences with better
 * two-dimensional projections", SIAM J. Sci. Comput. 30, 2008 (their set D6). Natural order: the first 2^m points and
 * every aligned block of 2^m are the balanced sets. */
#ifndef RAYTRACE_NUMBERS_SOBOL_H
#define RAYTRACE_NUMBERS_SOBOL_H

#include <stdint.h>

enum { SOBOL_DIMENSIONS = 16, SOBOL_BITS = 32 };

/* Direction numbers V_1 .. V_32 of each dimension, first binary digit in the top bit. */
extern const uint32_t sobol_directions[SOBOL_DIMENSIONS][SOBOL_BITS];

/* Coordinate of point `index`, in units of 2^-32. */
static inline uint32_t sobol_point(uint32_t index, int dimension) {
    uint32_t x = 0;
    for (const uint32_t *direction = sobol_directions[dimension]; index; index >>= 1, direction++)
        x ^= *direction & (0u - (index & 1u));
    return x;
}
#endif
