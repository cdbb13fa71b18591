/* Where rays of a wave meet the next patch. Included by wave_impl.h alone. */
#ifndef RAYTRACE_LENSES_WAVE_LOOK_H
#define RAYTRACE_LENSES_WAVE_LOOK_H

#include "lenses/lanes.h"
#include "lenses/wave.h"

/* What many patches want to know of a ray. */
struct line {
    lanes x, y, z, dx, dy, dz;
    lanes per_dz, across2, r2, across_r; /* 1/dz; dx^2 + dy^2, x^2 + y^2, x dx + y dy */
    lanes t;                             /* where it meets another patch, as far as is known */
};

INLINE struct line line_at(const struct wave_block *block, int i) {
    const struct wave *rays = block->rays;
    const struct wave_work *work = block->work;
    const int k = block->from + i;
    return (struct line){load(rays->x + k),        load(rays->y + k),       load(rays->z + k),
                         load(rays->dx + k),       load(rays->dy + k),      load(rays->dz + k),
                         load(work->per_dz + i),   load(work->across2 + i), load(work->r2 + i),
                         load(work->across_r + i), load(work->t + i)};
}

/* A crossing where it is good. */
struct found {
    lanes_if good;
    lanes t, radial, rise;
};

INLINE struct found nothing(void) {
    return (struct found){.good = never()};
}

INLINE void keep_nearest(struct wave_work *work, int i, struct found found, const struct wave_patch *p) {
    if (bits(found.good) == 0)
        return;
    store(work->t + i, pick(found.good, found.t, load(work->t + i)));
    store_i(work->place + i, pick_i(found.good, all_i(p->mirror == WAVE_LEFT_TO_WALK ? WAVE_ALONE : p->place),
                                    load_i(work->place + i)));
    store(work->radial + i, pick(found.good, found.radial, load(work->radial + i)));
    store(work->rise + i, pick(found.good, found.rise, load(work->rise + i)));
    store(work->ratio + i, pick(found.good, all(p->ratio), load(work->ratio + i)));
    store(work->mirror + i, pick(found.good, all(p->mirror), load(work->mirror + i)));
}

/* Nothing is nearer than what is to be looked at alone. */
INLINE void leave_to_walk(struct wave_work *work, int i, lanes_if unsure) {
    if (bits(unsure) == 0)
        return;
    store(work->t + i, pick(unsure, all(-1e30f), load(work->t + i)));
    store_i(work->place + i, pick_i(unsure, all_i(WAVE_ALONE), load_i(work->place + i)));
}

INLINE struct found look_at_plane(const struct line *ray, const struct wave_patch *p, float least) {
    lanes_if rises = less(all(0.0f), p->c * ray->dz);
    lanes t = (p->vertex - ray->z) * ray->per_dz;
    lanes x = ray->x + t * ray->dx, y = ray->y + t * ray->dy;
    return (struct found){rises & at_most(all(least), t) & less(t, ray->t) &
                              within(x * x + y * y, p->radius2_low, p->radius2_high),
                          t, all(0.0f), all(0.5f * p->c)};
}

/* The stretch of a ray within the heights of the patch, before it meets what is nearest so far, is not empty, and
 * does not stay outside: r^2 bends upwards along a line, so that it lies over its tangent at the start. */
INLINE lanes_if comes_near(const struct line *ray, const struct wave_patch *p, float slack) {
    lanes to_low = ((p->z_low + p->vertex) - ray->z) * ray->per_dz,
          to_high = ((p->z_high + p->vertex) - ray->z) * ray->per_dz;
    lanes from = larger(smaller(to_low, to_high), all(-slack)), to = smaller(larger(to_low, to_high), ray->t);
    lanes least_r2 = ray->r2 + 2.0f * smaller(to * ray->across_r, -slack * ray->across_r);
    return at_most(from, to + slack) & at_most(least_r2, all(p->radius2_high));
}

/* A wall that bulges is not crossed by a ray that has not got beyond it where it leaves the wall's heights, or meets
 * another patch before. */
struct reach {
    lanes_if beyond;
    lanes t;
};

