/* Numbers, units, products, and words near to mistyped ones. */
#include "scenes/keys.h"
#include "scenes/numbers.h"
#include "scenes/text.h"
#include "scenes/units.h"

#include <locale.h>
#include <math.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include <cmocka.h>

static double value_of(const char *text, enum dimension dimension) {
    struct reason why;
    double value = NAN;
    if (!quantity_read(text, dimension, &value, &why))
        fail_msg("'%s' was refused: %s", text, why.text);
    return value;
}

static void assert_refused(const char *text, enum dimension dimension, const char *reason) {
    struct reason why = {""};
    double value = 0;
    if (quantity_read(text, dimension, &value, &why))
        fail_msg("'%s' was taken as %g", text, value);
    assert_string_equal(why.text, reason);
}

/* The inch is 25.4 mm exactly: NIST SP 811 (2008), appendix B.8. The degree is pi/180 rad: SI Brochure, 9th ed.,
 * table 8. Prefixes: SI Brochure, table 7. */
static void units_have_their_published_sizes(void **state) {
    (void)state;
    assert_true(value_of("1 in", LENGTH) == 25.4);
    assert_true(fabs(value_of("6in", LENGTH) - 152.4) < 1e-12);
    assert_true(value_of("180 deg", ANGLE) == acos(-1));
    assert_true(value_of("1 rad", ANGLE) == 1);
    assert_true(value_of("250 um", LENGTH) == 0.25);
    assert_true(value_of("250 µm", LENGTH) == 0.25);
    assert_true(value_of("1.2 cm", LENGTH) == 12);
    assert_true(value_of("3 m", LENGTH) == 3000);
    assert_true(value_of("350 mA", CURRENT) == 0.35);
    assert_true(value_of("84 %", SHARE) == 0.84);
    assert_true(value_of("25 °C", TEMPERATURE) == 25);
    assert_true(value_of("-10 °C", TEMPERATURE) == -10);
    assert_true(value_of("3.1 V", VOLTAGE) == 3.1);
    assert_true(value_of("1000 lx", ILLUMINANCE) == 1000);
    assert_true(value_of("4.2 cd/lm", PEAK) == 4.2);
    assert_true(value_of("20 million", NUMBER) == 2e7);
    assert_true(value_of("500 thousand", NUMBER) == 5e5);
}

static void a_degree_is_no_gon(void **state) { /* the twin: 200 to the half turn */
    (void)state;
    assert_false(fabs(value_of("180 deg", ANGLE) - 180 * acos(-1) / 200) < 1e-3);
}

static void spellings_of_one_quantity_are_the_same(void **state) {
    (void)state;
    const double wanted = value_of("20 deg", ANGLE);
    static const char *const same[] = {"20deg",   "20°",     "20 °",       "+20 deg",
                                       "2e1 deg", "20. deg", " 20   deg ", "0.2E+2deg"};
    for (size_t i = 0; i < sizeof same / sizeof *same; i++)
        assert_true(value_of(same[i], ANGLE) == wanted);
    assert_true(value_of(".5 mm", LENGTH) == 0.5);
    assert_true(value_of("1e-400 mm", LENGTH) == 0);
}

static void zero_needs_no_unit(void **state) {
    (void)state;
    assert_true(value_of("0", LENGTH) == 0);
    assert_true(value_of("0.0", ANGLE) == 0);
    assert_refused("1", LENGTH, "'1' has no unit; a length takes um, mm, cm, m or in, for instance 1 mm");
}

