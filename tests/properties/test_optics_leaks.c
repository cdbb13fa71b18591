/* What must hold of every ray through every optic, whatever its numbers: it does not slip between two patches, it
 * does not meet the place again that it has just left, and it has one end; a wave of rays does what single rays do,
 * and all vector widths give the same bits. By definition, no source is wanted: counts of zero.
 *
 * LUXFALL_SCENES optics (default 570, some 1e7 rays; 170000 in the long form, 3e9 rays) of up to 32 batches of 1024
 * rays. The last three of each optic also go alone, in double: rays of the die like all others, rays aimed at edges
 * where patches meet, and rays that close in on one between two that go different ways. LUXFALL_SEED draws others,
 * LUXFALL_FIRST begins with a later optic. Each ray has a number, which is told of every one that goes wrong:
 * LUXFALL_RAY=NUMBER follows it alone. */
#include "lenses/cover.h"
#include "lenses/solid.h"
#include "lenses/vector3.h"
#include "properties/random_optics.h"
#include "tracing/kernels.h"

enum { BATCH_RAYS = 1024, BATCHES = 32, FIRST_ALONE = 22 };
enum { OF_DIE = BATCHES - 3, AT_EDGES, BETWEEN }; /* the last batches: also in double */
enum { USUAL_SEED = 4 };
static uint64_t seed = USUAL_SEED;

/* ---- optics (definition) ---- */

static struct patch side(struct patch patch, int down, int up, double radius_mm, double z1_mm, double z2_mm) {
    patch.down = down;
    patch.up = up;
    patch.radius_high_mm = radius_mm;
    patch.z_low_mm = fmin(z1_mm, z2_mm);
    patch.z_high_mm = fmax(z1_mm, z2_mm);
    return patch;
}

/* Two conics and a clear rim: light may leave and enter everywhere. */
static void clear_lens(uint64_t *s, struct optic *out) {
    double radius = draw_between(s, 2, 15), gap = draw_between(s, 0.2, 5), sags[2], thickness;
    double curvatures[2], conics[2];
    for (int i = 0; i < 2; i++) {
        curvatures[i] = draw_between(s, -0.9, 0.9) / radius;
        conics[i] = draw_between(s, -3, 0.2);
        sags[i] = conic_sag(curvatures[i], conics[i], 0, NULL, radius);
    }
    thickness = fmax(0, sags[0] - sags[1]) + fmax(0, sags[0]) + fmax(0, -sags[1]) + draw_between(s, 0.01, 6);
    gap += fmax(0, -sags[0]);
    optic_clear(out);
    out->material_count = 2;
    out->end_mm = gap + thickness;
    out->size_mm = 2 * radius + gap + thickness;
    out->materials[0] = (struct optic_material){1, 0, true, 0};
    out->materials[1] = (struct optic_material){draw_between(s, 1.3, 1.9), 0, false, 0};
    double back = gap + thickness;
    out->patches[0] = side(patch_conic(gap, curvatures[0], conics[0]), 0, 1, radius, gap, gap + sags[0]);
    out->patches[1] = side(patch_conic(back, curvatures[1], conics[1]), 1, 0, radius, back, back + sags[1]);
    out->patches[2] = side(patch_cylinder(radius), 1, 0, radius * 1.01, gap + sags[0], back + sags[1]);
    out->patch_count = 3;
}

struct subject {
    uint64_t number;
    struct luxfall_lens lens; /* the optic points into both */
    struct luxfall_cover covers[2];
    struct optic optic;
    struct wave_optic wave;
    double die_mm;
    int first_batch; /* later where much goes on alone, which is slow */
};

static int first_batch(const struct optic *optic) {
    for (int i = 0; i < optic->patch_count; i++) {
        const struct patch *p = &optic->patches[i];
        if (p->kind == PATCH_FACETS || p->kind == PATCH_WALL || p->kind == PATCH_LENSLETS || p->mirror ||
            p->deed == PATCH_FROSTED || p->deed == PATCH_FILM || p->deed == PATCH_LAMBERTIAN)
            return FIRST_ALONE;
    }
    return 0;
}

