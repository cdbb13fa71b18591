/* The inner side of messages. */
#ifndef SCENES_MESSAGES_H
#define SCENES_MESSAGES_H

#include "scenes/scene.h"

#include <stdarg.h>

void messages_add_list(struct messages *messages, enum message_kind kind, struct scene_place place,
                       const char *source, const char *format, va_list arguments)
    __attribute__((format(printf, 5, 0)));

#endif
