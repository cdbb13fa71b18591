/* A drawn optic in the making: its section on a sheet. The axis lies level, light goes to the right. */
#ifndef RENDER_FIGURES_OPTIC_SHEET_H
#define RENDER_FIGURES_OPTIC_SHEET_H

#include "bracket_sheet.h"

/* Along the axis and across it, in the section; mm. */
struct flat {
    double z, u;
};

/* Where one part lies upon another, and the air between them that is traced but not measured; along the lens's axis.
 */
struct optic_seam {
    double z_mm, air_mm;
};

struct optic_view {
    struct sheet *sheet;
    const struct figure_fan *fan;
    struct drawing drawing;                   /* its x is z, its y is u */
    double lean_rad;                          /* of the lens in the section, towards +u */
    const char *source;                       /* what rays start from: "die", or the "face" of a lens sheet */
    double oblong_mm[1 + LUXFALL_COVERS_MAX]; /* widths in the section that are no diameters */
    size_t oblong_count;
    struct optic_seam seams[LUXFALL_COVERS_MAX];
    size_t seam_count;
    struct rect optic; /* what is there, holder and rays left out: z from x0 to x1, u from y0 to y1 */
    struct rect seen;  /* what the view shows of z and u */
};

struct flat optic_flat(const struct optic_view *view, struct luxfall_vec at_mm);
/* The same as the lens has it: along its own axis from the board, and across that. */
struct flat optic_own(const struct optic_view *view, struct flat p);
/* Drawn without an end: a holder. */
bool optic_is_endless(const struct luxfall_line *line);
/* Of a curve in several pieces, the one that meets the axis; and is all of that piece a part of one circle? */
bool optic_is_curved_at_axis(const struct optic_view *view, const struct luxfall_line *line);
bool optic_is_circle(const struct optic_view *view, const struct luxfall_line *line);
/* mm of paper. */
double optic_x(const struct optic_view *view, double z_mm);
double optic_y(const struct optic_view *view, double u_mm);

/* What is drawn with a pen of its own, for drawing and legend alike. */
enum optic_stroke {
    STROKE_SURFACE,
    STROKE_TEXTURED,
    STROKE_MIRROR,
    STROKE_BLACK,
    STROKE_MIDDLE_RAY,
    STROKE_EDGE_RAY,
    STROKE_LOST_RAY,
    STROKE_COUNT
};
void optic_pen(struct sheet *sheet, enum optic_stroke stroke);
enum optic_stroke optic_stroke_of_line(const struct luxfall_line *line);
enum optic_stroke optic_stroke_of_path(const struct figure_fan *fan, size_t path);
/* Of a total reflection; mm of paper. Shown where there are not too many to be told apart. */
void optic_mark_turn(struct sheet *sheet, double x, double y);
bool optic_shows_turns(const struct figure_fan *fan);
extern const struct ink OPTIC_GLASS, OPTIC_DIE;

/* optic_section.c: surfaces, dies and rays. */
void optic_section_draw(const struct optic_view *view);

/* Rays, surfaces and board as lines that words should rather not cover. */
void optic_section_as_clutter(const struct optic_view *view);

/* optic_sizes.c: looks for the seams between a module's covers and what they lie on; and the distance from the board
 * to a place, along the lens's axis, as the parts measure it: without the air in the seams under it. */
void optic_seams_find(struct optic_view *view, const struct luxfall_scene *light,
                      const struct luxfall_module *module);
double optic_told_mm(const struct optic_view *view, struct flat p);

/* Dimension lines. The columns of paper that diameters take left of the board, in mm. */
double optic_sizes_room(const struct optic_view *view);

/* What a test wants to know: sizes told with their lines on paper. */
enum { OPTIC_TOLD_MAX = 24 };
struct optic_told {
    size_t count;
    double mm[OPTIC_TOLD_MAX];
    struct segment line[OPTIC_TOLD_MAX];
    double bar_mm;
    struct segment bar;
    double scale;
};
void optic_sizes_draw(const struct optic_view *view, struct optic_told *told);

/* figure_optic.c: draws the page; the caller ends it, also after a failure. */
int figure_optic_draw(struct page *page, const struct scene *scene, const struct figure_optic *optic,
                      const struct figure_style *style, struct optic_told *told, struct figure_error *error);
#endif
