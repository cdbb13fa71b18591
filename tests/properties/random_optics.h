/* Random traced lenses of every kind, within what can be made: for properties that must hold of all of them. A kind
 * that lands adds a function and a line to the table. */
#ifndef TESTS_PROPERTIES_RANDOM_OPTICS_H
#define TESTS_PROPERTIES_RANDOM_OPTICS_H

#include "statistics/workbench.h"

static inline double draw_between(uint64_t *s, double low, double high) {
    return low + (high - low) * bench_draw(s);
}

static inline int draw_of(uint64_t *s, int count) {
    return (int)(bench_draw(s) * count);
}

static inline bool draw_once_in(uint64_t *s, int count) {
    return draw_of(s, count) == 0;
}

static inline struct luxfall_material random_material(uint64_t *s) {
    static const char *const names[] = {"acrylic", "polycarbonate", "silicone", "fused silica"};
    struct luxfall_material m = {.kind = LUXFALL_MATERIAL_INDEX, .index = draw_between(s, 1.3, 1.9)};
    if (draw_once_in(s, 3))
        m = (struct luxfall_material){.kind = LUXFALL_MATERIAL_NAMED, .name = names[draw_of(s, 4)]};
    if (draw_once_in(s, 3)) {
        m.transmittance = draw_between(s, 0.5, 1);
        m.transmittance_mm = 10;
    }
    return m;
}

/* Flat, bulging or hollow, of any conic, with powers that move its edge by a twentieth of its half width at most. */
static inline struct luxfall_side random_side(uint64_t *s, double half_mm) {
    struct luxfall_side side = {0};
    if (!draw_once_in(s, 5)) {
        side.radius_mm = half_mm * draw_between(s, 1, 6) * (draw_once_in(s, 3) ? -1 : 1);
        side.conic = draw_once_in(s, 2) ? 0 : draw_between(s, -4, 0);
    }
    side.power_count = draw_once_in(s, 2) ? draw_of(s, 4) : 0;
    for (int i = 0; i < side.power_count; i++)
        side.powers[i] = draw_between(s, -0.05, 0.05) * half_mm / pow(half_mm, 4 + 2 * i);
    return side;
}

static inline void random_singlet(uint64_t *s, struct luxfall_lens *lens) {
    double half = draw_between(s, 1, 15);
    lens->kind = LUXFALL_LENS_SINGLET;
    lens->singlet = (struct luxfall_singlet){.diameter_mm = 2 * half,
                                             .thickness_mm = half * draw_between(s, 0.1, 2.5),
                                             .gap_mm = draw_once_in(s, 4) ? 0.01 : half * draw_between(s, 0, 1.5),
                                             .towards = random_side(s, half),
                                             .away = random_side(s, half),
                                             .holder_open = draw_once_in(s, 2)};
    for (int i = 0, oblong = draw_once_in(s, 4); i < 2 && oblong; i++)
        lens->singlet.body_mm[i] = 2 * half * (draw_once_in(s, 4) ? 1 : draw_between(s, 1, 1.5));
}

static inline void random_ball(uint64_t *s, struct luxfall_lens *lens) {
    double radius = draw_between(s, 1, 10);
    lens->kind = LUXFALL_LENS_SINGLET;
    lens->singlet = (struct luxfall_singlet){.diameter_mm = 2 * radius,
                                             .thickness_mm = 2 * radius,
                                             .gap_mm = draw_between(s, 0, 3),
                                             .towards.radius_mm = radius,
                                             .away.radius_mm = radius,
                                             .holder_open = draw_once_in(s, 2)};
}

