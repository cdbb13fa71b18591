#include "colour.h"

#include <math.h>

double srgb_decode(double code) {
    return code <= 0.04045 ? code / 12.92 : pow((code + 0.055) / 1.055, 2.4);
}

double srgb_encode(double linear) {
    return linear <= 0.0031308 ? 12.92 * linear : 1.055 * pow(linear, 1 / 2.4) - 0.055;
}

/* Exact for the primaries (.64 .33), (.30 .60), (.15 .06) and the white (.3127 .3290) of IEC 61966-2-1. */
struct xyz xyz_from_linear(struct rgb c) {
    return (struct xyz){
        506752.0 / 1228815 * c.r + 87881.0 / 245763 * c.g + 12673.0 / 70218 * c.b,
        87098.0 / 409605 * c.r + 175762.0 / 245763 * c.g + 12673.0 / 175545 * c.b,
        7918.0 / 409605 * c.r + 87881.0 / 737289 * c.g + 1001167.0 / 1053270 * c.b,
    };
}

struct rgb linear_from_xyz(struct xyz c) {
    return (struct rgb){
        12831.0 / 3959 * c.x - 329.0 / 214 * c.y - 1974.0 / 3959 * c.z,
        -851781.0 / 878810 * c.x + 1648619.0 / 878810 * c.y + 36519.0 / 878810 * c.z,
        705.0 / 12673 * c.x - 2585.0 / 12673 * c.y + 705.0 / 667 * c.z,
    };
}

static const struct xyz white = {3127.0 / 3290, 1, 3583.0 / 3290};

static double lab_f(double t) {
    return t > 216.0 / 24389 ? cbrt(t) : (24389.0 / 27 * t + 16) / 116;
}

static double lab_f_inverse(double f) {
    return f > 6.0 / 29 ? f * f * f : (116 * f - 16) * 27 / 24389;
}

struct lab lab_from_xyz(struct xyz c) {
    double fx = lab_f(c.x / white.x), fy = lab_f(c.y / white.y), fz = lab_f(c.z / white.z);
    return (struct lab){116 * fy - 16, 500 * (fx - fy), 200 * (fy - fz)};
}

struct xyz xyz_from_lab(struct lab c) {
    double fy = (c.l + 16) / 116;
    return (struct xyz){white.x * lab_f_inverse(fy + c.a / 500), white.y * lab_f_inverse(fy),
                        white.z * lab_f_inverse(fy - c.b / 200)};
}

struct lab lab_from_code(const unsigned char code[3]) {
    struct rgb linear = {srgb_decode(code[0] / 255.0), srgb_decode(code[1] / 255.0), srgb_decode(code[2] / 255.0)};
    return lab_from_xyz(xyz_from_linear(linear));
}
