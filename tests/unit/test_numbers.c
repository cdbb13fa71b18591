/* Generators and keys against published values. Each check takes a mistake to make: without one it holds, with any it
 * must fail. (derived) marks values worked out from the definition in independent big-integer arithmetic. */
#include "numbers/keys.h"
#include "numbers/pcg32.h"
#include "numbers/ray_numbers.h"

#include <setjmp.h>
#include <stdarg.h>
#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>
#include <string.h>

#include <cmocka.h>

#define COUNT(array) (sizeof(array) / sizeof *(array))

/* ---- PCG32 ---- */

/* M. E. O'Neill, HMC-CS-2014-0905 (2014), and the demonstration output of the author's C sources for seed 42, stream
 * 54; the rows of other seeds and the jumps (derived). */

enum pcg_mistake { PCG_RIGHT, PCG_NEW_STATE, PCG_EVEN_STREAM, PCG_TURN_LEFT, PCG_MISTAKES };

static struct pcg32 seeded(uint64_t seed, uint64_t stream, enum pcg_mistake mistake) {
    struct pcg32 generator = pcg32_seed(seed, stream);
    if (mistake == PCG_EVEN_STREAM) {
        generator = (struct pcg32){0, stream};
        pcg32_next(&generator);
        generator.state += seed;
        pcg32_next(&generator);
    }
    return generator;
}

static uint32_t draw(struct pcg32 *generator, enum pcg_mistake mistake) {
    uint64_t old = generator->state;
    uint32_t out = pcg32_next(generator);
    if (mistake == PCG_NEW_STATE)
        return pcg32_output(generator->state);
    if (mistake == PCG_TURN_LEFT) {
        uint32_t mixed = (uint32_t)((old >> 18 ^ old) >> 27), turn = (uint32_t)(old >> 59);
        return mixed << turn | mixed >> ((32 - turn) & 31);
    }
    return out;
}

static bool pcg_outputs(enum pcg_mistake mistake) {
    static const struct {
        uint64_t seed, stream;
        uint32_t first[12];
        size_t count;
    } row[] = {
        {42,
         54,
         {0xa15c02b7, 0x7b47f409, 0xba1d3330, 0x83d2f293, 0xbfa4784b, 0xcbed606e, 0xbfc6a3ad, 0x812fff6d, 0xe61f305a,
          0xf9384b90, 0x32db86fe, 0x1dc035f9},
         12},
        {0, 0, {0xe4c14788, 0x379c6516, 0x5c4ab3bb, 0x601d23e0}, 4},
        {42, 52, {0x8de09b87, 0x3881c1bb, 0x0b316d1d, 0xeb970f0b}, 4},
        {UINT64_MAX, UINT64_MAX, {0x2675c047, 0x7779a837, 0xa145aa13, 0x5f6be726}, 4},
    };
    bool good = true;
    for (size_t r = 0; r < COUNT(row); r++) {
        struct pcg32 generator = seeded(row[r].seed, row[r].stream, mistake);
        for (size_t i = 0; i < row[r].count; i++)
            good &= draw(&generator, mistake) == row[r].first[i];
    }
    return good;
}

/* The static initialiser of the author's header, and the state after seeding. */
static void pcg32_gives_the_published_numbers(void **state) {
    (void)state;
    assert_true(pcg_outputs(PCG_RIGHT));
    for (enum pcg_mistake m = PCG_RIGHT + 1; m < PCG_MISTAKES; m++)
        assert_false(pcg_outputs(m));
    struct pcg32 generator = {UINT64_C(0x853c49e6748fea9b), UINT64_C(0xda3e39cb94b95bdb)};
    const uint32_t expected[] = {0x152ca78d, 0x027c6003, 0xcb07bbf3, 0xf98befee};
    for (size_t i = 0; i < COUNT(expected); i++)
        assert_int_equal(pcg32_next(&generator), expected[i]);
    assert_true(pcg32_seed(42, 54).state == UINT64_C(0x185706b82c2e03f8) && pcg32_seed(42, 54).inc == 0x6d);
}

