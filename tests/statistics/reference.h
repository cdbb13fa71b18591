/* An independent reckoning of light that is known by angle: its own geometry, quadrature and statistics, written from
 * the definitions in words. It shares nothing with raytrace/ but the shapes of the data in luxfall.h.
 * Lengths in mm, z up, lux out. Plain sums over face points; nothing clever, so that it can be believed. */
#ifndef TESTS_STATISTICS_REFERENCE_H
#define TESTS_STATISTICS_REFERENCE_H

#include "luxfall.h"

#include <math.h>
#include <stdbool.h>
#include <stdlib.h>
#include <string.h>

#define REF_PI 3.14159265358979323846
#define REF_DEG (REF_PI / 180.0)
enum { REF_GAUSS_MAX = 64, REF_ROWS = 25, REF_RIM = 64, REF_READINGS_MAX = REF_ROWS * REF_ROWS + REF_RIM };

typedef struct luxfall_vec ref_vec;

/* ---- small vectors --------------------------------------------------------------------------------------------- */

static inline ref_vec ref_sum(ref_vec a, double t, ref_vec b) {
    return (ref_vec){a.x + t * b.x, a.y + t * b.y, a.z + t * b.z};
}

static inline double ref_dot(ref_vec a, ref_vec b) {
    return a.x * b.x + a.y * b.y + a.z * b.z;
}

static inline ref_vec ref_cross(ref_vec a, ref_vec b) {
    return (ref_vec){a.y * b.z - a.z * b.y, a.z * b.x - a.x * b.z, a.x * b.y - a.y * b.x};
}

static inline ref_vec ref_unit(ref_vec a) {
    double length = sqrt(ref_dot(a, a));
    return (ref_vec){a.x / length, a.y / length, a.z / length};
}

/* ---- Gauss-Legendre on 0..1 by Newton's method on the Legendre polynomial ----------------------------------------
 */

struct ref_gauss {
    int count;
    double at[REF_GAUSS_MAX], weight[REF_GAUSS_MAX];
};

static inline struct ref_gauss ref_gauss_make(int count) {
    struct ref_gauss rule = {.count = count};
    for (int i = 0; i < count; i++) {
        double x = cos(REF_PI * (i + 0.75) / (count + 0.5)), slope = 1.0;
        for (int step = 0; step < 60; step++) {
            double low = 1.0, high = x;
            for (int k = 2; k <= count; k++) {
                double next = ((2 * k - 1) * x * high - (k - 1) * low) / k;
                low = high;
                high = next;
            }
            slope = count * (x * high - low) / (x * x - 1.0);
            double move = high / slope;
            x -= move;
            if (fabs(move) < 1e-16)
                break;
        }
        rule.at[i] = 0.5 * (1.0 - x);
        rule.weight[i] = 1.0 / ((1.0 - x * x) * slope * slope);
    }
    return rule;
}

/* ---- how a source shines -----------------------------------------------------------------------------------------
 */

struct ref_law {
    enum { REF_COSINE, REF_BEAM, REF_CURVE } kind;
    double cosine_power;
    double width, power, skirt, share; /* beam: radians; share of I(0) in the skirt */
    const struct luxfall_intensity *curve;
};

static inline double ref_bell(double angle, double width, double power) {
    return exp(-log(2.0) * pow(2.0 * angle / width, power));
}

static inline double ref_curve_at(const struct luxfall_intensity *curve, double angle) {
    for (size_t i = 1; i < curve->curve_count; i++) {
        double low = curve->curve_angle_rad[i - 1], high = curve->curve_angle_rad[i];
        if (angle <= high)
            return curve->curve_relative[i - 1] +
                   (curve->curve_relative[i] - curve->curve_relative[i - 1]) * (angle - low) / (high - low);
    }
    return 0.0;
}

static inline double ref_shape(const struct ref_law *law, double angle) {
    if (law->kind == REF_COSINE)
        return pow(fmax(cos(angle), 0.0), law->cosine_power);
    if (law->kind == REF_CURVE)
        return ref_curve_at(law->curve, angle);
    double core = law->power == 2.0 ? exp(-4.0 * log(2.0) * angle * angle / (law->width * law->width))
                                    : ref_bell(angle, law->width, law->power);
    return law->share == 0.0 ? core : (1.0 - law->share) * core + law->share * ref_bell(angle, law->skirt, 2.0);
}

