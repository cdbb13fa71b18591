/* Where rays of a wave meet the next patch. Included by wave_impl.h alone. */
#ifndef RAYTRACE_LENSES_WAVE_LOOK_H
#define RAYTRACE_LENSES_WAVE_LOOK_H

#include "lenses/lanes.h"
#include "lenses/wave.h"

/* What many patches want to know of a ray. */
struct line {
    lanes x, y, z, dx, dy, dz;
    lanes per_dz, dzz, across2, r2, across_r; /* 1/dz, dz^2; dx^2 + dy^2, x^2 + y^2, x dx + y dy */
};

/* The nearest crossing so far. */
struct hit {
    lanes t;
    lanes_i place;      /* -1: none */
    lanes radial, rise; /* of kinds with powers: the normal, of no length, is (radial x, radial y, rise) */
    lanes_if unsure;    /* to be looked at alone */
};

INLINE void keep_nearest(struct hit *hit, lanes_if good, lanes t, const struct wave_patch *p) {
    hit->t = pick(good, t, hit->t);
    hit->place = pick_i(good, all_i(p->place), hit->place);
}

INLINE void look_at_plane(const struct line *ray, const struct wave_patch *p, float least, struct hit *hit) {
    lanes_if rises = less(all(0.0f), p->c * ray->dz);
    if (bits(rises) == 0)
        return;
    lanes t = (p->vertex - ray->z) * ray->per_dz;
    lanes x = ray->x + t * ray->dx, y = ray->y + t * ray->dy;
    lanes_if good =
        rises & at_most(all(least), t) & less(t, hit->t) & within(x * x + y * y, p->radius2_low, p->radius2_high);
    keep_nearest(hit, good, t, p);
}

/* A wall that bulges is not crossed by a ray that has not got beyond it where it leaves the wall's heights, or meets
 * another patch before. */
struct reach {
    lanes_if beyond;
    lanes t;
};

INLINE struct reach reach_of(const struct line *ray, const struct wave_patch *p, float slack, const struct hit *hit) {
    lanes_if rises = less(all(0.0f), ray->dz);
    lanes t_edge = (pick(rises, all(p->z_high), all(p->z_low)) + p->vertex - ray->z) * ray->per_dz;
    lanes_if to_edge = less(t_edge, hit->t);
    lanes t = pick(to_edge, t_edge, hit->t), x = ray->x + t * ray->dx, y = ray->y + t * ray->dy;
    lanes least = pick(to_edge, pick(rises, all(p->reach_high), all(p->reach_low)), all(p->reach_least));
    return (struct reach){less(least, x * x + y * y) & at_most(all(-slack), t), t};
}

/* F of a quadric along the ray: METHODS eq. (20), (21), halved. */
struct crossing {
    lanes a2, h1, c0, inside;
};

INLINE struct crossing crossing_of(const struct line *ray, const struct wave_patch *p, lanes z) {
    struct crossing c;
    c.a2 = p->a * ray->across2 + p->b * ray->dzz;
    c.h1 = p->a * ray->across_r + (p->b * z + 0.5f * p->c) * ray->dz;
    c.c0 = p->a * ray->r2 + (p->b * z + p->c) * z + p->d;
    c.inside = c.h1 * c.h1 - c.a2 * c.c0;
    return c;
}

/* Where it rises through 0. */
INLINE lanes crossed_at(const struct crossing *c) {
    lanes s = root(positive(c->inside));
    lanes_if same_sign = less(all(0.0f), c->h1);
    return pick(same_sign, -c->c0, s - c->h1) / pick(same_sign, c->h1 + s, c->a2);
}

INLINE void look_at_quadric(const struct line *ray, const struct wave_patch *p, float least, lanes_if worth,
                            struct hit *hit) {
    lanes z = ray->z - p->vertex;
    struct crossing c = crossing_of(ray, p, z);
    lanes_if ahead = worth & at_most(all(0.0f), c.inside) & (less(all(0.0f), c.h1) | less(all(0.0f), c.a2));
    if (bits(ahead) == 0)
        return;
    lanes t = crossed_at(&c);
    lanes hx = ray->x + t * ray->dx, hy = ray->y + t * ray->dy, hz = z + t * ray->dz;
    lanes_if good = ahead & at_most(all(least), t) & less(t, hit->t) &
                    within(hx * hx + hy * hy, p->radius2_low, p->radius2_high) & within(hz, p->z_low, p->z_high);
    keep_nearest(hit, good, t, p);
}

