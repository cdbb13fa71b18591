/* What the library offers for drawings: outlines against the shapes that they are of, main ways of rays against
 * Snell's law worked out here and against worked examples.
 * Sizes are invented; pi by definition. */
#include "luxfall.h"

#include <math.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <stdlib.h>

#include <cmocka.h>

static const double PI = 3.14159265358979323846;

/* Collimator, index 1.49; plano-convex, flat side to the emitter; square pipe. */
static const struct luxfall_lens cup = {
    .name = "cup",
    .kind = LUXFALL_LENS_COLLIMATOR,
    .material = {.index = 1.49},
    .collimator = {.diameter_mm = 20, .height_mm = 11, .hollow_mm = 6, .middle_mm = 4}};
static const struct luxfall_lens bulging = {
    .name = "bulging",
    .kind = LUXFALL_LENS_SINGLET,
    .material = {.index = 1.49},
    .singlet = {.diameter_mm = 25, .thickness_mm = 9, .gap_mm = 16, .away = {.radius_mm = 15}}};
static const struct luxfall_lens pipe_6 = {
    .name = "pipe",
    .kind = LUXFALL_LENS_PIPE,
    .material = {.index = 1.49},
    .pipe = {.section = LUXFALL_SECTION_RECTANGLE, .width_mm = 6, .height_mm = 6, .length_mm = 50, .gap_mm = 1}};
static const struct luxfall_lens grooved = {
    .name = "grooved",
    .kind = LUXFALL_LENS_FRESNEL,
    .material = {.index = 1.49},
    .fresnel = {
        .diameter_mm = 40, .thickness_mm = 2, .focal_mm = 30, .pitch_mm = 1, .draft_rad = 0.05, .gap_mm = 30}};
static const struct luxfall_lens ball = {
    .name = "ball",
    .kind = LUXFALL_LENS_SINGLET,
    .material = {.index = 1.49},
    .singlet = {
        .diameter_mm = 10, .thickness_mm = 10, .gap_mm = 1, .towards = {.radius_mm = 5}, .away = {.radius_mm = 5}}};

static const struct luxfall_lens dish = {
    .name = "dish",
    .kind = LUXFALL_LENS_REFLECTOR,
    .reflector = {.opening_mm = 30, .focal_mm = 5, .hole_mm = 4, .mirror = {2, {0, 1.5}, {0.8, 0.9}}}};

/* One lamp with a square die of 1 mm. */
struct lamp_scene {
    struct luxfall_emitter emitter;
    struct luxfall_module module;
    double level_mm;
    struct luxfall_scene scene;
};

static void make_scene(struct lamp_scene *s, const struct luxfall_lens *lens, struct luxfall_assembly built) {
    *s = (struct lamp_scene){
        .emitter = {.name = "die",
                    .die = {LUXFALL_RECTANGLE, 1, 1},
                    .columns = 1,
                    .rows = 1,
                    .flux_lm = 1,
                    .intensity = {LUXFALL_COSINE, 2 * PI / 3, 0, NULL, NULL}},
        .module = {.name = "lamp",
                   .pose = {.at_mm = {0, 0, 100}, .x = {1, 0, 0}, .y = {0, -1, 0}, .axis = {0, 0, -1}},
                   .scale = 1,
                   .built = built},
    };
    s->scene = (struct luxfall_scene){.emitters = &s->emitter,
                                      .emitter_count = 1,
                                      .lenses = lens,
                                      .lens_count = lens ? 1 : 0,
                                      .modules = &s->module,
                                      .module_count = 1,
                                      .target = {10, 10, 1, 1, &s->level_mm}};
    s->module.lens = lens ? 0 : LUXFALL_NO_LENS;
}

static struct luxfall_outline *outline_of(const struct luxfall_lens *lens, struct luxfall_assembly built) {
    struct lamp_scene s;
    struct luxfall_outline *outline;
    struct luxfall_error error;
    make_scene(&s, lens, built);
    if (luxfall_outline(&s.scene, 0, NAN, &outline, &error) != LUXFALL_OK)
        fail_msg("%s", error.text);
    return outline;
}

