/* Following one ray through an optic. METHODS sec. 5. */
#include "lenses/optic.h"
#include "lenses/mirror.h"
#include "lenses/vector3.h"

#include <math.h>

static const double PI = 3.14159265358979323846;
/* Bounds of patches overlap by this share of the optic: a ray that rounding carries past an edge meets one of the
 * two. */
static const double SLACK_SHARE = 1e-9;

static double draw(struct walk *walk) {
    return 0x1p-32 * ray_numbers_next(&walk->numbers);
}

/* Through which sense the ray could cross a patch from the material that it is in: 1 up, -1 down, 0 both, 2 none. */
static int sense_of(const struct walk *walk, int i) {
    const struct patch *patch = &walk->optic->patches[i];
    bool its = patch->up == walk->material || patch->down == walk->material;
    if (!its || (patch->has_back && !walk->optic->materials[walk->material].open))
        return 2;
    if (patch->up == patch->down || patch->has_back)
        return i != walk->patch ? 0 : walk->above ? -1 : 1;
    return patch->down == walk->material ? 1 : -1;
}

/* Distance to a patch, in either of the senses that count; false: it is not met. */
typedef bool find_patch(const struct walk *walk, int i, bool going_up, double *t_mm);

static bool is_back(const struct walk *walk, const struct patch *patch, bool going_up) {
    return patch->has_back && (going_up ? patch->down : patch->up) != walk->material;
}

/* Where mirrors join, no ray of their fronts is near enough to a back to meet it. */
static bool find_ahead(const struct walk *walk, int i, bool going_up, double *t_mm) {
    const struct patch *patch = &walk->optic->patches[i];
    return patch_cross(patch, walk->path.at_mm, walk->path.direction, going_up, i == walk->patch, walk->slack_mm,
                       t_mm) &&
           !(is_back(walk, patch, going_up) && *t_mm <= walk->slack_mm);
}

static bool find_passed(const struct walk *walk, int i, bool going_up, double *off_mm) {
    return patch_passed(&walk->optic->patches[i], walk->path.at_mm, walk->path.direction, going_up, walk->slack_mm, 0,
                        off_mm);
}

static bool find_slid_along(const struct walk *walk, int i, bool going_up, double *off_mm) {
    const double GRAZING = 1e-2;
    return patch_passed(&walk->optic->patches[i], walk->path.at_mm, walk->path.direction, going_up, walk->slack_mm,
                        -GRAZING, off_mm);
}

/* The nearest of them; -1: none. */
static int nearest_patch(const struct walk *walk, find_patch *find, double *t_mm, bool *going_up) {
    int nearest = -1;
    *t_mm = INFINITY;
    for (int i = 0; i < walk->optic->patch_count; i++) {
        int sense = sense_of(walk, i);
        for (int up = 0; up < 2; up++) {
            double t;
            if (sense == 2 || (sense == 1 && !up) || (sense == -1 && up) || !find(walk, i, up, &t) || !(t < *t_mm))
                continue;
            *t_mm = t;
            *going_up = up;
            nearest = i;
        }
    }
    return nearest;
}

/* Of the size of the optic: as wide as edges are told apart at all. */
static const double EDGE_SHARE = 1e-3;

/* Inside a lens there is always a patch ahead. A ray that entered in the overlap of two bounds, at a slant, may stand
 * further behind the second than bounds overlap: it looks again, as wide as edges are told apart at all; then for
 * what it has passed, which along a ray that grazes may lie far behind. */
int walk_next(const struct walk *walk, double *t_mm, bool *going_up) {
    int nearest = nearest_patch(walk, find_ahead, t_mm, going_up);
    if (nearest >= 0 || walk->optic->materials[walk->material].open)
        return nearest;
    struct walk wide = *walk;
    wide.slack_mm = EDGE_SHARE * walk->optic->size_mm;
    nearest = nearest_patch(&wide, find_ahead, t_mm, going_up);
    if (nearest >= 0)
        return nearest;
    nearest = nearest_patch(&wide, find_passed, t_mm, going_up);
    *t_mm = 0;
    return nearest;
}

/* One that rounding took in at an edge, so that it slides along a face outside of it, has not passed it for good. */
static int next_or_slid(const struct walk *walk, double *t_mm, bool *going_up) {
    int next = walk_next(walk, t_mm, going_up);
    if (next >= 0 || walk->optic->materials[walk->material].open)
        return next;
    struct walk wide = *walk;
    wide.slack_mm = EDGE_SHARE * walk->optic->size_mm;
    next = nearest_patch(&wide, find_slid_along, t_mm, going_up);
    *t_mm = 0;
    return next;
}

