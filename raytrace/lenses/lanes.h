/* Numbers side by side: one vector of the width that the file is compiled for. Arithmetic and shifts are the
 * compiler's own on such vectors; here stands what it has no operator for. Every lane is worked out by itself by the
 * same rounded operations, so that all widths give the same bits. */
#ifndef RAYTRACE_LENSES_LANES_H
#define RAYTRACE_LENSES_LANES_H

#include <stdint.h>
#include <string.h>

#if defined(__AVX512F__) && defined(__AVX512DQ__)
enum { WIDE = 16 };
#elif defined(__AVX2__)
enum { WIDE = 8 };
#else
enum { WIDE = 4 };
#endif
#if defined(__AVX2__)
#include <immintrin.h>
#endif

#define INLINE static inline __attribute__((always_inline))
/* A loop of its own: not in a body with others, which would fight for registers with it. */
#define APART static __attribute__((noinline))

typedef float lanes __attribute__((vector_size(4 * WIDE), may_alias));
typedef int32_t lanes_i __attribute__((vector_size(4 * WIDE), may_alias));
typedef uint32_t lanes_u __attribute__((vector_size(4 * WIDE), may_alias));

INLINE lanes load(const float *from) {
    lanes v;
    memcpy(&v, from, sizeof v);
    return v;
}

INLINE void store(float *to, lanes v) {
    memcpy(to, &v, sizeof v);
}

/* Whole numbers of 32 bits. */
INLINE lanes_i load_i(const void *from) {
    lanes_i v;
    memcpy(&v, from, sizeof v);
    return v;
}

INLINE void store_i(void *to, lanes_i v) {
    memcpy(to, &v, sizeof v);
}

/* A yes or no in every lane: &, |, ~ combine them. */
#if defined(__AVX512F__) && defined(__AVX512DQ__)
typedef __mmask16 lanes_if;

INLINE lanes all(float x) {
    return (lanes)_mm512_set1_ps(x);
}
INLINE lanes_i all_i(int32_t x) {
    return (lanes_i)_mm512_set1_epi32(x);
}
INLINE lanes_if less(lanes a, lanes b) {
    return _mm512_cmp_ps_mask((__m512)a, (__m512)b, _CMP_LT_OQ);
}
INLINE lanes_if at_most(lanes a, lanes b) {
    return _mm512_cmp_ps_mask((__m512)a, (__m512)b, _CMP_LE_OQ);
}
INLINE lanes_if less_i(lanes_i a, lanes_i b) {
    return _mm512_cmplt_epi32_mask((__m512i)a, (__m512i)b);
}
INLINE lanes_if same(lanes_i a, lanes_i b) {
    return _mm512_cmpeq_epi32_mask((__m512i)a, (__m512i)b);
}
INLINE lanes pick(lanes_if which, lanes yes, lanes no) {
    return (lanes)_mm512_mask_blend_ps(which, (__m512)no, (__m512)yes);
}
INLINE lanes_i pick_i(lanes_if which, lanes_i yes, lanes_i no) {
    return (lanes_i)_mm512_mask_blend_epi32(which, (__m512i)no, (__m512i)yes);
}
INLINE unsigned bits(lanes_if which) {
    return which;
}
INLINE lanes_if never(void) {
    return 0;
}
INLINE lanes root(lanes a) {
    return (lanes)_mm512_sqrt_ps((__m512)a);
}
INLINE lanes smaller(lanes a, lanes b) { /* a < b ? a : b */
    return (lanes)_mm512_min_ps((__m512)a, (__m512)b);
}
INLINE lanes larger(lanes a, lanes b) { /* a > b ? a : b */
    return (lanes)_mm512_max_ps((__m512)a, (__m512)b);
}
INLINE lanes_u high_product(lanes_u a, uint32_t b) {
    __m512i factor = _mm512_set1_epi64(b), even = _mm512_mul_epu32((__m512i)a, factor),
            odd = _mm512_mul_epu32(_mm512_srli_epi64((__m512i)a, 32), factor);
    return (lanes_u)_mm512_mask_blend_epi32(0xaaaa, _mm512_srli_epi64(even, 32), odd);
}

/* Those lanes of a vector that are wanted, next to each other; to has room for all of them. */
struct squeeze {
    __mmask16 which;
};
INLINE struct squeeze squeeze_make(unsigned which) {
    return (struct squeeze){(__mmask16)which};
}
INLINE void squeeze(struct squeeze s, lanes v, void *to) {
    _mm512_storeu_ps(to, _mm512_maskz_compress_ps(s.which, (__m512)v));
}

#else
typedef lanes_i lanes_if;

INLINE lanes all(float x) {
    return x - (lanes){0};
}
INLINE lanes_i all_i(int32_t x) {
    return x + (lanes_i){0};
}
INLINE lanes_if less(lanes a, lanes b) {
    return (lanes_if)(a < b);
}
INLINE lanes_if at_most(lanes a, lanes b) {
    return (lanes_if)(a <= b);
}
INLINE lanes_if less_i(lanes_i a, lanes_i b) {
    return (lanes_if)(a < b);
}
INLINE lanes_if same(lanes_i a, lanes_i b) {
    return (lanes_if)(a == b);
}
INLINE lanes_if never(void) {
    return (lanes_if){0};
}

