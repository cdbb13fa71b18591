/* The inner loops: that all vector widths give the same bits, that rays are spread as they should be, that casting
 * and lighting are geometry. Each check takes a mistake to make: without one it holds, with any it must fail. Wanted
 * values are definitions or (derived) from them. */
#include "emitters/angle_law.h"
#include "numbers/keys.h"
#include "tracing/kernels.h"

#include <math.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>
#include <stdlib.h>
#include <string.h>

#include <cmocka.h>

#define KERNELS_SET kernels_of_this_test
#define KERNELS_NAME "test"
#define KERNELS_FOLLOW wave_trace_plain
#include "tracing/kernels_impl.h"

#define COUNT(array) (sizeof(array) / sizeof *(array))
#define PI 3.14159265358979323846
#define DEG (PI / 180)

static struct angle_launch_table lambertian = {.lambertian = true}, power_four, bell;
static struct angle_shape_table bell_shape;
static const struct angle_law power_four_law = {.kind = &angle_law_cosine, .power = 4};
static const struct angle_law bell_law = {.kind = &angle_law_beam, .beam = {.width_rad = 24 * DEG, .power = 2}};

static int build_tables(void **state) {
    (void)state;
    angle_shape_table_build(&bell_law, &bell_shape);
    return angle_launch_table_build(&power_four_law, &power_four) || angle_launch_table_build(&bell_law, &bell);
}

static struct launch_source source(enum luxfall_face_kind kind, int columns, int rows,
                                   const struct angle_launch_table *angles) {
    return (struct launch_source){{kind, 18, kind == LUXFALL_RECTANGLE ? 12 : 18}, columns, rows, 30, 25, angles};
}

/* A tilted placement over a map of 1 mm cells. */
static struct cast_frame tilted(float turn_rad) {
    float c = cosf(turn_rad), s = sinf(turn_rad);
    return (struct cast_frame){.hx = 85,
                               .hy = 60,
                               .hz = 120,
                               .mx = {c, s * 0.8f, s * 0.6f},
                               .my = {-s, c * 0.8f, c * 0.6f},
                               .mz = {0, 0.6f, -0.8f}};
}
static const struct cast_grid grid = {170, 120};

static void some_points(struct light_points *lit, int count) {
    struct pcg32 numbers = pcg32_seed(8, 8);
    lit->count = count;
    for (int i = 0; i < count; i++) {
        lit->px[i] = 10 * unit_float(pcg32_next(&numbers)) - 5;
        lit->py[i] = 10 * unit_float(pcg32_next(&numbers)) - 5;
        lit->sx[i] = 18 * unit_float(pcg32_next(&numbers)) - 9;
        lit->sy[i] = 18 * unit_float(pcg32_next(&numbers)) - 9;
        lit->sz[i] = 10 * unit_float(pcg32_next(&numbers)) - 5;
    }
}

/* ---- all widths give the same bits (definition) ---- */

static bool same(const float *a, const float *b, int count) {
    return memcmp(a, b, (size_t)count * sizeof *a) == 0;
}

static bool same_rays(const struct ray_batch *a, const struct ray_batch *b) {
    return a->count == b->count && same(a->x, b->x, a->count) && same(a->y, b->y, a->count) &&
           same(a->z, b->z, a->count) && same(a->dx, b->dx, a->count) && same(a->dy, b->dy, a->count) &&
           same(a->dz, b->dz, a->count);
}

struct landings {
    int32_t cell[RAY_BATCH];
    float gx[RAY_BATCH], gy[RAY_BATCH];
};

static bool same_landings(const struct kernels *a, const struct kernels *b, const struct ray_batch *rays,
                          float nudge) {
    static struct landings la, lb;
    struct cast_frame frame = tilted(0.3f), other = frame;
    other.hx += nudge;
    a->cast(rays, &frame, &grid, la.cell, la.gx, la.gy);
    b->cast(rays, &other, &grid, lb.cell, lb.gx, lb.gy);
    bool good = same(la.gx, lb.gx, rays->count) && same(la.gy, lb.gy, rays->count);
    good &= memcmp(la.cell, lb.cell, (size_t)rays->count * sizeof *la.cell) == 0;
    b->cast(rays, &other, &grid, lb.cell, NULL, NULL);
    return good && memcmp(la.cell, lb.cell, (size_t)rays->count * sizeof *la.cell) == 0;
}

