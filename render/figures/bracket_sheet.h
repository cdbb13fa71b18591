/* A workshop sheet in the making: A4 landscape, drawn in millimetres of paper. */
#ifndef RENDER_FIGURES_BRACKET_SHEET_H
#define RENDER_FIGURES_BRACKET_SHEET_H

#include "bracket_kinds.h"
#include "labels.h"
#include "page.h"

#define SHEET_WIDTH_MM 297.0
#define SHEET_HEIGHT_MM 210.0
#define SHEET_TEXT_MM 2.7   /* height of the letters' em */
#define SHEET_WIDTH_PX 3508 /* 300 dots an inch */

/* mm of paper that every sheet has alike. */
#define SHEET_MARGIN 10.0
#define SHEET_BODY_TOP 21.0
#define SHEET_BODY_BOTTOM 189.0

extern const struct ink SHEET_INK, SHEET_GREY, SHEET_FAINT;

struct sheet {
    struct page *page; /* its unit is a millimetre of paper */
    const struct scene *scene;
    struct bracket_list list;
    struct clutter clutter; /* words that stand already, and lines that others should keep off, in px */
    bool clipped;
    struct rect clip; /* mm of paper */
};

/* A drawing to scale: a box of the paper, and where its own (0, 0) lies. */
struct drawing {
    struct sheet *sheet;
    struct rect box;           /* mm of paper */
    double scale;              /* mm of paper for a mm */
    double origin_x, origin_y; /* mm of paper; y of the drawing runs up */
};

/* What a reader of the picture, or a test, wants to know of a drawing. */
struct sheet_layout {
    struct drawing plan;
    double bar_mm;             /* length that the plan's scale bar stands for */
    struct segment bar, width; /* mm of paper: the bar; the dimension line of the plan's width */
    double width_mm;           /* that the dimension tells; 0: none is drawn */
    size_t numbered;           /* modules with their number beside them */
};

/* Prepares a page of the sheet's size; the caller ends it, also after a failure. */
int sheet_begin(struct page *page, const struct figure_style *style, struct figure_error *error);
/* The scene's title, and at the right which sheet it is. */
void sheet_header(struct sheet *sheet, const char *which);
/* Small print from `top` on. */
void sheet_footer(struct sheet *sheet, const char *words, double top);

/* The largest scale up to `most` at which `wide` x `high` mm fit into the box: 1:1, 1:2, 1:5 and so on (ISO 5455),
 * 1:2.5 and 1:4 between them, and the same the other way round. */
enum { SHEET_SCALE_MOST = 20 };
double sheet_scale(double wide_mm, double high_mm, double box_wide_mm, double box_high_mm, double most);
/* "1:2.5", "5:1". */
enum { SCALE_SIZE = 32 };
void sheet_scale_text(double scale, char out[SCALE_SIZE]);

/* Values as they are set at the bench: a tenth of a millimetre, a tenth of a degree; "–" for NaN. */
enum { SHEET_CELL = 96 };
void sheet_mm(double mm, char out[SHEET_CELL]);
void sheet_degrees(double rad, char out[SHEET_CELL]);

/* Positions in mm of paper. ax, ay as of page_write(). */
void sheet_pen(struct sheet *sheet, struct ink ink, double width_mm, bool dashed);
void sheet_line(struct sheet *sheet, double x0, double y0, double x1, double y1);
/* The same for lines, chords of an arc and outlines that words keep off if they may. */
void sheet_rule(struct sheet *sheet, double x0, double y0, double x1, double y1);
void sheet_arc_rules(struct sheet *sheet, double x, double y, double radius, double from_rad, double to_rad);
void sheet_outline_rules(struct sheet *sheet, struct rect rect);
void sheet_write(struct sheet *sheet, const char *string, double x, double y, double ax, double ay);
double sheet_width(struct sheet *sheet, const char *string); /* of words on paper */
/* Writes at the first of the places that is free of words, within bounds and has the fewest lines under it, no more
 * than `most`. Tells which; count: there is none. */
struct sheet_place {
    double x, y, ax, ay;
};
size_t sheet_write_over(struct sheet *sheet, const char *string, struct rect bounds, size_t count,
                        const struct sheet_place *places, int most);
/* The same with as many lines as it takes; false: none is free of words. */
bool sheet_write_free(struct sheet *sheet, const char *string, struct rect bounds, size_t count,
                      const struct sheet_place *places);
/* Beside a circle on paper, or farther off with a leader to it; false: there is no room. */
bool sheet_label(struct sheet *sheet, const char *string, struct rect bounds, double x, double y, double radius);
/* An arrow's head at (x1, y1), coming from (x0, y0). */
void sheet_arrow(struct sheet *sheet, double x0, double y0, double x1, double y1);
/* A dimension line with arrows at both ends and its text beside it, on the right hand of the line's way if there is
 * room; false, and nothing drawn, where the text has none. */
bool sheet_dimension(struct sheet *sheet, struct segment line, const char *text, struct rect bounds);
void sheet_clip(struct sheet *sheet, struct rect box);
void sheet_unclip(struct sheet *sheet);

/* From the scene to the paper. */
double drawing_x(const struct drawing *drawing, double x_mm);
double drawing_y(const struct drawing *drawing, double y_mm);
/* Frame, heading with the scale, and a scale bar at the lower left, whose length and place it gives. */
void drawing_frame(const struct drawing *drawing, const char *heading);
struct segment drawing_bar(const struct drawing *drawing, double *bar_mm);

/* The corners of a module's face, or of the dies without a lens; 0 for a point. */
enum { FACE_CORNERS = 120 };
size_t face_corners(const struct luxfall_scene *light, size_t module, struct luxfall_vec corners[FACE_CORNERS]);

/* bracket_plan.c, bracket_side.c */
void bracket_plan_draw(struct sheet *sheet, struct rect box, struct sheet_layout *layout);
void bracket_sides_draw(struct sheet *sheet, struct rect box);
/* Kinds that have a side view. */
enum { SIDES_MAX = 6 };

#endif
