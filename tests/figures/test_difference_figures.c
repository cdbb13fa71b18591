/* The difference of two maps: colours and lines say how much more or less light there is, the right way up and the
 * right way round; where there is none to compare with, nothing is said. All data are invented. */
#include "audit.h"
#include "decoded.h"
#include "fixture.h"
#include "render/figures/figure_difference.h"

#include <setjmp.h>
#include <stdarg.h>
#include <unistd.h>

#include <cmocka.h>

struct pair {
    struct fixture a, b;
    const struct scene *scenes[2];
    const struct luxfall_result *results[2];
    const char *names[2];
};

/* b has (1 + slope x) of the light of a, x in mm; both are dark beyond a radius. */
static void make_pair(struct pair *p, const struct fixture_spec *spec, double slope_per_mm, double radius_mm) {
    fixture_make(&p->a, spec);
    fixture_make(&p->b, spec);
    for (int row = 0; row < spec->rows; row++)
        for (int column = 0; column < spec->columns; column++) {
            double x = (column + 0.5 - spec->columns / 2.0) * spec->cell_mm,
                   y = (row + 0.5 - spec->rows / 2.0) * spec->cell_mm;
            size_t cell = (size_t)row * (size_t)spec->columns + (size_t)column;
            if (hypot(x, y) > radius_mm)
                p->a.plane.e_lx[cell] = 0;
            p->b.plane.e_lx[cell] = (float)(p->a.plane.e_lx[cell] * fmax(0, 1 + slope_per_mm * x));
        }
    p->scenes[0] = &p->a.scene;
    p->scenes[1] = &p->b.scene;
    p->results[0] = &p->a.result;
    p->results[1] = &p->b.result;
    p->names[0] = "medium";
    p->names[1] = "wide, from the other shop";
}

static void free_pair(struct pair *p) {
    fixture_free(&p->a);
    fixture_free(&p->b);
}

static void no_text_on_any_difference_touches_another(void **state) {
    (void)state;
    static const int widths[] = {240, 700, 1400};
    for (int c = 0; c < FIXTURE_CASES; c++)
        for (int w = 0; w < 3; w++) {
            struct pair p;
            struct page page;
            struct difference_words words;
            struct map_layout layout;
            struct figure_error error = {0, ""};
            struct figure_style style = {.width_px = widths[w]};
            double limit, extent = fixture_cases[c].columns * fixture_cases[c].cell_mm;
            make_pair(&p, &fixture_cases[c], w == 0 ? 0 : 0.4 / extent, 0.45 * extent);
            assert_int_equal(figure_difference_draw(&page, p.scenes, p.results, p.names, 0, &style, &words, &layout,
                                                    &limit, &error),
                             0);
            assert_int_equal(audit_page(&page, 0.5 * page.unit, p.a.scene.title), 0);
            free(words.title);
            free(words.caption);
            page_end(&page);
            free_pair(&p);
        }
}

/* A ring without fields in the way; direct. */
static struct fixture_spec plain_spec(void) {
    struct fixture_spec spec = fixture_cases[0];
    spec.noise = 0;
    spec.field_count = 0;
    spec.columns = spec.rows = 120;
    spec.cell_mm = 1;
    return spec;
}

static void draw_and_decode(const struct pair *p, struct map_layout *layout, double *limit, struct picture *picture) {
    struct page page;
    struct difference_words words;
    struct figure_error error = {0, ""};
    struct figure_style style = {.width_px = 1400};
    char path[] = "/tmp/luxfall-difference-XXXXXX";
    int fd = mkstemp(path);
    assert_true(fd >= 0);
    close(fd);
    assert_int_equal(
        figure_difference_draw(&page, p->scenes, p->results, p->names, 0, &style, &words, layout, limit, &error), 0);
    free(words.title);
    free(words.caption);
    page_end(&page);
    assert_int_equal(figure_difference(path, p->scenes, p->results, p->names, 0, &style, &error), 0);
    read_picture(path, picture);
    unlink(path);
}

/* Share of places in the lit part that have the colour of their percent. factor: 1, or a twin's mistake. */
static double places_in_colour(const struct picture *picture, const struct map_layout *layout, double limit,
                               double slope_per_mm, double factor) {
    struct colour_scale scale;
    colour_scale_fill_diverging(&scale);
    int right = 0, count = 0;
    for (int i = -14; i <= 14; i++)
        for (int k = -14; k <= 14; k++, count++) {
            double x = 2.3 * i + 0.4, y = 2.3 * k + 0.4;
            double px = (layout->map.x0 + layout->map.x1) / 2 + x * layout->px_per_mm;
            double py = (layout->map.y0 + layout->map.y1) / 2 - y * layout->px_per_mm;
            double percent = 100 * slope_per_mm * x * factor;
            right += colour_miss(picture, px, py, colour_scale_at(&scale, 0.5 + percent / limit / 2)) <= 4;
        }
    return right / (double)count;
}

