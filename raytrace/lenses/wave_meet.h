/* What the patch that they meet does to rays of a wave. Included by wave_impl.h alone. */
#ifndef RAYTRACE_LENSES_WAVE_MEET_H
#define RAYTRACE_LENSES_WAVE_MEET_H

#include "lenses/wave_look.h"
#include "numbers/pcg32.h"

/* Rays of one vector; the columns of struct wave. */
struct rays {
    lanes x, y, z, dx, dy, dz, q, u, v, depth, segments;
    lanes_u low, high;
};

/* A step of every stream, METHODS eq. (31), with the state in halves. */
INLINE void leap(lanes_u *low, lanes_u *high, struct pcg32_leap by) {
    const uint32_t a_low = (uint32_t)by.multiplier, a_high = (uint32_t)(by.multiplier >> 32),
                   plus = (uint32_t)by.plus;
    lanes_u product = *low * a_low;
    *high = high_product(*low, a_low) + *low * a_high + *high * a_low + (uint32_t)(by.plus >> 32);
    *low = product + plus;
    *high -= (lanes_u)(*low < plus); /* the carry: true is -1 */
}

/* The next number of every stream. */
INLINE lanes_u draw(struct rays *rays, uint64_t inc) {
    lanes_u low = rays->low, high = rays->high;
    lanes_u mixed_low = (low >> 18 | high << 14) ^ low, mixed_high = high >> 18 ^ high;
    lanes_u mixed = mixed_low >> 27 | mixed_high << 5, turns = high >> 27;
    leap(&rays->low, &rays->high, (struct pcg32_leap){PCG32_MULTIPLIER, inc});
    return mixed >> turns | mixed << (-turns & 31u);
}

/* METHODS eq. (24), (25), without divisions: the two amplitudes that come back times one number, and the two that go
 * on without their common factor. */
struct amplitudes {
    lanes sin2, out2, root, c2; /* sin^2 inside, cos^2 beyond; the root of its size, and of itself */
    lanes ds, dp, rs, rp, both; /* r_s = rs / both */
};

INLINE struct amplitudes amplitudes_at(lanes m, lanes c1) {
    struct amplitudes f = {.sin2 = (1.0f - c1) * (1.0f + c1)};
    f.out2 = 1.0f - m * m * f.sin2;
    lanes_if passes = less(all(0.0f), f.out2);
    f.root = root(pick(passes, f.out2, -f.out2));
    f.c2 = pick(passes, f.root, all(0.0f));
    f.ds = m * c1 + f.c2;
    f.dp = c1 + m * f.c2;
    f.both = f.ds * f.dp;
    f.rs = (m * c1 - f.c2) * f.dp;
    f.rp = (c1 - m * f.c2) * f.ds;
    return f;
}

/* Turns q and u by twice the angle whose cosine and sine are as x and y, METHODS eq. (26). */
INLINE void turn_reference(struct rays *rays, lanes x, lanes y) {
    lanes xx = x * x, yy = y * y, unit = 1.0f / (xx + yy);
    lanes cosine = (xx - yy) * unit, sine = 2.0f * x * y * unit, q = rays->q, u = rays->u;
    rays->q = q * cosine + u * sine;
    rays->u = u * cosine - q * sine;
}

/* A vector across the direction, of no length. */
struct across {
    lanes x, y, z;
};

INLINE struct across reference_of(const struct rays *rays) {
    lanes_if leans = less(all(1e-16f), rays->dx * rays->dx + rays->dy * rays->dy);
    return (struct across){pick(leans, -rays->dy, all(1.0f)), pick(leans, rays->dx, all(0.0f)), all(0.0f)};
}

/* From reference e, which lies level, to s, or back (sign -1). */
INLINE void turn_between(struct rays *rays, struct across e, struct across s, float sign) {
    lanes ax = -rays->dz * e.y, ay = rays->dz * e.x, az = rays->dx * e.y - rays->dy * e.x; /* d x e */
    turn_reference(rays, e.x * s.x + e.y * s.y, sign * (ax * s.x + ay * s.y + az * s.z));
}

