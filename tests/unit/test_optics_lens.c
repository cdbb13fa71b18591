/* The plano-convex lens traced surface by surface.
 *
 * Sources. Ray tables: Snell's vector law carried with 50 digits and confirmed by plane trigonometry; their paraxial
 * and third-order limits are those of Born and Wolf, "Principles of Optics", 7th ed. 1999, sec. 4.4 and 5.5, and of
 * W. T. Welford, "Aberrations of Optical Systems", 1986 (formulas from memory). Aplanatic points of a sphere: Born
 * and Wolf sec. 4.2.3. The shares of the light are compared with an integral over the launch angle made here, in the
 * meridional plane, by plane trigonometry. */
#include "lenses/fresnel.h"
#include "unit/one_ray.h"

#include <math.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <string.h>

#include <cmocka.h>

static const double pi = 3.14159265358979323846;
/* Shares of the launched light: by its fate, and of the exits those within 10, 20, 40 deg of the axis. */
enum share { EXIT, RETURNED, RIM, HOLDER, WITHIN, SHARES = WITHIN + 3 };

static double degrees(double radians) {
    return radians * (180 / pi);
}

static struct luxfall_lens lens_of(double index, double diameter, double radius, double thickness, double gap,
                                   bool towards) {
    struct luxfall_lens lens = {.name = "lens", .kind = LUXFALL_LENS_SINGLET, .material = {.index = index}};
    lens.singlet = (struct luxfall_singlet){.diameter_mm = diameter, .thickness_mm = thickness, .gap_mm = gap};
    *(towards ? &lens.singlet.towards : &lens.singlet.away) = (struct luxfall_side){.radius_mm = radius};
    return lens;
}

static void trace(const struct luxfall_lens *lens, const struct solid_ray *in, struct pcg32 *random,
                  struct solid_outcome *out) {
    static struct luxfall_lens made; /* building one takes longer than a ray */
    static struct optic optic;
    if (memcmp(&made, lens, sizeof made) != 0) {
        made = *lens;
        assert_int_equal(solid_optic(&made, LUXFALL_WAVELENGTH_UM, &optic, NULL), LUXFALL_OK);
    }
    optic_trace_ray(&optic, in, random, out);
}

static void the_stream_passes(void **state) {
    (void)state;
    struct pcg32 stream = stream_that_passes();
    struct ray_numbers numbers = {pcg32_next(&stream)};
    for (int i = 0; i < 4; i++)
        assert_true(ray_numbers_next(&numbers) >= 0xfc000000u);
}

/* ---- ray tables ---- */

struct table_row {
    double h, angle_deg, crossing, longitudinal, transverse;
};
/* Values (derived: 50 digits, vectors and plane trigonometry alike; limits by Born and Wolf 1999, sec. 4.4 and 5.5).
 * Index 1.49, radius 24.5, thickness 6, parallel beam: crossing from the last vertex, aberrations at the paraxial
 * focus. */
static const struct table_row curved_first[] = {
    {1, 1.146633318852, 45.94933028850, -0.023824073913, -0.000476843576},
    {5, 5.821483104965, 45.37086483331, -0.60228952911, -0.061406507133},
    {10, 12.25623531146, 43.47124202472, -2.5019123377, -0.54350353521},
    {12, 15.20162139390, 42.28072543973, -3.6924289227, -1.0033229396},
};
static const struct table_row flat_first[] = {
    {1, 1.147417332897, 49.90746762455, -0.092532375453, -0.00185332058},
    {5, 5.927177280177, 47.64493983248, -2.3550601675, -0.24450086153},
    {10, 13.36730714039, 39.94837332682, -10.051626673, -2.3885751183},
    {12, 17.54211913449, 34.82181779366, -15.178182206, -4.7979322906},
};
enum { TABLE_ROWS = 4 };

enum table_twin { TABLE_OURS, TABLE_FLIPPED, TABLE_FROM_FIRST_VERTEX, TABLE_PARAXIAL };

/* One ray of the table; azimuth turns the whole meridian, so that skew axes are tried too. */
static bool table_row_holds(const struct table_row *row, bool towards, double azimuth, enum table_twin twin) {
    const double n = 1.49, radius = 24.5, thickness = 6, focal = radius / (n - 1);
    const double paraxial = towards ? focal - thickness / n : focal;
    const struct luxfall_lens lens = lens_of(n, 25, radius, thickness, 7, twin == TABLE_FLIPPED ? !towards : towards);
    const struct solid_ray in = {{row->h * cos(azimuth), row->h * sin(azimuth), 0}, {0, 0, 1}};
    struct pcg32 random = stream_that_passes();
    struct solid_outcome out;
    trace(&lens, &in, &random, &out);
    if (out.fate != OPTIC_EXIT)
        return false;
    const double *o = out.exit.origin, *d = out.exit.direction;
    const double slope = -(d[0] * cos(azimuth) + d[1] * sin(azimuth)) / d[2];
    double crossing = o[2] + (o[0] * cos(azimuth) + o[1] * sin(azimuth)) / slope;
    if (twin == TABLE_FROM_FIRST_VERTEX)
        crossing += thickness;
    if (twin == TABLE_PARAXIAL)
        crossing = paraxial;
    const double longitudinal = crossing - paraxial, across = d[0] * sin(azimuth) - d[1] * cos(azimuth);
    return fabs(degrees(atan(slope)) - row->angle_deg) < 1e-11 && fabs(crossing - row->crossing) < 2e-11 &&
           fabs(longitudinal - row->longitudinal) < 6e-11 * fmax(1, fabs(row->longitudinal)) &&
           fabs(longitudinal * slope - row->transverse) < 6e-11 && fabs(across) < 1e-15;
}

