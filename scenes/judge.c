/* What only the whole scene can tell: the verdict on lens figures, slips of scale, fields in the dark. */
#include "scenes/numbers.h"
#include "scenes/reader.h"

#include <math.h>
#include <string.h>

static const double PI = 3.14159265358979323846;

static double deg(double angle_rad) {
    return angle_rad * 180 / PI;
}

/* Without a power of ten. */
static double four(double value) {
    return number_rounded(value, 4);
}

/* ---- lenses ---------------------------------------------------------------------------------------------------- */

/* Where a verdict on a lens is best shown: at the figure that it speaks of. */
static const struct node *figure_of(const struct lens_entry *lens) {
    const char *const keys[] = {"peak", "field_angle", "beam_angle"};
    for (size_t i = 0; i < sizeof keys / sizeof *keys; i++) {
        const struct node *node = map_value(lens->node, keys[i]);
        if (node != NULL)
            return node;
    }
    return reader_name_of(lens->node);
}

/* A half angle in place of the full one makes the bell four times too high, so a sound peak looks a quarter of it. */
static bool doubled_angle_fits(const struct luxfall_beam *beam, double *ratio) {
    struct luxfall_beam doubled = *beam;
    struct luxfall_beam_solution solution;
    doubled.beam_angle_rad *= 2;
    if (doubled.beam_angle_rad >= PI)
        return false;
    doubled.peak_cd_per_lm = doubled.field_angle_rad = doubled.skirt_rad = 0;
    if (luxfall_beam_solve(&doubled, NULL, &solution, NULL) != LUXFALL_OK)
        return false;
    *ratio = beam->peak_cd_per_lm / solution.bell_cd_per_lm;
    return *ratio >= 0.85 && *ratio <= 1.1;
}

static void tell_spill(struct reader *reader, const struct lens_entry *lens,
                       const struct luxfall_beam_solution *solution) {
    const struct luxfall_beam *beam = &lens->value.beam;
    double ratio = 0;
    if (doubled_angle_fits(beam, &ratio))
        reader_warn(
            reader, figure_of(lens),
            "%.10g cd/lm is %.2f of what a bell of %.4g deg and %.4g %% gives (%.10g cd/lm), but %.2f of that of "
            "%.4g deg: is beam_angle a half angle?",
            four(beam->peak_cd_per_lm), solution->bell_ratio, deg(beam->beam_angle_rad), 100 * beam->efficiency,
            four(solution->bell_cd_per_lm), ratio, 2 * deg(beam->beam_angle_rad));
    else
        reader_warn(reader, figure_of(lens),
                    "%.10g cd/lm is %.2f of what a bell of %.4g deg and %.4g %% gives (%.10g cd/lm): much light lies "
                    "outside the main beam, %.0f %% of it in a skirt of %.4g deg",
                    four(beam->peak_cd_per_lm), solution->bell_ratio, deg(beam->beam_angle_rad),
                    100 * beam->efficiency, four(solution->bell_cd_per_lm), 100 * (1 - solution->core_share),
                    deg(solution->skirt_rad));
}

static void tell_shape(struct reader *reader, const struct lens_entry *lens,
                       const struct luxfall_beam_solution *solution) {
    const struct luxfall_beam *beam = &lens->value.beam;
    if (beam->peak_cd_per_lm > 0 && solution->bell_ratio > 1.1)
        reader_warn(
            reader, figure_of(lens),
            "%.10g cd/lm is %.2f of what a bell of %.4g deg and %.4g %% gives (%.10g cd/lm; an even disc: %.10g "
            "cd/lm): a flat-topped beam",
            four(beam->peak_cd_per_lm), solution->bell_ratio, deg(beam->beam_angle_rad), 100 * beam->efficiency,
            four(solution->bell_cd_per_lm), four(solution->flat_top_cd_per_lm));
    else if (beam->peak_cd_per_lm > 0 && solution->bell_ratio < 0.7)
        tell_spill(reader, lens, solution);
    if (beam->skirt_rad > 0 && solution->skirt_share == 0)
        reader_warn(reader, map_value(lens->node, "skirt"), "'skirt' is not used: this peak leaves no light for one");
}

