#include "numbers/adaptive.h"

#include "numbers/gauss.h"
#include "numbers/vec.h"

enum { SIDE = 6, DEPTH_MAX = 10 };

/* A patch: x, y themselves, or radius and turn of a disc. */
struct patch {
    double a0, a1, b0, b1;
};

struct search {
    bool round;
    adaptive_function *f;
    const void *data;
    double node[SIDE], weight[SIDE];
    double allowed; /* error of the whole integral */
};

static double integral(const struct search *search, const struct patch *patch) {
    double half_a = (patch->a1 - patch->a0) / 2, half_b = (patch->b1 - patch->b0) / 2, sum = 0;
    for (int i = 0; i < SIDE * SIDE; i++) {
        double a = patch->a0 + half_a * (1 + search->node[i % SIDE]);
        double b = patch->b0 + half_b * (1 + search->node[i / SIDE]);
        double value =
            search->round ? a * search->f(search->data, a * cos(b), a * sin(b)) : search->f(search->data, a, b);
        sum += search->weight[i % SIDE] * search->weight[i / SIDE] * value;
    }
    return sum * half_a * half_b;
}

/* Quarters against the whole; what differs by more than this patch's share of the allowed error is cut again. */
static double refine(const struct search *search, const struct patch *patch, double whole, int depth) {
    double a = (patch->a0 + patch->a1) / 2, b = (patch->b0 + patch->b1) / 2, parts[4], sum = 0;
    struct patch quarters[4] = {{patch->a0, a, patch->b0, b},
                                {a, patch->a1, patch->b0, b},
                                {patch->a0, a, b, patch->b1},
                                {a, patch->a1, b, patch->b1}};
    for (int i = 0; i < 4; i++)
        sum += parts[i] = integral(search, &quarters[i]);
    if (fabs(sum - whole) <= search->allowed || depth == DEPTH_MAX)
        return sum;
    sum = 0;
    for (int i = 0; i < 4; i++)
        sum += refine(search, &quarters[i], parts[i], depth + 1);
    return sum;
}

/* Two rules over all of it; smooth functions end here. */
static bool is_smooth(const struct search *search, double width, double height, double tolerance, double negligible,
                      double *mean) {
    static const int orders[2] = {5, 7};
    double x[2 * 7 * 7], y[2 * 7 * 7], w[2 * 7 * 7], means[2];
    for (int k = 0; k < 2; k++) {
        int count = search->round ? gauss_disc(orders[k], x, y, w) : gauss_square(orders[k], x, y, w);
        means[k] = 0;
        for (int i = 0; i < count; i++)
            means[k] += w[i] * search->f(search->data, x[i] * width / 2, y[i] * height / 2);
    }
    *mean = means[1];
    return fabs(means[1] - means[0]) <= tolerance * fmax(fabs(means[1]), negligible);
}

double adaptive_mean(bool round, double width, double height, adaptive_function *f, const void *data,
                     double tolerance, double negligible) {
    struct search search = {.round = round, .f = f, .data = data};
    double mean, sum = 0;
    if (is_smooth(&search, width, height, tolerance, negligible, &mean))
        return mean;
    gauss_legendre(SIDE, search.node, search.weight);
    double area = round ? PI / 4 * width * width : width * height;
    enum { PARTS = 4 };
    struct patch parts[PARTS];
    double values[PARTS];
    for (int i = 0; i < PARTS; i++) {
        parts[i] = round ? (struct patch){0, width / 2, PI / 2 * i, PI / 2 * (i + 1)}
                         : (struct patch){-width / 2 + (i & 1) * width / 2, (i & 1) * width / 2,
                                          -height / 2 + (i >> 1) * height / 2, (i >> 1) * height / 2};
        sum += values[i] = integral(&search, &parts[i]);
    }
    search.allowed = tolerance / 16 * fmax(fmax(fabs(sum), fabs(mean) * area), negligible * area);
    sum = 0;
    for (int i = 0; i < PARTS; i++)
        sum += refine(&search, &parts[i], values[i], 0);
    return sum / area;
}
