/* What stands over a lens: windows, diffusers, stops; against closed forms and published values. */
#include "lenses/cover.h"
#include "numbers/vec.h"
#include "statistics/workbench.h"
#include "unit/one_ray.h"

enum { RAYS = 400 * 1000 };

/* ---- rays through covers alone ---- */

static struct optic under(const struct luxfall_cover *covers, int count) {
    struct optic optic = {.material_count = 1, .materials = {{1, 0, true, 0}}};
    struct luxfall_error error = {0};
    for (int i = 0; i < count; i++) {
        if (luxfall_cover_check(&covers[i], &error) != LUXFALL_OK ||
            cover_add(&covers[i], 0, 0, 0.55, &optic, &error) != LUXFALL_OK)
            fail_msg("%s", error.text);
    }
    return optic;
}

struct shares {
    double passes, absorbed[LUXFALL_LOSS_COUNT];
    double mean_cos, within_30; /* of those that pass */
    double half_width_rad;      /* of the Gaussian of the same mean of a^2 */
};

/* What becomes of a beam that comes at an angle. */
static struct shares beam_through(const struct optic *optic, double deg, int rays) {
    const double at[3] = {0, 0, 0}, direction[3] = {sin(deg * DEG), 0, cos(deg * DEG)};
    struct shares out = {0};
    double square = 0;
    for (int i = 0; i < rays; i++) {
        struct pcg32 random = pcg32_seed((uint64_t)i, 5);
        struct optic_outcome end;
        optic_trace(optic, at, direction, &random, &end);
        if (end.fate == OPTIC_ABSORBED)
            out.absorbed[end.loss] += 1.0 / rays;
        if (end.fate != OPTIC_EXIT)
            continue;
        const double *d = end.end.direction;
        double off = acos(fmin(1, d[0] * direction[0] + d[2] * direction[2]));
        out.passes += 1.0 / rays;
        out.mean_cos += d[2];
        out.within_30 += d[2] > cos(30 * DEG);
        square += off * off;
    }
    double passed = out.passes * rays;
    out.mean_cos /= passed;
    out.within_30 /= passed;
    out.half_width_rad = sqrt(log(2) * square / passed); /* of the density a exp(-a^2/2s^2): mean of a^2 is 2 s^2 */
    return out;
}

/* Four standard errors of a share. */
static double four_se(double share, int rays) {
    return 4 * sqrt(share * (1 - share) / rays);
}

/* ---- windows ----
 * Transmittance of a plate in air with all its inner reflections, s and p each by themselves, (1-R)/(1+R) (M. Born
 * and E. Wolf, "Principles of Optics", 7th ed., 1999, sec. 1.5 and 7.6); the last column averages R first, as a
 * tracer without polarisation does. Two plates: (1-R)/(1+3R). */
static const double plates[][3] = {
    {0, 0.9254370982, 0.9254370982},
    {45, 0.9097504314, 0.9068595384},
    {60, 0.8505025337, 0.8390441493},
    {80, 0.4597927722, 0.4430132403},
};

static struct luxfall_cover pane(double gap_mm) {
    return (struct luxfall_cover){.name = "pane",
                                  .kind = LUXFALL_COVER_WINDOW,
                                  .diameter_mm = 2000,
                                  .gap_mm = gap_mm,
                                  .material = {.index = 1.49},
                                  .thickness_mm = 3};
}

static void a_window_takes_what_a_plate_takes(void **state) {
    (void)state;
    struct luxfall_cover cover = pane(1);
    struct optic optic = under(&cover, 1);
    double twin = 0;
    for (int i = 0; i < 4; i++) {
        double got = beam_through(&optic, plates[i][0], RAYS).passes;
        assert_true(fabs(got - plates[i][1]) < four_se(got, RAYS));
        twin = fmax(twin, fabs(got - plates[i][2]) / four_se(got, RAYS));
    }
    assert_true(twin > 2); /* averaged reflectances are noticed */
    const struct luxfall_cover two[] = {pane(1), pane(0.5)};
    optic = under(two, 2);
    double r = 0.0387251818519, got = beam_through(&optic, 0, RAYS).passes; /* ((n-1)/(n+1))^2 */
    assert_true(fabs(got - (1 - r) / (1 + 3 * r)) < four_se(got, RAYS));
    assert_true(fabs(got - pow((1 - r) / (1 + r), 2)) > four_se(got, RAYS)); /* twin: no light between the plates */
}

