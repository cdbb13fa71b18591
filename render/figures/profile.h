/* Profiles: illuminance along a line through the centre, one or several curves in one plot. */
#ifndef RENDER_FIGURES_PROFILE_H
#define RENDER_FIGURES_PROFILE_H

#include "axis.h"
#include "tone.h"

struct curve {
    const struct luxfall_section *section;
    struct pen pen;
};

/* One plot. axis 'x' or 'y'. */
struct profile {
    struct page *page;
    const struct scene *scene; /* whose fields are marked */
    const struct luxfall_plane_result *plane;
    const struct tone *tone; /* its top and kind rule the upright axis */
    struct rect plot;
    char axis;
    bool both;            /* the other axis too has a curve in it */
    bool first;           /* of the plots side by side: the numbers stand at its left */
    double percent_of_lx; /* above 0: a percent axis at the right */
    size_t curve_count;
    const struct curve *curves;
    const struct figure_readings *readings; /* NULL: none */
};

/* Fields that the line meets on the map: one row each above the plot, up to a dozen. */
size_t profile_rows(const struct scene *scene, const struct luxfall_plane_result *plane, char axis);
/* px that numbers and words take beside and below a plot. */
double profile_left(struct page *page, const struct tone *tone);
double profile_right(struct page *page, const struct tone *tone, double percent_of_lx);
double profile_below(struct page *page);

void profile_draw(const struct profile *profile);

/* Two plots side by side, along x and along y, from y0 on. Returns where the next thing may start. */
double profiles_draw(struct profile *along_x, struct profile *along_y, double y0);
/* The height of that. */
double profiles_height(struct page *page, const struct scene *scene, const struct luxfall_plane_result *plane);

#endif
