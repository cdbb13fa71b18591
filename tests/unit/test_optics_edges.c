/* Rays that stand on edges, graze, or lie in the overlap of two bounds: each case once lost a ray, sent it back to
 * where it stood, or made it pass its patch by. By definition, no source is wanted; what a ray does there follows
 * from the shape. Twins: rays a little beside the case, which do something else. */
#include "lenses/solid.h"

#include <math.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <string.h>

#include <cmocka.h>

static const double PI = 3.14159265358979323846;

/* ---- quadrics (definition) ---- */

/* Outside a ball, reflected where it grazed: it parts from the ball for good, whatever rounding makes of F and of its
 * slope there. From inside, a ray that rounding has turned outwards is still held. Twin: one that leans inwards by
 * 0.001 rad leaves a chord later, and enters from above the ball. */
static void a_ray_that_grazes_a_ball_parts_from_it(void **state) {
    (void)state;
    const double radius_mm = 1.0702771745532451, vertex_mm = 0.87985121082614504;
    const struct patch ball = patch_conic(vertex_mm, 1 / radius_mm, 0);
    for (int i = 0; i < 1000; i++) {
        double polar = PI * (i + 0.5) / 1000, around = 0.7 * i, t;
        double normal[3] = {sin(polar) * cos(around), sin(polar) * sin(around), cos(polar)};
        double at[3] = {radius_mm * normal[0], radius_mm * normal[1], vertex_mm + radius_mm * (1 + normal[2])};
        const double along[3] = {cos(polar) * cos(around), cos(polar) * sin(around), -sin(polar)};
        assert_false(patch_cross(&ball, at, along, true, true, 1e-9, &t));
        assert_true(patch_cross(&ball, at, along, false, true, 1e-9, &t) && t >= 0 && t < 1e-7);
        double in[3], above[3];
        for (int k = 0; k < 3; k++) {
            in[k] = cos(1e-3) * along[k] - sin(1e-3) * normal[k];
            above[k] = at[k] - 1e-3 * in[k];
        }
        assert_true(patch_cross(&ball, at, in, false, true, 1e-9, &t) && fabs(t - 2 * radius_mm * sin(1e-3)) < 1e-7);
        assert_true(patch_cross(&ball, above, in, true, false, 1e-9, &t) && fabs(t - 1e-3) < 1e-7);
    }
}

/* ---- facets ---- */

/* From below into the valley of a zigzag, exactly on its edge: a ray that runs into the facet beyond the edge meets
 * that facet at once, though it stands on the same patch, and with the normal of the facet. Twin: steeper than the
 * facets, out of the valley, it meets none. */
static void a_ray_on_an_edge_meets_the_facet_that_it_goes_to(void **state) {
    (void)state;
    const struct profile_point points[] = {{0, 2, 0}, {1, 0, 0}, {2, 2, 0}};
    const struct patch zigzag = patch_facets(5, 3, points);
    for (int i = 0; i < 1000; i++) {
        double around = 2 * PI * i / 1000, t, normal[3];
        const double at[3] = {cos(around), sin(around), 5};
        /* outwards and up, less steep than the outer facet: F rises from the inner one's side, falls to the other */
        const double out[3] = {0.8 * cos(around), 0.8 * sin(around), 0.6}, in[3] = {-out[0], -out[1], 0.6};
        const double *const ways[] = {out, in};
        for (int w = 0; w < 2; w++) {
            assert_true(patch_cross(&zigzag, at, ways[w], false, true, 1e-9, &t) && t > 0 && t < 1e-9);
            const double to[3] = {at[0] + t * ways[w][0], at[1] + t * ways[w][1], at[2] + t * ways[w][2]};
            patch_normal(&zigzag, to, normal);
            double radial = normal[0] * cos(around) + normal[1] * sin(around);
            assert_true(w == 0 ? radial < 0 : radial > 0);
            const double steep[3] = {0.25 * ways[w][0], 0.25 * ways[w][1], sqrt(0.96)};
            assert_false(patch_cross(&zigzag, at, steep, false, true, 1e-9, &t));
        }
    }
}

/* ---- kinds met by looking along the line ---- */

static double bowl(const void *data, double z_mm) {
    (void)data;
    return sqrt(4 * (z_mm + 1));
}

/* A bowl r^2 = 4 (z + 1) from 0 to 3 mm; a place on it, its normal and its meridian. */
struct place {
    double at[3], out[3], up[3];
};

