#include "tracing/assembly.h"

#include "fail.h"
#include "lenses/package.h"
#include "lenses/vector3.h"
#include "numbers/vec.h"

#include <string.h>

static const double LEAN_MAX_RAD = 30 * PI / 180;

bool assembly_same(const struct luxfall_assembly *a, const struct luxfall_assembly *b) {
    return a->die_x_mm == b->die_x_mm && a->die_y_mm == b->die_y_mm && a->seat_mm == b->seat_mm &&
           a->decentre_x_mm == b->decentre_x_mm && a->decentre_y_mm == b->decentre_y_mm &&
           a->lean_rad == b->lean_rad && (a->lean_rad == 0 || a->lean_azimuth_rad == b->lean_azimuth_rad);
}

bool assembly_is_drawn(const struct luxfall_assembly *built) {
    return assembly_same(built, &(struct luxfall_assembly){0});
}

enum luxfall_status assembly_validate(const struct luxfall_assembly *built, struct luxfall_error *error) {
    const double lengths_mm[] = {built->die_x_mm, built->die_y_mm, built->seat_mm, built->decentre_x_mm,
                                 built->decentre_y_mm};
    for (size_t i = 0; i < sizeof lengths_mm / sizeof *lengths_mm; i++)
        if (!(fabs(lengths_mm[i]) <= LUXFALL_ASSEMBLY_MAX_MM))
            return fail(error, LUXFALL_E_VALUE, 0, "a shift or a seat must lie within %d mm",
                        LUXFALL_ASSEMBLY_MAX_MM);
    if (!(built->lean_rad >= 0 && built->lean_rad <= LEAN_MAX_RAD * (1 + 1e-12) && isfinite(built->lean_azimuth_rad)))
        return fail(error, LUXFALL_E_VALUE, 0, "a lens leans by 0 to 30 deg");
    return LUXFALL_OK;
}

/* ---- frames ---------------------------------------------------------------------------------------------------- */

struct turn turn_by(double angle_rad, double azimuth_rad) {
    const struct luxfall_vec hinge = {-sin(azimuth_rad), cos(azimuth_rad), 0};
    const struct luxfall_vec own[3] = {{1, 0, 0}, {0, 1, 0}, {0, 0, 1}};
    struct turn out;
    for (int k = 0; k < 3; k++) {
        struct luxfall_vec turned = vec_turn(own[k], hinge, angle_rad);
        out.row[0][k] = turned.x;
        out.row[1][k] = turned.y;
        out.row[2][k] = turned.z;
    }
    return out;
}

/* METHODS eq. (90). */
struct mounting mounting_of(const struct luxfall_assembly *built, double end_mm) {
    return (struct mounting){.drawn = assembly_is_drawn(built),
                             .turn = turn_by(built->lean_rad, built->lean_azimuth_rad),
                             .die_mm = {built->die_x_mm, built->die_y_mm, 0},
                             .foot_mm = {built->decentre_x_mm, built->decentre_y_mm, built->seat_mm},
                             .end_mm = end_mm};
}

void turn_rays(const struct turn *turn, const double step_mm[3], struct ray_batch *rays) {
    float t[3][3], s[3];
    for (int i = 0; i < 3; i++) {
        s[i] = (float)step_mm[i];
        for (int k = 0; k < 3; k++)
            t[i][k] = (float)turn->row[i][k];
    }
    int whole = (rays->count + 15) / 16 * 16;
    for (int i = 0; i < whole; i++) {
        float x = rays->x[i], y = rays->y[i], z = rays->z[i], u = rays->dx[i], v = rays->dy[i], w = rays->dz[i];
        rays->x[i] = t[0][0] * x + t[0][1] * y + t[0][2] * z + s[0];
        rays->y[i] = t[1][0] * x + t[1][1] * y + t[1][2] * z + s[1];
        rays->z[i] = t[2][0] * x + t[2][1] * y + t[2][2] * z + s[2];
        rays->dx[i] = t[0][0] * u + t[0][1] * v + t[0][2] * w;
        rays->dy[i] = t[1][0] * u + t[1][1] * v + t[1][2] * w;
        rays->dz[i] = t[2][0] * u + t[2][1] * v + t[2][2] * w;
    }
}

static struct turn back_of(const struct turn *turn) {
    struct turn out;
    for (int i = 0; i < 3; i++)
        for (int k = 0; k < 3; k++)
            out.row[i][k] = turn->row[k][i];
    return out;
}

/* METHODS eq. (90), (91). */
static void into_lens(const struct mounting *m, double x_mm, double y_mm, double z_mm, double out[3]) {
    const double from_foot[3] = {x_mm + m->die_mm[0] - m->foot_mm[0], y_mm + m->die_mm[1] - m->foot_mm[1],
                                 z_mm + m->die_mm[2] - m->foot_mm[2]};
    const struct turn back = back_of(&m->turn);
    for (int i = 0; i < 3; i++)
        out[i] = dot3(back.row[i], from_foot);
}