/* Over every fourth of them one, over every eighth two. */
static void add_covers(struct subject *subject) {
    uint64_t s = ~seed * 1000003 + ~subject->number;
    for (int i = 0; i < 2 && subject->number % (uint64_t)(4 << i) == 0; i++) {
        subject->covers[i] = random_cover(&s, 0.5 * subject->optic.size_mm);
        assert_int_equal(cover_add(&subject->covers[i], 1 + i, 0, LUXFALL_WAVELENGTH_UM, &subject->optic, NULL),
                         LUXFALL_OK);
    }
}

/* One kind after the other. */
static void subject_make(uint64_t number, struct subject *out) {
    uint64_t s = seed * 1000003 + number;
    int kind = (int)(number % (RANDOM_KINDS + 1));
    out->number = number;
    if (kind < RANDOM_KINDS) {
        out->lens = random_optic(&s, kind);
        assert_int_equal(solid_optic(&out->lens, LUXFALL_WAVELENGTH_UM, &out->optic, NULL), LUXFALL_OK);
        out->die_mm = 0.1 * luxfall_lens_diameter_mm(&out->lens) * bench_draw(&s);
    } else {
        clear_lens(&s, &out->optic);
        out->die_mm = draw_between(&s, 0.2, 2);
    }
    add_covers(out);
    out->optic.source =
        (struct source_area){.face = {LUXFALL_DISC, out->die_mm, out->die_mm}, .columns = 1, .rows = 1};
    wave_optic_make(&out->optic, &out->wave);
    out->first_batch = first_batch(&out->optic);
}

/* ---- rays (definition) ---- */

struct ray {
    double at_mm[3], direction[3];
};

static struct ray ray_of_die(uint64_t *s, double die_mm) {
    double u = bench_draw(s), around = 2 * BENCH_PI * bench_draw(s);
    return (struct ray){{die_mm * (bench_draw(s) - 0.5), die_mm * (bench_draw(s) - 0.5), 0},
                        {sqrt(u) * cos(around), sqrt(u) * sin(around), sqrt(1 - u)}};
}

static double one_of(uint64_t *s, double a, double b) {
    double one = draw_once_in(s, 2) ? a : b;
    return isfinite(one) ? one : 0;
}

/* A place that is an edge if the two patches that it is taken from meet there. */
static void random_edge(uint64_t *s, const struct optic *optic, double out[3]) {
    const struct patch *p = &optic->patches[draw_of(s, optic->patch_count)],
                       *q = &optic->patches[draw_of(s, optic->patch_count)];
    double radius = one_of(s, p->radius_low_mm, p->radius_high_mm), around = 2 * BENCH_PI * bench_draw(s);
    out[2] = one_of(s, q->z_low_mm, q->z_high_mm);
    if (q->kind == PATCH_QUADRIC && q->a == 0 && q->b == 0)
        out[2] = q->vertex_mm;
    if (p->kind == PATCH_FACETS) {
        const struct profile_point *point = &p->points[draw_of(s, p->point_count)];
        radius = point->radius_mm;
        out[2] = p->vertex_mm + point->z_mm;
    }
    if (draw_once_in(s, 4))
        around = 0.25 * BENCH_PI * draw_of(s, 8);
    out[0] = radius * cos(around);
    out[1] = radius * sin(around);
    if (p->kind == PATCH_WALL) {
        const struct patch_side *side = &p->sides[0];
        double along = p->half_mm * (draw_once_in(s, 2) ? 1 : -1);
        out[0] = side->reach_mm * side->x - along * side->y;
        out[1] = side->reach_mm * side->y + along * side->x;
    }
}

