/* Low-discrepancy points against published tables and theorems. Each check takes a mistake to make: without one it
 * holds, with any it must fail. (derived) marks values worked out from the definition with exact fractions. */
#include "numbers/keys.h"
#include "numbers/owen.h"
#include "numbers/pcg32.h"
#include "numbers/sobol.h"

#include <math.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>
#include <stdlib.h>
#include <string.h>

#include <cmocka.h>

#define COUNT(array) (sizeof(array) / sizeof *(array))
#define PI 3.14159265358979323846

/* ---- Sobol ---- */

/* S. Joe, F. Y. Kuo, SIAM J. Sci. Comput. 30, 2008, 2635: primitive polynomials (s, a) and first numbers m of their
 * file D6, the recurrence of their eq. (2), and the order of I. Antonov, V. Saleev, 1979, for the Gray table. */

enum sobol_mistake { SOBOL_RIGHT, SOBOL_BITS_OF_A_REVERSED, SOBOL_SHIFTED_TERM_LEFT_OUT, SOBOL_MISTAKES };

static const struct {
    int s;
    uint32_t a, m[6];
} joe_kuo[SOBOL_DIMENSIONS] = {
    {0, 0, {0}},
    {1, 0, {1}},
    {2, 1, {1, 3}},
    {3, 1, {1, 3, 1}},
    {3, 2, {1, 1, 1}},
    {4, 1, {1, 1, 3, 3}},
    {4, 4, {1, 3, 5, 13}},
    {5, 2, {1, 1, 5, 5, 17}},
    {5, 4, {1, 1, 5, 5, 5}},
    {5, 7, {1, 1, 7, 11, 19}},
    {5, 11, {1, 1, 5, 1, 1}},
    {5, 13, {1, 1, 1, 3, 11}},
    {5, 14, {1, 3, 5, 5, 31}},
    {6, 1, {1, 3, 3, 9, 7, 49}},
    {6, 13, {1, 1, 1, 15, 21, 21}},
    {6, 16, {1, 3, 1, 13, 27, 49}},
};

static void directions(int dimension, enum sobol_mistake mistake, uint32_t v[SOBOL_BITS]) {
    int s = joe_kuo[dimension].s;
    uint32_t a = joe_kuo[dimension].a;
    for (int i = 0; i < SOBOL_BITS; i++) {
        if (s == 0 || i < s) {
            v[i] = (s ? joe_kuo[dimension].m[i] : 1u) << (31 - i);
            continue;
        }
        v[i] = v[i - s] ^ (mistake == SOBOL_SHIFTED_TERM_LEFT_OUT ? 0 : v[i - s] >> s);
        for (int k = 1; k < s; k++) {
            int bit = mistake == SOBOL_BITS_OF_A_REVERSED ? k - 1 : s - 1 - k;
            v[i] ^= a >> bit & 1 ? v[i - k] : 0;
        }
    }
}

static bool table_is_the_recurrence(enum sobol_mistake mistake) {
    bool good = true;
    for (int d = 0; d < SOBOL_DIMENSIONS; d++) {
        uint32_t v[SOBOL_BITS];
        directions(d, mistake, v);
        for (int i = 0; i < SOBOL_BITS; i++)
            good &= v[i] == bits_mirror(sobol_mirrored_directions[d][i]);
    }
    return good;
}

static void sobol_table_follows_joe_and_kuo(void **state) {
    (void)state;
    assert_true(table_is_the_recurrence(SOBOL_RIGHT));
    for (enum sobol_mistake m = SOBOL_RIGHT + 1; m < SOBOL_MISTAKES; m++)
        assert_false(table_is_the_recurrence(m));
}

/* The first sixteen in Gray order, dimensions 1 to 8, in sixteenths. */
static bool gray_table(bool natural_order) {
    static const uint8_t point[16][8] = {
        {0, 0, 0, 0, 0, 0, 0, 0},      {8, 8, 8, 8, 8, 8, 8, 8},     {12, 4, 4, 4, 12, 12, 4, 12},
        {4, 12, 12, 12, 4, 4, 12, 4},  {6, 6, 10, 14, 6, 2, 6, 14},  {14, 14, 2, 6, 14, 10, 14, 6},
        {10, 2, 14, 10, 10, 14, 2, 2}, {2, 10, 6, 2, 2, 6, 10, 10},  {3, 5, 15, 7, 9, 5, 7, 15},
        {11, 13, 7, 15, 1, 13, 15, 7}, {15, 1, 11, 3, 5, 9, 3, 3},   {7, 9, 3, 11, 13, 1, 11, 11},
        {5, 3, 5, 9, 15, 7, 1, 1},     {13, 11, 13, 1, 7, 15, 9, 9}, {9, 7, 1, 13, 3, 11, 5, 13},
        {1, 15, 9, 5, 11, 3, 13, 5},
    };
    bool good = true;
    for (uint32_t n = 0; n < 16; n++)
        for (int d = 0; d < 8; d++)
            good &= sobol_point(natural_order ? n : n ^ n >> 1, d) == (uint32_t)point[n][d] << 28;
    return good;
}

