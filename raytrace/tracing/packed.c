#include "tracing/packed.h"

#include "fail.h"
#include "lenses/package.h"
#include "numbers/keys.h"

#include <stdlib.h>

/* Of the light of the dies, this much leaves any package worth its name; so many launches then give every ray. */
static const double LEAST_SHARE = 0.01;
enum { TRIES_MAX = 1 << 14, LOOKS = RAY_BATCH };

/* Launches `count` rays with the numbers of this try; out gets those that leave the package. */
static void try_out(const struct packed *packed, const struct launch_source *source, const struct ray_maker *maker,
                    uint32_t number, uint64_t first, int count, struct ray_batch *out) {
    const struct point_key launch = {key_make(maker->launch.key, number, PURPOSE_PACKAGE, 0), maker->launch.points};
    struct pcg32 surfaces = pcg32_seed(key_make(maker->launch.key, number, PURPOSE_PACKAGE, 1), 0);
    struct wave_fates inside = {0};
    pcg32_jump(&surfaces, first);
    maker->kernels->launch(source, &launch, first, count, maker->packed);
    turn_rays(&packed->turn, packed->step_mm, maker->packed);
    maker->kernels->follow(&packed->wave, maker->space, maker->packed, surfaces, out, &inside);
}

static void copy_ray(const struct ray_batch *from, int i, struct ray_batch *to, int k) {
    to->x[k] = from->x[i];
    to->y[k] = from->y[i];
    to->z[k] = from->z[i];
    to->dx[k] = from->dx[i];
    to->dy[k] = from->dy[i];
    to->dz[k] = from->dz[i];
}

/* METHODS eq. (100): what does not come out is launched again, with other numbers. */
void packed_rays(const struct packed *packed, const struct launch_source *source, const struct ray_maker *maker,
                 uint64_t first, int count, struct ray_batch *room, struct wave_fates *fates) {
    struct ray_batch *out = maker->inside;
    out->count = 0;
    for (uint32_t number = 0; out->count < count && number < TRIES_MAX; number++) {
        try_out(packed, source, maker, number, first, count - out->count, room);
        for (int i = 0; i < room->count; i++)
            copy_ray(room, i, out, out->count++);
    }
    fates->abandoned += (uint64_t)(count - out->count);
    for (int i = out->count; i % 16 != 0; i++)
        copy_ray(out, 0, out, i);
}

/* ---- making one ------------------------------------------------------------------------------------------------ */

/* Of the light of the dies, by a few rays, the same ones each time. */
static double share_out(const struct packed *packed, const struct luxfall_emitter *emitter) {
    static const struct angle_launch_table lambertian = {.lambertian = true};
    const struct launch_source source = {
        emitter->die, emitter->columns, emitter->rows, (float)emitter->pitch_x_mm, (float)emitter->pitch_y_mm,
        &lambertian};
    const struct point_key key = {key_make(0, 0, PURPOSE_PACKAGE, 0), LUXFALL_SCRAMBLED};
    struct ray_batch rays;
    int exits = 0;
    kernels_choose(LUXFALL_VECTORS_PLAIN)->launch(&source, &key, 0, LOOKS, &rays);
    turn_rays(&packed->turn, packed->step_mm, &rays);
    for (int i = 0; i < LOOKS; i++) {
        const double at[3] = {(double)rays.x[i], (double)rays.y[i], (double)rays.z[i]};
        const double direction[3] = {(double)rays.dx[i], (double)rays.dy[i], (double)rays.dz[i]};
        struct pcg32 random = pcg32_seed((uint64_t)i, PURPOSE_PACKAGE);
        struct optic_outcome end;
        optic_trace(&packed->optic, at, direction, &random, &end);
        exits += end.fate == OPTIC_EXIT;
    }
    return (double)exits / LOOKS;
}

enum luxfall_status packed_make(const struct luxfall_emitter *emitter, struct packed **out,
                                struct luxfall_error *error) {
    const struct luxfall_package *p = &emitter->package;
    struct packed *packed = calloc(1, sizeof *packed);
    if (!packed)
        return fail_memory(error);
    enum luxfall_status status = package_optic(p, emitter->wavelength_um, &packed->optic, error);
    packed->turn = turn_by(p->die_lean_rad, p->die_lean_azimuth_rad);
    packed->step_mm[0] = p->die_x_mm;
    packed->step_mm[1] = p->die_y_mm;
    packed->step_mm[2] = package_die_mm(emitter);
    double share = status == LUXFALL_OK ? share_out(packed, emitter) : 0;
    packed->index = packed->optic.materials[packed->optic.emitter_material].index;
    packed->etendue_ratio = packed->index * packed->index * share;
    if (status == LUXFALL_OK && share < LEAST_SHARE)
        status = fail(error, LUXFALL_E_VALUE, 0, "%.2g %% of the light of the dies comes out of their package",
                      100 * share);
    if (status == LUXFALL_OK)
        wave_optic_make(&packed->optic, &packed->wave);
    if (status == LUXFALL_OK)
        *out = packed;
    else
        free(packed);
    return status;
}

enum luxfall_status luxfall_package_check(const struct luxfall_emitter *emitter, struct luxfall_error *error) {
    struct packed *packed = NULL;
    enum luxfall_status status = LUXFALL_OK;
    if (luxfall_packed(&emitter->package))
        status = package_validate(emitter, error);
    if (status == LUXFALL_OK && luxfall_packed(&emitter->package))
        status = packed_make(emitter, &packed, error);
    free(packed);
    return status;
}
