/* The wave itself. Included by wave_plain.c, wave_avx2.c and wave_avx512.c, each compiled for its vector width with
 * WAVE_TRACE defined. Plain loops without branches that the compiler vectorises, like those of
 * tracing/kernels_impl.h.
 *
 * Rays of one material stand together in a wave: all of them look for the same patches, in the same sense. */
#include "lenses/wave.h"

#include <string.h>

enum { LANES = 16 };

/* What became of a ray in this step. */
enum { STAYS, PASSES, ABSORBED, IN_MATERIAL, LONG, NOWHERE, ALONE };

/* What a hit at t leads to, when it is the nearest. */
#define KEEP_NEAREST(good, normal_x, normal_y, normal_z) \
    w->t[i] = (good) ? t : w->t[i];                      \
    w->nx[i] = (good) ? (normal_x) : w->nx[i];           \
    w->ny[i] = (good) ? (normal_y) : w->ny[i];           \
    w->nz[i] = (good) ? (normal_z) : w->nz[i];           \
    w->ratio[i] = (good) ? p.ratio : w->ratio[i];        \
    w->mirror[i] = (good) ? p.mirror : w->mirror[i];     \
    w->next[i] = (good) ? place : w->next[i]

static void look_at_plane(struct wave *restrict w, int whole, const struct wave_patch *patch, int place,
                          float slack) {
    const struct wave_patch p = *patch;
    for (int i = 0; i < whole; i++) {
        float dz = w->dz[i], t = (p.vertex - w->z[i]) / dz;
        float hx = w->x[i] + t * w->dx[i], hy = w->y[i] + t * w->dy[i], r2 = hx * hx + hy * hy;
        int32_t stand = w->stand[i];
        bool good = (p.c * dz > 0.0f) & (t >= -slack) & (t < w->t[i]) & (r2 >= p.radius2_low) &
                    (r2 <= p.radius2_high) & (stand != place) & (stand != p.far_side);
        KEEP_NEAREST(good, 0.0f, 0.0f, p.c);
    }
}

/* Crossings of one patch: METHODS eq. (20), (21), halved. F rises along all of them. */
static void look_at_quadric(struct wave *restrict w, int whole, const struct wave_patch *patch, int place,
                            float slack) {
    const struct wave_patch p = *patch;
    const float half_c = 0.5f * p.c;
    for (int i = 0; i < whole; i++) {
        float x = w->x[i], y = w->y[i], z = w->z[i] - p.vertex, dx = w->dx[i], dy = w->dy[i], dz = w->dz[i];
        float a2 = p.a * (dx * dx + dy * dy) + p.b * dz * dz;
        float h1 = p.a * (x * dx + y * dy) + (p.b * z + half_c) * dz;
        float c0 = p.a * (x * x + y * y) + (p.b * z + p.c) * z + p.d;
        float disc = h1 * h1 - a2 * c0, s = __builtin_sqrtf(disc > 0.0f ? disc : 0.0f);
        bool same = h1 > 0.0f;
        float t = (same ? -c0 : s - h1) / (same ? h1 + s : a2);
        float hx = x + t * dx, hy = y + t * dy, hz = z + t * dz, r2 = hx * hx + hy * hy;
        int32_t stand = w->stand[i];
        float least = stand == place ? 0.0f : -slack;
        bool good = (disc >= 0.0f) & (t >= least) & (t < w->t[i]) & (r2 >= p.radius2_low) & (r2 <= p.radius2_high) &
                    (hz >= p.z_low) & (hz <= p.z_high) & (stand != p.far_side);
        KEEP_NEAREST(good, p.a * hx, p.a * hy, p.b * hz + half_c);
    }
}

/* ---- kinds with powers: from the crossing of their quadric by Newton steps to their own. A ray for which these do
 * not settle meets nothing here and goes on alone. Steps and terms are written out: the compiler vectorises straight
 * lines. */

