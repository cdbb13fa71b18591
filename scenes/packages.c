/* The key `package` of an emitter: what stands about its dies; and what a lens makes of it. */
#include "scenes/reader.h"

static const struct range height_range = {LENGTH, 0, 1e6, CLOSED, CLOSED};
static const struct range offset_range = {LENGTH, -1e6, 1e6, CLOSED, CLOSED};
static const struct range share_range = {SHARE, 0, 1, CLOSED, CLOSED};
static const struct range die_lean_range = {ANGLE, 0, 30 * 3.14159265358979323846 / 180, CLOSED, CLOSED};

/* A diameter alone is that of a half ball. */
static bool read_dome(struct reader *reader, const struct node *node, struct luxfall_package *package) {
    static const char *const known[] = {"diameter", "height", NULL};
    bool good = true;
    if (node == NULL)
        return true;
    if (node->kind != NODE_MAP) {
        good = reader_quantity(reader, node, &range_size, &package->dome_mm);
    } else {
        good = reader_keys(reader, node, "a dome", known);
        good = reader_take_needed(reader, node, "diameter", &range_size, &package->dome_mm) && good;
    }
    package->dome_height_mm = package->depth_mm + package->dome_mm / 2;
    if (node->kind != NODE_MAP)
        return good;
    return reader_take(reader, node, "height", &range_size, &package->dome_height_mm) != REFUSED && good;
}

static bool read_cup(struct reader *reader, const struct node *node, struct luxfall_package *package) {
    static const char *const known[] = {"floor", "opening", "depth", "reflectance", "finish", NULL};
    static const char *const finishes[] = {"white", "mirror", NULL};
    if (node == NULL)
        return true;
    if (!reader_is(reader, node, NODE_MAP))
        return false;
    const struct node *finish = map_value(node, "finish");
    int word = finish == NULL ? 0 : reader_word(reader, finish, finishes);
    bool good = reader_keys(reader, node, "a cup", known) && word >= 0;
    package->wall_mirror = word == 1;
    good = reader_take_needed(reader, node, "floor", &range_size, &package->floor_mm) && good;
    good = reader_take_needed(reader, node, "opening", &range_size, &package->opening_mm) && good;
    good = reader_take_needed(reader, node, "depth", &range_size, &package->depth_mm) && good;
    return reader_take_needed(reader, node, "reflectance", &share_range, &package->wall) && good;
}

static bool read_die(struct reader *reader, const struct node *node, struct luxfall_package *package) {
    static const char *const known[] = {"height", "offset", "lean", NULL};
    if (node == NULL)
        return true;
    if (!reader_is(reader, node, NODE_MAP))
        return false;
    const struct node *offset = map_value(node, "offset"), *lean = map_value(node, "lean");
    double shift[2] = {0, 0};
    bool good = reader_keys(reader, node, "a die in its package", known);
    good = reader_take(reader, node, "height", &height_range, &package->die_height_mm) != REFUSED && good;
    good = (offset == NULL || reader_vector(reader, offset, &offset_range, 2, shift)) && good;
    package->die_x_mm = shift[0];
    package->die_y_mm = shift[1];
    if (lean == NULL)
        return good;
    return read_lean(reader, lean, &die_lean_range, &package->die_lean_rad, &package->die_lean_azimuth_rad) && good;
}

static bool read_resin(struct reader *reader, const struct node *map, struct luxfall_package *package) {
    package->material = (struct luxfall_material){.kind = LUXFALL_MATERIAL_NAMED, .name = "silicone"};
    return map_value(map, "material") == NULL || read_material(reader, map, &package->material);
}

/* Where the sum of it all is wrong: at what was said. */
static bool judge_package(struct reader *reader, const struct node *emitter, const struct luxfall_emitter *value) {
    struct luxfall_error error;
    enum luxfall_status status = luxfall_package_check(value, &error);
    if (status == LUXFALL_E_MEMORY)
        reader->status = 1;
    if (status == LUXFALL_E_VALUE)
        reader_error(reader, map_value(emitter, "package"), "%s", error.text);
    return status == LUXFALL_OK;
}

/* The light is said in one place. */
static bool intensity_is_free(struct reader *reader, const struct node *emitter) {
    const struct node *intensity = map_value(emitter, "intensity");
    if (intensity == NULL || intensity->kind != NODE_MAP)
        return true;
    reader_error(reader, intensity,
                 "an LED with a package shines as the package lets it, its dies lambertian inside: leave out "
                 "'intensity' or 'package'");
    return false;
}

bool read_package(struct reader *reader, const struct node *emitter, bool sound, struct luxfall_emitter *value) {
    static const char *const known[] = {"dome", "cup", "material", "bottom", "die", NULL};
    const struct node *map = map_value(emitter, "package");
    struct luxfall_package *package = &value->package;
    if (map == NULL)
        return true;
    if (!reader_is(reader, map, NODE_MAP))
        return false;
    bool good = reader_keys(reader, map, "a package", known);
    if (good && map_value(map, "dome") == NULL && map_value(map, "cup") == NULL) {
        reader_error(reader, map, "a package has a dome, a cup or both, such as {dome: 5 mm}");
        return false;
    }
    good = read_cup(reader, map_value(map, "cup"), package) && good;
    good = read_dome(reader, map_value(map, "dome"), package) && good;
    good = read_resin(reader, map, package) && good;
    good = reader_take(reader, map, "bottom", &share_range, &package->bottom) != REFUSED && good;
    good = read_die(reader, map_value(map, "die"), package) && good;
    good = intensity_is_free(reader, emitter) && good;
    return good && (!sound || judge_package(reader, emitter, value));
}

/* A lens sheet's beam is that of its own LED. */
void judge_packed(struct reader *reader, const struct node *module, const struct group_entry *entry) {
    const struct emitter_entry *emitter = &reader->emitters[entry->group.emitter];
    const struct node *lens = map_value(module, "lens");
    if (entry->group.lens == LUXFALL_NO_LENS || !luxfall_packed(&emitter->value.package))
        return;
    const struct luxfall_lens *value = &reader->lenses[entry->group.lens].value;
    if (value->kind == LUXFALL_LENS_BEAM)
        reader_warn(reader, lens != NULL ? lens : module,
                    "the package of emitter '%.60s' changes nothing here: lens '%.60s' has the beam of its sheet; a "
                    "traced solid would see it",
                    emitter->value.name, value->name);
}
