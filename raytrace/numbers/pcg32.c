#include "numbers/pcg32.h"

struct pcg32 pcg32_seed(uint64_t seed, uint64_t stream) {
    struct pcg32 generator = {.state = 0, .inc = stream << 1 | 1};
    (void)pcg32_next(&generator);
    generator.state += seed;
    (void)pcg32_next(&generator);
    return generator;
}

/* Repeated squaring of the step, F. B. Brown, "Random Number Generation with Arbitrary Strides", Trans. Am. Nucl.
 * Soc. 71, 1994. */
struct pcg32_leap pcg32_leap(uint64_t inc, uint64_t steps) {
    struct pcg32_leap leap = {1, 0};
    uint64_t multiplier = PCG32_MULTIPLIER;
    for (uint64_t plus = inc; steps; steps >>= 1) {
        if (steps & 1) {
            leap.multiplier *= multiplier;
            leap.plus = leap.plus * multiplier + plus;
        }
        plus *= multiplier + 1;
        multiplier *= multiplier;
    }
    return leap;
}

void pcg32_jump(struct pcg32 *generator, uint64_t steps) {
    struct pcg32_leap leap = pcg32_leap(generator->inc, steps);
    generator->state = generator->state * leap.multiplier + leap.plus;
}

uint32_t pcg32_bounded(struct pcg32 *generator, uint32_t bound) {
    uint32_t threshold = (0u - bound) % bound;
    uint32_t draw;
    do
        draw = pcg32_next(generator);
    while (draw < threshold);
    return draw % bound;
}

double pcg32_double(struct pcg32 *generator) {
    uint32_t high = pcg32_next(generator) >> 5;
    uint32_t low = pcg32_next(generator) >> 6;
    return ((double)high * 0x1p26 + (double)low) * 0x1p-53;
}
