/* Luminance: no lens makes light brighter than its source, and a face that is lit all over is as bright as the die
 * behind it, less what its surfaces send back.
 *
 * Sources. L / n^2 is the same all along a ray, and of a surface (1 - R) of it passes: R. Winston, J. C. Minano and
 * P. Benitez, "Nonimaging Optics", 2005, ch. 2 (from memory). Illuminance of a disc: pi L r^2 / (r^2 + d^2), CIE S
 * 017:2020, 17-21, by integration over it (derived). R: Fresnel, as in M. Born and E. Wolf, "Principles of Optics",
 * 7th ed. 1999, sec. 1.5. */
#include "lenses/optic.h"
#include "statistics/workbench.h"

static const double N = 1.49;

/* ---- a disc (derived) ---- */

/* 1 cd/m^2, 10 mm in radius, at 200 mm. Twin: all of it in its centre, I / d^2. */
static void a_disc_lights_by_its_luminance(void **state) {
    (void)state;
    const double area_m2 = BENCH_PI * 1e-4;
    struct bench b = {0};
    bench_map(&b, 100, 100, 10);
    bench_pose(&b, pose_down(0, 0, 200), bench_emitter(&b, cosine_emitter(disc_face(20), BENCH_PI * area_m2, 1)),
               LUXFALL_NO_LENS);
    double lux = bench_reading(&b, 0, 0, 0.01), at_centre = area_m2 / 0.04;
    assert_true(fabs(lux / 0.00783439564486 - 1) < 1e-7);
    assert_true(fabs(at_centre - 0.00785398) < 1e-8 && fabs(lux / at_centre - 1) > 1e-3);
}

/* ---- through a surface (Winston, Minano and Benitez 2005, ch. 2) ---- */

struct fresnel_pair {
    double s, p;
};

static struct fresnel_pair reflectances(double n1, double n2, double cos_in) {
    double sin_out = n1 / n2 * sqrt(1 - cos_in * cos_in), cos_out = sqrt(1 - sin_out * sin_out);
    double s = (n1 * cos_in - n2 * cos_out) / (n1 * cos_in + n2 * cos_out);
    double p = (n2 * cos_in - n1 * cos_out) / (n2 * cos_in + n1 * cos_out);
    return (struct fresnel_pair){s * s, p * p};
}

/* Of Lambertian light within n1 that meets a plane, the share beyond it within an angle of the normal: the sum of
 * (1 - R) over the sin^2 of the directions that go there, (n2 / n1)^2 that of the angle. */
static double share_beyond(double n1, double n2, double angle_rad, double etendue_ratio) {
    enum { STEPS = 4000 };
    double reach = etendue_ratio * pow(sin(angle_rad), 2), sum = 0;
    for (int i = 0; i < STEPS; i++) {
        struct fresnel_pair r = reflectances(n1, n2, sqrt(1 - reach * (i + 0.5) / STEPS));
        sum += 1 - (r.s + r.p) / 2;
    }
    return sum * reach / STEPS;
}

enum { ANGLES = 4, RAYS = 200000 };
static const double angles_deg[ANGLES] = {10, 20, 30, 40};

static void traced_beyond(double n1, double n2, double share[ANGLES]) {
    static struct optic optic;
    struct pcg32 random = pcg32_seed(91, (uint64_t)(100 * n1));
    optic_clear(&optic);
    optic.material_count = 2;
    optic.materials[0] = (struct optic_material){n1, 0, true, 0};
    optic.materials[1] = (struct optic_material){n2, 0, true, 0};
    optic.patches[0] = patch_plane(1);
    optic.patches[0].up = 1;
    optic.patch_count = 1;
    optic.size_mm = 10;
    for (int a = 0; a < ANGLES; a++)
        share[a] = 0;
    for (int i = 0; i < RAYS; i++) {
        double u = pcg32_double(&random), around = 2 * BENCH_PI * pcg32_double(&random);
        const double at[3] = {0, 0, 0}, direction[3] = {sqrt(u) * cos(around), sqrt(u) * sin(around), sqrt(1 - u)};
        struct optic_outcome out;
        optic_trace(&optic, at, direction, &random, &out);
        for (int a = 0; a < ANGLES; a++)
            share[a] += out.fate == OPTIC_EXIT && out.end.direction[2] > cos(angles_deg[a] * DEG) ? 1.0 / RAYS : 0;
    }
}

