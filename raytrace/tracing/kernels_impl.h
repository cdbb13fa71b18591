/* The kernels themselves. Included by kernels_plain.c, kernels_avx2.c and kernels_avx512.c, each compiled for its
 * vector width with KERNELS_SET, KERNELS_NAME and KERNELS_FOLLOW defined. The loops are plain ones that the compiler
 * vectorises: every entry is worked out by the same rounded operations, no sum crosses entries but those in lane
 * order, so all widths agree. */
#include "numbers/owen.h"
#include "numbers/pcg32.h"
#include "numbers/sobol.h"
#include "tracing/kernels.h"

#include <string.h>

#if defined(__GNUC__)
#define INLINE static inline __attribute__((always_inline))
#else
#define INLINE static inline
#endif

enum { LANES = 16, STREAMS = 32, CHUNK = 128, DIMENSIONS = SOBOL_DIMENSIONS };

/* ---- numbers ---- */

/* Number DIMENSIONS i + d of the key's stream belongs to dimension d of ray i. A column holds the states of every
 * STREAMS-th ray; one leap takes it to its next ray. Even rays stand in the first half of the columns, odd ones in
 * the second: their 32-bit results then pair up in 64-bit words without any shuffling. */
enum { PAIRS = STREAMS / 2 };
struct random_lanes {
    uint64_t multiplier, plus;
    uint64_t state[DIMENSIONS][STREAMS];
};

static void random_start(struct random_lanes *lanes, uint64_t key, uint64_t first, int dims) {
    uint64_t words = key, seed = splitmix64(&words);
    struct pcg32 generator = pcg32_seed(seed, splitmix64(&words));
    struct pcg32_leap one = pcg32_leap(generator.inc, DIMENSIONS), leap = pcg32_leap(generator.inc, 2 * DIMENSIONS);
    pcg32_jump(&generator, first * DIMENSIONS);
    uint64_t *even = lanes->state[0], *odd = even + PAIRS;
    even[0] = generator.state;
    for (int done = 1; done < PAIRS; done *= 2) {
        for (int l = 0; l < done; l++)
            even[done + l] = even[l] * leap.multiplier + leap.plus;
        leap.plus *= leap.multiplier + 1;
        leap.multiplier *= leap.multiplier;
    }
    for (int l = 0; l < PAIRS; l++)
        odd[l] = even[l] * one.multiplier + one.plus;
    lanes->multiplier = leap.multiplier;
    lanes->plus = leap.plus;
    for (int d = 1; d < dims; d++)
        for (int l = 0; l < STREAMS; l++)
            lanes->state[d][l] = lanes->state[d - 1][l] * PCG32_MULTIPLIER + generator.inc;
}

/* The output of PCG32 in two steps, words of two rays and then one by one; the even ray is the half that memory has
 * first. */
INLINE void random_fill(struct random_lanes *lanes, int d, uint32_t *restrict out) {
    union {
        uint64_t pair[PAIRS];
        uint32_t one[STREAMS];
    } mixed, turns;
    enum { LOW = __BYTE_ORDER__ == __ORDER_LITTLE_ENDIAN__ ? 0 : PAIRS };
    uint64_t *restrict low = lanes->state[d] + LOW, *restrict high = lanes->state[d] + (PAIRS - LOW);
    uint64_t multiplier = lanes->multiplier, plus = lanes->plus;
    for (int at = 0; at < CHUNK; at += STREAMS) {
        for (int l = 0; l < PAIRS; l++) {
            uint64_t a = low[l], b = high[l];
            mixed.pair[l] = ((a >> 18 ^ a) >> 27 & UINT32_MAX) | (b >> 18 ^ b) >> 27 << 32;
            turns.pair[l] = a >> 59 | b >> 59 << 32;
            low[l] = a * multiplier + plus;
            high[l] = b * multiplier + plus;
        }
        for (int l = 0; l < STREAMS; l++)
            out[at + l] = mixed.one[l] >> turns.one[l] | mixed.one[l] << ((32u - turns.one[l]) & 31u);
    }
}

/* Sobol points are linear: the mirrored digits of point 16 b + l are those of 16 b, xor those of l; and those of
 * 16 (b + 1) are those of 16 b, xor one word for each digit that changes. */
enum { LANE_BITS = 4, CARRIES = SOBOL_BITS - LANE_BITS };
struct scrambled_lanes {
    uint32_t block; /* number of the next block of LANES points */
    uint32_t seed[DIMENSIONS], base[DIMENSIONS];
    uint32_t lane[DIMENSIONS][LANES];
    uint32_t carry[DIMENSIONS][CARRIES];
};