static bool same_launches(const struct kernels *a, const struct kernels *b, uint64_t nudge) {
    static struct ray_batch ra, rb;
    static const int counts[] = {1, 17, 1000, RAY_BATCH};
    const struct angle_launch_table *laws[] = {&lambertian, &power_four, &bell};
    bool good = true;
    for (unsigned n = 0; n < 2 * 3 * 3 * 2 * 4; n++) {
        struct point_key key = {key_make(n, 1, PURPOSE_LAUNCH, 0), n % 2 ? LUXFALL_RANDOM : LUXFALL_SCRAMBLED};
        struct launch_source s = source(n / 2 % 3, n / 18 % 2 ? 3 : 1, n / 18 % 2 ? 2 : 1, laws[n / 6 % 3]);
        uint64_t first = n % 5 * UINT64_C(1024) * 40961;
        a->launch(&s, &key, first, counts[n / 36], &ra);
        key.key += nudge;
        b->launch(&s, &key, first, counts[n / 36], &rb);
        good &= same_rays(&ra, &rb) && same_landings(a, b, &ra, 0);
    }
    return good && (nudge || !same_landings(a, b, &ra, 0x1p-17f)); /* one step of a float at 85: it would be seen */
}

static bool same_points(const struct kernels *a, const struct kernels *b, int dims_of_b) {
    static float va[16][RAY_BATCH], vb[16][RAY_BATCH];
    float *pa[16], *pb[16];
    for (int d = 0; d < 16; d++)
        pa[d] = va[d], pb[d] = vb[d];
    bool good = true;
    for (int kind = 0; kind < 2; kind++) {
        struct point_key key = {77, kind ? LUXFALL_RANDOM : LUXFALL_SCRAMBLED};
        memset(vb, 0, sizeof vb);
        a->points(&key, 2048, 1000, 16, pa);
        b->points(&key, 2048, 1000, dims_of_b, pb);
        for (int d = 0; d < 16; d++)
            good &= same(va[d], vb[d], 1000);
    }
    return good;
}

static bool same_light(const struct kernels *a, const struct kernels *b, float nudge) {
    static struct light_points lit;
    const float axis[3] = {0.36f, 0.48f, -0.8f};
    bool good = true;
    for (int count = 1; count <= RAY_BATCH; count += 93) {
        some_points(&lit, count);
        good &= a->light(&lit, &bell_shape, axis, 54, 72, -120) ==
                b->light(&lit, &bell_shape, axis, 54, 72 + nudge, -120);
    }
    return good;
}

static void all_widths_give_the_same_bits(void **state) {
    (void)state;
    const struct kernels *plain = kernels_choose(LUXFALL_VECTORS_PLAIN);
    const struct kernels *other[] = {&kernels_of_this_test, kernels_choose(LUXFALL_VECTORS_AVX2),
                                     kernels_choose(LUXFALL_VECTORS_AVX512)};
    for (size_t i = 0; i < COUNT(other); i++) {
        print_message("plain against %s\n", other[i]->name);
        assert_true(same_launches(plain, other[i], 0));
        assert_true(same_points(plain, other[i], 16));
        assert_true(same_light(plain, other[i], 0));
        assert_false(same_launches(plain, other[i], 1));
        assert_false(same_points(plain, other[i], 15));
        assert_false(same_light(plain, other[i], 0x1p-17f));
    }
}

static void the_choice_is_what_the_processor_has(void **state) {
    (void)state;
    assert_string_equal(luxfall_vectors_name(LUXFALL_VECTORS_PLAIN), "plain");
    const char *best = luxfall_vectors_name(LUXFALL_VECTORS_BEST);
    assert_string_equal(luxfall_vectors_name(LUXFALL_VECTORS_AVX512), best);
    const char *avx2 = luxfall_vectors_name(LUXFALL_VECTORS_AVX2);
    assert_true(strcmp(avx2, "avx2") == 0 || strcmp(best, "plain") == 0);
}

