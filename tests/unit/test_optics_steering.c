/* Lenses that are not put together as drawn: what a die aside, a low seat, a lens aside or a leaning one does to the
 * light, ray by ray against worked examples, and to the spot on the stage.
 *
 * A lens of revolution that sends the light of one point straight on steers that of a point beside it: by conserved
 * etendue, meridional s cos u (du/dh), and over the whole face s sin(u_rim)/h_rim (W. T. Welford and R. Winston,
 * "High Collection Nonimaging Optics", 1989, and R. Winston, J. C. Minano and P. Benitez, "Nonimaging Optics", 2005;
 * from memory). The rows of numbers are derived: Snell's and the reflection law with 50 digits, at the places named.
 */
#include "lenses/collimator.h"
#include "statistics/workbench.h"
#include "tracing/assembly.h"
#include "unit/one_ray.h"

/* ---- one ray through a mounted lens ---- */

static const struct luxfall_lens cup = {
    .name = "cup",
    .kind = LUXFALL_LENS_COLLIMATOR,
    .material = {.index = 1.49},
    .collimator = {.diameter_mm = 20, .height_mm = 11, .hollow_mm = 6, .middle_mm = 4}};

/* Focus 20 mm before the curved side: K = -n^2, R = (n - 1) f. */
static const struct luxfall_lens hyperbolic = {
    .name = "plano-hyperbolic",
    .kind = LUXFALL_LENS_SINGLET,
    .material = {.index = 1.49},
    .singlet = {.diameter_mm = 25, .thickness_mm = 9, .gap_mm = 20, .towards = {.radius_mm = 9.8, .conic = -2.2201}}};

static struct optic optic_of(const struct luxfall_lens *lens) {
    struct optic optic;
    assert_int_equal(solid_optic(lens, 0.55, &optic, NULL), LUXFALL_OK);
    return optic;
}

/* A ray as it leaves a point emitter on the board: the batch of a bundle, in the module's frame. */
static struct ray_batch launched(const double direction[3]) {
    double length = sqrt(direction[0] * direction[0] + direction[1] * direction[1] + direction[2] * direction[2]);
    struct ray_batch rays = {.count = 1};
    for (int i = 0; i < 16; i++) {
        rays.dx[i] = (float)(direction[0] / length);
        rays.dy[i] = (float)(direction[1] / length);
        rays.dz[i] = (float)(direction[2] / length);
    }
    return rays;
}

/* Exit ray in the module's frame when every surface but a total mirror lets it through; false: it does not leave on
 * so many segments. */
static bool exit_of(const struct optic *optic, const struct luxfall_assembly *built, const double direction[3],
                    int segments, struct ray_batch *rays) {
    const struct mounting mounting = mounting_of(built, optic->end_mm);
    struct ray_batch in = launched(direction);
    mounting_enter(&mounting, &in);
    const double at[3] = {in.x[0], in.y[0], in.z[0]}, into[3] = {in.dx[0], in.dy[0], in.dz[0]};
    struct pcg32 random = stream_that_passes();
    struct optic_outcome out;
    optic_trace(optic, at, into, &random, &out);
    if (out.fate != OPTIC_EXIT || (segments && out.segments != segments))
        return false;
    const double *p = out.end.at_mm, *d = out.end.direction;
    *rays = launched(d);
    rays->x[0] = (float)p[0];
    rays->y[0] = (float)p[1];
    rays->z[0] = (float)(p[2] - optic->end_mm);
    mounting_leave(&mounting, rays);
    return true;
}

/* Tilt of the exit ray in the plane of x, deg; of a ray that leaves towards (x, z) over the emitter. */
static double tilt(const struct luxfall_lens *lens, struct luxfall_assembly built, double x_mm, double z_mm,
                   int segments) {
    const struct optic optic = optic_of(lens);
    struct ray_batch out;
    if (!exit_of(&optic, &built, (double[]){x_mm, 0, z_mm}, segments, &out))
        return NAN;
    return atan2(out.dx[0], out.dz[0]) / DEG;
}

enum { THROUGH_LENS = 3, BY_WALL = 4 };

/* ---- the plano-hyperbolic lens ----
 * Source aside by s (first column), exit tilt at the ray height h = 0, 5, -5, 10, -10 (derived; the sign: the beam
 * goes to the other side). Defocus: the source 0.3 mm nearer, farther, 1 mm nearer; tilt outward at h = 2, 5, 10
 * (derived). */