void mounting_enter(const struct mounting *m, struct ray_batch *rays) {
    const struct turn back = back_of(&m->turn);
    double step_mm[3];
    into_lens(m, 0, 0, 0, step_mm);
    turn_rays(&back, step_mm, rays);
}

void mounting_leave(const struct mounting *m, struct ray_batch *rays) {
    double step_mm[3];
    for (int i = 0; i < 3; i++)
        step_mm[i] = m->foot_mm[i] + m->turn.row[i][2] * m->end_mm;
    step_mm[2] -= m->end_mm;
    turn_rays(&m->turn, step_mm, rays);
}

void mounting_place(const struct mounting *m, struct source_area *area) {
    area->turned = !m->drawn;
    for (int i = 0; i < 3; i++) {
        area->step_mm[i] = m->drawn ? 0 : m->foot_mm[i] - m->die_mm[i];
        for (int k = 0; k < 3; k++)
            area->row[i][k] = m->drawn ? i == k : m->turn.row[i][k];
    }
}

/* ---- where the emitter lies ------------------------------------------------------------------------------------ */

/* The material at a place, by what the nearest patch straight above it parts; below nothing lies the air. A place on
 * a surface belongs to what is under it. */
static int material_at(const struct optic *optic, const double at_mm[3]) {
    const double up[3] = {0, 0, 1};
    double nearest = INFINITY, slack_mm = 1e-9 * optic->size_mm, t;
    int material = 0;
    for (int i = 0; i < optic->patch_count; i++)
        for (int rising = 0; rising < 2; rising++)
            if (patch_cross(&optic->patches[i], at_mm, up, rising, false, slack_mm, &t) && t < nearest) {
                nearest = t;
                material = rising ? optic->patches[i].down : optic->patches[i].up;
            }
    return material;
}

/* Points that tell whether a die lies in the air: its middle, its rim, and what of it is nearest to and farthest from
 * the lens's axis. */
enum { DIE_POINTS = 18 };
struct die_points {
    double x[DIE_POINTS], y[DIE_POINTS];
};

static struct die_points points_of(const struct luxfall_face *die, double axis_x, double axis_y) {
    struct die_points out = {{0}, {0}};
    double half_x = die->width_mm / 2, half_y = die->height_mm / 2, away = hypot(axis_x, axis_y);
    if (die->kind == LUXFALL_POINT)
        return out;
    bool round = die->kind == LUXFALL_DISC;
    for (int k = 0; k < 16; k++) {
        double c = cos(k * PI / 8), s = sin(k * PI / 8), reach = round ? 1 : 1 / fmax(fabs(c), fabs(s));
        out.x[k] = half_x * c * reach;
        out.y[k] = half_y * s * reach;
    }
    double inwards = round ? fmin(1, half_x / fmax(away, 1e-300)) : 1;
    out.x[16] = fmin(fmax(inwards * axis_x, -half_x), half_x);
    out.y[16] = fmin(fmax(inwards * axis_y, -half_y), half_y);
    if (round && away > 0) {
        out.x[17] = -half_x * axis_x / away;
        out.y[17] = -half_x * axis_y / away;
    }
    return out;
}

/* A hollow with an air of its own is told from the rest no more. */
static void join_airs(struct optic *optic) {
    for (int i = 0; i < optic->patch_count; i++) {
        struct patch *patch = &optic->patches[i];
        patch->up = optic->materials[patch->up].open ? 0 : patch->up;
        patch->down = optic->materials[patch->down].open ? 0 : patch->down;
    }
    optic->emitter_material = 0;
}

/* False: glass is there. */
static bool takes_air(struct optic *optic, const double at_mm[3]) {
    int material = material_at(optic, at_mm);
    if (!optic->materials[material].open)
        return false;
    if (material != optic->emitter_material || at_mm[2] < 0)
        join_airs(optic);
    return true;
}

/* False: the die at this place touches glass. */
static bool die_in_air(const struct mounting *m, const struct luxfall_face *die, double x_mm, double y_mm,
                       struct optic *optic) {
    struct die_points points =
        points_of(die, m->foot_mm[0] - m->die_mm[0] - x_mm, m->foot_mm[1] - m->die_mm[1] - y_mm);
    for (int k = 0; k < DIE_POINTS; k++) {
        double at_mm[3];
        into_lens(m, x_mm + points.x[k], y_mm + points.y[k], 0, at_mm);
        if (!takes_air(optic, at_mm))
            return false;
    }
    return true;
}

/* Is there a surface of the lens on the way? The mouth of a hollow, between two airs, is none. */
static bool way_is_free(const struct optic *optic, const double from_mm[3], const double to_mm[3]) {
    double way[3], length = 0, t;
    for (int i = 0; i < 3; i++)
        way[i] = to_mm[i] - from_mm[i];
    length = sqrt(dot3(way, way));
    for (int i = 0; i < 3 && length > 0; i++)
        way[i] /= length;
    for (int i = 0; i < optic->patch_count && length > 0; i++) {
        const struct patch *p = &optic->patches[i];
        bool mouth = p->deed == PATCH_CLEAR && optic->materials[p->up].open && optic->materials[p->down].open;
        for (int rising = 0; rising < 2 && !mouth; rising++)
            if (patch_cross(p, from_mm, way, rising, false, 0, &t) && t < length)
                return false;
    }
    return true;
}

