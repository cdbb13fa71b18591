/* What is varied, wanted and asked for: read whole, or refused at its place with what was expected. */
#include "render/commands/wishes.h"

#include "scenes/reader.h"

#include "unit/scene_text.h"

#include <math.h>

/* ---- what is varied -------------------------------------------------------------------------------------------- */

static struct vary varied(const char *text) {
    struct messages messages = {0};
    struct vary out;
    if (!vary_read(text, &messages, &out) || messages.count > 0)
        fail_msg("'%s' was refused:\n%s", text, printed(&messages));
    messages_clear(&messages);
    return out;
}

static void assert_vary(const char *text, const char *path, double from, double to, const char *unit, size_t steps) {
    struct vary out = varied(text);
    assert_string_equal(out.path, path);
    assert_string_equal(out.unit, unit);
    assert_true(out.from == from && out.to == to);
    assert_int_equal(out.steps, steps);
}

static void ranges_are_read(void **state) {
    (void)state;
    assert_vary("modules.ring.aim=0 mm short..60 mm short/31", "modules.ring.aim", 0, 60, "mm short", 31);
    assert_vary("modules.ring.aim=0..60 mm short", "modules.ring.aim", 0, 60, "mm short", 25);
    assert_vary("modules.ring.aim=20 mm past..60 mm short/81", "modules.ring.aim", -20, 60, "mm short", 81);
    assert_vary("modules.ring.aim=60 mm short..20 mm past", "modules.ring.aim", -60, 20, "mm past", 25);
    assert_vary("a=centre..60 mm short/3", "a", 0, 60, "mm short", 3);
    assert_vary("a=60 mm short..centre/3", "a", 60, 0, "mm short", 3);
    assert_vary("lenses.m.beam_angle=10..60deg/6", "lenses.m.beam_angle", 10, 60, "deg", 6);
    assert_vary("lenses.m.peak = 3 .. 5.5 cd/lm / 6", "lenses.m.peak", 3, 5.5, "cd/lm", 6);
    assert_vary("lenses.m.peak=3..5 cd/lm", "lenses.m.peak", 3, 5, "cd/lm", 25);
    assert_vary("target.level=-10 mm..10 mm/3", "target.level", -10, 10, "mm", 3);
    assert_vary("modules.1.ring.count=3..12", "modules.1.ring.count", 3, 12, "", 10);
    assert_vary("modules.1.ring.count=12..3", "modules.1.ring.count", 12, 3, "", 10);
    assert_vary("modules.1.ring.count=3..12/4", "modules.1.ring.count", 3, 12, "", 4);
    assert_vary("lenses.m.material.index=1.4..1.6", "lenses.m.material.index", 1.4, 1.6, "", 25);
    assert_vary("a=b=1..2 mm", "a=b", 1, 2, "mm", 25);
    assert_vary("a=5 mm..5 mm/1", "a", 5, 5, "mm", 1);
    assert_vary("a=.5..1e1 mm/2", "a", 0.5, 10, "mm", 2);
    struct vary disc = varied("lenses.m.face=disc 5 mm..20 mm/4");
    assert_string_equal(disc.before, "disc");
    assert_string_equal(disc.unit, "mm");
}

static void assert_said(bool taken, struct messages *messages, const char *text, const char *expected) {
    char *said = printed(messages);
    if (taken || messages->errors == 0)
        fail_msg("'%s' was taken", text);
    assert_string_equal(said, expected);
    free(said);
    messages_clear(messages);
}

static void refuse_vary(const char *text, const char *expected) {
    struct messages messages = {0};
    struct vary out;
    assert_said(vary_read(text, &messages, &out), &messages, text, expected);
}