/* Aimed there, but for a ten thousandth of the optic or anything down to rounding. */
static struct ray ray_at_edge(uint64_t *s, const struct subject *subject) {
    struct ray ray = ray_of_die(s, draw_once_in(s, 3) ? 0 : subject->die_mm);
    double to[3], off_mm = subject->optic.size_mm * pow(10, draw_between(s, -17, -4));
    random_edge(s, &subject->optic, to);
    for (int i = 0; i < 3; i++)
        ray.direction[i] = to[i] + off_mm * (bench_draw(s) - 0.5) - ray.at_mm[i];
    double length = sqrt(dot3(ray.direction, ray.direction));
    if (!(length > 0 && ray.direction[2] >= 0))
        return ray_of_die(s, subject->die_mm);
    for (int i = 0; i < 3; i++)
        ray.direction[i] /= length;
    return ray;
}

struct batch {
    uint64_t first;      /* number of its first ray */
    struct pcg32 random; /* at the number that starts that ray's own */
    struct ray rays[BATCH_RAYS];
};

static struct pcg32 stream_of(const struct batch *batch, int ray) {
    struct pcg32 own = batch->random;
    pcg32_jump(&own, (uint64_t)ray);
    return own;
}

static struct ray_numbers numbers_of(const struct batch *batch, int ray) {
    struct pcg32 own = stream_of(batch, ray);
    return (struct ray_numbers){pcg32_next(&own)};
}

/* Which surfaces it meets first: the way as a number. */
static uint64_t way_of(const struct subject *subject, const struct ray *ray, struct ray_numbers numbers, int steps) {
    struct walk walk;
    struct optic_outcome end;
    uint64_t way = 0;
    walk_start(&walk, &subject->optic, ray->at_mm, ray->direction, numbers);
    for (bool goes_on = true; goes_on && steps > 0; steps--) {
        goes_on = walk_step(&walk, &end);
        way = 31 * way + (uint64_t)(2 * walk.patch + walk.above + 3);
    }
    return way;
}

static struct ray half_way(const struct ray *a, const struct ray *b) {
    struct ray ray;
    for (int i = 0; i < 3; i++) {
        ray.at_mm[i] = 0.5 * (a->at_mm[i] + b->at_mm[i]);
        ray.direction[i] = a->direction[i] + b->direction[i];
    }
    double length = sqrt(dot3(ray.direction, ray.direction));
    for (int i = 0; i < 3; i++)
        ray.direction[i] /= length;
    return ray;
}

/* Rays ever nearer to one between two that go different ways: on an edge, a horizon or a critical angle. */
static void approach(uint64_t *s, const struct subject *subject, struct batch *batch, int from, int count) {
    struct ray a = ray_of_die(s, subject->die_mm), b = ray_of_die(s, subject->die_mm);
    const struct ray_numbers numbers = numbers_of(batch, from + count - 1);
    int steps = 1 + draw_of(s, 8);
    uint64_t way = way_of(subject, &a, numbers, steps);
    for (int i = 0; i < count; i++) {
        struct ray between = batch->rays[from + i] = half_way(&a, &b);
        *(way_of(subject, &between, numbers, steps) == way ? &a : &b) = between;
    }
}

enum { HALVINGS = 64 };

static void batch_make(const struct subject *subject, int batch, struct batch *out) {
    uint64_t number = subject->number * BATCHES + (uint64_t)batch, s = ~seed * 1000003 + number;
    out->first = number * BATCH_RAYS;
    out->random = pcg32_seed(seed, number);
    for (int i = 0; i < BATCH_RAYS; i++)
        if (batch == BETWEEN && i % HALVINGS == 0)
            approach(&s, subject, out, i, HALVINGS);
        else if (batch < BETWEEN)
            out->rays[i] = batch == AT_EDGES ? ray_at_edge(&s, subject) : ray_of_die(&s, subject->die_mm);
}

/* ---- the wave ---- */