/* Lines up the outside of the package, one towards each azimuth: first the one towards the lens's axis. */
static bool package_in_air(const struct mounting *m, const struct luxfall_package *package, struct optic *optic) {
    enum { LINES = 16, STEPS = 12 };
    double towards = atan2(m->foot_mm[1] - m->die_mm[1], m->foot_mm[0] - m->die_mm[0]);
    for (int line = 0; line < LINES; line++) {
        double c = cos(towards + 2 * PI * line / LINES), s = sin(towards + 2 * PI * line / LINES);
        double before[3] = {0, 0, 0}, at[3];
        for (int step = 0; step <= STEPS; step++) {
            double z_mm = luxfall_package_top_mm(package) * sin(PI / 2 * step / STEPS);
            double r_mm = package_radius_mm(package, z_mm);
            into_lens(m, r_mm * c, r_mm * s, z_mm, at);
            if (!takes_air(optic, at) || (step > 0 && !way_is_free(optic, before, at)))
                return false;
            memcpy(before, at, sizeof before);
        }
    }
    return true;
}

/* Does light that goes straight up come to the lens? */
static bool lies_under_lens(const struct mounting *m) {
    double at_mm[3];
    into_lens(m, 0, 0, 0, at_mm);
    return m->drawn || at_mm[2] < m->end_mm;
}

/* The rows and columns outside, which are the farthest from the lens's axis, and the row that is nearest to it. */
enum luxfall_status mounting_fit(const struct mounting *m, const struct luxfall_emitter *emitter, struct optic *optic,
                                 struct luxfall_error *error) {
    const int columns = emitter->columns, rows = emitter->rows;
    const struct luxfall_package *package = &emitter->package;
    if (!lies_under_lens(m))
        return fail(error, LUXFALL_E_VALUE, 0, "the emitter would lie over the lens, which is %.4g mm high",
                    m->end_mm);
    if (luxfall_packed(package))
        return package_in_air(m, package, optic)
                   ? LUXFALL_OK
                   : fail(error, LUXFALL_E_VALUE, 0,
                          "the package of the LED, %.4g mm wide and %.4g mm high, would reach into the lens",
                          fmax(package->dome_mm, package->opening_mm), luxfall_package_top_mm(package));
    for (int row = 0; row < rows; row++) {
        double y_mm = (row - (rows - 1) / 2.0) * emitter->pitch_y_mm;
        bool whole = row == 0 || row == rows - 1 || fabs(y_mm + m->die_mm[1] - m->foot_mm[1]) <= emitter->pitch_y_mm;
        for (int column = 0; column < columns; column += whole || columns == 1 ? 1 : columns - 1) {
            double x_mm = (column - (columns - 1) / 2.0) * emitter->pitch_x_mm;
            if (!die_in_air(m, &emitter->die, x_mm, y_mm, optic))
                return fail(error, LUXFALL_E_VALUE, 0,
                            "the die at (%.4g, %.4g) mm on the board would reach into the lens or its wall",
                            x_mm + m->die_mm[0], y_mm + m->die_mm[1]);
        }
    }
    return LUXFALL_OK;
}

/* ---- symmetry -------------------------------------------------------------------------------------------------- */

/* METHODS eq. (92). */
static bool image_keeps(int image, double x, double y) {
    double slack = 1e-9 * (fabs(x) + fabs(y));
    double along = image & 1 ? -x : x, across = image & 2 ? -y : y;
    double seen_x = image & 4 ? across : along, seen_y = image & 4 ? along : across;
    return fabs(seen_x - x) <= slack && fabs(seen_y - y) <= slack;
}

static bool image_keeps_lean(int image, double lean_rad, double azimuth_rad) {
    return image_keeps(image, lean_rad * cos(azimuth_rad), lean_rad * sin(azimuth_rad));
}

static bool image_keeps_package(int image, const struct luxfall_package *p) {
    return !p || !luxfall_packed(p) ||
           (image_keeps(image, p->die_x_mm, p->die_y_mm) &&
            image_keeps_lean(image, p->die_lean_rad, p->die_lean_azimuth_rad));
}

struct image_set assembly_images(const struct luxfall_assembly *built, const struct luxfall_package *package,
                                 int all) {
    struct image_set out = {0};
    for (int image = 0; image < all; image++)
        if (image_keeps(image, built->die_x_mm, built->die_y_mm) &&
            image_keeps(image, built->decentre_x_mm, built->decentre_y_mm) &&
            image_keeps_lean(image, built->lean_rad, built->lean_azimuth_rad) && image_keeps_package(image, package))
            out.image[out.count++] = image;
    return out;
}
