/* Rays of a wave at a surface, in single precision and without most divisions, against the path of a single ray in
 * double, whose every equation is checked elsewhere against published values (test_optics_fresnel.c: M. Born and E.
 * Wolf, "Principles of Optics", 7th ed., 1999). */
#include "lenses/vector3.h"
#include "lenses/wave_meet.h"
#include "numbers/vec.h"

#include <math.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>

#include <cmocka.h>

/* A ray about to meet a surface of revolution whose normal, of no length, is (radial x, radial y, rise). The normal
 * of the last one met the axis at the centre. */
struct sample {
    double at[3], direction[3], radial, rise, normal[3], q, u, v, centre;
    double ratio, share; /* share: of a mirror; clear: -1 */
    struct ray_numbers numbers;
};

static double between(struct pcg32 *random, double low, double high) {
    return low + (high - low) * 0x1p-32 * pcg32_next(random);
}

static void unit(double v[3]) {
    double length = sqrt(dot3(v, v));
    for (int i = 0; i < 3; i++)
        v[i] /= length;
}

/* One in four is unpolarised, one in three nearly along the axis, one in eleven quite; one in five a flat face, one
 * in six after one. */
static struct sample sample_of(struct pcg32 *random, int i) {
    double lean = i % 11 == 0 ? 0 : i % 3 == 0 ? pow(10, between(random, -3, 0)) : between(random, 0.01, PI - 0.01);
    double azimuth = between(random, -PI, PI), state[3];
    struct sample s = {.at = {between(random, -9, 9), between(random, -9, 9), between(random, -9, 9)},
                       .direction = {sin(lean) * cos(azimuth), sin(lean) * sin(azimuth), cos(lean)},
                       .radial = i % 5 == 0 ? 0 : between(random, -0.1, 0.1),
                       .rise = between(random, -1, 1),
                       .centre = i % 6 == 0 ? 1e8 : between(random, -30, 30),
                       .ratio = i % 2 ? 1.49 : 1 / 1.49,
                       .share = i % 7 == 0 ? 0.9 : -1,
                       .numbers = {pcg32_next(random)}};
    for (int k = 0; k < 3; k++)
        state[k] = between(random, -0.57, 0.57); /* no more than 1 together */
    if (s.radial * (s.at[0] * s.direction[0] + s.at[1] * s.direction[1]) + s.rise * s.direction[2] < 0) {
        s.radial = -s.radial;
        s.rise = -s.rise;
    }
    s.normal[0] = s.radial * s.at[0];
    s.normal[1] = s.radial * s.at[1];
    s.normal[2] = s.rise;
    unit(s.normal);
    if (i % 4 != 0) {
        s.q = state[0];
        s.u = state[1];
        s.v = state[2];
    }
    return s;
}

/* The reference of waves: across the ray, and across the line to a point on the axis. */
static void reference_by(const double at[3], double centre, const double d[3], double out[3]) {
    const double from_centre[3] = {at[0], at[1], at[2] - centre};
    cross3(d, from_centre, out);
    unit(out);
}

/* What comes of it in double. False: too near to call, or absorbed. */
static bool path_after(const struct sample *s, struct path *path, bool *back) {
    struct meeting meeting;
    path_start(path, s->at, s->direction);
    reference_by(s->at, s->centre, s->direction, path->reference);
    path->q = s->q;
    path->u = s->u;
    path->v = s->v;
    meeting_find(path, s->normal, s->share < 0 ? s->ratio : 1, &meeting);
    struct ray_numbers own = s->numbers;
    double share = s->share < 0 ? meeting.reflectance : s->share, number = 0x1p-24 * (ray_numbers_next(&own) >> 8);
    *back = number < share;
    if (fabs(number - share) < 1e-4 || (s->share >= 0 && !*back))
        return false;
    if (s->share >= 0)
        meeting_mirror(&meeting, path);
    else if (*back)
        meeting_reflect(&meeting, path);
    else
        meeting_refract(&meeting, path);
    return true;
}

/* The state told as the wave tells it. */
static void tell_by(double centre, struct path *path) {
    double e[3], across[3];
    reference_by(path->at_mm, centre, path->direction, e);
    cross3(path->direction, path->reference, across);
    double angle = 2 * atan2(dot3(e, across), dot3(e, path->reference)), q = path->q;
    path->q = q * cos(angle) + path->u * sin(angle);
    path->u = path->u * cos(angle) - q * sin(angle);
}

/* How far a ray of a wave is from it at most: 1 where it went the other way. */
static double error_of(const struct sample *s, struct path path, bool back, double handedness) {
    static struct wave rays; /* of which the first counts; the others are nonsense */
    static struct wave_work work;
    const struct wave_block block = {&rays, 0, 1, &work};
    rays.x[0] = (float)s->at[0];
    rays.y[0] = (float)s->at[1];
    rays.z[0] = (float)s->at[2];
    rays.dx[0] = (float)s->direction[0];
    rays.dy[0] = (float)s->direction[1];
    rays.dz[0] = (float)s->direction[2];
    rays.q[0] = (float)s->q;
    rays.u[0] = (float)s->u;
    rays.v[0] = (float)s->v;
    rays.centre[0] = (float)s->centre;
    work.radial[0] = (float)s->radial;
    work.rise[0] = (float)s->rise;
    work.ratio[0] = s->share < 0 ? (float)s->ratio : 1;
    work.mirror[0] = (float)s->share;
    rays.numbers[0] = s->numbers.state;
    store(work.per_length, per_length_at(&block, 0));
    meet(&block, s->q == 0 && s->u == 0 && s->v == 0);
    tell_by(rays.centre[0], &path);
    path.u *= handedness;
    const double found[] = {rays.dx[0], rays.dy[0], rays.dz[0], rays.q[0], rays.u[0], rays.v[0]};
    const double wanted[] = {path.direction[0], path.direction[1], path.direction[2], path.q, path.u, path.v};
    double worst = (work.back[0] & 1) == back ? 0 : 1;
    for (int k = 0; k < 6; k++)
        worst = fmax(worst, fabs(found[k] - wanted[k]));
    return worst;
}

static double worst_of(int samples, double handedness) {
    struct pcg32 random = pcg32_seed(2026, 27);
    double worst = 0;
    for (int i = 0; i < samples; i++) {
        struct sample s = sample_of(&random, i);
        struct path path;
        bool back;
        if (!path_after(&s, &path, &back))
            continue;
        worst = fmax(worst, error_of(&s, path, back, handedness));
    }
    return worst;
}

/* Rounding: 1e-7 of the numbers, over an angle of incidence of 1e-3. */
static void a_wave_meets_what_a_path_meets(void **state) {
    (void)state;
    assert_true(worst_of(200000, 1) < 5e-4);
}

/* Twin: 45 deg to the other side of the reference. */
static void a_turn_to_the_other_side_is_seen(void **state) {
    (void)state;
    assert_true(worst_of(2000, -1) > 0.1);
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(a_wave_meets_what_a_path_meets),
        cmocka_unit_test(a_turn_to_the_other_side_is_seen),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