static void scrambled_start(struct scrambled_lanes *lanes, uint64_t key, uint64_t first, int dims) {
    lanes->block = (uint32_t)first / LANES;
    for (int d = 0; d < dims; d++) {
        const uint32_t *direction = sobol_mirrored_directions[d];
        lanes->seed[d] = owen_seed(key, d);
        lanes->base[d] = sobol_mirrored_point((uint32_t)first, d);
        lanes->lane[d][0] = 0;
        for (int b = 0; b < LANE_BITS; b++)
            for (int l = 0; l < 1 << b; l++)
                lanes->lane[d][(1 << b) + l] = lanes->lane[d][l] ^ direction[b];
        uint32_t changed = 0;
        for (int b = 0; b < CARRIES; b++)
            lanes->carry[d][b] = changed ^= direction[LANE_BITS + b];
    }
}

INLINE void scrambled_fill(struct scrambled_lanes *lanes, int d, uint32_t *restrict out) {
    uint32_t seed = lanes->seed[d], base = lanes->base[d], block = lanes->block;
    for (int at = 0; at < CHUNK; at += LANES) {
        for (int l = 0; l < LANES; l++)
            out[at + l] = bits_mirror(owen_hash(base ^ lanes->lane[d][l], seed));
        base ^= lanes->carry[d][__builtin_ctz(++block | 1u << (CARRIES - 1))];
    }
    lanes->base[d] = base;
}

struct lanes {
    enum luxfall_points points;
    int dims;
    union {
        struct random_lanes random;
        struct scrambled_lanes scrambled;
    } as;
};

static void lanes_start(struct lanes *lanes, const struct point_key *key, uint64_t first, int dims) {
    lanes->points = key->points;
    lanes->dims = dims;
    if (key->points == LUXFALL_RANDOM)
        random_start(&lanes->as.random, key->key, first, dims);
    else
        scrambled_start(&lanes->as.scrambled, key->key, first, dims);
}

/* The next CHUNK points, 32 bits a dimension. */
static void lanes_fill(struct lanes *lanes, uint32_t bits[][CHUNK]) {
    if (lanes->points == LUXFALL_RANDOM) {
        for (int d = 0; d < lanes->dims; d++)
            random_fill(&lanes->as.random, d, bits[d]);
        return;
    }
    for (int d = 0; d < lanes->dims; d++)
        scrambled_fill(&lanes->as.scrambled, d, bits[d]);
    lanes->as.scrambled.block += CHUNK / LANES;
}

static void points(const struct point_key *key, uint64_t first, int count, int dims, float *const *out) {
    struct lanes lanes;
    uint32_t bits[DIMENSIONS][CHUNK];
    lanes_start(&lanes, key, first, dims);
    for (int at = 0; at < count; at += CHUNK) {
        lanes_fill(&lanes, bits);
        int n = count - at < CHUNK ? count - at : CHUNK;
        for (int d = 0; d < dims; d++)
            for (int i = 0; i < n; i++)
                out[d][at + i] = unit_float(bits[d][i]);
    }
}

/* ---- launching ---- */

/* cos and sin of a turn of phase / 2^32. The quarter is rounded off in integers, then minimax polynomials on
 * +-pi/4 in y = 4/pi x: sin within 4e-9 of its value, cos within 4e-8, before rounding; 1.5e-7 after. */
INLINE void turn(uint32_t phase, float *cosine, float *sine) {
    uint32_t quarter = (phase + 0x20000000u) >> 30;
    float y = (float)(int32_t)(phase - (quarter << 30)) * 0x1p-29f;
    float yy = y * y;
    float s = y * (0.785398161f + yy * (-0.0807454325f + yy * (0.00249000102f + yy * -3.59504522e-05f)));
    float c = 1.0f + yy * (-0.308424488f + yy * (0.0158503976f + yy * -0.00031916016f));
    float along = quarter & 1 ? s : c;
    float across = quarter & 1 ? c : s;
    *cosine = (quarter + 1) & 2 ? -along : along;
    *sine = quarter & 2 ? -across : across;
}

/* Lambertian: t = cos^2 a, both squares from the integer, so that neither is a small difference. */
static void aim_lambertian(const uint32_t *restrict polar, const uint32_t *restrict around, struct ray_batch *out,
                           int at) {
    float *restrict dx = out->dx + at, *restrict dy = out->dy + at, *restrict dz = out->dz + at;
    for (int i = 0; i < CHUNK; i++) {
        int32_t v = (int32_t)(polar[i] >> 1);
        float c, s;
        turn(around[i], &c, &s);
        float sine = __builtin_sqrtf((float)(INT32_MAX - v) * 0x1p-31f);
        dx[i] = sine * c;
        dy[i] = sine * s;
        dz[i] = __builtin_sqrtf(((float)v + 1.0f) * 0x1p-31f);
    }
}