static const struct luxfall_assembly as_drawn;

/* The path of one ray from (x, 0, 0), at an angle from the axis towards +x. */
static struct luxfall_paths *path_of(const struct luxfall_lens *lens, struct luxfall_assembly built, double x_mm,
                                     double angle_rad) {
    struct lamp_scene s;
    struct luxfall_paths *paths;
    struct luxfall_error error;
    const struct luxfall_start start = {{x_mm, 0, 0}, {sin(angle_rad), 0, cos(angle_rad)}};
    make_scene(&s, lens, built);
    if (luxfall_follow(&s.scene, 0, 1, &start, &paths, &error) != LUXFALL_OK)
        fail_msg("%s", error.text);
    return paths;
}

static double exit_angle(const struct luxfall_lens *lens, struct luxfall_assembly built, double x_mm,
                         double angle_rad) {
    struct luxfall_paths *paths = path_of(lens, built, x_mm, angle_rad);
    struct luxfall_vec d = paths->each[0].direction;
    double angle = paths->each[0].end == LUXFALL_PATH_LEAVES ? atan2(d.x, d.z) : NAN;
    luxfall_paths_free(paths);
    return angle;
}

/* ---- rays of the collimator ----
 *
 * Refraction at a hyperboloid and reflection at a wall of equal optical paths send the light of one point straight on
 * (R. Winston, J. C. Minano and P. Benitez, "Nonimaging Optics", 2005, from memory). Twin: from 0.1 mm beside it. */
static void rays_of_the_centre_leave_parallel(void **state) {
    (void)state;
    int walls = 0;
    for (double deg = -89; deg <= 89; deg += 2) {
        struct luxfall_paths *paths = path_of(&cup, as_drawn, 0, deg * PI / 180);
        const struct luxfall_path *path = &paths->each[0];
        bool wall = path->count == 4;
        assert_int_equal(path->end, LUXFALL_PATH_LEAVES);
        assert_true(hypot(path->direction.x, path->direction.y) < 1e-9);
        assert_int_equal(path->turns[1], LUXFALL_TURN_REFRACTED);
        assert_int_equal(path->turns[2], wall ? LUXFALL_TURN_REFLECTED : LUXFALL_TURN_REFRACTED);
        walls += wall;
        luxfall_paths_free(paths);
    }
    assert_int_equal(walls, 62); /* beyond 28.397 deg off the axis: 61.603 above the board, of the worked example */
    assert_true(fabs(exit_angle(&cup, as_drawn, 0.1, 0.1)) > 1e-3);
}

/* A die 0.1 mm aside tilts the ray through the middle at r = 1.5 mm by -0.888739070 deg (derived: Snell's law with 50
 * digits); so does the lens moved the other way. Twin: as drawn. */
static void what_is_out_of_place_tilts_the_ray(void **state) {
    (void)state;
    const double r = 1.5, k = 1 / 1.96, conic = -2.2201;
    const double z = 4 + k * r * r / (1 + sqrt(1 - (1 + conic) * k * k * r * r)), towards = atan2(r - 0.1, z);
    const struct luxfall_assembly die = {.die_x_mm = 0.1}, lens = {.decentre_x_mm = -0.1};
    const double wanted = -0.888739070 * PI / 180;
    assert_true(fabs(exit_angle(&cup, die, 0.1, towards) - wanted) < 2e-9);
    assert_true(fabs(exit_angle(&cup, lens, 0, towards) - wanted) < 2e-9);
    assert_false(fabs(exit_angle(&cup, as_drawn, 0, towards) - wanted) < 1e-3);
}

/* ---- Snell's law ----
 *
 * n sin a = n' sin a', the three directions in one plane (definition), at the places that the path names: the flat
 * side and the sphere about (0, 0, 10). Twin: the index of another glass. */
