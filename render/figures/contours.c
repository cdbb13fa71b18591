#include "contours.h"

#include "smoothing.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

enum { NODES_A_SIDE = 400 };

/* ---- the grid ---------------------------------------------------------------------------------------------------
 */

void value_grid_free(struct value_grid *grid) {
    free(grid->x);
    free(grid->y);
    free(grid->value);
    *grid = (struct value_grid){0};
}

bool value_grid_make(struct value_grid *grid, int columns, int rows) {
    *grid = (struct value_grid){columns, rows, NULL, NULL, NULL};
    grid->x = calloc((size_t)columns, sizeof *grid->x);
    grid->y = calloc((size_t)rows, sizeof *grid->y);
    grid->value = calloc((size_t)columns * (size_t)rows, sizeof *grid->value);
    if (grid->x != NULL && grid->y != NULL && grid->value != NULL)
        return true;
    value_grid_free(grid);
    return false;
}

/* Node positions along an axis: centres of blocks of `block` cells, and the map's two borders outside them. */
static void place_nodes(double *at_mm, int nodes, int cells, int block, double cell_mm) {
    at_mm[0] = -0.5 * cells * cell_mm;
    at_mm[nodes - 1] = 0.5 * cells * cell_mm;
    for (int i = 0; i < nodes - 2; i++) {
        int first = i * block, last = first + block < cells ? first + block : cells;
        at_mm[i + 1] = (0.5 * (first + last) - 0.5 * cells) * cell_mm;
    }
}

static float block_mean(const struct luxfall_plane_result *plane, int column, int row, int block) {
    double sum = 0;
    int count = 0;
    for (int y = row * block; y < (row + 1) * block && y < plane->rows; y++)
        for (int x = column * block; x < (column + 1) * block && x < plane->columns; x++, count++)
            sum += plane->e_lx[(size_t)y * (size_t)plane->columns + (size_t)x];
    return (float)(sum / count);
}

/* Standard deviation over value of the cells near a share of the peak; 0 by the direct way. */
static double cell_noise(const struct luxfall_plane_result *plane, double share) {
    if (plane->e_u95_lx == NULL)
        return 0;
    double light = 0, band = 0, level = share * plane->peak_lx.value;
    for (size_t i = 0; i < (size_t)plane->columns * (size_t)plane->rows; i++)
        if (plane->e_lx[i] > 0.75 * level && plane->e_lx[i] < 1.25 * level && isfinite(plane->e_u95_lx[i])) {
            light += plane->e_lx[i];
            band += plane->e_u95_lx[i];
        }
    return light > 0 ? band / light / 2 : 0;
}

/* Widths in nodes of the smoothing bell. A bell-shaped spot E = exp(-ln 2 (2 r / w)^2) turns a relative error of E
 * into one of r / w that is 1 / (4 ln 2 sqrt(log2(1 / share))) as large; the line is to stay within 0.06 % of w. */
static struct smoothing smoothing_nodes(const struct luxfall_plane_result *plane, double share, int block) {
    double noise = cell_noise(plane, share) / block, wanted = 0.0006 * 4 * log(2) * sqrt(log2(1 / share));
    return smoothing_for(plane, noise, wanted, block);
}

/* Half a cell beyond its neighbours, on their straight line. */
static float beyond(float first, float second) {
    return first + 0.5F * (first - second);
}

static void fill_border(struct value_grid *grid) {
    size_t width = (size_t)grid->columns, height = (size_t)grid->rows;
    size_t second_column = width > 3 ? 2 : 1, second_row = height > 3 ? 2 : 1;
    for (size_t y = 1; y < height - 1; y++) {
        float *row = grid->value + y * width;
        row[0] = beyond(row[1], row[second_column]);
        row[width - 1] = beyond(row[width - 2], row[width - 1 - second_column]);
    }
    for (size_t x = 0; x < width; x++) {
        float *column = grid->value + x;
        column[0] = beyond(column[width], column[second_row * width]);
        column[(height - 1) * width] =
            beyond(column[(height - 2) * width], column[(height - 1 - second_row) * width]);
    }
}

/* So many cells a side make a node. */
static int block_of(const struct luxfall_plane_result *plane) {
    int longer = plane->columns > plane->rows ? plane->columns : plane->rows;
    return (longer + NODES_A_SIDE - 1) / NODES_A_SIDE;
}

double value_grid_smoothed_mm(const struct luxfall_plane_result *plane, double share) {
    int block = block_of(plane);
    struct smoothing nodes = smoothing_nodes(plane, share, block);
    return 2 * fmax(nodes.across, nodes.up) * block * plane->cell_mm;
}

bool value_grid_for_line(const struct luxfall_plane_result *plane, double share, struct value_grid *grid) {
    int block = block_of(plane);
    int columns = (plane->columns + block - 1) / block, rows = (plane->rows + block - 1) / block;
    if (!value_grid_make(grid, columns + 2, rows + 2))
        return false;
    place_nodes(grid->x, grid->columns, plane->columns, block, plane->cell_mm);
    place_nodes(grid->y, grid->rows, plane->rows, block, plane->cell_mm);
    for (int y = 0; y < rows; y++)
        for (int x = 0; x < columns; x++)
            grid->value[(size_t)(y + 1) * (size_t)grid->columns + (size_t)x + 1] = block_mean(plane, x, y, block);
    float *first = grid->value + grid->columns + 1;
    if (!smooth_values(first, columns, rows, (size_t)grid->columns, smoothing_nodes(plane, share, block))) {
        value_grid_free(grid);
        return false;
    }
    fill_border(grid);
    return true;
}

