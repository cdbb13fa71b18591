/* A scene as text that reads back to the same scene: every default written out. */
#include "scenes/numbers.h"
#include "scenes/scene.h"
#include "scenes/storage.h"
#include "scenes/units.h"

#include <math.h>
#include <string.h>

static const double PI = 3.14159265358979323846;

struct quantity_text {
    char text[64];
};

static struct quantity_text quantity(double value, enum dimension dimension) {
    struct quantity_text out;
    quantity_write(value, dimension, out.text, sizeof out.text);
    return out;
}

#define MM(value) quantity(value, LENGTH).text
#define ANGLE_OF(value) quantity(value, ANGLE).text
#define PERCENT(value) quantity(value, SHARE).text

/* Double quotes take any text that the reader lets in; only these two need an escape. */
static void write_text(const char *text, FILE *out) {
    fputc('"', out);
    for (; *text != '\0'; text++) {
        if (*text == '"' || *text == '\\')
            fputc('\\', out);
        fputc(*text, out);
    }
    fputc('"', out);
}

/* A name that is a plain word needs no quotes. */
static void write_name(const char *name, FILE *out) {
    static const char letters[] = "abcdefghijklmnopqrstuvwxyzABCDEFGHIJKLMNOPQRSTUVWXYZ";
    bool plain = strchr(letters, name[0]) != NULL && name[0] != '\0' &&
                 name[strspn(name, "abcdefghijklmnopqrstuvwxyz"
                                   "ABCDEFGHIJKLMNOPQRSTUVWXYZ0123456789-_ ")] == '\0' &&
                 name[strlen(name) - 1] != ' ';
    if (plain)
        fputs(name, out);
    else
        write_text(name, out);
}

static void write_face(const struct luxfall_face *face, FILE *out) {
    if (face->kind == LUXFALL_POINT)
        fputs("point", out);
    else if (face->kind == LUXFALL_DISC)
        fprintf(out, "disc %s", MM(face->width_mm));
    else
        fprintf(out, "%s x %s", MM(face->width_mm), MM(face->height_mm));
}

/* A currency of plain letters needs no quotes. */
static void write_price(double price, const char *currency, FILE *out) {
    char digits[40];
    bool plain = currency != NULL &&
                 currency[strspn(currency, "abcdefghijklmnopqrstuvwxyzABCDEFGHIJKLMNOPQRSTUVWXYZ")] == '\0';
    if (isnan(price))
        return;
    number_write(price, digits, sizeof digits);
    fprintf(out, "    price: %s%s %s%s\n", plain ? "" : "\"", digits, currency, plain ? "" : "\"");
}

static void write_drive(const struct luxfall_emitter *emitter, const struct emitter_extra *extra, FILE *out) {
    const struct luxfall_drive *drive = &emitter->drive;
    if (extra->drive_file != NULL) {
        fputs("\n    drive: ", out);
        write_text(extra->drive_file, out);
    } else {
        fprintf(out, "\n    flux: %s", quantity(emitter->flux_lm, FLUX).text);
        if (drive->count == 1)
            fprintf(out, " at %s", quantity(drive->current_a[0], CURRENT).text);
        if (drive->voltage_v != NULL)
            fprintf(out, "\n    voltage: %s", quantity(drive->voltage_v[0], VOLTAGE).text);
    }
    if (extra->current_limit_a > 0)
        fprintf(out, "\n    current_limit: %s", quantity(extra->current_limit_a, CURRENT).text);
}

static void write_terms(const struct luxfall_material *material, FILE *out) {
    const bool pairs = material->kind == LUXFALL_MATERIAL_SELLMEIER;
    fputs(pairs ? "{sellmeier: [" : "{cauchy: [", out);
    for (int i = 0; i < material->term_count; i++) {
        const bool opens = pairs && i % 2 == 0, closes = pairs && i % 2 == 1;
        fprintf(out, "%s%s%s%s", i > 0 ? ", " : "", opens ? "[" : "", quantity(material->terms[i], NUMBER).text,
                closes ? "]" : "");
    }
    fputc(']', out);
}

