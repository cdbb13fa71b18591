/* LEDs as built: dies in resin under a dome or in a cup, against closed forms and published values.
 *
 * Sources. Normal incidence R = ((n-1)/(n+1))^2, the sphere's aplanatic points (its centre, and R/n from it) and the
 * sine condition: M. Born and E. Wolf, "Principles of Optics", 7th ed. 1999, sec. 1.5, 4.2.3, 4.5.1. Lambertian light
 * at a flat face: J. W. T. Walsh, Dept. Sci. Ind. Res. Illum. Res. Tech. Paper 2, 1926, and S. Q. Duntley, J. Opt.
 * Soc. Am. 32, 61 (1942), in closed form from memory. A white ground under clear resin: J. L. Saunderson, J. Opt.
 * Soc. Am. 32, 727 (1942), from memory. The share of a flat LED that escapes, about 1/n^2 of a Lambertian light: E.
 * F. Schubert, "Light-Emitting Diodes", ch. 5, from memory. Radiance over n^2 is kept: W. T. Welford and R. Winston,
 * "High Collection Nonimaging Optics", 1989, from memory. */
#include "lenses/package.h"
#include "statistics/workbench.h"
#include "tracing/assembly.h"

static struct luxfall_emitter led(struct luxfall_face die, struct luxfall_package package, double index) {
    struct luxfall_emitter e = cosine_emitter(die, 100, 1.0);
    e.package = package;
    e.package.material = (struct luxfall_material){.kind = LUXFALL_MATERIAL_INDEX, .index = index};
    return e;
}

static struct luxfall_package half_ball(double diameter_mm) {
    return (struct luxfall_package){.dome_mm = diameter_mm, .dome_height_mm = diameter_mm / 2};
}

static struct luxfall_package flat_cup(double opening_mm, double depth_mm) {
    return (struct luxfall_package){.floor_mm = opening_mm, .opening_mm = opening_mm, .depth_mm = depth_mm};
}

static const struct luxfall_lens collimator = {
    .name = "collimator",
    .kind = LUXFALL_LENS_COLLIMATOR,
    .material = {.index = 1.49},
    .collimator = {.diameter_mm = 20, .height_mm = 11, .hollow_mm = 6, .middle_mm = 4}};

static void make(const struct luxfall_emitter *e, struct optic *out) {
    struct luxfall_error error = {0};
    if (luxfall_package_check(e, &error) != LUXFALL_OK ||
        package_optic(&e->package, e->wavelength_um, out, &error) != LUXFALL_OK)
        fail_msg("%s", error.text);
}

/* ---- single rays ---- */

/* The ray that leaves at the first surface it meets, when chance lets it. */
static struct path refracted(const struct optic *optic, const double at[3], const double direction[3]) {
    for (uint64_t i = 0; i < 200; i++) {
        struct pcg32 random = pcg32_seed(i, 6);
        struct optic_outcome out;
        optic_trace(optic, at, direction, &random, &out);
        if (out.fate == OPTIC_EXIT && out.segments == 2)
            return out.end;
    }
    return (struct path){.direction = {NAN, NAN, NAN}};
}

/* Born and Wolf 1999, sec. 4.2.3: n 1.5, R 10: light from 10/1.5 behind the centre leaves as if from 15 behind it, at
 * sin u' = sin u / n. u and u', deg. */
static const double aplanatic[3][2] = {{10, 6.64777709283}, {30, 19.4712206345}, {50, 30.7102207661}};

/* A dome that stands on a collar as high as its point lies behind the centre. */
static int wrong_aplanatic(double die_mm) {
    static struct optic optic;
    struct luxfall_package dome = {.dome_mm = 20, .dome_height_mm = 10 + 10 / 1.5, .die_height_mm = die_mm};
    struct luxfall_emitter e = led(point_face(), dome, 1.5);
    int wrong = 0;
    make(&e, &optic);
    assert_true(package_die_mm(&e) == die_mm);
    for (int i = 0; i < 3; i++) {
        const double u = aplanatic[i][0] * DEG, at[3] = {0, 0, die_mm}, direction[3] = {sin(u), 0, cos(u)};
        struct path out = refracted(&optic, at, direction);
        const double *d = out.direction, image = out.at_mm[2] - out.at_mm[0] * d[2] / d[0];
        wrong += !(fabs(atan2(d[0], d[2]) / DEG - aplanatic[i][1]) < 1e-9 && fabs(image - (10 / 1.5 - 15)) < 1e-9);
    }
    return wrong;
}