/* ---- rays belong to their numbers (definition) ---- */

/* A batch in the middle of the sequence is what a longer run has there. */
static bool pieces_fit(enum luxfall_points points, uint64_t slip) {
    static struct ray_batch whole, piece;
    const struct kernels *k = kernels_choose(LUXFALL_VECTORS_BEST);
    struct launch_source s = source(LUXFALL_DISC, 2, 2, &bell);
    struct point_key key = {5, points};
    k->launch(&s, &key, 1024 * 999, RAY_BATCH, &whole);
    k->launch(&s, &key, 1024 * 999 + 304 + slip, 100, &piece);
    return same(whole.x + 304, piece.x, 100) && same(whole.dx + 304, piece.dx, 100) &&
           same(whole.dz + 304, piece.dz, 100);
}

/* Position and direction of every ray from the numbers of points() in double: a rectangle, Lambertian. */
static double worst_difference(enum luxfall_points points, int azimuth_dimension) {
    static struct ray_batch rays;
    static float u[4][RAY_BATCH];
    const struct kernels *k = kernels_choose(LUXFALL_VECTORS_BEST);
    struct launch_source s = source(LUXFALL_RECTANGLE, 1, 1, &lambertian);
    struct point_key key = {6, points};
    k->launch(&s, &key, 4096, RAY_BATCH, &rays);
    k->points(&key, 4096, RAY_BATCH, 4, (float *const[]){u[0], u[1], u[2], u[3]});
    double worst = 0;
    for (int i = 0; i < RAY_BATCH; i++) {
        double sine = sqrt(1 - (double)u[0][i]), azimuth = 2 * PI * u[azimuth_dimension][i];
        worst = fmax(worst, fabs(rays.dz[i] * rays.dz[i] - u[0][i]));
        worst = fmax(worst, fabs(rays.dx[i] - sine * cos(azimuth)));
        worst = fmax(worst, fabs(rays.dy[i] - sine * sin(azimuth)));
        worst = fmax(worst, fabs(rays.x[i] - 18 * (u[2][i] - 0.5)));
        worst = fmax(worst, fabs(rays.y[i] - 12 * (u[3][i] - 0.5)));
    }
    return worst;
}

static void rays_belong_to_their_numbers(void **state) {
    (void)state;
    for (enum luxfall_points p = LUXFALL_SCRAMBLED; p <= LUXFALL_RANDOM; p++) {
        assert_true(pieces_fit(p, 0));
        assert_false(pieces_fit(p, 16));
        assert_true(worst_difference(p, 1) < 2e-6); /* points() has 24 digits, the ray more; sine near 0 magnifies */
        assert_false(worst_difference(p, 2) < 2e-6);
    }
    assert_true(pieces_fit(LUXFALL_RANDOM, 0) && !pieces_fit(LUXFALL_RANDOM, 1));
}

/* Numbers 16 i + d of the key's PCG32 stream, by single steps. */
static void random_points_are_the_stream(void **state) {
    (void)state;
    static float u[16][64];
    float *out[16];
    for (int d = 0; d < 16; d++)
        out[d] = u[d];
    struct point_key key = {42, LUXFALL_RANDOM};
    kernels_choose(LUXFALL_VECTORS_BEST)->points(&key, 3, 64, 16, out);
    uint64_t words = key.key, seed = splitmix64(&words);
    struct pcg32 stream = pcg32_seed(seed, splitmix64(&words));
    for (int i = 0; i < 3 * 16; i++)
        pcg32_next(&stream);
    for (int i = 0; i < 64; i++)
        for (int d = 0; d < 16; d++)
            assert_true(u[d][i] == unit_float(pcg32_next(&stream)));
    assert_false(u[0][0] == unit_float(pcg32_next(&stream)));
}

/* ---- sine and cosine of a turn ---- */

/* Against the C library's in double (definition); the error that kernels_impl.h states. */

