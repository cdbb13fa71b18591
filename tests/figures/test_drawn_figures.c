/* Drawn optics and layouts: nothing touches or leaves the paper, what is drawn has the size that its words tell. The
 * scenes are invented. */
#include "audit.h"
#include "decoded.h"
#include "invented.h"
#include "render/figures/layout_sheet.h"
#include "render/figures/optic_sheet.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

#include <setjmp.h>

#include <cmocka.h>

#define HEAD                                                                                           \
    "title: Invented lenses\n"                                                                         \
    "emitters:\n"                                                                                      \
    "  die: {surface: 1.2 mm x 1.2 mm, flux: 95 lm}\n"                                                 \
    "  four: {surface: 1 mm x 1 mm, flux: 95 lm, dies: {columns: 2, rows: 2, pitch: 1.2 mm}}\n"        \
    "  row: {surface: disc 1 mm, flux: 95 lm, dies: {columns: 5, rows: 1, pitch: 1.5 mm}}\n"           \
    "  dot: {surface: point, flux: 95 lm}\n"                                                           \
    "target: {size: 160 mm x 160 mm, cell: 4 mm}\n"                                                    \
    "covers:\n"                                                                                        \
    "  pane: {kind: window, diameter: 30 mm, thickness: 2 mm, material: acrylic, texture: 5 deg}\n"    \
    "  soft: {kind: film, diameter: 22 mm, width: 20 deg, passes: 90 %, sends_back: 8 %, gap: 1 mm}\n" \
    "  milk: {kind: opal, diameter: 10 mm, passes: 50 %}\n"                                            \
    "  barrel: {kind: stop, diameter: 40 mm, hole: 18 mm, height: 5 mm}\n"
#define FIELDS "fields: [{name: frame, size: 36 mm x 27 mm}, {name: round, size: disc 8 mm, at: [20 mm, 5 mm]}]\n"

/* Emitter, lens, how the module is built. */
static const char *const optics[][3] = {
    {"die", "solid: collimator, material: acrylic, diameter: 20 mm, height: 11 mm, hollow: 6 mm, middle: 4 mm", ""},
    {"die", "solid: collimator, material: acrylic, diameter: 20 mm, texture: 10 deg",
     ", built: {seat: -0.3 mm, decentre: [0.1 mm, 0.4 mm], lens_lean: 2 deg towards 90 deg}"},
    {"four",
     "solid: plano-convex, material: {index: 1.49}, diameter: 25 mm, radius: 15 mm, thickness: 9 mm, gap: 16 mm", ""},
    {"die",
     "solid: plano-convex, material: {index: 1.49}, diameter: 25 mm, radius: 15 mm, thickness: 9 mm, gap: 0.2 "
     "mm, curved: towards",
     ""},
    {"die",
     "solid: biconvex, material: crown glass, diameter: 20 mm, radii: [30 mm, 18 mm], thickness: 8 mm, gap: 12 "
     "mm",
     ""},
    {"die",
     "solid: meniscus, material: acrylic, diameter: 20 mm, radii: [-30 mm, 14 mm], thickness: 6 mm, gap: 8 mm, "
     "holder: open",
     ", built: {lens_lean: 20 deg towards 180 deg, die_shift: [1 mm, 0 mm]}"},
    {"dot", "solid: ball, material: acrylic, diameter: 0.5 mm, gap: 0.03 mm", ""},
    {"row", "solid: light pipe, material: acrylic, section: 9 mm x 6 mm, length: 300 mm, gap: 0.5 mm", ""},
    {"die", "solid: light pipe, material: acrylic, section: disc 3 mm, length: 4 mm, gap: 0 mm", ""},
    {"die",
     "solid: fresnel, material: acrylic, diameter: 50 mm, thickness: 2 mm, focal_length: 40 mm, pitch: 0.5 mm, "
     "gap: 40 mm",
     ""},
    {"die",
     "solid: aspheric, material: acrylic, diameter: 24 mm, thickness: 10 mm, gap: 12 mm, towards: {radius: 60 "
     "mm, conic: -3}, away: {radius: 12 mm, conic: -1, powers: [-0.000001]}",
     ""},
    {"die",
     "solid: reflector, opening: 30 mm, focal_length: 5 mm, second_focus: 80 mm, hole: 9 mm, reflectance: 88 %", ""},
    {"die", "solid: concentrator, small_end: 3 mm, beam: 40 deg, reflectance: 92 %", ""},
    {"die", "beam_angle: 24 deg, efficiency: 84 %, face: disc 18 mm", ", cover: [pane, soft, milk, barrel]"},
    {"die", "solid: collimator, material: acrylic, diameter: 20 mm, lenslets: {pitch: 2 mm, radius: 4 mm}",
     ", cover: soft"},
};
enum { OPTICS = sizeof optics / sizeof *optics };