static wave_trace *widest(void) {
    return kernels_choose(LUXFALL_VECTORS_BEST)->follow;
}

static struct wave_space *space_make(void) {
    struct wave_space *space = aligned_alloc(64, sizeof *space);
    assert_non_null(space);
    memset(space, 0, sizeof *space);
    return space;
}

/* Rays from .. to - 1 of a batch. */
static void wave_rays(wave_trace *trace, const struct subject *subject, const struct batch *batch, int from, int to,
                      struct wave_space *space, struct ray_batch *out, struct wave_fates *fates) {
    static struct ray_batch in;
    for (int i = from; i < to; i++) {
        const struct ray *ray = &batch->rays[i];
        in.x[i - from] = (float)ray->at_mm[0];
        in.y[i - from] = (float)ray->at_mm[1];
        in.z[i - from] = (float)ray->at_mm[2];
        in.dx[i - from] = (float)ray->direction[0];
        in.dy[i - from] = (float)ray->direction[1];
        in.dz[i - from] = (float)ray->direction[2];
    }
    in.count = to - from;
    trace(&subject->wave, space, &in, stream_of(batch, from), out, fates);
}

static bool same_rays(const struct ray_batch *a, const struct ray_batch *b) {
    const float *of_a[] = {a->x, a->y, a->z, a->dx, a->dy, a->dz}, *of_b[] = {b->x, b->y, b->z, b->dx, b->dy, b->dz};
    bool same = a->count == b->count;
    for (int i = 0; same && i < 6; i++)
        same = memcmp(of_a[i], of_b[i], (size_t)a->count * sizeof(float)) == 0;
    return same;
}

static bool same_in_all_widths(const struct subject *subject, const struct batch *batch, struct wave_space *space,
                               const struct ray_batch *wide) {
    static struct ray_batch plain;
    struct wave_fates fates = {0};
    wave_rays(wave_trace_plain, subject, batch, 0, BATCH_RAYS, space, &plain, &fates);
    return same_rays(wide, &plain);
}

/* ---- single rays ---- */

/* The ray meets what it stands on again, no farther away than rounding is. Pieces of a profile and cells meet in
 * edges, where two meetings may be that close. */
static bool hits_itself(const struct walk *walk, int patch, const double from_mm[3]) {
    double way[3];
    along3(walk->path.at_mm, -1, from_mm, way);
    return walk->patch == patch && patch >= 0 && walk->optic->patches[patch].kind != PATCH_FACETS &&
           walk->optic->patches[patch].kind != PATCH_LENSLETS && dot3(way, way) < pow(1e-9 * walk->optic->size_mm, 2);
}

static void tell_place(const struct walk *walk) {
    const double *at = walk->path.at_mm, *d = walk->path.direction;
    print_message("patch %2d, material %d: (%.17g, %.17g, %.17g) on to (%.17g, %.17g, %.17g)\n", walk->patch,
                  walk->material, at[0], at[1], at[2], d[0], d[1], d[2]);
}

/* To its end; how often it hits itself. */
static int follow(const struct subject *subject, const struct batch *batch, int ray, bool told,
                  struct optic_outcome *out) {
    struct walk walk;
    int hits = 0;
    bool goes_on = true;
    walk_start(&walk, &subject->optic, batch->rays[ray].at_mm, batch->rays[ray].direction, numbers_of(batch, ray));
    while (goes_on) {
        int patch = walk.patch;
        double from_mm[3];
        memcpy(from_mm, walk.path.at_mm, sizeof from_mm);
        if (told)
            tell_place(&walk);
        goes_on = walk_step(&walk, out);
        hits += goes_on && hits_itself(&walk, patch, from_mm);
    }
    return hits;
}

