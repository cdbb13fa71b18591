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
    lanes ds, dp, rs, rp;       /* r_s = rs / (ds dp) */
};

INLINE struct amplitudes amplitudes_at(lanes m, lanes c1) {
    struct amplitudes f = {.sin2 = (1.0f - c1) * (1.0f + c1)};
    f.out2 = 1.0f - m * m * f.sin2;
    f.root = root(size(f.out2));
    f.c2 = pick(less(all(0.0f), f.out2), f.root, all(0.0f));
    f.ds = m * c1 + f.c2;
    f.dp = c1 + m * f.c2;
    f.rs = (m * c1 - f.c2) * f.dp;
    f.rp = (c1 - m * f.c2) * f.ds;
    return f;
}

/* Stokes numbers on their way through a meeting, times a number of their own: one division at its end makes up for
 * all on the way. */
struct stokes {
    lanes i, q, u, v;
};

/* Where a reference stands in a plane across the ray: as x and y are; of no length. */
struct bearing {
    lanes x, y;
};

/* Turns q and u by twice that angle, METHODS eq. (26). */
INLINE struct stokes turned(struct stokes s, struct bearing to) {
    lanes xx = to.x * to.x, yy = to.y * to.y, unit = xx + yy, cosine = xx - yy, sine = 2.0f * to.x * to.y;
    return (struct stokes){unit * s.i, cosine * s.q + sine * s.u, cosine * s.u - sine * s.q, unit * s.v};
}

/* The s of a surface, d x n, against the reference e = (-dy, dx, 0): (e . s, (d x e) . s). As n = (radial x, radial
 * y, rise), that is this; h = x dx + y dy, skew = y dx - x dy. A ray straight up or down has e = (1, 0, 0); where s
 * has no length it is e. */
INLINE struct bearing bearing_of_s(lanes rise, lanes radial_h, lanes radial_skew, lanes across2, lanes dz, lanes nx,
                                   lanes ny) {
    lanes_if leans = less(all(1e-10f), across2);
    struct bearing to = {pick(leans, dz * radial_h - rise * across2, -dz * ny), pick(leans, radial_skew, nx)};
    lanes_if slanted = less(all(1e-16f), to.x * to.x + to.y * to.y);
    return (struct bearing){pick(slanted, to.x, all(1.0f)), pick(slanted, to.y, all(0.0f))};
}

/* Total reflection sets s and p apart: tan(D/2) = y / x, eq. (28), both times m sin^2 a: no division. */
INLINE struct stokes retarded(struct stokes s, lanes m, lanes c1, const struct amplitudes *f, lanes_if which) {
    lanes x = pick(which, m * f->sin2, all(1.0f)), y = pick(which, c1 * f->root, all(0.0f));
    lanes xx = x * x, yy = y * y, unit = xx + yy, cosine = xx - yy, sine = 2.0f * x * y;
    return (struct stokes){unit * s.i, unit * s.q, cosine * s.u + sine * s.v, cosine * s.v - sine * s.u};
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
    lanes x = rays->x, y = rays->y, dx = rays->dx, dy = rays->dy, dz = rays->dz, m = point->ratio;
    lanes r2 = x * x + y * y, h = x * dx + y * dy, skew = y * dx - x * dy;
    lanes per_length = 1.0f / root(point->radial * point->radial * r2 + point->rise * point->rise + 1e-30f);
    lanes radial = point->radial * per_length, rise = point->rise * per_length, nx = radial * x, ny = radial * y;
    lanes c1 = positive(radial * h + rise * dz);
    c1 = pick(less(c1, all(1.0f)), c1, all(1.0f));
    struct amplitudes f = amplitudes_at(m, c1);
    lanes_if clear = less(point->mirror, all(0.0f)), total = at_most(f.out2, all(0.0f));

    struct stokes s = {all(1.0f), rays->q, rays->u, rays->v};
    if (!plain)
        s = turned(s, bearing_of_s(rise, radial * h, radial * skew, dx * dx + dy * dy, dz, nx, ny));
    lanes is = s.i + s.q, ip = s.i - s.q, back_s = f.rs * f.rs * is, back_p = f.rp * f.rp * ip; /* against eq. (29) */
    lanes ds2 = f.ds * f.ds, dp2 = f.dp * f.dp,
          number = __builtin_convertvector((lanes_i)(drawn >> 8), lanes) * 0x1p-24f;
    lanes_if back =
        less(number * pick(clear, 2.0f * s.i * ds2 * dp2, all(1.0f)), pick(clear, back_s + back_p, point->mirror));
    back = back | (total & clear);

    lanes_if whole = total | ~clear;                    /* what comes back loses nothing of s or p */
    is = pick(whole, is, pick(back, back_s, dp2 * is)); /* METHODS eq. (27) */
    ip = pick(whole, ip, pick(back, back_p, ds2 * ip));
    lanes mixed = 2.0f * pick(whole, pick(clear, all(1.0f), all(-1.0f)), pick(back, f.rs * f.rp, f.ds * f.dp));
    s = (struct stokes){is + ip, is - ip, mixed * s.u, mixed * s.v};
    if (bits(total & clear))
        s = retarded(s, m, c1, &f, total & clear);

    lanes along = pick(back, all(1.0f), m), aside = pick(back, -c1, f.c2) - along * c1;
    dx = along * dx + aside * nx;
    dy = along * dy + aside * ny;
    dz = along * dz + aside * rise;
    lanes unit = 1.5f - 0.5f * (dx * dx + dy * dy + dz * dz);
    rays->dx = dx = dx * unit;
    rays->dy = dy = dy * unit;
    rays->dz = dz = dz * unit;
    h = x * dx + y * dy;
    skew = y * dx - x * dy;
    struct bearing to = bearing_of_s(rise, radial * h, radial * skew, dx * dx + dy * dy, dz, nx, ny);
    s = turned(s, (struct bearing){to.x, -to.y});
    lanes per_i = 1.0f / s.i;
    rays->q = s.q * per_i;
    rays->u = s.u * per_i;
    rays->v = s.v * per_i;
    return back;
}
#endif