/* A unit vector at an angle from an axis. */
static void turned_from(const double axis[3], double cos_angle, double azimuth, double out[3]) {
    struct path frame;
    const double origin[3] = {0, 0, 0};
    double across[3], sin_angle = sqrt(fmax(0, (1 - cos_angle) * (1 + cos_angle)));
    path_start(&frame, origin, axis);
    cross3(axis, frame.reference, across);
    for (int i = 0; i < 3; i++)
        out[i] = cos_angle * axis[i] + sin_angle * (cos(azimuth) * frame.reference[i] + sin(azimuth) * across[i]);
}

/* Scattered light has forgotten how it swung. */
static void scatter_to(struct walk *walk, const double direction[3]) {
    const double at_mm[3] = {walk->path.at_mm[0], walk->path.at_mm[1], walk->path.at_mm[2]};
    path_start(&walk->path, at_mm, direction);
}

/* Angle with a density of sin a exp(-a^2 / 2 s^2): the planar one, thinned by sin a / a. METHODS eq. (65). */
static double gaussian_angle(struct walk *walk, double spread_rad) {
    enum { TRIES = 64 };
    double angle = 0;
    for (int i = 0; i < TRIES; i++) {
        angle = spread_rad * sqrt(-2 * log1p(-draw(walk)));
        if (angle < PI && draw(walk) * angle <= sin(angle))
            return angle;
    }
    return fmin(angle, PI / 2);
}

/* Turns the path by a Gaussian, never through the surface that it has just met. */
static void frost(struct walk *walk, double spread_rad, const double away[3]) {
    enum { TRIES = 16 };
    for (int i = 0; i < TRIES; i++) {
        double direction[3], angle = gaussian_angle(walk, spread_rad);
        turned_from(walk->path.direction, cos(angle), 2 * PI * draw(walk), direction);
        if (dot3(direction, away) > 0) {
            scatter_to(walk, direction);
            return;
        }
    }
}

/* Away from the patch, on the side that the ray is on now. */
static void frost_away(struct walk *walk, const struct patch *patch, const double normal[3]) {
    double side = walk->above ? 1 : -1, away[3] = {side * normal[0], side * normal[1], side * normal[2]};
    frost(walk, patch->spread_rad, away);
}

void walk_cross(struct walk *walk, const struct patch *patch) {
    walk->above = !walk->above;
    walk->material = walk->above ? patch->up : patch->down;
}

/* Back or on by a random number, METHODS eq. (30). */
static void meet_clear(struct walk *walk, const struct patch *patch, double normal[3]) {
    const struct optic_material *materials = walk->optic->materials;
    int beyond = walk->above ? patch->down : patch->up;
    struct meeting meeting;
    meeting_find(&walk->path, normal, materials[walk->material].index / materials[beyond].index, &meeting);
    if (draw(walk) < meeting.reflectance) {
        meeting_reflect(&meeting, &walk->path);
    } else {
        meeting_refract(&meeting, &walk->path);
        walk_cross(walk, patch);
    }
    if (patch->deed == PATCH_FROSTED)
        frost_away(walk, patch, normal);
}

static bool meet_film(struct walk *walk, const struct patch *patch, double normal[3]) {
    double u = draw(walk);
    struct meeting meeting;
    if (u >= patch->passes + patch->comes_back)
        return false;
    if (u < patch->passes) {
        walk_cross(walk, patch);
    } else {
        meeting_find(&walk->path, normal, 1, &meeting);
        meeting_mirror(&meeting, &walk->path);
    }
    frost_away(walk, patch, normal);
    return true;
}

static bool meet_lambertian(struct walk *walk, const struct patch *patch, const double normal[3]) {
    double u = draw(walk);
    if (u >= patch->passes + patch->comes_back)
        return false;
    if (u < patch->passes)
        walk_cross(walk, patch);
    double side = walk->above ? 1 : -1, away[3] = {side * normal[0], side * normal[1], side * normal[2]}, out[3];
    double cos_angle = sqrt(1 - draw(walk));
    turned_from(away, cos_angle, 2 * PI * draw(walk), out);
    scatter_to(walk, out);
    return true;
}

bool walk_meet(struct walk *walk, const struct patch *patch) {
    double normal[3];
    struct meeting meeting;
    patch_normal(patch, walk->path.at_mm, normal);
    switch (patch->deed) {
    case PATCH_CLEAR:
    case PATCH_FROSTED:
        meet_clear(walk, patch, normal);
        return true;
    case PATCH_FILM:
        return meet_film(walk, patch, normal);
    case PATCH_LAMBERTIAN:
        return meet_lambertian(walk, patch, normal);
    case PATCH_MIRROR:
        if (is_back(walk, patch, !walk->above))
            return false;
        meeting_find(&walk->path, normal, 1, &meeting);
        if (draw(walk) >= (patch->mirror ? mirror_share(patch->mirror, meeting.fresnel.cos_in) : patch->comes_back))
            return false;
        meeting_mirror(&meeting, &walk->path);
        return true;
    case PATCH_STOP:
        break;
    }
    return false;
}

