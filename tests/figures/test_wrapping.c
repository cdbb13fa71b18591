/* Lines of captions break where a reader expects it: common practice, no source. */
#include "render/figures/page.h"
#include "render/figures/wrapping.h"

#include <setjmp.h>
#include <stdarg.h>
#include <stdint.h>
#include <stdlib.h>
#include <string.h>

#include <cmocka.h>

static const char caption[] =
    "lamp: 1 module, lens cup 20 (collimator, acrylic, traced), dies under a dome of 5 mm, die 0.1 mm aside in it, "
    "260 "
    "lm at 700 mA, 250 mm from the centre, 0 ° off its normal, aimed at (4.5, −0.5) mm. Peak 75.9 ± 1.3 klx, below "
    "0.001 %, 0.3 × 0.2 mm cells, 16.8 million rays, 11.3 klx/W.\nLines: 90, 80, 50 and 10 % of the peak.";

/* What must stay beside each other, and may not begin a line: the second of each pair. */
static const char *const pairs[][2] = {
    {"5", "mm"},        {"0.1", "mm"},  {"260", "lm"}, {"700", "mA"},       {"250", "mm"},     {"0", "°"},
    {"(4.5,", "−0.5)"}, {"0.5)", "mm"}, {"75.9", "±"}, {"±", "1.3"},        {"1.3", "klx"},    {"0.001", "%"},
    {"0.3", "×"},       {"×", "0.2"},   {"0.2", "mm"}, {"16.8", "million"}, {"11.3", "klx/W"}, {"10", "%"},
};
enum { PAIRS = sizeof pairs / sizeof *pairs };

/* Lines that begin with the second of a pair. */
static int parted(PangoLayout *layout) {
    const char *words = pango_layout_get_text(layout);
    int count = 0;
    for (int i = 1; i < pango_layout_get_line_count(layout); i++) {
        int at = pango_layout_get_line_readonly(layout, i)->start_index;
        for (int p = 0; p < PAIRS; p++) {
            int before = at - 1 - (int)strlen(pairs[p][0]);
            count += words[at - 1] == ' ' && before >= 0 &&
                     strncmp(words + before, pairs[p][0], strlen(pairs[p][0])) == 0 &&
                     strncmp(words + at, pairs[p][1], strlen(pairs[p][1])) == 0;
        }
    }
    return count;
}

/* Twin: the same widths, the words as they came. */
static void no_line_begins_with_the_unit_of_the_number_before(void **state) {
    (void)state;
    struct page page;
    struct figure_error error;
    int planted = 0;
    assert_int_equal(page_begin(&page, &(struct figure_style){.width_px = 1400}, &error), 0);
    for (double wrap = 200; wrap < 1300; wrap += 7) {
        struct text text = {.string = caption, .size = 18.5, .wrap = wrap};
        page_measure(&page, &text);
        assert_int_equal(parted(page.layout), 0);
        pango_layout_set_text(page.layout, caption, -1);
        planted += parted(page.layout);
    }
    assert_true(planted > 20);
    page_end(&page);
}

/* Other words are free to part: "8 modules", "3 in", a name that begins like a unit. */
static void only_units_and_signs_are_kept(void **state) {
    (void)state;
    static const char *const words[][2] = {
        {"8 modules at 3 V, 2 m", "8 modules at 3\u00a0V, 2\u00a0m"},
        {"level 0 mm; 12 Amber, 4 steps", "level 0\u00a0mm; 12 Amber, 4 steps"},
        {"U0 ± 0.016", "U0\u00a0±\u00a00.016"},
        {"at (0, 0, −12.5) mm", "at (0,\u00a00,\u00a0−12.5)\u00a0mm"},
        {"(24, 30 lamps) 24, 30", "(24, 30 lamps) 24, 30"},
        {" mm", " mm"},
        {"", ""},
    };
    for (size_t i = 0; i < sizeof words / sizeof *words; i++) {
        char *kept = words_kept_together(words[i][0]);
        assert_string_equal(kept, words[i][1]);
        free(kept);
    }
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(no_line_begins_with_the_unit_of_the_number_before),
        cmocka_unit_test(only_units_and_signs_are_kept),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
