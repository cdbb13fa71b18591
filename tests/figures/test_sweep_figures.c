/* Curves over a varied number as a reader meets them: words keep off each other and off the plots, curves run through
 * their values, numbers of both axes stand where they belong. All data are invented. */
#include "audit.h"
#include "decoded.h"
#include "render/figures/figure_sweep.h"
#include "render/figures/sweep_marks.h"

#include <math.h>
#include <setjmp.h>
#include <stdarg.h>
#include <unistd.h>

#include <cmocka.h>

static const char *const short_words = "U0";
static const char *const long_words =
    "darkest/average, read over discs of a tenth of the shorter side, in the field that its owner calls widest zoom";

enum { POINTS = 21 };

/* A lamp's current, its watts, and curves of some shapes. */
struct curves {
    double x[POINTS], x2[POINTS], value[6][POINTS], u95[POINTS];
    struct figure_series series[6];
    struct figure_panel panels[4];
    struct figure_mark marks[5];
    struct figure_sweep sweep;
};

static double shape(int kind, double t) {
    switch (kind) {
    case 0:
        return 46000 * t + 900; /* lux, told in klx */
    case 1:
        return 0.97 - 0.3 * (t - 0.4) * (t - 0.4);
    case 2:
        return t > 0.3 && t < 0.6 ? NAN : 40000 * t;
    case 3:
        return 0; /* flat */
    case 4:
        return -1e-7 * t;
    default:
        return NAN;
    }
}

static void make_curves(struct curves *c, size_t panels, size_t series, size_t marks, size_t count,
                        const char *words) {
    *c = (struct curves){0};
    for (size_t i = 0; i < POINTS; i++) {
        double t = (double)i / (POINTS - 1);
        c->x[i] = 50 + 950 * t;
        c->x2[i] = 24 * t * (0.5 + 0.5 * t); /* watts rise faster than the current */
        c->u95[i] = i % 5 == 0 ? NAN : 0.05;
        for (int k = 0; k < 6; k++)
            c->value[k][i] = shape(k, t);
    }
    for (size_t k = 0; k < 6; k++)
        c->series[k] = (struct figure_series){words, c->value[k], k % 2 == 0 ? c->u95 : NULL};
    for (size_t p = 0; p < 4; p++)
        c->panels[p] = (struct figure_panel){words, p % 2 == 0 ? "lx/W" : "", series,
                                             c->series + (6 - series) * p / 3, p == 1 ? 0.9 : NAN};
    for (size_t m = 0; m < 5; m++)
        c->marks[m] = (struct figure_mark){50 + 237.5 * (double)m, words};
    c->sweep = (struct figure_sweep){.title = words,
                                     .caption = long_words,
                                     .x_label = words,
                                     .x_unit = "mA",
                                     .count = count,
                                     .x = c->x,
                                     .x2_label = words,
                                     .x2_unit = "W",
                                     .x2 = c->x2,
                                     .panel_count = panels,
                                     .mark_count = marks,
                                     .panels = c->panels,
                                     .marks = c->marks};
}

/* ---- words ------------------------------------------------------------------------------------------------------
 */

/* Words over a plot may cover a curve; only an empty one tells so inside. */
static int words_over_plots(const struct page *page, const struct sweep_panel *panels, size_t count) {
    int faults = 0;
    for (size_t i = 0; i < page->text_count; i++)
        for (size_t p = 0; p < count; p++)
            if (rects_meet(page->texts[i].ink, panels[p].plot) &&
                !(panels[p].empty && strcmp(page->texts[i].start, "no values") == 0)) {
                fprintf(stderr, "\"%s\" lies over a plot\n", page->texts[i].start);
                faults++;
            }
    return faults;
}

static int sweep_faults(const struct curves *c, int width_px, const char *what) {
    struct page page;
    struct figure_error error = {0, ""};
    struct sweep_panel panels[4];
    assert_int_equal(
        figure_sweep_draw(&page, &c->sweep, &(struct figure_style){.width_px = width_px}, panels, &error), 0);
    int faults = audit_page(&page, 0.5 * page.unit, what) + words_over_plots(&page, panels, c->sweep.panel_count);
    page_end(&page);
    return faults;
}

