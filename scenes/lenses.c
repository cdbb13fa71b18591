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

static const char *const beam_keys[] = {"beam_angle", "field_angle", "peak",  "skirt", "efficiency",
                                        "face",       "solid",       "price", NULL};
static bool beam_keys_alone(struct reader *reader, const struct node *map) {
    bool mixed = false;
    for (size_t i = 0; i < map->count; i++) {
        if (!is_key_of_solids(map->keys[i]->text) || word_index(map->keys[i]->text, beam_keys) >= 0)
            continue;
        mixed = true;
        reader_error(reader, map->keys[i],
                     "'%s' belongs to a traced lens, which says its kind, such as 'solid: plano-convex'",
                     map->keys[i]->text);
    }
    return !mixed && reader_keys(reader, map, "a lens", beam_keys);
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
    bool good = beam_keys_alone(reader, map);
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

static bool read_lens(struct reader *reader, const struct node *map, struct luxfall_lens *lens) {
    if (!reader_is(reader, map, NODE_MAP))
        return false;
    if (map_value(map, "solid") == NULL) {
        lens->kind = LUXFALL_LENS_BEAM;
        return read_beam(reader, map, &lens->beam);
    }
    return read_solid(reader, map, lens);
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
