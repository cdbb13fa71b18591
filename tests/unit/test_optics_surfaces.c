/* Planes and spheres against roots worked out to 20 digits.
 *
 * Sources. Sag of a sphere from its vertex: M. Born and E. Wolf, "Principles of Optics", 7th ed. 1999, sec. 4.4.
 * Roots of a quadratic without cancellation: W. H. Press et al., "Numerical Recipes", 3rd ed. 2007, sec. 5.6 (both
 * from memory). The roots below are those of the exact inputs as written, solved with 50 digits. */
#include "lenses/surface.h"

#include <math.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>

#include <cmocka.h>

/* A ray, a surface, the sense of the crossing and its distance. Two crossings of a sphere are on the halves about two
 * opposite vertices. `tolerance` is relative where the root is simple, absolute (mm) near a tangent. */
struct crossing {
    const char *name;
    double origin[3], direction[3];
    double vertex, curvature;
    enum surface_sense sense;
    double t, tolerance;
};

static const struct crossing crossings[] = {
    {"far origin, near half", {3, 4, -1e8}, {0, 0, 1}, -10, 0.1, SURFACE_UP, 99999991.339745962156, 1e-4},
    {"far origin, far half", {3, 4, -1e8}, {0, 0, 1}, 10, -0.1, SURFACE_UP, 100000008.66025403784, 1e-4},
    {"grazing, near half", {9.999999, 0, -50}, {0, 0, 1}, -10, 0.1, SURFACE_UP, 49.995527864158477295, 1e-9},
    {"grazing, far half", {9.999999, 0, -50}, {0, 0, 1}, 10, -0.1, SURFACE_UP, 50.004472135841522705, 1e-9},
    {"near tangent, near half", {10 - 0x1p-40, 0, -50}, {0, 0, 1}, -10, 0.1, SURFACE_UP, 49.999995735038800240, 2e-7},
    {"near tangent, far half", {10 - 0x1p-40, 0, -50}, {0, 0, 1}, 10, -0.1, SURFACE_UP, 50.000004264961199760, 2e-7},
    {"tangent", {10, 0, -50}, {0, 0, 1}, -10, 0.1, SURFACE_UP, 50, 1e-6},
    {"flat sphere, near half", {5, 0, -1}, {0, 0, 1}, 0, 1e-6, SURFACE_UP, 1.0000125000000000781, 1e-12},
    {"flat sphere, far half", {5, 0, -1}, {0, 0, 1}, 2e6, -1e-6, SURFACE_UP, 2000000.9999875000, 1e-6},
    {"starts on it, far half", {0, 0, -10}, {0.6, 0, 0.8}, 10, -0.1, SURFACE_UP, 16, 1e-11},
    {"nearly plane", {-30, 0, -40}, {0.6, 0, 0.8}, 0, 1e-9, SURFACE_UP, 49.999999999999997224, 5e-11},
    {"plane", {-30, 7, -40}, {0.6, 0, 0.8}, 4, 0, SURFACE_UP, 55, 5e-11},
    {"plane, downwards", {-30, 7, 40}, {0.6, 0, -0.8}, 4, 0, SURFACE_DOWN, 45, 5e-11},
};
enum { CROSSINGS = sizeof crossings / sizeof *crossings };

static bool ours(const struct crossing *c, double *t) {
    const struct surface surface = {c->curvature == 0 ? &surface_plane : &surface_sphere, c->vertex, c->curvature};
    return surface.kind->cross(&surface, c->origin, c->direction, c->sense, t);
}

/* Twin: the roots of the schoolbook formula about the centre; the one nearer to the expected distance. */
static bool schoolbook(const struct crossing *c, double *t) {
    if (c->curvature == 0)
        return ours(c, t);
    const double radius = 1 / c->curvature, centre = c->vertex + radius;
    const double f[3] = {c->origin[0], c->origin[1], c->origin[2] - centre};
    const double b = f[0] * c->direction[0] + f[1] * c->direction[1] + f[2] * c->direction[2];
    const double e = f[0] * f[0] + f[1] * f[1] + f[2] * f[2] - radius * radius;
    const double near_t = -b - sqrt(b * b - e), far_t = -b + sqrt(b * b - e);
    *t = fabs(near_t - c->t) < fabs(far_t - c->t) ? near_t : far_t;
    return true;
}

static int wrong_crossings(bool (*cross)(const struct crossing *, double *)) {
    int wrong = 0;
    for (int i = 0; i < CROSSINGS; i++) {
        double t = NAN;
        const bool found = cross(&crossings[i], &t);
        wrong += !(found && fabs(t - crossings[i].t) <= crossings[i].tolerance);
    }
    return wrong;
}