static double worst_turn(double phase_slip) {
    double worst = 0;
    for (uint64_t n = 0; n < UINT64_C(1) << 32; n += 1009) {
        float x, y;
        turn((uint32_t)n, &x, &y);
        double azimuth = 2 * PI * ((double)n * 0x1p-32 + phase_slip);
        worst = fmax(worst, fmax(fabs(x - cos(azimuth)), fabs(y - sin(azimuth))));
    }
    return worst;
}

static void a_turn_has_its_stated_error(void **state) {
    (void)state;
    print_message("worst error of cos and sin %.2g\n", worst_turn(0));
    assert_true(worst_turn(0) < 1.5e-7);
    assert_false(worst_turn(1e-7) < 1.5e-7);
    float x, y;
    turn(0, &x, &y);
    assert_true(x == 1 && y == 0);
    turn(0x40000000u, &x, &y);
    assert_true(x == 0 && y == 1);
    turn(0x80000000u, &x, &y);
    assert_true(x == -1 && y == 0);
    turn(0xc0000000u, &x, &y);
    assert_true(x == 0 && y == -1);
}

/* ---- moments of launched rays ---- */

/* Intensity cos^m: E cos = (m + 1)/(m + 2), E cos^2 = (m + 1)/(m + 3), azimuth even. Disc of radius R: E r^2 = R^2/2,
 * E x^4 = R^4/8, E x^2 y^2 = R^4/24; a side w: w^2/12 (derived). P. Shirley, Graphics Gems III, 1992, for the maps.
 */

enum moment { M_COS, M_COS2, M_DX, M_DX2, M_DXDY, M_X, M_X2, M_Y2, M_X4, M_X2Y2, MOMENTS };
enum { MOMENT_BATCHES = 256 };

static void moments(const struct launch_source *s, enum luxfall_points points, double m[MOMENTS]) {
    static struct ray_batch r;
    struct point_key key = {key_make(1, 2, PURPOSE_LAUNCH, 3), points};
    memset(m, 0, MOMENTS * sizeof *m);
    for (uint64_t b = 0; b < MOMENT_BATCHES; b++) {
        kernels_choose(LUXFALL_VECTORS_BEST)->launch(s, &key, b * RAY_BATCH, RAY_BATCH, &r);
        for (int i = 0; i < RAY_BATCH; i++) {
            double x = r.x[i] / 9, y = r.y[i] / 9, dx = r.dx[i], dy = r.dy[i], dz = r.dz[i];
            const double of[MOMENTS] = {dz, dz * dz, dx,    dx * dx,       dx * dy,
                                        x,  x * x,   y * y, x * x * x * x, x * x * y * y};
            for (int k = 0; k < MOMENTS; k++)
                m[k] += of[k] / (MOMENT_BATCHES * RAY_BATCH);
        }
    }
}

static bool near_all(const double *got, const double *wanted, double tolerance) {
    bool good = true;
    for (int k = 0; k < MOMENTS; k++)
        good &= fabs(got[k] - wanted[k]) < tolerance;
    return good;
}

static void expected_moments(double power, bool disc, double m[MOMENTS]) {
    double cos2 = (power + 1) / (power + 3), third = 1.0 / 3, h = 12.0 / 18;
    const double on_disc[] = {0, 0.25, 0.25, 1.0 / 8, 1.0 / 24};
    const double on_rectangle[] = {0, third, h * h * third, 0.2, h * h / 9};
    const double angles[] = {(power + 1) / (power + 2), cos2, 0, (1 - cos2) / 2, 0};
    memcpy(m, angles, sizeof angles);
    memcpy(m + M_X, disc ? on_disc : on_rectangle, sizeof on_disc);
}

