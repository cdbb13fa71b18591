/* Least squares of one scale factor, and tails of F, against published values. METHODS section 10. */
#include "luxfall.h"
#include "numbers/beta.h"

#include <math.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>

#include <cmocka.h>

/* ---- the straight line through the origin -----------------------------------------------------------------------
 */

/* NIST Statistical Reference Datasets, Linear Regression, "NoInt2" (1999), y = b x, certified values. */
static const double noint2_x[] = {4, 5, 6}, noint2_y[] = {3, 4, 4};

static bool near(double got, double wanted, double part) {
    return fabs(got - wanted) <= part * fabs(wanted);
}

static bool noint2_holds(size_t count, const double *x, const double *y, const double *u) {
    struct luxfall_scale_fit fit;
    assert_int_equal(luxfall_scale_fit(count, x, y, u, &fit, NULL), LUXFALL_OK);
    return near(fit.scale, 0.727272727272727, 1e-14) && near(fit.scale_u, 0.0420827318078432, 1e-13) &&
           near(fit.residual_sd, 0.369274472937998, 1e-13);
}

static void a_scale_is_that_of_noint2(void **state) {
    (void)state;
    assert_true(noint2_holds(3, noint2_x, noint2_y, NULL));
    /* equal uncertainties weigh nothing, and what the residuals tell stays */
    assert_true(noint2_holds(3, noint2_x, noint2_y, (const double[]){2, 2, 2}));
    /* the twins: forecast and reading changed over; a reading with more weight; a repeated reading */
    assert_false(noint2_holds(3, noint2_y, noint2_x, NULL));
    assert_false(noint2_holds(3, noint2_x, noint2_y, (const double[]){2, 1, 2}));
    assert_false(noint2_holds(2, noint2_x, noint2_y, NULL));
}

/* NIST Statistical Reference Datasets, "NoInt1" (1999): x 60 to 70, y 130 to 140 (data and certified values from
 * memory; the values follow from the data). */
static void a_scale_is_that_of_noint1(void **state) {
    (void)state;
    double x[11], y[11];
    for (int i = 0; i < 11; i++) {
        x[i] = 60 + i;
        y[i] = 130 + i;
    }
    struct luxfall_scale_fit fit;
    assert_int_equal(luxfall_scale_fit(11, x, y, NULL, &fit, NULL), LUXFALL_OK);
    assert_true(near(fit.scale, 2.07438016528926, 1e-14));
    assert_true(near(fit.scale_u, 0.0165289256198347, 1e-12));
    assert_true(near(fit.residual_sd, 3.56753034006338, 1e-12));
    y[10] = 141; /* the twin: one reading miscopied */
    assert_int_equal(luxfall_scale_fit(11, x, y, NULL, &fit, NULL), LUXFALL_OK);
    assert_false(near(fit.scale, 2.07438016528926, 1e-6));
}

static void weights_are_repeats(void **state) {
    (void)state;
    const double x[] = {4, 5, 6}, y[] = {3, 4, 4}, u[] = {1, 0.5, 1}; /* 1/u^2 = 4: as if read four times */
    const double many_x[] = {4, 5, 5, 5, 5, 6}, many_y[] = {3, 4, 4, 4, 4, 4};
    struct luxfall_scale_fit weighted, repeated;
    assert_int_equal(luxfall_scale_fit(3, x, y, u, &weighted, NULL), LUXFALL_OK);
    assert_int_equal(luxfall_scale_fit(6, many_x, many_y, NULL, &repeated, NULL), LUXFALL_OK);
    assert_true(near(weighted.scale, repeated.scale, 1e-14));
    assert_false(near(weighted.scale, 8.0 / 11, 1e-6));
}

static void what_cannot_be_fitted(void **state) {
    (void)state;
    struct luxfall_scale_fit fit;
    struct luxfall_error error;
    assert_int_equal(luxfall_scale_fit(0, NULL, NULL, NULL, &fit, &error), LUXFALL_E_VALUE);
    assert_string_equal(error.text, "no reading to fit a scale to");
    assert_int_equal(luxfall_scale_fit(1, (double[]){0}, (double[]){5}, NULL, &fit, &error), LUXFALL_E_VALUE);
    assert_string_equal(error.text, "no light is forecast where the readings were taken");
    assert_int_equal(luxfall_scale_fit(1, (double[]){2}, (double[]){NAN}, NULL, &fit, &error), LUXFALL_E_VALUE);
    assert_int_equal(luxfall_scale_fit(1, (double[]){2}, (double[]){5}, (double[]){0}, &fit, &error),
                     LUXFALL_E_VALUE);
    assert_int_equal(luxfall_scale_fit(1, (double[]){2}, (double[]){5}, NULL, &fit, &error), LUXFALL_OK);
    assert_true(fit.scale == 2.5 && isnan(fit.scale_u) && isnan(fit.residual_sd));
}

/* ---- tails of F --------------------------------------------------------------------------------------------------
 */

/* M. Abramowitz and I. A. Stegun, Handbook of Mathematical Functions (1964), table 26.9, percentage points of F; rows
 * from memory, each closing with the closed form for two degrees of freedom below. */
static bool tails_hold(int swapped) {
    static const struct {
        int k, dof;
        double f, chance;
    } rows[] = {{1, 10, 4.96, 0.05},  {2, 10, 4.10, 0.05}, {1, 20, 4.35, 0.05}, {2, 20, 3.49, 0.05},
                {1, 10, 10.04, 0.01}, {2, 10, 7.56, 0.01}, {1, 20, 8.10, 0.01}, {2, 20, 5.85, 0.01}};
    bool good = true;
    for (size_t i = 0; i < sizeof rows / sizeof *rows; i++) {
        double left = 1 / (1 + rows[i].f * rows[i].k / rows[i].dof);
        double chance =
            swapped ? chance_of_f(left, rows[i].dof, rows[i].k) : chance_of_f(left, rows[i].k, rows[i].dof);
        good = good && near(chance, rows[i].chance, 0.01);
    }
    return good;
}

static void chances_are_those_of_the_tables(void **state) {
    (void)state;
    assert_true(tails_hold(0));
    assert_false(tails_hold(1)); /* the twin: degrees of freedom changed over */
    /* I_x(a, 1) = x^a and I_x(a, b) = 1 - I_(1-x)(b, a): Abramowitz and Stegun 26.5.2 */
    for (double x = 0.05; x < 1; x += 0.1)
        for (double a = 0.5; a < 40; a *= 2.3) {
            assert_true(near(beta_share(x, a, 1), pow(x, a), 1e-12));
            assert_true(fabs(beta_share(x, a, 2.5) + beta_share(1 - x, 2.5, a) - 1) < 1e-12);
        }
    assert_true(beta_share(0, 2, 3) == 0 && beta_share(1, 2, 3) == 1);
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(a_scale_is_that_of_noint2),
        cmocka_unit_test(a_scale_is_that_of_noint1),
        cmocka_unit_test(weights_are_repeats),
        cmocka_unit_test(what_cannot_be_fitted),
        cmocka_unit_test(chances_are_those_of_the_tables),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