static void a_die_at_the_aplanatic_point_has_a_sharp_image(void **state) {
    (void)state;
    assert_int_equal(wrong_aplanatic(0), 0);
    assert_int_equal(wrong_aplanatic(0.01), 3);
}

/* A die beside the centre of a half ball looks n times as far beside it, from every side (sine condition, n s sin u =
 * n' s' sin u' with u' = u). s = 1e-4 of the radius. */
static int wrong_magnification(double centre_mm) {
    static struct optic optic;
    static const double indices[] = {1.41, 1.5, 1.54};
    int wrong = 0;
    for (int i = 0; i < 3; i++) {
        struct luxfall_package dome = half_ball(6);
        dome.dome_height_mm += centre_mm;
        struct luxfall_emitter e = led(disc_face(0.1), dome, indices[i]);
        make(&e, &optic);
        for (int k = 0; k < 4; k++) {
            const double u = (1 + 20 * k) * DEG, s = 3e-4, at[3] = {s, 0, 0}, direction[3] = {sin(u), 0, cos(u)};
            struct path out = refracted(&optic, at, direction);
            const double seen = out.at_mm[0] - out.at_mm[2] * out.direction[0] / out.direction[2];
            wrong += !(fabs(seen / s / indices[i] - 1) < 2e-3);
        }
    }
    return wrong;
}

static void a_die_looks_n_times_larger(void **state) {
    (void)state;
    assert_int_equal(wrong_magnification(0), 0);
    assert_int_equal(wrong_magnification(0.1), 12); /* twin: the dome's centre over the die */
}

/* ---- shares ---- */

/* Of a Lambertian light from the middle of the die, what comes out; and the farthest that a ray which does has
 * turned. */
static double share_out(const struct luxfall_emitter *e, int rays, double *turned) {
    static struct optic optic;
    const double at[3] = {0, 0, package_die_mm(e)};
    int through = 0;
    make(e, &optic);
    *turned = 0;
    for (int i = 0; i < rays; i++) {
        struct pcg32 random = pcg32_seed((uint64_t)i, 31);
        const double u = 0x1p-32 * pcg32_next(&random), around = 0x1p-32 * pcg32_next(&random) * 2 * BENCH_PI;
        const double sine = sqrt(u), direction[3] = {sine * cos(around), sine * sin(around), sqrt(1 - u)};
        struct optic_outcome out;
        optic_trace(&optic, at, direction, &random, &out);
        assert_true(out.fate == OPTIC_EXIT || out.loss == LUXFALL_LOSS_SOURCE || out.loss == LUXFALL_LOSS_RETURNED);
        if (out.fate != OPTIC_EXIT)
            continue;
        through++;
        for (int k = 0; k < 3; k++)
            *turned = fmax(*turned, fabs(out.end.direction[k] - direction[k]));
    }
    return (double)through / rays;
}

static double errors_off(double seen, double expected, int rays) {
    return fabs(seen - expected) / sqrt(expected * (1 - expected) / rays);
}

/* Born and Wolf 1999, sec. 1.5: R of normal incidence; last: the amplitude, a slip. */
static const double centred[][3] = {
    {1.41, 0.0289423391471, 0.170124481328}, {1.5, 0.04, 0.2}, {1.54, 0.0451980903962, 0.212598425197}};

