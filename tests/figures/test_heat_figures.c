/* One statistic over two varied numbers: cells have the colours of their values the right way round, the line runs
 * where the value crosses what is wanted, words touch nothing. All data are invented. */
#include "audit.h"
#include "decoded.h"
#include "render/figures/figure_heat.h"

#include <math.h>
#include <setjmp.h>
#include <stdarg.h>
#include <unistd.h>

#include <cmocka.h>

enum { COLUMNS = 12, ROWS = 9 };

static const char *const long_words =
    "darkest/average, read over discs of a tenth of the shorter side, in the field that "
    "its owner calls widest zoom and nobody else does";

struct table {
    double x[COLUMNS], y[ROWS], value[ROWS * COLUMNS];
    struct figure_heat heat;
};

/* Rises to the right and, less, upwards: no mirror image of it passes for it. */
static double plane_of(double x, double y) {
    return 0.5 + 0.03 * x + 0.01 * y;
}

static void make_table(struct table *t, size_t columns, size_t rows, const char *words) {
    *t = (struct table){0};
    for (size_t i = 0; i < columns; i++)
        t->x[i] = (double)i;
    for (size_t i = 0; i < rows; i++)
        t->y[i] = 10 + 2 * (double)i;
    for (size_t row = 0; row < rows; row++)
        for (size_t column = 0; column < columns; column++)
            t->value[row * columns + column] = plane_of(t->x[column], t->y[row]);
    t->heat = (struct figure_heat){words,   long_words, words, "mm short", words,    "mm", words, "lx",
                                   columns, rows,       t->x,  t->y,       t->value, 0.8,  3,     12};
}

static int heat_faults(const struct table *t, int width_px) {
    struct page page;
    struct heat_layout layout;
    struct figure_error error = {0, ""};
    char *caption;
    assert_int_equal(
        figure_heat_draw(&page, &t->heat, &(struct figure_style){.width_px = width_px}, &layout, &caption, &error),
        0);
    int faults = audit_page(&page, 0.5 * page.unit, "heat map");
    free(caption);
    page_end(&page);
    return faults;
}

static void no_text_on_any_heat_map_touches_another(void **state) {
    (void)state;
    static const int widths[] = {240, 600, 1200, 2600};
    static const size_t sizes[][2] = {{1, 1}, {COLUMNS, 1}, {1, ROWS}, {2, 2}, {COLUMNS, ROWS}};
    for (size_t w = 0; w < 4; w++)
        for (size_t k = 0; k < 5; k++)
            for (int words = 0; words < 2; words++)
                for (int corner = 0; corner < 3; corner++) {
                    struct table t;
                    make_table(&t, sizes[k][0], sizes[k][1], words ? long_words : "U0");
                    t.heat.best_x = corner > 0 ? t.x[(size_t)(corner - 1) * (sizes[k][0] - 1)] : NAN;
                    t.heat.best_y = t.y[sizes[k][1] - 1];
                    if (corner == 2)
                        t.value[0] = NAN;
                    assert_int_equal(heat_faults(&t, widths[w]), 0);
                }
    struct table t;
    make_table(&t, 3, 3, "U0");
    for (size_t i = 0; i < 9; i++)
        t.value[i] = NAN;
    assert_int_equal(heat_faults(&t, 600), 0);
    for (size_t i = 0; i < 9; i++)
        t.value[i] = -1e-9;
    assert_int_equal(heat_faults(&t, 600), 0);
}

static void draw_and_decode(const struct table *t, struct heat_layout *layout, struct picture *picture) {
    struct page page;
    struct figure_error error = {0, ""};
    struct figure_style style = {.width_px = 1400};
    char path[] = "/tmp/luxfall-heat-XXXXXX", *caption;
    int fd = mkstemp(path);
    assert_true(fd >= 0);
    close(fd);
    assert_int_equal(figure_heat_draw(&page, &t->heat, &style, layout, &caption, &error), 0);
    page_end(&page);
    free(caption);
    assert_int_equal(figure_heat(path, &t->heat, &style, &error), 0);
    read_picture(path, picture);
    unlink(path);
}

/* Share of the cells whose colour a quarter off their middle is that of their value on a scale from the least to the
 * greatest; turned: as a twin, of the cell at the opposite side. */