static double snell_misses(const struct luxfall_path *path, double index) {
    const struct luxfall_vec *p = path->at_mm, d = path->direction;
    double in = atan2(p[1].x - p[0].x, p[1].z - p[0].z), inside = atan2(p[2].x - p[1].x, p[2].z - p[1].z);
    double out = atan2(d.x, d.z), normal = atan2(p[2].x, p[2].z - 10);
    double flat = sin(in) - index * sin(inside), round = index * sin(inside - normal) - sin(out - normal);
    return fmax(fabs(flat), fabs(round));
}

static void a_ray_bends_by_snell(void **state) {
    (void)state;
    for (double deg = -31; deg <= 31; deg += 2) {
        struct luxfall_paths *paths = path_of(&bulging, as_drawn, 0.5, deg * PI / 180);
        const struct luxfall_path *path = &paths->each[0];
        assert_int_equal(path->end, LUXFALL_PATH_LEAVES);
        assert_int_equal(path->count, 3);
        assert_true(fabs(hypot(path->at_mm[2].x, path->at_mm[2].z - 10) - 15) < 1e-12);
        assert_true(snell_misses(path, 1.49) < 1e-12);
        assert_true(fabs(deg) < 3 || snell_misses(path, 1.5) > 1e-4);
        luxfall_paths_free(paths);
    }
}

/* Along the axis what goes on is the product of 1 - ((n - 1)/(n + 1))^2 at both sides (Fresnel at normal incidence;
 * M. Born and E. Wolf, "Principles of Optics", 1999, sec. 1.5). */
static void the_share_is_what_goes_on(void **state) {
    (void)state;
    struct luxfall_paths *paths = path_of(&bulging, as_drawn, 0, 0);
    double once = 1 - pow(0.49 / 2.49, 2);
    assert_true(fabs(paths->each[0].share - once * once) < 1e-14);
    assert_false(fabs(paths->each[0].share - once) < 1e-2); /* twin: one side */
    luxfall_paths_free(paths);
}

/* A pipe unfolded at its sides is a slab: so many reflections, and out at the angle at which it came in, turned over
 * by each (derived). Twin: unfolded without the refraction at its end. */
static void a_pipe_unfolds(void **state) {
    (void)state;
    bool apart = false;
    for (double deg = 1; deg < 70; deg += 3) {
        double a = deg * PI / 180, bent = asin(sin(a) / 1.49);
        struct luxfall_paths *paths = path_of(&pipe_6, as_drawn, 0, a);
        const struct luxfall_path *path = &paths->each[0];
        int bounces = (int)floor((tan(a) + 50 * tan(bent) + 3) / 6), straight = (int)floor((51 * tan(a) + 3) / 6);
        assert_int_equal(path->end, LUXFALL_PATH_LEAVES);
        assert_int_equal(path->count, 3 + bounces);
        apart = apart || straight != bounces;
        assert_true(fabs(atan2(path->direction.x, path->direction.z) - (bounces % 2 ? -a : a)) < 1e-12);
        luxfall_paths_free(paths);
    }
    assert_true(apart);
}

/* A paraboloid sends the light of its focus straight on (definition); at an angle a off the axis it meets the mirror
 * at 90 deg - a/2. Twin: from beside the focus. */
static void a_dish_sends_its_focus_straight_on(void **state) {
    (void)state;
    for (double deg = 75; deg < 90; deg += 3) {
        double a = deg * PI / 180;
        struct luxfall_paths *paths = path_of(&dish, as_drawn, 0, a);
        const struct luxfall_path *path = &paths->each[0];
        assert_int_equal(path->end, LUXFALL_PATH_LEAVES);
        assert_int_equal(path->turns[1], LUXFALL_TURN_MIRRORED);
        assert_true(fabs(path->direction.x) < 1e-12);
        assert_true(fabs(path->share - (0.8 + 0.1 * (PI / 2 - a / 2) / 1.5)) < 1e-9);
        luxfall_paths_free(paths);
    }
    assert_true(fabs(exit_angle(&dish, as_drawn, 0.3, 80 * PI / 180)) > 1e-3);
}