static void light_of_the_centre_meets_the_dome_straight_on(void **state) {
    (void)state;
    enum { RAYS = 100 * 1000 };
    double turned;
    for (int i = 0; i < 3; i++) {
        struct luxfall_emitter e = led(point_face(), half_ball(5), centred[i][0]);
        const double share = share_out(&e, RAYS, &turned);
        assert_true(errors_off(share, 1 - centred[i][1], RAYS) < 4 && turned < 1e-12);
        assert_true(errors_off(share, 1 - centred[i][2], RAYS) > 4);
        e.package.dome_height_mm = 2; /* twin: not a half ball; the light turns */
        (void)share_out(&e, 1000, &turned);
        assert_true(turned > 0.01);
    }
}

/* Walsh 1926: the share 1 - r_i of a Lambertian light inside leaves through one flat face; over black ground no more.
 * Over white ground r of what came back starts again: e / (1 - r (1 - e)), Saunderson 1942. Twins: 1/n^2, the share
 * within the critical angle without reflection; a ground that sends back once. */
static void a_flat_top_lets_out_what_walsh_says(void **state) {
    (void)state;
    enum { RAYS = 60 * 1000 };
    static const double rows[][2] = {{1.41, 0.536409376607}, {1.5, 0.596345759708}}, grounds[] = {0, 0.5, 0.9, 0.98};
    double turned;
    for (int i = 0; i < 2; i++)
        for (int k = 0; k < 4; k++) {
            struct luxfall_emitter e = led(point_face(), flat_cup(200, 0.02), rows[i][0]);
            e.package.bottom = grounds[k];
            const double back = rows[i][1], out = 1 - back, share = share_out(&e, RAYS, &turned);
            assert_true(errors_off(share, out / (1 - grounds[k] * back), RAYS) < 4);
            assert_true(errors_off(share, 1 / (rows[i][0] * rows[i][0]), RAYS) > 4);
            if (k > 0)
                assert_true(errors_off(share, out + grounds[k] * back * out, RAYS) > 4);
        }
}

/* Nothing is absorbed in a cup that is white or a perfect mirror, on ground that is white: all comes out in the end
 * (energy). Twin: a wall of 95 %. */
static void a_perfect_cup_lets_out_all(void **state) {
    (void)state;
    enum { RAYS = 20 * 1000 };
    double turned;
    for (int i = 0; i < 4; i++) {
        struct luxfall_package cup = {.floor_mm = 2, .opening_mm = i < 2 ? 2 : 3, .depth_mm = 1, .bottom = 1};
        cup.wall = 1;
        cup.wall_mirror = i % 2;
        struct luxfall_emitter e = led(disc_face(1), cup, 1.5);
        assert_true(share_out(&e, RAYS, &turned) == 1);
        e.package.wall = 0.95;
        assert_true(share_out(&e, RAYS, &turned) < 0.99);
    }
}

/* ---- whole modules ---- */

static struct luxfall_inspection inspect(struct luxfall_emitter emitter, const struct luxfall_lens *lens,
                                         struct luxfall_assembly built, uint64_t rays) {
    struct bench b = {0};
    struct luxfall_options options = bench_rays(rays, 9);
    struct luxfall_inspection out;
    struct luxfall_error error;
    bench_map(&b, 10, 10, 1);
    bench_pose(&b, pose_down(0, 0, 200), bench_emitter(&b, emitter), lens ? bench_lens(&b, *lens) : LUXFALL_NO_LENS)
        ->built = built;
    struct luxfall_scene scene = bench_scene(&b);
    if (luxfall_inspect(&scene, 0, &options, &out, &error) != LUXFALL_OK)
        fail_msg("%s", error.text);
    return out;
}

static const struct luxfall_assembly as_drawn = {0};

/* Share of the flux within 20 deg of the axis. */
static double share_within_20(const struct luxfall_inspection *light) {
    double lumens = 0;
    for (int k = 0; k < 80; k++)
        lumens += light->cd[k].value * 2 * BENCH_PI * (cos(k * DEG / 4) - cos((k + 1) * DEG / 4));
    return lumens / light->flux_lm;
}

