#include "lenses/package.h"

#include "fail.h"
#include "lenses/material.h"

#include <math.h>

static const double LEAN_MAX_RAD = 30 * 3.14159265358979323846 / 180;
enum { AIR, RESIN, BEHIND };

bool luxfall_packed(const struct luxfall_package *package) {
    return package->dome_mm != 0 || package->depth_mm != 0;
}

double luxfall_package_top_mm(const struct luxfall_package *package) {
    return package->dome_mm > 0 ? package->dome_height_mm : package->depth_mm;
}

/* ---- the shape ------------------------------------------------------------------------------------------------- */

/* A dome over the rim of the cup, or over the floor: a collar of the dome's own radius, then a part of a sphere. */
struct dome {
    double foot_mm, collar_mm, top_mm; /* heights: where it begins, where the sphere begins, where it ends */
    double half_mm, radius_mm;         /* of the foot, of the sphere */
};

/* METHODS eq. (95). */
static struct dome dome_of(const struct luxfall_package *p) {
    double half = p->dome_mm / 2, rise = p->dome_height_mm - p->depth_mm, cap = fmin(rise, half);
    return (struct dome){.foot_mm = p->depth_mm,
                         .collar_mm = p->dome_height_mm - cap,
                         .top_mm = p->dome_height_mm,
                         .half_mm = half,
                         .radius_mm = (half * half + cap * cap) / (2 * cap)};
}

/* Of the dome at a height between its foot and its top. */
static double dome_radius_mm(const struct dome *dome, double z_mm) {
    double up = z_mm - (dome->top_mm - dome->radius_mm);
    return z_mm <= dome->collar_mm ? dome->half_mm : sqrt(fmax(0, (dome->radius_mm - up) * (dome->radius_mm + up)));
}

double package_radius_mm(const struct luxfall_package *p, double z_mm) {
    const struct dome dome = dome_of(p);
    return z_mm < p->depth_mm || p->dome_mm == 0 ? p->opening_mm / 2 : dome_radius_mm(&dome, z_mm);
}

/* Of the resin; below 0 where there is none. */
static double resin_radius_mm(const struct luxfall_package *p, double z_mm) {
    if (z_mm < 0 || z_mm > luxfall_package_top_mm(p))
        return -1;
    if (z_mm < p->depth_mm || p->dome_mm == 0)
        return (p->floor_mm + (p->opening_mm - p->floor_mm) * z_mm / p->depth_mm) / 2;
    return package_radius_mm(p, z_mm);
}

/* ---- where the dies are ---------------------------------------------------------------------------------------- */

/* A corner of the dies, or what of a round one in that corner looks farthest that way. */
static void outermost(const struct luxfall_emitter *e, double way_x, double way_y, double *x_mm, double *y_mm) {
    double length = fmax(hypot(way_x, way_y), 1e-300);
    bool round = e->die.kind == LUXFALL_DISC;
    double reach_x = round ? fabs(way_x) / length : 1, reach_y = round ? fabs(way_y) / length : 1;
    *x_mm = copysign((e->columns - 1) * e->pitch_x_mm / 2 + reach_x * e->die.width_mm / 2, way_x);
    *y_mm = copysign((e->rows - 1) * e->pitch_y_mm / 2 + reach_y * e->die.height_mm / 2, way_y);
}

double package_die_mm(const struct luxfall_emitter *emitter) {
    const struct luxfall_package *p = &emitter->package;
    double c = cos(p->die_lean_azimuth_rad), s = sin(p->die_lean_azimuth_rad), x, y;
    outermost(emitter, c, s, &x, &y);
    return p->die_height_mm + (x * c + y * s) * sin(p->die_lean_rad);
}