static void slips_in_ranges(void **state) {
    (void)state;
    refuse_vary("modules.ring.aim",
                "--vary:1:17: error: no '='; write a path and two numbers, such as modules.ring.aim=0 mm short..60 "
                "mm short\n    modules.ring.aim\n                    ^\n");
    refuse_vary("=1..2 mm", "--vary:1:1: error: no path before '='; write a path and two numbers, such as "
                            "modules.ring.aim=0 mm short..60 mm short\n    =1..2 mm\n    ^\n");
    refuse_vary("a=5 mm", "--vary:1:3: error: no '..' between two numbers; write a path and two numbers, such as "
                          "modules.ring.aim=0 mm short..60 mm short\n    a=5 mm\n      ^\n");
    refuse_vary(
        "a=..5 mm",
        "--vary:1:3: error: nothing stands here; a number with its unit is expected\n    a=..5 mm\n      ^\n");
    refuse_vary(
        "a=1 mm..",
        "--vary:1:9: error: nothing stands here; a number with its unit is expected\n    a=1 mm..\n            ^\n");
    refuse_vary("a=1...5 mm",
                "--vary:1:4: error: more than two dots between the numbers\n    a=1...5 mm\n       ^\n");
    refuse_vary("a=1..2..5 mm",
                "--vary:1:7: error: a second '..'; a range has two numbers\n    a=1..2..5 mm\n          ^\n");
    refuse_vary("a=1,5..2 mm", "--vary:1:3: error: '1,5' has a decimal comma; write a point; a number with its unit "
                               "is expected\n    a=1,5..2 mm\n      ^\n");
    refuse_vary("a=x..2 mm", "--vary:1:3: error: 'x' does not begin with a number; a number with its unit is "
                             "expected\n    a=x..2 mm\n      ^\n");
    refuse_vary("a=2 cm..60 mm", "--vary:1:12: error: 'cm' and 'mm': both numbers of a range have the same unit\n    "
                                 "a=2 cm..60 mm\n               ^\n");
    refuse_vary("a=2 mm..60", "--vary:1:11: error: 'mm' and '': both numbers of a range have the same unit\n    a=2 "
                              "mm..60\n              ^\n");
    refuse_vary("a=disc 2 mm..square 6 mm", "--vary:1:14: error: 'disc' and 'square': both ends of a range begin "
                                            "with the same word\n    a=disc 2 mm..square 6 mm\n                 ^\n");
}

static void slips_in_steps(void **state) {
    (void)state;
    refuse_vary("a=1..2 mm/0", "--vary:1:11: error: '0': a whole number of values from 1 to 1000 is expected\n    "
                               "a=1..2 mm/0\n              ^\n");
    refuse_vary("a=1..2 mm/1001", "--vary:1:11: error: '1001': a whole number of values from 1 to 1000 is expected\n "
                                  "   a=1..2 mm/1001\n              ^\n");
    refuse_vary("a=1..2 mm/2.5", "--vary:1:11: error: '2.5': a whole number of values from 1 to 1000 is expected\n   "
                                 " a=1..2 mm/2.5\n              ^\n");
    refuse_vary("a=1..2 mm/-3", "--vary:1:11: error: '-3': a whole number of values from 1 to 1000 is expected\n    "
                                "a=1..2 mm/-3\n              ^\n");
    refuse_vary(
        "a=1..2 mm/",
        "--vary:1:11: error: nothing stands here; a number of values is expected\n    a=1..2 mm/\n              ^\n");
    refuse_vary("a=2..2 mm", "--vary:1:6: error: both numbers are the same; a range is expected, or '/1' for one "
                             "value\n    a=2..2 mm\n         ^\n");
    refuse_vary("a=1..2 mm/1", "--vary:1:6: error: one value, but two different numbers; '/2' or more is expected\n  "
                               "  a=1..2 mm/1\n         ^\n");
    refuse_vary("seed=1..5000", "--vary:1:9: error: more than 1000 whole numbers; write how many behind them, such "
                                "as '/25'\n    seed=1..5000\n            ^\n");
    refuse_vary("a=1\n..2 mm",
                "--vary:1:1: error: a control character, or bytes that are no UTF-8\n    a=1\\x0A..2 mm\n    ^\n");
}

static void assert_text(const struct vary *vary, double number, const char *expected) {
    char text[WISH_SIZE];
    vary_text(vary, number, text);
    assert_string_equal(text, expected);
}

