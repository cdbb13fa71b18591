/* What a scene keeps beside what the library takes. */
#ifndef SCENES_STORAGE_H
#define SCENES_STORAGE_H

#include "scenes/arena.h"

struct emitter_extra {
    double current_limit_a; /* 0: none given */
    const char *curve_file; /* from the scene's folder; NULL: no curve */
    const char *drive_file; /* the same of a table of currents */
};

struct storage {
    struct arena arena;
    struct emitter_extra *emitters;
};

#endif
