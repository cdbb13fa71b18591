#include "tracing/stage.h"

#include "emitters/emitter.h"
#include "fail.h"
#include "lenses/cover.h"
#include "lenses/datasheet.h"
#include "tracing/packed.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

static int smaller(int a, int b) {
    return a < b ? a : b;
}

static void bundle_of_emitter(const struct luxfall_emitter *emitter, struct bundle *bundle) {
    bundle->law = emitter_law(emitter);
    bundle->face = emitter->die;
    bundle->columns = emitter->columns;
    bundle->rows = emitter->rows;
    bundle->pitch_x_mm = emitter->pitch_x_mm;
    bundle->pitch_y_mm = emitter->pitch_y_mm;
    bundle->efficiency = 1;
    bundle->images = assembly_images(bundle->built, &emitter->package, emitter_images(emitter));
}

static enum luxfall_status bundle_of_beam(const struct luxfall_emitter *emitter, const struct luxfall_lens *lens,
                                          struct bundle *bundle, struct luxfall_error *error) {
    int images = smaller(emitter_images(emitter), face_images(&lens->beam.face));
    bundle->law.kind = &angle_law_beam;
    bundle->face = lens->beam.face;
    bundle->columns = bundle->rows = 1;
    bundle->efficiency = lens->beam.efficiency;
    bundle->images = assembly_images(bundle->built, NULL, images);
    return beam_solve_shape(&lens->beam, emitter, &bundle->law.beam, error);
}

/* The images that emitter and solid have, as far as the assembly leaves them; covers have their own. */
static enum luxfall_status bundle_of_solid(const struct luxfall_emitter *emitter, const struct luxfall_lens *lens,
                                           struct bundle *bundle, struct luxfall_error *error) {
    enum luxfall_status status = solid_make(lens, emitter->wavelength_um, &bundle->solid, error);
    if (status != LUXFALL_OK)
        return status;
    bundle->images =
        assembly_images(bundle->built, &emitter->package, smaller(emitter_images(emitter), solid_looks(lens).images));
    bundle->mounting = mounting_of(bundle->built, bundle->solid->optic.end_mm);
    return mounting_fit(&bundle->mounting, emitter, &bundle->solid->optic, error);
}

/* Air, for covers and packed dies to stand in. */
static enum luxfall_status bundle_of_air(const struct luxfall_emitter *emitter, struct bundle *bundle,
                                         struct luxfall_error *error) {
    bundle->mounting = (struct mounting){.drawn = true};
    return solid_make(NULL, emitter->wavelength_um, &bundle->solid, error);
}

/* A lens, or none. */
static enum luxfall_status bundle_optics(const struct luxfall_emitter *emitter, const struct luxfall_lens *lens,
                                         struct bundle *bundle, struct luxfall_error *error) {
    bundle_of_emitter(emitter, bundle);
    if (lens && solid_is(lens))
        return bundle_of_solid(emitter, lens, bundle, error);
    if (!assembly_is_drawn(bundle->built))
        return fail(
            error, LUXFALL_E_VALUE, 0,
            lens ? "the beam of a lens sheet cannot follow how the module is built; a traced solid of the same "
                   "figures can: 'solid: collimator', which luxfall check offers for the module as drawn"
                 : "without a lens there is nothing to put together; the module is moved by its place");
    if (lens)
        return bundle_of_beam(emitter, lens, bundle, error);
    return luxfall_packed(&emitter->package) ? bundle_of_air(emitter, bundle, error) : LUXFALL_OK;
}

/* A hexagon or an oblong is no more the same when x and y are swapped. */
static void leave_unswapped(struct image_set *images) {
    int kept = 0;
    for (int i = 0; i < images->count; i++)
        if (images->image[i] < 4)
            images->image[kept++] = images->image[i];
    images->count = kept;
}

static enum luxfall_status told_of(enum luxfall_status status, size_t item, struct luxfall_error *error) {
    if (status != LUXFALL_OK && error)
        error->item = item;
    return status;
}