static struct scene *scene_of_optic(size_t which) {
    char text[4000];
    snprintf(text, sizeof text,
             "%slenses: {lens: {%s}}\nmodules: [{name: lamp, emitter: %s, lens: lens, single: {height: 400 mm}%s}]\n",
             HEAD FIELDS, optics[which][1], optics[which][0], optics[which][2]);
    return scene_of(text);
}

static struct figure_fan fan_of(const struct scene *scene) {
    struct figure_fan fan;
    struct luxfall_error error;
    if (figure_fan_make(&scene->light, 0, 29, &fan, &error) != LUXFALL_OK)
        fail_msg("%s", error.text);
    return fan;
}

static void draw_optic(struct page *page, const struct scene *scene, const struct figure_fan *fan, int width_px,
                       struct optic_told *told) {
    struct figure_error error;
    const struct figure_style style = {.width_px = width_px};
    const struct figure_optic optic = {fan, 0, 1, 1, "lamp, lamp two, and a third one with a name quite long"};
    if (figure_optic_draw(page, scene, &optic, &style, told, &error) != 0)
        fail_msg("%s", error.text);
}

/* ---- words ----------------------------------------------------------------------------------------------------- */

static void no_text_of_an_optic_touches_another(void **state) {
    (void)state;
    for (size_t i = 0; i < OPTICS; i++) {
        struct scene *scene = scene_of_optic(i);
        struct figure_fan fan = fan_of(scene);
        struct page page;
        struct optic_told told;
        char what[32];
        draw_optic(&page, scene, &fan, 1754, &told);
        snprintf(what, sizeof what, "optic %zu", i);
        assert_int_equal(audit_page(&page, 0.1 * page.unit, what), 0);
        assert_true(told.count >= 3);
        page_end(&page);
        figure_fan_free(&fan);
        scene_free(scene);
    }
}

#define LENS_HEAD "lenses: {medium: {beam_angle: 24 deg, efficiency: 84 %, face: disc 18 mm}}\nmodules:\n"
#define SHEET_HEAD HEAD FIELDS LENS_HEAD
#define GROUP(name, rest) "  - {name: " name ", emitter: die, lens: medium, " rest "}\n"
static const char *const layouts[] = {
    SHEET_HEAD GROUP("ring", "ring: {count: 8, distance: 165 mm, incidence: 38 deg}"),
    SHEET_HEAD GROUP("bar", "aim: down, line: {count: 8, pitch: 40 mm, height: 150 mm, direction: 90 deg}"),
    SHEET_HEAD GROUP("rake",
                     "single: {distance: 600 mm, incidence: 80 deg, azimuth: 180 deg}, lean: 0.5 deg towards 0 deg"),
    SHEET_HEAD GROUP("low", "aim: 20 mm short, dark: [3], ring: {count: 8, distance: 160 mm, incidence: 55 deg}")
        GROUP("high", "ring: {count: 4, distance: 160 mm, incidence: 25 deg, start: 22.5 deg}")
            GROUP("askew", "at: [80 mm, 90 mm, 200 mm], lean: 5 deg towards 45 deg"),
    SHEET_HEAD GROUP("sky", "at: [50 mm, 0, 200 mm], lean: 90 deg towards 180 deg"),
    SHEET_HEAD GROUP("one", "at: [50 mm, 0, 250 mm], lean: 10 deg towards 180 deg")
        GROUP("nearly there", "at: [50 mm, 0, 251 mm], lean: 10 deg towards 180 deg"),
    SHEET_HEAD GROUP("grid", "aim: down, grid: {columns: 12, rows: 10, pitch: 30 mm x 30 mm, height: 300 mm}"),
};
enum { LAYOUTS = sizeof layouts / sizeof *layouts };

