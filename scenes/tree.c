#include "scenes/tree.h"
#include "scenes/messages.h"
#include "scenes/text.h"

#include <string.h>
#include <yaml.h>

struct anchor {
    const char *name;
    struct node *node;
};

struct builder {
    struct arena *arena;
    struct messages *messages;
    const struct source *source;
    yaml_parser_t parser;
    struct node *stack[TREE_DEPTH_MAX];
    const struct node *pending[TREE_DEPTH_MAX]; /* key that waits for its value, per open map */
    bool skip[TREE_DEPTH_MAX];                  /* the pending key is a repeat: its value is dropped */
    size_t depth;
    struct anchor *anchors;
    size_t anchor_count;
    size_t weight;
    struct node *last_text; /* a break may have fallen into it */
    struct tree tree;
    bool stop;
};

__attribute__((format(printf, 3, 4))) static void complain(struct builder *b, struct scene_place place,
                                                           const char *format, ...) {
    va_list arguments;
    va_start(arguments, format);
    const char *line = source_line(b->arena, b->source, place.line);
    messages_add_list(b->messages, MESSAGE_ERROR, place, line, format, arguments);
    va_end(arguments);
}

static struct scene_place place_of(const struct builder *b, yaml_mark_t mark) {
    return source_place(b->source, mark.line, mark.column);
}

static void break_off(struct builder *b) {
    b->tree.incomplete = true;
    b->stop = true;
}

static struct node *new_node(struct builder *b, enum node_kind kind, yaml_mark_t mark) {
    struct node *node = arena_take(b->arena, 1, sizeof *node);
    if (node == NULL) {
        b->tree.no_memory = true;
        break_off(b);
        return NULL;
    }
    *node = (struct node){.kind = kind, .source = b->source, .place = place_of(b, mark), .weight = 1};
    return node;
}

/* Room for one more in the lists of a node. */
static bool make_room(struct builder *b, struct node *node) {
    struct node **items = arena_more(b->arena, node->items, node->count, sizeof *items);
    struct node **keys = node->kind == NODE_MAP ? arena_more(b->arena, node->keys, node->count, sizeof *keys) : items;
    if (items == NULL || keys == NULL) {
        b->tree.no_memory = true;
        break_off(b);
        return false;
    }
    node->items = items;
    node->keys = node->kind == NODE_MAP ? keys : NULL;
    return true;
}

static const struct node *key_in(const struct node *map, const char *text) {
    for (size_t i = 0; i < map->count; i++)
        if (strcmp(map->keys[i]->text, text) == 0)
            return map->keys[i];
    return NULL;
}

static void take_key(struct builder *b, struct node *map, struct node *key) {
    size_t level = b->depth - 1;
    b->pending[level] = key;
    b->skip[level] = false;
    if (key->kind != NODE_TEXT) {
        complain(b, key->place, "a key is a word, not %s", node_kind_name(key->kind));
        b->skip[level] = true;
        return;
    }
    const struct node *first = key_in(map, key->text);
    if (first != NULL) {
        complain(b, key->place, "key '%.60s' stands twice; the first is in line %d", key->text, first->place.line);
        b->skip[level] = true;
    } else if (map->count >= TREE_KEYS_MAX) {
        complain(b, key->place, "more than %d keys in one place", TREE_KEYS_MAX);
        break_off(b);
    }
}

static bool is_waiting_for_key(const struct builder *b) {
    return b->stack[b->depth - 1]->kind == NODE_MAP && b->pending[b->depth - 1] == NULL;
}

/* A node is hung into the list or map that is open. */
static void attach(struct builder *b, struct node *node) {
    if (b->depth == 0) {
        b->tree.root = node;
        return;
    }
    struct node *parent = b->stack[b->depth - 1];
    if (is_waiting_for_key(b)) {
        take_key(b, parent, node);
        return;
    }
    if (parent->kind == NODE_MAP) {
        const struct node *key = b->pending[b->depth - 1];
        b->pending[b->depth - 1] = NULL;
        if (b->skip[b->depth - 1] || !make_room(b, parent))
            return;
        if (node->key == NULL)
            node->key = key;
        parent->keys[parent->count] = (struct node *)key;
    } else {
        if (!make_room(b, parent))
            return;
        if (node->list == NULL)
            node->list = parent->key;
    }
    parent->items[parent->count++] = node;
}

