/* The random optics hold every kind of lens, cover, section, patch and deed that there is, so that what is tried on
 * them is tried on all. By definition, no source is wanted. house_kinds sees that `all` leaves none out. */
#include "lenses/cover.h"
#include "lenses/solid.h"
#include "properties/random_optics.h"

enum { OPTICS = 40 * RANDOM_KINDS, NONE = -1 };

/* A bit for each kind that was met. */
struct census {
    unsigned lenses, covers, sections, patches, deeds;
};

#define OF(kind) (1u << (kind))
static const struct census all = {
    .lenses = OF(LUXFALL_LENS_SINGLET) | OF(LUXFALL_LENS_COLLIMATOR) | OF(LUXFALL_LENS_FRESNEL) |
              OF(LUXFALL_LENS_PIPE) | OF(LUXFALL_LENS_REFLECTOR) | OF(LUXFALL_LENS_CONCENTRATOR) |
              OF(LUXFALL_LENS_TURNED),
    .covers = OF(LUXFALL_COVER_WINDOW) | OF(LUXFALL_COVER_FILM) | OF(LUXFALL_COVER_OPAL) | OF(LUXFALL_COVER_STOP),
    .sections = OF(LUXFALL_SECTION_ROUND) | OF(LUXFALL_SECTION_RECTANGLE) | OF(LUXFALL_SECTION_HEXAGON),
    .patches = OF(PATCH_QUADRIC) | OF(PATCH_ASPHERE) | OF(PATCH_FACETS) | OF(PATCH_WALL) | OF(PATCH_LENSLETS) |
               OF(PATCH_PROFILE),
    .deeds = OF(PATCH_CLEAR) | OF(PATCH_MIRROR) | OF(PATCH_STOP) | OF(PATCH_FROSTED) | OF(PATCH_FILM) |
             OF(PATCH_LAMBERTIAN),
};

/* One lens under one cover. */
static void count_one(int number, struct census *census) {
    static struct luxfall_lens lens;
    static struct optic optic;
    uint64_t s = 77 + (uint64_t)number;
    lens = random_optic(&s, number);
    assert_int_equal(solid_optic(&lens, LUXFALL_WAVELENGTH_UM, &optic, NULL), LUXFALL_OK);
    struct luxfall_cover cover = random_cover(&s, luxfall_lens_diameter_mm(&lens));
    assert_int_equal(cover_add(&cover, 0, 0, LUXFALL_WAVELENGTH_UM, &optic, NULL), LUXFALL_OK);
    census->lenses |= OF(lens.kind);
    census->covers |= OF(cover.kind);
    if (lens.kind == LUXFALL_LENS_PIPE)
        census->sections |= OF(lens.pipe.section);
    for (int i = 0; i < optic.patch_count; i++) {
        census->patches |= OF(optic.patches[i].kind);
        census->deeds |= OF(optic.patches[i].deed);
    }
}

/* All random optics but those of one line of the table. */
static struct census census_without(int left_out) {
    struct census census = {0};
    for (int i = 0; i < OPTICS; i++)
        if (i % RANDOM_KINDS != left_out)
            count_one(i, &census);
    return census;
}

static bool is_all(struct census census) {
    return census.lenses == all.lenses && census.covers == all.covers && census.sections == all.sections &&
           census.patches == all.patches && census.deeds == all.deeds;
}

/* Twins: a line of the table left out, of lenses that no other line has. */
static void every_kind_is_among_them(void **state) {
    (void)state;
    struct census census = census_without(NONE);
    print_message("lenses %x, covers %x, sections %x, patches %x, deeds %x\n", census.lenses, census.covers,
                  census.sections, census.patches, census.deeds);
    assert_true(is_all(census));
    for (int i = 0; i < RANDOM_KINDS; i++) {
        uint64_t s = 1;
        if (random_optic(&s, i).kind != LUXFALL_LENS_SINGLET)
            assert_false(is_all(census_without(i)));
    }
}

int main(void) {
    const struct CMUnitTest tests[] = {cmocka_unit_test(every_kind_is_among_them)};
    return cmocka_run_group_tests(tests, NULL, NULL);
}
