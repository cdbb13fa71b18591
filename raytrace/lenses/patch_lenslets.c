/* Small lenses side by side on a face: one sphere repeated over square or hexagonal cells, each nearest to its own
 * middle. Heights at a border are those of both neighbours, so that no steps stand between them. A line is followed
 * from cell to cell. METHODS eq. (83), (84). */
#include "lenses/patch.h"
#include "lenses/vector3.h"

#include <math.h>

double lenslet_corner_mm(double pitch_mm, bool hexagonal) {
    return pitch_mm / sqrt(hexagonal ? 3 : 2);
}

struct patch patch_lenslets(double vertex_mm, double curvature_per_mm, double pitch_mm, bool hexagonal) {
    struct patch patch = patch_conic(vertex_mm, curvature_per_mm, 0);
    double sag = conic_sag(curvature_per_mm, 0, 0, NULL, lenslet_corner_mm(pitch_mm, hexagonal));
    patch.kind = PATCH_LENSLETS;
    patch.pitch_mm = pitch_mm;
    patch.hexagonal = hexagonal;
    patch.z_low_mm = vertex_mm + fmin(sag, 0);
    patch.z_high_mm = vertex_mm + fmax(sag, 0);
    return patch;
}

/* Middles stand on a grid of these steps, hexagonal ones also half a step aside in both. */
static void nearest_of(double x, double y, double step_x, double step_y, double shift, double out[2]) {
    out[0] = (round(x / step_x - shift) + shift) * step_x;
    out[1] = (round(y / step_y - shift) + shift) * step_y;
}

static void nearest_middle(const struct patch *patch, double x, double y, double out[2]) {
    double pitch = patch->pitch_mm, other[2];
    nearest_of(x, y, pitch, patch->hexagonal ? pitch * sqrt(3) : pitch, 0, out);
    if (!patch->hexagonal)
        return;
    nearest_of(x, y, pitch, pitch * sqrt(3), 0.5, other);
    if (hypot(x - other[0], y - other[1]) < hypot(x - out[0], y - out[1])) {
        out[0] = other[0];
        out[1] = other[1];
    }
}

static double lenslet_value(const struct patch *patch, const double p[3]) {
    double middle[2];
    nearest_middle(patch, p[0], p[1], middle);
    const double own[3] = {p[0] - middle[0], p[1] - middle[1], p[2]};
    return patch_quadric.value(patch, own);
}

static void lenslet_gradient(const struct patch *patch, const double p[3], double out[3]) {
    double middle[2];
    nearest_middle(patch, p[0], p[1], middle);
    const double own[3] = {p[0] - middle[0], p[1] - middle[1], p[2]};
    patch_quadric.gradient(patch, own, out);
}

/* The border by which a line leaves a cell that it is told against, at most hi; step: to the next middle. */
static double leaves(const struct patch *patch, const struct line *cell, double lo, double hi, double step[2]) {
    const double s = sqrt(0.75);
    const double square[4][2] = {{1, 0}, {0, 1}, {-1, 0}, {0, -1}},
                 hexagon[6][2] = {{1, 0}, {0.5, s}, {-0.5, s}, {-1, 0}, {-0.5, -s}, {0.5, -s}};
    int count = patch->hexagonal ? 6 : 4;
    double t = hi;
    step[0] = step[1] = 0;
    for (int i = 0; i < count; i++) {
        const double *n = patch->hexagonal ? hexagon[i] : square[i];
        double pace = n[0] * cell->d[0] + n[1] * cell->d[1];
        double at = (patch->pitch_mm / 2 - n[0] * cell->p[0] - n[1] * cell->p[1]) / pace;
        if (!(pace > 0 && at < t))
            continue;
        t = at;
        step[0] = n[0] * patch->pitch_mm;
        step[1] = n[1] * patch->pitch_mm;
    }
    return fmax(t, lo);
}

/* Too short a stretch to tell sides apart. A ray meets a cell so far within its borders: there it must find the
 * normal of the cell that it meets, not of its neighbour, which would send it back. */
static double hairbreadth(const struct patch *patch) {
    return 1e-11 * patch->pitch_mm;
}

/* A crossing that rounding hides at a border, as its root lies beyond, is found as a change of sides. */
static bool lenslet_along(const struct patch *patch, const struct line *line, const double t[2], bool above,
                          bool going_up, double *t_mm) {
    enum { CELLS_MAX = 100000 };
    const double hair = hairbreadth(patch);
    double middle[2], step[2], lo = t[0];
    nearest_middle(patch, line->p[0] + lo * line->d[0], line->p[1] + lo * line->d[1], middle);
    struct line cell = *line;
    cell.p[0] -= middle[0];
    cell.p[1] -= middle[1];
    for (int i = 0; i < CELLS_MAX && lo < t[1]; i++) {
        double hi = leaves(patch, &cell, lo, t[1], step), root, end[3];
        bool rooted = patch_quadric.cross(patch, &cell, going_up, &root);
        along3(cell.p, hi, cell.d, end);
        bool told = hi - lo > hair, ends_above = told ? patch_quadric.value(patch, end) > 0 : above;
        bool parted = !cell.own && ends_above != above && ends_above == going_up;
        if (parted || (rooted && root >= lo && root <= hi)) {
            *t_mm = fmax(fmin(rooted ? root : lo, hi - hair), i > 0 ? lo + hair : lo);
            return true;
        }
        above = ends_above;
        lo = hi;
        cell.own = false; /* it stands on the sphere of the first cell alone */
        cell.p[0] -= step[0];
        cell.p[1] -= step[1];
    }
    return false;
}

const struct patch_surface patch_lensleted = {
    .value = lenslet_value, .gradient = lenslet_gradient, .along = lenslet_along};