static void count_fate(const struct optic_outcome *end, struct wave_fates *fates) {
    if (end->fate == OPTIC_EXIT)
        fates->exits++;
    else if (end->fate == OPTIC_ABSORBED)
        fates->loss[end->loss]++;
    else if (end->fate == OPTIC_LOST)
        fates->lost++;
    else
        fates->abandoned++;
}

/* ---- all of them ---- */

struct tally {
    struct wave_fates waved, beside, walked;   /* beside: the wave, of the rays that were also walked */
    struct wave_fates waved_hard, walked_hard; /* of those aimed at edges, or between ways */
    uint64_t hits, parted;
};

static uint64_t ends(const struct wave_fates *fates) {
    uint64_t sum = fates->exits + fates->abandoned + fates->lost;
    for (int i = 0; i < OPTIC_LOSSES; i++)
        sum += fates->loss[i];
    return sum;
}

static void tell(uint64_t ray, const char *what) {
    print_message("seed %llu, ray %llu %s\n", (unsigned long long)seed, (unsigned long long)ray, what);
}

/* Which ray of a batch it was. */
static void tell_waved(const struct subject *subject, const struct batch *batch, struct wave_space *space) {
    static struct ray_batch wide, plain;
    print_message("seed %llu, optic %llu, rays from %llu on:\n", (unsigned long long)seed,
                  (unsigned long long)subject->number, (unsigned long long)batch->first);
    for (int i = 0; i < BATCH_RAYS; i++) {
        struct wave_fates one = {0}, other = {0};
        wave_rays(widest(), subject, batch, i, i + 1, space, &wide, &one);
        wave_rays(wave_trace_plain, subject, batch, i, i + 1, space, &plain, &other);
        if (one.lost > 0)
            tell(batch->first + (uint64_t)i, "is lost by the wave");
        if (!same_rays(&wide, &plain))
            tell(batch->first + (uint64_t)i, "depends on the vector width");
    }
}

/* Whether all went well. */
static bool wave_batch(const struct subject *subject, const struct batch *batch, struct wave_space *space,
                       bool in_all_widths, struct wave_fates *fates) {
    static struct ray_batch out;
    uint64_t lost = fates->lost;
    wave_rays(widest(), subject, batch, 0, BATCH_RAYS, space, &out, fates);
    bool same = !in_all_widths || same_in_all_widths(subject, batch, space, &out);
    if (!same || fates->lost > lost)
        tell_waved(subject, batch, space);
    return same;
}

static int walk_batch(const struct subject *subject, const struct batch *batch, struct wave_fates *fates) {
    int all = 0;
    for (int i = 0; i < BATCH_RAYS; i++) {
        struct optic_outcome end;
        int hits = follow(subject, batch, i, false, &end);
        count_fate(&end, fates);
        all += hits;
        if (hits > 0)
            tell(batch->first + (uint64_t)i, "hits itself");
        if (end.fate == OPTIC_LOST)
            tell(batch->first + (uint64_t)i, "is lost alone");
    }
    return all;
}

static void check_subject(const struct subject *subject, struct wave_space *space, struct tally *tally) {
    static struct batch batch;
    for (int b = subject->first_batch; b < BATCHES; b++) {
        struct wave_fates *waved = b < OF_DIE ? &tally->waved : b == OF_DIE ? &tally->beside : &tally->waved_hard;
        batch_make(subject, b, &batch);
        tally->parted += !wave_batch(subject, &batch, space, b >= OF_DIE, waved);
        if (b >= OF_DIE)
            tally->hits += (uint64_t)walk_batch(subject, &batch, b == OF_DIE ? &tally->walked : &tally->walked_hard);
    }
}

/* The same rays with the same chances: they part only where single precision decides otherwise. */
static void wave_does_as_single_rays(const struct tally *tally) {
    const struct wave_fates *a = &tally->beside, *b = &tally->walked;
    double most = 1e-4 * (double)ends(b) + 4;
    assert_int_equal(ends(a), ends(b));
    assert_true(fabs((double)a->exits - (double)b->exits) < most);
    for (int i = 0; i < OPTIC_LOSSES; i++)
        assert_true(fabs((double)a->loss[i] - (double)b->loss[i]) < most);
}

