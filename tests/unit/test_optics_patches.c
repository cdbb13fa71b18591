/* Surfaces of revolution met by rays, and what exact conics do with light.
 *
 * Sources. Conics and their foci: M. Born and E. Wolf, "Principles of Optics", 7th
 * ed. 1999, sec. 4.2; W. T. Welford, "Aberrations of Optical Systems", 1986 (both from memory). Each value
 * below was worked out with 50 digits by Snell's law in vectors (derived). */
#include "lenses/optic.h"

#include <math.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <stdlib.h>

#include <cmocka.h>

static const double PI = 3.14159265358979323846;
static double deg(double rad) {
    return rad * 180 / PI;
}

/* ---- crossings ---- */

struct crossing {
    const char *name;
    double origin[3], direction[3], radius, conic;
    bool up;
    double t, tolerance; /* relative */
};
/* Values (derived: roots of the exact inputs with 50 digits; roots without cancellation: Press et al., "Numerical
 * Recipes", 2007, sec. 5.6). A ghost of the other sheet has the other sense. Both roots of a near tangent are as far
 * off as half the chord is small: 1e-12 / 4e-6. Directions need no unit length here. */
static const struct crossing crossings[] = {
    {"far origin, first", {3, 4, -1e8 + 10}, {0, 0, 1}, 10, 0, true, 99999991.339745962156, 1e-12},
    {"far origin, second", {3, 4, -1e8 + 10}, {0, 0, 1}, 10, 0, false, 100000008.66025403784, 1e-12},
    {"grazing, first", {9.999999, 0, -40}, {0, 0, 1}, 10, 0, true, 49.995527864158477295, 1e-10},
    {"grazing, second", {9.999999, 0, -40}, {0, 0, 1}, 10, 0, false, 50.004472135841522705, 1e-10},
    {"flat sphere", {5, 0, -1}, {0, 0, 1}, 1e6, 0, true, 1.0000125000000000781, 1e-14},
    {"paraboloid along its axis", {12, 5, -100}, {0, 0, 1}, 12, -1, true, 107.04166666666666667, 1e-14},
    {"paraboloid, nearly along its axis", {12, 5, -100}, {1e-9, 0, 1}, 12, -1, true, 107.04166677370833392, 1e-12},
    {"two sheets, the true one", {5, 0, -40}, {0, 0, 1}, 9.8, -2.2201, true, 41.187698611582442442, 1e-14},
    {"two sheets, the ghost", {5, 0, -40}, {0, 0, 1}, 9.8, -2.2201, false, 22.748044360305106098, 1e-14},
    {"nearly plane", {-30, 0, -40}, {0.6, 0, 0.8}, 1e9, 0, true, 49.999999999999997224, 1e-13},
    {"nearly plane, round the world", {-30, 0, -40}, {0.6, 0, 0.8}, 1e9, 0, false, 1600000050.0000000178, 1e-14},
    {"flat sphere, far side", {5, 0, -1}, {0, 0, 1}, 1e6, 0, false, 2000000.9999875000000, 1e-14},
    {"near tangent, first", {10 - 0x1p-40, 0, -40}, {0, 0, 1}, 10, 0, true, 49.999995735038800240, 5e-9},
    {"near tangent, second", {10 - 0x1p-40, 0, -40}, {0, 0, 1}, 10, 0, false, 50.000004264961199760, 5e-9},
    {"tangent, first", {10, 0, -40}, {0, 0, 1}, 10, 0, true, 50, 1e-7},
    {"tangent, second", {10, 0, -40}, {0, 0, 1}, 10, 0, false, 50, 1e-7},
    {"paraboloid, its far side", {12, 5, -100}, {1e-9, 0, 1}, 12, -1, false, 2.3999999975999996903e19, 1e-12},
    {"almost along an asymptote", {-30, 1, -20}, {1.1, 0, 1}, 9.8, -2.21, true, 21.747311827956988552, 1e-12},
    {"across from the vertex",
     {0, 0, 0},
     {0x1.3333333333333p-21, 0, 0x1.999999999999ap-21},
     10,
     0,
     false,
     16777216.000000000186,
     1e-15},
};
enum { CROSSINGS = sizeof crossings / sizeof *crossings };

