/* The wave itself. Included by wave_plain.c, wave_avx2.c and wave_avx512.c, each compiled for its vector width with
 * WAVE_TRACE defined. Rays of a stand are taken up a vector at a time, look for their next patch, meet it and are put
 * where they stand next, in the same order whatever the width. */
#include "lenses/pcg32_lanes.h"
#include "lenses/vector3.h"
#include "lenses/wave_look.h"
#include "lenses/wave_meet.h"

#include <math.h>

struct feed {
    const struct wave_optic *optic;
    struct wave *stands[WAVE_STANDS_MAX], *spare; /* the spare takes the place of one whose rays are on their way */
    struct wave_space *space;
    const struct ray_batch *in;
    struct ray_batch *out;
    struct wave_fates *fates;
    int steps;                 /* taken by this batch */
    int next;                  /* to start, */
    struct pcg32_lanes random; /* which starts the numbers of it and the next ones */
    int left;                  /* the optic over its top */
};

/* ---- rays in and out ---------------------------------------------------------------------------------------------
 */

/* One number of each ray, drawn before the first surface: METHODS eq. (64). */
static void draw_depths(struct wave *w, int i) {
    for (int l = i; l < i + WIDE; l++) {
        struct ray_numbers own = {w->numbers[l]};
        w->depth[l] = (float)walk_depth(&own);
        w->numbers[l] = own.state;
    }
}

/* The next rays of the batch come to stand at the start. */
APART void start(struct feed *feed) {
    const struct ray_batch *in = feed->in;
    struct wave *w = feed->stands[0];
    const int left = in->count - feed->next;
    w->count = left < WAVE_START ? left : WAVE_START;
    for (int i = 0; i < w->count; i += WIDE) {
        const int from = feed->next + i;
        store(w->x + i, load(in->x + from));
        store(w->y + i, load(in->y + from));
        store(w->z + i, load(in->z + from));
        store(w->dx + i, load(in->dx + from));
        store(w->dy + i, load(in->dy + from));
        store(w->dz + i, load(in->dz + from));
        store(w->q + i, all(0.0f));
        store(w->u + i, all(0.0f));
        store(w->v + i, all(0.0f));
        store(w->centre + i, all(0.0f));
        store_i(w->numbers + i, (lanes_i)pcg32_lanes_next(&feed->random));
        if (feed->optic->absorbs)
            draw_depths(w, i);
    }
    feed->next += w->count;
}

