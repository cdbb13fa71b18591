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
    size_t first, count;
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
    void *storage; /* private */
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

/* A commented, valid starting scene; NULL for an unknown kind. Kinds: scene_starter_kinds, NULL-terminated. */
const char *scene_starter(const char *kind);
extern const char *const scene_starter_kinds[];

/* A second scene that differs in one lens: every group that names a lens takes this one. An unknown name is
 * an error (2). Used by compare --lenses. */
LUXFALL_CHECKED int scene_with_lens(const char *path, const char *lens_name, struct scene **out,
                                    struct messages *messages);

#endif
