/* One replicate of a scene by rays: free rays for map and ledger, and rays launched at the fields where light is
 * known by angle. METHODS section 6. */
#ifndef RAYTRACE_TRACING_RAYS_H
#define RAYTRACE_TRACING_RAYS_H

#include "tracing/kernels.h"
#include "tracing/observations.h"

#include <omp.h>
#include <stdatomic.h>

/* How much a run does, for each replicate. */
struct ray_plan {
    uint64_t free_rays;    /* of every bundle */
    uint64_t read_points;  /* at each reading, from each lamp */
    uint64_t field_points; /* over each field, from each lamp */
    bool pilot;
    bool capped; /* more free rays were asked for than are allowed */
};

struct ray_run {
    const struct stage *stage;
    const struct luxfall_options *options;
    const struct kernels *kernels;
    struct ray_plan plan;
    struct observations *seen;
    uint64_t *lamp_quanta;              /* of each lamp: emitted with one cast */
    double lm_per_quantum;              /* of one replicate */
    size_t class_count;                 /* of lamps that are traced together */
    omp_lock_t reporting;               /* guards finished[] and the user's progress function */
    bool finished[LUXFALL_REPLICATES];  /* for the progress line */
    struct ray_scratch *reader_scratch; /* of ray_discs_lx(), one thread at a time */
    atomic_bool stopped;
    atomic_ullong rays_done;
};

/* Asks the user's progress function; false: stop. */
bool run_goes_on(struct ray_run *run);

uint64_t run_key(const struct ray_run *run, int replicate, uint32_t purpose, uint64_t index);

/* Scratch of one thread. */
struct ray_scratch {
    struct ray_batch batch, inside, packed; /* exit rays; rays on their way into a solid; out of a package */
    _Alignas(64) int32_t cell[RAY_BATCH];
    _Alignas(64) float gx[RAY_BATCH];
    _Alignas(64) float gy[RAY_BATCH];
    struct light_points points;
    struct wave_space *space; /* for solids; NULL: there are none */
    uint32_t **counts;        /* planes: fine cells + 1 */
    uint32_t **readings;      /* planes x fields: places, then the field itself */
};
LUXFALL_CHECKED struct ray_scratch *ray_scratch_make(const struct ray_run *run);
void ray_scratch_free(const struct ray_run *run, struct ray_scratch *scratch);

/* How rays of a bundle are made: of which numbers, and with which room. */
struct ray_maker {
    const struct kernels *kernels;
    struct point_key launch;
    struct pcg32 surfaces; /* at the number that starts those of ray 0 */
    struct ray_batch *inside, *packed;
    struct wave_space *space; /* as in struct ray_scratch; so are the batches */
};
/* Rays first .. first + count - 1 of a bundle as they leave it, in the module's frame. */
void bundle_rays(const struct bundle *bundle, const struct ray_maker *maker, uint64_t first, int count,
                 struct ray_batch *out, struct wave_fates *fates);

/* True: light of this bundle reaches the fields by free rays alone. */
bool read_by_free_rays(const struct ray_run *run, const struct bundle *bundle);

/* Both add to run->seen what replicate r sees. free_rays() stops early when run->stopped turns true. */
void free_rays(struct ray_run *run, int replicate, struct ray_scratch *scratch);
void field_rays(struct ray_run *run, int replicate, struct ray_scratch *scratch);

/* Means over discs on a plane as rays launched at them see them; for observations.discs_lx, reader: struct ray_run.
 */
void ray_discs_lx(const void *reader, int replicate, size_t plane, int count, const double *x_mm, const double *y_mm,
                  double *out_lx);

/* Rays launched at fields, and landings of free rays, of a whole run. */
uint64_t field_rays_count(const struct ray_run *run);
uint64_t free_casts_count(const struct ray_run *run);

/* Pilot, run and statistics. */
LUXFALL_CHECKED enum luxfall_status trace_by_rays(const struct stage *stage, const struct luxfall_options *options,
                                                  struct luxfall_result **out, struct luxfall_error *error);
#endif