static void colours_say_how_much_more_light_there_is(void **state) {
    (void)state;
    struct fixture_spec spec = plain_spec();
    struct pair p;
    struct map_layout layout;
    struct picture picture;
    double limit;
    make_pair(&p, &spec, 0.004, 1e9);
    draw_and_decode(&p, &layout, &limit, &picture);
    assert_true(places_in_colour(&picture, &layout, limit, 0.004, 1) > 0.85); /* lines and words take some */
    assert_true(places_in_colour(&picture, &layout, limit, 0.004, -1) < 0.2); /* twins: a over b; half */
    assert_true(places_in_colour(&picture, &layout, limit, 0.004, 0.5) < 0.3);
    assert_string_equal(picture.title, "wide, from the other shop over medium");
    assert_non_null(strstr(picture.description, "wide, from the other shop over medium, less 1"));
    assert_non_null(strstr(picture.description, "95 lm each"));
    free_picture(&picture);
    free_pair(&p);
}

/* White and soft ink alone, no colour of the scale, in a corner that a has no light in. */
static int coloured(const struct picture *picture, const struct map_layout *layout, double x_mm, double y_mm) {
    int count = 0;
    for (int i = 0; i < 400; i++) {
        double x = (layout->map.x0 + layout->map.x1) / 2 + x_mm * layout->px_per_mm + i % 20;
        double y = (layout->map.y0 + layout->map.y1) / 2 - y_mm * layout->px_per_mm + i / 20.0;
        const unsigned char *c = picture->rgb + 3 * ((size_t)y * picture->width + (size_t)x);
        count += abs(c[0] - c[1]) > 16;
    }
    return count;
}

static void where_there_is_no_light_nothing_is_said(void **state) {
    (void)state;
    struct fixture_spec spec = plain_spec();
    struct pair p;
    struct map_layout layout;
    struct picture picture;
    double limit;
    make_pair(&p, &spec, 0.004, 60);
    draw_and_decode(&p, &layout, &limit, &picture);
    assert_int_equal(coloured(&picture, &layout, 50, 50), 0);
    assert_true(coloured(&picture, &layout, 36, 20) > 300); /* twin: where there is */
    assert_non_null(strstr(picture.description, "Hatched: medium gives under 0.1 % of its peak"));
    free_picture(&picture);
    free_pair(&p);
}

static bool is_written(const struct page *page, const char *words) {
    for (size_t i = 0; i < page->text_count; i++)
        if (strcmp(page->texts[i].start, words) == 0)
            return true;
    return false;
}

/* In grey only the lines tell more from less: both signs are written, and no sign that the map does not hold. */
static void lines_tell_their_signs(void **state) {
    (void)state;
    struct fixture_spec spec = plain_spec();
    for (int less = 0; less < 2; less++) {
        struct pair p;
        struct page page;
        struct difference_words words;
        struct map_layout layout;
        struct figure_error error = {0, ""};
        double limit;
        make_pair(&p, &spec, 0.004, 1e9);
        for (int i = 0; less && i < spec.columns * spec.rows; i++)
            p.b.plane.e_lx[i] *= 0.7F; /* nowhere more than 0.7 x 1.24 */
        assert_int_equal(figure_difference_draw(&page, p.scenes, p.results, p.names, 0, &(struct figure_style){0},
                                                &words, &layout, &limit, &error),
                         0);
        assert_true(is_written(&page, "\u221220\u202f%"));
        assert_int_equal(is_written(&page, "+20\u202f%"), !less);
        assert_int_equal(is_written(&page, "+5\u202f%"), !less);
        free(words.title);
        free(words.caption);
        page_end(&page);
        free_pair(&p);
    }
}

/* Cells that differ by p percent at most need a bar that holds p: the next round number; never under 1 %. */
static void the_bar_holds_what_the_lit_part_differs_by(void **state) {
    (void)state;
    struct fixture_spec spec = plain_spec();
    static const struct { double slope, limit; } cases[] = {{0, 1}, {0.0001, 1}, {0.0005, 3}, {0.004, 25}};
    for (size_t i = 0; i < 4; i++) {
        struct pair p;
        struct map_layout layout;
        struct picture picture;
        double limit;
        make_pair(&p, &spec, cases[i].slope, 52); /* 0.0005 x 51.5: 2.6 %; 0.004 x 51.5: 20.6 % */
        draw_and_decode(&p, &layout, &limit, &picture);
        assert_true(fabs(limit - cases[i].limit) < 1e-6);
        free_picture(&picture);
        free_pair(&p);
    }
}

static void maps_of_two_targets_have_no_difference(void **state) {
    (void)state;
    struct fixture_spec spec = plain_spec();
    struct pair p;
    struct figure_error error = {0, ""};
    make_pair(&p, &spec, 0.004, 60);
    p.b.plane.cell_mm = 2;
    assert_int_equal(
        figure_difference("/tmp/never.png", p.scenes, p.results, p.names, 0, &(struct figure_style){0}, &error), 2);
    assert_non_null(strstr(error.text, "120 x 120 cells of 1 mm"));
    assert_int_equal(access("/tmp/never.png", F_OK), -1);
    free_pair(&p);
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(no_text_on_any_difference_touches_another),
        cmocka_unit_test(colours_say_how_much_more_light_there_is),
        cmocka_unit_test(where_there_is_no_light_nothing_is_said),
        cmocka_unit_test(lines_tell_their_signs),
        cmocka_unit_test(the_bar_holds_what_the_lit_part_differs_by),
        cmocka_unit_test(maps_of_two_targets_have_no_difference),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