static double cells_in_colour(const struct table *t, const struct heat_layout *layout, const struct picture *picture,
                              bool turned_x, bool turned_y) {
    struct colour_scale scale;
    colour_scale_fill(&scale);
    double least = plane_of(0, 10), most = plane_of(COLUMNS - 1, 10 + 2 * (ROWS - 1));
    int right = 0;
    for (int row = 0; row < ROWS; row++)
        for (int column = 0; column < COLUMNS; column++) {
            double x = layout->plot.x0 + (column + 0.25) / COLUMNS * (layout->plot.x1 - layout->plot.x0);
            double y = layout->plot.y1 - (row + 0.25) / ROWS * (layout->plot.y1 - layout->plot.y0);
            double value =
                t->value[(turned_y ? ROWS - 1 - row : row) * COLUMNS + (turned_x ? COLUMNS - 1 - column : column)];
            right += colour_miss(picture, x, y, colour_scale_at(&scale, (value - least) / (most - least))) <= 3;
        }
    return right / (double)(ROWS * COLUMNS);
}

static void cells_have_the_colours_of_their_values(void **state) {
    (void)state;
    struct table t;
    struct heat_layout layout;
    struct picture picture;
    make_table(&t, COLUMNS, ROWS, "U0");
    t.heat.want = t.heat.best_x = NAN;
    draw_and_decode(&t, &layout, &picture);
    assert_true(cells_in_colour(&t, &layout, &picture, false, false) == 1);
    assert_true(cells_in_colour(&t, &layout, &picture, true, false) < 0.3);
    assert_true(cells_in_colour(&t, &layout, &picture, false, true) < 0.3);
    free_picture(&picture);
}

/* A sweep that runs downwards shows the same map. */
static void the_order_of_the_numbers_does_not_matter(void **state) {
    (void)state;
    struct table up, down;
    struct heat_layout layout;
    struct picture a, b;
    make_table(&up, COLUMNS, ROWS, "U0");
    make_table(&down, COLUMNS, ROWS, "U0");
    for (int i = 0; i < COLUMNS; i++)
        down.x[i] = up.x[COLUMNS - 1 - i];
    for (int i = 0; i < ROWS; i++)
        down.y[i] = up.y[ROWS - 1 - i];
    for (int i = 0; i < ROWS * COLUMNS; i++)
        down.value[i] = up.value[ROWS * COLUMNS - 1 - i];
    draw_and_decode(&up, &layout, &a);
    draw_and_decode(&down, &layout, &b);
    assert_int_equal(a.width, b.width);
    assert_int_equal(a.height, b.height);
    size_t differ = 0, count = 3 * (size_t)a.width * a.height;
    for (size_t i = 0; i < count; i++)
        differ += abs(a.rgb[i] - b.rgb[i]) > 24;
    assert_in_range(differ, 0, count / 500); /* half pixels along the line */
    down.value[0] = NAN;                     /* twin: one cell gone */
    free_picture(&b);
    draw_and_decode(&down, &layout, &b);
    differ = 0;
    for (size_t i = 0; i < count && a.height == b.height; i++)
        differ += abs(a.rgb[i] - b.rgb[i]) > 24;
    assert_true(a.height != b.height || differ > count / 500);
    free_picture(&a);
    free_picture(&b);
}

/* 0.5 + 0.03 x + 0.01 y = 0.8 at x = (0.3 - 0.01 y) / 0.03 (derived). */
static void the_line_runs_where_the_value_is_as_wanted(void **state) {
    (void)state;
    static const unsigned char night[] = {5, 5, 13};
    struct table t;
    struct heat_layout layout;
    struct picture picture;
    make_table(&t, COLUMNS, ROWS, "U0");
    t.heat.best_x = NAN;
    draw_and_decode(&t, &layout, &picture);
    int hits = 0, twins = 0;
    for (int i = 0; i < 60; i++) {
        double y = 11 + 14 * i / 60.0, x = (0.3 - 0.01 * y) / 0.03;
        double px =
            layout.plot.x0 + (x - layout.x_from) / (layout.x_to - layout.x_from) * (layout.plot.x1 - layout.plot.x0);
        double py =
            layout.plot.y1 - (y - layout.y_from) / (layout.y_to - layout.y_from) * (layout.plot.y1 - layout.plot.y0);
        hits += colour_miss(&picture, px, py, night) < 60;
        twins += colour_miss(&picture, px + 12, py, night) < 60;
    }
    assert_true(hits > 45); /* its words take some */
    assert_true(twins < 15);
    free_picture(&picture);
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(no_text_on_any_heat_map_touches_another),
        cmocka_unit_test(cells_have_the_colours_of_their_values),
        cmocka_unit_test(the_order_of_the_numbers_does_not_matter),
        cmocka_unit_test(the_line_runs_where_the_value_is_as_wanted),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
