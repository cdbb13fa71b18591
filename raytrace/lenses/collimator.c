#include "lenses/collimator.h"

#include <math.h>

/* A ray at an angle above the board keeps sin q through the upright hollow wall: sin q' = sin q / n. METHODS eq.
 * (67). */
static double inside(const struct collimator *c, double angle_rad) {
    return asin(sin(angle_rad) / c->index);
}

/* Length from the hollow to the wall for equal optical paths to any level front. METHODS eq. (69). */
static double reach(const struct collimator *c, double angle_rad) {
    double bent = inside(c, angle_rad), n = c->index;
    return (c->path_mm - c->hollow_mm / cos(angle_rad) + n * c->hollow_mm * tan(angle_rad)) / (n * (1 - sin(bent)));
}

void collimator_wall(const struct collimator *c, double angle_rad, double *radius_mm, double *z_mm) {
    double length = reach(c, angle_rad), bent = inside(c, angle_rad);
    *radius_mm = c->hollow_mm + length * cos(bent);
    *z_mm = c->hollow_mm * tan(angle_rad) + length * sin(bent);
}

/* The middle is a hyperboloid, K = -n^2, R = (n - 1) f: METHODS eq. (68). */
bool collimator_solve(struct collimator *c) {
    double n = c->index;
    c->rim_mm = c->focus_mm + conic_sag(1 / ((n - 1) * c->focus_mm), -n * n, 0, NULL, c->hollow_mm);
    c->split_rad = atan2(c->rim_mm, c->hollow_mm);
    double bent = inside(c, c->split_rad), length = (c->radius_mm - c->hollow_mm) / cos(bent);
    c->path_mm =
        length * n * (1 - sin(bent)) + c->hollow_mm / cos(c->split_rad) - n * c->hollow_mm * tan(c->split_rad);
    double z_mm;
    collimator_wall(c, 0, &c->foot_mm, &z_mm);
    collimator_wall(c, c->split_rad, &z_mm, &c->top_mm);
    return c->radius_mm > c->hollow_mm && c->foot_mm > c->hollow_mm && c->top_mm <= c->face_mm;
}

/* r(z) of the wall: the height rises with the angle. */
static double wall_radius(const void *data, double z_mm) {
    const struct collimator *c = data;
    double low = 0, high = c->split_rad, r, z;
    for (int i = 0; i < 200 && high - low > 1e-16; i++) {
        double angle = (low + high) / 2;
        collimator_wall(c, angle, &r, &z);
        if (z < z_mm)
            low = angle;
        else
            high = angle;
    }
    collimator_wall(c, (low + high) / 2, &r, &z);
    return r;
}

static struct patch part_of(struct patch patch, int down, int up, double z_low_mm, double z_high_mm) {
    patch.down = down;
    patch.up = up;
    patch.z_low_mm = z_low_mm;
    patch.z_high_mm = z_high_mm;
    return patch;
}

void collimator_optic(const struct collimator *c, struct optic *out) {
    enum { AIR, LENS, HOLLOW, WALL_TERMS = 24 };
    double n = c->index;
    *out = (struct optic){.material_count = 3, .emitter_material = HOLLOW, .end_mm = c->face_mm};
    out->size_mm = 2 * fmax(c->radius_mm, c->face_mm);
    out->materials[AIR] = out->materials[HOLLOW] = (struct optic_material){1, 0, true, 0};
    out->materials[LENS] = (struct optic_material){n, 0, false, LUXFALL_LOSS_MATERIAL};
    struct patch hollow = part_of(patch_cylinder(c->hollow_mm), HOLLOW, LENS, 0, c->rim_mm);
    struct patch middle =
        part_of(patch_conic(c->focus_mm, 1 / ((n - 1) * c->focus_mm), -n * n), HOLLOW, LENS, c->focus_mm, c->rim_mm);
    middle.radius_high_mm = c->hollow_mm;
    struct patch wall = part_of(patch_profile(0, c->top_mm, WALL_TERMS, wall_radius, c), LENS, AIR, 0, c->top_mm);
    struct patch foot = part_of(patch_plane(0), AIR, LENS, 0, 0),
                 face = part_of(patch_plane(c->face_mm), LENS, AIR, c->face_mm, c->face_mm);
    foot.radius_low_mm = c->hollow_mm;
    foot.radius_high_mm = c->foot_mm;
    face.radius_high_mm = c->radius_mm;
    struct patch rim = part_of(patch_cylinder(c->radius_mm), LENS, AIR, c->top_mm, c->face_mm);
    rim.deed = PATCH_STOP;
    rim.loss = LUXFALL_LOSS_RIM;
    const struct patch patches[] = {hollow, middle, wall, foot, face, rim};
    out->patch_count = sizeof patches / sizeof *patches;
    for (int i = 0; i < out->patch_count; i++)
        out->patches[i] = patches[i];
}
