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

enum direct_grade { DIRECT_MAP, DIRECT_READING, DIRECT_GRADES };

struct direct_way {
    const struct stage *stage;
    int threads;
    struct rule *faces[DIRECT_GRADES]; /* of each bundle, in its module's frame, mm */
    double *peak_per_lm;               /* of each bundle, from the exact law */
    double error;                      /* the largest relative difference to a finer rule that was met */
};

bool rule_make(bool round, int order, double width_mm, double height_mm, struct rule *out);
void rule_free(struct rule *rule);

/* out_lx[k] += light of one lamp at place k of a level. */
void light_of_lamp(const struct direct_way *way, const struct rule *face, const struct lamp *lamp, int count,
                   const double *x_mm, const double *y_mm, double level_mm, double *out_lx);

/* out_lx[k] = light of all lamps, each place by itself. */
void light_on_places(const struct direct_way *way, enum direct_grade grade, int count, const double *x_mm,
                     const double *y_mm, double level_mm, double *out_lx);

/* Smallest order of a rule over a patch (disc or rectangle) about (x, y) whose mean no longer changes; the difference
 * to the next finer one is noted in way->error, relative to scale_lx. */
int patch_order(struct direct_way *way, bool round, double width_mm, double height_mm, double x_mm, double y_mm,
                double level_mm, double scale_lx);
/* Mean over a patch by a rule. */
double patch_mean_lx(const struct direct_way *way, const struct rule *patch, double x_mm, double y_mm,
                     double level_mm);

/* Lumens that leave the lamps and land on no part of the map, by an integral over their directions. */
double off_map_lm(const struct direct_way *way, size_t plane);
#endif