struct newton {
    float t, x, y, z;      /* where it is looked at */
    float off, nx, ny, nz; /* how far beyond the surface that is, along the ray; the normal */
    float fall;            /* F' */
};

#if defined(__GNUC__)
#define INLINE static inline __attribute__((always_inline))
#else
#define INLINE static inline
#endif

#define HORNER(k) (slope = slope * u + sum, sum = sum * u + p->powers[k])
_Static_assert(WAVE_POWERS == 14 && LUXFALL_POWERS_MAX == 6, "the terms below are written out");

INLINE struct newton at_profile(const struct wave_patch *p, float t, float x, float y, float z, float dx, float dy,
                                float dz) {
    struct newton n = {.t = t, .x = x + t * dx, .y = y + t * dy, .z = z + t * dz};
    float u = n.z * p->inverse, sum = 0.0f, slope = 0.0f;
    u = u > -1.01f ? u : -1.01f;
    u = u < 1.01f ? u : 1.01f;
    HORNER(13), HORNER(12), HORNER(11), HORNER(10), HORNER(9), HORNER(8), HORNER(7);
    HORNER(6), HORNER(5), HORNER(4), HORNER(3), HORNER(2), HORNER(1), HORNER(0);
    n.nx = p->a * n.x;
    n.ny = p->a * n.y;
    n.nz = -0.5f * p->a * slope * p->inverse;
    n.fall = 2.0f * (n.nx * dx + n.ny * dy + n.nz * dz);
    n.off = p->a * (n.x * n.x + n.y * n.y - sum) / n.fall;
    return n;
}

#define HORNER_EVEN(k) (slope = slope * r2 + (float)((k) + 2) * p->powers[k], sum = sum * r2 + p->powers[k])

INLINE struct newton at_asphere(const struct wave_patch *p, float t, float x, float y, float z, float dx, float dy,
                                float dz) {
    struct newton n = {.t = t, .x = x + t * dx, .y = y + t * dy, .z = z + t * dz};
    float r2 = n.x * n.x + n.y * n.y, sum = 0.0f, slope = 0.0f;
    HORNER_EVEN(5), HORNER_EVEN(4), HORNER_EVEN(3), HORNER_EVEN(2), HORNER_EVEN(1), HORNER_EVEN(0);
    float u = n.z - sum * r2 * r2, rise = p->b * u + 0.5f * p->c, radial = p->a - 2.0f * rise * slope * r2;
    n.nx = radial * n.x;
    n.ny = radial * n.y;
    n.nz = rise;
    n.fall = 2.0f * (n.nx * dx + n.ny * dy + n.nz * dz);
    n.off = (p->a * r2 + (p->b * u + p->c) * u + p->d) / n.fall;
    return n;
}

/* The loop of both kinds; `at` is one of the two above. */
#define LOOK_BY_NEWTON(at)                                                                                    \
    const struct wave_patch p = *patch;                                                                       \
    const float half_c = 0.5f * p.c, close = 0.2f * slack;                                                    \
    for (int i = 0; i < whole; i++) {                                                                         \
        float x = w->x[i], y = w->y[i], z = w->z[i] - p.vertex, dx = w->dx[i], dy = w->dy[i], dz = w->dz[i];  \
        float a2 = p.a * (dx * dx + dy * dy) + p.b * dz * dz;                                                 \
        float h1 = p.a * (x * dx + y * dy) + (p.b * z + half_c) * dz;                                         \
        float c0 = p.a * (x * x + y * y) + (p.b * z + p.c) * z + p.d;                                         \
        float disc = h1 * h1 - a2 * c0, s = __builtin_sqrtf(disc > 0.0f ? disc : 0.0f);                       \
        bool same = h1 > 0.0f;                                                                                \
        float t = (same ? -c0 : s - h1) / (same ? h1 + s : a2);                                               \
        t = (t > -1e6f) & (t < 1e6f) ? t : 0.0f;                                                              \
        struct newton n = at(&p, t, x, y, z, dx, dy, dz);                                                     \
        n = at(&p, n.t - n.off, x, y, z, dx, dy, dz);                                                         \
        n = at(&p, n.t - n.off, x, y, z, dx, dy, dz);                                                         \
        n = at(&p, n.t - n.off, x, y, z, dx, dy, dz);                                                         \
        n = at(&p, n.t - n.off, x, y, z, dx, dy, dz);                                                         \
        float r2 = n.x * n.x + n.y * n.y;                                                                     \
        int32_t stand = w->stand[i];                                                                          \
        float least = stand == place ? slack : -slack;                                                        \
        bool good = (n.fall > 0.0f) & (n.off < close) & (n.off > -close) & (n.t >= least) & (n.t < w->t[i]) & \
                    (r2 >= p.radius2_low) & (r2 <= p.radius2_high) & (n.z >= p.z_low) & (n.z <= p.z_high) &   \
                    (stand != p.far_side);                                                                    \
        t = n.t;                                                                                              \
        KEEP_NEAREST(good, n.nx, n.ny, n.nz);                                                                 \
    }

