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
    if (p->kind == PATCH_FACETS || p->kind == PATCH_LENSLETS || p->kind == PATCH_WALL || p->side_count > 0)
        return WAVE_LEFT_TO_WALK;
    if (p->deed == PATCH_FROSTED || p->deed == PATCH_FILM || p->deed == PATCH_LAMBERTIAN || p->mirror != NULL)
        return WAVE_DEED_ALONE;
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

/* The root of G bends inwards everywhere, so that what lies within r^2 = G is convex: 2 G G'' < G'^2. */
static bool bends_inwards(const double powers[WAVE_POWERS]) {
    enum { LOOKS = 64 };
    for (int i = 0; i <= LOOKS; i++) {
        double u = (2.0 * i / LOOKS - 1) * 1.01, value = 0, slope = 0, bend = 0;
        for (int k = WAVE_POWERS - 1; k >= 0; k--) {
            bend = bend * u + 2 * slope;
            slope = slope * u + value;
            value = value * u + powers[k];
        }
        if (!(2 * value * bend < slope * slope))
            return false;
    }
    return true;
}

static double value_of(const double powers[WAVE_POWERS], double u) {
    double value = 0;
    for (int k = WAVE_POWERS - 1; k >= 0; k--)
        value = value * u + powers[k];
    return value;
}

/* Which walls bulge, and how far a ray must have come to cross one: less what rounding may add. */
static void add_reach(const double powers[WAVE_POWERS], struct wave_patch *out) {
    enum { LOOKS = 64 };
    const double rounding = 1 - 1e-5;
    double least = INFINITY;
    out->bulges = bends_inwards(powers);
    for (int i = 0; i <= LOOKS; i++)
        least = fmin(least, value_of(powers, (2.0 * i / LOOKS - 1) * 1.01));
    out->reach_low = (float)(rounding * value_of(powers, -1));
    out->reach_high = (float)(rounding * value_of(powers, 1));
    out->reach_least = (float)(0.999 * least);
}

/* How far an asphere falls from its quadric at most. Along a ray it is that over the sine of the angle at which the
 * ray grazes; a ray that grazes more than 1 in GRAZING is too rare to look for. */
static const double GRAZING = 20;

static double greatest_sum_of_powers(const struct patch *p) {
    enum { LOOKS = 64 };
    double greatest = isfinite(p->radius_high_mm) ? 0 : INFINITY;
    for (int i = 1; i <= LOOKS && isfinite(greatest); i++) {
        double r2 = pow(p->radius_high_mm * i / LOOKS, 2), sum = 0;
        for (int k = p->poly_count - 1; k >= 0; k--)
            sum = sum * r2 + p->poly[k];
        greatest = fmax(greatest, fabs(sum * r2 * r2));
    }
    return greatest;
}

/* A bound for the second derivative of F along any line near the patch; S is the sum of powers. */
static double bend_of_asphere(const struct patch *p) {
    enum { LOOKS = 64 };
    double steepest = 0, bend = 0, height = fmax(fabs(p->z_low_mm), fabs(p->z_high_mm)) + fabs(p->vertex_mm);
    if (!isfinite(p->radius_high_mm) || !isfinite(height))
        return INFINITY;
    for (int i = 1; i <= LOOKS; i++) {
        double r = 1.02 * p->radius_high_mm * i / LOOKS, slope = 0, second = 0;
        for (int k = 0; k < p->poly_count; k++) {
            slope += (2 * k + 4) * p->poly[k] * pow(r, 2 * k + 3);
            second += (2 * k + 4) * (2 * k + 3) * p->poly[k] * pow(r, 2 * k + 2);
        }
        steepest = fmax(steepest, fabs(slope));
        bend = fmax(bend, fmax(fabs(second), fabs(slope) / r));
    }
    double w = height + greatest_sum_of_powers(p);
    return 2 * fabs(p->a) + 2 * fabs(p->b) * (1 + steepest) * (1 + steepest) +
           (2 * fabs(p->b) * w + fabs(p->c)) * bend;
}

static double bend_of_profile(const struct patch *p, const double powers[WAVE_POWERS]) {
    enum { LOOKS = 64 };
    double greatest = 0;
    for (int i = 0; i <= LOOKS; i++) {
        double u = (2.0 * i / LOOKS - 1) * 1.01, bend = 0;
        for (int k = WAVE_POWERS - 1; k >= 2; k--)
            bend = bend * u + k * (k - 1) * powers[k];
        greatest = fmax(greatest, fabs(bend));
    }
    return p->a * (2 + greatest / (p->half_mm * p->half_mm));
}