static void write_material_value(const struct luxfall_material *material, FILE *out) {
    if (material->kind == LUXFALL_MATERIAL_NAMED && material->transmittance_mm == 0) {
        fputs(material->name, out);
        return;
    }
    if (material->kind == LUXFALL_MATERIAL_NAMED)
        fprintf(out, "{name: %s", material->name);
    else if (material->kind == LUXFALL_MATERIAL_INDEX)
        fprintf(out, "{index: %s", quantity(material->index, NUMBER).text);
    else
        write_terms(material, out);
    if (material->transmittance_mm > 0)
        fprintf(out, ", transmittance: %s per %s", PERCENT(material->transmittance), MM(material->transmittance_mm));
    fputc('}', out);
}

static void write_material(const struct luxfall_material *material, FILE *out) {
    fputs("    material: ", out);
    write_material_value(material, out);
    fputc('\n', out);
}

static void write_package(const struct luxfall_package *p, FILE *out) {
    if (!luxfall_packed(p))
        return;
    fputs("    package: {", out);
    if (p->dome_mm > 0)
        fprintf(out, "dome: {diameter: %s, height: %s}, ", MM(p->dome_mm), MM(p->dome_height_mm));
    if (p->depth_mm > 0)
        fprintf(out, "cup: {floor: %s, opening: %s, depth: %s, reflectance: %s, finish: %s}, ", MM(p->floor_mm),
                MM(p->opening_mm), MM(p->depth_mm), PERCENT(p->wall), p->wall_mirror ? "mirror" : "white");
    fputs("material: ", out);
    write_material_value(&p->material, out);
    fprintf(out, ", bottom: %s, die: {height: %s, offset: [%s, %s], lean: %s towards %s}}\n", PERCENT(p->bottom),
            MM(p->die_height_mm), MM(p->die_x_mm), MM(p->die_y_mm), ANGLE_OF(p->die_lean_rad),
            ANGLE_OF(p->die_lean_azimuth_rad));
}

static void write_emitter(const struct scene *scene, size_t i, FILE *out) {
    const struct luxfall_emitter *emitter = &scene->light.emitters[i];
    const struct emitter_extra *extra = &((const struct storage *)scene->storage)->emitters[i];
    fputs("  ", out);
    write_name(emitter->name, out);
    fputs(":\n    surface: ", out);
    write_face(&emitter->die, out);
    if (emitter->columns * emitter->rows > 1)
        fprintf(out, "\n    dies: {columns: %d, rows: %d, pitch: %s x %s}", emitter->columns, emitter->rows,
                MM(emitter->pitch_x_mm), MM(emitter->pitch_y_mm));
    write_drive(emitter, extra, out);
    if (emitter->intensity.kind == LUXFALL_CURVE) {
        fputs("\n    intensity: {curve: ", out);
        write_text(extra->curve_file, out);
        fputs("}", out);
    } else if (emitter->intensity.viewing_angle_rad == 120 * PI / 180) {
        fputs("\n    intensity: lambertian", out);
    } else {
        fprintf(out, "\n    intensity: {viewing_angle: %s}", ANGLE_OF(emitter->intensity.viewing_angle_rad));
    }
    fprintf(out, "\n    wavelength: %s\n", quantity(emitter->wavelength_um, WAVELENGTH).text);
    write_package(&emitter->package, out);
    write_price(scene->emitter_prices[i], scene->currency, out);
}

static void write_beam(const struct luxfall_beam *beam, FILE *out) {
    fprintf(out, "    beam_angle: %s\n", ANGLE_OF(beam->beam_angle_rad));
    if (beam->field_angle_rad > 0)
        fprintf(out, "    field_angle: %s\n", ANGLE_OF(beam->field_angle_rad));
    if (beam->peak_cd_per_lm > 0)
        fprintf(out, "    peak: %s\n", quantity(beam->peak_cd_per_lm, PEAK).text);
    if (beam->skirt_rad > 0)
        fprintf(out, "    skirt: %s\n", ANGLE_OF(beam->skirt_rad));
    fprintf(out, "    efficiency: %s\n    face: ", PERCENT(beam->efficiency));
    write_face(&beam->face, out);
    fputc('\n', out);
}

