/* The face texture that gives a solved collimator a wanted beam. METHODS sec. 5, eq. (71), (72). */
#include "emitters/emitter.h"
#include "fail.h"
#include "lenses/solid.h"
#include "numbers/keys.h"
#include "numbers/vec.h"
#include "numbers/zonal.h"
#include "tracing/kernels.h"

#include <stdlib.h>
#include <string.h>

/* 32768 rays decide the beam to about a hundredth of its width. */
enum { RINGS = 1800, BATCHES = 16, HALVINGS = 30 };
/* Finer shape than that is noise: a full width of 0.6 deg. */
static const double FINEST_RAD = 0.0105;

/* What a clear collimator sends out of a Lambertian die. */
struct clear_light {
    double flux[RINGS]; /* by angle from the axis, of the launched rays */
    double efficiency;
};

struct workshop {
    struct ray_batch in, out;
    struct wave_space space;
    struct angle_launch_table angles;
};

static void add_rays(const struct ray_batch *rays, struct clear_light *light) {
    for (int i = 0; i < rays->count; i++) {
        double angle = atan2(hypot((double)rays->dx[i], (double)rays->dy[i]), (double)rays->dz[i]);
        int ring = (int)(angle * RINGS / (PI / 2));
        light->flux[ring < RINGS ? ring : RINGS - 1] += 1.0 / (BATCHES * RAY_BATCH);
    }
}

static void trace_clear(const struct solid *solid, const struct luxfall_face *die, struct workshop *shop,
                        struct clear_light *light) {
    const struct kernels *kernels = kernels_choose(LUXFALL_VECTORS_BEST);
    struct launch_source source = {*die, 1, 1, 0, 0, &shop->angles};
    struct point_key key = {key_make(0, 0, PURPOSE_LAUNCH, 0), LUXFALL_SCRAMBLED};
    struct wave_fates fates = {0};
    for (uint64_t batch = 0; batch < BATCHES; batch++) {
        struct pcg32 random = pcg32_seed(key_make(0, 0, PURPOSE_SURFACES, 0), 0);
        pcg32_jump(&random, batch * RAY_BATCH);
        kernels->launch(&source, &key, batch * RAY_BATCH, RAY_BATCH, &shop->in);
        kernels->follow(&solid->wave, &shop->space, &shop->in, random, &shop->out, &fates);
        add_rays(&shop->out, light);
    }
    light->efficiency = (double)fates.exits / (BATCHES * RAY_BATCH);
}

static enum luxfall_status light_of(const struct luxfall_lens *lens, const struct luxfall_face *die,
                                    struct clear_light *light, struct luxfall_error *error) {
    struct luxfall_lens clear = *lens;
    struct solid *solid = NULL;
    struct workshop *shop = aligned_alloc(64, (sizeof *shop + 63) / 64 * 64);
    struct angle_law lambertian = {.kind = &angle_law_cosine, .power = 1};
    clear.collimator.texture_rad = 0;
    *light = (struct clear_light){0};
    enum luxfall_status status = shop ? solid_make(&clear, 0, &solid, error) : fail_memory(error);
    if (status == LUXFALL_OK) {
        memset(shop, 0, sizeof *shop);
        if (angle_launch_table_build(&lambertian, &shop->angles) == LUXFALL_OK)
            trace_clear(solid, die, shop, light);
        else
            status = fail_memory(error);
    }
    free(solid);
    free(shop);
    return status;
}

/* Beam angle behind a texture of this standard deviation. METHODS eq. (71). */
static double width_behind(const struct clear_light *light, double spread_rad) {
    struct zonal beam;
    double factor[ZONAL_MAX];
    int count = zonal_terms(spread_rad);
    zonal_of_rings(RINGS, light->flux, count, &beam);
    zonal_gaussian(spread_rad, count, factor);
    for (int l = 0; l < count; l++)
        beam.c[l] *= factor[l];
    return zonal_width(&beam);
}

static enum luxfall_status check_wish(const struct luxfall_lens *lens, const struct luxfall_face *die,
                                      double beam_angle_rad, struct luxfall_error *error) {
    if (lens->kind != LUXFALL_LENS_COLLIMATOR)
        return fail(error, LUXFALL_E_VALUE, 0, "only a collimator has a face texture");
    if (!(beam_angle_rad >= 0.05 && beam_angle_rad <= PI / 2))
        return fail(error, LUXFALL_E_VALUE, 0,
                    "a textured collimator is found for beams of 3 to 90 deg, not %.4g deg",
                    beam_angle_rad * 180 / PI);
    double across_mm = die->kind == LUXFALL_RECTANGLE ? hypot(die->width_mm, die->height_mm) : die->width_mm;
    if (across_mm > lens->collimator.hollow_mm)
        return fail(error, LUXFALL_E_VALUE, 0, "a die of %.4g mm across does not fit into a hollow of %.4g mm",
                    across_mm, lens->collimator.hollow_mm);
    return luxfall_lens_check(lens, error);
}

enum luxfall_status luxfall_collimator_for_beam(const struct luxfall_lens *lens, const struct luxfall_face *die,
                                                double beam_angle_rad, struct luxfall_collimator_plan *out,
                                                struct luxfall_error *error) {
    struct clear_light light;
    enum luxfall_status status = check_wish(lens, die, beam_angle_rad, error);
    if (status == LUXFALL_OK)
        status = light_of(lens, die, &light, error);
    if (status != LUXFALL_OK)
        return status;
    double low = FINEST_RAD / WIDTH_OVER_SD, high = beam_angle_rad / WIDTH_OVER_SD;
    *out = (struct luxfall_collimator_plan){.clear_rad = width_behind(&light, low), .efficiency = light.efficiency};
    if (out->clear_rad > beam_angle_rad)
        return fail(
            error, LUXFALL_E_VALUE, 0,
            "this die and collimator have a beam of %.3g deg with a clear face, and a texture only widens it: "
            "%.3g deg wants a wider collimator or a smaller die",
            out->clear_rad * 180 / PI, beam_angle_rad * 180 / PI);
    for (int i = 0; i < HALVINGS; i++) {
        double middle = (low + high) / 2;
        if (width_behind(&light, middle) < beam_angle_rad)
            low = middle;
        else
            high = middle;
    }
    double texture_deg = (low + high) / 2 * WIDTH_OVER_SD * 180 / PI;
    out->texture_rad = round(100 * texture_deg) / 100 * PI / 180; /* finer than the rays decide it */
    return LUXFALL_OK;
}