static struct place place_on_bowl(double z_mm, double around) {
    double r = bowl(NULL, z_mm), slope = 2 / r, scale = 1 / hypot(1, slope);
    return (struct place){
        {r * cos(around), r * sin(around), z_mm},
        {scale * cos(around), scale * sin(around), -scale * slope},
        {scale * slope * cos(around), scale * slope * sin(around), scale},
    };
}

static struct patch bowl_patch(void) {
    struct patch patch = patch_profile(0, 3, 12, bowl, NULL);
    patch.up = 1;
    return patch;
}

/* From the wall a little inwards of the meridian: the wall bends into the way again. The length of that chord: in the
 * meridian (r + t dr)^2 = 4 (z + 1 + t dz), and r^2 = 4 (z + 1) leaves one root. */
static double leave_bowl(const struct place *on, double lean, double d[3]) {
    for (int k = 0; k < 3; k++)
        d[k] = -sin(lean) * on->out[k] + cos(lean) * on->up[k];
    double dr = hypot(d[0], d[1]);
    return (4 * d[2] - 2 * hypot(on->at[0], on->at[1]) * dr) / (dr * dr);
}

/* Of 1000 rays, how many meet the wall elsewhere than the chord of a lean so much larger ends. */
static int chords_missed(bool own, double stretch) {
    const struct patch patch = bowl_patch();
    int missed = 0;
    for (int i = 0; i < 1000; i++) {
        const struct place on = place_on_bowl(own ? fmod(0.618 * i, 2) : 0, 0.37 * i);
        double d[3], t = 0, lean = 0.003 + 3e-5 * i, chord = leave_bowl(&on, stretch * lean, d);
        leave_bowl(&on, lean, d);
        missed += !(patch_cross(&patch, on.at, d, true, own, 1e-9, &t) && fabs(t - chord) < 1e-6);
    }
    return missed;
}

/* On whichever side of the wall rounding has put the start: the chord's end is met, not the start. From the wall's
 * foot, come there through another patch; and everywhere, come back from the wall itself. Twin: the chord of a lean
 * larger by a thousandth. */
static void a_ray_meets_its_wall_a_chord_later(void **state) {
    (void)state;
    for (int own = 0; own < 2; own++) {
        assert_int_equal(chords_missed(own, 1), 0);
        assert_int_equal(chords_missed(own, 1.001), 1000);
    }
}

/* ---- where two walls meet (definition) ---- */

/* In the corner of a hexagonal pipe, so far beyond both walls, and nearly along the second: that wall lies far behind
 * along the way. Is the ray sent back? */
static bool is_held(const struct optic *optic, const struct luxfall_pipe *pipe, double off_mm) {
    const double corner_mm = pipe->width_mm / sqrt(3) + off_mm, x = -sqrt(0.75);
    struct walk walk = {.optic = optic,
                        .path = {.at_mm = {corner_mm * x, corner_mm * 0.5, pipe->gap_mm},
                                 .direction = {-0.0043479925, -0.5335322108, 0.8457685706}},
                        .material = 1,
                        .patch = 4,
                        .slack_mm = 8e-6 * optic->size_mm};
    double t_mm;
    bool going_up;
    return walk_next(&walk, &t_mm, &going_up) >= 0 && going_up;
}

/* In the overlap beyond both walls the light must not leave. Twin: 0.1 mm beyond, where no bounds overlap. */
static void a_ray_beyond_a_corner_is_sent_back(void **state) {
    (void)state;
    static struct optic optic;
    struct luxfall_lens lens = {.name = "pipe",
                                .kind = LUXFALL_LENS_PIPE,
                                .material = {.index = 1.64404},
                                .pipe = {.section = LUXFALL_SECTION_HEXAGON,
                                         .width_mm = 2.1268665,
                                         .height_mm = 2.1268665,
                                         .length_mm = 3.9445315,
                                         .gap_mm = 0.6715333}};
    assert_int_equal(solid_optic(&lens, 0, &optic, NULL), LUXFALL_OK);
    for (int i = 1; i <= 100; i++)
        assert_true(is_held(&optic, &lens.pipe, 5e-7 * i));
    assert_false(is_held(&optic, &lens.pipe, 0.1));
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(a_ray_that_grazes_a_ball_parts_from_it),
        cmocka_unit_test(a_ray_on_an_edge_meets_the_facet_that_it_goes_to),
        cmocka_unit_test(a_ray_meets_its_wall_a_chord_later),
        cmocka_unit_test(a_ray_beyond_a_corner_is_sent_back),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