static void look_at_asphere(struct wave *restrict w, int whole, const struct wave_patch *patch, int place,
                            float slack) {
    LOOK_BY_NEWTON(at_asphere)
}

static void look_at_profile(struct wave *restrict w, int whole, const struct wave_patch *patch, int place,
                            float slack) {
    LOOK_BY_NEWTON(at_profile)
}

/* A kind that waves do not know: rays that come to its heights before anything else go on alone. */
static void look_at_slab(struct wave *restrict w, int whole, const struct wave_patch *patch, int place) {
    const struct wave_patch p = *patch;
    for (int i = 0; i < whole; i++) {
        float z = w->z[i] - p.vertex, dz = w->dz[i];
        float to_low = (p.z_low - z) / dz, to_high = (p.z_high - z) / dz;
        float t = dz > 0.0f ? to_low : to_high, out = dz > 0.0f ? to_high : to_low;
        bool inside = (z >= p.z_low) & (z <= p.z_high);
        t = inside ? 0.0f : t;
        bool good = (inside | ((t >= 0.0f) & (out >= 0.0f))) & (t <= w->t[i]);
        KEEP_NEAREST(good, 0.0f, 0.0f, 1.0f);
    }
}

static void look_ahead(struct wave *restrict w, int whole, const struct wave_room *room, float slack) {
    for (int i = 0; i < whole; i++) {
        w->t[i] = 1e30f;
        w->next[i] = -1;
    }
    for (int place = 0; place < room->count; place++) {
        const struct wave_patch *patch = &room->patches[place];
        if (patch->kind == PATCH_FACETS || patch->kind == PATCH_WALL)
            look_at_slab(w, whole, patch, place);
        else if (patch->kind == PATCH_ASPHERE)
            look_at_asphere(w, whole, patch, place, slack);
        else if (patch->kind == PATCH_PROFILE)
            look_at_profile(w, whole, patch, place, slack);
        else if (patch->a == 0 && patch->b == 0)
            look_at_plane(w, whole, patch, place, slack);
        else
            look_at_quadric(w, whole, patch, place, slack);
    }
}

static void draw(struct wave *restrict w, int whole, uint64_t inc) {
    for (int i = 0; i < whole; i++) {
        uint64_t old = w->state[i];
        uint32_t mixed = (uint32_t)((old >> 18 ^ old) >> 27), turns = (uint32_t)(old >> 59);
        w->state[i] = old * PCG32_MULTIPLIER + inc;
        w->drawn[i] = mixed >> turns | mixed << ((32u - turns) & 31u);
    }
}

/* METHODS eq. (24), (25): both amplitudes that come back over one denominator, and the two that go on without their
 * common factor. */
struct amplitudes {
    float sin2, out2, c2; /* sin^2 inside, cos^2 beyond and its root */
    float ds, dp, rs, rp;
};

