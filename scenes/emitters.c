/* The section `emitters`. */
#include "scenes/reader.h"

#include <string.h>

static const double PI = 3.14159265358979323846;

enum { DIES_ACROSS_MAX = 100, PARTS_MAX = 2000 };

static const struct range wavelength_range = {WAVELENGTH, LUXFALL_WAVELENGTH_LOW_UM, LUXFALL_WAVELENGTH_HIGH_UM,
                                              CLOSED, CLOSED};
static const struct range viewing_range = {ANGLE, 0, 3.14159265358979323846, OPEN, OPEN};

static bool read_pitch(struct reader *reader, const struct node *node, struct luxfall_emitter *emitter) {
    double pitch[2] = {0, 0};
    if (!reader_is(reader, node, NODE_TEXT))
        return false;
    if (is_product(node->text) ? !reader_product(reader, node, &range_size, pitch)
                               : !reader_quantity(reader, node, &range_size, &pitch[0]))
        return false;
    emitter->pitch_x_mm = pitch[0];
    emitter->pitch_y_mm = pitch[1] > 0 ? pitch[1] : pitch[0];
    const struct luxfall_face *die = &emitter->die;
    bool overlap = (emitter->columns > 1 && emitter->pitch_x_mm < die->width_mm * (1 - 1e-9)) ||
                   (emitter->rows > 1 && emitter->pitch_y_mm < die->height_mm * (1 - 1e-9));
    if (overlap)
        reader_error(reader, node, "dies of %.6g mm x %.6g mm at a pitch of %.6g mm x %.6g mm would overlap",
                     die->width_mm, die->height_mm, emitter->pitch_x_mm, emitter->pitch_y_mm);
    return !overlap;
}

static bool read_dies(struct reader *reader, const struct node *map, struct luxfall_emitter *emitter) {
    static const char *const known[] = {"columns", "rows", "pitch", NULL};
    const struct node *dies = map_value(map, "dies");
    if (dies == NULL)
        return true;
    if (!reader_is(reader, dies, NODE_MAP))
        return false;
    bool good = reader_keys(reader, dies, "dies", known);
    good = reader_take_count(reader, dies, "columns", 1, DIES_ACROSS_MAX, &emitter->columns) != REFUSED && good;
    good = reader_take_count(reader, dies, "rows", 1, DIES_ACROSS_MAX, &emitter->rows) != REFUSED && good;
    if (map_value(dies, "pitch") == NULL && emitter->columns * emitter->rows == 1)
        return good;
    const struct node *pitch = reader_need(reader, dies, "pitch");
    return pitch != NULL && read_pitch(reader, pitch, emitter) && good;
}

static void warn_of_half_angle(struct reader *reader, const struct node *node, double angle_rad) {
    double deg = angle_rad * 180 / PI;
    if (deg >= 50 && deg <= 70)
        reader_warn(
            reader, node,
            "a viewing angle of %.4g deg is narrow for a bare LED; it is the full angle at 50 %%: a sheet that "
            "says ±%.4g deg means 2 x %.4g = %.4g deg",
            deg, deg, deg, 2 * deg);
    else if (deg > 160)
        reader_warn(
            reader, node,
            "a viewing angle of %.4g deg is wider than LEDs have (120 deg is Lambertian); is it the full angle "
            "at 50 %%?",
            deg);
}

static bool read_intensity_map(struct reader *reader, const struct node *node, struct emitter_entry *entry) {
    static const char *const known[] = {"viewing_angle", "curve", NULL};
    struct luxfall_intensity *intensity = &entry->value.intensity;
    const struct node *angle = map_value(node, "viewing_angle"), *curve = map_value(node, "curve");
    if (!reader_keys(reader, node, "an intensity", known))
        return false;
    if ((angle == NULL) == (curve == NULL)) {
        reader_error(reader, node, "'intensity' takes either viewing_angle or curve");
        return false;
    }
    if (curve != NULL)
        return read_curve(reader, curve, intensity, &entry->curve_file);
    if (!reader_quantity(reader, angle, &viewing_range, &intensity->viewing_angle_rad))
        return false;
    warn_of_half_angle(reader, angle, intensity->viewing_angle_rad);
    return true;
}

static bool read_intensity(struct reader *reader, const struct node *map, struct emitter_entry *entry) {
    static const char *const words[] = {"lambertian", NULL};
    const struct node *node = map_value(map, "intensity");
    entry->value.intensity = (struct luxfall_intensity){.kind = LUXFALL_COSINE, .viewing_angle_rad = 120 * PI / 180};
    if (node == NULL)
        return true;
    if (node->kind == NODE_MAP)
        return read_intensity_map(reader, node, entry);
    if (node->kind == NODE_TEXT)
        return reader_word(reader, node, words) == 0;
    reader_error(reader, node, "'intensity' takes lambertian, {viewing_angle: 120 deg} or {curve: file.csv}");
    return false;
}

static bool read_emitter(struct reader *reader, const struct node *map, struct emitter_entry *entry) {
    static const char *const known[] = {"surface",    "dies",  "flux",          "voltage", "drive", "intensity",
                                        "wavelength", "price", "current_limit", "package", NULL};
    entry->value.columns = entry->value.rows = 1;
    if (!reader_is(reader, map, NODE_MAP))
        return false;
    bool good = reader_keys(reader, map, "an emitter", known);
    const struct node *surface = reader_need(reader, map, "surface");
    good = surface != NULL && reader_face(reader, surface, &range_size, true, &entry->value.die) && good;
    good = read_dies(reader, map, &entry->value) && good;
    good = read_drive(reader, map, entry) && good;
    good = take_price(reader, map, &entry->price) && good;
    entry->value.wavelength_um = LUXFALL_WAVELENGTH_UM;
    good = reader_take(reader, map, "wavelength", &wavelength_range, &entry->value.wavelength_um) != REFUSED && good;
    good = read_intensity(reader, map, entry) && good;
    return read_package(reader, map, good, &entry->value) && good;
}

static const struct node *earlier_emitter(const struct reader *reader, const char *name) {
    for (size_t i = 0; i < reader->emitter_count; i++)
        if (strcmp(reader->emitters[i].value.name, name) == 0)
            return reader_name_of(reader->emitters[i].node);
    return NULL;
}

void read_emitters(struct reader *reader, const struct node *map) {
    if (!reader_is(reader, map, NODE_MAP))
        return;
    for (size_t i = 0; i < map->count; i++) {
        const struct node *key = map->keys[i], *earlier = earlier_emitter(reader, key->text);
        const char *name = reader_name(reader, key);
        if (earlier != NULL)
            reader_error(reader, key, "emitter '%s' stands twice; the first is in %s:%d", key->text,
                         earlier->place.file, earlier->place.line);
        else if (reader->emitter_count == PARTS_MAX)
            reader_error(reader, key, "more than %d emitters", PARTS_MAX);
        if (name == NULL || earlier != NULL || reader->emitter_count == PARTS_MAX)
            continue;
        struct emitter_entry *grown =
            arena_more(reader->arena, reader->emitters, reader->emitter_count, sizeof *grown);
        if (grown == NULL)
            return;
        reader->emitters = grown;
        struct emitter_entry *entry = &grown[reader->emitter_count++];
        *entry = (struct emitter_entry){.node = map->items[i], .value.name = name};
        reader->quiet = !reader_uses(reader, "emitter", name);
        entry->sound = read_emitter(reader, map->items[i], entry);
        reader->quiet = false;
    }
}
