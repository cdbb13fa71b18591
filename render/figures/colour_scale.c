#include "colour_scale.h"

#include "colour.h"

#include <math.h>

/* The path, in chroma and hue at a lightness, chosen by eye within the sRGB gamut; lightness itself is even in t. */
static const struct {
    double l, chroma, hue_deg;
} path[] = {
    {13, 31, 290}, {27, 46, 292}, {41, 55, 308}, {55, 58, 340}, {68, 53, 22}, {82, 45, 70}, {96, 15, 96},
};
enum { PATH_COUNT = sizeof path / sizeof *path };

static struct lab path_node(int i) {
    double hue = path[i].hue_deg * (3.14159265358979323846 / 180);
    return (struct lab){path[i].l, path[i].chroma * cos(hue), path[i].chroma * sin(hue)};
}

/* Slope of a and b over l at a node: that of its neighbours, one-sided at the ends. */
static struct lab path_slope(int i) {
    struct lab before = path_node(i > 0 ? i - 1 : 0), after = path_node(i < PATH_COUNT - 1 ? i + 1 : i);
    double span = after.l - before.l;
    return (struct lab){1, (after.a - before.a) / span, (after.b - before.b) / span};
}

static double hermite(double t, double span, double y0, double slope0, double y1, double slope1) {
    double u = 1 - t;
    return u * u * ((1 + 2 * t) * y0 + t * span * slope0) + t * t * ((3 - 2 * t) * y1 - u * span * slope1);
}

static struct lab path_at(double l) {
    int i = 0;
    while (i < PATH_COUNT - 2 && l > path[i + 1].l)
        i++;
    struct lab p0 = path_node(i), p1 = path_node(i + 1), s0 = path_slope(i), s1 = path_slope(i + 1);
    double span = p1.l - p0.l, t = (l - p0.l) / span;
    return (struct lab){l, hermite(t, span, p0.a, s0.a, p1.a, s1.a), hermite(t, span, p0.b, s0.b, p1.b, s1.b)};
}

static int inside_gamut(struct rgb c) {
    return c.r >= 0 && c.g >= 0 && c.b >= 0 && c.r <= 1 && c.g <= 1 && c.b <= 1;
}

/* Linear light of a colour, its chroma drawn in until the gamut holds it; lightness stays. */
static struct rgb linear_within_gamut(struct lab wanted) {
    struct rgb c = linear_from_xyz(xyz_from_lab(wanted));
    double held = 0, out = 1;
    for (int i = 0; i < 24 && !inside_gamut(c); i++) {
        double share = (held + out) / 2;
        struct lab drawn_in = {wanted.l, share * wanted.a, share * wanted.b};
        struct rgb trial = linear_from_xyz(xyz_from_lab(drawn_in));
        if (inside_gamut(trial))
            held = share;
        else
            out = share;
        if (i == 23)
            c = linear_from_xyz(xyz_from_lab((struct lab){wanted.l, held * wanted.a, held * wanted.b}));
    }
    return c;
}

/* Rounds each channel down or up, whichever way together keeps L* best: plain rounding may move it by 0.25, more than
 * a step of the scale. */
static void code_keeping_lightness(struct rgb linear, double l, unsigned char code[3]) {
    double exact[3] = {255 * srgb_encode(linear.r), 255 * srgb_encode(linear.g), 255 * srgb_encode(linear.b)};
    double best = INFINITY;
    for (int way = 0; way < 8; way++) {
        unsigned char trial[3];
        for (int c = 0; c < 3; c++)
            trial[c] = (unsigned char)fmin(255, floor(exact[c]) + (way >> c & 1));
        double miss = fabs(lab_from_code(trial).l - l);
        if (miss < best) {
            best = miss;
            for (int c = 0; c < 3; c++)
                code[c] = trial[c];
        }
    }
}

void colour_scale_fill(struct colour_scale *scale) {
    for (int i = 0; i < COLOUR_SCALE_STEPS; i++) {
        double l = path[0].l + (path[PATH_COUNT - 1].l - path[0].l) * i / (COLOUR_SCALE_STEPS - 1);
        code_keeping_lightness(linear_within_gamut(path_at(l)), l, scale->rgb[i]);
    }
}

void colour_scale_fill_diverging(struct colour_scale *scale) {
    for (int i = 0; i < COLOUR_SCALE_STEPS; i++) {
        double t = 2.0 * i / (COLOUR_SCALE_STEPS - 1) - 1, out = fabs(t), l = 97 - 64 * out;
        double hue = (t < 0 ? 275 : 50) * (3.14159265358979323846 / 180), chroma = 62 * sqrt(out) * (1 - 0.25 * out);
        struct lab wanted = {l, chroma * cos(hue), chroma * sin(hue)};
        code_keeping_lightness(linear_within_gamut(wanted), l, scale->rgb[i]);
    }
}

const unsigned char *colour_scale_at(const struct colour_scale *scale, double t) {
    if (!(t > 0))
        return scale->rgb[0];
    return scale->rgb[t < 1 ? (int)(t * (COLOUR_SCALE_STEPS - 1) + 0.5) : COLOUR_SCALE_STEPS - 1];
}

/* Contrast (Y1 + 0.05) / (Y2 + 0.05) as WCAG 2.1 defines it; where white falls below 4.5, ink near black is above. */
int colour_scale_wants_dark_ink(const struct colour_scale *scale, double t) {
    const unsigned char *c = colour_scale_at(scale, t);
    struct rgb linear = {srgb_decode(c[0] / 255.0), srgb_decode(c[1] / 255.0), srgb_decode(c[2] / 255.0)};
    return 1.05 / (xyz_from_linear(linear).y + 0.05) < 4.51;
}
