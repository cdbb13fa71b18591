/* Turned bodies: profiles by points, straight or smooth.
 *
 * Sources. Cubic spline, its uniqueness and its error in the fourth power of the step: C. de Boor, "A Practical Guide
 * to Splines", 1978, ch. 4 and 5 (from memory). The hyperboloid of conic constant -n^2 that makes light of its focus
 * straight: M. Born and E. Wolf, "Principles of Optics", 7th ed. 1999, sec. 4.2. */
#include "lenses/solid.h"
#include "lenses/vector3.h"
#include "unit/by_steps.h"

#include <math.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <stdlib.h>
#include <string.h>

#include <cmocka.h>

static const double PI = 3.14159265358979323846;

/* ---- the spline (de Boor 1978, ch. 4) ---- */

/* r^2 - r^3 / 24 is level on the axis and straight at 8: it is its own spline through any of its points. */
static double own_cubic(double r) {
    return r * r - r * r * r / 24;
}

static double other_cubic(double r) {
    return r * r - r * r * r / 20;
}

static double worst_error(double (*height)(double), int count, double end_mm) {
    struct profile_point points[65];
    double worst = 0;
    for (int i = 0; i < count; i++) {
        double r = 8 * pow((double)i / (count - 1), 1.3); /* uneven */
        points[i] = (struct profile_point){.radius_mm = r, .z_mm = height(r)};
    }
    const struct patch patch = patch_spline(3, count, points);
    for (int i = 0; i <= 400; i++)
        worst = fmax(worst, fabs(patch_height(&patch, end_mm * i / 400) - height(end_mm * i / 400)));
    return worst;
}

static void a_cubic_is_its_own_spline(void **state) {
    (void)state;
    assert_true(worst_error(own_cubic, 7, 8) < 1e-12);
    assert_true(worst_error(other_cubic, 7, 8) > 1e-3); /* twin: one that is curved at the rim */
}

static double bell(double r) {
    return exp(-r * r / 9);
}

/* Halved steps: an error of a sixteenth (de Boor 1978, ch. 5); away from the rim, whose curvature is not the bell's.
 */
static void the_error_falls_with_the_fourth_power(void **state) {
    (void)state;
    double coarse = worst_error(bell, 17, 5), fine = worst_error(bell, 33, 5), finest = worst_error(bell, 65, 5);
    assert_true(coarse / fine > 12 && coarse / fine < 24);
    assert_true(fine / finest > 12 && fine / finest < 20);
}

static void bounds_hold_what_bulges_between_points(void **state) {
    (void)state;
    struct profile_point points[] = {
        {.z_mm = 0}, {.radius_mm = 1, .z_mm = 1}, {.radius_mm = 3, .z_mm = 1}, {.radius_mm = 4}};
    const struct patch patch = patch_spline(0, 4, points);
    double high = 0, low = 0;
    for (int i = 0; i <= 40000; i++) {
        high = fmax(high, patch_height(&patch, 1e-4 * i));
        low = fmin(low, patch_height(&patch, 1e-4 * i));
    }
    assert_true(high > 1.1 && patch.z_high_mm >= high && patch.z_high_mm < high + 1e-6);
    assert_true(patch.z_low_mm <= low && patch.z_low_mm > low - 1e-6);
}

/* ---- where rays meet it: the height over the profile, looked at step by step (definition) ---- */

static double over(const void *surface, const double at[3]) {
    return at[2] - patch_height(surface, hypot(at[0], at[1]));
}

/* Lines through waves of a spline, or its chords; those that differ. */
static int wrong_meetings(bool smooth, bool looked_smooth) {
    enum { LINES = 400, POINTS = 7 };
    struct pcg32 random = pcg32_seed(85, smooth);
    int wrong = 0;
    for (int i = 0; i < LINES; i++) {
        struct profile_point points[POINTS];
        for (int k = 0; k < POINTS; k++)
            points[k] = (struct profile_point){.radius_mm = 1.2 * k, .z_mm = 2 * pcg32_double(&random)};
        const struct patch spline = patch_spline(0, POINTS, points), straight = patch_facets(0, POINTS, points);
        double polar = PI * pcg32_double(&random), around = 2 * PI * pcg32_double(&random), t = NAN;
        const double d[3] = {sin(polar) * cos(around), sin(polar) * sin(around), cos(polar)};
        const double at[3] = {8 * pcg32_double(&random) - 4 - 2 * d[0], 8 * pcg32_double(&random) - 4 - 2 * d[1],
                              1 - 2 * d[2]};
        const struct patch *looked = looked_smooth ? &spline : &straight;
        const struct looked_at look = {over, looked, looked->radius_high_mm, 20, 20000};
        double steps = met_by_steps(&look, at, d, i % 2);
        bool found = patch_cross(smooth ? &spline : &straight, at, d, i % 2, false, 1e-9, &t);
        wrong += found != !isnan(steps) || (found && fabs(t - steps) > 1e-9);
    }
    return wrong;
}

static void rays_meet_the_profile(void **state) {
    (void)state;
    for (int smooth = 0; smooth < 2; smooth++) {
        assert_true(wrong_meetings(smooth, smooth) <= 2);   /* a grazing pair between two looks */
        assert_true(wrong_meetings(smooth, !smooth) > 100); /* twin: the other way to join */
    }
}