/* Aliases multiply nodes; the sum is kept as if each were written out. */
static bool add_weight(struct builder *b, size_t weight, struct scene_place place) {
    b->weight += weight;
    for (size_t i = 0; i < b->depth; i++)
        b->stack[i]->weight += weight;
    if (b->weight <= TREE_NODES_MAX)
        return true;
    complain(b, place, "more than %d values in one file, with every alias written out", TREE_NODES_MAX);
    break_off(b);
    return false;
}

static void remember_anchor(struct builder *b, const yaml_char_t *name, struct node *node) {
    if (name == NULL)
        return;
    struct anchor *grown = arena_more(b->arena, b->anchors, b->anchor_count, sizeof *grown);
    char *copy = arena_text(b->arena, (const char *)name, strlen((const char *)name));
    if (grown == NULL || copy == NULL) {
        b->tree.no_memory = true;
        break_off(b);
        return;
    }
    b->anchors = grown;
    grown[b->anchor_count++] = (struct anchor){copy, node};
}

static void take_alias(struct builder *b, const yaml_event_t *event) {
    const char *name = (const char *)event->data.alias.anchor;
    struct scene_place place = place_of(b, event->start_mark);
    struct node *node = NULL;
    for (size_t i = b->anchor_count; i > 0 && node == NULL; i--)
        if (strcmp(b->anchors[i - 1].name, name) == 0)
            node = b->anchors[i - 1].node;
    if (node == NULL) {
        complain(b, place, "alias '*%.60s' names nothing; an anchor '&%.60s' must stand before it", name, name);
        break_off(b);
    } else if (node->open) {
        complain(b, place, "alias '*%.60s' loops: it stands inside the value that it names", name);
        break_off(b);
    } else if (add_weight(b, node->weight, place)) {
        attach(b, node);
    }
}

static bool refuse_tag(struct builder *b, const yaml_char_t *tag, struct scene_place place) {
    if (tag != NULL)
        complain(b, place, "tags ('!...') have no meaning in a scene");
    return tag != NULL;
}

static void take_text(struct builder *b, const yaml_event_t *event) {
    const char *text = (const char *)event->data.scalar.value;
    size_t size = event->data.scalar.length;
    struct node *node = new_node(b, NODE_TEXT, event->start_mark);
    if (node == NULL || !add_weight(b, 1, node->place))
        return;
    refuse_tag(b, event->data.scalar.tag, node->place);
    while (size > 0 && text[size - 1] == '\n')
        size--;
    /* "\0" and its like come in by escapes, behind the back of the byte check. */
    if (has_control(text, size)) {
        complain(b, node->place, "a control character or a line end inside a text; it must be one plain line");
        node->refused = true;
        size = 0;
    }
    node->text = arena_text(b->arena, text, size);
    if (node->text == NULL) {
        b->tree.no_memory = true;
        break_off(b);
        return;
    }
    b->last_text = node;
    remember_anchor(b, event->data.scalar.anchor, node);
    attach(b, node);
}

static void open_node(struct builder *b, enum node_kind kind, const yaml_event_t *event, const yaml_char_t *anchor,
                      const yaml_char_t *tag) {
    struct node *node = new_node(b, kind, event->start_mark);
    if (node == NULL || !add_weight(b, 1, node->place))
        return;
    refuse_tag(b, tag, node->place);
    if (b->depth == TREE_DEPTH_MAX) {
        complain(b, node->place, "nested deeper than %d levels", TREE_DEPTH_MAX);
        break_off(b);
        return;
    }
    node->open = true;
    remember_anchor(b, anchor, node);
    attach(b, node);
    b->pending[b->depth] = NULL;
    b->skip[b->depth] = false;
    b->stack[b->depth++] = node;
}

static void take_event(struct builder *b, const yaml_event_t *event) {
    switch (event->type) {
    case YAML_ALIAS_EVENT:
        take_alias(b, event);
        break;
    case YAML_SCALAR_EVENT:
        take_text(b, event);
        break;
    case YAML_SEQUENCE_START_EVENT:
        open_node(b, NODE_LIST, event, event->data.sequence_start.anchor, event->data.sequence_start.tag);
        break;
    case YAML_MAPPING_START_EVENT:
        open_node(b, NODE_MAP, event, event->data.mapping_start.anchor, event->data.mapping_start.tag);
        break;
    case YAML_SEQUENCE_END_EVENT:
    case YAML_MAPPING_END_EVENT:
        b->stack[--b->depth]->open = false;
        break;
    case YAML_DOCUMENT_START_EVENT:
        if (b->tree.root != NULL) {
            complain(b, place_of(b, event->start_mark), "a second document begins; a file holds one");
            b->stop = true;
        }
        break;
    case YAML_STREAM_END_EVENT:
        b->stop = true;
        break;
    default:
        break;
    }
}