/* Absorbing plate, n 1.49, 3 mm, 0.05 per mm: passes and is absorbed at 0 deg, passes at 60 deg (the same source, a =
 * exp(-0.05 path)). Twin: the path taken as the thickness. */
static void a_tinted_window_absorbs(void **state) {
    (void)state;
    struct luxfall_cover cover = pane(1);
    cover.material.transmittance = exp(-0.05 * 10);
    cover.material.transmittance_mm = 10;
    struct optic optic = under(&cover, 1);
    struct shares level = beam_through(&optic, 0, RAYS), slant = beam_through(&optic, 60, RAYS);
    assert_true(fabs(level.passes - 0.7962211527) < four_se(level.passes, RAYS));
    assert_true(fabs(level.absorbed[LUXFALL_LOSS_COVER] - 0.1385147602) < four_se(0.1385, RAYS));
    assert_true(fabs(slant.passes - 0.7045618004) < four_se(slant.passes, RAYS));
    assert_true(fabs(slant.passes - 0.8505025337 * 0.8607079764) > four_se(slant.passes, RAYS));
}

/* ---- diffusers ---- */

static struct luxfall_cover film(double width_deg, double gap_mm) {
    return (struct luxfall_cover){.name = "film",
                                  .kind = LUXFALL_COVER_FILM,
                                  .diameter_mm = 2000,
                                  .gap_mm = gap_mm,
                                  .spread_rad = width_deg * DEG,
                                  .passes = 0.9,
                                  .comes_back = 0.06};
}

/* Gaussians add in quadrature at small angles (W. Feller, "An Introduction to Probability Theory and Its
 * Applications", 1968: variances of independent parts). Width of a narrow beam behind films of 3 and 4 deg: 5. Twin:
 * widths added. */
static void films_add_in_quadrature(void **state) {
    (void)state;
    const struct luxfall_cover one = film(4, 1), two[] = {film(3, 1), film(4, 1)};
    struct luxfall_cover lossless[] = {two[0], two[1]};
    lossless[0].passes = lossless[1].passes = 1;
    lossless[0].comes_back = lossless[1].comes_back = 0;
    struct optic single = under(&one, 1), pair = under(lossless, 2);
    struct shares alone = beam_through(&single, 0, RAYS), both = beam_through(&pair, 0, RAYS);
    print_message("widths %.4f, %.4f deg\n", 2 * alone.half_width_rad / DEG, 2 * both.half_width_rad / DEG);
    assert_true(fabs(2 * alone.half_width_rad / (4 * DEG) - 1) < 4.0 / sqrt(4.0 * RAYS) + 2e-3);
    assert_true(fabs(2 * both.half_width_rad / (5 * DEG) - 1) < 4.0 / sqrt(4.0 * RAYS) + 2e-3);
    assert_true(fabs(2 * both.half_width_rad / (7 * DEG) - 1) > 0.2);
    assert_true(fabs(alone.passes - 0.9) < four_se(0.9, RAYS));
    assert_true(fabs(alone.absorbed[LUXFALL_LOSS_RETURNED] - 0.06) < four_se(0.06, RAYS));
    assert_true(fabs(alone.absorbed[LUXFALL_LOSS_COVER] - 0.04) < four_se(0.04, RAYS));
}

/* Two films send light to and fro: passes t^2 / (1 - r^2), the sum of a geometric series (definition). */
static void films_share_what_comes_back(void **state) {
    (void)state;
    const struct luxfall_cover two[] = {film(3, 1), film(3, 1)};
    struct optic pair = under(two, 2);
    double got = beam_through(&pair, 0, RAYS).passes, want = 0.81 / (1 - 0.06 * 0.06);
    assert_true(fabs(got - want) < four_se(want, RAYS));
    assert_true(fabs(got - 0.81 / (1 - 0.06)) > four_se(want, RAYS)); /* twin */
}