/* 2 pi int I(a) sin a da between two angles, in even pieces. */
static inline double ref_cone(const struct ref_law *law, double from, double to) {
    enum { PIECES = 720 };
    struct ref_gauss rule = ref_gauss_make(6);
    double sum = 0.0, step = (to - from) / PIECES;
    for (int i = 0; i < PIECES; i++)
        for (int k = 0; k < rule.count; k++) {
            double angle = from + (i + rule.at[k]) * step;
            sum += rule.weight[k] * step * ref_shape(law, angle) * sin(angle);
        }
    return 2.0 * REF_PI * sum;
}

/* The flux of a shape over the hemisphere per unit of I(0); a curve point by point, so that no piece holds a kink. */
static inline double ref_hemisphere(const struct ref_law *law) {
    if (law->kind != REF_CURVE)
        return ref_cone(law, 0.0, 0.5 * REF_PI);
    double sum = 0.0;
    for (size_t i = 1; i < law->curve->curve_count; i++)
        sum += ref_cone(law, law->curve->curve_angle_rad[i - 1], law->curve->curve_angle_rad[i]);
    return sum;
}

/* ---- the datasheet beam, solved from its figures ------------------------------------------------------------------
 */

/* With the skirt's share given, the core that puts the half (and the tenth, when a field angle is given) in place. */
static inline void ref_beam_core(struct ref_law *law, const struct luxfall_beam *beam, double share) {
    double half = 0.5 * beam->beam_angle_rad, tenth = 0.5 * beam->field_angle_rad;
    law->share = share;
    double low = share > 0.0 ? share * ref_bell(half, law->skirt, 2.0) : 0.0;
    double fall_half = -log((0.5 - low) / (1.0 - share)) / log(2.0);
    if (beam->field_angle_rad > 0.0) {
        low = share > 0.0 ? share * ref_bell(tenth, law->skirt, 2.0) : 0.0;
        double fall_tenth = -log((0.1 - low) / (1.0 - share)) / log(2.0);
        law->power = log(fall_tenth / fall_half) / log(tenth / half);
    }
    law->width = 2.0 * half / pow(fall_half, 1.0 / law->power);
}

/* The share at which I(0) times the shape's flux makes the lens lumens: the flux grows with the share. */
static inline void ref_beam_with_skirt(struct ref_law *law, const struct luxfall_beam *beam) {
    double wide = fmin(fmax(3.0 * beam->beam_angle_rad, 60.0 * REF_DEG), 120.0 * REF_DEG);
    law->skirt = beam->skirt_rad > 0.0 ? beam->skirt_rad : wide;
    double low = 0.0, high = 0.5 / ref_bell(0.5 * beam->beam_angle_rad, law->skirt, 2.0);
    if (beam->field_angle_rad > 0.0)
        high = fmin(high, 0.1 / ref_bell(0.5 * beam->field_angle_rad, law->skirt, 2.0));
    for (int i = 0; i < 60; i++) {
        double share = 0.5 * (low + high);
        ref_beam_core(law, beam, share);
        if (beam->peak_cd_per_lm * ref_hemisphere(law) < beam->efficiency)
            low = share;
        else
            high = share;
    }
}

static inline void ref_beam_sharpened(struct ref_law *law, const struct luxfall_beam *beam) {
    double low = 2.0, high = 14.0;
    for (int i = 0; i < 60; i++) {
        law->power = 0.5 * (low + high);
        if (beam->peak_cd_per_lm * ref_hemisphere(law) < beam->efficiency)
            high = law->power;
        else
            low = law->power;
    }
}

static inline struct ref_law ref_beam_law(const struct luxfall_beam *beam) {
    struct ref_law law = {.kind = REF_BEAM, .power = 2.0, .width = beam->beam_angle_rad};
    ref_beam_core(&law, beam, 0.0);
    if (beam->peak_cd_per_lm <= 0.0)
        return law;
    if (beam->peak_cd_per_lm * ref_hemisphere(&law) < beam->efficiency)
        ref_beam_with_skirt(&law, beam);
    else
        ref_beam_sharpened(&law, beam);
    return law;
}