/* The flux is what leaves the bare LED. A small die in the middle of a half ball is Lambertian outside: sin^2 a
 * within a. A flat top makes it (1 - R) / (1 - r_e) sin^2 a, with R of 20 deg still that of 0 to 2e-4, and r_e
 * Walsh's of light from outside, since radiance over n^2 is kept. Twins: the one for the other; the flux taken for
 * that of the dies. */
static void the_flux_is_that_of_the_bare_led(void **state) {
    (void)state;
    enum { RAYS = 1 << 18 };
    const double lambertian = pow(sin(20 * DEG), 2), through = 0.96 / (1 - 0.0917779593424) * lambertian;
    struct luxfall_inspection domed = inspect(led(disc_face(0.02), half_ball(5), 1.5), NULL, as_drawn, RAYS),
                              flat = inspect(led(disc_face(0.02), flat_cup(50, 0.02), 1.5), NULL, as_drawn, RAYS);
    assert_true(domed.efficiency.value == 1 && flat.efficiency.value == 1 && flat.rays_out == flat.rays_traced);
    assert_true(fabs(domed.leaving_lm.value - 100) < 1e-9 && fabs(flat.leaving_lm.value - 100) < 1e-9);
    const double of_domed = share_within_20(&domed), of_flat = share_within_20(&flat);
    assert_true(errors_off(of_domed, lambertian, RAYS) < 4 && errors_off(of_flat, through, RAYS) < 4);
    assert_true(errors_off(of_domed, through, RAYS) > 4 && errors_off(of_flat, lambertian, RAYS) > 4);
    assert_true(errors_off(of_flat, 0.403654240291 * through, RAYS) > 4);
}

/* Focus 20 mm before the curved side: K = -n^2, R = (n - 1) f. */
static const struct luxfall_lens hyperbolic = {
    .name = "plano-hyperbolic",
    .kind = LUXFALL_LENS_SINGLET,
    .material = {.index = 1.49},
    .singlet = {.diameter_mm = 25, .thickness_mm = 9, .gap_mm = 20, .towards = {.radius_mm = 9.8, .conic = -2.2201}}};

static double bands_apart(struct luxfall_estimate a, struct luxfall_estimate b) {
    return fabs(a.value - b.value) / hypot(a.u95, b.u95);
}

/* A die 0.2 mm off the axis of its dome steers the beam as a bare one does that is 1.5 times as far off (the image
 * of the sine condition); a whole LED aside, as a bare die as far aside. Twins: the one for the other. */
static void a_die_aside_in_its_dome_steers_n_times_as_much(void **state) {
    (void)state;
    const uint64_t rays = 1 << 18;
    struct luxfall_package dome = half_ball(12);
    struct luxfall_emitter centred_led = led(disc_face(0.3), dome, 1.5),
                           bare = cosine_emitter(disc_face(0.45), 100, 1);
    dome.die_x_mm = 0.2;
    struct luxfall_inspection off = inspect(led(disc_face(0.3), dome, 1.5), &hyperbolic, as_drawn, rays),
                              moved =
                                  inspect(centred_led, &hyperbolic, (struct luxfall_assembly){.die_x_mm = 0.2}, rays),
                              bare_off = inspect(bare, &hyperbolic, (struct luxfall_assembly){.die_x_mm = 0.3}, rays),
                              bare_moved =
                                  inspect(bare, &hyperbolic, (struct luxfall_assembly){.die_x_mm = 0.2}, rays);
    print_message("lean %.5f %.5f, %.5f %.5f rad +- %.5f\n", off.lean_x_rad.value, bare_off.lean_x_rad.value,
                  moved.lean_x_rad.value, bare_moved.lean_x_rad.value, off.lean_x_rad.u95);
    assert_true(bands_apart(off.lean_x_rad, bare_off.lean_x_rad) < 2);
    assert_true(bands_apart(moved.lean_x_rad, bare_moved.lean_x_rad) < 2);
    assert_true(bands_apart(off.lean_x_rad, bare_moved.lean_x_rad) > 4);
    assert_true(fabs(off.lean_y_rad.value) < 1e-12); /* its mirror image is cast, too */
}

