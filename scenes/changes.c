#include "scenes/changes.h"
#include "scenes/keys.h"
#include "scenes/text.h"

#include <string.h>

enum { NAMED_ENTRIES_MAX = 1000, NONE_HERE = -1 };

/* A key and its value as somebody outside of the file writes them. */
struct change {
    struct reader *reader;
    struct source *source;
    const char *path, *text; /* without blanks around them */
    int path_column, text_column;
    bool done;
};

/* ---- nodes ----------------------------------------------------------------------------------------------------- */

static struct node text_at(const struct change *change, int column, const char *text) {
    return (struct node){.kind = NODE_TEXT,
                         .source = change->source,
                         .place = {change->source->label, 1, column},
                         .text = text,
                         .weight = 1};
}

static struct node *text_node(const struct change *change, int column, const char *text) {
    struct node *node = arena_take(change->reader->arena, 1, sizeof *node);
    if (node != NULL)
        *node = text_at(change, column, text);
    return node;
}

/* Its own lists, with room for one more. */
static struct node *copied(struct arena *arena, const struct node *node) {
    struct node *copy = arena_take(arena, 1, sizeof *copy);
    struct node **items = arena_take(arena, node->count + 1, sizeof *items);
    struct node **keys = arena_take(arena, node->count + 1, sizeof *keys);
    if (copy == NULL || items == NULL || keys == NULL)
        return NULL;
    *copy = *node;
    copy->items = items;
    copy->keys = node->kind == NODE_MAP ? keys : NULL;
    if (node->count > 0)
        memcpy(items, node->items, node->count * sizeof *items);
    if (node->count > 0 && copy->keys != NULL)
        memcpy(keys, node->keys, node->count * sizeof *keys);
    return copy;
}

/* index == count of a map: a key more. The map or list is a copy already. */
static void put(const struct change *change, struct node *parent, size_t index, const char *key, int key_column) {
    struct node *value = text_node(change, change->text_column, change->text);
    struct node *name = text_node(change, key_column, key);
    if (value == NULL || name == NULL)
        return;
    if (parent->kind == NODE_MAP) {
        value->key = parent->keys[index] = name;
    } else {
        value->list = parent->key;
    }
    parent->items[index] = value;
    parent->count += index == parent->count;
}

/* ---- a step of a path ------------------------------------------------------------------------------------------ */

static const char *placement_of(const struct node *module) {
    static const char *const kinds[] = {"ring", "single", "line", "grid", NULL};
    for (size_t i = 0; kinds[i] != NULL; i++)
        if (map_value(module, kinds[i]) != NULL)
            return kinds[i];
    return "module";
}

static bool is_among(const char *name, const char *const *names) {
    while (*names != NULL && strcmp(*names, name) != 0)
        names++;
    return *names != NULL;
}

/* The names that the entries of a list go by, as the readers of modules and fields give them; "" for those without.
 */
static const char **entry_names(struct arena *arena, const struct node *list) {
    const char **names = arena_take(arena, list->count + 1, sizeof *names);
    const char *section = list->key != NULL ? list->key->text : "";
    for (size_t i = 0; names != NULL && i < list->count && i < NAMED_ENTRIES_MAX; i++) {
        const struct node *name = map_value(list->items[i], "name");
        const char *own = name != NULL && name->kind == NODE_TEXT ? name->text : NULL, *stem = "";
        if (own == NULL && strcmp(section, "modules") == 0)
            own = stem = placement_of(list->items[i]);
        else if (own == NULL && strcmp(section, "fields") == 0)
            own = arena_format(arena, "field %zu", i + 1);
        for (int n = 2; stem[0] != '\0' && own != NULL && is_among(own, names); n++)
            own = arena_format(arena, "%s-%d", stem, n);
        names[i] = own != NULL ? own : "";
    }
    return names;
}

static const char **child_names(struct arena *arena, const struct node *node) {
    if (node->kind == NODE_LIST)
        return entry_names(arena, node);
    const char **names = arena_take(arena, node->count + 1, sizeof *names);
    for (size_t i = 0; names != NULL && i < node->count; i++)
        names[i] = node->keys[i]->text;
    return names;
}