/* What a kind adds to the quadric of a, b, c, d; that of a profile is the parabola of its own first three terms. */
static void add_powers(const struct patch *p, double sign, struct wave_patch *out) {
    out->near = 1e30f;
    if (p->kind == PATCH_ASPHERE) {
        out->near = bound(GRAZING * greatest_sum_of_powers(p));
        out->bend = bound(bend_of_asphere(p));
        for (int k = 0; k < p->poly_count; k++) {
            out->powers[k] = (float)p->poly[k];
            out->slopes[k] = (float)((k + 2) * p->poly[k]);
        }
    }
    if (p->kind != PATCH_PROFILE)
        return;
    double powers[WAVE_POWERS], parabola[WAVE_POWERS];
    powers_of_series(p->poly_count, p->poly, powers);
    powers_of_series(p->poly_count < 3 ? p->poly_count : 3, p->poly, parabola);
    for (int k = 0; k < WAVE_POWERS; k++)
        out->powers[k] = (float)powers[k];
    for (int k = 0; k + 1 < WAVE_POWERS; k++)
        out->slopes[k] = (float)((k + 1) * powers[k + 1]);
    out->bend = (float)bend_of_profile(p, powers);
    out->inverse = (float)(1 / p->half_mm);
    out->b = (float)(-sign * p->a * parabola[2] / (p->half_mm * p->half_mm));
    out->c = (float)(-sign * p->a * parabola[1] / p->half_mm);
    out->d = (float)(-sign * p->a * parabola[0]);
    if (sign > 0)
        add_reach(powers, out);
    else
        out->left_for_good = bends_inwards(powers);
}

static bool flat(const struct wave_patch *p) {
    return p->a == 0 && p->b == 0;
}

/* Light that leaves through a patch at the top looks no further, unless another one lies level there. */
static bool lies_under_another(const struct optic *optic, int index, double slack_mm) {
    double top_mm = optic_top_mm(optic) - 2 * slack_mm;
    for (int i = 0; i < optic->patch_count; i++) {
        const struct patch *p = &optic->patches[i];
        if (i != index && p->kind == PATCH_QUADRIC && p->a == 0 && p->b == 0 && p->vertex_mm >= top_mm)
            return true;
    }
    return false;
}

/* The radius that a quadric has at most between its heights. */
static double widest_of(const struct patch *p) {
    double heights[] = {p->z_low_mm - p->vertex_mm, p->z_high_mm - p->vertex_mm, -p->c / (2 * p->b)}, widest2 = 0;
    if (p->a == 0 || !isfinite(heights[0]) || !isfinite(heights[1]))
        return INFINITY;
    for (int i = 0; i < 3; i++) {
        double w = heights[i];
        if (isfinite(w) && w >= heights[0] && w <= heights[1])
            widest2 = fmax(widest2, -((p->b * w + p->c) * w + p->d) / p->a);
    }
    return sqrt(widest2);
}

static struct wave_patch patch_seen(const struct optic *optic, int index, bool rising, double slack_mm) {
    const struct patch *p = &optic->patches[index];
    float sign = rising ? 1 : -1;
    int before = rising ? p->down : p->up, beyond = rising ? p->up : p->down;
    bool ends = p->deed == PATCH_MIRROR || p->deed == PATCH_STOP;
    bool at_back = p->has_back && !optic->materials[before].open;
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
        .mirror = at_back && mirror_of(p) != WAVE_LEFT_TO_WALK ? 0 : mirror_of(p),
        .at_back = at_back,
        .index = index,
        .rising = rising,
        .beyond = beyond,
        .ends = ends,
        .outside = !ends && optic->materials[beyond].open && !lies_under_another(optic, index, slack_mm),
    };
    if (p->kind == PATCH_QUADRIC && seen.a > 0 && p->b == 0 && p->c == 0 && p->d < 0) { /* a cylinder from inside */
        seen.bulges = true;
        seen.reach_low = seen.reach_high = seen.reach_least = (float)(-(1 - 1e-5) * p->d / p->a);
    }
    seen.left_for_good = p->kind == PATCH_QUADRIC && (flat(&seen) || (seen.a <= 0 && seen.b <= 0));
    if (p->kind == PATCH_QUADRIC)
        seen.radius2_high = fminf(seen.radius2_high, radius2(widest_of(p), slack_mm));
    add_powers(p, sign, &seen);
    return seen;
}

static int add_stand(struct wave_optic *out, int room, int place) {
    out->stands[out->stand_count] = (struct wave_stand){.room = room, .place = place};
    return out->stand_count++;
}

/* Both sides of a patch, each in the list of its room; those of a mirror with a back in one. A clear one within one
 * material does nothing. */
