#include "page.h"

#include "wrapping.h"

#include <cairo-pdf.h>
#include <math.h>
#include <stdarg.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

const struct ink INK_TEXT = {0.10, 0.11, 0.15, 1}, INK_SOFT = {0.33, 0.35, 0.41, 1}, INK_RULE = {0.87, 0.88, 0.90, 1},
                 INK_WHITE = {1, 1, 1, 1}, INK_NIGHT = {0.02, 0.02, 0.05, 1};

int figure_fail(struct figure_error *error, int status, const char *format, ...) {
    va_list list;
    va_start(list, format);
    error->status = status;
    vsnprintf(error->text, sizeof error->text, format, list);
    va_end(list);
    return status;
}

struct rect rect_grown(struct rect r, double by) {
    return (struct rect){r.x0 - by, r.y0 - by, r.x1 + by, r.y1 + by};
}

bool rects_meet(struct rect a, struct rect b) {
    return a.x0 < b.x1 && b.x0 < a.x1 && a.y0 < b.y1 && b.y0 < a.y1;
}

bool rect_holds(struct rect outer, struct rect inner) {
    return inner.x0 >= outer.x0 && inner.y0 >= outer.y0 && inner.x1 <= outer.x1 && inner.y1 <= outer.y1;
}

/* Loads the face before anything is laid out: Pango aborts the program when text meets no font at all. */
static bool has_font(PangoContext *context) {
    PangoFontDescription *sans = pango_font_description_from_string("sans 12px");
    PangoFont *font = pango_font_map_load_font(pango_cairo_font_map_get_default(), context, sans);
    pango_font_description_free(sans);
    if (font == NULL)
        return false;
    g_object_unref(font);
    return true;
}

int page_begin(struct page *page, const struct figure_style *style, struct figure_error *error) {
    *page = (struct page){0};
    int width = style->width_px != 0 ? style->width_px : FIGURE_WIDTH_PX;
    if (width < FIGURE_WIDTH_MIN_PX || width > FIGURE_WIDTH_MAX_PX)
        return figure_fail(error, 2, "a picture %d px wide is not to be had: %d to %d px are", width,
                           FIGURE_WIDTH_MIN_PX, FIGURE_WIDTH_MAX_PX);
    page->width_px = width;
    page->pdf = style->pdf;
    page->print_mm = PAGE_PRINT_MM;
    page->unit = width < 1400 ? pow(width / 1400.0, 0.6) : width / 1400.0; /* small pictures keep legible text */
    page->pango = pango_font_map_create_context(pango_cairo_font_map_get_default());
    cairo_font_options_t *options = cairo_font_options_create();
    cairo_font_options_set_antialias(options, CAIRO_ANTIALIAS_GRAY);
    cairo_font_options_set_hint_style(options, CAIRO_HINT_STYLE_NONE);
    cairo_font_options_set_hint_metrics(options, CAIRO_HINT_METRICS_OFF);
    pango_cairo_context_set_font_options(page->pango, options);
    cairo_font_options_destroy(options);
    pango_cairo_context_set_resolution(page->pango, 72);
    if (!has_font(page->pango))
        return figure_fail(error, 1,
                           "no font found for the pictures' text: install one (fonts-dejavu-core on Debian "
                           "and Ubuntu) and run again");
    page->layout = pango_layout_new(page->pango);
    return 0;
}

static cairo_status_t keep_bytes(void *sent, const unsigned char *data, unsigned length) {
    g_byte_array_append(sent, data, length);
    return CAIRO_STATUS_SUCCESS;
}

/* The same page in the PDF's own unit, 1/72 inch. */
static void begin_pdf(struct page *page) {
    double scale = page->print_mm / 25.4 * 72 / page->width_px;
    page->sent = g_byte_array_new();
    page->surface =
        cairo_pdf_surface_create_for_stream(keep_bytes, page->sent, scale * page->width_px, scale * page->height_px);
    page->cairo = cairo_create(page->surface);
    cairo_scale(page->cairo, scale, scale);
}

static void begin_pixels(struct page *page) {
    page->surface = cairo_image_surface_create(CAIRO_FORMAT_RGB24, (int)page->width_px, (int)page->height_px);
    page->cairo = cairo_create(page->surface);
}

int page_paper(struct page *page, double height_px, struct figure_error *error) {
    page->height_px = ceil(height_px);
    if (page->pdf)
        begin_pdf(page);
    else
        begin_pixels(page);
    cairo_status_t status = cairo_status(page->cairo);
    if (status != CAIRO_STATUS_SUCCESS)
        return figure_fail(error, 1, "a picture of %.0f x %.0f px could not be made: %s", page->width_px,
                           page->height_px, cairo_status_to_string(status));
    page_ink(page, INK_WHITE);
    cairo_paint(page->cairo);
    cairo_set_line_join(page->cairo, CAIRO_LINE_JOIN_ROUND);
    cairo_set_tolerance(page->cairo, 0.2);
    return 0;
}

void page_end(struct page *page) {
    if (page->cairo != NULL)
        cairo_destroy(page->cairo);
    if (page->surface != NULL)
        cairo_surface_destroy(page->surface);
    if (page->sent != NULL)
        g_byte_array_free(page->sent, TRUE);
    g_clear_object(&page->layout);
    g_clear_object(&page->pango);
    free(page->texts);
    *page = (struct page){0};
}

/* Of one line, as it is. */
static void set_words(struct page *page, const struct text *text) {
    char *kept = text->wrap > 0 ? words_kept_together(text->string) : NULL;
    page->out_of_memory |= text->wrap > 0 && kept == NULL;
    pango_layout_set_text(page->layout, kept != NULL ? kept : text->string, -1);
    free(kept);
}

