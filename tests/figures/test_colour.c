/* The colour scale, and the colour arithmetic it is measured with, against published values. */
#include "render/figures/colour.h"
#include "render/figures/colour_scale.h"

#include <math.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <stdlib.h>
#include <string.h>

#include <cmocka.h>

enum { N = COLOUR_SCALE_STEPS };

/* ---- sRGB: IEC 61966-2-1:1999 ------------------------------------------------------------------------------------
 */

/* The transfer function of clause 5.2, worked out to ten digits. */
static const struct {
    int code;
    double linear;
} srgb_codes[] = {{1, 0.0003035270},   {10, 0.0030352698},  {11, 0.0033465358},  {32, 0.0144438436},
                  {64, 0.0512694584},  {100, 0.1274376804}, {118, 0.1811642442}, {127, 0.2122307574},
                  {128, 0.2158605001}, {160, 0.3515325995}, {188, 0.5028864580}, {200, 0.5775804404},
                  {224, 0.7454042095}, {254, 0.9911020971}};

static double decode_power_only(double code) { /* twin: a plain power of 2.2 */
    return pow(code, 2.2);
}

static int srgb_misses(double (*decode)(double)) {
    int misses = 0;
    for (size_t i = 0; i < sizeof srgb_codes / sizeof *srgb_codes; i++)
        misses += !(fabs(decode(srgb_codes[i].code / 255.0) - srgb_codes[i].linear) < 1e-10);
    return misses;
}

static void srgb_decodes_as_the_standard_says(void **state) {
    (void)state;
    assert_int_equal(srgb_misses(srgb_decode), 0);
    assert_true(srgb_misses(decode_power_only) > 10);
    /* the threshold is 0.04045; an older text has 0.03928, told apart at 0.0400 */
    assert_true(fabs(srgb_decode(0.0400) - 0.0400 / 12.92) < 1e-15);
}

static void srgb_codes_survive_both_ways(void **state) {
    (void)state;
    for (int code = 0; code < 256; code++)
        assert_int_equal((int)floor(255 * srgb_encode(srgb_decode(code / 255.0)) + 0.5), code);
    static const struct {
        double linear;
        int code;
    } encoded[] = {{0.001, 3},    {0.0031308, 10}, {0.01, 25},    {0.05, 63}, {0.18, 118},
                   {0.2126, 127}, {0.5, 188},      {0.7152, 220}, {0.9, 243}};
    for (size_t i = 0; i < sizeof encoded / sizeof *encoded; i++)
        assert_int_equal((int)floor(255 * srgb_encode(encoded[i].linear) + 0.5), encoded[i].code);
}

/* ---- XYZ and L*a*b*: the primaries of ITU-R BT.709 and D65 in IEC 61966-2-1:1999; L*a*b* of ISO/CIE 11664-4:2019
 * ------------- */

static const struct {
    unsigned char code[3];
    double xyz[3], lab[3];
} lab_values[] = {
    {{0xff, 0, 0}, {0.412391, 0.212639, 0.019331}, {53.2371, 80.0901, 67.2033}},
    {{0, 0xff, 0}, {0.357584, 0.715169, 0.119195}, {87.7355, -86.1816, 83.1866}},
    {{0, 0, 0xff}, {0.180481, 0.072192, 0.950532}, {32.3009, 79.1953, -107.8555}},
    {{0xff, 0xff, 0}, {0.769975, 0.927808, 0.138526}, {97.1386, -21.5600, 94.4838}},
    {{0x77, 0x77, 0x77}, {0.175335, 0.184475, 0.200904}, {50.0344, 0, 0}},
    {{0x80, 0x80, 0x80}, {0.205166, 0.215861, 0.235085}, {53.5850, 0, 0}},
    {{0x33, 0x66, 0x99}, {0.118655, 0.125059, 0.319266}, {42.0092, -0.1459, -32.8451}},
    {{0x0a, 0x0a, 0x0a}, {0.002885, 0.003035, 0.003306}, {2.7417, 0, 0}},
};

static struct xyz xyz_of_code(const unsigned char code[3]) {
    return xyz_from_linear(
        (struct rgb){srgb_decode(code[0] / 255.0), srgb_decode(code[1] / 255.0), srgb_decode(code[2] / 255.0)});
}