static void enter(const struct optic *optic, int index, double slack_mm, struct wave_optic *out) {
    const struct patch *p = &optic->patches[index];
    int under = p->has_back && !optic->materials[p->down].open ? p->up : p->down;
    int over = p->has_back && !optic->materials[p->up].open ? p->down : p->up;
    struct wave_room *down = &out->rooms[under], *up = &out->rooms[over];
    if (p->deed == PATCH_CLEAR && p->down == p->up)
        return;
    int below = down->count++, above = up->count++;
    struct wave_patch *rising = &down->patches[below], *falling = &up->patches[above];
    *rising = patch_seen(optic, index, true, slack_mm);
    *falling = patch_seen(optic, index, false, slack_mm);
    out->scatters |= rising->mirror == WAVE_DEED_ALONE || falling->mirror == WAVE_DEED_ALONE;
    rising->place = below;
    falling->place = above;
    rising->back = falling->on = add_stand(out, under, below);
    falling->back = rising->on = add_stand(out, over, above);
}

/* Rays that stand outside a cylinder go away from the axis for good. */
static bool lies_within(const struct wave_patch *other, const struct wave_patch *own, float slack) {
    return own->kind == PATCH_QUADRIC && own->a < 0 && own->b == 0 && own->c == 0 &&
           sqrtf(other->radius2_high) < sqrtf(own->d / -own->a) + 1.5f * slack; /* the bound has a slack in it */
}

/* Can a ray that stands there still meet this side? Not the other side of its own patch. */
static bool can_be_met(const struct wave_patch *own, const struct wave_patch *other, float slack) {
    if (!own)
        return true;
    return own->index == other->index ? own->place == other->place && !other->left_for_good
                                      : !lies_within(other, own, slack);
}

/* Patches are looked for in this order: what is found at little cost may spare the rest. Planes first; walls before
 * other quadrics, as behind them nothing is met; those that the wave does not know last. */
static int order_of(const struct wave_patch *p) {
    static const int orders[] = {[PATCH_QUADRIC] = 2, [PATCH_PROFILE] = 1, [PATCH_ASPHERE] = 3,
                                 [PATCH_FACETS] = 4,  [PATCH_WALL] = 4,    [PATCH_LENSLETS] = 4};
    return p->kind == PATCH_QUADRIC && flat(p) ? 0 : orders[p->kind];
}

static void list_ahead(const struct wave_room *room, struct wave_stand *stand, float slack) {
    enum { ORDERS = 5 };
    const struct wave_patch *own = stand->place < 0 ? NULL : &room->patches[stand->place];
    for (int order = 0; order < ORDERS; order++)
        for (int place = 0; place < room->count; place++) {
            const struct wave_patch *p = &room->patches[place];
            float least = p->at_back ? slack : p != own ? -slack : p->kind == PATCH_QUADRIC ? 0 : slack;
            if (order_of(p) == order && can_be_met(own, p, slack))
                stand->ahead[stand->ahead_count++] = (struct wave_ahead){place, least};
        }
}

static struct wave_source source_seen(const struct source_area *area) {
    const int count[] = {area->columns, area->rows};
    const double pitch[] = {area->pitch_x_mm, area->pitch_y_mm},
                 width[] = {area->face.width_mm, area->face.height_mm};
    const bool disc = area->face.kind == LUXFALL_DISC, none = area->columns == 0 || area->face.kind == LUXFALL_POINT;
    struct wave_source out = {.radius2 = disc ? (float)(width[0] * width[0] / 4) : 1e30f};
    for (int i = 0; i < 3; i++) {
        out.step[i] = (float)(area->step_mm[i] - (i == 2 ? area->height_mm : 0));
        for (int k = 0; k < 3; k++)
            out.row[i][k] = area->turned ? (float)area->row[i][k] : i == k;
    }
    for (int i = 0; i < 2; i++) {
        out.count[i] = (float)count[i];
        out.pitch[i] = count[i] > 1 ? (float)pitch[i] : 0;
        out.per_pitch[i] = count[i] > 1 ? (float)(1 / pitch[i]) : 0;
        out.half[i] = none ? -1 : (float)(width[i] / 2);
    }
    return out;
}

void wave_optic_make(const struct optic *optic, struct wave_optic *out) {
    double slack_mm = SLACK_SHARE * optic->size_mm;
    *out = (struct wave_optic){.optic = optic, .slack = (float)slack_mm};
    out->source = source_seen(&optic->source);
    out->top = bound(optic_top_mm(optic) - slack_mm);
    add_stand(out, optic->emitter_material, -1);
    for (int i = 0; i < optic->patch_count; i++)
        enter(optic, i, slack_mm, out);
    for (int i = 0; i < out->stand_count; i++)
        list_ahead(&out->rooms[out->stands[i].room], &out->stands[i], out->slack);
    for (int i = 0; i < optic->material_count; i++) {
        out->rooms[i].absorption = (float)optic->materials[i].absorption_per_mm;
        out->absorbs |= out->rooms[i].absorption > 0;
    }
}