static bool jumps(bool one_short) {
    static const struct {
        uint64_t steps, state;
        uint32_t next;
    } row[] = {{1, UINT64_C(0x2b47fed88766bb05), 0x7b47f409},
               {1000, UINT64_C(0x77d57a2a8f8fc510), 0xefebeab3},
               {UINT64_C(1) << 20, UINT64_C(0x3df39101231e03f8), 0x717ce79f},
               {UINT64_C(1) << 40, UINT64_C(0xdce675b82c2e03f8), 0x990a06d3},
               {UINT64_MAX, UINT64_C(0x97), 0x00000000}};
    bool good = true;
    for (size_t i = 0; i < COUNT(row); i++) {
        struct pcg32 generator = pcg32_seed(42, 54);
        pcg32_jump(&generator, row[i].steps - one_short);
        good &= generator.state == row[i].state;
        good &= pcg32_next(&generator) == row[i].next;
    }
    return good;
}

static void pcg32_jumps_like_so_many_steps(void **state) {
    (void)state;
    assert_true(jumps(false));
    assert_false(jumps(true));
}

/* The order of the author's demonstration: six outputs, six back, the six again, 65 coins, 33 rolls. */
static bool demonstration(uint32_t (*bounded)(struct pcg32 *, uint32_t)) {
    static const char coins[] = "HHTTTHTHHHTHTTTHHHHHTTTHHHTHTHTHTTHTTTHHHHHHTTTTHHTTTTTHTTTTTTTHT";
    static const char rolls[] = "341122324324335231315141564662633";
    struct pcg32 generator = pcg32_seed(42, 54);
    for (int i = 0; i < 6; i++)
        pcg32_next(&generator);
    pcg32_jump(&generator, UINT64_MAX - 5);
    bool good = pcg32_next(&generator) == 0xa15c02b7;
    pcg32_jump(&generator, 5);
    for (size_t i = 0; i < sizeof coins - 1; i++)
        good &= (bounded(&generator, 2) == 1 ? 'H' : 'T') == coins[i];
    for (size_t i = 0; i < sizeof rolls - 1; i++)
        good &= bounded(&generator, 6) + '1' == (uint32_t)rolls[i];
    return good;
}

static uint32_t bounded_by_product(struct pcg32 *generator, uint32_t bound) {
    return (uint32_t)((uint64_t)pcg32_next(generator) * bound >> 32);
}

/* Where a remainder without the threshold is plainly uneven: bound 3 * 2^30, the lowest 2^30 would come up twice as
 * often as the rest, 1/2 of the draws instead of 1/3 (definition). */
static double share_of_lowest_third(bool threshold) {
    enum { DRAWS = 30000 };
    struct pcg32 generator = pcg32_seed(1, 2);
    int low = 0;
    for (int i = 0; i < DRAWS; i++) {
        uint32_t bound = 3u << 30;
        uint32_t value = threshold ? pcg32_bounded(&generator, bound) : pcg32_next(&generator) % bound;
        low += value < 1u << 30;
    }
    return (double)low / DRAWS;
}

static void bounded_draws_are_even(void **state) {
    (void)state;
    assert_true(demonstration(pcg32_bounded));
    assert_false(demonstration(bounded_by_product));
    assert_true(share_of_lowest_third(true) > 0.32 && share_of_lowest_third(true) < 0.347);
    assert_false(share_of_lowest_third(false) < 0.347);
}

/* ---- reals in [0, 1) ---- */

/* Values of u24 and u53 for the first outputs of seed 42, stream 54 (derived). */

static void reals_never_reach_one(void **state) {
    (void)state;
    static const float u24[] = {0x1.42b804p-1f, 0x1.ed1fdp-2f, 0x1.743a66p-1f};
    struct pcg32 generator = pcg32_seed(42, 54);
    for (size_t i = 0; i < COUNT(u24); i++)
        assert_true(unit_float(pcg32_next(&generator)) == u24[i]);
    generator = pcg32_seed(42, 54);
    assert_true(pcg32_double(&generator) == 0x1.42b8055ed1fd0p-1);
    assert_true(unit_float(UINT32_MAX) == 1 - 0x1p-24f);
    assert_true(unit_float(UINT32_MAX) < 1);
    volatile float straight = (float)UINT32_MAX; /* the twin rounds up */
    assert_false(straight * 0x1p-32f < 1);
    volatile float half_added = (float)(UINT32_MAX >> 8) + 0.5f;
    assert_false(half_added * 0x1p-24f < 1);
}

