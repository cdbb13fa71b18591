/* Laws of intensity over angle: exact values, integrals, and the tables that rays use. METHODS section 1. */
#include "emitters/angle_law.h"

#include "numbers/gauss.h"
#include "numbers/vec.h"

#include <stdlib.h>

double angle_law_relative(const struct angle_law *law, double angle_rad) {
    return angle_rad <= PI / 2 ? law->kind->relative(law, angle_rad) : 0;
}

static double relative_times_sine(const void *law, double angle_rad) {
    return angle_law_relative(law, angle_rad) * sin(angle_rad);
}

/* ---- panels in which a law is smooth -----------------------------------------------------------------------------
 */

struct panels {
    double *edges;
    size_t count;
};

static bool panels_make(const struct angle_law *law, struct panels *out) {
    out->edges = malloc(law->kind->panels_room(law) * sizeof *out->edges);
    if (!out->edges)
        return false;
    out->count = law->kind->panels(law, out->edges);
    return true;
}

/* Integral of I(a)/I(reference) sin a from one angle to another, METHODS eq. (1) but for 2 pi; NaN out of memory. */
static double law_integral(const struct angle_law *law, double from_rad, double to_rad) {
    struct panels panels;
    if (!panels_make(law, &panels))
        return NAN;
    double sum = 0;
    for (size_t i = 0; i < panels.count; i++) {
        double edges[2] = {fmax(panels.edges[i], from_rad), fmin(panels.edges[i + 1], to_rad)};
        if (edges[0] < edges[1])
            sum += gauss_panels(relative_times_sine, law, edges, 1);
    }
    free(panels.edges);
    return sum;
}

double angle_law_peak_per_lm(const struct angle_law *law) {
    return 1 / (2 * PI * law_integral(law, 0, PI / 2));
}

double angle_law_share_within(const struct angle_law *law, double half_angle_rad) {
    return law_integral(law, 0, half_angle_rad) / law_integral(law, 0, PI / 2);
}

/* ---- launching: the inverse of the flux distribution -------------------------------------------------------------
 */

/* Flux outside each angle of a fine grid, added up from the rim so that faint tails keep their digits. */
struct tail {
    size_t count;
    double *angle_rad, *outside;
};

enum { FINE = 48, KINKS_FINE = 8 };

/* Integral over a short piece by Simpson's rule: the launch table's own way, apart from the Gauss rule above. */
static double piece_flux(const struct angle_law *law, double from, double to) {
    double middle = (from + to) / 2;
    return (to - from) / 6 *
           (relative_times_sine(law, from) + 4 * relative_times_sine(law, middle) + relative_times_sine(law, to));
}

static bool tail_make(const struct angle_law *law, struct tail *tail) {
    struct panels panels;
    if (!panels_make(law, &panels))
        return false;
    size_t fine = law->kind->kinks ? KINKS_FINE : FINE;
    tail->count = panels.count * fine + 1;
    tail->angle_rad = malloc(2 * tail->count * sizeof *tail->angle_rad);
    tail->outside = tail->angle_rad ? tail->angle_rad + tail->count : NULL;
    for (size_t i = 0; i < tail->count && tail->angle_rad; i++) {
        size_t panel = i / fine;
        double from = panels.edges[panel], to = panel < panels.count ? panels.edges[panel + 1] : from;
        tail->angle_rad[i] = from + (to - from) * (double)(i % fine) / (double)fine;
    }
    free(panels.edges);
    if (!tail->angle_rad)
        return false;
    tail->outside[tail->count - 1] = 0;
    for (size_t i = tail->count - 1; i-- > 0;)
        tail->outside[i] = tail->outside[i + 1] + piece_flux(law, tail->angle_rad[i], tail->angle_rad[i + 1]);
    return true;
}

/* The angle outside of which lies `flux`: METHODS eq. (32). `hint` is a grid index at or beyond the answer and moves
 * inwards. */
