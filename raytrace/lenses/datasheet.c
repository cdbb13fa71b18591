/* A beam from the figures of a datasheet. METHODS section 3, eq. (4)-(9).
 *
 * Core exp(-ln 2 (2a/width)^power), plus a bell-shaped skirt where the peak is lower than the bell's. The figures
 * hold for the whole beam, so core and skirt are solved together. */
#include "lenses/datasheet.h"

#include "emitters/emitter.h"
#include "fail.h"
#include "numbers/gauss.h"
#include "numbers/vec.h"

#include <stdlib.h>

static const double LN2 = 0.69314718055994530942;
static const double POWER_MIN = 1, POWER_MAX = 40;
static const double DOME_INDEX = 1.5;

static double deg(double rad) {
    return rad * 180 / PI;
}

/* The limits themselves are allowed, whatever the last digits of the angles that lead to them. */
static bool power_allowed(double power) {
    const double slack = 1e-6;
    return power >= POWER_MIN * (1 - slack) && power <= POWER_MAX * (1 + slack);
}

static double bell(double angle_rad, double width_rad) {
    double x = 2 * angle_rad / width_rad;
    return exp(-LN2 * x * x);
}

double luxfall_beam_relative(const struct luxfall_beam_solution *beam, double angle_rad) {
    double x = 2 * angle_rad / beam->width_rad;
    double core = exp(-LN2 * (beam->power == 2 ? x * x : pow(x, beam->power)));
    if (beam->skirt_share == 0)
        return core;
    return (1 - beam->skirt_share) * core + beam->skirt_share * bell(angle_rad, beam->skirt_rad);
}

static double relative_times_sine(const void *beam, double angle_rad) {
    return luxfall_beam_relative(beam, angle_rad) * sin(angle_rad);
}

static int ascending(const void *a, const void *b) {
    double x = *(const double *)a, y = *(const double *)b;
    return (x > y) - (x < y);
}

size_t beam_panels(const struct luxfall_beam_solution *beam, double edges[BEAM_EDGES_MAX]) {
    /* a steep core changes most within 1/power of its half width */
    static const double core_steps[] = {-8, -4, -2, -1, -0.5, 0, 0.5, 1, 1.5, 2, 3, 5, 8};
    static const double bell_steps[] = {0.25, 0.5, 1, 1.5, 2, 3, 4, 6, 9, 14, 22};
    size_t count = 0;
    edges[count++] = 0;
    for (size_t i = 0; i < sizeof core_steps / sizeof *core_steps; i++)
        edges[count++] = beam->width_rad / 2 * (1 + core_steps[i] / fmax(beam->power, 1.5));
    for (size_t i = 0; i < sizeof bell_steps / sizeof *bell_steps; i++)
        edges[count++] = beam->width_rad / 2 * bell_steps[i];
    for (size_t i = 0; i < 8 && beam->skirt_share > 0; i++)
        edges[count++] = beam->skirt_rad / 2 * bell_steps[i];
    size_t kept = 0;
    qsort(edges, count, sizeof *edges, ascending);
    for (size_t i = 0; i < count; i++)
        if (edges[i] >= 0 && edges[i] < PI / 2 && (kept == 0 || edges[i] > edges[kept - 1]))
            edges[kept++] = edges[i];
    edges[kept] = PI / 2;
    return kept;
}

double beam_integral(const struct luxfall_beam_solution *beam) {
    double edges[BEAM_EDGES_MAX];
    size_t panels = beam_panels(beam, edges);
    return gauss_panels(relative_times_sine, beam, edges, panels);
}

/* Centre-beam candela per emitter lumen. METHODS eq. (5). */
static double peak_of(const struct luxfall_beam_solution *beam, double efficiency) {
    return efficiency / (2 * PI * beam_integral(beam));
}

static double peak_of_power(double beam_angle_rad, double power, double efficiency) {
    struct luxfall_beam_solution core = {.width_rad = beam_angle_rad, .power = power};
    return peak_of(&core, efficiency);
}

