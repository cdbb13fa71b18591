/* A flat lens with grooves, METHODS eq. (73), (74): each groove a straight facet that sends the light of one point
 * straight on, and a steep side back. */
#include "fail.h"
#include "lenses/material.h"
#include "lenses/solid.h"

#include <math.h>

enum { AIR, LENS };
static const double PI = 3.14159265358979323846;

struct groove {
    double inner_mm, outer_mm; /* of the whole groove */
    double slope;              /* of the facet, height over radius: how fast it falls back into the lens */
    double foot_mm, depth_mm;  /* where the facet ends and the side back begins, and how deep */
};

/* The facet at its middle: light of the point at the focus, going straight on behind it. */
static double slope_for(const struct luxfall_fresnel *p, double index, double radius_mm, double depth_mm) {
    if (p->grooves_towards) { /* from the air: tan f = sin a / (n - cos a) */
        double angle = atan2(radius_mm, p->focal_mm + depth_mm);
        return sin(angle) / (index - cos(angle));
    }
    /* inside, behind the flat side: tan f = n sin a / (n cos a - 1) */
    double low = 0, high = PI / 2, inside_mm = p->thickness_mm - depth_mm;
    for (int i = 0; i < 60; i++) { /* the ray from the focus through the flat side to that radius */
        double angle = (low + high) / 2;
        if (p->focal_mm * tan(angle) + inside_mm * tan(asin(sin(angle) / index)) < radius_mm)
            low = angle;
        else
            high = angle;
    }
    double inside = asin(sin(low) / index);
    return index * sin(inside) / (index * cos(inside) - 1);
}

static struct groove groove_make(const struct luxfall_fresnel *p, double index, int number) {
    struct groove g = {.inner_mm = number * p->pitch_mm};
    double middle_mm, rim_mm = p->diameter_mm / 2;
    g.outer_mm = fmin(g.inner_mm + p->pitch_mm, rim_mm);
    middle_mm = (g.inner_mm + g.outer_mm) / 2;
    for (int i = 0; i < 8; i++) { /* the depth of the middle moves with the slope */
        g.slope = slope_for(p, index, middle_mm, g.slope * (g.outer_mm - g.inner_mm) / 2);
        g.depth_mm = g.slope * (g.outer_mm - g.inner_mm) / (1 + g.slope * tan(p->draft_rad));
    }
    g.foot_mm = g.outer_mm - g.depth_mm * tan(p->draft_rad);
    return g;
}

static int groove_count(const struct luxfall_fresnel *p) {
    return (int)ceil(p->diameter_mm / 2 / p->pitch_mm - 1e-9);
}

static enum luxfall_status check_sizes(const struct luxfall_fresnel *p, struct luxfall_error *error) {
    const double sizes[] = {p->diameter_mm, p->thickness_mm, p->focal_mm, p->pitch_mm};
    for (int i = 0; i < 4; i++)
        if (!(sizes[i] > 0 && isfinite(sizes[i])))
            return fail(error, LUXFALL_E_VALUE, 0,
                        "diameter, thickness, focal length and pitch of the lens must be above 0");
    if (!(p->gap_mm >= 0 && isfinite(p->gap_mm)))
        return fail(error, LUXFALL_E_VALUE, 0, "the gap of %g mm between emitter and lens must not be below 0",
                    p->gap_mm);
    if (!(p->draft_rad >= PI / 360 && p->draft_rad <= PI / 4))
        return fail(error, LUXFALL_E_VALUE, 0, "the draft of the grooves must be 0.5 to 45 deg");
    if (!(p->diameter_mm / 2 / p->pitch_mm <= LUXFALL_GROOVES_MAX))
        return fail(error, LUXFALL_E_VALUE, 0, "a pitch of %g mm makes more than %d grooves in a lens of %g mm",
                    p->pitch_mm, LUXFALL_GROOVES_MAX, p->diameter_mm);
    return LUXFALL_OK;
}

