/* The workshop sheet: nothing touches or leaves the paper, what is drawn has the size that its words tell, brackets
 * that are alike are told as one. The scenes are invented. */
#include "audit.h"
#include "invented.h"
#include "render/figures/figure_bracket.h"

#include <math.h>
#include <png.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

#include <setjmp.h>

#include <cmocka.h>

#define HEAD                                                                  \
    "emitters: {die: {surface: 1.2 mm x 1.2 mm, flux: 95 lm}}\n"              \
    "lenses:\n"                                                               \
    "  medium: {beam_angle: 24 deg, efficiency: 84 %, face: disc 18 mm}\n"    \
    "  oblong: {beam_angle: 24 deg, efficiency: 84 %, face: 12 mm x 30 mm}\n" \
    "target: {size: 160 mm x 160 mm, cell: 4 mm}\n"                           \
    "fields: [{name: frame, size: 36 mm x 27 mm}]\n"                          \
    "modules:\n"
#define GROUP(name, lens, rest) "  - {name: " name ", emitter: die, lens: " lens ", " rest "}\n"
#define RING(name, rest) GROUP(name, "medium", "ring: {" rest "}")

static const char ring_of_eight[] = HEAD RING("ring", "count: 8, distance: 165 mm, incidence: 38 deg");
static const char thousand[] =
    HEAD GROUP("grid", "medium", "aim: down, grid: {columns: 40, rows: 25, pitch: 30 mm x 30 mm, height: 300 mm}");

static const char *const cases[] = {
    HEAD GROUP("lamp", "medium", "single: {distance: 165 mm, incidence: 38 deg, azimuth: 120 deg}"),
    HEAD GROUP("lamp", "none", "single: {height: 165 mm}"),
    HEAD GROUP("lamp", "oblong", "dark: [2], line: {count: 2, pitch: 150 mm, height: 100 mm, direction: 30 deg}"),
    ring_of_eight,
    HEAD GROUP("low", "medium", "aim: 20 mm short, dark: [3], ring: {count: 8, distance: 160 mm, incidence: 55 deg}")
        RING("high", "count: 4, distance: 160 mm, incidence: 25 deg, start: 22.5 deg"),
    HEAD RING("ring", "count: 60, distance: 265 mm, incidence: 50 deg"),
    HEAD GROUP("bar", "medium", "line: {count: 8, pitch: 40 mm, height: 150 mm}"),
    HEAD GROUP("bar", "medium", "aim: down, line: {count: 8, pitch: 40 mm, height: 150 mm, direction: 90 deg}"),
    HEAD GROUP("rake", "none", "single: {distance: 600 mm, incidence: 85 deg}")
        GROUP("bar", "oblong", "aim: down, line: {count: 5, pitch: 40 mm, height: 120 mm}")
            GROUP("askew with a name as long as forty letters", "medium",
                  "aim: [15 mm, -20 mm], at: [80 mm, 90 mm, 200 mm], lean: 5 deg towards 45 deg"),
    HEAD GROUP("sky", "medium", "at: [50 mm, 0, 200 mm], lean: 90 deg towards 180 deg"),
    HEAD GROUP("far", "medium", "at: [90 m, 0, 100 m], aim: 20 m past"),
    HEAD GROUP("grid", "medium", "aim: centre, grid: {columns: 12, rows: 1, pitch: 30 mm x 30 mm, height: 300 mm}"),
    thousand,
};
enum { CASES = sizeof cases / sizeof *cases };

static void draw(struct page *page, const struct scene *scene, size_t number, int width_px,
                 struct sheet_layout *layout) {
    struct figure_error error;
    struct figure_style style = {.width_px = width_px};
    if (figure_bracket_draw(page, scene, number, &style, layout, &error) != 0)
        fail_msg("%s", error.text);
}

static size_t pages_of(const struct scene *scene) {
    struct figure_error error;
    size_t pages = 0;
    assert_int_equal(figure_bracket_pages(scene, &(struct figure_style){0}, &pages, &error), 0);
    return pages;
}

/* ---- words ------------------------------------------------------------------------------------------------------
 */

