#include "numbers/owen.h"

#include "numbers/pcg32.h"

uint32_t owen_seed(uint64_t key, int dimension) {
    uint64_t state = key + (uint64_t)dimension * UINT64_C(0x9e3779b97f4a7c15);
    return (uint32_t)(splitmix64(&state) >> 32);
}