/* Through a face of area A an LED under a dome sends at most F A / (pi n^2 A_die) in any direction, what is lost at
 * the dome made good by its flux (flashed aperture, Winston, Minano and Benitez, "Nonimaging Optics", 2005, from
 * memory). Twin: bare dies, whose bound has no n^2, exceed it behind the same collimator. */
static void no_ring_is_brighter_than_a_flashed_face(void **state) {
    (void)state;
    struct luxfall_emitter pair = led(oblong_face(1, 1), half_ball(5), 1.5), bare = pair;
    pair.columns = bare.columns = 2;
    pair.pitch_x_mm = bare.pitch_x_mm = 1.1;
    bare.package = (struct luxfall_package){0};
    const double bound = 100 * 10 * 10 / (1.5 * 1.5 * 2), bare_bound = 1.5 * 1.5 * bound;
    double most[2] = {0, 0};
    for (int i = 0; i < 2; i++) {
        struct luxfall_inspection light = inspect(i ? bare : pair, &collimator, as_drawn, 1 << 18);
        double told =
            100 * light.bound_cd_per_lm / (i ? bare_bound : bound); /* what the dome sends back does not count */
        assert_true(i ? told > 1 - 1e-12 && told < 1 + 1e-12 : told > 1.03 && told < 1.08);
        assert_true(light.package_index == (i ? 0 : 1.5) && (light.bound_domed_cd_per_lm > 0) == i);
        for (int k = 0; k < 80; k++)
            most[i] = fmax(most[i], light.cd[k].value - light.cd[k].u95);
    }
    print_message("brightest ring %.0f of %.0f cd, bare %.0f of %.0f cd\n", most[0], bound, most[1], bare_bound);
    assert_true(most[0] < bound && most[0] > 0.5 * bound);
    assert_true(most[1] > bound && most[1] < bare_bound);
}

/* Lambertian light about an axis that leans by a, under a half ball. Of all of it the sum of directions is 2 pi / 3
 * along the axis; what goes down, between the floor and the die, is lost: 2 a^2 / 3 along the floor. So the light
 * leans by a - a^2 / pi, within a^3 (derived). Twins: that not counted; the lean the other way. */
static void a_leaning_die_leans_its_light(void **state) {
    (void)state;
    const double lean = 6 * DEG, azimuth = 30 * DEG, slack = pow(lean, 3);
    struct luxfall_package dome = half_ball(12);
    dome.die_lean_rad = lean;
    dome.die_lean_azimuth_rad = azimuth;
    struct luxfall_inspection light = inspect(led(disc_face(0.2), dome, 1.5), NULL, as_drawn, 1 << 19);
    const double x = light.lean_x_rad.value, y = light.lean_y_rad.value, band = light.lean_x_rad.u95;
    const double along = x * cos(azimuth) + y * sin(azimuth), across = y * cos(azimuth) - x * sin(azimuth);
    print_message("leans by %.5f, aside %.5f, +- %.5f rad\n", along, across, band);
    assert_true(fabs(along - (lean - lean * lean / BENCH_PI)) < slack + 2 * band);
    assert_true(fabs(across) < 2 * band);
    assert_true(fabs(along - lean) > slack + 2 * band);
    assert_true(fabs(x * cos(azimuth) - y * sin(azimuth) - along) > slack + 2 * band);
}

/* The lowest point of a leaning die stays where it is said to be. */
static void leaning_dies_stand_on_their_lowest_point(void **state) {
    (void)state;
    struct luxfall_package dome = half_ball(12);
    dome.die_height_mm = 0.1;
    dome.die_lean_rad = 10 * DEG;
    struct luxfall_emitter pair = led(oblong_face(2, 1), dome, 1.5);
    pair.columns = 2;
    pair.pitch_x_mm = 2.2;
    assert_true(fabs(package_die_mm(&pair) - 0.1 - 2.1 * sin(10 * DEG)) < 1e-12);
    pair.package.die_lean_azimuth_rad = 90 * DEG;
    assert_true(fabs(package_die_mm(&pair) - 0.1 - 0.5 * sin(10 * DEG)) < 1e-12);
}