static void sobol_points_are_the_published_ones(void **state) {
    (void)state;
    static const uint32_t far[SOBOL_DIMENSIONS] = {
        0xc242f000, 0x906a1000, 0xcd9eb000, 0xbab9d000, 0xa33b3000, 0x81969000, 0xc85b3000, 0xc61bf000,
        0xfc47f000, 0x6b3bd000, 0xe8989000, 0x20207000, 0x8690b000, 0x5787d000, 0x3d60b000, 0xbe663000};
    for (int d = 0; d < SOBOL_DIMENSIONS; d++)
        assert_int_equal(sobol_point(1000003, d), far[d]);
    assert_true(gray_table(false));
    assert_false(gray_table(true));
}

/* ---- nets ---- */

/* I. Sobol, USSR Comput. Math. Math. Phys. 7(4), 1967: dimensions 1 and 2 put one point of every block of 2^m into
 * each elementary interval 2^-a x 2^(a-m); t of other pairs for m = 10 (derived), 0 is perfect. */

struct pair_points {
    int bits; /* 2^bits points */
    uint32_t x[1024], y[1024];
};

static bool each_interval_has(const struct pair_points *points, int t) {
    int m = points->bits - t;
    for (int a = 0; a <= m; a++) {
        uint16_t hits[1024] = {0};
        for (int n = 0; n < 1 << points->bits; n++) {
            uint32_t column = (uint32_t)((uint64_t)points->x[n] >> (32 - a));
            uint32_t row = (uint32_t)((uint64_t)points->y[n] >> (32 - (m - a)));
            hits[column << (m - a) | row]++;
        }
        for (int i = 0; i < 1 << m; i++)
            if (hits[i] != 1 << t)
                return false;
    }
    return true;
}

static struct pair_points sobol_pair(int bits, uint32_t first, int i, int j) {
    struct pair_points points = {.bits = bits};
    for (uint32_t n = 0; n < 1u << bits; n++) {
        points.x[n] = sobol_point(first + n, i - 1);
        points.y[n] = sobol_point(first + n, j - 1);
    }
    return points;
}

static int quality(int i, int j) {
    struct pair_points points = sobol_pair(10, 0, i, j);
    int t = 0;
    while (!each_interval_has(&points, t))
        t++;
    return t;
}

static void aligned_blocks_are_nets(void **state) {
    (void)state;
    static const int t_of[][3] = {{1, 2, 0}, {1, 3, 1}, {1, 4, 2}, {1, 5, 2}, {1, 6, 2}, {1, 7, 1}, {1, 8, 0},
                                  {2, 3, 1}, {3, 4, 1}, {4, 5, 3}, {5, 6, 1}, {6, 7, 2}, {7, 8, 1}};
    for (int bits = 0; bits <= 10; bits++)
        for (uint32_t block = 0; block < 4; block++) {
            struct pair_points points = sobol_pair(bits, block << bits, 1, 2);
            assert_true(each_interval_has(&points, 0));
        }
    for (size_t i = 0; i < COUNT(t_of); i++)
        assert_int_equal(quality(t_of[i][0], t_of[i][1]), t_of[i][2]);
    struct pair_points without_zero = sobol_pair(8, 1, 1, 2); /* the twin drops point 0 */
    assert_false(each_interval_has(&without_zero, 0));
}

/* ---- Owen scrambling by a hash ---- */

/* B. Burley, JCGT 9(4), 2020, and N. Vegdahl, "Building a Better LK Hash", 2021: the mixing steps; values (derived).
 */

static uint32_t without_mirrors(uint32_t x, uint32_t seed) {
    return owen_hash(x, seed);
}

