#include "maps/field_statistics.h"

#include "numbers/vec.h"

#include <string.h>

static const double *replicate_readings(const struct field_data *data, int replicate) {
    return data->readings_lx + (size_t)replicate * (size_t)data->grid->count;
}

/* Replicates 0 .. chosen-1 choose places, from .. replicates-1 give values: halves, or the one there is. */
static int choosing(const struct field_data *data) {
    return data->replicates == 1 ? 1 : data->replicates / 2;
}
static int valuing_from(const struct field_data *data) {
    return data->replicates == 1 ? 0 : data->replicates / 2;
}

enum extreme { LOWEST, HIGHEST, LOWEST_ON_EDGE };

static int extreme_place(const struct field_data *data, enum extreme which) {
    int best = -1;
    double best_sum = 0;
    for (int k = 0; k < data->grid->count; k++) {
        if (which == LOWEST_ON_EDGE && !data->grid->edge[k])
            continue;
        double sum = 0;
        for (int r = 0; r < choosing(data); r++)
            sum += replicate_readings(data, r)[k];
        if (best < 0 || (which == HIGHEST ? sum > best_sum : sum < best_sum)) {
            best = k;
            best_sum = sum;
        }
    }
    return best;
}

static struct luxfall_estimate reading_estimate(const struct field_data *data, int place, bool extreme) {
    int from = extreme ? valuing_from(data) : 0;
    return estimate_mean(replicate_readings(data, from) + place, (size_t)data->grid->count, data->replicates - from,
                         extreme ? EXTREME_FACTOR : 1);
}

/* ---- ratios over the valuing half --------------------------------------------------------------------------------
 */

struct ratio {
    int count;
    const double *above, *below;
    size_t above_stride, below_stride;
};

static double ratio_without(const void *data, int left_out) {
    const struct ratio *ratio = data;
    double above = 0, below = 0;
    for (int r = 0; r < ratio->count; r++) {
        if (r == left_out)
            continue;
        above += ratio->above[(size_t)r * ratio->above_stride];
        below += ratio->below[(size_t)r * ratio->below_stride];
    }
    return below > 0 ? above / below : NAN;
}

static struct luxfall_estimate extreme_over(const struct field_data *data, int place, const double *below,
                                            size_t below_stride) {
    int from = valuing_from(data);
    struct ratio ratio = {data->replicates - from, replicate_readings(data, from) + place,
                          below + (size_t)from * below_stride, (size_t)data->grid->count, below_stride};
    return estimate_jackknife(ratio_without, &ratio, ratio.count, EXTREME_FACTOR, false);
}

/* ---- scatter over the places, free of noise ----------------------------------------------------------------------
 */

struct scatter {
    const struct field_data *data;
    double sum[READINGS_MAX];          /* over replicates, of readings less their own mean */
    double mean[LUXFALL_REPLICATES];   /* of each replicate */
    double square[LUXFALL_REPLICATES]; /* sum of squares about it */
};

static void scatter_make(const struct field_data *data, struct scatter *out) {
    int places = data->grid->count;
    out->data = data;
    memset(out->sum, 0, sizeof out->sum);
    for (int r = 0; r < data->replicates; r++) {
        const double *reading = replicate_readings(data, r);
        double sum = 0;
        for (int k = 0; k < places; k++)
            sum += reading[k];
        out->mean[r] = sum / places;
        out->square[r] = 0;
        for (int k = 0; k < places; k++) {
            double away = reading[k] - out->mean[r];
            out->sum[k] += away;
            out->square[r] += away * away;
        }
    }
}

/* Products of different replicates alone: noise of one has no part in another, so it adds nothing. METHODS eq. (43).
 */