#if defined(__AVX2__)
INLINE lanes pick(lanes_if which, lanes yes, lanes no) {
    return (lanes)_mm256_blendv_ps((__m256)no, (__m256)yes, (__m256)which);
}
INLINE unsigned bits(lanes_if which) {
    return (unsigned)_mm256_movemask_ps((__m256)which);
}
INLINE lanes root(lanes a) {
    return (lanes)_mm256_sqrt_ps((__m256)a);
}
INLINE lanes smaller(lanes a, lanes b) {
    return (lanes)_mm256_min_ps((__m256)a, (__m256)b);
}
INLINE lanes larger(lanes a, lanes b) {
    return (lanes)_mm256_max_ps((__m256)a, (__m256)b);
}
INLINE lanes_u high_product(lanes_u a, uint32_t b) {
    __m256i factor = _mm256_set1_epi64x(b), even = _mm256_mul_epu32((__m256i)a, factor),
            odd = _mm256_mul_epu32(_mm256_srli_epi64((__m256i)a, 32), factor);
    return (lanes_u)_mm256_blend_epi32(_mm256_srli_epi64(even, 32), odd, 0xaa);
}

/* Both halves by the same small table: the wanted lanes of four, in order. */
struct squeeze {
    __m256i order;
    int low; /* how many of the lower half are wanted */
};
INLINE struct squeeze squeeze_make(unsigned which) {
    static const _Alignas(16)
        int32_t orders[16][4] = {{0}, {0},    {1},    {0, 1},    {2},    {0, 2},    {1, 2},    {0, 1, 2},
                                 {3}, {0, 3}, {1, 3}, {0, 1, 3}, {2, 3}, {0, 2, 3}, {1, 2, 3}, {0, 1, 2, 3}};
    __m128i low = _mm_load_si128((const __m128i *)orders[which & 15]),
            high = _mm_load_si128((const __m128i *)orders[which >> 4]);
    return (struct squeeze){_mm256_set_m128i(high, low), __builtin_popcount(which & 15)};
}
INLINE void squeeze(struct squeeze s, lanes v, void *to) {
    __m256 ordered = _mm256_permutevar_ps((__m256)v, s.order);
    _mm_storeu_ps(to, _mm256_castps256_ps128(ordered));
    _mm_storeu_ps((float *)to + s.low, _mm256_extractf128_ps(ordered, 1));
}

#else
INLINE lanes pick(lanes_if which, lanes yes, lanes no) {
    return (lanes)((which & (lanes_i)yes) | (~which & (lanes_i)no));
}
INLINE unsigned bits(lanes_if which) {
    unsigned out = 0;
    for (int l = 0; l < WIDE; l++)
        out |= (unsigned)(which[l] < 0) << l;
    return out;
}
INLINE lanes root(lanes a) {
    lanes out;
    for (int l = 0; l < WIDE; l++)
        out[l] = __builtin_sqrtf(a[l]);
    return out;
}
INLINE lanes smaller(lanes a, lanes b) {
    return pick(less(a, b), a, b);
}
INLINE lanes larger(lanes a, lanes b) {
    return pick(less(b, a), a, b);
}
INLINE lanes_u high_product(lanes_u a, uint32_t b) {
    lanes_u out;
    for (int l = 0; l < WIDE; l++)
        out[l] = (uint32_t)((uint64_t)a[l] * b >> 32);
    return out;
}

struct squeeze {
    unsigned which;
};
INLINE struct squeeze squeeze_make(unsigned which) {
    return (struct squeeze){which};
}
INLINE void squeeze(struct squeeze s, lanes v, void *to) {
    char *at = to;
    for (int l = 0; l < WIDE; l++) {
        float lane = v[l];
        memcpy(at, &lane, sizeof lane);
        at += s.which >> l & 1 ? sizeof lane : 0;
    }
}
#endif

INLINE lanes_i pick_i(lanes_if which, lanes_i yes, lanes_i no) {
    return (lanes_i)pick(which, (lanes)yes, (lanes)no);
}
#endif

INLINE lanes positive(lanes a) {
    return larger(a, all(0.0f));
}

INLINE lanes_if always(void) {
    return ~never();
}

/* Kept in memory: -1 or 0. */
INLINE void store_if(int32_t *to, lanes_if which) {
    store_i(to, pick_i(which, all_i(-1), all_i(0)));
}
INLINE lanes_if load_if(const int32_t *from) {
    return same(load_i(from), all_i(-1));
}

INLINE lanes size(lanes a) {
    return (lanes)((lanes_i)a & all_i(INT32_MAX));
}

/* True where a lies from low to high. */
INLINE lanes_if within(lanes a, float low, float high) {
    return at_most(all(low), a) & at_most(a, all(high));
}
#endif
