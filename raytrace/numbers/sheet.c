#include "numbers/sheet.h"

#include <math.h>
#include <stdlib.h>

enum { SIDE = 12, NODES = SIDE * SIDE, PROBES = 5, ASKED = NODES + PROBES, DEPTH_MAX = 9, PARTS_MAX = 2000 };

struct part {
    double x0, x1, y0, y1;
    int quarters; /* index of the first of four; 0: none, this part is kept */
    double value[NODES];
};

struct sheet {
    struct part *parts; /* the first is the whole */
    int count, room;
    double node[SIDE], weight[SIDE]; /* Chebyshev points on [-1, 1] and their barycentric weights */
    double tolerance, largest, error;
};

/* Where a part is probed, in its own [-1, 1]^2: off the nodes and off all lines of symmetry. */
static const double PROBE_X[PROBES] = {0.0734, -0.4619, 0.8217, -0.9071, 0.5353};
static const double PROBE_Y[PROBES] = {-0.1127, 0.6871, 0.3719, -0.8293, -0.5741};

/* ---- one part ----------------------------------------------------------------------------------------------------
 */

static double middle(double a, double b, double unit) {
    return (a + b) / 2 + (b - a) / 2 * unit;
}

/* Shares of the nodes in the value at a place on [-1, 1]. */
static void shares_at(const struct sheet *sheet, double unit, double share[SIDE]) {
    double sum = 0;
    for (int i = 0; i < SIDE; i++) {
        double away = unit - sheet->node[i];
        if (away == 0) {
            for (int k = 0; k < SIDE; k++)
                share[k] = k == i;
            return;
        }
        sum += share[i] = sheet->weight[i] / away;
    }
    for (int i = 0; i < SIDE; i++)
        share[i] /= sum;
}

static double part_at(const struct sheet *sheet, const struct part *part, double unit_x, double unit_y) {
    double across[SIDE], up[SIDE], value = 0;
    shares_at(sheet, unit_x, across);
    shares_at(sheet, unit_y, up);
    for (int j = 0; j < SIDE; j++) {
        double row = 0;
        for (int i = 0; i < SIDE; i++)
            row += across[i] * part->value[j * SIDE + i];
        value += up[j] * row;
    }
    return value;
}

/* ---- growing -----------------------------------------------------------------------------------------------------
 */

static bool add_part(struct sheet *sheet, double x0, double x1, double y0, double y1) {
    if (sheet->count == sheet->room) {
        int room = 2 * sheet->room;
        struct part *parts = realloc(sheet->parts, (size_t)room * sizeof *parts);
        if (!parts)
            return false;
        sheet->parts = parts;
        sheet->room = room;
    }
    struct part *part = &sheet->parts[sheet->count++];
    part->x0 = x0;
    part->x1 = x1;
    part->y0 = y0;
    part->y1 = y1;
    part->quarters = 0;
    return true;
}

static bool cut(struct sheet *sheet, int index) {
    struct part whole = sheet->parts[index];
    double x = (whole.x0 + whole.x1) / 2, y = (whole.y0 + whole.y1) / 2;
    int first = sheet->count;
    bool good = add_part(sheet, whole.x0, x, whole.y0, y) && add_part(sheet, x, whole.x1, whole.y0, y) &&
                add_part(sheet, whole.x0, x, y, whole.y1) && add_part(sheet, x, whole.x1, y, whole.y1);
    sheet->parts[index].quarters = first;
    return good;
}

/* Asks the function at the nodes and probes of parts from .. to-1, all in one call. asked: room for ASKED each,
 * thrice. */
