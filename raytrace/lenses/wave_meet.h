/* What the patch that they meet does to rays of a wave. Included by wave_impl.h alone. */
#ifndef RAYTRACE_LENSES_WAVE_MEET_H
#define RAYTRACE_LENSES_WAVE_MEET_H

#include "lenses/lanes.h"
#include "lenses/wave.h"
#include "numbers/ray_numbers.h"

/* The next number of every ray, 0 .. 1, METHODS eq. (102); it is drawn when the streams take their step. */
INLINE lanes next_numbers(const struct wave *rays, int k) {
    lanes_u state = (lanes_u)load_i(rays->numbers + k);
    lanes_u word = ((state >> ((state >> 28) + 4)) ^ state) * RAY_NUMBERS_MIXER;
    word ^= word >> 22;
    return __builtin_convertvector((lanes_i)(word >> 8), lanes) * 0x1p-24f;
}

INLINE void step_numbers(struct wave *rays, int k) {
    lanes_u state = (lanes_u)load_i(rays->numbers + k);
    store_i(rays->numbers + k, (lanes_i)(state * RAY_NUMBERS_MULTIPLIER + RAY_NUMBERS_PLUS));
}

/* METHODS eq. (24), (25), without divisions: the two amplitudes that come back times one number, and the two that go
 * on without their common factor. */
struct amplitudes {
    lanes ds, dp, rs, rp; /* r_s = rs / (ds dp) */
};

/* c1, c2: cosines of incidence, and of what goes on; 0 where nothing does. */
INLINE struct amplitudes amplitudes_at(lanes m, lanes c1, lanes c2) {
    struct amplitudes f = {.ds = m * c1 + c2, .dp = c1 + m * c2};
    f.rs = (m * c1 - c2) * f.dp;
    f.rp = (c1 - m * c2) * f.ds;
    return f;
}

/* Stokes numbers on their way through a meeting, times a number of their own: one division at its end makes up for
 * all on the way. */
struct stokes {
    lanes i, q, u, v;
};

/* The numbers against the s of this surface in place of that of the last one, METHODS eq. (26); a and b there are
 * `last` and `now`. Where either has no length it stays as it is. */
INLINE struct stokes turned_to_s(const struct wave *rays, const struct wave_work *work, int k, int i) {
    lanes x = load(rays->x + k), y = load(rays->y + k), dx = load(rays->dx + k), dy = load(rays->dy + k),
          above = load(rays->z + k) - load(rays->centre + k), radial = load(work->radial + i),
          rise = load(work->rise + i), q = load(rays->q + k), u = load(rays->u + k);
    lanes across2 = dx * dx + dy * dy, skew = y * dx - x * dy, level = (x * dx + y * dy) * load(rays->dz + k),
          last = level - above * across2, now = radial * level - rise * across2;
    lanes on = last * now + radial * (skew * skew), aside = skew * (radial * last - now);
    lanes yes = on * on + 1e-30f, no = aside * aside, unit = yes + no, cosine = yes - no, sine = 2.0f * on * aside;
    return (struct stokes){unit, cosine * q + sine * u, cosine * u - sine * q, unit * load(rays->v + k)};
}

/* Total reflection sets s and p apart: tan(D/2) = y / x, eq. (28), both times m sin^2 a: no division. */
INLINE struct stokes retarded(struct stokes s, lanes m, lanes c1, lanes root, lanes_if which) {
    lanes x = pick(which, m * ((1.0f - c1) * (1.0f + c1)), all(1.0f)), y = pick(which, c1 * root, all(0.0f));
    lanes xx = x * x, yy = y * y, unit = xx + yy, cosine = xx - yy, sine = 2.0f * x * y;
    return (struct stokes){unit * s.i, unit * s.q, cosine * s.u + sine * s.v, cosine * s.v - sine * s.u};
}

/* Back or on by a random number, against eq. (29), and what is left of the state, eq. (27). */
INLINE lanes_if shared(struct stokes *s, const struct amplitudes *f, lanes_if total, lanes mirror, lanes number) {
    lanes_if clear = less(mirror, all(0.0f));
    lanes is = s->i + s->q, ip = s->i - s->q, back_s = f->rs * f->rs * is, back_p = f->rp * f->rp * ip;
    lanes ds2 = f->ds * f->ds, dp2 = f->dp * f->dp;
    lanes_if back =
        total | less(number * pick(clear, 2.0f * s->i * ds2 * dp2, all(1.0f)), pick(clear, back_s + back_p, mirror));

    lanes_if whole =
        total | ~clear; /* what comes back loses nothing of s or p: its numbers double, to the last bit */
    is = pick(back, back_s, dp2 * is);
    ip = pick(back, back_p, ds2 * ip);
    lanes mixed = 2.0f * pick(whole, pick(clear, all(1.0f), all(-1.0f)), pick(back, f->rs * f->rp, f->ds * f->dp));
    *s = (struct stokes){pick(whole, 2.0f * s->i, is + ip), pick(whole, 2.0f * s->q, is - ip), mixed * s->u,
                         mixed * s->v};
    return back;
}

