/* The wave itself. Included by wave_plain.c, wave_avx2.c and wave_avx512.c, each compiled for its vector width with
 * WAVE_TRACE defined. Rays of a stand are taken up a vector at a time, look for their next patch, meet it and are put
 * where they stand next, in the same order whatever the width. */
#include "lenses/wave_meet.h"

#include <math.h>

struct feed {
    const struct wave_optic *optic;
    struct wave_space *space;
    const struct ray_batch *in;
    struct ray_batch *out;
    struct wave_fates *fates;
    uint64_t inc;
    int next;               /* to start, */
    lanes_u low, high;      /* the states of it and the next ones */
    struct pcg32_leap leap; /* from them to those behind them */
    int left;               /* the optic over its top */
};

/* ---- rays in and out ---------------------------------------------------------------------------------------------
 */

static void feed_random(struct feed *feed, struct pcg32 random) {
    const struct pcg32_leap one = pcg32_leap(random.inc, OPTIC_DRAWS_MAX);
    for (int l = 0; l < WIDE; l++) {
        feed->low[l] = (uint32_t)random.state;
        feed->high[l] = (uint32_t)(random.state >> 32);
        random.state = random.state * one.multiplier + one.plus;
    }
    feed->inc = random.inc;
    feed->leap = pcg32_leap(random.inc, (uint64_t)OPTIC_DRAWS_MAX * WIDE);
}

/* One number of each ray, drawn before the first surface: METHODS eq. (64). */
static void draw_depths(struct rays *rays, uint64_t inc) {
    for (int l = 0; l < WIDE; l++) {
        struct pcg32 own = {(uint64_t)rays->high[l] << 32 | rays->low[l], inc};
        rays->depth[l] = (float)walk_depth(&own);
        rays->low[l] = (uint32_t)own.state;
        rays->high[l] = (uint32_t)(own.state >> 32);
    }
}

/* The next rays of the batch. */
INLINE struct rays take_new(struct feed *feed) {
    const struct ray_batch *in = feed->in;
    const int i = feed->next;
    struct rays rays = {.x = load(in->x + i),
                        .y = load(in->y + i),
                        .z = load(in->z + i),
                        .dx = load(in->dx + i),
                        .dy = load(in->dy + i),
                        .dz = load(in->dz + i),
                        .depth = all(1.0f),
                        .low = feed->low,
                        .high = feed->high};
    if (feed->optic->absorbs)
        draw_depths(&rays, feed->inc);
    leap(&feed->low, &feed->high, feed->leap);
    feed->next += WIDE;
    return rays;
}

INLINE struct rays take(const struct wave *w, int i) {
    return (struct rays){load(w->x + i),
                         load(w->y + i),
                         load(w->z + i),
                         load(w->dx + i),
                         load(w->dy + i),
                         load(w->dz + i),
                         load(w->q + i),
                         load(w->u + i),
                         load(w->v + i),
                         load(w->depth + i),
                         load(w->segments + i),
                         (lanes_u)load((const float *)w->low + i),
                         (lanes_u)load((const float *)w->high + i)};
}

/* Behind the others. */
INLINE void put(struct wave *w, const struct rays *rays, unsigned which) {
    struct squeeze s = squeeze_make(which);
    int to = w->count;
    squeeze(s, rays->x, w->x + to);
    squeeze(s, rays->y, w->y + to);
    squeeze(s, rays->z, w->z + to);
    squeeze(s, rays->dx, w->dx + to);
    squeeze(s, rays->dy, w->dy + to);
    squeeze(s, rays->dz, w->dz + to);
    squeeze(s, rays->q, w->q + to);
    squeeze(s, rays->u, w->u + to);
    squeeze(s, rays->v, w->v + to);
    squeeze(s, rays->depth, w->depth + to);
    squeeze(s, rays->segments, w->segments + to);
    squeeze(s, (lanes)rays->low, (float *)w->low + to);
    squeeze(s, (lanes)rays->high, (float *)w->high + to);
    w->count += __builtin_popcount(which);
}

static void leave_alone(struct feed *feed, const double at_mm[3], const double direction[3]) {
    struct ray_batch *out = feed->out;
    int k = out->count++;
    out->x[k] = (float)at_mm[0];
    out->y[k] = (float)at_mm[1];
    out->z[k] = (float)(at_mm[2] - feed->optic->optic->end_mm);
    out->dx[k] = (float)direction[0];
    out->dy[k] = (float)direction[1];
    out->dz[k] = (float)direction[2];
}

