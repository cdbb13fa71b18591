/* The section `modules`: groups of members, what they shine with, which are dark. */
#include "scenes/keys.h"
#include "scenes/reader.h"

#include <string.h>

enum { GROUPS_MAX = 1000 };

static const struct range scale_range = {SHARE, 0, 1000, OPEN, CLOSED};

/* ---- what a module is made of ---------------------------------------------------------------------------------- */

enum part { EMITTER, LENS, SINK, BOARD };

static size_t parts_of(const struct reader *reader, enum part part) {
    const size_t counts[] = {reader->emitter_count, reader->lens_count, reader->sinks.count, reader->boards.count};
    return counts[part];
}

static const char *part_name(const struct reader *reader, enum part part, size_t i) {
    return part == EMITTER ? reader->emitters[i].value.name
           : part == LENS  ? reader->lenses[i].value.name
           : part == SINK  ? reader->sinks.items[i].value.name
                           : reader->boards.items[i].value.name;
}

static bool part_is_sound(const struct reader *reader, enum part part, size_t i) {
    return part == EMITTER ? reader->emitters[i].sound
           : part == LENS  ? reader->lenses[i].sound
           : part == SINK  ? reader->sinks.items[i].sound
                           : reader->boards.items[i].sound;
}

static bool find_part(struct reader *reader, const struct node *node, enum part part, size_t *out) {
    static const char *const words[] = {"emitter", "lens", "sink", "board"};
    size_t count = parts_of(reader, part);
    const char **names = arena_take(reader->arena, count + 1, sizeof *names);
    if (names == NULL || !reader_is(reader, node, NODE_TEXT))
        return false;
    for (size_t i = 0; i < count; i++) {
        names[i] = part_name(reader, part, i);
        if (strcmp(names[i], node->text) == 0) {
            *out = i;
            return part_is_sound(reader, part, i);
        }
    }
    const char *near = nearest_word(node->text, names);
    if (reader->incomplete)
        return false;
    reader_error(reader, node, "no %s is named '%.60s'%s%.60s%s", words[part], node->text,
                 near ? "; did you mean '" : "", near ? near : "", near ? "'?" : "");
    return false;
}

static bool choose_emitter(struct reader *reader, const struct node *map, size_t *out) {
    const struct node *node = map_value(map, "emitter");
    if (node != NULL)
        return find_part(reader, node, EMITTER, out);
    *out = 0;
    if (reader->emitter_count == 1)
        return reader->emitters[0].sound;
    if (reader->emitter_count > 1)
        reader_need(reader, map, "emitter");
    return false;
}

static bool choose_lens(struct reader *reader, const struct node *map, struct group_entry *entry) {
    const struct node *node = map_value(map, "lens");
    entry->group.lens = LUXFALL_NO_LENS;
    if (node == NULL || (node->kind == NODE_TEXT && strcmp(node->text, "none") == 0))
        return true;
    entry->lens = node;
    return find_part(reader, node, LENS, &entry->group.lens);
}

/* Sink or board: none where none is named. */
static bool choose_plain_part(struct reader *reader, const struct node *map, const char *key, enum part part,
                              size_t *out) {
    const struct node *node = map_value(map, key);
    *out = SCENE_NONE;
    return node == NULL || find_part(reader, node, part, out);
}

bool reader_uses(const struct reader *reader, const char *key, const char *name) {
    const struct node *list = reader->modules;
    bool lens = strcmp(key, "lens") == 0;
    for (size_t i = 0; list != NULL && list->kind == NODE_LIST && i < list->count; i++) {
        const struct node *named = map_value(list->items[i], key);
        if (named == NULL ? !lens : named->kind == NODE_TEXT && strcmp(named->text, name) == 0)
            return true;
    }
    return list == NULL || list->kind != NODE_LIST;
}

/* ---- members --------------------------------------------------------------------------------------------------- */

static bool mark_dark(struct reader *reader, const struct node *node, struct group_entry *entry) {
    int member = 0;
    if (!reader_is(reader, node, NODE_TEXT) || !reader_count(reader, node, 1, (int)entry->group.count, &member))
        return false;
    if (entry->dark[member - 1]) {
        reader_error(reader, node, "member %d is listed twice", member);
        return false;
    }
    return entry->dark[member - 1] = true;
}

static bool take_dark(struct reader *reader, const struct node *map, struct group_entry *entry) {
    const struct node *node = map_value(map, "dark");
    bool good = true;
    if (node == NULL)
        return true;
    if (node->kind == NODE_MAP || node->kind == NODE_TEXT)
        return reader_is(reader, node, node->kind == NODE_MAP ? NODE_LIST : NODE_TEXT) &&
               mark_dark(reader, node, entry);
    for (size_t i = 0; i < node->count; i++)
        good = mark_dark(reader, node->items[i], entry) && good;
    return good;
}

static bool take_scale(struct reader *reader, const struct node *map, struct group_entry *entry) {
    const struct node *node = map_value(map, "scale");
    size_t count = entry->group.count;
    double every = 1;
    bool good = true;
    if (node != NULL && node->kind != NODE_LIST)
        good = reader_quantity(reader, node, &scale_range, &every);
    for (size_t i = 0; i < count; i++)
        entry->scale[i] = every;
    if (node == NULL || node->kind != NODE_LIST)
        return good;
    if (node->count != count) {
        reader_error(reader, node, "'scale' lists %zu values for %zu members", node->count, count);
        return false;
    }
    for (size_t i = 0; i < count; i++)
        good = reader_quantity(reader, node->items[i], &scale_range, &entry->scale[i]) && good;
    return good;
}