static int wrong_table_rows(enum table_twin twin) {
    int wrong = 0;
    for (int i = 0; i < TABLE_ROWS; i++)
        for (int k = 0; k < 7; k++) {
            wrong += !table_row_holds(&curved_first[i], true, k * 0.9, twin);
            wrong += !table_row_holds(&flat_first[i], false, k * 0.9, twin);
        }
    return wrong;
}

static void parallel_light_crosses_where_it_should(void **state) {
    (void)state;
    assert_int_equal(wrong_table_rows(TABLE_OURS), 0);
    assert_int_equal(wrong_table_rows(TABLE_FLIPPED), 2 * 7 * TABLE_ROWS);
    assert_int_equal(wrong_table_rows(TABLE_FROM_FIRST_VERTEX), 2 * 7 * TABLE_ROWS);
    assert_int_equal(wrong_table_rows(TABLE_PARAXIAL), 2 * 7 * TABLE_ROWS);
}

/* Through a pair of spheres along z: exit angle and crossing with the axis, both 0 when the ray is lost. */
static void through_pair(double n, double r1, double r2, double thickness, double h, double *slope,
                         double *crossing) {
    const struct patch surfaces[2] = {patch_conic(0, 1 / r1, 0), patch_conic(thickness, 1 / r2, 0)};
    const double at[3] = {0, h, -5}, up[3] = {0, 0, 1};
    struct path path;
    path_start(&path, at, up);
    *slope = *crossing = 0;
    for (int i = 0; i < 2; i++) {
        double t, normal[3];
        struct meeting meeting;
        if (!patch_cross(&surfaces[i], path.at_mm, path.direction, true, false, 0.1, &t))
            return;
        for (int k = 0; k < 3; k++)
            path.at_mm[k] += t * path.direction[k];
        patch_normal(&surfaces[i], path.at_mm, normal);
        meeting_find(&path, normal, i == 0 ? 1 / n : n, &meeting);
        meeting_refract(&meeting, &path);
    }
    *slope = -path.direction[1] / path.direction[2];
    *crossing = path.at_mm[2] + path.at_mm[1] / *slope;
}

/* A ball of 10 mm: exit angle and crossing from its centre. */
static const struct {
    double n, h, angle_deg, crossing;
} balls[] = {
    {1.49, 0.001, 0.00753689459289, 7.602040730729},  {1.49, 1, 7.64593383541, 7.515914844601},
    {1.49, 2.5, 20.7855367121, 7.044814039418},       {1.49, 4, 41.3127592313, 6.059055024659},
    {1.586, 0.001, 0.00846792616611, 6.766211537245}, {1.586, 1, 8.58495712352, 6.699012062360},
    {1.586, 2.5, 23.2471587463, 6.333951880706},      {1.586, 4, 45.6753350461, 5.591340051629},
};

static int wrong_balls(double index_slip) {
    int wrong = 0;
    for (size_t i = 0; i < sizeof balls / sizeof *balls; i++) {
        double slope, crossing;
        through_pair(balls[i].n + index_slip, 5, -5, 10, balls[i].h, &slope, &crossing);
        wrong += !(fabs(degrees(atan(slope)) / balls[i].angle_deg - 1) < 6e-12 &&
                   fabs(crossing - 5 - balls[i].crossing) < 2e-12 + 1e-14 / balls[i].h);
    }
    return wrong;
}

static void balls_focus_where_they_should(void **state) {
    (void)state;
    assert_int_equal(wrong_balls(0), 0);
    assert_int_equal(wrong_balls(1e-9), 8);
}

/* A thick lens, index 1.5168, radii 50 and -80, thickness 10: crossing from the last vertex. */
static const struct {
    double h, crossing, slope;
} thick[] = {{1e-6, 56.97409632789, 0}, {10, 54.95202734414, 0.1696358086451}, {20, 47.87666668254, 0.3878075405120}};

static int wrong_thick(double r2) {
    int wrong = 0;
    for (int i = 0; i < 3; i++) {
        double slope, crossing;
        through_pair(1.5168, 50, r2, 10, thick[i].h, &slope, &crossing);
        wrong += !(fabs(crossing - 10 - thick[i].crossing) < (i == 0 ? 1e-6 : 1e-11) &&
                   (i == 0 || fabs(slope - thick[i].slope) < 6e-14));
    }
    return wrong;
}

static void a_thick_lens_focuses_where_it_should(void **state) {
    (void)state;
    assert_int_equal(wrong_thick(-80), 0);
    assert_int_equal(wrong_thick(80), 3); /* twin: the sign of the second radius */
}

/* Close to the axis: focal length, that is h over the slope, and the crossing from the last vertex, of lenses and of
 * the same from behind (derived: 1/f = (n - 1) (1/R1 - 1/R2 + (n - 1) t / (n R1 R2)), Born and Wolf 1999, sec. 4.4).
 * The principal planes lie where the focal length ends. */
static const struct {
    double n, r1, r2, thickness, focal, back, front;
} near_axis[] = {{1.5168, 50, -80, 10, 61.1404158013, 56.9740963279, 58.5364661304},
                 {1.49, 5, -5, 10, 7.60204081633, 2.60204081633, 2.60204081633},
                 {1.586, 5, -5, 10, 6.76621160410, 1.76621160410, 1.76621160410},
                 {1.49, 24.5, -1e9, 6, 50, 45.97315436242, 50}};

