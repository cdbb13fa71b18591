/* Modules that are not put together as drawn: what a shift, a seat or a lean of lens and emitter does to the rays of
 * a traced lens. METHODS eq. (90)-(92). */
#ifndef RAYTRACE_TRACING_ASSEMBLY_H
#define RAYTRACE_TRACING_ASSEMBLY_H

#include "lenses/optic.h"
#include "lenses/ray_batch.h"

bool assembly_is_drawn(const struct luxfall_assembly *built);
bool assembly_same(const struct luxfall_assembly *a, const struct luxfall_assembly *b);

/* Ranges alone. Error VALUE. */
LUXFALL_CHECKED enum luxfall_status assembly_validate(const struct luxfall_assembly *built,
                                                      struct luxfall_error *error);

struct turn {
    double row[3][3];
};
/* Of the z axis towards an azimuth. */
struct turn turn_by(double angle_rad, double azimuth_rad);
/* All rays of a batch, and what fills up the last lanes behind them: turned, then shifted. */
void turn_rays(const struct turn *turn, const double step_mm[3], struct ray_batch *rays);

/* The way from the module's frame, z = 0 on the board, to that of the lens, and back. */
struct mounting {
    bool drawn;                   /* both are the same */
    struct turn turn;             /* of a vector of the lens's frame, into the module's */
    double die_mm[3], foot_mm[3]; /* origins of emitter and lens in the module's frame */
    double end_mm;                /* where exit rays are counted from, in both frames */
};
struct mounting mounting_of(const struct luxfall_assembly *built, double end_mm);

/* Emitter rays into the lens's frame; exit rays, counted from the last vertex of the lens, back into the module's,
 * counted from where that vertex is drawn. */
void mounting_enter(const struct mounting *mounting, struct ray_batch *rays);
void mounting_leave(const struct mounting *mounting, struct ray_batch *rays);
/* The frame of the emitter as the lens's sees it. */
void mounting_place(const struct mounting *mounting, struct source_area *area);

/* Does the emitter lie under the front of the lens, every point of it in the air, and its package clear of the lens?
 * Where one starts below the lens's foot, or otherwise outside the air that the optic has for it, all of its air
 * becomes common. Error VALUE. */
LUXFALL_CHECKED enum luxfall_status mounting_fit(const struct mounting *mounting,
                                                 const struct luxfall_emitter *emitter, struct optic *optic,
                                                 struct luxfall_error *error);

/* Images in the plane (bits 0 and 1 mirror x and y, bit 2 then swaps them) that leave an object as it is. */
struct image_set {
    int count;
    int image[8];
};
/* Of those among the first `all` that leave the assembly and the package (NULL: none) too as they are. */
struct image_set assembly_images(const struct luxfall_assembly *built, const struct luxfall_package *package,
                                 int all);
#endif