static void hard_cases_meet_their_roots(void **state) {
    (void)state;
    assert_int_equal(wrong_crossings(ours), 0);
}

static void the_schoolbook_formula_fails_them(void **state) {
    (void)state;
    assert_true(wrong_crossings(schoolbook) >= 3); /* far origin 0.06 mm off, flat sphere 2.5e-9 */
}

/* A ray that has just been turned back at a surface finds the other crossing of its chord, at any steepness. */
static void a_ray_never_finds_its_own_start(void **state) {
    (void)state;
    const struct surface dome = {&surface_sphere, 10, -0.1};
    for (int i = 1; i < 2000; i++) {
        const double place = 0.7 * i / 2000, steep = pow(10, -7.0 * i / 2000); /* cosine of the incidence */
        const double at[3] = {10 * sin(place), 0, 10 * cos(place)};
        const double along = sqrt((1 - steep) * (1 + steep)); /* along the tangent, over the top of the dome */
        const double direction[3] = {-along * cos(place) - steep * sin(place), 0,
                                     along * sin(place) - steep * cos(place)};
        double t, normal[3];
        if (!dome.kind->cross(&dome, at, direction, SURFACE_UP, &t))
            continue;                                              /* the chord ends on the other half */
        assert_true(fabs(t - 20 * steep) < 1e-13 + 5e-15 / steep); /* rounding of the place, over the cosine */
        dome.kind->normal(&dome, at, normal);
        assert_true(fabs(normal[0] - sin(place)) < 1e-15 && fabs(normal[2] - cos(place)) < 1e-15);
    }
}

static void what_misses_is_told(void **state) {
    (void)state;
    const struct surface dome = {&surface_sphere, 10, -0.1}, plane = {&surface_plane, 3, 0};
    const double beside[3] = {10.001, 0, -50}, inside[3] = {0, 0, 0}, up[3] = {0, 0, 1}, level[3] = {1, 0, 0};
    const double down[3] = {0, 0, -1};
    double t;
    assert_false(dome.kind->cross(&dome, beside, up, SURFACE_UP, &t));
    assert_false(dome.kind->cross(&dome, inside, down, SURFACE_UP, &t)); /* the lower half is not the dome's */
    assert_false(dome.kind->cross(&dome, inside, up, SURFACE_DOWN, &t));
    assert_false(plane.kind->cross(&plane, inside, level, SURFACE_UP, &t));
    assert_false(plane.kind->cross(&plane, inside, up, SURFACE_DOWN, &t));
}

/* Sags of spheres, from 50 digits. */
static const struct {
    double r, radius, sag;
} sags[] = {
    {5, 10, 1.339745962155614},         {9.999999, 10, 9.995527864156804}, {5, 1e6, 1.25000000000781250e-5},
    {1e-4, 1e4, 5.000000000000000e-13}, {12.25, 24.5, 3.282377607281253},  {12, -25, -3.068287800538691},
};

static double our_sag(double r, double radius) {
    const struct surface sphere = {&surface_sphere, 0, 1 / radius};
    return sphere.kind->sag(&sphere, r);
}

static double subtracted_sag(double r, double radius) {
    return copysign(fabs(radius) - sqrt(radius * radius - r * r), radius);
}

static int wrong_sags(double (*sag)(double, double)) {
    int wrong = 0;
    for (size_t i = 0; i < sizeof sags / sizeof *sags; i++) {
        const double tolerance = sags[i].r == 9.999999 ? 1e-9 : 1e-15; /* 4 ulp; the slope of that one is 2236 */
        wrong += !(fabs(sag(sags[i].r, sags[i].radius) - sags[i].sag) <= tolerance * fabs(sags[i].sag));
    }
    return wrong;
}

static void sags_keep_their_digits(void **state) {
    (void)state;
    assert_int_equal(wrong_sags(our_sag), 0);
}

static void a_subtracted_sag_loses_them(void **state) {
    (void)state;
    assert_true(wrong_sags(subtracted_sag) >= 2);
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(hard_cases_meet_their_roots),     cmocka_unit_test(the_schoolbook_formula_fails_them),
        cmocka_unit_test(a_ray_never_finds_its_own_start), cmocka_unit_test(what_misses_is_told),
        cmocka_unit_test(sags_keep_their_digits),          cmocka_unit_test(a_subtracted_sag_loses_them),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
