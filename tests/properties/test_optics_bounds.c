/* No lens makes luminance: whatever its kind and sizes, on the axis it sends at most what a face lit evenly by the
 * die would (flashed aperture; R. Winston, J. C. Minano and P. Benitez, "Nonimaging Optics", 2005, ch. 2, from
 * memory; METHODS eq. (9)). Random lenses of all kinds before random dies; those whose face is not all lit stay
 * below. */
#include "properties/random_optics.h"

enum { LENSES = 8 * RANDOM_KINDS, RAYS = 1 << 15 };

/* Share of the bound that is reached at least; -1: they cannot be put together, or there is no bound. */
static double reached(uint64_t *s, int number) {
    struct bench b = {0};
    struct luxfall_lens lens = random_optic(s, number);
    double die_mm = luxfall_lens_diameter_mm(&lens) * draw_between(s, 0.02, 0.15);
    struct luxfall_options options = bench_rays(RAYS, 3);
    struct luxfall_inspection light;
    bench_map(&b, 100, 100, 50);
    bench_pose(&b, pose_down(0, 0, 100), bench_emitter(&b, cosine_emitter(oblong_face(die_mm, die_mm), 100, 1.0)),
               bench_lens(&b, lens));
    struct luxfall_scene scene = bench_scene(&b);
    if (luxfall_assembly_check(&b.emitters[0], &b.lenses[0], &b.modules[0].built, NULL) != LUXFALL_OK)
        return -1;
    assert_int_equal(luxfall_inspect(&scene, 0, &options, &light, NULL), LUXFALL_OK);
    if (!(light.bound_cd_per_lm > 0))
        return -1;
    return fmax(light.centre_cd.value - 3 * light.centre_cd.u95, 0) / light.flux_lm / light.bound_cd_per_lm;
}

/* Twins: some beat half of the bound, and that of a die under a dome of 1.5, which is none of theirs. */
static void no_lens_makes_luminance(void **state) {
    (void)state;
    double most[RANDOM_KINDS] = {0}, most_of_all = 0;
    uint64_t s = 20265;
    int told = 0;
    for (int i = 0; i < LENSES; i++) {
        double share = reached(&s, i);
        if (share > 1)
            fail_msg("lens %d: %.4f of the bound", i, share);
        told += share >= 0;
        most[i % RANDOM_KINDS] = fmax(most[i % RANDOM_KINDS], share);
        most_of_all = fmax(most_of_all, share);
    }
    for (int k = 0; k < RANDOM_KINDS; k++)
        print_message("kind %d: up to %.3f of the bound\n", k, most[k]);
    assert_true(told > LENSES / 2);
    assert_true(most_of_all > 0.5 && most_of_all > 1 / (1.5 * 1.5));
}

int main(void) {
    const struct CMUnitTest tests[] = {cmocka_unit_test(no_lens_makes_luminance)};
    return cmocka_run_group_tests(tests, NULL, NULL);
}