static inline void random_collimator(uint64_t *s, struct luxfall_lens *lens) {
    lens->kind = LUXFALL_LENS_COLLIMATOR;
    lens->collimator = (struct luxfall_collimator){.diameter_mm = draw_between(s, 8, 40)};
    if (draw_once_in(s, 2)) {
        lens->collimator.hollow_mm = lens->collimator.diameter_mm * draw_between(s, 0.2, 0.45);
        lens->collimator.middle_mm = lens->collimator.diameter_mm * draw_between(s, 0.15, 0.4);
    }
    luxfall_collimator_usual(lens);
    lens->collimator.texture_rad = draw_once_in(s, 2) ? draw_between(s, 1, 60) * DEG : 0;
    if (lens->collimator.texture_rad > 0 || draw_once_in(s, 2))
        return;
    double pitch = draw_between(s, 0.3, 4);
    lens->collimator.lenslets = (struct luxfall_lenslets){
        pitch, pitch * draw_between(s, 0.8, 5) * (draw_once_in(s, 2) ? -1 : 1), draw_once_in(s, 2)};
}

/* Steps of one size: the last radius is the rim. */
enum { RANDOM_POINTS = 6 };
struct random_profile {
    double radius_mm[RANDOM_POINTS], height_mm[RANDOM_POINTS];
};

static inline struct luxfall_profile random_side_of(uint64_t *s, double rim_mm, double low_mm,
                                                    struct random_profile *out) {
    for (int i = 0; i < RANDOM_POINTS; i++) {
        out->radius_mm[i] = rim_mm * i / (RANDOM_POINTS - 1);
        out->height_mm[i] = low_mm + draw_between(s, 0, 2);
    }
    out->radius_mm[RANDOM_POINTS - 1] = rim_mm;
    return (struct luxfall_profile){RANDOM_POINTS, out->radius_mm, out->height_mm, draw_once_in(s, 2)};
}

/* Points to what the next call overwrites. */
static inline void random_turned(uint64_t *s, struct luxfall_lens *lens) {
    static struct random_profile towards, away;
    double rim = draw_between(s, 4, 15);
    lens->kind = LUXFALL_LENS_TURNED;
    lens->turned = (struct luxfall_turned){.towards = random_side_of(s, rim, 0.5, &towards),
                                           .away = random_side_of(s, rim, 2.6, &away),
                                           .gap_mm = draw_between(s, 0, 3),
                                           .holder_open = draw_once_in(s, 2)};
}

static inline void random_fresnel(uint64_t *s, struct luxfall_lens *lens) {
    lens->kind = LUXFALL_LENS_FRESNEL;
    lens->fresnel = (struct luxfall_fresnel){.diameter_mm = draw_between(s, 10, 60),
                                             .thickness_mm = draw_between(s, 1, 4),
                                             .focal_mm = draw_between(s, 8, 50),
                                             .pitch_mm = draw_between(s, 0.2, 3),
                                             .draft_rad = draw_between(s, 0.01, 0.3),
                                             .gap_mm = draw_between(s, 0.5, 30),
                                             .grooves_towards = draw_once_in(s, 2),
                                             .holder_open = draw_once_in(s, 2)};
}

static inline struct luxfall_mirror random_mirror(uint64_t *s) {
    struct luxfall_mirror mirror = {.count = 1 + draw_of(s, 3), .incidence_rad = {0, 40 * DEG, 90 * DEG}};
    for (int i = 0; i < mirror.count; i++)
        mirror.share[i] = draw_between(s, 0.5, 1);
    return mirror;
}

static inline void random_pipe(uint64_t *s, struct luxfall_lens *lens) {
    double width = draw_between(s, 1, 10);
    lens->kind = LUXFALL_LENS_PIPE;
    lens->pipe = (struct luxfall_pipe){.section = (enum luxfall_section_kind)draw_of(s, 3),
                                       .width_mm = width,
                                       .height_mm = width,
                                       .length_mm = draw_between(s, 2, 40),
                                       .gap_mm = draw_between(s, 0, 2),
                                       .holder_open = draw_once_in(s, 2)};
    if (lens->pipe.section == LUXFALL_SECTION_RECTANGLE)
        lens->pipe.height_mm = draw_between(s, 1, 10);
    if (draw_once_in(s, 2)) {
        lens->pipe.holder_open = false;
        lens->pipe.mirror = random_mirror(s);
    }
}