static double tail_angle(const struct angle_law *law, const struct tail *tail, double flux, size_t *hint) {
    while (*hint > 0 && tail->outside[*hint] < flux)
        --*hint;
    size_t i = *hint;
    if (i + 1 >= tail->count || tail->outside[i] <= flux)
        return tail->angle_rad[i];
    /* Newton's method, kept inside the piece: the flux outside falls by I sin a with the angle */
    double low = tail->angle_rad[i], high = tail->angle_rad[i + 1], angle = (low + high) / 2;
    for (int step = 0; step < 30; step++) {
        double away = tail->outside[i + 1] + piece_flux(law, angle, tail->angle_rad[i + 1]) - flux;
        if (away > 0)
            low = angle;
        else
            high = angle;
        double next = angle + away / relative_times_sine(law, angle);
        next = next > low && next < high ? next : (low + high) / 2;
        if (fabs(next - angle) <= 1e-14 * angle)
            break;
        angle = next;
    }
    return angle;
}

/* Cubic through two values with two slopes, limited so that it never turns back (Fritsch and Carlson 1980). */
static void hermite(double from, double to, double slope_from, double slope_to, float c[4]) {
    double rise = to - from, limit = 3 * fabs(rise);
    double a = fmin(fabs(slope_from), limit), b = fmin(fabs(slope_to), limit);
    a = rise < 0 ? -a : a;
    b = rise < 0 ? -b : b;
    c[0] = (float)from;
    c[1] = (float)a;
    c[2] = (float)(3 * rise - 2 * a - b);
    c[3] = (float)(a + b - 2 * rise);
}

/* t of a table entry, as the bits of v = t 2^31 say. */
static double entry_t(int entry) {
    int octave = entry / ANGLE_SEGMENTS;
    return ldexp(1 + (double)(entry % ANGLE_SEGMENTS) / ANGLE_SEGMENTS, octave - ANGLE_OCTAVES);
}

enum luxfall_status angle_launch_table_build(const struct angle_law *law, struct angle_launch_table *out) {
    enum { LAST = ANGLE_OCTAVES * ANGLE_SEGMENTS };
    struct tail tail;
    if (!tail_make(law, &tail))
        return LUXFALL_E_MEMORY;
    double total = tail.outside[0], before_h = 0, before_slope = 0;
    /* single precision: a C library may choose other digits at the end of its functions on another machine */
    out->peak_per_lm = (double)(float)(1 / (2 * PI * total));
    out->lambertian = law->kind == &angle_law_cosine && law->power == 1;
    size_t hint = tail.count - 1;
    for (int entry = 0; entry <= LAST; entry++) {
        double angle = entry == LAST ? 0 : tail_angle(law, &tail, total * entry_t(entry), &hint);
        double half_sine = sin(angle / 2), h = 2 * half_sine * half_sine;
        double relative = angle_law_relative(law, angle);
        /* d(flux outside)/dh = -I/I(reference): the slope against t is minus total over that */
        double slope = relative > 0 ? -total / relative : -INFINITY;
        if (entry > 0) {
            double width = entry_t(entry) - entry_t(entry - 1);
            hermite(before_h, h, before_slope * width, slope * width, out->c[entry - 1]);
        }
        before_h = h;
        before_slope = slope;
    }
    hermite(before_h, before_h, 0, 0, out->c[LAST]);
    free(tail.angle_rad);
    return LUXFALL_OK;
}

/* ---- lighting points: the shape against sqrt(1 - cos a) ----------------------------------------------------------
 */

static double shape_at(const struct angle_law *law, int i) {
    double s = fmin(fmax((double)i / SHAPE_PIECES, 0), 1);
    return angle_law_relative(law, 2 * asin(s / sqrt(2)));
}

void angle_shape_table_build(const struct angle_law *law, struct angle_shape_table *out) {
    double now = shape_at(law, 0), after = shape_at(law, 1);
    double slope = 0; /* even about the axis */
    for (int i = 0; i < SHAPE_PIECES; i++) {
        double beyond = i + 2 <= SHAPE_PIECES ? shape_at(law, i + 2) : 2 * after - now;
        double slope_after = (beyond - now) / 2;
        bool turns = (after - now) * slope < 0 || (after - now) * slope_after < 0;
        hermite(now, after, turns ? 0 : slope, turns ? 0 : slope_after, out->c[i]);
        now = after;
        after = beyond;
        slope = slope_after;
    }
    hermite(now, now, 0, 0, out->c[SHAPE_PIECES]);
}
