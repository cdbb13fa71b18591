/* Every value of a scene, held against the ranges that the public header states. */
#include "drive/drive.h"
#include "fail.h"
#include "lenses/package.h"
#include "numbers/vec.h"
#include "tracing/stage.h"

static const double LENGTH_MAX_MM = 1e9, FLUX_MAX_LM = 1e12;

static bool within(double value, double most) {
    return value > 0 && value <= most;
}

static bool face_is_good(const struct luxfall_face *face) {
    return face->kind == LUXFALL_POINT ||
           (within(face->width_mm, LENGTH_MAX_MM) && within(face->height_mm, LENGTH_MAX_MM));
}

static bool curve_is_good(const struct luxfall_intensity *curve) {
    double greatest = 0;
    if (curve->curve_count < 2 || curve->curve_angle_rad[0] != 0)
        return false;
    for (size_t i = 0; i < curve->curve_count; i++) {
        double value = curve->curve_relative[i];
        if (!(value >= 0 && value <= 1e12))
            return false;
        if (i > 0 && !(curve->curve_angle_rad[i] > curve->curve_angle_rad[i - 1]))
            return false;
        if (curve->curve_angle_rad[i] < PI / 2)
            greatest = fmax(greatest, value);
    }
    return greatest > 0;
}

static enum luxfall_status check_emitter(const struct luxfall_emitter *emitter, size_t i,
                                         struct luxfall_error *error) {
    const struct luxfall_intensity *intensity = &emitter->intensity;
    if (!face_is_good(&emitter->die))
        return fail(error, LUXFALL_E_VALUE, i, "the die of emitter %zu needs sizes above 0", i);
    if (emitter->columns < 1 || emitter->rows < 1 || emitter->columns > 10000 || emitter->rows > 10000)
        return fail(error, LUXFALL_E_VALUE, i, "emitter %zu needs 1 to 10000 columns and rows of dies", i);
    if ((emitter->columns > 1 && !within(emitter->pitch_x_mm, LENGTH_MAX_MM)) ||
        (emitter->rows > 1 && !within(emitter->pitch_y_mm, LENGTH_MAX_MM)))
        return fail(error, LUXFALL_E_VALUE, i, "emitter %zu needs a pitch above 0 between its dies", i);
    if (!within(emitter->flux_lm, FLUX_MAX_LM) && !(emitter->flux_lm == 0 && emitter->drive.count > 0))
        return fail(error, LUXFALL_E_VALUE, i, "emitter %zu needs a flux above 0 lm, or a drive", i);
    if (!drive_is_good(&emitter->drive))
        return fail(error, LUXFALL_E_VALUE, i,
                    "the drive of emitter %zu needs ascending currents above 0, and flux and voltage above 0", i);
    if (emitter->wavelength_um != 0 && !(emitter->wavelength_um >= LUXFALL_WAVELENGTH_LOW_UM &&
                                         emitter->wavelength_um <= LUXFALL_WAVELENGTH_HIGH_UM))
        return fail(error, LUXFALL_E_VALUE, i, "emitter %zu needs a wavelength of %g to %g um, or 0", i,
                    LUXFALL_WAVELENGTH_LOW_UM, LUXFALL_WAVELENGTH_HIGH_UM);
    if (intensity->kind == LUXFALL_COSINE && !(intensity->viewing_angle_rad > 0 && intensity->viewing_angle_rad < PI))
        return fail(error, LUXFALL_E_VALUE, i, "emitter %zu needs a viewing angle between 0 and 180 deg", i);
    if (intensity->kind == LUXFALL_CURVE && !curve_is_good(intensity))
        return fail(error, LUXFALL_E_VALUE, i,
                    "the curve of emitter %zu needs ascending angles from 0 and values from 0, one of them above 0",
                    i);
    enum luxfall_status status = luxfall_packed(&emitter->package) ? package_validate(emitter, error) : LUXFALL_OK;
    if (error)
        error->item = i;
    return status;
}

static enum luxfall_status check_lens(const struct luxfall_lens *lens, size_t i, struct luxfall_error *error) {
    if (lens->kind != LUXFALL_LENS_BEAM) {
        enum luxfall_status status = solid_validate(lens, error);
        if (error)
            error->item = i;
        return status;
    }
    if (!face_is_good(&lens->beam.face))
        return fail(error, LUXFALL_E_VALUE, i, "the face of lens %zu needs sizes above 0", i);
    return LUXFALL_OK; /* its figures are checked when the beam is solved */
}

static enum luxfall_status check_cover(const struct luxfall_cover *cover, size_t i, struct luxfall_error *error) {
    enum luxfall_status status = luxfall_cover_check(cover, error);
    if (error)
        error->item = i;
    return status;
}

