#include "lenses/cover.h"

#include "fail.h"
#include "lenses/lenslets.h"
#include "lenses/material.h"
#include "numbers/vec.h"

#include <math.h>

enum { AIR };

/* ---- checks ---------------------------------------------------------------------------------------------------- */

static bool is_share(double value) {
    return value >= 0 && value <= 1;
}

static bool is_length(double value) {
    return value >= 0 && value <= 1e6;
}

static enum luxfall_status check_window(const struct luxfall_cover *cover, struct luxfall_error *error) {
    if (!(is_length(cover->thickness_mm) && cover->thickness_mm > 0))
        return fail(error, LUXFALL_E_VALUE, 0, "a window needs a thickness above 0");
    if (cover->lenslets.pitch_mm != 0) {
        if (cover->spread_rad > 0)
            return fail(error, LUXFALL_E_VALUE, 0, "a window has a texture or lenslets, not both");
        enum luxfall_status status = lenslets_validate(&cover->lenslets, luxfall_cover_across_mm(cover), error);
        if (status != LUXFALL_OK)
            return status;
    }
    return material_validate(&cover->material, error);
}

static enum luxfall_status check_shares(const struct luxfall_cover *cover, struct luxfall_error *error) {
    if (is_share(cover->passes) && is_share(cover->comes_back) && cover->passes + cover->comes_back <= 1 + 1e-12)
        return LUXFALL_OK;
    return fail(error, LUXFALL_E_VALUE, 0,
                "what passes (%.4g %%) and what comes back (%.4g %%) must each be 0 to 100 %%, and no more together",
                100 * cover->passes, 100 * cover->comes_back);
}

static enum luxfall_status check_stop(const struct luxfall_cover *cover, struct luxfall_error *error) {
    if (!is_length(cover->thickness_mm))
        return fail(error, LUXFALL_E_VALUE, 0, "a stop needs a height of 0 or more");
    if (!(cover->hole_mm >= 0 && cover->hole_mm < cover->diameter_mm))
        return fail(error, LUXFALL_E_VALUE, 0, "a hole of %g mm does not leave a ring of %g mm", cover->hole_mm,
                    cover->diameter_mm);
    return LUXFALL_OK;
}

static bool is_oblong(const struct luxfall_cover *cover) {
    return cover->width_mm != 0 || cover->height_mm != 0;
}

static enum luxfall_status check_outline(const struct luxfall_cover *cover, struct luxfall_error *error) {
    bool sides = is_length(cover->width_mm) && cover->width_mm > 0 && is_length(cover->height_mm) &&
                 cover->height_mm > 0 && cover->diameter_mm == 0;
    if (is_oblong(cover) ? !sides : !(is_length(cover->diameter_mm) && cover->diameter_mm > 0))
        return fail(error, LUXFALL_E_VALUE, 0, "a cover needs a diameter, or a width and a height, above 0");
    if (is_oblong(cover) && cover->kind == LUXFALL_COVER_STOP)
        return fail(error, LUXFALL_E_VALUE, 0, "a stop is round and needs a diameter");
    if (!is_length(cover->gap_mm))
        return fail(error, LUXFALL_E_VALUE, 0, "a cover needs a gap of 0 or more");
    return LUXFALL_OK;
}

enum luxfall_status luxfall_cover_check(const struct luxfall_cover *cover, struct luxfall_error *error) {
    enum luxfall_status status = check_outline(cover, error);
    if (status != LUXFALL_OK)
        return status;
    if (!(cover->spread_rad >= 0 && cover->spread_rad < 2))
        return fail(error, LUXFALL_E_VALUE, 0, "a cover must spread by 0 to 114 deg");
    switch (cover->kind) {
    case LUXFALL_COVER_WINDOW:
        return check_window(cover, error);
    case LUXFALL_COVER_FILM:
    case LUXFALL_COVER_OPAL:
        return check_shares(cover, error);
    case LUXFALL_COVER_STOP:
        return check_stop(cover, error);
    }
    return fail(error, LUXFALL_E_VALUE, 0, "a cover of no known kind");
}

double luxfall_cover_across_mm(const struct luxfall_cover *cover) {
    return is_oblong(cover) ? hypot(cover->width_mm, cover->height_mm) : cover->diameter_mm;
}

double luxfall_cover_area_mm2(const struct luxfall_cover *cover) {
    return is_oblong(cover) ? cover->width_mm * cover->height_mm : PI / 4 * cover->diameter_mm * cover->diameter_mm;
}

bool luxfall_cover_spreads(const struct luxfall_cover *cover) {
    return cover->kind == LUXFALL_COVER_OPAL || cover->spread_rad > 0 || cover->lenslets.pitch_mm > 0;
}

/* ---- patches --------------------------------------------------------------------------------------------------- */

static void add(struct optic *optic, struct patch patch, int down, int up, enum patch_deed deed, int loss) {
    patch.down = down;
    patch.up = up;
    patch.deed = deed;
    patch.loss = loss;
    optic->patches[optic->patch_count++] = patch;
}

