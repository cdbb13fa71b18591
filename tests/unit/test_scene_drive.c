/* Currents, voltages and prices as scenes and tables say them. The parts are invented. */
#include "scenes/drive_table.h"
#include "unit/scene_text.h"

#include <math.h>

/* ---- tables ---------------------------------------------------------------------------------------------------- */

struct table_outcome {
    bool good;
    struct luxfall_drive drive;
    char *said;
    struct arena arena;
};

static struct table_outcome read_table(const char *text) {
    struct messages messages = {0};
    struct table_outcome outcome = {.good = false};
    int status = 0;
    struct source *source = source_from_bytes(&outcome.arena, &messages, "d.csv", text, strlen(text), &status);
    outcome.good = source != NULL && drive_from_source(&outcome.arena, &messages, source, false, &outcome.drive);
    outcome.said = printed(&messages);
    assert_true(outcome.good == (messages.errors == 0));
    messages_clear(&messages);
    return outcome;
}

static void done(struct table_outcome *outcome) {
    free(outcome->said);
    arena_clear(&outcome->arena);
}

static void assert_says(const char *text, bool good, const char *expected) {
    struct table_outcome outcome = read_table(text);
    if (outcome.good != good || strncmp(outcome.said, expected, strlen(expected)) != 0)
        fail_msg("expected\n%s\nand it said (%s)\n%s", expected, outcome.good ? "taken" : "refused", outcome.said);
    if (expected[0] == '\0')
        assert_string_equal(outcome.said, "");
    done(&outcome);
}

static void ways_to_write_one_table(void **state) {
    (void)state;
    static const char *const same[] = {
        "# invented\ncurrent_mA,voltage_V,flux_lm\n350,2.9,95\n700,3.1,170\n",
        "flux_lm;current_A;voltage_V\n95;0.35;2.9\n170;0.7;3.1\n",
        "current_mA\tnote\tVOLTAGE_V\tflux_lm\r\n350\tcold\t2.9\t95\r\n700\twarm\t3.1\t170",
        "# decimal: comma\ncurrent_mA;voltage_V;flux_lm\n350;2,9;95\n700;3,1;170\n",
    };
    for (size_t i = 0; i < sizeof same / sizeof *same; i++) {
        struct table_outcome outcome = read_table(same[i]);
        if (!outcome.good || outcome.said[0] != '\0')
            fail_msg("%s\n%s", same[i], outcome.said);
        const struct luxfall_drive *drive = &outcome.drive;
        assert_true(drive->count == 2 && drive->junction_c == NULL);
        assert_true(drive->current_a[0] == 0.35 && drive->current_a[1] == 0.7);
        assert_true(drive->flux_lm[1] == 170 && drive->voltage_v[0] == 2.9 && drive->voltage_v[1] == 3.1);
        done(&outcome);
    }
    struct table_outcome outcome =
        read_table("current_mA,voltage_V,flux_lm,junction_C\n350,2.9,95,-5\n700,3.1,170,85\n");
    assert_true(outcome.good && outcome.drive.junction_c[0] == -5 && outcome.drive.junction_c[1] == 85);
    done(&outcome);
}

static void tables_that_are_refused(void **state) {
    (void)state;
    static const char *const cases[][2] = {
        {"350,2.9,95\n700,3.1,170\n",
         "d.csv:1:1: error: a first row with the names of the columns is needed: current_mA, voltage_V, flux_lm\n"
         "    350,2.9,95\n"
         "    ^"},
        {"current_mA,voltage_V,flux_lm\n", "d.csv: error: no rows of numbers in this table"},
        {"current_mA,voltage_V,flux_lm\n350,2.9,95\n", "d.csv: error: 1 row; a drive takes 2 to 10000"},
        {"mA,voltage_V,flux_lm\n350,2.9,95\n700,3.1,170\n",
         "d.csv:1:1: error: no column current_mA or current_A; the columns are mA, voltage_V, flux_lm"},
        {"current_mA,voltage_V,lm\n350,2.9,95\n700,3.1,170\n",
         "d.csv:1:1: error: no column flux_lm; the columns are current_mA, voltage_V, lm"},
        {"current_mA,current_A,flux_lm\n350,0.35,95\n700,0.7,170\n",
         "d.csv:1:12: error: 'current_mA' and 'current_A' exclude each other"},
        {"current_mA,voltage_V,flux_lm\n350,2.9,95\n350,3.1,170\n",
         "d.csv:3:1: error: the current 350 mA does not ascend: line 2 has 350 mA\n"
         "    350,3.1,170\n"
         "    ^"},
        {"current_mA,voltage_V,flux_lm\n0,2.9,95\n350,3.1,170\n",
         "d.csv:2:1: error: 'current_mA' is 0; it must be above 0 and at most 1e+06"},
        {"current_mA,voltage_V,flux_lm\n350,2.9,95\n700,3.1,-170\n",
         "d.csv:3:9: error: 'flux_lm' is -170; it must be above 0 and at most 1e+08"},
        {"current_mA,voltage_V,flux_lm\n350,2.9,95\n700,3.1 V,170\n",
         "d.csv:3:5: error: '3.1 V' is not a number alone; units stand in the column's name"},
        {"current_mA,voltage_V,flux_lm\n350,2.9,95\n700,3.1\n",
         "d.csv:3:1: error: 2 cells in this row; the first row has 3"},
        /* a unit slips: A in a column of mA */
        {"current_mA,voltage_V,flux_lm\n0.35,2.9,95\n0.7,3.1,170\n",
         "d.csv:2:10: error: 95 lm from 2.9 V x 0.35 mA = 0.001015 W are 9.36e+04 lm/W, more than any light has (683 "
         "lm/W); is a unit wrong?"},
    };
    for (size_t i = 0; i < sizeof cases / sizeof *cases; i++)
        assert_says(cases[i][0], false, cases[i][1]);
}