static void no_text_on_any_page_of_curves_touches_another(void **state) {
    (void)state;
    static const int widths[] = {240, 600, 1200, 2600};
    static const size_t counts[] = {1, 2, POINTS};
    for (size_t w = 0; w < 4; w++)
        for (size_t panels = 1; panels <= 4; panels += panels)
            for (size_t series = 1; series <= 6; series += series == 1 ? 2 : 3)
                for (size_t marks = 0; marks <= 5; marks += 5)
                    for (int words = 0; words < 2; words++) {
                        struct curves c;
                        make_curves(&c, panels, series, marks, counts[(panels + series) % 3],
                                    words ? long_words : short_words);
                        if (series == 3)
                            c.sweep.x2_label = NULL;
                        assert_int_equal(sweep_faults(&c, widths[w], words ? "long" : "short"), 0);
                    }
}

/* Nothing finite at all, and numbers at the ends of what a double holds well. */
static void curves_without_values_and_of_any_size_can_be_drawn(void **state) {
    (void)state;
    static const double sizes[] = {1e-9, 1e-3, 1, 1e5, 1e12};
    struct curves c;
    make_curves(&c, 2, 1, 0, POINTS, short_words);
    for (size_t i = 0; i < POINTS; i++)
        c.x[i] = c.x2[i] = c.value[0][i] = NAN;
    assert_int_equal(sweep_faults(&c, 600, "nothing"), 0);
    for (size_t s = 0; s < 5; s++) {
        make_curves(&c, 2, 2, 2, POINTS, short_words);
        for (size_t i = 0; i < POINTS; i++) {
            c.x[i] = sizes[s] * (1 + (double)i);
            c.value[4][i] = -sizes[s] * (2 + sin((double)i));
        }
        assert_int_equal(sweep_faults(&c, 600, "sizes"), 0);
    }
    make_curves(&c, 0, 1, 0, POINTS, short_words);
    struct figure_error error = {0, ""};
    assert_int_equal(figure_sweep("/tmp/never.png", &c.sweep, &(struct figure_style){0}, &error), 2);
    assert_int_equal(access("/tmp/never.png", F_OK), -1);
}

/* Where two labels share a row, or a line runs through a label, counted from the finished places alone. */
static int mark_faults(const struct mark_label *labels, size_t count) {
    int faults = 0;
    for (size_t i = 0; i < count; i++)
        for (size_t k = 0; k < count; k++) {
            bool crossed = labels[k].x > labels[i].x0 && labels[k].x < labels[i].x1 && labels[k].row <= labels[i].row;
            bool shared =
                labels[k].row == labels[i].row && labels[k].x0 < labels[i].x1 && labels[i].x0 < labels[k].x1;
            faults += k != i && (crossed || shared);
        }
    return faults;
}

static void names_of_marks_keep_off_each_other_and_off_the_lines(void **state) {
    (void)state;
    static const char *const names[] = {"best", "as written: 350 mA", "30 klx in widest zoom at 604 mA"};
    struct page page;
    struct figure_error error;
    assert_int_equal(page_begin(&page, &(struct figure_style){.width_px = 1200}, &error), 0);
    unsigned random = 11;
    for (int trial = 0; trial < 400; trial++) {
        struct mark_label labels[6] = {0};
        size_t count = 1 + (size_t)trial % 6;
        for (size_t i = 0; i < count; i++) {
            random = random * 1664525U + 1013904223U;
            labels[i] =
                (struct mark_label){.string = names[(i + (size_t)trial) % 3], .x = 100 + (random >> 16) % 1000};
        }
        mark_labels_place(&page, labels, count, 100, 1150);
        assert_int_equal(mark_faults(labels, count), 0);
        for (size_t i = 0; i < count; i++)
            assert_true(labels[i].x0 >= 100 && labels[i].x1 <= 1150);
    }
    struct mark_label twin[2] = {{.x = 200, .x0 = 200, .x1 = 400}, {.x = 300, .x0 = 300, .x1 = 350}};
    assert_true(mark_faults(twin, 2) > 0); /* both in the first row */
    page_end(&page);
}

