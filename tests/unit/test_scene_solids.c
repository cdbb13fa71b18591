/* Traced lenses as scenes say them: words, keys, mistakes, and the way back. */
#include "unit/scene_text.h"

#include <math.h>

static const char BEAM[] = "{beam_angle: 24 deg, efficiency: 84 %, face: disc 18 mm}";
#define SEAT "material: acrylic, diameter: 20 mm, gap: 6 mm, "

static struct scene *scene_of(const char *lens) {
    char *text = with(sound_scene, BEAM, lens);
    struct outcome outcome = read_sound(text);
    struct scene *scene = outcome.scene;
    free(outcome.said);
    free(text);
    return scene;
}

static bool same_side(const struct luxfall_side *a, const struct luxfall_side *b) {
    return a->radius_mm == b->radius_mm && a->conic == b->conic && a->power_count == b->power_count &&
           memcmp(a->powers, b->powers, sizeof a->powers) == 0;
}

static bool same_profile(const struct luxfall_profile *a, const struct luxfall_profile *b) {
    size_t size = a->count * sizeof(double);
    return a->count == b->count && a->smooth == b->smooth &&
           (size == 0 ||
            (memcmp(a->radius_mm, b->radius_mm, size) == 0 && memcmp(a->height_mm, b->height_mm, size) == 0));
}

static bool same_lens(const struct luxfall_lens *a, const struct luxfall_lens *b) {
    const struct luxfall_singlet *s = &a->singlet, *t = &b->singlet;
    return a->kind == b->kind && s->diameter_mm == t->diameter_mm && s->thickness_mm == t->thickness_mm &&
           s->gap_mm == t->gap_mm && s->holder_open == t->holder_open &&
           memcmp(s->body_mm, t->body_mm, sizeof s->body_mm) == 0 && same_side(&s->towards, &t->towards) &&
           same_side(&s->away, &t->away) && memcmp(&a->collimator, &b->collimator, sizeof a->collimator) == 0 &&
           memcmp(&a->fresnel, &b->fresnel, sizeof a->fresnel) == 0 &&
           memcmp(&a->pipe, &b->pipe, sizeof a->pipe) == 0 && same_profile(&a->turned.towards, &b->turned.towards) &&
           same_profile(&a->turned.away, &b->turned.away) && a->turned.gap_mm == b->turned.gap_mm &&
           a->turned.holder_open == b->turned.holder_open &&
           memcmp(&a->reflector, &b->reflector, sizeof a->reflector) == 0 &&
           memcmp(&a->concentrator, &b->concentrator, sizeof a->concentrator) == 0;
}

/* Two ways to say one lens. Twin: the sides the other way round are another lens. */
static void words_say_what_sizes_say(void **state) {
    (void)state;
    static const char *const pairs[][2] = {
        {"{solid: biconvex, " SEAT "radius: 30 mm, thickness: 6 mm}",
         "{solid: aspheric, " SEAT "thickness: 6 mm, towards: {radius: 30 mm}, away: {radius: 30 mm}}"},
        {"{solid: meniscus, " SEAT "radii: [-60 mm, 15 mm], thickness: 5 mm}",
         "{solid: aspheric, " SEAT "thickness: 5 mm, towards: {radius: -60 mm}, away: {radius: 15 mm, conic: 0}}"},
        {"{solid: ball, " SEAT "holder: open}",
         "{solid: biconvex, " SEAT "holder: open, radii: [10 mm, 10 mm], thickness: 20 mm}"},
        {"{solid: plano-convex, " SEAT "radius: 14 mm, thickness: 6 mm}",
         "{solid: aspheric, " SEAT "thickness: 6 mm, towards: flat, away: {radius: 14 mm, powers: []}}"},
    };
    for (size_t i = 0; i < sizeof pairs / sizeof *pairs; i++) {
        struct scene *a = scene_of(pairs[i][0]), *b = scene_of(pairs[i][1]);
        assert_true(same_lens(&a->light.lenses[0], &b->light.lenses[0]));
        scene_free(a);
        scene_free(b);
    }
    struct scene *a = scene_of("{solid: meniscus, " SEAT "radii: [-60 mm, 15 mm], thickness: 5 mm}");
    struct scene *b = scene_of("{solid: meniscus, " SEAT "radii: [15 mm, -60 mm], thickness: 5 mm}");
    assert_false(same_lens(&a->light.lenses[0], &b->light.lenses[0]));
    scene_free(a);
    scene_free(b);
}

