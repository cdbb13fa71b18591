/* What follows from a sweep, in words. */
#ifndef RENDER_COMMANDS_SWEEP_VERDICTS_H
#define RENDER_COMMANDS_SWEEP_VERDICTS_H

#include "sweep.h"

enum { SAID_SIZE = 1200 };

struct verdict {
    const char *label;
    char text[SAID_SIZE];
};

struct verdicts {
    size_t count;
    struct verdict lines[WANTS_MAX + 4 + VARIED_MAX];
};

/* The caller frees; NULL out of memory. */
struct verdicts *verdicts_make(const struct sweep *sweep);

#endif
