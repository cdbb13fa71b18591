/* The table of statistics: every word leads to one, and each takes the number that statistics.json tells. */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>

#include <cmocka.h>

#include "render/commands/statistic.h"
#include "render/files/files.h"

#include <math.h>
#include <string.h>
#include <strings.h>

/* ---- names ----------------------------------------------------------------------------------------------------- */

/* All words of a statistic, its name first; returns how many. */
static size_t words_of(const struct statistic *statistic, char out[16][64]) {
    size_t count = 1;
    snprintf(out[0], 64, "%s", statistic->name);
    for (const char *at = statistic->aliases; at && *at; count++) {
        size_t length = strcspn(at, "|");
        assert_in_range(length, 1, STATISTIC_WORD - 1); /* none is empty or cut */
        snprintf(out[count], 64, "%.*s", (int)length, at);
        at += length + (at[length] == '|');
    }
    return count;
}

static void every_word_leads_to_its_statistic(void **state) {
    (void)state;
    for (const struct statistic *statistic = statistics; statistic->name; statistic++) {
        char words[16][64];
        size_t count = words_of(statistic, words);
        for (size_t i = 0; i < count; i++)
            assert_ptr_equal(statistic_named(words[i]), statistic);
    }
    assert_ptr_equal(statistic_named("u0"), statistic_named("U0"));
    assert_ptr_equal(statistic_named("LX/W"), statistic_named("lux per watt"));
    assert_null(statistic_named(""));
    assert_null(statistic_named("U1"));
    assert_null(statistic_named("uniformity|darkest/average"));
}

static void no_two_share_a_word(void **state) {
    (void)state;
    static char words[400][64];
    size_t count = 0;
    for (const struct statistic *statistic = statistics; statistic->name; statistic++)
        count += words_of(statistic, &words[count]);
    assert_in_range(count, 24, 380);
    for (size_t i = 0; i < count; i++)
        for (size_t j = 0; j < i; j++)
            if (strcasecmp(words[i], words[j]) == 0)
                fail_msg("'%s' stands twice", words[i]);
}

/* What the readers of wishes lean on: such a word would be taken apart. */
static void no_word_holds_a_sign_of_a_wish(void **state) {
    (void)state;
    for (const struct statistic *statistic = statistics; statistic->name; statistic++) {
        char words[16][64];
        size_t count = words_of(statistic, words);
        for (size_t i = 0; i < count; i++) {
            assert_null(strpbrk(words[i], "<>=,;"));
            assert_null(strstr(words[i], " at least"));
            assert_true(words[i][0] != ' ' && words[i][strlen(words[i]) - 1] != ' ');
        }
        assert_true(statistic->unit_size > 0);
        assert_non_null(statistic->label);
        assert_non_null(statistic->unit);
    }
}

static void near_names_are_found(void **state) {
    (void)state;
    assert_string_equal(statistic_near("U1"), "U0");
    assert_string_equal(statistic_near("unifromity"), "U0");
    assert_string_equal(statistic_near("centr"), "centre");
    assert_string_equal(statistic_near("lux per wat"), "lux per watt");
    assert_string_equal(statistic_near("prise"), "price");
    assert_null(statistic_near("brilliance of the whole"));
    assert_null(statistic_near(""));
}

/* ---- values ---------------------------------------------------------------------------------------------------- */

static const char lamp[] = "emitters:\n"
                           "  die: {surface: disc 1.5 mm, flux: 95 lm at 350 mA, voltage: 2.9 V, price: 1.50 EUR}\n"
                           "lenses:\n"
                           "  medium: {beam_angle: 24 deg, efficiency: 84 %, face: disc 18 mm, price: 0.75 EUR}\n"
                           "modules:\n"
                           "  - name: ring\n"
                           "    lens: medium\n"
                           "    ring: {count: 4, distance: 165 mm, incidence: 38 deg}\n"
                           "    aim: 20 mm short\n"
                           "    dark: [2]\n"
                           "target: {size: 320 mm x 320 mm, cell: 8 mm, levels: [0 mm, 8 mm]}\n"
                           "fields:\n"
                           "  - {name: wide, size: 36 mm x 27 mm}\n"
                           "  - {name: close, size: disc 9 mm, at: [3 mm, 1 mm]}\n"
                           "rays: 20000\n"
                           "seed: 3\n";

struct lamp {
    struct scene *scene;
    struct luxfall_result *result;
    json_t *json;
};

