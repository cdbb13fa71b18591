/* The ledger of every traced lens, whatever its kind, sizes, covers, emitter, faults of assembly and pose: what is
 * emitted is found again in whole quanta, all causes of loss together are what is absorbed, and fewer than one ray in
 * a million is abandoned. By definition, no source is wanted. LUXFALL_SCENES optics (default 2000; 1000000 in the
 * long form) of 1024 rays each; LUXFALL_SEED draws others. What goes wrong is told with the number of the first of
 * eight optics: LUXFALL_FIRST=NUMBER LUXFALL_SCENES=8 traces those alone. */
#include "properties/random_optics.h"

static uint64_t first_seed = 20264;
static int first_optic = 0, optics = 2000;
enum { LAMPS = 8, RAYS = 1024 };

/* Half of the dies lie in resin, where they fit. */
static void pack(uint64_t *s, struct luxfall_emitter *e) {
    const double wide = fmax(e->die.width_mm, e->die.height_mm) + (e->columns * e->rows > 1 ? 4 : 0);
    struct luxfall_emitter packed = *e;
    struct luxfall_package *p = &packed.package;
    packed.intensity = (struct luxfall_intensity){.kind = LUXFALL_COSINE, .viewing_angle_rad = 120 * DEG};
    p->material = random_material(s);
    p->bottom = draw_between(s, 0, 1);
    if (draw_once_in(s, 2)) {
        p->floor_mm = 1.5 * wide + 0.1;
        p->opening_mm = p->floor_mm * (draw_once_in(s, 3) ? 1 : draw_between(s, 1, 2));
        p->depth_mm = draw_between(s, 0.1, 1);
        p->wall = draw_between(s, 0, 1);
        p->wall_mirror = draw_once_in(s, 2);
    }
    if (p->depth_mm == 0 || draw_once_in(s, 2)) {
        p->dome_mm = p->depth_mm > 0 ? p->opening_mm * draw_between(s, 1, 1.5) : 1.6 * wide + 0.1;
        p->dome_height_mm = p->depth_mm + p->dome_mm * draw_between(s, 0.2, 0.8);
    }
    p->die_x_mm = draw_once_in(s, 2) ? draw_between(s, -0.2, 0.2) : 0;
    p->die_height_mm = draw_between(s, 0, 0.2);
    p->die_lean_rad = draw_once_in(s, 2) ? draw_between(s, 0, 3) * DEG : 0;
    p->die_lean_azimuth_rad = draw_between(s, 0, 360) * DEG;
    if (draw_once_in(s, 2) && luxfall_package_check(&packed, NULL) == LUXFALL_OK)
        *e = packed;
}

/* Dies that may be wide against the lens: much of their light misses it. */
static struct luxfall_emitter random_emitter(uint64_t *s) {
    static const double angles[] = {0, 20 * DEG, 45 * DEG, 75 * DEG}, relative[] = {0.8, 1.0, 0.7, 0.0};
    double width = draw_between(s, 0.1, 3);
    struct luxfall_face die = draw_once_in(s, 3)   ? disc_face(width)
                              : draw_once_in(s, 2) ? oblong_face(width, draw_between(s, 0.1, 3))
                                                   : point_face();
    struct luxfall_emitter e = cosine_emitter(die, draw_between(s, 20, 900), draw_between(s, 0.5, 8));
    if (draw_once_in(s, 4))
        e.intensity = (struct luxfall_intensity){
            .kind = LUXFALL_CURVE, .curve_count = 4, .curve_angle_rad = angles, .curve_relative = relative};
    if (draw_once_in(s, 4)) {
        e.columns = 1 + draw_of(s, 2);
        e.rows = 1 + draw_of(s, 2);
        e.pitch_x_mm = e.pitch_y_mm = draw_between(s, 3, 4);
    }
    pack(s, &e);
    return e;
}