static struct lab lab_other_white(struct xyz c) { /* twin: white rounded to other digits than the matrix has */
    double scale_x = (3127.0 / 3290) / 0.95047, scale_z = (3583.0 / 3290) / 1.08883;
    return lab_from_xyz((struct xyz){c.x * scale_x, c.y, c.z * scale_z});
}

static int lab_misses(struct lab (*lab)(struct xyz)) {
    int misses = 0;
    for (size_t i = 0; i < sizeof lab_values / sizeof *lab_values; i++) {
        struct lab got = lab(xyz_of_code(lab_values[i].code));
        double miss = fmax(fabs(got.l - lab_values[i].lab[0]),
                           fmax(fabs(got.a - lab_values[i].lab[1]), fabs(got.b - lab_values[i].lab[2])));
        misses += !(miss < 1e-4);
    }
    return misses;
}

static void xyz_and_lab_of_known_colours(void **state) {
    (void)state;
    for (size_t i = 0; i < sizeof lab_values / sizeof *lab_values; i++) {
        struct xyz got = xyz_of_code(lab_values[i].code);
        assert_true(fabs(got.x - lab_values[i].xyz[0]) < 6e-7);
        assert_true(fabs(got.y - lab_values[i].xyz[1]) < 6e-7);
        assert_true(fabs(got.z - lab_values[i].xyz[2]) < 6e-7);
    }
    assert_int_equal(lab_misses(lab_from_xyz), 0);
    assert_true(lab_misses(lab_other_white) >= 4);
}

static void lightness_of_luminance(void **state) {
    (void)state;
    static const double table[][2] = {{0.001, 0.9032962963}, {0.008, 7.2263703704}, {0.01, 8.9914424044},
                                      {0.05, 26.7347653842}, {0.18, 49.4961076101}, {0.5, 76.0692610142},
                                      {0.75, 89.3929943843}, {0.9, 95.9967686143},  {0.184186518512, 50}};
    for (size_t i = 0; i < sizeof table / sizeof *table; i++)
        assert_true(fabs(lab_from_xyz((struct xyz){0, table[i][0], 0}).l - table[i][1]) < 1e-9);
    assert_true(fabs(116 * cbrt(0.001) - 16 - table[0][1]) > 5); /* twin: without the straight piece near black */
}

static void colours_come_back_from_lab(void **state) {
    (void)state;
    for (int r = 0; r < 256; r += 51)
        for (int g = 0; g < 256; g += 51)
            for (int b = 0; b < 256; b += 51) {
                unsigned char code[3] = {(unsigned char)r, (unsigned char)g, (unsigned char)b};
                struct rgb back = linear_from_xyz(xyz_from_lab(lab_from_code(code)));
                assert_true(fabs(back.r - srgb_decode(r / 255.0)) < 1e-12);
                assert_true(fabs(back.g - srgb_decode(g / 255.0)) < 1e-12);
                assert_true(fabs(back.b - srgb_decode(b / 255.0)) < 1e-12);
            }
}

/* ---- CIEDE2000: G. Sharma, W. Wu, E. N. Dalal, Color Research & Application 30 (2005) 21, table 1
 * ------------------ */

static double rad(double degrees) {
    return degrees * (3.14159265358979323846 / 180);
}

static double hue_degrees(double a, double b) {
    double h = a == 0 && b == 0 ? 0 : atan2(b, a) / rad(1);
    return h < 0 ? h + 360 : h;
}

static double mean_hue(double h1, double h2, double product, int wrapped) {
    if (product == 0)
        return h1 + h2;
    if (fabs(h1 - h2) <= 180 || !wrapped)
        return (h1 + h2) / 2;
    return h1 + h2 < 360 ? (h1 + h2 + 360) / 2 : (h1 + h2 - 360) / 2;
}

