/* The cubic that turns nowhere between its points. Each check takes a mistake to make: without one it holds, with any
 * it must fail. */
#include "drive/monotone.h"
#include "numbers/pcg32.h"

#include <math.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>
#include <string.h>

#include <cmocka.h>

#define COUNT(array) (sizeof(array) / sizeof *(array))

/* ---- curves to tell apart ---- */

enum mistake {
    RIGHT,
    NATURAL_SPLINE, /* the usual one */
    PLAIN_MEAN,     /* slopes: the mean of both chords, unlimited */
    EVEN_STEPS,     /* the harmonic mean as if all pieces were equally wide */
    FLAT_ENDS,
    MISTAKES
};

enum { POINTS_MAX = 40 };

static double hermite(double s, double h, double from, double to, double slope_from, double slope_to) {
    double t = s / h, rise = (to - from) / h;
    return from +
           s * (slope_from + t * (3 * rise - 2 * slope_from - slope_to + t * (slope_from + slope_to - 2 * rise)));
}

/* Second derivatives of the natural spline, by elimination in the tridiagonal system. */
static double natural_spline(size_t n, const double *x, const double *y, size_t piece, double at) {
    double m[POINTS_MAX] = {0}, c[POINTS_MAX] = {0}, d[POINTS_MAX] = {0};
    for (size_t i = 1; i + 1 < n; i++) {
        double left = x[i] - x[i - 1], right = x[i + 1] - x[i], pivot = 2 * (left + right) - left * c[i - 1];
        c[i] = right / pivot;
        d[i] = (6 * ((y[i + 1] - y[i]) / right - (y[i] - y[i - 1]) / left) - left * d[i - 1]) / pivot;
    }
    for (size_t i = n - 1; i-- > 1;)
        m[i] = d[i] - c[i] * m[i + 1];
    double h = x[piece + 1] - x[piece], a = (x[piece + 1] - at) / h, b = 1 - a;
    return a * y[piece] + b * y[piece + 1] +
           ((a * a * a - a) * m[piece] + (b * b * b - b) * m[piece + 1]) * h * h / 6;
}

static double chord(const double *x, const double *y, size_t i) {
    return (y[i + 1] - y[i]) / (x[i + 1] - x[i]);
}

static double wrong_slope(size_t n, const double *x, const double *y, size_t i, enum mistake mistake) {
    if (i == 0 || i + 1 == n)
        return mistake == FLAT_ENDS ? 0 : chord(x, y, i == 0 ? 0 : n - 2);
    double before = chord(x, y, i - 1), after = chord(x, y, i);
    double left = x[i] - x[i - 1], right = x[i + 1] - x[i];
    if (mistake == PLAIN_MEAN)
        return (before + after) / 2;
    if (before * after <= 0)
        return 0;
    if (mistake == EVEN_STEPS)
        left = right = 1;
    return 3 * (left + right) / ((left + 2 * right) / before + (2 * left + right) / after);
}

static double value(size_t n, const double *x, const double *y, double at, enum mistake mistake) {
    if (mistake == RIGHT)
        return monotone_cubic(n, x, y, at);
    size_t k = 0;
    while (k + 2 < n && x[k + 1] <= at)
        k++;
    if (mistake == NATURAL_SPLINE)
        return natural_spline(n, x, y, k, at);
    return hermite(at - x[k], x[k + 1] - x[k], y[k], y[k + 1], wrong_slope(n, x, y, k, mistake),
                   wrong_slope(n, x, y, k + 1, mistake));
}

/* ---- published tables ---- */

/* RPN 14, the radiochemical data of F. N. Fritsch and R. E. Carlson, SIAM J. Numer. Anal. 17 (1980) 238, table 1. The
 * four-digit values at eleven even steps are those that the manuals of a numerical library have printed for this
 * method and data since the 1980s. Both from memory, recomputed with SciPy 1.10 (PchipInterpolator), whose digits
 * beyond the fourth stand here. */