static void they_come_back(void **state) {
    (void)state;
    static const char lenslets[] = "{solid: collimator, material: PC, diameter: 20 mm, lenslets: {pitch: 1 mm, "
                                   "radius: -2 mm, cells: hexagonal}}";
    static const char turned[] =
        "{solid: turned, material: PC, gap: 4 mm, holder: open, towards: [[0 mm, 0 mm], [10 mm, 0 mm]], "
        "away: {joined: smooth, points: [[0 mm, 6 mm], [5.2 mm, 4.7 mm], [10 mm, 0.3 mm]]}}";
    static const char *const lenses[] = {
        "{solid: plano-convex, " SEAT "radius: 14 mm, thickness: 6 mm, curved: towards, holder: open}",
        "{solid: meniscus, " SEAT "radii: [-60 mm, 15 mm], thickness: 5 mm}",
        "{solid: biconvex, " SEAT "body: 22 mm x 30.5 mm, radius: 14 mm, thickness: 9 mm}",
        "{solid: ball, " SEAT "holder: open}",
        "{solid: aspheric, " SEAT "thickness: 9 mm, towards: flat, away: {radius: 9.8 mm, conic: -2.2201, "
        "powers: [1e-5, -2e-8]}}",
        "{solid: fresnel, " SEAT
        "thickness: 2 mm, focal_length: 12 mm, pitch: 0.5 mm, draft: 2 deg, grooves: towards, "
        "holder: open}",
        "{solid: light pipe, material: PC, section: disc 6 mm, length: 50 mm, gap: 0.2 mm}",
        "{solid: light pipe, material: PC, section: 6 mm x 4 mm, length: 50 mm, gap: 0.2 mm, holder: open}",
        "{solid: light pipe, material: PC, section: hexagon 6 mm, length: 50 mm, gap: 0 mm}",
        "{solid: light pipe, section: hexagon 6 mm, length: 50 mm, gap: 0 mm, reflectance: [[0 deg, 88 %]]}",
        "{solid: reflector, opening: 30 mm, focal_length: 5 mm, reflectance: [[0 deg, 88 %], [80 deg, 95 %]]}",
        "{solid: reflector, opening: 30 mm, focal_length: 8 mm, second_focus: 60 mm, hole: 9 mm, reflectance: 90 %}",
        "{solid: concentrator, small_end: 3 mm, beam: 40 deg, reflectance: 92 %}",
        "{solid: collimator, material: PC, diameter: 20 mm, height: 12.5 mm, texture: 8 deg}",
        turned,
        lenslets,
    };
    for (size_t i = 0; i < sizeof lenses / sizeof *lenses; i++) {
        struct scene *scene = scene_of(lenses[i]);
        char *text = written(scene);
        struct outcome back = read_text(text);
        if (back.status != 0)
            fail_msg("%s\ncame back as\n%s\n%s", lenses[i], text, back.said);
        assert_true(same_lens(&scene->light.lenses[0], &back.scene->light.lenses[0]));
        free(text);
        outcome_clear(&back);
        scene_free(scene);
    }
}

/* Sizes left out are usual ones, which read as people write them; a wanted beam becomes a texture, and a warning says
 * what was made up. */
static void a_sheet_becomes_a_collimator(void **state) {
    (void)state;
    char *text =
        with(sound_scene, BEAM,
             "{solid: collimator, material: acrylic, diameter: 18 mm, beam_angle: 24 deg, listed_die: 1.2 mm "
             "x 1.2 mm, efficiency: 84 %}");
    struct outcome outcome = read_text(text);
    assert_int_equal(outcome.status, 0);
    assert_non_null(strstr(outcome.said, "s.yaml:4:79: warning: made up to fit: a face texture of 22.8 deg on a "));
    assert_non_null(strstr(outcome.said, "(the sheet says 84 %); plausible, not the maker's lens"));
    const struct luxfall_collimator *c = &outcome.scene->light.lenses[0].collimator;
    assert_true(c->hollow_mm == 5.4 && c->middle_mm == 3.6 && c->height_mm > 9);
    assert_true(c->texture_rad > 0.39 && c->texture_rad < 0.41);
    char *again = written(outcome.scene);
    assert_non_null(
        strstr(again, "    height: 9.839 mm\n    hollow: 5.4 mm\n    middle: 3.6 mm\n    texture: 22.83 deg\n"));
    struct outcome back = read_text(again);
    assert_int_equal(back.status, 0);
    assert_true(same_lens(&outcome.scene->light.lenses[0], &back.scene->light.lenses[0]));
    free(again);
    free(text);
    outcome_clear(&back);
    outcome_clear(&outcome);
}

