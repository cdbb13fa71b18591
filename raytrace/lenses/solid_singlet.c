/* A single lens with a ground rim: two sides, each flat, bulging or hollow, METHODS sec. 5. Plano-convex, biconvex,
 * meniscus, ball and aspheric condenser are all of this kind. */
#include "fail.h"
#include "lenses/solid.h"

#include <math.h>

enum { AIR, LENS, LOOKS = 64 };

static double curvature_of(const struct luxfall_side *side) {
    return side->radius_mm == 0 ? 0 : 1 / side->radius_mm;
}

/* How far the side lies behind its vertex, into the lens. */
static double sag_of(const struct luxfall_side *side, double radius_mm) {
    return conic_sag(curvature_of(side), side->conic, side->power_count, side->powers, radius_mm);
}

static enum luxfall_status check_side(const struct luxfall_side *side, double diameter_mm,
                                      struct luxfall_error *error) {
    const double half = diameter_mm / 2, c = curvature_of(side);
    if (!isfinite(side->radius_mm) || !isfinite(side->conic) || side->power_count < 0 ||
        side->power_count > LUXFALL_POWERS_MAX)
        return fail(error, LUXFALL_E_VALUE, 0, "a side of the lens needs a finite radius and conic constant");
    for (int i = 0; i < side->power_count; i++)
        if (!isfinite(side->powers[i]))
            return fail(error, LUXFALL_E_VALUE, 0, "the powers of a side of the lens must be finite");
    if ((1 + side->conic) * c * c * half * half > 1 + 1e-12)
        return fail(error, LUXFALL_E_VALUE, 0,
                    "a side of radius %g mm is %.6g mm wide and cannot bear a lens of diameter %g mm",
                    fabs(side->radius_mm), 2 * fabs(side->radius_mm) / sqrt(1 + side->conic), diameter_mm);
    return LUXFALL_OK;
}

/* What is asked of every radius. */
typedef double along_radius(const struct luxfall_singlet *p, double radius_mm);

static double thickness_at(const struct luxfall_singlet *p, double radius_mm) {
    return p->thickness_mm - sag_of(&p->towards, radius_mm) - sag_of(&p->away, radius_mm);
}

static double near_height_at(const struct luxfall_singlet *p, double radius_mm) {
    return p->gap_mm + sag_of(&p->towards, radius_mm);
}

/* Its least value, and where: among many looks the least one, then by halves about it. */
static double least_of(const struct luxfall_singlet *p, along_radius *f, double *at_mm) {
    const double rim_mm = p->diameter_mm / 2;
    double step_mm = rim_mm / LOOKS, least = f(p, 0);
    *at_mm = 0;
    for (int i = 1; i <= LOOKS; i++)
        if (f(p, i * step_mm) < least)
            least = f(p, *at_mm = i * step_mm);
    while ((step_mm /= 2) > 1e-6 * rim_mm)
        for (int way = -1; way <= 1; way += 2) {
            double radius_mm = fmin(fmax(*at_mm + way * step_mm, 0), rim_mm);
            if (f(p, radius_mm) < least)
                least = f(p, *at_mm = radius_mm);
        }
    return least;
}

static bool in_body(const struct luxfall_singlet *p) {
    return p->body_mm[0] != 0 || p->body_mm[1] != 0;
}

static enum luxfall_status singlet_validate(const struct luxfall_lens *lens, struct luxfall_error *error) {
    const struct luxfall_singlet *p = &lens->singlet;
    if (!(p->diameter_mm > 0 && p->thickness_mm > 0) || !(isfinite(p->diameter_mm) && isfinite(p->thickness_mm)))
        return fail(error, LUXFALL_E_VALUE, 0, "diameter and thickness of the lens must be above 0");
    if (!(p->gap_mm >= 0 && isfinite(p->gap_mm)))
        return fail(error, LUXFALL_E_VALUE, 0, "the gap of %g mm between emitter and lens must not be below 0",
                    p->gap_mm);
    enum luxfall_status status = check_side(&p->towards, p->diameter_mm, error);
    if (status == LUXFALL_OK)
        status = check_side(&p->away, p->diameter_mm, error);
    if (status != LUXFALL_OK)
        return status;
    const double rim_mm = p->diameter_mm / 2, near_mm = sag_of(&p->towards, rim_mm),
                 far_mm = sag_of(&p->away, rim_mm);
    double at_mm;
    if (near_mm + far_mm > p->thickness_mm * (1 + 1e-12))
        return fail(error, LUXFALL_E_VALUE, 0,
                    "the sides of the lens fall back by %.4g mm over a diameter of %g mm, more than the thickness of "
                    "%g mm: the edge would be thinner than nothing",
                    near_mm + far_mm, p->diameter_mm, p->thickness_mm);
    if (least_of(p, thickness_at, &at_mm) < -1e-12 * p->thickness_mm)
        return fail(error, LUXFALL_E_VALUE, 0,
                    "the sides of the lens would cross: %.4g mm from its axis it would be thinner than nothing",
                    at_mm);
    if (in_body(p) && !(p->body_mm[0] >= p->diameter_mm && p->body_mm[1] >= p->diameter_mm &&
                        fmax(p->body_mm[0], p->body_mm[1]) <= 1e6))
        return fail(error, LUXFALL_E_VALUE, 0,
                    "a body of %g mm x %g mm does not hold round sides of %g mm: it must be as wide at least",
                    p->body_mm[0], p->body_mm[1], p->diameter_mm);
    if (in_body(p) && !(near_mm + far_mm < 0.999 * p->thickness_mm))
        return fail(error, LUXFALL_E_VALUE, 0,
                    "the sides of the lens meet at its rim; a body about them needs an edge: more thickness than "
                    "%.4g mm",
                    near_mm + far_mm);
    if (least_of(p, near_height_at, &at_mm) < 0)
        return fail(error, LUXFALL_E_VALUE, 0,
                    "the hollow side reaches %.4g mm below its middle, %.4g mm from its axis: at a gap of %g mm it "
                    "would stand "
                    "below the emitter",
                    -sag_of(&p->towards, at_mm), at_mm, p->gap_mm);
    return LUXFALL_OK;
}

