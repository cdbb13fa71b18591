#include "lenses/wave.h"

#include <math.h>

/* Single precision rounds places to about this share of the optic; bounds overlap by it. */
static const double SLACK_SHARE = 2e-6;

static float bound(double value) {
    return isfinite(value) ? (float)value : (float)copysign(1e30, value);
}

static float radius2(double radius_mm, double slack_mm) {
    double radius = fmax(radius_mm + slack_mm, 0);
    return bound(radius * radius);
}

static float mirror_of(const struct patch *p) {
    if (p->deed == PATCH_FROSTED || p->deed == PATCH_LAMBERTIAN || p->kind == PATCH_FACETS || p->side_count > 0)
        return -2;
    return p->deed == PATCH_MIRROR ? (float)p->comes_back : p->deed == PATCH_STOP ? 0 : -1;
}

/* Chebyshev series to powers of u, the small ends left out: T(k+1) = 2 u T(k) - T(k-1). */
static void powers_of_series(int count, const double *series, double out[WAVE_POWERS]) {
    double before[WAVE_POWERS] = {0}, now[WAVE_POWERS] = {1};
    for (int k = 0; k < WAVE_POWERS; k++)
        out[k] = 0;
    for (int k = 0; k < count && k < WAVE_POWERS; k++) {
        double next[WAVE_POWERS] = {0};
        for (int i = 0; i < WAVE_POWERS; i++)
            out[i] += series[k] * now[i];
        for (int i = 0; i < WAVE_POWERS; i++)
            next[i] = (i > 0 ? (k == 0 ? 1 : 2) * now[i - 1] : 0) - before[i];
        for (int i = 0; i < WAVE_POWERS; i++) {
            before[i] = k == 0 ? (i == 0) : now[i];
            now[i] = next[i];
        }
    }
}

/* What a kind adds to the quadric of a, b, c, d; that of a profile is its own first three powers. */
static void add_powers(const struct patch *p, double sign, struct wave_patch *out) {
    if (p->kind == PATCH_ASPHERE)
        for (int k = 0; k < p->poly_count; k++)
            out->powers[k] = (float)p->poly[k];
    if (p->kind != PATCH_PROFILE)
        return;
    double powers[WAVE_POWERS];
    powers_of_series(p->poly_count, p->poly, powers);
    for (int k = 0; k < WAVE_POWERS; k++)
        out->powers[k] = (float)powers[k];
    out->inverse = (float)(1 / p->half_mm);
    out->b = (float)(-sign * p->a * powers[2] / (p->half_mm * p->half_mm));
    out->c = (float)(-sign * p->a * powers[1] / p->half_mm);
    out->d = (float)(-sign * p->a * powers[0]);
}

static struct wave_patch patch_seen(const struct optic *optic, int index, bool rising, double slack_mm) {
    const struct patch *p = &optic->patches[index];
    float sign = rising ? 1 : -1;
    int before = rising ? p->down : p->up, beyond = rising ? p->up : p->down;
    struct wave_patch seen = {
        .kind = p->kind,
        .a = sign * (float)p->a,
        .b = sign * (float)p->b,
        .c = sign * (float)p->c,
        .d = sign * (float)p->d,
        .vertex = (float)p->vertex_mm,
        .radius2_low = p->radius_low_mm > 0 ? radius2(p->radius_low_mm, -slack_mm) : -1,
        .radius2_high = radius2(p->radius_high_mm, slack_mm),
        .z_low = bound(p->z_low_mm - p->vertex_mm - slack_mm),
        .z_high = bound(p->z_high_mm - p->vertex_mm + slack_mm),
        .ratio = (float)(optic->materials[before].index / optic->materials[beyond].index),
        .mirror = mirror_of(p),
        .index = index,
        .rising = rising,
        .beyond = beyond,
        .far_side = -2,
    };
    add_powers(p, sign, &seen);
    return seen;
}

/* Both sides of a patch, each in the list of its room, know each other's place. */
static void enter(const struct optic *optic, int index, double slack_mm, struct wave_room *rooms) {
    int down = optic->patches[index].down, up = optic->patches[index].up;
    int below = rooms[down].count++, above = rooms[up].count++;
    struct wave_patch *rising = &rooms[down].patches[below], *falling = &rooms[up].patches[above];
    *rising = patch_seen(optic, index, true, slack_mm);
    *falling = patch_seen(optic, index, false, slack_mm);
    rising->place = above;
    falling->place = below;
    if (up == down) {
        rising->far_side = above;
        falling->far_side = below;
    }
}

static double highest(const struct optic *optic) {
    double top = -INFINITY;
    for (int i = 0; i < optic->patch_count; i++) {
        const struct patch *p = &optic->patches[i];
        bool plane = p->kind == PATCH_QUADRIC && p->a == 0 && p->b == 0;
        top = fmax(top, plane ? p->vertex_mm : p->z_high_mm);
    }
    return top;
}

void wave_optic_make(const struct optic *optic, struct wave_optic *out) {
    double slack_mm = SLACK_SHARE * optic->size_mm;
    *out = (struct wave_optic){.optic = optic, .slack = (float)slack_mm};
    out->top = bound(highest(optic) - slack_mm);
    for (int i = 0; i < optic->patch_count; i++)
        enter(optic, i, slack_mm, out->rooms);
    for (int i = 0; i < optic->material_count; i++) {
        out->rooms[i].absorption = (float)optic->materials[i].absorption_per_mm;
        out->absorbs |= out->rooms[i].absorption > 0;
    }
}