static void draw_layout(struct page *page, const struct scene *scene, int width_px, struct layout_side *side) {
    struct figure_error error;
    struct sheet_layout plan;
    if (figure_layout_draw(page, scene, &(struct figure_style){.width_px = width_px}, &plan, side, &error) != 0)
        fail_msg("%s", error.text);
}

static void no_text_of_a_layout_touches_another(void **state) {
    (void)state;
    for (size_t i = 0; i < LAYOUTS; i++) {
        struct scene *scene = scene_of(layouts[i]);
        struct page page;
        struct layout_side side;
        char what[32];
        draw_layout(&page, scene, 1754, &side);
        snprintf(what, sizeof what, "layout %zu", i);
        assert_int_equal(audit_page(&page, 0.1 * page.unit, what), 0);
        assert_true(side.numbered >= 1);
        clutter_free(&side.clutter);
        page_end(&page);
        scene_free(scene);
    }
}

/* Words of the sheet with lines under their ink. */
static int words_on_lines(const struct page *page, const struct clutter *clutter, const char *what) {
    int count = 0;
    for (size_t i = 0; i < page->text_count; i++)
        if (clutter_lines_under(clutter, page->texts[i].ink) > 0) {
            fprintf(stderr, "%s: \"%s\" lies on a line\n", what, page->texts[i].start);
            count++;
        }
    return count;
}

/* Rings of few and many modules, their numbers all told, by two from the side. Twin: a line planted in a word. */
static void no_words_about_a_ring_lie_on_a_line(void **state) {
    (void)state;
    static const int counts[] = {3, 8, 9, 10, 12, 16, 24};
    for (size_t i = 0; i < sizeof counts / sizeof *counts; i++) {
        char text[4000], what[32];
        snprintf(text, sizeof text, "%s", layouts[0]);
        char *count = strstr(text, "count: 8");
        snprintf(count, sizeof text - (size_t)(count - text), "count: %d, distance: 165 mm, incidence: 38 deg}}\n",
                 counts[i]);
        struct scene *scene = scene_of(text);
        struct page page;
        struct layout_side side;
        draw_layout(&page, scene, 1754, &side);
        snprintf(what, sizeof what, "ring of %d", counts[i]);
        assert_int_equal(audit_page(&page, 0.1 * page.unit, what), 0);
        assert_int_equal(words_on_lines(&page, &side.clutter, what), 0);
        assert_true(side.numbered >= (size_t)counts[i] / 2 - 1);
        struct rect ink = page.texts[page.text_count - 3].ink;
        clutter_add_line(&side.clutter, (struct segment){ink.x0, ink.y0, ink.x1, ink.y1});
        assert_true(words_on_lines(&page, &side.clutter, "twin, expected") >= 1);
        clutter_free(&side.clutter);
        page_end(&page);
        scene_free(scene);
    }
}

/* ---- sizes ----------------------------------------------------------------------------------------------------- */