static void refusals_say_why(void **state) {
    (void)state;
    static const struct {
        const char *text;
        enum dimension dimension;
        const char *reason;
    } cases[] = {
        {"165", LENGTH, "'165' has no unit; a length takes um, mm, cm, m or in, for instance 165 mm"},
        {"0.84", SHARE, "'0.84' has no unit; a share is written in %: 84 % or 0.84 %"},
        {"18 deg", LENGTH, "'18 deg' is an angle; a length is expected, with um, mm, cm, m or in"},
        {"18 mm", ANGLE, "'18 mm' is a length; an angle is expected, with deg, ° or rad"},
        {"95 lx", FLUX, "'95 lx' is an illuminance; a luminous flux is expected, with lm"},
        {"18 mmm", LENGTH, "'18 mmm': unknown unit 'mmm'; a length takes um, mm, cm, m or in (did you mean 'mm'?)"},
        {"3 parsec", LENGTH, "'3 parsec': unknown unit 'parsec'; a length takes um, mm, cm, m or in"},
        {"nan mm", LENGTH, "'nan mm' is not a finite number; a length with um, mm, cm, m or in is expected"},
        {".inf", LENGTH, "'.inf' is not a finite number; a length with um, mm, cm, m or in is expected"},
        {"-INF mm", LENGTH, "'-INF mm' is not a finite number; a length with um, mm, cm, m or in is expected"},
        {"0x10 mm", LENGTH,
         "'0x10 mm' is hexadecimal; write it in decimal; a length with um, mm, cm, m or in is expected"},
        {"1e309 mm", LENGTH, "'1e309 mm' is too large a number; a length with um, mm, cm, m or in is expected"},
        {"--1 mm", LENGTH, "'--1 mm' has two signs; a length with um, mm, cm, m or in is expected"},
        {"1.2.3 mm", LENGTH, "'1.2.3 mm' has two decimal points; a length with um, mm, cm, m or in is expected"},
        {"0,5 mm", LENGTH,
         "'0,5 mm' has a decimal comma; write a point; a length with um, mm, cm, m or in is expected"},
        {"wide", LENGTH, "'wide' does not begin with a number; a length with um, mm, cm, m or in is expected"},
        {"\xE2\x88\x92"
         "5 mm",
         LENGTH,
         "'\xE2\x88\x92"
         "5 mm' holds U+2212, a dash that looks like a minus; write '-'"},
        {"5\xC2\xA0mm", LENGTH, "'5\xC2\xA0mm' holds U+00A0, a special blank; write an ordinary one"},
        {"8 mm", NUMBER, "'8 mm' has a unit; a plain number is expected"},
    };
    for (size_t i = 0; i < sizeof cases / sizeof *cases; i++)
        assert_refused(cases[i].text, cases[i].dimension, cases[i].reason);
}

static void a_long_number_is_refused(void **state) {
    (void)state;
    char text[200];
    memset(text, '1', sizeof text);
    memcpy(text + sizeof text - 4, " mm", 4);
    struct reason why;
    double value;
    assert_false(quantity_read(text, LENGTH, &value, &why));
    assert_non_null(strstr(why.text, "is too long for a number"));
}

static void products_have_three_signs(void **state) {
    (void)state;
    static const char *const same[] = {"1.2 mm x 3 mm", "1.2mmx3mm", "1.2 mm × 3 mm", "1.2 mm * 0.3 cm",
                                       "1.2 mm X 3 mm"};
    struct reason why;
    for (size_t i = 0; i < sizeof same / sizeof *same; i++) {
        double sides[2] = {0, 0};
        if (!product_read(same[i], LENGTH, sides, &why))
            fail_msg("'%s': %s", same[i], why.text);
        assert_true(sides[0] == 1.2 && sides[1] == 3);
    }
    double sides[2];
    assert_false(product_read("1 mm x 2 mm x 3 mm", LENGTH, sides, &why));
    assert_non_null(strstr(why.text, "more than two values"));
    assert_false(product_read("36 x 27 mm", LENGTH, sides, &why));
    assert_string_equal(why.text, "'36' has no unit; a length takes um, mm, cm, m or in, for instance 36 mm");
    assert_false(product_read("0x10 mm", LENGTH, sides, &why));
    assert_false(product_read("12 mm", LENGTH, sides, &why));
}

static void assert_comes_back(double value, enum dimension dimension) {
    char text[64];
    quantity_write(value, dimension, text, sizeof text);
    if (value_of(text, dimension) != value)
        fail_msg("%.17g was written as %s", value, text);
}

/* Written quantities come back to the same bits; those that people wrote come back as they wrote them. */
static void quantities_survive_writing(void **state) {
    (void)state;
    uint64_t bits = 88172645463325252u; /* xorshift, Marsaglia, J. Stat. Soft. 8 (14), 2003 */
    for (int i = 0; i < 3000; i++) {
        bits ^= bits << 13;
        bits ^= bits >> 7;
        bits ^= bits << 17;
        double value = (double)(bits >> 11) * 0x1p-53;
        assert_comes_back(1000 * value, LENGTH);
        assert_comes_back(value, ANGLE);
        assert_comes_back(floor(10000 * value) / 100 / 100, SHARE);
    }
    static const char *const written[] = {"24 deg", "0.1 deg", "38.7 deg", "359.9 deg", "-7 deg"};
    for (size_t i = 0; i < sizeof written / sizeof *written; i++) {
        char text[64];
        quantity_write(value_of(written[i], ANGLE), ANGLE, text, sizeof text);
        assert_string_equal(text, written[i]);
    }
}

