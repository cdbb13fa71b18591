/* Colour arithmetic: sRGB (IEC 61966-2-1), CIE XYZ and CIE L*a*b* (ISO 11664-4), white D65 as sRGB defines it. */
#ifndef RENDER_FIGURES_COLOUR_H
#define RENDER_FIGURES_COLOUR_H

struct rgb { /* linear light or encoded, as the function says; 0..1 inside the gamut */
    double r, g, b;
};
struct xyz { /* Y = 1 for white */
    double x, y, z;
};
struct lab {
    double l, a, b;
};

double srgb_decode(double code);   /* 0..1 encoded to linear light */
double srgb_encode(double linear); /* back */
struct xyz xyz_from_linear(struct rgb linear);
struct rgb linear_from_xyz(struct xyz xyz);
struct lab lab_from_xyz(struct xyz xyz);
struct xyz xyz_from_lab(struct lab lab);
struct lab lab_from_code(const unsigned char code[3]); /* 8-bit sRGB */

#endif
