/* One map on a page: the image in false colour with its axes, and what is laid over it. */
#ifndef RENDER_FIGURES_MAP_PANEL_H
#define RENDER_FIGURES_MAP_PANEL_H

#include "lines.h"
#include "tone.h"

struct map_panel {
    struct page *page;
    const struct scene *scene;
    const struct luxfall_plane_result *plane;
    const struct tone *tone;
    struct rect map;  /* the image */
    struct rect room; /* where labels may stand: the image, on a narrow strip also the paper beside it */
    double px_per_mm;
    double text_scale; /* 1; smaller in small multiples */
    bool noisy;        /* specks of lines are noise, as they are where the plane has bands */
    struct clutter clutter;
};

/* Sizes the one map of a page so that it fills the width or the allowed height, its axes and the bar beside it. */
void map_panel_lay_out(struct map_panel *panel);
double panel_x(const struct map_panel *panel, double x_mm);
double panel_y(const struct map_panel *panel, double y_mm);

/* Illuminance of the cell under a place on the page; that of the nearest cell outside the map. */
double panel_lux_at(const struct map_panel *panel, double x_px, double y_px);

/* Ink and halo for words that stand in a box: ink that reads on the map below, with the map's own colour as halo, so
 * that lines pause under the words (where the map is steep, a soft shade); plain ink on paper. */
void panel_ink_over(const struct map_panel *panel, struct rect box, struct text *text);

void map_image_draw(struct map_panel *panel);

/* px that numbers and words of the axes take to the left of the map and below it. */
struct axes_room {
    double left, below;
};
struct axes_room map_axes_room(struct page *page, const struct luxfall_plane_result *plane, double height_px,
                               double text_scale);
void map_axes_draw(struct map_panel *panel);

/* ---- overlay.c: lines, frames, labels of the lines, names, in this order
 * ---------------------------------------------------------- */

#define LEVELS_MAX 12
/* Lines of equal value, in px; kept, so that their labels can come after the names of the fields. */
struct panel_lines {
    size_t count;
    double level[LEVELS_MAX];
    char label[LEVELS_MAX][16];
    struct contours lines[LEVELS_MAX];
};
/* One more, traced on a grid in mm; and all of those at shares of the peak. False out of memory. */
bool panel_lines_add(struct map_panel *panel, const struct value_grid *grid, double level, const char *label,
                     struct panel_lines *lines);
bool panel_lines_make(struct map_panel *panel, size_t count, const double *shares, struct panel_lines *lines);
void panel_lines_free(struct panel_lines *lines);
void panel_lines_draw(struct map_panel *panel, const struct panel_lines *lines);
void panel_lines_label(struct map_panel *panel, const struct panel_lines *lines);
/* Adds what the lines of all levels but one are drawn along; SIZE_MAX: of all. */
void panel_lines_gather(const struct map_panel *panel, const struct panel_lines *lines, size_t but_level,
                        struct clutter *gathered);

void panel_frames_draw(struct map_panel *panel);
/* Names keep off the lines if they may. Returns how many fields found no room for theirs. */
size_t panel_names_draw(struct map_panel *panel, const struct panel_lines *lines);

/* ---- feet.c -----------------------------------------------------------------------------------------------------
 */

/* Where the modules stand: a mark on the foot, or an arrow on the border towards it, and its number, which keeps off
 * the lines if it may. */
void panel_feet_draw(struct map_panel *panel, const struct panel_lines *lines);

#endif
