/* Rays side by side. */
#ifndef RAYTRACE_LENSES_RAY_BATCH_H
#define RAYTRACE_LENSES_RAY_BATCH_H

enum { RAY_BATCH = 1024 }; /* a multiple of every vector width */

/* Exit rays of a bundle in the module's frame, structure of arrays. dz > 0 is towards the target for a lamp straight
 * down; directions are unit vectors. Entries from count up to the next multiple of 16 hold copies that do no harm. */
struct ray_batch {
    _Alignas(64) float x[RAY_BATCH];
    _Alignas(64) float y[RAY_BATCH];
    _Alignas(64) float z[RAY_BATCH];
    _Alignas(64) float dx[RAY_BATCH];
    _Alignas(64) float dy[RAY_BATCH];
    _Alignas(64) float dz[RAY_BATCH];
    int count;
};
#endif