static const double hyperbolic_heights[] = {0, 5, -5, 10, -10};
static const double hyperbolic_rows[][6] = {
    {0.1, 0.28647651028, 0.22364085595, 0.22267083007, 0.13521057008, 0.13423225118},
    {0.5, 1.4320961842, 1.1277590520, 1.1035160129, 0.68584752477, 0.66139434475},
    {1, 2.8624052261, 2.2788288475, 2.1819516371, 1.3962044964, 1.2984516382},
    {3, 8.5307656099, 7.0945068912, 6.2315987749, 4.4816195632, 3.6075525955},
};
static const double defocus_rows[][4] = {
    {0.3, 0.082581571569, 0.16000430429, 0.16924802588},
    {-0.3, -0.080208145932, -0.15601602778, -0.16658234533},
    {1, 0.28511238474, 0.54971249169, 0.57477313685},
};
/* Emitter rays are of single precision: their tilt holds to 1e-5 deg. */
static const double TILT_DEG = 1e-5;

static double height_of(double h_mm) {
    return 20 + conic_sag(1 / 9.8, -2.2201, 0, NULL, fabs(h_mm));
}

/* as: how the shift s is said. */
static struct verdict steering_verdict(struct luxfall_assembly (*as)(double s_mm)) {
    struct verdict v = {0};
    for (int i = 0; i < 4; i++)
        for (int k = 0; k < 5; k++) {
            double s = hyperbolic_rows[i][0], h = hyperbolic_heights[k];
            double got = tilt(&hyperbolic, as(s), h - s, height_of(h), THROUGH_LENS);
            verdict_add(&v, got + hyperbolic_rows[i][k + 1], 0, TILT_DEG, "shift");
        }
    return v;
}

static struct luxfall_assembly die_aside(double s_mm) {
    return (struct luxfall_assembly){.die_x_mm = s_mm};
}
static struct luxfall_assembly lens_aside(double s_mm) {
    return (struct luxfall_assembly){.decentre_x_mm = -s_mm};
}
static struct luxfall_assembly both_aside(double s_mm) {
    return (struct luxfall_assembly){.die_x_mm = 1.5 * s_mm, .decentre_x_mm = 0.5 * s_mm};
}
static struct luxfall_assembly die_other_side(double s_mm) {
    return die_aside(-s_mm);
}
static struct luxfall_assembly lens_taken_as_die(double s_mm) {
    return lens_aside(-s_mm);
}

/* Twins: the sign of the shift; the shift of lens and die taken in the same sense. */
static void a_shifted_die_steers(void **state) {
    (void)state;
    struct verdict die = steering_verdict(die_aside), lens = steering_verdict(lens_aside),
                   both = steering_verdict(both_aside);
    verdict_holds(&die, 20);
    verdict_holds(&lens, 20);
    verdict_holds(&both, 20);
    struct verdict sign = steering_verdict(die_other_side), sense = steering_verdict(lens_taken_as_die);
    verdict_fails(&sign);
    verdict_fails(&sense);
}

static struct verdict defocus_verdict(double sense) {
    const double heights[] = {2, 5, 10};
    struct verdict v = {0};
    for (int i = 0; i < 3; i++)
        for (int k = 0; k < 3; k++) {
            struct luxfall_assembly seated = {.seat_mm = -sense * defocus_rows[i][0]};
            double rise = height_of(heights[k]) - defocus_rows[i][0];
            verdict_add(&v, tilt(&hyperbolic, seated, heights[k], rise, THROUGH_LENS), defocus_rows[i][k + 1],
                        TILT_DEG / fabs(defocus_rows[i][k + 1]), "seat");
        }
    return v;
}

/* A lens seated low has its emitter nearer. Twin: higher for lower. */
static void a_low_seat_spreads(void **state) {
    (void)state;
    struct verdict v = defocus_verdict(1), twin = defocus_verdict(-1);
    verdict_holds(&v, 9);
    verdict_fails(&twin);
}

/* Mean over the face, even in area, rad/mm at small shifts: s sin(u_rim)/h_rim, exact for every lens of revolution
 * that collimates (derived; aperture radii 1, 5, 10 mm). Twin: the paraxial 1/f. */