/* A point of the dies in the package. METHODS eq. (101). */
static void place_of(const struct luxfall_emitter *emitter, double x_mm, double y_mm, double out[3]) {
    const struct luxfall_package *p = &emitter->package;
    double c = cos(p->die_lean_azimuth_rad), s = sin(p->die_lean_azimuth_rad), along = x_mm * c + y_mm * s;
    double shorter = along * (1 - cos(p->die_lean_rad));
    out[0] = x_mm - shorter * c + p->die_x_mm;
    out[1] = y_mm - shorter * s + p->die_y_mm;
    out[2] = package_die_mm(emitter) - along * sin(p->die_lean_rad);
}

static enum luxfall_status check_dies(const struct luxfall_emitter *emitter, struct luxfall_error *error) {
    enum { WAYS = 32 };
    const struct luxfall_package *p = &emitter->package;
    const double slack_mm = 1e-9 * luxfall_package_top_mm(p);
    for (int i = 0; i < WAYS; i++) {
        double angle = 2 * 3.14159265358979323846 * (i + 0.5) / WAYS, x, y, at[3];
        outermost(emitter, cos(angle), sin(angle), &x, &y);
        place_of(emitter, x, y, at);
        double away = hypot(at[0], at[1]), room = resin_radius_mm(p, fmax(at[2] - slack_mm, 0));
        if (!(away < room + slack_mm))
            return fail(error, LUXFALL_E_VALUE, 0,
                        "the dies reach %.4g mm from the axis at a height of %.4g mm, where the package has room for "
                        "%.4g mm",
                        away, at[2], fmax(room, 0));
    }
    return LUXFALL_OK;
}

/* ---- checks ---------------------------------------------------------------------------------------------------- */

static bool is_length(double value) {
    return value >= 0 && value <= 1e6;
}

static bool is_share(double value) {
    return value >= 0 && value <= 1;
}

static enum luxfall_status check_dome(const struct luxfall_package *p, struct luxfall_error *error) {
    if (!(p->dome_height_mm > p->depth_mm * (1 + 1e-9)))
        return fail(error, LUXFALL_E_VALUE, 0,
                    "the top of the dome, at %.6g mm, must stand over its foot, at %.6g mm", p->dome_height_mm,
                    p->depth_mm);
    if (p->dome_mm < p->opening_mm * (1 - 1e-12) && p->depth_mm > 0)
        return fail(error, LUXFALL_E_VALUE, 0, "a dome of %.6g mm does not cover a cup that is %.6g mm wide",
                    p->dome_mm, p->opening_mm);
    return LUXFALL_OK;
}

static enum luxfall_status check_cup(const struct luxfall_package *p, struct luxfall_error *error) {
    if (!(p->floor_mm > 0 && p->opening_mm >= p->floor_mm))
        return fail(error, LUXFALL_E_VALUE, 0, "a cup opens from its floor, %.6g mm, to its rim, %.6g mm",
                    p->floor_mm, p->opening_mm);
    return LUXFALL_OK;
}

enum luxfall_status package_validate(const struct luxfall_emitter *emitter, struct luxfall_error *error) {
    const struct luxfall_package *p = &emitter->package;
    const struct luxfall_intensity *intensity = &emitter->intensity;
    if (!(is_length(p->dome_mm) && is_length(p->dome_height_mm) && is_length(p->floor_mm) &&
          is_length(p->opening_mm) && is_length(p->depth_mm) && is_length(p->die_height_mm) &&
          is_length(fabs(p->die_x_mm)) && is_length(fabs(p->die_y_mm))))
        return fail(error, LUXFALL_E_VALUE, 0, "the sizes of a package must be 0 or more, and no more than 1 km");
    if (!(is_share(p->wall) && is_share(p->bottom)))
        return fail(error, LUXFALL_E_VALUE, 0, "what the cup sends back must be 0 to 100 %%");
    if (!(p->die_lean_rad >= 0 && p->die_lean_rad <= LEAN_MAX_RAD * (1 + 1e-12) && isfinite(p->die_lean_azimuth_rad)))
        return fail(error, LUXFALL_E_VALUE, 0, "a die leans by 0 to 30 deg");
    if (intensity->kind != LUXFALL_COSINE || fabs(intensity->viewing_angle_rad - 4 * LEAN_MAX_RAD) > 1e-9)
        return fail(error, LUXFALL_E_VALUE, 0,
                    "packed dies are lambertian inside, and the package makes the intensity");
    enum luxfall_status status = p->depth_mm > 0 ? check_cup(p, error) : LUXFALL_OK;
    if (status == LUXFALL_OK && p->dome_mm > 0)
        status = check_dome(p, error);
    if (status == LUXFALL_OK)
        status = material_validate(&p->material, error);
    return status == LUXFALL_OK ? check_dies(emitter, error) : status;
}

