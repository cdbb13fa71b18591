/* What luxfall compare leaves in its folder: pictures of all candidates, their table, and a folder of each. */
#ifndef RENDER_COMMANDS_COMPARISON_FILES_H
#define RENDER_COMMANDS_COMPARISON_FILES_H

#include "candidates.h"

enum { COMPARISON_TABLES = 2 };

struct comparison {
    struct tracing tracing;
    struct candidates candidates;
    bool difference; /* of these two */
    size_t first, second;
    const char *json;                      /* where the JSON is staged; NULL: standard output or none */
    const char **sheets;                   /* compare.png and its kin of every level, staged */
    const char *tables[COMPARISON_TABLES]; /* compare.md, compare.csv */
    /* The candidates as the figures take them, once they are traced. */
    const struct scene *scenes[CANDIDATES_MAX];
    const struct luxfall_result *results[CANDIDATES_MAX];
    const char *names[CANDIDATES_MAX];
};

/* Chooses the places of all files, before the tracing. 0, or an exit status after telling stderr why. */
int comparison_stage(struct comparison *comparison, struct outputs *outputs);
/* Writes them side by side, after it. */
int comparison_write(struct comparison *comparison, struct outputs *outputs);
/* The JSON alone. 0, or 1 out of memory. */
int comparison_write_json(const struct candidates *candidates, FILE *stream);

#endif