INLINE struct reach reach_of(const struct line *ray, const struct wave_patch *p, float slack) {
    lanes_if rises = less(all(0.0f), ray->dz);
    lanes t_edge = (pick(rises, all(p->z_high + p->vertex), all(p->z_low + p->vertex)) - ray->z) * ray->per_dz;
    lanes_if to_edge = less(t_edge, ray->t);
    lanes t = pick(to_edge, t_edge, ray->t), x = ray->x + t * ray->dx, y = ray->y + t * ray->dy;
    lanes least = pick(to_edge, pick(rises, all(p->reach_high), all(p->reach_low)), all(p->reach_least));
    return (struct reach){less(least, x * x + y * y) & at_most(all(-slack), t), t};
}

/* F of a quadric along the ray: METHODS eq. (20), (21), halved. */
struct crossing {
    lanes a2, h1, c0, inside;
};

INLINE struct crossing crossing_of(const struct line *ray, const struct wave_patch *p, lanes z) {
    struct crossing c;
    c.a2 = p->a * ray->across2 + p->b * (ray->dz * ray->dz);
    c.h1 = p->a * ray->across_r + (p->b * z + 0.5f * p->c) * ray->dz;
    c.c0 = p->a * ray->r2 + (p->b * z + p->c) * z + p->d;
    c.inside = c.h1 * c.h1 - c.a2 * c.c0;
    return c;
}

/* That lies ahead: where F is concave along the ray it rises from below 0 to its top. */
INLINE lanes_if rises_ahead(const struct crossing *c, float least) {
    lanes at_least = c->c0 + least * (2.0f * c->h1 + least * c->a2);
    return less(all(0.0f), c->a2) | (less(all(0.0f), c->h1) & at_most(at_least, all(0.0f)));
}

/* Where it rises through 0. */
INLINE lanes crossed_at(const struct crossing *c) {
    lanes s = root(positive(c->inside));
    lanes_if same_sign = less(all(0.0f), c->h1);
    return pick(same_sign, -c->c0, s - c->h1) / pick(same_sign, c->h1 + s, c->a2);
}

INLINE struct found crossed_quadric(const struct line *ray, const struct wave_patch *p, float least, lanes_if worth) {
    lanes z = ray->z - p->vertex;
    struct crossing c = crossing_of(ray, p, z);
    worth = worth & at_most(all(0.0f), c.inside) & rises_ahead(&c, least);
    if (bits(worth) == 0)
        return nothing();
    lanes t = crossed_at(&c);
    lanes x = ray->x + t * ray->dx, y = ray->y + t * ray->dy, hz = z + t * ray->dz;
    return (struct found){worth & at_most(all(least), t) & less(t, ray->t) &
                              within(x * x + y * y, p->radius2_low, p->radius2_high) &
                              within(hz, p->z_low, p->z_high),
                          t, all(p->a), p->b * hz + 0.5f * p->c};
}

INLINE struct found look_at_quadric(const struct line *ray, const struct wave_patch *p, float least, float slack) {
    lanes_if worth = comes_near(ray, p, slack);
    return bits(worth) ? crossed_quadric(ray, p, least, worth) : nothing();
}

/* From inside: a r^2 + d. */
INLINE struct found look_at_cylinder(const struct line *ray, const struct wave_patch *p, float least, float slack) {
    lanes_if worth = reach_of(ray, p, slack).beyond;
    if (bits(worth) == 0)
        return nothing();
    lanes h = ray->across_r, c0 = ray->r2 + p->d / p->a, inside = h * h - ray->across2 * c0,
          s = root(positive(inside));
    lanes_if outwards = less(all(0.0f), h);
    lanes t = pick(outwards, -c0, s - h) / pick(outwards, h + s, ray->across2), z = ray->z - p->vertex + t * ray->dz;
    return (struct found){worth & at_most(all(0.0f), inside) & at_most(all(least), t) & less(t, ray->t) &
                              within(z, p->z_low, p->z_high),
                          t, all(p->a), all(0.0f)};
}

/* ---- kinds with powers: from the crossing of a quadric near to them by Newton's steps to their own --------------
 */

/* G: even and odd powers side by side, half as long a chain of sums. */
INLINE lanes value_of_profile(const struct wave_patch *p, lanes u) {
    lanes v = u * u, even = all(0.0f), odd = even;
#pragma GCC unroll 8
    for (int k = WAVE_POWERS - 2; k >= 0; k -= 2) {
        even = even * v + p->powers[k];
        odd = odd * v + p->powers[k + 1];
    }
    return even + u * odd;
}

