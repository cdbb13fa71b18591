#ifndef RAYTRACE_DRIVE_DRIVE_H
#define RAYTRACE_DRIVE_DRIVE_H

#include "luxfall.h"

/* Its arrays keep what luxfall.h asks of them. */
bool drive_is_good(const struct luxfall_drive *drive);
#endif