/* The library decides where members stand; what it refuses is told at the value it speaks of. */
static bool place_members(struct reader *reader, struct group_entry *entry) {
    const struct luxfall_placement *placement = &entry->group.placement;
    struct luxfall_error error;
    enum luxfall_status status = luxfall_place(placement, entry->poses, &error);
    if (status == LUXFALL_E_MEMORY)
        reader->status = 1;
    if (status == LUXFALL_OK || status == LUXFALL_E_MEMORY)
        return status == LUXFALL_OK;
    bool of_aim = entry->aim != NULL && (placement->aim == LUXFALL_AIM_SHORT || placement->aim == LUXFALL_AIM_PAST) &&
                  (placement->kind != LUXFALL_AT_POINT || placement->at_mm.z > 0);
    reader_error(reader, of_aim ? entry->aim : entry->placement, "%s", error.text);
    return false;
}

static bool read_members(struct reader *reader, const struct node *map, struct group_entry *entry) {
    size_t count = luxfall_placement_count(&entry->group.placement);
    entry->group.first = reader->module_count;
    entry->group.count = count;
    if (count > LUXFALL_MODULES_MAX - reader->module_count) {
        reader_error(reader, entry->placement, "more than %d modules in the scene", LUXFALL_MODULES_MAX);
        return false;
    }
    entry->dark = arena_take(reader->arena, count, sizeof *entry->dark);
    entry->scale = arena_take(reader->arena, count, sizeof *entry->scale);
    entry->poses = arena_take(reader->arena, count, sizeof *entry->poses);
    if (entry->dark == NULL || entry->scale == NULL || entry->poses == NULL)
        return false;
    reader->module_count += count;
    bool good = take_dark(reader, map, entry);
    return take_scale(reader, map, entry) && good;
}

/* ---- groups ---------------------------------------------------------------------------------------------------- */

static bool name_is_taken(const struct reader *reader, const char *name) {
    for (size_t i = 0; i + 1 < reader->group_count; i++)
        if (reader->groups[i].group.name != NULL && strcmp(reader->groups[i].group.name, name) == 0)
            return true;
    return false;
}

/* Without a name of its own a module is called after its placement, with a number behind it from the second on. */
static const char *default_name(struct reader *reader, const struct group_entry *entry) {
    const char *kind =
        entry->placement != NULL && entry->placement->key != NULL ? entry->placement->key->text : "module";
    const char *name = strcmp(kind, "at") == 0 ? "module" : kind;
    const char *stem = name;
    for (int i = 2; name != NULL && name_is_taken(reader, name); i++)
        name = arena_format(reader->arena, "%s-%d", stem, i);
    return name;
}

static bool choose_name(struct reader *reader, const struct node *map, struct group_entry *entry) {
    const struct node *node = map_value(map, "name");
    const char *name = node == NULL ? default_name(reader, entry) : reader_name(reader, node);
    if (name == NULL)
        return false;
    if (node != NULL && name_is_taken(reader, name)) {
        reader_error(reader, node, "a second module is named '%.60s'", name);
        return false;
    }
    entry->group.name = name;
    return true;
}

static bool read_module(struct reader *reader, const struct node *map, struct group_entry *entry) {
    static const char *const known[] = {"name",   "emitter", "lens",  "current", "sink", "board", "ring",
                                        "single", "line",    "grid",  "at",      "aim",  "lean",  "roll",
                                        "dark",   "scale",   "built", "cover",   NULL};
    entry->node = map;
    entry->group.place = map->place;
    if (!reader_is(reader, map, NODE_MAP))
        return false;
    bool good = reader_keys(reader, map, "a module", known);
    bool emitter_known = choose_emitter(reader, map, &entry->group.emitter);
    good = choose_current(reader, map, entry, emitter_known) && emitter_known && good;
    bool lens_known = choose_lens(reader, map, entry);
    if (emitter_known && lens_known)
        good = read_assembly(reader, map, entry) && good;
    good = lens_known && choose_covers(reader, map, emitter_known, entry) && good;
    good = choose_plain_part(reader, map, "sink", SINK, &entry->group.sink) && good;
    good = choose_plain_part(reader, map, "board", BOARD, &entry->group.board) && good;
    bool stands = read_placement(reader, map, entry);
    bool aimed = read_aim(reader, map, entry);
    good = choose_name(reader, map, entry) && good;
    if (!stands)
        return false;
    good = read_members(reader, map, entry) && good;
    return aimed && entry->poses != NULL && place_members(reader, entry) && good;
}

void read_modules(struct reader *reader, const struct node *list) {
    if (!reader_is(reader, list, NODE_LIST))
        return;
    if (list->count == 0)
        reader_error(reader, list, "no modules: a scene needs one at least");
    for (size_t i = 0; i < list->count; i++) {
        if (reader->group_count == GROUPS_MAX) {
            reader_error(reader, list->items[i], "more than %d entries in modules", GROUPS_MAX);
            return;
        }
        struct group_entry *grown = arena_more(reader->arena, reader->groups, reader->group_count, sizeof *grown);
        if (grown == NULL)
            return;
        reader->groups = grown;
        struct group_entry *entry = &grown[reader->group_count++];
        *entry = (struct group_entry){0};
        entry->sound = read_module(reader, list->items[i], entry);
    }
}
