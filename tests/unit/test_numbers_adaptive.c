/* Means over discs and rectangles, against closed forms: the segment of a circle, r^2 (acos(d/r) - d/r sqrt(1 - d^2/
 * r^2)) of its area pi r^2 (M. Abramowitz and I. A. Stegun, "Handbook of Mathematical Functions", 1964, sec. 4; plane
 * geometry), and a narrow bell within a square, by the error function (the same, 7.1.1). */
#include "numbers/adaptive.h"
#include "statistics/workbench.h"

struct probe {
    double edge, height;
    long asked;
};

static double step(const void *data, double x, double y) {
    struct probe *probe = (struct probe *)(uintptr_t)data;
    (void)y;
    probe->asked++;
    return x > probe->edge ? probe->height : 0;
}

static double narrow_bell(const void *data, double x, double y) {
    const double width = *(const double *)data;
    return exp(-(x * x + y * y) / (width * width));
}

/* Jumps are cut as far as cuts go, ten times. Twins: the edge moved by a hundredth of the width. */
static void a_cut_disc_has_the_area_of_its_segment(void **state) {
    (void)state;
    static const double edges[] = {-0.9, -0.35, 0.1, 0.7};
    for (int i = 0; i < 4; i++) {
        struct probe probe = {.edge = 3 * edges[i], .height = 2}, moved = {.edge = 3 * edges[i] + 0.06, .height = 2};
        double d = edges[i], want = 2 * (acos(d) - d * sqrt(1 - d * d)) / BENCH_PI;
        assert_true(fabs(adaptive_mean(true, 6, 6, step, &probe, 1e-5, 0) / want - 1) < 1e-3);
        assert_true(fabs(adaptive_mean(true, 6, 6, step, &moved, 1e-5, 0) / want - 1) > 3e-3);
        probe.edge = 2 * d;
        want = 2 * (1 - d) / 2;
        assert_true(fabs(adaptive_mean(false, 4, 7, step, &probe, 1e-5, 0) / want - 1) < 1e-3);
    }
}

static void a_narrow_bell_is_found(void **state) {
    (void)state;
    const double width = 0.2, want = BENCH_PI * width * width * pow(erf(5 / width), 2) / 100;
    assert_true(fabs(adaptive_mean(false, 10, 10, narrow_bell, &width, 1e-9, 0) / want - 1) < 1e-8);
}

static double counted_bell(const void *data, double x, double y) {
    struct probe *probe = (struct probe *)(uintptr_t)data;
    probe->asked++;
    return narrow_bell(&probe->edge, x, y);
}

/* The error is within what is allowed, and less is asked for it. Twins: nothing is negligible; all is, and then the
 * bell is missed. */
static void what_is_negligible_costs_little(void **state) {
    (void)state;
    struct probe probe = {.edge = 0.2}, finest = probe, coarsest = probe;
    const double tolerance = 1e-9, want = BENCH_PI * 0.04 / 100;
    double got = adaptive_mean(false, 10, 10, counted_bell, &probe, tolerance, 1e3 * want);
    double coarse = adaptive_mean(false, 10, 10, counted_bell, &coarsest, tolerance, 1e9 * want);
    adaptive_mean(false, 10, 10, counted_bell, &finest, tolerance, 0);
    assert_true(fabs(got / want - 1) < 1e3 * tolerance);
    assert_true(fabs(coarse / want - 1) > 1e-3);
    assert_true(coarsest.asked < probe.asked && 3 * probe.asked < 2 * finest.asked);
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(a_cut_disc_has_the_area_of_its_segment),
        cmocka_unit_test(a_narrow_bell_is_found),
        cmocka_unit_test(what_is_negligible_costs_little),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