static double mean_steering(double aperture_mm) {
    enum { RINGS = 12, SECTORS = 16 };
    const double s = 0.02;
    const struct luxfall_assembly built = die_aside(s);
    const struct optic optic = optic_of(&hyperbolic);
    double sum = 0;
    for (int i = 0; i < RINGS; i++)
        for (int k = 0; k < SECTORS; k++) {
            double r = aperture_mm * sqrt((i + 0.5) / RINGS), turn = 2 * BENCH_PI * (k + 0.5) / SECTORS;
            struct ray_batch out;
            const double towards[3] = {r * cos(turn) - s, r * sin(turn), height_of(r)};
            assert_true(exit_of(&optic, &built, towards, THROUGH_LENS, &out));
            sum += out.dx[0] / s / (RINGS * SECTORS);
        }
    return -sum;
}

static void the_mean_over_the_face_is_that_of_etendue(void **state) {
    (void)state;
    const double rows[][2] = {{1, 0.04981126391}, {5, 0.04593546697}, {10, 0.03836537998}};
    struct verdict v = {0}, twin = {0};
    for (int i = 0; i < 3; i++) {
        double got = mean_steering(rows[i][0]);
        verdict_add(&v, got, rows[i][1], 2e-3, "mean steering");
        verdict_add(&twin, got, 1 / 20.0, 2e-3, "paraxial");
    }
    verdict_holds(&v, 3);
    verdict_fails(&twin);
}

/* A lens that leans about its focus leans its beam by the same angle, whatever its shape (definition: all lengths
 * from the focus stay). Twin: towards the other side. */
static void a_leaning_lens_leans_its_beam(void **state) {
    (void)state;
    const struct optic optic = optic_of(&hyperbolic);
    for (int turn = 0; turn < 360; turn += 30) {
        struct luxfall_assembly built = {.lean_rad = 2 * DEG, .lean_azimuth_rad = turn * DEG};
        for (int k = 0; k < 6; k++) {
            struct ray_batch out;
            const double towards[3] = {0.2 * cos(k), 0.2 * sin(k), 1};
            assert_true(exit_of(&optic, &built, towards, THROUGH_LENS, &out));
            double x = sin(2 * DEG) * cos(turn * DEG), y = sin(2 * DEG) * sin(turn * DEG);
            assert_true(hypot(out.dx[0] - x, out.dy[0] - y) < 1e-6);
            assert_true(hypot(out.dx[0] + x, out.dy[0] + y) > 0.05);
        }
    }
}

/* ---- the collimator ----
 * Die aside by 0.1 mm in the plane of the shift: tilt of the rays through the middle at r, and of those that meet the
 * wall where the light of its centre left at q deg above the board (derived; middle and wall lean opposite ways).
 * Seat: the emitter 0.3 mm nearer, farther; tilt outward at the same places (derived). */
static const double cup_middle_rows[][2] = {{1e-9, -1.43209618}, {1.5, -0.888739070}, {2.9, -0.435843098}};
static const double cup_wall_rows[][2] = {{7.700361494, 0.226365303},
                                          {15.40072299, 0.394332146},
                                          {30.80144598, 0.553714282},
                                          {46.20216896, 0.521959745},
                                          {53.90253046, 0.453795028}};
static const double cup_middle_seats[][3] = {
    {1, 0.843010790, -0.742959599}, {2, 0.873770220, -0.807142134}, {2.9, 0.692260982, -0.664061435}};
static const double cup_wall_seats[][3] = {{7.700361494, -4.93546117, 4.80391954},
                                           {15.40072299, -4.27964881, 4.08809743},
                                           {30.80144598, -2.82708483, 2.64999432},
                                           {46.20216896, -1.53779414, 1.43438367},
                                           {53.90253046, -1.02047488, 0.951128531}};

/* The slope dz/dx at which a ray from (x, z) must leave to meet the wall's point of q: Snell's law at the upright
 * wall of the hollow, by halving. */
static double slope_to_wall(double x, double z, double q_deg) {
    struct collimator c = {.index = 1.49, .hollow_mm = 3, .focus_mm = 4, .radius_mm = 10, .face_mm = 11};
    double r, height, low = 0, high = 1.5;
    assert_true(collimator_solve(&c));
    collimator_wall(&c, q_deg * DEG, &r, &height);
    for (int i = 0; i < 100; i++) {
        double angle = (low + high) / 2, inside = asin(sin(angle) / 1.49);
        bool above = z + (3 - x) * tan(angle) + (r - 3) * tan(inside) > height;
        *(above ? &high : &low) = angle;
    }
    return tan(low);
}

