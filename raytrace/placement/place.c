/* Where the modules of a group stand and how they look. METHODS section 2. */
#include "fail.h"
#include "numbers/vec.h"
#include "placement/kind.h"

static const struct luxfall_vec UP = {0, 0, 1};

static const struct placement_kind *const kinds[] = {
    [LUXFALL_AT_RING] = &placement_ring, [LUXFALL_AT_SINGLE] = &placement_single, [LUXFALL_AT_LINE] = &placement_line,
    [LUXFALL_AT_GRID] = &placement_grid, [LUXFALL_AT_POINT] = &placement_point,
};

size_t luxfall_placement_count(const struct luxfall_placement *placement) {
    return kinds[placement->kind]->count(placement);
}

/* The unit axis of a member before its lean. */
static enum luxfall_status aim_axis(const struct luxfall_placement *p, struct luxfall_vec at,
                                    struct luxfall_vec *axis, struct luxfall_error *error) {
    struct luxfall_vec spot = {0, 0, 0};
    double foot_mm = hypot(at.x, at.y);
    switch (p->aim) {
    case LUXFALL_AIM_DOWN:
        *axis = (struct luxfall_vec){0, 0, -1};
        return LUXFALL_OK;
    case LUXFALL_AIM_POINT:
        spot.x = p->aim_x_mm;
        spot.y = p->aim_y_mm;
        break;
    case LUXFALL_AIM_SHORT:
    case LUXFALL_AIM_PAST:
        if (p->aim_mm != 0 && foot_mm < 1e-9 * vec_length(at))
            return fail(error, LUXFALL_E_VALUE, 0,
                        "a module right above the centre has no near side to aim short or past of; give a point");
        if (p->aim_mm != 0) {
            double towards_foot = p->aim == LUXFALL_AIM_SHORT ? p->aim_mm : -p->aim_mm;
            spot.x = at.x / foot_mm * towards_foot;
            spot.y = at.y / foot_mm * towards_foot;
        }
        break;
    case LUXFALL_AIM_CENTRE:
        break;
    }
    *axis = vec_unit(vec_sum(1, spot, -1, at));
    return LUXFALL_OK;
}

/* Frame about an axis with its x level: along +x of the world when looking straight down. */
static void level_frame(struct luxfall_pose *pose) {
    struct luxfall_vec level = vec_cross(pose->axis, UP);
    pose->x = vec_length(level) < 1e-12 ? (struct luxfall_vec){1, 0, 0} : vec_unit(level);
    pose->y = vec_cross(pose->axis, pose->x);
}

/* Lean turns the whole frame with the axis, so that a small lean is a small change of an oblong beam too. */
static void lean_frame(struct luxfall_pose *pose, double lean_rad, double azimuth_rad) {
    struct luxfall_vec towards = {cos(azimuth_rad), sin(azimuth_rad), 0};
    struct luxfall_vec hinge = vec_cross(pose->axis, towards);
    if (lean_rad == 0 || vec_length(hinge) < 1e-12)
        return;
    hinge = vec_unit(hinge);
    pose->axis = vec_turn(pose->axis, hinge, lean_rad);
    pose->x = vec_turn(pose->x, hinge, lean_rad);
    pose->y = vec_cross(pose->axis, pose->x);
}

/* Counter-clockwise seen from above is clockwise about an axis that points down. */
static void roll_frame(struct luxfall_pose *pose, double roll_rad) {
    double sense = pose->axis.z <= 0 ? -1 : 1;
    pose->x = vec_turn(pose->x, pose->axis, sense * roll_rad);
    pose->y = vec_cross(pose->axis, pose->x);
}

enum luxfall_status luxfall_place(const struct luxfall_placement *placement, struct luxfall_pose *poses,
                                  struct luxfall_error *error) {
    size_t count = luxfall_placement_count(placement);
    for (size_t member = 0; member < count; member++) {
        struct luxfall_pose *pose = &poses[member];
        pose->at_mm = kinds[placement->kind]->position(placement, member);
        if (!(pose->at_mm.z > 0))
            return fail(error, LUXFALL_E_VALUE, member,
                        "member %zu stands %.4g mm above the plane; it must be above it", member + 1, pose->at_mm.z);
        enum luxfall_status status = aim_axis(placement, pose->at_mm, &pose->axis, error);
        if (status != LUXFALL_OK)
            return status;
        level_frame(pose);
        lean_frame(pose, placement->lean_rad, placement->lean_azimuth_rad);
        roll_frame(pose, placement->roll_rad);
    }
    return LUXFALL_OK;
}

void luxfall_bracket(const struct luxfall_pose *pose, struct luxfall_bracket *out) {
    struct luxfall_vec at = pose->at_mm, axis = pose->axis;
    out->lean_rad = atan2(hypot(axis.x, axis.y), -axis.z);
    bool above = hypot(at.x, at.y) < 1e-9 * vec_length(at);
    double clock = above ? 0 : atan2(at.y, at.x);
    out->clock_rad = clock < -1e-12 ? clock + 2 * PI : fmax(clock, 0);
    if (axis.z < -1e-9) {
        out->distance_mm = at.z / -axis.z;
        out->aim_mm = vec_sum(1, at, out->distance_mm, axis);
        out->aim_mm.z = 0;
        out->incidence_rad = out->lean_rad;
    } else {
        out->distance_mm = out->incidence_rad = NAN;
        out->aim_mm = (struct luxfall_vec){NAN, NAN, NAN};
    }
}
