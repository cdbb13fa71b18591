/* Do the bands cover what they claim? Many seeds, small ray counts, the direct way as the truth.
 *
 * For n seeds the bands of average and centre must cover as often as an exact 95 % band would but once in 4,400 tests
 * (n = 200: 178 to 199 times). U0 and edge/centre carry the wider band of extremes and may cover always; minimum and
 * maximum must cover at least 86 % of the time (172 of 200). The seeds' mean of minimum, maximum, variation, peak and
 * spot lies within a third of one run's band of the truth.
 * The ring gets all seeds, the other two scenes half of them. The long form: LUXFALL_BAND_SEEDS=2000, or the number
 * as the only argument. */
#include "statistics/workbench.h"

static int seeds = 200;

/* ---- limits -----------------------------------------------------------------------------------------------------
 */

/* The fewest and the most covers of an exact 95 % band that chance leaves inside, each tail below its probability. */
static void cover_limits(int n, int *fewest, int *most) {
    const double log_hit = log(0.95), log_miss = log(0.05), low_tail = 2e-4, high_tail = 4e-5;
    double below = 0.0, above = 0.0;
    int k;
    for (k = 0; k <= n; k++) {
        below += exp(lgamma(n + 1.0) - lgamma(k + 1.0) - lgamma(n - k + 1.0) + k * log_hit + (n - k) * log_miss);
        if (below > low_tail)
            break;
    }
    *fewest = k;
    for (k = n; k >= 0; k--) {
        above += exp(lgamma(n + 1.0) - lgamma(k + 1.0) - lgamma(n - k + 1.0) + k * log_hit + (n - k) * log_miss);
        if (above > high_tail)
            break;
    }
    *most = k;
}

/* ---- tallies ----------------------------------------------------------------------------------------------------
 */

struct tally {
    int covered, covered_nearly, count; /* nearly: within the truth's own error */
    double truth, truth_error, sum, sum_u95;
};

/* The truth has an error of its own, a few parts in ten million, which bands as narrow as these can meet. */
static void tally_add(struct tally *t, struct luxfall_estimate seen, double truth, double relative_error) {
    t->truth = truth;
    t->truth_error = relative_error * fabs(truth);
    t->count++;
    t->covered += fabs(seen.value - truth) <= seen.u95;
    t->covered_nearly += fabs(seen.value - truth) <= seen.u95 + t->truth_error;
    t->sum += seen.value;
    t->sum_u95 += seen.u95;
}

enum { AVERAGE, CENTRE, U0, EDGE, MINIMUM, MAXIMUM, VARIATION, FIELD_TALLIES };
enum { PEAK, SPOT, VISIBLE_EDGE, MAP_TALLIES };
static const char *const FIELD_NAMES[] = {"average", "centre",  "minimum/average", "edge/centre",
                                          "minimum", "maximum", "variation"};
static const char *const MAP_NAMES[] = {"peak", "spot", "visible edge"};

struct tallies {
    struct tally field[BENCH_PARTS][FIELD_TALLIES], map[MAP_TALLIES];
};

static void tallies_add(struct tallies *t, const struct luxfall_result *seen, const struct luxfall_result *truth) {
    const struct luxfall_plane_result *a = &seen->planes[0], *b = &truth->planes[0];
    double error = truth->quadrature_error;
    for (size_t f = 0; f < seen->field_count; f++) {
        const struct luxfall_field_result *s = &a->fields[f], *d = &b->fields[f];
        tally_add(&t->field[f][AVERAGE], s->average_lx, d->average_lx.value, error);
        tally_add(&t->field[f][CENTRE], s->centre_lx, d->centre_lx.value, error);
        tally_add(&t->field[f][U0], s->minimum_over_average, d->minimum_over_average.value, error);
        tally_add(&t->field[f][EDGE], s->edge_over_centre, d->edge_over_centre.value, error);
        tally_add(&t->field[f][MINIMUM], s->minimum_lx, d->minimum_lx.value, error);
        tally_add(&t->field[f][MAXIMUM], s->maximum_lx, d->maximum_lx.value, error);
        tally_add(&t->field[f][VARIATION], s->variation, d->variation.value, error);
    }
    tally_add(&t->map[PEAK], a->peak_lx, b->peak_lx.value, error);
    tally_add(&t->map[SPOT], a->half_peak_diameter_mm, b->half_peak_diameter_mm.value, error);
    tally_add(&t->map[VISIBLE_EDGE], a->tenth_peak_diameter_mm, b->tenth_peak_diameter_mm.value, error);
}

static bool judge(const char *where, const char *name, const struct tally *t, int fewest, int most, bool unbiased) {
    double band = t->sum_u95 / t->count, off = (t->sum / t->count - t->truth) / band;
    bool cover = t->covered_nearly >= fewest && t->covered <= most,
         centred = !unbiased || fabs(off) <= 1.0 / 3.0 + 2.0 * t->truth_error / band;
    if (!cover || !centred || getenv("LUXFALL_BAND_TABLE"))
        print_message("%-22s %-16s covers %d of %d (%d to %d); mean off by %+.3f bands; band %.3g %%%s\n", where,
                      name, t->covered, t->count, fewest, most, off, 100.0 * band / fabs(t->truth),
                      cover && centred ? "" : "  <- fails");
    return cover && centred;
}

