/* Option values: one checked converter a kind. What each takes is the house's own grammar, written in the help. */
#include <math.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <string.h>

#include <cmocka.h>

#include "render/commands/text.h"
#include "render/commands/values.h"

typedef bool converter(const struct option *, const char *, struct option_value *, char *, size_t);

static bool takes(converter *convert, const char *text, struct option_value *value) {
    static const char *const choices[] = {"rays", "direct", NULL};
    const struct option option = {.name = "x", .choices = choices};
    char reason[300] = "";
    *value = (struct option_value){0};
    bool taken = convert(&option, text, value, reason, sizeof reason);
    assert_true(taken == (reason[0] == '\0')); /* a refusal says why */
    return taken;
}

static void values_are_read_whole(void **state) {
    (void)state;
    struct option_value value;
    assert_true(takes(value_percent, "0.5", &value) && value.number == 0.005);
    assert_true(takes(value_percent, "0.5%", &value) && value.number == 0.005);
    assert_true(takes(value_percent, "2 %", &value) && value.number == 0.02);
    assert_true(takes(value_rays, "20e6", &value) && value.count == 20000000);
    assert_true(takes(value_rays, "20 million", &value) && value.count == 20000000);
    assert_true(takes(value_rays, "2.5million", &value) && value.count == 2500000);
    assert_true(takes(value_rays, "500 thousand", &value) && value.count == 500000);
    assert_true(takes(value_rays, "1099511627776", &value) && value.count == 1099511627776);
    assert_true(takes(value_seed, "9223372036854775807", &value) && value.count == INT64_MAX);
    assert_true(takes(value_threads, "7", &value) && value.count == 7);
    assert_true(takes(value_lux, "120 klx", &value) && value.number == 120000);
    assert_true(takes(value_lux, "300lx", &value) && value.number == 300);
    assert_true(takes(value_choice, "direct", &value) && value.choice == 1);
    assert_true(takes(value_text, "-", &value));
}

static void slips_are_refused(void **state) {
    (void)state;
    static const struct {
        converter *convert;
        const char *texts[12];
    } rows[] = {
        {value_percent, {"", "x", "0", "-1", "51", "0.5 %%", "0.5 percent", "nan", "inf", "1e400", "0x1"}},
        {value_rays, {"", "12x", "1e400", "-1", "0", "0.5", "1.1e12", "inf", "2 milion", "0x10", "1.5"}},
        {value_seed, {"", "-1", "12x", "1.5", "9223372036854775808", "99999999999999999999999", "+3", " 3"}},
        {value_threads, {"0", "-2", "1025", "two", "2 "}},
        {value_pixels, {"0", "100", "9000", "900px"}},
        {value_lux, {"0", "-5", "5 lm", "1e10", "nan", "klx"}},
        {value_choice, {"", "ray", "Rays", "2"}},
        {value_text, {""}},
    };
    struct option_value value;
    for (size_t i = 0; i < sizeof rows / sizeof *rows; i++)
        for (size_t j = 0; j < 12 && rows[i].texts[j]; j++)
            if (takes(rows[i].convert, rows[i].texts[j], &value))
                fail_msg("row %zu takes '%s'", i, rows[i].texts[j]);
}

static const char *shown(void (*format)(char *, struct luxfall_estimate), double value, double u95) {
    static char out[FORMAT_SIZE];
    format(out, (struct luxfall_estimate){value, u95});
    return out;
}

/* Digits follow the band: one digit of it, two when it begins with 1 or 2 (the usual rule of rounding uncertainties;
 * common practice, no source). */
static void digits_follow_the_band(void **state) {
    (void)state;
    const double none = NAN;
    assert_string_equal(shown(format_lux, 91553, 180), "91.55 klx ±0.20 %");
    assert_string_equal(shown(format_lux, 91553, 5400), "92 klx ±6 %");
    assert_string_equal(shown(format_lux, 91553, none), "91.55 klx");
    assert_string_equal(shown(format_lux, 999, none), "999.0 lx");
    assert_string_equal(shown(format_lux, 1234567, none), "1.235 Mlx");
    assert_string_equal(shown(format_lux, none, none), "-");
    assert_string_equal(shown(format_ratio, 0.85312, 0.0017), "0.8531 ±0.0017");
    assert_string_equal(shown(format_ratio, 0.85312, 0.004), "0.853 ±0.004");
    assert_string_equal(shown(format_ratio, 0.85312, none), "0.853");
    assert_string_equal(shown(format_ratio, 0.85312, 0.00007), "0.8531 ±0.00007");
    assert_string_equal(shown(format_share, 0.12904, 0.0004), "12.90 % ±0.04");
    assert_string_equal(shown(format_mm, 61.234, 0.5), "61.2 mm ±0.5");
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(values_are_read_whole),
        cmocka_unit_test(slips_are_refused),
        cmocka_unit_test(digits_follow_the_band),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