/* Rows of four coefficients picked from a table, turned into four columns. */
INLINE void pick_rows(const float (*restrict table)[4], const int32_t *restrict row, int count,
                      float (*restrict column)[CHUNK]) {
    for (int i = 0; i < count; i++) {
        const float *c = table[row[i]];
        for (int j = 0; j < 4; j++)
            column[j][i] = c[j];
    }
}

INLINE float cubic(float (*restrict c)[CHUNK], int i, float f) {
    return c[0][i] + f * (c[1][i] + f * (c[2][i] + f * c[3][i]));
}

/* By table, angle_law.h: the float's own exponent and leading digits are the index. */
static void aim_table(const float (*restrict table)[4], const uint32_t *restrict polar,
                      const uint32_t *restrict around, struct ray_batch *out, int at) {
    enum { REST_BITS = 23 - ANGLE_SEGMENT_BITS, ONE = 0x3f800000 };
    int32_t row[CHUNK];
    float f[CHUNK], c[4][CHUNK];
    for (int i = 0; i < CHUNK; i++) {
        float v = (float)(int32_t)(polar[i] >> 1) + 1.0f;
        int32_t digits;
        memcpy(&digits, &v, sizeof digits);
        row[i] = (digits - ONE) >> REST_BITS;
        f[i] = (float)(digits & ((1 << REST_BITS) - 1)) * (1.0f / (1 << REST_BITS));
    }
    pick_rows(table, row, CHUNK, c);
    float *restrict dx = out->dx + at, *restrict dy = out->dy + at, *restrict dz = out->dz + at;
    for (int i = 0; i < CHUNK; i++) {
        float h = cubic(c, i, f[i]), sine = __builtin_sqrtf(h * (2.0f - h)), x, y;
        turn(around[i], &x, &y);
        dx[i] = sine * x;
        dy[i] = sine * y;
        dz[i] = 1.0f - h;
    }
}

/* Rectangle: straight. Disc: r = R sqrt(u) and a turn. */
static void place_on_face(const struct luxfall_face *face, const uint32_t *restrict u, const uint32_t *restrict v,
                          struct ray_batch *out, int at) {
    float *restrict x = out->x + at, *restrict y = out->y + at;
    float width = (float)face->width_mm, height = (float)face->height_mm;
    memset(out->z + at, 0, CHUNK * sizeof *out->z);
    if (face->kind == LUXFALL_RECTANGLE) {
        for (int i = 0; i < CHUNK; i++) {
            x[i] = (unit_float(u[i]) - 0.5f) * width;
            y[i] = (unit_float(v[i]) - 0.5f) * height;
        }
    } else if (face->kind == LUXFALL_DISC) {
        for (int i = 0; i < CHUNK; i++) {
            float c, s, r = 0.5f * width * __builtin_sqrtf(unit_float(u[i]));
            turn(v[i], &c, &s);
            x[i] = r * c;
            y[i] = r * s;
        }
    } else {
        memset(x, 0, CHUNK * sizeof *x);
        memset(y, 0, CHUNK * sizeof *y);
    }
}

/* Which of `count` equal dies in a row: the high word of bits * count; the low word is as good as new bits. */
INLINE void choose_die(int count, float pitch, uint32_t *restrict bits, float *restrict offset) {
    float middle = 0.5f * (float)(count - 1);
    for (int i = 0; i < CHUNK; i++) {
        uint64_t product = (uint64_t)bits[i] * (uint32_t)count;
        offset[i] = ((float)(int32_t)(product >> 32) - middle) * pitch;
        bits[i] = (uint32_t)product;
    }
}

static void place_on_dies(const struct launch_source *source, uint32_t *restrict u, uint32_t *restrict v,
                          struct ray_batch *out, int at) {
    if (source->columns * source->rows == 1) {
        place_on_face(&source->face, u, v, out, at);
        return;
    }
    float right[CHUNK], up[CHUNK];
    choose_die(source->columns, source->pitch_x_mm, u, right);
    choose_die(source->rows, source->pitch_y_mm, v, up);
    place_on_face(&source->face, u, v, out, at);
    for (int i = 0; i < CHUNK; i++) {
        out->x[at + i] += right[i];
        out->y[at + i] += up[i];
    }
}

/* Whole chunks are filled: the entries beyond count are the rays that follow. */
static void launch(const struct launch_source *source, const struct point_key *key, uint64_t first, int count,
                   struct ray_batch *out) {
    struct lanes lanes;
    uint32_t bits[4][CHUNK];
    lanes_start(&lanes, key, first, 4);
    for (int at = 0; at < count; at += CHUNK) {
        lanes_fill(&lanes, bits);
        if (source->angles->lambertian)
            aim_lambertian(bits[0], bits[1], out, at);
        else
            aim_table(source->angles->c, bits[0], bits[1], out, at);
        place_on_dies(source, bits[2], bits[3], out, at);
    }
    out->count = count;
}

/* ---- casting: METHODS eq. (33) ---- */