INLINE void squeeze_out(struct squeeze s, lanes v, float *column, int to) {
    if (to <= RAY_BATCH - WIDE) {
        squeeze(s, v, column + to);
    } else { /* a whole vector no longer fits */
        float last[WIDE];
        squeeze(s, v, last);
        memcpy(column + to, last, (size_t)(RAY_BATCH - to) * sizeof *last);
    }
}

INLINE void leave(struct feed *feed, const struct rays *rays, unsigned which) {
    struct ray_batch *out = feed->out;
    struct squeeze s = squeeze_make(which);
    squeeze_out(s, rays->x, out->x, out->count);
    squeeze_out(s, rays->y, out->y, out->count);
    squeeze_out(s, rays->z - (float)feed->optic->optic->end_mm, out->z, out->count);
    squeeze_out(s, rays->dx, out->dx, out->count);
    squeeze_out(s, rays->dy, out->dy, out->count);
    squeeze_out(s, rays->dz, out->dz, out->count);
    out->count += __builtin_popcount(which);
}

/* ---- those that go on alone --------------------------------------------------------------------------------------
 */

/* The reference that the wave measures against, as a unit vector. */
static void reference_alone(const double d[3], double out[3]) {
    double length = hypot(d[0], d[1]);
    bool leans = length > 1e-5;
    out[0] = leans ? -d[1] / length : 1;
    out[1] = leans ? d[0] / length : 0;
    out[2] = 0;
}

/* The rest of the way in double, from where the last surface was met. */
static void go_alone(const struct wave *w, int i, const struct wave_stand *stand, struct feed *feed) {
    const struct wave_optic *optic = feed->optic;
    const struct wave_patch *on = stand->place < 0 ? NULL : &optic->rooms[stand->room].patches[stand->place];
    struct pcg32 own = {(uint64_t)w->high[i] << 32 | w->low[i], feed->inc};
    struct walk walk = {.optic = optic->optic,
                        .path = {.at_mm = {w->x[i], w->y[i], w->z[i]},
                                 .direction = {w->dx[i], w->dy[i], w->dz[i]},
                                 .q = w->q[i],
                                 .u = w->u[i],
                                 .v = w->v[i]},
                        .random = &own,
                        .material = stand->room,
                        .patch = on ? on->index : -1,
                        .above = on && !on->rising,
                        .segments = (int)w->segments[i],
                        .depth = w->depth[i],
                        .slack_mm = 4.0 * optic->slack};
    struct optic_outcome end;
    reference_alone(walk.path.direction, walk.path.reference);
    walk_true(&walk);
    walk_to_end(&walk, &end);
    feed->fates->segments += (uint64_t)(end.segments - (int)w->segments[i] - 1);
    if (end.fate == OPTIC_EXIT)
        leave_alone(feed, end.end.at_mm, end.end.direction);
    else if (end.fate == OPTIC_ABSORBED)
        feed->fates->loss[end.loss]++;
    else if (end.fate == OPTIC_LOST)
        feed->fates->lost++;
    else
        feed->fates->abandoned++;
}

/* ---- a step ------------------------------------------------------------------------------------------------------
 */

/* Rays that met one patch, of which `back` come back: where they stand next. Returns those that have left the optic.
 */
INLINE unsigned part(struct feed *feed, const struct wave_patch *patch, const struct rays *rays, unsigned which,
                     unsigned back, unsigned above) {
    struct wave *stands = feed->space->stands;
    unsigned on = which & ~back, left = patch->outside && !patch->ends ? on & above : 0;
    if (which & back)
        put(&stands[patch->back], rays, which & back);
    if (on & ~left) {
        if (patch->ends)
            feed->fates->loss[feed->optic->optic->patches[patch->index].loss] += (unsigned)__builtin_popcount(on);
        else
            put(&stands[patch->on], rays, on & ~left);
    }
    return left;
}

/* Rays that met nothing are where they were. */
INLINE struct rays unmoved(lanes_if which, const struct rays *before, const struct rays *rays) {
    struct rays out = *rays;
    out.x = pick(which, before->x, rays->x);
    out.y = pick(which, before->y, rays->y);
    out.z = pick(which, before->z, rays->z);
    out.dx = pick(which, before->dx, rays->dx);
    out.dy = pick(which, before->dy, rays->dy);
    out.dz = pick(which, before->dz, rays->dz);
    return out;
}

