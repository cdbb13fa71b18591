/* Compiled with -mavx2 -mbmi -mbmi2; CMakeLists.txt sets them. */
#define WAVE_TRACE wave_trace_avx2
#include "lenses/wave_impl.h"