/* What stands over it is traced, whatever sends the light. */
static enum luxfall_status bundle_covers(const struct luxfall_scene *scene, const struct luxfall_module *module,
                                         struct bundle *bundle, struct luxfall_error *error) {
    const struct luxfall_emitter *emitter = &scene->emitters[module->emitter];
    const double floor_mm = bundle->packed ? luxfall_package_top_mm(&emitter->package) : 0;
    enum luxfall_status status = LUXFALL_OK;
    if (module->cover_count > 0 && !bundle->solid)
        status = bundle_of_air(emitter, bundle, error);
    for (size_t i = 0; status == LUXFALL_OK && i < module->cover_count; i++) {
        const struct luxfall_cover *cover = &scene->covers[module->covers[i]];
        status = told_of(cover_add(cover, 1 + (int)i, floor_mm, emitter->wavelength_um, &bundle->solid->optic, error),
                         module->covers[i], error);
        if ((cover->lenslets.pitch_mm > 0 && cover->lenslets.hexagonal) || cover->width_mm != cover->height_mm)
            leave_unswapped(&bundle->images);
    }
    return status;
}

/* Dies, or the face of a lens sheet; in their package they take up light with all of its foot. */
static struct source_area source_of(const struct bundle *bundle, const struct luxfall_package *package) {
    const double foot_mm = fmax(package->dome_mm, package->opening_mm);
    struct source_area area = {.face = bundle->face,
                               .columns = bundle->columns,
                               .rows = bundle->rows,
                               .pitch_x_mm = bundle->pitch_x_mm,
                               .pitch_y_mm = bundle->pitch_y_mm};
    if (bundle->packed)
        area = (struct source_area){
            .height_mm = package->depth_mm, .face = {LUXFALL_DISC, foot_mm, foot_mm}, .columns = 1, .rows = 1};
    mounting_place(&bundle->mounting, &area);
    return area;
}

static enum luxfall_status bundle_make(const struct luxfall_scene *scene, const struct luxfall_module *module,
                                       struct bundle *bundle, struct luxfall_error *error) {
    const struct luxfall_emitter *emitter = &scene->emitters[module->emitter];
    const struct luxfall_lens *lens = module->lens == LUXFALL_NO_LENS ? NULL : &scene->lenses[module->lens];
    *bundle = (struct bundle){.first = module, .built = &module->built};
    enum luxfall_status status = told_of(bundle_optics(emitter, lens, bundle, error),
                                         lens ? module->lens : (size_t)(module - scene->modules), error);
    if (status == LUXFALL_OK && luxfall_packed(&emitter->package) && bundle->solid)
        status = told_of(packed_make(emitter, &bundle->packed, error), module->emitter, error);
    if (status == LUXFALL_OK)
        status = bundle_covers(scene, module, bundle, error);
    if (status != LUXFALL_OK)
        return status;
    if (bundle->solid) {
        bundle->solid->optic.source = source_of(bundle, &emitter->package);
        wave_optic_make(&bundle->solid->optic, &bundle->solid->wave);
    }
    bundle->shape = malloc(sizeof *bundle->shape);
    if (!bundle->shape)
        return fail_memory(error);
    angle_shape_table_build(&bundle->law, bundle->shape);
    return LUXFALL_OK;
}

enum luxfall_status luxfall_assembly_check(const struct luxfall_emitter *emitter, const struct luxfall_lens *lens,
                                           const struct luxfall_assembly *built, struct luxfall_error *error) {
    struct bundle bundle = {.built = built};
    enum luxfall_status status = assembly_validate(built, error);
    if (status == LUXFALL_OK)
        status = bundle_optics(emitter, lens, &bundle, error);
    free(bundle.solid);
    return status;
}

static bool same_covers(const struct luxfall_module *a, const struct luxfall_module *b) {
    return a->cover_count == b->cover_count &&
           memcmp(a->covers, b->covers, a->cover_count * sizeof a->covers[0]) == 0;
}

static size_t find_bundle(const struct stage *stage, const struct luxfall_module *module) {
    size_t b = 0;
    for (; b < stage->bundle_count; b++) {
        const struct luxfall_module *first = stage->bundles[b].first;
        if (first->emitter == module->emitter && first->lens == module->lens &&
            assembly_same(&first->built, &module->built) && same_covers(first, module))
            break;
    }
    return b;
}

