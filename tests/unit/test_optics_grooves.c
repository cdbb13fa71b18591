/* Facets and the flat lens that is made of them.
 *
 * Sources. The facet that sends a ray straight on follows from Snell's law at it alone: tan f = n sin a / (n cos a -
 * 1) behind a flat side, tan f = sin a / (n - cos a) before one; so in A. Davis and F. Kuhnlenz, "Optical Design
 * using Fresnel Lenses", Optik & Photonik 2 (4), 52 (2007), from memory. Crossings of facets are held against those
 * of cones, in closed form: Press et al., "Numerical Recipes", 3rd ed. 2007, sec. 5.6. */
#include "unit/one_ray.h"

#include <math.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <stdlib.h>
#include <string.h>

#include <cmocka.h>

static const double DEG = 3.14159265358979323846 / 180;

/* ---- crossings: a facet is a piece of a cone (Press et al. 2007, sec. 5.6) ---- */

/* A zigzag of facets; one patch for all, and a cone of its own for each. */
enum { FACETS = 12 };
struct zigzag {
    struct profile_point points[FACETS + 1];
    struct patch whole, cones[FACETS];
};

static void zigzag_make(struct pcg32 *random, struct zigzag *out) {
    double radius_mm = 0;
    for (int i = 0; i <= FACETS; i++) {
        out->points[i] = (struct profile_point){.radius_mm = radius_mm, .z_mm = 3 * pcg32_double(random)};
        radius_mm += 0.2 + pcg32_double(random);
    }
    out->whole = patch_facets(5, FACETS + 1, out->points);
    for (int i = 0; i < FACETS; i++) {
        const struct profile_point *p = &out->points[i];
        out->cones[i] = patch_cone(5 + p[0].z_mm, p[0].radius_mm, 5 + p[1].z_mm, p[1].radius_mm);
        out->cones[i].radius_low_mm = p[0].radius_mm;
        out->cones[i].radius_high_mm = p[1].radius_mm;
    }
}

/* The nearest crossing of any cone of the zigzag; a cone's up side is outside: above where it falls outwards. */
static bool cross_cones(const struct zigzag *z, const double at[3], const double direction[3], bool going_up,
                        double *t_mm) {
    bool found = false;
    *t_mm = INFINITY;
    for (int i = 0; i < FACETS; i++) {
        double t;
        bool falls = z->points[i + 1].z_mm < z->points[i].z_mm;
        if (patch_cross(&z->cones[i], at, direction, falls ? going_up : !going_up, false, 1e-12, &t) && t < *t_mm) {
            *t_mm = t;
            found = true;
        }
    }
    return found;
}

static int differences(const struct zigzag *z, struct pcg32 *random, double slip_mm, int *met) {
    int different = 0;
    for (int i = 0; i < 2000; i++) {
        double sin2 = pcg32_double(random), around = 360 * DEG * pcg32_double(random), s = sqrt(sin2);
        bool going_up = pcg32_next(random) & 1;
        const double at[3] = {12 * pcg32_double(random) - 6, 12 * pcg32_double(random) - 6, going_up ? 4.9 : 8.1};
        const double direction[3] = {s * cos(around), s * sin(around), (going_up ? 1 : -1) * sqrt(1 - sin2)};
        double t, expected;
        bool found = patch_cross(&z->whole, at, direction, going_up, false, 1e-12, &t);
        bool wanted = cross_cones(z, at, direction, going_up, &expected);
        *met += wanted;
        different += found != wanted || (found && fabs(t + slip_mm - expected) > 1e-9);
    }
    return different;
}

static void facets_are_crossed_where_cones_are(void **state) {
    (void)state;
    struct pcg32 random = pcg32_seed(73, 1);
    int met = 0;
    for (int i = 0; i < 20; i++) {
        struct zigzag z;
        zigzag_make(&random, &z);
        assert_int_equal(differences(&z, &random, 0, &met), 0);
    }
    assert_true(met > 10000);
    struct zigzag z;
    zigzag_make(&random, &z);
    assert_true(differences(&z, &random, 1e-6, &met) > 500); /* twin: a micrometre's thousandth beside */
}

/* ---- the lens: every facet's middle sends the focus straight on (Davis and Kuhnlenz 2007) ---- */

