/* A plano-convex lens with a ground rim: a convex body between a plane and a sphere, METHODS sec. 5. Being convex,
 * a ray that has left it cannot meet it again. */
#include "fail.h"
#include "lenses/fresnel.h"
#include "lenses/solid.h"
#include "lenses/surface.h"
#include "lenses/vector3.h"

#include <math.h>

struct body {
    struct surface front, back; /* front: nearer to the emitter */
    double rim_mm;              /* radius of the rim cylinder */
    double index, absorption_per_mm;
};

enum part { PART_NONE, PART_FRONT, PART_BACK, PART_RIM };

static struct body body_of(const struct solid *solid) {
    const struct luxfall_plano_convex *lens = &solid->lens->plano_convex;
    struct body body = {
        .rim_mm = lens->diameter_mm / 2, .index = solid->index, .absorption_per_mm = solid->absorption_per_mm};
    const double near_mm = lens->gap_mm, far_mm = lens->gap_mm + lens->thickness_mm;
    if (lens->curved_towards) {
        body.front = (struct surface){&surface_sphere, near_mm, 1 / lens->radius_mm};
        body.back = (struct surface){&surface_plane, far_mm, 0};
    } else {
        body.front = (struct surface){&surface_plane, near_mm, 0};
        body.back = (struct surface){&surface_sphere, far_mm, -1 / lens->radius_mm};
    }
    return body;
}

static enum luxfall_status plano_convex_validate(const struct luxfall_lens *lens, struct luxfall_error *error) {
    const struct luxfall_plano_convex *p = &lens->plano_convex;
    if (!(p->diameter_mm > 0 && p->radius_mm > 0 && p->thickness_mm > 0) ||
        !(isfinite(p->diameter_mm) && isfinite(p->radius_mm) && isfinite(p->thickness_mm)))
        return fail(error, LUXFALL_E_VALUE, 0, "diameter, radius and thickness of the lens must be above 0");
    if (!(p->gap_mm >= 0 && isfinite(p->gap_mm)))
        return fail(error, LUXFALL_E_VALUE, 0, "the gap of %g mm between emitter and lens must not be below 0",
                    p->gap_mm);
    if (p->diameter_mm > 2 * p->radius_mm)
        return fail(error, LUXFALL_E_VALUE, 0,
                    "a sphere of radius %g mm is %g mm wide and cannot bear a lens of diameter %g mm", p->radius_mm,
                    2 * p->radius_mm, p->diameter_mm);
    const struct surface sphere = {&surface_sphere, 0, 1 / p->radius_mm};
    const double sag_mm = sphere.kind->sag(&sphere, fmin(p->diameter_mm / 2, p->radius_mm));
    if (sag_mm > p->thickness_mm * (1 + 1e-12))
        return fail(
            error, LUXFALL_E_VALUE, 0,
            "a curved side of radius %g mm rises %.4g mm over a diameter of %g mm, more than the thickness of "
            "%g mm: the edge would be thinner than nothing",
            p->radius_mm, sag_mm, p->diameter_mm, p->thickness_mm);
    return LUXFALL_OK;
}

static const struct luxfall_material *plano_convex_material(const struct luxfall_lens *lens) {
    return &lens->plano_convex.material;
}

static double plano_convex_length_mm(const struct luxfall_lens *lens) {
    return lens->plano_convex.gap_mm + lens->plano_convex.thickness_mm;
}

/* Does the ray, still outside, enter through this surface? */
static bool enters(const struct body *body, const struct surface *surface, enum surface_sense sense,
                   const struct solid_ray *ray, double *t_mm) {
    if (!surface->kind->cross(surface, ray->origin, ray->direction, sense, t_mm) || *t_mm < 0)
        return false;
    const double x = ray->origin[0] + *t_mm * ray->direction[0], y = ray->origin[1] + *t_mm * ray->direction[1];
    return x * x + y * y <= body->rim_mm * body->rim_mm;
}

/* Distances to the rim cylinder, [0] where the line enters it and [1] where it leaves; false: it never does. */
static bool rim_crossings(const struct body *body, const double at_mm[3], const double direction[3], double t_mm[2]) {
    const double across2 = direction[0] * direction[0] + direction[1] * direction[1];
    if (!(across2 > 0))
        return false;
    const double b = -(at_mm[0] * direction[0] + at_mm[1] * direction[1]) / across2;
    const double nearest_x = at_mm[0] + b * direction[0], nearest_y = at_mm[1] + b * direction[1];
    const double rest2 = body->rim_mm * body->rim_mm - nearest_x * nearest_x - nearest_y * nearest_y;
    if (rest2 < 0)
        return false;
    const double half = sqrt(rest2 / across2);
    t_mm[0] = b - half;
    t_mm[1] = b + half;
    return true;
}

static bool meets_rim_outside(const struct body *body, const struct solid_ray *ray) {
    double t[2];
    if (!rim_crossings(body, ray->origin, ray->direction, t) || t[0] < 0)
        return false;
    const double z = ray->origin[2] + t[0] * ray->direction[2];
    return z >= body->front.vertex_mm + body->front.kind->sag(&body->front, body->rim_mm) &&
           z <= body->back.vertex_mm + body->back.kind->sag(&body->back, body->rim_mm);
}