static void mistakes_are_told_at_their_place(void **state) {
    (void)state;
    static const char *const cases[][2] = {
        {"{solid: biconcave, " SEAT "thickness: 5 mm}",
         "s.yaml:4:19: error: 'biconcave' is not known here; did you mean 'biconvex'?"},
        {"{solid: biconvex, " SEAT "radii: [30 mm, -30 mm], thickness: 6 mm}",
         "s.yaml:4:83: error: both sides of a biconvex lens bulge: their radii are above 0 mm"},
        {"{solid: biconvex, " SEAT "body: disc 22 mm, radius: 30 mm, thickness: 6 mm}",
         "s.yaml:4:82: error: a body has a width and a height, such as '22 mm x 22 mm'; a round lens needs none"},
        {"{solid: biconvex, " SEAT "body: 18 mm x 30 mm, radius: 30 mm, thickness: 6 mm}",
         "s.yaml:4:19: error: a body of 18 mm x 30 mm does not hold round sides of 20 mm: it must be as wide at "
         "least"},
        {"{solid: ball, " SEAT "body: 22 mm x 22 mm}", "s.yaml:4:72: error: unknown key 'body' in a traced lens; it "
                                                       "takes solid, material, price, diameter, gap or holder"},
        {"{solid: meniscus, " SEAT "radii: [30 mm, 15 mm], thickness: 9 mm}",
         "s.yaml:4:83: error: a meniscus has one hollow side, whose radius is written below 0, such as [-40 mm, 15 "
         "mm], "
         "the side towards the emitter first"},
        {"{solid: biconvex, " SEAT "radius: 30 mm, thickness: 2 mm}",
         "s.yaml:4:19: error: the sides of the lens fall back by 3.431 mm over a diameter of 20 mm, more than the "
         "thickness of 2 mm: the edge would be thinner than nothing"},
        {"{solid: aspheric, " SEAT "thickness: 9 mm, towards: round, away: flat}",
         "s.yaml:4:102: error: 'round' is not known here; 'towards' takes flat"},
        {"{solid: collimator, material: acrylic, diameter: 10 mm, height: 11 mm, hollow: 6 mm, middle: 4 mm}",
         "s.yaml:4:19: error: no reflecting wall fits: it would begin 0.6873 mm from the axis, inside the hollow of "
         "radius 3 mm; a wider face or a smaller hollow makes room"},
        {"{solid: collimator, material: acrylic, diameter: 20 mm, height: 9 mm, hollow: 6 mm, middle: 4 mm}",
         "s.yaml:4:19: error: no reflecting wall fits: its top would stand 10.63 mm over the board, above the face "
         "at 9 "
         "mm; a narrower face or a greater height makes room"},
        {"{solid: fresnel, " SEAT "thickness: 2 mm, focal_length: 12 mm, pitch: 5 mm}",
         "s.yaml:4:19: error: the groove 5 mm from the axis would be 6.807 mm deep, more than the thickness of 2 mm; "
         "a "
         "smaller pitch makes it shallower"},
        {"{solid: fresnel, " SEAT "thickness: 2 mm, pitch: 0.5 mm}", "s.yaml:4:3: error: missing key 'focal_length'"},
        {"{solid: collimator, material: acrylic, diameter: 18 mm, beam_angle: 24 deg}",
         "s.yaml:4:79: error: a beam angle holds for one die: add the one that the sheet lists, or else your LED's, "
         "as 'listed_die: 1.2 "
         "mm x "
         "1.2 mm'"},
        {"{solid: collimator, material: acrylic, diameter: 18 mm, beam_angle: 24 deg, listed_die: 4 mm x 4 mm}",
         "s.yaml:4:79: error: a die of 5.657 mm across does not fit into a hollow of 5.4 mm"},
        {"{solid: collimator, material: acrylic, diameter: 18 mm, beam_angle: 24 deg, texture: 3 deg, listed_die: "
         "disc 1 mm}",
         "s.yaml:4:96: error: 'texture' is found from 'beam_angle' and cannot be given beside it"},
        {"{solid: collimator, material: acrylic, diameter: 20 mm, height: 11 mm, hollow: 6 mm, middle: 4 mm, gap: 1 "
         "mm}",
         "s.yaml:4:110: error: unknown key 'gap' in a traced lens; it takes solid, material, price, diameter, "
         "height, "
         "hollow, middle, texture, lenslets, beam_angle, listed_die or efficiency"},
        {"{solid: collimator, material: PC, diameter: 20 mm, lenslets: {pitch: 1 mm, radius: 0.5 mm}}",
         "s.yaml:4:19: error: lenslets of a pitch of 1 mm reach 0.7071 mm from their middles and need a radius of at "
         "least 0.7443 mm"},
        {"{solid: collimator, material: PC, diameter: 20 mm, lenslets: {pitch: 1 mm, radius: 2 mm, cells: round}}",
         "s.yaml:4:107: error: 'round' is not known here; 'cells' takes square or hexagonal"},
        {"{solid: collimator, material: PC, diameter: 20 mm, texture: 5 deg, lenslets: {pitch: 1 mm, radius: 2 mm}}",
         "s.yaml:4:19: error: a face has a texture or lenslets, not both"},
        {"{solid: collimator, material: PC, diameter: 20 mm, beam_angle: 24 deg, listed_die: disc 1 mm, lenslets: "
         "{pitch: 1 mm, radius: 2 mm}}",
         "s.yaml:4:115: error: 'beam_angle' asks for a texture; lenslets cannot be given beside it"},
    };
    for (size_t i = 0; i < sizeof cases / sizeof *cases; i++)
        assert_slip(BEAM, cases[i][0], cases[i][1]);
}