static double middle_tilt(struct luxfall_assembly built, double x, double z, double r) {
    return tilt(&cup, built, r - x, 4 + conic_sag(1 / 1.96, -2.2201, 0, NULL, r) - z, THROUGH_LENS);
}

static struct verdict cup_shift_verdict(double sense) {
    struct luxfall_assembly built = {.die_x_mm = sense * 0.1};
    struct verdict v = {0};
    for (int i = 0; i < 3; i++)
        verdict_add(&v, middle_tilt(built, 0.1, 0, cup_middle_rows[i][0]) - cup_middle_rows[i][1], 0, TILT_DEG,
                    "middle");
    for (int i = 0; i < 5; i++)
        verdict_add(&v,
                    tilt(&cup, built, 1, slope_to_wall(0.1, 0, cup_wall_rows[i][0]), BY_WALL) - cup_wall_rows[i][1],
                    0, TILT_DEG, "wall");
    return v;
}

static struct verdict cup_seat_verdict(double nearer_mm, int column) {
    struct luxfall_assembly built = {.seat_mm = -nearer_mm};
    struct verdict v = {0};
    for (int i = 0; i < 3; i++)
        verdict_add(&v, middle_tilt(built, 0, nearer_mm, cup_middle_seats[i][0]) - cup_middle_seats[i][column], 0,
                    TILT_DEG, "middle");
    for (int i = 0; i < 5; i++)
        verdict_add(&v,
                    tilt(&cup, built, 1, slope_to_wall(0, nearer_mm, cup_wall_seats[i][0]), BY_WALL) -
                        cup_wall_seats[i][column],
                    0, TILT_DEG, "wall");
    return v;
}

static void a_collimator_follows_shift_and_seat(void **state) {
    (void)state;
    struct verdict shift = cup_shift_verdict(1), nearer = cup_seat_verdict(0.3, 1),
                   farther = cup_seat_verdict(-0.3, 2);
    verdict_holds(&shift, 8);
    verdict_holds(&nearer, 8);
    verdict_holds(&farther, 8);
    struct verdict sign = cup_shift_verdict(-1), swapped = cup_seat_verdict(0.3, 2);
    verdict_fails(&sign);
    verdict_fails(&swapped);
}

/* Mean exit slope of a Lambertian point aside, per mm, surfaces perfectly clear: the whole lens -0.060748823 (derived
 * from conserved etendue). Twin: atan(shift/f) with f from the width of the beam, 8.5 mm, over-states it twice. */
static void a_collimator_steers_less_than_its_width_says(void **state) {
    (void)state;
    enum { RINGS = 48, SECTORS = 64 };
    const double s = 0.05;
    const struct luxfall_assembly built = die_aside(s);
    const struct optic optic = optic_of(&cup);
    double sum = 0, count = 0;
    for (int i = 0; i < RINGS; i++)
        for (int k = 0; k < SECTORS; k++) {
            double sine = sqrt((i + 0.5) / RINGS), turn = 2 * BENCH_PI * (k + 0.5) / SECTORS;
            struct ray_batch out;
            const double towards[3] = {sine * cos(turn), sine * sin(turn), sqrt(1 - sine * sine)};
            assert_true(exit_of(&optic, &built, towards, THROUGH_LENS, &out) ||
                        exit_of(&optic, &built, towards, BY_WALL, &out));
            sum += out.dx[0] / out.dz[0];
            count++;
        }
    double per_mm = sum / count / s;
    print_message("mean slope %.5f per mm\n", per_mm);
    assert_true(fabs(per_mm / -0.060748823 - 1) < 0.02);
    assert_true(fabs(per_mm * 8.5 + 1) > 0.4);
}

/* ---- on the stage ---- */

static struct luxfall_pose rolled_down(double x_mm, double roll_deg) {
    double c = cos(roll_deg * DEG), s = sin(roll_deg * DEG);
    struct luxfall_pose pose = pose_down(x_mm, 0, 200);
    struct luxfall_vec x = pose.x, y = pose.y;
    pose.x = (struct luxfall_vec){c * x.x + s * y.x, c * x.y + s * y.y, 0};
    pose.y = (struct luxfall_vec){-s * x.x + c * y.x, -s * x.y + c * y.y, 0};
    return pose;
}

