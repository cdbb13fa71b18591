/* An optic: surfaces of revolution about z that part materials, mirror, stop or scatter light, met in any order and
 * from either side. Everything that is traced surface by surface becomes one: a solid (solid_*.c) writes its surfaces
 * down, optic_trace() follows rays through them. Frame: light leaves the emitter at z = 0 towards +z; lengths in mm.
 *
 * Each surface is the zero of some F(x, y, z); its up side is where F > 0. A patch of it counts, within bounds. What
 * F is tells the patch's kind: one file a kind (patch_*.c), one line in the table of patch.c.
 *
 * A ray knows the material it is in and the patch that it stands on, and looks only for crossings that lead out of
 * them: so it never meets its own start again, and no small distance has to count as zero. */
#ifndef RAYTRACE_LENSES_OPTIC_H
#define RAYTRACE_LENSES_OPTIC_H

#include "lenses/fresnel.h"
#include "lenses/source_area.h"
#include "luxfall.h"
#include "numbers/pcg32.h"
#include "numbers/ray_numbers.h"

enum {
    OPTIC_PATCHES_MAX = 64,
    OPTIC_MATERIALS_MAX = 8,
    OPTIC_BOUNCES_MAX = 1000,
    OPTIC_POINTS_MAX = 2 * LUXFALL_GROOVES_MAX + 1
};

/* What a patch does with light. */
enum patch_deed {
    PATCH_CLEAR,   /* parts two materials: Snell and Fresnel */
    PATCH_MIRROR,  /* sends back a share, absorbs the rest; what is behind it is never reached. Its back, where its
                    * front lies in the open, absorbs */
    PATCH_STOP,    /* absorbs */
    PATCH_FROSTED, /* clear, and what passes or comes back turns by a Gaussian of patch.spread_rad */
    PATCH_FILM,    /* passes a share straight on, sends back a share as a mirror does, both turned as by frosted ones;
                    * absorbs the rest */
    PATCH_LAMBERTIAN, /* passes a share, sends back a share, both with a cosine law; absorbs the rest */
};

enum patch_kind {
    PATCH_QUADRIC,  /* a r^2 + b w^2 + c w + d, w = z - vertex: plane, cone, cylinder, conic */
    PATCH_ASPHERE,  /* the same with w = z - vertex - poly[0] r^4 - poly[1] r^6 - ...: ISO 10110-12 */
    PATCH_FACETS,   /* w - h(r), h straight or cubic between points: grooves, a turned part */
    PATCH_WALL,     /* upright plane: sides[0] */
    PATCH_LENSLETS, /* the quadric about the middle of the nearest cell */
    PATCH_PROFILE,  /* a (r^2 - G(u)), G the Chebyshev series of poly over u = (z - vertex) / half, |u| <= 1 */
};
enum { PATCH_POLY_MAX = 24 };

/* x and y: a unit vector; the side stands where x x + y y = reach. */
struct patch_side {
    double x, y, reach_mm;
};
enum { PATCH_SIDES_MAX = 6 };

struct profile_point {
    double radius_mm, z_mm; /* radii ascend */
    double slope;           /* of a smooth profile there */
};

struct patch {
    enum patch_kind kind;
    double vertex_mm, half_mm;
    double a, b, c, d; /* scaled so that |grad F| is about 1 on the patch */
    int poly_count;
    double poly[PATCH_POLY_MAX];
    int side_count; /* the patch lies within these sides too; WALL: one, the wall, half_mm to both sides of its foot
                     */
    struct patch_side sides[PATCH_SIDES_MAX];
    int point_count; /* FACETS: those of the optic */
    const struct profile_point *points;
    bool smooth;     /* FACETS: cubics between them, by their slopes; otherwise straight */
    double pitch_mm; /* LENSLETS: middle to middle */
    bool hexagonal;  /* cells; otherwise square, along x and y */
    double radius_low_mm, radius_high_mm, z_low_mm, z_high_mm; /* bounds, inclusive; INFINITY: none */
    int up, down;                                              /* materials on its sides */
    enum patch_deed deed;
    double passes, comes_back; /* MIRROR: comes_back; FILM, LAMBERTIAN: both */
    double spread_rad;         /* FROSTED, FILM: standard deviation of the angle, intensity law exp(-a^2 / 2 s^2) */
    const struct luxfall_mirror *mirror; /* MIRROR: over the angle in place of comes_back; NULL: the same at all */
    bool has_back; /* MIRROR: its front lies in the open, and it is met from behind too, through the same air */
    int loss;      /* that light absorbed here is told under */
};