/* A side as a patch, up towards +z; facing: 1 towards the emitter, -1 away. Its heights are looked at here and there,
 * since powers may make it wavy. */
static struct patch side_patch(const struct luxfall_side *side, double vertex_mm, double rim_mm, double facing) {
    double powers[LUXFALL_POWERS_MAX], low = 0, high = 0;
    for (int i = 0; i < side->power_count; i++)
        powers[i] = facing * side->powers[i];
    struct patch patch =
        patch_asphere(vertex_mm, facing * curvature_of(side), side->conic, side->power_count, powers);
    for (int i = 1; i <= LOOKS; i++) {
        double sag = facing * sag_of(side, rim_mm * i / LOOKS);
        low = fmin(low, sag);
        high = fmax(high, sag);
    }
    double margin = side->power_count > 0 ? 0.02 * (high - low) : 0;
    patch.radius_high_mm = rim_mm;
    patch.z_low_mm = vertex_mm + low - margin;
    patch.z_high_mm = vertex_mm + high + margin;
    patch.down = facing > 0 ? AIR : LENS;
    patch.up = facing > 0 ? LENS : AIR;
    return patch;
}

static struct patch stop_at(struct patch patch, enum luxfall_loss loss, double z1_mm, double z2_mm) {
    patch.deed = PATCH_STOP;
    patch.loss = loss;
    patch.z_low_mm = fmin(z1_mm, z2_mm);
    patch.z_high_mm = fmax(z1_mm, z2_mm);
    return patch;
}

static void add(struct optic *out, struct patch patch, int down, int up) {
    patch.down = down;
    patch.up = up;
    out->patches[out->patch_count++] = patch;
}

/* Shoulders from the round sides to the edges of the body, clear, and the edges, ground. Returns its sides. */
static int add_body(const struct luxfall_singlet *p, double near_mm, double far_mm, struct patch_side *sides,
                    struct optic *out) {
    const int count = patch_sides_of_rectangle(p->body_mm[0], p->body_mm[1], sides);
    const double heights_mm[] = {near_mm, far_mm};
    for (int i = 0; i < 2; i++) {
        struct patch shoulder = patch_within(patch_plane(heights_mm[i]), count, sides);
        shoulder.radius_low_mm = p->diameter_mm / 2;
        shoulder.radius_high_mm = hypot(p->body_mm[0], p->body_mm[1]) / 2;
        add(out, shoulder, i == 0 ? AIR : LENS, i == 0 ? LENS : AIR);
    }
    for (int i = 0; i < count; i++)
        add(out, stop_at(patch_wall(sides[i], patch_half_side(count, sides, i)), LUXFALL_LOSS_RIM, near_mm, far_mm),
            LENS, AIR);
    return count;
}

/* Two sides and the ground rim, or the body about them; behind a closed holder nothing passes beside the lens. */
static void singlet_build(const struct luxfall_lens *lens, struct optic *out) {
    const struct luxfall_singlet *p = &lens->singlet;
    const double rim_mm = p->diameter_mm / 2, far_mm = p->gap_mm + p->thickness_mm;
    const double near_edge_mm = p->gap_mm + sag_of(&p->towards, rim_mm),
                 far_edge_mm = far_mm - sag_of(&p->away, rim_mm);
    struct patch_side sides[PATCH_SIDES_MAX];
    int count = 0;
    out->end_mm = far_mm;
    out->size_mm = far_mm + luxfall_lens_diameter_mm(lens);
    out->patches[0] = side_patch(&p->towards, p->gap_mm, rim_mm, 1);
    out->patches[1] = side_patch(&p->away, far_mm, rim_mm, -1);
    out->patch_count = 2;
    if (in_body(p))
        count = add_body(p, near_edge_mm, far_edge_mm, sides, out);
    else
        add(out, stop_at(patch_cylinder(rim_mm), LUXFALL_LOSS_RIM, near_edge_mm, far_edge_mm), LENS, AIR);
    if (!p->holder_open)
        solid_add_holder(out, near_edge_mm, rim_mm, count, sides);
}

static struct solid_looks singlet_looks(const struct luxfall_lens *lens) {
    const struct luxfall_singlet *p = &lens->singlet;
    struct solid_looks looks = solid_round(p->diameter_mm, false, p->holder_open);
    if (in_body(p)) {
        looks.face = (struct luxfall_face){LUXFALL_RECTANGLE, p->body_mm[0], p->body_mm[1]};
        looks.images = p->body_mm[0] == p->body_mm[1] ? 8 : 4;
    }
    return looks;
}

const struct solid_kind solid_singlet = {singlet_validate, singlet_build, singlet_looks};
