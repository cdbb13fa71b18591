/* Surfaces of revolution met by rays, and what exact conics do with light.
 *
 * Sources. Conics and their foci: M. Born and E. Wolf, "Principles of Optics", 7th
 * ed. 1999, sec. 4.2; W. T. Welford, "Aberrations of Optical Systems", 1986 (both from memory). Each value
 * below was worked out with 50 digits by Snell's law in vectors (derived). */
#include "lenses/optic.h"

#include <math.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <stdlib.h>

#include <cmocka.h>

static const double PI = 3.14159265358979323846;
static double deg(double rad) {
    return rad * 180 / PI;
}

/* ---- crossings ---- */

struct crossing {
    const char *name;
    double origin[3], direction[3], radius, conic;
    bool up;
    double t, tolerance; /* relative */
};
/* Values (derived: roots of the exact inputs with 50 digits; roots without cancellation: Press et al., "Numerical
 * Recipes", 2007, sec. 5.6). A ghost of the other sheet has the other sense. */
static const struct crossing crossings[] = {
    {"far origin, first", {3, 4, -1e8 + 10}, {0, 0, 1}, 10, 0, true, 99999991.339745962156, 1e-12},
    {"far origin, second", {3, 4, -1e8 + 10}, {0, 0, 1}, 10, 0, false, 100000008.66025403784, 1e-12},
    {"grazing, first", {9.999999, 0, -40}, {0, 0, 1}, 10, 0, true, 49.995527864158477295, 1e-10},
    {"grazing, second", {9.999999, 0, -40}, {0, 0, 1}, 10, 0, false, 50.004472135841522705, 1e-10},
    {"flat sphere", {5, 0, -1}, {0, 0, 1}, 1e6, 0, true, 1.0000125000000000781, 1e-14},
    {"paraboloid along its axis", {12, 5, -100}, {0, 0, 1}, 12, -1, true, 107.04166666666666667, 1e-14},
    {"paraboloid, nearly along its axis", {12, 5, -100}, {1e-9, 0, 1}, 12, -1, true, 107.04166677370833392, 1e-12},
    {"two sheets, the true one", {5, 0, -40}, {0, 0, 1}, 9.8, -2.2201, true, 41.187698611582442442, 1e-14},
    {"two sheets, the ghost", {5, 0, -40}, {0, 0, 1}, 9.8, -2.2201, false, 22.748044360305106098, 1e-14},
    {"nearly plane", {-30, 0, -40}, {0.6, 0, 0.8}, 1e9, 0, true, 49.999999999999997224, 1e-13},
};
enum { CROSSINGS = sizeof crossings / sizeof *crossings };

static void crossings_are_those_worked_out(void **state) {
    (void)state;
    for (int i = 0; i < CROSSINGS; i++) {
        const struct crossing *c = &crossings[i];
        struct patch patch = patch_conic(0, 1 / c->radius, c->conic);
        double t = NAN;
        bool found = patch_cross(&patch, c->origin, c->direction, c->up, false, 0, &t);
        if (!found || !(fabs(t / c->t - 1) <= c->tolerance))
            fail_msg("%s: %.17g, not %.17g", c->name, t, c->t);
    }
}

/* Twin: the smallest positive root, whatever its sense, is the ghost. */
static void the_nearest_root_is_not_always_the_surface(void **state) {
    (void)state;
    struct patch patch = patch_conic(0, 1 / 9.8, -2.2201);
    const double at[3] = {5, 0, -40}, along[3] = {0, 0, 1};
    double up, down;
    assert_true(patch_cross(&patch, at, along, true, false, 0, &up));
    assert_true(patch_cross(&patch, at, along, false, false, 0, &down));
    assert_true(fmin(up, down) < 41);
    patch.z_low_mm = -1; /* bounds cut the ghost off */
    assert_false(patch_cross(&patch, at, along, false, false, 0, &down));
}

/* ---- sag ---- */

struct sag_row {
    double r, radius, conic, poly[3];
    int count;
    double z, tolerance;
};
/* Values (derived; the form of ISO 10110-12: conic plus even powers). */
static const struct sag_row sags[] = {
    {5, 10, 0, {0}, 0, 1.339745962155614, 1e-15},
    {5, 10, -1, {0}, 0, 1.250000000000000, 1e-15},
    {5, 10, -2.2201, {0}, 0, 1.166928186459469, 1e-15},
    {5, 10, 1.5, {0}, 0, 1.550510257216822, 1e-15},
    {9.999999, 10, 0, {0}, 0, 9.995527864156804, 1e-12},
    {1e-4, 1e4, -0.5, {0}, 0, 5.000000000000000e-13, 1e-15},
    {5, 10, -0.6, {1e-5, -2e-8, 3e-11}, 3, 1.288866767487155, 1e-15},
    {12, -25, -3, {-4e-6, 5e-9}, 2, -2.675959009738128, 1e-15},
};
enum { SAGS = sizeof sags / sizeof *sags };