static bool pose_is_good(const struct luxfall_pose *pose) {
    struct luxfall_vec third = vec_cross(pose->x, pose->y);
    double away = vec_length(vec_sum(1, third, -1, pose->axis));
    return fabs(vec_length(pose->x) - 1) < 1e-6 && fabs(vec_length(pose->axis) - 1) < 1e-6 && away < 1e-6 &&
           vec_length(pose->at_mm) <= LENGTH_MAX_MM;
}

static enum luxfall_status check_module(const struct luxfall_scene *scene, size_t i, struct luxfall_error *error) {
    const struct luxfall_module *module = &scene->modules[i];
    if (module->emitter >= scene->emitter_count ||
        (module->lens != LUXFALL_NO_LENS && module->lens >= scene->lens_count))
        return fail(error, LUXFALL_E_VALUE, i, "module %zu names an emitter or a lens that is not there", i);
    if (!(module->scale > 0 && module->scale <= 1e6))
        return fail(error, LUXFALL_E_VALUE, i, "module %zu needs a scale above 0", i);
    if (!pose_is_good(&module->pose))
        return fail(error, LUXFALL_E_VALUE, i, "module %zu needs a right-handed frame of unit vectors", i);
    for (size_t k = 0; k < module->cover_count; k++)
        if (module->cover_count > LUXFALL_COVERS_MAX || module->covers[k] >= scene->cover_count)
            return fail(error, LUXFALL_E_VALUE, i, "module %zu names a cover that is not there, or more than %d", i,
                        LUXFALL_COVERS_MAX);
    enum luxfall_status status = assembly_validate(&module->built, error);
    if (error)
        error->item = i;
    if (status != LUXFALL_OK)
        return status;
    struct luxfall_operating_point point;
    return luxfall_module_at(scene, i, &point, error);
}

static enum luxfall_status check_target(const struct luxfall_target *target, struct luxfall_error *error) {
    double cells = (double)target->columns * target->rows * (double)target->level_count;
    if (target->columns < 1 || target->rows < 1 || !(cells >= 1 && cells <= LUXFALL_CELLS_MAX))
        return fail(error, LUXFALL_E_VALUE, 0, "the maps have %.0f cells together; 1 to %d are possible", cells,
                    LUXFALL_CELLS_MAX);
    if (target->level_count > LUXFALL_LEVELS_MAX)
        return fail(error, LUXFALL_E_VALUE, 0, "%zu levels; at most %d are possible", target->level_count,
                    LUXFALL_LEVELS_MAX);
    if (!within(target->cell_mm, LENGTH_MAX_MM))
        return fail(error, LUXFALL_E_VALUE, 0, "the cells need a size above 0");
    for (size_t i = 0; i < target->level_count; i++)
        if (!(fabs(target->level_mm[i]) <= LENGTH_MAX_MM))
            return fail(error, LUXFALL_E_VALUE, i, "level %zu is no length", i);
    return LUXFALL_OK;
}

static enum luxfall_status check_field(const struct luxfall_field *field, size_t i, struct luxfall_error *error) {
    if (!within(field->width_mm, LENGTH_MAX_MM) || !within(field->height_mm, LENGTH_MAX_MM) ||
        (field->round && field->width_mm != field->height_mm))
        return fail(error, LUXFALL_E_VALUE, i, "field %zu needs a size above 0", i);
    if (!(fabs(field->x_mm) <= LENGTH_MAX_MM && fabs(field->y_mm) <= LENGTH_MAX_MM) ||
        !(field->reading_mm >= 0 && field->reading_mm <= LENGTH_MAX_MM))
        return fail(error, LUXFALL_E_VALUE, i, "field %zu needs a place and a reading of 0 mm or more", i);
    return LUXFALL_OK;
}

enum luxfall_status scene_validate(const struct luxfall_scene *scene, struct luxfall_error *error) {
    enum luxfall_status status = check_target(&scene->target, error);
    if (scene->module_count < 1 || scene->module_count > LUXFALL_MODULES_MAX)
        return fail(error, LUXFALL_E_VALUE, 0, "a scene has 1 to %d modules, not %zu", LUXFALL_MODULES_MAX,
                    scene->module_count);
    if (scene->field_count > LUXFALL_FIELDS_MAX)
        return fail(error, LUXFALL_E_VALUE, 0, "a scene has at most %d fields, not %zu", LUXFALL_FIELDS_MAX,
                    scene->field_count);
    for (size_t i = 0; i < scene->emitter_count && status == LUXFALL_OK; i++)
        status = check_emitter(&scene->emitters[i], i, error);
    for (size_t i = 0; i < scene->lens_count && status == LUXFALL_OK; i++)
        status = check_lens(&scene->lenses[i], i, error);
    for (size_t i = 0; i < scene->cover_count && status == LUXFALL_OK; i++)
        status = check_cover(&scene->covers[i], i, error);
    for (size_t i = 0; i < scene->module_count && status == LUXFALL_OK; i++)
        status = check_module(scene, i, error);
    for (size_t i = 0; i < scene->field_count && status == LUXFALL_OK; i++)
        status = check_field(&scene->fields[i], i, error);
    return status;
}