/* Cosine law behind an opal, whatever comes: mean cosine 2/3, a quarter within 30 deg (Lambert's law; IEC 60050-845,
 * 1987). Twin: even in angle, of which 0.1340 lie within 30 deg. */
static void an_opal_has_a_cosine_law(void **state) {
    (void)state;
    const struct luxfall_cover milk = {.name = "milk",
                                       .kind = LUXFALL_COVER_OPAL,
                                       .diameter_mm = 2000,
                                       .gap_mm = 1,
                                       .passes = 0.5,
                                       .comes_back = 0.4};
    struct optic optic = under(&milk, 1);
    for (int deg = 0; deg <= 60; deg += 30) {
        struct shares got = beam_through(&optic, deg, RAYS);
        int passed = (int)(got.passes * RAYS);
        assert_true(fabs(got.passes - 0.5) < four_se(0.5, RAYS));
        assert_true(fabs(got.absorbed[LUXFALL_LOSS_COVER] - 0.1) < four_se(0.1, RAYS));
        assert_true(fabs(got.mean_cos - 2.0 / 3) < 4 * 0.2357 / sqrt(passed));
        assert_true(fabs(got.within_30 - 0.25) < four_se(0.25, passed));
        assert_true(fabs(got.within_30 - 0.1340) > 10 * four_se(0.25, passed));
    }
}

/* ---- over emitters and lenses ---- */

static struct bench lamp(struct luxfall_face die, const struct luxfall_lens *lens) {
    struct bench b = {0};
    bench_map(&b, 400, 400, 4);
    size_t emitter = bench_emitter(&b, cosine_emitter(die, 100, 1.0));
    bench_pose(&b, pose_down(0, 0, 500), emitter, lens ? bench_lens(&b, *lens) : LUXFALL_NO_LENS);
    bench_round_field(&b, 20);
    return b;
}

static struct luxfall_result *trace_under(struct bench *b, const struct luxfall_cover *covers, size_t count,
                                          uint64_t rays, enum luxfall_vectors vectors) {
    struct luxfall_scene scene = bench_scene(b);
    struct luxfall_options options = bench_rays(rays, 3);
    struct luxfall_result *result = NULL;
    struct luxfall_error error = {0};
    options.vectors = vectors;
    scene.covers = covers;
    scene.cover_count = count;
    b->modules[0].cover_count = count;
    for (size_t i = 0; i < count; i++)
        b->modules[0].covers[i] = i;
    if (luxfall_trace(&scene, &options, &result, &error) != LUXFALL_OK)
        fail_msg("tracing: %s", error.text);
    struct luxfall_ledger l = result->planes[0].ledger;
    assert_true(l.emitted_quanta == l.on_map_quanta + l.off_map_quanta + l.absorbed_quanta + l.abandoned_quanta);
    assert_true(l.abandoned_quanta == 0);
    return result;
}

/* Exchange factor of coaxial discs (R. Siegel and J. R. Howell, "Thermal Radiation Heat Transfer", 4th ed., 2002,
 * app. C; a handbook's closed form, written so that it does not subtract). */
static double exchange(double r1, double r2, double h) {
    double s = 1 + (1 + r2 * r2 / (h * h)) / (r1 * r1 / (h * h)), q = r2 * r2 / (r1 * r1);
    return 2 * q / (s + sqrt(s * s - 4 * q));
}

/* Light of a disc of radius 5 through a hole of radius 10 at 20 mm, 0.192235935956 of it (the same source), and
 * beside a ring of radius 200. Twin: the radii swapped, 0.0480589839890. */
