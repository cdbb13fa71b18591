/* Reporting a failure and returning its status in one statement. Private to the library. */
#ifndef RAYTRACE_FAIL_H
#define RAYTRACE_FAIL_H

#include "luxfall.h"

enum luxfall_status fail(struct luxfall_error *error, enum luxfall_status status, size_t item, const char *format,
                         ...) __attribute__((format(printf, 4, 5)));
enum luxfall_status fail_memory(struct luxfall_error *error);
#endif