static void sags_are_those_worked_out(void **state) {
    (void)state;
    for (int i = 0; i < SAGS; i++) {
        const struct sag_row *s = &sags[i];
        double z = conic_sag(1 / s->radius, s->conic, s->count, s->poly, s->r);
        if (!(fabs(z / s->z - 1) <= 2 * s->tolerance))
            fail_msg("row %d: %.17g, not %.17g", i, z, s->z);
        /* and a ray along the axis meets the surface there */
        struct patch patch = patch_asphere(0, 1 / s->radius, s->conic, s->count, s->poly);
        patch.radius_high_mm = s->r * 1.0000001;
        patch.z_low_mm = -12;
        patch.z_high_mm = 12;
        const double at[3] = {s->r, 0, -20}, along[3] = {0, 0, 1};
        double t = NAN;
        assert_true(patch_cross(&patch, at, along, true, false, 0, &t));
        if (!(fabs(t - 20 - s->z) < 1e-8))
            fail_msg("row %d: met at %.17g, not %.17g", i, t - 20, s->z);
    }
}

/* Twin: R - sqrt(R^2 - r^2) has no digit left of row 6. */
static void the_schoolbook_sag_fails(void **state) {
    (void)state;
    assert_true(fabs((1e4 - sqrt(1e8 - 1e-8)) / 5e-13 - 1) > 0.5);
}

/* ---- straight through ---- */

static struct patch between(struct patch patch, int down, int up, double radius_mm) {
    patch.down = down;
    patch.up = up;
    patch.radius_high_mm = radius_mm;
    return patch;
}

static void open_air(struct optic *optic, double index, double size_mm) {
    *optic = (struct optic){.material_count = 2, .size_mm = size_mm};
    optic->materials[0] = (struct optic_material){1, 0, true};
    optic->materials[1] = (struct optic_material){index, 0, false};
}

static void add(struct optic *optic, struct patch patch) {
    optic->patches[optic->patch_count++] = patch;
}

/* The path that is reflected nowhere: streams are tried until chance takes it. */
static struct path through(const struct optic *optic, double x, double y, double z, const double direction[3],
                           int segments) {
    const double at[3] = {x, y, z};
    for (uint64_t i = 0; i < 10000; i++) {
        struct pcg32 random = pcg32_seed(i, 7);
        struct optic_outcome out;
        optic_trace(optic, at, direction, &random, &out);
        if (out.fate == OPTIC_EXIT && out.segments == segments)
            return out.end;
    }
    fail_msg("no ray goes through at %g", x);
    abort();
}

static const double UP[3] = {0, 0, 1};

static double crosses_axis(const struct path *path) {
    return path->at_mm[2] - path->at_mm[0] * path->direction[2] / path->direction[0];
}
static double slant(const struct path *path) {
    return deg(atan2(-path->direction[0], path->direction[2]));
}

/* ---- exact foci ---- */

/* Plano-hyperbolic, K = -n^2, R = (n - 1) f: a parallel beam in glass meets in one point, f behind the vertex (Born
 * and Wolf 1999, sec. 4.2; angles derived). Twin: K = -n. */
static double hyperbolic_crossing(double conic, double h, double *angle) {
    struct optic optic;
    open_air(&optic, 1.49, 40);
    add(&optic, between(patch_plane(1), 0, 1, 16));
    struct patch back = between(patch_conic(20, -1 / 9.8, conic), 1, 0, 16);
    back.z_low_mm = 1;
    back.z_high_mm = 20;
    add(&optic, back);
    struct path out = through(&optic, h, 0, 0, UP, 3);
    *angle = slant(&out);
    return crosses_axis(&out) - 20;
}

static void a_hyperboloid_has_one_focus(void **state) {
    (void)state;
    const double rows[][2] = {{1, 2.85515670957}, {5, 13.2780758517}, {10, 22.5601919057}, {15, 28.3971080477}};
    for (int i = 0; i < 4; i++) {
        double angle, twin_angle;
        assert_true(fabs(hyperbolic_crossing(-2.2201, rows[i][0], &angle) - 20) < 2e-12);
        assert_true(fabs(angle - rows[i][1]) < 1e-10);
        if (rows[i][0] <= 5) /* farther out the twin reflects all */
            assert_true(fabs(hyperbolic_crossing(-1.49, rows[i][0], &twin_angle) - 20) > 1e-3);
    }
}

/* Ellipsoid, K = -1/n^2, air to glass: focus n R / (n - 1) inside. The ray leaves by a plane close behind the vertex,
 * and its slope there tells by Snell's law what it was inside. Twin: the sign of K. */
static double ellipsoid_focus(double conic, double h) {
    struct optic optic;
    open_air(&optic, 1.49, 60);
    struct patch front = between(patch_conic(5, 0.1, conic), 0, 1, 13.4);
    front.z_high_mm = 20;
    add(&optic, front);
    add(&optic, between(patch_plane(20), 1, 0, 20));
    struct path out = through(&optic, h, 0, 0, UP, 3);
    double sine = -out.direction[0] / 1.49;
    return out.at_mm[2] + out.at_mm[0] * sqrt(1 - sine * sine) / sine - 5;
}

