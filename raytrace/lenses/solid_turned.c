/* A body turned on a lathe: two profiles given by points, straight or smooth between them, and a ground rim. METHODS
 * eq. (73), (85). */
#include "fail.h"
#include "lenses/solid.h"

#include <math.h>

enum { AIR, LENS };
static const double FINEST = 1e-6; /* step between two radii, of the rim's */

static double rim_of(const struct luxfall_profile *p) {
    return p->radius_mm[p->count - 1];
}

static enum luxfall_status check_points(const struct luxfall_profile *p, struct luxfall_error *error) {
    if (p->count < 2 || p->count > LUXFALL_PROFILE_POINTS_MAX)
        return fail(error, LUXFALL_E_VALUE, 0, "a profile needs 2 to %d points, from the axis to the rim",
                    LUXFALL_PROFILE_POINTS_MAX);
    if (p->radius_mm[0] != 0 || !isfinite(rim_of(p)))
        return fail(error, LUXFALL_E_VALUE, 0, "a profile begins on the axis, at a radius of 0 mm, not at %.6g mm",
                    p->radius_mm[0]);
    for (size_t i = 0; i < p->count; i++) {
        if (!isfinite(p->height_mm[i]))
            return fail(error, LUXFALL_E_VALUE, 0, "the heights of a profile must be finite");
        if (i > 0 && !(p->radius_mm[i] - p->radius_mm[i - 1] >= FINEST * rim_of(p)))
            return fail(error, LUXFALL_E_VALUE, 0,
                        "the radii of a profile must ascend: %.6g mm follows on %.6g mm; a step up needs a little "
                        "draft, at least a millionth of the rim's radius",
                        p->radius_mm[i], p->radius_mm[i - 1]);
    }
    return LUXFALL_OK;
}

static struct patch patch_of(const struct luxfall_profile *p, double gap_mm, struct profile_point *points) {
    int count = (int)p->count;
    for (int i = 0; i < count; i++)
        points[i] = (struct profile_point){.radius_mm = p->radius_mm[i], .z_mm = p->height_mm[i]};
    return p->smooth ? patch_spline(gap_mm, count, points) : patch_facets(gap_mm, count, points);
}

/* Where the body is thinnest within its rim, looked at between the points of both sides. */
static double thinnest(const struct patch *towards, const struct patch *away, const struct luxfall_profile *steps,
                       double *radius_mm) {
    enum { LOOKS = 16 };
    double least = INFINITY;
    for (size_t i = 0; i + 1 < steps->count; i++)
        for (int k = 0; k < LOOKS; k++) {
            double r = steps->radius_mm[i] + (steps->radius_mm[i + 1] - steps->radius_mm[i]) * k / LOOKS;
            double thickness = patch_height(away, r) - patch_height(towards, r);
            *radius_mm = thickness < least ? r : *radius_mm;
            least = fmin(least, thickness);
        }
    return least;
}

static enum luxfall_status check_body(const struct luxfall_turned *p, struct luxfall_error *error) {
    struct profile_point near[LUXFALL_PROFILE_POINTS_MAX], far[LUXFALL_PROFILE_POINTS_MAX];
    const struct patch towards = patch_of(&p->towards, p->gap_mm, near), away = patch_of(&p->away, p->gap_mm, far);
    double rim_mm = rim_of(&p->towards), at_mm = 0, other_mm = 0;
    double least_mm = thinnest(&towards, &away, &p->towards, &at_mm),
           other = thinnest(&towards, &away, &p->away, &other_mm);
    if (other < least_mm) {
        least_mm = other;
        at_mm = other_mm;
    }
    double edge_mm = patch_height(&away, rim_mm) - patch_height(&towards, rim_mm);
    if (!(least_mm > 0 && edge_mm >= -1e-12 * rim_mm))
        return fail(error, LUXFALL_E_VALUE, 0, "the sides of the body meet or cross %.4g mm from the axis",
                    edge_mm < least_mm ? rim_mm : at_mm);
    if (towards.z_low_mm < 0)
        return fail(error, LUXFALL_E_VALUE, 0,
                    "the body reaches %.4g mm below its level 0: at a gap of %g mm it would stand below the emitter",
                    p->gap_mm - towards.z_low_mm, p->gap_mm);
    return LUXFALL_OK;
}

static enum luxfall_status turned_validate(const struct luxfall_lens *lens, struct luxfall_error *error) {
    const struct luxfall_turned *p = &lens->turned;
    enum luxfall_status status = check_points(&p->towards, error);
    if (status == LUXFALL_OK)
        status = check_points(&p->away, error);
    if (status != LUXFALL_OK)
        return status;
    if (rim_of(&p->towards) != rim_of(&p->away))
        return fail(error, LUXFALL_E_VALUE, 0, "both sides end at one rim, not at radii of %.6g mm and %.6g mm",
                    rim_of(&p->towards), rim_of(&p->away));
    if (!(p->gap_mm >= 0 && isfinite(p->gap_mm)))
        return fail(error, LUXFALL_E_VALUE, 0, "the gap of %g mm between emitter and body must not be below 0",
                    p->gap_mm);
    return check_body(p, error);
}

static void add(struct optic *out, struct patch patch, int down, int up) {
    patch.down = down;
    patch.up = up;
    out->patches[out->patch_count++] = patch;
}

static void turned_build(const struct luxfall_lens *lens, struct optic *out) {
    const struct luxfall_turned *p = &lens->turned;
    double rim_mm = rim_of(&p->towards);
    const struct patch towards = patch_of(&p->towards, p->gap_mm, out->points);
    const struct patch away = patch_of(&p->away, p->gap_mm, out->points + p->towards.count);
    double near_edge_mm = p->gap_mm + p->towards.height_mm[p->towards.count - 1];
    double far_edge_mm = p->gap_mm + p->away.height_mm[p->away.count - 1];
    struct patch rim = patch_cylinder(rim_mm), holder = patch_plane(near_edge_mm);
    rim.deed = holder.deed = PATCH_STOP;
    rim.loss = LUXFALL_LOSS_RIM;
    rim.z_low_mm = near_edge_mm;
    rim.z_high_mm = far_edge_mm;
    holder.loss = LUXFALL_LOSS_HOLDER;
    holder.radius_low_mm = rim_mm;
    add(out, towards, AIR, LENS);
    add(out, away, LENS, AIR);
    add(out, rim, LENS, AIR);
    if (!p->holder_open)
        add(out, holder, AIR, AIR);
    out->end_mm = p->gap_mm + p->away.height_mm[0];
    out->size_mm = away.z_high_mm + 2 * rim_mm;
}

static struct solid_looks turned_looks(const struct luxfall_lens *lens) {
    const struct luxfall_profile *towards = &lens->turned.towards;
    double rim_mm = towards->count > 0 ? towards->radius_mm[towards->count - 1] : 0; /* none of a lens half read */
    return solid_round(2 * rim_mm, false, lens->turned.holder_open);
}

const struct solid_kind solid_turned = {turned_validate, turned_build, turned_looks};