/* The 2005 paper's equations (2)-(22); not wrapped: the slip of averaging hues without looking round the circle. */
static double difference(struct lab p, struct lab q, int wrapped) {
    double mean = (hypot(p.a, p.b) + hypot(q.a, q.b)) / 2, m7 = pow(mean, 7),
           g = (1 - sqrt(m7 / (m7 + 6103515625.0))) / 2;
    double a1 = (1 + g) * p.a, a2 = (1 + g) * q.a, c1 = hypot(a1, p.b), c2 = hypot(a2, q.b);
    double h1 = hue_degrees(a1, p.b), h2 = hue_degrees(a2, q.b), turn = c1 * c2 == 0 ? 0 : remainder(h2 - h1, 360);
    double dl = q.l - p.l, dc = c2 - c1, dh = 2 * sqrt(c1 * c2) * sin(rad(turn / 2));
    double l = (p.l + q.l) / 2, c = (c1 + c2) / 2, h = mean_hue(h1, h2, c1 * c2, wrapped), c7 = pow(c, 7);
    double t = 1 - 0.17 * cos(rad(h - 30)) + 0.24 * cos(rad(2 * h)) + 0.32 * cos(rad(3 * h + 6)) -
               0.20 * cos(rad(4 * h - 63));
    double rotation = -sin(rad(60 * exp(-pow((h - 275) / 25, 2)))) * 2 * sqrt(c7 / (c7 + 6103515625.0));
    double sl = 1 + 0.015 * pow(l - 50, 2) / sqrt(20 + pow(l - 50, 2)), sc = 1 + 0.045 * c, sh = 1 + 0.015 * c * t;
    return sqrt(pow(dl / sl, 2) + pow(dc / sc, 2) + pow(dh / sh, 2) + rotation * (dc / sc) * (dh / sh));
}

static const double pairs[][7] = {
    {50, 2.6772, -79.7751, 50, 0, -82.7485, 2.0425},
    {50, 2.8361, -74.0200, 50, 0, -82.7485, 3.4412},
    {50, -1.3802, -84.2814, 50, 0, -82.7485, 1.0000},
    {50, 0, 0, 50, -1, 2, 2.3669},
    {50, 2.49, -0.001, 50, -2.49, 0.0009, 7.1792},
    {50, 2.49, -0.001, 50, -2.49, 0.0011, 7.2195},
    {50, -0.001, 2.49, 50, 0.0009, -2.49, 4.8045},
    {50, -0.001, 2.49, 50, 0.0011, -2.49, 4.7461},
    {50, 2.5, 0, 50, 0, -2.5, 4.3065},
    {50, 2.5, 0, 73, 25, -18, 27.1492},
    {50, 2.5, 0, 61, -5, 29, 22.8977},
    {50, 2.5, 0, 58, 24, 15, 19.4535},
    {60.2574, -34.0099, 36.2677, 60.4626, -34.1751, 39.4387, 1.2644},
    {35.0831, -44.1164, 3.7933, 35.0232, -40.0716, 1.5901, 1.8645},
    {22.7233, 20.0904, -46.6940, 23.0331, 14.9730, -42.5619, 2.0373},
    {36.4612, 47.8580, 18.3852, 36.2715, 50.5065, 21.2231, 1.4146},
    {6.7747, -0.2908, -2.4247, 5.8714, -0.0985, -2.2286, 0.6377},
    {2.0776, 0.0795, -1.1350, 0.9033, -0.0636, -0.5514, 0.9082},
};

static int difference_misses(int wrapped) {
    int misses = 0;
    for (size_t i = 0; i < sizeof pairs / sizeof *pairs; i++) {
        struct lab p = {pairs[i][0], pairs[i][1], pairs[i][2]}, q = {pairs[i][3], pairs[i][4], pairs[i][5]};
        misses += !(fabs(difference(p, q, wrapped) - pairs[i][6]) < 5e-5) ||
                  !(fabs(difference(q, p, wrapped) - pairs[i][6]) < 5e-5);
    }
    return misses;
}

static void colour_differences_of_the_2005_table(void **state) {
    (void)state;
    assert_int_equal(difference_misses(1), 0);
    assert_true(difference_misses(0) >= 1);
}

/* ---- colour deficiency -------------------------------------------------------------------------------------------
 */

/* G. M. Machado, M. M. Oliveira, L. A. F. Fernandes, IEEE TVCG 15 (2009) 1291: matrices of severity 1.0, on linear
 * RGB. F. Vienot, H. Brettel, J. D. Mollon, Color Research & Application 24 (1999) 243: dichromats, the product of
 * the paper's cone matrix and its projections, without its scaling of the gamut. */