bool luxfall_traces_package(const struct luxfall_scene *scene, size_t module) {
    const struct luxfall_module *m = &scene->modules[module];
    return luxfall_packed(&scene->emitters[m->emitter].package) &&
           (m->lens == LUXFALL_NO_LENS || solid_is(&scene->lenses[m->lens]));
}

bool luxfall_known_by_angle(const struct luxfall_scene *scene, size_t module) {
    const struct luxfall_module *m = &scene->modules[module];
    return m->cover_count == 0 && (m->lens == LUXFALL_NO_LENS || !solid_is(&scene->lenses[m->lens])) &&
           !luxfall_traces_package(scene, module);
}

static enum luxfall_status add_lamps(struct stage *stage, struct luxfall_error *error) {
    const struct luxfall_scene *scene = stage->scene;
    for (size_t m = 0; m < scene->module_count; m++) {
        const struct luxfall_module *module = &scene->modules[m];
        if (module->dark)
            continue;
        size_t bundle = find_bundle(stage, module);
        if (bundle == stage->bundle_count) {
            stage->bundle_count++;
            enum luxfall_status status = bundle_make(scene, module, &stage->bundles[bundle], error);
            if (status != LUXFALL_OK)
                return status;
            stage->known_by_angle = stage->known_by_angle && !stage->bundles[bundle].solid;
        }
        struct luxfall_operating_point point;
        enum luxfall_status status = luxfall_module_at(scene, m, &point, error);
        if (status != LUXFALL_OK)
            return status;
        stage->lamps[stage->lamp_count++] = (struct lamp){m, bundle, module->pose, point.flux_lm};
    }
    return LUXFALL_OK;
}

enum luxfall_status stage_add_launch_tables(struct stage *stage, struct luxfall_error *error) {
    for (size_t b = 0; b < stage->bundle_count; b++) {
        struct bundle *bundle = &stage->bundles[b];
        bundle->launch = malloc(sizeof *bundle->launch);
        if (!bundle->launch || angle_launch_table_build(&bundle->law, bundle->launch) != LUXFALL_OK)
            return fail_memory(error);
    }
    return LUXFALL_OK;
}

static int by_bundle_and_flux(const void *a, const void *b) {
    const struct lamp *p = a, *q = b;
    if (p->bundle != q->bundle)
        return p->bundle < q->bundle ? -1 : 1;
    if (p->flux_lm != q->flux_lm)
        return p->flux_lm < q->flux_lm ? -1 : 1;
    return p->module < q->module ? -1 : p->module > q->module;
}

enum luxfall_status stage_make(const struct luxfall_scene *scene, struct stage *out, struct luxfall_error *error) {
    const struct luxfall_target *target = &scene->target;
    *out = (struct stage){.scene = scene, .known_by_angle = true};
    enum luxfall_status status = scene_validate(scene, error);
    if (status != LUXFALL_OK)
        return status;
    out->disc_mm = target->cell_mm * smaller(target->columns, target->rows) / 40;
    out->bundles = calloc(scene->module_count, sizeof *out->bundles);
    out->lamps = calloc(scene->module_count, sizeof *out->lamps);
    out->grids = calloc(scene->field_count + 1, sizeof *out->grids);
    if (!out->bundles || !out->lamps || !out->grids)
        return fail_memory(error);
    for (size_t f = 0; f < scene->field_count; f++)
        reading_grid_make(&scene->fields[f], &out->grids[f]);
    status = add_lamps(out, error);
    qsort(out->lamps, out->lamp_count, sizeof *out->lamps, by_bundle_and_flux);
    return status;
}

void stage_free(struct stage *stage) {
    for (size_t b = 0; b < stage->bundle_count; b++) {
        free(stage->bundles[b].solid);
        free(stage->bundles[b].packed);
        free(stage->bundles[b].launch);
        free(stage->bundles[b].shape);
    }
    free(stage->bundles);
    free(stage->lamps);
    free(stage->grids);
}