static void lost_rays_tell_where(void **state) {
    (void)state;
    struct luxfall_paths *paths = path_of(&bulging, as_drawn, 0, 60 * PI / 180);
    assert_int_equal(paths->each[0].end, LUXFALL_PATH_ABSORBED);
    assert_int_equal(paths->each[0].loss, LUXFALL_LOSS_HOLDER);
    assert_true(fabs(paths->each[0].at_mm[1].x - 16 * tan(60 * PI / 180)) < 1e-12);
    luxfall_paths_free(paths);
    paths = path_of(&ball, as_drawn, 4.9, 0); /* past the equator of a ball of glass: back in from the inside */
    assert_int_equal(paths->each[0].turns[1], LUXFALL_TURN_REFRACTED);
    luxfall_paths_free(paths);
}

/* ---- outlines ---- */

static double area_of(const struct luxfall_outline *outline) {
    double area = 0;
    for (size_t i = 0; i < outline->area_count; i++)
        for (size_t k = 0; k < outline->areas[i].count; k++) {
            struct luxfall_vec a = outline->areas[i].at_mm[k],
                               b = outline->areas[i].at_mm[(k + 1) % outline->areas[i].count];
            area += (a.z * b.x - a.x * b.z) / 2;
        }
    return fabs(area);
}

/* Area of a section (definition): rectangle and segment of a circle; disc; rectangle. Twin: another radius. */
static void what_is_filled_has_its_area(void **state) {
    (void)state;
    const double edge = 9 - (15 - sqrt(15 * 15 - 12.5 * 12.5));
    const double segment = 225 * asin(12.5 / 15) - 12.5 * sqrt(225 - 12.5 * 12.5);
    const struct {
        const struct luxfall_lens *lens;
        double area;
    } wanted[] = {{&bulging, 25 * edge + segment}, {&ball, PI * 25}, {&pipe_6, 300}};
    for (size_t i = 0; i < 3; i++) {
        struct luxfall_outline *outline = outline_of(wanted[i].lens, as_drawn);
        assert_true(fabs(area_of(outline) / wanted[i].area - 1) < 3e-4);
        assert_false(fabs(area_of(outline) / wanted[i].area - 1.01) < 3e-4);
        assert_true(outline->areas[0].index == 1.49);
        luxfall_outline_free(outline);
    }
}

/* How far the outline reaches along x and z; surfaces without a bound left out. */
static void extent_of(const struct luxfall_outline *outline, double low[2], double high[2]) {
    low[0] = low[1] = INFINITY;
    high[0] = high[1] = -INFINITY;
    for (size_t i = 0; i < outline->line_count; i++)
        for (size_t k = 0; k < outline->lines[i].count && outline->lines[i].loss != LUXFALL_LOSS_HOLDER; k++) {
            const struct luxfall_vec p = outline->lines[i].at_mm[k];
            low[0] = fmin(low[0], p.x);
            high[0] = fmax(high[0], p.x);
            low[1] = fmin(low[1], p.z);
            high[1] = fmax(high[1], p.z);
        }
}

static void outlines_reach_as_far_as_the_sizes_say(void **state) {
    (void)state;
    const struct {
        const struct luxfall_lens *lens;
        double half, low, high;
    } wanted[] = {
        {&cup, 10, 0, 11}, {&bulging, 12.5, 16, 25}, {&pipe_6, 3, 1, 51}, {&grooved, 20, 30, 32}, {&ball, 5, 1, 11}};
    for (size_t i = 0; i < sizeof wanted / sizeof *wanted; i++) {
        double low[2], high[2];
        struct luxfall_outline *outline = outline_of(wanted[i].lens, as_drawn);
        extent_of(outline, low, high);
        if (fabs(low[0] + wanted[i].half) > 1e-6 || fabs(high[0] - wanted[i].half) > 1e-6 ||
            fabs(low[1] - wanted[i].low) > 1e-6 || fabs(high[1] - wanted[i].high) > 1e-6)
            fail_msg("%s: x %.9g..%.9g, z %.9g..%.9g", wanted[i].lens->name, low[0], high[0], low[1], high[1]);
        assert_int_equal(outline->die_count, 1);
        assert_true(outline->dies[0].from_mm == -0.5 && outline->dies[0].to_mm == 0.5);
        luxfall_outline_free(outline);
    }
}