enum { MACHADO_PROTAN, MACHADO_DEUTAN, MACHADO_TRITAN, VIENOT_PROTAN, VIENOT_DEUTAN, DEFICIENCIES };
static const double deficiency[DEFICIENCIES][3][3] = {
    {{0.152286, 1.052583, -0.204868}, {0.114503, 0.786281, 0.099216}, {-0.003882, -0.048116, 1.051998}},
    {{0.367322, 0.860646, -0.227968}, {0.280085, 0.672501, 0.047413}, {-0.011820, 0.042940, 0.968881}},
    {{1.255528, -0.076749, -0.178779}, {-0.078411, 0.930809, 0.147602}, {0.004733, 0.691367, 0.303900}},
    {{0.1124, 0.8876, 0}, {0.1124, 0.8876, 0}, {0.0040, -0.0040, 1}},
    {{0.2927, 0.7073, 0}, {0.2927, 0.7073, 0}, {-0.0223, 0.0223, 1}},
};

static double clipped(double value) {
    return value < 0 ? 0 : value > 1 ? 1 : value;
}

static void seen(int kind, const unsigned char code[3], int linear, unsigned char out[3]) {
    double in[3];
    for (int i = 0; i < 3; i++)
        in[i] = linear ? srgb_decode(code[i] / 255.0) : code[i] / 255.0;
    for (int i = 0; i < 3; i++) {
        const double *row = deficiency[kind][i];
        double value = clipped(row[0] * in[0] + row[1] * in[1] + row[2] * in[2]);
        out[i] = (unsigned char)floor(255 * (linear ? srgb_encode(value) : value) + 0.5);
    }
}

static const struct {
    int kind;
    unsigned char from[3], to[3];
} machado_colours[] = {
    {MACHADO_PROTAN, {0xff, 0, 0}, {0x6d, 0x5f, 0}},
    {MACHADO_DEUTAN, {0xff, 0, 0}, {0xa3, 0x90, 0}},
    {MACHADO_TRITAN, {0xff, 0, 0}, {0xff, 0, 0x0f}},
    {MACHADO_PROTAN, {0, 0xff, 0}, {0xff, 0xe5, 0}},
    {MACHADO_DEUTAN, {0, 0xff, 0}, {0xef, 0xd6, 0x3a}},
    {MACHADO_TRITAN, {0, 0xff, 0}, {0, 0xf7, 0xd9}},
    {MACHADO_PROTAN, {0, 0, 0xff}, {0, 0x59, 0xff}},
    {MACHADO_DEUTAN, {0, 0, 0xff}, {0, 0x3d, 0xfb}},
    {MACHADO_TRITAN, {0, 0, 0xff}, {0, 0x6b, 0x96}},
    {MACHADO_PROTAN, {0xd0, 0x40, 0x20}, {0x6b, 0x5f, 0x1a}},
    {MACHADO_DEUTAN, {0xd0, 0x40, 0x20}, {0x8e, 0x7f, 0x17}},
    {MACHADO_TRITAN, {0xd0, 0x40, 0x20}, {0xe5, 0x01, 0x3a}},
    {MACHADO_PROTAN, {0x80, 0x80, 0x80}, {0x80, 0x80, 0x80}},
    {MACHADO_DEUTAN, {0x80, 0x80, 0x80}, {0x80, 0x80, 0x80}},
};

static int machado_misses(int linear) {
    int misses = 0;
    for (size_t i = 0; i < sizeof machado_colours / sizeof *machado_colours; i++) {
        unsigned char out[3];
        seen(machado_colours[i].kind, machado_colours[i].from, linear, out);
        for (int c = 0; c < 3; c++)
            misses += abs(out[c] - machado_colours[i].to[c]) > 1;
    }
    return misses;
}

static void deficiency_model_gives_its_known_colours(void **state) {
    (void)state;
    assert_int_equal(machado_misses(1), 0);
    assert_true(machado_misses(0) > 5); /* twin: the matrix on encoded values */
}

/* ---- our scale ----------------------------------------------------------------------------------------------------
 */

typedef unsigned char colours[N][3];

static void fill_own(colours c) {
    struct colour_scale scale;
    colour_scale_fill(&scale);
    memcpy(c, scale.rgb, sizeof scale.rgb);
}

/* Twin: the old rainbow, blue through green to red. */
static void fill_rainbow(colours c) {
    for (int i = 0; i < N; i++) {
        double h = 4 * (1 - i / (N - 1.0)), f = h - floor(h);
        int sector = (int)fmin(floor(h), 3);
        double up = sector == 3 && h >= 4 ? 1 : f;
        double rgb[4][3] = {{1, up, 0}, {1 - up, 1, 0}, {0, 1, up}, {0, 1 - up, 1}};
        for (int k = 0; k < 3; k++)
            c[i][k] = (unsigned char)(255 * rgb[sector][k] + 0.5);
    }
}