static void a_stop_passes_the_exchange_factor(void **state) {
    (void)state;
    const struct luxfall_cover stop = {
        .name = "stop", .kind = LUXFALL_COVER_STOP, .diameter_mm = 400, .gap_mm = 20, .hole_mm = 20};
    struct bench b = lamp(disc_face(10), NULL);
    struct luxfall_result *result = trace_under(&b, &stop, 1, 1 << 20, LUXFALL_VECTORS_BEST);
    double u95 = result->planes[0].ledger.loss_lm[LUXFALL_LOSS_STOP].u95 / 100, got = result->leaving_lm / 100;
    double beside = 1 - exchange(5, 200, 20);
    assert_true(fabs(exchange(5, 10, 20) - 0.192235935956) < 1e-12);
    /* bounds overlap by 2e-6 of 400 mm: the hole is smaller by 1.6e-4 of its area */
    assert_true(fabs(got - exchange(5, 10, 20) - beside) < 2 * u95 + 5e-5);
    assert_true(fabs(got - 0.0480589839890 - beside) > 0.1);
    luxfall_result_free(result);
}

/* A tube of radius r from h to h + H over a point: what leaves its hole is sin^2 atan(r / (h + H)); beside a ring of
 * outer radius R passes cos^2 atan(R / h) (definition of the Lambertian law). */
static void a_tube_absorbs_inside(void **state) {
    (void)state;
    const struct luxfall_cover tube = {.name = "tube",
                                       .kind = LUXFALL_COVER_STOP,
                                       .diameter_mm = 30,
                                       .gap_mm = 10,
                                       .hole_mm = 20,
                                       .thickness_mm = 15};
    struct bench b = lamp(point_face(), NULL);
    struct luxfall_result *result = trace_under(&b, &tube, 1, 1 << 20, LUXFALL_VECTORS_BEST);
    double through = pow(sin(atan(10.0 / 25)), 2), beside = pow(cos(atan(15.0 / 10)), 2);
    double u95 = result->planes[0].ledger.loss_lm[LUXFALL_LOSS_STOP].u95 / 100;
    assert_true(fabs(result->leaving_lm / 100 - through - beside) < 2 * u95 + 1e-6);
    double twin = pow(sin(atan(10.0 / 10)), 2);
    assert_true(fabs(result->leaving_lm / 100 - twin - beside) > 0.1);
    luxfall_result_free(result);
}

static const struct luxfall_lens cup = {
    .name = "cup",
    .kind = LUXFALL_LENS_COLLIMATOR,
    .material = {.index = 1.49},
    .collimator = {.diameter_mm = 20, .height_mm = 11, .hollow_mm = 6, .middle_mm = 4}};

/* A beam of a sheet under a window: efficiency first, then the plate; the beam narrow enough that the plate takes
 * what it takes at 0 deg, and the light on the axis falls by that alone. */
static void a_sheet_beam_goes_through_a_window(void **state) {
    (void)state;
    const struct luxfall_lens sheet = beam_lens(10, 0, 0, 0.86, disc_face(20));
    struct luxfall_cover cover = pane(2);
    struct bench b = lamp(oblong_face(0.4, 0.4), &sheet);
    struct luxfall_result *bare = trace_under(&b, NULL, 0, 1 << 20, LUXFALL_VECTORS_BEST);
    struct luxfall_result *behind = trace_under(&b, &cover, 1, 1 << 20, LUXFALL_VECTORS_BEST);
    struct luxfall_ledger ledger = behind->planes[0].ledger;
    assert_true(fabs(ledger.loss_lm[LUXFALL_LOSS_DATASHEET].value - 14) < 1e-3);
    assert_true(fabs(behind->leaving_lm / 86 - plates[0][1]) < 1e-3);
    double back_lm = ledger.loss_lm[LUXFALL_LOSS_SOURCE].value + ledger.loss_lm[LUXFALL_LOSS_RETURNED].value;
    assert_true(fabs(back_lm / 86 - (1 - plates[0][1])) < 1e-3);
    struct luxfall_estimate p = bare->planes[0].fields[0].centre_lx, q = behind->planes[0].fields[0].centre_lx;
    /* a plate of 3 mm brings the face t (1 - 1/n) = 0.987 mm nearer, of 500 */
    assert_true(fabs(q.value / p.value - plates[0][1]) < 2 * q.u95 / q.value + 4e-3);
    assert_true(isnan(behind->planes[0].fields[0].centre_direct_lx));
    luxfall_result_free(bare);
    luxfall_result_free(behind);
}