static void lay_out(struct page *page, const struct text *text) {
    PangoFontDescription *font = pango_font_description_new();
    pango_font_description_set_family_static(font, "sans");
    pango_font_description_set_weight(font, text->bold ? PANGO_WEIGHT_BOLD : PANGO_WEIGHT_NORMAL);
    pango_font_description_set_absolute_size(font, text->size * page->unit * PANGO_SCALE);
    pango_layout_set_font_description(page->layout, font);
    pango_font_description_free(font);
    double width = text->wrap > 0 ? text->wrap : text->cut > 0 ? text->cut : -1;
    pango_layout_set_width(page->layout, width > 0 ? (int)(width * PANGO_SCALE) : -1);
    pango_layout_set_wrap(page->layout, PANGO_WRAP_WORD_CHAR);
    bool ends = text->cut > 0 || text->lines > 0;
    pango_layout_set_ellipsize(page->layout, ends ? PANGO_ELLIPSIZE_END : PANGO_ELLIPSIZE_NONE);
    pango_layout_set_height(page->layout, text->lines > 0 ? -text->lines : -1);
    pango_layout_set_alignment(page->layout, text->centred ? PANGO_ALIGN_CENTER : PANGO_ALIGN_LEFT);
    pango_layout_set_single_paragraph_mode(page->layout, text->wrap <= 0);
    pango_layout_set_line_spacing(page->layout, text->wrap > 0 ? 1.18F : 0);
    set_words(page, text);
}

struct rect page_measure(struct page *page, const struct text *text) {
    lay_out(page, text);
    PangoRectangle box;
    pango_layout_get_extents(page->layout, NULL, &box);
    double w = (double)box.width / PANGO_SCALE, h = (double)box.height / PANGO_SCALE;
    return text->upright ? (struct rect){0, 0, h, w} : (struct rect){0, 0, w, h};
}

static void record(struct page *page, const char *string, struct rect ink) {
    if (page->text_count == page->text_room) {
        size_t room = page->text_room != 0 ? 2 * page->text_room : 64;
        struct page_text *texts = realloc(page->texts, room * sizeof *texts);
        if (texts == NULL) {
            page->out_of_memory = true;
            return;
        }
        page->texts = texts;
        page->text_room = room;
    }
    struct page_text *kept = &page->texts[page->text_count++];
    kept->ink = ink;
    snprintf(kept->start, sizeof kept->start, "%s", string);
}

/* Where the laid-out text's ink lands on the page, given the page position of its box's left top corner. */
static struct rect ink_on_page(struct page *page, const struct text *text, struct rect box, double left, double top) {
    PangoRectangle ink, logical;
    pango_layout_get_extents(page->layout, &ink, &logical);
    double x = (double)(ink.x - logical.x) / PANGO_SCALE, y = (double)(ink.y - logical.y) / PANGO_SCALE;
    double w = (double)ink.width / PANGO_SCALE, h = (double)ink.height / PANGO_SCALE;
    if (text->upright)
        return (struct rect){left + y, top + box.y1 - x - w, left + y + h, top + box.y1 - x};
    return (struct rect){left + x, top + y, left + x + w, top + y + h};
}

void page_write(struct page *page, const struct text *text, double x, double y, double ax, double ay) {
    struct rect box = page_measure(page, text);
    double left = x - ax * box.x1, top = y - ay * box.y1;
    PangoRectangle logical;
    pango_layout_get_extents(page->layout, NULL, &logical);
    record(page, text->string, ink_on_page(page, text, box, left, top));
    cairo_t *cr = page->cairo;
    cairo_save(cr);
    cairo_translate(cr, left, text->upright ? top + box.y1 : top);
    if (text->upright)
        cairo_rotate(cr, -1.57079632679489661923);
    cairo_translate(cr, -(double)logical.x / PANGO_SCALE, -(double)logical.y / PANGO_SCALE);
    cairo_move_to(cr, 0, 0);
    if (text->halo_width > 0) {
        pango_cairo_layout_path(cr, page->layout);
        page_ink(page, text->halo);
        cairo_set_line_width(cr, 2 * text->halo_width * page->unit);
        cairo_stroke(cr);
        cairo_move_to(cr, 0, 0);
    }
    page_ink(page, text->ink);
    pango_cairo_show_layout(cr, page->layout);
    cairo_restore(cr);
    cairo_new_path(cr);
}

void page_ink(struct page *page, struct ink ink) {
    cairo_set_source_rgba(page->cairo, ink.r, ink.g, ink.b, ink.opacity);
}

void page_line(struct page *page, double x0, double y0, double x1, double y1) {
    cairo_move_to(page->cairo, x0, y0);
    cairo_line_to(page->cairo, x1, y1);
    cairo_stroke(page->cairo);
}

void page_hatch(struct page *page) {
    cairo_t *cr = page->cairo;
    double x0, y0, x1, y1, step = 9 * page->unit;
    cairo_save(cr);
    cairo_clip(cr);
    cairo_clip_extents(cr, &x0, &y0, &x1, &y1);
    page_ink(page, INK_WHITE);
    cairo_paint(cr);
    page_ink(page, INK_SOFT);
    cairo_set_line_width(cr, page->unit);
    for (double x = step * floor((x0 - y1) / step); x + y0 < x1;
         x += step) { /* one set of lines for the whole page */
        cairo_move_to(cr, x + y0, y0);
        cairo_line_to(cr, x + y1, y1);
    }
    cairo_stroke(cr);
    cairo_restore(cr);
}