static const double rpn_x[] = {7.99, 8.09, 8.19, 8.7, 9.2, 10, 12, 15, 20};
static const double rpn_y[] = {0, 2.76429e-5, 4.37498e-2, 0.169183, 0.469428, 0.943740, 0.998636, 0.999919, 0.999994};

static bool rpn_14(enum mistake mistake) {
    static const struct {
        double x, printed, full;
    } row[] = {
        {7.99, 0.0000, 0},
        {9.191, 0.4640, 0.464014305277919},
        {10.392, 0.9645, 0.964469609721803},
        {11.593, 0.9965, 0.996488087305421},
        {12.794, 0.9992, 0.999239752944959},
        {13.995, 0.9998, 0.999771137951931},
        {15.196, 0.9999, 0.999925022526821},
        {16.397, 1.0000, 0.999956088656045},
        {17.598, 1.0000, 0.99997754539589},
        {18.799, 1.0000, 0.999989985069496},
        {20, 1.0000, 0.999994},
    };
    bool printed = true, full = true;
    for (size_t i = 0; i < COUNT(row); i++) {
        double got = value(COUNT(rpn_x), rpn_x, rpn_y, row[i].x, mistake);
        printed = printed && fabs(got - row[i].printed) < 0.5001e-4;
        full = full && fabs(got - row[i].full) < 1e-14;
    }
    return printed && full;
}

/* Six points that rise, fall and fall faster: SciPy 1.10, PchipInterpolator(range(1, 7), [16, 18, 21, 17, 15, 12]);
 * the inner slopes 2.4, 0, -8/3, -2.4 and the ends 1.5, -3.5 also by hand from eq. (47) and (48). */
static bool six_points(enum mistake mistake) {
    static const double x[] = {1, 2, 3, 4, 5, 6}, y[] = {16, 18, 21, 17, 15, 12};
    static const double row[][2] = {
        {1, 16},
        {1.25, 16.4109375},
        {1.5, 16.8875},
        {1.75, 17.4203125},
        {2.25, 18.80625},
        {2.5, 19.8},
        {2.75, 20.64375},
        {3, 21},
        {3.25, 20.5},
        {3.5, 19 + 1 / 3.0},
        {3.75, 18},
        {4.25, 16.425},
        {4.5, 15 + 29 / 30.0},
        {4.75, 15.525},
        {5.25, 14.3578125},
        {5.5, 13.6375},
        {5.75, 12.8484375},
        {6, 12},
    };
    bool good = true;
    for (size_t i = 0; i < COUNT(row); i++)
        good = good && fabs(value(COUNT(x), x, y, row[i][0], mistake) - row[i][1]) < 2e-14;
    return good;
}

/* ---- properties over random tables ---- */

static double draw(struct pcg32 *random) {
    return (pcg32_next(random) + 0.5) / 4294967296.0;
}

static size_t random_table(struct pcg32 *random, double x[POINTS_MAX], double y[POINTS_MAX], bool rising) {
    size_t n = 2 + pcg32_next(random) % (POINTS_MAX - 2);
    x[0] = draw(random);
    y[0] = draw(random);
    for (size_t i = 1; i < n; i++) {
        x[i] = x[i - 1] + exp(6 * draw(random) - 3);
        double step = pcg32_next(random) % 8 == 0 ? 0 : exp(8 * draw(random) - 4);
        y[i] = y[i - 1] + (rising || pcg32_next(random) % 3 > 0 ? step : -step);
    }
    return n;
}

/* Where the points rise, so does the curve; where they turn, it goes no further than they (theorem of Fritsch and
 * Carlson 1980, for slopes as in Fritsch and Butland 1984). */
