/* The lamps that luxfall compare sets side by side: scenes, or one scene with other lenses and emitters, each at each
 * of several currents or watts. */
#ifndef RENDER_COMMANDS_CANDIDATES_H
#define RENDER_COMMANDS_CANDIDATES_H

#include "tracing.h"

#define CANDIDATES_MAX 24

struct candidate {
    char *name;   /* what tells it from the others: "narrow, 350 mA" */
    char *folder; /* the name as a folder may be called */
    struct traced traced;
    const char **staged; /* its files, with --out */
};

struct candidates {
    size_t count;
    struct candidate items[CANDIDATES_MAX];
};

/* As the command line says it; NULL: not given. */
struct candidate_wishes {
    const char *const *scenes; /* NULL-terminated */
    const char *lenses, *emitters, *at;
};

/* Reads them all and tells their messages on stderr, what several say the same of but once. 0 or an exit status. */
int candidates_read(const struct candidate_wishes *wishes, struct candidates *out);
void candidates_release(struct candidates *candidates);

/* Traces them, side by side where that is faster; progress and messages go to stderr. 0 or an exit status. */
int candidates_trace(struct candidates *candidates, const struct tracing *tracing);

#endif
