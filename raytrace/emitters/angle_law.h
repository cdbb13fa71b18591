/* Light known by angle: one intensity law sent by every point of a face. Bare emitters and datasheet beams both end
 * here. The exact law is for the direct way; the tables are for rays. Both share only the shape I(a)/I(0). */
#ifndef RAYTRACE_EMITTERS_ANGLE_LAW_H
#define RAYTRACE_EMITTERS_ANGLE_LAW_H

#include "luxfall.h"

struct angle_law;

/* A kind of law: one file, and the constant below that names it. */
struct angle_law_kind {
    double (*relative)(const struct angle_law *law, double angle_rad); /* I(a)/I(reference), 0 <= a <= pi/2 */
    size_t (*panels_room)(const struct angle_law *law);                /* edges that panels() may fill, at most */
    /* Ascending edges of panels in which the law is smooth; returns the count of panels. Dark beyond the last. */
    size_t (*panels)(const struct angle_law *law, double *edges);
    bool kinks; /* panels are short already: straight lines between the points of a curve */
};
extern const struct angle_law_kind angle_law_cosine, angle_law_curve, angle_law_beam;

/* The reference is the axis, or the unit of a curve's values. */
struct angle_law {
    const struct angle_law_kind *kind;
    double power;                      /* cosine: m of cos^m */
    struct luxfall_beam_solution beam; /* beam */
    size_t curve_count;                /* curve, borrowed */
    const double *curve_angle_rad, *curve_relative;
};
double angle_law_relative(const struct angle_law *law, double angle_rad); /* 0 beyond pi/2 */

/* Inverse of the flux distribution, for launching: h = 1 - cos a against t = 1 - u, the share of the flux outside a.
 * t runs over OCTAVES octaves below 1, each cut into SEGMENTS equal pieces; in a piece h = c0 + f (c1 + f (c2 + f
 * c3)), f in [0,1) from the piece's lower t to its upper. Index: with t = v / 2^31, v an integer 1 .. 2^31, take v as
 * a float; exponent and the top SEGMENT_BITS of the mantissa, minus the same of 1.0f. The entry after the last is t
 * = 1. */
enum { ANGLE_OCTAVES = 31, ANGLE_SEGMENT_BITS = 5, ANGLE_SEGMENTS = 1 << ANGLE_SEGMENT_BITS };
struct angle_launch_table {
    bool lambertian; /* then h = 1 - sqrt(t): no table needed */
    float c[ANGLE_OCTAVES * ANGLE_SEGMENTS + 1][4];
    double peak_per_lm; /* I(reference) per lumen, from this table's own cumulative sum; 1/sr */
};

/* The shape for lighting points: I/I(reference) against s = sin(a/2) * sqrt(2) = sqrt(1 - cos a), 0 .. 1, in
 * SHAPE_PIECES equal pieces, cubic in each (f from the lower end). */
enum { SHAPE_PIECES = 4096 };
struct angle_shape_table {
    float c[SHAPE_PIECES + 1][4];
};

LUXFALL_CHECKED enum luxfall_status angle_launch_table_build(const struct angle_law *law,
                                                             struct angle_launch_table *out);
void angle_shape_table_build(const struct angle_law *law, struct angle_shape_table *out);

/* I(reference) per lumen by Gauss-Legendre quadrature of the exact law over the hemisphere. METHODS eq. (3). */
double angle_law_peak_per_lm(const struct angle_law *law);
/* Share of the flux within a cone of half angle. */
double angle_law_share_within(const struct angle_law *law, double half_angle_rad);
#endif