static bool owen_values(uint32_t (*scramble)(uint32_t, uint32_t)) {
    static const uint32_t row[][3] = {{0x00000000, 0x00000000, 0x00000000},
                                      {0x00000001, 0x00000000, 0x00000001},
                                      {0x80000000, 0x00000001, 0x2d0e2f36},
                                      {0x12345678, 0x9abcdef0, 0x1f8b4945},
                                      {0xffffffff, 0xdeadbeef, 0x10bac04c}};
    bool good = true;
    for (size_t i = 0; i < COUNT(row); i++)
        good &= scramble(row[i][0], row[i][1]) == row[i][2];
    return good;
}

/* A digit may depend on the digits before it and the seed alone. */
static bool first_digits_stay_together(uint32_t (*scramble)(uint32_t, uint32_t)) {
    struct pcg32 numbers = pcg32_seed(5, 5);
    for (int i = 0; i < 20000; i++) {
        uint32_t x = pcg32_next(&numbers), y = pcg32_next(&numbers), seed = pcg32_next(&numbers);
        int k = 1 + i % 31;
        y = (y & (UINT32_MAX >> k)) | (x & ~(UINT32_MAX >> k));
        if ((scramble(x, seed) ^ scramble(y, seed)) >> (32 - k))
            return false;
    }
    return true;
}

/* Nested uniform scrambling as Owen defined it (in: Niederreiter, Shiue, MCQMC 1995): a tree of coins, slow. */
static uint32_t nested_uniform(uint32_t x, uint32_t seed) {
    uint32_t out = 0;
    for (int k = 0; k < 32; k++) {
        uint64_t node = key_make(seed, (uint32_t)k, 0, k ? x >> (32 - k) : 0);
        out |= ((x >> (31 - k) & 1) ^ (uint32_t)(node >> 63)) << (31 - k);
    }
    return out;
}

static bool nets_stay_nets(uint32_t (*scramble)(uint32_t, uint32_t)) {
    bool good = true;
    for (uint32_t replicate = 0; replicate < 16; replicate++) {
        uint64_t key = key_make(1, replicate, PURPOSE_LAUNCH, 0);
        struct pair_points points = sobol_pair(8, 0, 1, 2);
        for (int n = 0; n < 256; n++) {
            points.x[n] = scramble(points.x[n], owen_seed(key, 0));
            points.y[n] = scramble(points.y[n], owen_seed(key, 1));
        }
        good &= each_interval_has(&points, 0);
    }
    return good;
}

static void owen_hash_scrambles_digit_by_digit(void **state) {
    (void)state;
    assert_true(owen_values(owen_scramble));
    assert_true(first_digits_stay_together(owen_scramble));
    assert_true(first_digits_stay_together(nested_uniform));
    assert_true(nets_stay_nets(owen_scramble));
    assert_true(nets_stay_nets(nested_uniform));
    assert_false(owen_values(without_mirrors));
    assert_false(first_digits_stay_together(without_mirrors));
    assert_false(nets_stay_nets(without_mirrors));
}

/* Correlation of two dimensions over many keys, at one point of the sequence: none, unless they share a seed. Point 0
 * is 0 in all dimensions, so one seed makes the two equal. */
static double correlation(bool one_seed) {
    enum { KEYS = 20000 };
    double sum = 0;
    for (uint32_t k = 0; k < KEYS; k++) {
        uint64_t key = key_make(3, k, 0, 0);
        double u = owen_scramble(sobol_point(0, 2), owen_seed(key, 2)) * 0x1p-32 - 0.5;
        double v = owen_scramble(sobol_point(0, 3), owen_seed(key, one_seed ? 2 : 3)) * 0x1p-32 - 0.5;
        sum += 12 * u * v;
    }
    return sum / KEYS;
}

static void dimensions_have_seeds_of_their_own(void **state) {
    (void)state;
    assert_true(fabs(correlation(false)) < 4 / sqrt(20000));
    assert_false(fabs(correlation(true)) < 4 / sqrt(20000));
}

/* ---- star discrepancy ---- */

/* H. Niederreiter, "Random Number Generation and Quasi-Monte Carlo Methods", SIAM 1992, ch. 2: the definition by all
 * boxes from the origin, and the formula in one dimension (Theorem 2.6). Values of Sobol 1, 2 (derived); one point at
 * the middle has 3/4, one at (1, 1) has 1. Dimension 1 is the sequence of J. van der Corput, 1935. */

enum boxes { BOXES_BOTH, BOXES_CLOSED, BOXES_OPEN };