static void crossings_are_those_worked_out(void **state) {
    (void)state;
    for (int i = 0; i < CROSSINGS; i++) {
        const struct crossing *c = &crossings[i];
        struct patch patch = patch_conic(0, 1 / c->radius, c->conic);
        double t = NAN;
        bool found = patch_cross(&patch, c->origin, c->direction, c->up, false, 0, &t);
        if (!found || !(fabs(t / c->t - 1) <= c->tolerance))
            fail_msg("%s: %.17g, not %.17g", c->name, t, c->t);
    }
}

/* The formula of the school, -B +- sqrt(B^2 - 4 A C) over 2 A from where the ray starts, gets four of them wrong. */
static void the_schoolbook_root_fails(void **state) {
    (void)state;
    int wrong = 0;
    for (int i = 0; i < CROSSINGS; i++) {
        const struct crossing *c = &crossings[i];
        const struct patch p = patch_conic(0, 1 / c->radius, c->conic);
        const double *o = c->origin, *d = c->direction;
        double a = p.a * (d[0] * d[0] + d[1] * d[1]) + p.b * d[2] * d[2];
        double b = 2 * (p.a * (o[0] * d[0] + o[1] * d[1]) + p.b * o[2] * d[2]) + p.c * d[2];
        double f = p.a * (o[0] * o[0] + o[1] * o[1]) + (p.b * o[2] + p.c) * o[2], s = sqrt(b * b - 4 * a * f);
        wrong += !(fabs(((c->up ? s : -s) - b) / (2 * a) / c->t - 1) <= c->tolerance);
    }
    assert_true(wrong >= 4);
}

/* A ray that stands on a surface does not meet it where it stands; the twin, to take t = 0, would. */
static void a_ray_does_not_meet_its_own_start(void **state) {
    (void)state;
    struct patch ball = patch_conic(0, 0.1, 0);
    const double at[3] = {0, 0, 0}, in[3] = {0.6, 0, 0.8}, out[3] = {0.6, 0, -0.8};
    double t;
    assert_false(patch_cross(&ball, at, in, true, true, 1e-9, &t));
    assert_true(patch_cross(&ball, at, in, true, false, 1e-9, &t) && t == 0);
    assert_true(patch_cross(&ball, at, in, false, true, 1e-9, &t) && fabs(t - 16) < 1e-14);
    assert_false(patch_cross(&ball, at, out, true, true, 1e-9, &t));
    assert_false(patch_cross(&ball, at, out, false, true, 1e-9, &t));
}

/* Twin: the smallest positive root, whatever its sense, is the ghost. */
static void the_nearest_root_is_not_always_the_surface(void **state) {
    (void)state;
    struct patch patch = patch_conic(0, 1 / 9.8, -2.2201);
    const double at[3] = {5, 0, -40}, along[3] = {0, 0, 1};
    double up, down;
    assert_true(patch_cross(&patch, at, along, true, false, 0, &up));
    assert_true(patch_cross(&patch, at, along, false, false, 0, &down));
    assert_true(fmin(up, down) < 41);
    patch.z_low_mm = -1; /* bounds cut the ghost off */
    assert_false(patch_cross(&patch, at, along, false, false, 0, &down));
}

/* ---- sag ---- */

struct sag_row {
    double r, radius, conic, poly[3];
    int count;
    double z, slope, tolerance;
};
/* Height and slope dz/dr (derived; the form of ISO 10110-12: conic plus even powers). Close to the equator, row 5,
 * nine digits of the slope are all that the digits of r hold. */
static const struct sag_row sags[] = {
    {5, 10, 0, {0}, 0, 1.339745962155614, 0.5773502691896258, 1e-15},
    {5, 10, -1, {0}, 0, 1.250000000000000, 0.5, 1e-15},
    {5, 10, -2.2201, {0}, 0, 1.166928186459469, 0.4376839171778011, 1e-15},
    {5, 10, 1.5, {0}, 0, 1.550510257216822, 0.8164965809277260, 1e-15},
    {9.999999, 10, 0, {0}, 0, 9.995527864156804, 2236.067809794688, 1e-12},
    {1e-4, 1e4, -0.5, {0}, 0, 5.000000000000000e-13, 1e-8, 1e-15},
    {5, 10, -0.6, {1e-5, -2e-8, 3e-11}, 3, 1.288866767487155, 0.5316900266947299, 1e-15},
    {12, -25, -3, {-4e-6, 5e-9}, 2, -2.675959009738128, -0.4173250753928971, 1e-15},
};
enum { SAGS = sizeof sags / sizeof *sags };

