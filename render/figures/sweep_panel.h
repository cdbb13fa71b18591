/* One panel of a sweep's page: curves of one unit over the varied number, with their names at the right. */
#ifndef RENDER_FIGURES_SWEEP_PANEL_H
#define RENDER_FIGURES_SWEEP_PANEL_H

#include "axis.h"

struct sweep_panel {
    struct page *page;
    const struct figure_sweep *sweep;
    const struct figure_panel *told;
    const struct colour_scale *colours;
    struct rect plot;
    double x_from, x_to;       /* at the plot's sides */
    double from, to;           /* at its bottom and top, in the unit shown */
    double unit;               /* value / unit is shown */
    bool empty;                /* no value at all */
    char unit_name[UNIT_SIZE]; /* shown */
    char label[1024];          /* with it */
};

/* Unit and range of the values; the rest is filled in by the caller before or after. */
void sweep_panel_scale(struct sweep_panel *panel);
/* px that the panel's numbers and words take at the left, its curves' names at the right, and the height that the
 * names need. */
double sweep_panel_left(const struct sweep_panel *panel);
double sweep_panel_right(const struct sweep_panel *panel);
double sweep_panel_least_height(const struct sweep_panel *panel);

double sweep_panel_x(const struct sweep_panel *panel, double x);
double sweep_panel_y(const struct sweep_panel *panel, double value);
/* In two steps, so that the marks' lines may come between. */
void sweep_panel_draw_grid(const struct sweep_panel *panel, const struct axis *across);
void sweep_panel_draw(const struct sweep_panel *panel);

#endif