static long numbered(const struct node *list, const char *path, size_t *length) {
    size_t digits = strspn(path, "0123456789"), number = 0;
    if (digits == 0 || digits > 6 || (path[digits] != '\0' && path[digits] != '.'))
        return NONE_HERE;
    for (size_t i = 0; i < digits; i++)
        number = 10 * number + (size_t)(path[i] - '0');
    *length = digits;
    return number >= 1 && number <= list->count ? (long)number - 1 : NONE_HERE;
}

/* The child that the path begins with; names may hold dots, so the longest that fits is meant. */
static long step(struct arena *arena, const struct node *node, const char *path, size_t *length) {
    const char **names = child_names(arena, node);
    long best = NONE_HERE;
    *length = 0;
    for (size_t i = 0; names != NULL && names[i] != NULL; i++) {
        size_t size = strlen(names[i]);
        if (size > *length && strncmp(names[i], path, size) == 0 && (path[size] == '\0' || path[size] == '.')) {
            *length = size;
            best = (long)i;
        }
    }
    return best == NONE_HERE && node->kind == NODE_LIST ? numbered(node, path, length) : best;
}

/* How many of the path's first two steps the tree holds: enough to tell in which file a part is at home. */
static int steps_found(struct arena *arena, const struct node *root, const char *path) {
    const struct node *node = root;
    for (int found = 0; found < 2; found++) {
        size_t length = 0;
        long i = node->kind == NODE_TEXT ? NONE_HERE : step(arena, node, path, &length);
        if (i == NONE_HERE)
            return found;
        if (path[length] == '\0')
            return 2;
        path += length + 1;
        node = node->items[i];
    }
    return 2;
}

/* ---- paths that lead nowhere ----------------------------------------------------------------------------------- */

struct words {
    const char **items; /* NULL at the end */
    size_t count;
};

static void add_word(struct arena *arena, struct words *words, const char *word) {
    words->items = arena_more(arena, words->items, words->count, sizeof *words->items);
    if (words->items != NULL)
        words->items[words->count] = word;
    words->count += word != NULL && words->items != NULL;
}

static void add_children(struct arena *arena, struct words *words, const struct node *node) {
    const char **names = child_names(arena, node);
    for (size_t i = 0; names != NULL && names[i] != NULL; i++)
        if (names[i][0] != '\0')
            add_word(arena, words, names[i]);
}

/* What the children of a node are called; a section of parts has more of them in other files. */
static struct words names_here(const struct change *change, const struct node *node, bool is_section) {
    struct reader *reader = change->reader;
    struct words words = {0};
    add_children(reader->arena, &words, node);
    for (size_t i = 0; is_section && i < reader->part_count; i++) {
        const struct node *other = map_value(reader->parts[i].root, node->key->text);
        if (other != NULL && other->kind != NODE_TEXT)
            add_children(reader->arena, &words, other);
    }
    add_word(reader->arena, &words, NULL);
    return words;
}

/* "'modules.ring'", or what holds all. */
static const char *place_words(const struct change *change, size_t at) {
    const char *words = at == 0
                            ? "the scene"
                            : arena_format(change->reader->arena, "'%.*s'", at > 80 ? 80 : (int)at - 1, change->path);
    return words != NULL ? words : "";
}

static void refuse_step(const struct change *change, const struct node *node, size_t at) {
    struct reader *reader = change->reader;
    struct node place = text_at(change, change->path_column + (int)at, "");
    const char *path = &change->path[at], *where = place_words(change, at);
    const char *word = arena_text(reader->arena, path, strcspn(path, "."));
    bool is_section = at > 0 && node->key != NULL && strcspn(change->path, ".") == at - 1;
    struct words names = names_here(change, node, is_section);
    if (word == NULL || names.items == NULL)
        return;
    const char *near = nearest_word(word, names.items);
    if (near != NULL)
        reader_error(reader, &place, "no '%.60s' in %s; did you mean '%.60s'?", word, where, near);
    else if (node->kind == NODE_LIST)
        reader_error(reader, &place, "no '%.60s' in %s; its entries go by name or by a number from 1 to %zu", word,
                     where, node->count);
    else
        reader_error(reader, &place, "no '%.60s' in %s; it has %s", word, where, reader_listed(reader, names.items));
}

