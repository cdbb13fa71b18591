/* Small lenses side by side on a face: where rays meet them, and how wide they spread light.
 *
 * Sources. Law of refraction: M. Born and E. Wolf, "Principles of Optics", 7th ed. 1999, sec. 3.2. Focal length of a
 * thin plano-convex lens, f = R / (n - 1): ibid., sec. 4.4. Area of a hexagon's part and moments by integration
 * (derived below). */
#include "lenses/cover.h"
#include "lenses/lenslets.h"
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
enum { RAYS = 40000 };

/* ---- where they are met: the height over the nearest of all middles, looked at step by step (definition) ---- */

static double least_distance2(bool hexagonal, double pitch, double x, double y) {
    double best = INFINITY;
    for (int row = -12; row <= 12; row++)
        for (int column = -12; column <= 12; column++) {
            double cx = pitch * (column + (hexagonal && row % 2 != 0 ? 0.5 : 0));
            double cy = pitch * row * (hexagonal ? sqrt(0.75) : 1);
            best = fmin(best, (x - cx) * (x - cx) + (y - cy) * (y - cy));
        }
    return best;
}

/* Cells as they are looked at. */
struct cells {
    bool hexagonal;
    double pitch_mm, radius_mm;
};

static double over(const void *surface, const double at[3]) {
    const struct cells *cells = surface;
    double r2 = least_distance2(cells->hexagonal, cells->pitch_mm, at[0], at[1]), radius = cells->radius_mm;
    double sag = fabs(radius) - sqrt(radius * radius - r2);
    return at[2] + (radius > 0 ? sag : -sag);
}

/* Lines from below through a face of cells, some at a slant of 85 deg that crosses many. Returns those that differ;
 * pairs of crossings closer than a step may differ, both ways, and are few. */
static int wrong_meetings(bool hexagonal, double radius, double looked_pitch) {
    enum { LINES = 150 };
    const double pitch = 0.8;
    struct pcg32 random = pcg32_seed(83, hexagonal);
    struct patch patch = patch_lenslets(0, -1 / radius, pitch, hexagonal);
    patch.radius_high_mm = 8;
    const struct cells cells = {hexagonal, looked_pitch, radius};
    const struct looked_at look = {over, &cells, INFINITY, 6, 1500};
    int wrong = 0;
    for (int i = 0; i < LINES; i++) {
        double polar = 1.5 * pcg32_double(&random), around = 2 * PI * pcg32_double(&random), t = NAN;
        bool going_up = i % 2;
        const double d[3] = {sin(polar) * cos(around), sin(polar) * sin(around), (going_up ? 1 : -1) * cos(polar)};
        const double at[3] = {-0.6 * d[0] + pcg32_double(&random), -0.6 * d[1] + pcg32_double(&random), -0.6 * d[2]};
        double steps = met_by_steps(&look, at, d, going_up);
        bool found = patch_cross(&patch, at, d, going_up, false, 1e-9, &t) && t < 6;
        wrong += found != !isnan(steps) || (found && fabs(t - steps) > 1e-9);
    }
    return wrong;
}

static void rays_meet_the_nearest_lenslet(void **state) {
    (void)state;
    for (int hexagonal = 0; hexagonal < 2; hexagonal++)
        for (int hollow = 0; hollow < 2; hollow++) {
            double radius = hollow ? -0.9 : 0.9;
            assert_true(wrong_meetings(hexagonal, radius, 0.8) <= 1);
            assert_true(wrong_meetings(hexagonal, radius, 0.81) > 50); /* twin: another pitch */
        }
}

/* ---- how wide: Snell's law at a cell's edge (Born and Wolf 1999, sec. 3.2) ---- */

static const double INDEX = 1.49;

/* Light straight up in the material, under a face of lenslets: its angle in the air. */
static void spread(const struct luxfall_lenslets *lenslets, double *widest_rad, double *mean_square_slope) {
    static struct optic optic;
    struct pcg32 random = pcg32_seed(84, 1);
    double sum = 0;
    struct patch face = lenslets_patch(lenslets, 5);
    optic = (struct optic){.patch_count = 1, .material_count = 2, .emitter_material = 1, .size_mm = 20};
    optic.materials[0] = (struct optic_material){1, 0, true, 0};
    optic.materials[1] = (struct optic_material){INDEX, 0, true, 0};
    face.down = 1;
    face.radius_high_mm = 100;
    optic.patches[0] = face;
    *widest_rad = 0;
    int out_of = 0;
    for (int i = 0; i < RAYS; i++) {
        const double at[3] = {20 * pcg32_double(&random) - 10, 20 * pcg32_double(&random) - 10, 0}, up[3] = {0, 0, 1};
        struct optic_outcome out;
        optic_trace(&optic, at, up, &random, &out);
        if (out.fate != OPTIC_EXIT || out.segments != 2)
            continue; /* back from the face, or into a neighbour */
        const double *d = out.end.direction;
        *widest_rad = fmax(*widest_rad, acos(d[2]));
        sum += (d[0] * d[0] + d[1] * d[1]) / (d[2] * d[2]);
        out_of++;
    }
    assert_true(out_of > 0.93 * RAYS);
    *mean_square_slope = sum / out_of;
}

