#define WAVE_TRACE wave_trace_plain
#include "lenses/wave_impl.h"