/* ---- kinds with powers: from the crossing of their quadric by Newton steps to their own. A lane that has settled
 * stays where it is, whatever its neighbours still do. */

struct newton {
    lanes r2, z;
    lanes value, radial, rise, fall; /* F, its gradient halved, its slope along the ray */
};

/* G and dG/du, even and odd powers side by side: half as long a chain of sums. */
INLINE void value_of_profile(const struct wave_patch *p, lanes u, lanes *value, lanes *slope) {
    lanes v = u * u, even = all(0.0f), odd = even, even_slope = even, odd_slope = even;
#pragma GCC unroll 8
    for (int k = WAVE_POWERS - 2; k >= 0; k -= 2) {
        even_slope = even_slope * v + even;
        odd_slope = odd_slope * v + odd;
        even = even * v + p->powers[k];
        odd = odd * v + p->powers[k + 1];
    }
    *value = even + u * odd;
    *slope = odd + 2.0f * u * (even_slope + u * odd_slope);
}

INLINE struct newton at_profile(const struct line *ray, const struct wave_patch *p, lanes z, lanes t) {
    lanes x = ray->x + t * ray->dx, y = ray->y + t * ray->dy, value, slope;
    struct newton n = {.r2 = x * x + y * y, .z = z + t * ray->dz, .radial = all(p->a)};
    lanes u = n.z * p->inverse;
    u = pick(less(all(-1.01f), u), u, all(-1.01f));
    u = pick(less(u, all(1.01f)), u, all(1.01f));
    value_of_profile(p, u, &value, &slope);
    n.rise = (-0.5f * p->a * p->inverse) * slope;
    n.value = p->a * (n.r2 - value);
    n.fall = 2.0f * (p->a * (x * ray->dx + y * ray->dy) + n.rise * ray->dz);
    return n;
}

INLINE struct newton at_asphere(const struct line *ray, const struct wave_patch *p, lanes z, lanes t) {
    lanes x = ray->x + t * ray->dx, y = ray->y + t * ray->dy, sum = all(0.0f), slope = sum;
    struct newton n = {.r2 = x * x + y * y, .z = z + t * ray->dz};
#pragma GCC unroll 8
    for (int k = LUXFALL_POWERS_MAX - 1; k >= 0; k--) {
        slope = slope * n.r2 + (float)(k + 2) * p->powers[k];
        sum = sum * n.r2 + p->powers[k];
    }
    lanes w = n.z - sum * n.r2 * n.r2;
    n.rise = p->b * w + 0.5f * p->c;
    n.radial = p->a - 2.0f * n.rise * slope * n.r2;
    n.value = p->a * n.r2 + (p->b * w + p->c) * w + p->d;
    n.fall = 2.0f * (n.radial * (x * ray->dx + y * ray->dy) + n.rise * ray->dz);
    return n;
}

/* Newton's steps to where a patch is met; `at` is one of the two above. Lanes that are not worth it keep their t. */
#define SETTLE(at)                                                                                         \
    enum { STEPS = 8 };                                                                                    \
    const lanes close = all(0.2f * slack);                                                                 \
    struct newton n;                                                                                       \
    lanes_if settled;                                                                                      \
    for (int step = 0;; step++) {                                                                          \
        n = at(ray, p, z, t);                                                                              \
        lanes off = n.value / n.fall;                                                                      \
        settled = less(off, close) & less(-close, off);                                                    \
        if (step == STEPS || bits(worth & ~settled) == 0)                                                  \
            break;                                                                                         \
        t = pick(worth & ~settled, t - off, t);                                                            \
    }                                                                                                      \
    lanes_if good = worth & settled & less(all(0.0f), n.fall) & at_most(all(least), t) & less(t, hit->t) & \
                    within(n.r2, p->radius2_low, p->radius2_high) & within(n.z, p->z_low, p->z_high);      \
    hit->radial = pick(good, n.radial, hit->radial);                                                       \
    hit->rise = pick(good, n.rise, hit->rise);                                                             \
    keep_nearest(hit, good, t, p);