static void no_text_on_any_sheet_touches_another(void **state) {
    (void)state;
    for (size_t c = 0; c < CASES; c++) {
        struct scene *scene = scene_of(cases[c]);
        size_t pages = pages_of(scene);
        for (size_t number = 1; number <= pages; number += number == 1 || number + 1 >= pages ? 1 : pages - 2) {
            struct page page;
            struct sheet_layout layout;
            char what[64];
            draw(&page, scene, number, 1754, &layout);
            snprintf(what, sizeof what, "sheet %zu, page %zu", c, number);
            assert_int_equal(audit_page(&page, 0.1 * page.unit, what), 0);
            page_end(&page);
        }
        scene_free(scene);
    }
}

/* Words of the plan that stand on one line, closer than two letters are wide, read as one. */
static size_t count_run_together(const struct page *page, struct rect plan) {
    size_t found = 0;
    for (size_t i = 0; i < page->text_count; i++)
        for (size_t j = 0; j < page->text_count; j++) {
            struct rect left = page->texts[i].ink, right = page->texts[j].ink;
            double gap = right.x0 - left.x1;
            bool in_plan = rect_holds(plan, left) && rect_holds(plan, right);
            bool on_line = fmin(left.y1, right.y1) - fmax(left.y0, right.y0) > (left.y1 - left.y0) / 2;
            found += in_plan && on_line && gap >= 0 && gap < page->unit;
        }
    return found;
}

static void words_of_the_plan_do_not_read_as_one(void **state) {
    (void)state;
    for (size_t c = 0; c < CASES; c++) {
        struct scene *scene = scene_of(cases[c]);
        struct page page;
        struct sheet_layout layout;
        draw(&page, scene, 1, 1754, &layout);
        struct rect box = layout.plan.box;
        double u = page.unit;
        size_t found = count_run_together(&page, (struct rect){box.x0 * u, box.y0 * u, box.x1 * u, box.y1 * u});
        if (found > 0)
            fail_msg("sheet %zu: %zu pairs of words run together", c, found);
        page_end(&page);
        scene_free(scene);
    }
}

static void the_sheet_tells_every_number_where_there_is_room(void **state) {
    (void)state;
    static const struct {
        size_t which, numbered_least, pages;
    } wanted[] = {{0, 1, 1}, {2, 2, 1}, {3, 8, 1}, {5, 30, 2}, {6, 8, 1}, {12, 2, 13}};
    for (size_t i = 0; i < sizeof wanted / sizeof *wanted; i++) {
        struct scene *scene = scene_of(cases[wanted[i].which]);
        struct page page;
        struct sheet_layout layout;
        draw(&page, scene, 1, 1754, &layout);
        assert_true(layout.numbered >= wanted[i].numbered_least);
        assert_int_equal(pages_of(scene), wanted[i].pages);
        page_end(&page);
        scene_free(scene);
    }
}

/* ---- sizes ------------------------------------------------------------------------------------------------------
 */

struct picture {
    png_uint_32 width, height, per_metre;
    unsigned char *rgb;
};

static struct picture read_picture(const char *path) {
    struct picture picture = {0};
    png_uint_32 across, up;
    int unit;
    FILE *stream = fopen(path, "rb");
    assert_non_null(stream);
    png_structp png = png_create_read_struct(PNG_LIBPNG_VER_STRING, NULL, NULL, NULL);
    png_infop info = png_create_info_struct(png);
    png_init_io(png, stream);
    png_read_info(png, info);
    picture.width = png_get_image_width(png, info);
    picture.height = png_get_image_height(png, info);
    png_get_pHYs(png, info, &across, &up, &unit);
    assert_int_equal(unit, PNG_RESOLUTION_METER);
    assert_int_equal(across, up);
    picture.per_metre = across;
    picture.rgb = malloc(3 * (size_t)picture.width * picture.height);
    for (png_uint_32 y = 0; y < picture.height; y++)
        png_read_row(png, picture.rgb + 3 * (size_t)picture.width * y, NULL);
    png_destroy_read_struct(&png, &info, NULL);
    fclose(stream);
    return picture;
}

static struct picture sheet_picture(const struct scene *scene) {
    struct figure_error error;
    char path[] = "/tmp/luxfall-sheet-XXXXXX";
    int fd = mkstemp(path);
    assert_true(fd >= 0);
    close(fd);
    if (figure_bracket(path, scene, 1, &(struct figure_style){0}, &error) != 0)
        fail_msg("%s", error.text);
    struct picture picture = read_picture(path);
    unlink(path);
    return picture;
}