/* Rays of a vector that meet the same patch. */
struct group {
    const struct wave_patch *patch;
    unsigned which;
};

/* Who meets what. Returns those whose patch is left to walk_to_end(). */
INLINE unsigned group_hits(const struct wave_room *room, const struct hit *hit, const struct rays *rays,
                           unsigned rest, struct group groups[WIDE], int *count, struct meeting_point *point) {
    unsigned alone = 0;
    int32_t place[WIDE];
    memcpy(place, &hit->place, sizeof place);
    *point = (struct meeting_point){hit->radial, hit->rise, all(1.0f), all(-1.0f)};
    for (*count = 0; rest; ++*count) {
        const struct wave_patch *p = &room->patches[place[__builtin_ctz(rest)]];
        lanes_if here = same(hit->place, all_i(p->place));
        groups[*count] = (struct group){p, rest & bits(here)};
        rest &= ~groups[*count].which;
        alone |= p->mirror < -1.0f ? groups[*count].which : 0;
        point->ratio = pick(here, all(p->ratio), point->ratio);
        point->mirror = pick(here, all(p->mirror), point->mirror);
        if (p->kind != PATCH_QUADRIC)
            continue;
        lanes z = rays->z - p->vertex + hit->t * rays->dz;
        point->radial = pick(here, all(p->a), point->radial);
        point->rise = pick(here, p->b * z + 0.5f * p->c, point->rise);
    }
    return alone;
}

/* Absorbed on the way, or on its way for too long. */
INLINE unsigned end_some(struct feed *feed, const struct rays *rays, unsigned going) {
    unsigned absorbed = going & bits(less(rays->depth, all(0.0f)));
    unsigned tired = going & ~absorbed & bits(at_most(all(OPTIC_BOUNCES_MAX), rays->segments));
    if (absorbed | tired) {
        feed->fates->loss[LUXFALL_LOSS_MATERIAL] += (unsigned)__builtin_popcount(absorbed);
        feed->fates->abandoned += (unsigned)__builtin_popcount(tired);
    }
    return absorbed | tired;
}

/* Where rays are, and whither they go. */
struct courses {
    const float *x, *y, *z, *dx, *dy, *dz;
};

INLINE struct line line_of(const struct courses *c, int i) {
    lanes x = load(c->x + i), y = load(c->y + i), z = load(c->z + i);
    lanes dx = load(c->dx + i), dy = load(c->dy + i), dz = load(c->dz + i);
    return (struct line){x, y, z, dx, dy, dz, 1.0f / dz, dz * dz, dx * dx + dy * dy, x * x + y * y, x * dx + y * dy};
}

/* All of a stand look first and meet then: loops of short bodies, of which the processor has several under way. */
static void look_all(const struct wave_optic *optic, const struct wave_stand *stand, const struct courses *courses,
                     int count, struct wave_hits *hits) {
    for (int i = 0; i < count; i += WIDE) {
        struct line line = line_of(courses, i);
        struct hit hit = look_ahead(&line, optic, stand);
        lanes unsure = pick(hit.unsure, (lanes)all_i(-1), all(0.0f));
        memcpy(hits->t + i, &hit.t, sizeof hit.t);
        memcpy(hits->place + i, &hit.place, sizeof hit.place);
        memcpy(hits->radial + i, &hit.radial, sizeof hit.radial);
        memcpy(hits->rise + i, &hit.rise, sizeof hit.rise);
        memcpy(hits->unsure + i, &unsure, sizeof unsure);
    }
}

INLINE struct hit hit_at(const struct wave_hits *hits, int i) {
    return (struct hit){load(hits->t + i), (lanes_i)load((const float *)hits->place + i), load(hits->radial + i),
                        load(hits->rise + i), same((lanes_i)load((const float *)hits->unsure + i), all_i(-1))};
}