static void write_side(const char *key, const struct luxfall_side *side, FILE *out) {
    fprintf(out, "    %s: {radius: %s, conic: %s, powers: [", key, MM(side->radius_mm),
            quantity(side->conic, NUMBER).text);
    for (int i = 0; i < side->power_count; i++)
        fprintf(out, "%s%s", i > 0 ? ", " : "", quantity(side->powers[i], NUMBER).text);
    fputs("]}\n", out);
}

static void write_singlet(const struct luxfall_singlet *singlet, bool plano_convex, FILE *out) {
    bool towards = singlet->towards.radius_mm > 0;
    fprintf(out, "    diameter: %s\n    thickness: %s\n    gap: %s\n    holder: %s\n", MM(singlet->diameter_mm),
            MM(singlet->thickness_mm), MM(singlet->gap_mm), singlet->holder_open ? "open" : "closed");
    if (singlet->body_mm[0] > 0)
        fprintf(out, "    body: %s x %s\n", MM(singlet->body_mm[0]), MM(singlet->body_mm[1]));
    if (plano_convex) {
        fprintf(out, "    radius: %s\n    curved: %s\n",
                MM(towards ? singlet->towards.radius_mm : singlet->away.radius_mm), towards ? "towards" : "away");
        return;
    }
    write_side("towards", &singlet->towards, out);
    write_side("away", &singlet->away, out);
}

static void write_lenslets(const struct luxfall_lenslets *lenslets, FILE *out) {
    if (lenslets->pitch_mm > 0)
        fprintf(out, "    lenslets: {pitch: %s, radius: %s, cells: %s}\n", MM(lenslets->pitch_mm),
                MM(lenslets->radius_mm), lenslets->hexagonal ? "hexagonal" : "square");
}

static void write_collimator(const struct luxfall_collimator *solid, FILE *out) {
    fprintf(out, "    diameter: %s\n    height: %s\n    hollow: %s\n    middle: %s\n    texture: %s\n",
            MM(solid->diameter_mm), MM(solid->height_mm), MM(solid->hollow_mm), MM(solid->middle_mm),
            ANGLE_OF(solid->texture_rad));
    write_lenslets(&solid->lenslets, out);
}

static void write_fresnel(const struct luxfall_fresnel *solid, FILE *out) {
    fprintf(out,
            "    diameter: %s\n    thickness: %s\n    focal_length: %s\n    pitch: %s\n    draft: %s\n    gap: %s\n",
            MM(solid->diameter_mm), MM(solid->thickness_mm), MM(solid->focal_mm), MM(solid->pitch_mm),
            ANGLE_OF(solid->draft_rad), MM(solid->gap_mm));
    fprintf(out, "    grooves: %s\n    holder: %s\n", solid->grooves_towards ? "towards" : "away",
            solid->holder_open ? "open" : "closed");
}

static void write_mirror(const struct luxfall_mirror *mirror, FILE *out) {
    fputs("    reflectance: ", out);
    if (mirror->count == 1) {
        fprintf(out, "%s\n", PERCENT(mirror->share[0]));
        return;
    }
    for (int i = 0; i < mirror->count; i++) {
        fprintf(out, "%s[%s, ", i == 0 ? "[" : ", ", ANGLE_OF(mirror->incidence_rad[i]));
        fprintf(out, "%s]", PERCENT(mirror->share[i]));
    }
    fputs("]\n", out);
}