static void sags_are_those_worked_out(void **state) {
    (void)state;
    for (int i = 0; i < SAGS; i++) {
        const struct sag_row *s = &sags[i];
        double z = conic_sag(1 / s->radius, s->conic, s->count, s->poly, s->r);
        if (!(fabs(z / s->z - 1) <= s->tolerance))
            fail_msg("row %d: %.17g, not %.17g", i, z, s->z);
        /* and a ray along the axis meets the surface there */
        struct patch patch = patch_asphere(0, 1 / s->radius, s->conic, s->count, s->poly);
        patch.radius_high_mm = s->r * 1.0000001;
        patch.z_low_mm = -12;
        patch.z_high_mm = 12;
        const double at[3] = {s->r, 0, -20}, along[3] = {0, 0, 1};
        double t = NAN;
        assert_true(patch_cross(&patch, at, along, true, false, 0, &t));
        if (!(fabs(t - 20 - s->z) < 1e-8))
            fail_msg("row %d: met at %.17g, not %.17g", i, t - 20, s->z);
        const double there[3] = {s->r, 0, z};
        double normal[3];
        patch_normal(&patch, there, normal);
        if (!(fabs(-normal[0] / normal[2] / s->slope - 1) <= (s->r > 9.9 && s->r < 10 ? 1e-9 : 4e-15)))
            fail_msg("row %d: slope %.17g, not %.17g", i, -normal[0] / normal[2], s->slope);
    }
}

/* Twins: R - sqrt(R^2 - r^2) has no digit left of row 6; the first power on r^2 in place of r^4. */
static void the_schoolbook_sag_fails(void **state) {
    (void)state;
    assert_true(fabs((1e4 - sqrt(1e8 - 1e-8)) / 5e-13 - 1) > 0.5);
    for (int i = 6; i < SAGS; i++) {
        const struct sag_row *s = &sags[i];
        double conic = conic_sag(1 / s->radius, s->conic, 0, NULL, s->r), early = s->poly[0] * s->r * s->r;
        assert_true(fabs((conic + early) / s->z - 1) > 1e-3);
    }
}

/* ---- straight through ---- */

static struct patch between(struct patch patch, int down, int up, double radius_mm) {
    patch.down = down;
    patch.up = up;
    patch.radius_high_mm = radius_mm;
    return patch;
}

static void open_air(struct optic *optic, double index, double size_mm) {
    *optic = (struct optic){.material_count = 2, .size_mm = size_mm};
    optic->materials[0] = (struct optic_material){1, 0, true, 0};
    optic->materials[1] = (struct optic_material){index, 0, false, 0};
}

static void add(struct optic *optic, struct patch patch) {
    optic->patches[optic->patch_count++] = patch;
}

/* The path that is reflected nowhere: streams are tried until chance takes it. */
static struct path through(const struct optic *optic, double x, double y, double z, const double direction[3],
                           int segments) {
    const double at[3] = {x, y, z};
    for (uint64_t i = 0; i < 10000; i++) {
        struct pcg32 random = pcg32_seed(i, 7);
        struct optic_outcome out;
        optic_trace(optic, at, direction, &random, &out);
        if (out.fate == OPTIC_EXIT && out.segments == segments)
            return out.end;
    }
    fail_msg("no ray goes through at %g", x);
    abort();
}

static const double UP[3] = {0, 0, 1};

static double crosses_axis(const struct path *path) {
    return path->at_mm[2] - path->at_mm[0] * path->direction[2] / path->direction[0];
}
static double slant(const struct path *path) {
    return deg(atan2(-path->direction[0], path->direction[2]));
}

/* ---- exact foci ---- */

/* Plano-hyperbolic, K = -n^2, R = (n - 1) f: a parallel beam in glass meets in one point, f behind the vertex (Born
 * and Wolf 1999, sec. 4.2; angles derived). Twin: K = -n. */