static struct luxfall_lens grooved(bool towards) {
    return (struct luxfall_lens){.name = "flat",
                                 .kind = LUXFALL_LENS_FRESNEL,
                                 .material = {.index = 1.49},
                                 .fresnel = {.diameter_mm = 40,
                                             .thickness_mm = 2,
                                             .focal_mm = 25,
                                             .pitch_mm = 0.5,
                                             .draft_rad = 3 * DEG,
                                             .gap_mm = 25,
                                             .grooves_towards = towards}};
}

/* Angle from the axis at which a ray leaves that set out from the focus; NaN: it does not leave. */
static double exit_angle(const struct optic *optic, double angle_rad, double *radius_mm) {
    const double at[3] = {0, 0, 0}, direction[3] = {sin(angle_rad), 0, cos(angle_rad)};
    struct pcg32 random = stream_that_passes();
    struct optic_outcome out;
    optic_trace(optic, at, direction, &random, &out);
    *radius_mm = INFINITY; /* beyond the lens */
    if (out.fate != OPTIC_EXIT)
        return NAN;
    *radius_mm = hypot(out.end.at_mm[0], out.end.at_mm[1]);
    return atan2(out.end.direction[0], out.end.direction[2]);
}

/* Angle at which the ray sets out that meets a groove's facet in its middle: straight there, or behind the flat side
 * found by halving. */
static double angle_to_middle(const struct optic *optic, bool towards, int groove, double middle_mm) {
    const struct profile_point *p = &optic->points[2 * groove];
    double depth_mm = p[1].z_mm * (middle_mm - p[0].radius_mm) / (p[1].radius_mm - p[0].radius_mm);
    double low = 0, high = 45 * DEG, radius_mm;
    if (towards)
        return atan2(middle_mm, 25 + depth_mm);
    for (int i = 0; i < 60; i++) {
        double angle = (low + high) / 2;
        exit_angle(optic, angle, &radius_mm);
        *(radius_mm < middle_mm ? &low : &high) = angle;
    }
    return low;
}

/* Grooves whose middle sends its light elsewhere; slip: by how much the light comes from beside the focus. */
static int wrong_grooves(bool towards, double slip_rad) {
    struct luxfall_lens lens = grooved(towards);
    static struct optic optic;
    int wrong = 0;
    assert_int_equal(solid_validate(&lens, NULL), LUXFALL_OK);
    assert_int_equal(solid_optic(&lens, 0, &optic, NULL), LUXFALL_OK);
    for (int groove = 1; groove < 38; groove += 3) {
        double radius_mm, angle = angle_to_middle(&optic, towards, groove, (groove + 0.5) * 0.5);
        wrong += !(fabs(exit_angle(&optic, angle + slip_rad, &radius_mm)) < 1e-12);
    }
    return wrong;
}

static void every_groove_sends_its_light_straight_on(void **state) {
    (void)state;
    for (int towards = 0; towards < 2; towards++) {
        assert_int_equal(wrong_grooves(towards, 0), 0);
        assert_int_equal(wrong_grooves(towards, 1e-6), 13); /* twin: a millionth aside */
    }
}

static void lenses_that_cannot_be_cut_are_refused(void **state) {
    (void)state;
    struct luxfall_error error = {0};
    struct luxfall_lens deep = grooved(false), fine = grooved(false), steep = grooved(false), near = grooved(false);
    deep.fresnel.pitch_mm = 4;
    fine.fresnel.pitch_mm = 0.01;
    steep.fresnel.draft_rad = 0;
    near.fresnel.focal_mm = -1;
    assert_int_equal(solid_validate(&deep, &error), LUXFALL_E_VALUE);
    assert_non_null(strstr(error.text, "more than the thickness of 2 mm"));
    assert_int_equal(solid_validate(&fine, &error), LUXFALL_E_VALUE);
    assert_non_null(strstr(error.text, "more than 1000 grooves"));
    assert_int_equal(solid_validate(&steep, &error), LUXFALL_E_VALUE);
    assert_non_null(strstr(error.text, "draft"));
    assert_int_equal(solid_validate(&near, &error), LUXFALL_E_VALUE);
    assert_non_null(strstr(error.text, "focal length"));
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(facets_are_crossed_where_cones_are),
        cmocka_unit_test(every_groove_sends_its_light_straight_on),
        cmocka_unit_test(lenses_that_cannot_be_cut_are_refused),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