static inline struct ref_law ref_intensity_law(const struct luxfall_intensity *intensity) {
    struct ref_law law = {.kind = REF_CURVE, .curve = intensity};
    if (intensity->kind == LUXFALL_COSINE) {
        law.kind = REF_COSINE;
        law.cosine_power = -log(2.0) / log(cos(0.5 * intensity->viewing_angle_rad));
    }
    return law;
}

/* ---- where modules stand ------------------------------------------------------------------------------------------
 */

static inline ref_vec ref_stand(const struct luxfall_placement *p, int member) {
    double azimuth = p->azimuth_rad, along;
    switch (p->kind) {
    case LUXFALL_AT_RING:
        azimuth += 2.0 * REF_PI * member / p->count;
        /* fall through */
    case LUXFALL_AT_SINGLE:
        along = p->distance_mm * sin(p->incidence_rad);
        return (ref_vec){along * cos(azimuth), along * sin(azimuth), p->distance_mm * cos(p->incidence_rad)};
    case LUXFALL_AT_LINE:
        along = (member - 0.5 * (p->count - 1)) * p->pitch_x_mm;
        return (ref_vec){along * cos(azimuth), along * sin(azimuth), p->height_mm};
    case LUXFALL_AT_GRID:
        return (ref_vec){(member % p->columns - 0.5 * (p->columns - 1)) * p->pitch_x_mm,
                         (member / p->columns - 0.5 * (p->rows - 1)) * p->pitch_y_mm, p->height_mm};
    default:
        return p->at_mm;
    }
}

static inline ref_vec ref_axis(const struct luxfall_placement *p, ref_vec at) {
    ref_vec foot = {at.x, at.y, 0.0}, spot = {0.0, 0.0, 0.0};
    if (p->aim == LUXFALL_AIM_DOWN)
        return (ref_vec){0.0, 0.0, -1.0};
    if (p->aim == LUXFALL_AIM_SHORT)
        spot = ref_sum(spot, p->aim_mm, ref_unit(foot));
    if (p->aim == LUXFALL_AIM_PAST)
        spot = ref_sum(spot, -p->aim_mm, ref_unit(foot));
    if (p->aim == LUXFALL_AIM_POINT)
        spot = (ref_vec){p->aim_x_mm, p->aim_y_mm, 0.0};
    return ref_unit(ref_sum(spot, -1.0, at));
}

/* Turns v by an angle from one unit vector towards another, perpendicular, one. */
static inline ref_vec ref_turn(ref_vec v, ref_vec from, ref_vec towards, double angle) {
    double a = ref_dot(v, from), b = ref_dot(v, towards);
    v = ref_sum(v, a * (cos(angle) - 1.0) - b * sin(angle), from);
    return ref_sum(v, b * (cos(angle) - 1.0) + a * sin(angle), towards);
}

static inline struct luxfall_pose ref_pose(const struct luxfall_placement *p, int member) {
    struct luxfall_pose pose = {.at_mm = ref_stand(p, member)};
    ref_vec axis = ref_axis(p, pose.at_mm), side = {-axis.y, axis.x, 0.0};
    side = hypot(axis.x, axis.y) > 1e-9 ? ref_unit(side) : (ref_vec){1.0, 0.0, 0.0};
    if (p->lean_rad != 0.0) {
        ref_vec azimuth = {cos(p->lean_azimuth_rad), sin(p->lean_azimuth_rad), 0.0};
        ref_vec towards = ref_unit(ref_sum(azimuth, -ref_dot(azimuth, axis), axis));
        side = ref_turn(side, axis, towards, p->lean_rad);
        axis = ref_turn(axis, axis, towards, p->lean_rad);
    }
    ref_vec up_side = ref_cross(side, axis); /* a quarter turn counter-clockwise from `side`, seen from above */
    pose.axis = axis;
    pose.x = ref_turn(side, side, up_side, p->roll_rad);
    pose.y = ref_cross(axis, pose.x);
    return pose;
}

/* ---- the lamps and what they send to a point ----------------------------------------------------------------------
 */

struct ref_lamp {
    struct ref_law law;
    double candela; /* I(0) of the whole face */
    ref_vec axis;
    int count;
    ref_vec *at;   /* points of the face */
    double *share; /* of each in the flux */
};