/* Black pixels in a row, to both sides of a place. */
static double run_across(const struct picture *picture, double x, double y) {
    double left = x, right = x;
    static const unsigned char black[3] = {0, 0, 0};
    while (colour_miss(picture, left - 1, y, black) < 96)
        left--;
    while (colour_miss(picture, right + 1, y, black) < 96)
        right++;
    return right - left + 1;
}

static void read_optic(size_t which, struct picture *picture, struct optic_told *told) {
    struct scene *scene = scene_of_optic(which);
    struct figure_fan fan = fan_of(scene);
    struct figure_error error;
    struct page page;
    char path[] = "/tmp/luxfall-drawn-XXXXXX";
    int fd = mkstemp(path);
    const struct figure_optic optic = {&fan, 0, 1, 1, "lamp"};
    assert_true(fd >= 0);
    close(fd);
    draw_optic(&page, scene, &fan, 0, told);
    page_end(&page);
    if (figure_optic(path, scene, &optic, &(struct figure_style){0}, &error) != 0)
        fail_msg("%s", error.text);
    read_picture(path, picture);
    unlink(path);
    figure_fan_free(&fan);
    scene_free(scene);
}

static double told_line(const struct optic_told *told, double mm, bool level) {
    for (size_t i = 0; i < told->count; i++) {
        const struct segment *s = &told->line[i];
        if (fabs(told->mm[i] - mm) < 1e-6 && (s->y0 == s->y1) == level)
            return hypot(s->x1 - s->x0, s->y1 - s->y0) / told->scale;
    }
    return NAN;
}

static size_t told_along(const struct optic_told *told) {
    size_t count = 0;
    for (size_t i = 0; i < told->count; i++)
        count += told->line[i].y0 == told->line[i].y1;
    return count;
}

/* A wall of several pieces has one length, ((d + D) / 2) / tan of half the beam; of the cup with a second focus
 * (twin) the part under the die, the part above and the whole are told. */
static void pieces_of_a_wall_are_not_told(void **state) {
    (void)state;
    struct picture picture;
    struct optic_told told;
    const double sine = sin(20 * acos(-1) / 180);
    read_optic(12, &picture, &told);
    assert_true(fabs(told_line(&told, 1.5 * (1 + 1 / sine) / tan(asin(sine)), true)) > 0);
    assert_int_equal(told_along(&told), 1);
    free_picture(&picture);
    read_optic(11, &picture, &told);
    assert_int_equal(told_along(&told), 3);
    free_picture(&picture);
}

/* Every size of the scene is told, its line as long as it says, the scale bar on the picture too: black pixels, times
 * their size in print, over the scale. Twin: the radius for the diameter. */
static void what_is_drawn_has_the_size_that_is_told(void **state) {
    (void)state;
    struct picture picture;
    struct optic_told told;
    read_optic(2, &picture, &told);
    double px_mm = 1000.0 / picture.per_metre_x, u = picture.width / SHEET_WIDTH_MM;
    assert_true(fabs(told_line(&told, 16, true) - 16) < 1e-6);
    assert_true(fabs(told_line(&told, 9, true) - 9) < 1e-6);
    assert_true(fabs(told_line(&told, 25, true) - 25) < 1e-6);
    assert_true(fabs(told_line(&told, 25, false) - 25) < 1e-6);
    assert_true(fabs(told_line(&told, 2.2, false) - 2.2) < 1e-6);
    assert_true(isnan(told_line(&told, 12.5, false)));
    double bar = run_across(&picture, (told.bar.x0 + 2) * u, told.bar.y0 * u) * px_mm / told.scale;
    assert_true(fabs(bar / told.bar_mm - 1) < 0.02);
    free_picture(&picture);
}

/* What stands on the lens of 11 mm, and what a builder measures from the board to the top of it: the sum of the
 * parts' own sizes. */