/* libyaml's words for a mistake, and ours for the frequent ones. NULL in ours: its own are clear enough. */
static const char *const plain_words[][2] = {
    {"mapping values are not allowed in this context",
     "a ':' where none can stand: check the indent of this line and of the one above, or put the text in quotes"},
    {"found character that cannot start any token", "a value cannot begin with this character; put it in quotes"},
    {"did not find expected ',' or ']'", "a ',' or ']' is missing before this: a list opened by '[' is not closed"},
    {"did not find expected ',' or '}'", "a ',' or '}' is missing before this: a map opened by '{' is not closed"},
    {"could not find expected ':'", "a line without ':' where a key and its value are expected"},
    {"did not find expected key", "no key where one is expected: check the indent of this line"},
    {"did not find expected '-' indicator", "no '- ' where a list entry is expected: check the indent of this line"},
    {"did not find expected node content", "a value is missing here"},
    {"block sequence entries are not allowed in this context", "a '- ' where no list can begin: check the indent"},
    {"found unexpected end of stream", "the file ends inside this text: a quote is not closed"},
};

static void tell_syntax(struct builder *b) {
    const yaml_parser_t *parser = &b->parser;
    const char *problem = parser->problem != NULL ? parser->problem : "not readable";
    yaml_mark_t mark = parser->problem_mark;
    if (parser->error == YAML_MEMORY_ERROR) {
        b->tree.no_memory = true;
        return;
    }
    if (strcmp(problem, "found unexpected end of stream") == 0)
        mark = parser->context_mark;
    for (size_t i = 0; i < sizeof plain_words / sizeof *plain_words; i++)
        if (strcmp(problem, plain_words[i][0]) == 0)
            problem = plain_words[i][1];
    complain(b, place_of(b, mark), "not valid YAML: %s", problem);
}

/* YAML takes no tab for indent; every such line is told, where libyaml would stop at the first. */
static bool check_tabs(struct builder *b) {
    bool clean = true;
    for (size_t line = 0; line < b->source->line_count; line++) {
        const char *start = &b->source->bytes[b->source->line_at[line]];
        size_t blanks = strspn(start, " "), indent = strspn(start, " \t");
        if (start[blanks] != '\t' || strchr("\r\n#", start[indent]) != NULL)
            continue;
        complain(b, source_place(b->source, line, blanks), "a tab in the indent; YAML takes only blanks there");
        clean = false;
    }
    return clean;
}

static void build(struct builder *b) {
    while (!b->stop) {
        yaml_event_t event;
        if (!yaml_parser_parse(&b->parser, &event)) {
            tell_syntax(b);
            break_off(b);
            if (b->last_text != NULL)
                b->last_text->refused = true;
            return;
        }
        take_event(b, &event);
        yaml_event_delete(&event);
    }
}

struct tree tree_read(struct arena *arena, struct messages *messages, const struct source *source) {
    struct builder builder = {.arena = arena, .messages = messages, .source = source};
    if (!check_tabs(&builder))
        return builder.tree;
    if (!yaml_parser_initialize(&builder.parser)) {
        builder.tree.no_memory = true;
        return builder.tree;
    }
    yaml_parser_set_encoding(&builder.parser, YAML_UTF8_ENCODING);
    yaml_parser_set_input_string(&builder.parser, (const unsigned char *)source->bytes, source->size);
    build(&builder);
    yaml_parser_delete(&builder.parser);
    if (builder.tree.root == NULL && !builder.tree.incomplete)
        messages_add(messages, MESSAGE_ERROR, (struct scene_place){source->label, 0, 0}, NULL, "the file is empty");
    return builder.tree;
}

const struct node *map_value(const struct node *map, const char *key) {
    for (size_t i = 0; map->kind == NODE_MAP && i < map->count; i++)
        if (strcmp(map->keys[i]->text, key) == 0)
            return map->items[i];
    return NULL;
}

const char *node_kind_name(enum node_kind kind) {
    return kind == NODE_TEXT ? "text" : kind == NODE_LIST ? "a list" : "a map of keys and values";
}
