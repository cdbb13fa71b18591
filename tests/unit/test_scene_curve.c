/* Curves of intensity over angle from tables. */
#include "scenes/curve.h"
#include "unit/scene_text.h"

#include <math.h>

static const double PI = 3.14159265358979323846;

struct curve_outcome {
    bool good;
    struct luxfall_intensity curve;
    char *said;
    struct arena arena;
};

static struct curve_outcome read_table(const char *text) {
    struct messages messages = {0};
    struct curve_outcome outcome = {.good = false};
    int status = 0;
    struct source *source = source_from_bytes(&outcome.arena, &messages, "c.csv", text, strlen(text), &status);
    outcome.good = source != NULL && curve_from_source(&outcome.arena, &messages, source, false, &outcome.curve);
    outcome.said = printed(&messages);
    messages_clear(&messages);
    return outcome;
}

static void done(struct curve_outcome *outcome) {
    free(outcome->said);
    arena_clear(&outcome->arena);
}

static void assert_says(const char *text, bool good, const char *expected) {
    struct curve_outcome outcome = read_table(text);
    if (outcome.good != good || strncmp(outcome.said, expected, strlen(expected)) != 0)
        fail_msg("expected\n%s\nand it said (%s)\n%s", expected, outcome.good ? "taken" : "refused", outcome.said);
    done(&outcome);
}

/* 2 pi x the integral of I sin a, by Simpson's rule on each straight piece. */
static double flux_of(const struct luxfall_intensity *curve) {
    double sum = 0;
    for (size_t i = 1; i < curve->curve_count; i++) {
        double a = curve->curve_angle_rad[i - 1], b = curve->curve_angle_rad[i];
        double x = curve->curve_relative[i - 1], y = curve->curve_relative[i];
        enum { STEPS = 20 };
        for (int k = 0; k <= STEPS; k++) {
            double part = (double)k / STEPS, weight = k == 0 || k == STEPS ? 1 : k % 2 ? 4 : 2;
            sum += weight * (b - a) / STEPS / 3 * (x + part * (y - x)) * sin(a + part * (b - a));
        }
    }
    return 2 * PI * sum;
}

static const char cosine[] =
    "# of a Lambertian LED\nangle_deg,rel_percent\n0,100\n10,98.5\n20,94.0\n30,86.6\n40,76.6\n"
    "50,64.3\n60,50.0\n70,34.2\n80,17.4\n90,0.0\n";

/* Lambert's law (Photometria, 1760): flux over peak intensity is pi. Ten straight pieces fall 0.23 % short of it. */
static void a_printed_cosine_has_the_flux_of_lambert(void **state) {
    (void)state;
    struct curve_outcome outcome = read_table(cosine);
    assert_true(outcome.good);
    assert_string_equal(outcome.said, "");
    assert_int_equal(outcome.curve.curve_count, 10);
    assert_true(fabs(flux_of(&outcome.curve) / PI - 1) < 0.004);
    done(&outcome);
    char *radians = with(cosine, "0,100", "0,17.4"); /* the twin: a wrong row is seen */
    outcome = read_table(radians);
    assert_false(fabs(flux_of(&outcome.curve) / PI - 1) < 0.004);
    done(&outcome);
    free(radians);
}

static void ways_to_write_one_curve(void **state) {
    (void)state;
    static const char *const same[] = {
        "angle_deg,rel\n0,1\n45,0.5\n90,0\n",
        ("\xEF\xBB\xBF"
         "angle,rel_percent\r\n0,100\r\n45,50\r\n90,0"),
        "theta_deg;intensity_cd\n0;38\n45;19\n90;0\n",
        "0,100\n45,50\n90,0\n",
        "0\t1\r45\t0.5\r90\t0\r",
        "sep=;\n\"rel\"; \"angle_deg\"\n1;0\n0.5;45\n0;90\n",
        "# decimal: comma\nangle_deg;rel\n0;1,0\n45;0,5\n90;0,0\n",
        "angle_deg,rel,note\n0,1,\"peak, on \"\"axis\"\"\"\n\n# middle\n45,0.5,\n90,0,end\n",
        "0,100,\n45,50,\n90,0,\n",
        "# axis_centre: 90\n0,0\n45,50\n90,100\n135,50\n180,0\n",
        "# curve: full\n-90,0\n-45,40\n0,100\n45,60\n90,0\n",
        "-90,0\n-45,50\n-5,94.44444444444444\n5,94.44444444444444\n45,50\n90,0\n",
    };
    for (size_t i = 0; i < sizeof same / sizeof *same; i++) {
        struct curve_outcome outcome = read_table(same[i]);
        if (!outcome.good)
            fail_msg("%s\n%s", same[i], outcome.said);
        const struct luxfall_intensity *curve = &outcome.curve;
        size_t middle = 0;
        while (middle + 1 < curve->curve_count && fabs(curve->curve_angle_rad[middle] - PI / 4) > 1e-9)
            middle++;
        double peak = curve->curve_relative[0];
        assert_true(curve->curve_angle_rad[0] == 0 && fabs(curve->curve_relative[middle] / peak - 0.5) < 0.03);
        assert_true(fabs(curve->curve_angle_rad[curve->curve_count - 1] - PI / 2) < 1e-12);
        done(&outcome);
    }
}