/* Twin: greys even in code, not in lightness. */
static void fill_code_ramp(colours c) {
    for (int i = 0; i < N; i++)
        memset(c[i], (int)(255.0 * i / (N - 1) + 0.5), 3);
}

/* max |L_i - straight line| / (L_last - L_first); the evenness of the lightness steps. */
static double unevenness(colours c) {
    double first = lab_from_code(c[0]).l, span = lab_from_code(c[N - 1]).l - first, worst = 0;
    for (int i = 0; i < N; i++)
        worst = fmax(worst, fabs(lab_from_code(c[i]).l - (first + span * i / (N - 1))));
    return worst / span;
}

static int falling_steps(colours c, double (*measure)(const unsigned char *)) {
    int falls = 0;
    for (int i = 1; i < N; i++)
        falls += !(measure(c[i]) > measure(c[i - 1]));
    return falls;
}

static double lightness(const unsigned char *code) {
    return lab_from_code(code).l;
}

/* Grey print: luminance of linear light. */
static double luminance(const unsigned char *code) {
    return xyz_of_code(code).y;
}

static void lightness_rises_in_even_steps(void **state) {
    (void)state;
    colours c;
    fill_own(c);
    assert_true(unevenness(c) < 0.01);
    assert_int_equal(falling_steps(c, lightness), 0);
    assert_true(lightness(c[0]) < 20 && lightness(c[N - 1]) > 90);
    fill_code_ramp(c);
    assert_true(unevenness(c) > 0.03);
    fill_rainbow(c);
    assert_true(falling_steps(c, lightness) > 50);
}

static void grey_print_keeps_the_order(void **state) {
    (void)state;
    colours c;
    fill_own(c);
    assert_int_equal(falling_steps(c, luminance), 0);
    fill_rainbow(c);
    assert_true(falling_steps(c, luminance) > 50);
}

/* Sixteen bands of the scale, as a colour-blind reader sees them: each brighter than the one before, and never closer
 * to it than a clearly visible difference. */
static double least_band_difference(colours c, int kind) {
    double least = INFINITY;
    for (int i = 0; i < 15; i++) {
        unsigned char here[3], next[3];
        seen(kind, c[i * (N - 1) / 15], 1, here);
        seen(kind, c[(i + 1) * (N - 1) / 15], 1, next);
        double step = difference(lab_from_code(here), lab_from_code(next), 1);
        least = fmin(least, lightness(next) > lightness(here) ? step : -step);
    }
    return least;
}

static void colour_blind_readers_see_the_same_order(void **state) {
    (void)state;
    colours own, rainbow;
    fill_own(own);
    fill_rainbow(rainbow);
    for (int kind = 0; kind < DEFICIENCIES; kind++) {
        assert_true(least_band_difference(own, kind) > 2.3); /* the least visible difference, by common practice */
        assert_true(least_band_difference(rainbow, kind) < 0);
    }
}

/* Far parts of the scale stay apart too: no colour comes back. */
static void no_two_far_colours_look_alike(void **state) {
    (void)state;
    colours own;
    fill_own(own);
    for (int kind = 0; kind < DEFICIENCIES; kind++)
        for (int i = 0; i < N; i += 16)
            for (int j = i + N / 8; j < N; j += 16) {
                unsigned char a[3], b[3];
                seen(kind, own[i], 1, a);
                seen(kind, own[j], 1, b);
                assert_true(difference(lab_from_code(a), lab_from_code(b), 1) > 5);
            }
}

/* Largest change of a channel between neighbours: a step would show as a line on the map. */
static int largest_jump(colours c) {
    int largest = 0;
    for (int i = 1; i < N; i++)
        for (int k = 0; k < 3; k++)
            largest = abs(c[i][k] - c[i - 1][k]) > largest ? abs(c[i][k] - c[i - 1][k]) : largest;
    return largest;
}

static void the_scale_has_no_steps(void **state) {
    (void)state;
    colours c;
    fill_own(c);
    assert_in_range(largest_jump(c), 1, 3);
    for (int i = N / 2; i < N; i++)
        memcpy(c[i], c[N - 1], 3);
    assert_true(largest_jump(c) > 3); /* twin */
}