static double hyperbolic_crossing(double conic, double h, double *angle) {
    struct optic optic;
    open_air(&optic, 1.49, 40);
    add(&optic, between(patch_plane(1), 0, 1, 16));
    struct patch back = between(patch_conic(20, -1 / 9.8, conic), 1, 0, 16);
    back.z_low_mm = 1;
    back.z_high_mm = 20;
    add(&optic, back);
    struct path out = through(&optic, h, 0, 0, UP, 3);
    *angle = slant(&out);
    return crosses_axis(&out) - 20;
}

static void a_hyperboloid_has_one_focus(void **state) {
    (void)state;
    const double rows[][3] = {{1, 2.85515670957, 0.0508593875015},
                              {5, 13.2780758517, 1.18769861158},
                              {10, 22.5601919057, 4.07058124482},
                              {15, 28.3971080477, 7.74526678141}};
    for (int i = 0; i < 4; i++) {
        double angle, twin_angle;
        assert_true(fabs(conic_sag(1 / 9.8, -2.2201, 0, NULL, rows[i][0]) - rows[i][2]) < 1e-11);
        assert_true(fabs(hyperbolic_crossing(-2.2201, rows[i][0], &angle) - 20) < 2e-12);
        assert_true(fabs(angle - rows[i][1]) < 1e-10);
        if (rows[i][0] <= 5) /* farther out the twin reflects all */
            assert_true(fabs(hyperbolic_crossing(-1.49, rows[i][0], &twin_angle) - 20) > 1e-3);
    }
}

/* Ellipsoid, K = -1/n^2, air to glass: focus n R / (n - 1) inside. The ray leaves by a plane close behind the vertex,
 * and its slope there tells by Snell's law what it was inside. Twin: the sign of K. */
static double ellipsoid_focus(double conic, double h, double *angle) {
    struct optic optic;
    open_air(&optic, 1.49, 60);
    struct patch front = between(patch_conic(5, 0.1, conic), 0, 1, 13.4);
    front.z_high_mm = 20;
    add(&optic, front);
    add(&optic, between(patch_plane(20), 1, 0, 20));
    struct path out = through(&optic, h, 0, 0, UP, 3);
    double sine = -out.direction[0] / 1.49;
    *angle = deg(asin(sine));
    return out.at_mm[2] + out.at_mm[0] * sqrt(1 - sine * sine) / sine - 5;
}

static void an_ellipsoid_has_one_focus(void **state) {
    (void)state;
    const double conic = -1 / (1.49 * 1.49);
    /* height, angle in the glass, how far the surface falls back there */
    const double rows[][3] = {{1, 1.88664905281, 0.0500688856477},
                              {5, 9.74549568286, 1.29616507268},
                              {10, 22.2656417825, 5.98393574297},
                              {13, 37.2944887402, 13.3398183588}};
    for (int i = 0; i < 4; i++) {
        double angle, twin_angle;
        assert_true(fabs(ellipsoid_focus(conic, rows[i][0], &angle) - 30.4081632653061) < 1e-11);
        assert_true(fabs(angle - rows[i][1]) < 1e-10);
        assert_true(fabs(conic_sag(0.1, conic, 0, NULL, rows[i][0]) - rows[i][2]) < 1e-10);
        if (rows[i][0] < 6)
            assert_true(fabs(ellipsoid_focus(-conic, rows[i][0], &twin_angle) - 30.4081632653061) > 0.01);
    }
}

/* ---- a Cartesian oval ---- */

/* From an air point 30 before the vertex to a glass point 40 behind it, index 1.5: all paths are 90 long (Descartes
 * 1637; Born and Wolf 1999, sec. 4.2). The air path l at a height solves the condition squared. */
static double oval_radius(const void *data, double z) {
    const double n = 1.5, path = 90 + *(const double *)data;
    const double p = (z + 30) * (z + 30), q = (z - 40) * (z - 40);
    /* l + n m = path, l^2 = r^2 + p, m^2 = r^2 + q: (n^2 - 1) l^2 + 2 path l = path^2 - n^2 (q - p) */
    const double a = n * n - 1, c = path * path - n * n * (q - p);
    const double l = (sqrt(path * path + a * c) - path) / a;
    return sqrt(fmax(l * l - p, 0));
}

