#include "numbers/gauss.h"

#include "numbers/vec.h"

/* Legendre P_n(x) and its derivative by the three-term recurrence. */
static double legendre(int n, double x, double *derivative) {
    double before = 1, now = x;
    for (int k = 2; k <= n; k++) {
        double next = ((2 * k - 1) * x * now - (k - 1) * before) / k;
        before = now;
        now = next;
    }
    *derivative = n * (x * now - before) / (x * x - 1);
    return now;
}

void gauss_legendre(int n, double *x, double *w) {
    if (n == 1) {
        x[0] = 0;
        w[0] = 2;
        return;
    }
    for (int i = 0; i < (n + 1) / 2; i++) {
        double root = cos(PI * (i + 0.75) / (n + 0.5));
        double slope = 1;
        for (int step = 0; step < 100; step++) {
            double move = legendre(n, root, &slope) / slope;
            root -= move;
            if (fabs(move) < 1e-15)
                break;
        }
        if (n % 2 == 1 && i == n / 2)
            root = 0;
        legendre(n, root, &slope);
        x[i] = -root;
        x[n - 1 - i] = root;
        w[i] = w[n - 1 - i] = 2 / ((1 - root * root) * slope * slope);
    }
}

double gauss_panels(double (*f)(const void *data, double x), const void *data, const double *edges, size_t count) {
    enum { POINTS = 16 };
    double x[POINTS], w[POINTS], sum = 0;
    gauss_legendre(POINTS, x, w);
    for (size_t panel = 0; panel < count; panel++) {
        double half = (edges[panel + 1] - edges[panel]) / 2, middle = (edges[panel + 1] + edges[panel]) / 2;
        for (int i = 0; i < POINTS; i++)
            sum += half * w[i] * f(data, middle + half * x[i]);
    }
    return sum;
}

int gauss_disc(int order, double *x, double *y, double *w) {
    if (order == 1) {
        x[0] = y[0] = 0;
        w[0] = 1;
        return 1;
    }
    double ring[DISC_ORDER_MAX], weight[DISC_ORDER_MAX];
    gauss_legendre(order, ring, weight);
    int around = 2 * order, count = 0;
    for (int i = 0; i < order; i++) {
        double r = sqrt((1 + ring[i]) / 2);
        for (int k = 0; k < around; k++, count++) {
            /* neighbouring rings are turned by half a step, which spreads the nodes */
            double angle = 2 * PI * (k + 0.5 * (i % 2)) / around;
            x[count] = r * cos(angle);
            y[count] = r * sin(angle);
            w[count] = weight[i] / (2 * around);
        }
    }
    return count;
}

int gauss_square(int order, double *x, double *y, double *w) {
    double node[DISC_ORDER_MAX], weight[DISC_ORDER_MAX];
    gauss_legendre(order, node, weight);
    for (int i = 0; i < order * order; i++) {
        x[i] = node[i % order];
        y[i] = node[i / order];
        w[i] = weight[i % order] * weight[i / order] / 4;
    }
    return order * order;
}