static double edge_rad(double distance, double radius) {
    return asin(INDEX * distance / radius) - asin(distance / radius);
}

static void the_corner_sends_light_widest(void **state) {
    (void)state;
    for (int hexagonal = 0; hexagonal < 2; hexagonal++) {
        struct luxfall_lenslets lenslets = {1, 2, hexagonal};
        double widest, square;
        spread(&lenslets, &widest, &square);
        double corner = edge_rad(1 / sqrt(hexagonal ? 3 : 2), 2);
        assert_true(widest <= corner + 1e-12 && widest > 0.99 * corner);
        assert_true(fabs(edge_rad(0.5, 2) / corner - 1) > 0.1); /* twin: the side in place of the corner */
        lenslets.radius_mm = -2;                                /* hollow ones spread as wide */
        spread(&lenslets, &widest, &square);
        assert_true(widest <= corner + 1e-12 && widest > 0.99 * corner);
    }
}

/* Shallow ones are thin lenses of f = R/(n-1): a slope of r/f at the distance r from the middle, r^2 in the mean
 * p^2/6 over a square cell, 5 p^2/36 over a hexagonal one (integrals over the cells). */
static void shallow_ones_are_thin_lenses(void **state) {
    (void)state;
    for (int hexagonal = 0; hexagonal < 2; hexagonal++) {
        const struct luxfall_lenslets lenslets = {1, 20, hexagonal};
        double widest, square, focal = 20 / (INDEX - 1),
                               expected = (hexagonal ? 5.0 / 36 : 1.0 / 6) / (focal * focal);
        spread(&lenslets, &widest, &square);
        assert_true(fabs(square / expected - 1) < 0.015); /* standard error 0.3 %, third order 0.1 % */
        double other = (hexagonal ? 1.0 / 6 : 5.0 / 36) / (focal * focal);
        assert_true(fabs(square / other - 1) > 0.1); /* twin: the other cells */
    }
}

/* ---- on a collimator: the lumens stay, the beam widens (by definition) ---- */

static double share_within(double pitch, double cone_rad, double *out_share) {
    static struct optic optic;
    struct luxfall_lens lens = {.name = "lens",
                                .kind = LUXFALL_LENS_COLLIMATOR,
                                .material = {.index = INDEX},
                                .collimator = {.diameter_mm = 20, .lenslets = {pitch, 2, false}}};
    struct pcg32 random = pcg32_seed(85, 1);
    int within = 0, out_of = 0;
    luxfall_collimator_usual(&lens);
    assert_int_equal(solid_validate(&lens, NULL), LUXFALL_OK);
    assert_int_equal(solid_optic(&lens, 0, &optic, NULL), LUXFALL_OK);
    for (int i = 0; i < RAYS / 4; i++) {
        double u = pcg32_double(&random), around = 2 * PI * pcg32_double(&random);
        const double at[3] = {0, 0, 0}, d[3] = {sqrt(u) * cos(around), sqrt(u) * sin(around), sqrt(1 - u)};
        struct optic_outcome out;
        optic_trace(&optic, at, d, &random, &out);
        out_of += out.fate == OPTIC_EXIT;
        within += out.fate == OPTIC_EXIT && acos(out.end.direction[2]) < cone_rad;
    }
    *out_share = out_of / (RAYS / 4.0);
    return (double)within / out_of;
}

static void a_collimator_with_lenslets_sends_a_wider_beam(void **state) {
    (void)state;
    double clear, lensleted, corner = edge_rad(1 / sqrt(2), 2);
    double straight = share_within(0, 1e-3, &clear), bent = share_within(1, 1e-2, &lensleted);
    double wide = share_within(1, corner + 1e-3, &lensleted);
    print_message("out %.4f and %.4f; straight %.4f and %.4f, within the corner's angle %.4f\n", clear, lensleted,
                  straight, bent, wide);
    assert_true(straight > 0.95 && bent < 0.01);
    assert_true(wide > 0.98 * straight && lensleted > 0.98 * clear);
}

/* ---- on a window: light that goes up straight leaves within the corner's angle (Born and Wolf 1999, sec. 3.2) ----
 */

