/* Light goes both ways alike through optics of several surfaces and deeds.
 *
 * Sources (from memory). H. von Helmholtz, "Handbuch der physiologischen Optik", 1867, sec. 16, and M. Minnaert, "The
 * Reciprocity Principle in Lunar Photometry", Astrophys. J. 93, 403, 1941: what a source sends a target is what the
 * target in its place would send the source. Radiance over n^2 is what a surface leaves as it is (J. Chaves,
 * "Introduction to Nonimaging Optics", 2nd ed. 2016, ch. 3; E. Veach, "Robust Monte Carlo Methods for Light Transport
 * Simulation", 1997, ch. 5 and 6), so that n^2 x area x share is the same both ways, of light that starts unpolarised
 * and is counted whatever its polarisation. */
#include "lenses/cover.h"
#include "lenses/package.h"
#include "lenses/solid.h"
#include "statistics/workbench.h"

enum { RAYS = 20000, RAYS_OF_TWINS = 3000, RAYS_OF_PENCILS = 100000 };

/* ---- patches of space ---- */

/* A level disc through which light passes freely; to one side it sends, from there it takes, by the cosine law. */
struct disc {
    double at_mm[3], radius_mm;
    bool upwards;
    int material; /* of the optic, that it lies in */
};

/* Is it met from its side on a straight way so long? */
static bool takes(const struct disc *disc, const struct path *path, double length_mm) {
    double t = (disc->at_mm[2] - path->at_mm[2]) / path->direction[2];
    if ((path->direction[2] > 0) == disc->upwards || !(t > 0 && t < length_mm))
        return false;
    double x = path->at_mm[0] + t * path->direction[0] - disc->at_mm[0],
           y = path->at_mm[1] + t * path->direction[1] - disc->at_mm[1];
    return x * x + y * y < disc->radius_mm * disc->radius_mm;
}

/* How far a ray went in its last step. What leaves the optic flies on for ever, downwards too. */
static double length_of_step(const struct walk *was, const struct walk *now, bool goes_on,
                             const struct optic_outcome *out) {
    const double *a = was->path.at_mm, *b = now->path.at_mm;
    const double length_mm = hypot(hypot(b[0] - a[0], b[1] - a[1]), b[2] - a[2]);
    if (goes_on || length_mm > 0)
        return length_mm;
    if (now->depth < 0) /* absorbed on its way */
        return was->depth / was->optic->materials[was->material].absorption_per_mm;
    return out->fate == OPTIC_EXIT || out->loss == LUXFALL_LOSS_RETURNED ? INFINITY : 0;
}

/* How often one ray meets the disc. */
static int times_taken(struct walk *walk, const struct disc *to) {
    struct optic_outcome out = {0};
    int times = 0;
    for (bool goes_on = true; goes_on;) {
        const struct walk was = *walk;
        goes_on = walk_step(walk, &out);
        times += takes(to, &was.path, length_of_step(&was, walk, goes_on, &out));
    }
    assert_int_not_equal(out.fate, OPTIC_LOST);
    return times;
}

static void start(const struct optic *optic, const struct disc *from, struct pcg32 *random, struct walk *walk) {
    double r = from->radius_mm * sqrt(pcg32_double(random)), place = 2 * BENCH_PI * pcg32_double(random);
    double sin2 = pcg32_double(random), around = 2 * BENCH_PI * pcg32_double(random), s = sqrt(sin2);
    const double at[3] = {from->at_mm[0] + r * cos(place), from->at_mm[1] + r * sin(place), from->at_mm[2]};
    const double direction[3] = {s * cos(around), s * sin(around), (from->upwards ? 1 : -1) * sqrt(1 - sin2)};
    walk_start(walk, optic, at, direction, (struct ray_numbers){pcg32_next(random)});
    walk->material = from->material;
}

struct estimate {
    double value, variance;
};

/* Area x share of the light of a disc that another takes. */
static struct estimate transport(const struct optic *optic, const struct disc *from, const struct disc *to, int rays,
                                 struct pcg32 *random) {
    double sum = 0, squares = 0, area = BENCH_PI * from->radius_mm * from->radius_mm;
    for (int i = 0; i < rays; i++) {
        struct walk walk;
        start(optic, from, random, &walk);
        int times = times_taken(&walk, to);
        sum += times;
        squares += times * times;
    }
    double mean = sum / rays;
    return (struct estimate){area * mean, area * area * (squares / rays - mean * mean) / rays};
}