INLINE struct amplitudes amplitudes_at(float m, float c1) {
    struct amplitudes f = {.sin2 = (1.0f - c1) * (1.0f + c1)};
    f.out2 = 1.0f - m * m * f.sin2;
    f.c2 = __builtin_sqrtf(f.out2 > 0.0f ? f.out2 : 0.0f);
    f.ds = m * c1 + f.c2;
    f.dp = c1 + m * f.c2;
    float both = 1.0f / (f.ds * f.dp + 1e-30f);
    f.rs = (m * c1 - f.c2) * f.dp * both;
    f.rp = (c1 - m * f.c2) * f.ds * both;
    return f;
}

/* By which total reflection sets s and p apart: tan(D/2) = y / x, eq. (28), both times m sin^2 a: no division. */
struct phase {
    float cosine, sine;
};

INLINE struct phase phase_of(float m, float c1, const struct amplitudes *f, bool retards) {
    float excess = -f->out2;
    float x = m * f->sin2, y = c1 * __builtin_sqrtf(excess > 0.0f ? excess : 0.0f);
    x = retards ? x : 1.0f;
    y = retards ? y : 0.0f;
    float unit = 1.0f / (x * x + y * y + 1e-30f);
    return (struct phase){(x * x - y * y) * unit, 2.0f * x * y * unit};
}

/* Snell, Fresnel, back or on: METHODS eq. (23)-(30); mirrors and stops by their share. Rays that met nothing keep
 * their place and direction. */