/* Those of the vector at k of one wave, behind the others of another. */
INLINE void put(struct wave *to, const struct wave *from, int k, unsigned which, bool absorbs) {
    enum { DEPTH = WAVE_COLUMNS - 1 };
    const float *source = &from->columns[0][0] + k;
    float *target = &to->columns[0][0] + to->count;
    const struct squeeze s = squeeze_make(which);
    to->count += __builtin_popcount(which);
#pragma GCC unroll 16
    for (int c = 0; c < DEPTH; c++)
        squeeze(s, load(source + c * WAVE_ROOM), target + c * WAVE_ROOM);
    if (absorbs)
        squeeze(s, load(source + DEPTH * WAVE_ROOM), target + DEPTH * WAVE_ROOM);
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

/* Out of the optic. */
INLINE void leave(struct feed *feed, const struct wave *w, int k, unsigned which) {
    struct ray_batch *out = feed->out;
    const struct squeeze s = squeeze_make(which);
    const int to = out->count;
    const float end = (float)feed->optic->optic->end_mm;
    const float *columns[] = {w->x + k, w->y + k, w->z + k, w->dx + k, w->dy + k, w->dz + k};
    float *targets[] = {out->x + to, out->y + to, out->z + to, out->dx + to, out->dy + to, out->dz + to};
    out->count += __builtin_popcount(which);
#pragma GCC unroll 6
    for (int c = 0; c < 6; c++)
        squeeze(s, load(columns[c]) - all(c == 2 ? end : 0.0f), targets[c]);
}

/* ---- those that go on alone --------------------------------------------------------------------------------------
 */

/* A path takes the reference of the wave; it keeps its own, or none, where it goes through the centre. */
static void refer_to_last(struct path *path, const struct wave *w, int i) {
    const double from_centre[3] = {w->x[i], w->y[i], (double)w->z[i] - (double)w->centre[i]};
    double s[3];
    cross3(path->direction, from_centre, s);
    const double per_length = 1 / sqrt(dot3(s, s));
    for (int k = 0; k < 3 && isfinite(per_length); k++)
        path->reference[k] = s[k] * per_length;
}

static struct walk walk_of(const struct wave *w, int i, const struct wave_stand *stand, const struct feed *feed) {
    const struct wave_optic *optic = feed->optic;
    const struct wave_patch *on = stand->place < 0 ? NULL : &optic->rooms[stand->room].patches[stand->place];
    struct walk walk = {.optic = optic->optic,
                        .path = {.at_mm = {w->x[i], w->y[i], w->z[i]},
                                 .direction = {w->dx[i], w->dy[i], w->dz[i]},
                                 .q = w->q[i],
                                 .u = w->u[i],
                                 .v = w->v[i]},
                        .numbers = {w->numbers[i]},
                        .material = stand->room,
                        .patch = on ? on->index : -1,
                        .above = on && !on->rising,
                        .segments = feed->steps,
                        .depth = optic->absorbs ? w->depth[i] : INFINITY,
                        .slack_mm = 4.0 * optic->slack};
    refer_to_last(&walk.path, w, i);
    walk_true(&walk);
    return walk;
}

/* The rest of the way in double, from where the last surface was met. */
static void go_alone(const struct wave *w, int i, const struct wave_stand *stand, struct feed *feed) {
    struct walk walk = walk_of(w, i, stand, feed);
    struct optic_outcome end;
    walk_to_end(&walk, &end);
    feed->fates->segments += (uint64_t)(end.segments - feed->steps - 1);
    if (end.fate == OPTIC_EXIT)
        leave_alone(feed, end.end.at_mm, end.end.direction);
    else if (end.fate == OPTIC_ABSORBED)
        feed->fates->loss[end.loss]++;
    else if (end.fate == OPTIC_LOST)
        feed->fates->lost++;
    else
        feed->fates->abandoned++;
}

/* A ray of the deeds comes to stand among others, as a walk has left it. */
static void come_back(struct wave *to, const struct wave *from, int i, const struct walk *walk) {
    const struct path *path = &walk->path;
    const double *d = path->direction;
    const int k = to->count++;
    struct path told = *path;
    double across[3];
    refer_to_last(&told, from, i);
    cross3(d, path->reference, across);
    double x = dot3(told.reference, path->reference), y = dot3(told.reference, across), unit = 1 / (x * x + y * y);
    double cosine = (x * x - y * y) * unit, sine = 2 * x * y * unit;
    for (int c = 0; c < WAVE_COLUMNS; c++)
        to->columns[c][k] = from->columns[c][i];
    to->dx[k] = (float)d[0];
    to->dy[k] = (float)d[1];
    to->dz[k] = (float)d[2];
    to->q[k] = (float)(path->q * cosine + path->u * sine);
    to->u[k] = (float)(path->u * cosine - path->q * sine);
    to->v[k] = (float)path->v;
    to->numbers[k] = walk->numbers.state;
}

/* What a patch does with a ray that the wave has brought there, in double. */
static void do_deed(const struct wave *w, int i, const struct wave_stand *stand, struct feed *feed) {
    const struct wave_optic *optic = feed->optic;
    const struct wave_patch *seen = &optic->rooms[stand->room].patches[feed->space->deed_places[i]];
    const struct patch *patch = &optic->optic->patches[seen->index];
    struct walk walk = walk_of(w, i, stand, feed);
    walk_reach(&walk, seen->index, 0, seen->rising);
    if (!walk_meet(&walk, patch)) {
        feed->fates->loss[patch->loss]++;
        return;
    }
    bool back = walk.above == !seen->rising;
    if (!back && seen->outside && w->z[i] >= optic->top && walk.path.direction[2] > 0) {
        leave_alone(feed, walk.path.at_mm, walk.path.direction);
        feed->left++;
    } else {
        come_back(feed->stands[back ? seen->back : seen->on], w, i, &walk);
    }
}

/* ---- a step ------------------------------------------------------------------------------------------------------
 */

static unsigned first_of(int count) {
    return count < WIDE ? (1u << count) - 1 : (1u << WIDE) - 1;
}

/* From the middle of the nearest of the faces. */
INLINE lanes off_nearest(lanes place, const struct wave_source *source, int axis) {
    const float count = source->count[axis];
    lanes number = smaller(positive(place * source->per_pitch[axis] + 0.5f * count), all(count - 0.5f));
    number = __builtin_convertvector(__builtin_convertvector(number, lanes_i), lanes);
    return place - (number - 0.5f * (count - 1.0f)) * source->pitch[axis];
}

INLINE lanes along_row(const float row[3], lanes x, lanes y, lanes z) {
    return row[0] * x + row[1] * y + row[2] * z;
}

/* Which rays of a vector fall upon the source, as source_area_is_met() tells. */
INLINE unsigned come_home(const struct wave_source *source, const struct wave *w, int k) {
    lanes x = load(w->x + k), y = load(w->y + k), z = load(w->z + k), dx = load(w->dx + k), dy = load(w->dy + k),
          dz = load(w->dz + k);
    lanes over = along_row(source->row[2], x, y, z) + source->step[2], rise = along_row(source->row[2], dx, dy, dz);
    lanes t = -over / rise, u, v;
    x += t * dx;
    y += t * dy;
    z += t * dz;
    u = off_nearest(along_row(source->row[0], x, y, z) + source->step[0], source, 0);
    v = off_nearest(along_row(source->row[1], x, y, z) + source->step[1], source, 1);
    return bits(less(rise, all(0.0f)) & at_most(all(0.0f), over) & at_most(size(u), all(source->half[0])) &
                at_most(size(v), all(source->half[1])) & at_most(u * u + v * v, all(source->radius2)));
}

/* Down to the board. */
INLINE void come_down(struct feed *feed, const struct wave *w, int k, unsigned which) {
    unsigned home = which & come_home(&feed->optic->source, w, k);
    feed->fates->loss[LUXFALL_LOSS_SOURCE] += (unsigned)__builtin_popcount(home);
    feed->fates->loss[LUXFALL_LOSS_RETURNED] += (unsigned)__builtin_popcount(which & ~home);
}

/* Rays of a vector that go no further: out, back to the board, or alone. */
static void drop(struct feed *feed, const struct wave_block *block, int i, unsigned dropped, bool open) {
    const int k = block->from + i;
    const lanes_i place = load_i(block->work->place + i);
    unsigned nowhere = dropped & bits(same(place, all_i(WAVE_NOWHERE)));
    if (nowhere && open) {
        unsigned gone = nowhere & bits(less(all(0.0f), load(block->rays->dz + k)));
        if (nowhere & ~gone)
            come_down(feed, block->rays, k, nowhere & ~gone);
        if (gone)
            leave(feed, block->rays, k, gone);
        dropped &= ~nowhere;
    }
    if (dropped)
        put(&feed->space->alone, block->rays, k, dropped, feed->optic->absorbs);
}

/* To their hits. Those that met nothing, or what waves do not know, go no further. */
APART void go(struct feed *feed, const struct wave_block block, float absorption,
              const struct optic_material *material) {
    struct wave *const rays = block.rays;
    for (int i = 0; i < block.count; i += WIDE) {
        const int k = block.from + i;
        const unsigned live = first_of(block.count - i);
        unsigned going = live & bits(less_i(all_i(-1), load_i(block.work->place + i)));
        if (live != going)
            drop(feed, &block, i, live & ~going, material->open);
        go_there(rays, k, positive(load(block.work->t + i)), absorption);
        if (absorption > 0) {
            unsigned absorbed = going & bits(less(load(rays->depth + k), all(0.0f)));
            feed->fates->loss[material->loss] += (unsigned)__builtin_popcount(absorbed);
            going &= ~absorbed;
        }
        block.work->going[i / WIDE] = going;
        store(block.work->per_length + i, per_length_at(&block, i));
    }
}

/* Those whose patch does what the wave does not know are done with one by one. */
APART void set_aside(struct feed *feed, const struct wave_block *block) {
    struct wave_work *work = block->work;
    struct wave *deeds = &feed->space->deeds;
    for (int i = 0; i < block->count; i += WIDE) {
        unsigned which = work->going[i / WIDE] & bits(less(load(work->mirror + i), all(WAVE_LEFT_TO_WALK)));
        if (which == 0)
            continue;
        squeeze(squeeze_make(which), (lanes)load_i(work->place + i), feed->space->deed_places + deeds->count);
        put(deeds, block->rays, block->from + i, which, feed->optic->absorbs);
        work->going[i / WIDE] &= ~which;
    }
}

/* Of those that met one patch `back` come back. Returns those that have left the optic. */
INLINE unsigned part(struct feed *feed, const struct wave *rays, int k, const struct wave_patch *patch,
                     unsigned which, unsigned back, unsigned above) {
    const bool absorbs = feed->optic->absorbs;
    unsigned on = which & ~back, left = patch->outside ? on & above : 0;
    if (which & back)
        put(feed->stands[patch->back], rays, k, which & back, absorbs);
    if (patch->ends)
        feed->fates->loss[feed->optic->optic->patches[patch->index].loss] += (unsigned)__builtin_popcount(on);
    else if (on & ~left)
        put(feed->stands[patch->on], rays, k, on & ~left, absorbs);
    return left;
}

/* To where they stand next. */
APART void send_on(struct feed *feed, const struct wave_block block, const struct wave_room *room) {
    const struct wave_work *const work = block.work;
    const lanes top = all(feed->optic->top);
    for (int i = 0; i < block.count; i += WIDE) {
        const int k = block.from + i;
        const lanes_i place = load_i(work->place + i);
        unsigned above = bits(at_most(top, load(block.rays->z + k)) & less(all(0.0f), load(block.rays->dz + k)));
        unsigned left = 0;
        for (unsigned rest = work->going[i / WIDE], which; rest; rest &= ~which) { /* patch by patch */
            const struct wave_patch *patch = &room->patches[work->place[i + __builtin_ctz(rest)]];
            which = rest & bits(same(place, all_i(patch->place)));
            left |= part(feed, block.rays, k, patch, which, work->back[i / WIDE], above);
        }
        if (left) {
            feed->left += __builtin_popcount(left);
            leave(feed, block.rays, k, left);
        }
    }
}

static void finish_alone(struct feed *feed, const struct wave_stand *stand) {
    for (int i = 0; i < feed->space->deeds.count; i++)
        do_deed(&feed->space->deeds, i, stand, feed);
    feed->space->deeds.count = 0;
    for (int i = 0; i < feed->space->alone.count; i++)
        go_alone(&feed->space->alone, i, stand, feed);
    feed->space->alone.count = 0;
}

static void step_block(struct feed *feed, const struct wave_stand *stand, const struct wave_block *block,
                       bool first) {
    const struct wave_room *room = &feed->optic->rooms[stand->room];
    look_ahead(block, feed->optic, stand);
    go(feed, *block, room->absorption, &feed->optic->optic->materials[stand->room]);
    if (feed->optic->scatters)
        set_aside(feed, block);
    meet(block, first);
    send_on(feed, *block, room);
}

static void step_blocks(struct feed *feed, const struct wave_stand *stand, struct wave *w, bool first) {
    for (int from = 0; from < w->count; from += WAVE_BLOCK) {
        const int left = w->count - from;
        const struct wave_block block = {w, from, left < WAVE_BLOCK ? left : WAVE_BLOCK, &feed->space->work};
        step_block(feed, stand, &block, first);
    }
    finish_alone(feed, stand);
    feed->steps++;
}

/* Rays that stand at one place. Others come to stand there meanwhile. */
static void step(struct feed *feed, int number) {
    const struct wave_stand *stand = &feed->optic->stands[number];
    struct wave *w = feed->stands[number];
    feed->stands[number] = feed->spare;
    feed->fates->segments += (unsigned)w->count;
    if (feed->steps < WAVE_STEPS_MAX)
        step_blocks(feed, stand, w, number == 0);
    else
        for (int i = 0; i < w->count; i++)
            go_alone(w, i, stand, feed);
    w->count = 0;
    feed->spare = w;
}

static int fullest(const struct feed *feed, int *on_their_way) {
    int best = 0;
    *on_their_way = 0;
    for (int s = 0; s < feed->optic->stand_count; s++) {
        *on_their_way += feed->stands[s]->count;
        if (feed->stands[s]->count > feed->stands[best]->count)
            best = s;
    }
    return best;
}

void WAVE_TRACE(const struct wave_optic *optic, struct wave_space *space, const struct ray_batch *in,
                struct pcg32 random, struct ray_batch *out, struct wave_fates *fates) {
    struct feed feed = {.optic = optic, .space = space, .in = in, .out = out, .fates = fates};
    int on_their_way = 0, best = 0;
    feed.random = pcg32_lanes_make(random);
    feed.spare = &space->waves[optic->stand_count];
    feed.spare->count = out->count = space->alone.count = space->deeds.count = 0;
    for (int s = 0; s < optic->stand_count; s++) {
        feed.stands[s] = &space->waves[s];
        feed.stands[s]->count = 0;
    }
    do {
        if (feed.next < in->count && on_their_way <= WAVE - WAVE_START) {
            start(&feed);
            best = 0;
        }
        step(&feed, best);
        best = fullest(&feed, &on_their_way);
    } while (on_their_way > 0 || feed.next < in->count);
    fates->exits += (uint64_t)out->count;
    fates->segments += (uint64_t)feed.left; /* their way on */
}