static bool is_black(const struct picture *picture, double x, double y) {
    return picture->rgb[3 * ((size_t)lround(y) * picture->width + (size_t)lround(x))] < 96;
}

/* Black pixels in a row, to both sides of a place. */
static double run_across(const struct picture *picture, double x, double y) {
    double left = x, right = x;
    while (is_black(picture, left - 1, y))
        left--;
    while (is_black(picture, right + 1, y))
        right++;
    return right - left + 1;
}

/* Printed at its own size the sheet is A4 (ISO 216: 210 mm x 297 mm), 300 dots an inch. */
static void the_sheet_prints_as_a4(void **state) {
    (void)state;
    struct scene *scene = scene_of(ring_of_eight);
    struct picture picture = sheet_picture(scene);
    double wide_mm = 1000.0 * picture.width / picture.per_metre,
           high_mm = 1000.0 * picture.height / picture.per_metre;
    assert_true(fabs(wide_mm - 297) < 0.1 && fabs(high_mm - 210) < 0.1);
    assert_true(fabs(picture.per_metre * 0.0254 - 300) < 0.5);
    assert_false(fabs(wide_mm - 170) < 0.1); /* twin: the width of the other pictures */
    free(picture.rgb);
    scene_free(scene);
}

/* The scale bar and a dimension line, measured on the picture as a ruler would: black pixels, times the size of a
 * pixel in print, times the scale that the heading tells. The ring's width is 2 x 165 sin 38 deg mm. */
static void what_is_drawn_has_the_size_that_is_told(void **state) {
    (void)state;
    struct scene *scene = scene_of(ring_of_eight);
    struct picture picture = sheet_picture(scene);
    struct page page;
    struct sheet_layout layout;
    draw(&page, scene, 1, 0, &layout);
    double px_mm = 1000.0 / picture.per_metre, u = page.unit;
    char scale[SCALE_SIZE];
    sheet_scale_text(layout.plan.scale, scale);
    assert_string_equal(scale, "1:2.5");
    double bar = run_across(&picture, (layout.bar.x0 + 2) * u, layout.bar.y0 * u) * px_mm * 2.5;
    assert_true(fabs(bar / layout.bar_mm - 1) < 0.02);
    double width = run_across(&picture, (layout.width.x0 + 3) * u, layout.width.y0 * u) * px_mm * 2.5;
    double wanted = 2 * 165 * sin(38 * acos(-1) / 180);
    assert_true(fabs(width / wanted - 1) < 0.01);
    assert_true(fabs(layout.width_mm / wanted - 1) < 1e-12);
    assert_false(fabs(width / (2 * 165) - 1) < 0.01); /* twin: the slant distance for the radius */
    free(picture.rgb);
    page_end(&page);
    scene_free(scene);
}

/* Scales of technical drawings: ISO 5455 has 1, 2, 5 and their tens (memory). The twin asks for a box too small. */
static void scales_are_the_largest_that_fit(void **state) {
    (void)state;
    static const struct {
        double wide, high, box_wide, box_high;
        const char *text;
    } wanted[] = {{100, 50, 100, 100, "1:1"},     {101, 50, 100, 100, "1:2"},  {230, 50, 100, 100, "1:2.5"},
                  {10, 350, 100, 100, "1:4"},     {450, 10, 100, 100, "1:5"},  {10, 2, 100, 100, "10:1"},
                  {99000, 1, 100, 100, "1:1000"}, {30, 30, 100, 100, "2.5:1"}, {1, 1, 100, 100, "20:1"}};
    for (size_t i = 0; i < sizeof wanted / sizeof *wanted; i++) {
        char text[SCALE_SIZE];
        double scale =
            sheet_scale(wanted[i].wide, wanted[i].high, wanted[i].box_wide, wanted[i].box_high, SHEET_SCALE_MOST);
        sheet_scale_text(scale, text);
        assert_string_equal(text, wanted[i].text);
        assert_true(scale * wanted[i].wide <= wanted[i].box_wide * (1 + 1e-9));
        assert_true(scale * wanted[i].high <= wanted[i].box_high * (1 + 1e-9));
    }
    assert_true(sheet_scale(100, 50, 99, 100, SHEET_SCALE_MOST) * 100 < 99);
}

