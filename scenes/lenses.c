/* The section `lenses`: datasheet beams and traced solids. */
#include "scenes/reader.h"

#include <math.h>
#include <string.h>

static const double PI = 3.14159265358979323846;

enum { PARTS_MAX = 2000 };

static const struct range beam_range = {ANGLE, 0, 3.14159265358979323846, OPEN, OPEN};
static const struct range field_range = {ANGLE, 0, 3.14159265358979323846, OPEN, CLOSED};
static const struct range peak_range = {PEAK, 0, 1e6, OPEN, CLOSED};
static const struct range efficiency_range = {SHARE, 0, 1, OPEN, CLOSED};
static const struct range gap_range = {LENGTH, 0, 1e6, CLOSED, CLOSED};

static const char *const beam_keys[] = {"beam_angle", "field_angle", "peak",  "skirt", "efficiency",
                                        "face",       "solid",       "price", NULL};
static const char *const solid_keys[] = {"solid", "material", "diameter", "radius", "thickness",
                                         "gap",   "curved",   "holder",   "price",  NULL};

static bool is_one_of(const char *word, const char *const *words) {
    while (*words != NULL && strcmp(*words, word) != 0)
        words++;
    return *words != NULL;
}

/* A key of the other kind of lens is no typo; it is told as what it is. True: all keys are its own. */
static bool keys_of_kind(struct reader *reader, const struct node *map, bool solid) {
    const char *const *own = solid ? solid_keys : beam_keys, *const *other = solid ? beam_keys : solid_keys;
    bool mixed = false;
    for (size_t i = 0; i < map->count; i++) {
        if (is_one_of(map->keys[i]->text, own) || !is_one_of(map->keys[i]->text, other))
            continue;
        mixed = true;
        reader_error(reader, map->keys[i],
                     solid ? "'%s' belongs to a datasheet beam; a solid is traced and needs no such figure"
                           : "'%s' belongs to a traced lens, which has 'solid: plano-convex'",
                     map->keys[i]->text);
    }
    return !mixed && reader_keys(reader, map, solid ? "a traced lens" : "a lens", own);
}

static bool take_efficiency(struct reader *reader, const struct node *map, struct luxfall_beam *beam) {
    enum taken taken = reader_take(reader, map, "efficiency", &efficiency_range, &beam->efficiency);
    if (taken != ABSENT)
        return taken == TAKEN;
    beam->efficiency = 0.85;
    if (!reader->incomplete)
        reader_warn(reader, reader_name_of(map),
                    "no 'efficiency' for this lens; 85 %% is taken (82 to 92 %% is usual)");
    return true;
}

static bool take_face(struct reader *reader, const struct node *map, struct luxfall_beam *beam) {
    const struct node *face = map_value(map, "face");
    beam->face.kind = LUXFALL_POINT;
    if (face != NULL && !reader_face(reader, face, &range_size, true, &beam->face))
        return false;
    if (beam->face.kind == LUXFALL_POINT && !reader->incomplete)
        reader_warn(reader, face != NULL ? face : reader_name_of(map),
                    "the lens has no face: its light leaves a point, and lux near to it are overstated; write for "
                    "instance 'face: disc 18 mm'");
    return true;
}

static bool check_angles(struct reader *reader, const struct node *map, const struct luxfall_beam *beam) {
    const struct node *field = map_value(map, "field_angle");
    if (field == NULL || beam->field_angle_rad > beam->beam_angle_rad)
        return true;
    reader_error(
        reader, field,
        "'field_angle' (full angle at 10 %%) is %.4g deg, not wider than 'beam_angle' (full angle at 50 %%), "
        "%.4g deg; is it a half angle? Twice it is %.4g deg",
        beam->field_angle_rad * 180 / PI, beam->beam_angle_rad * 180 / PI, 2 * beam->field_angle_rad * 180 / PI);
    return false;
}

static bool read_beam(struct reader *reader, const struct node *map, struct luxfall_beam *beam) {
    bool good = keys_of_kind(reader, map, false);
    bool angles = reader_take_needed(reader, map, "beam_angle", &beam_range, &beam->beam_angle_rad);
    angles = reader_take(reader, map, "field_angle", &field_range, &beam->field_angle_rad) != REFUSED && angles;
    good = reader_take(reader, map, "peak", &peak_range, &beam->peak_cd_per_lm) != REFUSED && good;
    good = reader_take(reader, map, "skirt", &beam_range, &beam->skirt_rad) != REFUSED && good;
    good = take_efficiency(reader, map, beam) && good;
    good = take_face(reader, map, beam) && good;
    const struct node *skirt = map_value(map, "skirt");
    if (skirt != NULL && map_value(map, "peak") == NULL) {
        reader_error(reader, skirt, "'skirt' says how wide the light around the beam is; 'peak' must say how much");
        good = false;
    }
    return angles && check_angles(reader, map, beam) && good;
}