/* Five small fields round the middle, and the whole map. */
static struct luxfall_result *lit(struct luxfall_pose pose, struct luxfall_assembly built, uint64_t seed) {
    static const double places[][2] = {{0, 0}, {12, 0}, {-12, 0}, {0, 12}, {0, -12}};
    struct bench b = {0};
    bench_map(&b, 120, 120, 1.5);
    bench_pose(&b, pose, bench_emitter(&b, cosine_emitter(oblong_face(1.2, 1.2), 100, 1.0)), bench_lens(&b, cup))
        ->built = built;
    for (int i = 0; i < 5; i++) {
        struct luxfall_field *field = bench_round_field(&b, 6);
        field->x_mm = places[i][0];
        field->y_mm = places[i][1];
    }
    struct luxfall_options options = bench_rays(1 << 17, seed);
    return bench_trace(&b, &options);
}

/* Widest difference of the five averages in units of their common band. */
static double apart(const struct luxfall_result *a, const struct luxfall_result *b) {
    double worst = 0;
    for (int f = 0; f < 5; f++) {
        struct luxfall_estimate p = a->planes[0].fields[f].average_lx, q = b->planes[0].fields[f].average_lx;
        worst = fmax(worst, fabs(p.value - q.value) / hypot(p.u95, q.u95));
    }
    return worst;
}

/* A quarter turn of the module turns the shift. x cross y is the axis, so that roll takes x to y. Twin: the shift
 * alone. Bound: 2 x the 95 % band, of ten numbers. */
static void turned_shift_is_a_turned_module(void **state) {
    (void)state;
    const struct luxfall_assembly x = {.die_x_mm = 0.8, .lean_rad = 1 * DEG},
                                  y = {.die_y_mm = 0.8, .lean_rad = 1 * DEG, .lean_azimuth_rad = 90 * DEG};
    struct luxfall_result *a = lit(rolled_down(0, 90), x, 3), *b = lit(rolled_down(0, 0), y, 4),
                          *twin = lit(rolled_down(0, 0), x, 5);
    assert_true(apart(a, b) < 2);
    print_message("turned %.2f, not turned %.2f bands apart\n", apart(a, b), apart(twin, b));
    assert_true(apart(twin, b) > 4);
    luxfall_result_free(a);
    luxfall_result_free(b);
    luxfall_result_free(twin);
}

/* A die aside by d under its lens is a lens aside by -d, and the whole module d farther: the same rays, to rounding.
 * Twin: the module where it was. */
static void a_lens_aside_is_a_die_aside(void **state) {
    (void)state;
    const struct luxfall_assembly die = {.die_x_mm = 0.3}, lens = {.decentre_x_mm = -0.3};
    struct luxfall_result *a = lit(rolled_down(0, 0), die, 3), *b = lit(rolled_down(0.3, 0), lens, 3),
                          *twin = lit(rolled_down(0, 0), lens, 3);
    for (int f = 0; f < 5; f++) {
        struct luxfall_estimate p = a->planes[0].fields[f].average_lx, q = b->planes[0].fields[f].average_lx;
        assert_true(fabs(p.value - q.value) < 1e-4 * p.value);
    }
    assert_true(apart(a, twin) > 0.3);
    luxfall_result_free(a);
    luxfall_result_free(b);
    luxfall_result_free(twin);
}

/* Landings per ray that left the lens: rotations and mirror images that the assembly leaves as it is. */
static void images_that_are_left(void **state) {
    (void)state;
    static const struct {
        struct luxfall_assembly built;
        int all, images;
    } rows[] = {
        {{.seat_mm = 0.3}, 8, 8},
        {{.seat_mm = 0.3}, 4, 4},
        {{.die_x_mm = 0.1}, 8, 2},
        {{.decentre_y_mm = -0.1}, 8, 2},
        {{.die_x_mm = 0.1, .die_y_mm = 0.1}, 8, 2},
        {{.die_x_mm = 0.1, .die_y_mm = -0.1}, 8, 2},
        {{.die_x_mm = 0.1, .die_y_mm = 0.1}, 4, 1}, /* an oblong die has no diagonal mirror */
        {{.die_x_mm = 0.1, .die_y_mm = 0.2}, 8, 1},
        {{.lean_rad = 0.02, .lean_azimuth_rad = 90 * DEG}, 8, 2},
        {{.lean_rad = 0.02, .lean_azimuth_rad = 30 * DEG}, 8, 1},
        {{.die_x_mm = 0.1, .decentre_y_mm = 0.1}, 8, 1},
    };
    for (size_t i = 0; i < sizeof rows / sizeof *rows; i++)
        assert_int_equal(assembly_images(&rows[i].built, NULL, rows[i].all).count, rows[i].images);
}