/* The power at which the peak tops out for a beam angle, by golden section; the peak has one top over 2 .. 40. */
static double best_power(double beam_angle_rad) {
    const double golden = 0.61803398874989485;
    double low = 2, high = POWER_MAX;
    double a = high - golden * (high - low), b = low + golden * (high - low);
    double at_a = peak_of_power(beam_angle_rad, a, 1), at_b = peak_of_power(beam_angle_rad, b, 1);
    while (high - low > 1e-3) { /* the top is flat: the peak is right to 1e-8 */
        if (at_a > at_b) {
            high = b;
            b = a;
            at_b = at_a;
            a = high - golden * (high - low);
            at_a = peak_of_power(beam_angle_rad, a, 1);
        } else {
            low = a;
            a = b;
            at_a = at_b;
            b = low + golden * (high - low);
            at_b = peak_of_power(beam_angle_rad, b, 1);
        }
    }
    return (low + high) / 2;
}

/* ---- the core that goes with a share of skirt -------------------------------------------------------------------
 */

/* Sets width and power so that core and skirt together are 1/2 at beam_angle/2 and, with a field angle, 1/10 at
 * field_angle/2 (without one the power stays). False: no core does. METHODS eq. (8). */
static bool core_beside_skirt(const struct luxfall_beam *given, double share, struct luxfall_beam_solution *out) {
    double at_half = (0.5 - share * bell(given->beam_angle_rad / 2, out->skirt_rad)) / (1 - share);
    if (!(at_half > 0 && at_half < 1))
        return false;
    if (given->field_angle_rad > 0) {
        double at_tenth = (0.1 - share * bell(given->field_angle_rad / 2, out->skirt_rad)) / (1 - share);
        if (!(at_tenth > 0 && at_tenth < at_half))
            return false;
        out->power = log(log(at_tenth) / log(at_half)) / log(given->field_angle_rad / given->beam_angle_rad);
        if (!power_allowed(out->power))
            return false;
    }
    out->width_rad = given->beam_angle_rad / pow(-log2(at_half), 1 / out->power);
    out->skirt_share = share;
    return out->width_rad > 1e-4 * given->beam_angle_rad;
}

static enum luxfall_status too_high(const struct luxfall_beam *given, double best, const char *whose,
                                    struct luxfall_error *error) {
    return fail(error, LUXFALL_E_BEAM, 0,
                "a peak of %.4g cd/lm is more than %s: %.4g cd/lm for %.4g deg at an efficiency of %.3g "
                "(%.3g / (2 pi (1 - cos %.4g deg)) = %.4g for an even disc); is the beam angle a half angle, or the "
                "efficiency counted twice? A sharper shape needs a curve",
                given->peak_cd_per_lm, whose, best, deg(given->beam_angle_rad), given->efficiency, given->efficiency,
                deg(given->beam_angle_rad / 2), given->efficiency / (2 * PI * (1 - cos(given->beam_angle_rad / 2))));
}

static enum luxfall_status too_low(const struct luxfall_beam *given, double skirt_rad, double lowest,
                                   struct luxfall_error *error) {
    return fail(
        error, LUXFALL_E_BEAM, 0,
        "a peak of %.4g cd/lm is too low for a %.4g deg beam of efficiency %.3g: with a skirt of %.4g deg the "
        "least is %.4g cd/lm; is the efficiency counted twice, the beam angle a half angle, or the skirt wider?",
        given->peak_cd_per_lm, deg(given->beam_angle_rad), given->efficiency, deg(skirt_rad), lowest);
}

/* The peak falls as the share of the skirt grows: walk until the wanted one is passed, then halve. METHODS eq. (8).
 */
static enum luxfall_status solve_skirt(const struct luxfall_beam *given, struct luxfall_beam_solution *out,
                                       struct luxfall_error *error) {
    enum { STEPS = 1000 };
    double rule = fmin(fmax(3 * given->beam_angle_rad, 60 * PI / 180), 120 * PI / 180);
    out->skirt_rad = given->skirt_rad > 0 ? given->skirt_rad : rule;
    double low = -1, high = -1, peak = 0;
    for (int step = 0; step < STEPS && high < 0; step++) {
        double share = (double)step / STEPS;
        if (!core_beside_skirt(given, share, out))
            continue;
        peak = peak_of(out, given->efficiency);
        if (peak > given->peak_cd_per_lm)
            low = share;
        else
            high = share;
    }
    if (low < 0 && high < 0)
        return fail(error, LUXFALL_E_BEAM, 0,
                    "no beam with a skirt of %.4g deg has both %.4g deg at 50 %% and %.4g deg at 10 %%; give a curve",
                    deg(out->skirt_rad), deg(given->beam_angle_rad), deg(given->field_angle_rad));
    if (high < 0)
        return too_low(given, out->skirt_rad, peak, error);
    if (low < 0)
        return too_high(given, peak, "beam angle, field angle and skirt leave room for", error);
    for (int step = 0; step < 60; step++) {
        double share = (low + high) / 2;
        if (core_beside_skirt(given, share, out) && peak_of(out, given->efficiency) > given->peak_cd_per_lm)
            low = share;
        else
            high = share;
    }
    return core_beside_skirt(given, high, out)
               ? LUXFALL_OK
               : fail(error, LUXFALL_E_BEAM, 0, "the core beside a skirt share of %.4g vanishes", high);
}

