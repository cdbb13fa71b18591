/* Vectors of three doubles: the little that surfaces and solids need. */
#ifndef RAYTRACE_LENSES_VECTOR3_H
#define RAYTRACE_LENSES_VECTOR3_H

static inline double dot3(const double a[3], const double b[3]) {
    return a[0] * b[0] + a[1] * b[1] + a[2] * b[2];
}

static inline void cross3(const double a[3], const double b[3], double out[3]) {
    out[0] = a[1] * b[2] - a[2] * b[1];
    out[1] = a[2] * b[0] - a[0] * b[2];
    out[2] = a[0] * b[1] - a[1] * b[0];
}

/* out = a + t b */
static inline void along3(const double a[3], double t, const double b[3], double out[3]) {
    for (int i = 0; i < 3; i++)
        out[i] = a[i] + t * b[i];
}
#endif