struct ref_light {
    size_t count;
    struct ref_lamp *lamps;
    double emitted_lm, leaving_lm;
};

/* Points of a face: rings of Gauss-Legendre areas, or a Gauss-Legendre product; fill counts up from `first`. */
static inline int ref_face(struct ref_lamp *lamp, int first, const struct luxfall_face *face, int nodes,
                           const struct luxfall_pose *pose, double part) {
    struct ref_gauss rule = ref_gauss_make(nodes);
    int rings = face->kind == LUXFALL_POINT ? 1 : nodes;
    int spokes = face->kind == LUXFALL_DISC ? 2 * nodes + 1 : rings;
    for (int i = 0; i < rings; i++)
        for (int k = 0; k < spokes; k++) {
            double u = 0.0, v = 0.0, share = 1.0;
            if (face->kind == LUXFALL_DISC) {
                double radius = 0.5 * face->width_mm * sqrt(rule.at[i]), turn = 2.0 * REF_PI * (k + 0.5 * i) / spokes;
                u = radius * cos(turn);
                v = radius * sin(turn);
                share = rule.weight[i] / spokes;
            } else if (face->kind == LUXFALL_RECTANGLE) {
                u = (rule.at[i] - 0.5) * face->width_mm;
                v = (rule.at[k] - 0.5) * face->height_mm;
                share = rule.weight[i] * rule.weight[k];
            }
            lamp->at[first] = ref_sum(ref_sum(pose->at_mm, u, pose->x), v, pose->y);
            lamp->share[first++] = share * part;
        }
    return first;
}

static inline void ref_dies(struct ref_lamp *lamp, const struct luxfall_emitter *e, int nodes,
                            const struct luxfall_pose *pose) {
    for (int row = 0; row < e->rows; row++)
        for (int column = 0; column < e->columns; column++) {
            struct luxfall_pose die = *pose;
            die.at_mm = ref_sum(die.at_mm, (column - 0.5 * (e->columns - 1)) * e->pitch_x_mm, pose->x);
            die.at_mm = ref_sum(die.at_mm, (row - 0.5 * (e->rows - 1)) * e->pitch_y_mm, pose->y);
            lamp->count = ref_face(lamp, lamp->count, &e->die, nodes, &die, 1.0 / (e->columns * e->rows));
        }
}

static inline void ref_lamp_make(struct ref_lamp *lamp, const struct luxfall_scene *scene,
                                 const struct luxfall_module *m, const struct luxfall_pose *pose, int nodes) {
    const struct luxfall_emitter *emitter = &scene->emitters[m->emitter];
    const struct luxfall_beam *beam = m->lens == LUXFALL_NO_LENS ? NULL : &scene->lenses[m->lens].beam;
    size_t room = (size_t)(nodes * (2 * nodes + 1)) * (size_t)(beam ? 1 : emitter->columns * emitter->rows);
    lamp->law = beam ? ref_beam_law(beam) : ref_intensity_law(&emitter->intensity);
    lamp->axis = pose->axis;
    lamp->candela = m->scale * emitter->flux_lm * (beam ? beam->efficiency : 1.0) / ref_hemisphere(&lamp->law);
    lamp->at = calloc(room, sizeof *lamp->at);
    lamp->share = calloc(room, sizeof *lamp->share);
    if (beam)
        lamp->count = ref_face(lamp, 0, &beam->face, nodes, pose, 1.0);
    else
        ref_dies(lamp, emitter, nodes, pose);
}

/* poses: one for each module; NULL takes the scene's own. nodes: points across a face. */
static inline struct ref_light ref_light_make(const struct luxfall_scene *scene, const struct luxfall_pose *poses,
                                              int nodes) {
    struct ref_light light = {0};
    light.lamps = calloc(scene->module_count, sizeof *light.lamps);
    for (size_t i = 0; i < scene->module_count; i++) {
        const struct luxfall_module *m = &scene->modules[i];
        if (m->dark)
            continue;
        ref_lamp_make(&light.lamps[light.count++], scene, m, poses ? &poses[i] : &m->pose, nodes);
        double flux = m->scale * scene->emitters[m->emitter].flux_lm;
        light.emitted_lm += flux;
        light.leaving_lm += flux * (m->lens == LUXFALL_NO_LENS ? 1.0 : scene->lenses[m->lens].beam.efficiency);
    }
    return light;
}