/* The wall between its points: radius and height of the worked example (derived, as in test_optics_collimator). */
static void the_wall_is_drawn_where_it_is(void **state) {
    (void)state;
    const double rows[][2] = {{3.66861633318, 0.466007000025},
                              {4.73881588156, 1.75430044256},
                              {6.20031648049, 3.85820676489},
                              {8.38586386901, 7.59066369834}};
    struct luxfall_outline *outline = outline_of(&cup, as_drawn);
    size_t met = 0;
    for (size_t i = 0; i < outline->line_count; i++)
        for (size_t k = 1; k < outline->lines[i].count; k++)
            for (size_t r = 0; r < 4; r++) {
                struct luxfall_vec a = outline->lines[i].at_mm[k - 1], b = outline->lines[i].at_mm[k];
                double t = (rows[r][1] - a.z) / (b.z - a.z), x = a.x + t * (b.x - a.x);
                if (t < 0 || t >= 1 || fabs(x - rows[r][0]) > 0.1)
                    continue;
                assert_true(fabs(x - rows[r][0]) < 5e-5);
                met++;
            }
    assert_int_equal(met, 4);
    luxfall_outline_free(outline);
}

/* R of the sphere, and (n - 1) f of the hyperboloid (Winston et al. 2005, from memory); flat: 0. */
static void radii_are_told_at_the_axis(void **state) {
    (void)state;
    struct luxfall_outline *outline = outline_of(&bulging, as_drawn);
    int flats = 0, spheres = 0;
    for (size_t i = 0; i < outline->line_count; i++) {
        flats += outline->lines[i].vertex_radius_mm == 0;
        spheres += fabs(outline->lines[i].vertex_radius_mm + 15) < 1e-5;
    }
    assert_true(flats == 1 && spheres >= 1);
    luxfall_outline_free(outline);
    outline = outline_of(&cup, as_drawn);
    for (size_t i = spheres = 0; i < outline->line_count; i++)
        spheres += fabs(outline->lines[i].vertex_radius_mm - 1.96) < 1e-5;
    assert_true(spheres >= 1);
    luxfall_outline_free(outline);
}

/* Every facet is there, from rim to rim: the grooves' sides and feet. */
static void grooves_are_drawn_one_by_one(void **state) {
    (void)state;
    struct luxfall_outline *outline = outline_of(&grooved, as_drawn);
    size_t most = 0;
    for (size_t i = 0; i < outline->line_count; i++)
        most = outline->lines[i].count > most ? outline->lines[i].count : most;
    assert_int_equal(most, 4 * 20 + 1);
    luxfall_outline_free(outline);
}

static void what_is_out_of_place_is_drawn_so(void **state) {
    (void)state;
    const struct luxfall_assembly built = {.seat_mm = -0.3, .decentre_x_mm = 0.2, .die_x_mm = 0.1};
    struct luxfall_outline *outline = outline_of(&bulging, built);
    double low[2], high[2];
    extent_of(outline, low, high);
    assert_true(fabs(high[0] - 12.7) < 1e-6 && fabs(high[1] - 24.7) < 1e-6);
    assert_true(fabs(outline->dies[0].to_mm - 0.6) < 1e-12);
    assert_true(outline->section_rad == 0);
    luxfall_outline_free(outline);
    outline = outline_of(&bulging, (struct luxfall_assembly){.lean_rad = 0.1, .lean_azimuth_rad = PI / 2});
    assert_true(fabs(outline->section_rad - PI / 2) < 1e-12);
    luxfall_outline_free(outline);
    outline = outline_of(&bulging, (struct luxfall_assembly){.decentre_x_mm = -0.2});
    assert_true(fabs(outline->section_rad) < 1e-12);
    luxfall_outline_free(outline);
}