/* ---- a body that makes light straight (Born and Wolf 1999, sec. 4.2) ---- */

/* Mean square angle from the axis behind a flat side, of light from the focus of a hyperboloid by its points. */
static double spread(int count, bool smooth) {
    enum { RAYS = 4000 };
    static struct optic optic;
    static double radius_mm[65], height_mm[65];
    static const double rim_mm[] = {0, 10}, flat_mm[] = {8, 8};
    const double n = 1.49, focal_mm = 20;
    for (int i = 0; i < count; i++) {
        radius_mm[i] = 10.0 * i / (count - 1);
        height_mm[i] = conic_sag(1 / ((n - 1) * focal_mm), -n * n, 0, NULL, radius_mm[i]);
    }
    struct luxfall_lens lens = {.name = "own", .kind = LUXFALL_LENS_TURNED, .material = {.index = n}};
    lens.turned = (struct luxfall_turned){.towards = {(size_t)count, radius_mm, height_mm, smooth},
                                          .away = {2, rim_mm, flat_mm, false},
                                          .gap_mm = focal_mm};
    struct pcg32 random = pcg32_seed(86, 1);
    double sum = 0;
    int out_of = 0;
    assert_int_equal(solid_validate(&lens, NULL), LUXFALL_OK);
    assert_int_equal(solid_optic(&lens, 0, &optic, NULL), LUXFALL_OK);
    for (int i = 0; i < RAYS; i++) {
        double sine = sin(20 * PI / 180) * sqrt(pcg32_double(&random)), around = 2 * PI * pcg32_double(&random);
        const double at[3] = {0, 0, 0}, d[3] = {sine * cos(around), sine * sin(around), sqrt(1 - sine * sine)};
        struct optic_outcome out;
        optic_trace(&optic, at, d, &random, &out);
        if (out.fate != OPTIC_EXIT || out.segments != 3)
            continue;
        sum += 1 - out.end.direction[2] * out.end.direction[2];
        out_of++;
    }
    assert_true(out_of > 0.85 * RAYS);
    return sqrt(sum / out_of);
}

static void points_of_a_hyperboloid_make_light_straight(void **state) {
    (void)state;
    double smooth = spread(33, true), coarse = spread(17, true), straight = spread(33, false),
           chords = spread(17, false);
    print_message("off the axis: smooth %.3g and %.3g rad, straight %.3g and %.3g\n", smooth, coarse, straight,
                  chords);
    assert_true(smooth < 1e-4 && smooth < coarse / 4);
    assert_true(straight > 100 * smooth);                            /* twin: facets */
    assert_true(chords / straight > 1.9 && chords / straight < 2.1); /* a chord is off by half its turn */
}

/* ---- edges: a ray that meets one meets a facet that faces it (definition) ---- */

/* Grooves with a ray aimed at one of their edges, from either side. True: it met a facet there; *towards: the cosine
 * to its normal, along the sense. */
static bool meets_an_edge(struct pcg32 *random, double *towards) {
    enum { POINTS = 9 };
    struct profile_point points[POINTS] = {{0}};
    for (int i = 0; i < POINTS; i++)
        points[i] = (struct profile_point){.radius_mm = 1.1 * i, .z_mm = i % 2 * (0.2 + pcg32_double(random))};
    const struct patch patch = patch_facets(0, POINTS, points);
    const struct profile_point *edge = &points[1 + pcg32_next(random) % (POINTS - 2)];
    double azimuth = 2 * PI * pcg32_double(random), turn = 2 * PI * pcg32_double(random),
           lean = 0.5 * (pcg32_double(random) - 0.3);
    double direction[3] = {cos(turn) * cos(lean), sin(turn) * cos(lean), sin(lean)}, t_mm, normal[3];
    double at[3] = {edge->radius_mm * cos(azimuth), edge->radius_mm * sin(azimuth), edge->z_mm};
    bool going_up = pcg32_double(random) < 0.5;
    along3(at, -0.3, direction, at);
    if (!patch_cross(&patch, at, direction, going_up, false, 1e-10, &t_mm) || fabs(t_mm - 0.3) > 1e-9)
        return false;
    along3(at, t_mm, direction, at);
    patch_normal(&patch, at, normal);
    *towards = dot3(normal, direction) * (going_up ? 1 : -1);
    return true;
}

static void an_edge_is_met_on_a_side_that_faces_the_ray(void **state) {
    (void)state;
    struct pcg32 random = pcg32_seed(86, 1);
    int met = 0;
    for (int i = 0; i < 40000; i++) {
        double towards;
        if (!meets_an_edge(&random, &towards))
            continue;
        met++;
        assert_true(towards > -1e-6);
    }
    assert_true(met > 10000);
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(a_cubic_is_its_own_spline),
        cmocka_unit_test(the_error_falls_with_the_fourth_power),
        cmocka_unit_test(bounds_hold_what_bulges_between_points),
        cmocka_unit_test(rays_meet_the_profile),
        cmocka_unit_test(an_edge_is_met_on_a_side_that_faces_the_ray),
        cmocka_unit_test(points_of_a_hyperboloid_make_light_straight),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