static const struct {
    const char *covers, *built;
    double top_mm;
    int seams;
} stacks[] = {
    {"flat", "", 13, 1},
    {"flat, sheet, tube", "", 19, 2},
    {"flat, flat, flat, flat", "", 19, 4},
    {"ribbed, flat", "", 11 + 3 + 0.25834 + 2, 2},
    {"flat, tube", ", built: {lens_lean: 6 deg towards 0 deg}", 18, 2},
    {"lifted, tube", "", 11 + 0.02 + 2 + 5, 1}, /* a gap that is the builder's own */
};

static struct scene *scene_of_stack(const char *covers, const char *built) {
    char text[2000];
    snprintf(text, sizeof text,
             "emitters: {die: {surface: 1.2 mm x 1.2 mm, flux: 95 lm}}\n"
             "lenses: {lens: {solid: collimator, material: acrylic, diameter: 20 mm, height: 11 mm}}\n"
             "covers:\n"
             "  flat: {kind: window, diameter: 30 mm, thickness: 2 mm, material: acrylic}\n"
             "  lifted: {kind: window, diameter: 30 mm, thickness: 2 mm, material: acrylic, gap: 0.02 mm}\n"
             "  ribbed: {kind: window, diameter: 30 mm, thickness: 3 mm, material: acrylic, lenslets: {pitch: 2 mm, "
             "radius: 4 mm}}\n"
             "  sheet: {kind: film, diameter: 22 mm, width: 20 deg, passes: 90 %%, sends_back: 8 %%, gap: 1 mm}\n"
             "  tube: {kind: stop, diameter: 40 mm, hole: 18 mm, height: 5 mm}\n"
             "modules: [{name: lamp, emitter: die, lens: lens, single: {height: 400 mm}, cover: [%s]%s}]\n"
             "target: {size: 160 mm x 160 mm, cell: 4 mm}\n",
             covers, built);
    return scene_of(text);
}

/* The air that is traced between parts that touch is nothing to be measured. Of spherical lenslets that rise by
 * R - sqrt(R^2 - p^2 / 2), R 4 mm, p 2 mm, the tops count. Twin: what is on paper, which has 0.01 mm of air in each
 * seam. */
static void touching_parts_add_up_to_their_sizes(void **state) {
    (void)state;
    for (size_t i = 0; i < sizeof stacks / sizeof *stacks; i++) {
        struct scene *scene = scene_of_stack(stacks[i].covers, stacks[i].built);
        struct figure_fan fan = fan_of(scene);
        struct page page;
        struct optic_told told;
        size_t most = 0; /* the first is along the axis */
        draw_optic(&page, scene, &fan, 1754, &told);
        for (size_t k = 0; k < told.count; k++)
            if (told.line[k].y0 == told.line[k].y1 && told.mm[k] > told.mm[most])
                most = k;
        double drawn = fabs(told.line[most].x1 - told.line[most].x0) / told.scale;
        if (fabs(told.mm[most] - stacks[i].top_mm) > 0.001)
            fail_msg("%s: %.5f mm told, %.5f mm to be measured", stacks[i].covers, told.mm[most], stacks[i].top_mm);
        if (stacks[i].built[0] == '\0') /* a leaning axis is measured along itself, drawn level */
            assert_true(fabs(drawn - stacks[i].top_mm - 0.01 * stacks[i].seams) < 0.001);
        page_end(&page);
        figure_fan_free(&fan);
        scene_free(scene);
    }
}

/* Pixels of the glass's tone lie in the lens of the scene and nowhere else: right of the flat side, left of the
 * sphere; and fill more than half of it, rays and lines taking the rest. */