INLINE float dot3(const float m[3], float x, float y, float z) {
    return m[0] * x + m[1] * y + m[2] * z;
}

INLINE void cast_rays(const struct ray_batch *restrict rays, struct cast_frame f, struct cast_grid grid,
                      int32_t *restrict cell, float *restrict gx, float *restrict gy, bool keep) {
    float columns = (float)grid.columns, rows = (float)grid.rows;
    int32_t missed = grid.columns * grid.rows;
    for (int i = 0; i < rays->count; i++) {
        float x = rays->x[i], y = rays->y[i], z = rays->z[i], dx = rays->dx[i], dy = rays->dy[i], dz = rays->dz[i];
        float p = f.hz + dot3(f.mz, x, y, z), q = -dot3(f.mz, dx, dy, dz), t = p / q;
        bool falls = (q > 0.0f) & (p >= 0.0f);
        float across = f.hx + dot3(f.mx, x, y, z) + t * dot3(f.mx, dx, dy, dz);
        float up = f.hy + dot3(f.my, x, y, z) + t * dot3(f.my, dx, dy, dz);
        bool hit = falls & (across >= 0.0f) & (across < columns) & (up >= 0.0f) & (up < rows);
        int32_t column = (int32_t)(hit ? across : 0.0f), row = (int32_t)(hit ? up : 0.0f);
        int32_t index = row * grid.columns + column;
        cell[i] = hit ? index : missed;
        if (keep) {
            gx[i] = falls ? across : CAST_NOWHERE;
            gy[i] = falls ? up : CAST_NOWHERE;
        }
    }
}

static void cast(const struct ray_batch *rays, const struct cast_frame *frame, const struct cast_grid *grid,
                 int32_t *cell, float *gx, float *gy) {
    if (gx)
        cast_rays(rays, *frame, *grid, cell, gx, gy, true);
    else
        cast_rays(rays, *frame, *grid, cell, NULL, NULL, false);
}

/* ---- lighting points ---- */

/* Where the shape stands in its table and what multiplies it, cos(incidence) / r^2. With v from the starting point to
 * the place and c = axis x v, 1 - cos a = c^2 / (r (r + axis.v)): no small difference, however narrow the beam.
 * The 1e-20 mm^2 only keep a place on the face itself from 0 / 0. */
INLINE void light_geometry(const struct light_points *restrict points, int at, int count, const float axis[3],
                           const float to[3], int32_t *restrict row, float *restrict rest, float *restrict weight) {
    float ax = axis[0], ay = axis[1], az = axis[2], rx = to[0], ry = to[1], rz = to[2];
    for (int i = 0; i < count; i++) {
        float x = rx + (points->px[at + i] - points->sx[at + i]);
        float y = ry + (points->py[at + i] - points->sy[at + i]);
        float z = rz - points->sz[at + i];
        float cx = ay * z - az * y, cy = az * x - ax * z, cz = ax * y - ay * x;
        float rr = x * x + y * y + z * z + 1e-20f, r = __builtin_sqrtf(rr), along = ax * x + ay * y + az * z;
        float forward = along > 0.0f ? along : 0.0f, down = z < 0.0f ? -z : 0.0f;
        float h = (cx * cx + cy * cy + cz * cz) / (r * (r + forward));
        float s = __builtin_sqrtf(h) * SHAPE_PIECES;
        row[i] = (int32_t)s;
        rest[i] = s - (float)row[i];
        weight[i] = (along > 0.0f ? down : 0.0f) / (rr * r);
    }
}

static double light(const struct light_points *points, const struct angle_shape_table *shape, const float axis[3],
                    float rx, float ry, float rz) {
    int32_t row[CHUNK];
    float rest[CHUNK], weight[CHUNK], c[4][CHUNK];
    double sum[LANES] = {0};
    for (int at = 0; at < points->count; at += CHUNK) {
        int count = points->count - at < CHUNK ? points->count - at : CHUNK;
        int whole = (count + LANES - 1) / LANES * LANES;
        light_geometry(points, at, count, axis, (const float[3]){rx, ry, rz}, row, rest, weight);
        for (int i = count; i < whole; i++)
            row[i] = 0, rest[i] = weight[i] = 0.0f;
        pick_rows(shape->c, row, whole, c);
        for (int i = 0; i < whole; i += LANES)
            for (int l = 0; l < LANES; l++)
                sum[l] += (double)(cubic(c, i + l, rest[i + l]) * weight[i + l]);
    }
    for (int half = LANES / 2; half; half /= 2)
        for (int l = 0; l < half; l++)
            sum[l] += sum[l + half];
    return sum[0];
}

extern const struct kernels KERNELS_SET;
const struct kernels KERNELS_SET = {
    .name = KERNELS_NAME, .launch = launch, .follow = KERNELS_FOLLOW, .cast = cast, .light = light, .points = points};
