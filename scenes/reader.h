/* Reading a scene section by section. Each section is one file: it knows its keys, their ranges and their defaults.
 * A reader_ function that refuses has said so; callers go on, so that one run tells all mistakes. */
#ifndef SCENES_READER_H
#define SCENES_READER_H

#include "scenes/tree.h"
#include "scenes/units.h"

#include <stdint.h>

struct emitter_entry {
    struct luxfall_emitter value;
    const struct node *node;
    double price;           /* NaN: none given */
    double current_limit_a; /* 0: none given */
    const char *curve_file; /* relative to the scene's folder; NULL without a curve */
    const char *drive_file; /* the same of its drive */
    bool sound;             /* read without a mistake */
};

struct lens_entry {
    struct luxfall_lens value;
    const struct node *node;
    double price;
    bool sound;
};

struct cover_entry {
    struct luxfall_cover value;
    const struct node *node;
    bool sound;
};

struct part_entry {
    struct scene_part value;
    const struct node *node;
    bool sound;
};

struct part_list {
    struct part_entry *items;
    size_t count;
};

struct group_entry {
    struct scene_group group;
    const struct node *node, *placement, *aim, *lens;
    bool *dark;    /* group.count of them */
    double *scale; /* group.count of them */
    struct luxfall_pose *poses;
    bool sound;
};

/* A parts file as a tree. */
struct part_tree {
    struct node *root; /* NULL: there is nothing to read */
    bool incomplete;
};

struct reader {
    struct arena *arena;
    struct messages *messages;
    const char *path;
    bool closed;     /* no other file may be opened */
    bool incomplete; /* what is missing may stand behind the place where a file broke off */
    bool quiet;      /* no warnings: a part is read that no module uses */
    int status;      /* 0, or 1 when the machine failed */
    struct scene *scene;
    const struct scene_changes *changes; /* NULL: none */
    struct change *edits;                /* private to changes.c: changes->edits, opened */
    struct node *root;
    struct part_tree *parts;
    size_t part_count;
    struct emitter_entry *emitters;
    size_t emitter_count;
    struct lens_entry *lenses;
    size_t lens_count;
    struct cover_entry *covers;
    size_t cover_count;
    struct part_list sinks, boards;
    const struct node *priced; /* the first price: its currency is that of the scene */
    bool mixed;                /* a second currency has been told */
    struct group_entry *groups;
    size_t group_count, module_count;
    const struct node **fields;
    const struct node *target, *modules, *readings;
};

/* ---- the whole scene ------------------------------------------------------------------------------------------- */

struct origin {
    const char *path, *bytes; /* bytes NULL: the file at path */
    size_t size;
    bool closed;
    const struct scene_changes *changes; /* NULL: none */
};

/* As scene_read() and its kin. */
int reader_scene(const struct origin *origin, struct scene **out, struct messages *messages);

/* ---- messages at a node ---------------------------------------------------------------------------------------- */

void reader_error(struct reader *reader, const struct node *node, const char *format, ...)
    __attribute__((format(printf, 3, 4)));
void reader_warn(struct reader *reader, const struct node *node, const char *format, ...)
    __attribute__((format(printf, 3, 4)));
/* The node that names this one, where there is one: for what is said of an entry as a whole. */
const struct node *reader_name_of(const struct node *node);

/* ---- values ---------------------------------------------------------------------------------------------------- */

enum taken { TAKEN, ABSENT, REFUSED };

enum bound { CLOSED, OPEN };

/* low .. high in the unit that values are kept in. */
struct range {
    enum dimension dimension;
    double low, high;
    enum bound at_low, at_high;
};

extern const struct range range_size;     /* a length above 0 */
extern const struct range range_position; /* a length, any sign */
extern const struct range range_azimuth;  /* any sign, one turn */

bool reader_is(struct reader *reader, const struct node *node, enum node_kind kind);
/* Every key of the map is one of known (NULL at the end). what: "a lens". */
bool reader_keys(struct reader *reader, const struct node *map, const char *what, const char *const *known);
/* The value of a key, or NULL after the message that it is missing. */
const struct node *reader_need(struct reader *reader, const struct node *map, const char *key);

/* "a, b or c" of words with a NULL at their end. */
const char *reader_listed(struct reader *reader, const char *const *words);
/* A key that may be meant for this one; it has been told as unknown. */
bool reader_near_key(const struct node *map, const char *key);

bool reader_quantity(struct reader *reader, const struct node *node, const struct range *range, double *out);
/* For a text that is a part of the node's: "95 lm" of "95 lm at 350 mA". */
bool reader_quantity_text(struct reader *reader, const struct node *node, const char *text, const struct range *range,
                          double *out);
bool reader_in_range(struct reader *reader, const struct node *node, const struct range *range, double value);
bool reader_product(struct reader *reader, const struct node *node, const struct range *range, double out[2]);
bool reader_count(struct reader *reader, const struct node *node, int low, int high, int *out);
bool reader_whole(struct reader *reader, const struct node *node, uint64_t low, uint64_t high, uint64_t *out);
/* A list of `count` quantities. */
bool reader_vector(struct reader *reader, const struct node *node, const struct range *range, size_t count,
                   double *out);
