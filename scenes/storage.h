/* What a scene keeps beside what the library takes. */
#ifndef SCENES_STORAGE_H
#define SCENES_STORAGE_H

#include "scenes/arena.h"

struct emitter_extra {
    double current_a;       /* 0: not said */
    const char *curve_file; /* from the scene's folder; NULL: no curve */
};

struct storage {
    struct arena arena;
    struct emitter_extra *emitters;
};

#endif