static void mistakes_of_cups_pipes_and_bodies_too(void **state) {
    (void)state;
    static const char *const cases[][2] = {
        {"{solid: turned, material: PC, gap: 4 mm, towards: [[0 mm, 0 mm], [10 mm, 0 mm]], away: [[0 mm, 6 mm], [4 "
         "mm]]}",
         "s.yaml:4:113: error: a point is a radius and a height, such as [10 mm, 2.5 mm]"},
        {"{solid: turned, material: PC, gap: 4 mm, towards: [[0 mm, 0 mm], [10 mm, 0 mm]], away: [[0 mm, 6 mm], [5 "
         "mm, -1 "
         "mm], [10 mm, 2 mm]]}",
         "s.yaml:4:19: error: the sides of the body meet or cross 5 mm from the axis"},
        {"{solid: turned, material: PC, gap: 4 mm, towards: [[0 mm, 0 mm], [10 mm, 0 mm]], away: [[0 mm, 6 mm], [9 "
         "mm, 2 "
         "mm]]}",
         "s.yaml:4:19: error: both sides end at one rim, not at radii of 10 mm and 9 mm"},
        {"{solid: turned, material: PC, gap: 4 mm, towards: [[0 mm, 0 mm], [10 mm, 0 mm]], away: [[0 mm, 6 mm], [10 "
         "mm, 2 "
         "mm], [10 mm, 1 mm]]}",
         "s.yaml:4:19: error: the radii of a profile must ascend: 10 mm follows on 10 mm; a step up needs a little "
         "draft, "
         "at least a millionth of the rim's radius"},
        {"{solid: turned, material: PC, gap: 4 mm, towards: [[0 mm, 0 mm], [10 mm, -5 mm]], away: [[0 mm, 6 mm], [10 "
         "mm, 2 "
         "mm]]}",
         "s.yaml:4:19: error: the body reaches 5 mm below its level 0: at a gap of 4 mm it would stand below the "
         "emitter"},
        {"{solid: turned, material: PC, gap: 4 mm, towards: [[1 mm, 0 mm], [10 mm, 0 mm]], away: [[0 mm, 6 mm], [10 "
         "mm, 2 "
         "mm]]}",
         "s.yaml:4:19: error: a profile begins on the axis, at a radius of 0 mm, not at 1 mm"},
        {"{solid: turned, material: PC, gap: 4 mm, towards: {points: [[0 mm, 0 mm], [10 mm, 0 mm]], joined: round}, "
         "away: "
         "[[0 mm, 6 mm], [10 mm, 2 mm]]}",
         "s.yaml:4:109: error: 'round' is not known here; 'joined' takes straight or smooth"},
        {"{solid: light pipe, material: PC, section: hexagon 6, length: 50 mm, gap: 0 mm}",
         "s.yaml:4:54: error: '6' has no unit; a length takes um, mm, cm, m or in, for instance 6 mm"},
        {"{solid: light pipe, section: disc 6 mm, length: 50 mm, gap: 0 mm}",
         "s.yaml:4:3: error: missing key 'material'"},
        {"{solid: light pipe, material: PC, section: disc 6 mm, length: 50 mm, gap: 0 mm, reflectance: 90 %}",
         "s.yaml:4:41: error: a light pipe is of a 'material', or hollow with a 'reflectance' of its walls, not "
         "both"},
        {"{solid: light pipe, reflectance: 90 %, section: disc 6 mm, length: 50 mm, gap: 0 mm, holder: open}",
         "s.yaml:4:19: error: a hollow light pipe has a closed holder: its walls have no outside"},
        {"{solid: light pipe, material: PC, section: square 6 mm, length: 50 mm, gap: 0 mm}",
         "s.yaml:4:54: error: 'square 6 mm' is no section; write 'disc 6 mm', '6 mm x 4 mm' or 'hexagon 6 mm'"},
        {"{solid: light pipe, material: PC, section: hex 6 mm, length: 50 mm, gap: 0 mm}",
         "s.yaml:4:54: error: 'hex 6 mm' is no section; write 'disc 6 mm', '6 mm x 4 mm' or 'hexagon 6 mm'"},
        {"{solid: light pipe, material: PC, section: hexagon, length: 50 mm, gap: 0 mm}",
         "s.yaml:4:54: error: 'hexagon' is no section; write 'disc 6 mm', '6 mm x 4 mm' or 'hexagon 6 mm'"},
        {"{solid: reflector, opening: 30 mm, focal_length: 9 mm, reflectance: 90 %}",
         "s.yaml:4:19: error: the rim of the reflector, 30 mm wide, would lie below the emitter: above 36 mm it "
         "would "
         "catch light"},
        {"{solid: reflector, opening: 30 mm, focal_length: 5 mm, reflectance: [[0 deg, 88 %], [80 deg]]}",
         "s.yaml:4:95: error: a pair is expected, such as [60 deg, 90 %]"},
        {"{solid: reflector, opening: 30 mm, focal_length: 5 mm, material: acrylic, reflectance: 90 %}",
         "s.yaml:4:66: error: unknown key 'material' in a traced lens; it takes solid, price, opening, focal_length, "
         "second_focus, hole or reflectance"},
        {"{solid: concentrator, small_end: 3 mm, beam: 40 deg, reflectance: 192 %}",
         "s.yaml:4:77: error: 'reflectance' is 192 %; it must be at least 0 % and at most 100 %"},
    };
    for (size_t i = 0; i < sizeof cases / sizeof *cases; i++)
        assert_slip(BEAM, cases[i][0], cases[i][1]);
}