/* Modules of one emitter and lens, one of them with its lens aside: each has its own light. By symmetry the two spots
 * of opposite shifts are mirror images; the bundle of one cast for the other would not be. */
static void each_assembly_has_its_own_rays(void **state) {
    (void)state;
    struct bench b = {0};
    bench_map(&b, 120, 120, 1.5);
    size_t die = bench_emitter(&b, cosine_emitter(oblong_face(1.2, 1.2), 100, 1.0)), lens = bench_lens(&b, cup);
    bench_pose(&b, pose_down(0, 0, 200), die, lens)->built.die_x_mm = 0.5;
    bench_pose(&b, pose_down(0, 0, 200), die, lens)->built.die_x_mm = -0.5;
    bench_round_field(&b, 6)->x_mm = 12;
    bench_round_field(&b, 6)->x_mm = -12;
    struct luxfall_options options = bench_rays(1 << 17, 3);
    struct luxfall_result *both = bench_trace(&b, &options);
    b.modules[1].dark = true;
    struct luxfall_result *one = bench_trace(&b, &options);
    struct luxfall_field_result *p = both->planes[0].fields, *q = one->planes[0].fields;
    assert_true(fabs(p[0].average_lx.value - p[1].average_lx.value) <
                2 * hypot(p[0].average_lx.u95, p[1].average_lx.u95));
    assert_true(fabs(q[0].average_lx.value - q[1].average_lx.value) >
                10 * hypot(q[0].average_lx.u95, q[1].average_lx.u95));
    luxfall_result_free(both);
    luxfall_result_free(one);
}

/* ---- what cannot be ---- */

static void refused(const struct luxfall_lens *lens, struct luxfall_face die, struct luxfall_assembly built,
                    const char *says) {
    struct luxfall_emitter emitter = cosine_emitter(die, 100, 1.0);
    struct luxfall_error error = {0};
    assert_int_equal(luxfall_assembly_check(&emitter, lens, &built, &error), LUXFALL_E_VALUE);
    if (!strstr(error.text, says))
        fail_msg("'%s' does not say '%s'", error.text, says);
}

static void accepted(const struct luxfall_lens *lens, struct luxfall_face die, struct luxfall_assembly built) {
    struct luxfall_emitter emitter = cosine_emitter(die, 100, 1.0);
    struct luxfall_error error = {0};
    if (luxfall_assembly_check(&emitter, lens, &built, &error) != LUXFALL_OK)
        fail_msg("%s", error.text);
}

static void no_emitter_lies_in_glass(void **state) {
    (void)state;
    const struct luxfall_lens sheet = beam_lens(24, 0, 0, 0.84, disc_face(18));
    struct luxfall_lens bulging = hyperbolic;
    bulging.singlet.gap_mm = 0.2;
    refused(&cup, disc_face(1.2), (struct luxfall_assembly){.die_x_mm = 2.5, .seat_mm = -0.1}, "into the lens");
    accepted(&cup, disc_face(1.2), (struct luxfall_assembly){.die_x_mm = 2.3, .seat_mm = -0.1});
    accepted(&cup, disc_face(1.2), (struct luxfall_assembly){.die_x_mm = 2.5, .seat_mm = 0.1});
    refused(&cup, disc_face(1.2), (struct luxfall_assembly){.seat_mm = -4.2}, "into the lens");
    accepted(&cup, disc_face(1.2), (struct luxfall_assembly){.seat_mm = -3.8});
    refused(&bulging, oblong_face(4, 4), (struct luxfall_assembly){.die_x_mm = 1, .seat_mm = -0.21}, "into the lens");
    accepted(&bulging, oblong_face(4, 4), (struct luxfall_assembly){.die_x_mm = 1, .seat_mm = -0.19});
    accepted(&bulging, oblong_face(0.5, 0.5), (struct luxfall_assembly){.die_x_mm = 4, .seat_mm = -0.21});
    refused(&sheet, disc_face(1.2), (struct luxfall_assembly){.seat_mm = -0.1}, "solid: collimator");
    refused(NULL, disc_face(1.2), (struct luxfall_assembly){.seat_mm = -0.1}, "without a lens");
    refused(&cup, disc_face(1.2), (struct luxfall_assembly){.lean_rad = 1}, "30 deg");
    refused(&cup, disc_face(1.2), (struct luxfall_assembly){.seat_mm = NAN}, "1000 mm");
    accepted(&sheet, disc_face(1.2), (struct luxfall_assembly){.lean_azimuth_rad = 1});
}