static uint64_t wanted(const char *name, uint64_t usual) {
    const char *text = getenv(name);
    return text ? strtoull(text, NULL, 10) : usual;
}

static void no_ray_is_lost(void **state) {
    (void)state;
    static struct subject subject;
    struct wave_space *space = space_make();
    struct tally tally = {0};
    uint64_t first = wanted("LUXFALL_FIRST", 0), optics = wanted("LUXFALL_SCENES", 570);
    for (uint64_t i = first; i < first + optics; i++) {
        subject_make(i, &subject);
        check_subject(&subject, space, &tally);
    }
    free(space);
    uint64_t waved = ends(&tally.waved) + ends(&tally.beside), walked = ends(&tally.walked);
    uint64_t lost = tally.waved.lost + tally.beside.lost + tally.walked.lost,
             abandoned = tally.waved.abandoned + tally.beside.abandoned + tally.walked.abandoned;
    print_message(
        "%.4g rays in waves (%s) and %.4g alone: %llu lost, %llu abandoned; %.4g hard ones: %llu lost; %llu hit "
        "themselves\n",
        (double)waved, kernels_choose(LUXFALL_VECTORS_BEST)->name, (double)walked, (unsigned long long)lost,
        (unsigned long long)abandoned, (double)(ends(&tally.waved_hard) + ends(&tally.walked_hard)),
        (unsigned long long)(tally.waved_hard.lost + tally.walked_hard.lost), (unsigned long long)tally.hits);
    assert_true((double)lost <= 1e-9 * (double)(waved + walked));
    assert_true((double)abandoned <= 1e-6 * (double)(waved + walked));
    assert_int_equal(tally.waved_hard.lost + tally.walked_hard.lost, 0);
    assert_int_equal(tally.hits, 0);
    assert_int_equal(tally.parted, 0);
    wave_does_as_single_rays(&tally);
}

/* Optics that the long form has found: of two a batch came out otherwise with another vector width, as the fate of a
 * ray that all others of its vector passed by hung on them, or the last bit of its polarisation; of two rays were
 * lost at borders of their lenslets; of one at an edge, bent to slide along the face outside. */
static void what_went_wrong_does_so_no_more(void **state) {
    (void)state;
    static struct subject subject;
    static const uint64_t found[][2] = {
        {8, 2243}, {2006, 1416}, {2008, 7419}, {3013, 6016}, {4014, 7369}}; /* seed, number */
    struct wave_space *space = space_make();
    struct tally tally = {0};
    for (size_t i = 0; i < sizeof found / sizeof *found; i++) {
        seed = found[i][0];
        subject_make(found[i][1], &subject);
        check_subject(&subject, space, &tally);
    }
    free(space);
    assert_int_equal(tally.parted, 0);
    assert_int_equal(tally.waved_hard.lost + tally.walked_hard.lost, 0);
}

/* Twins: an optic with a gap between its patches loses light, alone and in the wave. */
static void a_gap_is_found(void **state) {
    (void)state;
    static struct subject subject;
    static struct batch batch;
    static struct ray_batch out;
    struct wave_space *space = space_make();
    struct wave_fates waved = {0}, walked = {0};
    seed = USUAL_SEED; /* of twins, whatever was drawn before */
    subject_make(RANDOM_KINDS, &subject);
    struct patch *rim = &subject.optic.patches[2];
    rim->z_low_mm += 0.3 * (rim->z_high_mm - rim->z_low_mm);
    wave_optic_make(&subject.optic, &subject.wave);
    batch_make(&subject, OF_DIE, &batch);
    for (int i = 0; i < BATCH_RAYS; i++) {
        struct optic_outcome end;
        follow(&subject, &batch, i, false, &end);
        count_fate(&end, &walked);
    }
    wave_rays(widest(), &subject, &batch, 0, BATCH_RAYS, space, &out, &waved);
    assert_true(waved.lost > 0 && walked.lost > 0);
    free(space);
}