static struct lamp traced(const char *text, enum luxfall_method method) {
    struct lamp out = {0};
    struct messages messages = {0};
    struct luxfall_options options;
    struct luxfall_error error = {0};
    luxfall_options_init(&options);
    options.method = method;
    options.accuracy = 0;
    options.rays = 20000;
    assert_int_equal(scene_read_text("lamp.yaml", text, strlen(text), true, &out.scene, &messages), 0);
    assert_int_equal(luxfall_trace(&out.scene->light, &options, &out.result, &error), LUXFALL_OK);
    out.json = statistics_json(out.scene, out.result, NULL, &messages);
    assert_non_null(out.json);
    messages_clear(&messages);
    return out;
}

static void lamp_release(struct lamp *out) {
    json_decref(out->json);
    luxfall_result_free(out->result);
    scene_free(out->scene);
}

/* Where statistics.json has the number. In keys: field, map, spot, or the whole file; over: the key, or the number,
 * that the value is divided by. */
struct told {
    const char *name, *in, *key, *over_key;
    double times;
};

static const struct told tolds[] = {
    {"U0", "field", "minimum_over_average", NULL, 1},
    {"min/max", "field", "minimum_over_maximum", NULL, 1},
    {"edge/centre", "field", "edge_over_centre", NULL, 1},
    {"centre", "field", "centre_lx", NULL, 1},
    {"average", "field", "average_lx", NULL, 1},
    {"minimum", "field", "minimum_lx", NULL, 1},
    {"maximum", "field", "maximum_lx", NULL, 1},
    {"variation", "field", "variation", NULL, 1},
    {"tilt", "field", "tilt_percent_per_mm", NULL, 1},
    {"dome", "field", "dome_percent", NULL, 1},
    {"share", "field", "utilisation", NULL, 1},
    {"lumens", "field", "flux_lm", NULL, 1},
    {"lux per watt", "field", "centre_lx", "power_w", 1},
    {"lux per price", "field", "centre_lx", "price", 1},
    {"peak", "map", "peak_lx", NULL, 1},
    {"map centre", "map", "centre_lx", NULL, 1},
    {"spot", "spot", "half_peak_diameter_mm", NULL, 1},
    {"visible edge", "spot", "tenth_peak_diameter_mm", NULL, 1},
    {"watts", "file", "power_w", NULL, 1},
    {"price", "file", "price", NULL, 1},
};
enum { TOLDS = sizeof tolds / sizeof *tolds };

static const json_t *object_of(const json_t *file, const char *in, size_t plane, size_t field) {
    const json_t *map = json_array_get(json_object_get(file, "planes"), plane);
    if (strcmp(in, "file") == 0)
        return file;
    return strcmp(in, "field") == 0 ? json_array_get(json_object_get(map, "fields"), field)
                                    : json_object_get(map, in);
}

static double number_at(const json_t *object, const char *key) {
    const json_t *value = json_object_get(object, key);
    return json_is_number(value) ? json_number_value(value) : NAN;
}

static bool same(double a, double b) {
    return (isnan(a) && isnan(b)) || fabs(a - b) <= 1e-14 * fabs(b);
}

static bool tells(const struct lamp *of, const struct told *told, size_t plane, size_t field) {
    const struct statistic_source source = {of->scene, of->result, plane, field};
    const struct luxfall_estimate got = statistic_named(told->name)->of(&source);
    const json_t *object = object_of(of->json, told->in, plane, field);
    char band[64];
    snprintf(band, sizeof band, "%s_u95", told->key);
    double divisor = told->over_key ? number_at(of->json, told->over_key) : 1;
    return same(got.value, number_at(object, told->key) / divisor) &&
           same(got.u95, number_at(object, band) / divisor);
}

static void check_told(enum luxfall_method method) {
    struct lamp of = traced(lamp, method);
    for (size_t i = 0; i < TOLDS; i++)
        for (size_t plane = 0; plane < 2; plane++)
            for (size_t field = 0; field < 2; field++)
                if (!tells(&of, &tolds[i], plane, field))
                    fail_msg("%s of plane %zu, field %zu is not what statistics.json tells", tolds[i].name, plane,
                             field);
    lamp_release(&of);
}

static void each_takes_the_number_that_is_told(void **state) {
    (void)state;
    check_told(LUXFALL_RAYS);
    check_told(LUXFALL_DIRECT);
}

/* The twin: a name beside its neighbour's number, or a number of another field or level, does not pass. */
static void a_neighbours_number_is_seen(void **state) {
    (void)state;
    struct lamp of = traced(lamp, LUXFALL_RAYS);
    for (size_t i = 0; i + 1 < TOLDS; i++) {
        struct told slip = tolds[i + 1];
        slip.name = tolds[i].name;
        assert_false(tells(&of, &slip, 0, 0));
    }
    for (size_t i = 0; i < TOLDS; i++) {
        const struct statistic *statistic = statistic_named(tolds[i].name);
        double value[2][2];
        for (size_t k = 0; k < 4; k++)
            value[k / 2][k % 2] = statistic->of(&(struct statistic_source){of.scene, of.result, k / 2, k % 2}).value;
        assert_true((value[0][0] != value[1][0]) == (statistic->scope != OF_LAMP));
        assert_true((value[0][0] != value[0][1]) == (statistic->scope == OF_FIELD));
    }
    lamp_release(&of);
}

