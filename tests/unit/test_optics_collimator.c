/* The solved collimator against its worked example.
 *
 * The two conditions - refraction at a hyperboloid, reflection at a wall of equal optical paths - are those of R.
 * Winston, J. C. Minano and P. Benitez, "Nonimaging Optics", 2005 (from memory). Values (derived twice with 50
 * digits: from the equal paths, and by integrating the slope that the law of reflection asks for; both agree to 4e-12
 * mm). */
#include "lenses/collimator.h"
#include "unit/one_ray.h"

#include <math.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <stdlib.h>

#include <cmocka.h>

static const double PI = 3.14159265358979323846;

/* ---- wall ---- */

static struct collimator worked(void) {
    struct collimator c = {.index = 1.49, .hollow_mm = 3, .focus_mm = 4, .radius_mm = 10, .face_mm = 11};
    assert_true(collimator_solve(&c));
    return c;
}

/* Angle above the board, wall radius and height, incidence (derived). */
static const double wall_rows[][4] = {
    {0, 3.22365094685, 0, 45.0000000},
    {7.700361494, 3.66861633318, 0.466007000025, 47.5797271},
    {15.40072299, 4.16751759598, 1.03785557126, 50.1334487},
    {23.10108448, 4.73881588156, 1.75430044256, 52.6337294},
    {30.80144598, 5.40588332307, 2.66891241991, 55.0502374},
    {38.50180747, 6.20031648049, 3.85820676489, 57.3482516},
    {46.20216896, 7.16835567355, 5.43674151032, 59.4872535},
    {53.90253046, 8.38586386901, 7.59066369834, 61.4199198},
    {61.60289195, 10.0000000000, 10.6693306495, 63.0921413},
};
enum { ROWS = sizeof wall_rows / sizeof *wall_rows };

static void the_wall_is_the_worked_one(void **state) {
    (void)state;
    struct collimator c = worked();
    assert_true(fabs(c.path_mm - 3.333239910811) < 1e-11);
    assert_true(fabs(c.rim_mm - 5.549053356282) < 1e-11);
    assert_true(fabs(c.split_rad * 180 / PI - 61.60289195227) < 1e-10);
    for (int i = 0; i < ROWS; i++) {
        double r, z, angle = wall_rows[i][0] * PI / 180;
        collimator_wall(&c, angle, &r, &z);
        assert_true(fabs(r - wall_rows[i][1]) < 2e-9 && fabs(z - wall_rows[i][2]) < 2e-9); /* 9 digits of the angle */
        double incidence = 45 + asin(sin(angle) / 1.49) * 90 / PI;
        assert_true(fabs(incidence - wall_rows[i][3]) < 1e-7);
    }
}

/* Where the middle stands over the board at 0.5, 1, 2 and 3 mm (derived). */
static void the_middle_is_the_worked_one(void **state) {
    (void)state;
    const double rows[][2] = {{0.5, 4.06255745356}, {1, 4.23753972232}, {2, 4.81411624896}, {3, 5.54905335628}};
    for (int i = 0; i < 4; i++)
        assert_true(fabs(4 + conic_sag(1 / 1.96, -2.2201, 0, NULL, rows[i][0]) - rows[i][1]) < 1e-11);
}

/* ---- rays ---- */

/* Slope of the ray that leaves (x, 0, z) at an angle above the board in the plane of x and is reflected only where it
 * is totally; NAN when it does not leave on so many segments. */
static double exit_slope(const struct optic *optic, double x, double z, double angle_deg, int segments) {
    const double at[3] = {x, 0, z}, angle = angle_deg * PI / 180, direction[3] = {cos(angle), 0, sin(angle)};
    struct pcg32 random = stream_that_passes();
    struct optic_outcome out;
    optic_trace(optic, at, direction, &random, &out);
    bool designed = out.fate == OPTIC_EXIT && out.segments == segments;
    return designed ? atan2(out.end.direction[0], out.end.direction[2]) : NAN;
}

/* 1e-9 rad; twin: the path through the hollow's wall taken as straight. */
static void rays_of_the_centre_leave_straight_up(void **state) {
    (void)state;
    struct collimator c = worked();
    struct optic optic;
    collimator_optic(&c, &optic);
    for (double angle = 1; angle < 61; angle += 3)
        assert_true(fabs(exit_slope(&optic, 0, 0, angle, 4)) < 1e-9);
    for (double angle = 62; angle < 90; angle += 3)
        assert_true(fabs(exit_slope(&optic, 0, 0, angle, 3)) < 1e-12);
    optic.materials[2].index = 1.2; /* something else in the hollow */
    assert_true(fabs(exit_slope(&optic, 0, 0, 30, 4)) > 1e-3);
}

/* A die 0.1 mm aside, in the plane of the shift: tilt of the rays through the middle at r (derived). Those that pass
 * r leave the die at the angle to (r, z(r)). */
static void a_shifted_die_tilts_the_middle(void **state) {
    (void)state;
    struct collimator c = worked();
    struct optic optic;
    collimator_optic(&c, &optic);
    const double rows[][2] = {{1e-9, -1.43209618}, {1.5, -0.888739070}, {2.9, -0.435843098}};
    for (int i = 0; i < 3; i++) {
        double r = rows[i][0], z = 4 + conic_sag(1 / 1.96, -2.2201, 0, NULL, r);
        double slope = exit_slope(&optic, 0.1, 0, atan2(z, r - 0.1) * 180 / PI, 3);
        assert_true(fabs(slope * 180 / PI - rows[i][1]) < 1e-7);
    }
}

/* The die nearer by 0.3 mm: tilt outward at r 1, 2, 2.9 (derived). Twin: farther has the other sign and another size.
 */
static void a_raised_die_tilts_the_middle(void **state) {
    (void)state;
    struct collimator c = worked();
    struct optic optic;
    collimator_optic(&c, &optic);
    const double rows[][2] = {{1, 0.843010790}, {2, 0.873770220}, {2.9, 0.692260982}};
    for (int i = 0; i < 3; i++) {
        double r = rows[i][0], z = 4 + conic_sag(1 / 1.96, -2.2201, 0, NULL, r);
        double slope = exit_slope(&optic, 0, 0.3, atan2(z - 0.3, r) * 180 / PI, 3);
        assert_true(fabs(slope * 180 / PI - rows[i][1]) < 1e-7);
    }
}

/* A wall that would begin inside the hollow is refused. */
static void there_is_not_always_a_wall(void **state) {
    (void)state;
    struct collimator c = {.index = 1.49, .hollow_mm = 3, .focus_mm = 4, .radius_mm = 5, .face_mm = 11};
    assert_false(collimator_solve(&c));
    c.radius_mm = 10;
    c.face_mm = 9; /* and one that ends above the face */
    assert_false(collimator_solve(&c));
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(the_wall_is_the_worked_one),           cmocka_unit_test(the_middle_is_the_worked_one),
        cmocka_unit_test(rays_of_the_centre_leave_straight_up), cmocka_unit_test(a_shifted_die_tilts_the_middle),
        cmocka_unit_test(a_raised_die_tilts_the_middle),        cmocka_unit_test(there_is_not_always_a_wall),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
