/* A scene from its text: sections in order, then what only the whole can tell. */
#include "scenes/reader.h"
#include "scenes/changes.h"
#include "scenes/storage.h"

#include <stdlib.h>
#include <string.h>

enum { PARTS_FILES_MAX = 100 };

/* ---- files named in files -------------------------------------------------------------------------------------- */

static size_t folder_length(const char *path) {
    const char *slash = strrchr(path, '/');
    return slash == NULL ? 0 : (size_t)(slash - path) + 1;
}

static const char *path_of(struct reader *reader, const struct node *node, const char **from_scene) {
    const char *text = node->text, *home = node->source->folder_of;
    *from_scene = text;
    if (text[0] == '/')
        return text;
    const char *path = arena_format(reader->arena, "%.*s%s", (int)folder_length(home), home, text);
    size_t scene = folder_length(reader->path);
    if (path != NULL && strncmp(path, reader->path, scene) == 0)
        *from_scene = path + scene;
    return path;
}

const struct source *reader_file(struct reader *reader, const struct node *node, const char **from_scene) {
    if (!reader_is(reader, node, NODE_TEXT))
        return NULL;
    if (reader->closed) {
        reader_error(reader, node, "no other file is opened here");
        return NULL;
    }
    int status = 1;
    const char *path = path_of(reader, node, from_scene);
    const char *line = source_line(reader->arena, node->source, node->place.line);
    const struct source *source =
        path == NULL ? NULL : source_open(reader->arena, reader->messages, path, node->place, line, &status);
    if (source == NULL && status == 1)
        reader->status = 1;
    return source;
}

/* The sections that a scene and a parts file may both have. */
static void read_sections(struct reader *reader, const struct node *root) {
    const struct node *emitters = map_value(root, "emitters"), *lenses = map_value(root, "lenses");
    const struct node *covers = map_value(root, "covers");
    const struct node *sinks = map_value(root, "sinks"), *boards = map_value(root, "boards");
    if (emitters != NULL)
        read_emitters(reader, emitters);
    if (lenses != NULL)
        read_lenses(reader, lenses);
    if (covers != NULL)
        read_covers(reader, covers);
    if (sinks != NULL)
        read_plain_parts(reader, sinks, "sink", &reader->sinks);
    if (boards != NULL)
        read_plain_parts(reader, boards, "board", &reader->boards);
}

/* A parts file has a root of its own; its nodes carry its name. */
static struct part_tree open_part(struct reader *reader, const struct node *node) {
    const char *from_scene = NULL;
    const struct source *source = reader_file(reader, node, &from_scene);
    if (source == NULL)
        return (struct part_tree){NULL, !reader->closed};
    struct tree tree = tree_read(reader->arena, reader->messages, source);
    reader->status = tree.no_memory ? 1 : reader->status;
    return (struct part_tree){tree.root, tree.incomplete || tree.root == NULL};
}

/* All of them before any is read: a change may be of any. */
static void open_parts(struct reader *reader) {
    const struct node *list = map_value(reader->root, "parts");
    if (list == NULL || !reader_is(reader, list, NODE_LIST))
        return;
    if (list->count > PARTS_FILES_MAX) {
        reader_error(reader, list, "more than %d parts files", PARTS_FILES_MAX);
        return;
    }
    reader->parts = arena_take(reader->arena, list->count, sizeof *reader->parts);
    for (size_t i = 0; reader->parts != NULL && i < list->count; i++)
        reader->parts[reader->part_count++] = open_part(reader, list->items[i]);
}

static void read_part(struct reader *reader, const struct part_tree *part) {
    static const char *const known[] = {"emitters", "lenses", "covers", "sinks", "boards", NULL};
    reader->incomplete |= part->incomplete;
    if (part->root == NULL || !reader_is(reader, part->root, NODE_MAP))
        return;
    reader_keys(reader, part->root, "a parts file", known);
    read_sections(reader, part->root);
}

/* ---- the root -------------------------------------------------------------------------------------------------- */

static const struct range accuracy_range = {SHARE, 0.0001, 0.5, CLOSED, CLOSED};

static void read_effort(struct reader *reader, const struct node *root) {
    struct scene *scene = reader->scene;
    const struct node *rays = map_value(root, "rays"), *accuracy = map_value(root, "accuracy");
    const struct node *seed = map_value(root, "seed");
    scene->accuracy = rays == NULL ? 0.005 : 0;
    scene->seed = 1;
    if (rays != NULL && accuracy != NULL) {
        bool rays_first = rays->place.line < accuracy->place.line;
        reader_error(reader, (rays_first ? accuracy : rays)->key, "'accuracy' and 'rays' exclude each other");
        return;
    }
    if (accuracy != NULL)
        reader_quantity(reader, accuracy, &accuracy_range, &scene->accuracy);
    if (rays != NULL)
        reader_whole(reader, rays, 1000, UINT64_C(1) << 32, &scene->rays);
    if (seed != NULL)
        reader_whole(reader, seed, 0, UINT64_C(999999999999999999), &scene->seed);
}