static int wrong_near_axis(double thin) {
    int wrong = 0;
    for (size_t i = 0; i < sizeof near_axis / sizeof *near_axis; i++) {
        const double h = 1e-5, n = near_axis[i].n, t = near_axis[i].thickness * thin;
        double slope, back, front;
        through_pair(n, -near_axis[i].r2, -near_axis[i].r1, t, h, &slope, &front);
        through_pair(n, near_axis[i].r1, near_axis[i].r2, t, h, &slope, &back);
        wrong += !(fabs(h / slope / near_axis[i].focal - 1) < 1e-7 && fabs(back - t - near_axis[i].back) < 5e-6 &&
                   fabs(front - t - near_axis[i].front) < 5e-6);
        if (i == 0 && thin == 1) {
            assert_true(fabs(h / slope - (front - t) - 2.603949671) < 1e-5);
            assert_true(fabs(h / slope - (back - t) - 4.166319473) < 1e-5);
        }
    }
    return wrong;
}

static void close_to_the_axis_it_is_the_thick_lens(void **state) {
    (void)state;
    assert_int_equal(wrong_near_axis(1), 0);
    assert_int_equal(wrong_near_axis(0.99), 4); /* twin: a lens a hundredth thinner */
}

/* Aplanatic points, radius 10, index 1.5: from 10/1.5 behind the centre every ray leaves as if from 15 behind it, and
 * sin u' = sin u / n. */
static int wrong_aplanatic(double from_centre) {
    static const double rows[4][2] = {
        {10, 6.64777709283}, {30, 19.4712206345}, {60, 35.2643896828}, {89, 41.8025102196}};
    struct patch dome = patch_conic(10, -0.1, 0), bowl = patch_conic(-10, 0.1, 0);
    dome.z_low_mm = bowl.z_high_mm = 0;
    int wrong = 0;
    for (int i = 0; i < 4; i++) {
        const double u = rows[i][0] * (pi / 180), at[3] = {0, 0, -from_centre}, direction[3] = {sin(u), 0, cos(u)};
        struct path path;
        struct meeting meeting;
        double t, normal[3];
        path_start(&path, at, direction);
        const bool upper = patch_cross(&dome, at, direction, true, false, 0, &t);
        const struct patch *half = upper ? &dome : &bowl; /* steep rays leave by the half on their own side */
        if (!upper && !patch_cross(&bowl, at, direction, false, false, 0, &t))
            return 4;
        for (int k = 0; k < 3; k++)
            path.at_mm[k] += t * direction[k];
        patch_normal(half, path.at_mm, normal);
        meeting_find(&path, normal, 1.5, &meeting);
        meeting_refract(&meeting, &path);
        const double *d = path.direction, image = path.at_mm[2] - path.at_mm[0] * d[2] / d[0];
        wrong += !(fabs(degrees(atan2(d[0], d[2])) - rows[i][1]) < 1e-10 && fabs(image + 15) < 1e-12);
    }
    return wrong;
}

static void aplanatic_points_are_sharp(void **state) {
    (void)state;
    assert_int_equal(wrong_aplanatic(10 / 1.5), 0);
    assert_int_equal(wrong_aplanatic(6.67), 4); /* twin: rounded to 0.01 mm */
}

/* ---- shares of the light ---- */

/* A lens so flat that it is a slab, straight on: T = (1 - R) / (1 + R) = 2 n / (n^2 + 1), all reflections counted
 * (Born and Wolf 1999, sec. 1.6, without interference). Twin: (1 - R)^2, only the straight way. */
static double flat_lens_share(double n, bool towards, long rays) {
    const struct luxfall_lens lens = lens_of(n, 10, 1e6, 3, 2, towards);
    const struct solid_ray in = {{1, 0.5, 0}, {0, 0, 1}};
    struct pcg32 random = pcg32_seed(31, towards);
    long through = 0;
    for (long i = 0; i < rays; i++) {
        struct solid_outcome out;
        trace(&lens, &in, &random, &out);
        assert_true(out.fate == OPTIC_EXIT || (out.fate == OPTIC_ABSORBED && out.loss == LUXFALL_LOSS_RETURNED));
        through += out.fate == OPTIC_EXIT;
    }
    return (double)through / (double)rays;
}

static void a_flat_lens_passes_what_a_slab_does(void **state) {
    (void)state;
    static const double rows[2][3] = {{1.49, 0.9254370982, 0.9240492760}, {2.5, 0.6896551724, 0.6663890046}};
    const long rays = 500000;
    for (int i = 0; i < 4; i++) {
        const double *row = rows[i / 2], share = flat_lens_share(row[0], i & 1, rays);
        const double error = sqrt(row[1] * (1 - row[1]) / (double)rays);
        assert_true(fabs(share - row[1]) < 4 * error);
        assert_true(row[0] < 2 || fabs(share - row[2]) > 30 * error); /* 1.49 is too near to its twin to tell */
    }
}

/* The meridional plane by plane trigonometry: where the light of an axial point goes, launched at one angle. Both
 * polarisations are split at every surface and followed to their last 1e-13; on the axis the planes of incidence
 * coincide and the two never mix. */
struct plane_lens {
    double n, half, radius, thickness, gap;
    bool towards;
    int bounces; /* inner reflections followed; the twin stops at 0 */
};
struct shares {
    double of[SHARES];
};

static double reflected(double n1, double n2, double in,
                        bool p) { /* sine and tangent form, Born and Wolf 1.5 (21a) */
    const double sine = n1 * sin(in) / n2;
    if (sine >= 1)
        return 1;
    if (in < 1e-6)
        return pow((n1 - n2) / (n1 + n2), 2);
    const double out = asin(sine);
    return p ? pow(tan(in - out) / tan(in + out), 2) : pow(sin(in - out) / sin(in + out), 2);
}

/* Angle of the upward normal of the curved side from +z, at height y. */
static double curved_normal(const struct plane_lens *l, double y) {
    return (l->towards ? -1 : 1) * asin(y / l->radius);
}
static double curved_centre(const struct plane_lens *l) {
    return l->towards ? l->gap + l->radius : l->gap + l->thickness - l->radius;
}