INLINE void look_at_bulge(const struct line *ray, const struct wave_patch *p, float least, float slack,
                          struct hit *hit) {
    struct reach reach = reach_of(ray, p, slack, hit);
    lanes_if worth = reach.beyond;
    if (bits(worth) == 0)
        return;
    lanes z = ray->z - p->vertex;
    struct crossing c = crossing_of(ray, p, z);
    lanes t = crossed_at(&c);
    t = pick(at_most(all(0.0f), c.inside) & at_most(all(0.0f), t) & less(t, reach.t), t, reach.t);
    SETTLE(at_profile)
    hit->unsure |= worth & ~settled;
}

/* From the crossing of the quadric, where that is near to the patch and no other patch is met long before. */
INLINE lanes start_near(const struct line *ray, const struct wave_patch *p, lanes z, const struct hit *hit,
                        lanes_if *worth) {
    struct crossing c = crossing_of(ray, p, z);
    lanes t = crossed_at(&c);
    *worth = at_most(all(0.0f), c.inside) & within(z + t * ray->dz, p->z_low - p->near, p->z_high + p->near) &
             less(all(-p->near), t) & less(t, hit->t + p->near);
    return pick(less(all(-1e6f), t) & less(t, all(1e6f)), t, all(0.0f));
}

static void look_at_profile(const struct line *ray, const struct wave_patch *p, float least, float slack,
                            struct hit *hit) {
    lanes_if worth;
    lanes z = ray->z - p->vertex, t = start_near(ray, p, z, hit, &worth);
    if (bits(worth) == 0)
        return;
    SETTLE(at_profile)
    hit->unsure |= worth & ~settled & less(n.r2, all(1.1f * p->radius2_high));
}

static void look_at_asphere(const struct line *ray, const struct wave_patch *p, float least, float slack,
                            struct hit *hit) {
    lanes_if worth;
    lanes z = ray->z - p->vertex, t = start_near(ray, p, z, hit, &worth);
    if (bits(worth) == 0)
        return;
    SETTLE(at_asphere)
    hit->unsure |= worth & ~settled & less(n.r2, all(1.1f * p->radius2_high));
}

/* A kind that waves do not know: rays that come to its heights before anything else go on alone. */
INLINE void look_at_slab(const struct line *ray, const struct wave_patch *p, struct hit *hit) {
    lanes z = ray->z - p->vertex, to_low = (p->z_low - z) * ray->per_dz, to_high = (p->z_high - z) * ray->per_dz;
    lanes_if rises = less(all(0.0f), ray->dz), inside = within(z, p->z_low, p->z_high);
    lanes t = pick(rises, to_low, to_high), out = pick(rises, to_high, to_low);
    lanes_if comes = at_most(all(0.0f), t) & at_most(all(0.0f), out);
    t = pick(inside, all(0.0f), t);
    keep_nearest(hit, (inside | comes) & at_most(t, hit->t), t, p);
}

INLINE struct hit look_ahead(const struct line *ray, const struct wave_optic *optic, const struct wave_stand *stand) {
    struct hit hit = {.t = all(1e30f), .place = all_i(-1), .radial = all(0.0f), .rise = all(1.0f), .unsure = never()};
    const struct wave_patch *patches = optic->rooms[stand->room].patches;
    const struct wave_ahead *ahead = stand->ahead;
    const float slack = optic->slack;
    for (const struct wave_ahead *end = ahead + stand->planes; ahead < end; ahead++)
        look_at_plane(ray, &patches[ahead->place], ahead->least, &hit);
    for (const struct wave_ahead *end = ahead + stand->quadrics; ahead < end; ahead++) {
        const struct wave_patch *p = &patches[ahead->place];
        lanes_if worth = p->bulges ? reach_of(ray, p, slack, &hit).beyond : ~never();
        if (bits(worth))
            look_at_quadric(ray, p, ahead->least, worth, &hit);
    }
    for (const struct wave_ahead *end = ahead + stand->aspheres; ahead < end; ahead++)
        look_at_asphere(ray, &patches[ahead->place], ahead->least, slack, &hit);
    for (const struct wave_ahead *end = ahead + stand->profiles; ahead < end; ahead++) {
        const struct wave_patch *p = &patches[ahead->place];
        if (p->bulges)
            look_at_bulge(ray, p, ahead->least, slack, &hit);
        else
            look_at_profile(ray, p, ahead->least, slack, &hit);
    }
    for (const struct wave_ahead *end = ahead + stand->slabs; ahead < end; ahead++)
        look_at_slab(ray, &patches[ahead->place], &hit);
    return hit;
}
#endif