/* ---- clock and kinds --------------------------------------------------------------------------------------------
 */

/* A clock's face: 12 up, 3 to the right (definition). The twin runs counter-clockwise. */
static void hours_run_clockwise_from_the_top(void **state) {
    (void)state;
    static const struct {
        double deg;
        const char *hour, *mirrored;
    } wanted[] = {{0, "3:00", "9:00"},      {90, "12:00", "12:00"}, {180, "9:00", "3:00"},   {270, "6:00", "6:00"},
                  {315, "4:30", "7:30"},    {45, "1:30", "10:30"},  {359.9, "3:00", "9:00"}, {60, "1:00", "11:00"},
                  {89.8, "12:00", "12:00"}, {75, "12:30", "11:30"}};
    int same = 0;
    for (size_t i = 0; i < sizeof wanted / sizeof *wanted; i++) {
        char hour[CLOCK_SIZE];
        clock_hour_text(wanted[i].deg * acos(-1) / 180, hour);
        assert_string_equal(hour, wanted[i].hour);
        same += strcmp(hour, wanted[i].mirrored) == 0;
    }
    assert_int_equal(same, 3);
}

static size_t kinds_of(const char *text, size_t *most) {
    struct scene *scene = scene_of(text);
    struct bracket_list list;
    assert_int_equal(bracket_list_make(&scene->light, &list), 0);
    size_t kinds = list.kind_count, sum = 0;
    *most = 0;
    for (size_t k = 0; k < kinds; k++) {
        sum += list.kinds[k].count;
        *most = list.kinds[k].count > *most ? list.kinds[k].count : *most;
    }
    assert_int_equal(sum, scene->light.module_count);
    bracket_list_free(&list);
    scene_free(scene);
    return kinds;
}

static void brackets_that_are_alike_are_one_kind(void **state) {
    (void)state;
    size_t most;
    assert_int_equal(kinds_of(ring_of_eight, &most), 1);
    assert_int_equal(most, 8);
    assert_int_equal(kinds_of(thousand, &most), 1);
    assert_int_equal(kinds_of(HEAD GROUP("bar", "medium", "line: {count: 8, pitch: 40 mm, height: 150 mm}"), &most),
                     4);
    assert_int_equal(most, 2);
    /* Twins: another lens, another height, a lean to one side of the ring. */
    assert_int_equal(kinds_of(HEAD RING("a", "count: 4, distance: 165 mm, incidence: 38 deg")
                                  GROUP("b", "oblong", "ring: {count: 4, distance: 165 mm, incidence: 38 deg}"),
                              &most),
                     2);
    assert_int_equal(kinds_of(HEAD RING("a", "count: 4, distance: 165 mm, incidence: 38 deg")
                                  RING("b", "count: 4, distance: 165.1 mm, incidence: 38 deg"),
                              &most),
                     2);
    assert_int_equal(kinds_of(HEAD GROUP("a", "medium",
                                         "lean: 2 deg towards 90 deg, ring: {count: 4, distance: 165 "
                                         "mm, incidence: 38 deg}"),
                              &most),
                     4);
}

static void kinds_are_lettered_as_columns_are(void **state) {
    (void)state;
    static const struct {
        size_t kind;
        const char *letter;
    } wanted[] = {{0, "A"}, {25, "Z"}, {26, "AA"}, {51, "AZ"}, {52, "BA"}, {701, "ZZ"}, {702, "AAA"}};
    for (size_t i = 0; i < sizeof wanted / sizeof *wanted; i++) {
        char letter[KIND_SIZE];
        bracket_kind_letter(wanted[i].kind, letter);
        assert_string_equal(letter, wanted[i].letter);
    }
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(no_text_on_any_sheet_touches_another),
        cmocka_unit_test(words_of_the_plan_do_not_read_as_one),
        cmocka_unit_test(the_sheet_tells_every_number_where_there_is_room),
        cmocka_unit_test(the_sheet_prints_as_a4),
        cmocka_unit_test(what_is_drawn_has_the_size_that_is_told),
        cmocka_unit_test(scales_are_the_largest_that_fit),
        cmocka_unit_test(hours_run_clockwise_from_the_top),
        cmocka_unit_test(brackets_that_are_alike_are_one_kind),
        cmocka_unit_test(kinds_are_lettered_as_columns_are),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