/* Index of the text among the words (NULL at the end), or -1. */
int reader_word(struct reader *reader, const struct node *node, const char *const *words);
const char *reader_name(struct reader *reader, const struct node *node);
/* "disc 18 mm", "12 mm x 18 mm" and, where allowed, "point". */
bool reader_face(struct reader *reader, const struct node *node, const struct range *range, bool point_allowed,
                 struct luxfall_face *out);

/* The same for a key of a map; *out stays what it was unless TAKEN. */
enum taken reader_take(struct reader *reader, const struct node *map, const char *key, const struct range *range,
                       double *out);
enum taken reader_take_count(struct reader *reader, const struct node *map, const char *key, int low, int high,
                             int *out);
/* The key is needed. */
bool reader_take_needed(struct reader *reader, const struct node *map, const char *key, const struct range *range,
                        double *out);

/* ---- sections -------------------------------------------------------------------------------------------------- */

void read_emitters(struct reader *reader, const struct node *map);
void read_lenses(struct reader *reader, const struct node *map);
void read_covers(struct reader *reader, const struct node *map);
/* Sinks or boards; what: "sink". */
void read_plain_parts(struct reader *reader, const struct node *map, const char *what, struct part_list *list);
void read_modules(struct reader *reader, const struct node *list);
void read_target(struct reader *reader, const struct node *map);
void read_fields(struct reader *reader, const struct node *list);
/* Once the modules stand: each reading says which of them were lit. */
void read_readings(struct reader *reader, const struct node *node);
/* After the fields, which may say more of the camera. map: NULL where the scene has none. */
void read_camera(struct reader *reader, const struct node *map);
/* A module names the part under this key ("emitter", "lens"), or may mean it by naming none. */
bool reader_uses(const struct reader *reader, const char *key, const char *name);
bool read_placement(struct reader *reader, const struct node *module, struct group_entry *entry);
bool read_aim(struct reader *reader, const struct node *module, struct group_entry *entry);
/* "2 deg towards 90 deg"; the node is the value of a key. */
bool read_lean(struct reader *reader, const struct node *node, const struct range *range, double *angle_rad,
               double *azimuth_rad);
/* The key cover of a module whose lens is chosen. */
bool choose_covers(struct reader *reader, const struct node *map, bool emitter_known, struct group_entry *entry);
/* The key built of a module, whose emitter and lens are chosen; and whether the package of its LED has room. */
bool read_assembly(struct reader *reader, const struct node *module, struct group_entry *entry);

/* The key package of an emitter; where all else of it is sound, the package is made, too. And what is told of one
 * behind a lens. */
bool read_package(struct reader *reader, const struct node *emitter, bool sound, struct luxfall_emitter *value);
void judge_packed(struct reader *reader, const struct node *module, const struct group_entry *entry);
/* The keys flux, voltage, drive and current_limit of an emitter. */
bool read_drive(struct reader *reader, const struct node *map, struct emitter_entry *entry);
/* The key current of a module; without one, the current at which its emitter's flux was given. */
bool choose_current(struct reader *reader, const struct node *map, struct group_entry *entry, bool emitter_known);
/* Why nothing is known of an emitter at a current; NULL: it is. */
const char *unknown_current(struct arena *arena, const struct luxfall_emitter *emitter, const char *drive_file,
                            double current_a);
/* The key price of a part: NaN without one. */
bool take_price(struct reader *reader, const struct node *map, double *price);
/* A traced lens, by the word under 'solid': solids.c. */
bool read_solid(struct reader *reader, const struct node *map, struct luxfall_lens *lens);
bool is_key_of_solids(const char *word);
/* A single lens with a focal length for its curves is told the radius. False: it is no such lens, or has none.
 * material: NULL where it could not be read. */
bool tell_focal_length(struct reader *reader, const struct node *map, const struct luxfall_material *material);
/* The key 'lenslets' of a face; none where it is absent. */
bool take_lenslets(struct reader *reader, const struct node *map, struct luxfall_lenslets *lenslets);
int word_index(const char *word, const char *const *words); /* -1: none of them (NULL at the end) */
/* The key `material` of a traced lens; and a verdict on it with the light of an emitter. */
bool read_material(struct reader *reader, const struct node *lens, struct luxfall_material *material);
void judge_material(struct reader *reader, struct lens_entry *lens, const struct emitter_entry *emitter);

/* What is told of a scene as a whole: verdict on each lens with its emitter, slips of scale. */
void judge_lenses(struct reader *reader);
void judge_sizes(struct reader *reader);
/* Fields that no light reaches; asks the finished scene. */
void judge_reach(struct reader *reader);

/* A curve from a table file, named by node. NULL after a message. */
bool read_curve(struct reader *reader, const struct node *node, struct luxfall_intensity *out,
                const char **file_from_scene);

/* The file that a node names, and its path relative to the scene's folder. NULL after a message. */
const struct source *reader_file(struct reader *reader, const struct node *node, const char **from_scene);

#endif
