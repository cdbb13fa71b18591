#include "fail.h"

#include <stdarg.h>
#include <stdio.h>

enum luxfall_status fail(struct luxfall_error *error, enum luxfall_status status, size_t item, const char *format,
                         ...) {
    if (error) {
        error->status = status;
        error->item = item;
        va_list values;
        va_start(values, format);
        vsnprintf(error->text, sizeof error->text, format, values);
        va_end(values);
    }
    return status;
}

enum luxfall_status fail_memory(struct luxfall_error *error) {
    return fail(error, LUXFALL_E_MEMORY, 0, "out of memory");
}
