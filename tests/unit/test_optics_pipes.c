/* Light pipes: how often light meets the walls, and what comes out at the end.
 *
 * Sources. A straight prism of any convex section unfolds into straight lines; a chord of a section of perimeter P
 * and area A is pi A / P long in the mean (Cauchy; Santalo, "Integral Geometry and Geometric Probability", 1976, ch.
 * 3, from memory), so that light at a polar angle a meets the walls L tan(a) P / (pi A) times in the mean. Values by
 * that formula (derived, and by random billiards). */
#include "lenses/solid.h"

#include <math.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <stdlib.h>

#include <cmocka.h>

static const double PI = 3.14159265358979323846;
enum { RAYS = 40000 };

static void pipe_optic(enum luxfall_section_kind section, struct optic *out) {
    struct luxfall_lens lens = {.name = "pipe",
                                .kind = LUXFALL_LENS_PIPE,
                                .material = {.index = 1.49},
                                .pipe = {section, 6, 6, 50, 0, true, {0}}};
    assert_int_equal(solid_validate(&lens, NULL), LUXFALL_OK);
    assert_int_equal(solid_optic(&lens, 0, out, NULL), LUXFALL_OK);
    for (int i = 2; i < out->patch_count; i++) { /* walls that reflect at every angle */
        out->patches[i].deed = PATCH_MIRROR;
        out->patches[i].comes_back = 1;
    }
}

static bool inside(enum luxfall_section_kind section, double x, double y) {
    const double s = sqrt(0.75);
    if (section == LUXFALL_SECTION_ROUND)
        return hypot(x, y) < 3;
    if (section == LUXFALL_SECTION_RECTANGLE)
        return fabs(x) < 3 && fabs(y) < 3;
    return fabs(x) < 3 && fabs(0.5 * x + s * y) < 3 && fabs(0.5 * x - s * y) < 3;
}

/* From anywhere in the near end, at a polar angle or, below 0, Lambertian outside an index. */
static void launch(enum luxfall_section_kind section, double polar_rad, double index, struct pcg32 *random,
                   double at[3], double direction[3]) {
    double around = 2 * PI * pcg32_double(random), u = pcg32_double(random);
    do {
        at[0] = 8 * (pcg32_double(random) - 0.5);
        at[1] = 8 * (pcg32_double(random) - 0.5);
    } while (!inside(section, at[0], at[1]));
    double sine = polar_rad > 0 ? sin(polar_rad) : sqrt(u) / index;
    at[2] = 0;
    direction[0] = sine * cos(around);
    direction[1] = sine * sin(around);
    direction[2] = sqrt(1 - sine * sine);
}

/* Walls met on the way to the far end, in the mean, and its standard error. Light starts within the near face,
 * inside the glass, so that all of it goes the whole way. */
static double mean_hits(enum luxfall_section_kind section, double polar_rad, double index, double *error) {
    static struct optic optic;
    struct pcg32 random = pcg32_seed(75, (uint64_t)section);
    double sum = 0, squares = 0;
    pipe_optic(section, &optic);
    optic.materials[0].index = optic.materials[1].index; /* no Fresnel, no bending: the walls alone */
    for (int i = 0; i < RAYS; i++) {
        double at[3], direction[3];
        struct optic_outcome out;
        launch(section, polar_rad, index, &random, at, direction);
        optic_trace(&optic, at, direction, &random, &out);
        assert_int_equal(out.fate, OPTIC_EXIT);
        double hits = out.segments - 3; /* near end, far end, and the way out */
        sum += hits;
        squares += hits * hits;
    }
    *error = sqrt((squares / RAYS - pow(sum / RAYS, 2)) / RAYS);
    return sum / RAYS;
}

/* ---- mean number of walls met (Santalo 1976, ch. 3) ---- */

static void walls_are_met_as_often_as_chords_say(void **state) {
    (void)state;
    static const enum luxfall_section_kind sections[] = {LUXFALL_SECTION_RECTANGLE, LUXFALL_SECTION_HEXAGON,
                                                         LUXFALL_SECTION_ROUND};
    for (int i = 0; i < 3; i++) {
        double error, value = mean_hits(sections[i], 20 * PI / 180, 0, &error);
        assert_true(fabs(value - 3.86184413) < 4 * error);
        value = mean_hits(sections[i], 40 * PI / 180, 0, &error);
        assert_true(fabs(value - 8.90312360) < 4 * error);
        assert_true(fabs(value - 8.90312360 * cos(40 * PI / 180)) > 20 * error); /* twin: sine for tangent */
        value = mean_hits(sections[i], -1, 1.49, &error);                        /* Lambertian, bent into 1.49 */
        assert_true(fabs(value - 5.611272963) < 4 * error);
    }
    double error, value = mean_hits(LUXFALL_SECTION_HEXAGON, 40 * PI / 180, 0, &error);
    assert_true(fabs(value - 8.90312360 * sqrt(0.75)) > 20 * error); /* twin: flats and corners mixed up */
}

/* ---- total reflection: what enters the end of a bar of index above 1.414 leaves at the other (definition) ---- */