static void write_pipe(const struct luxfall_pipe *pipe, FILE *out) {
    static const char *const words[] = {
        [LUXFALL_SECTION_ROUND] = "disc ", [LUXFALL_SECTION_RECTANGLE] = "", [LUXFALL_SECTION_HEXAGON] = "hexagon "};
    fprintf(out, "    section: %s%s", words[pipe->section], MM(pipe->width_mm));
    if (pipe->section == LUXFALL_SECTION_RECTANGLE)
        fprintf(out, " x %s", MM(pipe->height_mm));
    fprintf(out, "\n    length: %s\n    gap: %s\n    holder: %s\n", MM(pipe->length_mm), MM(pipe->gap_mm),
            pipe->holder_open ? "open" : "closed");
    if (pipe->mirror.count > 0)
        write_mirror(&pipe->mirror, out);
}

static void write_reflector(const struct luxfall_reflector *cup, FILE *out) {
    fprintf(out, "    opening: %s\n    focal_length: %s\n    hole: %s\n", MM(cup->opening_mm), MM(cup->focal_mm),
            MM(cup->hole_mm));
    if (cup->second_focus_mm > 0)
        fprintf(out, "    second_focus: %s\n", MM(cup->second_focus_mm));
    write_mirror(&cup->mirror, out);
}

static void write_concentrator(const struct luxfall_concentrator *cup, FILE *out) {
    fprintf(out, "    small_end: %s\n    beam: %s\n", MM(cup->small_mm), ANGLE_OF(cup->beam_rad));
    write_mirror(&cup->mirror, out);
}

static void write_profile(const char *key, const struct luxfall_profile *profile, FILE *out) {
    fprintf(out, "    %s: {joined: %s, points: [", key, profile->smooth ? "smooth" : "straight");
    for (size_t i = 0; i < profile->count; i++)
        fprintf(out, "%s[%s, %s]", i > 0 ? ", " : "", MM(profile->radius_mm[i]), MM(profile->height_mm[i]));
    fputs("]}\n", out);
}

static void write_turned(const struct luxfall_turned *body, FILE *out) {
    write_profile("towards", &body->towards, out);
    write_profile("away", &body->away, out);
    fprintf(out, "    gap: %s\n    holder: %s\n", MM(body->gap_mm), body->holder_open ? "open" : "closed");
}

/* Any single lens can be said as an aspheric one; the commonest keeps its own word. */
static void write_solid(const struct luxfall_lens *lens, FILE *out) {
    const char *word = scene_lens_word(lens);
    bool plano_convex = strcmp(word, "plano-convex") == 0;
    if (lens->kind == LUXFALL_LENS_SINGLET && !plano_convex)
        word = "aspheric";
    fprintf(out, "    solid: %s\n", word);
    if (luxfall_lens_has_material(lens))
        write_material(&lens->material, out);
    switch (lens->kind) {
    case LUXFALL_LENS_BEAM:
        break;
    case LUXFALL_LENS_SINGLET:
        write_singlet(&lens->singlet, plano_convex, out);
        break;
    case LUXFALL_LENS_COLLIMATOR:
        write_collimator(&lens->collimator, out);
        break;
    case LUXFALL_LENS_FRESNEL:
        write_fresnel(&lens->fresnel, out);
        break;
    case LUXFALL_LENS_PIPE:
        write_pipe(&lens->pipe, out);
        break;
    case LUXFALL_LENS_REFLECTOR:
        write_reflector(&lens->reflector, out);
        break;
    case LUXFALL_LENS_CONCENTRATOR:
        write_concentrator(&lens->concentrator, out);
        break;
    case LUXFALL_LENS_TURNED:
        write_turned(&lens->turned, out);
        break;
    }
}

static void write_lenses(const struct scene *scene, FILE *out) {
    const struct luxfall_scene *light = &scene->light;
    if (light->lens_count > 0)
        fputs("\nlenses:\n", out);
    for (size_t i = 0; i < light->lens_count; i++) {
        const struct luxfall_lens *lens = &light->lenses[i];
        fputs("  ", out);
        write_name(lens->name, out);
        fputs(":\n", out);
        if (lens->kind == LUXFALL_LENS_BEAM)
            write_beam(&lens->beam, out);
        else
            write_solid(lens, out);
        write_price(scene->lens_prices[i], scene->currency, out);
    }
}

