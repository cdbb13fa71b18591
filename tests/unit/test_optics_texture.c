/* A collimator made up for a wanted beam: turning light by random angles on the sphere, and the beam that comes out.
 *
 * Sources. Turning multiplies Legendre series term by term: J. R. Driscoll and D. M. Healy, "Computing Fourier
 * transforms and convolutions on the 2-sphere", Adv. Appl. Math. 15, 202 (1994), from memory. Widths of a Gaussian
 * turned by a Gaussian: values derived from that theorem with 30 digits; of a flat disc blurred by one in the plane:
 * derived by quadrature, and compared at a fifth of the angles, where the sphere is a plane to 1e-5. */
#include "lenses/solid.h"
#include "luxfall.h"
#include "numbers/zonal.h"

#include <math.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <stdlib.h>
#include <string.h>

#include <cmocka.h>

static const double DEG = 3.14159265358979323846 / 180, WIDTH = 2.354820045030949;

/* ---- widths on the sphere (Driscoll and Healy 1994) ---- */

static double gaussian_by_gaussian(double first_deg, double second_deg) {
    struct zonal beam;
    double a[ZONAL_MAX], b[ZONAL_MAX];
    beam.count = zonal_terms(fmax(first_deg, second_deg) * DEG / WIDTH);
    zonal_gaussian(first_deg * DEG / WIDTH, beam.count, a);
    zonal_gaussian(second_deg * DEG / WIDTH, beam.count, b);
    for (int l = 0; l < beam.count; l++)
        beam.c[l] = (2 * l + 1) * a[l] * b[l];
    return zonal_width(&beam) / DEG;
}

/* An even disc of a full angle: rings hold flux by their solid angle. */
static double disc_by_gaussian(double disc_deg, double gaussian_deg) {
    enum { RINGS = 180000 };
    struct zonal beam;
    double factor[ZONAL_MAX], *flux = calloc(RINGS, sizeof *flux);
    assert_non_null(flux);
    for (int k = 0; k < RINGS * disc_deg / 180; k++)
        flux[k] = cos(k * 90 * DEG / RINGS) - cos((k + 1) * 90 * DEG / RINGS);
    beam.count = zonal_terms(gaussian_deg * DEG / WIDTH);
    zonal_of_rings(RINGS, flux, beam.count, &beam);
    free(flux);
    zonal_gaussian(gaussian_deg * DEG / WIDTH, beam.count, factor);
    for (int l = 0; l < beam.count; l++)
        beam.c[l] *= factor[l];
    return zonal_width(&beam) / DEG;
}

static void widths_are_those_of_the_theorem(void **state) {
    (void)state;
    static const double gaussians[][3] = {{10, 20, 22.3771096}, {60, 40, 72.8696242}, {90, 80, 124.8577965}};
    static const double discs[][3] = {{10, 5, 9.367993015}, {10, 10, 11.90499907}, {10, 20, 20.88886792}};
    for (int i = 0; i < 3; i++) {
        const double *g = gaussians[i], *d = discs[i];
        assert_true(fabs(gaussian_by_gaussian(g[0], g[1]) / g[2] - 1) < 1e-7);
        assert_true(fabs(disc_by_gaussian(d[0] / 5, d[1] / 5) / d[2] - 0.2) < 1e-5);
        assert_true(fabs(hypot(g[0], g[1]) / g[2] - 1) > 3e-4); /* twin: widths added in quadrature */
        assert_true(fabs(hypot(d[0], d[1]) / d[2] - 1) > 0.05);
    }
}

/* ---- the wanted beam ---- */

static struct luxfall_lens cup(double diameter_mm) {
    struct luxfall_lens lens = {.name = "cup",
                                .kind = LUXFALL_LENS_COLLIMATOR,
                                .material = {.kind = LUXFALL_MATERIAL_NAMED, .name = "acrylic"},
                                .collimator = {.diameter_mm = diameter_mm}};
    luxfall_collimator_usual(&lens);
    return lens;
}

/* By definition of the beam angle: intensity at half the wanted angle over that on the axis, by single rays in
 * double: 0.5 when the beam is as wide as wanted. The axis is read over a cone of a tenth of the half angle, where a
 * bell lies 0.35 % under its top. */
static double half_over_axis(const struct luxfall_lens *lens, double die_mm, double beam_deg, double *error) {
    enum { RAYS = 3 * 100000 };
    struct optic optic;
    struct pcg32 random = pcg32_seed(71, 1);
    double half = beam_deg / 2 * DEG, low = 0.9 * half, high = 1.1 * half, core = 0.2 * half;
    double on_axis = 0, aside = 0;
    assert_int_equal(solid_optic(lens, 0, &optic, NULL), LUXFALL_OK);
    for (int i = 0; i < RAYS; i++) {
        double sin2 = pcg32_double(&random), around = 360 * DEG * pcg32_double(&random), s = sqrt(sin2);
        const double at[3] = {die_mm * (pcg32_double(&random) - 0.5), die_mm * (pcg32_double(&random) - 0.5), 0};
        const double direction[3] = {s * cos(around), s * sin(around), sqrt(1 - sin2)};
        struct optic_outcome out;
        optic_trace(&optic, at, direction, &random, &out);
        if (out.fate != OPTIC_EXIT)
            continue;
        const double *d = out.end.direction;
        double angle = atan2(hypot(d[0], d[1]), d[2]);
        on_axis += angle < core;
        aside += angle > low && angle < high;
    }
    double ratio = aside / on_axis * (1 - cos(core)) / (cos(low) - cos(high)) * (1 - log(2) * 0.02);
    *error = ratio * sqrt(1 / aside + 1 / on_axis);
    return ratio;
}

