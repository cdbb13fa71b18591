/* Rays side by side. */
#ifndef RAYTRACE_LENSES_RAY_BATCH_H
#define RAYTRACE_LENSES_RAY_BATCH_H

/* A multiple of every vector width; and room to store a whole vector behind the last ray. */
enum { RAY_BATCH = 2048, RAY_BATCH_ROOM = RAY_BATCH + 16 };

/* Structure of arrays, mm; in the frame of an optic or a module, where dz > 0 is towards the target for a lamp
 * straight down. Directions are unit vectors. Up to the next multiple of 16 behind the last ray, entries are read as
 * well: any numbers do no harm there. */
struct ray_batch {
    _Alignas(64) float x[RAY_BATCH_ROOM];
    _Alignas(64) float y[RAY_BATCH_ROOM];
    _Alignas(64) float z[RAY_BATCH_ROOM];
    _Alignas(64) float dx[RAY_BATCH_ROOM];
    _Alignas(64) float dy[RAY_BATCH_ROOM];
    _Alignas(64) float dz[RAY_BATCH_ROOM];
    int count;
};
#endif