static bool take_word(struct reader *reader, const struct node *map, const char *key, const char *const *words,
                      bool *second) {
    const struct node *node = map_value(map, key);
    int word = node == NULL ? 0 : reader_word(reader, node, words);
    *second = word == 1;
    return word >= 0;
}

/* The curved side must be a part of its sphere and leave an edge. */
static bool check_solid(struct reader *reader, const struct node *map, const struct luxfall_plano_convex *solid) {
    double half = solid->diameter_mm / 2, radius = solid->radius_mm;
    if (half > radius) {
        reader_error(reader, map_value(map, "radius"),
                     "a radius of %.6g mm cannot curve a lens of diameter %.6g mm: it must be at least %.6g mm",
                     radius, solid->diameter_mm, half);
        return false;
    }
    double sag = radius - sqrt(radius * radius - half * half);
    if (sag <= solid->thickness_mm)
        return true;
    reader_error(
        reader, map_value(map, "thickness"),
        "a thickness of %.6g mm leaves no edge: the curved side alone is %.6g - sqrt(%.6g^2 - %.6g^2) = %.6g mm "
        "high",
        solid->thickness_mm, radius, radius, half, sag);
    return false;
}

static bool read_solid(struct reader *reader, const struct node *map, struct luxfall_plano_convex *solid) {
    static const char *const kinds[] = {"plano-convex", NULL}, *const sides[] = {"away", "towards", NULL},
                             *const holders[] = {"closed", "open", NULL};
    if (reader_word(reader, map_value(map, "solid"), kinds) < 0)
        return false;
    bool good = keys_of_kind(reader, map, true);
    good = read_material(reader, map, &solid->material) && good;
    good = reader_take_needed(reader, map, "diameter", &range_size, &solid->diameter_mm) && good;
    good = reader_take_needed(reader, map, "radius", &range_size, &solid->radius_mm) && good;
    good = reader_take_needed(reader, map, "thickness", &range_size, &solid->thickness_mm) && good;
    good = reader_take_needed(reader, map, "gap", &gap_range, &solid->gap_mm) && good;
    good = take_word(reader, map, "curved", sides, &solid->curved_towards) && good;
    good = take_word(reader, map, "holder", holders, &solid->holder_open) && good;
    return good && check_solid(reader, map, solid);
}

static bool read_lens(struct reader *reader, const struct node *map, struct luxfall_lens *lens) {
    if (!reader_is(reader, map, NODE_MAP))
        return false;
    if (map_value(map, "solid") == NULL) {
        lens->kind = LUXFALL_LENS_BEAM;
        return read_beam(reader, map, &lens->beam);
    }
    lens->kind = LUXFALL_LENS_PLANO_CONVEX;
    return read_solid(reader, map, &lens->plano_convex);
}

static const struct node *earlier_lens(const struct reader *reader, const char *name) {
    for (size_t i = 0; i < reader->lens_count; i++)
        if (strcmp(reader->lenses[i].value.name, name) == 0)
            return reader_name_of(reader->lenses[i].node);
    return NULL;
}

static const char *lens_name(struct reader *reader, const struct node *key) {
    const struct node *earlier = earlier_lens(reader, key->text);
    if (earlier != NULL)
        reader_error(reader, key, "lens '%s' stands twice; the first is in %s:%d", key->text, earlier->place.file,
                     earlier->place.line);
    else if (strcmp(key->text, "none") == 0)
        reader_error(reader, key, "a lens cannot be named 'none': that is said by modules without a lens");
    else if (reader->lens_count == PARTS_MAX)
        reader_error(reader, key, "more than %d lenses", PARTS_MAX);
    else
        return reader_name(reader, key);
    return NULL;
}

void read_lenses(struct reader *reader, const struct node *map) {
    if (!reader_is(reader, map, NODE_MAP))
        return;
    for (size_t i = 0; i < map->count; i++) {
        const char *name = lens_name(reader, map->keys[i]);
        struct lens_entry *grown = arena_more(reader->arena, reader->lenses, reader->lens_count, sizeof *grown);
        if (grown == NULL)
            return;
        reader->lenses = grown;
        if (name == NULL)
            continue;
        struct lens_entry *entry = &grown[reader->lens_count++];
        *entry = (struct lens_entry){.node = map->items[i], .value.name = name};
        reader->quiet = !reader_uses(reader, "lens", name);
        entry->sound = read_lens(reader, map->items[i], &entry->value);
        entry->sound = take_price(reader, map->items[i], &entry->price) && entry->sound;
        reader->quiet = false;
    }
}
