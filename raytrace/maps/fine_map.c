#include "maps/fine_map.h"

#include "numbers/vec.h"

size_t fine_map_cells(const struct fine_map *map) {
    return (size_t)map->columns * (size_t)map->rows;
}

int fine_map_split(int columns, int rows) {
    enum { WANTED = 100 };
    const double most_cells = 400e3;
    int shorter = columns < rows ? columns : rows;
    int split = (WANTED + shorter - 1) / shorter;
    int allowed = (int)sqrt(most_cells / ((double)columns * rows));
    if (split > allowed)
        split = allowed;
    return split < 1 ? 1 : split;
}

void fine_map_mean(const struct fine_map *map, int from, int to, int left_out, double *out_lx) {
    size_t cells = fine_map_cells(map);
    if (map->direct_lx) {
        for (size_t i = 0; i < cells; i++)
            out_lx[i] = map->direct_lx[i];
        return;
    }
    bool leaves = left_out >= from && left_out < to;
    double scale = map->lx_per_quantum / (to - from - leaves);
    for (size_t i = 0; i < cells; i++) {
        uint64_t sum = 0;
        for (int r = from; r < to; r++)
            sum += map->quanta[r][i];
        if (leaves)
            sum -= map->quanta[left_out][i];
        out_lx[i] = (double)sum * scale;
    }
}

static double coarse_cell(const struct fine_map *map, int replicate, size_t corner) {
    double sum = 0;
    for (int j = 0; j < map->split; j++) {
        size_t row = corner + (size_t)j * (size_t)map->columns;
        for (int i = 0; i < map->split; i++)
            sum += map->direct_lx ? map->direct_lx[row + (size_t)i]
                                  : (double)map->quanta[replicate][row + (size_t)i] * map->lx_per_quantum;
    }
    return sum / (map->split * map->split);
}

void fine_map_coarse(const struct fine_map *map, float *e_lx, float *e_u95_lx) {
    int columns = map->columns / map->split, rows = map->rows / map->split;
    for (int cell = 0; cell < columns * rows; cell++) {
        size_t corner =
            (size_t)(cell / columns * map->split) * (size_t)map->columns + (size_t)(cell % columns * map->split);
        double values[LUXFALL_REPLICATES];
        for (int r = 0; r < map->replicates; r++)
            values[r] = coarse_cell(map, r, corner);
        struct luxfall_estimate e = estimate_mean(values, 1, map->replicates, 1);
        e_lx[cell] = (float)e.value;
        if (e_u95_lx)
            e_u95_lx[cell] = (float)e.u95;
    }
}

/* ---- area above a level ------------------------------------------------------------------------------------------
 */

/* Share of a triangle in which the linear function with these corner values exceeds 0. */
static double triangle_share(double a, double b, double c) {
    int above = (a > 0) + (b > 0) + (c > 0);
    if (above == 0 || above == 3)
        return above / 3;
    double lone = a, other = b, third = c;
    bool lone_above = above == 1;
    if ((b > 0) == lone_above && (a > 0) != lone_above) {
        lone = b;
        other = a;
    } else if ((c > 0) == lone_above && (a > 0) != lone_above) {
        lone = c;
        third = a;
    }
    double tip = lone / (lone - other) * (lone / (lone - third));
    return lone_above ? tip : 1 - tip;
}

/* Share of the square between four cell centres, as four triangles about its middle. */
static double square_share(double a, double b, double c, double d) {
    if (a > 0 && b > 0 && c > 0 && d > 0)
        return 1;
    if (a <= 0 && b <= 0 && c <= 0 && d <= 0)
        return 0;
    double middle = (a + b + c + d) / 4;
    return (triangle_share(a, b, middle) + triangle_share(b, c, middle) + triangle_share(c, d, middle) +
            triangle_share(d, a, middle)) /
           4;
}

static bool edge_exceeds(const double *lx, int columns, int rows, double level_lx) {
    for (int i = 0; i < columns; i++)
        if (lx[i] > level_lx || lx[(size_t)(rows - 1) * (size_t)columns + (size_t)i] > level_lx)
            return true;
    for (int j = 0; j < rows; j++)
        if (lx[(size_t)j * (size_t)columns] > level_lx || lx[(size_t)(j + 1) * (size_t)columns - 1] > level_lx)
            return true;
    return false;
}