/* A bell of 10 deg behind a film of 20 deg is one of 22.3771 deg: Legendre coefficients multiply (J. R. Driscoll and
 * D. M. Healy, Advances in Applied Mathematics 15, 202, 1994; the width derived). Share of its light within a disc on
 * the stage. Twins: the film alone, widths added. */
static double share_within(double width_deg, double angle_rad) {
    enum { STEPS = 20000 };
    double inside = 0, all = 0;
    for (int i = 0; i < STEPS; i++) {
        double a = BENCH_PI / 2 * (i + 0.5) / STEPS, x = 2 * a / (width_deg * DEG);
        double piece = exp(-log(2) * x * x) * sin(a);
        all += piece;
        inside += a < angle_rad ? piece : 0;
    }
    return inside / all;
}

static void a_film_widens_a_bell(void **state) {
    (void)state;
    const struct luxfall_lens sheet = beam_lens(10, 0, 0, 0.86, point_face());
    const struct luxfall_cover soft = film(20, 0);
    struct bench b = lamp(point_face(), &sheet);
    b.fields[0].width_mm = b.fields[0].height_mm = 180;
    struct luxfall_result *result = trace_under(&b, &soft, 1, 1 << 20, LUXFALL_VECTORS_BEST);
    struct luxfall_estimate got = result->planes[0].fields[0].utilisation;
    double angle = atan(90.0 / 500), want = share_within(22.3771096, angle);
    print_message("share %.5f +- %.5f, want %.5f\n", got.value, got.u95, want);
    assert_true(fabs(got.value - want) < 2 * got.u95);
    assert_true(fabs(got.value - share_within(20, angle)) > 10 * got.u95);
    assert_true(fabs(got.value - share_within(30, angle)) > 10 * got.u95);
    luxfall_result_free(result);
}

/* One module by itself: the sheet's loss, the plate's and what leaves make up its flux; the axis loses what a plate
 * takes at 0 deg. */
static void a_covered_module_is_inspected(void **state) {
    (void)state;
    const struct luxfall_lens sheet = beam_lens(10, 0, 0, 0.86, disc_face(20));
    const struct luxfall_cover cover = pane(2);
    struct bench b = lamp(oblong_face(0.4, 0.4), &sheet);
    struct luxfall_options options = bench_rays(1 << 20, 3);
    struct luxfall_inspection bare, under_it;
    struct luxfall_scene scene = bench_scene(&b);
    assert_int_equal(luxfall_inspect(&scene, 0, &options, &bare, NULL), LUXFALL_OK);
    scene.covers = &cover;
    scene.cover_count = 1;
    b.modules[0].cover_count = 1;
    assert_int_equal(luxfall_inspect(&scene, 0, &options, &under_it, NULL), LUXFALL_OK);
    assert_true(bare.rays_traced == 0 && under_it.rays_traced > 0);
    assert_true(fabs(under_it.loss_lm[LUXFALL_LOSS_DATASHEET].value - 14) < 1e-9);
    assert_true(fabs(under_it.efficiency.value - 0.86 * plates[0][1]) < 1e-3);
    double sum = under_it.leaving_lm.value;
    for (int i = 0; i < LUXFALL_LOSS_COUNT; i++)
        sum += under_it.loss_lm[i].value;
    assert_true(fabs(sum - 100) < 1e-9);
    assert_true(fabs(under_it.centre_cd.value / bare.centre_cd.value - plates[0][1]) <
                2 * under_it.centre_cd.u95 / bare.centre_cd.value);
}

/* Over a solid, with all kinds at once: the ledger closes, every vector width gives the same bits, each loss is told.
 */