/* One bit of one ray is seen; so is a ray that meets its patch where it stood. */
static void small_faults_are_found(void **state) {
    (void)state;
    static struct subject subject;
    static struct batch batch;
    static struct ray_batch wide;
    struct wave_space *space = space_make();
    struct wave_fates waved = {0};
    seed = USUAL_SEED; /* of twins, whatever was drawn before */
    subject_make(RANDOM_KINDS, &subject);
    batch_make(&subject, OF_DIE, &batch);
    wave_rays(widest(), &subject, &batch, 0, BATCH_RAYS, space, &wide, &waved);
    assert_true(same_in_all_widths(&subject, &batch, space, &wide));
    wide.dy[wide.count / 2] = nextafterf(wide.dy[wide.count / 2], 2);
    assert_false(same_in_all_widths(&subject, &batch, space, &wide));
    struct walk walk = {.optic = &subject.optic, .path.at_mm = {1, 2, 3}};
    assert_true(hits_itself(&walk, 0, (double[]){1, 2, 3 + 1e-9}));
    assert_false(hits_itself(&walk, 1, (double[]){1, 2, 3 + 1e-9}));
    assert_false(hits_itself(&walk, 0, (double[]){1, 2, 3 + 1e-6}));
    free(space);
}

/* One ray, each place told. */
static void one_ray(void **state) {
    static struct subject subject;
    static struct batch batch;
    static struct ray_batch out, plain;
    uint64_t number = *(const uint64_t *)*state;
    int ray = (int)(number % BATCH_RAYS);
    struct wave_space *space = space_make();
    struct wave_fates waved = {0}, walked = {0}, again = {0};
    struct optic_outcome end;
    subject_make(number / BATCH_RAYS / BATCHES, &subject);
    batch_make(&subject, (int)(number / BATCH_RAYS % BATCHES), &batch);
    for (int i = 0; i < subject.optic.patch_count; i++) {
        const struct patch *p = &subject.optic.patches[i];
        print_message("patch %2d: kind %d, deed %d, down %d, up %d, r %.17g to %.17g mm, z %.17g to %.17g mm\n", i,
                      p->kind, p->deed, p->down, p->up, p->radius_low_mm, p->radius_high_mm, p->z_low_mm,
                      p->z_high_mm);
    }
    int hits = follow(&subject, &batch, ray, true, &end);
    count_fate(&end, &walked);
    wave_rays(widest(), &subject, &batch, ray, ray + 1, space, &out, &waved);
    wave_rays(wave_trace_plain, &subject, &batch, ray, ray + 1, space, &plain, &again);
    print_message("alone: exits %d, lost %d, abandoned %d, hits itself %d times; in the wave: %d, %d, %d%s\n",
                  (int)walked.exits, (int)walked.lost, (int)walked.abandoned, hits, (int)waved.exits, (int)waved.lost,
                  (int)waved.abandoned, same_rays(&out, &plain) ? "" : ", but not in all widths");
    free(space);
}

int main(void) {
    uint64_t none = UINT64_MAX, ray = wanted("LUXFALL_RAY", none);
    const struct CMUnitTest all[] = {cmocka_unit_test(no_ray_is_lost),
                                     cmocka_unit_test(what_went_wrong_does_so_no_more),
                                     cmocka_unit_test(a_gap_is_found), cmocka_unit_test(small_faults_are_found)},
                            one[] = {cmocka_unit_test_prestate(one_ray, &ray)};
    seed = wanted("LUXFALL_SEED", seed);
    return ray == none ? cmocka_run_group_tests(all, NULL, NULL) : cmocka_run_group_tests(one, NULL, NULL);
}
