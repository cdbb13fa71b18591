/* Readings of a meter on map and section: rings and dots stand where the meter stood, their numbers touch nothing,
 * the caption counts what is left out. Invented readings. */
#include "audit.h"
#include "decoded.h"
#include "fixture.h"
#include "render/figures/figure_map.h"
#include "render/figures/figure_section.h"

#include <setjmp.h>
#include <stdarg.h>
#include <unistd.h>

#include <cmocka.h>

enum { READINGS = 30 };

struct bench {
    struct fixture fixture;
    struct scene_reading readings[READINGS];
    struct luxfall_estimate forecast_lx[READINGS];
    struct figure_readings told;
};

/* A grid of readings, five a row, the middle row along x; each is `ratio` times its forecast. */
static void make_bench(struct bench *b, const struct fixture_spec *spec, double head_mm, double ratio) {
    *b = (struct bench){0};
    fixture_make(&b->fixture, spec);
    double width = spec->columns * spec->cell_mm, height = spec->rows * spec->cell_mm;
    for (int i = 0; i < READINGS; i++) {
        struct scene_reading *r = &b->readings[i];
        r->taken.x_mm = (i % 5 - 2) * 0.2 * width;
        r->taken.y_mm = (i / 5 - 2) * 0.18 * height;
        r->taken.head_mm = head_mm;
        r->current_a = NAN;
        r->u_lx = i % 2 == 0 ? 0.02 * spec->peak_lx : NAN;
        double factor = spec->peak_lx / (fixture_lux(&b->fixture, 0, 0) + 1e-300);
        b->forecast_lx[i] = fixture_estimate(factor * fixture_lux(&b->fixture, r->taken.x_mm, r->taken.y_mm), 0);
        r->lx = ratio * b->forecast_lx[i].value;
    }
    b->told = (struct figure_readings){READINGS, b->readings, b->forecast_lx};
}

static void no_text_touches_another_where_readings_are_shown(void **state) {
    (void)state;
    static const int widths[] = {240, 700, 1400};
    static const double heads[] = {0, 8, 60};
    for (int c = 0; c < FIXTURE_CASES; c++)
        for (int k = 0; k < 9; k++) {
            struct bench b;
            struct page page;
            struct map_layout layout = {.unnamed_fields = 0};
            struct figure_error error = {0, ""};
            char *caption;
            make_bench(&b, &fixture_cases[c], heads[k / 3], 0.92);
            struct figure_style style = {.width_px = widths[k % 3], .readings = &b.told};
            assert_int_equal(
                figure_map_draw(&page, &b.fixture.scene, &b.fixture.result, 0, &style, &layout, &caption, &error), 0);
            assert_int_equal(audit_page(&page, 0.5 * page.unit, "map with readings"), 0);
            free(caption);
            page_end(&page);
            assert_int_equal(
                figure_section_draw(&page, &b.fixture.scene, &b.fixture.result, 0, &style, &caption, &error), 0);
            assert_int_equal(audit_page(&page, 0.5 * page.unit, "section with readings"), 0);
            free(caption);
            page_end(&page);
            fixture_free(&b.fixture);
        }
}

/* The words' middle that is nearest to a place on the page. */
static double nearest(const struct page *page, const char *words, double x, double y) {
    double least = INFINITY;
    for (size_t i = 0; i < page->text_count; i++)
        if (strcmp(page->texts[i].start, words) == 0) {
            struct rect ink = page->texts[i].ink;
            least = fmin(least, hypot((ink.x0 + ink.x1) / 2 - x, (ink.y0 + ink.y1) / 2 - y));
        }
    return least;
}

static void a_ratio_stands_at_its_ring(void **state) {
    (void)state;
    struct bench b;
    struct page page;
    struct map_layout layout = {.unnamed_fields = 0};
    struct figure_error error = {0, ""};
    char *caption;
    make_bench(&b, &fixture_cases[0], 8, 1);
    b.told.count = 1;
    b.readings[0].lx = 0.917 * b.forecast_lx[0].value;
    struct figure_style style = {.readings = &b.told};
    assert_int_equal(
        figure_map_draw(&page, &b.fixture.scene, &b.fixture.result, 0, &style, &layout, &caption, &error), 0);
    double x = (layout.map.x0 + layout.map.x1) / 2 + b.readings[0].taken.x_mm * layout.px_per_mm;
    double y = (layout.map.y0 + layout.map.y1) / 2 - b.readings[0].taken.y_mm * layout.px_per_mm;
    assert_true(nearest(&page, "\u22128\u202f%", x, y) < 4 * layout.px_per_mm + 40);
    assert_true(nearest(&page, "+8\u202f%", x, y) == INFINITY); /* twins: forecast over reading, and the other side */
    assert_true(nearest(&page, "\u22128\u202f%", 2 * (layout.map.x0 + layout.map.x1) / 2 - x, y) > 200);
    free(caption);
    page_end(&page);
    fixture_free(&b.fixture);
}