static int judge_all(const char *scene, const struct tallies *t, size_t fields) {
    int runs = t->map[PEAK].count, fewest, most, bad = 0, extremes = (int)(0.86 * runs);
    cover_limits(runs, &fewest, &most);
    for (size_t f = 0; f < fields; f++) {
        char where[64];
        snprintf(where, sizeof where, "%s, field %zu", scene, f + 1);
        for (int k = 0; k < FIELD_TALLIES; k++) {
            int low = k < MINIMUM ? fewest : k < VARIATION ? extremes : 0;
            bad += !judge(where, FIELD_NAMES[k], &t->field[f][k], low, k <= CENTRE ? most : runs, k >= MINIMUM);
        }
    }
    for (int k = 0; k < MAP_TALLIES; k++)
        bad += !judge(scene, MAP_NAMES[k], &t->map[k], 0, runs, true);
    return bad;
}

/* ---- scenes -----------------------------------------------------------------------------------------------------
 */

static void ring_scene(struct bench *b) {
    bench_sorting_ring(b, 24.0, 0.0);
}

/* The ring again, with readings wide enough for free rays. */
static void wide_readings_scene(struct bench *b) {
    bench_sorting_ring(b, 24.0, 0.0);
    b->field_count = 0;
    bench_field(b, 36, 27)->reading_mm = 9;
    bench_round_field(b, 40)->reading_mm = 8;
}

/* A bare die leaning over two fields, one of them off the centre. */
static void bare_scene(struct bench *b) {
    struct luxfall_placement lamp = {.kind = LUXFALL_AT_SINGLE, .distance_mm = 60, .incidence_rad = 30 * DEG};
    *b = (struct bench){0};
    bench_map(b, 400, 400, 4);
    bench_place(b, &lamp, bench_emitter(b, cosine_emitter(oblong_face(4, 2), 300, 1.0)), LUXFALL_NO_LENS);
    bench_field(b, 40, 30);
    bench_round_field(b, 20)->x_mm = -25;
}

static struct tallies survey(const struct bench *b, int runs, uint64_t rays, bool free_only) {
    struct tallies t = {0};
    struct luxfall_result *truth = bench_direct(b);
    for (int i = 0; i < runs; i++) {
        struct luxfall_options options = bench_rays(rays, 1000 + (uint64_t)i);
        options.free_only = free_only;
        struct luxfall_result *seen = bench_trace(b, &options);
        tallies_add(&t, seen, truth);
        luxfall_result_free(seen);
    }
    luxfall_result_free(truth);
    return t;
}

static void ring_bands(void **state) {
    (void)state;
    struct bench b;
    ring_scene(&b);
    struct tallies t = survey(&b, seeds, 1 << 16, false);
    assert_int_equal(judge_all("ring", &t, b.field_count), 0);
}

static void ring_bands_from_free_rays(void **state) {
    (void)state;
    struct bench b;
    wide_readings_scene(&b);
    struct tallies t = survey(&b, seeds / 2, 1 << 16, true);
    assert_int_equal(judge_all("ring, free rays", &t, b.field_count), 0);
}

static void bare_emitter_bands(void **state) {
    (void)state;
    struct bench b;
    bare_scene(&b);
    struct tallies t = survey(&b, seeds / 2, 1 << 17, false);
    assert_int_equal(judge_all("bare emitter", &t, b.field_count), 0);
}

/* ---- the twin ---------------------------------------------------------------------------------------------------
 */

/* Bands from hit counts: every landing in the disc taken as an observation of its own. The casts of one bundle to
 * eight placements and eight images land together at the centre, so such a band is several times too narrow. */
static void hit_counts_do_not_cover(void **state) {
    (void)state;
    struct bench b;
    enum { TWINS = 60 };
    int fewest, most, covered = 0;
    wide_readings_scene(&b);
    cover_limits(TWINS, &fewest, &most);
    struct luxfall_result *truth = bench_direct(&b);
    double want = truth->planes[0].fields[0].centre_lx.value, lumens = truth->leaving_lm;
    luxfall_result_free(truth);
    for (int i = 0; i < TWINS; i++) {
        struct luxfall_options options = bench_rays(1 << 14, 5000 + (uint64_t)i);
        options.free_only = true;
        options.points = LUXFALL_RANDOM;
        struct luxfall_result *seen = bench_trace(&b, &options);
        const struct luxfall_field_result *field = &seen->planes[0].fields[0];
        double area_m2 = 0.25e-6 * BENCH_PI * field->reading_mm * field->reading_mm;
        double hits = (double)seen->rays_cast * field->centre_lx.value * area_m2 / lumens;
        covered += fabs(field->centre_lx.value - want) <= 1.96 * field->centre_lx.value / sqrt(hits);
        luxfall_result_free(seen);
    }
    print_message("bands from hit counts cover %d of %d\n", covered, (int)TWINS);
    assert_true(covered < fewest);
}

static void limits_are_as_stated(void **state) {
    (void)state;
    int fewest, most;
    cover_limits(200, &fewest, &most);
    assert_int_equal(fewest, 178);
    assert_int_equal(most, 199);
}

int main(int argc, char **argv) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(limits_are_as_stated),      cmocka_unit_test(ring_bands),
        cmocka_unit_test(ring_bands_from_free_rays), cmocka_unit_test(bare_emitter_bands),
        cmocka_unit_test(hit_counts_do_not_cover),
    };
    const char *wanted = argc > 1 ? argv[1] : getenv("LUXFALL_BAND_SEEDS");
    if (wanted)
        seeds = (int)strtol(wanted, NULL, 10);
    if (seeds < 50) {
        fprintf(stderr, "at least 50 seeds are needed\n");
        return 2;
    }
    return cmocka_run_group_tests(tests, NULL, NULL);
}
