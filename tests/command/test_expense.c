/* The line `drive` of the report, and what statistics.json says of it. The parts are invented; watts, lux per watt
 * and sums are held against the arithmetic beside them. */
#include "render/commands/expense.h"
#include "render/files/files.h"
#include "unit/scene_text.h"

#include <math.h>

static struct outcome sound(const char *text) {
    struct outcome outcome = read_text(text);
    if (outcome.status != 0)
        fail_msg("%s", outcome.said);
    return outcome;
}

static struct luxfall_result *traced(const struct scene *scene) {
    struct luxfall_options options;
    struct luxfall_result *result = NULL;
    luxfall_options_init(&options);
    options.method = LUXFALL_DIRECT;
    assert_int_equal(luxfall_trace(&scene->light, &options, &result, NULL), LUXFALL_OK);
    return result;
}

static void assert_line(const char *text, const char *expected) {
    struct outcome outcome = sound(text);
    struct luxfall_result *result = traced(outcome.scene);
    char line[EXPENSE_SIZE];
    bool told = expense_line(outcome.scene, result, line);
    assert_true(told == (expected[0] != '\0'));
    if (strcmp(line, expected) != 0)
        fail_msg("expected\n%s\nand it says\n%s", expected, line);
    luxfall_result_free(result);
    outcome_clear(&outcome);
}

/* One module 100 mm straight above: a point of 100 lm with 1/pi cd/lm gives 100 / pi / 0.01 = 3183.1 lx. */
#define LAMP(emitter, module)                                                 \
    "emitters: {led: {surface: point, " emitter "}, other: {surface: point, " \
    "flux: 50 lm at 700 mA, voltage: 3 V}}\n"                                 \
    "modules:\n"                                                              \
    "  - {name: a, emitter: led, " module "single: {height: 100 mm}}\n"       \
    "target: {size: 100 mm x 100 mm, cell: 5 mm}\n"                           \
    "fields: [{name: zoom, size: 10 mm x 10 mm, reading: disc 0.01 mm}]\n"
#define STATED "flux: 100 lm at 500 mA, voltage: 2.5 V"

static void of_what_is_known(void **state) {
    (void)state;
    /* 2.5 V x 0.5 A = 1.25 W; 3183.1 / 1.25 = 2546.5 lx/W */
    assert_line(LAMP(STATED, ""), "1 module at 500 mA, 2.5 V: 1.25 W; 2.546 klx/W at the centre of zoom");
    assert_line(LAMP("flux: 100 lm at 500 mA", ""), "1 module at 500 mA");
    assert_line(LAMP("flux: 100 lm", ""), "");
    assert_line(LAMP("flux: 100 lm, price: 2 EUR", ""), "2.00 EUR");
    assert_line(LAMP(STATED ", price: 2 EUR", ""),
                "1 module at 500 mA, 2.5 V: 1.25 W; 2.546 klx/W at the centre of zoom; 2.00 EUR");
    assert_line(
        LAMP(STATED ", price: 2 EUR", "sink: bare, ") "sinks: {bare: {}}\n",
        "1 module at 500 mA, 2.5 V: 1.25 W; 2.546 klx/W at the centre of zoom; price not known: none for 'bare'");
    assert_line(LAMP(STATED, "dark: 1, "), "");
    assert_line(
        LAMP(STATED, "scale: 200 %, "),
        "1 module at 500 mA, 2.5 V: 1.25 W; 5.093 klx/W at the centre of zoom (scale changes lumens, not watts)");
}

static void of_several_currents(void **state) {
    (void)state;
    char *pair = with(LAMP(STATED, ""), "target",
                      "  - {name: b, emitter: other, line: {count: 2, pitch: 20 mm, height: 100 mm}}\ntarget");
    struct outcome outcome = sound(pair);
    struct luxfall_result *result = traced(outcome.scene);
    char line[EXPENSE_SIZE];
    assert_true(expense_line(outcome.scene, result, line)); /* 1.25 + 2 x 0.7 x 3 = 5.45 W */
    if (strstr(line, "1 module at 500 mA, 2.5 V and 2 modules at 700 mA, 3 V: 5.45 W; ") != line)
        fail_msg("%s", line);
    luxfall_result_free(result);
    outcome_clear(&outcome);
    char *unknown = with(pair, STATED, "flux: 100 lm");
    assert_line(unknown, "1 module at no known current and 2 modules at 700 mA, 3 V");
    free(pair);
    free(unknown);
}

/* The temperature at which a table gives its lumens is told with them. */
static void of_a_table(void **state) {
    (void)state;
    const char *text = LAMP("drive: parts/invented-drive.csv", "current: 350 mA, ");
    struct messages messages = {0};
    struct scene *scene = NULL;
    assert_int_equal(scene_read_text(SOURCE_DIR "/scenes/s.yaml", text, strlen(text), false, &scene, &messages), 0);
    struct luxfall_result *result = traced(scene);
    char line[EXPENSE_SIZE];
    assert_true(expense_line(scene, result, line));
    assert_non_null(strstr(line, "1 module at 350 mA, 2.92 V: 1.02 W; "));
    assert_non_null(strstr(line, "; lumens at a junction of 67 °C: at another temperature they differ"));
    luxfall_result_free(result);
    scene_free(scene);
    messages_clear(&messages);
}

/* ---- statistics.json ------------------------------------------------------------------------------------------- */

static double real_of(const json_t *object, const char *key) {
    const json_t *value = json_object_get(object, key);
    assert_non_null(value); /* null is a value, too */
    return json_is_null(value) ? NAN : json_real_value(value);
}

static json_t *statistics_of(const char *text) {
    struct outcome outcome = sound(text);
    struct luxfall_result *result = traced(outcome.scene);
    json_t *root = statistics_json(outcome.scene, result, NULL, NULL);
    assert_non_null(root);
    luxfall_result_free(result);
    outcome_clear(&outcome);
    return root;
}

static void in_the_statistics(void **state) {
    (void)state;
    json_t *root = statistics_of(LAMP(STATED ", price: 2 EUR", ""));
    const json_t *module = json_array_get(json_object_get(root, "modules"), 0);
    assert_true(real_of(root, "power_w") == 1.25 && real_of(root, "price") == 2);
    assert_string_equal(json_string_value(json_object_get(root, "currency")), "EUR");
    assert_true(real_of(module, "current_a") == 0.5 && real_of(module, "voltage_v") == 2.5);
    assert_true(real_of(module, "power_w") == 1.25 && isnan(real_of(module, "junction_c")));
    json_decref(root);
    root = statistics_of(LAMP("flux: 100 lm", ""));
    module = json_array_get(json_object_get(root, "modules"), 0);
    assert_true(isnan(real_of(root, "power_w")) && isnan(real_of(root, "price")));
    assert_true(json_is_null(json_object_get(root, "currency")));
    assert_true(isnan(real_of(module, "current_a")) && isnan(real_of(module, "power_w")));
    json_decref(root);
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(of_what_is_known),
        cmocka_unit_test(of_several_currents),
        cmocka_unit_test(of_a_table),
        cmocka_unit_test(in_the_statistics),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