static void tables_with_warnings(void **state) {
    (void)state;
    assert_says("current_mA,flux_lm\n350,95\n700,170\n", true,
                "d.csv:1:1: warning: no column voltage_V: watts and lux per watt will not be known");
    assert_says("current_mA,voltage_V,flux_lm,juction_C\n350,2.9,95,60\n700,3.1,170,85\n", true,
                "d.csv:1:30: warning: the column 'juction_C' is not read; did you mean 'junction_C'?");
    assert_says("current_A,voltage_V,flux_lm\n350,2.9,95\n700,3.1,170\n", true,
                "d.csv:2:9: warning: 95 lm from 2.9 V x 350 A = 1015 W are 0.0936 lm/W, very little for an LED; is a "
                "unit wrong?");
    assert_says(
        "current_mA,voltage_V,flux_lm\n350,3.1,95\n700,2.9,170\n", true,
        "d.csv:3:5: warning: the voltage falls from 3.1 V to 2.9 V as the current rises; are columns exchanged?");
    assert_says(
        "current_mA,voltage_V,flux_lm\n350,2.9,95\n700,3.1,90\n", true,
        "d.csv:3:9: warning: the flux falls from 95 lm to 90 lm as the current rises; are columns exchanged?");
    assert_says("current_mA,voltage_V,flux_lm\n350,2.9,95\n700,3.1,96\n", true, ""); /* droop: it is so */
    assert_says(
        "current_mA,voltage_V,flux_lm\n350,2.9,406\n700,3.1,700\n", true,
        "d.csv:2:9: warning: 406 lm from 2.9 V x 350 mA = 1.015 W are 400 lm/W, more than LEDs give; is a unit "
        "wrong?");
}

/* ---- emitters -------------------------------------------------------------------------------------------------- */

static void emitters_that_are_refused(void **state) {
    (void)state;
    static const char *const cases[][2] = {
        {"flux: 95 lm, voltage: 2.9 V",
         "s.yaml:2:57: error: 'voltage' needs the current at which it holds; write for instance 'flux: 95 lm at 350 "
         "mA'"},
        {"flux: 95 lm at 350 mA, voltage: 2.9",
         "s.yaml:2:67: error: '2.9' has no unit; a voltage takes V, for instance 2.9 V"},
        {"flux: 95 lm at 350 mA, voltage: 0 V",
         "s.yaml:2:67: error: 'voltage' is 0 V; it must be above 0 V and at most 10000 V"},
        {"flux: 95 lm at 350 mA, voltage: 29 mA",
         "s.yaml:2:67: error: '29 mA' is a current; a voltage is expected, with V"},
        {"flux: 950 lm at 350 mA, voltage: 2.9 V",
         "s.yaml:2:41: error: 950 lm from 2.9 V x 350 mA = 1.015 W are 936 lm/W, more than any light has (683 lm/W); "
         "is a unit wrong?"},
        {"flux: 95 lm, drive: led.csv",
         "s.yaml:2:35: error: 'flux' and 'drive' exclude each other: the table tells both flux and voltage"},
        {"drive: led.csv, voltage: 3 V",
         "s.yaml:2:51: error: 'voltage' and 'drive' exclude each other: the table tells both flux and voltage"},
        {"drive: led.csv", "s.yaml:2:42: error: no other file is opened here"},
        {"flux: 95 lm, current_limit: 0 A",
         "s.yaml:2:63: error: 'current_limit' is 0 A; it must be above 0 A and at most 1000 A"},
        {"flux: 95 lm, curent_limit: 1 A",
         "s.yaml:2:48: error: unknown key 'curent_limit' in an emitter; did you mean 'current_limit'?"},
    };
    for (size_t i = 0; i < sizeof cases / sizeof *cases; i++)
        assert_slip("flux: 95 lm", cases[i][0], cases[i][1]);
}

