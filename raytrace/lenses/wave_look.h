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
    store((float *)work->place + i, pick(found.good, (lanes)all_i(p->place), load((const float *)work->place + i)));
    store(work->radial + i, pick(found.good, found.radial, load(work->radial + i)));
    store(work->rise + i, pick(found.good, found.rise, load(work->rise + i)));
    store(work->ratio + i, pick(found.good, all(p->ratio), load(work->ratio + i)));
    store(work->mirror + i, pick(found.good, all(p->mirror), load(work->mirror + i)));
}

INLINE void note_unsure(struct wave_work *work, int i, lanes_if unsure) {
    if (bits(unsure))
        store((float *)work->unsure + i, pick(unsure, (lanes)all_i(-1), load((const float *)work->unsure + i)));
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

INLINE struct found look_at_cylinder(const struct line *ray, const struct wave_patch *p, float least, float slack) {
    lanes_if worth = reach_of(ray, p, slack).beyond;
    return bits(worth) ? crossed_quadric(ray, p, least, worth) : nothing();
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
#define SETTLE(at)                                                                                               \
    enum { STEPS = 8 };                                                                                          \
    const lanes close = all(0.2f * slack);                                                                       \
    struct newton n;                                                                                             \
    lanes_if settled;                                                                                            \
    for (int step = 0;; step++) {                                                                                \
        n = at(ray, p, z, t);                                                                                    \
        lanes off = n.value / n.fall;                                                                            \
        settled = less(off, close) & less(-close, off);                                                          \
        if (step == STEPS || bits(worth & ~settled) == 0)                                                        \
            break;                                                                                               \
        t = pick(worth & ~settled, t - off, t);                                                                  \
    }                                                                                                            \
    struct found found = {worth & settled & less(all(0.0f), n.fall) & at_most(all(least), t) & less(t, ray->t) & \
                              within(n.r2, p->radius2_low, p->radius2_high) & within(n.z, p->z_low, p->z_high),  \
                          t, n.radial, n.rise};

INLINE struct found look_at_bulge(const struct line *ray, const struct wave_patch *p, float least, float slack,
                                  lanes_if *unsure) {
    struct reach reach = reach_of(ray, p, slack);
    lanes_if worth = reach.beyond;
    if (bits(worth) == 0)
        return nothing();
    lanes z = ray->z - p->vertex;
    struct crossing c = crossing_of(ray, p, z);
    lanes t = crossed_at(&c);
    t = pick(at_most(all(0.0f), c.inside) & at_most(all(0.0f), t) & less(t, reach.t), t, reach.t);
    SETTLE(at_profile)
    *unsure = worth & ~settled;
    return found;
}

/* From the crossing of the quadric, where that is near to the patch and no other patch is met long before. */
INLINE lanes start_near(const struct line *ray, const struct wave_patch *p, lanes z, lanes_if *worth) {
    struct crossing c = crossing_of(ray, p, z);
    lanes t = crossed_at(&c);
    *worth = at_most(all(0.0f), c.inside) & within(z + t * ray->dz, p->z_low - p->near, p->z_high + p->near) &
             less(all(-p->near), t) & less(t, ray->t + p->near);
    return pick(less(all(-1e6f), t) & less(t, all(1e6f)), t, all(0.0f));
}

INLINE struct found look_at_profile(const struct line *ray, const struct wave_patch *p, float least, float slack,
                                    lanes_if *unsure) {
    lanes_if worth;
    lanes z = ray->z - p->vertex, t = start_near(ray, p, z, &worth);
    if (bits(worth) == 0)
        return nothing();
    SETTLE(at_profile)
    *unsure = worth & ~settled & less(n.r2, all(1.1f * p->radius2_high));
    return found;
}

INLINE struct found look_at_asphere(const struct line *ray, const struct wave_patch *p, float least, float slack,
                                    lanes_if *unsure) {
    lanes_if worth;
    lanes z = ray->z - p->vertex, t = start_near(ray, p, z, &worth);
    if (bits(worth) == 0)
        return nothing();
    SETTLE(at_asphere)
    *unsure = worth & ~settled & less(n.r2, all(1.1f * p->radius2_high));
    return found;
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

/* What is worked out once a ray; nothing is met yet. */
APART void begin_lines(const struct wave_block *block) {
    struct wave_work *work = block->work;
    for (int i = 0; i < block->count; i += WIDE) {
        const int k = block->from + i;
        lanes x = load(block->rays->x + k), y = load(block->rays->y + k), dx = load(block->rays->dx + k),
              dy = load(block->rays->dy + k);
        store(work->per_dz + i, 1.0f / load(block->rays->dz + k));
        store(work->across2 + i, dx * dx + dy * dy);
        store(work->r2 + i, x * x + y * y);
        store(work->across_r + i, x * dx + y * dy);
        store(work->t + i, all(1e30f));
        store((float *)work->place + i, (lanes)all_i(-1));
        store((float *)work->unsure + i, all(0.0f));
        store(work->mirror + i, all(-1.0f));
    }
}

/* Every ray of a block looks for one patch. Block and patch are copies: what is stored cannot have changed them, and
 * their numbers stay in registers. */
#define LOOK_AT(met)                                \
    for (int i = 0; i < block.count; i += WIDE) {   \
        const struct line ray = line_at(&block, i); \
        keep_nearest(block.work, i, met, &p);       \
    }
#define LOOK_AT_POWERS(met)                         \
    for (int i = 0; i < block.count; i += WIDE) {   \
        const struct line ray = line_at(&block, i); \
        lanes_if unsure = never();                  \
        keep_nearest(block.work, i, met, &p);       \
        note_unsure(block.work, i, unsure);         \
    }

APART void look_for_plane(const struct wave_block block, const struct wave_patch p,
                          float least){LOOK_AT(look_at_plane(&ray, &p, least))} APART
    void look_for_quadric(const struct wave_block block, const struct wave_patch p, float least, float slack) {
    if (p.bulges)
        LOOK_AT(look_at_cylinder(&ray, &p, least, slack))
    else
        LOOK_AT(look_at_quadric(&ray, &p, least, slack))
}
APART void look_for_asphere(const struct wave_block block, const struct wave_patch p, float least,
                            float slack){LOOK_AT_POWERS(look_at_asphere(&ray, &p, least, slack, &unsure))} APART
    void look_for_profile(const struct wave_block block, const struct wave_patch p, float least, float slack) {
    if (p.bulges)
        LOOK_AT_POWERS(look_at_bulge(&ray, &p, least, slack, &unsure))
    else
        LOOK_AT_POWERS(look_at_profile(&ray, &p, least, slack, &unsure))
}
APART void look_for_slab(const struct wave_block block, const struct wave_patch p) {
    LOOK_AT(look_at_slab(&ray, &p))
}

/* What the rays meet next. */
static void look_ahead(const struct wave_block *block, const struct wave_optic *optic,
                       const struct wave_stand *stand) {
    const struct wave_patch *patches = optic->rooms[stand->room].patches;
    const struct wave_ahead *ahead = stand->ahead;
    const float slack = optic->slack;
    begin_lines(block);
    for (const struct wave_ahead *end = ahead + stand->planes; ahead < end; ahead++)
        look_for_plane(*block, patches[ahead->place], ahead->least);
    for (const struct wave_ahead *end = ahead + stand->profiles; ahead < end; ahead++)
        look_for_profile(*block, patches[ahead->place], ahead->least, slack);
    for (const struct wave_ahead *end = ahead + stand->quadrics; ahead < end; ahead++)
        look_for_quadric(*block, patches[ahead->place], ahead->least, slack);
    for (const struct wave_ahead *end = ahead + stand->aspheres; ahead < end; ahead++)
        look_for_asphere(*block, patches[ahead->place], ahead->least, slack);
    for (const struct wave_ahead *end = ahead + stand->slabs; ahead < end; ahead++)
        look_for_slab(*block, patches[ahead->place]);
}
#endif