/* n^2 times there over n^2 times back, and how many standard errors that is from 1. */
struct comparison {
    double ratio, errors;
};

static struct comparison compare(struct estimate there, double n_there, struct estimate back, double n_back) {
    double a = n_there * n_there, b = n_back * n_back;
    double error = sqrt(a * a * there.variance + b * b * back.variance);
    return (struct comparison){a * there.value / (b * back.value), (a * there.value - b * back.value) / error};
}

/* ---- optics ---- */

struct setting {
    const char *name;
    struct luxfall_package package; /* or: */
    struct luxfall_lens lens;       /* or neither */
    struct luxfall_cover covers[3];
    struct disc a, b;
};

static void make(const struct setting *setting, struct luxfall_lens *lens, struct optic *out) {
    struct luxfall_error error = {0};
    enum luxfall_status status = LUXFALL_OK;
    *lens = setting->lens;
    if (lens->kind == LUXFALL_LENS_COLLIMATOR)
        luxfall_collimator_usual(lens);
    optic_clear(out);
    out->material_count = 1;
    out->materials[0] = (struct optic_material){1, 0, true, 0};
    if (luxfall_packed(&setting->package))
        status = package_optic(&setting->package, LUXFALL_WAVELENGTH_UM, out, &error);
    else if (solid_is(lens) && (status = luxfall_lens_check(lens, &error)) == LUXFALL_OK)
        status = solid_optic(lens, LUXFALL_WAVELENGTH_UM, out, &error);
    for (int i = 0; i < 3 && setting->covers[i].name && status == LUXFALL_OK; i++)
        status = cover_add(&setting->covers[i], 0, 0, LUXFALL_WAVELENGTH_UM, out, &error);
    if (status != LUXFALL_OK)
        fail_msg("%s: %s", setting->name, error.text);
}

/* Sources lie below, targets above, both off the axis, so that nearly all paths are skew. */
#define UP(x, y, z, r, material) \
    { {x, y, z}, r, true, material }
#define DOWN(x, y, z, r) \
    { {x, y, z}, r, false, 0 }
#define ACRYLIC \
    { .kind = LUXFALL_MATERIAL_NAMED, .name = "acrylic" }
#define TINTED \
    { .index = 1.55, .transmittance = 0.5, .transmittance_mm = 10 }
#define SILVER                                                                             \
    {                                                                                      \
        .count = 3, .incidence_rad = {0, 45 * DEG, 80 * DEG}, .share = { 0.85, 0.6, 0.95 } \
    }

