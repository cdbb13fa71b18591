/* Exchange of light in closed rooms of black walls, by first flights.
 *
 * Sources. R. Siegel and J. Howell, "Thermal Radiation Heat Transfer", 4th ed. 2002, app. C (from memory): view
 * factors of coaxial discs, from which those of a closed cylinder follow by summing to 1 and by reciprocity; of
 * opposite and adjacent squares (values derived by contour integration). */
#include "lenses/optic.h"

#include <math.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <stdlib.h>

#include <cmocka.h>

static const double PI = 3.14159265358979323846;
enum { RAYS = 100000, OUTSIDE = 1, PARTS = 8 };

/* A wall that tells where light ended; its loss stands for its number. Behind it is nothing. */
static void add_wall(struct optic *optic, struct patch patch, bool room_is_up) {
    patch.down = room_is_up ? OUTSIDE : 0;
    patch.up = room_is_up ? 0 : OUTSIDE;
    patch.deed = PATCH_STOP;
    patch.loss = optic->patch_count;
    optic->patches[optic->patch_count++] = patch;
}

static void room_of(struct optic *optic, double size_mm) {
    *optic = (struct optic){.material_count = 2, .size_mm = size_mm};
}

/* A Lambertian direction about the inward normal n; e and f span the wall. */
static void lambertian(struct pcg32 *random, const double n[3], const double e[3], const double f[3], double out[3]) {
    double s = sqrt(pcg32_double(random)), around = 2 * PI * pcg32_double(random), up = sqrt(1 - s * s);
    for (int i = 0; i < 3; i++)
        out[i] = up * n[i] + s * (cos(around) * e[i] + sin(around) * f[i]);
}

static int where_it_ends(const struct optic *optic, const double at[3], const double d[3], struct pcg32 *random) {
    struct optic_outcome out;
    optic_trace(optic, at, d, random, &out);
    assert_int_equal(out.fate, OPTIC_ABSORBED);
    return out.loss;
}

static bool agrees(double share, double published) {
    return fabs(share - published) < 4 * sqrt(published * (1 - published) / RAYS);
}

/* ---- a closed cylinder (Siegel and Howell 2002, app. C: coaxial discs) ---- */

enum { FLOOR, TOP, SIDE };

static void cylinder_room(struct optic *optic, double height_mm) {
    struct patch floor = patch_plane(0), top = patch_plane(height_mm), side = patch_cylinder(1);
    room_of(optic, 2 + height_mm);
    floor.radius_high_mm = top.radius_high_mm = 1;
    side.z_low_mm = 0;
    side.z_high_mm = height_mm;
    add_wall(optic, floor, true);
    add_wall(optic, top, false);
    add_wall(optic, side, false);
}

static void shares_of_cylinder(double height_mm, bool from_side, double shares[PARTS]) {
    static struct optic optic;
    static const double x[3] = {1, 0, 0}, y[3] = {0, 1, 0}, z[3] = {0, 0, 1}, inwards[3] = {-1, 0, 0};
    struct pcg32 random = pcg32_seed(91, from_side);
    cylinder_room(&optic, height_mm);
    for (int i = 0; i < PARTS; i++)
        shares[i] = 0;
    for (int i = 0; i < RAYS; i++) {
        double d[3], u = pcg32_double(&random);
        const double floor[3] = {sqrt(u), 0, 1e-12}, side[3] = {1 - 1e-12, 0, height_mm * u};
        if (from_side)
            lambertian(&random, inwards, y, z, d);
        else
            lambertian(&random, z, x, y, d);
        shares[where_it_ends(&optic, from_side ? side : floor, d, &random)] += 1.0 / RAYS;
    }
}