/* Within its outline. */
static struct patch outlined(const struct luxfall_cover *cover, struct patch patch) {
    patch.radius_high_mm = luxfall_cover_across_mm(cover) / 2;
    if (is_oblong(cover))
        patch.side_count = patch_sides_of_rectangle(cover->width_mm, cover->height_mm, patch.sides);
    return patch;
}

/* Its edge, ground. */
static void add_edge(const struct luxfall_cover *cover, int part, int plate, double low_mm, double high_mm,
                     struct optic *optic) {
    const int loss = optic_loss(LUXFALL_LOSS_COVER, part);
    struct patch_side sides[PATCH_SIDES_MAX];
    if (!is_oblong(cover)) {
        add(optic, patch_tube(cover->diameter_mm / 2, low_mm, high_mm), plate, AIR, PATCH_STOP, loss);
        return;
    }
    int count = patch_sides_of_rectangle(cover->width_mm, cover->height_mm, sides);
    for (int i = 0; i < count; i++) {
        struct patch wall = patch_wall(sides[i], sides[(i + 1) % count].reach_mm);
        wall.z_low_mm = low_mm;
        wall.z_high_mm = high_mm;
        add(optic, wall, plate, AIR, PATCH_STOP, loss);
    }
}

static enum luxfall_status add_window(const struct luxfall_cover *cover, int part, double z_mm, double wavelength_um,
                                      struct optic *optic, struct luxfall_error *error) {
    double index, top_mm = z_mm + cover->thickness_mm;
    enum luxfall_status status = luxfall_material_index(&cover->material, wavelength_um, &index, error);
    if (status != LUXFALL_OK)
        return status;
    int plate = optic->material_count++;
    optic->materials[plate] = (struct optic_material){index, luxfall_material_absorption_per_mm(&cover->material),
                                                      false, optic_loss(LUXFALL_LOSS_COVER, part)};
    struct patch upper = patch_plane(top_mm);
    if (cover->lenslets.pitch_mm > 0) {
        upper = lenslets_patch(&cover->lenslets, top_mm);
        top_mm = upper.z_high_mm;
    }
    upper.spread_rad = cover->spread_rad / WIDTH_OVER_SD;
    add(optic, outlined(cover, patch_plane(z_mm)), AIR, plate, PATCH_CLEAR, 0);
    add(optic, outlined(cover, upper), plate, AIR, cover->spread_rad > 0 ? PATCH_FROSTED : PATCH_CLEAR, 0);
    add_edge(cover, part, plate, z_mm, top_mm, optic);
    return LUXFALL_OK;
}

static void add_sheet(const struct luxfall_cover *cover, int part, double z_mm, struct optic *optic) {
    struct patch sheet = outlined(cover, patch_plane(z_mm));
    sheet.passes = cover->passes;
    sheet.comes_back = cover->comes_back;
    sheet.spread_rad = cover->spread_rad / WIDTH_OVER_SD;
    add(optic, sheet, AIR, AIR, cover->kind == LUXFALL_COVER_OPAL ? PATCH_LAMBERTIAN : PATCH_FILM,
        optic_loss(LUXFALL_LOSS_COVER, part));
}

/* Black on all sides; what would be inside is never reached. */
static void add_stop(const struct luxfall_cover *cover, int part, double z_mm, struct optic *optic) {
    const int loss = optic_loss(LUXFALL_LOSS_STOP, part);
    double hole_mm = cover->hole_mm / 2, outer_mm = cover->diameter_mm / 2, top_mm = z_mm + cover->thickness_mm;
    add(optic, patch_ring(z_mm, hole_mm, outer_mm), AIR, AIR, PATCH_STOP, loss);
    if (cover->thickness_mm == 0)
        return;
    add(optic, patch_ring(top_mm, hole_mm, outer_mm), AIR, AIR, PATCH_STOP, loss);
    add(optic, patch_tube(outer_mm, z_mm, top_mm), AIR, AIR, PATCH_STOP, loss);
    if (hole_mm > 0)
        add(optic, patch_tube(hole_mm, z_mm, top_mm), AIR, AIR, PATCH_STOP, loss);
}

enum luxfall_status cover_add(const struct luxfall_cover *cover, int part, double floor_mm, double wavelength_um,
                              struct optic *optic, struct luxfall_error *error) {
    enum { MOST_PATCHES = 6 };
    double z_mm = fmax(optic_top_mm(optic), floor_mm) + fmax(cover->gap_mm, LUXFALL_CONTACT_MM);
    if (optic->patch_count + MOST_PATCHES > OPTIC_PATCHES_MAX || optic->material_count == OPTIC_MATERIALS_MAX)
        return fail(error, LUXFALL_E_VALUE, 0, "the lens has too many surfaces for a cover over it");
    optic->size_mm = fmax(optic->size_mm, fmax(luxfall_cover_across_mm(cover), z_mm + cover->thickness_mm));
    if (cover->kind == LUXFALL_COVER_WINDOW)
        return add_window(cover, part, z_mm, wavelength_um, optic, error);
    if (cover->kind == LUXFALL_COVER_STOP)
        add_stop(cover, part, z_mm, optic);
    else
        add_sheet(cover, part, z_mm, optic);
    return LUXFALL_OK;
}