static void write_cover(const struct luxfall_cover *cover, FILE *out) {
    fprintf(out, "    kind: %s\n    gap: %s\n", scene_cover_word(cover), MM(cover->gap_mm));
    if (cover->diameter_mm > 0)
        fprintf(out, "    diameter: %s\n", MM(cover->diameter_mm));
    else
        fprintf(out, "    size: %s x %s\n", MM(cover->width_mm), MM(cover->height_mm));
    switch (cover->kind) {
    case LUXFALL_COVER_WINDOW:
        write_material(&cover->material, out);
        fprintf(out, "    thickness: %s\n    texture: %s\n", MM(cover->thickness_mm), ANGLE_OF(cover->spread_rad));
        write_lenslets(&cover->lenslets, out);
        break;
    case LUXFALL_COVER_FILM:
    case LUXFALL_COVER_OPAL:
        if (cover->kind == LUXFALL_COVER_FILM)
            fprintf(out, "    width: %s\n", ANGLE_OF(cover->spread_rad));
        fprintf(out, "    passes: %s\n    sends_back: %s\n", PERCENT(cover->passes), PERCENT(cover->comes_back));
        break;
    case LUXFALL_COVER_STOP:
        fprintf(out, "    hole: %s\n    height: %s\n", MM(cover->hole_mm), MM(cover->thickness_mm));
        break;
    }
}

static void write_covers(const struct luxfall_scene *light, FILE *out) {
    if (light->cover_count > 0)
        fputs("\ncovers:\n", out);
    for (size_t i = 0; i < light->cover_count; i++) {
        fputs("  ", out);
        write_name(light->covers[i].name, out);
        fputs(":\n", out);
        write_cover(&light->covers[i], out);
    }
}

static void write_plain_parts(const char *section, const struct scene *scene, const struct scene_part *parts,
                              size_t count, FILE *out) {
    if (count > 0)
        fprintf(out, "\n%s:\n", section);
    for (size_t i = 0; i < count; i++) {
        fputs("  ", out);
        write_name(parts[i].name, out);
        fputs(isnan(parts[i].price) ? ": {}\n" : ":\n", out);
        write_price(parts[i].price, scene->currency, out);
    }
}

static void write_placement(const struct luxfall_placement *p, FILE *out) {
    switch (p->kind) {
    case LUXFALL_AT_RING:
        fprintf(out, "    ring: {count: %d, distance: %s, incidence: %s, start: %s}\n", p->count, MM(p->distance_mm),
                ANGLE_OF(p->incidence_rad), ANGLE_OF(p->azimuth_rad));
        break;
    case LUXFALL_AT_SINGLE:
        fprintf(out, "    single: {distance: %s, incidence: %s, azimuth: %s}\n", MM(p->distance_mm),
                ANGLE_OF(p->incidence_rad), ANGLE_OF(p->azimuth_rad));
        break;
    case LUXFALL_AT_LINE:
        fprintf(out, "    line: {count: %d, ", p->count);
        if (p->pitch_x_mm > 0)
            fprintf(out, "pitch: %s, ", MM(p->pitch_x_mm));
        fprintf(out, "height: %s, direction: %s}\n", MM(p->height_mm), ANGLE_OF(p->azimuth_rad));
        break;
    case LUXFALL_AT_GRID:
        fprintf(out, "    grid: {columns: %d, rows: %d, ", p->columns, p->rows);
        if (p->pitch_x_mm > 0)
            fprintf(out, "pitch: %s x %s, ", MM(p->pitch_x_mm), MM(p->pitch_y_mm));
        fprintf(out, "height: %s}\n", MM(p->height_mm));
        break;
    case LUXFALL_AT_POINT:
        fprintf(out, "    at: [%s, %s, %s]\n", MM(p->at_mm.x), MM(p->at_mm.y), MM(p->at_mm.z));
        break;
    }
}

