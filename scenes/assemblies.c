/* The key `built` of a module: how lens and emitter were really put together. */
#include "scenes/reader.h"

#include <math.h>

static const struct range shift_range = {LENGTH, -LUXFALL_ASSEMBLY_MAX_MM, LUXFALL_ASSEMBLY_MAX_MM, CLOSED, CLOSED};
static const struct range lens_lean_range = {ANGLE, 0, 30 * 3.14159265358979323846 / 180, CLOSED, CLOSED};

static bool take_shift(struct reader *reader, const struct node *map, const char *key, double *x_mm, double *y_mm) {
    const struct node *node = map_value(map, key);
    double shift[2] = {0, 0};
    if (node != NULL && !reader_vector(reader, node, &shift_range, 2, shift))
        return false;
    *x_mm = shift[0];
    *y_mm = shift[1];
    return true;
}

static bool read_built(struct reader *reader, const struct node *map, struct luxfall_assembly *built) {
    static const char *const known[] = {"die_shift", "seat", "decentre", "lens_lean", NULL};
    const struct node *lean = map_value(map, "lens_lean");
    bool good = reader_keys(reader, map, "how a module is built", known);
    good = take_shift(reader, map, "die_shift", &built->die_x_mm, &built->die_y_mm) && good;
    good = take_shift(reader, map, "decentre", &built->decentre_x_mm, &built->decentre_y_mm) && good;
    good = reader_take(reader, map, "seat", &shift_range, &built->seat_mm) != REFUSED && good;
    if (lean == NULL)
        return good;
    return read_lean(reader, lean, &lens_lean_range, &built->lean_rad, &built->lean_azimuth_rad) && good;
}

/* Light that starts beside the lens misses it; that may be meant, and is told. */
static void judge_entry(struct reader *reader, const struct group_entry *entry, const struct luxfall_lens *lens) {
    const struct luxfall_emitter *emitter = &reader->emitters[entry->group.emitter].value;
    const struct luxfall_assembly *built = &entry->group.built;
    double aside_x_mm = fabs(built->die_x_mm - built->decentre_x_mm),
           aside_y_mm = fabs(built->die_y_mm - built->decentre_y_mm);
    double along_x_mm = emitter->die.width_mm + (emitter->columns - 1) * emitter->pitch_x_mm + 2 * aside_x_mm;
    double along_y_mm = emitter->die.height_mm + (emitter->rows - 1) * emitter->pitch_y_mm + 2 * aside_y_mm;
    double wide_mm = fmax(along_x_mm, along_y_mm), entry_mm = luxfall_lens_entry_mm(lens);
    if (wide_mm > entry_mm * (1 + 1e-9))
        reader_warn(
            reader, entry->lens,
            "the dies of '%.60s' reach %.4g mm from the axis of lens '%.60s', which has room for %.4g mm: light "
            "that starts beside it misses it",
            emitter->name, wide_mm / 2, lens->name, entry_mm / 2);
}

/* The beam of a sheet cannot follow; the solid that can is told as it is to be written, for until then the scene
 * cannot be checked. */
static void tell_solid(struct reader *reader, const struct node *built, const struct emitter_entry *emitter,
                       const struct lens_entry *lens) {
    static const char cannot[] = "the beam of a lens sheet cannot follow how the module is built";
    const struct luxfall_beam *beam = &lens->value.beam;
    struct scene_offer offer;
    struct luxfall_error error;
    enum luxfall_status status = scene_offer_solid(&emitter->value, &lens->value, &offer, &error);
    if (status == LUXFALL_E_MEMORY)
        reader->status = 1;
    if (status != LUXFALL_OK)
        reader_error(reader, built, "%s; no solid is made up in place of '%.60s': %s", cannot, lens->value.name,
                     error.text);
    else
        reader_error(reader, built, "%s; a traced solid can%s: in place of lens '%.60s' write %s", cannot,
                     beam->peak_cd_per_lm > 0 && beam->field_angle_rad > 0
                         ? " (it keeps the beam angle, but neither the sheet's peak nor its field angle)"
                     : beam->peak_cd_per_lm > 0  ? " (it keeps the beam angle, but not the sheet's peak)"
                     : beam->field_angle_rad > 0 ? " (it keeps the beam angle, but not the sheet's field angle)"
                                                 : "",
                     lens->value.name, offer.text);
}

static bool is_as_drawn(const struct luxfall_assembly *built) {
    return built->die_x_mm == 0 && built->die_y_mm == 0 && built->seat_mm == 0 && built->decentre_x_mm == 0 &&
           built->decentre_y_mm == 0 && built->lean_rad == 0;
}

bool read_assembly(struct reader *reader, const struct node *module, struct group_entry *entry) {
    const struct node *node = map_value(module, "built");
    const struct luxfall_emitter *emitter = &reader->emitters[entry->group.emitter].value;
    const struct luxfall_lens *lens =
        entry->group.lens == LUXFALL_NO_LENS ? NULL : &reader->lenses[entry->group.lens].value;
    const struct node *package = map_value(reader->emitters[entry->group.emitter].node, "package");
    struct luxfall_error error;
    double index;
    judge_packed(reader, module, entry);
    if (node == NULL && package == NULL && (lens == NULL || lens->kind == LUXFALL_LENS_BEAM))
        return true;
    if (node != NULL && (!reader_is(reader, node, NODE_MAP) || !read_built(reader, node, &entry->group.built)))
        return false;
    if (lens != NULL && lens->kind == LUXFALL_LENS_BEAM && !is_as_drawn(&entry->group.built)) {
        tell_solid(reader, node, &reader->emitters[entry->group.emitter], &reader->lenses[entry->group.lens]);
        return false;
    }
    if (lens != NULL && luxfall_lens_has_material(lens) &&
        luxfall_material_index(&lens->material, emitter->wavelength_um, &index, NULL) != LUXFALL_OK)
        return true; /* judge_material() tells */
    enum luxfall_status status = luxfall_assembly_check(emitter, lens, &entry->group.built, &error);
    if (status == LUXFALL_E_MEMORY)
        reader->status = 1;
    if (status == LUXFALL_E_VALUE && node != NULL)
        reader_error(reader, node, "%s", error.text);
    else if (status == LUXFALL_E_VALUE)
        reader_error(reader, package != NULL ? package : entry->lens, "behind lens '%.60s': %s",
                     lens != NULL ? lens->name : "none", error.text);
    else if (status == LUXFALL_OK && lens != NULL && lens->kind != LUXFALL_LENS_BEAM)
        judge_entry(reader, entry, lens);
    return status == LUXFALL_OK || status == LUXFALL_E_BEAM; /* a beam that is none is told at its lens */
}