/* ---- patches --------------------------------------------------------------------------------------------------- */

static void add(struct optic *optic, struct patch patch, int down, int up) {
    patch.down = down;
    patch.up = up;
    patch.loss = LUXFALL_LOSS_SOURCE;
    optic->patches[optic->patch_count++] = patch;
}

/* Sends back a share, absorbs the rest. */
static struct patch reflecting(struct patch patch, double share, bool mirror) {
    patch.deed = share == 0 ? PATCH_STOP : mirror ? PATCH_MIRROR : PATCH_LAMBERTIAN;
    patch.comes_back = share;
    return patch;
}

static void add_dome(const struct luxfall_package *p, struct optic *out) {
    const struct dome dome = dome_of(p);
    struct patch cap = patch_conic(dome.top_mm, -1 / dome.radius_mm, 0);
    cap.radius_high_mm = dome.half_mm;
    cap.z_low_mm = dome.collar_mm;
    cap.z_high_mm = dome.top_mm;
    add(out, cap, RESIN, AIR);
    if (dome.collar_mm > dome.foot_mm)
        add(out, patch_tube(dome.half_mm, dome.foot_mm, dome.collar_mm), RESIN, AIR);
    if (p->depth_mm > 0 && p->dome_mm > p->opening_mm)
        add(out, reflecting(patch_ring(p->depth_mm, p->opening_mm / 2, dome.half_mm), p->wall, p->wall_mirror),
            BEHIND, RESIN);
}

static void add_cup(const struct luxfall_package *p, struct optic *out) {
    struct patch wall = p->floor_mm == p->opening_mm ? patch_cylinder(p->floor_mm / 2)
                                                     : patch_cone(0, p->floor_mm / 2, p->depth_mm, p->opening_mm / 2);
    wall.z_low_mm = 0;
    wall.z_high_mm = p->depth_mm;
    add(out, reflecting(wall, p->wall, p->wall_mirror), RESIN, BEHIND);
}

enum luxfall_status package_optic(const struct luxfall_package *p, double wavelength_um, struct optic *out,
                                  struct luxfall_error *error) {
    double index, floor_mm = p->depth_mm > 0 ? p->floor_mm : p->dome_mm;
    enum luxfall_status status = luxfall_material_index(&p->material, wavelength_um, &index, error);
    if (status != LUXFALL_OK)
        return status;
    optic_clear(out);
    out->material_count = 3;
    out->materials[AIR] = (struct optic_material){1, 0, true, 0};
    out->materials[RESIN] =
        (struct optic_material){index, luxfall_material_absorption_per_mm(&p->material), false, LUXFALL_LOSS_SOURCE};
    out->materials[BEHIND] = (struct optic_material){1, 0, false, 0};
    out->emitter_material = RESIN;
    add(out, reflecting(patch_ring(0, 0, floor_mm / 2), p->bottom, false), BEHIND, RESIN);
    if (p->depth_mm > 0)
        add_cup(p, out);
    if (p->dome_mm > 0)
        add_dome(p, out);
    else
        add(out, patch_ring(p->depth_mm, 0, p->opening_mm / 2), RESIN, AIR);
    out->size_mm = luxfall_package_top_mm(p) + fmax(p->dome_mm, p->opening_mm);
    return LUXFALL_OK;
}