/* dG/du, of which slopes[k] is the power k. */
INLINE lanes slope_of_profile(const struct wave_patch *p, lanes u) {
    lanes v = u * u, even = all(p->slopes[WAVE_POWERS - 2]), odd = all(p->slopes[WAVE_POWERS - 3]);
#pragma GCC unroll 8
    for (int k = WAVE_POWERS - 4; k > 0; k -= 2) {
        even = even * v + p->slopes[k];
        odd = odd * v + p->slopes[k - 1];
    }
    even = even * v + p->slopes[0];
    return even + u * odd;
}

/* What is at the distance t along a ray; sure: F there is what it is told to be. */
struct newton {
    lanes r2, z;
    lanes value, radial, rise, fall; /* F, its gradient halved, its slope along the ray */
    lanes_if sure;
};

/* with_value: false spares the work for it. */
INLINE struct newton at_profile(const struct line *ray, const struct wave_patch *p, lanes z, lanes t,
                                bool with_value) {
    lanes x = ray->x + t * ray->dx, y = ray->y + t * ray->dy;
    struct newton n = {.r2 = x * x + y * y, .z = z + t * ray->dz, .radial = all(p->a)};
    lanes u = n.z * p->inverse;
    n.sure = within(u, -1.01f, 1.01f);
    u = smaller(larger(u, all(-1.01f)), all(1.01f));
    n.rise = (-0.5f * p->a * p->inverse) * slope_of_profile(p, u);
    n.fall = 2.0f * (p->a * (x * ray->dx + y * ray->dy) + n.rise * ray->dz);
    n.value = n.r2;
    if (with_value)
        n.value = p->a * (n.r2 - value_of_profile(p, u));
    return n;
}

INLINE struct newton at_asphere(const struct line *ray, const struct wave_patch *p, lanes z, lanes t) {
    lanes x = ray->x + t * ray->dx, y = ray->y + t * ray->dy, sum = all(0.0f), slope = sum;
    struct newton n = {.r2 = x * x + y * y, .z = z + t * ray->dz};
#pragma GCC unroll 8
    for (int k = LUXFALL_POWERS_MAX - 1; k >= 0; k--) {
        slope = slope * n.r2 + p->slopes[k];
        sum = sum * n.r2 + p->powers[k];
    }
    lanes w = n.z - sum * n.r2 * n.r2;
    n.rise = p->b * w + 0.5f * p->c;
    n.radial = p->a - 2.0f * n.rise * slope * n.r2;
    n.value = p->a * n.r2 + (p->b * w + p->c) * w + p->d;
    n.fall = 2.0f * (n.radial * (x * ray->dx + y * ray->dy) + n.rise * ray->dz);
    n.sure = at_most(n.r2, all(p->radius2_high));
    return n;
}

enum search { SEARCH_ASPHERE, SEARCH_PROFILE, SEARCH_BULGE };

INLINE struct newton at_powers(enum search kind, const struct line *ray, const struct wave_patch *p, lanes t,
                               bool with_value) {
    lanes z = ray->z - p->vertex;
    return kind == SEARCH_ASPHERE ? at_asphere(ray, p, z, t) : at_profile(ray, p, z, t, with_value);
}

/* Of a wall that bulges: from the crossing of its quadric, or from as far as the ray comes. */
INLINE lanes start_within(const struct line *ray, const struct wave_patch *p, float slack, lanes_if *worth) {
    struct reach reach = reach_of(ray, p, slack);
    *worth = reach.beyond;
    if (bits(*worth) == 0)
        return reach.t;
    struct crossing c = crossing_of(ray, p, ray->z - p->vertex);
    lanes t = crossed_at(&c);
    return pick(at_most(all(0.0f), c.inside) & at_most(all(0.0f), t) & less(t, reach.t), t, reach.t);
}