/* ---- pixels -----------------------------------------------------------------------------------------------------
 */

static void draw_and_decode(const struct curves *c, struct sweep_panel *panels, struct picture *picture) {
    struct page page;
    struct figure_error error = {0, ""};
    struct figure_style style = {.width_px = 1400};
    char path[] = "/tmp/luxfall-curves-XXXXXX";
    int fd = mkstemp(path);
    assert_true(fd >= 0);
    close(fd);
    assert_int_equal(figure_sweep_draw(&page, &c->sweep, &style, panels, &error), 0);
    page_end(&page);
    assert_int_equal(figure_sweep(path, &c->sweep, &style, &error), 0);
    read_picture(path, picture);
    unlink(path);
}

/* How dark the picture is at a place of the plot told in shares from its lower left corner: 0 white, 255 black. */
static int darkness(const struct picture *picture, struct rect plot, double across, double up) {
    static const unsigned char white[] = {255, 255, 255};
    return colour_miss(picture, plot.x0 + across * (plot.x1 - plot.x0), plot.y1 - up * (plot.y1 - plot.y0), white);
}

/* Share of 60 places between the points where the curve is met at its height; dashes take some. A fault turns the
 * curve upside down, as a twin. */
static double met(const struct picture *picture, const struct sweep_panel *p, int kind, bool fault) {
    int hits = 0;
    for (int i = 0; i < 60; i++) {
        double across = (i + 0.37) / 60, value = shape(kind, across) / (kind == 0 ? 1000 : 1);
        double up = (value - p->from) / (p->to - p->from);
        hits += darkness(picture, p->plot, across, fault ? 1 - up : up) > 120;
    }
    return hits / 60.0;
}

static void curves_run_through_their_values(void **state) {
    (void)state;
    struct curves c;
    struct sweep_panel panels[4];
    struct picture picture;
    make_curves(&c, 2, 1, 0, POINTS, short_words);
    c.panels[0] = (struct figure_panel){"centre", "lx", 1, &c.series[0], NAN};
    c.panels[1] = (struct figure_panel){"darkest/average", "", 1, &c.series[1], 0.9};
    draw_and_decode(&c, panels, &picture);
    assert_string_equal(panels[0].label, "centre (klx)");
    assert_true(panels[0].from == 0 && panels[0].to > 46.9 && panels[0].to < 60);
    assert_true(panels[1].from > 0.8 && panels[1].to < 1); /* from 0 it would lose more than half of the height */
    for (int k = 0; k < 2; k++) {
        assert_true(met(&picture, &panels[k], k, false) > 0.95);
        assert_true(met(&picture, &panels[k], k, true) < 0.15);
    }
    double limit = (0.9 - panels[1].from) / (panels[1].to - panels[1].from);
    assert_true(darkness(&picture, panels[1].plot, 0.987, limit) > 80);
    free_picture(&picture);
}

static void values_that_are_not_to_be_had_leave_gaps_and_bands_show(void **state) {
    (void)state;
    struct curves c;
    struct sweep_panel panels[4];
    struct picture picture;
    make_curves(&c, 1, 1, 0, POINTS, short_words);
    for (size_t i = 0; i < POINTS; i++)
        c.u95[i] = i < 6 ? 4000 : NAN;
    c.panels[0] = (struct figure_panel){"centre", "mm", 1, &c.series[2], NAN};
    draw_and_decode(&c, panels, &picture);
    struct sweep_panel *p = &panels[0];
    double per = 1 / (p->to - p->from);
    assert_true(darkness(&picture, p->plot, 0.125, (5000 - p->from) * per) > 120);
    for (int side = -1; side < 2; side += 2) { /* inside the band and just outside it */
        assert_in_range(darkness(&picture, p->plot, 0.125, (5000 + side * 3500 - p->from) * per), 25, 110);
        assert_in_range(darkness(&picture, p->plot, 0.125, (5000 + side * 4600 - p->from) * per), 0, 5);
    }
    assert_in_range(darkness(&picture, p->plot, 0.47, (18800 - p->from) * per), 0, 5); /* the gap */
    assert_true(darkness(&picture, p->plot, 0.87, (34800 - p->from) * per) > 120);     /* beyond it */
    assert_in_range(darkness(&picture, p->plot, 0.87, (34800 + 3500 - p->from) * per), 0, 5);
    free_picture(&picture);
}