/* The smallest full beam that die and face allow, for a bare die and for one under a dome of n = 1.5. */
static void tell_floor(struct reader *reader, const struct lens_entry *lens, const struct emitter_entry *emitter,
                       const struct luxfall_beam_solution *solution) {
    const struct luxfall_beam *beam = &lens->value.beam;
    double ratio = 0;
    if (beam->peak_cd_per_lm > 0 && solution->bell_ratio < 0.7 && doubled_angle_fits(beam, &ratio))
        return; /* told as a half angle */
    if (solution->bound_domed_cd_per_lm > 0 && solution->peak_cd_per_lm > solution->bound_domed_cd_per_lm)
        reader_warn(
            reader, figure_of(lens),
            "%.10g cd/lm from emitter '%.60s' is more than this face can send if its die sits under a dome of "
            "n = 1.5: A_face / (pi n^2 A_die) = %.10g cd/lm (bare die: %.10g cd/lm)",
            four(solution->peak_cd_per_lm), emitter->value.name, four(solution->bound_domed_cd_per_lm),
            four(solution->bound_cd_per_lm));
    else if (beam->beam_angle_rad < solution->floor_domed_rad)
        reader_warn(
            reader, map_value(lens->node, "beam_angle"),
            "%.4g deg with emitter '%.60s': die and face allow a full beam of 2 asin(n sqrt(A_die / A_face)) = "
            "%.3g deg (bare die) to %.3g deg (dome of n = 1.5) at the least",
            deg(beam->beam_angle_rad), emitter->value.name, deg(solution->floor_rad), deg(solution->floor_domed_rad));
}

static void refuse_beam(struct reader *reader, struct lens_entry *lens, enum luxfall_status status,
                        const char *text) {
    if (status == LUXFALL_E_MEMORY)
        reader->status = 1;
    reader_error(reader, figure_of(lens), "%s", text);
    lens->sound = false;
}

static void judge_pair(struct reader *reader, struct lens_entry *lens, const struct emitter_entry *emitter) {
    struct luxfall_beam_solution solution;
    struct luxfall_error error;
    enum luxfall_status status = luxfall_beam_solve(&lens->value.beam, &emitter->value, &solution, &error);
    if (status == LUXFALL_OK)
        tell_floor(reader, lens, emitter, &solution);
    else if (status == LUXFALL_E_BEAM) { /* alone it was sound: face and die are at odds */
        reader_error(reader, figure_of(lens),
                     "%s Or was the sheet measured with a smaller die than emitter '%.60s' has?", error.text,
                     emitter->value.name);
        lens->sound = false;
    } else
        refuse_beam(reader, lens, status, error.text);
}

static bool is_first_of_pair(const struct reader *reader, size_t group) {
    const struct scene_group *g = &reader->groups[group].group;
    for (size_t i = 0; i < group; i++)
        if (reader->groups[i].sound && reader->groups[i].group.lens == g->lens &&
            reader->groups[i].group.emitter == g->emitter)
            return false;
    return true;
}

