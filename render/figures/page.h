/* A page to draw on: a Cairo surface, Pango text measured before it is placed, and a record of every text so that a
 * test can see that none touches another or leaves the page. */
#ifndef RENDER_FIGURES_PAGE_H
#define RENDER_FIGURES_PAGE_H

#include "figures.h"

#include <pango/pangocairo.h>

struct rect {
    double x0, y0, x1, y1;
};

struct ink {
    double r, g, b, opacity; /* sRGB encoded */
};
extern const struct ink INK_TEXT, INK_SOFT, INK_RULE, INK_WHITE, INK_NIGHT;

struct text {
    const char *string;
    double size;        /* in units of the page */
    bool bold, upright; /* upright: turned to read from below */
    double wrap;        /* line width in px; 0: one line */
    int lines;          /* most lines of a wrapped text, the last then ends in an ellipsis; 0: no limit */
    bool centred;       /* lines of a wrapped text on their middle */
    double cut;         /* widest in px, longer ones end in an ellipsis; 0: no limit */
    struct ink ink, halo;
    double halo_width; /* in units; 0: none */
};

struct page_text {
    struct rect ink; /* what is painted, halo aside */
    char start[24];
};

#define PAGE_PRINT_MM 170 /* usual width in print */

struct page {
    double width_px, height_px;
    double print_mm; /* width in print; the picture's physical size follows from it */
    double unit; /* px of a page unit: 1 at 1400 px of width; smaller pictures shrink their text less than the map */
    PangoContext *pango;
    PangoLayout *layout;
    bool pdf;         /* drawn as lines and letters, in place of pixels */
    GByteArray *sent; /* the PDF's bytes, whole once the surface is finished */
    cairo_surface_t *surface;
    cairo_t *cairo;
    struct page_text *texts;
    size_t text_count, text_room;
    bool out_of_memory;
};

/* Prepares text measuring; the surface comes with page_paper(). Status 1 with a message when there is no font. */
int page_begin(struct page *page, const struct figure_style *style, struct figure_error *error);
int page_paper(struct page *page, double height_px, struct figure_error *error);
void page_end(struct page *page); /* also after a failed begin */

/* Width and height that the text takes, in px. */
struct rect page_measure(struct page *page, const struct text *text);
/* Draws so that the point (x, y) lies at the share (ax, ay) of the text's box: 0 left or top, 1 right or bottom. */
void page_write(struct page *page, const struct text *text, double x, double y, double ax, double ay);

void page_ink(struct page *page, struct ink ink);
void page_line(struct page *page, double x0, double y0, double x1, double y1); /* stroked with the current pen */
/* Thin slanting lines all over it, where no value is to be had. Its path is the current one, which is used up. */
void page_hatch(struct page *page);
struct rect rect_grown(struct rect rect, double by);
bool rects_meet(struct rect a, struct rect b);
bool rect_holds(struct rect outer, struct rect inner);

#endif