static void texts_are_what_scenes_say(void **state) {
    (void)state;
    struct vary aim = varied("a=20 mm past..60 mm short/81"), past = varied("a=20 mm past..60 mm past");
    assert_text(&aim, 36, "36 mm short");
    assert_text(&aim, 0, "centre");
    assert_text(&aim, -0.0, "centre");
    assert_text(&aim, -2.5, "2.5 mm past");
    assert_text(&past, -2.5, "2.5 mm short");
    struct vary disc = varied("a=disc 5 mm..20 mm"), count = varied("a=3..12"), level = varied("a=-1..1 mm");
    assert_text(&disc, 7.5, "disc 7.5 mm");
    assert_text(&count, 4, "4");
    assert_text(&level, -0.0, "0 mm");
    assert_text(&level, -0.25, "-0.25 mm");
    assert_text(&level, 0.1 + 0.2, "0.3 mm");
}

static bool text_says(const struct vary *vary, double number) {
    char text[WISH_SIZE];
    vary_text(vary, number, text);
    double back = strstr(text, "centre") ? 0 : strtod(text, NULL);
    return (strstr(text, "past") ? -back : back) == number;
}

/* The sum of steps, as one is tempted to write it. */
static double summed(const struct vary *vary, size_t step) {
    return vary->from + (vary->to - vary->from) / (double)(vary->steps - 1) * (double)step;
}

/* Every number of a range is the one that its text says, and has no digits of noise. The twin: plain sums are not. */
static void numbers_are_what_their_texts_say(void **state) {
    (void)state;
    static const char *const ranges[] = {"a=0.1..0.7 mm/7",     "a=-0.3..0.6 mm/10", "a=0..1 mm/8",
                                         "a=1e-9..3e-9 mm/21",  "a=-7..9 deg/33",    "a=100..900 mA/9",
                                         "a=123456..654321/97", "a=0.1..0.3 mm/3",   "a=20 mm past..60 mm short/81"};
    size_t noisy = 0;
    for (size_t r = 0; r < sizeof ranges / sizeof *ranges; r++) {
        struct vary vary = varied(ranges[r]);
        assert_true(vary_number(&vary, 0) == vary.from);
        assert_true(vary_number(&vary, vary.steps - 1) == vary.to);
        for (size_t i = 0; i < vary.steps; i++) {
            double number = vary_number(&vary, i);
            double ideal = vary.from + (vary.to - vary.from) * (double)i / (double)(vary.steps - 1);
            assert_true(fabs(number - ideal) <= 1e-14 * fmax(fabs(vary.from), fabs(vary.to)));
            if (!text_says(&vary, number))
                fail_msg("%s: %.17g is not what its text says", ranges[r], number);
            noisy += !text_says(&vary, summed(&vary, i));
        }
    }
    assert_true(noisy > 10);
    struct vary tenths = varied(ranges[0]), fine = varied("a=0.12345678901234567..1 mm/3");
    assert_true(vary_number(&tenths, 2) == 0.3);
    assert_true(text_says(&fine, vary_number(&fine, 0)));
}

/* A range's texts, read by a scene, give the same numbers there. */
static void scenes_read_the_texts(void **state) {
    (void)state;
    struct vary vary = varied("modules.ring.aim=20 mm past..60 mm short/9");
    for (size_t i = 0; i < vary.steps; i++) {
        char text[WISH_SIZE];
        vary_text(&vary, vary_number(&vary, i), text);
        struct scene_edit edit = {vary.path, text, "--vary"};
        struct scene_changes changes = {.edit_count = 1, .edits = &edit};
        struct origin origin = {"s.yaml", sound_scene, strlen(sound_scene), true, &changes};
        struct messages messages = {0};
        struct scene *scene = NULL;
        assert_int_equal(reader_scene(&origin, &scene, &messages), 0);
        const struct luxfall_placement *placement = &scene->groups[0].placement;
        double aim = placement->aim == LUXFALL_AIM_PAST ? -placement->aim_mm : placement->aim_mm;
        assert_true(aim == vary_number(&vary, i));
        assert_true((placement->aim == LUXFALL_AIM_CENTRE) == (i == 2));
        scene_free(scene);
        messages_clear(&messages);
    }
}

/* ---- what is wanted -------------------------------------------------------------------------------------------- */