/* ---- the cases of METHODS section 3 ------------------------------------------------------------------------------
 */

static enum luxfall_status solve_field(const struct luxfall_beam *given, struct luxfall_beam_solution *out,
                                       struct luxfall_error *error) {
    if (!(given->field_angle_rad > given->beam_angle_rad))
        return fail(error, LUXFALL_E_BEAM, 0,
                    "the field angle (10 %%) of %.4g deg must be wider than the beam angle "
                    "(50 %%) of %.4g deg",
                    deg(given->field_angle_rad), deg(given->beam_angle_rad));
    double ratio = given->field_angle_rad / given->beam_angle_rad;
    double power = log(log2(10)) / log(ratio);
    if (!power_allowed(power))
        return fail(
            error, LUXFALL_E_BEAM, 0,
            "field over beam angle is %.4g / %.4g = %.4g; a beam of this kind reaches from %.4g (steep) to %.4g "
            "(pointed): give a peak with it, or a curve",
            deg(given->field_angle_rad), deg(given->beam_angle_rad), ratio, pow(log2(10), 1 / POWER_MAX), log2(10));
    out->power = power;
    return LUXFALL_OK;
}

static void solve_power(const struct luxfall_beam *given, double best, struct luxfall_beam_solution *out) {
    double low = 2, high = best;
    for (int step = 0; step < 60; step++) {
        double power = (low + high) / 2;
        if (peak_of_power(given->beam_angle_rad, power, given->efficiency) < given->peak_cd_per_lm)
            low = power;
        else
            high = power;
    }
    out->power = (low + high) / 2;
}

static enum luxfall_status solve_shape(const struct luxfall_beam *given, struct luxfall_beam_solution *out,
                                       struct luxfall_error *error) {
    *out = (struct luxfall_beam_solution){.width_rad = given->beam_angle_rad, .power = 2};
    if (given->field_angle_rad > 0) {
        /* A skirt lifts the tenth, so that with a peak the field angle alone need not fit. */
        enum luxfall_status status = solve_field(given, out, error);
        if (status != LUXFALL_OK && (given->peak_cd_per_lm == 0 || given->field_angle_rad <= given->beam_angle_rad))
            return status;
        if (status != LUXFALL_OK)
            return solve_skirt(given, out, error);
    }
    if (given->peak_cd_per_lm == 0)
        return LUXFALL_OK;
    double without_skirt = peak_of(out, given->efficiency);
    out->peak_cd_per_lm = without_skirt;
    if (given->peak_cd_per_lm < without_skirt * (1 - 1e-9))
        return solve_skirt(given, out, error);
    if (given->peak_cd_per_lm <= without_skirt * (1 + 1e-9))
        return LUXFALL_OK;
    if (given->field_angle_rad > 0)
        return too_high(given, without_skirt, "beam and field angle together leave room for", error);
    double top_power = best_power(given->beam_angle_rad);
    double best = peak_of_power(given->beam_angle_rad, top_power, given->efficiency);
    if (given->peak_cd_per_lm > best)
        return too_high(given, best, "any beam of that angle reaches", error);
    solve_power(given, top_power, out);
    return LUXFALL_OK;
}