static void the_scale_clips_outside_its_ends(void **state) {
    (void)state;
    struct colour_scale scale;
    colour_scale_fill(&scale);
    assert_ptr_equal(colour_scale_at(&scale, -1), scale.rgb[0]);
    assert_ptr_equal(colour_scale_at(&scale, NAN), scale.rgb[0]);
    assert_ptr_equal(colour_scale_at(&scale, 1), scale.rgb[N - 1]);
    assert_ptr_equal(colour_scale_at(&scale, INFINITY), scale.rgb[N - 1]);
}

/* ---- contrast: WCAG 2.1, definitions of relative luminance and contrast ratio
 * -------------------------------------- */

static double contrast(const unsigned char *a, const unsigned char *b) {
    double high = fmax(luminance(a), luminance(b)), low = fmin(luminance(a), luminance(b));
    return (high + 0.05) / (low + 0.05);
}

static double encoded_luminance(const unsigned char *c) {
    return (0.2126 * c[0] + 0.7152 * c[1] + 0.0722 * c[2]) / 255;
}

static void contrast_of_known_pairs(void **state) {
    (void)state;
    static const struct {
        unsigned char a[3], b[3];
        double ratio;
    } known[] = {{{0, 0, 0}, {255, 255, 255}, 21},
                 {{0x77, 0x77, 0x77}, {255, 255, 255}, 4.4781},
                 {{0x76, 0x76, 0x76}, {255, 255, 255}, 4.5422},
                 {{0x59, 0x59, 0x59}, {255, 255, 255}, 7.0047},
                 {{255, 0, 0}, {255, 255, 255}, 3.9985},
                 {{0, 0, 255}, {255, 255, 255}, 8.5925},
                 {{255, 255, 0}, {0, 0, 0}, 19.5560},
                 {{0x33, 0x66, 0x99}, {255, 255, 255}, 5.9978}};
    int twin_misses = 0;
    for (size_t i = 0; i < sizeof known / sizeof *known; i++) {
        assert_true(fabs(contrast(known[i].a, known[i].b) - known[i].ratio) <
                    2e-3); /* WCAG prints four-digit weights */
        double high = fmax(encoded_luminance(known[i].a), encoded_luminance(known[i].b));
        double low = fmin(encoded_luminance(known[i].a), encoded_luminance(known[i].b));
        twin_misses += fabs((high + 0.05) / (low + 0.05) - known[i].ratio) > 2e-3; /* on encoded values */
    }
    assert_true(twin_misses >= 4);
}

/* Success criterion 1.4.3 asks 4.5 for text. Whichever ink is chosen must reach it on every colour of the scale. */
static void words_read_on_every_colour_of_the_scale(void **state) {
    (void)state;
    static const unsigned char white[3] = {255, 255, 255}, night[3] = {5, 5, 13};
    struct colour_scale scale;
    colour_scale_fill(&scale);
    double least = INFINITY, least_twin = INFINITY;
    for (int i = 0; i < N; i++) {
        int dark = colour_scale_wants_dark_ink(&scale, i / (N - 1.0));
        least = fmin(least, contrast(scale.rgb[i], dark ? night : white));
        least_twin = fmin(least_twin, contrast(scale.rgb[i], white)); /* always white */
    }
    assert_true(least >= 4.5);
    assert_true(least_twin < 1.5);
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(srgb_decodes_as_the_standard_says),
        cmocka_unit_test(srgb_codes_survive_both_ways),
        cmocka_unit_test(xyz_and_lab_of_known_colours),
        cmocka_unit_test(lightness_of_luminance),
        cmocka_unit_test(colours_come_back_from_lab),
        cmocka_unit_test(colour_differences_of_the_2005_table),
        cmocka_unit_test(deficiency_model_gives_its_known_colours),
        cmocka_unit_test(lightness_rises_in_even_steps),
        cmocka_unit_test(grey_print_keeps_the_order),
        cmocka_unit_test(colour_blind_readers_see_the_same_order),
        cmocka_unit_test(no_two_far_colours_look_alike),
        cmocka_unit_test(the_scale_has_no_steps),
        cmocka_unit_test(the_scale_clips_outside_its_ends),
        cmocka_unit_test(contrast_of_known_pairs),
        cmocka_unit_test(words_read_on_every_colour_of_the_scale),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