static void write_aim(const struct luxfall_placement *p, FILE *out) {
    switch (p->aim) {
    case LUXFALL_AIM_CENTRE:
        fputs("    aim: centre\n", out);
        break;
    case LUXFALL_AIM_SHORT:
        fprintf(out, "    aim: %s short\n", MM(p->aim_mm));
        break;
    case LUXFALL_AIM_PAST:
        fprintf(out, "    aim: %s past\n", MM(p->aim_mm));
        break;
    case LUXFALL_AIM_DOWN:
        fputs("    aim: down\n", out);
        break;
    case LUXFALL_AIM_POINT:
        fprintf(out, "    aim: [%s, %s]\n", MM(p->aim_x_mm), MM(p->aim_y_mm));
        break;
    }
    fprintf(out, "    lean: %s towards %s\n", ANGLE_OF(p->lean_rad), ANGLE_OF(p->lean_azimuth_rad));
    fprintf(out, "    roll: %s\n", ANGLE_OF(p->roll_rad));
}

static void write_dark(const struct luxfall_module *modules, size_t count, FILE *out) {
    const char *joint = "";
    fputs("    dark: [", out);
    for (size_t i = 0; i < count; i++)
        if (modules[i].dark) {
            fprintf(out, "%s%zu", joint, i + 1);
            joint = ", ";
        }
    fputs("]\n", out);
}

static void write_scale(const struct luxfall_module *modules, size_t count, FILE *out) {
    bool same = true;
    for (size_t i = 1; i < count; i++)
        same = same && modules[i].scale == modules[0].scale;
    if (same) {
        fprintf(out, "    scale: %s\n", PERCENT(modules[0].scale));
        return;
    }
    for (size_t i = 0; i < count; i++)
        fprintf(out, "%s%s", i == 0 ? "    scale: [" : ", ", PERCENT(modules[i].scale));
    fputs("]\n", out);
}

static void write_part_of_group(const char *key, const struct scene_part *parts, size_t index, FILE *out) {
    if (index == SCENE_NONE)
        return;
    fprintf(out, "    %s: ", key);
    write_name(parts[index].name, out);
    fputc('\n', out);
}

static void write_assembly(const struct luxfall_assembly *built, FILE *out) {
    fprintf(out, "    built: {die_shift: [%s, %s], seat: %s, decentre: [%s, %s], lens_lean: %s towards %s}\n",
            MM(built->die_x_mm), MM(built->die_y_mm), MM(built->seat_mm), MM(built->decentre_x_mm),
            MM(built->decentre_y_mm), ANGLE_OF(built->lean_rad), ANGLE_OF(built->lean_azimuth_rad));
}

static bool is_traced(const struct luxfall_scene *light, size_t lens) {
    return lens != LUXFALL_NO_LENS && light->lenses[lens].kind != LUXFALL_LENS_BEAM;
}

static void write_group(const struct scene *scene, const struct scene_group *group, FILE *out) {
    const struct luxfall_scene *light = &scene->light;
    fputs("  - name: ", out);
    write_name(group->name, out);
    fputs("\n    emitter: ", out);
    write_name(light->emitters[group->emitter].name, out);
    fputs("\n    lens: ", out);
    write_name(group->lens == LUXFALL_NO_LENS ? "none" : light->lenses[group->lens].name, out);
    fputc('\n', out);
    for (size_t i = 0; i < group->cover_count; i++) {
        fputs(i == 0 ? "    cover: [" : ", ", out);
        write_name(light->covers[group->covers[i]].name, out);
        fputs(i + 1 == group->cover_count ? "]\n" : "", out);
    }
    if (group->current_a > 0)
        fprintf(out, "    current: %s\n", quantity(group->current_a, CURRENT).text);
    write_part_of_group("sink", scene->sinks, group->sink, out);
    write_part_of_group("board", scene->boards, group->board, out);
    write_placement(&group->placement, out);
    write_aim(&group->placement, out);
    if (is_traced(light, group->lens))
        write_assembly(&group->built, out);
    write_dark(&light->modules[group->first], group->count, out);
    write_scale(&light->modules[group->first], group->count, out);
}