/* ---- a focal length for the curves ---- */

/* Of a lens in air with its radii counted as scenes do, by a ray beside the axis through both sides and the thickness
 * [BW99, sec. 4.4]. */
static double focal_mm(double index, double towards_mm, double away_mm, double thick_mm) {
    double height_mm = 1, slope = 0;
    slope = (slope - height_mm * (index - 1) / towards_mm) / index;
    height_mm += thick_mm * slope;
    slope = index * slope - height_mm * (index - 1) / away_mm;
    return -1 / slope;
}

/* What the message says to write. */
static double told_mm(const char *lens, const char *key) {
    char *text = with(sound_scene, BEAM, lens), wanted[40];
    struct outcome outcome = read_text(text);
    snprintf(wanted, sizeof wanted, "write '%s: ", key);
    const char *told = strstr(outcome.said, wanted);
    if (outcome.errors != 1 || strstr(outcome.said, "'focal_length' follows from the curves") == NULL || told == NULL)
        fail_msg("%s: it said\n%s", lens, outcome.said);
    double value_mm = strtod(told + strlen(wanted), NULL);
    outcome_clear(&outcome);
    free(text);
    return value_mm;
}

static const double four_digits = 1e-3;

static void a_focal_length_is_told_as_curves(void **state) {
    (void)state;
    const double f = 25;
    double flat =
        told_mm("{solid: plano-convex, material: {index: 1.5}, diameter: 20 mm, gap: 6 mm, focal_length: 25 "
                "mm, thickness: 6 mm}",
                "radius");
    assert_true(fabs(focal_mm(1.5, INFINITY, flat, 6) / f - 1) < four_digits);
    double both =
        told_mm("{solid: biconvex, material: {index: 1.5}, diameter: 20 mm, gap: 6 mm, focal_length: 25 mm, "
                "thickness: 9 mm}",
                "radius");
    assert_true(fabs(focal_mm(1.5, both, both, 9) / f - 1) < four_digits);
    double thin = 2 * (1.5 - 1) * f; /* twin: the thickness forgotten */
    assert_false(fabs(focal_mm(1.5, thin, thin, 9) / f - 1) < four_digits);
    double ball =
        told_mm("{solid: ball, material: {index: 1.5}, diameter: 20 mm, gap: 6 mm, focal_length: 25 mm}", "diameter");
    assert_true(fabs(focal_mm(1.5, ball / 2, ball / 2, ball) / f - 1) < four_digits);
    assert_false(fabs(focal_mm(1.4, ball / 2, ball / 2, ball) / f - 1) < four_digits); /* twin: another material */
}