static void a_window_with_lenslets_spreads_as_far(void **state) {
    (void)state;
    static struct optic optic;
    const struct luxfall_cover window = {.kind = LUXFALL_COVER_WINDOW,
                                         .diameter_mm = 24,
                                         .gap_mm = 3,
                                         .material = {.index = INDEX},
                                         .thickness_mm = 2,
                                         .lenslets = {1, 2, true}};
    struct pcg32 random = pcg32_seed(86, 1);
    double widest = 0, corner = edge_rad(1 / sqrt(3), 2);
    int within = 0, out_of = 0;
    assert_int_equal(luxfall_cover_check(&window, NULL), LUXFALL_OK);
    assert_true(luxfall_cover_spreads(&window));
    optic = (struct optic){.material_count = 1, .materials = {{1, 0, true, 0}}};
    assert_int_equal(cover_add(&window, 0, 0, 0, &optic, NULL), LUXFALL_OK);
    for (int i = 0; i < RAYS; i++) {
        const double at[3] = {20 * pcg32_double(&random) - 10, 14 * pcg32_double(&random) - 7, 0}, up[3] = {0, 0, 1};
        struct optic_outcome out;
        optic_trace(&optic, at, up, &random, &out);
        if (out.fate != OPTIC_EXIT || out.segments != 3)
            continue; /* back and forth */
        out_of++;
        within += acos(out.end.direction[2]) <= corner + 1e-12;
        widest = fmax(widest, acos(out.end.direction[2]));
    }
    assert_true(out_of > 0.85 * RAYS && within == out_of && widest > 0.99 * corner);
    assert_true(widest < 0.9 * edge_rad(1 / sqrt(2), 2)); /* twin: square cells */
}

/* ---- borders, where two cells meet ---- */

/* Cosine between a ray and the normal of the cell that a place belongs to. */
static double along_normal(const struct patch *patch, const double at[3], const double direction[3]) {
    double normal[3];
    patch_normal(patch, at, normal);
    return dot3(normal, direction);
}

/* A ray on a border, thrown back by one cell, goes up through the other at once (definition: there the face lies
 * lower than the ray). Where rounding told its side at the border, some found no way out. */
static void a_border_is_left_on_the_other_side(void **state) {
    (void)state;
    const double pitch = 3.7, curvature = 0.29;
    struct patch patch = patch_lenslets(9, curvature, pitch, true);
    struct pcg32 random = pcg32_seed(84, 1);
    int met = 0;
    patch.radius_high_mm = 8;
    for (int i = 0; i < 20000; i++) {
        double x = -pitch / 2 * (1 + (double)((int)(pcg32_next(&random) % 9) - 4) * 0x1p-52);
        double y = 0.57 * pitch * (pcg32_double(&random) - 0.5), lean = 0.5 + 0.3 * pcg32_double(&random), t_mm;
        const double at[3] = {x, y, 9 + conic_sag(curvature, 0, 0, NULL, hypot(x, y))};
        const double direction[3] = {-cos(lean), 0, 0.3 * sin(lean)}; /* flatter than the slope of either cell */
        if (along_normal(&patch, at, direction) > 0)
            continue; /* already in the other cell */
        met++;
        if (!patch_cross(&patch, at, direction, true, true, 1e-10, &t_mm) || t_mm > 1e-9)
            fail_msg("from (%.17g, %.17g, %.17g)", at[0], at[1], at[2]);
    }
    assert_true(met > 5000);
}

/* A ray that comes down on a border meets a side that faces it (definition); those that find no such side pass over.
 */
static void a_border_is_met_on_a_side_that_faces_the_ray(void **state) {
    (void)state;
    const double pitch = 3.7, curvature = 0.13;
    struct patch patch = patch_lenslets(0, curvature, pitch, false);
    struct pcg32 random = pcg32_seed(84, 2);
    int met = 0;
    patch.radius_high_mm = 30;
    for (int i = 0; i < 20000; i++) {
        double x = pitch * ((int)(pcg32_next(&random) % 9) - 4.5), y = 30 * (pcg32_double(&random) - 0.5), t_mm;
        double azimuth = 2 * PI * pcg32_double(&random), lean = 0.3 * (pcg32_double(&random) - 0.2);
        const double direction[3] = {cos(azimuth) * cos(lean), sin(azimuth) * cos(lean), sin(lean)};
        double at[3] = {x, y, conic_sag(curvature, 0, 0, NULL, sqrt(least_distance2(false, pitch, x, y)))};
        along3(at, -0.5, direction, at);
        if (!patch_cross(&patch, at, direction, false, false, 1e-10, &t_mm) || fabs(t_mm - 0.5) > 1e-9)
            continue;
        along3(at, t_mm, direction, at);
        met++;
        assert_true(along_normal(&patch, at, direction) < 1e-6);
    }
    assert_true(met > 2000);
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(rays_meet_the_nearest_lenslet),
        cmocka_unit_test(a_border_is_left_on_the_other_side),
        cmocka_unit_test(a_border_is_met_on_a_side_that_faces_the_ray),
        cmocka_unit_test(the_corner_sends_light_widest),
        cmocka_unit_test(shallow_ones_are_thin_lenses),
        cmocka_unit_test(a_collimator_with_lenslets_sends_a_wider_beam),
        cmocka_unit_test(a_window_with_lenslets_spreads_as_far),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