/* Along its way to the hit. */
INLINE void go_there(struct wave *rays, int k, lanes t, float absorption) {
    store(rays->x + k, load(rays->x + k) + t * load(rays->dx + k));
    store(rays->y + k, load(rays->y + k) + t * load(rays->dy + k));
    store(rays->z + k, load(rays->z + k) + t * load(rays->dz + k));
    if (absorption > 0)
        store(rays->depth + k, load(rays->depth + k) - t * absorption);
}

/* ---- Snell, Fresnel, back or on: METHODS eq. (23)-(30); mirrors and stops by their share. Of rays that met nothing
 * they make nonsense. */

/* One over the length of the normal. */
INLINE lanes per_length_at(const struct wave_block *block, int i) {
    const struct wave *rays = block->rays;
    const int k = block->from + i;
    lanes x = load(rays->x + k), y = load(rays->y + k), radial = load(block->work->radial + i),
          rise = load(block->work->rise + i);
    return 1.0f / root(radial * radial * (x * x + y * y) + rise * rise + 1e-30f);
}

/* The normal gets its length, and the angles on both sides of it are found. */
APART void find_angles(const struct wave_block block) {
    struct wave_work *work = block.work;
    const struct wave *rays = block.rays;
    for (int i = 0; i < block.count; i += WIDE) {
        const int k = block.from + i;
        lanes per_length = load(work->per_length + i), m = load(work->ratio + i);
        lanes radial = load(work->radial + i) * per_length, rise = load(work->rise + i) * per_length;
        lanes h = load(rays->x + k) * load(rays->dx + k) + load(rays->y + k) * load(rays->dy + k);
        lanes c1 = smaller(positive(radial * h + rise * load(rays->dz + k)), all(1.0f));
        lanes out2 = 1.0f - m * m * ((1.0f - c1) * (1.0f + c1));
        store(work->radial + i, radial);
        store(work->rise + i, rise);
        store(work->cosine + i, c1);
        store(work->out2 + i, out2);
        store(work->root + i, root(size(out2)));
    }
}

/* Who goes back, and the state of what goes on from there. plain: none is polarised yet. Where all are reflected
 * totally the state keeps its numbers; among others they are doubled, which the division undoes to the last bit. */
INLINE void part_light(const struct wave_block block, bool plain) {
    struct wave_work *work = block.work;
    struct wave *rays = block.rays;
    for (int i = 0; i < block.count; i += WIDE) {
        const int k = block.from + i;
        lanes c1 = load(work->cosine + i), m = load(work->ratio + i), mirror = load(work->mirror + i);
        lanes out2 = load(work->out2 + i), root = load(work->root + i),
              c2 = pick(less(all(0.0f), out2), root, all(0.0f));
        lanes_if total = at_most(out2, all(0.0f)) & less(mirror, all(0.0f)), back = total;
        struct stokes s = {all(1.0f), all(0.0f), all(0.0f), all(0.0f)};
        if (!plain)
            s = turned_to_s(rays, work, k, i);
        if (bits(total) != (1u << WIDE) - 1) {
            struct amplitudes f = amplitudes_at(m, c1, c2);
            back = shared(&s, &f, total, mirror, next_numbers(rays, k));
        }
        step_numbers(rays, k);
        if (bits(total))
            s = retarded(s, m, c1, root, total);
        lanes along = pick(back, all(1.0f), m);
        work->back[i / WIDE] = bits(back);
        store(work->along + i, along);
        store(work->aside + i, pick(back, -c1, c2) - along * c1);
        lanes per_i = 1.0f / s.i;
        store(rays->q + k, s.q * per_i);
        store(rays->u + k, s.u * per_i);
        store(rays->v + k, s.v * per_i);
    }
}

APART void part_plain(const struct wave_block block) {
    part_light(block, true);
}

APART void part_polarised(const struct wave_block block) {
    part_light(block, false);
}

/* Whither; and where the normal meets the axis, far away if they are parallel. */
APART void turn_directions(const struct wave_block block) {
    struct wave_work *work = block.work;
    struct wave *rays = block.rays;
    for (int i = 0; i < block.count; i += WIDE) {
        const int k = block.from + i;
        lanes along = load(work->along + i), aside = load(work->aside + i), radial = load(work->radial + i),
              rise = load(work->rise + i), outwards = aside * radial, far = all(1e8f);
        lanes dx = along * load(rays->dx + k) + outwards * load(rays->x + k);
        lanes dy = along * load(rays->dy + k) + outwards * load(rays->y + k);
        lanes dz = along * load(rays->dz + k) + aside * rise;
        lanes unit = 1.5f - 0.5f * (dx * dx + dy * dy + dz * dz);
        store(rays->dx + k, dx * unit);
        store(rays->dy + k, dy * unit);
        store(rays->dz + k, dz * unit);
        store(rays->centre + k, load(rays->z + k) - smaller(larger(rise / radial, -far), far));
    }
}
/* first: from the emitter, none is polarised yet. */
static void meet(const struct wave_block *block, bool first) {
    find_angles(*block);
    if (first)
        part_plain(*block);
    else
        part_polarised(*block);
    turn_directions(*block);
}
#endif