static void ask(struct sheet *sheet, sheet_function *f, const void *data, int from, int to, double *asked) {
    size_t total = (size_t)(to - from) * ASKED;
    double *x = asked, *y = x + total, *value = y + total;
    for (int p = from; p < to; p++) {
        const struct part *part = &sheet->parts[p];
        size_t at = (size_t)(p - from) * ASKED;
        for (int i = 0; i < ASKED; i++) {
            int probe = i - NODES;
            x[at + (size_t)i] = middle(part->x0, part->x1, i < NODES ? sheet->node[i % SIDE] : PROBE_X[probe]);
            y[at + (size_t)i] = middle(part->y0, part->y1, i < NODES ? sheet->node[i / SIDE] : PROBE_Y[probe]);
        }
    }
    f(data, (int)total, x, y, value);
    for (int p = from; p < to; p++) {
        for (int i = 0; i < NODES; i++) {
            double now = value[(size_t)(p - from) * ASKED + (size_t)i];
            sheet->parts[p].value[i] = now;
            sheet->largest = fmax(sheet->largest, fabs(now));
        }
    }
}

static double probe_error(const struct sheet *sheet, int index, const double *probed) {
    double worst = 0;
    for (int i = 0; i < PROBES; i++)
        worst = fmax(worst, fabs(part_at(sheet, &sheet->parts[index], PROBE_X[i], PROBE_Y[i]) - probed[i]));
    return sheet->largest > 0 ? worst / sheet->largest : 0;
}

/* One generation of parts after the other. */
static bool grow(struct sheet *sheet, sheet_function *f, const void *data) {
    int from = 0;
    for (int depth = 0; from < sheet->count; depth++) {
        int to = sheet->count;
        size_t total = (size_t)(to - from) * ASKED;
        double *asked = malloc(3 * total * sizeof *asked);
        if (!asked)
            return false;
        ask(sheet, f, data, from, to, asked);
        bool good = true;
        for (int p = from; p < to && good; p++) {
            double error = probe_error(sheet, p, asked + 2 * total + (size_t)(p - from) * ASKED + NODES);
            if (error > sheet->tolerance && depth < DEPTH_MAX && sheet->count + 4 <= PARTS_MAX)
                good = cut(sheet, p);
            else
                sheet->error = fmax(sheet->error, error);
        }
        free(asked);
        if (!good)
            return false;
        from = to;
    }
    return true;
}

struct sheet *sheet_make(sheet_function *f, const void *data, double x0, double x1, double y0, double y1,
                         double tolerance) {
    enum { ROOM = 64 };
    struct sheet *sheet = calloc(1, sizeof *sheet);
    if (!sheet)
        return NULL;
    for (int i = 0; i < SIDE; i++) {
        double turn = (2 * i + 1) * 3.14159265358979323846 / (2 * SIDE);
        sheet->node[i] = -cos(turn);
        sheet->weight[i] = (i % 2 ? -1 : 1) * sin(turn);
    }
    sheet->tolerance = tolerance;
    sheet->room = ROOM;
    sheet->parts = malloc(ROOM * sizeof *sheet->parts);
    if (sheet->parts && add_part(sheet, x0, x1, y0, y1) && grow(sheet, f, data))
        return sheet;
    sheet_free(sheet);
    return NULL;
}

void sheet_free(struct sheet *sheet) {
    if (!sheet)
        return;
    free(sheet->parts);
    free(sheet);
}

/* ---- asking ------------------------------------------------------------------------------------------------------
 */

double sheet_at(const struct sheet *sheet, double x, double y) {
    const struct part *part = sheet->parts;
    while (part->quarters) {
        int right = x >= (part->x0 + part->x1) / 2, above = y >= (part->y0 + part->y1) / 2;
        part = &sheet->parts[part->quarters + right + 2 * above];
    }
    return part_at(sheet, part, (2 * x - part->x0 - part->x1) / (part->x1 - part->x0),
                   (2 * y - part->y0 - part->y1) / (part->y1 - part->y0));
}

bool sheet_covers(const struct sheet *sheet, double x0, double x1, double y0, double y1) {
    const struct part *whole = sheet->parts;
    return x0 >= whole->x0 && x1 <= whole->x1 && y0 >= whole->y0 && y1 <= whole->y1;
}

double sheet_error(const struct sheet *sheet) {
    return sheet->error;
}