static const struct setting settings[] = {
    {.name = "collimator",
     .lens = {.kind = LUXFALL_LENS_COLLIMATOR, .material = ACRYLIC, .collimator.diameter_mm = 20},
     .a = UP(0.4, 0.3, 0.1, 2.4, 2),
     .b = DOWN(4, -2, 14, 6)},
    {.name = "collimator with lenslets, tinted",
     .lens = {.kind = LUXFALL_LENS_COLLIMATOR,
              .material = TINTED,
              .collimator = {.diameter_mm = 20, .lenslets = {2, 3, true}}},
     .a = UP(0.4, 0.3, 0.1, 2.4, 2),
     .b = DOWN(4, -2, 15, 6)},
    {.name = "Fresnel lens",
     .lens = {.kind = LUXFALL_LENS_FRESNEL,
              .material = ACRYLIC,
              .fresnel = {.diameter_mm = 30,
                          .thickness_mm = 2,
                          .focal_mm = 15,
                          .pitch_mm = 0.8,
                          .draft_rad = 3 * DEG,
                          .gap_mm = 12}},
     .a = UP(1, -2, 0.1, 8, 0),
     .b = DOWN(-4, 3, 18, 8)},
    {.name = "concentrator",
     .lens = {.kind = LUXFALL_LENS_CONCENTRATOR,
              .concentrator = {.small_mm = 4, .beam_rad = 50 * DEG, .mirror = SILVER}},
     .a = UP(0.6, 0.3, 0.05, 1.3, 0),
     .b = DOWN(1.5, 1, 16, 3)},
    {.name = "paraboloid",
     .lens = {.kind = LUXFALL_LENS_REFLECTOR,
              .reflector = {.opening_mm = 20, .focal_mm = 3, .hole_mm = 4, .mirror = SILVER}},
     .a = UP(0.5, 0.8, 0, 3, 0),
     .b = DOWN(3, -2, 9, 6)},
    {.name = "ellipsoid under a tinted window",
     .lens = {.kind = LUXFALL_LENS_REFLECTOR,
              .reflector = {.opening_mm = 20, .focal_mm = 4, .second_focus_mm = 60, .hole_mm = 4, .mirror = SILVER}},
     .covers = {{.name = "window", .diameter_mm = 24, .gap_mm = 1, .thickness_mm = 3, .material = TINTED}},
     .a = UP(0.5, 0.8, 0, 3, 0),
     .b = DOWN(2, -3, 16, 6)},
    {.name = "light pipe",
     .lens = {.kind = LUXFALL_LENS_PIPE,
              .material = ACRYLIC,
              .pipe = {LUXFALL_SECTION_HEXAGON, .width_mm = 6, .height_mm = 6, .length_mm = 25, .gap_mm = 0.5}},
     .a = UP(0.5, 0.4, 0.1, 2.5, 0),
     .b = DOWN(2, 1, 28, 3)},
    {.name = "from within a light pipe",
     .lens = {.kind = LUXFALL_LENS_PIPE,
              .material = TINTED,
              .pipe = {LUXFALL_SECTION_HEXAGON, .width_mm = 6, .height_mm = 6, .length_mm = 25, .gap_mm = 0.5}},
     .a = UP(0.5, 0.4, 15, 2, 1),
     .b = DOWN(2, 1, 28, 3)},
    {.name = "tinted window",
     .covers = {{.name = "window", .diameter_mm = 60, .gap_mm = 3, .thickness_mm = 6, .material = TINTED}},
     .a = UP(0, 0, 0, 5, 0),
     .b = DOWN(6, 0, 11, 5)},
    {.name = "single lens under an opal and a window",
     .lens = {.kind = LUXFALL_LENS_SINGLET,
              .material = TINTED,
              .singlet =
                  {.diameter_mm = 16, .thickness_mm = 6, .gap_mm = 3, .towards.radius_mm = 20, .away.radius_mm = 12}},
     .covers = {{.name = "opal",
                 .kind = LUXFALL_COVER_OPAL,
                 .diameter_mm = 18,
                 .gap_mm = 1,
                 .passes = 0.5,
                 .comes_back = 0.45},
                {.name = "window", .diameter_mm = 18, .gap_mm = 2, .thickness_mm = 3, .material = TINTED}},
     .a = UP(2, 1, 0.1, 5, 0),
     .b = DOWN(4, -2, 17, 6)},
    {.name = "die in a package",
     .package = {.material = TINTED,
                 .dome_mm = 5,
                 .dome_height_mm = 2.5,
                 .floor_mm = 3,
                 .opening_mm = 4,
                 .depth_mm = 0.8,
                 .wall = 0.9,
                 .bottom = 0.7},
     .a = UP(0.3, -0.4, 0.1, 1, 1),
     .b = DOWN(1, 1, 3, 1.5)},
};
enum { SETTINGS = sizeof settings / sizeof *settings };

/* ---- both ways (Helmholtz 1867, Veach 1997; twins: a target that lies its own width further out; no n^2) ---- */

/* Four standard errors: one of all settings is beyond them once in a thousand times. */
static void light_goes_both_ways_alike(void **state) {
    (void)state;
    static struct luxfall_lens lens;
    static struct optic optic;
    struct pcg32 random = pcg32_seed(4, 3);
    for (int i = 0; i < SETTINGS; i++) {
        const struct disc *a = &settings[i].a, *b = &settings[i].b;
        struct disc shifted = *b;
        shifted.at_mm[0] += copysign(2 * b->radius_mm, b->at_mm[0]); /* away from the axis, by its width */
        make(&settings[i], &lens, &optic);
        double n = optic.materials[a->material].index;
        struct estimate there = transport(&optic, a, b, RAYS, &random), back = transport(&optic, b, a, RAYS, &random),
                        other = transport(&optic, &shifted, a, RAYS_OF_TWINS, &random);
        struct comparison alike = compare(there, n, back, 1), twin = compare(there, n, other, 1),
                          without = compare(there, 1, back, 1);
        print_message("%-39s there over back %.3f, %+.1f errors off\n", settings[i].name, alike.ratio, alike.errors);
        assert_true(fabs(alike.errors) < 4);
        assert_true(fabs(twin.errors) > 6);
        assert_true(n == 1 || fabs(without.errors) > 6);
    }
}

/* ---- scatter by a bell (METHODS eq. (65), by definition) ----
 * It is not reciprocal: the chance of a direction hangs on its angle from the one before alone, not on the face. */