/* ---- numbers of a ray ---- */

/* M. E. O'Neill, HMC-CS-2014-0905 (2014), by the author's C++ library (libpcg-cpp 0.98.1),
 * pcg_engines::oneseq_rxs_m_xs_32_32 seeded with 42: its first eight numbers, and the millionth from there. It starts
 * a step behind seed + increment. */
static bool ray_numbers_published(bool another_shift) {
    static const uint32_t first[] = {0x256b5357, 0xa5efad32, 0x170b7830, 0x334a5b22,
                                     0x3de5c680, 0x9b47b7b3, 0xd3d0fd65, 0xa6616d08};
    struct ray_numbers numbers = {42 + RAY_NUMBERS_PLUS};
    bool good = true;
    ray_numbers_next(&numbers);
    for (int i = 0; i < 1000001; i++) {
        uint32_t old = numbers.state, word = ray_numbers_next(&numbers);
        if (another_shift) {
            word = ((old >> ((old >> 28) + 5)) ^ old) * RAY_NUMBERS_MIXER;
            word ^= word >> 22;
        }
        if (i < (int)COUNT(first))
            good &= word == first[i];
        else if (i == 1000000)
            good &= word == 0x0efd6b22;
    }
    return good;
}

static void numbers_of_a_ray_are_the_published_ones(void **state) {
    (void)state;
    assert_true(ray_numbers_published(false));
    assert_false(ray_numbers_published(true));
}

/* Cells of two numbers side by side: of one ray, and of neighbours at the same surface. */
enum { SIDE = 16, CELLS = SIDE * SIDE, RAYS = 1 << 18, SURFACES = 8 };

static double chi2(const int *cells) {
    double sum = 0, expected = (double)RAYS * SURFACES / CELLS;
    for (int i = 0; i < CELLS; i++)
        sum += (cells[i] - expected) * (cells[i] - expected) / expected;
    return sum;
}

/* The greater chi^2 of both. As rays draw them: a number of a stream of PCG32 starts each ray. Twin: rays started in
 * a row. */
static double unevenness(bool in_a_row) {
    static int of_ray[CELLS], of_neighbours[CELLS];
    struct pcg32 stream = pcg32_seed(7, 1);
    uint32_t before[SURFACES + 1] = {0}, now[SURFACES + 1];
    memset(of_ray, 0, sizeof of_ray);
    memset(of_neighbours, 0, sizeof of_neighbours);
    for (uint32_t ray = 0; ray <= RAYS; ray++) {
        struct ray_numbers numbers = {in_a_row ? ray : pcg32_next(&stream)};
        for (int i = 0; i <= SURFACES; i++)
            now[i] = ray_numbers_next(&numbers) >> 28;
        for (int i = 0; i < SURFACES && ray > 0; i++) {
            of_ray[now[i] * SIDE + now[i + 1]]++;
            of_neighbours[before[i] * SIDE + now[i]]++;
        }
        memcpy(before, now, sizeof now);
    }
    return chi2(of_ray) > chi2(of_neighbours) ? chi2(of_ray) : chi2(of_neighbours);
}

/* 255 degrees of freedom: 255 +- 22.6. Bound: five standard deviations up. */
static void numbers_of_rays_tell_nothing_of_each_other(void **state) {
    (void)state;
    assert_in_range((int)unevenness(false), 0, 368);
    assert_true(unevenness(true) > 10000);
}

/* ---- SplitMix64 ---- */

/* G. Steele, D. Lea, C. Flood, OOPSLA 2014; values of S. Vigna's C source for these seeds, as printed in public test
 * suites. */

static bool splitmix_outputs(bool hash_as_state) {
    static const struct {
        uint64_t seed, first[3];
    } row[] = {
        {0, {UINT64_C(0xe220a8397b1dcdaf), UINT64_C(0x6e789e6aa1b965f4), UINT64_C(0x06c45d188009454f)}},
        {42, {UINT64_C(0xbdd732262feb6e95), UINT64_C(0x28efe333b266f103), UINT64_C(0x47526757130f9f52)}},
        {1234567, {UINT64_C(0x599ed017fb08fc85), UINT64_C(0x2c73f08458540fa5), UINT64_C(0x883ebce5a3f27c77)}},
    };
    bool good = true;
    for (size_t r = 0; r < COUNT(row); r++) {
        uint64_t state = row[r].seed;
        for (size_t i = 0; i < 3; i++) {
            uint64_t out = splitmix64(&state);
            good &= out == row[r].first[i];
            if (hash_as_state)
                state = out;
        }
    }
    return good;
}