/* The part that a ray from the emitter meets first. Behind a closed holder only the front can be met. */
static enum part first_part(const struct body *body, bool holder_open, const struct solid_ray *ray, double *t_mm) {
    if (enters(body, &body->front, SURFACE_UP, ray, t_mm))
        return PART_FRONT;
    if (!holder_open)
        return PART_NONE;
    if (meets_rim_outside(body, ray))
        return PART_RIM;
    return enters(body, &body->back, SURFACE_DOWN, ray, t_mm) ? PART_BACK : PART_NONE;
}

/* The part through which a path inside leaves, and the distance to it. */
static enum part next_part(const struct body *body, const struct path *path, double *t_mm) {
    enum part part = PART_NONE;
    double t, rim[2];
    *t_mm = INFINITY;
    if (body->front.kind->cross(&body->front, path->at_mm, path->direction, SURFACE_DOWN, &t)) {
        part = PART_FRONT;
        *t_mm = t;
    }
    if (body->back.kind->cross(&body->back, path->at_mm, path->direction, SURFACE_UP, &t) && t < *t_mm) {
        part = PART_BACK;
        *t_mm = t;
    }
    if (rim_crossings(body, path->at_mm, path->direction, rim) && rim[1] < *t_mm) {
        part = PART_RIM;
        *t_mm = rim[1];
    }
    *t_mm = fmax(*t_mm, 0); /* rounding may have carried the path a hair beyond the part */
    return part;
}

/* Goes back or on at a surface by a random number; true when the path is now on the other side. METHODS eq. (30). */
static bool pass(const struct surface *surface, double index_ratio, struct path *path, struct pcg32 *random) {
    double normal[3];
    struct meeting meeting;
    surface->kind->normal(surface, path->at_mm, normal);
    meeting_find(path, normal, index_ratio, &meeting);
    const double draw = 0x1p-32 * pcg32_next(random);
    if (draw < meeting.reflectance) {
        meeting_reflect(&meeting, path);
        return false;
    }
    meeting_refract(&meeting, path);
    return true;
}

static void absorb(struct solid_outcome *out, enum luxfall_loss loss) {
    out->fate = SOLID_ABSORBED;
    out->loss = loss;
}

static void leave(struct solid_outcome *out, const double at_mm[3], const double direction[3], double length_mm) {
    out->fate = SOLID_EXIT;
    for (int i = 0; i < 3; i++) {
        out->exit.origin[i] = at_mm[i];
        out->exit.direction[i] = direction[i];
    }
    out->exit.origin[2] -= length_mm;
}

/* The optical depth, a t along the path, at which it is absorbed. METHODS eq. (64). */
static double depth_of_end(const struct body *body, struct pcg32 *random) {
    return body->absorption_per_mm > 0 ? -log1p(-0x1p-32 * pcg32_next(random)) : INFINITY;
}

/* From a place on the front or back, outside, to the end. */
static void follow(const struct body *body, enum part part, struct path *path, struct pcg32 *random,
                   struct solid_outcome *out) {
    double depth = depth_of_end(body, random);
    bool inside = false;
    for (int bounce = 0; bounce < SOLID_BOUNCES_MAX; bounce++) {
        const struct surface *surface = part == PART_FRONT ? &body->front : &body->back;
        if (pass(surface, inside ? body->index : 1 / body->index, path, random))
            inside = !inside;
        if (!inside) {
            if (part == PART_FRONT)
                absorb(out, LUXFALL_LOSS_RETURNED);
            else
                leave(out, path->at_mm, path->direction, body->back.vertex_mm);
            return;
        }
        double t_mm;
        part = next_part(body, path, &t_mm);
        if (part == PART_NONE)
            break;
        depth -= body->absorption_per_mm * t_mm;
        if (depth < 0) {
            absorb(out, LUXFALL_LOSS_MATERIAL);
            return;
        }
        if (part == PART_RIM) {
            absorb(out, LUXFALL_LOSS_RIM);
            return;
        }
        along3(path->at_mm, t_mm, path->direction, path->at_mm);
    }
    out->fate = SOLID_ABANDONED;
}

static void plano_convex_trace(const struct solid *solid, const struct solid_ray *in, struct pcg32 *random,
                               struct solid_outcome *out) {
    const struct body body = body_of(solid);
    const bool holder_open = solid->lens->plano_convex.holder_open;
    double t_mm;
    const enum part part = first_part(&body, holder_open, in, &t_mm);
    if (part == PART_RIM) {
        absorb(out, LUXFALL_LOSS_RIM);
    } else if (part == PART_NONE && holder_open) {
        leave(out, in->origin, in->direction, body.back.vertex_mm);
    } else if (part == PART_NONE) {
        absorb(out, LUXFALL_LOSS_HOLDER);
    } else {
        struct path path;
        path_start(&path, in->origin, in->direction);
        along3(in->origin, t_mm, in->direction, path.at_mm);
        follow(&body, part, &path, random, out);
    }
}

const struct solid_kind solid_plano_convex = {plano_convex_validate, plano_convex_material, plano_convex_length_mm,
                                              plano_convex_trace};