static inline void ref_light_free(struct ref_light *light) {
    for (size_t i = 0; i < light->count; i++) {
        free(light->lamps[i].at);
        free(light->lamps[i].share);
    }
    free(light->lamps);
}

/* E = sum of I(a) cos(incidence) / r^2 over the points of all faces. */
static inline double ref_lux(const struct ref_light *light, double x, double y, double z) {
    double sum = 0.0;
    for (size_t i = 0; i < light->count; i++) {
        const struct ref_lamp *lamp = &light->lamps[i];
        for (int k = 0; k < lamp->count; k++) {
            ref_vec d = ref_sum((ref_vec){x, y, z}, -1.0, lamp->at[k]);
            double square = ref_dot(d, d), range = sqrt(square), ahead = ref_dot(d, lamp->axis) / range;
            if (d.z >= 0.0 || ahead <= 0.0)
                continue;
            double angle = ahead < 0.9 ? acos(ahead) : asin(sqrt(fmax(0.0, 1.0 - ahead * ahead)));
            sum += lamp->candela * lamp->share[k] * ref_shape(&lamp->law, angle) * (-d.z / range) / square;
        }
    }
    return 1e6 * sum; /* per mm^2 to per m^2 */
}

/* Mean over a disc: rings of equal Gauss areas. */
static inline double ref_reading(const struct ref_light *light, double x, double y, double z, double diameter) {
    enum { RINGS = 2, SPOKES = 6 };
    struct ref_gauss rule = ref_gauss_make(RINGS);
    double sum = 0.0;
    for (int i = 0; i < RINGS; i++)
        for (int k = 0; k < SPOKES; k++) {
            double r = 0.5 * diameter * sqrt(rule.at[i]), turn = 2.0 * REF_PI * (k + 0.5 * (i & 1)) / SPOKES;
            sum += rule.weight[i] / SPOKES * ref_lux(light, x + r * cos(turn), y + r * sin(turn), z);
        }
    return sum;
}

/* Lumens on an upright rectangle, pieces x pieces panels of 8 x 8 points. */
static inline double ref_rectangle_flux(const struct ref_light *light, double x, double y, double width,
                                        double height, double z, int pieces) {
    struct ref_gauss rule = ref_gauss_make(8);
    int across = pieces * rule.count;
    double sum = 0.0;
#pragma omp parallel for reduction(+ : sum)
    for (int i = 0; i < across; i++)
        for (int k = 0; k < across; k++) {
            double u = (i / rule.count + rule.at[i % rule.count]) / pieces - 0.5;
            double v = (k / rule.count + rule.at[k % rule.count]) / pieces - 0.5;
            double weight = rule.weight[i % rule.count] * rule.weight[k % rule.count] / (pieces * pieces);
            sum += weight * ref_lux(light, x + u * width, y + v * height, z);
        }
    return sum * width * height * 1e-6;
}

static inline double ref_disc_flux(const struct ref_light *light, double x, double y, double diameter, double z) {
    enum { RINGS = 20, SPOKES = 48 };
    struct ref_gauss rule = ref_gauss_make(RINGS);
    double sum = 0.0;
    for (int i = 0; i < RINGS; i++)
        for (int k = 0; k < SPOKES; k++) {
            double r = 0.5 * diameter * sqrt(rule.at[i]), turn = 2.0 * REF_PI * (k + 0.5) / SPOKES;
            sum += rule.weight[i] / SPOKES * ref_lux(light, x + r * cos(turn), y + r * sin(turn), z);
        }
    return sum * 0.25e-6 * REF_PI * diameter * diameter;
}

/* ---- the statistics of a field ------------------------------------------------------------------------------------
 */

struct ref_field {
    double centre_lx, average_lx, minimum_lx, maximum_lx;
    double minimum_over_average, minimum_over_maximum, edge_over_centre, variation;
    double tilt_percent_per_mm, tilt_direction_deg, dome_percent, flux_lm, utilisation;
};