static bool turns_nowhere(enum mistake mistake) {
    struct pcg32 random = pcg32_seed(1980, 2);
    bool good = true;
    for (int table = 0; table < 2000 && good; table++) {
        double x[POINTS_MAX], y[POINTS_MAX];
        size_t n = random_table(&random, x, y, table % 2 == 0);
        for (size_t k = 0; k + 1 < n && good; k++) {
            double before = y[k], slack = 1e-13 * (fabs(y[k]) + fabs(y[k + 1])), up = y[k + 1] >= y[k] ? 1 : -1;
            for (int step = 1; step <= 30 && good; step++) {
                double at = step == 30 ? x[k + 1] : x[k] + (x[k + 1] - x[k]) * step / 30;
                double now = value(n, x, y, at, mistake);
                good = up * (now - before) >= -slack;
                before = now;
            }
        }
    }
    return good;
}

/* At its points a curve has their own bits; a straight line it follows to rounding. */
static bool keeps_points_and_lines(enum mistake mistake) {
    struct pcg32 random = pcg32_seed(1984, 5);
    bool good = true;
    for (int table = 0; table < 500 && good; table++) {
        double x[POINTS_MAX], y[POINTS_MAX], line[POINTS_MAX], a = 10 * draw(&random) - 5, b = 10 * draw(&random) - 5;
        size_t n = random_table(&random, x, y, false);
        for (size_t i = 0; i < n; i++) {
            line[i] = a + b * x[i];
            good = good && value(n, x, y, x[i], mistake) == y[i];
        }
        for (int i = 0; i < 100 && good; i++) {
            double at = x[0] + (x[n - 1] - x[0]) * draw(&random), size = fabs(a) + fabs(b) * x[n - 1];
            good = fabs(value(n, x, line, at, mistake) - (a + b * at)) < 1e-13 * size;
        }
    }
    return good;
}

/* ---- the tests and their twins ---- */

static void holds(bool (*check)(enum mistake), const enum mistake *mistakes, size_t count) {
    assert_true(check(RIGHT));
    for (size_t i = 0; i < count; i++)
        if (check(mistakes[i]))
            fail_msg("mistake %d is not noticed", (int)mistakes[i]);
}

static void follows_the_published_tables(void **state) {
    (void)state;
    static const enum mistake of_rpn[] = {NATURAL_SPLINE, PLAIN_MEAN, EVEN_STEPS}; /* its ends are flat */
    static const enum mistake of_six[] = {NATURAL_SPLINE, PLAIN_MEAN, FLAT_ENDS};  /* its steps are even */
    holds(rpn_14, of_rpn, COUNT(of_rpn));
    holds(six_points, of_six, COUNT(of_six));
}

static void never_turns_between_points(void **state) {
    (void)state;
    static const enum mistake mistakes[] = {NATURAL_SPLINE, PLAIN_MEAN};
    holds(turns_nowhere, mistakes, COUNT(mistakes));
}

static void keeps_its_points(void **state) {
    (void)state;
    static const enum mistake mistakes[] = {FLAT_ENDS};
    holds(keeps_points_and_lines, mistakes, COUNT(mistakes));
}

/* The natural spline through RPN 14 promises 1.101 where no point is above 1 (derived with
 * SciPy 1.10, CubicSpline with natural ends). */
static void the_usual_spline_overshoots(void **state) {
    (void)state;
    double most[2] = {0, 0};
    for (int i = 0; i <= 4000; i++) {
        double at = 7.99 + (20 - 7.99) * i / 4000;
        most[0] = fmax(most[0], value(COUNT(rpn_x), rpn_x, rpn_y, fmin(at, 20), RIGHT));
        most[1] = fmax(most[1], value(COUNT(rpn_x), rpn_x, rpn_y, fmin(at, 20), NATURAL_SPLINE));
    }
    assert_true(most[0] <= 0.999994);
    assert_true(fabs(most[1] - 1.10118806) < 1e-7);
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(follows_the_published_tables),
        cmocka_unit_test(never_turns_between_points),
        cmocka_unit_test(keeps_its_points),
        cmocka_unit_test(the_usual_spline_overshoots),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