static void covers_stand_over_solids(void **state) {
    (void)state;
    struct luxfall_cover all[] = {pane(0.5), film(10, 0), {.name = "ring", .kind = LUXFALL_COVER_STOP}, pane(1)};
    all[0].diameter_mm = 21;
    all[1].diameter_mm = 24;
    all[2].diameter_mm = 40;
    all[2].hole_mm = 18;
    all[2].thickness_mm = 2;
    all[3].diameter_mm = 60;
    all[3].spread_rad = 5 * DEG;
    struct bench b = lamp(oblong_face(1.2, 1.2), &cup);
    struct luxfall_result *best = trace_under(&b, all, 4, 1 << 17, LUXFALL_VECTORS_BEST);
    struct luxfall_result *plain = trace_under(&b, all, 4, 1 << 17, LUXFALL_VECTORS_PLAIN);
    struct luxfall_ledger p = best->planes[0].ledger, q = plain->planes[0].ledger;
    assert_true(p.on_map_quanta == q.on_map_quanta && p.absorbed_quanta == q.absorbed_quanta);
    assert_true(p.loss_lm[LUXFALL_LOSS_STOP].value > 1 && p.loss_lm[LUXFALL_LOSS_COVER].value > 1);
    luxfall_result_free(best);
    luxfall_result_free(plain);
}

/* Sheets upon each other, light sent to and fro between them: t1 t2 / (1 - r1 r2) (G. G. Stokes, "On the intensity of
 * the light reflected from or transmitted through a pile of plates", Proc. R. Soc. 11, 1862, from memory). Twin: none
 * sent to and fro. */
static void sheets_that_touch_are_a_pile(void **state) {
    (void)state;
    struct luxfall_cover opal = film(0, 0), soft = film(20, 0), clear = film(20, 0);
    opal.kind = LUXFALL_COVER_OPAL;
    opal.passes = 0.5;
    opal.comes_back = 0.4;
    soft.passes = clear.passes = 0.8;
    soft.comes_back = 0.15;
    clear.comes_back = 0.2; /* nothing is lost */
    const struct luxfall_cover pairs[][2] = {{soft, opal}, {opal, soft}, {opal, opal}, {clear, clear}};
    for (int i = 0; i < 4; i++) {
        const struct luxfall_cover *p = pairs[i];
        struct optic optic = under(p, 2);
        double through = p[0].passes * p[1].passes, got = beam_through(&optic, 0, RAYS).passes;
        double pile = through / (1 - p[0].comes_back * p[1].comes_back);
        assert_true(fabs(got - pile) < four_se(pile, RAYS));
        assert_true(fabs(got - through) > four_se(pile, RAYS));
    }
}

/* A diffuser upon a flat face does what it does a tenth of a millimetre over it (no source:
 * definition). Twin: none there. */
static void a_diffuser_may_lie_on_a_face(void **state) {
    (void)state;
    struct luxfall_cover milk = {
        .name = "milk", .kind = LUXFALL_COVER_OPAL, .diameter_mm = 30, .passes = 0.5, .comes_back = 0.3};
    struct luxfall_result *on, *over, *bare;
    struct bench b = lamp(oblong_face(1.2, 1.2), &cup);
    bench_round_field(&b, 200);
    on = trace_under(&b, &milk, 1, 1 << 20, LUXFALL_VECTORS_BEST);
    milk.gap_mm = 0.1;
    over = trace_under(&b, &milk, 1, 1 << 20, LUXFALL_VECTORS_BEST);
    bare = trace_under(&b, NULL, 0, 1 << 20, LUXFALL_VECTORS_BEST);
    struct luxfall_estimate lux = over->planes[0].fields[1].average_lx;
    double u95_lm = over->planes[0].ledger.absorbed_lm.u95;
    assert_true(lux.u95 < 0.3 * lux.value);
    assert_true(fabs(on->leaving_lm - over->leaving_lm) < 3 * u95_lm);
    assert_true(fabs(on->planes[0].fields[1].average_lx.value - lux.value) < 3 * lux.u95);
    assert_true(bare->leaving_lm - over->leaving_lm > 10);
    assert_true(bare->planes[0].fields[1].average_lx.value > 3 * lux.value);
    luxfall_result_free(on);
    luxfall_result_free(over);
    luxfall_result_free(bare);
}