static double variation_without(const void *data, int left_out) {
    const struct scatter *scatter = data;
    const double *left = left_out < 0 ? NULL : replicate_readings(scatter->data, left_out);
    int replicates = scatter->data->replicates, places = scatter->data->grid->count;
    double whole = 0, own = 0, mean = 0;
    for (int k = 0; k < places; k++) {
        double sum = scatter->sum[k] - (left ? left[k] - scatter->mean[left_out] : 0);
        whole += sum * sum;
    }
    for (int r = 0; r < replicates; r++) {
        own += r == left_out ? 0 : scatter->square[r];
        mean += r == left_out ? 0 : scatter->mean[r];
    }
    int count = replicates - (left_out >= 0);
    double variance = count == 1 ? whole : (whole - own) / ((double)count * (count - 1));
    return mean > 0 ? sqrt(fmax(variance / places, 0)) / (mean / count) : NAN;
}

/* ---- tilt and dome -----------------------------------------------------------------------------------------------
 */

/* Least squares of A + b x + c y + q (x^2 + y^2): b, c and q are linear in the readings. The places are symmetric in
 * x and y, so that x, y stand apart from the even terms. METHODS eq. (44). */
struct slopes {
    int replicates;
    double b[LUXFALL_REPLICATES], c[LUXFALL_REPLICATES], q[LUXFALL_REPLICATES];
    double sum_b, sum_c, sum_q, sum_average;
    const double *average_lx;
    double half_diagonal_mm;
};

static void slopes_make(const struct field_data *data, struct slopes *out) {
    const struct reading_grid *grid = data->grid;
    double xx = 0, yy = 0, rr = 0, rrrr = 0;
    for (int k = 0; k < grid->count; k++) {
        double x2 = grid->x_mm[k] * grid->x_mm[k], y2 = grid->y_mm[k] * grid->y_mm[k];
        xx += x2;
        yy += y2;
        rr += x2 + y2;
        rrrr += (x2 + y2) * (x2 + y2);
    }
    double mean_r2 = rr / grid->count, spread = rrrr - rr * mean_r2;
    *out = (struct slopes){
        .replicates = data->replicates, .average_lx = data->average_lx, .half_diagonal_mm = grid->half_diagonal_mm};
    for (int r = 0; r < data->replicates; r++) {
        const double *reading = replicate_readings(data, r);
        double b = 0, c = 0, q = 0;
        for (int k = 0; k < grid->count; k++) {
            double x = grid->x_mm[k], y = grid->y_mm[k];
            b += reading[k] * x;
            c += reading[k] * y;
            q += reading[k] * (x * x + y * y - mean_r2);
        }
        out->sum_b += out->b[r] = b / xx;
        out->sum_c += out->c[r] = c / yy;
        out->sum_q += out->q[r] = q / spread;
        out->sum_average += data->average_lx[r];
    }
}

static double less(double sum, const double *values, int left_out) {
    return left_out < 0 ? sum : sum - values[left_out];
}

/* One part of the slope over the average. */
static double slope_over_average(const struct slopes *s, double sum, const double *values, int left_out) {
    double average = less(s->sum_average, s->average_lx, left_out);
    return average > 0 ? 100 * less(sum, values, left_out) / average : NAN;
}
static double slope_x_without(const void *data, int left_out) {
    const struct slopes *s = data;
    return slope_over_average(s, s->sum_b, s->b, left_out);
}
static double slope_y_without(const void *data, int left_out) {
    const struct slopes *s = data;
    return slope_over_average(s, s->sum_c, s->c, left_out);
}

static double dome_without(const void *data, int left_out) {
    const struct slopes *s = data;
    double average = less(s->sum_average, s->average_lx, left_out);
    double half2 = s->half_diagonal_mm * s->half_diagonal_mm;
    return average > 0 ? -100 * less(s->sum_q, s->q, left_out) * half2 / average : NAN;
}

/* Measured from the direction of all replicates, so that it does not jump at 360 deg. */
static double turn_without(const void *data, int left_out) {
    const struct slopes *s = data;
    double b = less(s->sum_b, s->b, left_out), c = less(s->sum_c, s->c, left_out);
    return atan2(s->sum_b * c - s->sum_c * b, s->sum_b * b + s->sum_c * c) * 180 / PI;
}