static enum luxfall_status fresnel_validate(const struct luxfall_lens *lens, struct luxfall_error *error) {
    const struct luxfall_fresnel *p = &lens->fresnel;
    double index;
    enum luxfall_status status = check_sizes(p, error);
    if (status == LUXFALL_OK)
        status = luxfall_material_index(&lens->material, LUXFALL_WAVELENGTH_UM, &index, error);
    if (status != LUXFALL_OK)
        return status;
    for (int i = 0; i < groove_count(p); i++) {
        struct groove g = groove_make(p, index, i);
        if (!(g.slope > 0 && isfinite(g.slope)))
            return fail(error, LUXFALL_E_VALUE, 0,
                        "no facet %.4g mm from the axis sends light of a focal length of %g mm straight on",
                        g.inner_mm, p->focal_mm);
        if (g.depth_mm >= p->thickness_mm)
            return fail(error, LUXFALL_E_VALUE, 0,
                        "the groove %.4g mm from the axis would be %.4g mm deep, more than the thickness of %g mm; a "
                        "smaller pitch makes it shallower",
                        g.inner_mm, g.depth_mm, p->thickness_mm);
    }
    return LUXFALL_OK;
}

/* Heights over the grooved side's outermost plane, going up; the last groove ends at its facet's foot. */
static int write_profile(const struct luxfall_fresnel *p, double index, struct profile_point *points) {
    double into = p->grooves_towards ? 1 : -1;
    int count = 0, grooves = groove_count(p);
    for (int i = 0; i < grooves; i++) {
        struct groove g = groove_make(p, index, i);
        points[count++] = (struct profile_point){.radius_mm = g.inner_mm};
        points[count++] = (struct profile_point){.radius_mm = g.foot_mm, .z_mm = into * g.depth_mm};
    }
    points[count++] = (struct profile_point){.radius_mm = p->diameter_mm / 2};
    return count;
}

static void set_sides(struct patch *patch, int down, int up) {
    patch->down = down;
    patch->up = up;
}

/* Cut for LUXFALL_WAVELENGTH_UM, whatever light goes through it later. */
static void fresnel_build(const struct luxfall_lens *lens, struct optic *out) {
    const struct luxfall_fresnel *p = &lens->fresnel;
    double index, near_mm = p->gap_mm, far_mm = p->gap_mm + p->thickness_mm, rim_mm = p->diameter_mm / 2;
    if (luxfall_material_index(&lens->material, LUXFALL_WAVELENGTH_UM, &index, NULL) != LUXFALL_OK)
        index = out->materials[LENS].index;
    int count = write_profile(p, index, out->points);
    struct patch grooves = patch_facets(p->grooves_towards ? near_mm : far_mm, count, out->points);
    struct patch flat = patch_plane(p->grooves_towards ? far_mm : near_mm);
    flat.radius_high_mm = rim_mm;
    set_sides(p->grooves_towards ? &grooves : &flat, AIR, LENS);
    set_sides(p->grooves_towards ? &flat : &grooves, LENS, AIR);
    struct patch rim = patch_cylinder(rim_mm), holder = patch_plane(near_mm);
    rim.deed = holder.deed = PATCH_STOP;
    rim.loss = LUXFALL_LOSS_RIM;
    holder.loss = LUXFALL_LOSS_HOLDER;
    set_sides(&rim, LENS, AIR);
    rim.z_low_mm = near_mm;
    rim.z_high_mm = far_mm;
    holder.radius_low_mm = rim_mm;
    const struct patch patches[] = {grooves, flat, rim, holder};
    out->patch_count = p->holder_open ? 3 : 4;
    for (int i = 0; i < out->patch_count; i++)
        out->patches[i] = patches[i];
    out->end_mm = far_mm;
    out->size_mm = far_mm + p->diameter_mm;
}

static struct solid_looks fresnel_looks(const struct luxfall_lens *lens) {
    return solid_round(lens->fresnel.diameter_mm, false, lens->fresnel.holder_open);
}

const struct solid_kind solid_fresnel = {fresnel_validate, fresnel_build, fresnel_looks};