/* Full width at half of a Gaussian over its standard deviation, 2 sqrt(2 ln 2): METHODS eq. (65). */
#define WIDTH_OVER_SD 2.354820045

/* Losses are told by their cause, and those of covers by which of them: part 0 is the lens and all that holds it,
 * part k the k-th cover from the lens on. */
enum { OPTIC_PARTS_MAX = 1 + LUXFALL_COVERS_MAX, OPTIC_LOSSES = OPTIC_PARTS_MAX * LUXFALL_LOSS_COUNT };
static inline int optic_loss(enum luxfall_loss cause, int part) {
    return part * LUXFALL_LOSS_COUNT + (int)cause;
}
static inline enum luxfall_loss optic_loss_cause(int loss) {
    return (enum luxfall_loss)(loss % LUXFALL_LOSS_COUNT);
}
static inline int optic_loss_part(int loss) {
    return loss / LUXFALL_LOSS_COUNT;
}

struct optic_material {
    double index;
    double absorption_per_mm;
    bool open; /* what meets no more patches in it has left the optic */
    int loss;  /* that light absorbed in it is told under */
};

/* Patches of facets point into it: built where it stays. */
struct optic {
    int patch_count, material_count;
    struct patch patches[OPTIC_PATCHES_MAX];
    /* 0: the air around; a hollow may have an air of its own, so that fewer patches are looked for in it */
    struct optic_material materials[OPTIC_MATERIALS_MAX];
    struct profile_point points[OPTIC_POINTS_MAX];
    int emitter_material;      /* in which rays start: 0, a hollow's or a dome's */
    struct source_area source; /* what light that comes down to the board may fall upon */
    double size_mm;            /* the largest length in it */
    double end_mm;             /* z of the last vertex */
};

enum optic_fate { OPTIC_EXIT, OPTIC_ABSORBED, OPTIC_ABANDONED, OPTIC_LOST };

struct optic_outcome {
    enum optic_fate fate;
    int loss;        /* ABSORBED: an optic_loss() */
    int segments;    /* straight pieces of the path */
    struct path end; /* EXIT: where it left the last patch, and whither */
};

/* No surface and no source in it; the room for patches and points, which is large, stays as it was. */
void optic_clear(struct optic *out);
/* What light is told under that meets no more patch in the open and does not go up. */
static inline int optic_returned(const struct optic *optic, const double at_mm[3], const double direction[3]) {
    return source_area_is_met(&optic->source, at_mm, direction) ? LUXFALL_LOSS_SOURCE : LUXFALL_LOSS_RETURNED;
}
/* The highest point of any patch; -INFINITY without one. */
double optic_top_mm(const struct optic *optic);

/* Patches by name; c: curvature 1/R, > 0 with the centre on the +z side; k: conic constant. Sides and deed are left
 * to the caller, bounds too where none are named: a curved patch wants them, lest its other half be met. */
struct patch patch_plane(double vertex_mm);
struct patch patch_conic(double vertex_mm, double curvature_per_mm, double conic_constant);
struct patch patch_asphere(double vertex_mm, double curvature_per_mm, double conic_constant, int poly_count,
                           const double *poly);
struct patch patch_cylinder(double radius_mm);                            /* up: outside */
struct patch patch_ring(double z_mm, double low_mm, double high_mm);      /* of a plane, between two radii */
struct patch patch_tube(double radius_mm, double low_mm, double high_mm); /* of a cylinder, between two heights */
struct patch patch_cone(double z1_mm, double r1_mm, double z2_mm,
                        double r2_mm); /* through both circles; up: outside */
/* r(z) through any smooth curve between two heights, up: outside. count: terms of the series, at most PATCH_POLY_MAX.
 */
struct patch patch_profile(double z1_mm, double z2_mm, int count, double (*radius_mm)(const void *data, double z_mm),
                           const void *data);