static void splitmix64_gives_the_published_numbers(void **state) {
    (void)state;
    assert_true(splitmix_outputs(false));
    assert_false(splitmix_outputs(true));
}

/* ---- keys ---- */

/* No value to hold them to: keys of neighbours must differ, and half of their bits, on the average (definition of a
 * good hash). The twin adds the words. */

static uint64_t key_by_sum(uint64_t seed, uint32_t replicate, uint32_t purpose, uint64_t index) {
    return seed + replicate + purpose + index;
}

static bool keys_are_apart(uint64_t (*make)(uint64_t, uint32_t, uint32_t, uint64_t)) {
    uint64_t key[6 * 6 * 6 * 6];
    size_t count = 0;
    double bits = 0;
    for (uint32_t n = 0; n < COUNT(key); n++)
        key[count++] = make(n % 6, n / 6 % 6, n / 36 % 6, n / 216);
    for (size_t i = 0; i < count; i++)
        for (size_t j = 0; j < i; j++) {
            if (key[i] == key[j])
                return false;
            bits += __builtin_popcountll(key[i] ^ key[j]);
        }
    double mean = bits / ((double)count * (double)(count - 1) / 2);
    return mean > 31.9 && mean < 32.1;
}

static void keys_of_neighbours_share_nothing(void **state) {
    (void)state;
    assert_true(keys_are_apart(key_make));
    assert_false(keys_are_apart(key_by_sum));
    assert_false(key_make(1, 2, 3, 4) == key_make(1, 3, 2, 4));
}

/* ---- sums ---- */

/* W. Kahan, CACM 8(1), 1965: with his correction a million tenths make 100000 in double, without it
 * 100000.00000133288 (derived). A compiler told to reassociate turns one into the other: this holds our flags to it.
 * Quanta (definition): integers make the same sum in any order, doubles do not. */

static void flags_leave_sums_alone(void **state) {
    (void)state;
    double sum = 0, lost = 0, naive = 0;
    for (int i = 0; i < 1000000; i++) {
        double y = 0.1 - lost, t = sum + y;
        lost = (t - sum) - y;
        sum = t;
        naive += 0.1;
    }
    assert_true(sum == 100000.0);
    assert_true(naive == 100000.00000133288);
}

static void quanta_add_in_any_order(void **state) {
    (void)state;
    enum { TERMS = 1000 };
    struct pcg32 generator = pcg32_seed(9, 9);
    double weight[TERMS], up = 0, down = 0;
    uint64_t quanta_up = 0, quanta_down = 0;
    for (int i = 0; i < TERMS; i++)
        weight[i] = pcg32_double(&generator);
    for (int i = 0; i < TERMS; i++) {
        up += weight[i];
        down += weight[TERMS - 1 - i];
        quanta_up += (uint64_t)(weight[i] * 0x1p32 + 0.5);
        quanta_down += (uint64_t)(weight[TERMS - 1 - i] * 0x1p32 + 0.5);
    }
    assert_true(quanta_up == quanta_down);
    assert_false(up == down);
    double error = (double)quanta_up * 0x1p-32 - up;
    assert_true(error < TERMS * 0x1p-33 && error > -TERMS * 0x1p-33);
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(pcg32_gives_the_published_numbers),
        cmocka_unit_test(pcg32_jumps_like_so_many_steps),
        cmocka_unit_test(bounded_draws_are_even),
        cmocka_unit_test(reals_never_reach_one),
        cmocka_unit_test(numbers_of_a_ray_are_the_published_ones),
        cmocka_unit_test(numbers_of_rays_tell_nothing_of_each_other),
        cmocka_unit_test(splitmix64_gives_the_published_numbers),
        cmocka_unit_test(keys_of_neighbours_share_nothing),
        cmocka_unit_test(flags_leave_sums_alone),
        cmocka_unit_test(quanta_add_in_any_order),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