static double star_discrepancy(const double (*p)[2], int count, enum boxes boxes) {
    double worst = 0;
    for (int i = 0; i <= count; i++)
        for (int j = 0; j <= count; j++) {
            double x = i < count ? p[i][0] : 1, y = j < count ? p[j][1] : 1;
            int closed = 0, open = 0;
            for (int k = 0; k < count; k++) {
                closed += p[k][0] <= x && p[k][1] <= y;
                open += p[k][0] < x && p[k][1] < y;
            }
            if (boxes != BOXES_OPEN)
                worst = fmax(worst, (double)closed / count - x * y);
            if (boxes != BOXES_CLOSED)
                worst = fmax(worst, x * y - (double)open / count);
        }
    return worst;
}

static bool discrepancies(enum boxes boxes) {
    static const struct {
        int count;
        double value;
    } row[] = {{4, 0.4375}, {16, 0.171875}, {64, 0.0537109375}, {256, 0.0145874023}};
    static const double middle[1][2] = {{0.5, 0.5}}, corner[1][2] = {{1, 1}};
    bool good = star_discrepancy(middle, 1, boxes) == 0.75 && star_discrepancy(corner, 1, boxes) == 1;
    for (size_t r = 0; r < COUNT(row); r++) {
        static double p[256][2];
        for (int n = 0; n < row[r].count; n++)
            for (int d = 0; d < 2; d++)
                p[n][d] = sobol_point((uint32_t)n, d) * 0x1p-32;
        good &= fabs(star_discrepancy((const double(*)[2])p, row[r].count, boxes) - row[r].value) < 1e-9;
    }
    return good;
}

static void discrepancy_is_the_published_one(void **state) {
    (void)state;
    static const double van_der_corput[] = {0, 0.5, 0.25, 0.75, 0.125, 0.625, 0.375};
    for (uint32_t n = 0; n < COUNT(van_der_corput); n++)
        assert_true(sobol_point(n, 0) * 0x1p-32 == van_der_corput[n]);
    assert_true(sobol_point(1000, 0) * 0x1p-32 == 0.0927734375);
    assert_true(discrepancies(BOXES_BOTH));
    assert_false(discrepancies(BOXES_OPEN));
    assert_false(discrepancies(BOXES_CLOSED));
}

/* ---- integrals and slopes ---- */

/* A. Genz, "Testing multidimensional integration routines", 1984: six families on [0,1]^4 with c = (0.5, 1, 1.5, 2),
 * w = (0.3, 0.5, 0.7, 0.2); integrals (derived, by closed form). A. Owen, Ann. Statist. 25, 1997, 1541: the error of
 * random points falls as n^-1/2, that of scrambled nets nearly as n^-3/2 for smooth functions, as n^-1 or better even
 * where a jump is along the axes; the mean over scrambles is the integral. */

enum { GENZ_FAMILIES = 6, GENZ_DIMENSIONS = 4, REPLICATES = 32, SMALLEST = 8, LARGEST = 14 };
static const double c[GENZ_DIMENSIONS] = {0.5, 1, 1.5, 2}, w[GENZ_DIMENSIONS] = {0.3, 0.5, 0.7, 0.2};
static const double integral[GENZ_FAMILIES] = {-0.2333913128531, 1.159445804511,  0.005266955266955,
                                               0.4404048642249,  0.2603369200113, 1.556911708263};

static void genz(const double x[GENZ_DIMENSIONS], double f[GENZ_FAMILIES]) {
    double sum = 0, product = 1, square = 0, away = 0;
    for (int i = 0; i < GENZ_DIMENSIONS; i++) {
        double d = x[i] - w[i];
        sum += c[i] * x[i];
        product /= 1 / (c[i] * c[i]) + d * d;
        square += c[i] * c[i] * d * d;
        away += c[i] * fabs(d);
    }
    f[0] = cos(2 * PI * w[0] + sum);
    f[1] = product;
    f[2] = pow(1 + sum, -5);
    f[3] = exp(-square);
    f[4] = exp(-away);
    f[5] = x[0] > w[0] || x[1] > w[1] ? 0 : exp(sum);
}

enum genz_points { GENZ_SCRAMBLED, GENZ_RANDOM, GENZ_SHARED_SCRAMBLE };

