/* A scene's YAML as a tree of nodes that know their places. Aliases share the node that they name. */
#ifndef SCENES_TREE_H
#define SCENES_TREE_H

#include "scenes/source.h"

enum node_kind { NODE_TEXT, NODE_LIST, NODE_MAP };

enum {
    TREE_DEPTH_MAX = 16,
    TREE_NODES_MAX = 100000, /* with every alias written out */
    TREE_KEYS_MAX = 2000     /* in one map */
};

struct node {
    enum node_kind kind;
    const struct source *source;
    struct scene_place place;
    const char *text;    /* TEXT: no control characters in it */
    struct node **items; /* LIST, and the values of a MAP */
    struct node **keys;  /* MAP: TEXT nodes, all different */
    size_t count;
    const struct node *key;  /* that names this node in its map; NULL in a list */
    const struct node *list; /* key of the list that this node stands in */
    size_t weight;           /* nodes below and itself, aliases written out */
    bool open;               /* still being read: an alias to it would loop */
    bool refused;            /* what is wrong with it has been told */
};

struct tree {
    struct node *root; /* NULL: nothing to go on with */
    bool incomplete;   /* the text broke off: what is missing may stand behind that */
    bool no_memory;
};

/* Says what is wrong in messages; the tree holds what could be read. */
struct tree tree_read(struct arena *arena, struct messages *messages, const struct source *source);

/* The value of a key, or NULL. */
const struct node *map_value(const struct node *map, const char *key);

const char *node_kind_name(enum node_kind kind); /* "text", "a list", "a map of keys and values" */

#endif