/* Modules of one lens, one of them covered: each has its own light, and the sum is theirs. */
static void two_modules_may_differ_in_covers(void **state) {
    (void)state;
    const struct luxfall_cover covers[] = {film(20, 1)};
    struct bench b = lamp(oblong_face(1.2, 1.2), &cup);
    struct luxfall_result *soft = trace_under(&b, covers, 1, 1 << 16, LUXFALL_VECTORS_BEST);
    bench_pose(&b, pose_down(0, 0, 500), 0, 0); /* without one */
    struct luxfall_result *both = trace_under(&b, covers, 1, 1 << 16, LUXFALL_VECTORS_BEST);
    b.modules[0].dark = true;
    struct luxfall_result *clear = trace_under(&b, covers, 1, 1 << 16, LUXFALL_VECTORS_BEST);
    double s = soft->planes[0].centre_lx.value, c = clear->planes[0].centre_lx.value;
    struct luxfall_estimate sum = both->planes[0].centre_lx;
    assert_true(c > 2 * s);
    assert_true(fabs(sum.value - s - c) < 4 * sum.u95);
    luxfall_result_free(soft);
    luxfall_result_free(both);
    luxfall_result_free(clear);
}

/* ---- oblong covers ----
 * What a small cosine source under the middle of a rectangle a x b at height c sends into it: four times the factor
 * of a corner, (1/2 pi) (A/sqrt(1+A^2) atan(B/sqrt(1+A^2)) + B/sqrt(1+B^2) atan(A/sqrt(1+B^2))), A = a/2c, B = b/2c
 * (J. R. Howell, "A Catalog of Radiation Heat Transfer Configuration Factors", 2nd ed., 2001, section B, from
 * memory); here 20 x 8 mm at 5 mm. */
static const double into_rectangle = 0.59383327840739, into_disc_of_its_area = 0.6707475609527467; /* r^2/(r^2+c^2) */

static double absorbed_of_cosine(const struct optic *optic) {
    int absorbed = 0;
    for (int i = 0; i < RAYS; i++) {
        struct pcg32 random = pcg32_seed((uint64_t)i, 9);
        double sine2 = pcg32_double(&random), turn = 2 * PI * pcg32_double(&random);
        const double at[3] = {0, 0, 0},
                     direction[3] = {sqrt(sine2) * cos(turn), sqrt(sine2) * sin(turn), sqrt(1 - sine2)};
        struct optic_outcome end;
        optic_trace(optic, at, direction, &random, &end);
        assert_true(end.fate == OPTIC_ABSORBED || end.fate == OPTIC_EXIT);
        absorbed += end.fate == OPTIC_ABSORBED && end.loss == LUXFALL_LOSS_COVER;
    }
    return (double)absorbed / RAYS;
}

static void an_oblong_cover_takes_its_configuration_factor(void **state) {
    (void)state;
    struct luxfall_cover black = {.kind = LUXFALL_COVER_OPAL, .width_mm = 20, .height_mm = 8, .gap_mm = 5};
    struct optic optic = under(&black, 1);
    double got = absorbed_of_cosine(&optic);
    assert_true(fabs(got - into_rectangle) < four_se(got, RAYS));
    assert_true(fabs(got - into_disc_of_its_area) > four_se(got, RAYS)); /* twin: a round one of the same area */
    black = (struct luxfall_cover){.kind = LUXFALL_COVER_OPAL, .diameter_mm = 2 * sqrt(160 / PI), .gap_mm = 5};
    optic = under(&black, 1);
    got = absorbed_of_cosine(&optic);
    assert_true(fabs(got - into_disc_of_its_area) < four_se(got, RAYS));
}