/* Distance along (sin a, cos a) at which a ray inside leaves by the curved side, or infinity. */
static double to_curved(const struct plane_lens *l, double y, double z, double a) {
    const double f = z - curved_centre(l), b = y * sin(a) + f * cos(a), c = y * y + f * f - l->radius * l->radius;
    const double t = -b + sqrt(fmax(b * b - c, 0));
    const bool on_cap = b * b >= c && (l->towards ? f + t * cos(a) <= 0 : f + t * cos(a) >= 0);
    return on_cap && t > 1e-9 ? t : INFINITY;
}
static double to_flat(const struct plane_lens *l, double z, double a) {
    const double t = ((l->towards ? l->gap + l->thickness : l->gap) - z) / cos(a);
    return t > 1e-9 ? t : INFINITY;
}
static double to_rim(const struct plane_lens *l, double y, double a) {
    return fabs(sin(a)) < 1e-15 ? INFINITY : ((sin(a) > 0 ? l->half : -l->half) - y) / sin(a);
}

/* Out by the last side; what leaves the steep edge downwards meets the holder. */
static void plane_exit(struct shares *shares, double angle, double weight) {
    static const double limits[3] = {10, 20, 40};
    if (cos(angle) <= 0) {
        shares->of[HOLDER] += weight;
        return;
    }
    shares->of[EXIT] += weight;
    for (int k = 0; k < 3; k++)
        shares->of[WITHIN + k] += fabs(degrees(angle)) < limits[k] ? weight : 0;
}

/* Out by the first side: down to the board, or from a steep edge up to the holder. */
static void plane_back(struct shares *shares, double angle, double weight) {
    shares->of[cos(angle) > 0 ? HOLDER : RETURNED] += weight;
}

/* From inside, at (y, z) along angle a, to the end. */
static void plane_inside(const struct plane_lens *l, double y, double z, double a, double weight, bool p,
                         struct shares *shares) {
    for (int bounce = 0; bounce <= l->bounces && weight > 1e-13; bounce++) {
        const double curved = to_curved(l, y, z, a), flat = to_flat(l, z, a), rim = to_rim(l, y, a);
        const double t = fmin(curved, fmin(flat, rim));
        y += t * sin(a);
        z += t * cos(a);
        if (t == rim) {
            shares->of[RIM] += weight;
            return;
        }
        const double normal = t == curved ? curved_normal(l, y) : 0, upward = cos(a - normal) > 0 ? 0 : pi;
        const double in = remainder(a - normal - upward, 2 * pi), r = reflected(l->n, 1, fabs(in), p);
        const bool last = l->towards ? t == flat : t == curved;
        if (r < 1 && last)
            plane_exit(shares, normal + asin(l->n * sin(in)), weight * (1 - r));
        else if (r < 1)
            plane_back(shares, normal + upward + asin(l->n * sin(in)), weight * (1 - r));
        weight *= r;
        a = remainder(2 * normal + pi - a, 2 * pi);
    }
}

/* Where the ray launched at an angle from the axial point meets the first side; false: outside the aperture. */
static bool plane_entry(const struct plane_lens *l, double angle, double *y, double *z) {
    double t = l->gap / cos(angle);
    if (l->towards) {
        const double b = -curved_centre(l) * cos(angle), c = pow(curved_centre(l), 2) - l->radius * l->radius;
        if (b * b < c)
            return false;
        t = -b - sqrt(b * b - c);
    }
    *y = t * sin(angle);
    *z = t * cos(angle);
    return *y <= l->half && (!l->towards || *z <= curved_centre(l));
}

static void plane_ray(const struct plane_lens *l, double angle, double weight, bool p, struct shares *shares) {
    double y, z;
    if (!plane_entry(l, angle, &y, &z)) {
        shares->of[HOLDER] += weight;
        return;
    }
    const double normal = l->towards ? curved_normal(l, y) : 0, in = angle - normal;
    const double r = reflected(1, l->n, fabs(in), p);
    plane_back(shares, 2 * normal + pi - angle, weight * r);
    plane_inside(l, y, z, normal + asin(sin(in) / l->n), weight * (1 - r), p, shares);
}

static struct shares plane_shares(const struct plane_lens *l) {
    const int steps = 40000;
    struct shares shares = {{0}};
    for (int i = 0; i < steps; i++) {
        const double sin2 = (i + 0.5) / steps, angle = asin(sqrt(sin2)); /* Lambertian: even in sin^2 */
        plane_ray(l, angle, 0.5 / steps, false, &shares);
        plane_ray(l, angle, 0.5 / steps, true, &shares);
    }
    return shares;
}

static void count_outcome(const struct solid_outcome *out, struct shares *shares, double weight) {
    if (out->fate == OPTIC_EXIT)
        plane_exit(shares, acos(fmin(out->exit.direction[2], 1)), weight);
    else if (out->fate == OPTIC_ABSORBED && out->loss == LUXFALL_LOSS_RETURNED)
        shares->of[RETURNED] += weight;
    else if (out->fate == OPTIC_ABSORBED && out->loss == LUXFALL_LOSS_RIM)
        shares->of[RIM] += weight;
    else if (out->fate == OPTIC_ABSORBED && out->loss == LUXFALL_LOSS_HOLDER)
        shares->of[HOLDER] += weight;
}

static struct shares traced_shares(const struct luxfall_lens *lens, long rays, uint64_t seed) {
    struct pcg32 random = pcg32_seed(seed, 7);
    struct shares shares = {{0}};
    for (long i = 0; i < rays; i++) {
        const double sin2 = pcg32_double(&random), azimuth = 2 * pi * pcg32_double(&random), s = sqrt(sin2);
        const struct solid_ray in = {{0, 0, 0}, {s * cos(azimuth), s * sin(azimuth), sqrt(1 - sin2)}};
        struct solid_outcome out;
        trace(lens, &in, &random, &out);
        count_outcome(&out, &shares, 1 / (double)rays);
    }
    return shares;
}