/* From the crossing of the quadric, where that is near to the patch and no other patch is met long before. */
INLINE lanes start_near(const struct line *ray, const struct wave_patch *p, float slack, lanes_if *worth) {
    lanes_if near = comes_near(ray, p, slack);
    *worth = near;
    if (bits(near) == 0)
        return all(0.0f);
    lanes z = ray->z - p->vertex;
    struct crossing c = crossing_of(ray, p, z);
    lanes t = crossed_at(&c);
    *worth = near & at_most(all(0.0f), c.inside) & within(z + t * ray->dz, p->z_low - p->near, p->z_high + p->near) &
             less(all(-p->near), t) & less(t, ray->t + p->near);
    return pick(less(all(-1e6f), t) & less(t, all(1e6f)), t, all(0.0f));
}

/* Newton's steps until what is left, half the bend times the square of the last one over the slope, is below half of
 * `close`. */
INLINE lanes settle(enum search kind, const struct line *ray, const struct wave_patch *p, lanes t, float close,
                    lanes_if *unsettled) {
    enum { STEPS = 9 };
    for (int step = 0; step < STEPS && bits(*unsettled); step++) {
        struct newton n = at_powers(kind, ray, p, t, true);
        lanes off = n.value / n.fall;
        lanes_if settled = n.sure & less(off * off * p->bend, close * n.fall);
        t = pick(*unsettled, t - off, t);
        *unsettled = *unsettled & ~settled;
    }
    return t;
}

INLINE void begin_search(enum search kind, const struct wave_block *block, const struct wave_patch *p, float slack) {
    for (int i = 0; i < block->count; i += WIDE) {
        const struct line ray = line_at(block, i);
        lanes_if worth;
        lanes t = kind == SEARCH_BULGE ? start_within(&ray, p, slack, &worth) : start_near(&ray, p, slack, &worth);
        block->work->searching[i / WIDE] = bits(worth);
        store(block->work->found + i, t);
        store_if(block->work->worth + i, worth);
    }
}

INLINE void take_steps(enum search kind, const struct wave_block *block, const struct wave_patch *p, float slack) {
    for (int i = 0; i < block->count; i += WIDE) {
        if (block->work->searching[i / WIDE] == 0)
            continue;
        const struct line ray = line_at(block, i);
        lanes_if unsettled = load_if(block->work->worth + i);
        lanes t = settle(kind, &ray, p, load(block->work->found + i), 0.8f * slack, &unsettled);
        store(block->work->found + i, t);
        if (bits(unsettled) == 0)
            continue;
        struct newton n = at_powers(kind, &ray, p, t, false);
        leave_to_walk(block->work, i,
                      unsettled & (kind == SEARCH_BULGE ? always() : less(n.r2, all(1.1f * p->radius2_high))));
    }
}

INLINE void end_search(enum search kind, const struct wave_block *block, const struct wave_patch *p, float least) {
    for (int i = 0; i < block->count; i += WIDE) {
        if (block->work->searching[i / WIDE] == 0)
            continue;
        const struct line ray = line_at(block, i);
        lanes t = load(block->work->found + i);
        struct newton n = at_powers(kind, &ray, p, t, false);
        lanes_if good = load_if(block->work->worth + i) & less(all(0.0f), n.fall) & at_most(all(least), t) &
                        less(t, ray.t) & within(n.r2, p->radius2_low, p->radius2_high) &
                        within(n.z, p->z_low, p->z_high);
        keep_nearest(block->work, i, (struct found){good, t, n.radial, n.rise}, p);
    }
}

/* A kind that waves do not know: rays that come to its heights before anything else go on alone. */
INLINE struct found look_at_slab(const struct line *ray, const struct wave_patch *p) {
    lanes z = ray->z - p->vertex, to_low = (p->z_low - z) * ray->per_dz, to_high = (p->z_high - z) * ray->per_dz;
    lanes_if rises = less(all(0.0f), ray->dz), inside = within(z, p->z_low, p->z_high);
    lanes t = pick(rises, to_low, to_high), out = pick(rises, to_high, to_low);
    lanes_if comes = at_most(all(0.0f), t) & at_most(all(0.0f), out);
    t = pick(inside, all(0.0f), t);
    return (struct found){(inside | comes) & at_most(t, ray->t), t, all(0.0f), all(1.0f)};
}

/* Whether some rays of a block go up, and some down. */
struct senses {
    bool up, down;
};