/* Where a ray of the air point at height h meets the oval, its angle inside and where it crosses the axis. */
static void through_oval(const struct patch *oval, double h, double z, double *met, double *inside,
                         double *crossing) {
    const double length = hypot(h, z + 30), at[3] = {0, 0, -30};
    const double direction[3] = {0.6 * h / length, 0.8 * h / length, (z + 30) / length};
    double t = NAN, normal[3];
    struct path path;
    struct meeting meeting;
    path_start(&path, at, direction);
    *met = *inside = *crossing = NAN;
    if (!patch_cross(oval, at, direction, false, false, 0, &t))
        return;
    for (int k = 0; k < 3; k++)
        path.at_mm[k] += t * direction[k];
    patch_normal(oval, path.at_mm, normal);
    meeting_find(&path, normal, 1 / 1.5, &meeting);
    meeting_refract(&meeting, &path);
    double slope = -(0.6 * path.direction[0] + 0.8 * path.direction[1]) / path.direction[2];
    *met = path.at_mm[2];
    *inside = deg(atan(slope));
    *crossing = path.at_mm[2] + hypot(path.at_mm[0], path.at_mm[1]) / slope;
}

/* Height of the surface, angle in air and in glass (derived with 50 digits and by following the slope that Snell's
 * law asks for). Twin: paths 1e-3 longer. */
static int wrong_oval_rows(double longer_mm) {
    static const double rows[][4] = {{2, 0.282916800143, 3.7785457197, 2.8827607326},
                                     {5, 1.758827327301, 8.9470108391, 7.4491166558},
                                     {10, 7.107164727594, 15.082322101, 16.910193569},
                                     {14, 15.30461697229, 17.172157256, 29.549229743}};
    struct patch oval = patch_profile(0, 16, PATCH_POLY_MAX, oval_radius, &longer_mm);
    int wrong = 0;
    for (int i = 0; i < 4; i++) {
        const double *row = rows[i];
        double z, inside, crossing;
        through_oval(&oval, row[0], row[1], &z, &inside, &crossing);
        wrong += !(fabs(z - row[1]) < 1e-10 && fabs(deg(atan2(row[0], z + 30)) - row[2]) < 1e-8 &&
                   fabs(inside - row[3]) < 1e-8 && fabs(crossing - 40) < 1e-9);
    }
    return wrong;
}

static void an_oval_joins_two_points(void **state) {
    (void)state;
    assert_int_equal(wrong_oval_rows(0), 0);
    assert_int_equal(wrong_oval_rows(1e-3), 4);
}

/* ---- mirrors ---- */

static struct patch mirror(struct patch patch) {
    patch.deed = PATCH_MIRROR;
    patch.comes_back = 1;
    return patch;
}

/* Paraboloid z = r^2 / 4f, f 6: from the focus all light leaves along the axis (Born and Wolf 1999, sec. 4.2). Twin:
 * the lamp beside the focus. */
static double tilt_from_paraboloid(double source_z, double angle_deg) {
    struct optic optic;
    open_air(&optic, 1.49, 60);
    struct patch bowl = mirror(between(patch_conic(0, 1 / 12.0, -1), 0, 0, 30));
    bowl.z_high_mm = 30;
    add(&optic, bowl);
    double angle = angle_deg * PI / 180;
    const double direction[3] = {sin(angle), 0, -cos(angle)};
    struct path out = through(&optic, 0, 0, source_z, direction, 2);
    return hypot(out.direction[0], out.direction[1]);
}

static void a_paraboloid_makes_light_parallel(void **state) {
    (void)state;
    /* angles from -z at which the ray meets the bowl at 3, 12 and 24 mm (derived) */
    const double angles[] = {28.0724869359, 90, 126.869897646};
    for (int i = 0; i < 3; i++) {
        assert_true(tilt_from_paraboloid(6, angles[i]) < 1e-14);
        assert_true(tilt_from_paraboloid(6.1, angles[i]) > 1e-3);
    }
}

/* Ellipsoid a 30, b 20: foci 7.639320225002 and 52.36067977500 from the vertex, heights (definition of the ellipse).
 */
