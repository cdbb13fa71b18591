/* Where a ray meets a surface, by definition: its height over the surface, looked at step by step, then by halves. */
#ifndef TESTS_UNIT_BY_STEPS_H
#define TESTS_UNIT_BY_STEPS_H

#include <math.h>
#include <stdbool.h>

/* A surface, and how closely it is looked at. */
struct looked_at {
    double (*over_mm)(const void *surface, const double place_mm[3]); /* height of a place over the surface */
    const void *surface;
    double radius_mm; /* crossings further from the axis do not count */
    double length_mm; /* of the ray */
    int steps;
};

static inline void by_steps_place(const double at[3], const double d[3], double t, double place_mm[3]) {
    for (int i = 0; i < 3; i++)
        place_mm[i] = at[i] + t * d[i];
}

static inline bool by_steps_is_above(const struct looked_at *look, const double at[3], const double d[3], double t) {
    double place_mm[3];
    by_steps_place(at, d, t, place_mm);
    return look->over_mm(look->surface, place_mm) > 0;
}

/* The first change of sides in that sense; NaN: none. */
static inline double met_by_steps(const struct looked_at *look, const double at[3], const double d[3],
                                  bool going_up) {
    bool was = by_steps_is_above(look, at, d, 0);
    for (int i = 1; i <= look->steps; i++) {
        double low = look->length_mm * (i - 1) / look->steps, high = look->length_mm * i / look->steps, place_mm[3];
        bool above = by_steps_is_above(look, at, d, high), changed = above != was && above == going_up;
        was = above;
        by_steps_place(at, d, high, place_mm);
        if (!changed || !(hypot(place_mm[0], place_mm[1]) < look->radius_mm))
            continue;
        for (int k = 0; k < 60; k++) {
            double middle = (low + high) / 2;
            *(by_steps_is_above(look, at, d, middle) == going_up ? &high : &low) = middle;
        }
        return high;
    }
    return NAN;
}

#endif