static void describe(const struct bench *b, bool section, struct picture *picture) {
    struct figure_error error = {0, ""};
    struct figure_style style = {.width_px = 1400, .readings = &b->told};
    char path[] = "/tmp/luxfall-readings-XXXXXX";
    int fd = mkstemp(path);
    assert_true(fd >= 0);
    close(fd);
    int status = section ? figure_section(path, &b->fixture.scene, &b->fixture.result, 0, &style, &error)
                         : figure_map(path, &b->fixture.scene, &b->fixture.result, 0, &style, &error);
    assert_int_equal(status, 0);
    read_picture(path, picture);
    unlink(path);
}

static void what_is_not_shown_is_counted(void **state) {
    (void)state;
    struct bench b;
    struct picture map, section;
    make_bench(&b, &fixture_cases[0], 8, 1);
    b.told.count = 5;
    b.readings[0].module = "ring 1";
    b.readings[1].current_a = 0.35;
    b.readings[2].taken.level_mm = 10;
    b.readings[3].taken.y_mm = 3.9; /* its head reaches the line along x, that of the last does not */
    b.readings[4].taken.y_mm = 4.1;
    describe(&b, false, &map);
    assert_non_null(strstr(map.description, "Rings: 2 readings,"));
    assert_non_null(strstr(map.description, "3 readings not shown"));
    describe(&b, true, &section);
    assert_non_null(strstr(section.description, "Dots: 1 reading within half a head of the lines;"));
    assert_non_null(strstr(section.description, "4 readings not shown"));
    free_picture(&map);
    free_picture(&section);
    b.readings[3].u_lx = 100; /* twin: a bar to speak of */
    describe(&b, true, &section);
    assert_non_null(strstr(section.description, "lines, bars their 95 % band;"));
    free_picture(&section);
    b.told.count = 0;
    describe(&b, false, &map); /* twin: nothing to tell */
    assert_null(strstr(map.description, "reading"));
    free_picture(&map);
    fixture_free(&b.fixture);
}

/* How many pixels of the ring that the head is drawn as are dark or white, at a radius in mm. */
static int ring_pixels(const struct picture *picture, const struct map_layout *layout, double x_mm, double y_mm,
                       double radius_mm) {
    int hits = 0;
    for (int i = 0; i < 72; i++) {
        double a = i * acos(-1) / 36, r = radius_mm * layout->px_per_mm;
        double x = (layout->map.x0 + layout->map.x1) / 2 + x_mm * layout->px_per_mm + r * cos(a);
        double y = (layout->map.y0 + layout->map.y1) / 2 - y_mm * layout->px_per_mm - r * sin(a);
        hits += colour_miss(picture, x, y, (const unsigned char[]){5, 5, 13}) < 60;
    }
    return hits;
}

static void the_ring_is_as_large_as_the_head(void **state) {
    (void)state;
    struct bench b;
    struct page page;
    struct map_layout layout = {.unnamed_fields = 0};
    struct figure_error error = {0, ""};
    struct picture map;
    char *caption;
    make_bench(&b, &fixture_cases[0], 12, 1);
    b.told.count = 1;
    b.readings[0].taken.x_mm = 20; /* where the map is bright */
    b.readings[0].taken.y_mm = 14;
    struct figure_style style = {.width_px = 1400, .readings = &b.told};
    assert_int_equal(
        figure_map_draw(&page, &b.fixture.scene, &b.fixture.result, 0, &style, &layout, &caption, &error), 0);
    free(caption);
    page_end(&page);
    describe(&b, false, &map);
    assert_true(ring_pixels(&map, &layout, 20, 14, 6) > 60);
    assert_true(ring_pixels(&map, &layout, 20, 14, 12) < 20); /* twins: diameter for radius, and upside down */
    assert_true(ring_pixels(&map, &layout, 20, -14, 6) < 20);
    free_picture(&map);
    fixture_free(&b.fixture);
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(no_text_touches_another_where_readings_are_shown),
        cmocka_unit_test(a_ratio_stands_at_its_ring),
        cmocka_unit_test(what_is_not_shown_is_counted),
        cmocka_unit_test(the_ring_is_as_large_as_the_head),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