static void an_ellipsoid_mirror_joins_its_foci(void **state) {
    (void)state;
    static const double heights[][2] = {{5, 0.9526249034444}, {15, 10.15686516702}, {19, 20.63250300240}};
    for (int i = 0; i < 3; i++) {
        assert_true(fabs(conic_sag(3 / 40.0, -5 / 9.0, 0, NULL, heights[i][0]) - heights[i][1]) < 1e-11);
        assert_true(fabs(conic_sag(3 / 40.0, -6 / 9.0, 0, NULL, heights[i][0]) - heights[i][1]) > 1e-3); /* twin */
    }
    struct optic optic;
    open_air(&optic, 1.49, 60);
    struct patch bowl = mirror(between(patch_conic(0, 3 / 40.0, -5 / 9.0), 0, 0, 20));
    bowl.z_high_mm = 30;
    add(&optic, bowl);
    for (double angle = 0.3; angle < 1.8; angle += 0.1) {
        const double direction[3] = {sin(angle), 0, -cos(angle)};
        struct path out = through(&optic, 0, 0, 7.639320225002, direction, 2);
        assert_true(fabs(crosses_axis(&out) - 52.36067977500) < 1e-10);
    }
}

/* ---- scatter ---- */

/* Share of a Gaussian of s = 2, 10 and 30 deg (per solid angle) inside half its width at half its height, inside
 * which 1/2 lie where angles are small, and its median (derived by quadrature of sin a exp(-a^2 / 2 s^2)); and inside
 * 30 deg of a Lambertian: sin^2 30. Twin: the polar angle drawn from a plane normal gives 0.761. 100 000 rays, four
 * standard errors. */
static double share_within(const struct optic *optic, double angle_rad) {
    const long rays = 100000;
    const double at[3] = {0, 0, 0};
    long within = 0, out_count = 0;
    struct pcg32 random = pcg32_seed(11, 3);
    for (long i = 0; i < rays; i++) {
        struct optic_outcome out;
        optic_trace(optic, at, UP, &random, &out);
        if (out.fate != OPTIC_EXIT)
            continue;
        out_count++;
        within += out.end.direction[2] > cos(angle_rad);
    }
    return (double)within / (double)out_count;
}

static struct patch frosted(double spread_deg) {
    struct patch patch = between(patch_plane(5), 0, 1, 1e9);
    patch.deed = PATCH_FROSTED;
    patch.spread_rad = spread_deg * PI / 180;
    return patch;
}

static void scatter_has_its_width(void **state) {
    (void)state;
    static const double rows[][3] = {/* s, share inside half the width, median: all in deg */
                                     {2, 0.5001407741, 2.354341873},
                                     {10, 0.5035259261, 11.71445234},
                                     {30, 0.5359307257, 33.57204369}};
    struct optic optic;
    open_air(&optic, 1, 20); /* no bending: the scatter alone */
    optic.materials[1].open = true;
    add(&optic, frosted(10));
    for (int i = 0; i < 3; i++) {
        const double half_width = rows[i][0] * PI / 180 * 2.354820045 / 2, bound = 4 * sqrt(0.25 / 1e5);
        optic.patches[0].spread_rad = rows[i][0] * PI / 180;
        assert_true(fabs(share_within(&optic, half_width) - rows[i][1]) < bound);
        assert_true(fabs(share_within(&optic, rows[i][2] * PI / 180) - 0.5) < bound);
        assert_true(fabs(share_within(&optic, half_width) - 0.761) > 0.2);
    }
    optic.patches[0].deed = PATCH_LAMBERTIAN;
    optic.patches[0].passes = 0.6;
    optic.patches[0].comes_back = 0.3;
    assert_true(fabs(share_within(&optic, PI / 6) - 0.25) < 4 * sqrt(0.1875 / 5e4));
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(crossings_are_those_worked_out),
        cmocka_unit_test(the_schoolbook_root_fails),
        cmocka_unit_test(a_ray_does_not_meet_its_own_start),
        cmocka_unit_test(the_nearest_root_is_not_always_the_surface),
        cmocka_unit_test(sags_are_those_worked_out),
        cmocka_unit_test(the_schoolbook_sag_fails),
        cmocka_unit_test(a_hyperboloid_has_one_focus),
        cmocka_unit_test(an_ellipsoid_has_one_focus),
        cmocka_unit_test(an_oval_joins_two_points),
        cmocka_unit_test(a_paraboloid_makes_light_parallel),
        cmocka_unit_test(an_ellipsoid_mirror_joins_its_foci),
        cmocka_unit_test(scatter_has_its_width),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