static void meet(struct wave *restrict w, int whole, float absorption) {
    for (int i = 0; i < whole; i++) {
        bool found = (w->next[i] >= 0) & (w->mirror[i] >= -1.0f);
        float t = w->t[i] > 0.0f ? w->t[i] : 0.0f;
        t = found ? t : 0.0f;
        w->x[i] += t * w->dx[i];
        w->y[i] += t * w->dy[i];
        w->z[i] += t * w->dz[i];
        float depth = w->depth[i] - t * absorption;
        int32_t segments = w->segments[i] + 1;
        float nx = w->nx[i], ny = w->ny[i], nz = w->nz[i];
        float turned = -1.0f / __builtin_sqrtf(nx * nx + ny * ny + nz * nz + 1e-30f);
        nx *= turned;
        ny *= turned;
        nz *= turned;
        float dx = w->dx[i], dy = w->dy[i], dz = w->dz[i];
        float c1 = -(dx * nx + dy * ny + dz * nz);
        c1 = c1 < 1.0f ? c1 : 1.0f;
        c1 = c1 > 0.0f ? c1 : 0.0f;
        float m = w->ratio[i], mirror = w->mirror[i];
        struct amplitudes f = amplitudes_at(m, c1);
        bool clear = mirror < 0.0f, total = !(f.out2 > 0.0f);
        /* the reference turns into s */
        float sx = dy * nz - dz * ny, sy = dz * nx - dx * nz, sz = dx * ny - dy * nx;
        float ex = w->ex[i], ey = w->ey[i], ez = w->ez[i];
        float length2 = sx * sx + sy * sy + sz * sz;
        bool slanted = found & (length2 > 1e-12f);
        float per = 1.0f / __builtin_sqrtf(slanted ? length2 : 1.0f);
        sx = slanted ? sx * per : ex;
        sy = slanted ? sy * per : ey;
        sz = slanted ? sz * per : ez;
        float cx = ex * sx + ey * sy + ez * sz;
        float cy = (dy * ez - dz * ey) * sx + (dz * ex - dx * ez) * sy + (dx * ey - dy * ex) * sz;
        float over = 2.0f - (cx * cx + cy * cy); /* one Newton step to 1 / (cx^2 + cy^2), which is near to 1 */
        float cosine = (cx * cx - cy * cy) * over, sine = 2.0f * cx * cy * over;
        float q = w->q[i] * cosine + w->u[i] * sine, u = w->u[i] * cosine - w->q[i] * sine, v = w->v[i];
        float back = 0.5f * (f.rs * f.rs * (1.0f + q) + f.rp * f.rp * (1.0f - q));
        back = total ? 1.0f : back;
        back = clear ? back : mirror;
        float number = (float)(int32_t)(w->drawn[i] >> 8) * 0x1p-24f;
        bool reflect = number < back;
        /* amplitudes of what goes on, and the phase between them */
        float as = reflect ? f.rs : f.dp, ap = reflect ? f.rp : f.ds;
        bool alike = total | !clear | !found;
        as = alike ? 1.0f : as;
        ap = alike ? (clear | !found ? 1.0f : -1.0f) : ap;
        float from_s = as * as * (1.0f + q), from_p = ap * ap * (1.0f - q), sum = 1.0f / (from_s + from_p + 1e-30f);
        q = (from_s - from_p) * sum;
        u *= 2.0f * as * ap * sum;
        v *= 2.0f * as * ap * sum;
        struct phase p = phase_of(m, c1, &f, total & clear & found);
        w->q[i] = q;
        w->u[i] = u * p.cosine + v * p.sine;
        w->v[i] = v * p.cosine - u * p.sine;
        w->ex[i] = sx;
        w->ey[i] = sy;
        w->ez[i] = sz;
        float along = reflect ? 1.0f : m, aside = reflect ? 2.0f * c1 : m * c1 - f.c2;
        along = found ? along : 1.0f;
        aside = found ? aside : 0.0f;
        dx = along * dx + aside * nx;
        dy = along * dy + aside * ny;
        dz = along * dz + aside * nz;
        float step = 1.5f - 0.5f * (dx * dx + dy * dy + dz * dz);
        w->dx[i] = dx * step;
        w->dy[i] = dy * step;
        w->dz[i] = dz * step;
        w->depth[i] = depth;
        w->segments[i] = segments;
        w->stand[i] = found ? w->next[i] : w->stand[i];
        int32_t fate = reflect ? STAYS : clear ? PASSES : ABSORBED;
        fate = segments >= OPTIC_BOUNCES_MAX ? LONG : fate;
        fate = depth < 0.0f ? IN_MATERIAL : fate;
        w->fate[i] = found ? fate : w->next[i] >= 0 ? ALONE : NOWHERE;
    }
}

/* ---- rays in and out ---------------------------------------------------------------------------------------------
 */

struct feed {
    const struct wave_optic *optic;
    const struct ray_batch *in;
    struct ray_batch *out;
    struct wave_fates *fates;
    struct pcg32 random; /* at the next ray's numbers */
    struct pcg32_leap leap;
    uint64_t inc;
    int next;
};

/* New rays, in a row. */
static void load(struct wave *restrict w, int from, int count, struct feed *feed) {
    const struct ray_batch *in = feed->in;
    size_t size = (size_t)count * sizeof(float);
    int k = feed->next;
    memcpy(w->x + from, in->x + k, size);
    memcpy(w->y + from, in->y + k, size);
    memcpy(w->z + from, in->z + k, size);
    memcpy(w->dx + from, in->dx + k, size);
    memcpy(w->dy + from, in->dy + k, size);
    memcpy(w->dz + from, in->dz + k, size);
    for (int i = from; i < from + count; i++) {
        w->ex[i] = w->ey[i] = w->ez[i] = 0; /* light that swings all ways has none */
        w->q[i] = w->u[i] = w->v[i] = 0;
        w->depth[i] = 1.0f;
        w->stand[i] = -1;
        w->segments[i] = 0;
        w->there[i] = 1;
    }
    for (int i = from; i < from + count; i++) {
        struct pcg32 own = feed->random;
        feed->random.state = feed->random.state * feed->leap.multiplier + feed->leap.plus;
        if (feed->optic->absorbs)
            w->depth[i] = (float)walk_depth(&own);
        w->state[i] = own.state;
    }
    feed->next += count;
}

