#include "smoothing.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

/* The kernel of smooth_line() divides white noise of nodes by 2 s sqrt(pi) / 1.69 for a width s in both directions:
 * this width does nothing. */
static const double NOTHING = 1.69 / 3.545;
static const double NOISE_SEEN = 0.005, NOISE_LEFT = 0.0025; /* of the value; a colour step of the scale is 0.2 % */
static const double NOISE_TAKEN = 1.5; /* of what smoothing takes: more is light that stands out of the noise */

struct smoothing smoothing_for(const struct luxfall_plane_result *plane, double noise, double wanted, int block) {
    double nodes = NOTHING * noise / wanted, most = INFINITY;
    if (isfinite(plane->half_peak_diameter_mm.value))
        most = plane->half_peak_diameter_mm.value / (plane->cell_mm * block) / 10;
    double most_across = fmin(most, plane->columns / (12.0 * block));
    double most_up = fmin(most, plane->rows / (12.0 * block));
    struct smoothing s = {fmin(nodes, most_across), fmin(nodes, most_up)};
    if (s.up < nodes) /* on a strip the long way makes up for the short one */
        s.across = fmin(nodes * nodes / fmax(s.up, NOTHING), most_across);
    if (s.across < nodes)
        s.up = fmin(nodes * nodes / fmax(s.across, NOTHING), most_up);
    return s;
}

/* One pass of the bell along count values stride apart; at the ends its weights are those of what is there. */
static void smooth_line(float *values, int count, size_t stride, const double *bell, int reach, double *scratch) {
    for (int i = 0; i < count; i++)
        scratch[i] = values[(size_t)i * stride];
    for (int i = 0; i < count; i++) {
        double sum = 0, weight = 0;
        int from = i > reach ? i - reach : 0, to = i + reach < count - 1 ? i + reach : count - 1;
        for (int j = from; j <= to; j++) {
            double w = bell[abs(j - i)];
            sum += w * scratch[j];
            weight += w;
        }
        values[(size_t)i * stride] = (float)(sum / weight);
    }
}

/* `lines` lines `apart`, each of count values stride apart. */
static bool smooth_lines(float *values, int lines, size_t apart, int count, size_t stride, double nodes) {
    if (nodes <= NOTHING)
        return true;
    int reach = (int)ceil(4 * nodes);
    double *bell = malloc(((size_t)reach + 1 + (size_t)count) * sizeof *bell);
    if (bell == NULL)
        return false;
    for (int i = 0; i <= reach; i++) { /* no second moment: slopes and bends pass, only noise goes */
        double square = i * i / (nodes * nodes);
        bell[i] = exp(-0.5 * square) * (1.5 - 0.5 * square);
    }
    for (int i = 0; i < lines; i++)
        smooth_line(values + (size_t)i * apart, count, stride, bell, reach, bell + reach + 1);
    free(bell);
    return true;
}

bool smooth_values(float *values, int columns, int rows, size_t stride, struct smoothing nodes) {
    return smooth_lines(values, rows, stride, columns, 1, nodes.across) &&
           smooth_lines(values, columns, 1, rows, stride, nodes.up);
}

/* Standard deviation over value, of the cells above a tenth of the peak. */
static double bright_noise(const struct luxfall_plane_result *plane) {
    double light = 0, band = 0;
    for (size_t i = 0; i < (size_t)plane->columns * (size_t)plane->rows && plane->e_u95_lx != NULL; i++)
        if (plane->e_lx[i] > 0.1 * plane->peak_lx.value && isfinite(plane->e_u95_lx[i])) {
            light += plane->e_lx[i];
            band += plane->e_u95_lx[i];
        }
    return light > 0 ? band / light / 2 : 0;
}

/* Square of what the smoothing took from the bright cells over that of their noise: about 1 where it took noise
 * alone. */
static double taken(const struct luxfall_plane_result *plane, const float *smooth) {
    double gone = 0, noise = 0;
    for (size_t i = 0; i < (size_t)plane->columns * (size_t)plane->rows; i++)
        if (plane->e_lx[i] > 0.1 * plane->peak_lx.value && isfinite(plane->e_u95_lx[i])) {
            gone += pow(plane->e_lx[i] - smooth[i], 2);
            noise += pow(plane->e_u95_lx[i] / 2, 2);
        }
    return noise > 0 ? gone / noise : 0;
}

static bool smooth_copy(const struct luxfall_plane_result *plane, struct smoothing nodes, float *cells) {
    memcpy(cells, plane->e_lx, (size_t)plane->columns * (size_t)plane->rows * sizeof *cells);
    return smooth_values(cells, plane->columns, plane->rows, (size_t)plane->columns, nodes);
}

/* The wider the better, as long as nothing but noise is lost: stripes and rings of light stay. */
static bool smooth_cells(const struct luxfall_plane_result *plane, float *cells, struct smoothing *nodes) {
    double noise = bright_noise(plane);
    *nodes = noise > NOISE_SEEN ? smoothing_for(plane, noise, NOISE_LEFT, 1) : (struct smoothing){0, 0};
    while (smooth_copy(plane, *nodes, cells)) {
        if (nodes->across <= NOTHING && nodes->up <= NOTHING)
            return true;
        if (taken(plane, cells) <= NOISE_TAKEN)
            return true;
        *nodes = (struct smoothing){nodes->across * 0.7, nodes->up * 0.7};
    }
    return false;
}

static float *cells_alone(const struct luxfall_plane_result *plane, struct smoothing *nodes) {
    float *cells = malloc((size_t)plane->columns * (size_t)plane->rows * sizeof *cells);
    if (cells != NULL && smooth_cells(plane, cells, nodes))
        return cells;
    free(cells);
    return NULL;
}

struct smoothing picture_smoothing(const struct luxfall_plane_result *plane) {
    struct smoothing nodes = {0, 0};
    free(cells_alone(plane, &nodes));
    return (struct smoothing){nodes.across > NOTHING ? nodes.across * plane->cell_mm : 0,
                              nodes.up > NOTHING ? nodes.up * plane->cell_mm : 0};
}

float *picture_cells(const struct luxfall_plane_result *plane) {
    struct smoothing nodes;
    float *cells = cells_alone(plane, &nodes);
    for (size_t i = 0; cells && i < (size_t)plane->columns * (size_t)plane->rows && plane->e_u95_lx != NULL; i++)
        cells[i] = cells[i] > 0 ? cells[i] : 0; /* the bell's foot dips below 0 beside a sharp edge */
    return cells;
}