INLINE void meet_vector(struct feed *feed, const struct wave_stand *stand, struct rays rays, struct hit hit,
                        bool first, unsigned live) {
    const struct wave_optic *optic = feed->optic;
    const struct wave_room *room = &optic->rooms[stand->room];
    const struct rays before = rays;
    unsigned alone = live & bits(hit.unsure), nowhere = live & ~alone & bits(same(hit.place, all_i(-1))), gone = 0;
    if (nowhere && optic->optic->materials[stand->room].open) { /* out, or back to the board */
        gone = nowhere & bits(less(all(0.0f), rays.dz));
        feed->fates->loss[LUXFALL_LOSS_RETURNED] += (unsigned)__builtin_popcount(nowhere & ~gone);
    } else {
        alone |= nowhere;
    }
    struct group groups[WIDE];
    struct meeting_point point;
    int group_count;
    unsigned going = live & ~alone & ~nowhere;
    alone |= group_hits(room, &hit, &rays, going, groups, &group_count, &point);
    if (alone)
        put(&feed->space->alone, &rays, alone);
    lanes_u drawn = draw(&rays, feed->inc);
    go_there(&rays, &hit, room->absorption);
    going &= ~alone;
    going &= ~end_some(feed, &rays, going);
    unsigned back = bits(meet(&rays, &point, first, drawn));
    unsigned above = bits(at_most(all(optic->top), rays.z) & less(all(0.0f), rays.dz)), left = 0;
    for (int g = 0; g < group_count; g++)
        left |= part(feed, groups[g].patch, &rays, groups[g].which & going, back, above);
    feed->left += __builtin_popcount(left);
    if (gone)
        rays = unmoved(same(hit.place, all_i(-1)), &before, &rays);
    if (left | gone)
        leave(feed, &rays, left | gone);
}

static unsigned first_of(int count) {
    return count < WIDE ? (1u << count) - 1 : (1u << WIDE) - 1;
}

static void finish_alone(struct feed *feed, const struct wave_stand *stand) {
    for (int i = 0; i < feed->space->alone.count; i++)
        go_alone(&feed->space->alone, i, stand, feed);
    feed->space->alone.count = 0;
}

/* Rays of the batch, from the emitter. */
static void step_first(struct feed *feed) {
    const struct wave_stand *stand = &feed->optic->stands[0];
    const struct ray_batch *in = feed->in;
    const int at = feed->next, left = in->count - at, count = left < WAVE_START ? left : WAVE_START;
    const struct courses courses = {in->x + at, in->y + at, in->z + at, in->dx + at, in->dy + at, in->dz + at};
    look_all(feed->optic, stand, &courses, count, &feed->space->hits);
    for (int i = 0; i < count; i += WIDE)
        meet_vector(feed, stand, take_new(feed), hit_at(&feed->space->hits, i), true, first_of(count - i));
    feed->fates->segments += (unsigned)count;
    finish_alone(feed, stand);
}

/* Rays that stand at one place. Those that come to stand there again are stored where others have been taken up. */
static void step(struct feed *feed, int number) {
    const struct wave_stand *stand = &feed->optic->stands[number];
    struct wave *w = &feed->space->stands[number];
    const struct courses courses = {w->x, w->y, w->z, w->dx, w->dy, w->dz};
    const int count = w->count;
    w->count = 0;
    look_all(feed->optic, stand, &courses, count, &feed->space->hits);
    for (int i = 0; i < count; i += WIDE)
        meet_vector(feed, stand, take(w, i), hit_at(&feed->space->hits, i), false, first_of(count - i));
    feed->fates->segments += (unsigned)count;
    finish_alone(feed, stand);
}

static int fullest(const struct wave_space *space, int count, int *on_their_way) {
    int best = 0;
    *on_their_way = 0;
    for (int s = 0; s < count; s++) {
        *on_their_way += space->stands[s].count;
        if (space->stands[s].count > space->stands[best].count)
            best = s;
    }
    return best;
}

void WAVE_TRACE(const struct wave_optic *optic, struct wave_space *space, const struct ray_batch *in,
                struct pcg32 random, struct ray_batch *out, struct wave_fates *fates) {
    struct feed feed = {.optic = optic, .space = space, .in = in, .out = out, .fates = fates};
    int on_their_way = 0, best = 0;
    feed_random(&feed, random);
    out->count = space->alone.count = 0;
    for (int s = 0; s < optic->stand_count; s++)
        space->stands[s].count = 0;
    do {
        if (feed.next < in->count && on_their_way <= WAVE - WAVE_START)
            step_first(&feed);
        else
            step(&feed, best);
        best = fullest(space, optic->stand_count, &on_their_way);
    } while (on_their_way > 0 || feed.next < in->count);
    fates->exits += (uint64_t)out->count;
    fates->segments += (uint64_t)feed.left; /* their way on */
}