/* ---- symmetry, bits ---- */

static void images_that_a_package_leaves(void **state) {
    (void)state;
    static const struct {
        struct luxfall_package package;
        int all, images;
    } rows[] = {
        {{.dome_mm = 5}, 8, 8},
        {{.dome_mm = 5, .die_height_mm = 1}, 8, 8},
        {{.dome_mm = 5, .die_x_mm = 0.1}, 8, 2},
        {{.dome_mm = 5, .die_x_mm = 0.1, .die_y_mm = 0.1}, 8, 2},
        {{.dome_mm = 5, .die_x_mm = 0.1, .die_y_mm = 0.1}, 4, 1},
        {{.depth_mm = 5, .die_lean_rad = 0.1, .die_lean_azimuth_rad = 90 * DEG}, 8, 2},
        {{.depth_mm = 5, .die_lean_rad = 0.1, .die_lean_azimuth_rad = 1}, 8, 1},
        {{.die_x_mm = 0.1}, 8, 8}, /* no package */
    };
    for (size_t i = 0; i < sizeof rows / sizeof *rows; i++)
        assert_int_equal(assembly_images(&as_drawn, &rows[i].package, rows[i].all).count, rows[i].images);
    const struct luxfall_assembly aside = {.die_y_mm = 0.1};
    assert_int_equal(assembly_images(&aside, &rows[2].package, 8).count, 1);
}

/* A white cup under a dome, its die aside, behind a lens: much goes on alone. */
static struct luxfall_result *traced(enum luxfall_vectors vectors, int threads, double die_x_mm, uint64_t rays) {
    struct bench b = {0};
    struct luxfall_package cup = {.dome_mm = 6,
                                  .dome_height_mm = 3,
                                  .floor_mm = 3,
                                  .opening_mm = 5,
                                  .depth_mm = 0.8,
                                  .wall = 0.9,
                                  .bottom = 0.5,
                                  .die_x_mm = die_x_mm};
    struct luxfall_emitter e = led(oblong_face(0.8, 0.8), cup, 1.53);
    e.columns = 2;
    e.pitch_x_mm = 1;
    e.package.material.transmittance = 0.9;
    e.package.material.transmittance_mm = 5;
    bench_map(&b, 120, 120, 4);
    bench_pose(&b, pose_down(0, 0, 200), bench_emitter(&b, e), bench_lens(&b, hyperbolic));
    bench_round_field(&b, 10);
    struct luxfall_options options = bench_rays(rays, 3);
    options.vectors = vectors;
    options.threads = threads;
    return bench_trace(&b, &options);
}

static bool same_map(const struct luxfall_result *a, const struct luxfall_result *b) {
    const struct luxfall_plane_result *p = &a->planes[0], *q = &b->planes[0];
    return memcmp(p->e_lx, q->e_lx, (size_t)p->columns * (size_t)p->rows * sizeof *p->e_lx) == 0 &&
           p->ledger.on_map_quanta == q->ledger.on_map_quanta;
}

/* Same bits whatever the vectors and threads; the ledger closes in whole quanta, and all that is emitted left the
 * package. Twin: a die elsewhere. (Definition.) */
static void bits_and_ledger(void **state) {
    (void)state;
    const uint64_t rays = 40000;
    struct luxfall_result *a = traced(LUXFALL_VECTORS_PLAIN, 1, 0.1, rays),
                          *b = traced(LUXFALL_VECTORS_BEST, 3, 0.1, rays),
                          *twin = traced(LUXFALL_VECTORS_PLAIN, 1, 0.11, rays);
    const struct luxfall_ledger *l = &a->planes[0].ledger;
    assert_true(same_map(a, b) && !same_map(a, twin));
    assert_true(l->emitted_quanta == l->on_map_quanta + l->off_map_quanta + l->absorbed_quanta + l->abandoned_quanta);
    assert_true(fabs(l->emitted_lm.value - 100) < 1e-4 && l->abandoned_quanta == 0);
    assert_true(l->loss_lm[LUXFALL_LOSS_MATERIAL].value == 0); /* the lens is clear, the resin's loss is not told */
    luxfall_result_free(a);
    luxfall_result_free(b);
    luxfall_result_free(twin);
}