/* What is worked out once a ray; nothing is met yet. */
APART struct senses begin_lines(const struct wave_block *block) {
    struct wave_work *work = block->work;
    lanes_i some = all_i(0), every = all_i(-1); /* of the signs */
    for (int i = 0; i < block->count; i += WIDE) {
        const int k = block->from + i;
        lanes x = load(block->rays->x + k), y = load(block->rays->y + k), dx = load(block->rays->dx + k),
              dy = load(block->rays->dy + k), dz = load(block->rays->dz + k);
        some |= (lanes_i)dz;
        every &= (lanes_i)dz;
        store(work->per_dz + i, 1.0f / dz);
        store(work->across2 + i, dx * dx + dy * dy);
        store(work->r2 + i, x * x + y * y);
        store(work->across_r + i, x * dx + y * dy);
        store(work->t + i, all(1e30f));
        store_i(work->place + i, all_i(-1));
    }
    return (struct senses){.up = bits(~less_i(every, all_i(0))), .down = bits(less_i(some, all_i(0)))};
}

/* Every ray of a block looks for one patch. Block and patch are copies: what is stored cannot have changed them, and
 * their numbers stay in registers. */
#define LOOK_AT(met)                                \
    for (int i = 0; i < block.count; i += WIDE) {   \
        const struct line ray = line_at(&block, i); \
        keep_nearest(block.work, i, met, &p);       \
    }

APART void look_for_plane(const struct wave_block block, const struct wave_patch p, float least) {
    LOOK_AT(look_at_plane(&ray, &p, least));
}

APART void look_for_quadric(const struct wave_block block, const struct wave_patch p, float least, float slack) {
    LOOK_AT(look_at_quadric(&ray, &p, least, slack));
}

APART void look_for_cylinder(const struct wave_block block, const struct wave_patch p, float least, float slack) {
    LOOK_AT(look_at_cylinder(&ray, &p, least, slack));
}

APART void look_for_slab(const struct wave_block block, const struct wave_patch p) {
    LOOK_AT(look_at_slab(&ray, &p));
}

/* Three loops again: what is left of a chain of roots, sums and divisions is short. */
INLINE void search(enum search kind, const struct wave_block block, const struct wave_patch p, float least,
                   float slack) {
    begin_search(kind, &block, &p, slack);
    take_steps(kind, &block, &p, slack);
    end_search(kind, &block, &p, least);
}

APART void look_for_asphere(const struct wave_block block, const struct wave_patch p, float least, float slack) {
    search(SEARCH_ASPHERE, block, p, least, slack);
}

APART void look_for_profile(const struct wave_block block, const struct wave_patch p, float least, float slack) {
    search(SEARCH_PROFILE, block, p, least, slack);
}

APART void look_for_bulge(const struct wave_block block, const struct wave_patch p, float least, float slack) {
    search(SEARCH_BULGE, block, p, least, slack);
}

static void look_for(const struct wave_block *block, struct senses senses, const struct wave_patch *p, float least,
                     float slack) {
    if (p->kind == PATCH_QUADRIC && p->a == 0 && p->b == 0) {
        if (p->c > 0 ? senses.up : senses.down)
            look_for_plane(*block, *p, least);
    } else if (p->kind == PATCH_QUADRIC && p->bulges)
        look_for_cylinder(*block, *p, least, slack);
    else if (p->kind == PATCH_QUADRIC)
        look_for_quadric(*block, *p, least, slack);
    else if (p->kind == PATCH_ASPHERE)
        look_for_asphere(*block, *p, least, slack);
    else if (p->kind == PATCH_PROFILE && p->bulges)
        look_for_bulge(*block, *p, least, slack);
    else if (p->kind == PATCH_PROFILE)
        look_for_profile(*block, *p, least, slack);
    else
        look_for_slab(*block, *p);
}

/* What the rays meet next. */
static void look_ahead(const struct wave_block *block, const struct wave_optic *optic,
                       const struct wave_stand *stand) {
    const struct senses senses = begin_lines(block);
    for (const struct wave_ahead *ahead = stand->ahead; ahead < stand->ahead + stand->ahead_count; ahead++)
        look_for(block, senses, &optic->rooms[stand->room].patches[ahead->place], ahead->least, optic->slack);
}
#endif
