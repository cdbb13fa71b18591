/* Compiled with -mavx512f and more; CMakeLists.txt sets it. */
#define WAVE_TRACE wave_trace_avx512
#include "lenses/wave_impl.h"
