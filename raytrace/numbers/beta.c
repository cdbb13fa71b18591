#include "numbers/beta.h"

#include <math.h>

/* Continued fraction 26.5.8 of Abramowitz and Stegun, evaluated from the front by the modified method of Lentz. */
static double fraction(double x, double a, double b) {
    enum { TERMS_MAX = 500 };
    const double tiny = 1e-300;
    double c = 1, d = 1 / fmax(tiny, 1 - (a + b) * x / (a + 1)), value = d;
    for (int m = 1; m <= TERMS_MAX; m++) {
        double even = m * (b - m) * x / ((a + 2 * m - 1) * (a + 2 * m));
        double odd = -(a + m) * (a + b + m) * x / ((a + 2 * m) * (a + 2 * m + 1));
        for (int half = 0; half < 2; half++) {
            double term = half == 0 ? even : odd;
            d = 1 + term * d;
            d = 1 / (fabs(d) < tiny ? tiny : d);
            c = 1 + term / c;
            c = fabs(c) < tiny ? tiny : c;
            value *= c * d;
        }
        if (fabs(c * d - 1) < 1e-15)
            break;
    }
    return value;
}

double beta_share(double x, double a, double b) {
    if (!(x > 0))
        return 0;
    if (x >= 1)
        return 1;
    double front = exp(lgamma(a + b) - lgamma(a) - lgamma(b) + a * log(x) + b * log1p(-x));
    /* the fraction is quick below the mean; above it the other tail is taken */
    return x < (a + 1) / (a + b + 2) ? front * fraction(x, a, b) / a : 1 - front * fraction(1 - x, b, a) / b;
}

double chance_of_f(double left, int k, int dof) {
    return beta_share(left, dof / 2.0, k / 2.0);
}
