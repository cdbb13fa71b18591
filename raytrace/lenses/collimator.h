/* A collimator with total reflection, solved: a hollow for the die, a middle that refracts and a wall that reflects,
 * both of which send the light of a point on the board at z = 0 straight up. METHODS sec. 5, eq. (67), (68), (69). */
#ifndef RAYTRACE_LENSES_COLLIMATOR_H
#define RAYTRACE_LENSES_COLLIMATOR_H

#include "lenses/optic.h"

struct collimator {
    double index;
    double hollow_mm; /* radius of the hollow, a cylinder */
    double focus_mm;  /* height of the middle's vertex over the board */
    double radius_mm; /* of the wall at its top */
    double face_mm;   /* height of the flat face */
    /* solved */
    double path_mm;   /* optical path constant C of the wall */
    double split_rad; /* above the board: light below goes to the wall, above to the middle */
    double foot_mm;   /* radius of the wall on the board */
    double top_mm;    /* height of the wall's top */
    double rim_mm;    /* height of the middle's rim, where it meets the hollow */
};

/* Solves the wall; false: there is no such wall, it would begin inside the hollow or end above the face. */
bool collimator_solve(struct collimator *collimator);

/* The wall where light that left the point at this angle above the board meets it. */
void collimator_wall(const struct collimator *collimator, double angle_rad, double *radius_mm, double *z_mm);

/* Patches of the optic, in order. */
enum { COLLIMATOR_HOLLOW, COLLIMATOR_MIDDLE, COLLIMATOR_WALL, COLLIMATOR_FOOT, COLLIMATOR_FACE, COLLIMATOR_RIM };

/* The solid in air: material 1 is the lens, 2 the air of the hollow; the rim above the wall absorbs. */
void collimator_optic(const struct collimator *collimator, struct optic *out);
#endif
