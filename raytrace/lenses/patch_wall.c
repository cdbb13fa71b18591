/* Flat walls that stand upright: sides of pipes and of bodies that are not round. METHODS eq. (75). */
#include "lenses/patch.h"

#include <math.h>

struct patch patch_wall(struct patch_side side, double half_mm) {
    struct patch patch = patch_without_bounds(PATCH_WALL, 0);
    patch.side_count = 1;
    patch.sides[0] = side;
    patch.half_mm = half_mm;
    return patch;
}

int patch_sides_of_rectangle(double width_mm, double height_mm, struct patch_side *sides) {
    const double x = width_mm / 2, y = height_mm / 2;
    sides[0] = (struct patch_side){1, 0, x};
    sides[1] = (struct patch_side){0, 1, y};
    sides[2] = (struct patch_side){-1, 0, x};
    sides[3] = (struct patch_side){0, -1, y};
    return 4;
}

int patch_sides_of_hexagon(double across_mm, struct patch_side *sides) {
    const double s = sqrt(0.75), reach = across_mm / 2;
    sides[0] = (struct patch_side){1, 0, reach};
    sides[1] = (struct patch_side){0.5, s, reach};
    sides[2] = (struct patch_side){-0.5, s, reach};
    sides[3] = (struct patch_side){-1, 0, reach};
    sides[4] = (struct patch_side){-0.5, -s, reach};
    sides[5] = (struct patch_side){0.5, -s, reach};
    return 6;
}

struct patch patch_within(struct patch patch, int side_count, const struct patch_side *sides) {
    patch.side_count = side_count;
    for (int i = 0; i < side_count; i++)
        patch.sides[i] = sides[i];
    return patch;
}

double patch_half_side(int side_count, const struct patch_side *sides, int i) {
    const struct patch_side *side = &sides[i], *next = &sides[(i + 1) % side_count];
    double cosine = side->x * next->x + side->y * next->y;
    return (next->reach_mm - side->reach_mm * cosine) / sqrt(1 - cosine * cosine);
}

static double wall_value(const struct patch *patch, const double p[3]) {
    const struct patch_side *side = &patch->sides[0];
    return side->x * p[0] + side->y * p[1] - side->reach_mm;
}

static void wall_gradient(const struct patch *patch, const double p[3], double out[3]) {
    (void)p;
    out[0] = patch->sides[0].x;
    out[1] = patch->sides[0].y;
    out[2] = 0;
}

static bool wall_cross(const struct patch *patch, const struct line *line, bool going_up, double *t_mm) {
    const struct patch_side *side = &patch->sides[0];
    double rise = side->x * line->d[0] + side->y * line->d[1];
    if (line->own || rise == 0 || (rise > 0) != going_up)
        return false;
    *t_mm = -wall_value(patch, line->p) / rise;
    return true;
}

const struct patch_surface patch_walled = {.value = wall_value, .gradient = wall_gradient, .cross = wall_cross};
