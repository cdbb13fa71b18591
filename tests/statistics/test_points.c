/* Scrambled low-discrepancy points against random ones: how much less the replicates scatter, on the mineral-sorting
 * ring at 2^22 free rays, 32 replicates each.
 * Owen, Annals of Statistics 25 (1997) 1541: scrambled nets are never much worse than random points and far better
 * for smooth integrands (memory); the ratios wanted here are our own targets. */
#include "statistics/workbench.h"

enum { WIDEST_AVERAGE, CENTRE_DISC, MEASURES };

/* Bands of the two measures for one kind of points. */
static void bands(enum luxfall_points points, uint64_t rays, uint64_t seed, struct luxfall_estimate out[MEASURES]) {
    struct bench b;
    bench_sorting_ring(&b, 24.0, 0.0);
    b.field_count = 0;
    bench_field(&b, 36.0, 27.0)->reading_mm = 10.0;
    struct luxfall_options options = bench_rays(rays, seed);
    options.free_only = true;
    options.points = points;
    struct luxfall_result *result = bench_trace(&b, &options);
    assert_int_equal(result->rays_to_fields, 0);
    assert_int_equal(result->rays_traced, rays);
    out[WIDEST_AVERAGE] = result->planes[0].fields[0].average_lx;
    out[CENTRE_DISC] = result->planes[0].fields[0].centre_lx;
    luxfall_result_free(result);
}

/* Ratio of variances, random over the points asked about. */
static void ratios(enum luxfall_points points, uint64_t rays, double out[MEASURES]) {
    struct luxfall_estimate random[MEASURES], other[MEASURES];
    bands(LUXFALL_RANDOM, rays, 1, random);
    bands(points, rays, 2, other);
    for (int i = 0; i < MEASURES; i++)
        out[i] = pow(random[i].u95 / other[i].u95, 2.0);
}

static void scrambled_points_scatter_less(void **state) {
    (void)state;
    double ratio[MEASURES];
    ratios(LUXFALL_SCRAMBLED, 1 << 22, ratio);
    print_message("variance ratio: average of the widest field %.1f, 10 mm disc at the centre %.1f\n",
                  ratio[WIDEST_AVERAGE], ratio[CENTRE_DISC]);
    assert_true(ratio[WIDEST_AVERAGE] >= 30.0);
    assert_true(ratio[CENTRE_DISC] >= 8.0);
}

/* The twin: random points under another seed gain nothing (fewer of them will do to see it). */
static void random_points_gain_nothing(void **state) {
    (void)state;
    double ratio[MEASURES];
    ratios(LUXFALL_RANDOM, 1 << 18, ratio);
    assert_false(ratio[WIDEST_AVERAGE] >= 30.0);
    assert_false(ratio[CENTRE_DISC] >= 8.0);
}

int main(void) {
    const struct CMUnitTest tests[] = {cmocka_unit_test(scrambled_points_scatter_less),
                                       cmocka_unit_test(random_points_gain_nothing)};
    return cmocka_run_group_tests(tests, NULL, NULL);
}