static void what_is_tinted_is_the_lens(void **state) {
    (void)state;
    struct picture picture;
    struct optic_told told;
    read_optic(2, &picture, &told);
    const unsigned char glass[3] = {219, 232, 242};
    double u = picture.width / SHEET_WIDTH_MM, board = NAN, axis = NAN, tinted = 0;
    for (size_t i = 0; i < told.count; i++) {
        const struct segment *s = &told.line[i];
        if (told.mm[i] == 25 && s->x0 == s->x1)
            axis = (s->y0 + s->y1) / 2;
        else if (told.mm[i] == 16)
            board = fmin(s->x0, s->x1);
    }
    for (png_uint_32 y = 0; y < picture.height; y++)
        for (png_uint_32 x = 0; x < picture.width; x++) {
            double z = (x / u - board) / told.scale, r = (y / u - axis) / told.scale;
            if (colour_miss(&picture, x, y, glass) > 1)
                continue;
            assert_true(z > 15.9 && hypot(z - 10, r) < 15.1 && fabs(r) < 12.6);
            tinted += 1 / (u * told.scale) / (u * told.scale);
        }
    double segment = 225 * asin(12.5 / 15) - 12.5 * sqrt(225 - 12.5 * 12.5), whole = 25 * 2.2917 + segment;
    assert_true(tinted > 0.5 * whole && tinted < whole);
    free_picture(&picture);
}

static bool is_written(const struct page *page, const char *words) {
    for (size_t i = 0; i < page->text_count; i++)
        if (strcmp(page->texts[i].start, words) == 0)
            return true;
    return false;
}

/* A field's width stands behind its name, unless the name tells it. Twins: a number that is part of another, or
 * counts something else. */
static void the_width_of_a_field_stands_once(void **state) {
    (void)state;
    static const char text[] =
        HEAD "fields: [{name: circle of 40 mm, size: disc 40 mm}, {name: 140 mm off, size: disc 40 mm}, "
             "{name: 9 frames, size: 9 mm x 7 mm}, {name: 2.5mm spot, size: disc 2.5 mm}]\n" LENS_HEAD GROUP(
                 "lamp", "single: {height: 250 mm}");
    static const char *const written[] = {"circle of 40 mm", "140 mm off 40", "9 frames 9", "2.5mm spot"};
    struct scene *scene = scene_of(text);
    struct page page;
    struct layout_side side;
    draw_layout(&page, scene, 1754, &side);
    for (size_t i = 0; i < sizeof written / sizeof *written; i++)
        if (!is_written(&page, written[i]))
            fail_msg("nowhere on the sheet: %s", written[i]);
    clutter_free(&side.clutter);
    page_end(&page);
    scene_free(scene);
}

/* The highest module's height, 165 cos 38 deg mm. Twin: the slant distance. */
static void the_side_view_is_to_scale(void **state) {
    (void)state;
    struct scene *scene = scene_of(layouts[0]);
    struct page page;
    struct layout_side side;
    draw_layout(&page, scene, 1754, &side);
    double drawn = fabs(side.height.y1 - side.height.y0) / side.drawing.scale;
    assert_true(fabs(drawn - 165 * cos(38 * acos(-1) / 180)) < 1e-9);
    assert_true(fabs(side.height_mm - drawn) < 1e-9);
    assert_false(fabs(drawn - 165) < 1);
    assert_false(side.along_y);
    clutter_free(&side.clutter);
    page_end(&page);
    scene_free(scene);
    scene = scene_of(layouts[1]);
    draw_layout(&page, scene, 1754, &side);
    assert_true(side.along_y); /* a line along y shows from +x */
    assert_int_equal(side.numbered, 8);
    clutter_free(&side.clutter);
    page_end(&page);
    scene_free(scene);
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(no_text_of_an_optic_touches_another),
        cmocka_unit_test(no_text_of_a_layout_touches_another),
        cmocka_unit_test(no_words_about_a_ring_lie_on_a_line),
        cmocka_unit_test(pieces_of_a_wall_are_not_told),
        cmocka_unit_test(what_is_drawn_has_the_size_that_is_told),
        cmocka_unit_test(touching_parts_add_up_to_their_sizes),
        cmocka_unit_test(what_is_tinted_is_the_lens),
        cmocka_unit_test(the_width_of_a_field_stands_once),
        cmocka_unit_test(the_side_view_is_to_scale),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