static inline void random_reflector(uint64_t *s, struct luxfall_lens *lens) {
    double focal = draw_between(s, 1, 10);
    lens->kind = LUXFALL_LENS_REFLECTOR;
    lens->reflector = (struct luxfall_reflector){.opening_mm = focal * draw_between(s, 4, 10),
                                                 .focal_mm = focal,
                                                 .second_focus_mm = draw_once_in(s, 2) ? draw_between(s, 20, 200) : 0,
                                                 .hole_mm = focal * draw_between(s, 0.3, 3),
                                                 .mirror = random_mirror(s)};
}

static inline void random_concentrator(uint64_t *s, struct luxfall_lens *lens) {
    lens->kind = LUXFALL_LENS_CONCENTRATOR;
    lens->concentrator = (struct luxfall_concentrator){
        .small_mm = draw_between(s, 1, 10), .beam_rad = draw_between(s, 10, 160) * DEG, .mirror = random_mirror(s)};
}

static void (*const random_kinds[])(uint64_t *s, struct luxfall_lens *lens) = {
    random_singlet, random_singlet,   random_ball,         random_collimator, random_fresnel,
    random_pipe,    random_reflector, random_concentrator, random_turned};
enum { RANDOM_KINDS = sizeof random_kinds / sizeof *random_kinds };

static inline void random_window(uint64_t *s, struct luxfall_cover *cover) {
    double pitch = draw_between(s, 0.5, 4);
    cover->material = random_material(s);
    cover->thickness_mm = draw_between(s, 0.2, 4);
    if (draw_once_in(s, 3))
        cover->spread_rad = draw_between(s, 1, 40) * DEG;
    else if (draw_once_in(s, 3))
        cover->lenslets = (struct luxfall_lenslets){
            pitch, pitch * draw_between(s, 0.8, 5) * (draw_once_in(s, 2) ? -1 : 1), draw_once_in(s, 2)};
}

/* Of about that size: some are wider than what is under them, some smaller. */
static inline struct luxfall_cover random_cover(uint64_t *s, double across_mm) {
    struct luxfall_cover cover;
    do {
        double size = across_mm * draw_between(s, 0.7, 2);
        cover = (struct luxfall_cover){.name = "cover",
                                       .kind = (enum luxfall_cover_kind)draw_of(s, 4),
                                       .diameter_mm = size,
                                       .gap_mm = draw_once_in(s, 3) ? 0 : draw_between(s, 0, 5)};
        if (cover.kind != LUXFALL_COVER_STOP && draw_once_in(s, 4)) {
            cover.diameter_mm = 0;
            cover.width_mm = size;
            cover.height_mm = size * draw_between(s, 0.3, 1);
        }
        if (cover.kind == LUXFALL_COVER_WINDOW)
            random_window(s, &cover);
        cover.passes =
            cover.kind == LUXFALL_COVER_FILM || cover.kind == LUXFALL_COVER_OPAL ? draw_between(s, 0.2, 0.9) : 0;
        cover.comes_back = 0.95 * (cover.passes > 0 ? 1 - cover.passes : 0) * bench_draw(s);
        if (cover.kind == LUXFALL_COVER_FILM)
            cover.spread_rad = draw_between(s, 1, 60) * DEG;
        if (cover.kind == LUXFALL_COVER_STOP) {
            cover.hole_mm = size * draw_between(s, 0.2, 0.9);
            cover.thickness_mm = draw_once_in(s, 2) ? 0 : draw_between(s, 0, 20);
        }
    } while (luxfall_cover_check(&cover, NULL) != LUXFALL_OK);
    return cover;
}

/* The lens of a number: the kinds take turns; what cannot be made is drawn again. */
static inline struct luxfall_lens random_optic(uint64_t *s, int number) {
    struct luxfall_lens lens;
    do {
        lens = (struct luxfall_lens){.name = "lens", .material = random_material(s)};
        random_kinds[number % RANDOM_KINDS](s, &lens);
    } while (luxfall_lens_check(&lens, NULL) != LUXFALL_OK);
    return lens;
}
#endif