/* The index is that of the named material: acrylic's, not that of the case before. */
static void it_is_of_this_material(void **state) {
    (void)state;
    double acrylic = told_mm("{solid: plano-convex, " SEAT "focal_length: 25 mm, thickness: 6 mm}", "radius");
    double glass =
        told_mm("{solid: plano-convex, material: crown glass, diameter: 20 mm, gap: 6 mm, focal_length: 25 "
                "mm, thickness: 6 mm}",
                "radius");
    struct luxfall_material material = {.kind = LUXFALL_MATERIAL_NAMED, .name = "acrylic"};
    double index = 0;
    assert_int_equal(luxfall_material_index(&material, 0, &index, NULL), LUXFALL_OK);
    assert_true(fabs(focal_mm(index, INFINITY, acrylic, 6) / 25 - 1) < four_digits);
    assert_false(fabs(focal_mm(index, INFINITY, glass, 6) / 25 - 1) < four_digits); /* twin */
}

/* Where no one length says it, the formula does. */
static void others_are_told_the_formula(void **state) {
    (void)state;
    static const char general[] = "1 / f = (n - 1) (1 / R1 + 1 / R2 - (n - 1) d / (n R1 R2))";
    static const char *const cases[][2] = {
        {"{solid: meniscus, " SEAT "focal_length: 25 mm, thickness: 6 mm}", general},
        {"{solid: aspheric, " SEAT "focal_length: 25 mm, thickness: 6 mm, towards: flat, away: {radius: 20 mm}}",
         general},
        {"{solid: biconvex, " SEAT "focal_length: 5 mm, thickness: 9 mm}",
         "(n - 1) f (1 + sqrt(1 - d / (n f))), with a thickness d of at most n f\n"},
        {"{solid: collimator, material: acrylic, diameter: 20 mm, focal_length: 25 mm}",
         "unknown key 'focal_length' in a traced lens"},
    };
    for (size_t i = 0; i < sizeof cases / sizeof *cases; i++) {
        char *text = with(sound_scene, BEAM, cases[i][0]);
        struct outcome outcome = read_text(text);
        if (outcome.errors != 1 || strstr(outcome.said, cases[i][1]) == NULL || strstr(outcome.said, "write '"))
            fail_msg("%s: it said\n%s", cases[i][0], outcome.said);
        outcome_clear(&outcome);
        free(text);
    }
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(words_say_what_sizes_say),
        cmocka_unit_test(they_come_back),
        cmocka_unit_test(a_sheet_becomes_a_collimator),
        cmocka_unit_test(mistakes_are_told_at_their_place),
        cmocka_unit_test(mistakes_of_cups_pipes_and_bodies_too),
        cmocka_unit_test(a_focal_length_is_told_as_curves),
        cmocka_unit_test(it_is_of_this_material),
        cmocka_unit_test(others_are_told_the_formula),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
