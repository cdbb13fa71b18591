/* Reading scenes from text in tests: what was said, as messages_print() says it. */
#ifndef TESTS_UNIT_SCENE_TEXT_H
#define TESTS_UNIT_SCENE_TEXT_H

#include "scenes/scene.h"

#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdlib.h>
#include <string.h>

#include <cmocka.h>

/* A sound scene; tests replace parts of it. */
static const char sound_scene[] = "emitters:\n"
                                  "  die: {surface: 1.2 mm x 1.2 mm, flux: 95 lm, intensity: lambertian}\n"
                                  "lenses:\n"
                                  "  medium: {beam_angle: 24 deg, efficiency: 84 %, face: disc 18 mm}\n"
                                  "modules:\n"
                                  "  - name: ring\n"
                                  "    emitter: die\n"
                                  "    lens: medium\n"
                                  "    ring: {count: 8, distance: 165 mm, incidence: 38 deg}\n"
                                  "    aim: centre\n"
                                  "target: {size: 160 mm x 160 mm, cell: 1 mm}\n"
                                  "fields:\n"
                                  "  - {name: zoom, size: 36 mm x 27 mm}\n"
                                  "seed: 1\n";

struct outcome {
    int status;
    size_t errors, warnings;
    char *said;
    struct scene *scene;
};

static inline char *printed(const struct messages *messages) {
    char *text = NULL;
    size_t size = 0;
    FILE *stream = open_memstream(&text, &size);
    assert_non_null(stream);
    messages_print(messages, stream);
    fclose(stream);
    return text;
}

/* What reading gave; takes over the scene and the messages. */
static inline struct outcome outcome_of(int status, struct scene *scene, struct messages *messages) {
    struct outcome outcome = {status, messages->errors, messages->count - messages->errors, printed(messages), scene};
    messages_clear(messages);
    return outcome;
}

static inline struct outcome read_bytes(const char *bytes, size_t size) {
    struct messages messages = {0};
    struct scene *scene = NULL;
    int status = scene_read_text("s.yaml", bytes, size, true, &scene, &messages);
    return outcome_of(status, scene, &messages);
}

static inline struct outcome read_text(const char *text) {
    return read_bytes(text, strlen(text));
}

/* The scene as its own text; the caller frees it. */
static inline char *written(const struct scene *scene) {
    char *text = NULL;
    size_t size = 0;
    FILE *stream = open_memstream(&text, &size);
    assert_non_null(stream);
    assert_int_equal(scene_write(scene, stream), 0);
    fclose(stream);
    return text;
}

static inline void outcome_clear(struct outcome *outcome) {
    free(outcome->said);
    scene_free(outcome->scene);
    *outcome = (struct outcome){0};
}

/* The text with the first `old` in it replaced; the caller frees it. */
static inline char *with(const char *text, const char *old, const char *new) {
    const char *at = strstr(text, old);
    assert_non_null(at);
    size_t size = strlen(text) + strlen(new) + 1;
    char *changed = malloc(size);
    assert_non_null(changed);
    snprintf(changed, size, "%.*s%s%s", (int)(at - text), text, new, at + strlen(old));
    return changed;
}

/* Exactly this error, at this place, alone. */
static inline void assert_only_error(const char *text, const char *expected) {
    struct outcome outcome = read_text(text);
    size_t length = strlen(expected);
    if (outcome.errors != 1 || strncmp(outcome.said, expected, length) != 0 || outcome.said[length] != '\n')
        fail_msg("expected\n%s\nand it said (%zu errors)\n%s", expected, outcome.errors, outcome.said);
    assert_int_equal(outcome.status, 2);
    assert_null(outcome.scene);
    outcome_clear(&outcome);
}

/* The sound scene with one replacement gives exactly this error. */
static inline void assert_slip(const char *old, const char *new, const char *expected) {
    char *text = with(sound_scene, old, new);
    assert_only_error(text, expected);
    free(text);
}

/* What reading a text gave that must be taken. */
static inline struct outcome read_sound(const char *text) {
    struct outcome outcome = read_text(text);
    if (outcome.status != 0)
        fail_msg("a sound scene was refused:\n%s\n%s", text, outcome.said);
    return outcome;
}

static inline void assert_sound(const char *text) {
    struct outcome outcome = read_sound(text);
    outcome_clear(&outcome);
}

#endif
