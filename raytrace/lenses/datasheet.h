/* Integrals of the datasheet beam, shared by its solver and by the laws known by angle. */
#ifndef RAYTRACE_LENSES_DATASHEET_H
#define RAYTRACE_LENSES_DATASHEET_H

#include "luxfall.h"

enum { BEAM_EDGES_MAX = 40 };

/* Edges of panels in which the beam is smooth enough for a 16-point Gauss rule, 0 .. pi/2; returns the panel count.
 */
size_t beam_panels(const struct luxfall_beam_solution *beam, double edges[BEAM_EDGES_MAX]);

/* Integral of I(a)/I(0) sin a over the hemisphere. METHODS eq. (3). */
double beam_integral(const struct luxfall_beam_solution *beam);

/* luxfall_beam_solve() without the figures that only compare (bell, flat top, best, core share). */
LUXFALL_CHECKED enum luxfall_status beam_solve_shape(const struct luxfall_beam *beam,
                                                     const struct luxfall_emitter *emitter,
                                                     struct luxfall_beam_solution *out, struct luxfall_error *error);
#endif