static const char *base_name(const char *path) {
    return path + folder_length(path);
}

static void read_title(struct reader *reader, const struct node *root) {
    const struct node *node = map_value(root, "title");
    const char *title = node != NULL ? reader_name(reader, node) : base_name(reader->path);
    reader->scene->title = title == NULL ? NULL : arena_text(reader->arena, title, strlen(title));
}

static void read_root(struct reader *reader, const struct node *root) {
    static const char *const known[] = {"title",    "parts",   "emitters", "lenses", "covers",   "sinks",
                                        "boards",   "modules", "target",   "fields", "readings", "camera",
                                        "accuracy", "rays",    "seed",     NULL};
    if (!reader_is(reader, root, NODE_MAP))
        return;
    reader_keys(reader, root, "a scene", known);
    read_title(reader, root);
    const struct node *fields = map_value(root, "fields");
    reader->modules = map_value(root, "modules");
    reader->readings = map_value(root, "readings");
    read_sections(reader, root);
    for (size_t i = 0; i < reader->part_count; i++)
        read_part(reader, &reader->parts[i]);
    if (map_value(root, "emitters") == NULL && reader->emitter_count == 0)
        reader_need(reader, root, "emitters");
    const struct node *modules = reader_need(reader, root, "modules"), *target = reader_need(reader, root, "target");
    if (modules != NULL)
        read_modules(reader, modules);
    if (target != NULL)
        read_target(reader, target);
    if (fields != NULL)
        read_fields(reader, fields);
    read_camera(reader, map_value(root, "camera"));
    read_effort(reader, root);
    judge_lenses(reader);
    judge_sizes(reader);
}

/* ---- from entries to the library's arrays ---------------------------------------------------------------------- */

static struct scene_part *plain_parts(struct reader *reader, const struct part_list *list) {
    struct scene_part *parts = arena_take(reader->arena, list->count, sizeof *parts);
    for (size_t i = 0; parts != NULL && i < list->count; i++)
        parts[i] = list->items[i].value;
    return parts;
}

static void fill_plain_parts(struct reader *reader) {
    struct scene *scene = reader->scene;
    scene->sinks = plain_parts(reader, &reader->sinks);
    scene->boards = plain_parts(reader, &reader->boards);
    scene->sink_count = reader->sinks.count;
    scene->board_count = reader->boards.count;
}

static bool fill_parts(struct reader *reader, struct storage *storage) {
    struct scene *scene = reader->scene;
    struct luxfall_emitter *emitters = arena_take(reader->arena, reader->emitter_count, sizeof *emitters);
    struct luxfall_lens *lenses = arena_take(reader->arena, reader->lens_count, sizeof *lenses);
    struct luxfall_cover *covers = arena_take(reader->arena, reader->cover_count, sizeof *covers);
    scene->emitter_places = arena_take(reader->arena, reader->emitter_count, sizeof *scene->emitter_places);
    scene->lens_places = arena_take(reader->arena, reader->lens_count, sizeof *scene->lens_places);
    scene->emitter_prices = arena_take(reader->arena, reader->emitter_count, sizeof *scene->emitter_prices);
    scene->lens_prices = arena_take(reader->arena, reader->lens_count, sizeof *scene->lens_prices);
    fill_plain_parts(reader);
    storage->emitters = arena_take(reader->arena, reader->emitter_count, sizeof *storage->emitters);
    if (reader->arena->failed)
        return false;
    for (size_t i = 0; i < reader->emitter_count; i++) {
        const struct emitter_entry *entry = &reader->emitters[i];
        emitters[i] = entry->value;
        scene->emitter_places[i] = reader_name_of(entry->node)->place;
        storage->emitters[i] = (struct emitter_extra){entry->current_limit_a, entry->curve_file, entry->drive_file};
        scene->emitter_prices[i] = entry->price;
    }
    for (size_t i = 0; i < reader->lens_count; i++) {
        lenses[i] = reader->lenses[i].value;
        scene->lens_prices[i] = reader->lenses[i].price;
        scene->lens_places[i] = reader_name_of(reader->lenses[i].node)->place;
    }
    for (size_t i = 0; i < reader->cover_count; i++)
        covers[i] = reader->covers[i].value;
    scene->light.emitters = emitters;
    scene->light.emitter_count = reader->emitter_count;
    scene->light.lenses = lenses;
    scene->light.lens_count = reader->lens_count;
    scene->light.covers = covers;
    scene->light.cover_count = reader->cover_count;
    return true;
}

