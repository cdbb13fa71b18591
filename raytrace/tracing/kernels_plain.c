/* The width that every processor of the kind has. */
#define KERNELS_SET kernels_plain
#define KERNELS_NAME "plain"
#define KERNELS_FOLLOW wave_trace_plain
#include "tracing/kernels_impl.h"