static void end_at(struct optic_outcome *out, enum optic_fate fate, int loss) {
    out->fate = fate;
    out->loss = loss;
}

/* Nothing ahead: in the open it is out, upwards; downwards it ends on the board. */
static void leave(const struct walk *walk, struct optic_outcome *out) {
    if (!walk->optic->materials[walk->material].open)
        end_at(out, OPTIC_LOST, 0);
    else if (walk->path.direction[2] > 0)
        end_at(out, OPTIC_EXIT, 0);
    else
        end_at(out, OPTIC_ABSORBED, optic_returned(walk->optic, walk->path.at_mm, walk->path.direction));
    out->end = walk->path;
}

static bool absorbs(const struct optic *optic) {
    for (int i = 0; i < optic->material_count; i++)
        if (optic->materials[i].absorption_per_mm > 0)
            return true;
    return false;
}

void optic_clear(struct optic *out) {
    out->patch_count = out->material_count = out->emitter_material = 0;
    out->size_mm = out->end_mm = 0;
    out->source = (struct source_area){.columns = 0};
}

double optic_top_mm(const struct optic *optic) {
    double top = -INFINITY;
    for (int i = 0; i < optic->patch_count; i++) {
        const struct patch *p = &optic->patches[i];
        bool plane = p->kind == PATCH_QUADRIC && p->a == 0 && p->b == 0;
        top = fmax(top, plane ? p->vertex_mm : p->z_high_mm);
    }
    return top;
}

double walk_depth(struct ray_numbers *numbers) {
    return -log1p(-0x1p-32 * ray_numbers_next(numbers));
}

void walk_start(struct walk *walk, const struct optic *optic, const double at_mm[3], const double direction[3],
                struct ray_numbers numbers) {
    *walk = (struct walk){.optic = optic,
                          .numbers = numbers,
                          .material = optic->emitter_material,
                          .patch = -1,
                          .depth = INFINITY,
                          .slack_mm = SLACK_SHARE * optic->size_mm};
    if (absorbs(optic))
        walk->depth = walk_depth(&walk->numbers);
    path_start(&walk->path, at_mm, direction);
}

void walk_true(struct walk *walk) {
    double *d = walk->path.direction, *e = walk->path.reference;
    double scale = 1 / sqrt(dot3(d, d)), along;
    for (int i = 0; i < 3; i++)
        d[i] *= scale;
    if (!(dot3(e, e) > 0.5)) { /* it never had any */
        scatter_to(walk, d);
        return;
    }
    along = dot3(d, e);
    along3(e, -along, d, e);
    scale = 1 / sqrt(dot3(e, e));
    for (int i = 0; i < 3; i++)
        e[i] *= scale;
}

static bool absorbed_on_the_way(struct walk *walk, double t_mm) {
    double absorption = walk->optic->materials[walk->material].absorption_per_mm;
    if (absorption > 0)
        walk->depth -= absorption * t_mm;
    return walk->depth < 0;
}

void walk_reach(struct walk *walk, int patch, double t_mm, bool going_up) {
    along3(walk->path.at_mm, fmax(t_mm, 0), walk->path.direction, walk->path.at_mm);
    walk->patch = patch;
    walk->above = !going_up;
}

bool walk_step(struct walk *walk, struct optic_outcome *out) {
    double t_mm;
    bool going_up = false;
    if (++walk->segments > OPTIC_BOUNCES_MAX) {
        end_at(out, OPTIC_ABANDONED, 0);
        return false;
    }
    out->segments = walk->segments;
    int i = next_or_slid(walk, &t_mm, &going_up);
    if (i < 0) {
        leave(walk, out);
        return false;
    }
    if (absorbed_on_the_way(walk, t_mm)) {
        end_at(out, OPTIC_ABSORBED, walk->optic->materials[walk->material].loss);
        return false;
    }
    walk_reach(walk, i, t_mm, going_up);
    const struct patch *patch = &walk->optic->patches[i];
    bool goes_on = walk_meet(walk, patch);
    if (!goes_on)
        end_at(out, OPTIC_ABSORBED, patch->loss);
    return goes_on;
}

void walk_to_end(struct walk *walk, struct optic_outcome *out) {
    while (walk_step(walk, out))
        ;
}

void optic_trace(const struct optic *optic, const double at_mm[3], const double direction[3], struct pcg32 *random,
                 struct optic_outcome *out) {
    struct walk walk;
    walk_start(&walk, optic, at_mm, direction, (struct ray_numbers){pcg32_next(random)});
    walk_to_end(&walk, out);
}
