#include "tracing/drawn.h"

#include "fail.h"
#include "tracing/packed.h"

enum luxfall_status drawn_begin(const struct luxfall_scene *scene, size_t module, struct drawn *out,
                                struct luxfall_error *error) {
    *out = (struct drawn){.one = *scene};
    if (module >= scene->module_count)
        return fail(error, LUXFALL_E_VALUE, module, "there is no module of that number");
    out->alone = scene->modules[module];
    out->alone.dark = false;
    out->one.modules = &out->alone;
    out->one.module_count = 1;
    out->one.field_count = 0;
    enum luxfall_status status = stage_make(&out->one, &out->stage, error);
    if (status != LUXFALL_OK)
        return status;
    out->bundle = &out->stage.bundles[0];
    if (!out->bundle->solid)
        return fail(error, LUXFALL_E_VALUE, module, "nothing of this module is traced surface by surface");
    out->optic = &out->bundle->solid->optic;
    return LUXFALL_OK;
}

void drawn_end(struct drawn *drawn) {
    stage_free(&drawn->stage);
}

const struct optic *drawn_optic(const struct drawn *drawn, enum drawn_part part) {
    return part == DRAWN_PACKAGE ? &drawn->bundle->packed->optic : drawn->optic;
}

/* How far a part stands off the module's origin. */
static const double *foot_of(const struct mounting *m, enum drawn_part part) {
    return part == DRAWN_PACKAGE ? m->die_mm : m->foot_mm;
}

/* METHODS eq. (90). */
void drawn_to_part(const struct drawn *drawn, enum drawn_part part, struct luxfall_vec v, bool shift, double out[3]) {
    const struct mounting *m = &drawn->bundle->mounting;
    bool level = m->drawn || part == DRAWN_PACKAGE;
    double p[3] = {v.x, v.y, v.z};
    for (int i = 0; i < 3 && shift && !m->drawn; i++)
        p[i] -= foot_of(m, part)[i];
    for (int i = 0; i < 3; i++)
        out[i] = level ? p[i] : m->turn.row[0][i] * p[0] + m->turn.row[1][i] * p[1] + m->turn.row[2][i] * p[2];
}

struct luxfall_vec drawn_to_module(const struct drawn *drawn, enum drawn_part part, const double v[3], bool shift) {
    const struct mounting *m = &drawn->bundle->mounting;
    bool level = m->drawn || part == DRAWN_PACKAGE;
    double out[3];
    for (int i = 0; i < 3; i++) {
        const double *row = m->turn.row[i];
        out[i] = level ? v[i] : row[0] * v[0] + row[1] * v[1] + row[2] * v[2];
        out[i] += shift && !m->drawn ? foot_of(m, part)[i] : 0;
    }
    return (struct luxfall_vec){out[0], out[1], out[2]};
}