static void launched_rays_have_their_moments(void **state) {
    (void)state;
    double got[MOMENTS], wanted[MOMENTS];
    for (int n = 0; n < 8; n++) {
        bool disc = n & 1, four = n & 2;
        enum luxfall_points points = n & 4 ? LUXFALL_RANDOM : LUXFALL_SCRAMBLED;
        double tolerance = n & 4 ? 5 * 0.5 / sqrt(MOMENT_BATCHES * RAY_BATCH) : 2e-4;
        struct launch_source s =
            source(disc ? LUXFALL_DISC : LUXFALL_RECTANGLE, 1, 1, four ? &power_four : &lambertian);
        moments(&s, points, got);
        expected_moments(four ? 4 : 1, disc, wanted);
        assert_true(near_all(got, wanted, tolerance));
        expected_moments(four ? 3.2 : 0.8, disc, wanted); /* twins: the power a little off, the other face */
        assert_false(near_all(got, wanted, tolerance));
        expected_moments(four ? 4 : 1, !disc, wanted);
        assert_false(near_all(got, wanted, tolerance));
    }
}

/* Share of a bell's flux within a cone, table against quadrature. */
static double share_of_rays_within(double half_angle_rad) {
    static struct ray_batch r;
    struct launch_source s = source(LUXFALL_POINT, 1, 1, &bell);
    struct point_key key = {4, LUXFALL_SCRAMBLED};
    int inside = 0;
    for (uint64_t b = 0; b < MOMENT_BATCHES; b++) {
        kernels_choose(LUXFALL_VECTORS_BEST)->launch(&s, &key, b * RAY_BATCH, RAY_BATCH, &r);
        for (int i = 0; i < RAY_BATCH; i++)
            inside += hypot(r.dx[i], r.dy[i]) < sin(half_angle_rad) && r.dz[i] > 0;
    }
    return (double)inside / (MOMENT_BATCHES * RAY_BATCH);
}

static void bell_rays_keep_to_their_cones(void **state) {
    (void)state;
    for (int deg = 2; deg <= 32; deg += 6) {
        assert_true(fabs(share_of_rays_within(deg * DEG) - angle_law_share_within(&bell_law, deg * DEG)) < 2e-5);
        assert_false(fabs(share_of_rays_within(deg * DEG) - angle_law_share_within(&bell_law, deg * DEG * 1.01)) <
                     2e-5);
    }
}

/* Each of six dies gets a sixth of the rays, and the rays of each fill its own face. */
static void dies_share_evenly(void **state) {
    (void)state;
    static struct ray_batch r;
    struct launch_source s = source(LUXFALL_RECTANGLE, 3, 2, &lambertian);
    struct point_key key = {9, LUXFALL_SCRAMBLED};
    int hits[2][3] = {{0}};
    double within2 = 0;
    for (uint64_t b = 0; b < 60; b++) {
        kernels_choose(LUXFALL_VECTORS_BEST)->launch(&s, &key, b * RAY_BATCH, RAY_BATCH, &r);
        for (int i = 0; i < RAY_BATCH; i++) {
            int column = (int)floor(r.x[i] / 30 + 1.5), row = (int)floor(r.y[i] / 25 + 1);
            assert_true(column >= 0 && column < 3 && row >= 0 && row < 2);
            hits[row][column]++;
            double x = (r.x[i] - 30.0 * (column - 1)) / 9, y = (r.y[i] - 25 * (row - 0.5)) / 6;
            assert_true(fabs(x) <= 1.000001 && fabs(y) <= 1.000001);
            within2 += x * x;
        }
    }
    for (int d = 0; d < 6; d++)
        assert_true(abs(hits[d / 3][d % 3] - 10 * RAY_BATCH) < 40);
    assert_true(fabs(within2 / (60 * RAY_BATCH) - 1.0 / 3) < 1e-3);
}

/* ---- casting (geometry) ---- */

