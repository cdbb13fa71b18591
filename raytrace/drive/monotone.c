#include "drive/monotone.h"

#include <math.h>

struct curve {
    size_t count;
    const double *x, *y;
};

/* METHODS eq. (46) */
static double width(const struct curve *c, size_t i) {
    return c->x[i + 1] - c->x[i];
}

static double secant(const struct curve *c, size_t i) {
    return (c->y[i + 1] - c->y[i]) / width(c, i);
}

/* A harmonic mean of both secants, nearer to that of the shorter side. METHODS eq. (47) */
static double inner_slope(const struct curve *c, size_t i) {
    double before = secant(c, i - 1), after = secant(c, i);
    if (!(before * after > 0))
        return 0;
    double left = width(c, i - 1), right = width(c, i), both = 3 * (left + right);
    return both / ((left + 2 * right) / before + (2 * left + right) / after);
}

/* Of the parabola through three points, held back where it would turn. METHODS eq. (48) */
static double end_slope(double near_width, double far_width, double near, double far) {
    double slope = ((2 * near_width + far_width) * near - near_width * far) / (near_width + far_width);
    if (!(slope * near > 0))
        return 0;
    return !(near * far > 0) && fabs(slope) > 3 * fabs(near) ? 3 * near : slope;
}

static double slope_at(const struct curve *c, size_t i) {
    size_t last = c->count - 1;
    if (last == 1)
        return secant(c, 0);
    if (i == 0)
        return end_slope(width(c, 0), width(c, 1), secant(c, 0), secant(c, 1));
    if (i == last)
        return end_slope(width(c, i - 1), width(c, i - 2), secant(c, i - 1), secant(c, i - 2));
    return inner_slope(c, i);
}

double monotone_cubic(size_t count, const double *x, const double *y, double at) {
    const struct curve c = {count, x, y};
    size_t low = 0, high = count - 1;
    while (high - low > 1) {
        size_t middle = low + (high - low) / 2;
        if (x[middle] <= at)
            low = middle;
        else
            high = middle;
    }
    if (at == x[high])
        return y[high];
    double h = width(&c, low), d = secant(&c, low), from = slope_at(&c, low), to = slope_at(&c, high);
    double s = at - x[low];
    return y[low] + s * (from + s / h * (3 * d - 2 * from - to + s / h * (from + to - 2 * d)));
}