static void assert_want(const char *text, const char *name, bool at_most, double limit, const char *field) {
    struct messages messages = {0};
    struct want out;
    if (!want_read(text, &messages, &out))
        fail_msg("'%s' was refused:\n%s", text, printed(&messages));
    assert_string_equal(out.statistic->name, name);
    assert_true(out.at_most == at_most);
    if (out.limit != limit)
        fail_msg("'%s': a limit of %.17g", text, out.limit);
    assert_string_equal(out.field, field);
    messages_clear(&messages);
}

static void wants_are_read(void **state) {
    (void)state;
    assert_want("U0 >= 0.9 in widest zoom", "U0", false, 0.9, "widest zoom");
    assert_want("U0>=0.9", "U0", false, 0.9, "");
    assert_want("u0 at least 90 %", "U0", false, 0.9, "");
    assert_want("uniformity > 90%", "U0", false, 0.9, "");
    assert_want("darkest/average ≥ 0.95", "U0", false, 0.95, "");
    assert_want("edge/centre ≤ 1.1", "edge/centre", true, 1.1, "");
    assert_want("centre >= 50 klx in closest zoom", "centre", false, 50000, "closest zoom");
    assert_want("centre at most 0.3 Mlx", "centre", true, 300000, "");
    assert_want("light in it >= 12 % in what is in the middle", "share", false, 0.12, "what is in the middle");
    assert_want("U0 in widest zoom >= 0.9", "U0", false, 0.9, "widest zoom");
    assert_want("wasted < 80 %", "wasted", true, 0.8, "");
    assert_want("dome <= 5 %", "dome", true, 5, "");
    assert_want("tilt <= 0.2 %/mm", "tilt", true, 0.2, "");
    assert_want("spot <= 4.5 cm", "spot", true, 45, "");
    assert_want("watts <= 8 W", "watts", true, 8, "");
    assert_want("watts <= 800 mW", "watts", true, 0.8, "");
    assert_want("current <= 700 mA", "current", true, 0.7, "");
    assert_want("current <= 0.7 A", "current", true, 0.7, "");
    assert_want("lux per watt >= 11.3 klx/W", "lux per watt", false, 11300, "");
    assert_want("lux per price > 2 klx", "lux per price", false, 2000, "");
    assert_want("price <= 30", "price", true, 30, "");
    assert_want("dome > 0", "dome", false, 0, "");
    struct messages messages = {0};
    struct want price;
    assert_true(want_read("price <= 30.50 EUR", &messages, &price));
    assert_true(price.limit == 30.5);
    assert_string_equal(price.currency, "EUR");
}

static void refuse_want(const char *text, const char *expected) {
    struct messages messages = {0};
    struct want out;
    assert_said(want_read(text, &messages, &out), &messages, text, expected);
}

