#include "tracing/kernels.h"

extern const struct kernels kernels_plain;
#ifdef LUXFALL_WIDE_KERNELS
extern const struct kernels kernels_avx2, kernels_avx512;

static bool has_avx2(void) {
    return __builtin_cpu_supports("avx2") && __builtin_cpu_supports("bmi") && __builtin_cpu_supports("bmi2");
}

static bool has_avx512(void) {
    return __builtin_cpu_supports("avx512f") && __builtin_cpu_supports("avx512dq") &&
           __builtin_cpu_supports("avx512bw") && __builtin_cpu_supports("avx512vl");
}

const struct kernels *kernels_choose(enum luxfall_vectors wanted) {
    if (wanted == LUXFALL_VECTORS_PLAIN || !has_avx2())
        return &kernels_plain;
    return wanted != LUXFALL_VECTORS_AVX2 && has_avx512() ? &kernels_avx512 : &kernels_avx2;
}
#else
const struct kernels *kernels_choose(enum luxfall_vectors wanted) {
    (void)wanted;
    return &kernels_plain;
}
#endif

const char *luxfall_vectors_name(enum luxfall_vectors wanted) {
    return kernels_choose(wanted)->name;
}

void kernels_tally(const int32_t *cell, int count, uint32_t *counts) {
    for (int i = 0; i < count; i++)
        counts[cell[i]]++;
}
