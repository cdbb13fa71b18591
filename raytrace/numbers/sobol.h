/* Sobol points in 16 dimensions, direction numbers of S. Joe and F. Y. Kuo, "Constructing Sobol sequences with better
 * two-dimensional projections", SIAM J. Sci. Comput. 30, 2008 (their set D6). Natural order: the first 2^m points and
 * every aligned block of 2^m are the balanced sets. */
#ifndef RAYTRACE_NUMBERS_SOBOL_H
#define RAYTRACE_NUMBERS_SOBOL_H

#include <stdint.h>

enum { SOBOL_DIMENSIONS = 16, SOBOL_BITS = 32 };

/* Direction numbers V_1 .. V_32 of each dimension with their binary digits mirrored: the first digit after the point
 * is the lowest bit. Scrambling works on mirrored digits. */
extern const uint32_t sobol_mirrored_directions[SOBOL_DIMENSIONS][SOBOL_BITS];

static inline uint32_t bits_mirror(uint32_t x) {
    x = (x & 0x55555555u) << 1 | (x >> 1 & 0x55555555u);
    x = (x & 0x33333333u) << 2 | (x >> 2 & 0x33333333u);
    x = (x & 0x0f0f0f0fu) << 4 | (x >> 4 & 0x0f0f0f0fu);
    return __builtin_bswap32(x);
}

/* Coordinate of point `index`, digits mirrored. */
static inline uint32_t sobol_mirrored_point(uint32_t index, int dimension) {
    uint32_t x = 0;
    for (const uint32_t *direction = sobol_mirrored_directions[dimension]; index; index >>= 1, direction++)
        x ^= *direction & (0u - (index & 1u));
    return x;
}

/* Coordinate of point `index`, in units of 2^-32. */
static inline uint32_t sobol_point(uint32_t index, int dimension) {
    return bits_mirror(sobol_mirrored_point(index, dimension));
}
#endif
