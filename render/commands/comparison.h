/* What luxfall compare sets side by side. */
#ifndef RENDER_COMMANDS_COMPARISON_H
#define RENDER_COMMANDS_COMPARISON_H

#include "tracing.h"

#define CANDIDATES_MAX 24

/* name: the lens, or the scene file without folder and ending. */
struct comparison {
    struct tracing tracing;
    size_t count;
    struct traced traced[CANDIDATES_MAX];
    char *names[CANDIDATES_MAX];
    const char **staged[CANDIDATES_MAX]; /* files of each candidate, with --out */
    const char **overview;               /* compare.png and compare-sections.png of every level */
    const char *json;                    /* where the JSON is staged; NULL: standard output or none */
};

/* The table on standard output: the whole map, then every field. 0 or an exit status. */
int comparison_print(const struct comparison *comparison);

/* Says so on stderr and returns the status. */
int comparison_out_of_memory(void);

#endif
