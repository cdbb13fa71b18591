/* Compiled with -mavx2; CMakeLists.txt sets it. */
#define WAVE_TRACE wave_trace_avx2
#include "lenses/wave_impl.h"