/* Its edge ends what comes there; beside it light goes on as if there were none. */
static void an_oblong_window_has_four_edges(void **state) {
    (void)state;
    struct luxfall_cover cover = pane(0.5);
    cover.diameter_mm = 0;
    cover.width_mm = 6;
    cover.height_mm = 4;
    struct optic optic = under(&cover, 1);
    const double up[3] = {0, 0, 1};
    static const struct {
        double x, y;
        bool meets;
    } starts[] = {{2.9, 1.9, true}, {3.1, 0, false}, {0, 2.1, false}, {-2.9, -1.9, true}, {-3.1, -2.1, false}};
    for (size_t i = 0; i < sizeof starts / sizeof *starts; i++) {
        const double at[3] = {starts[i].x, starts[i].y, 0};
        struct pcg32 random = stream_that_passes();
        struct optic_outcome end;
        optic_trace(&optic, at, up, &random, &end);
        assert_int_equal(end.segments, starts[i].meets ? 3 : 1);
    }
    for (int turn = 0; turn < 4; turn++) { /* from the middle, aslant, into an edge */
        const double at[3] = {0, 0, 0}, slant[3] = {0.9 * cos(turn * PI / 2), 0.9 * sin(turn * PI / 2), sqrt(0.19)};
        struct shares s = {0};
        for (int i = 0; i < 1000; i++) {
            struct pcg32 random = pcg32_seed((uint64_t)i, 3);
            struct optic_outcome end;
            optic_trace(&optic, at, slant, &random, &end);
            s.absorbed[LUXFALL_LOSS_COVER] += end.fate == OPTIC_ABSORBED && end.loss == LUXFALL_LOSS_COVER;
        }
        assert_true(s.absorbed[LUXFALL_LOSS_COVER] > 600);
    }
}

/* ---- mistakes ---- */

static void mistakes_are_told(void **state) {
    (void)state;
    struct luxfall_cover good = film(20, 1), bad;
    struct luxfall_error error;
    assert_int_equal(luxfall_cover_check(&good, &error), LUXFALL_OK);
    bad = good;
    bad.comes_back = 0.2;
    assert_int_equal(luxfall_cover_check(&bad, &error), LUXFALL_E_VALUE);
    assert_non_null(strstr(error.text, "no more together"));
    bad = good;
    bad.gap_mm = -1;
    assert_int_equal(luxfall_cover_check(&bad, &error), LUXFALL_E_VALUE);
    bad = pane(1);
    bad.thickness_mm = 0;
    assert_int_equal(luxfall_cover_check(&bad, &error), LUXFALL_E_VALUE);
    bad = (struct luxfall_cover){.kind = LUXFALL_COVER_STOP, .diameter_mm = 10, .hole_mm = 10};
    assert_int_equal(luxfall_cover_check(&bad, &error), LUXFALL_E_VALUE);
    assert_non_null(strstr(error.text, "does not leave a ring"));
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(a_window_takes_what_a_plate_takes),
        cmocka_unit_test(a_tinted_window_absorbs),
        cmocka_unit_test(films_add_in_quadrature),
        cmocka_unit_test(films_share_what_comes_back),
        cmocka_unit_test(an_opal_has_a_cosine_law),
        cmocka_unit_test(a_stop_passes_the_exchange_factor),
        cmocka_unit_test(a_tube_absorbs_inside),
        cmocka_unit_test(a_sheet_beam_goes_through_a_window),
        cmocka_unit_test(a_film_widens_a_bell),
        cmocka_unit_test(a_covered_module_is_inspected),
        cmocka_unit_test(covers_stand_over_solids),
        cmocka_unit_test(sheets_that_touch_are_a_pile),
        cmocka_unit_test(a_diffuser_may_lie_on_a_face),
        cmocka_unit_test(two_modules_may_differ_in_covers),
        cmocka_unit_test(an_oblong_cover_takes_its_configuration_factor),
        cmocka_unit_test(an_oblong_window_has_four_edges),
        cmocka_unit_test(mistakes_are_told),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
