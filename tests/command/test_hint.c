/* The hint's numbers are computed: they follow the scene, and are silent where nothing is to be gained.
 *
 * The values stand on an independent quadrature of the mineral-sorting ring (own script, not this program; recomputed
 * from the sum of I(a) cos(i)/d^2 over the face): aimed at the centre 91.55 klx and U0 0.853, 30 mm short 62.0 klx
 * and 0.941. */
#include <math.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <stdlib.h>
#include <string.h>
#include <time.h>

#include <cmocka.h>

#include "render/commands/hint.h"

/* Hint for the ring with one line of the scene replaced; false: none. */
static bool hint_of(const char *from, const char *to, char text[HINT_SIZE]) {
    char scene_text[16384], *at;
    FILE *file = fopen(SOURCE_DIR "/scenes/sorting-ring.yaml", "r");
    assert_non_null(file);
    size_t size = fread(scene_text, 1, sizeof scene_text - 512, file);
    fclose(file);
    scene_text[size] = '\0';
    at = strstr(scene_text, from);
    assert_non_null(at);
    memmove(at + strlen(to), at + strlen(from), strlen(at + strlen(from)) + 1);
    memcpy(at, to, strlen(to));
    struct scene *scene = NULL;
    struct messages messages = {0};
    assert_int_equal(scene_read_text("ring.yaml", scene_text, strlen(scene_text), true, &scene, &messages), 0);
    struct luxfall_options options;
    struct luxfall_result *result;
    luxfall_options_init(&options);
    options.method = LUXFALL_DIRECT;
    assert_int_equal(luxfall_trace(&scene->light, &options, &result, NULL), LUXFALL_OK);
    struct timespec begin, end;
    clock_gettime(CLOCK_MONOTONIC, &begin);
    bool earned = hint_find(scene, result, text);
    clock_gettime(CLOCK_MONOTONIC, &end);
    print_message("%s: %s (%.1f ms)\n", to, earned ? text : "no hint",
                  1e3 * (double)(end.tv_sec - begin.tv_sec) + 1e-6 * (double)(end.tv_nsec - begin.tv_nsec));
    luxfall_result_free(result);
    scene_free(scene);
    messages_clear(&messages);
    return earned;
}

struct told {
    int drop_now, aim_mm, drop_then, loss;
};

static bool parse(const char *text, struct told *told) {
    return sscanf(text, "corners %d %% darker than the centre: aim %d mm short gives %d %%, at %d %% less light",
                  &told->drop_now, &told->aim_mm, &told->drop_then, &told->loss) == 4;
}

static void the_ring_is_told_to_aim_short(void **state) {
    (void)state;
    char text[HINT_SIZE];
    struct told told;
    assert_true(hint_of("aim: centre", "aim: centre", text));
    assert_true(parse(text, &told));
    assert_in_range(told.aim_mm, 25, 35);
    /* Between the two reference aims the centre falls from 91.55 to 62.0 klx at 30 mm. */
    if (told.aim_mm == 30)
        assert_int_equal(told.loss, 32);
    assert_in_range(told.drop_now, 19, 23);
    assert_in_range(told.drop_then, 6, 10);
}

/* A narrower beam falls off more. A text with fixed numbers fails here. */
static void the_numbers_follow_the_scene(void **state) {
    (void)state;
    char text[HINT_SIZE];
    struct told told, wide;
    assert_true(hint_of("aim: centre", "aim: centre", text) && parse(text, &told));
    assert_true(hint_of("beam_angle: 24 deg", "beam_angle: 20 deg", text) && parse(text, &wide));
    assert_true(wide.drop_now > told.drop_now);
    assert_int_not_equal(wide.loss, told.loss);
}

static void no_hint_where_none_is_earned(void **state) {
    (void)state;
    char text[HINT_SIZE];
    assert_false(hint_of("beam_angle: 24 deg", "beam_angle: 36 deg", text)); /* even: U0 0.930 */
    assert_false(hint_of("aim: centre", "aim: 36 mm short", text));          /* even: U0 0.974 */
    assert_false(hint_of("aim: centre", "aim: [5 mm, 0 mm]", text));         /* not aimed along the foot */
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(the_ring_is_told_to_aim_short),
        cmocka_unit_test(the_numbers_follow_the_scene),
        cmocka_unit_test(no_hint_where_none_is_earned),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