/* The largest deviation in standard errors; shares below 1e-6 of the launch must be as small in both. */
static double worst_deviation(const struct shares *seen, const struct shares *expected, long rays) {
    double worst = 0;
    for (int k = 0; k < SHARES; k++) {
        const double a = seen->of[k], b = expected->of[k];
        worst = fmax(worst, fabs(a - b) / sqrt((b * (1 - b) + 10 / (double)rays) / (double)rays));
    }
    return worst;
}

static const struct plane_lens plane_lenses[] = {
    {1.49, 12.25, 24.5, 6, 20, false, 1000}, {1.49, 12.25, 24.5, 6, 20, true, 1000},
    {1.49, 10, 11, 9, 4, false, 1000},       {1.49, 10, 11, 9, 4, true, 1000},
    {1.586, 9.5, 9.6, 12, 1, false, 1000},   {1.586, 9.5, 9.6, 12, 1, true, 1000},
    {1.41, 5, 5, 14, 3, false, 1000},        {2.2, 6, 30, 4, 0.5, false, 1000},
};

static void light_of_an_axial_point_goes_where_the_integral_says(void **state) {
    (void)state;
    const long rays = 400000;
    int twin_caught = 0;
    for (size_t i = 0; i < sizeof plane_lenses / sizeof *plane_lenses; i++) {
        const struct plane_lens *l = &plane_lenses[i];
        const struct luxfall_lens lens = lens_of(l->n, 2 * l->half, l->radius, l->thickness, l->gap, l->towards);
        assert_int_equal(solid_validate(&lens, NULL), LUXFALL_OK);
        const struct shares expected = plane_shares(l), seen = traced_shares(&lens, rays, 100 + i);
        const double whole = seen.of[EXIT] + seen.of[RETURNED] + seen.of[RIM] + seen.of[HOLDER];
        assert_true(fabs(whole - 1) < 1e-9); /* nothing abandoned */
        print_message("[          ] exit %.4f returned %.4f rim %.4f holder %.4f\n", seen.of[EXIT], seen.of[RETURNED],
                      seen.of[RIM], seen.of[HOLDER]);
        assert_true(worst_deviation(&seen, &expected, rays) < 4);
        struct plane_lens straight = *l, moved = *l;
        straight.bounces = 0;
        moved.gap += 0.5;
        const struct shares first_only = plane_shares(&straight), nearby = plane_shares(&moved);
        twin_caught += worst_deviation(&seen, &first_only, rays) > 4;
        twin_caught += worst_deviation(&seen, &nearby, rays) > 4;
    }
    assert_true(twin_caught == 16);
}

/* ---- properties ---- */

/* What came through, sent back, retraces its way: the lens turned round, a skew ray, random sizes (seed 5). */
static bool retraces(struct pcg32 *random) {
    const double radius = 8 + 20 * pcg32_double(random), half = radius * (0.2 + 0.7 * pcg32_double(random));
    const double sag = radius - sqrt(radius * radius - half * half), thickness = sag + 3 * pcg32_double(random);
    const double gap = 1 + 5 * pcg32_double(random), n = 1.3 + 0.7 * pcg32_double(random);
    const bool towards = pcg32_next(random) & 1;
    const struct luxfall_lens there = lens_of(n, 2 * half, radius, thickness, gap, towards);
    const double x = half * (pcg32_double(random) - 0.5), y = half * (pcg32_double(random) - 0.5);
    const double s = 0.5 * pcg32_double(random), azimuth = 2 * pi * pcg32_double(random);
    const struct solid_ray in = {{x, y, 0}, {s * cos(azimuth), s * sin(azimuth), sqrt(1 - s * s)}};
    struct pcg32 pass = stream_that_passes();
    struct solid_outcome out;
    trace(&there, &in, &pass, &out);
    if (out.fate != OPTIC_EXIT || out.exit.direction[2] < 0.2)
        return false;
    /* Mirrored in z: the emitter plane of the way back lies 50 mm from the vertex that was the last. */
    const double *o = out.exit.origin, *d = out.exit.direction, run = (50 - o[2]) / d[2];
    const struct luxfall_lens back_lens = lens_of(n, 2 * half, radius, thickness, 50, !towards);
    const struct solid_ray back = {{o[0] + run * d[0], o[1] + run * d[1], 0}, {-d[0], -d[1], d[2]}};
    struct solid_outcome home;
    pass = stream_that_passes();
    trace(&back_lens, &back, &pass, &home);
    assert_int_equal(home.fate, OPTIC_EXIT);
    const double *e = home.exit.origin, *f = home.exit.direction, rest = (gap - e[2]) / f[2];
    assert_true(fabs(e[0] + rest * f[0] - x) < 1e-10 && fabs(e[1] + rest * f[1] - y) < 1e-10);
    assert_true(fabs(f[0] + in.direction[0]) < 1e-12 && fabs(f[1] + in.direction[1]) < 1e-12);
    assert_true(fabs(f[2] - in.direction[2]) < 1e-12);
    return true;
}

static void what_comes_through_finds_its_way_back(void **state) {
    (void)state;
    struct pcg32 random = pcg32_seed(5, 5);
    int retraced = 0;
    for (int i = 0; i < 1500; i++)
        retraced += retraces(&random);
    assert_true(retraced > 500);
}

/* A lens drawn at random: a fifth of them half-balls and more, a third with a sharp edge, a quarter touching the
 * emitter. */
