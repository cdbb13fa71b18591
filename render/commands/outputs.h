/* All files of one run appear together or not at all: each is written under a hidden name in its own folder, and when
 * every one is there and the results are printed, they are put in their places; what stood there before is kept aside
 * until the last one has moved. */
#ifndef RENDER_COMMANDS_OUTPUTS_H
#define RENDER_COMMANDS_OUTPUTS_H

#include "render/figures/figures.h"

struct output;
struct outputs {
    struct output *newest;
};

/* Makes the folder with its parents where missing; it goes again when the outputs are discarded. 0 or error->status.
 */
int outputs_folder(struct outputs *outputs, const char *path, struct figure_error *error);

/* The hidden name to write PATH under, owned by the outputs; NULL: the place cannot be written to, error says why.
 * A device or a pipe is written to as it stands. */
const char *outputs_stage(struct outputs *outputs, const char *path, struct figure_error *error);

/* Puts all in their places; on failure every place is as it was. 0 or error->status. */
int outputs_commit(struct outputs *outputs, struct figure_error *error);

/* Removes what has no place yet, and frees. */
void outputs_release(struct outputs *outputs);

/* For the signal handler: removes every staged file and new folder of this process; async-signal-safe. */
void outputs_discard_unfinished(void);

/* Names the place instead of the hidden name in an error of a writer. */
void outputs_name_place(const struct outputs *outputs, struct figure_error *error);

#endif