/* What goes on of the polarisation where amplitudes s and p are left, METHODS eq. (27). */
INLINE void scale_amplitudes(struct rays *rays, lanes s, lanes p) {
    lanes from_s = s * s * (1.0f + rays->q), from_p = p * p * (1.0f - rays->q),
          sum = 1.0f / (from_s + from_p + 1e-30f), mixed = 2.0f * s * p * sum;
    rays->q = (from_s - from_p) * sum;
    rays->u *= mixed;
    rays->v *= mixed;
}

/* Total reflection sets s and p apart: tan(D/2) = y / x, eq. (28), both times m sin^2 a: no division. */
INLINE void retard(struct rays *rays, lanes m, lanes c1, const struct amplitudes *f, lanes_if which) {
    lanes x = pick(which, m * f->sin2, all(1.0f)), y = pick(which, c1 * f->root, all(0.0f));
    lanes xx = x * x, yy = y * y, unit = 1.0f / (xx + yy + 1e-30f);
    lanes cosine = (xx - yy) * unit, sine = 2.0f * x * y * unit, u = rays->u, v = rays->v;
    rays->u = u * cosine + v * sine;
    rays->v = v * cosine - u * sine;
}

/* What the patch of each ray is like. */
struct meeting_point {
    lanes radial, rise, ratio, mirror;
};

/* Along its way to the hit. */
INLINE void go_there(struct rays *rays, const struct hit *hit, float absorption) {
    lanes t = positive(hit->t);
    rays->x += t * rays->dx;
    rays->y += t * rays->dy;
    rays->z += t * rays->dz;
    rays->depth -= t * absorption;
    rays->segments += 1.0f;
}

/* Snell, Fresnel, back or on: METHODS eq. (23)-(30); mirrors and stops by their share. Returns who goes back; of
 * rays that met nothing it makes nonsense. plain: none is polarised yet. */
INLINE lanes_if meet(struct rays *rays, const struct meeting_point *point, bool plain, lanes_u drawn) {
    lanes nx = point->radial * rays->x, ny = point->radial * rays->y, nz = point->rise;
    lanes dx = rays->dx, dy = rays->dy, dz = rays->dz, m = point->ratio;
    lanes length2 = nx * nx + ny * ny + nz * nz + 1e-30f, turned = -1.0f / root(length2);
    lanes c1 = positive(-(dx * nx + dy * ny + dz * nz) * turned);
    c1 = pick(less(c1, all(1.0f)), c1, all(1.0f));
    struct amplitudes f = amplitudes_at(m, c1);
    lanes_if clear = less(point->mirror, all(0.0f)), total = at_most(f.out2, all(0.0f));

    struct across e = reference_of(rays), s = {dy * nz - dz * ny, dz * nx - dx * nz, dx * ny - dy * nx};
    lanes_if slanted = less(1e-12f * length2, s.x * s.x + s.y * s.y + s.z * s.z);
    s = (struct across){pick(slanted, s.x, e.x), pick(slanted, s.y, e.y), pick(slanted, s.z, e.z)};
    if (!plain)
        turn_between(rays, e, s, 1.0f);

    lanes number = __builtin_convertvector((lanes_i)(drawn >> 8), lanes) * 0x1p-24f; /* against eq. (29) */
    lanes share2 = f.rs * f.rs * (1.0f + rays->q) + f.rp * f.rp * (1.0f - rays->q);
    lanes_if back = less(number * pick(clear, 2.0f * f.both * f.both, all(1.0f)), pick(clear, share2, point->mirror));
    back = back | (total & clear);
    lanes_if whole = total | ~clear; /* what comes back loses nothing of s or p */
    scale_amplitudes(rays, pick(whole, all(1.0f), pick(back, f.rs, f.dp)),
                     pick(whole, pick(clear, all(1.0f), all(-1.0f)), pick(back, f.rp, f.ds)));
    if (bits(total & clear))
        retard(rays, m, c1, &f, total & clear);

    lanes along = pick(back, all(1.0f), m), aside = turned * pick(back, 2.0f * c1, m * c1 - f.c2);
    dx = along * dx + aside * nx;
    dy = along * dy + aside * ny;
    dz = along * dz + aside * nz;
    lanes unit = 1.5f - 0.5f * (dx * dx + dy * dy + dz * dz);
    rays->dx = dx * unit;
    rays->dy = dy * unit;
    rays->dz = dz * unit;
    turn_between(rays, reference_of(rays), s, -1.0f);
    return back;
}
#endif