static struct luxfall_lens random_lens(int k, struct pcg32 *random) {
    double u[6];
    for (int i = 0; i < 6; i++)
        u[i] = pcg32_double(random);
    const double radius = 2 + 20 * u[0], half = k % 5 ? radius * u[1] : radius;
    const double sag = radius - sqrt(radius * radius - half * half), thickness = sag + (k % 3 ? 6 * u[2] : 0) + 1e-9;
    const double index = 1.01 + 2.9 * u[3] * u[4], gap = k % 4 ? 5 * u[5] : 0;
    struct luxfall_lens lens = lens_of(index, 2 * half, radius, thickness, gap, k & 1);
    lens.singlet.holder_open = k & 2;
    return lens;
}

static void check_end(const struct luxfall_lens *lens, const struct solid_outcome *out) {
    if (out->fate == OPTIC_EXIT) {
        const double *d = out->exit.direction;
        assert_true(fabs(d[0] * d[0] + d[1] * d[1] + d[2] * d[2] - 1) < 2e-15);
        assert_true(out->exit.origin[2] <= 1e-12);
    } else if (out->fate == OPTIC_ABSORBED) {
        assert_true(out->loss != LUXFALL_LOSS_DATASHEET);
        assert_true(out->loss != LUXFALL_LOSS_HOLDER || !lens->singlet.holder_open);
    }
}

/* Any lens, any ray: one fate, unit directions, no exit from above the last vertex, (nearly) none abandoned (seed 9).
 */
static void every_ray_has_one_sound_end(void **state) {
    (void)state;
    struct pcg32 random = pcg32_seed(9, 9);
    long fates[3] = {0};
    for (int k = 0; k < 600; k++) {
        const struct luxfall_lens lens = random_lens(k, &random);
        const double width = 1.5 * lens.singlet.diameter_mm;
        assert_int_equal(solid_validate(&lens, NULL), LUXFALL_OK);
        for (int i = 0; i < 400; i++) {
            const double x = width * (pcg32_double(&random) - 0.5), y = width * (pcg32_double(&random) - 0.5);
            const double s = sqrt(pcg32_double(&random)), azimuth = 2 * pi * pcg32_double(&random);
            const struct solid_ray in = {{x, y, 0}, {s * cos(azimuth), s * sin(azimuth), sqrt(1 - s * s)}};
            struct solid_outcome out;
            trace(&lens, &in, &random, &out);
            fates[out.fate]++;
            check_end(&lens, &out);
        }
    }
    assert_int_equal(fates[0] + fates[1] + fates[2], 600 * 400);
    print_message("[          ] exit %ld absorbed %ld abandoned %ld\n", fates[0], fates[1], fates[2]);
    assert_true(fates[OPTIC_ABANDONED] <= 2);
}

/* Share of the Lambertian light of a disc on the emitter plane that reaches another disc, `after` mm behind the last
 * vertex; both off the axis, so that nearly all paths are skew. */
struct disc {
    double x, y, radius;
};

static double disc_to_disc(const struct luxfall_lens *lens, const struct disc *from, const struct disc *to,
                           double after, long rays, struct pcg32 *random) {
    long landed = 0;
    for (long i = 0; i < rays; i++) {
        const double r = from->radius * sqrt(pcg32_double(random)), place = 2 * pi * pcg32_double(random);
        const double sin2 = pcg32_double(random), azimuth = 2 * pi * pcg32_double(random), s = sqrt(sin2);
        const struct solid_ray in = {{from->x + r * cos(place), from->y + r * sin(place), 0},
                                     {s * cos(azimuth), s * sin(azimuth), sqrt(1 - sin2)}};
        struct solid_outcome out;
        trace(lens, &in, random, &out);
        if (out.fate != OPTIC_EXIT || out.exit.direction[2] <= 0)
            continue;
        const double *o = out.exit.origin, *d = out.exit.direction, t = (after - o[2]) / d[2];
        landed += hypot(o[0] + t * d[0] - to->x, o[1] + t * d[1] - to->y) < to->radius;
    }
    return (double)landed / (double)rays;
}

/* Etendue x share is the same both ways (reciprocity; J. Chaves, "Introduction to Nonimaging Optics", 2nd ed. 2016,
 * ch. 3, from memory): deviation in standard errors. Unless the lens is `turned` for the way back, it is
 * another system. */
static double reciprocity_deviation(double n, double radius, bool towards, bool turned, uint64_t seed) {
    const long rays = 400000;
    const struct disc a = {3, 1, 2}, b = {-4, 2, 5};
    const double near_mm = 6, after_mm = 12;
    const struct luxfall_lens there = lens_of(n, 20, radius, 9, near_mm, towards);
    const struct luxfall_lens back = lens_of(n, 20, radius, 9, after_mm, turned ? !towards : towards);
    struct pcg32 random = pcg32_seed(seed, 3);
    const double ab = disc_to_disc(&there, &a, &b, after_mm, rays, &random);
    const double ba = disc_to_disc(&back, &b, &a, near_mm, rays, &random);
    const double area_a = a.radius * a.radius, area_b = b.radius * b.radius;
    const double error = sqrt((area_a * area_a * ab * (1 - ab) + area_b * area_b * ba * (1 - ba)) / (double)rays);
    return (area_a * ab - area_b * ba) / error;
}

/* Over four lenses: chi^2 of four numbers exceeds 24 once in 12 000 times. */
static void light_goes_both_ways_alike(void **state) {
    (void)state;
    double alike = 0, another = 0;
    for (int k = 0; k < 4; k++) {
        const double n = 1.4 + 0.2 * (k / 2), radius = 10.5 + 2 * k;
        alike += pow(reciprocity_deviation(n, radius, k & 1, true, 40 + (uint64_t)k), 2);
        another += pow(reciprocity_deviation(n, radius, k & 1, false, 40 + (uint64_t)k), 2);
    }
    assert_true(alike < 24);
    assert_true(another > 24);
}