/* Share of a pencil that leaves within an angle of a direction. Of a film or a window alone, so far off that it is a
 * point. */
static double share_towards(const struct optic *optic, const double from[3], const double towards[3],
                            double angle_rad, struct pcg32 *random) {
    const double at[3] = {-100 * from[0], -100 * from[1], -100 * from[2]};
    int within = 0;
    for (int i = 0; i < RAYS_OF_PENCILS; i++) {
        struct optic_outcome out;
        optic_trace(optic, at, from, random, &out);
        bool leaves = out.fate == OPTIC_EXIT || out.loss == LUXFALL_LOSS_RETURNED;
        const double *d = out.end.direction;
        within += leaves && d[0] * towards[0] + d[1] * towards[1] + d[2] * towards[2] > cos(angle_rad);
    }
    return (double)within / RAYS_OF_PENCILS;
}

/* What that share there over that share back is, and its standard error, both as logarithms. */
struct both_ways {
    double there_over_back, error;
};

static struct both_ways pencils(const struct luxfall_cover *cover, double deg, double within_rad) {
    const double up[3] = {0, 0, 1}, down[3] = {0, 0, -1}, aslant[3] = {sin(deg * DEG), 0, cos(deg * DEG)},
                 again[3] = {-aslant[0], 0, -aslant[2]};
    const struct setting setting = {.name = cover->name, .covers = {*cover}};
    static struct luxfall_lens lens;
    static struct optic optic;
    struct pcg32 random = pcg32_seed(5, 3);
    make(&setting, &lens, &optic);
    double there = share_towards(&optic, up, aslant, within_rad, &random),
           back = share_towards(&optic, again, down, within_rad, &random);
    return (struct both_ways){log(there / back), sqrt((1 / there + 1 / back - 2) / RAYS_OF_PENCILS)};
}

/* The share that turns by 40 deg is the same both ways. Helmholtz wants it in proportion to the cosine of the angle
 * that it leaves at (Veach 1997, ch. 6, from memory): the twin. An opal does so. */
static void a_film_lacks_the_cosine(void **state) {
    (void)state;
    struct luxfall_cover sheet = {
        .name = "film", .kind = LUXFALL_COVER_FILM, .diameter_mm = 1000, .passes = 0.9, .spread_rad = 40 * DEG};
    struct both_ways film = pencils(&sheet, 40, 12 * DEG);
    sheet.kind = LUXFALL_COVER_OPAL;
    struct both_ways opal = pencils(&sheet, 40, 12 * DEG);
    print_message("at 40 deg there over back: film %.3f, opal %.3f, cosine %.3f; errors %.3f, %.3f\n",
                  exp(film.there_over_back), exp(opal.there_over_back), cos(40 * DEG), film.error, opal.error);
    assert_true(fabs(film.there_over_back) < 4 * film.error);
    assert_true(fabs(film.there_over_back - log(cos(40 * DEG))) > 6 * film.error);
    assert_true(fabs(opal.there_over_back - log(cos(40 * DEG))) < 4 * opal.error);
}

/* A window frosted on top turns light by a width s behind the face: what goes up by s, what comes down by s inside,
 * which is n s outside. Within c of the axis lies 1 - exp(-c^2 / 2 s^2) of a narrow bell. Twin: both ways alike. */
static void a_frosted_face_is_told_behind_it(void **state) {
    (void)state;
    const double n = 1.5, width = 10 * DEG, within = 3 * DEG, s = width / WIDTH_OVER_SD;
    const struct luxfall_cover window = {
        .name = "window", .diameter_mm = 1000, .thickness_mm = 3, .spread_rad = width, .material.index = n};
    struct both_ways frost = pencils(&window, 0, within);
    double wanted = expm1(-within * within / (2 * s * s)) / expm1(-within * within / (2 * n * n * s * s));
    print_message("frosted window up over down: %.3f, a narrow bell %.3f; error %.3f\n", exp(frost.there_over_back),
                  wanted, frost.error);
    assert_true(fabs(frost.there_over_back - log(wanted)) < 4 * frost.error);
    assert_true(frost.there_over_back > 6 * frost.error);
}

int main(void) {
    const struct CMUnitTest tests[] = {cmocka_unit_test(light_goes_both_ways_alike),
                                       cmocka_unit_test(a_film_lacks_the_cosine),
                                       cmocka_unit_test(a_frosted_face_is_told_behind_it)};
    return cmocka_run_group_tests(tests, NULL, NULL);
}