/* Places of the readings from the field's centre, those on the edge marked. */
static inline int ref_places(const struct luxfall_field *f, double *x, double *y, bool *edge) {
    int count = 0;
    for (int row = 0; row < REF_ROWS; row++)
        for (int column = 0; column < REF_ROWS; column++) {
            double u = (column / (REF_ROWS - 1.0) - 0.5) * f->width_mm;
            double v = (row / (REF_ROWS - 1.0) - 0.5) * f->height_mm;
            if (f->round && hypot(u, v) > 0.5 * f->width_mm * (1.0 - 1e-9))
                continue;
            x[count] = u;
            y[count] = v;
            edge[count++] = !f->round && (row % (REF_ROWS - 1) == 0 || column % (REF_ROWS - 1) == 0);
        }
    for (int k = 0; f->round && k < REF_RIM; k++) {
        x[count] = 0.5 * f->width_mm * cos(2.0 * REF_PI * k / REF_RIM);
        y[count] = 0.5 * f->width_mm * sin(2.0 * REF_PI * k / REF_RIM);
        edge[count++] = true;
    }
    return count;
}

/* Least squares of e on 1, x, y, x^2 + y^2 by the normal equations; lengths scaled to about 1 first. */
static inline void ref_surface(int count, const double *x, const double *y, const double *e, double scale,
                               double out[4]) {
    double m[4][5] = {{0}};
    for (int i = 0; i < count; i++) {
        double u = x[i] / scale, v = y[i] / scale, base[4] = {1.0, u, v, u * u + v * v};
        for (int r = 0; r < 4; r++) {
            for (int c = 0; c < 4; c++)
                m[r][c] += base[r] * base[c];
            m[r][4] += base[r] * e[i];
        }
    }
    for (int p = 0; p < 4; p++)
        for (int r = 0; r < 4; r++) {
            double times = r == p ? 0.0 : m[r][p] / m[p][p];
            for (int c = 0; c < 5; c++)
                m[r][c] -= times * m[p][c];
        }
    out[0] = m[0][4] / m[0][0];
    out[1] = m[1][4] / m[1][1] / scale;
    out[2] = m[2][4] / m[2][2] / scale;
    out[3] = m[3][4] / m[3][3] / (scale * scale);
}

static inline void ref_extremes(struct ref_field *out, int count, const double *e, const bool *edge) {
    double mean = 0.0, square = 0.0, lowest_edge = INFINITY;
    out->minimum_lx = INFINITY;
    for (int i = 0; i < count; i++) {
        out->minimum_lx = fmin(out->minimum_lx, e[i]);
        out->maximum_lx = fmax(out->maximum_lx, e[i]);
        mean += e[i] / count;
        if (edge[i])
            lowest_edge = fmin(lowest_edge, e[i]);
    }
    for (int i = 0; i < count; i++)
        square += (e[i] - mean) * (e[i] - mean) / count;
    out->variation = sqrt(square) / mean;
    out->edge_over_centre = lowest_edge / out->centre_lx;
}

static inline struct ref_field ref_field_make(const struct ref_light *light, const struct luxfall_field *f, double z,
                                              int pieces) {
    double x[REF_READINGS_MAX], y[REF_READINGS_MAX], e[REF_READINGS_MAX], surface[4];
    bool edge[REF_READINGS_MAX];
    double disc = f->reading_mm > 0.0 ? f->reading_mm : 0.1 * fmin(f->width_mm, f->height_mm);
    double half_diagonal = f->round ? 0.5 * f->width_mm : 0.5 * hypot(f->width_mm, f->height_mm);
    double area = f->round ? 0.25e-6 * REF_PI * f->width_mm * f->width_mm : 1e-6 * f->width_mm * f->height_mm;
    struct ref_field out = {0};
    int count = ref_places(f, x, y, edge);
#pragma omp parallel for
    for (int i = 0; i < count; i++)
        e[i] = ref_reading(light, f->x_mm + x[i], f->y_mm + y[i], z, disc);
    out.centre_lx = ref_reading(light, f->x_mm, f->y_mm, z, disc);
    out.flux_lm = f->round ? ref_disc_flux(light, f->x_mm, f->y_mm, f->width_mm, z)
                           : ref_rectangle_flux(light, f->x_mm, f->y_mm, f->width_mm, f->height_mm, z, pieces);
    out.average_lx = out.flux_lm / area;
    out.utilisation = out.flux_lm / light->leaving_lm;
    ref_extremes(&out, count, e, edge);
    out.minimum_over_average = out.minimum_lx / out.average_lx;
    out.minimum_over_maximum = out.minimum_lx / out.maximum_lx;
    ref_surface(count, x, y, e, half_diagonal, surface);
    out.tilt_percent_per_mm = 100.0 * hypot(surface[1], surface[2]) / out.average_lx;
    out.tilt_direction_deg = atan2(surface[2], surface[1]) / REF_DEG;
    out.dome_percent = -100.0 * surface[3] * half_diagonal * half_diagonal / out.average_lx;
    return out;
}

