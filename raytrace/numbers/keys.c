#include "numbers/keys.h"

#include "numbers/pcg32.h"

/* One word after the other is added to the hash so far, never to the seed alone: keys that differ in one word share
 * nothing. */
static uint64_t absorb(uint64_t hash, uint64_t word) {
    uint64_t state = hash ^ word;
    return splitmix64(&state);
}

uint64_t key_make(uint64_t seed, uint32_t replicate, uint32_t purpose, uint64_t index) {
    uint64_t hash = absorb(0, seed);
    hash = absorb(hash, (uint64_t)replicate << 32 | purpose);
    return absorb(hash, index);
}