void judge_lenses(struct reader *reader) {
    for (size_t i = 0; i < reader->lens_count; i++) {
        struct lens_entry *lens = &reader->lenses[i];
        struct luxfall_beam_solution solution;
        struct luxfall_error error;
        if (!lens->sound || lens->value.kind != LUXFALL_LENS_BEAM)
            continue;
        enum luxfall_status status = luxfall_beam_solve(&lens->value.beam, NULL, &solution, &error);
        reader->quiet = !reader_uses(reader, "lens", lens->value.name);
        if (status == LUXFALL_OK)
            tell_shape(reader, lens, &solution);
        reader->quiet = false;
        if (status != LUXFALL_OK)
            refuse_beam(reader, lens, status, error.text);
    }
    for (size_t g = 0; g < reader->group_count; g++) {
        const struct group_entry *entry = &reader->groups[g];
        if (!entry->sound || entry->group.lens == LUXFALL_NO_LENS || !is_first_of_pair(reader, g))
            continue;
        struct lens_entry *lens = &reader->lenses[entry->group.lens];
        const struct emitter_entry *emitter = &reader->emitters[entry->group.emitter];
        if (lens->sound && lens->value.kind == LUXFALL_LENS_BEAM)
            judge_pair(reader, lens, emitter);
        else if (lens->sound && emitter->sound && luxfall_lens_has_material(&lens->value))
            judge_material(reader, lens, emitter);
    }
}

/* ---- sizes ----------------------------------------------------------------------------------------------------- */

enum { GROUP_ROOM_MAX = 500 }; /* members of which every pair is looked at */

static double map_side_mm(const struct luxfall_target *target) {
    return (target->columns > target->rows ? target->columns : target->rows) * target->cell_mm;
}

static const struct node *far_value(const struct group_entry *entry) {
    const char *const keys[] = {"distance", "height"};
    for (size_t i = 0; i < sizeof keys / sizeof *keys && entry->placement->kind == NODE_MAP; i++) {
        const struct node *node = map_value(entry->placement, keys[i]);
        if (node != NULL)
            return node;
    }
    return entry->placement;
}

static double lens_width_mm(const struct reader *reader, const struct scene_group *group) {
    if (group->lens == LUXFALL_NO_LENS)
        return 0;
    return luxfall_lens_diameter_mm(&reader->lenses[group->lens].value);
}

/* Two members of a group whose faces share room: along the face nearer than a face, along the axis nearer than half
 * of one. */
static bool faces_meet(const struct luxfall_lens *lens, const struct luxfall_pose *a, const struct luxfall_pose *b) {
    double round_mm = luxfall_lens_diameter_mm(lens);
    struct luxfall_face face = luxfall_lens_face(lens);
    double x = b->at_mm.x - a->at_mm.x, y = b->at_mm.y - a->at_mm.y, z = b->at_mm.z - a->at_mm.z;
    double along_x = fabs(x * a->x.x + y * a->x.y + z * a->x.z), along_y = fabs(x * a->y.x + y * a->y.y + z * a->y.z);
    double along = fabs(x * a->axis.x + y * a->axis.y + z * a->axis.z);
    const double touching = 0.999;
    bool beside = face.kind == LUXFALL_RECTANGLE
                      ? along_x < touching * face.width_mm && along_y < touching * face.height_mm
                      : hypot(along_x, along_y) < touching * round_mm;
    return beside && along < round_mm / 2;
}

static void judge_room(struct reader *reader, const struct group_entry *entry) {
    const struct scene_group *group = &entry->group;
    if (group->lens == LUXFALL_NO_LENS || group->count > GROUP_ROOM_MAX)
        return;
    const struct luxfall_lens *lens = &reader->lenses[group->lens].value;
    for (size_t i = 0; i < group->count; i++)
        for (size_t j = i + 1; j < group->count; j++)
            if (faces_meet(lens, &entry->poses[i], &entry->poses[j])) {
                const struct luxfall_vec *a = &entry->poses[i].at_mm, *b = &entry->poses[j].at_mm;
                reader_warn(
                    reader, entry->placement,
                    "members %zu and %zu stand %.4g mm apart, but their lens '%.60s' is %.4g mm wide: they do "
                    "not fit beside each other",
                    i + 1, j + 1, sqrt(pow(a->x - b->x, 2) + pow(a->y - b->y, 2) + pow(a->z - b->z, 2)), lens->name,
                    luxfall_lens_diameter_mm(lens));
                return;
            }
}