double map_area_above(const double *lx, int columns, int rows, double cell_mm, double level_lx) {
    if (!(level_lx > 0) || edge_exceeds(lx, columns, rows, level_lx))
        return NAN;
    double squares = 0;
    for (int j = 0; j + 1 < rows; j++) {
        const double *low = lx + (size_t)j * (size_t)columns, *high = low + columns;
        for (int i = 0; i + 1 < columns; i++)
            squares +=
                square_share(low[i] - level_lx, low[i + 1] - level_lx, high[i + 1] - level_lx, high[i] - level_lx);
    }
    return squares > 0 ? squares * cell_mm * cell_mm : NAN;
}

struct spot {
    const struct fine_map *map;
    const double *mean_lx, *peak_lx;
    double *scratch_lx;
    int peak_from;
    double share;
};

static double spot_without(const void *data, int left_out) {
    const struct spot *spot = data;
    const struct fine_map *map = spot->map;
    double peak = 0;
    int count = 0;
    for (int r = spot->peak_from; r < map->replicates; r++) {
        peak += r == left_out ? 0 : spot->peak_lx[r];
        count += r != left_out;
    }
    const double *lx = spot->mean_lx;
    if (left_out >= 0) {
        size_t cells = fine_map_cells(map);
        double all = map->replicates, one = map->lx_per_quantum;
        for (size_t i = 0; i < cells; i++)
            spot->scratch_lx[i] = (all * spot->mean_lx[i] - one * (double)map->quanta[left_out][i]) / (all - 1);
        lx = spot->scratch_lx;
    }
    double area = map_area_above(lx, map->columns, map->rows, map->cell_mm, spot->share * peak / count);
    return 2 * sqrt(area / PI);
}

struct luxfall_estimate fine_map_spot(const struct fine_map *map, const double *mean_lx, double *scratch_lx,
                                      const double *peak_lx, int peak_from, double share) {
    struct spot spot = {map, mean_lx, peak_lx, scratch_lx, peak_from, share};
    struct luxfall_estimate whole = {spot_without(&spot, -1), NAN};
    if (isnan(whole.value))
        return estimate_none();
    return map->replicates == 1 ? whole
                                : estimate_jackknife(spot_without, &spot, map->replicates, EXTREME_FACTOR, true);
}

/* ---- means over discs --------------------------------------------------------------------------------------------
 */

void map_running_sums(const double *lx, int columns, int rows, double *sums) {
    for (int j = 0; j < rows; j++) {
        double *row = sums + (size_t)j * ((size_t)columns + 1);
        row[0] = 0;
        for (int i = 0; i < columns; i++)
            row[i + 1] = row[i] + lx[(size_t)j * (size_t)columns + (size_t)i];
    }
}

/* Integral along a row up to x, in cells. */
static double row_integral(const double *sums, int columns, double x) {
    double inside = fmin(fmax(x, 0), columns);
    int cell = (int)inside < columns ? (int)inside : columns - 1;
    return sums[cell] + (inside - cell) * (sums[cell + 1] - sums[cell]);
}

/* Area under a half circle of radius 1 from -1 to s: its growth over a row gives the mean chord there. */
static double circle_area(double s) {
    double c = fmin(fmax(s, -1), 1);
    return (c * sqrt(1 - c * c) + asin(c)) / 2;
}

double map_disc_mean(const double *sums, int columns, int rows, double x, double y, double radius) {
    int from = (int)fmax(floor(y - radius), 0), to = (int)fmin(ceil(y + radius), rows);
    double sum = 0, area = 0;
    for (int j = from; j < to; j++) {
        double low = fmax(j - y, -radius), high = fmin(j + 1 - y, radius);
        if (!(high > low))
            continue;
        /* this row's part of the disc, as wide as the mean chord */
        double half = radius * radius * (circle_area(high / radius) - circle_area(low / radius)) / (high - low);
        const double *row = sums + (size_t)j * ((size_t)columns + 1);
        double left = fmax(x - half, 0), right = fmin(x + half, columns);
        if (!(right > left))
            continue;
        sum += (high - low) * (row_integral(row, columns, right) - row_integral(row, columns, left));
        area += (high - low) * (right - left);
    }
    return area > 0 ? sum / area : 0;
}
