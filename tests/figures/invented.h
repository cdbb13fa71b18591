/* Scenes that the pictures' tests make up as text. */
#ifndef TESTS_FIGURES_INVENTED_H
#define TESTS_FIGURES_INVENTED_H

#include "scenes/scene.h"

#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <string.h>

#include <cmocka.h>

/* The caller frees it. */
static inline struct scene *scene_of(const char *text) {
    struct messages messages = {0};
    struct scene *scene = NULL;
    int status = scene_read_text("invented.yaml", text, strlen(text), true, &scene, &messages);
    if (status != 0) {
        messages_print(&messages, stderr);
        fail_msg("the scene was refused:\n%s", text);
    }
    messages_clear(&messages);
    return scene;
}

#endif