/* ---- the map ------------------------------------------------------------------------------------------------------
 */

struct ref_map {
    double peak_lx, peak_x_mm, peak_y_mm, centre_lx, half_diameter_mm, tenth_diameter_mm;
};

/* The brightest disc: the best point of a grid, then steps halved until they are small. */
static inline void ref_peak(const struct ref_light *light, double z, double disc, int n, double w, double h,
                            const double *e, struct ref_map *out) {
    int best = 0;
    for (int i = 0; i < (n + 1) * (n + 1); i++)
        best = e[i] > e[best] ? i : best;
    double x = (best % (n + 1) / (double)n - 0.5) * w, y = (best / (n + 1) / (double)n - 0.5) * h;
    double top = ref_reading(light, x, y, z, disc);
    for (double step = fmax(w, h) / n; step > 1e-3 * fmax(w, h) / n;) {
        double go[4][2] = {{step, 0}, {-step, 0}, {0, step}, {0, -step}};
        bool moved = false;
        for (int k = 0; k < 4 && !moved; k++) {
            double u = fmin(fmax(x + go[k][0], -0.5 * w), 0.5 * w), v = fmin(fmax(y + go[k][1], -0.5 * h), 0.5 * h);
            double now = ref_reading(light, u, v, z, disc);
            if (now > top) {
                top = now;
                x = u;
                y = v;
                moved = true;
            }
        }
        step = moved ? step : 0.5 * step;
    }
    out->peak_lx = top;
    out->peak_x_mm = x;
    out->peak_y_mm = y;
}

/* Diameter of the circle of equal area to what lies above a limit, the grid's squares filled in bilinearly. */
static inline double ref_spot(const double *e, int n, double area_mm2, double limit) {
    enum { SUB = 8 };
    long above = 0;
    for (int row = 0; row < n; row++)
        for (int column = 0; column < n; column++)
            for (int s = 0; s < SUB * SUB; s++) {
                double u = (s % SUB + 0.5) / SUB, v = (s / SUB + 0.5) / SUB;
                const double *at = &e[row * (n + 1) + column];
                double low = at[0] + u * (at[1] - at[0]), high = at[n + 1] + u * (at[n + 2] - at[n + 1]);
                above += low + v * (high - low) > limit;
            }
    return 2.0 * sqrt(area_mm2 * (double)above / ((double)n * n * SUB * SUB) / REF_PI);
}

/* Peak and centre by `light`, the grid of n x n squares by `coarse`: the same lamps with fewer points a face. */
static inline struct ref_map ref_map_make(const struct ref_light *light, const struct ref_light *coarse,
                                          const struct luxfall_target *t, double z, int n) {
    struct ref_map out = {0};
    double w = t->columns * t->cell_mm, h = t->rows * t->cell_mm, disc = fmin(w, h) / 40.0;
    double *e = calloc((size_t)(n + 1) * (size_t)(n + 1), sizeof *e);
#pragma omp parallel for
    for (int i = 0; i < (n + 1) * (n + 1); i++)
        e[i] = ref_lux(coarse, (i % (n + 1) / (double)n - 0.5) * w, (i / (n + 1) / (double)n - 0.5) * h, z);
    ref_peak(light, z, disc, n, w, h, e, &out);
    out.centre_lx = ref_reading(light, 0.0, 0.0, z, disc);
    out.half_diameter_mm = ref_spot(e, n, w * h, 0.5 * out.peak_lx);
    out.tenth_diameter_mm = ref_spot(e, n, w * h, 0.1 * out.peak_lx);
    free(e);
    return out;
}
#endif
