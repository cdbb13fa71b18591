/* The result as a reader wants it on a terminal. */
#ifndef RENDER_COMMANDS_REPORT_H
#define RENDER_COMMANDS_REPORT_H

#include "render/files/readings.h"

/* Planes with their fields, the ledger, readings (measured NULL: none), how it was traced, what to keep in mind, and
 * a hint where one is earned. Returns 0, or 1 out of memory. */
int report_print(const struct scene *scene, const struct luxfall_result *result, const struct measured *measured,
                 FILE *stream);

/* The lines under a table of several results: what the beams are and what to keep in mind. Returns 0, or 1 out of
 * memory. */
struct report_entry {
    const struct scene *scene;
    const struct luxfall_result *result;
    const char *name; /* NULL when there is but one */
};
int report_print_notes(const struct report_entry *entries, size_t count, FILE *stream);

/* One labelled paragraph in the manner of the notes. */
void report_note(FILE *stream, const char *label, const char *text);

/* What each of several covers absorbs, which `covers` number among those of the scene (NULL: all of them; then one
 * that stands over several modules, or twice over one, is told once); silent where fewer than two absorb anything.
 * Not 0: no memory. */
int report_covers(const struct luxfall_scene *light, size_t count, const size_t *covers,
                  const struct luxfall_estimate *lm, FILE *stream);

/* Flushes standard output: 0, or 1 after telling stderr that it could not be written. */
int report_flush(const char *command);

#endif