/* ---- oblong bodies ----
 * What a small cosine source under the middle of a rectangle a x b at height c sends past it: one less four times the
 * factor of a corner, (1/2 pi) (A/sqrt(1+A^2) atan(B/sqrt(1+A^2)) + B/sqrt(1+B^2) atan(A/sqrt(1+B^2))), A = a/2c, B =
 * b/2c (J. R. Howell, "A Catalog of Radiation Heat Transfer Configuration Factors", 2nd ed., 2001, section B, from
 * memory); here 20 x 8 mm at 5 mm. Twin: past the round sides alone, c^2/(r^2+c^2). */
static void a_body_takes_what_a_rectangle_takes(void **state) {
    (void)state;
    const double past = 1 - 0.59383327840739, past_round = 25.0 / (16 + 25), rays = 200000;
    struct luxfall_lens lens = lens_of(1.49, 8, 12, 4, 5, false);
    struct pcg32 random = pcg32_seed(31, 3);
    double held = 0;
    lens.singlet.body_mm[0] = 20;
    lens.singlet.body_mm[1] = 8;
    for (int i = 0; i < rays; i++) {
        double u = pcg32_double(&random), around = 2 * pi * pcg32_double(&random);
        const struct solid_ray in = {{0, 0, 0}, {sqrt(u) * cos(around), sqrt(u) * sin(around), sqrt(1 - u)}};
        struct solid_outcome out;
        trace(&lens, &in, &random, &out);
        held += out.fate == OPTIC_ABSORBED && out.loss == LUXFALL_LOSS_HOLDER;
    }
    double four_errors = 4 * sqrt(past * (1 - past) / rays);
    assert_true(fabs(held / rays - past) < four_errors);
    assert_true(fabs(held / rays - past_round) > four_errors);
}

/* Shoulders are a plane plate: light keeps its direction there and is bent at the round sides; the edge is ground
 * (definition). */
static void shoulders_are_clear_and_edges_ground(void **state) {
    (void)state;
    struct luxfall_lens lens = lens_of(1.49, 8, 12, 4, 5, false);
    const struct solid_ray by_shoulder = {{6, 0, 0}, {0.3, 0, sqrt(0.91)}}, by_side = {{2, 0, 0}, {0, 0, 1}},
                           by_edge = {{6, 0, 0}, {0.6, 0, 0.8}};
    struct solid_outcome out;
    lens.singlet.body_mm[0] = lens.singlet.body_mm[1] = 20;
    struct pcg32 random = stream_that_passes();
    trace(&lens, &by_shoulder, &random, &out);
    assert_true(out.fate == OPTIC_EXIT && fabs(out.exit.direction[0] - 0.3) < 1e-12);
    random = stream_that_passes();
    trace(&lens, &by_side, &random, &out);
    assert_true(out.fate == OPTIC_EXIT && out.exit.direction[0] < -0.05);
    random = stream_that_passes();
    trace(&lens, &by_edge, &random, &out);
    assert_true(out.fate == OPTIC_ABSORBED && out.loss == LUXFALL_LOSS_RIM);
}

/* ---- holder and rim ---- */

/* The direction going in may have any length: single precision, or none in particular. */
static void directions_need_no_unit_length(void **state) {
    (void)state;
    const struct luxfall_lens lens = lens_of(1.49, 20, 12, 10, 4, false);
    const struct solid_ray unit = {{1, 2, 0}, {0.36, 0.48, 0.8}}, longer = {{1, 2, 0}, {0.45, 0.6, 1}};
    struct solid_outcome a, b;
    struct pcg32 random = stream_that_passes();
    trace(&lens, &unit, &random, &a);
    random = stream_that_passes();
    trace(&lens, &longer, &random, &b);
    assert_true(a.fate == OPTIC_EXIT && b.fate == OPTIC_EXIT);
    for (int i = 0; i < 3; i++) {
        assert_true(fabs(a.exit.origin[i] - b.exit.origin[i]) < 1e-13);
        assert_true(fabs(a.exit.direction[i] - b.exit.direction[i]) < 1e-14);
    }
}

static void trace_one(bool open, bool towards, const struct solid_ray *in, struct solid_outcome *out) {
    struct luxfall_lens lens = lens_of(1.49, 20, 12, 10, 4, towards); /* edge 4.63 mm high under the dome */
    lens.singlet.holder_open = open;
    struct pcg32 random = stream_that_passes();
    memset(out, 0, sizeof *out);
    trace(&lens, in, &random, out);
}

static void the_holder_stops_what_misses_and_lets_pass_when_open(void **state) {
    (void)state;
    const struct solid_ray beside = {{11, 0, 0}, {0, 0, 1}}, level = {{0, 0, 0}, {1, 0, 0}};
    struct solid_outcome out;
    for (int towards = 0; towards < 2; towards++) {
        trace_one(false, towards, &beside, &out);
        assert_true(out.fate == OPTIC_ABSORBED && out.loss == LUXFALL_LOSS_HOLDER);
        trace_one(true, towards, &beside, &out);
        assert_true(out.fate == OPTIC_EXIT && out.exit.origin[0] == 11 && out.exit.origin[2] == -14);
        assert_true(out.exit.direction[2] == 1);
        trace_one(towards, towards, &level, &out); /* along the board */
        assert_true(out.fate == OPTIC_ABSORBED && out.loss == LUXFALL_LOSS_RETURNED);
    }
}