/* ---- axes -------------------------------------------------------------------------------------------------------
 */

/* The middle of a number that stands above or below the plots; NaN: there is none. */
static double middle_of(const struct page *page, const char *number, struct rect plot, bool above) {
    for (size_t i = 0; i < page->text_count; i++)
        if (strcmp(page->texts[i].start, number) == 0 &&
            (above ? page->texts[i].ink.y1 < plot.y0 : page->texts[i].ink.y0 > plot.y1))
            return (page->texts[i].ink.x0 + page->texts[i].ink.x1) / 2;
    return NAN;
}

/* Watts = 24 t (1 + t) / 2 at current 50 + 950 t mA: t = (sqrt(1 + 8 watts / 24) - 1) / 2 (derived). */
static void watts_stand_over_the_currents_that_draw_them(void **state) {
    (void)state;
    static const double watts[] = {5, 10, 15, 20};
    struct curves c;
    struct sweep_panel panels[4];
    struct page page;
    struct figure_error error;
    make_curves(&c, 1, 1, 0, POINTS, short_words);
    assert_int_equal(figure_sweep_draw(&page, &c.sweep, &(struct figure_style){.width_px = 1400}, panels, &error), 0);
    struct rect plot = panels[0].plot;
    for (size_t i = 0; i < 4; i++) {
        char number[8];
        snprintf(number, sizeof number, "%.0f", watts[i]);
        double share = (middle_of(&page, number, plot, true) - plot.x0) / (plot.x1 - plot.x0);
        assert_true(fabs(share - (sqrt(1 + 8 * watts[i] / 24) - 1) / 2) < 0.004);
        assert_true(fabs(share - watts[i] / 24) > 0.02); /* twin: evenly spaced */
    }
    double share = (middle_of(&page, "800", plot, false) - plot.x0) / (plot.x1 - plot.x0);
    assert_true(fabs(share - 750 / 950.0) < 0.003);
    page_end(&page);
}

static void the_axis_begins_at_zero_only_where_that_is_cheap(void **state) {
    (void)state;
    static const struct {
        double least, most;
        bool from_zero;
    } cases[] = {{0, 10, true}, {4, 10, true}, {6, 10, false}, {9.99, 10, false}, {-3, 10, false}};
    for (size_t i = 0; i < sizeof cases / sizeof *cases; i++) {
        struct curves c;
        struct sweep_panel panels[4];
        struct page page;
        struct figure_error error;
        make_curves(&c, 1, 1, 0, 2, short_words);
        c.value[0][0] = cases[i].least;
        c.value[0][1] = cases[i].most;
        c.panels[0] = (struct figure_panel){"spot", "mm", 1, &c.series[0], NAN};
        c.series[0].u95 = NULL;
        assert_int_equal(figure_sweep_draw(&page, &c.sweep, &(struct figure_style){0}, panels, &error), 0);
        assert_int_equal(panels[0].from == 0, cases[i].from_zero);
        assert_true(panels[0].from <= cases[i].least && panels[0].to > cases[i].most);
        assert_true(cases[i].most - cases[i].least > 0.4 * (panels[0].to - panels[0].from) || cases[i].least > 9);
        page_end(&page);
    }
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(no_text_on_any_page_of_curves_touches_another),
        cmocka_unit_test(curves_without_values_and_of_any_size_can_be_drawn),
        cmocka_unit_test(names_of_marks_keep_off_each_other_and_off_the_lines),
        cmocka_unit_test(curves_run_through_their_values),
        cmocka_unit_test(values_that_are_not_to_be_had_leave_gaps_and_bands_show),
        cmocka_unit_test(watts_stand_over_the_currents_that_draw_them),
        cmocka_unit_test(the_axis_begins_at_zero_only_where_that_is_cheap),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