/* m for mm puts the lamp a thousand times too far, mm for m inside its own lens. */
static void judge_distance(struct reader *reader, const struct group_entry *entry) {
    double side_mm = map_side_mm(&reader->scene->light.target), lens_mm = lens_width_mm(reader, &entry->group);
    const struct luxfall_vec *at = &entry->poses[0].at_mm;
    double away_mm = sqrt(at->x * at->x + at->y * at->y + at->z * at->z);
    if (side_mm > 0 && away_mm > 100 * side_mm)
        reader_warn(
            reader, far_value(entry),
            "the module is %.6g mm away, %.10g times the side of the map (%.6g mm); is a length in m that should "
            "be in mm?",
            away_mm, four(away_mm / side_mm), side_mm);
    else if (away_mm < lens_mm)
        reader_warn(
            reader, far_value(entry),
            "the module is %.6g mm away, less than its own lens is wide (%.6g mm); is a length in mm that should "
            "be in m or cm?",
            away_mm, lens_mm);
    else if (side_mm > 200 * away_mm)
        reader_warn(
            reader, map_value(reader->target, "size"),
            "the map is %.6g mm wide, %.10g times as far as its module is away (%.6g mm); is a length in m that "
            "should be in mm?",
            side_mm, four(side_mm / away_mm), away_mm);
}

static void judge_fields(struct reader *reader) {
    const struct luxfall_scene *light = &reader->scene->light;
    double side_mm = map_side_mm(&light->target);
    for (size_t i = 0; i < light->field_count; i++) {
        double wide_mm = fmax(light->fields[i].width_mm, light->fields[i].height_mm);
        if (side_mm > 0 && wide_mm > 50 * side_mm)
            reader_warn(
                reader, map_value(reader->fields[i], "size"),
                "the field is %.6g mm wide, %.10g times the side of the map (%.6g mm); is a length in m that should "
                "be in mm?",
                wide_mm, four(wide_mm / side_mm), side_mm);
    }
}

void judge_sizes(struct reader *reader) {
    for (size_t i = 0; i < reader->emitter_count; i++) {
        const struct luxfall_face *die = &reader->emitters[i].value.die;
        if (reader->emitters[i].sound && fmax(die->width_mm, die->height_mm) > 500)
            reader_warn(reader, map_value(reader->emitters[i].node, "surface"),
                        "a die of %.6g mm x %.6g mm is very large; is a length in m that should be in mm?",
                        die->width_mm, die->height_mm);
    }
    for (size_t i = 0; i < reader->lens_count; i++) {
        const struct luxfall_lens *lens = &reader->lenses[i].value;
        const struct luxfall_face *face = &lens->beam.face;
        if (reader->lenses[i].sound && lens->kind == LUXFALL_LENS_BEAM &&
            fmax(face->width_mm, face->height_mm) > 1000)
            reader_warn(reader, map_value(reader->lenses[i].node, "face"),
                        "a face of %.6g mm x %.6g mm is very large; is a length in m that should be in mm?",
                        face->width_mm, face->height_mm);
    }
    for (size_t g = 0; g < reader->group_count; g++)
        if (reader->groups[g].sound) {
            judge_distance(reader, &reader->groups[g]);
            judge_room(reader, &reader->groups[g]);
        }
    judge_fields(reader);
}

/* ---- reach ----------------------------------------------------------------------------------------------------- */

enum { READINGS_MAX = 20000 }; /* modules x places: what a check may cost */

/* Half the full angle at 50 %; 0 where that is not known. */
static double half_beam_rad(const struct luxfall_scene *light, const struct luxfall_module *module) {
    const struct luxfall_intensity *intensity = &light->emitters[module->emitter].intensity;
    if (module->lens != LUXFALL_NO_LENS)
        return light->lenses[module->lens].beam.beam_angle_rad / 2; /* a solid has none */
    return intensity->kind == LUXFALL_COSINE ? intensity->viewing_angle_rad / 2 : 0;
}

