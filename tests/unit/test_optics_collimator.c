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

static struct collimator solved(double index) {
    struct collimator c = {.index = index, .hollow_mm = 3, .focus_mm = 4, .radius_mm = 10, .face_mm = 11};
    assert_true(collimator_solve(&c));
    return c;
}

static struct collimator worked(void) {
    return solved(1.49);
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

/* Where the traced wall is met, in degrees from its normal, by light that left the point at an angle above the board
 * and entered at the hollow's wall. */
static double incidence_deg(const struct collimator *c, const struct optic *optic, double angle_rad) {
    double r, z, normal[3];
    collimator_wall(c, angle_rad, &r, &z);
    const double at[3] = {r, 0, z}, run = r - c->hollow_mm, rise = z - c->hollow_mm * tan(angle_rad);
    patch_normal(&optic->patches[COLLIMATOR_WALL], at, normal);
    return acos((run * normal[0] + rise * normal[2]) / hypot(run, rise)) * 180 / PI;
}

struct wrong_rows {
    int places, incidences;
};

static struct wrong_rows wrong_rows_of(const struct collimator *c) {
    struct wrong_rows wrong = {0};
    struct optic optic;
    collimator_optic(c, &optic);
    for (int i = 0; i < ROWS; i++) {
        double r, z, angle = wall_rows[i][0] * PI / 180;
        collimator_wall(c, angle, &r, &z); /* 9 digits of the angle */
        wrong.places += !(fabs(r - wall_rows[i][1]) < 2e-9 && fabs(z - wall_rows[i][2]) < 2e-9);
        wrong.incidences += !(fabs(incidence_deg(c, &optic, angle) - wall_rows[i][3]) < 6e-8); /* its digits */
    }
    return wrong;
}

/* Twin: a wall for another index, which light along the board alone meets at the same angle. */
static void the_wall_is_the_worked_one(void **state) {
    (void)state;
    struct collimator c = worked(), other = solved(1.4901);
    struct wrong_rows wrong = wrong_rows_of(&c), twin = wrong_rows_of(&other);
    assert_true(fabs(c.path_mm - 3.333239910811) < 1e-11 && fabs(other.path_mm - 3.333239910811) > 1e-5);
    assert_true(fabs(c.rim_mm - 5.549053356282) < 1e-11);
    assert_true(fabs(c.split_rad * 180 / PI - 61.60289195227) < 1e-10);
    assert_int_equal(wrong.places, 0);
    assert_int_equal(wrong.incidences, 0);
    assert_true(twin.places >= ROWS - 1 && twin.incidences == ROWS - 1);
}

/* Height over the board at which light straight up, at a radius, meets the solved middle. */
static double middle_mm(const struct optic *optic, double radius_mm) {
    const double at[3] = {radius_mm, 0, 0}, up[3] = {0, 0, 1};
    double t_mm = NAN;
    bool met = patch_cross(&optic->patches[COLLIMATOR_MIDDLE], at, up, true, false, 1e-9, &t_mm);
    return met ? t_mm : NAN;
}

/* Where the middle stands over the board at 0.5, 1, 2 and 3 mm (derived). Twin: one for another index. */
static void the_middle_is_the_worked_one(void **state) {
    (void)state;
    const double rows[][2] = {{0.5, 4.06255745356}, {1, 4.23753972232}, {2, 4.81411624896}, {3, 5.54905335628}};
    struct collimator c = worked(), other = solved(1.4901);
    struct optic optic, twin;
    collimator_optic(&c, &optic);
    collimator_optic(&other, &twin);
    for (int i = 0; i < 4; i++) {
        assert_true(fabs(middle_mm(&optic, rows[i][0]) - rows[i][1]) < 1e-11);
        assert_true(fabs(middle_mm(&twin, rows[i][0]) - rows[i][1]) > 1e-6);
    }
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

/* 1e-9 rad, from a thousandth of a degree above the board on; twin: the path through the
 * hollow's wall taken as straight. */
static void rays_of_the_centre_leave_straight_up(void **state) {
    (void)state;
    struct collimator c = worked();
    struct optic optic;
    collimator_optic(&c, &optic);
    for (double angle = 1; angle < 61; angle += 3)
        assert_true(fabs(exit_slope(&optic, 0, 0, angle, 4)) < 1e-9);
    for (double angle = 1e-3; angle < 1; angle *= 2)
        assert_true(fabs(exit_slope(&optic, 0, 0, angle, 4)) < 1e-9);
    for (double angle = 62; angle < 90; angle += 3)
        assert_true(fabs(exit_slope(&optic, 0, 0, angle, 3)) < 1e-12);
    optic.materials[2].index = 1.2; /* something else in the hollow */
    assert_true(fabs(exit_slope(&optic, 0, 0, 30, 4)) > 1e-3);
}

/* Tilt in degrees of light from (x, 0, z) that passes the middle at a radius. */
static double middle_tilt_deg(const struct optic *optic, double x, double z, double radius_mm) {
    double angle = atan2(middle_mm(optic, radius_mm) - z, radius_mm - x);
    return exit_slope(optic, x, z, angle * 180 / PI, 3) * 180 / PI;
}

/* A die 0.1 mm aside, in the plane of the shift: tilt of the rays through the middle at r (derived). Those that pass
 * r leave the die at the angle to (r, z(r)). Twin: a hundredth further aside. */
static void a_shifted_die_tilts_the_middle(void **state) {
    (void)state;
    struct collimator c = worked();
    struct optic optic;
    collimator_optic(&c, &optic);
    const double rows[][2] = {{1e-9, -1.43209618}, {1.5, -0.888739070}, {2.9, -0.435843098}};
    for (int i = 0; i < 3; i++) {
        assert_true(fabs(middle_tilt_deg(&optic, 0.1, 0, rows[i][0]) - rows[i][1]) < 1e-7);
        assert_true(fabs(middle_tilt_deg(&optic, 0.101, 0, rows[i][0]) - rows[i][1]) > 1e-3);
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
        double farther = middle_tilt_deg(&optic, 0, -0.3, rows[i][0]);
        assert_true(fabs(middle_tilt_deg(&optic, 0, 0.3, rows[i][0]) - rows[i][1]) < 1e-7);
        assert_true(farther < 0 && fabs(-farther - rows[i][1]) > 1e-3);
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