/* ---- fans and faults ---- */

static void a_fan_spreads_evenly(void **state) {
    (void)state;
    struct luxfall_start starts[5];
    const struct luxfall_outline outline = {.section_rad = PI / 2};
    luxfall_fan(&outline, 2, 1, 5, starts);
    for (int i = 0; i < 5; i++) {
        assert_true(fabs(starts[i].at_mm.y - 2) < 1e-12 && fabs(starts[i].at_mm.x) < 1e-12);
        assert_true(fabs(atan2(starts[i].direction.y, starts[i].direction.z) - (i - 2) / 2.0) < 1e-12);
    }
    luxfall_fan(&outline, 0, 1, 1, starts);
    assert_true(starts[0].direction.z == 1);
}

static void what_cannot_be_drawn_is_told(void **state) {
    (void)state;
    struct lamp_scene s;
    struct luxfall_outline *outline;
    struct luxfall_paths *paths;
    struct luxfall_error error = {0};
    const struct luxfall_start level = {{0, 0, 0}, {1, 0, 0}}, long_one = {{0, 0, 0}, {0, 0, 2}};
    const struct luxfall_lens sheet = {
        .name = "sheet", .kind = LUXFALL_LENS_BEAM, .beam = {.beam_angle_rad = 0.4, .efficiency = 0.8}};
    make_scene(&s, &sheet, as_drawn);
    assert_int_equal(luxfall_outline(&s.scene, 0, NAN, &outline, &error), LUXFALL_E_VALUE);
    assert_null(outline);
    assert_int_equal(luxfall_outline(&s.scene, 1, NAN, &outline, &error), LUXFALL_E_VALUE);
    make_scene(&s, NULL, as_drawn);
    assert_int_equal(luxfall_outline(&s.scene, 0, NAN, &outline, &error), LUXFALL_E_VALUE);
    make_scene(&s, &cup, as_drawn);
    assert_int_equal(luxfall_follow(&s.scene, 0, 1, &level, &paths, &error), LUXFALL_E_VALUE);
    assert_int_equal(luxfall_follow(&s.scene, 0, 1, &long_one, &paths, &error), LUXFALL_E_VALUE);
    assert_null(paths);
    luxfall_outline_free(NULL);
    luxfall_paths_free(NULL);
}

/* ---- packages ---- */

/* A half ball of 5 mm, index 1.5, the die where the package says. */
static void pack(struct lamp_scene *s, double x_mm, double lean_rad) {
    s->emitter.package = (struct luxfall_package){.material = {.index = 1.5},
                                                  .dome_mm = 5,
                                                  .dome_height_mm = 2.5,
                                                  .die_x_mm = x_mm,
                                                  .die_height_mm = 0.1,
                                                  .die_lean_rad = lean_rad};
}

/* Surfaces of the package: a circle of 2.5 mm about the middle of the LED, which is 0.3 mm aside, and a floor; the
 * die where it was put, its ends as high as it leans (definition). */
