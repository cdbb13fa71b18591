/* Small vectors in three dimensions. */
#ifndef RAYTRACE_NUMBERS_VEC_H
#define RAYTRACE_NUMBERS_VEC_H

#include "luxfall.h"

#include <math.h>

#define PI 3.14159265358979323846

static inline double vec_dot(struct luxfall_vec a, struct luxfall_vec b) {
    return a.x * b.x + a.y * b.y + a.z * b.z;
}
static inline struct luxfall_vec vec_cross(struct luxfall_vec a, struct luxfall_vec b) {
    return (struct luxfall_vec){a.y * b.z - a.z * b.y, a.z * b.x - a.x * b.z, a.x * b.y - a.y * b.x};
}
static inline struct luxfall_vec vec_sum(double ka, struct luxfall_vec a, double kb, struct luxfall_vec b) {
    return (struct luxfall_vec){ka * a.x + kb * b.x, ka * a.y + kb * b.y, ka * a.z + kb * b.z};
}
static inline double vec_length(struct luxfall_vec a) {
    return sqrt(vec_dot(a, a));
}
static inline struct luxfall_vec vec_unit(struct luxfall_vec a) {
    double length = vec_length(a);
    return (struct luxfall_vec){a.x / length, a.y / length, a.z / length};
}
/* a turned by an angle about the unit vector k (Rodrigues). */
static inline struct luxfall_vec vec_turn(struct luxfall_vec a, struct luxfall_vec k, double angle_rad) {
    double c = cos(angle_rad), s = sin(angle_rad);
    return vec_sum(1, vec_sum(c, a, s, vec_cross(k, a)), (1 - c) * vec_dot(k, a), k);
}
/* At a slant distance from the origin, an angle from the vertical and an azimuth. */
static inline struct luxfall_vec vec_slant(double distance, double from_vertical_rad, double azimuth_rad) {
    double radius = distance * sin(from_vertical_rad);
    return (struct luxfall_vec){radius * cos(azimuth_rad), radius * sin(azimuth_rad),
                                distance * cos(from_vertical_rad)};
}
#endif