static bool fill_modules(struct reader *reader) {
    struct scene *scene = reader->scene;
    struct luxfall_module *modules = arena_take(reader->arena, reader->module_count, sizeof *modules);
    scene->groups = arena_take(reader->arena, reader->group_count, sizeof *scene->groups);
    if (reader->arena->failed)
        return false;
    for (size_t g = 0; g < reader->group_count; g++) {
        const struct group_entry *entry = &reader->groups[g];
        const struct scene_group *group = &entry->group;
        scene->groups[g] = *group;
        for (size_t i = 0; i < group->count; i++) {
            const char *name =
                group->count == 1 ? group->name : arena_format(reader->arena, "%s %zu", group->name, i + 1);
            struct luxfall_module *module = &modules[group->first + i];
            *module = (struct luxfall_module){.name = name,
                                              .emitter = group->emitter,
                                              .lens = group->lens,
                                              .pose = entry->poses[i],
                                              .scale = entry->scale[i],
                                              .dark = entry->dark[i],
                                              .current_a = group->current_a,
                                              .built = group->built,
                                              .cover_count = group->cover_count};
            memcpy(module->covers, group->covers, sizeof module->covers);
        }
    }
    scene->group_count = reader->group_count;
    scene->light.modules = modules;
    scene->light.module_count = reader->module_count;
    return !reader->arena->failed;
}

/* ---- in and out ------------------------------------------------------------------------------------------------ */

static struct scene *new_scene(const char *path) {
    struct scene *scene = calloc(1, sizeof *scene);
    struct storage *storage = calloc(1, sizeof *storage);
    if (scene != NULL && storage != NULL) {
        scene->storage = storage;
        scene->path = arena_text(&storage->arena, path, strlen(path));
    }
    if (scene != NULL && scene->path != NULL)
        return scene;
    free(storage);
    free(scene);
    return NULL;
}

void scene_free(struct scene *scene) {
    if (scene == NULL)
        return;
    struct storage *storage = scene->storage;
    arena_clear(&storage->arena);
    free(storage);
    free(scene);
}

static void read_tree(struct reader *reader, const struct source *source) {
    struct tree tree = tree_read(reader->arena, reader->messages, source);
    reader->incomplete = tree.incomplete;
    reader->status = tree.no_memory ? 1 : reader->status;
    reader->root = tree.root;
    if (reader->root == NULL)
        return;
    change_root(reader);
    open_parts(reader);
    change_rest(reader);
    read_root(reader, reader->root);
}

static int finish(struct reader *reader, size_t errors_before) {
    struct storage *storage = reader->scene->storage;
    bool sound = reader->messages->errors == errors_before && reader->status == 0;
    if (sound && fill_parts(reader, storage) && fill_modules(reader)) {
        if (reader->readings != NULL)
            read_readings(reader, reader->readings);
        judge_reach(reader);
    }
    if (reader->arena->failed || reader->messages->out_of_memory)
        reader->status = 1;
    if (reader->arena->failed)
        messages_add(reader->messages, MESSAGE_ERROR, (struct scene_place){reader->path, 0, 0}, NULL,
                     "no memory to read this scene");
    if (reader->status != 0)
        return reader->status;
    return reader->messages->errors == errors_before ? 0 : 2;
}

int reader_scene(const struct origin *origin, struct scene **out, struct messages *messages) {
    size_t errors_before = messages->errors;
    int status = 1;
    *out = NULL;
    struct scene *scene = new_scene(origin->path);
    if (scene == NULL) {
        messages->out_of_memory = true;
        return 1;
    }
    struct arena *arena = &((struct storage *)scene->storage)->arena;
    struct source *source =
        origin->bytes != NULL ? source_from_bytes(arena, messages, origin->path, origin->bytes, origin->size, &status)
                              : source_open(arena, messages, origin->path, (struct scene_place){0}, NULL, &status);
    if (source != NULL) {
        struct reader reader = {.arena = arena,
                                .messages = messages,
                                .path = scene->path,
                                .closed = origin->closed,
                                .changes = origin->changes,
                                .scene = scene};
        read_tree(&reader, source);
        status = finish(&reader, errors_before);
    }
    if (status == 0)
        *out = scene;
    else
        scene_free(scene);
    return status;
}

int scene_read(const char *path, struct scene **out, struct messages *messages) {
    return reader_scene(&(struct origin){.path = path}, out, messages);
}

int scene_read_changed(const char *path, const struct scene_changes *changes, struct scene **out,
                       struct messages *messages) {
    return reader_scene(&(struct origin){.path = path, .changes = changes}, out, messages);
}

int scene_read_text(const char *path, const char *bytes, size_t size, bool closed, struct scene **out,
                    struct messages *messages) {
    return reader_scene(&(struct origin){path, bytes, size, closed, NULL}, out, messages);
}