static void refuse_to_replace(const struct change *change, const struct node *node) {
    struct reader *reader = change->reader;
    struct node place = text_at(change, change->path_column, "");
    struct words names = names_here(change, node, false);
    if (names.items == NULL)
        return;
    if (node->kind == NODE_MAP)
        reader_error(reader, &place, "'%.80s' is a map, and one value at a time is changed; it has %s", change->path,
                     reader_listed(reader, names.items));
    else
        reader_error(
            reader, &place,
            "'%.80s' is a list, and one value at a time is changed; its entries go by name or by a number from 1 to "
            "%zu",
            change->path, node->count);
}

/* ---- one edit -------------------------------------------------------------------------------------------------- */

static void put_at_end_of_path(const struct change *change, struct node *parent, long index, size_t at) {
    struct node *old = index == NONE_HERE ? NULL : parent->items[index];
    if (old != NULL && old->kind != NODE_TEXT)
        refuse_to_replace(change, old);
    else
        put(change, parent, index == NONE_HERE ? parent->count : (size_t)index, &change->path[at],
            change->path_column + (int)at);
}

/* Down the path; every node on it is copied, so that an alias elsewhere keeps what it had. */
static void follow(const struct change *change, struct node **slot) {
    struct reader *reader = change->reader;
    for (size_t at = 0; (*slot)->kind != NODE_TEXT;) {
        struct node *node = copied(reader->arena, *slot);
        size_t length = 0;
        if (node == NULL)
            return;
        *slot = node;
        const char *path = &change->path[at];
        long index = step(reader->arena, node, path, &length);
        bool last = index != NONE_HERE ? path[length] == '\0' : node->kind == NODE_MAP && strchr(path, '.') == NULL;
        if (last) {
            put_at_end_of_path(change, node, index, at);
            return;
        }
        if (index == NONE_HERE) {
            if (!reader->incomplete)
                refuse_step(change, node, at);
            return;
        }
        at += length + 1;
        slot = &node->items[index];
        if ((*slot)->kind == NODE_TEXT) {
            struct node place = text_at(change, change->path_column + (int)at, "");
            reader_error(reader, &place, "%s is one value; nothing stands below it", place_words(change, at));
        }
    }
}

/* The change as a source of its own. False after a message. */
static bool open_change(struct change *change, const char *origin, const char *path, const char *sign,
                        const char *text) {
    struct reader *reader = change->reader;
    const char *whole = arena_format(reader->arena, "%s%s%s", path, sign, text);
    int status = 1;
    struct source *source = whole == NULL
                                ? NULL
                                : source_from_bytes(reader->arena, reader->messages, origin != NULL ? origin : "",
                                                    whole, strlen(whole), &status);
    if (source == NULL) {
        reader->status = status == 1 ? 1 : reader->status;
        return false;
    }
    source->folder_of = reader->path;
    change->source = source;
    size_t before = strspn(path, " "), path_length = strlen(path), after = strspn(text, " "),
           text_length = strlen(text);
    while (path_length > before && path[path_length - 1] == ' ')
        path_length--;
    while (text_length > after && text[text_length - 1] == ' ')
        text_length--;
    change->path = arena_text(reader->arena, path + before, path_length - before);
    change->text = arena_text(reader->arena, text + after, text_length - after);
    change->path_column = (int)before + 1;
    change->text_column = (int)(strlen(path) + strlen(sign) + after) + 1;
    if (!has_control(whole, strlen(whole)))
        return change->path != NULL && change->text != NULL;
    struct node place = text_at(change, 1, "");
    reader_error(reader, &place, "a control character or a line end inside this; it must be one plain line");
    return false;
}

/* ---- every module ---------------------------------------------------------------------------------------------- */