static void a_package_is_drawn_where_it_stands(void **state) {
    (void)state;
    struct lamp_scene s;
    struct luxfall_outline *outline;
    make_scene(&s, &bulging, (struct luxfall_assembly){.die_x_mm = 0.3});
    pack(&s, 0.2, 0.1);
    assert_int_equal(luxfall_outline(&s.scene, 0, NAN, &outline, NULL), LUXFALL_OK);
    size_t domes = 0, floors = 0, others = 0;
    for (size_t i = 0; i < outline->line_count; i++) {
        const struct luxfall_line *line = &outline->lines[i];
        others += !line->of_package;
        if (!line->of_package)
            continue;
        domes += line->kind == LUXFALL_SURFACE_CLEAR;
        floors += line->kind == LUXFALL_SURFACE_ABSORBING && line->loss == LUXFALL_LOSS_SOURCE;
        for (size_t k = 0; k < line->count && line->kind == LUXFALL_SURFACE_CLEAR; k++)
            assert_true(fabs(hypot(line->at_mm[k].x - 0.3, line->at_mm[k].z) - 2.5) < 1e-6);
    }
    assert_true(domes > 0 && floors == 1 && others > 0);
    size_t resin = 0;
    for (size_t i = 0; i < outline->area_count; i++)
        resin += outline->areas[i].index == 1.5;
    assert_int_equal(resin, 1);
    assert_int_equal(outline->die_count, 1);
    const struct luxfall_span *die = &outline->dies[0];
    assert_true(fabs(die->to_mm - (0.5 + 0.5 * cos(0.1))) < 1e-12 && fabs(die->to_z_mm - 0.1) < 1e-12);
    assert_true(fabs(die->from_mm - (0.5 - 0.5 * cos(0.1))) < 1e-12);
    assert_true(fabs(die->from_z_mm - (0.1 + sin(0.1))) < 1e-12);
    struct luxfall_start start;
    luxfall_fan(outline, die->to_mm, 0, 1, &start);
    assert_true(fabs(start.at_mm.z - 0.1) < 1e-12);
    luxfall_outline_free(outline);
}

/* Light of the dome's centre goes straight on through it, with the share 1 - R = 0.96 (M. Born and E. Wolf,
 * "Principles of Optics", 7th ed. 1999, sec. 1.5), and then through the lens as without a package. Twin: the ray
 * beside the centre. */
static void rays_are_drawn_through_the_dome(void **state) {
    (void)state;
    for (int i = 0; i < 2; i++) {
        struct lamp_scene s;
        struct luxfall_paths *packed, *plain = path_of(&bulging, as_drawn, 0, 0.3);
        const struct luxfall_start start = {{0.2 * i, 0, 0}, {sin(0.3), 0, cos(0.3)}};
        make_scene(&s, &bulging, as_drawn);
        pack(&s, 0, 0);
        assert_int_equal(luxfall_follow(&s.scene, 0, 1, &start, &packed, NULL), LUXFALL_OK);
        const struct luxfall_path *p = &packed->each[0], *q = &plain->each[0];
        assert_true(p->end == LUXFALL_PATH_LEAVES && p->count == q->count + 1);
        assert_true((fabs(p->direction.x - q->direction.x) < 1e-12) == (i == 0));
        assert_true(i == 1 || fabs(p->share / q->share - 0.96) < 1e-12);
        assert_int_equal(p->turns[1], LUXFALL_TURN_REFRACTED);
        luxfall_paths_free(packed);
        luxfall_paths_free(plain);
    }
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(rays_of_the_centre_leave_parallel),
        cmocka_unit_test(what_is_out_of_place_tilts_the_ray),
        cmocka_unit_test(a_ray_bends_by_snell),
        cmocka_unit_test(the_share_is_what_goes_on),
        cmocka_unit_test(a_pipe_unfolds),
        cmocka_unit_test(a_dish_sends_its_focus_straight_on),
        cmocka_unit_test(lost_rays_tell_where),
        cmocka_unit_test(what_is_filled_has_its_area),
        cmocka_unit_test(outlines_reach_as_far_as_the_sizes_say),
        cmocka_unit_test(the_wall_is_drawn_where_it_is),
        cmocka_unit_test(radii_are_told_at_the_axis),
        cmocka_unit_test(grooves_are_drawn_one_by_one),
        cmocka_unit_test(what_is_out_of_place_is_drawn_so),
        cmocka_unit_test(a_fan_spreads_evenly),
        cmocka_unit_test(what_cannot_be_drawn_is_told),
        cmocka_unit_test(a_package_is_drawn_where_it_stands),
        cmocka_unit_test(rays_are_drawn_through_the_dome),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