static void write_target(const struct luxfall_target *target, FILE *out) {
    fprintf(out, "\ntarget:\n  size: %s x %s\n  cell: %s\n  levels: [",
            MM(number_rounded(target->columns * target->cell_mm, 12)),
            MM(number_rounded(target->rows * target->cell_mm, 12)), MM(target->cell_mm));
    for (size_t i = 0; i < target->level_count; i++)
        fprintf(out, "%s%s", i == 0 ? "" : ", ", MM(target->level_mm[i]));
    fputs("]\n", out);
}

static void write_camera(const struct luxfall_camera *camera, FILE *out) {
    fprintf(out, "\ncamera:\n  f_number: %s\n", quantity(camera->f_number, NUMBER).text);
    fprintf(out, "  magnification: %s\n", quantity(camera->magnification, NUMBER).text);
    fprintf(out, "  iso: %s\n  reflectance: %s\n", quantity(camera->iso, NUMBER).text, PERCENT(camera->reflectance));
    fprintf(out, "  transmission: %s\n", PERCENT(camera->transmission));
}

/* What a field changes of the scene's camera. */
static void write_zoom(const struct luxfall_camera *own, const struct luxfall_camera *camera, FILE *out) {
    if (own->f_number != camera->f_number)
        fprintf(out, "    f_number: %s\n", quantity(own->f_number, NUMBER).text);
    if (own->magnification != camera->magnification)
        fprintf(out, "    magnification: %s\n", quantity(own->magnification, NUMBER).text);
}

static void write_field(const struct luxfall_field *field, FILE *out) {
    fputs("  - name: ", out);
    write_name(field->name, out);
    if (field->round)
        fprintf(out, "\n    size: disc %s\n", MM(field->width_mm));
    else
        fprintf(out, "\n    size: %s x %s\n", MM(field->width_mm), MM(field->height_mm));
    fprintf(out, "    at: [%s, %s]\n    reading: disc %s\n", MM(field->x_mm), MM(field->y_mm), MM(field->reading_mm));
}

static void write_fields(const struct scene *scene, FILE *out) {
    if (scene->light.field_count > 0)
        fputs("\nfields:\n", out);
    for (size_t i = 0; i < scene->light.field_count; i++) {
        write_field(&scene->light.fields[i], out);
        if (scene->has_camera)
            write_zoom(&scene->field_cameras[i], &scene->camera, out);
    }
}

int scene_write(const struct scene *scene, FILE *stream) {
    const struct luxfall_scene *light = &scene->light;
    fputs("title: ", stream);
    write_text(scene->title, stream);
    fputs("\n\nemitters:\n", stream);
    for (size_t i = 0; i < light->emitter_count; i++)
        write_emitter(scene, i, stream);
    write_lenses(scene, stream);
    write_covers(light, stream);
    write_plain_parts("sinks", scene, scene->sinks, scene->sink_count, stream);
    write_plain_parts("boards", scene, scene->boards, scene->board_count, stream);
    fputs("\nmodules:\n", stream);
    for (size_t i = 0; i < scene->group_count; i++)
        write_group(scene, &scene->groups[i], stream);
    write_target(&light->target, stream);
    write_fields(scene, stream);
    if (scene->has_camera)
        write_camera(&scene->camera, stream);
    if (scene->readings_file != NULL) {
        fputs("\nreadings: {file: ", stream);
        write_text(scene->readings_file, stream);
        fprintf(stream, ", head: %s}\n", MM(scene->head_mm));
    }
    if (scene->rays > 0)
        fprintf(stream, "\nrays: %llu\n", (unsigned long long)scene->rays);
    else
        fprintf(stream, "\naccuracy: %s\n", PERCENT(scene->accuracy));
    fprintf(stream, "seed: %llu\n", (unsigned long long)scene->seed);
    return ferror(stream) ? 1 : 0;
}