/* Where the ray meets the plane, in double from the three coordinates of the world. */
static bool lands(const struct cast_frame *f, const struct ray_batch *r, int i, bool lower_edges, int32_t *cell) {
    double o[3] = {r->x[i], r->y[i], r->z[i]}, d[3] = {r->dx[i], r->dy[i], r->dz[i]}, height = f->hz, fall = 0;
    for (int k = 0; k < 3; k++) {
        height += (double)f->mz[k] * o[k];
        fall -= (double)f->mz[k] * d[k];
    }
    double gx = f->hx, gy = f->hy;
    for (int k = 0; k < 3; k++) {
        gx += f->mx[k] * (o[k] + height / fall * d[k]);
        gy += f->my[k] * (o[k] + height / fall * d[k]);
    }
    double column = lower_edges ? floor(gx) : ceil(gx) - 1, row = lower_edges ? floor(gy) : ceil(gy) - 1;
    bool hit = fall > 0 && height >= 0 && column >= 0 && column < grid.columns && row >= 0 && row < grid.rows;
    *cell = hit ? (int32_t)row * grid.columns + (int32_t)column : grid.columns * grid.rows;
    double edge = fmin(fabs(gx - round(gx)), fabs(gy - round(gy)));
    return edge > 1e-4; /* else float and double may land on two sides of an edge */
}

/* Landings that float and double agree on: how many were told apart, how many of them on the map, how many disagree.
 */
struct agreement {
    int told, hits, nowhere, wrong;
};

static struct agreement compare_landings(float slip_rad) {
    static struct ray_batch r;
    static struct landings l;
    struct cast_frame frame = tilted(0.7f), reference = tilted(0.7f + slip_rad);
    struct launch_source s = source(LUXFALL_DISC, 1, 1, &lambertian);
    struct point_key key = {12, LUXFALL_RANDOM};
    struct agreement out = {0};
    for (uint64_t b = 0; b < 32; b++) {
        kernels_choose(LUXFALL_VECTORS_BEST)->launch(&s, &key, b * RAY_BATCH, RAY_BATCH, &r);
        kernels_choose(LUXFALL_VECTORS_BEST)->cast(&r, &frame, &grid, l.cell, l.gx, l.gy);
        for (int i = 0; i < RAY_BATCH; i++) {
            int32_t cell;
            out.nowhere += l.gx[i] == CAST_NOWHERE;
            if (!lands(&reference, &r, i, true, &cell))
                continue;
            out.told++;
            out.hits += cell < grid.columns * grid.rows;
            out.wrong += l.cell[i] != cell;
        }
    }
    return out;
}

static void rays_land_where_geometry_says(void **state) {
    (void)state;
    struct agreement right = compare_landings(0), turned = compare_landings(0.002f);
    assert_true(right.told > 32 * RAY_BATCH * 0.99 && right.hits > right.told / 5 && right.nowhere > right.told / 20);
    assert_int_equal(right.wrong, 0);
    assert_true(turned.wrong > 0);
}

/* A cell owns its lower edges: a ray straight down on each of them. */
static bool edges_belong(bool lower) {
    static struct ray_batch r;
    static struct landings l;
    struct cast_frame down = {.hz = 10, .mx = {1, 0, 0}, .my = {0, 1, 0}, .mz = {0, 0, -1}};
    r.count = grid.columns + 2;
    for (int i = 0; i < r.count; i++) {
        r.x[i] = (float)(i - 1);
        r.y[i] = 0.5f;
        r.dz[i] = 1;
    }
    kernels_choose(LUXFALL_VECTORS_BEST)->cast(&r, &down, &grid, l.cell, l.gx, l.gy);
    bool good = true;
    for (int i = 0; i < r.count; i++) {
        int32_t cell;
        (void)lands(&down, &r, i, lower, &cell);
        good &= l.cell[i] == cell;
    }
    return good;
}

static void cells_own_their_lower_edges(void **state) {
    (void)state;
    assert_true(edges_belong(true));
    assert_false(edges_belong(false));
}

static void the_tally_counts_every_ray_once(void **state) {
    (void)state;
    const int32_t cell[] = {3, 0, 3, 4, 3, 0}, backwards[] = {0, 3, 4, 3, 0, 3};
    uint32_t counts[5] = {0}, again[5] = {0};
    kernels_tally(cell, 6, counts);
    kernels_tally(backwards, 6, again);
    const uint32_t wanted[] = {2, 0, 0, 3, 1};
    assert_memory_equal(counts, wanted, sizeof wanted);
    assert_memory_equal(again, wanted, sizeof wanted);
    kernels_tally(cell, 1, counts);
    assert_memory_not_equal(counts, wanted, sizeof wanted);
}