/* ---- modules --------------------------------------------------------------------------------------------------- */

static void currents_that_are_refused(void **state) {
    (void)state;
    char *stated = with(sound_scene, "flux: 95 lm", "flux: 95 lm at 350 mA");
    char *other = with(stated, "    lens: medium\n", "    lens: medium\n    current: 700 mA\n");
    assert_only_error(other,
                      "s.yaml:9:14: error: emitter 'die' is known at 350 mA alone, not at 700 mA: flux does not "
                      "grow with the current in proportion; 'drive: led.csv' takes a table of currents\n"
                      "        current: 700 mA\n"
                      "                 ^");
    assert_slip(
        "    lens: medium\n", "    lens: medium\n    current: 1 A\n",
        "s.yaml:9:14: error: emitter 'die' gives its flux at no current, so that nothing is known at 1 A; write "
        "its flux as '95 lm at 350 mA', or 'drive: led.csv' for several currents");
    assert_slip("    lens: medium\n", "    lens: medium\n    current: 0 A\n",
                "s.yaml:9:14: error: 'current' is 0 A; it must be above 0 A and at most 1000 A");
    assert_slip("    lens: medium\n", "    lens: medium\n    current: 350 lm\n",
                "s.yaml:9:14: error: '350 lm' is a luminous flux; a current is expected, with mA or A");
    free(other);
    free(stated);
}

/* The scene with the shipped table of currents, and these lines in its module. */
static struct outcome read_with_table(const char *emitter_keys, const char *module_keys) {
    char *text = with(sound_scene, "flux: 95 lm", emitter_keys),
         *whole = with(text, "    lens: medium\n", module_keys);
    struct messages messages = {0};
    struct scene *scene = NULL;
    int status = scene_read_text(SOURCE_DIR "/scenes/parts/s.yaml", whole, strlen(whole), false, &scene, &messages);
    free(text);
    free(whole);
    return outcome_of(status, scene, &messages);
}

static void assert_table_says(const char *emitter_keys, const char *module_keys, size_t errors,
                              const char *expected) {
    struct outcome outcome = read_with_table(emitter_keys, module_keys);
    if (outcome.errors != errors || outcome.errors + outcome.warnings != 1 || strstr(outcome.said, expected) == NULL)
        fail_msg("expected\n%s\nand it said\n%s", expected, outcome.said);
    assert_true((outcome.status == 0) == (errors == 0));
    outcome_clear(&outcome);
}

static void a_table_wants_a_current(void **state) {
    (void)state;
    static const char table[] = "drive: invented-drive.csv";
    assert_table_says(table, "", 1,
                      "/s.yaml:7:14: error: no 'current' for this module: emitter 'die' is known from 10 mA to 1 A "
                      "(invented-drive.csv)");
    assert_table_says(
        table, "    current: 1.2 A\n", 1,
        "/s.yaml:8:14: error: emitter 'die' is known from 10 mA to 1 A (invented-drive.csv), not at 1.2 A");
    assert_table_says(table, "    curent: 350 mA\n", 1, "/s.yaml:8:5: error: unknown key 'curent'"); /* no echo */
    assert_table_says("drive: invented-drive.csv, current_limit: 700 mA", "    current: 701 mA\n", 0,
                      "/s.yaml:8:14: warning: 701 mA is above the limit of emitter 'die', 700 mA: it runs hotter");
    assert_table_says("flux: 95 lm at 350 mA, current_limit: 300 mA", "", 0,
                      "/s.yaml:7:14: warning: 350 mA is above the limit of emitter 'die', 300 mA");
    struct outcome outcome =
        read_with_table("drive: invented-drive.csv, current_limit: 700 mA", "    current: 0.7 A\n");
    assert_int_equal(outcome.errors + outcome.warnings, 0); /* the limit itself is allowed */
    struct luxfall_operating_point point;
    assert_int_equal(luxfall_module_at(&outcome.scene->light, 7, &point, NULL), LUXFALL_OK);
    assert_true(point.flux_lm == 184 && point.voltage_v == 3.11 && point.junction_c == 103);
    assert_true(outcome.scene->groups[0].current_a == 0.7);
    outcome_clear(&outcome);
}