static bool names_a_lens(const struct node *module) {
    const struct node *lens = map_value(module, "lens");
    return lens != NULL && (lens->kind != NODE_TEXT || strcmp(lens->text, "none") != 0);
}

static size_t key_index(const struct node *map, const char *key) {
    size_t i = 0;
    while (i < map->count && strcmp(map->keys[i]->text, key) != 0)
        i++;
    return i;
}

/* A lens takes the place of another; emitter and current go to every module. */
static void change_modules(const struct change *change, struct node **slot, const char *key) {
    struct arena *arena = change->reader->arena;
    bool lens = strcmp(key, "lens") == 0;
    size_t changed = 0;
    struct node *list = *slot = copied(arena, *slot);
    for (size_t i = 0; list != NULL && i < list->count; i++) {
        if (list->items[i]->kind != NODE_MAP || (lens && !names_a_lens(list->items[i])))
            continue;
        struct node *module = copied(arena, list->items[i]);
        if (module == NULL)
            return;
        put(change, module, key_index(module, key), key, 1);
        list->items[i] = module;
        changed++;
    }
    struct node place = text_at(change, 1, "");
    if (lens && changed == 0 && !change->reader->incomplete)
        reader_error(change->reader, &place, "no module of the scene has a lens that this could replace");
}

static void change_every_module(struct reader *reader, const char *origin, const char *key, const char *path,
                                const char *sign, const char *text) {
    struct node *root = reader->root;
    struct change change = {.reader = reader};
    size_t i = key_index(root, "modules");
    if (i == root->count || root->items[i]->kind != NODE_LIST ||
        !open_change(&change, origin != NULL ? origin : reader->changes->origin, path, sign, text))
        return;
    root = copied(reader->arena, root);
    if (root == NULL)
        return;
    reader->root = root;
    change_modules(&change, &root->items[i], key);
}

/* ---- all of them ----------------------------------------------------------------------------------------------- */

static void apply(struct change *change, struct node **root) {
    change->source->folder_of = (*root)->source->folder_of;
    change->done = true;
    follow(change, root);
}

static bool is_map(const struct node *root) {
    return root != NULL && root->kind == NODE_MAP;
}

void change_root(struct reader *reader) {
    const struct scene_changes *changes = reader->changes;
    if (changes == NULL || !is_map(reader->root))
        return;
    reader->edits = arena_take(reader->arena, changes->edit_count, sizeof *reader->edits);
    for (size_t i = 0; reader->edits != NULL && i < changes->edit_count; i++) {
        const struct scene_edit *edit = &changes->edits[i];
        struct change *change = &reader->edits[i];
        change->reader = reader;
        change->done = !open_change(change, edit->origin, edit->path, "=", edit->text);
        if (!change->done && steps_found(reader->arena, reader->root, change->path) == 2)
            apply(change, &reader->root);
    }
}

/* The file in which the path leads furthest; the scene itself where none is further. */
static struct node **home_of(struct reader *reader, const struct change *change) {
    struct node **best = &reader->root;
    int most = steps_found(reader->arena, reader->root, change->path);
    for (size_t i = 0; i < reader->part_count; i++) {
        struct node **root = &reader->parts[i].root;
        int found = is_map(*root) ? steps_found(reader->arena, *root, change->path) : 0;
        if (found > most) {
            best = root;
            most = found;
        }
    }
    return best;
}

void change_rest(struct reader *reader) {
    const struct scene_changes *changes = reader->changes;
    if (changes == NULL || !is_map(reader->root) || reader->edits == NULL)
        return;
    for (size_t i = 0; i < changes->edit_count; i++)
        if (!reader->edits[i].done)
            apply(&reader->edits[i], home_of(reader, &reader->edits[i]));
    char current[64];
    quantity_write(changes->current_a, CURRENT, current, sizeof current);
    if (changes->emitter != NULL)
        change_every_module(reader, changes->emitter_origin, "emitter", "", "", changes->emitter);
    if (changes->lens != NULL)
        change_every_module(reader, NULL, "lens", "", "", changes->lens);
    if (changes->current_a > 0)
        change_every_module(reader, changes->current_origin, "current", "current", " ", current);
}