static double share_out(double index) {
    static struct optic optic;
    struct luxfall_lens lens = {.name = "pipe",
                                .kind = LUXFALL_LENS_PIPE,
                                .material = {.index = index},
                                .pipe = {LUXFALL_SECTION_RECTANGLE, 6, 6, 50, 0.001, false, {0}}};
    struct pcg32 random = pcg32_seed(76, 1);
    int sideways = 0;
    assert_int_equal(solid_optic(&lens, 0, &optic, NULL), LUXFALL_OK);
    for (int i = 0; i < RAYS; i++) {
        double sine = sqrt(pcg32_double(&random)), around = 2 * PI * pcg32_double(&random);
        const double at[3] = {2 * pcg32_double(&random) - 1, 2 * pcg32_double(&random) - 1, 0};
        const double direction[3] = {sine * cos(around), sine * sin(around), sqrt(1 - sine * sine)};
        struct optic_outcome out;
        optic_trace(&optic, at, direction, &random, &out);
        sideways += out.fate == OPTIC_EXIT && out.end.at_mm[2] < 50;
    }
    return (double)sideways / RAYS;
}

static void a_clear_bar_keeps_its_light(void **state) {
    (void)state;
    assert_true(share_out(1.49) == 0);
    assert_true(share_out(1.3) > 0.05); /* twin: below the square root of two it leaks */
}

/* ---- hollow pipes of mirrors ---- */

/* Light of the near end through a hollow pipe 50 mm long, at a polar angle or, below 0, Lambertian within a sine of
 * 1 / 1.49: the share that its walls absorb; their mean number met. */
static double absorbed(enum luxfall_section_kind section, double reflectance, double polar_rad, double *hits,
                       double *hits_error) {
    static struct optic optic;
    const struct luxfall_lens lens = {
        .name = "pipe", .kind = LUXFALL_LENS_PIPE, .pipe = {section, 6, 6, 50, 0, false, {1, {0}, {reflectance}}}};
    struct pcg32 random = pcg32_seed(77, (uint64_t)section);
    double sum = 0, squares = 0;
    int lost = 0;
    assert_int_equal(solid_validate(&lens, NULL), LUXFALL_OK);
    assert_int_equal(solid_optic(&lens, 0, &optic, NULL), LUXFALL_OK);
    for (int i = 0; i < RAYS; i++) {
        double at[3], direction[3];
        struct optic_outcome out;
        launch(section, polar_rad, 1.49, &random, at, direction);
        optic_trace(&optic, at, direction, &random, &out);
        assert_true(out.fate == OPTIC_EXIT || out.loss == LUXFALL_LOSS_MIRROR);
        lost += out.fate != OPTIC_EXIT;
        sum += out.segments - 1;
        squares += (double)(out.segments - 1) * (out.segments - 1);
    }
    *hits = sum / RAYS;
    *hits_error = sqrt((squares / RAYS - *hits * *hits) / RAYS);
    return (double)lost / RAYS;
}

/* Perfect mirrors are met as often as chords say (Santalo 1976, ch. 3), and a little absorption at each adds up. */
static void hollow_pipes_absorb_at_every_wall(void **state) {
    (void)state;
    static const enum luxfall_section_kind sections[] = {LUXFALL_SECTION_RECTANGLE, LUXFALL_SECTION_HEXAGON,
                                                         LUXFALL_SECTION_ROUND};
    for (int i = 0; i < 3; i++) {
        double hits, error, lost = absorbed(sections[i], 1, 40 * PI / 180, &hits, &error);
        assert_true(lost == 0 && fabs(hits - 8.90312360) < 4 * error);
        lost = absorbed(sections[i], 1, -1, &hits, &error);
        assert_true(lost == 0 && fabs(hits - 5.611272963) < 4 * error);
        assert_true(fabs(hits - 5.611272963 * 1.05) > 4 * error); /* twin: 5 % longer */
        lost = absorbed(sections[i], 0.998, 40 * PI / 180, &hits, &error);
        double expected = 0.002 * 8.90312360;
        assert_true(fabs(lost - expected) < 4 * sqrt(expected / RAYS) + expected * expected);
        lost = absorbed(sections[i], 0.996, 40 * PI / 180, &hits, &error);
        assert_true(fabs(lost - expected) >
                    4 * sqrt(expected / RAYS) + expected * expected); /* twin: twice as dark */
    }
}

/* The outline of a pipe, as plans draw it and members of a ring find room. */
static void outlines_are_those_of_the_section(void **state) {
    (void)state;
    struct luxfall_lens lens = {.name = "pipe",
                                .kind = LUXFALL_LENS_PIPE,
                                .material = {.index = 1.49},
                                .pipe = {LUXFALL_SECTION_RECTANGLE, 6, 4, 50, 0, true, {0}}};
    struct luxfall_face face = luxfall_lens_face(&lens);
    assert_true(face.kind == LUXFALL_RECTANGLE && face.width_mm == 6 && face.height_mm == 4);
    assert_true(luxfall_lens_entry_mm(&lens) == 4);
    assert_true(fabs(luxfall_lens_diameter_mm(&lens) - sqrt(52)) < 1e-12);
    lens.pipe.section = LUXFALL_SECTION_HEXAGON;
    lens.pipe.height_mm = 6;
    face = luxfall_lens_face(&lens);
    assert_true(face.kind == LUXFALL_DISC && fabs(face.width_mm - 6 / cos(PI / 6)) < 1e-12);
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(walls_are_met_as_often_as_chords_say),
        cmocka_unit_test(a_clear_bar_keeps_its_light),
        cmocka_unit_test(hollow_pipes_absorb_at_every_wall),
        cmocka_unit_test(outlines_are_those_of_the_section),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