/* The module takes the current that its emitter states; nothing is known of power without a voltage. */
static void a_stated_current_is_the_modules(void **state) {
    (void)state;
    static const char *const ways[][2] = {{"flux: 95 lm at 350 mA, voltage: 2.9 V", ""},
                                          {"flux: 95 lm at 0.35 A, voltage: 2.9 V", "    current: 350 mA\n"},
                                          {"flux: 95 lm at 350 mA", ""},
                                          {"flux: 95 lm", ""}};
    for (size_t i = 0; i < 4; i++) {
        struct outcome outcome = read_with_table(ways[i][0], ways[i][1]);
        struct luxfall_operating_point point;
        assert_int_equal(outcome.errors + outcome.warnings, 0);
        assert_int_equal(luxfall_module_at(&outcome.scene->light, 0, &point, NULL), LUXFALL_OK);
        assert_true(point.flux_lm == 95);
        assert_true(i == 3 ? isnan(point.current_a) : point.current_a == 0.35);
        assert_true(i > 1 ? isnan(point.power_w) : point.power_w == 0.35 * 2.9);
        outcome_clear(&outcome);
    }
}

/* ---- prices ---------------------------------------------------------------------------------------------------- */

static void prices_that_are_refused(void **state) {
    (void)state;
    static const char *const cases[][2] = {
        {"price: 1.20",
         "s.yaml:2:55: error: '1.20' has no currency; a price is a number and a word, for instance 1.20 EUR"},
        {"price: EUR 1.20",
         "s.yaml:2:55: error: 'EUR 1.20' does not begin with a number; a price is a number and its currency, for "
         "instance 1.20 EUR"},
        {"price: '1,20 EUR'", "s.yaml:2:55: error: '1,20 EUR' has a decimal comma; write a point; a price is a "
                              "number and its currency, for "
                              "instance 1.20 EUR"},
        {"price: 1.20 EUR each",
         "s.yaml:2:55: error: '1.20 EUR each' is no price; one number and one word are expected, such as 1.20 EUR"},
        {"price: -1 EUR", "s.yaml:2:55: error: 'price' is -1 EUR; it must be at least 0 and at most 1e+09"},
    };
    for (size_t i = 0; i < sizeof cases / sizeof *cases; i++) {
        char keys[80];
        snprintf(keys, sizeof keys, "flux: 95 lm, %s", cases[i][0]);
        assert_slip("flux: 95 lm", keys, cases[i][1]);
    }
    assert_slip("lenses:\n",
                "sinks: {alu: {price: 2 EUR}}\nboards: {star: {price: 3 USD}, sun: {price: 4 USD}}\nlenses:\n",
                "s.yaml:4:24: error: a price in USD; s.yaml:3 has one in EUR, and a scene keeps to one currency");
    assert_slip("lenses:\n", "sinks: {alu: {prise: 2 EUR}}\nlenses:\n",
                "s.yaml:3:15: error: unknown key 'prise' in a sink; did you mean 'price'?");
    assert_slip("    lens: medium\n", "    lens: medium\n    board: star\n",
                "s.yaml:9:12: error: no board is named 'star'");
}

static double price_of(const char *text, const char **missing, struct outcome *outcome) {
    *outcome = read_text(text);
    if (outcome->status != 0)
        fail_msg("%s", outcome->said);
    return scene_price(outcome->scene, missing);
}