static struct luxfall_assembly random_assembly(uint64_t *s) {
    struct luxfall_assembly a = {0};
    if (draw_once_in(s, 2))
        return a;
    a.die_x_mm = draw_between(s, -0.5, 0.5);
    a.die_y_mm = draw_between(s, -0.5, 0.5);
    a.seat_mm = draw_between(s, -0.3, 1);
    a.decentre_x_mm = draw_between(s, -0.5, 0.5);
    a.lean_rad = draw_once_in(s, 2) ? draw_between(s, 0, 20) * DEG : 0;
    a.lean_azimuth_rad = draw_between(s, 0, 360) * DEG;
    return a;
}

/* What all lamps of a scene may stand under. */
enum { COVERS = 3 };
struct stage_set {
    struct bench bench;
    struct luxfall_cover covers[COVERS];
};

/* One more lamp over the map, far or near, upright or leaning; true: it can be put together. */
static bool random_lamp(uint64_t *s, int number, struct stage_set *set) {
    struct bench *b = &set->bench;
    struct luxfall_vec at = {draw_between(s, -50, 50), draw_between(s, -50, 50), draw_between(s, 60, 300)};
    struct luxfall_vec axis = {draw_between(s, -0.7, 0.7), draw_between(s, -0.7, 0.7), -1};
    struct bench before = *b;
    size_t lens = bench_lens(b, random_optic(s, number)), emitter = bench_emitter(b, random_emitter(s));
    struct luxfall_module *module = bench_pose(b, pose_looking(at, axis), emitter, lens);
    module->scale = draw_between(s, 0.2, 2);
    module->built = random_assembly(s);
    for (size_t i = 0; i < COVERS; i++)
        if (draw_once_in(s, 6))
            module->covers[module->cover_count++] = i;
    if (luxfall_assembly_check(&b->emitters[emitter], &b->lenses[lens], &module->built, NULL) == LUXFALL_OK)
        return true;
    *b = before;
    return false;
}

/* Lamps first .. first + LAMPS - 1, and their lumens. */
static double random_lamps(int first, struct stage_set *set) {
    struct bench *b = &set->bench;
    double lumens = 0;
    uint64_t covers = ~first_seed * 1000003u + (uint64_t)first;
    *b = (struct bench){0};
    for (int i = 0; i < COVERS; i++)
        set->covers[i] = random_cover(&covers, draw_between(&covers, 5, 30));
    bench_map(b, 160, 160, 40);
    for (int i = 0; i < LAMPS; i++) {
        uint64_t s = first_seed * 1000003u + (uint64_t)(first + i);
        while (!random_lamp(&s, first + i, set))
            ;
        lumens += b->emitters[i].flux_lm * b->modules[i].scale;
    }
    return lumens;
}

static struct luxfall_result *traced(const struct stage_set *set, const struct luxfall_options *options) {
    struct luxfall_scene scene = bench_scene(&set->bench);
    struct luxfall_result *result = NULL;
    struct luxfall_error error = {0};
    scene.covers = set->covers;
    scene.cover_count = COVERS;
    if (luxfall_trace(&scene, options, &result, &error) != LUXFALL_OK)
        fail_msg("tracing: %s", error.text);
    return result;
}

/* ---- the ledger (definition) ---- */

static double losses_lm(const struct luxfall_ledger *l) {
    double sum = 0;
    for (int i = 0; i < LUXFALL_LOSS_COUNT; i++)
        sum += l->loss_lm[i].value;
    return sum;
}

static bool ledger_closes(const struct luxfall_ledger *l, double emitted_lm) {
    uint64_t sum = l->on_map_quanta + l->off_map_quanta + l->absorbed_quanta + l->abandoned_quanta;
    double lumens = l->on_map_lm.value + l->off_map_lm.value + l->absorbed_lm.value + l->abandoned_lm.value;
    return l->emitted_quanta > 0 && sum == l->emitted_quanta &&
           fabs(lumens - l->emitted_lm.value) <= 1e-12 * lumens &&
           fabs(l->emitted_lm.value - emitted_lm) <= 2e-6 * emitted_lm && /* a ray carries whole quanta */
           fabs(losses_lm(l) - l->absorbed_lm.value) <= 1e-12 * lumens;
}