/* The main beam of some module covers the field's centre: lit beyond doubt, and cheaply known. */
static bool is_in_a_beam(const struct luxfall_scene *light, const struct luxfall_field *field, double level_mm) {
    for (size_t i = 0; i < light->module_count; i++) {
        const struct luxfall_module *module = &light->modules[i];
        const struct luxfall_vec *at = &module->pose.at_mm, *axis = &module->pose.axis;
        double x = field->x_mm - at->x, y = field->y_mm - at->y, z = level_mm - at->z;
        double along = x * axis->x + y * axis->y + z * axis->z;
        if (!module->dark && z < 0 && along > sqrt(x * x + y * y + z * z) * cos(half_beam_rad(light, module)))
            return true;
    }
    return false;
}

/* A bright enough place among the field's centre and the middles of its edges. *out_lx: the brightest seen. */
static enum luxfall_status find_light(const struct luxfall_scene *light, const struct luxfall_field *field,
                                      double level_mm, double enough_lx, double *out_lx) {
    static const double spots[5][2] = {{0, 0}, {-0.5, 0}, {0.5, 0}, {0, -0.5}, {0, 0.5}};
    enum luxfall_status status = LUXFALL_OK;
    *out_lx = 0;
    for (size_t i = 0; i < 5 && status == LUXFALL_OK && *out_lx <= enough_lx; i++) {
        double lx = 0;
        status = luxfall_direct_reading(light, field->x_mm + spots[i][0] * field->width_mm,
                                        field->y_mm + spots[i][1] * field->height_mm, level_mm, 0, &lx, NULL);
        *out_lx = fmax(*out_lx, lx);
    }
    return status;
}

static bool some_light(const struct luxfall_scene *light) {
    for (size_t i = 0; i < light->module_count; i++)
        if (!light->modules[i].dark)
            return true;
    return false;
}

/* Light where the first member of each group is aimed, the most of it. */
static enum luxfall_status brightest_aim(const struct scene *scene, double level_mm, double *out_lx) {
    enum luxfall_status status = LUXFALL_OK;
    *out_lx = 0;
    for (size_t g = 0; g < scene->group_count && status == LUXFALL_OK; g++) {
        struct luxfall_bracket bracket;
        double lx = 0;
        luxfall_bracket(&scene->light.modules[scene->groups[g].first].pose, &bracket);
        if (isfinite(bracket.distance_mm))
            status =
                luxfall_direct_reading(&scene->light, bracket.aim_mm.x, bracket.aim_mm.y, level_mm, 0, &lx, NULL);
        *out_lx = fmax(*out_lx, lx);
    }
    return status;
}

/* A field that no main beam covers is read by the direct way. A traced lens cannot be read so: nothing is said then.
 */
static void judge_field(struct reader *reader, size_t index, double level_mm) {
    const struct luxfall_scene *light = &reader->scene->light;
    const struct luxfall_field *field = &light->fields[index];
    double aim_lx = 0, lx = 0;
    if (is_in_a_beam(light, field, level_mm) || brightest_aim(reader->scene, level_mm, &aim_lx) != LUXFALL_OK)
        return;
    if (find_light(light, field, level_mm, 1e-3 * aim_lx, &lx) == LUXFALL_OK && lx <= 1e-3 * aim_lx)
        reader_warn(
            reader, reader->fields[index],
            "hardly any light reaches the field '%.60s': %.10g lx against %.10g lx where the modules are aimed",
            field->name, number_rounded(lx, 3), number_rounded(aim_lx, 3));
}

void judge_reach(struct reader *reader) {
    const struct scene *scene = reader->scene;
    const struct luxfall_scene *light = &scene->light;
    double readings = (double)light->module_count * (double)light->field_count * (5.0 + (double)scene->group_count);
    if (!some_light(light)) {
        reader_warn(reader, reader->groups[0].node, "every module is dark: the scene has no light");
        return;
    }
    for (size_t i = 0; i < light->field_count && readings <= READINGS_MAX; i++)
        judge_field(reader, i, light->target.level_mm[0]);
}