/* Four standard errors. Twin: the luminance itself is kept, n^2 forgotten. */
static void luminance_over_index_squared_is_kept(void **state) {
    (void)state;
    for (int into = 0; into < 2; into++) {
        double n1 = into ? 1 : N, n2 = into ? N : 1, share[ANGLES];
        traced_beyond(n1, n2, share);
        for (int a = 0; a < ANGLES; a++) {
            double angle = angles_deg[a] * DEG, want = share_beyond(n1, n2, angle, pow(n2 / n1, 2));
            double error = sqrt(want * (1 - want) / RAYS);
            assert_true(fabs(share[a] - want) < 4 * error);
            assert_true(fabs(share[a] - share_beyond(n1, n2, angle, 1)) > 4 * error);
        }
    }
}

/* ---- out of a body (derived) ---- */

/* Light made evenly into all directions within a body: the share that its flat face lets out, as the cone of the
 * critical angle alone, (1 - sqrt(1 - 1/n^2)) / 2, and with Fresnel's reflection (by quadrature). */
static const double escapes[][3] = {{1.41, 0.147506314668, 0.134861922282},
                                    {1.49, 0.129335111187, 0.116824810227},
                                    {1.5, 0.127322003750, 0.114833136448},
                                    {1.586, 0.111912290037, 0.0996370982529},
                                    {2.5, 0.0417424305044, 0.0324275395575}};

/* Cosine of the angle from which on the surface sends all back, by halving. */
static double critical_cosine(double n) {
    double total = 0, passing = 1;
    for (int i = 0; i < 60; i++) {
        double middle = (total + passing) / 2;
        *(fresnel_at(n, middle).total ? &total : &passing) = middle;
    }
    return passing;
}

/* By the middles of equal steps of x, cos a = c + (1 - c) x^2 from the critical angle on, where R has a root. */
static double escape(double n) {
    enum { STEPS = 20000 };
    double critical = critical_cosine(n), sum = 0;
    for (int i = 0; i < STEPS; i++) {
        double x = (i + 0.5) / STEPS, cos_in = critical + (1 - critical) * x * x;
        struct fresnel f = fresnel_at(n, cos_in);
        sum += (1 - (f.rs * f.rs + f.rp * f.rp) / 2) * 2 * x / STEPS;
    }
    return 0.5 * (1 - critical) * sum;
}

/* Twins: the cone alone; an index half a hundredth higher. */
static void a_flat_face_lets_out_what_is_published(void **state) {
    (void)state;
    for (size_t i = 0; i < sizeof escapes / sizeof *escapes; i++) {
        double n = escapes[i][0], cone = (1 - critical_cosine(n)) / 2;
        assert_true(fabs(cone - escapes[i][1]) < 1e-9);
        assert_true(fabs((1 - critical_cosine(n + 0.005)) / 2 - escapes[i][1]) > 1e-5);
        assert_true(fabs(escape(n) - escapes[i][2]) < 1e-7);
        assert_true(fabs(cone - escapes[i][2]) > 1e-3);
    }
}

/* ---- a face lit all over (Winston, Minano and Benitez 2005, ch. 2) ---- */

/* A hyperboloid makes the light of its focus straight, which leaves through a plane. Its die is large enough that the
 * place 200 mm behind the face sees it through all of the face. */
static const double FOCAL = 20, FACE = 8, THICKNESS = 8, DISTANCE = 200, DIE = 2;

