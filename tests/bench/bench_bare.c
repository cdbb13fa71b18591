/* The yardstick of the bench: the same physics, written for this one job. Numbers: xoshiro128+ of D. Blackman and
 * S. Vigna, "Scrambled Linear Pseudorandom Number Generators", ACM TOMS 47(4), 2021, one state a lane, running on. */
#include "bench/bench.h"
#include "numbers/pcg32.h"

#define INLINE static inline __attribute__((always_inline))

enum { LANES = 32, CHUNK = 128 };
struct running {
    uint32_t s[4][LANES];
};

static struct running running_start(uint64_t seed) {
    struct running running;
    for (int k = 0; k < 4; k++)
        for (int l = 0; l < LANES; l++)
            running.s[k][l] = (uint32_t)splitmix64(&seed);
    return running;
}

INLINE void running_fill(struct running *running, uint32_t *restrict out) {
    uint32_t *restrict a = running->s[0], *restrict b = running->s[1], *restrict c = running->s[2],
                       *restrict d = running->s[3];
    for (int at = 0; at < CHUNK; at += LANES)
        for (int l = 0; l < LANES; l++) {
            uint32_t e = c[l] ^ a[l], f = d[l] ^ b[l];
            out[at + l] = a[l] + d[l];
            c[l] = e ^ b[l] << 9;
            b[l] ^= e;
            a[l] ^= f;
            d[l] = f << 11 | f >> 21;
        }
}

INLINE void circle(uint32_t phase, float *x, float *y) {
    uint32_t quarter = (phase + 0x20000000u) >> 30;
    float a = (float)(int32_t)(phase - (quarter << 30)) * 0x1p-29f, aa = a * a;
    float s = a * (0.785398161f + aa * (-0.0807454325f + aa * (0.00249000102f + aa * -3.59504522e-05f)));
    float c = 1.0f + aa * (-0.308424488f + aa * (0.0158503976f + aa * -0.00031916016f));
    float along = quarter & 1 ? s : c, across = quarter & 1 ? c : s;
    *x = (quarter + 1) & 2 ? -along : along;
    *y = quarter & 2 ? -across : across;
}

INLINE void bare(int batches, uint32_t seed, uint32_t *counts) {
    struct running running = running_start(seed);
    for (int b = 0; b < batches * (RAY_BATCH / CHUNK); b++) {
        uint32_t u[4][CHUNK];
        int32_t cell[CHUNK];
        for (int k = 0; k < 4; k++)
            running_fill(&running, u[k]);
        for (int i = 0; i < CHUNK; i++) {
            float t = (float)(int32_t)(u[0][i] >> 8) * 0x1p-24f + 0x1p-25f, x, y;
            float reach = HEIGHT_MM * __builtin_sqrtf((1.0f - t) / t);
            circle(u[1][i], &x, &y);
            float gx = DIE_MM * ((float)(int32_t)(u[2][i] >> 8) * 0x1p-24f - 0.5f) + (reach * x + 0.5f * MAP_SIDE);
            float gy = DIE_MM * ((float)(int32_t)(u[3][i] >> 8) * 0x1p-24f - 0.5f) + (reach * y + 0.5f * MAP_SIDE);
            bool hit = (gx >= 0.0f) & (gx < MAP_SIDE) & (gy >= 0.0f) & (gy < MAP_SIDE);
            int32_t column = (int32_t)(hit ? gx : 0.0f), row = (int32_t)(hit ? gy : 0.0f);
            cell[i] = hit ? row * MAP_SIDE + column : MAP_CELLS;
        }
        for (int i = 0; i < CHUNK; i++)
            counts[cell[i]]++;
    }
}

void bare_plain(int batches, uint32_t seed, uint32_t *counts) {
    bare(batches, seed, counts);
}

#ifdef __x86_64__
__attribute__((target("avx2"))) void bare_avx2(int batches, uint32_t seed, uint32_t *counts) {
    bare(batches, seed, counts);
}

#ifdef __clang__
#define AVX512 "avx512f,avx512dq,avx512bw,avx512vl"
#else
#define AVX512 "avx512f,avx512dq,avx512bw,avx512vl,prefer-vector-width=512"
#endif
__attribute__((target(AVX512))) void bare_avx512(int batches, uint32_t seed, uint32_t *counts) {
    bare(batches, seed, counts);
}
#endif
