/* What tracing has seen, before statistics: the same for rays (32 replicates) and the direct way (one, without
 * noise). Arrays over planes and fields are indexed plane * field_count + field. */
#ifndef RAYTRACE_TRACING_OBSERVATIONS_H
#define RAYTRACE_TRACING_OBSERVATIONS_H

#include "maps/fine_map.h"
#include "tracing/stage.h"

/* Quanta of one replicate on its way from emitter to plane; off_map is per plane, cover per cover of the scene. */
struct quanta_ledger {
    uint64_t emitted, leaving, abandoned;
    uint64_t loss[LUXFALL_LOSS_COUNT];
    uint64_t *off_map, *cover;
};

struct observations {
    const struct stage *stage;
    int replicates;
    size_t plane_count, field_count;
    struct fine_map *maps;         /* planes */
    double **readings_lx;          /* planes x fields: replicates x places */
    double **average_lx;           /* planes x fields: replicates */
    double *leaving_lm;            /* replicates */
    double lm_per_quantum;         /* of one replicate; by rays */
    struct quanta_ledger *ledgers; /* replicates; by rays */
    double *off_map_lm;            /* planes; the direct way's own integral */
    bool fields_only;              /* no maps were made: nothing of them is told */

    /* Where all light is known by angle: means over discs of stage->disc_mm on a plane as one replicate sees them;
     * else NULL, and the maps are read instead. */
    void (*discs_lx)(const void *reader, int replicate, size_t plane, int count, const double *x_mm,
                     const double *y_mm, double *out_lx);
    const void *reader;
};

/* Allocates everything but what belongs to one method alone; false out of memory. observations_free() takes halves.
 */
LUXFALL_CHECKED bool observations_make(const struct stage *stage, int replicates, struct observations *out);
void observations_free(struct observations *seen);

/* A result from what was seen: maps, sections, spots, fields, ledgers, modules. */
LUXFALL_CHECKED enum luxfall_status result_make(const struct observations *seen, struct luxfall_result **out,
                                                struct luxfall_error *error);
#endif
