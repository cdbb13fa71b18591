/* A stream of PCG32, so many numbers at a time as a vector is wide, in their order. METHODS eq. (31), the state in
 * halves. */
#ifndef RAYTRACE_LENSES_PCG32_LANES_H
#define RAYTRACE_LENSES_PCG32_LANES_H

#include "lenses/lanes.h"
#include "numbers/pcg32.h"

struct pcg32_lanes {
    lanes_u low, high;
    struct pcg32_leap leap; /* over a vector of numbers */
};

static inline struct pcg32_lanes pcg32_lanes_make(struct pcg32 random) {
    struct pcg32_lanes made = {.leap = pcg32_leap(random.inc, WIDE)};
    for (int l = 0; l < WIDE; l++) {
        made.low[l] = (uint32_t)random.state;
        made.high[l] = (uint32_t)(random.state >> 32);
        (void)pcg32_next(&random);
    }
    return made;
}

INLINE void pcg32_lanes_leap(struct pcg32_lanes *random) {
    const struct pcg32_leap by = random->leap;
    const uint32_t a_low = (uint32_t)by.multiplier, a_high = (uint32_t)(by.multiplier >> 32),
                   plus = (uint32_t)by.plus;
    lanes_u low = random->low * a_low + plus;
    random->high = high_product(random->low, a_low) + random->low * a_high + random->high * a_low +
                   (uint32_t)(by.plus >> 32) - (lanes_u)(low < plus); /* the carry: true is -1 */
    random->low = low;
}

INLINE lanes_u pcg32_lanes_next(struct pcg32_lanes *random) {
    const lanes_u low = random->low, high = random->high;
    lanes_u mixed = ((low >> 18 | high << 14) ^ low) >> 27 | (high >> 18 ^ high) << 5, turns = high >> 27;
    pcg32_lanes_leap(random);
    return mixed >> turns | mixed << (-turns & 31u);
}
#endif