/* What covers absorb is all that is told under the two causes of theirs. */
static bool covers_add_up(const struct luxfall_plane_result *plane, int count) {
    double sum = 0,
           told = plane->ledger.loss_lm[LUXFALL_LOSS_COVER].value + plane->ledger.loss_lm[LUXFALL_LOSS_STOP].value;
    for (int i = 0; i < count; i++)
        sum += plane->cover_lm[i].value;
    return fabs(sum - told) <= 1e-12 * plane->ledger.emitted_lm.value;
}

/* Twins: a quantum told twice; light of one cause left out, where there is any; what leaves told as lost. */
static int twins_caught(const struct luxfall_ledger *l, double emitted_lm) {
    struct luxfall_ledger twice = *l, without = *l, other = *l;
    int worst = 0;
    twice.absorbed_quanta++;
    for (int i = 1; i < LUXFALL_LOSS_COUNT; i++)
        worst = l->loss_lm[i].value > l->loss_lm[worst].value ? i : worst;
    without.loss_lm[worst].value = 0;
    other.absorbed_lm.value += l->on_map_lm.value + l->off_map_lm.value;
    return !ledger_closes(&twice, emitted_lm) + !ledger_closes(&without, emitted_lm) +
           !ledger_closes(&other, emitted_lm);
}

static void every_quantum_is_found_again(void **state) {
    (void)state;
    double rays = 0, abandoned = 0;
    int scenes = 0, caught = 0, left_out = 0;
    print_message("optics of seed %llu\n", (unsigned long long)first_seed);
    for (int n = first_optic; n < first_optic + optics; n += LAMPS, scenes++) {
        static struct stage_set set;
        double lumens = random_lamps(n, &set);
        struct luxfall_options options = bench_rays(LAMPS * RAYS, 5 + (uint64_t)n);
        options.vectors = n / LAMPS % 2 ? LUXFALL_VECTORS_PLAIN : LUXFALL_VECTORS_BEST;
        options.threads = 1; /* so few rays */
        struct luxfall_result *result = traced(&set, &options);
        const struct luxfall_ledger *l = &result->planes[0].ledger;
        if (!ledger_closes(l, lumens) || !covers_add_up(result->planes, COVERS))
            fail_msg("optics %d on of seed %llu: the ledger of %.9g lm does not close", n,
                     (unsigned long long)first_seed, lumens);
        double share = (double)l->abandoned_quanta / (double)l->emitted_quanta;
        if (share > 0)
            print_message("optics %d on abandon %.2g of their light\n", n, share);
        caught += twins_caught(l, lumens);
        left_out += !covers_add_up(result->planes, COVERS - 1); /* twin: the last cover's left out */
        rays += (double)result->rays_traced;
        abandoned += (double)result->rays_traced * share;
        luxfall_result_free(result);
    }
    print_message("%.4g rays\n", rays);
    assert_int_equal(caught, 3 * scenes);
    assert_true(left_out > 0);
    assert_true(abandoned <= 1e-6 * rays);
}

int main(void) {
    const struct CMUnitTest tests[] = {cmocka_unit_test(every_quantum_is_found_again)};
    const char *seed = getenv("LUXFALL_SEED"), *first = getenv("LUXFALL_FIRST"), *count = getenv("LUXFALL_SCENES");
    if (seed)
        first_seed = strtoull(seed, NULL, 10);
    if (first)
        first_optic = (int)strtol(first, NULL, 10);
    if (count)
        optics = (int)strtol(count, NULL, 10);
    return cmocka_run_group_tests(tests, NULL, NULL);
}