static struct luxfall_lens hyperboloid(void) {
    return (struct luxfall_lens){.name = "lens",
                                 .kind = LUXFALL_LENS_SINGLET,
                                 .material = {.index = N},
                                 .singlet = {.diameter_mm = 2 * FACE,
                                             .thickness_mm = THICKNESS,
                                             .gap_mm = FOCAL,
                                             .towards = {.radius_mm = (N - 1) * FOCAL, .conic = -N * N}}};
}

/* Back from the place behind the face, at a slope: plane trigonometry. The share that both surfaces let through; and
 * where it meets the die's plane, NaN beyond the lens. */
static double way_back(double slope, double *die_mm) {
    double out = atan(slope), in = asin(sin(out) / N), r = DISTANCE * slope, z = THICKNESS;
    const double curvature = 1 / ((N - 1) * FOCAL);
    for (int i = 0; i < 50; i++) { /* height over the vertex and radius where the ray meets the hyperboloid */
        double under = sqrt(1 - (1 - N * N) * pow(curvature * r, 2));
        z = curvature * r * r / (1 + under);
        r = DISTANCE * slope + (THICKNESS - z) * tan(in);
    }
    double tilt = atan(curvature * r / sqrt(1 - (1 - N * N) * pow(curvature * r, 2))); /* of the surface */
    double incidence = in + tilt, beyond = asin(N * sin(incidence)) - tilt;
    struct fresnel_pair first = reflectances(1, N, cos(out)), second = reflectances(N, 1, cos(incidence));
    *die_mm = r < FACE ? r - (FOCAL + z) * tan(beyond) : NAN;
    return ((1 - first.s) * (1 - second.s) + (1 - first.p) * (1 - second.p)) / 2;
}

/* In units of L: the sum over the directions in which the die is seen. */
static double illuminance(bool surfaces, bool *all_of_the_die) {
    enum { STEPS = 2000 };
    double sum = 0, reach = pow(sin(atan(FACE / DISTANCE)), 2);
    *all_of_the_die = true;
    for (int i = 0; i < STEPS; i++) {
        double sin2 = reach * (i + 0.5) / STEPS, die_mm, passes = way_back(sqrt(sin2 / (1 - sin2)), &die_mm);
        if (isnan(die_mm))
            continue;
        *all_of_the_die = *all_of_the_die && fabs(die_mm) < 0.8 * DIE;
        sum += (surfaces ? passes : 1) * reach / STEPS;
    }
    return BENCH_PI * sum;
}

/* Light that is sent back and forth within the lens adds less than 4 % of a few per cent. Twins: surfaces that send
 * nothing back; the luminance times n^2. */
static void a_face_lit_all_over_is_as_bright_as_its_die(void **state) {
    (void)state;
    struct bench b = {0};
    double flux_lm = 100, luminance = flux_lm / (BENCH_PI * BENCH_PI * DIE * DIE * 1e-6);
    bool all;
    bench_map(&b, 60, 60, 10);
    bench_pose(&b, pose_down(0, 0, DISTANCE), bench_emitter(&b, cosine_emitter(disc_face(2 * DIE), flux_lm, 1)),
               bench_lens(&b, hyperboloid()));
    bench_round_field(&b, 6);
    struct luxfall_options options = bench_rays(1 << 22, 92);
    struct luxfall_result *result = bench_trace(&b, &options);
    struct luxfall_estimate lux = result->planes[0].fields[0].average_lx;
    double want = luminance * illuminance(true, &all), band = 2 * lux.u95 + 0.002 * want;
    print_message("%.5g +- %.2g lx, %.5g expected\n", lux.value, lux.u95, want);
    assert_true(all);
    assert_true(fabs(lux.value - want) < band);
    assert_true(fabs(lux.value - luminance * illuminance(false, &all)) > band);
    assert_true(fabs(lux.value - want * N * N) > band);
    luxfall_result_free(result);
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(a_disc_lights_by_its_luminance),
        cmocka_unit_test(luminance_over_index_squared_is_kept),
        cmocka_unit_test(a_flat_face_lets_out_what_is_published),
        cmocka_unit_test(a_face_lit_all_over_is_as_bright_as_its_die),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
