/* A light pipe, round, rectangular or hexagonal: a straight bar of clear material, whose sides reflect totally, or a
 * hollow one of mirrors. METHODS sec. 5. */
#include "fail.h"
#include "lenses/mirror.h"
#include "lenses/solid.h"

#include <math.h>

enum { AIR, LENS };

static enum luxfall_status pipe_validate(const struct luxfall_lens *lens, struct luxfall_error *error) {
    const struct luxfall_pipe *p = &lens->pipe;
    const double sizes[] = {p->width_mm, p->height_mm, p->length_mm};
    for (int i = 0; i < 3; i++)
        if (!(sizes[i] > 0 && isfinite(sizes[i])))
            return fail(error, LUXFALL_E_VALUE, 0, "section and length of a light pipe must be above 0");
    if (p->section != LUXFALL_SECTION_RECTANGLE && p->width_mm != p->height_mm)
        return fail(error, LUXFALL_E_VALUE, 0, "a round or hexagonal light pipe has one width");
    if (!(p->gap_mm >= 0 && isfinite(p->gap_mm)))
        return fail(error, LUXFALL_E_VALUE, 0, "the gap of %g mm between emitter and pipe must not be below 0",
                    p->gap_mm);
    if (p->mirror.count == 0)
        return LUXFALL_OK;
    if (p->holder_open)
        return fail(error, LUXFALL_E_VALUE, 0, "a hollow light pipe has a closed holder: its walls have no outside");
    return mirror_validate(&p->mirror, error);
}

static void add(struct optic *out, struct patch patch, int down, int up, double z_low_mm, double z_high_mm) {
    patch.down = down;
    patch.up = up;
    patch.z_low_mm = z_low_mm;
    patch.z_high_mm = z_high_mm;
    out->patches[out->patch_count++] = patch;
}

/* An end face within the pipe's sides. */
static struct patch end_face(double z_mm, double radius_mm, int side_count, const struct patch_side *sides) {
    struct patch patch = patch_plane(z_mm);
    patch.radius_high_mm = radius_mm;
    return patch_within(patch, side_count, sides);
}

static void add_wall(const struct luxfall_pipe *p, struct patch wall, struct optic *out) {
    double near_mm = p->gap_mm, far_mm = p->gap_mm + p->length_mm;
    if (p->mirror.count == 0) {
        add(out, wall, LENS, AIR, near_mm, far_mm);
        return;
    }
    mirror_patch(&p->mirror, false, out, &wall);
    add(out, wall, wall.down, wall.up, near_mm, far_mm);
}

static void pipe_build(const struct luxfall_lens *lens, struct optic *out) {
    const struct luxfall_pipe *p = &lens->pipe;
    struct patch_side sides[PATCH_SIDES_MAX];
    double near_mm = p->gap_mm, far_mm = p->gap_mm + p->length_mm, radius_mm = luxfall_lens_diameter_mm(lens) / 2;
    int count = p->section == LUXFALL_SECTION_RECTANGLE ? patch_sides_of_rectangle(p->width_mm, p->height_mm, sides)
                : p->section == LUXFALL_SECTION_HEXAGON ? patch_sides_of_hexagon(p->width_mm, sides)
                                                        : 0;
    out->patch_count = 0;
    if (p->mirror.count == 0) {
        add(out, end_face(near_mm, radius_mm, count, sides), AIR, LENS, near_mm, near_mm);
        add(out, end_face(far_mm, radius_mm, count, sides), LENS, AIR, far_mm, far_mm);
    }
    if (p->section == LUXFALL_SECTION_ROUND)
        add_wall(p, patch_cylinder(radius_mm), out);
    for (int i = 0; i < count; i++)
        add_wall(p, patch_wall(sides[i], patch_half_side(count, sides, i)), out);
    if (!p->holder_open)
        solid_add_holder(out, near_mm, radius_mm, count, sides);
    out->end_mm = far_mm;
    out->size_mm = far_mm + 2 * radius_mm;
}

static struct solid_looks pipe_looks(const struct luxfall_lens *lens) {
    const struct luxfall_pipe *p = &lens->pipe;
    double square_mm2 = p->width_mm * p->height_mm;
    struct solid_looks looks = solid_round(p->width_mm, p->mirror.count > 0, p->holder_open);
    if (p->section == LUXFALL_SECTION_RECTANGLE) {
        looks.face = (struct luxfall_face){LUXFALL_RECTANGLE, p->width_mm, p->height_mm};
        looks.images = p->width_mm == p->height_mm ? 8 : 4;
    } else if (p->section == LUXFALL_SECTION_HEXAGON) {
        looks.face.width_mm = looks.face.height_mm = p->width_mm / sqrt(0.75);
        looks.front_mm2 = sqrt(0.75) * square_mm2;
        looks.images = 4;
    }
    return looks;
}

const struct solid_kind solid_pipe = {pipe_validate, pipe_build, pipe_looks};