static void a_cylinder_exchanges_what_is_published(void **state) {
    (void)state;
    /* height; base to base, base to side, side to each base, side to itself */
    static const double rows[][5] = {{1, 0.381966011250, 0.618033988750, 0.309016994375, 0.381966011250},
                                     {2, 0.171572875254, 0.828427124746, 0.207106781187, 0.585786437627},
                                     {10, 0.00980486407215, 0.990195135928, 0.0495097567964, 0.900980486407}};
    for (int i = 0; i < 3; i++) {
        double base[PARTS], side[PARTS], other[PARTS];
        shares_of_cylinder(rows[i][0], false, base);
        shares_of_cylinder(rows[i][0], true, side);
        assert_true(agrees(base[TOP], rows[i][1]) && agrees(base[SIDE], rows[i][2]));
        assert_true(agrees(side[FLOOR], rows[i][3]) && agrees(side[TOP], rows[i][3]) &&
                    agrees(side[SIDE], rows[i][4]));
        shares_of_cylinder(1.2 * rows[i][0], false, other);
        assert_false(agrees(other[TOP], rows[i][1])); /* twin: a fifth higher */
    }
}

/* A perfect mirror for the side: all of it arrives (by definition). */
static void a_mirror_tube_passes_all(void **state) {
    (void)state;
    static struct optic optic;
    static const double x[3] = {1, 0, 0}, y[3] = {0, 1, 0}, z[3] = {0, 0, 1};
    struct pcg32 random = pcg32_seed(92, 1);
    for (int dark = 0; dark < 2; dark++) {
        int arrived = 0;
        cylinder_room(&optic, 10);
        optic.patches[SIDE].deed = PATCH_MIRROR;
        optic.patches[SIDE].comes_back = dark ? 0.99 : 1;
        for (int i = 0; i < RAYS / 10; i++) {
            double d[3];
            const double at[3] = {sqrt(pcg32_double(&random)), 0, 1e-12};
            lambertian(&random, z, x, y, d);
            if (d[2] < 0.02) { /* so level that it meets more than a thousand walls */
                arrived++;
                continue;
            }
            arrived += where_it_ends(&optic, at, d, &random) == TOP;
        }
        assert_true(dark ? arrived < 0.97 * (RAYS / 10) : arrived == RAYS / 10); /* twin: 99 % */
    }
}

/* ---- a cube (Siegel and Howell 2002, app. C: opposite and adjacent squares) ---- */

static void a_cube_exchanges_what_is_published(void **state) {
    (void)state;
    static const double adjacent = 0.200043776075;
    static const double x[3] = {1, 0, 0}, y[3] = {0, 1, 0}, z[3] = {0, 0, 1};
    static const double heights[] = {1, 0.5, 5}, published[] = {0.199824895698, 0.415253283577, 0.0124039773132};
    for (int k = 0; k < 3; k++) {
        static struct optic optic;
        struct patch_side sides[PATCH_SIDES_MAX];
        struct pcg32 random = pcg32_seed(93, (uint64_t)k);
        double shares[PARTS] = {0}, height_mm = heights[k];
        int count = patch_sides_of_rectangle(1, 1, sides);
        room_of(&optic, 2 + height_mm);
        for (int i = -2; i < count; i++) {
            struct patch wall = i < 0 ? patch_plane(i == -2 ? 0 : height_mm) : patch_wall(sides[i], 0.5);
            wall.side_count = i < 0 ? count : 1;
            for (int s = 0; s < count && i < 0; s++)
                wall.sides[s] = sides[s];
            wall.z_low_mm = i == -1 ? height_mm : 0;
            wall.z_high_mm = i == -2 ? 0 : height_mm;
            add_wall(&optic, wall, i == -2);
        }
        for (int i = 0; i < RAYS; i++) {
            double d[3];
            const double at[3] = {pcg32_double(&random) - 0.5, pcg32_double(&random) - 0.5, 1e-12};
            lambertian(&random, z, x, y, d);
            shares[where_it_ends(&optic, at, d, &random)] += 1.0 / RAYS;
        }
        assert_true(agrees(shares[1], published[k]));
        for (int side = 2; side < 6 && k == 0; side++)
            assert_true(agrees(shares[side], adjacent));
        assert_false(agrees(shares[2], published[k]) && k > 0); /* twin: a side for the top */
    }
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(a_cylinder_exchanges_what_is_published),
        cmocka_unit_test(a_mirror_tube_passes_all),
        cmocka_unit_test(a_cube_exchanges_what_is_published),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
