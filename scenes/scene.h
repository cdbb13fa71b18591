/* A scene file, read and checked: text to structs. Everything a scene says ends here; nothing is guessed silently.
 *
 * Reading never stops at the first mistake: all of them are collected as located messages. Nothing here prints. */
#ifndef SCENES_SCENE_H
#define SCENES_SCENE_H

#include "luxfall.h"

#include <stdio.h>

/* A place in a file; line and column count from 1, columns in bytes. line 0: the file as a whole. */
struct scene_place {
    const char *file; /* as the user named it; owned by the message or the scene it stands in */
    int line, column;
};

enum message_kind { MESSAGE_ERROR, MESSAGE_WARNING };

struct message {
    enum message_kind kind;
    struct scene_place place;
    char *text;   /* says what was wrong, the value seen and what was expected */
    char *source; /* the line of the file, for the caret; NULL when there is none */
    char *file;   /* owner of place.file */
};

struct message_tally;

/* Messages in order of place, a file's messages together. Starts as {0}. */
struct messages {
    struct message *items;
    size_t count, errors; /* errors of the count are errors, the rest warnings */
    bool out_of_memory;
    struct message_tally *tallies; /* private: how many came of each format */
    size_t tally_count;
};

/* Formats and keeps a message. The format names its kind: it must be a string literal. A message that repeats another
 * of the same place is dropped; of each kind at most 20 are kept and the rest counted. */
void messages_add(struct messages *messages, enum message_kind kind, struct scene_place place, const char *source,
                  const char *format, ...) __attribute__((format(printf, 5, 6)));
/* Writes "file:line:col: error: text", the source line and a caret, for each message in order of place, and last how
 * many more of a kind there were. Control characters are written as \xNN. */
void messages_print(const struct messages *messages, FILE *stream);
void messages_clear(struct messages *messages);

/* One entry of modules: as written. Its members are scene.modules[first .. first+count-1]. */
struct scene_group {
    const char *name;
    struct luxfall_placement placement;
    size_t emitter, lens;
    size_t sink, board; /* one for every member; SCENE_NONE: none */
    double current_a;   /* 0: none is named */
    struct luxfall_assembly built;
    size_t cover_count, covers[LUXFALL_COVERS_MAX]; /* from the lens on */
    size_t first, count;
    struct scene_place place;
};
#define SCENE_NONE SIZE_MAX

/* What is bought and neither shines nor bends. */
struct scene_part {
    const char *name;
    double price; /* of one, in the scene's currency; NaN: none given */
};

/* One line of the file that `readings` names; what it says of modules is already told member by member. Readings of
 * one lighting share taken.dark and taken.current_a: like pointers, like lamp. */
struct scene_reading {
    struct luxfall_reading taken; /* its arrays are the scene's */
    double lx;                    /* the dark reading subtracted */
    double u_lx;                  /* standard uncertainty; NaN: not said */
    const char *note;             /* NULL: none */
    const char *module;           /* what was lit, as written; NULL: all that the scene lights */
    const char *dark;             /* what of that was out, as written; NULL: nothing */
    double current_a;             /* as written; NaN: the scene's */
    struct scene_place place;
};

struct scene {
    char *path, *title;         /* title: the file's name when none is given */
    struct luxfall_scene light; /* what the library takes; points into this struct's own memory */
    struct scene_group *groups;
    size_t group_count;
    double accuracy; /* 0 when rays is given */
    uint64_t rays;   /* 0 when accuracy rules */
    uint64_t seed;
    struct scene_place *emitter_places, *lens_places, *field_places;
    struct scene_place target_place;
    const char *currency;                 /* of all prices; NULL: no price is given */
    double *emitter_prices, *lens_prices; /* NaN: none given */
    struct scene_part *sinks, *boards;
    size_t sink_count, board_count;
    const char *readings_file; /* as written; NULL: no readings */
    double head_mm, dark_lx;
    struct scene_reading *readings;
    size_t reading_count;
    bool has_camera;
    struct luxfall_camera camera;         /* the scene's; has_camera */
    struct luxfall_camera *field_cameras; /* of each field: the scene's with what the field says; NULL: no camera */
    void *storage;                        /* private */
};

/* Reads and checks. *out is NULL when there is any error; warnings alone let it through. The messages are added to.
 * Returns 0; 1 when the machine failed (memory, a read error: errno text in a message); 2 when the user's files are
 * wrong or missing. */
LUXFALL_CHECKED int scene_read(const char *path, struct scene **out, struct messages *messages);
void scene_free(struct scene *scene); /* accepts NULL */

/* The same from memory. path is the name that messages say and the folder that other files are relative to;
 * with closed set no other file is opened and naming one is an error. */
LUXFALL_CHECKED int scene_read_text(const char *path, const char *bytes, size_t size, bool closed, struct scene **out,
                                    struct messages *messages);

/* The scene as valid scene text with every default written out; reading it back gives the same scene, to the bit.
 * Files are named relative to the folder of the scene it was read from. Returns 0, or 1 when the stream failed. */
int scene_write(const struct scene *scene, FILE *stream);

/* What a lens is called under 'solid': "plano-convex", "collimator"; a datasheet beam: "beam". */
const char *scene_lens_word(const struct luxfall_lens *lens);
/* What a cover is called under 'kind'. */
const char *scene_cover_word(const struct luxfall_cover *cover);

/* A collimator in a datasheet lens's place, solved for its face, its beam angle and this emitter's dies. It knows of
 * no peak, field angle or skirt: what it gives instead is traced. */
struct scene_offer {
    struct luxfall_lens lens; /* its name is the sheet's */
    char text[256];           /* "{solid: collimator, ...}", as lenses take it */
};
/* Errors: MEMORY; VALUE: no such solid, the text says why. */
LUXFALL_CHECKED enum luxfall_status scene_offer_solid(const struct luxfall_emitter *emitter,
                                                      const struct luxfall_lens *sheet, struct scene_offer *out,
                                                      struct luxfall_error *error);

/* A commented, valid starting scene; NULL for an unknown kind. Kinds: scene_starter_kinds, NULL-terminated. */
const char *scene_starter(const char *kind);
extern const char *const scene_starter_kinds[];

/* The current of a module, dark or not, is above the limit that its emitter tells. */
bool scene_over_limit(const struct scene *scene);

/* What every member of the scene costs together, dark ones too; NaN when a part of a module has no price (*missing is
 * then its name, else NULL) or none has one. */
double scene_price(const struct scene *scene, const char **missing);

/* A value of the scene changed before it is read, as if the file said so: path "modules.ring.aim", text "36 mm
 * short". A path names keys from the root, parted by dots; an entry of a list goes by its name, or its number from 1.
 * Parts files are looked through too. A key that is not there is added to its map. */
struct scene_edit {
    const char *path, *text;
    const char *origin; /* who says so, as messages name it: "--vary" */
};

/* Starts as {0}: no change. */
struct scene_changes {
    const char *lens;    /* every group that names a lens takes this one; NULL: as written */
    const char *emitter; /* every group takes this one; NULL: as written */
    double current_a;    /* every group takes this current; 0: as written */
    bool current_open;   /* any current that is known will do, whatever is written: to ask for watts */
    const char *origin;  /* who says so */
    const char *emitter_origin, *current_origin; /* and who says these, where it is somebody else; NULL: the same */
    size_t edit_count;
    const struct scene_edit *edits;
};

/* scene_read() of a scene with changes. Unknown names and paths are errors (2) at the place in the origin's text. */
LUXFALL_CHECKED int scene_read_changed(const char *path, const struct scene_changes *changes, struct scene **out,
                                       struct messages *messages);

#endif