static void an_ellipsoid_has_one_focus(void **state) {
    (void)state;
    const double heights[] = {1, 5, 10, 13};
    for (int i = 0; i < 4; i++) {
        assert_true(fabs(ellipsoid_focus(-1 / (1.49 * 1.49), heights[i]) - 30.4081632653061) < 1e-11);
        if (heights[i] < 6)
            assert_true(fabs(ellipsoid_focus(1 / (1.49 * 1.49), heights[i]) - 30.4081632653061) > 0.01);
    }
}

/* ---- mirrors ---- */

static struct patch mirror(struct patch patch) {
    patch.deed = PATCH_MIRROR;
    patch.comes_back = 1;
    return patch;
}

/* Paraboloid z = r^2 / 4f, f 6: from the focus all light leaves along the axis (Born and Wolf 1999, sec. 4.2). Twin:
 * the lamp beside the focus. */
static double tilt_from_paraboloid(double source_z, double angle_deg) {
    struct optic optic;
    open_air(&optic, 1.49, 60);
    struct patch bowl = mirror(between(patch_conic(0, 1 / 12.0, -1), 0, 0, 30));
    bowl.z_high_mm = 30;
    add(&optic, bowl);
    double angle = angle_deg * PI / 180;
    const double direction[3] = {sin(angle), 0, -cos(angle)};
    struct path out = through(&optic, 0, 0, source_z, direction, 2);
    return hypot(out.direction[0], out.direction[1]);
}

static void a_paraboloid_makes_light_parallel(void **state) {
    (void)state;
    /* angles from -z at which the ray meets the bowl at 3, 12 and 24 mm (derived) */
    const double angles[] = {28.0724869359, 90, 126.869897646};
    for (int i = 0; i < 3; i++) {
        assert_true(tilt_from_paraboloid(6, angles[i]) < 1e-14);
        assert_true(tilt_from_paraboloid(6.1, angles[i]) > 1e-3);
    }
}

/* Ellipsoid a 30, b 20: foci 7.639320225002 and 52.36067977500 from the vertex (definition of the ellipse). */
static void an_ellipsoid_mirror_joins_its_foci(void **state) {
    (void)state;
    struct optic optic;
    open_air(&optic, 1.49, 60);
    struct patch bowl = mirror(between(patch_conic(0, 3 / 40.0, -5 / 9.0), 0, 0, 20));
    bowl.z_high_mm = 30;
    add(&optic, bowl);
    for (double angle = 0.3; angle < 1.8; angle += 0.1) {
        const double direction[3] = {sin(angle), 0, -cos(angle)};
        struct path out = through(&optic, 0, 0, 7.639320225002, direction, 2);
        assert_true(fabs(crosses_axis(&out) - 52.36067977500) < 1e-10);
    }
}

/* ---- scatter ---- */

/* Share of a Gaussian of s = 10 deg (per solid angle) inside half its width, and inside 30 deg of a Lambertian
 * (derived by quadrature: 0.5035259261; sin^2 30 = 0.25). Twin: the polar angle drawn from a plane normal gives
 * 0.761. 100 000 rays, four standard errors. */
static double share_within(const struct optic *optic, double angle_rad) {
    const long rays = 100000;
    const double at[3] = {0, 0, 0};
    long within = 0, out_count = 0;
    struct pcg32 random = pcg32_seed(11, 3);
    for (long i = 0; i < rays; i++) {
        struct optic_outcome out;
        optic_trace(optic, at, UP, &random, &out);
        if (out.fate != OPTIC_EXIT)
            continue;
        out_count++;
        within += out.end.direction[2] > cos(angle_rad);
    }
    return (double)within / (double)out_count;
}

static void scatter_has_its_width(void **state) {
    (void)state;
    struct optic optic;
    open_air(&optic, 1, 20); /* no bending: the scatter alone */
    struct patch frosted = between(patch_plane(5), 0, 1, 1e9);
    frosted.deed = PATCH_FROSTED;
    frosted.spread_rad = 10 * PI / 180;
    optic.materials[1].open = true;
    add(&optic, frosted);
    const double half_width = 10 * PI / 180 * 2.354820045 / 2;
    assert_true(fabs(share_within(&optic, half_width) - 0.5035259261) < 4 * sqrt(0.25 / 1e5));
    assert_true(fabs(share_within(&optic, half_width) - 0.761) > 0.2);
    optic.patches[0].deed = PATCH_LAMBERTIAN;
    optic.patches[0].passes = 0.6;
    optic.patches[0].comes_back = 0.3;
    assert_true(fabs(share_within(&optic, PI / 6) - 0.25) < 4 * sqrt(0.1875 / 5e4));
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(crossings_are_those_worked_out),
        cmocka_unit_test(the_nearest_root_is_not_always_the_surface),
        cmocka_unit_test(sags_are_those_worked_out),
        cmocka_unit_test(the_schoolbook_sag_fails),
        cmocka_unit_test(a_hyperboloid_has_one_focus),
        cmocka_unit_test(an_ellipsoid_has_one_focus),
        cmocka_unit_test(a_paraboloid_makes_light_parallel),
        cmocka_unit_test(an_ellipsoid_mirror_joins_its_foci),
        cmocka_unit_test(scatter_has_its_width),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