/* ---- lighting points ---- */

/* The definition E = I cos(incidence) / r^2 in double with the exact law, J. H. Lambert, Photometria, 1760. */

enum light_mistake { LIGHT_RIGHT, LIGHT_NO_COSINE, LIGHT_FACE_COSINE, LIGHT_MISTAKES };

static double lit_in_double(const struct light_points *lit, const float axis[3], double rx, double ry, double rz,
                            enum light_mistake mistake) {
    double sum = 0;
    for (int i = 0; i < lit->count; i++) {
        double x = rx + lit->px[i] - lit->sx[i], y = ry + lit->py[i] - lit->sy[i], z = rz - lit->sz[i];
        double rr = x * x + y * y + z * z, r = sqrt(rr), cosine = (axis[0] * x + axis[1] * y + axis[2] * z) / r;
        if (cosine <= 0 || z >= 0)
            continue;
        double incidence = mistake == LIGHT_NO_COSINE ? 1 : -z / r;
        sum += angle_law_relative(&bell_law, acos(fmin(cosine, 1))) * incidence / rr *
               (mistake == LIGHT_FACE_COSINE ? cosine : 1);
    }
    return sum;
}

static bool lights_right(enum light_mistake mistake) {
    static struct light_points lit;
    const float axis[3] = {0.36f, 0.48f, -0.8f};
    bool good = true;
    for (int n = 0; n < 40; n++) {
        some_points(&lit, 1 + n * 26);
        float rx = 54 + (float)(n % 7) * 9 - 27, ry = 72 + (float)(n % 11) * 6 - 30, rz = -120 - (float)(n % 3) * 40;
        double got = kernels_choose(LUXFALL_VECTORS_BEST)->light(&lit, &bell_shape, axis, rx, ry, rz);
        double wanted = lit_in_double(&lit, axis, rx, ry, rz, mistake);
        good &= fabs(got / wanted - 1) < 2e-6;
    }
    return good;
}

static void points_are_lit_by_the_inverse_square(void **state) {
    (void)state;
    assert_true(lights_right(LIGHT_RIGHT));
    for (enum light_mistake m = LIGHT_RIGHT + 1; m < LIGHT_MISTAKES; m++)
        assert_false(lights_right(m));
}

/* Behind the face, above it, and on the face itself: no light, and no NaN. */
static void no_light_behind_the_face(void **state) {
    (void)state;
    static struct light_points lit = {.count = 1};
    const struct kernels *k = kernels_choose(LUXFALL_VECTORS_BEST);
    const float down[3] = {0, 0, -1}, aside[3] = {1, 0, 0};
    assert_true(k->light(&lit, &bell_shape, down, 0, 0, -100) > 0.99e-4);
    assert_true(k->light(&lit, &bell_shape, down, 0, 0, 100) == 0);
    assert_true(k->light(&lit, &bell_shape, down, 0, 0, 0) == 0);
    assert_true(k->light(&lit, &bell_shape, aside, -50, 0, -100) == 0);
    lit.sz[0] = -100;
    assert_true(k->light(&lit, &bell_shape, down, 0, 0, -100) == 0);
    lit.sz[0] = 0;
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(all_widths_give_the_same_bits),   cmocka_unit_test(the_choice_is_what_the_processor_has),
        cmocka_unit_test(rays_belong_to_their_numbers),    cmocka_unit_test(random_points_are_the_stream),
        cmocka_unit_test(a_turn_has_its_stated_error),     cmocka_unit_test(launched_rays_have_their_moments),
        cmocka_unit_test(bell_rays_keep_to_their_cones),   cmocka_unit_test(dies_share_evenly),
        cmocka_unit_test(rays_land_where_geometry_says),   cmocka_unit_test(cells_own_their_lower_edges),
        cmocka_unit_test(the_tally_counts_every_ray_once), cmocka_unit_test(points_are_lit_by_the_inverse_square),
        cmocka_unit_test(no_light_behind_the_face),
    };
    return cmocka_run_group_tests(tests, build_tables, NULL);
}