static void a_full_curve_is_averaged_and_told(void **state) {
    (void)state;
    const char *text = "-90,0\n-60,40\n-30,80\n0,100\n30,88\n60,50\n90,0\n";
    struct curve_outcome outcome = read_table(text);
    assert_true(outcome.good);
    assert_int_equal(outcome.curve.curve_count, 4);
    assert_true(fabs(outcome.curve.curve_relative[1] - 0.84) < 1e-12);
    assert_true(fabs(outcome.curve.curve_relative[2] - 0.45) < 1e-12);
    assert_false(fabs(outcome.curve.curve_relative[2] - 0.50) < 1e-3); /* the twin: one half dropped */
    assert_string_equal(outcome.said,
                        "c.csv: warning: a full curve: the mean of its halves is taken; they differ by up to "
                        "10.0 % of the peak\n");
    done(&outcome);
}

static void refusals(void **state) {
    (void)state;
    static const char *const cases[][2] = {
        {"", "c.csv: error: no rows of numbers in this table"},
        {"angle_deg,rel\n", "c.csv: error: no rows of numbers in this table"},
        {"angle_deg,rel\n0,1\n45\n", "c.csv:3:1: error: 1 cells in this row; the first row has 2\n    45\n    ^"},
        {"angle_deg,rel\n0,1\n45,abc\n",
         "c.csv:3:4: error: 'abc' does not begin with a number; a number is expected"},
        {"angle_deg,rel\n0,1\n45,nan\n", "c.csv:3:4: error: 'nan' is not a finite number; a number is expected"},
        {"angle_deg,rel\n0,1\n45, 0.5cd\n",
         "c.csv:3:5: error: '0.5cd' is not a number alone; units stand in the column's "
         "name"},
        {"angle_deg,rel\n0,1\n45,0.5\n45,0.4\n",
         "c.csv:4:1: error: the angle 45 deg does not ascend: line 3 has 45 deg"},
        {"winkel,rel\n0,1\n45,0.5\n", "c.csv:1:1: error: no column angle_deg; the columns are winkel, rel"},
        {"angle,rel_h0,rel_h90\n0,1,1\n45,0.5,1\n",
         "c.csv:1:1: error: no column rel, rel_percent or intensity_cd; the columns "
         "are angle, rel_h0, rel_h90"},
        {"0,10\n45,5\n90,0\n",
         "c.csv:1:3: error: the peak of 10 is neither a fraction (about 1) nor percent (about 100); name "
         "the column rel, rel_percent or intensity_cd"},
        {"0,0\n90,0\n", "c.csv:1:3: error: all intensities are 0"},
        {"0,1\n45,-0.5\n90,0\n", "c.csv:2:4: error: the intensity -0.5 is negative"},
        {"0,1\n0.4,0.9\n0.8,0.7\n1.2,0.3\n1.57,0\n",
         "c.csv:5:1: error: the last angle is 1.57 deg; are these radians? Degrees "
         "are expected"},
        {"20,1\n45,0.5\n", "c.csv:1:1: error: the first angle is 20 deg; a half curve starts at 0"},
        {"-90,0\n0,1\n30,0.5\n",
         "c.csv:1:1: error: a full curve must reach equally far to both sides; this one runs from -90 to "
         "30 deg"},
        {"0,0\n45,50\n90,100\n135,50\n180,0\n",
         "c.csv:5:1: error: angles to 180 deg with the peak near 90 deg: if 90 is the "
         "axis, say so in a line '# axis_centre: 90'"},
        {"# curve: half\n-90,0\n0,1\n90,0\n",
         "c.csv:1:3: error: '# curve: half', but the angles are those of a full curve"},
        {"# axis_centre: 45\n0,0\n45,50\n",
         "c.csv:2:1: error: a full curve must reach equally far to both sides; this one runs "
         "from -45 to 0 deg"},
        {"0,0\n90,0\n120,1\n", "c.csv: error: no light within 90 deg of the axis"},
        {"0,\"1\n", "c.csv:1:3: error: this quote is not closed in its line"},
        {"0,1\n400,0\n", "c.csv:2:1: error: angles run from 0 to 400 deg; at most from -180 to 180"},
    };
    for (size_t i = 0; i < sizeof cases / sizeof *cases; i++)
        assert_says(cases[i][0], false, cases[i][1]);
}

static void several_mistakes_of_a_table(void **state) {
    (void)state;
    struct curve_outcome outcome = read_table("angle_deg,rel\n0,1\n10,x\n20,y\n30,0x1\n");
    assert_false(outcome.good);
    assert_non_null(strstr(outcome.said, "c.csv:3:4: error"));
    assert_non_null(strstr(outcome.said, "c.csv:4:4: error"));
    assert_non_null(strstr(outcome.said, "c.csv:5:4: error: '0x1' is hexadecimal"));
    done(&outcome);
}

static void warnings_of_doubtful_curves(void **state) {
    (void)state;
    assert_says("0,1\n45,0.5\n", true,
                "c.csv: warning: the curve ends at 45 deg with 50.0 % of the peak; beyond that no light is "
                "taken");
    assert_says("3,1\n45,0.5\n90,0\n", true,
                "c.csv:1:1: warning: the first angle is 3 deg; from 0 to there the curve is taken as "
                "level");
    assert_says("0,1\n45,0.5\n90,-0.005\n", true,
                "c.csv:3:4: warning: negative intensities, at most 1 % of the peak, are taken "
                "as 0");
    assert_says("0,1\n80,0.5\n120,0.3\n", true,
                "c.csv: warning: light beyond 90 deg, up to 30.0 % of the peak, is left out");
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(a_printed_cosine_has_the_flux_of_lambert),
        cmocka_unit_test(ways_to_write_one_curve),
        cmocka_unit_test(a_full_curve_is_averaged_and_told),
        cmocka_unit_test(refusals),
        cmocka_unit_test(several_mistakes_of_a_table),
        cmocka_unit_test(warnings_of_doubtful_curves),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
