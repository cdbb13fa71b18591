/* Keys of random numbers: who they belong to, never which thread asks. */
#ifndef RAYTRACE_NUMBERS_KEYS_H
#define RAYTRACE_NUMBERS_KEYS_H

#include <stdint.h>

enum point_purpose {
    PURPOSE_LAUNCH,
    PURPOSE_SURFACES,
    PURPOSE_READING,
    PURPOSE_FIELD,
    PURPOSE_PACKAGE,
    PURPOSE_PILOT_OFFSET = 64
};

/* Mixes with SplitMix64 steps; index tells bundles, modules, fields of one purpose apart. */
uint64_t key_make(uint64_t seed, uint32_t replicate, uint32_t purpose, uint64_t index);
#endif