/* From beside the lens: onto the ground rim, and onto the dome over it. Behind a closed holder neither happens. */
static void light_from_beside_meets_rim_or_dome(void **state) {
    (void)state;
    const double r = sqrt(0.5);
    const struct solid_ray at_rim = {{16, 0, 0}, {-r, 0, r}}, at_dome = {{18.7, 0, 0}, {-r, 0, r}};
    struct solid_outcome out;
    trace_one(true, false, &at_rim, &out);
    assert_true(out.fate == OPTIC_ABSORBED && out.loss == LUXFALL_LOSS_RIM);
    trace_one(false, false, &at_rim, &out);
    assert_true(out.fate == OPTIC_ABSORBED && out.loss == LUXFALL_LOSS_HOLDER);
    trace_one(true, false, &at_dome, &out);
    assert_false(out.fate == OPTIC_EXIT && fabs(out.exit.direction[0] + r) < 1e-9); /* it did not pass unchanged */
    trace_one(false, false, &at_dome, &out);
    assert_true(out.fate == OPTIC_ABSORBED && out.loss == LUXFALL_LOSS_HOLDER);
}

/* ---- what can be made ---- */

static bool refused_with(const struct luxfall_lens *lens, const char *word) {
    struct luxfall_error error = {0};
    return solid_validate(lens, &error) == LUXFALL_E_VALUE && error.status == LUXFALL_E_VALUE &&
           strstr(error.text, word) != NULL;
}

static void lenses_that_cannot_be_made_are_refused(void **state) {
    (void)state;
    const struct luxfall_lens good[] = {lens_of(1.49, 20, 10, 10, 0, false), lens_of(4, 0.1, 1e6, 1e-3, 3, true),
                                        lens_of(1.49, 25, 24.5, 6, 8, true)};
    for (int i = 0; i < 3; i++)
        assert_int_equal(solid_validate(&good[i], NULL), LUXFALL_OK);
    const struct luxfall_lens index = lens_of(1, 20, 12, 8, 1, false), high = lens_of(4.1, 20, 12, 8, 1, false);
    const struct luxfall_lens wide = lens_of(1.49, 20.1, 10, 12, 1, false);
    const struct luxfall_lens thin = lens_of(1.49, 20, 10, 9.9, 1, false);
    const struct luxfall_lens inside = lens_of(1.49, 20, 12, 8, -0.1, false);
    const struct luxfall_lens nan_gap = lens_of(1.49, 20, 12, 8, NAN, false);
    const struct luxfall_lens no_size = lens_of(1.49, 0, 12, 8, 1, false);
    const struct luxfall_lens endless = lens_of(1.49, 20, INFINITY, 8, 1, false);
    assert_true(refused_with(&index, "index") && refused_with(&high, "index"));
    assert_true(refused_with(&wide, "20.1 mm") && refused_with(&thin, "thickness of 9.9 mm"));
    assert_true(refused_with(&inside, "gap") && refused_with(&nan_gap, "gap"));
    assert_true(refused_with(&no_size, "diameter") && refused_with(&endless, "radius"));
    struct luxfall_lens sheet = good[0];
    sheet.kind = LUXFALL_LENS_BEAM;
    assert_true(refused_with(&sheet, "no solid") && !solid_is(&sheet) && solid_is(&good[0]));
    struct optic optic;
    assert_int_equal(solid_optic(&good[2], LUXFALL_WAVELENGTH_UM, &optic, NULL), LUXFALL_OK);
    assert_true(optic.end_mm == 14);
}

/* A side a r^4 - a r^6 / R^2 comes back to its vertex's height at R and lies 4/27 a R^4 behind it at R sqrt(2/3), by
 * its derivative: no rim tells that it meets the flat side there, or reaches below the emitter. */
static void sides_that_cross_within_are_refused(void **state) {
    (void)state;
    const double a = 1.2 * 27 / 4 / 1e4;
    struct luxfall_lens wavy = lens_of(1.49, 20, 0, 1.2001, 2, true);
    wavy.singlet.away = (struct luxfall_side){.power_count = 2, .powers = {a, -a / 100}};
    wavy.singlet.towards = (struct luxfall_side){0};
    assert_int_equal(solid_validate(&wavy, NULL), LUXFALL_OK);
    wavy.singlet.thickness_mm = 1.1999;
    assert_true(refused_with(&wavy, "would cross: 8.165 mm from its axis"));
    wavy.singlet.thickness_mm = 5;
    wavy.singlet.towards = (struct luxfall_side){.power_count = 2, .powers = {-a, a / 100}};
    wavy.singlet.gap_mm = 1.2001;
    assert_int_equal(solid_validate(&wavy, NULL), LUXFALL_OK);
    wavy.singlet.gap_mm = 1.1999;
    assert_true(refused_with(&wavy, "reaches 1.2 mm below its middle, 8.165 mm from its axis"));
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(the_stream_passes),
        cmocka_unit_test(a_body_takes_what_a_rectangle_takes),
        cmocka_unit_test(shoulders_are_clear_and_edges_ground),
        cmocka_unit_test(parallel_light_crosses_where_it_should),
        cmocka_unit_test(balls_focus_where_they_should),
        cmocka_unit_test(a_thick_lens_focuses_where_it_should),
        cmocka_unit_test(close_to_the_axis_it_is_the_thick_lens),
        cmocka_unit_test(aplanatic_points_are_sharp),
        cmocka_unit_test(a_flat_lens_passes_what_a_slab_does),
        cmocka_unit_test(light_of_an_axial_point_goes_where_the_integral_says),
        cmocka_unit_test(what_comes_through_finds_its_way_back),
        cmocka_unit_test(light_goes_both_ways_alike),
        cmocka_unit_test(every_ray_has_one_sound_end),
        cmocka_unit_test(the_holder_stops_what_misses_and_lets_pass_when_open),
        cmocka_unit_test(light_from_beside_meets_rim_or_dome),
        cmocka_unit_test(directions_need_no_unit_length),
        cmocka_unit_test(lenses_that_cannot_be_made_are_refused),
        cmocka_unit_test(sides_that_cross_within_are_refused),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