static enum luxfall_status check_figures(const struct luxfall_beam *given, struct luxfall_error *error) {
    if (!(given->beam_angle_rad > 0 && given->beam_angle_rad < PI))
        return fail(error, LUXFALL_E_VALUE, 0, "the beam angle must lie between 0 and 180 deg, not %.4g deg",
                    deg(given->beam_angle_rad));
    if (!(given->efficiency > 0 && given->efficiency <= 1))
        return fail(error, LUXFALL_E_VALUE, 0, "the efficiency must lie above 0 and at most at 100 %%, not %.4g %%",
                    100 * given->efficiency);
    if (!(given->field_angle_rad >= 0 && given->field_angle_rad <= PI))
        return fail(error, LUXFALL_E_VALUE, 0, "the field angle must be at most 180 deg, not %.4g deg",
                    deg(given->field_angle_rad));
    if (!(given->peak_cd_per_lm >= 0 && given->peak_cd_per_lm < 1e9))
        return fail(error, LUXFALL_E_VALUE, 0, "the peak must be above 0 cd/lm, not %.4g cd/lm",
                    given->peak_cd_per_lm);
    if (!(given->skirt_rad >= 0 && given->skirt_rad < PI))
        return fail(error, LUXFALL_E_VALUE, 0, "the skirt must lie between 0 and 180 deg, not %.4g deg",
                    deg(given->skirt_rad));
    return LUXFALL_OK;
}

/* What die and face allow: full-beam floor and the most on axis. METHODS eq. (9). */
static enum luxfall_status bound_by_die(const struct luxfall_beam *given, const struct luxfall_emitter *emitter,
                                        struct luxfall_beam_solution *out, struct luxfall_error *error) {
    double face_mm2 = face_area_mm2(&given->face), die_mm2 = emitter_area_mm2(emitter);
    double per_area = emitter_greatest_per_cosine(emitter);
    if (!(face_mm2 > 0 && die_mm2 > 0) || isinf(per_area))
        return LUXFALL_OK;
    double ratio = die_mm2 / face_mm2;
    out->floor_rad = 2 * asin(fmin(1, sqrt(ratio)));
    out->floor_domed_rad = 2 * asin(fmin(1, DOME_INDEX * sqrt(ratio)));
    out->bound_cd_per_lm = per_area / ratio;
    out->bound_domed_cd_per_lm = per_area / ratio / (DOME_INDEX * DOME_INDEX);
    if (out->peak_cd_per_lm > out->bound_cd_per_lm)
        return fail(error, LUXFALL_E_BEAM, 0,
                    "a peak of %.4g cd/lm is more than a face of %.4g mm2 can send from dies of %.4g mm2: %.4g cd/lm "
                    "(%.4g per sr times face over die, %.4g); is the beam angle a half angle, or a size in another "
                    "unit?",
                    out->peak_cd_per_lm, face_mm2, die_mm2, out->bound_cd_per_lm, per_area, 1 / ratio);
    return LUXFALL_OK;
}

enum luxfall_status beam_solve_shape(const struct luxfall_beam *beam, const struct luxfall_emitter *emitter,
                                     struct luxfall_beam_solution *out, struct luxfall_error *error) {
    enum luxfall_status status = check_figures(beam, error);
    if (status == LUXFALL_OK)
        status = solve_shape(beam, out, error);
    if (status != LUXFALL_OK)
        return status;
    out->peak_cd_per_lm = peak_of(out, beam->efficiency);
    return emitter ? bound_by_die(beam, emitter, out, error) : LUXFALL_OK;
}

enum luxfall_status luxfall_beam_solve(const struct luxfall_beam *beam, const struct luxfall_emitter *emitter,
                                       struct luxfall_beam_solution *out, struct luxfall_error *error) {
    enum luxfall_status status = beam_solve_shape(beam, emitter, out, error);
    if (status != LUXFALL_OK)
        return status;
    double angle_rad = beam->beam_angle_rad, efficiency = beam->efficiency;
    out->best_cd_per_lm = peak_of_power(angle_rad, best_power(angle_rad), efficiency);
    out->bell_cd_per_lm = peak_of_power(angle_rad, 2, efficiency);
    out->flat_top_cd_per_lm = efficiency / (2 * PI * (1 - cos(angle_rad / 2)));
    out->bell_ratio = out->peak_cd_per_lm / out->bell_cd_per_lm;
    struct luxfall_beam_solution core = {.width_rad = out->width_rad, .power = out->power};
    out->core_share = (1 - out->skirt_share) * beam_integral(&core) / beam_integral(out);
    return LUXFALL_OK;
}

/* ---- as a law of angle ---- */

static double law_relative(const struct angle_law *law, double angle_rad) {
    return luxfall_beam_relative(&law->beam, angle_rad);
}

static size_t law_panels_room(const struct angle_law *law) {
    (void)law;
    return BEAM_EDGES_MAX;
}

static size_t law_panels(const struct angle_law *law, double *edges) {
    return beam_panels(&law->beam, edges);
}

const struct angle_law_kind angle_law_beam = {law_relative, law_panels_room, law_panels, false};
