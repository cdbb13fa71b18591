/* The section `covers`: what stands over lenses, in trade words; and the key `cover` of a module. */
#include "scenes/keys.h"
#include "scenes/reader.h"

#include <math.h>
#include <string.h>

enum { PARTS_MAX = 2000 };

static const struct range gap_range = {LENGTH, 0, 1e6, CLOSED, CLOSED};
static const struct range width_range = {ANGLE, 0, 1.9, OPEN, CLOSED};
static const struct range texture_range = {ANGLE, 0, 1.9, CLOSED, CLOSED};
static const struct range share_range = {SHARE, 0, 1, CLOSED, CLOSED};

/* ---- kinds ----------------------------------------------------------------------------------------------------- */

struct cover_word {
    const char *word;
    enum luxfall_cover_kind kind;
    bool (*read)(struct reader *reader, const struct node *map, struct luxfall_cover *cover);
    const char *const *keys;
};

static bool read_window(struct reader *reader, const struct node *map, struct luxfall_cover *cover) {
    bool good = reader_take_needed(reader, map, "thickness", &range_size, &cover->thickness_mm);
    good = read_material(reader, map, &cover->material) && good;
    good = take_lenslets(reader, map, &cover->lenslets) && good;
    return reader_take(reader, map, "texture", &texture_range, &cover->spread_rad) != REFUSED && good;
}

/* What neither passes nor comes back is absorbed. */
static bool read_shares(struct reader *reader, const struct node *map, struct luxfall_cover *cover) {
    bool good = reader_take_needed(reader, map, "passes", &share_range, &cover->passes);
    return reader_take(reader, map, "sends_back", &share_range, &cover->comes_back) != REFUSED && good;
}

static bool read_film(struct reader *reader, const struct node *map, struct luxfall_cover *cover) {
    bool good = reader_take_needed(reader, map, "width", &width_range, &cover->spread_rad);
    return read_shares(reader, map, cover) && good;
}

static bool read_stop(struct reader *reader, const struct node *map, struct luxfall_cover *cover) {
    bool good = reader_take_needed(reader, map, "hole", &gap_range, &cover->hole_mm);
    return reader_take(reader, map, "height", &gap_range, &cover->thickness_mm) != REFUSED && good;
}

#define COMMON "kind", "diameter", "gap"
#define OUTLINE COMMON, "size"
static const char *const window_keys[] = {OUTLINE, "thickness", "material", "texture", "lenslets", NULL};
static const char *const film_keys[] = {OUTLINE, "width", "passes", "sends_back", NULL};
static const char *const opal_keys[] = {OUTLINE, "passes", "sends_back", NULL};
static const char *const stop_keys[] = {COMMON, "hole", "height", NULL};

static const char *const all_keys[] = {OUTLINE,  "thickness",  "material", "texture", "lenslets", "width",
                                       "passes", "sends_back", "hole",     "height",  NULL};

static const struct cover_word kinds[] = {
    {"window", LUXFALL_COVER_WINDOW, read_window, window_keys},
    {"film", LUXFALL_COVER_FILM, read_film, film_keys},
    {"opal", LUXFALL_COVER_OPAL, read_shares, opal_keys},
    {"stop", LUXFALL_COVER_STOP, read_stop, stop_keys},
};
enum { KINDS = sizeof kinds / sizeof *kinds };

const char *scene_cover_word(const struct luxfall_cover *cover) {
    for (int i = 0; i < KINDS; i++)
        if (kinds[i].kind == cover->kind)
            return kinds[i].word;
    return "cover";
}

/* ---- the section ----------------------------------------------------------------------------------------------- */

/* "diameter: 22 mm", or "size: 30 mm x 20 mm". */
static bool read_outline(struct reader *reader, const struct node *map, struct luxfall_cover *cover) {
    const struct node *size = map_value(map, "size");
    struct luxfall_face face;
    if (size == NULL)
        return reader_take_needed(reader, map, "diameter", &range_size, &cover->diameter_mm);
    if (map_value(map, "diameter") != NULL) {
        reader_error(reader, size, "a cover has a diameter or a size, not both");
        return false;
    }
    if (!reader_face(reader, size, &range_size, false, &face))
        return false;
    if (face.kind == LUXFALL_DISC)
        cover->diameter_mm = face.width_mm;
    else {
        cover->width_mm = face.width_mm;
        cover->height_mm = face.height_mm;
    }
    return true;
}

static bool read_cover(struct reader *reader, const struct node *map, struct luxfall_cover *cover) {
    const char *words[KINDS + 1] = {NULL};
    struct luxfall_error error;
    if (!reader_is(reader, map, NODE_MAP))
        return false;
    const struct node *node = reader_need(reader, map, "kind");
    for (int i = 0; i < KINDS; i++)
        words[i] = kinds[i].word;
    if (node == NULL) { /* a slip of the pen in 'kind' itself is told as an unknown key */
        (void)reader_keys(reader, map, "a cover", all_keys);
        return false;
    }
    int word = reader_word(reader, node, words);
    if (word < 0)
        return false;
    cover->kind = kinds[word].kind;
    bool good = reader_keys(reader, map, "a cover of this kind", kinds[word].keys);
    good = read_outline(reader, map, cover) && good;
    good = reader_take(reader, map, "gap", &gap_range, &cover->gap_mm) != REFUSED && good;
    good = kinds[word].read(reader, map, cover) && good;
    if (!good || luxfall_cover_check(cover, &error) == LUXFALL_OK)
        return good;
    reader_error(reader, node, "%s", error.text);
    return false;
}

