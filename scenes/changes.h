/* Values of a scene's tree changed before anything reads it. Only the place that a path names changes: what an alias
 * shares with other places is copied first. */
#ifndef SCENES_CHANGES_H
#define SCENES_CHANGES_H

#include "scenes/reader.h"

/* Edits of what stands in the scene itself, the list of its parts files too. */
void change_root(struct reader *reader);
/* The other edits, once the parts files are open, and what changes every module. A path that names nothing is told.
 */
void change_rest(struct reader *reader);

#endif