/* ---- room ---- */

static bool fits(struct luxfall_emitter e, const struct luxfall_lens *lens, struct luxfall_assembly built) {
    return luxfall_assembly_check(&e, lens, &built, NULL) == LUXFALL_OK;
}

/* A package that reaches into the lens, its holder or the wall of a collimator is refused (definition). */
static void a_package_must_have_room(void **state) {
    (void)state;
    struct luxfall_lens low = hyperbolic, small = hyperbolic;
    low.singlet.gap_mm = 2.99;
    small.singlet.diameter_mm = 4;
    small.singlet.gap_mm = 2;
    small.singlet.thickness_mm = 3;
    const struct luxfall_emitter ball = led(point_face(), half_ball(6), 1.5);
    assert_true(fits(ball, &hyperbolic, as_drawn));
    assert_true(!fits(ball, &low, as_drawn));
    assert_true(fits(ball, &low, (struct luxfall_assembly){.seat_mm = 0.02}));
    assert_true(!fits(ball, &low, (struct luxfall_assembly){.seat_mm = 0.005}));
    struct luxfall_emitter ring = led(point_face(), flat_cup(9, 2.5), 1.5); /* wider than the lens: into its holder */
    assert_true(!fits(ring, &small, as_drawn));
    ring.package.depth_mm = 1.9;
    assert_true(fits(ring, &small, as_drawn));
    assert_true(fits(led(point_face(), half_ball(5.9), 1.5), &collimator, as_drawn));
    assert_true(!fits(led(point_face(), half_ball(6.1), 1.5), &collimator, as_drawn));
    assert_true(
        !fits(led(point_face(), half_ball(5.9), 1.5), &collimator, (struct luxfall_assembly){.decentre_y_mm = 0.1}));
    assert_true(
        fits(led(point_face(), half_ball(5.9), 1.5), &collimator, (struct luxfall_assembly){.decentre_y_mm = 0.04}));
}

static const char *refused(struct luxfall_emitter e, struct luxfall_error *error) {
    *error = (struct luxfall_error){0};
    assert_int_equal(luxfall_package_check(&e, error), LUXFALL_E_VALUE);
    return error->text;
}

static void what_cannot_be_is_refused(void **state) {
    (void)state;
    struct luxfall_error error;
    struct luxfall_emitter e = led(disc_face(2), half_ball(5), 1.5);
    assert_int_equal(luxfall_package_check(&e, NULL), LUXFALL_OK);
    e.package.die_height_mm = 2.4;
    assert_non_null(strstr(refused(e, &error), "the dies reach 1 mm from the axis at a height of 2.4 mm"));
    e.package.die_height_mm = 0;
    e.package.die_x_mm = 1.51;
    assert_non_null(strstr(refused(e, &error), "where the package has room for 2.5 mm"));
    e.package.die_x_mm = 0;
    e.package.material.index = 0.9;
    (void)refused(e, &error);
    e.package.material.index = 1.5;
    e.package.opening_mm = e.package.floor_mm = 6;
    e.package.depth_mm = 1;
    assert_non_null(strstr(refused(e, &error), "does not cover a cup that is 6 mm wide"));
    e.package.floor_mm = 7;
    (void)refused(e, &error);
    e = led(point_face(), flat_cup(0.1, 3), 1.5); /* a black well */
    assert_non_null(strstr(refused(e, &error), "of the light of the dies comes out"));
    e.package.wall = 1.1;
    (void)refused(e, &error);
    e.package.wall = 0.9;
    e.package.die_lean_rad = 31 * DEG;
    (void)refused(e, &error);
    e.package.die_lean_rad = 0;
    e.intensity.viewing_angle_rad = 100 * DEG;
    assert_non_null(strstr(refused(e, &error), "the package makes the intensity"));
}