/* Into holes first, then behind the others. */
static void feed_wave(struct wave *w, int count, struct feed *feed) {
    for (; count > 0 && w->hole_count > 0; count--)
        load(w, w->holes[--w->hole_count], 1, feed);
    load(w, w->count, count, feed);
    w->count += count;
}

static void leave(const struct feed *feed, double x, double y, double z, double dx, double dy, double dz) {
    struct ray_batch *out = feed->out;
    int k = out->count++;
    out->x[k] = (float)x;
    out->y[k] = (float)y;
    out->z[k] = (float)(z - feed->optic->optic->end_mm);
    out->dx[k] = (float)dx;
    out->dy[k] = (float)dy;
    out->dz[k] = (float)dz;
}

/* The rest of the way in double, from where the last surface was met. */
static void alone(const struct wave *w, int i, int material, struct feed *feed) {
    const struct wave_room *room = &feed->optic->rooms[material];
    struct pcg32 own = {w->state[i], feed->inc};
    struct walk walk = {.optic = feed->optic->optic,
                        .path = {{w->x[i], w->y[i], w->z[i]},
                                 {w->dx[i], w->dy[i], w->dz[i]},
                                 {w->ex[i], w->ey[i], w->ez[i]},
                                 w->q[i],
                                 w->u[i],
                                 w->v[i]},
                        .random = &own,
                        .material = material,
                        .patch = w->stand[i] < 0 ? -1 : room->patches[w->stand[i]].index,
                        .above = w->stand[i] >= 0 && !room->patches[w->stand[i]].rising,
                        .segments = w->segments[i] - 1,
                        .depth = w->depth[i],
                        .slack_mm = 4.0 * feed->optic->slack};
    struct optic_outcome end;
    walk_true(&walk);
    walk_to_end(&walk, &end);
    feed->fates->segments += (uint64_t)(end.segments - w->segments[i]);
    if (end.fate == OPTIC_EXIT)
        leave(feed, end.end.at_mm[0], end.end.at_mm[1], end.end.at_mm[2], end.end.direction[0], end.end.direction[1],
              end.end.direction[2]);
    else if (end.fate == OPTIC_ABSORBED)
        feed->fates->loss[end.loss]++;
    else if (end.fate == OPTIC_LOST)
        feed->fates->lost++;
    else
        feed->fates->abandoned++;
}

static void leave_top(const struct wave *w, int i, struct feed *feed) {
    feed->fates->segments += (uint64_t)w->segments[i] + 1;
    leave(feed, w->x[i], w->y[i], w->z[i], w->dx[i], w->dy[i], w->dz[i]);
}

static void end(const struct wave *w, int i, int material, const struct wave_patch *patch, struct feed *feed) {
    feed->fates->segments += (uint64_t)w->segments[i];
    bool open = w->fate[i] == NOWHERE && feed->optic->optic->materials[material].open;
    if (open && w->dz[i] > 0)
        leave(feed, w->x[i], w->y[i], w->z[i], w->dx[i], w->dy[i], w->dz[i]);
    else if (open)
        feed->fates->loss[LUXFALL_LOSS_RETURNED]++;
    else if (w->fate[i] == NOWHERE || w->fate[i] == ALONE)
        alone(w, i, material, feed);
    else if (w->fate[i] == ABSORBED)
        feed->fates->loss[feed->optic->optic->patches[patch->index].loss]++;
    else if (w->fate[i] == IN_MATERIAL)
        feed->fates->loss[LUXFALL_LOSS_MATERIAL]++;
    else
        feed->fates->abandoned++;
}