static struct cover_entry *cover_named(const struct reader *reader, const char *name) {
    for (size_t i = 0; i < reader->cover_count; i++)
        if (strcmp(reader->covers[i].value.name, name) == 0)
            return &reader->covers[i];
    return NULL;
}

static const char *cover_name(struct reader *reader, const struct node *key) {
    const struct cover_entry *entry = cover_named(reader, key->text);
    if (entry != NULL) {
        const struct node *earlier = reader_name_of(entry->node);
        reader_error(reader, key, "cover '%s' stands twice; the first is in %s:%d", key->text, earlier->place.file,
                     earlier->place.line);
    } else if (strcmp(key->text, "none") == 0) {
        reader_error(reader, key, "a cover cannot be named 'none': that is said by modules without a cover");
    } else if (reader->cover_count == PARTS_MAX) {
        reader_error(reader, key, "more than %d covers", PARTS_MAX);
    } else {
        return reader_name(reader, key);
    }
    return NULL;
}

void read_covers(struct reader *reader, const struct node *map) {
    if (!reader_is(reader, map, NODE_MAP))
        return;
    for (size_t i = 0; i < map->count; i++) {
        const char *name = cover_name(reader, map->keys[i]);
        struct cover_entry *grown = arena_more(reader->arena, reader->covers, reader->cover_count, sizeof *grown);
        if (grown == NULL)
            return;
        reader->covers = grown;
        if (name == NULL)
            continue;
        struct cover_entry *entry = &grown[reader->cover_count++];
        *entry = (struct cover_entry){.node = map->items[i], .value.name = name};
        entry->sound = read_cover(reader, map->items[i], &entry->value);
    }
}

/* ---- over a module --------------------------------------------------------------------------------------------- */

/* Narrower than the lens under it: that may be meant, and is told. A stop is meant so. */
static void judge_width(struct reader *reader, const struct node *node, const struct luxfall_cover *cover,
                        const struct group_entry *entry) {
    double lens_mm =
        entry->group.lens == LUXFALL_NO_LENS ? 0 : luxfall_lens_diameter_mm(&reader->lenses[entry->group.lens].value);
    double cover_mm = cover->diameter_mm > 0 ? cover->diameter_mm : fmin(cover->width_mm, cover->height_mm);
    if (cover->kind != LUXFALL_COVER_STOP && cover_mm < lens_mm * (1 - 1e-9))
        reader_warn(reader, node,
                    "the cover '%.60s', %.6g mm across, is smaller than its lens, %.6g mm: light passes "
                    "beside it",
                    cover->name, cover_mm, lens_mm);
}

static bool judge_index(struct reader *reader, const struct node *node, const struct luxfall_cover *cover,
                        const struct luxfall_emitter *emitter) {
    struct luxfall_error error;
    double index;
    if (cover->kind != LUXFALL_COVER_WINDOW ||
        luxfall_material_index(&cover->material, emitter->wavelength_um, &index, &error) == LUXFALL_OK)
        return true;
    reader_error(reader, node, "light of emitter '%.60s' in cover '%.60s': %s", emitter->name, cover->name,
                 error.text);
    return false;
}

static bool take_cover(struct reader *reader, const struct node *node, bool emitter_known,
                       struct group_entry *entry) {
    if (!reader_is(reader, node, NODE_TEXT))
        return false;
    const struct cover_entry *cover = cover_named(reader, node->text);
    if (cover == NULL) {
        const char **names = arena_take(reader->arena, reader->cover_count + 1, sizeof *names);
        for (size_t i = 0; names != NULL && i < reader->cover_count; i++)
            names[i] = reader->covers[i].value.name;
        const char *near = names == NULL ? NULL : nearest_word(node->text, names);
        if (!reader->incomplete)
            reader_error(reader, node, "no cover is named '%.60s'%s%.60s%s", node->text,
                         near ? "; did you mean '" : "", near ? near : "", near ? "'?" : "");
        return false;
    }
    entry->group.covers[entry->group.cover_count++] = (size_t)(cover - reader->covers);
    if (!cover->sound)
        return false;
    judge_width(reader, node, &cover->value, entry);
    return !emitter_known || judge_index(reader, node, &cover->value, &reader->emitters[entry->group.emitter].value);
}

bool choose_covers(struct reader *reader, const struct node *map, bool emitter_known, struct group_entry *entry) {
    const struct node *node = map_value(map, "cover");
    bool good = true;
    if (node == NULL || (node->kind == NODE_TEXT && strcmp(node->text, "none") == 0))
        return true;
    if (node->kind != NODE_LIST)
        return take_cover(reader, node, emitter_known, entry);
    if (node->count > LUXFALL_COVERS_MAX) {
        reader_error(reader, node, "more than %d covers over a module", LUXFALL_COVERS_MAX);
        return false;
    }
    for (size_t i = 0; i < node->count; i++)
        good = take_cover(reader, node->items[i], emitter_known, entry) && good;
    return good;
}