/* ---- the lines --------------------------------------------------------------------------------------------------
 */

/* Marching squares. A line crosses an edge between two nodes; edges are numbered, the horizontal ones first; every
 * crossed edge links to at most two others, one in each square it belongs to. */
struct tracer {
    const struct value_grid *grid;
    double level;
    int *links; /* two per edge, -1: none */
};

static double node(const struct tracer *t, int x, int y) {
    return t->grid->value[(size_t)y * (size_t)t->grid->columns + (size_t)x];
}

static int edge_across(const struct tracer *t, int x, int y) {
    return y * t->grid->columns + x;
}

static int edge_up(const struct tracer *t, int x, int y) {
    return t->grid->columns * t->grid->rows + y * t->grid->columns + x;
}

static void link_edges(struct tracer *t, int a, int b) {
    t->links[2 * a + (t->links[2 * a] >= 0)] = b;
    t->links[2 * b + (t->links[2 * b] >= 0)] = a;
}

static void link_square(struct tracer *t, int x, int y) {
    double sum = node(t, x, y) + node(t, x + 1, y) + node(t, x + 1, y + 1) + node(t, x, y + 1);
    if (!isfinite(sum))
        return;
    bool in[4] = {node(t, x, y) >= t->level, node(t, x + 1, y) >= t->level, node(t, x + 1, y + 1) >= t->level,
                  node(t, x, y + 1) >= t->level}; /* round the square */
    int edges[4] = {edge_across(t, x, y), edge_up(t, x + 1, y), edge_across(t, x, y + 1), edge_up(t, x, y)};
    int crossed[4], count = 0;
    for (int i = 0; i < 4; i++)
        if (in[i] != in[(i + 1) % 4])
            crossed[count++] = edges[i];
    if (count == 2) {
        link_edges(t, crossed[0], crossed[1]);
    } else if (count == 4) { /* a saddle: the mean of the corners says which pair hangs together */
        bool joined = (sum / 4 >= t->level) == in[0];
        link_edges(t, edges[0], edges[joined ? 1 : 3]);
        link_edges(t, edges[2], edges[joined ? 3 : 1]);
    }
}

static struct contour_point crossing(const struct tracer *t, int edge) {
    const struct value_grid *grid = t->grid;
    int across = grid->columns * grid->rows, up = edge >= across, at = up ? edge - across : edge;
    int x = at % grid->columns, y = at / grid->columns;
    double here = node(t, x, y), there = up ? node(t, x, y + 1) : node(t, x + 1, y);
    double share = (t->level - here) / (there - here);
    if (up)
        return (struct contour_point){grid->x[x], grid->y[y] + share * (grid->y[y + 1] - grid->y[y])};
    return (struct contour_point){grid->x[x] + share * (grid->x[x + 1] - grid->x[x]), grid->y[y]};
}

/* Walks from an edge to the line's end, taking the links away behind it. */
static void walk(struct tracer *t, int edge, struct contours *out) {
    int start = edge;
    out->starts[out->line_count++] = out->point_count;
    out->points[out->point_count++] = crossing(t, edge);
    for (;;) {
        int *links = t->links + 2 * (size_t)edge, next = links[0] >= 0 ? links[0] : links[1];
        if (next < 0)
            break;
        links[links[0] >= 0 ? 0 : 1] = -1;
        int *back = t->links + 2 * (size_t)next;
        back[back[0] == edge ? 0 : 1] = -1;
        out->points[out->point_count++] = crossing(t, next);
        edge = next;
        if (edge == start)
            break;
    }
    out->starts[out->line_count] = out->point_count;
}

static void walk_all(struct tracer *t, int edges, struct contours *out) {
    for (int open = 1; open >= 0; open--) /* lines with ends first, then rings */
        for (int e = 0; e < edges; e++) {
            bool first = t->links[2 * e] >= 0, second = t->links[2 * e + 1] >= 0;
            if (open ? first != second : first && second)
                walk(t, e, out);
        }
}

void contours_free(struct contours *contours) {
    free(contours->starts);
    free(contours->points);
    *contours = (struct contours){0};
}

bool contours_trace(const struct value_grid *grid, double level, struct contours *contours) {
    *contours = (struct contours){0};
    size_t edges = 2 * (size_t)grid->columns * (size_t)grid->rows, linked = 0;
    struct tracer tracer = {grid, level, malloc(2 * edges * sizeof(int))};
    if (tracer.links == NULL)
        return false;
    memset(tracer.links, 0xff, 2 * edges * sizeof(int));
    for (int y = 0; y + 1 < grid->rows; y++)
        for (int x = 0; x + 1 < grid->columns; x++)
            link_square(&tracer, x, y);
    for (size_t e = 0; e < 2 * edges; e++)
        linked += tracer.links[e] >= 0;
    contours->starts = malloc((linked / 2 + 2) * sizeof *contours->starts);
    contours->points = malloc((linked + 2) * sizeof *contours->points);
    bool done = contours->starts != NULL && contours->points != NULL;
    if (done) {
        contours->starts[0] = 0;
        walk_all(&tracer, (int)edges, contours);
    } else {
        contours_free(contours);
    }
    free(tracer.links);
    return done;
}