/* Averages over the first 2^b points, b = SMALLEST .. LARGEST, of one replicate. */
static void averages(enum genz_points points, uint32_t replicate, double mean[LARGEST + 1][GENZ_FAMILIES]) {
    uint64_t key = key_make(11, points == GENZ_SHARED_SCRAMBLE ? 0 : replicate, PURPOSE_LAUNCH, 0);
    struct pcg32 numbers = pcg32_seed(key, replicate);
    uint32_t seed[GENZ_DIMENSIONS];
    for (int d = 0; d < GENZ_DIMENSIONS; d++)
        seed[d] = owen_seed(key, d);
    double sum[GENZ_FAMILIES] = {0}, f[GENZ_FAMILIES], x[GENZ_DIMENSIONS];
    int b = SMALLEST;
    for (uint32_t n = 0; n < 1u << LARGEST; n++) {
        for (int d = 0; d < GENZ_DIMENSIONS; d++)
            x[d] =
                points == GENZ_RANDOM ? pcg32_double(&numbers) : owen_scramble(sobol_point(n, d), seed[d]) * 0x1p-32;
        genz(x, f);
        for (int k = 0; k < GENZ_FAMILIES; k++)
            sum[k] += f[k];
        if (n + 1 == 1u << b) {
            for (int k = 0; k < GENZ_FAMILIES; k++)
                mean[b][k] = sum[k] / (n + 1);
            b++;
        }
    }
}

struct genz_outcome {
    double rms[LARGEST + 1][GENZ_FAMILIES]; /* error of one replicate */
    double slope[GENZ_FAMILIES];            /* of log2 rms over log2 n, least squares */
    double worst_in_se;                     /* of the mean over replicates, all families and sizes */
};

static void study(enum genz_points points, struct genz_outcome *out) {
    static double mean[REPLICATES][LARGEST + 1][GENZ_FAMILIES];
    *out = (struct genz_outcome){0};
    for (uint32_t r = 0; r < REPLICATES; r++)
        averages(points, r, mean[r]);
    for (int k = 0; k < GENZ_FAMILIES; k++) {
        double xy = 0, xx = 0, middle = 0.5 * (SMALLEST + LARGEST);
        for (int b = SMALLEST; b <= LARGEST; b++) {
            double error = 0, square = 0;
            for (int r = 0; r < REPLICATES; r++) {
                error += (mean[r][b][k] - integral[k]) / REPLICATES;
                square += pow(mean[r][b][k] - integral[k], 2) / REPLICATES;
            }
            double se = sqrt(fmax(square - error * error, 1e-40) / (REPLICATES - 1));
            out->worst_in_se = fmax(out->worst_in_se, fabs(error) / se);
            out->rms[b][k] = sqrt(square);
            xy += (b - middle) * log2(out->rms[b][k]);
            xx += (b - middle) * (b - middle);
        }
        out->slope[k] = xy / xx;
    }
}

static void scrambled_nets_converge_as_owen_says(void **state) {
    (void)state;
    static const double scrambled_slope[GENZ_FAMILIES] = {-1.5, -1.5, -1.0, -1.5, -1.4, -1.0};
    struct genz_outcome scrambled, random, shared;
    study(GENZ_SCRAMBLED, &scrambled);
    study(GENZ_RANDOM, &random);
    study(GENZ_SHARED_SCRAMBLE, &shared);
    for (int k = 0; k < GENZ_FAMILIES; k++) {
        print_message("slopes: scrambled %.2f, random %.2f; error at 2^14 %.2g, %.2g\n", scrambled.slope[k],
                      random.slope[k], scrambled.rms[LARGEST][k], random.rms[LARGEST][k]);
        assert_true(fabs(random.slope[k] + 0.5) < 0.2);
        assert_true(fabs(scrambled.slope[k] - scrambled_slope[k]) < 0.2);
        assert_true(scrambled.rms[LARGEST][k] < random.rms[LARGEST][k] / 15);
        assert_false(fabs(random.slope[k] - scrambled_slope[k]) < 0.2); /* the twin: random points called scrambled */
    }
    assert_true(scrambled.worst_in_se < 4);
    assert_true(random.worst_in_se < 4);
    assert_false(shared.worst_in_se < 4); /* the twin: replicates that share a scramble know nothing of their error */
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(sobol_table_follows_joe_and_kuo),
        cmocka_unit_test(sobol_points_are_the_published_ones),
        cmocka_unit_test(aligned_blocks_are_nets),
        cmocka_unit_test(owen_hash_scrambles_digit_by_digit),
        cmocka_unit_test(dimensions_have_seeds_of_their_own),
        cmocka_unit_test(discrepancy_is_the_published_one),
        cmocka_unit_test(scrambled_nets_converge_as_owen_says),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