static void slips_in_wants(void **state) {
    (void)state;
    refuse_want("U1 >= 0.9", "--want:1:1: error: no statistic 'U1'; did you mean U0?\n    U1 >= 0.9\n    ^\n");
    refuse_want("U1 in zoom >= 0.9",
                "--want:1:1: error: no statistic 'U1'; did you mean U0?\n    U1 in zoom >= 0.9\n    ^\n");
    refuse_want(
        "brilliance >= 1",
        "--want:1:1: error: no statistic 'brilliance'; there are U0, min/max, edge/centre, centre, average, minimum, "
        "maximum, variation, tilt, dome, share, wasted, lumens, lux per watt, lux per price, peak, spot, visible "
        "edge, map centre, watts, lamp lumens, lumens per watt, price, current\n    brilliance >= 1\n    ^\n");
    refuse_want("U0",
                "--want:1:3: error: '>=' or '<=' and a limit are expected, such as U0 >= 0.9\n    U0\n      ^\n");
    refuse_want(
        "U0 = 0.9",
        "--want:1:4: error: '>=' or '<=' and a limit are expected, such as U0 >= 0.9\n    U0 = 0.9\n       ^\n");
    refuse_want(
        ">= 0.9",
        "--want:1:1: error: nothing stands here; a statistic is expected, such as U0 or centre\n    >= 0.9\n    ^\n");
    refuse_want("U0 >=",
                "--want:1:6: error: nothing stands here; a limit with its unit is expected\n    U0 >=\n         ^\n");
    refuse_want("U0 >= high", "--want:1:7: error: 'high' does not begin with a number; a limit with its unit is "
                              "expected\n    U0 >= high\n          ^\n");
    refuse_want("U0 >= 0.9 lx", "--want:1:11: error: '0.9 lx': unknown unit; a limit of U0 takes no unit, %\n    U0 "
                                ">= 0.9 lx\n              ^\n");
    refuse_want("centre >= 50 lm", "--want:1:14: error: '50 lm': unknown unit; a limit of centre takes lx, klx, "
                                   "Mlx\n    centre >= 50 lm\n                 ^\n");
    refuse_want("centre >= 50", "--want:1:11: error: '50' has no unit; a limit of centre takes lx, klx, Mlx\n    "
                                "centre >= 50\n              ^\n");
    refuse_want(
        "share >= 0.12",
        "--want:1:10: error: '0.12' has no unit; a limit of share takes %\n    share >= 0.12\n             ^\n");
    refuse_want("watts <= 8 W in zoom", "--want:1:17: error: watts is of the whole lamp: no field is expected\n    "
                                        "watts <= 8 W in zoom\n                    ^\n");
    refuse_want("spot <= 8 mm in zoom", "--want:1:17: error: spot is of the whole map: no field is expected\n    "
                                        "spot <= 8 mm in zoom\n                    ^\n");
    refuse_want("U0 in a >= 0.9 in b", "--want:1:19: error: a second field; 'a' stands before the limit\n    U0 in a "
                                       ">= 0.9 in b\n                      ^\n");
    refuse_want("price <= 30 EUR a piece", "--want:1:13: error: a price and its currency are expected, such as 30 "
                                           "EUR\n    price <= 30 EUR a piece\n                ^\n");
}

static void a_price_is_wanted_in_the_scenes_currency(void **state) {
    (void)state;
    char *priced = with(sound_scene, "flux: 95 lm", "flux: 95 lm, price: 2 EUR");
    struct outcome with_price = read_text(priced), without = read_text(sound_scene);
    struct messages messages = {0};
    struct want plain, euro, crown;
    assert_true(want_read("price <= 30", &messages, &plain) && want_read("price <= 30 EUR", &messages, &euro) &&
                want_read("price <= 30 SEK", &messages, &crown));
    assert_true(want_fits("price <= 30", &plain, with_price.scene, &messages));
    assert_true(want_fits("price <= 30", &plain, without.scene, &messages));
    assert_true(want_fits("price <= 30 EUR", &euro, with_price.scene, &messages));
    assert_int_equal(messages.count, 0);
    assert_said(
        want_fits("price <= 30 SEK", &crown, with_price.scene, &messages), &messages, "SEK",
        "--want:1:13: error: a price in SEK; the scene has its prices in EUR\n    price <= 30 SEK\n              "
        "  ^\n");
    assert_said(
        want_fits("price <= 30 EUR", &euro, without.scene, &messages), &messages, "EUR",
        "--want:1:13: error: a price in EUR, but the scene gives no price\n    price <= 30 EUR\n               "
        " ^\n");
    outcome_clear(&without);
    outcome_clear(&with_price);
    free(priced);
}

/* ---- which statistics ------------------------------------------------------------------------------------------ */

static void statistics_are_listed(void **state) {
    (void)state;
    struct messages messages = {0};
    struct of_wish out[OF_MAX];
    size_t count = 0;
    assert_true(of_read("U0 in widest zoom, centre,light in it in a, W", &messages, &count, out));
    assert_int_equal(count, 4);
    assert_string_equal(out[0].statistic->name, "U0");
    assert_string_equal(out[0].field, "widest zoom");
    assert_string_equal(out[1].statistic->name, "centre");
    assert_string_equal(out[1].field, "");
    assert_string_equal(out[2].statistic->name, "share");
    assert_string_equal(out[2].field, "a");
    assert_string_equal(out[3].statistic->name, "watts");
    assert_int_equal(messages.count, 0);
}

static void refuse_of(const char *text, const char *expected) {
    struct messages messages = {0};
    struct of_wish out[OF_MAX];
    size_t count = 0;
    assert_said(of_read(text, &messages, &count, out), &messages, text, expected);
}