static void the_beam_is_as_wide_as_wanted(void **state) {
    (void)state;
    static const double wishes[][3] = {{18, 1.2, 24}, {20, 1.4, 12}, {12, 1, 45}}; /* diameter, die mm; beam deg */
    for (int i = 0; i < 3; i++) {
        const double *wish = wishes[i];
        struct luxfall_lens lens = cup(wish[0]);
        struct luxfall_face die = {LUXFALL_RECTANGLE, wish[1], wish[1]};
        struct luxfall_collimator_plan plan;
        struct luxfall_error error;
        if (luxfall_collimator_for_beam(&lens, &die, wish[2] * DEG, &plan, &error) != LUXFALL_OK)
            fail_msg("%s", error.text);
        double noise, ratio;
        lens.collimator.texture_rad = plan.texture_rad;
        ratio = half_over_axis(&lens, wish[1], wish[2], &noise);
        print_message("[          ] clear %.2f deg, texture %.2f deg, half over axis %.4f +- %.4f\n",
                      plan.clear_rad / DEG, plan.texture_rad / DEG, ratio, noise);
        assert_true(fabs(ratio - 0.5) < 4 * noise + 0.01);      /* a hundredth of the width moves it by 0.7 of that */
        lens.collimator.texture_rad = plan.texture_rad / WIDTH; /* twin: width and standard deviation mixed up */
        assert_false(fabs(half_over_axis(&lens, wish[1], wish[2], &noise) - 0.5) < 4 * noise + 0.01);
    }
}

/* ---- what the sizes that were made up matter ---- */

/* Is the beam of this solid with another die at least so wide? By the texture that would make it just so. */
static bool at_least(const struct luxfall_lens *lens, double die_mm, double beam_deg) {
    struct luxfall_collimator_plan plan;
    struct luxfall_face die = {LUXFALL_RECTANGLE, die_mm, die_mm};
    enum luxfall_status status = luxfall_collimator_for_beam(lens, &die, beam_deg * DEG, &plan, NULL);
    return status != LUXFALL_OK || plan.texture_rad <= lens->collimator.texture_rad;
}

/* A solid of these sizes, in diameters, with the texture for a sheet of 20 mm, a die of 1.4 mm and 16 deg. */
static struct luxfall_lens solid_of_sheet(double hollow, double middle, const char *material) {
    struct luxfall_lens lens = {.name = "cup",
                                .kind = LUXFALL_LENS_COLLIMATOR,
                                .material = {.kind = LUXFALL_MATERIAL_NAMED, .name = material},
                                .collimator = {20, .hollow_mm = 20 * hollow, .middle_mm = 20 * middle}};
    struct luxfall_face die = {LUXFALL_RECTANGLE, 1.4, 1.4};
    struct luxfall_collimator_plan plan;
    struct luxfall_error error;
    luxfall_collimator_usual(&lens);
    if (luxfall_collimator_for_beam(&lens, &die, 16 * DEG, &plan, &error) != LUXFALL_OK)
        fail_msg("%s", error.text);
    lens.collimator.texture_rad = plan.texture_rad;
    return lens;
}

/* What METHODS and `luxfall check` say of them: within 5 %, with a die twice as wide. A property of these solids, no
 * published value. The sizes farthest apart of those named, and another material. Twin: a band of 3 %. */
static void solids_of_one_sheet_agree(void **state) {
    (void)state;
    struct luxfall_lens usual = solid_of_sheet(0, 0, "acrylic");
    struct luxfall_lens others[] = {solid_of_sheet(0.3, 0.2, "polycarbonate"),
                                    solid_of_sheet(0.2, 0.25, "polycarbonate"), solid_of_sheet(0.35, 0.1, "acrylic")};
    double low = 16, high = 32;
    while (high - low > 0.01 * low) {
        double middle = (low + high) / 2;
        *(at_least(&usual, 2.8, middle) ? &low : &high) = middle;
    }
    int outside = 0;
    for (int i = 0; i < 3; i++) {
        assert_true(at_least(&others[i], 2.8, 0.95 * low));
        assert_false(at_least(&others[i], 2.8, 1.05 * high));
        outside += !at_least(&others[i], 2.8, 0.97 * high) || at_least(&others[i], 2.8, 1.03 * low);
    }
    assert_true(outside > 0);
}

/* ---- what cannot be had ---- */

static void refused_with(struct luxfall_lens lens, double die_mm, double beam_deg, const char *words) {
    struct luxfall_collimator_plan plan;
    struct luxfall_error error = {0};
    struct luxfall_face die = {LUXFALL_RECTANGLE, die_mm, die_mm};
    assert_int_equal(luxfall_collimator_for_beam(&lens, &die, beam_deg * DEG, &plan, &error), LUXFALL_E_VALUE);
    if (strstr(error.text, words) == NULL)
        fail_msg("it said: %s", error.text);
}

static void what_cannot_be_is_told(void **state) {
    (void)state;
    struct luxfall_lens beam = {.name = "sheet", .kind = LUXFALL_LENS_BEAM};
    refused_with(cup(18), 1.2, 5, "a texture only widens it");
    refused_with(cup(18), 4, 24, "does not fit into a hollow of 5.4 mm");
    refused_with(cup(18), 1.2, 2, "3 to 90 deg");
    refused_with(cup(18), 1.2, NAN, "3 to 90 deg");
    refused_with(beam, 1.2, 24, "only a collimator");
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(widths_are_those_of_the_theorem),
        cmocka_unit_test(the_beam_is_as_wide_as_wanted),
        cmocka_unit_test(solids_of_one_sheet_agree),
        cmocka_unit_test(what_cannot_be_is_told),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
