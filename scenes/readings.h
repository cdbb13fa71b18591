/* A table of what a lux meter read. */
#ifndef SCENES_READINGS_H
#define SCENES_READINGS_H

#include "scenes/reader.h"
#include "scenes/tables.h"

enum { READINGS_MAX = 1000 };

/* Into the reader's scene, whose modules, target and emitters stand. node: who names the table; head_mm: the diameter
 * of the meter's head as the scene says, 0 where it does not. False after messages. */
bool readings_from_source(struct reader *reader, const struct node *node, const struct source *source,
                          double head_mm);
#endif
