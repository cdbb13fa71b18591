/* Compiled with -mavx2 -mbmi -mbmi2; CMakeLists.txt sets them. */
#define KERNELS_SET kernels_avx2
#define KERNELS_NAME "avx2"
#define KERNELS_FOLLOW wave_trace_avx2
#include "tracing/kernels_impl.h"