static void move(const struct wave *from, int i, struct wave *to, int k, int stand) {
#define MOVE(name) to->name[k] = from->name[i]
    MOVE(x), MOVE(y), MOVE(z), MOVE(dx), MOVE(dy), MOVE(dz), MOVE(ex), MOVE(ey), MOVE(ez), MOVE(q), MOVE(u), MOVE(v);
    MOVE(depth), MOVE(segments), MOVE(state);
#undef MOVE
    to->stand[k] = stand;
    to->there[k] = 1;
}

/* Over to the wave of the material beyond. */
static void cross_over(const struct wave *from, int i, const struct wave_patch *patch, struct wave *to) {
    move(from, i, to, to->hole_count > 0 ? to->holes[--to->hole_count] : to->count++, patch->place);
}

/* Mostly holes: the last rays go into the first of them. */
static void pack(struct wave *w) {
    int left = w->count - w->hole_count;
    for (int i = w->count - 1, hole = 0; i >= left; i--) {
        if (!w->there[i])
            continue;
        while (w->there[hole])
            hole++;
        move(w, i, w, hole, w->stand[i]);
    }
    w->count = left;
    w->hole_count = 0;
}

/* Those that do not stay, in order. */
static int list_leaving(const struct wave *w, int32_t list[WAVE]) {
    int count = 0;
    for (int i = 0; i < w->count; i++) {
        list[count] = i;
        count += (w->fate[i] != STAYS) & w->there[i];
    }
    return count;
}

/* Rays stay, go over to another wave, or end. */
static void part(struct wave *waves, int material, struct feed *feed) {
    struct wave *w = &waves[material];
    const struct wave_room *room = &feed->optic->rooms[material];
    int32_t list[WAVE];
    int count = list_leaving(w, list);
    for (int k = 0; k < count; k++) {
        int i = list[k];
        const struct wave_patch *patch = &room->patches[w->next[i] >= 0 ? w->next[i] : 0];
        if (w->fate[i] != PASSES)
            end(w, i, material, patch, feed);
        else if (w->z[i] >= feed->optic->top && w->dz[i] > 0 && feed->optic->optic->materials[patch->beyond].open)
            leave_top(w, i, feed);
        else
            cross_over(w, i, patch, &waves[patch->beyond]);
        w->there[i] = 0;
        w->holes[w->hole_count++] = i;
    }
    if (4 * w->hole_count > w->count + 64)
        pack(w);
}

static int there(const struct wave *wave) {
    return wave->count - wave->hole_count;
}

static int fullest(const struct wave *waves, int count) {
    int best = 0;
    for (int m = 1; m < count; m++)
        if (there(&waves[m]) > there(&waves[best]))
            best = m;
    return best;
}

static void step(struct wave *waves, int material, struct feed *feed) {
    struct wave *w = &waves[material];
    int whole = (w->count + LANES - 1) / LANES * LANES;
    look_ahead(w, whole, &feed->optic->rooms[material], feed->optic->slack);
    draw(w, whole, feed->inc);
    meet(w, whole, feed->optic->rooms[material].absorption);
    part(waves, material, feed);
}

void WAVE_TRACE(const struct wave_optic *optic, struct wave_space *space, const struct ray_batch *in,
                struct pcg32 random, struct ray_batch *out, struct wave_fates *fates) {
    struct wave *waves = space->waves;
    struct feed feed = {optic, in, out, fates, random, pcg32_leap(random.inc, OPTIC_DRAWS_MAX), random.inc, 0};
    int first = optic->optic->emitter_material, materials = optic->optic->material_count, on_their_way = 0;
    out->count = 0;
    for (int m = 0; m < materials; m++)
        waves[m].count = waves[m].hole_count = 0;
    do {
        int room = WAVE - on_their_way, left = in->count - feed.next;
        feed_wave(&waves[first], room < left ? room : left, &feed);
        step(waves, fullest(waves, materials), &feed);
        on_their_way = 0;
        for (int m = 0; m < materials; m++)
            on_their_way += there(&waves[m]);
    } while (on_their_way > 0 || feed.next < in->count);
    fates->exits += (uint64_t)out->count;
}