/* 8 x (1.20 + 0.80 + 2.50 + 0.30) = 38.40 */
static void the_sum_of_a_lamp(void **state) {
    (void)state;
    char *led = with(sound_scene, "flux: 95 lm", "flux: 95 lm, price: 1.20 EUR");
    char *lens = with(led, "beam_angle", "price: 0.80 EUR, beam_angle");
    char *parts = with(lens, "modules:\n",
                       "sinks: {alu: {price: 2.50EUR}, bare: {}}\nboards: {star: {price: .3 EUR}}\nmodules:\n");
    char *all = with(parts, "    lens: medium\n", "    lens: medium\n    sink: alu\n    board: star\n    dark: 3\n");
    char *unpriced = with(all, "sink: alu", "sink: bare");
    struct outcome outcome;
    const char *missing = "";
    assert_true(fabs(price_of(all, &missing, &outcome) - 38.40) < 1e-12); /* the dark member, too */
    assert_null(missing);
    assert_string_equal(outcome.scene->currency, "EUR");
    outcome_clear(&outcome);
    assert_true(fabs(price_of(lens, &missing, &outcome) - 16.00) < 1e-12);
    outcome_clear(&outcome);
    assert_true(isnan(price_of(led, &missing, &outcome)));
    assert_string_equal(missing, "medium");
    outcome_clear(&outcome);
    assert_true(isnan(price_of(unpriced, &missing, &outcome)));
    assert_string_equal(missing, "bare");
    outcome_clear(&outcome);
    assert_true(isnan(price_of(sound_scene, &missing, &outcome))); /* none has one: none is missing */
    assert_null(missing);
    assert_null(outcome.scene->currency);
    outcome_clear(&outcome);
    free(led);
    free(lens);
    free(parts);
    free(all);
    free(unpriced);
}

/* ---- the way back ---------------------------------------------------------------------------------------------- */

static void assert_same_drive(const struct luxfall_drive *a, const struct luxfall_drive *b) {
    assert_int_equal(a->count, b->count);
    assert_true((a->voltage_v == NULL) == (b->voltage_v == NULL));
    for (size_t i = 0; i < a->count; i++)
        assert_true(a->current_a[i] == b->current_a[i] && a->flux_lm[i] == b->flux_lm[i] &&
                    (a->voltage_v == NULL || a->voltage_v[i] == b->voltage_v[i]));
}

static void what_is_written_reads_back(void **state) {
    (void)state;
    static const char text[] =
        "emitters:\n"
        "  stated: {surface: disc 1 mm, flux: 95.3 lm at 333.3 mA, voltage: 2.917 V, price: 0.1 kr., current_limit: "
        "0.7 A}\n"
        "  table: {surface: disc 1 mm, drive: parts/invented-drive.csv, price: 1234567.89kr.}\n"
        "lenses: {clear: {beam_angle: 24 deg, efficiency: 84 %, face: disc 18 mm, price: 1e-3 kr.}}\n"
        "sinks: {'on: off': {price: 7 kr.}, none given: {}}\n"
        "boards: {star: {price: 0 kr.}}\n"
        "modules:\n"
        "  - {emitter: stated, lens: clear, single: {height: 9 cm}, sink: 'on: off'}\n"
        "  - {emitter: table, single: {height: 8 cm}, current: 123.4 mA, board: star}\n"
        "target: {size: 100 mm x 100 mm}\n";
    struct messages messages = {0};
    struct scene *scene = NULL, *again = NULL;
    assert_int_equal(scene_read_text(SOURCE_DIR "/scenes/s.yaml", text, strlen(text), false, &scene, &messages), 0);
    char *first = written(scene);
    if (scene_read_text(SOURCE_DIR "/scenes/s.yaml", first, strlen(first), false, &again, &messages) != 0)
        fail_msg("%s\n%s", first, printed(&messages));
    char *second = written(again);
    assert_string_equal(first, second);
    for (size_t i = 0; i < 2; i++) {
        assert_same_drive(&scene->light.emitters[i].drive, &again->light.emitters[i].drive);
        assert_true(scene->emitter_prices[i] == again->emitter_prices[i]);
        assert_true(scene->groups[i].current_a == again->groups[i].current_a && scene->groups[i].current_a > 0);
        assert_true(scene->groups[i].sink == again->groups[i].sink &&
                    scene->groups[i].board == again->groups[i].board);
    }
    assert_true(scene->groups[0].sink == 0 && scene->groups[1].sink == SCENE_NONE && scene->groups[1].board == 0);
    assert_true(again->sinks[0].price == 7 && isnan(again->sinks[1].price) && again->boards[0].price == 0);
    assert_string_equal(again->currency, "kr.");
    assert_non_null(strstr(first, "current_limit: 0.7 A"));
    free(first);
    free(second);
    scene_free(scene);
    scene_free(again);
    messages_clear(&messages);
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(ways_to_write_one_table),
        cmocka_unit_test(tables_that_are_refused),
        cmocka_unit_test(tables_with_warnings),
        cmocka_unit_test(emitters_that_are_refused),
        cmocka_unit_test(currents_that_are_refused),
        cmocka_unit_test(a_table_wants_a_current),
        cmocka_unit_test(a_stated_current_is_the_modules),
        cmocka_unit_test(prices_that_are_refused),
        cmocka_unit_test(the_sum_of_a_lamp),
        cmocka_unit_test(what_is_written_reads_back),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