/* An upright wall, up: outwards; and the sides of a section, counter-clockwise, whose count they return. */
struct patch patch_wall(struct patch_side side, double half_mm);
int patch_sides_of_rectangle(double width_mm, double height_mm, struct patch_side *sides);
int patch_sides_of_hexagon(double across_mm, struct patch_side *sides);
/* The patch within such sides alone. */
struct patch patch_within(struct patch patch, int side_count, const struct patch_side *sides);
/* Half of the length of side i between its two neighbours. */
double patch_half_side(int side_count, const struct patch_side *sides, int i);
/* Points in order of radius, at least two, heights over the vertex; they must outlive the patch. Up: towards +z. */
struct patch patch_facets(double vertex_mm, int count, const struct profile_point *points);
/* The same, joined smoothly: sets the slopes of the points, the first of which lies on the axis. */
struct patch patch_spline(double vertex_mm, int count, struct profile_point *points);
double patch_height(const struct patch *patch, double radius_mm); /* of facets, over the vertex */
/* Spheres in cells, one with its middle on the axis, at the vertex; heights are bounded. The corner of a cell lies
 * nearer to its middle than the radius. */
struct patch patch_lenslets(double vertex_mm, double curvature_per_mm, double pitch_mm, bool hexagonal);
double lenslet_corner_mm(double pitch_mm, bool hexagonal); /* from the middle of a cell */

/* z over the vertex of a conic with r^4, r^6 ... terms; NaN beyond its reach. METHODS eq. (22). */
double conic_sag(double curvature_per_mm, double conic_constant, int poly_count, const double *poly,
                 double radius_mm);

/* Distance along the ray to its crossing of that sense, within the patch's bounds and slack_mm around them. own: the
 * ray stands on this patch; otherwise a crossing up to slack_mm behind it counts, which rounding may have carried it
 * over.
 */
bool patch_cross(const struct patch *patch, const double at_mm[3], const double direction[3], bool going_up, bool own,
                 double slack_mm, double *t_mm);
/* Has the ray already passed it in that sense, by no more than slack_mm, and goes on away from it, so steeply at
 * least? off_mm: about how far. */
bool patch_passed(const struct patch *patch, const double at_mm[3], const double direction[3], bool going_up,
                  double slack_mm, double least_rise, double *off_mm);
/* Unit normal towards the up side. */
void patch_normal(const struct patch *patch, const double at_mm[3], double normal[3]);

/* A ray on its way. */
struct walk {
    const struct optic *optic;
    struct path path;
    struct ray_numbers numbers;
    int material;
    int patch;  /* that the ray stands on; -1: none */
    bool above; /* it stands on the up side of that patch */
    int segments;
    double depth;    /* optical depth that it still crosses before it is absorbed; infinite in clear optics */
    double slack_mm; /* by which bounds overlap */
};

void walk_start(struct walk *walk, const struct optic *optic, const double at_mm[3], const double direction[3],
                struct ray_numbers numbers);
/* The depth at which a ray is absorbed: exponential, one number of its own. METHODS eq. (64). */
double walk_depth(struct ray_numbers *numbers);
/* Direction and reference made unit and square again, after single precision. */
void walk_true(struct walk *walk);
/* The nearest patch ahead and the distance to it; -1: none. Then the ray brought there, on the side that it comes
 * from; and over to the other. */
int walk_next(const struct walk *walk, double *t_mm, bool *going_up);
void walk_reach(struct walk *walk, int patch, double t_mm, bool going_up);
void walk_cross(struct walk *walk, const struct patch *patch);
/* What the patch that it has reached does with it. False: the light ends here. */
bool walk_meet(struct walk *walk, const struct patch *patch);
/* To the next surface, and through or back; false: there it ended. One number is drawn at every surface; scatter and
 * absorption draw more. Then all such steps. */
bool walk_step(struct walk *walk, struct optic_outcome *out);
void walk_to_end(struct walk *walk, struct optic_outcome *out);
/* Both in one; a number of the stream starts those of the ray. */
void optic_trace(const struct optic *optic, const double at_mm[3], const double direction[3], struct pcg32 *random,
                 struct optic_outcome *out);
#endif
