/* The progress line, with a clock that the test turns. The contract is the house's own: late, to a terminal only,
 * rays, band so far and time left, erased at the end. */
#include <math.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <stdlib.h>
#include <string.h>

#include <cmocka.h>

#include "render/commands/progress.h"

struct screen {
    char *text;
    size_t size;
    FILE *stream;
    double clock_s;
    struct progress progress;
};

static double turned(void *screen) {
    return ((struct screen *)screen)->clock_s;
}

static void begin(struct screen *screen, bool terminal) {
    *screen = (struct screen){.clock_s = 100};
    screen->stream = open_memstream(&screen->text, &screen->size);
    assert_non_null(screen->stream);
    progress_begin(&screen->progress, screen->stream, terminal, "ring", turned, screen);
}

static void show(struct screen *screen, double clock_s, bool pilot, uint64_t done, uint64_t planned, double band) {
    screen->clock_s = clock_s;
    progress_show(&screen->progress, &(struct luxfall_progress){pilot, done, planned, band});
    fflush(screen->stream);
}

static void end(struct screen *screen) {
    fclose(screen->stream);
    free(screen->text);
}

static void nothing_is_shown_in_the_first_half_second(void **state) {
    (void)state;
    struct screen screen;
    begin(&screen, true);
    show(&screen, 100.49, true, 1000000, 4000000, NAN);
    assert_int_equal(screen.size, 0);
    progress_end(&screen.progress);
    fflush(screen.stream);
    assert_int_equal(screen.size, 0);
    show(&screen, 100.51, true, 1000000, 4000000, NAN); /* twin: later it is */
    assert_int_not_equal(screen.size, 0);
    end(&screen);
}

static void nothing_is_shown_but_on_a_terminal(void **state) {
    (void)state;
    struct screen screen;
    begin(&screen, false);
    show(&screen, 110, false, 1000000, 4000000, 0.01);
    progress_end(&screen.progress);
    fflush(screen.stream);
    assert_int_equal(screen.size, 0);
    end(&screen);
}

static void the_line_tells_rays_band_and_time_left(void **state) {
    (void)state;
    struct screen screen;
    begin(&screen, true);
    show(&screen, 101, true, 1000000, 4000000, NAN);
    assert_string_equal(screen.text, "\rring: pilot, 1.0 of 4.0 million rays, 3 s left");
    show(&screen, 101.05, true, 1500000, 4000000, NAN); /* too soon after the last */
    assert_string_equal(strrchr(screen.text, '\r'), "\rring: pilot, 1.0 of 4.0 million rays, 3 s left");
    show(&screen, 102, false, 0, 30000000, 0.02); /* the run itself begins here: its clock starts anew */
    show(&screen, 104, false, 10000000, 30000000, 0.0071);
    assert_string_equal(strrchr(screen.text, '\r'), "\rring: 10.0 of 30.0 million rays, band ±0.71 %, 4 s left");
    show(&screen, 105, false, 30000000, 30000000, 0.005);
    const char *last = strrchr(screen.text, '\r');
    assert_memory_equal(last, "\rring: 30.0 of 30.0 million rays, band ±0.5 %, 0 s left ",
                        58); /* the longer line is wiped */
    end(&screen);
}

static void the_line_is_erased_at_the_end(void **state) {
    (void)state;
    struct screen screen;
    begin(&screen, true);
    show(&screen, 101, true, 1000000, 4000000, 0.5);
    size_t shown = screen.size;
    progress_end(&screen.progress);
    fflush(screen.stream);
    assert_int_equal(screen.text[shown], '\r');
    assert_int_equal(strspn(screen.text + shown + 1, " "), shown - 1);
    assert_string_equal(screen.text + 2 * shown, "\r");
    end(&screen);
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(nothing_is_shown_in_the_first_half_second),
        cmocka_unit_test(nothing_is_shown_but_on_a_terminal),
        cmocka_unit_test(the_line_tells_rays_band_and_time_left),
        cmocka_unit_test(the_line_is_erased_at_the_end),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