/* A locale with a decimal comma changes nothing. It may not be installed; the C.UTF-8 one then stands in. */
static void locales_change_nothing(void **state) {
    (void)state;
    if (setlocale(LC_ALL, "de_DE.UTF-8") == NULL)
        setlocale(LC_ALL, "C.UTF-8");
    char text[64];
    assert_true(value_of("1.5 mm", LENGTH) == 1.5);
    quantity_write(1.5, LENGTH, text, sizeof text);
    assert_string_equal(text, "1.5 mm");
    setlocale(LC_ALL, "C");
}

/* kitten/sitting = 3 is the textbook example of Levenshtein's distance; CA/ABC = 3 tells optimal string alignment
 * from the unrestricted distance with swaps, which is 2 (Boytsov, ACM J. Exp. Algorithmics 16, 2011, sec. 2.2; from
 * memory). */
static void distances_between_words(void **state) {
    (void)state;
    assert_int_equal(word_distance("kitten", "sitting"), 3);
    assert_int_equal(word_distance("CA", "ABC"), 3);
    assert_int_equal(word_distance("beam_angel", "beam_angle"), 1);
    assert_int_equal(word_distance("", "abc"), 3);
    assert_int_equal(word_distance("same", "SAME"), 0);
}

static void a_swap_is_not_two_replacements(void **state) { /* the twin: a distance without swaps */
    (void)state;
    assert_int_not_equal(word_distance("angel", "angle"), 2);
}

static void near_words_only(void **state) {
    (void)state;
    static const char *const known[] = {"beam_angle", "field_angle", "peak", "face", NULL};
    assert_string_equal(nearest_word("beem_angle", known), "beam_angle");
    assert_string_equal(nearest_word("fase", known), "face");
    assert_string_equal(nearest_word("pek", known), "peak");
    assert_null(nearest_word("wattage", known));
    assert_null(nearest_word("", known));
}

/* Ill-formed sequences of the Unicode standard, section 3.9 (tables 3-7 to 3-11), and of RFC 3629, sections 3 and 10.
 */
static void ill_formed_utf8_is_refused(void **state) {
    (void)state;
    static const char *const wrong[] = {"\xC0\x80",
                                        "\xC1\xBF",
                                        "\xE0\x80\x80",
                                        "\xED\xA0\x80",
                                        "\xF0\x80\x80\x80",
                                        "\xF4\x90\x80\x80",
                                        "\xF8\x88\x80\x80\x80",
                                        "\x80",
                                        "\xC3",
                                        "\xE2\x82",
                                        "\xFF"};
    uint32_t code = 0;
    for (size_t i = 0; i < sizeof wrong / sizeof *wrong; i++)
        assert_int_equal(utf8_character(wrong[i], strlen(wrong[i]), &code), 0);
    assert_int_equal(utf8_character("\xF0\xA3\x8E\xB4", 4, &code), 4); /* RFC 3629, section 7 */
    assert_int_equal(code, 0x233B4);
    assert_int_equal(utf8_character("\xE2\x89\xA2", 3, &code), 3);
    assert_int_equal(code, 0x2262);
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(units_have_their_published_sizes),
        cmocka_unit_test(a_degree_is_no_gon),
        cmocka_unit_test(spellings_of_one_quantity_are_the_same),
        cmocka_unit_test(zero_needs_no_unit),
        cmocka_unit_test(refusals_say_why),
        cmocka_unit_test(a_long_number_is_refused),
        cmocka_unit_test(products_have_three_signs),
        cmocka_unit_test(quantities_survive_writing),
        cmocka_unit_test(locales_change_nothing),
        cmocka_unit_test(distances_between_words),
        cmocka_unit_test(a_swap_is_not_two_replacements),
        cmocka_unit_test(near_words_only),
        cmocka_unit_test(ill_formed_utf8_is_refused),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