static void slips_in_lists(void **state) {
    (void)state;
    refuse_of("",
              "--of:1:1: error: nothing stands here; a statistic is expected, such as U0 or centre\n    \n    ^\n");
    refuse_of(
        "U0,",
        "--of:1:4: error: nothing stands here; a statistic is expected, such as U0 or centre\n    U0,\n       ^\n");
    refuse_of("U0, centr, W in zoom", "--of:1:5: error: no statistic 'centr'; did you mean centre?\n    U0, centr, W "
                                      "in zoom\n        ^\n--of:1:17: error: watts is of the whole lamp: no field is "
                                      "expected\n    U0, centr, W in zoom\n                    ^\n");
    refuse_of(
        "U0,U0,U0,U0,U0,U0,U0,U0,U0",
        "--of:1:25: error: more than 8 statistics\n    U0,U0,U0,U0,U0,U0,U0,U0,U0\n                            ^\n");
}

/* ---- at which current or power --------------------------------------------------------------------------------- */

static void currents_and_powers_are_read(void **state) {
    (void)state;
    struct messages messages = {0};
    struct at_wish out[AT_MAX];
    size_t count = 0;
    assert_true(at_read("current 500 mA, 0.7 A,2 W , power 1500mW", &messages, &count, out));
    assert_int_equal(count, 4);
    assert_true(!out[0].watts && out[0].value == 0.5);
    assert_string_equal(out[0].text, "500 mA");
    assert_true(!out[1].watts && out[1].value == 0.7);
    assert_true(out[2].watts && out[2].value == 2);
    assert_string_equal(out[2].text, "2 W");
    assert_true(out[3].watts && out[3].value == 1.5);
    assert_string_equal(out[3].text, "1500 mW");
    assert_int_equal(messages.count, 0);
}

static void refuse_at(const char *text, const char *expected) {
    struct messages messages = {0};
    struct at_wish out[AT_MAX];
    size_t count = 0;
    assert_said(at_read(text, &messages, &count, out), &messages, text, expected);
}

static void slips_in_currents(void **state) {
    (void)state;
    refuse_at("500",
              "--at:1:4: error: '500': a current in mA or A, or a power in W is expected\n    500\n       ^\n");
    refuse_at("current 2 W",
              "--at:1:11: error: '2 W': a current in mA or A is expected\n    current 2 W\n              ^\n");
    refuse_at("2 V", "--at:1:3: error: '2 V': a current in mA or A, or a power in W is expected\n    2 V\n      ^\n");
    refuse_at("0 mA", "--at:1:1: error: '0 mA' is out of range: above 0, at most 1000 A\n    0 mA\n    ^\n");
    refuse_at("-2 W", "--at:1:1: error: '-2 W' is out of range: above 0, at most 1e+06 W\n    -2 W\n    ^\n");
    refuse_at("500 mA, 0.5 A", "--at:1:9: error: 0.5 A stands twice\n    500 mA, 0.5 A\n            ^\n");
    refuse_at(
        "x, 500 mA, 500 mA",
        "--at:1:1: error: 'x' does not begin with a number; a current in mA or A, or a power in W is expected\n    "
        "x, 500 mA, 500 mA\n    ^\n--at:1:12: error: 500 mA stands twice\n    x, 500 mA, 500 mA\n               ^\n");
    refuse_at("500 mA,", "--at:1:8: error: nothing stands here; a current in mA or A, or a power in W is expected\n  "
                         "  500 mA,\n           ^\n");
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(ranges_are_read),
        cmocka_unit_test(slips_in_ranges),
        cmocka_unit_test(slips_in_steps),
        cmocka_unit_test(texts_are_what_scenes_say),
        cmocka_unit_test(numbers_are_what_their_texts_say),
        cmocka_unit_test(scenes_read_the_texts),
        cmocka_unit_test(wants_are_read),
        cmocka_unit_test(slips_in_wants),
        cmocka_unit_test(a_price_is_wanted_in_the_scenes_currency),
        cmocka_unit_test(statistics_are_listed),
        cmocka_unit_test(slips_in_lists),
        cmocka_unit_test(currents_and_powers_are_read),
        cmocka_unit_test(slips_in_currents),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
