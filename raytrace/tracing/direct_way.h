/* Inside of the direct way: rules for faces and discs, and light of all lamps on many places. Private to direct*.c.
 */
#ifndef RAYTRACE_TRACING_DIRECT_WAY_H
#define RAYTRACE_TRACING_DIRECT_WAY_H

#include "numbers/gauss.h"
#include "tracing/direct.h"

/* Weighted points; weights add to 1. */
struct rule {
    int count;
    double *x, *y, *w;
};

struct direct_way {
    const struct stage *stage;
    int threads;
    struct rule *faces;  /* of each bundle, in its module's frame, mm */
    double *peak_per_lm; /* of each bundle, from the exact law */
    bool *narrow;        /* of each bundle: no rule holds, its faces are cut for every place */
    bool exact;          /* all faces are cut for every place, and the exact law is asked */
    double tolerance;    /* relative, of faces; what discs and sheets are then held to */
    double error;        /* the largest relative difference to a finer rule that was met */
};

bool rule_make(bool round, int order, double width_mm, double height_mm, struct rule *out);
/* Over all dies of a bundle, or over its one face. */
bool face_rule_make(const struct bundle *bundle, int order, struct rule *out);
void rule_free(struct rule *rule);

/* out_lx[k] = light of all lamps, each place by itself. */
void light_on_places(const struct direct_way *way, int count, const double *x_mm, const double *y_mm, double level_mm,
                     double *out_lx);

/* Lumens that leave the lamps and land on no part of the map, by an integral over their directions. */
double off_map_lm(const struct direct_way *way, size_t plane);
#endif