/* Noise lengthens a vector: its share is taken off the square, and the band covers both parts. METHODS eq. (45). */
static struct luxfall_estimate tilt_length(const struct slopes *slopes) {
    struct luxfall_estimate x = estimate_jackknife(slope_x_without, slopes, slopes->replicates, 1, false);
    struct luxfall_estimate y = estimate_jackknife(slope_y_without, slopes, slopes->replicates, 1, false);
    double square = x.value * x.value + y.value * y.value;
    if (slopes->replicates == 1)
        return (struct luxfall_estimate){sqrt(square), NAN};
    double band = hypot(x.u95, y.u95), error = band / t95(slopes->replicates);
    return (struct luxfall_estimate){sqrt(fmax(square - error * error, 0)), band};
}

static void tilt_and_dome(const struct field_data *data, struct luxfall_field_result *out) {
    struct slopes slopes;
    slopes_make(data, &slopes);
    out->tilt_percent_per_mm = tilt_length(&slopes);
    out->dome_percent = estimate_jackknife(dome_without, &slopes, data->replicates, 1, false);
    out->tilt_direction_deg = estimate_none();
    /* By the direct way a tilt of rounding size has no direction either. */
    double tilt = out->tilt_percent_per_mm.value, width_mm = out->width_mm + out->height_mm;
    double least = data->replicates > 1 ? out->tilt_percent_per_mm.u95 : 1e-4 / width_mm;
    if (!(tilt > least))
        return;
    struct luxfall_estimate turn = estimate_jackknife(turn_without, &slopes, data->replicates, 1, false);
    double direction = atan2(slopes.sum_c, slopes.sum_b) * 180 / PI;
    out->tilt_direction_deg = (struct luxfall_estimate){direction < 0 ? direction + 360 : direction, turn.u95};
}

/* ---- all together ------------------------------------------------------------------------------------------------
 */

static void extremes(const struct field_data *data, struct luxfall_field_result *out) {
    size_t stride = (size_t)data->grid->count;
    int lowest = extreme_place(data, LOWEST), highest = extreme_place(data, HIGHEST);
    int lowest_on_edge = extreme_place(data, LOWEST_ON_EDGE);
    out->minimum_lx = reading_estimate(data, lowest, true);
    out->maximum_lx = reading_estimate(data, highest, true);
    out->minimum_over_average = extreme_over(data, lowest, data->average_lx, 1);
    out->minimum_over_maximum = extreme_over(data, lowest, data->readings_lx + highest, stride);
    out->edge_over_centre = extreme_over(data, lowest_on_edge, data->readings_lx + data->grid->centre, stride);
}

static struct luxfall_estimate times(struct luxfall_estimate estimate, double factor) {
    return (struct luxfall_estimate){estimate.value * factor, estimate.u95 * factor};
}

void field_statistics(const struct field_data *data, struct luxfall_field_result *out) {
    double area_m2 = data->grid->area_mm2 * 1e-6;
    out->reading_mm = data->grid->reading_mm;
    out->centre_lx = reading_estimate(data, data->grid->centre, false);
    out->average_lx = estimate_mean(data->average_lx, 1, data->replicates, 1);
    out->flux_lm = times(out->average_lx, area_m2);
    extremes(data, out);
    struct scatter scatter;
    scatter_make(data, &scatter);
    out->variation = estimate_jackknife(variation_without, &scatter, data->replicates, 1, true);
    if (out->variation.value < 0) /* an unbiased guess at nearly none */
        out->variation.value = 0;
    tilt_and_dome(data, out);
    struct ratio use = {data->replicates, data->average_lx, data->leaving_lm, 1, 1};
    out->utilisation = times(estimate_jackknife(ratio_without, &use, data->replicates, 1, false), area_m2);
}

static double relative_band(struct luxfall_estimate estimate) {
    return estimate.value > 0 ? estimate.u95 / estimate.value : 0;
}

double field_worst_band(const struct luxfall_field_result *field) {
    double worst = fmax(relative_band(field->average_lx), relative_band(field->centre_lx));
    return fmax(worst, relative_band(field->minimum_lx));
}