/* Three of four modules are lit: 3 x 0.35 A x 2.9 V, while all four are bought. */
static void the_lamp_counts_what_is_lit_and_pays_for_all(void **state) {
    (void)state;
    struct lamp of = traced(lamp, LUXFALL_RAYS);
    const struct statistic_source source = {of.scene, of.result, 0, 0};
    double watts = 3 * 0.35 * 2.9;
    assert_true(same(statistic_named("watts")->of(&source).value, watts));
    assert_true(same(statistic_named("price")->of(&source).value, 4 * (1.50 + 0.75)));
    assert_true(same(statistic_named("current")->of(&source).value, 0.35));
    assert_true(same(statistic_named("wasted")->of(&source).value, 1 - statistic_named("share")->of(&source).value));
    struct luxfall_estimate lumens = statistic_named("lamp lumens")->of(&source);
    assert_true(fabs(lumens.value / (3 * 95 * 0.84) - 1) < 1e-6);
    assert_true(same(statistic_named("lm/W")->of(&source).value, lumens.value / watts));
    lamp_release(&of);
}

/* Without voltage and price nothing is made up; two currents are none that all share. */
static void what_is_not_known_is_not_told(void **state) {
    (void)state;
    static const char plain[] =
        "emitters: {a: {surface: point, flux: 95 lm at 350 mA}, b: {surface: point, flux: 9 lm "
        "at 20 mA}}\n"
        "modules:\n"
        "  - {emitter: a, single: {height: 100 mm}}\n"
        "  - {emitter: b, single: {height: 90 mm}}\n"
        "target: {size: 40 mm x 40 mm, cell: 1 mm}\n"
        "fields: [{size: disc 10 mm}]\n";
    struct lamp of = traced(plain, LUXFALL_DIRECT);
    const struct statistic_source source = {of.scene, of.result, 0, 0};
    static const char *const names[] = {"watts", "price", "current", "lux per watt", "lux per price", "lm/W"};
    for (size_t i = 0; i < sizeof names / sizeof *names; i++) {
        struct luxfall_estimate value = statistic_named(names[i])->of(&source);
        assert_true(isnan(value.value) && isnan(value.u95));
    }
    assert_true(statistic_named("centre")->of(&source).value > 0);
    lamp_release(&of);
}

/* ---- texts ----------------------------------------------------------------------------------------------------- */

static const char *shown(const char *name, double value, double u95) {
    static char text[FORMAT_SIZE];
    statistic_named(name)->format(text, (struct luxfall_estimate){value, u95});
    return text;
}

static void values_are_written_in_their_units(void **state) {
    (void)state;
    assert_string_equal(shown("centre", 91550, 150), "91.55 klx ±0.16 %");
    assert_string_equal(shown("share", 0.129, 0.001), "12.90 % ±0.10");
    assert_string_equal(shown("dome", 12.9, NAN), "12.90 %");
    assert_string_equal(shown("tilt", 0.1234, 0.02), "0.123 %/mm ±0.020");
    assert_string_equal(shown("tilt", -3e-17, NAN), "0 %/mm");
    assert_string_equal(shown("watts", 8.12, NAN), "8.120 W");
    assert_string_equal(shown("lux per watt", 11273, NAN), "11.27 klx/W");
    assert_string_equal(shown("lm/W", 78.68, NAN), "78.68 lm/W");
    assert_string_equal(shown("current", 0.35, NAN), "350 mA");
    assert_string_equal(shown("current", 1.4, NAN), "1.4 A");
    assert_string_equal(shown("price", 24.8, NAN), "24.80");
    assert_string_equal(shown("price", NAN, NAN), "-");
    assert_string_equal(shown("current", NAN, NAN), "-");
    assert_string_equal(shown("lumens", 103.1, 0.5), "103.1 lm ±0.5");
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(every_word_leads_to_its_statistic),
        cmocka_unit_test(no_two_share_a_word),
        cmocka_unit_test(no_word_holds_a_sign_of_a_wish),
        cmocka_unit_test(near_names_are_found),
        cmocka_unit_test(each_takes_the_number_that_is_told),
        cmocka_unit_test(a_neighbours_number_is_seen),
        cmocka_unit_test(the_lamp_counts_what_is_lit_and_pays_for_all),
        cmocka_unit_test(what_is_not_known_is_not_told),
        cmocka_unit_test(values_are_written_in_their_units),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