/* Straight pieces of a ray's path that leaves the middle of the emitter at an angle over the board. */
static int pieces_at(const struct optic *optic, const struct mounting *mounting, double deg) {
    struct ray_batch in = launched((double[]){cos(deg * DEG), 0, sin(deg * DEG)});
    struct pcg32 random = stream_that_passes();
    struct optic_outcome out;
    mounting_enter(mounting, &in);
    optic_trace(optic, (double[]){in.x[0], in.y[0], in.z[0]}, (double[]){in.dx[0], in.dy[0], in.dz[0]}, &random,
                &out);
    return out.segments;
}

/* Under a cup 0.3 mm high the foot reaches from 3 mm to 3.2237 mm: light at atan(0.3/3.1) = 5.53 deg meets it from
 * below, at 5.0 deg it leaves beneath (derived: the triangles). Twin: the hollow's air told from the air below. */
static void light_meets_the_foot_of_a_high_lens(void **state) {
    (void)state;
    const struct luxfall_assembly high = {.seat_mm = 0.3};
    const struct luxfall_emitter die = cosine_emitter(point_face(), 100, 1.0);
    struct optic optic = optic_of(&cup), twin = optic;
    const struct mounting mounting = mounting_of(&high, optic.end_mm);
    assert_int_equal(mounting_fit(&mounting, &die, &optic, NULL), LUXFALL_OK);
    assert_int_equal(pieces_at(&optic, &mounting, 5.0), 1);
    assert_true(pieces_at(&optic, &mounting, 5.53) > 1);
    assert_true(pieces_at(&optic, &mounting, 6.5) > 1);
    assert_int_equal(pieces_at(&twin, &mounting, 5.53), 1);
}

/* No ray is lost at the edge of hollow and foot, and the ledger closes. */
static void no_seat_loses_rays(void **state) {
    (void)state;
    const struct luxfall_assembly all[] = {{.seat_mm = 0.3},
                                           {.seat_mm = -0.3},
                                           {.seat_mm = 0.001, .lean_rad = 1 * DEG, .lean_azimuth_rad = 2},
                                           {.lean_rad = 3 * DEG, .die_y_mm = 1.2}};
    for (int i = 0; i < 4; i++) {
        struct luxfall_result *result = lit(rolled_down(0, 0), all[i], 3);
        struct luxfall_ledger ledger = result->planes[0].ledger;
        assert_true(ledger.abandoned_quanta == 0);
        assert_true(ledger.emitted_quanta == ledger.on_map_quanta + ledger.off_map_quanta + ledger.absorbed_quanta);
        luxfall_result_free(result);
    }
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(a_shifted_die_steers),
        cmocka_unit_test(a_low_seat_spreads),
        cmocka_unit_test(the_mean_over_the_face_is_that_of_etendue),
        cmocka_unit_test(a_leaning_lens_leans_its_beam),
        cmocka_unit_test(a_collimator_follows_shift_and_seat),
        cmocka_unit_test(a_collimator_steers_less_than_its_width_says),
        cmocka_unit_test(turned_shift_is_a_turned_module),
        cmocka_unit_test(a_lens_aside_is_a_die_aside),
        cmocka_unit_test(images_that_are_left),
        cmocka_unit_test(each_assembly_has_its_own_rays),
        cmocka_unit_test(no_emitter_lies_in_glass),
        cmocka_unit_test(light_meets_the_foot_of_a_high_lens),
        cmocka_unit_test(no_seat_loses_rays),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