/* ---- no leaks ---- */

/* Domes and cups at random: every ray leaves or is absorbed; none is lost between patches. Twin: a wall that ends
 * below the rim. */
static int lost_rays(uint64_t number, int rays, double gap_share) {
    static struct optic optic;
    uint64_t s = number;
    double floor = 1 + 3 * bench_draw(&s), opening = floor * (bench_draw(&s) < 0.3 ? 1 : 1 + bench_draw(&s));
    bool has_cup = bench_draw(&s) < 0.7 || gap_share > 0, has_dome = !has_cup || bench_draw(&s) < 0.5;
    struct luxfall_package p = {.bottom = 0.5, .wall = bench_draw(&s) < 0.2 ? 0 : 0.9};
    p.wall_mirror = bench_draw(&s) < 0.5;
    if (has_cup) {
        p.floor_mm = floor;
        p.opening_mm = opening;
        p.depth_mm = 0.2 + 2 * bench_draw(&s);
    }
    if (has_dome) {
        p.dome_mm = opening * (bench_draw(&s) < 0.5 ? 1 : 1.3);
        p.dome_height_mm = p.depth_mm + p.dome_mm * (0.1 + bench_draw(&s));
    }
    struct luxfall_emitter e = led(disc_face(0.3 * floor), p, 1.3 + 0.5 * bench_draw(&s));
    make(&e, &optic);
    for (int i = 0; i < optic.patch_count; i++)
        if (optic.patches[i].z_high_mm < 1e9 && optic.patches[i].down == 1 && optic.patches[i].up == 2)
            optic.patches[i].z_high_mm -= gap_share * p.depth_mm;
    int lost = 0;
    for (int i = 0; i < rays; i++) {
        struct pcg32 random = pcg32_seed((uint64_t)i, number);
        const double turn = 2 * BENCH_PI * bench_draw(&s), r = 0.15 * floor * sqrt(bench_draw(&s));
        const double z = sqrt(bench_draw(&s)), around = 2 * BENCH_PI * bench_draw(&s), side = sqrt(1 - z * z);
        const double at[3] = {r * cos(turn), r * sin(turn), 0};
        const double direction[3] = {side * cos(around), side * sin(around), z};
        struct optic_outcome out;
        optic_trace(&optic, at, direction, &random, &out);
        lost += out.fate == OPTIC_LOST || out.fate == OPTIC_ABANDONED;
    }
    return lost;
}

static void no_ray_is_lost(void **state) {
    (void)state;
    int lost = 0, twin = 0;
    for (uint64_t number = 1; number <= 200; number++)
        lost += lost_rays(number, 2000, 0);
    for (uint64_t number = 1; number <= 5; number++)
        twin += lost_rays(number, 2000, 0.2);
    assert_int_equal(lost, 0);
    assert_true(twin > 100);
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(a_die_at_the_aplanatic_point_has_a_sharp_image),
        cmocka_unit_test(a_die_looks_n_times_larger),
        cmocka_unit_test(light_of_the_centre_meets_the_dome_straight_on),
        cmocka_unit_test(a_flat_top_lets_out_what_walsh_says),
        cmocka_unit_test(a_perfect_cup_lets_out_all),
        cmocka_unit_test(the_flux_is_that_of_the_bare_led),
        cmocka_unit_test(a_die_aside_in_its_dome_steers_n_times_as_much),
        cmocka_unit_test(no_ring_is_brighter_than_a_flashed_face),
        cmocka_unit_test(a_leaning_die_leans_its_light),
        cmocka_unit_test(leaning_dies_stand_on_their_lowest_point),
        cmocka_unit_test(images_that_a_package_leaves),
        cmocka_unit_test(bits_and_ledger),
        cmocka_unit_test(a_package_must_have_room),
        cmocka_unit_test(what_cannot_be_is_refused),
        cmocka_unit_test(no_ray_is_lost),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
