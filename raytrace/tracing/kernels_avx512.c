/* Compiled with -mavx512f and its companions; CMakeLists.txt sets them. */
#define KERNELS_SET kernels_avx512
#define KERNELS_NAME "avx512"
#define KERNELS_FOLLOW wave_trace_avx512
#include "tracing/kernels_impl.h"
