#include "bracket_sheet.h"

#include "ticks.h"

#include <limits.h>
#include <math.h>
#include <stdio.h>

const struct ink SHEET_INK = {0, 0, 0, 1}, SHEET_GREY = {0.45, 0.45, 0.45, 1}, SHEET_FAINT = {0.75, 0.75, 0.75, 1};

static const double PI = 3.14159265358979323846;

enum { DIMENSION_PLACES = 12 };

/* ---- the page -------------------------------------------------------------------------------------------------- */

int sheet_begin(struct page *page, const struct figure_style *style, struct figure_error *error) {
    struct figure_style own = *style;
    own.width_px = style->width_px ? style->width_px : SHEET_WIDTH_PX;
    int status = page_begin(page, &own, error);
    page->unit = page->width_px / SHEET_WIDTH_MM;
    page->print_mm = SHEET_WIDTH_MM;
    return status ? status : page_paper(page, SHEET_HEIGHT_MM * page->unit, error);
}

void sheet_header(struct sheet *sheet, const char *which) {
    double u = sheet->page->unit, right = SHEET_WIDTH_MM - SHEET_MARGIN;
    char where[128];
    snprintf(where, sizeof where, "%s · luxfall %s", which, luxfall_version());
    struct text page = {.string = where, .size = SHEET_TEXT_MM, .ink = SHEET_INK};
    struct rect box = page_measure(sheet->page, &page);
    struct text title = {.string = sheet->scene->title, .size = 5, .bold = true, .ink = SHEET_INK};
    title.cut = (right - SHEET_MARGIN) * u - box.x1 - 8 * u;
    page_write(sheet->page, &title, SHEET_MARGIN * u, 18 * u, 0, 1);
    page_write(sheet->page, &page, right * u, 17.2 * u, 1, 1);
    sheet_pen(sheet, SHEET_INK, 0.3, false);
    sheet_line(sheet, SHEET_MARGIN, 18.6, right, 18.6);
}

void sheet_footer(struct sheet *sheet, const char *words, double top) {
    double u = sheet->page->unit;
    struct text text = {.string = words, .size = 2.4, .ink = SHEET_INK};
    text.wrap = (SHEET_WIDTH_MM - 2 * SHEET_MARGIN) * u;
    page_write(sheet->page, &text, SHEET_MARGIN * u, top * u, 0, 0);
}

/* ---- numbers --------------------------------------------------------------------------------------------------- */

double sheet_scale(double wide_mm, double high_mm, double box_wide_mm, double box_high_mm, double most) {
    static const double steps[] = {1, 2, 2.5, 4, 5, 10};
    double fits = fmin(box_wide_mm / fmax(wide_mm, 1e-3), box_high_mm / fmax(high_mm, 1e-3));
    double decade = pow(10, floor(log10(fits < 1 ? 1 / fits : fmin(fits, most))));
    size_t i = 0;
    if (fits < 1) {
        while (steps[i] * decade < 1 / fits * (1 - 1e-9))
            i++;
        return 1 / (steps[i] * decade);
    }
    while (steps[i + 1] * decade <= fmin(fits, most) * (1 + 1e-9))
        i++;
    return steps[i] * decade;
}

void sheet_scale_text(double scale, char out[SCALE_SIZE]) {
    if (scale >= 1)
        snprintf(out, SCALE_SIZE, "%.10g:1", scale);
    else
        snprintf(out, SCALE_SIZE, "1:%.10g", 1 / scale);
}

static void one_decimal(double value, const char *unit, char out[SHEET_CELL]) {
    double rounded = round(10 * value) / 10 + 0.0;
    if (isnan(value))
        snprintf(out, SHEET_CELL, "–");
    else
        snprintf(out, SHEET_CELL, "%s%.1f%s", rounded < 0 ? "\u2212" : "", fabs(rounded), unit);
}

void sheet_mm(double mm, char out[SHEET_CELL]) {
    one_decimal(mm, "", out);
}

void sheet_degrees(double rad, char out[SHEET_CELL]) {
    one_decimal(rad * 180 / PI, "°", out);
}

/* ---- pens and words -------------------------------------------------------------------------------------------- */

void sheet_pen(struct sheet *sheet, struct ink ink, double width_mm, bool dashed) {
    cairo_t *cr = sheet->page->cairo;
    const double unit = sheet->page->unit, dashes[] = {1.6 * unit, 1.0 * unit};
    page_ink(sheet->page, ink);
    cairo_set_line_width(cr, width_mm * unit);
    cairo_set_dash(cr, dashes, dashed ? 2 : 0, 0);
}

void sheet_line(struct sheet *sheet, double x0, double y0, double x1, double y1) {
    double u = sheet->page->unit;
    page_line(sheet->page, x0 * u, y0 * u, x1 * u, y1 * u);
}

/* What shows of a line, in mm of paper. */
static void keep_off(struct sheet *sheet, struct segment line) {
    double u = sheet->page->unit;
    if (!sheet->clipped || segment_cut(&line, sheet->clip))
        clutter_add_line(&sheet->clutter, (struct segment){line.x0 * u, line.y0 * u, line.x1 * u, line.y1 * u});
}

void sheet_rule(struct sheet *sheet, double x0, double y0, double x1, double y1) {
    sheet_line(sheet, x0, y0, x1, y1);
    keep_off(sheet, (struct segment){x0, y0, x1, y1});
}

void sheet_arc_rules(struct sheet *sheet, double x, double y, double radius, double from_rad, double to_rad) {
    int count = (int)ceil(fabs(to_rad - from_rad) * 24 / PI);
    for (int i = 0; i < count; i++) {
        double a = from_rad + (to_rad - from_rad) * i / count, b = from_rad + (to_rad - from_rad) * (i + 1) / count;
        keep_off(sheet, (struct segment){x + radius * cos(a), y + radius * sin(a), x + radius * cos(b),
                                         y + radius * sin(b)});
    }
}

void sheet_outline_rules(struct sheet *sheet, struct rect r) {
    keep_off(sheet, (struct segment){r.x0, r.y0, r.x1, r.y0});
    keep_off(sheet, (struct segment){r.x0, r.y1, r.x1, r.y1});
    keep_off(sheet, (struct segment){r.x0, r.y0, r.x0, r.y1});
    keep_off(sheet, (struct segment){r.x1, r.y0, r.x1, r.y1});
}

static struct text plain(const char *string) {
    return (struct text){
        .string = string, .size = SHEET_TEXT_MM, .ink = SHEET_INK, .halo = INK_WHITE, .halo_width = 0.4};
}

static void write_text(struct sheet *sheet, const struct text *text, double x, double y, double ax, double ay) {
    double u = sheet->page->unit;
    struct rect box = page_measure(sheet->page, text);
    double left = x * u - ax * box.x1, top = y * u - ay * box.y1;
    const double gap = 1.2 * u; /* sideways: words closer than that read as one */
    clutter_add_box(&sheet->clutter, (struct rect){left - gap, top, left + box.x1 + gap, top + box.y1});
    page_write(sheet->page, text, x * u, y * u, ax, ay);
}

void sheet_write(struct sheet *sheet, const char *string, double x, double y, double ax, double ay) {
    struct text text = plain(string);
    write_text(sheet, &text, x, y, ax, ay);
}

double sheet_width(struct sheet *sheet, const char *string) {
    struct text text = plain(string);
    return page_measure(sheet->page, &text).x1 / sheet->page->unit;
}

size_t sheet_write_over(struct sheet *sheet, const char *string, struct rect bounds, size_t count,
                        const struct sheet_place *places, int most) {
    double u = sheet->page->unit;
    struct text text = plain(string);
    struct rect size = page_measure(sheet->page, &text);
    struct rect inner = {bounds.x0 * u, bounds.y0 * u, bounds.x1 * u, bounds.y1 * u};
    size_t best = count;
    int fewest = most < INT_MAX ? most + 1 : most;
    for (size_t i = 0; i < count && fewest > 0; i++) {
        double left = places[i].x * u - places[i].ax * size.x1, top = places[i].y * u - places[i].ay * size.y1;
        struct rect box = {left, top, left + size.x1, top + size.y1};
        if (!rect_holds(inner, box) || !clutter_is_free(&sheet->clutter, rect_grown(box, 0.3 * u)))
            continue;
        int under = clutter_lines_under(&sheet->clutter, rect_grown(box, 0.1 * u));
        if (under < fewest) {
            fewest = under;
            best = i;
        }
    }
    if (best < count)
        sheet_write(sheet, string, places[best].x, places[best].y, places[best].ax, places[best].ay);
    return best;
}

bool sheet_write_free(struct sheet *sheet, const char *string, struct rect bounds, size_t count,
                      const struct sheet_place *places) {
    return sheet_write_over(sheet, string, bounds, count, places, INT_MAX) < count;
}

bool sheet_label(struct sheet *sheet, const char *string, struct rect bounds, double x, double y, double radius) {
    double u = sheet->page->unit;
    struct text text = plain(string);
    struct rect size = page_measure(sheet->page, &text), circle = {x * u, y * u, x * u, y * u};
    struct rect inner = {bounds.x0 * u, bounds.y0 * u, bounds.x1 * u, bounds.y1 * u};
    struct label_wish wish = {rect_grown(circle, radius * u), inner, size.x1, size.y1, 0.8 * u, .round = true};
    wish.leaders = true;
    struct label_place place = label_for_frame(&sheet->clutter, &wish);
    if (!place.found)
        return false;
    if (place.leader) {
        sheet_pen(sheet, SHEET_GREY, 0.12, false);
        sheet_rule(sheet, place.line.x0 / u, place.line.y0 / u, place.line.x1 / u, place.line.y1 / u);
    }
    sheet_write(sheet, string, place.box.x0 / u, place.box.y0 / u, 0, 0);
    return true;
}

void sheet_arrow(struct sheet *sheet, double x0, double y0, double x1, double y1) {
    cairo_t *cr = sheet->page->cairo;
    double u = sheet->page->unit, length = hypot(x1 - x0, y1 - y0);
    if (!(length > 0))
        return;
    double dx = (x1 - x0) / length, dy = (y1 - y0) / length, long_mm = 2.0, half_mm = 0.45;
    cairo_move_to(cr, x1 * u, y1 * u);
    cairo_line_to(cr, (x1 - long_mm * dx - half_mm * dy) * u, (y1 - long_mm * dy + half_mm * dx) * u);
    cairo_line_to(cr, (x1 - long_mm * dx + half_mm * dy) * u, (y1 - long_mm * dy - half_mm * dx) * u);
    cairo_close_path(cr);
    cairo_fill(cr);
}

/* Beside the middle of the line and away from it, on its right hand first, then on its left; beyond its ends; where
 * words are in the way of all of them, farther off. */
static void places_beside(struct segment s, double gap, struct sheet_place places[DIMENSION_PLACES]) {
    static const double shifts[] = {0, 0.25, -0.25, 0.4, -0.4};
    double length = hypot(s.x1 - s.x0, s.y1 - s.y0), dx = (s.x1 - s.x0) / length, dy = (s.y1 - s.y0) / length;
    for (int i = 0; i < DIMENSION_PLACES - 2; i++) {
        double side = i % 2 ? -1 : 1, along = 0.5 + shifts[i / 2], vx = side * dy, vy = -side * dx;
        places[i] = (struct sheet_place){s.x0 + along * (s.x1 - s.x0) + gap * vx,
                                         s.y0 + along * (s.y1 - s.y0) + gap * vy, 0.5 - 0.5 * vx, 0.5 - 0.5 * vy};
    }
    places[DIMENSION_PLACES - 2] =
        (struct sheet_place){s.x0 - 2 * gap * dx, s.y0 - 2 * gap * dy, 0.5 + 0.5 * dx, 0.5 + 0.5 * dy};
    places[DIMENSION_PLACES - 1] =
        (struct sheet_place){s.x1 + 2 * gap * dx, s.y1 + 2 * gap * dy, 0.5 - 0.5 * dx, 0.5 - 0.5 * dy};
}

static bool write_beside(struct sheet *sheet, struct segment s, const char *text, struct rect bounds) {
    struct sheet_place places[DIMENSION_PLACES];
    bounds = rect_grown(bounds, -0.8);
    places_beside(s, 0.8, places);
    if (sheet_write_free(sheet, text, bounds, DIMENSION_PLACES, places))
        return true;
    places_beside(s, 5, places);
    return sheet_write_free(sheet, text, bounds, DIMENSION_PLACES - 2, places);
}

bool sheet_dimension(struct sheet *sheet, struct segment s, const char *text, struct rect bounds) {
    double length = hypot(s.x1 - s.x0, s.y1 - s.y0);
    if (!(length > 0.5) || !write_beside(sheet, s, text, bounds))
        return false;
    sheet_pen(sheet, SHEET_INK, 0.15, false);
    sheet_rule(sheet, s.x0, s.y0, s.x1, s.y1);
    if (length > 5) {
        sheet_arrow(sheet, s.x0, s.y0, s.x1, s.y1);
        sheet_arrow(sheet, s.x1, s.y1, s.x0, s.y0);
    }
    return true;
}

void sheet_clip(struct sheet *sheet, struct rect box) {
    double u = sheet->page->unit;
    cairo_save(sheet->page->cairo);
    cairo_rectangle(sheet->page->cairo, box.x0 * u, box.y0 * u, (box.x1 - box.x0) * u, (box.y1 - box.y0) * u);
    cairo_clip(sheet->page->cairo);
    sheet->clip = box;
    sheet->clipped = true;
}

void sheet_unclip(struct sheet *sheet) {
    cairo_restore(sheet->page->cairo);
    sheet->clipped = false;
}

/* ---- drawings to scale ----------------------------------------------------------------------------------------- */

double drawing_x(const struct drawing *drawing, double x_mm) {
    return drawing->origin_x + drawing->scale * x_mm;
}

double drawing_y(const struct drawing *drawing, double y_mm) {
    return drawing->origin_y - drawing->scale * y_mm;
}

void drawing_frame(const struct drawing *drawing, const char *heading) {
    struct rect b = drawing->box;
    sheet_pen(drawing->sheet, SHEET_FAINT, 0.15, false);
    sheet_line(drawing->sheet, b.x0, b.y0, b.x1, b.y0);
    sheet_line(drawing->sheet, b.x1, b.y0, b.x1, b.y1);
    sheet_line(drawing->sheet, b.x1, b.y1, b.x0, b.y1);
    sheet_line(drawing->sheet, b.x0, b.y1, b.x0, b.y0);
    struct text text = plain(heading);
    text.cut = (b.x1 - b.x0 - 3) * drawing->sheet->page->unit;
    write_text(drawing->sheet, &text, b.x0 + 1.5, b.y0 + 1.2, 0, 0);
}

/* Between a fifth and half of 60 mm of paper, a round number of the scene's own. */
struct segment drawing_bar(const struct drawing *drawing, double *bar_mm) {
    struct sheet *sheet = drawing->sheet;
    char text[32];
    *bar_mm = round_below(30 / drawing->scale);
    double length = *bar_mm * drawing->scale, x = drawing->box.x0 + 2, y = drawing->box.y1 - 2.2;
    sheet_pen(sheet, SHEET_INK, 0.5, false);
    sheet_line(sheet, x, y, x + length, y);
    sheet_pen(sheet, SHEET_INK, 0.2, false);
    sheet_line(sheet, x, y - 1.2, x, y + 0.25);
    sheet_line(sheet, x + length, y - 1.2, x + length, y + 0.25);
    snprintf(text, sizeof text, "%.10g mm", *bar_mm);
    sheet_write(sheet, text, x + length + 1.2, y, 0, 0.7);
    return (struct segment){x, y, x + length, y};
}

/* ---- faces ----------------------------------------------------------------------------------------------------- */

/* The outline of what light leaves: of the lens, or of the dies. */
static struct luxfall_face outline(const struct luxfall_scene *light, const struct luxfall_module *module) {
    const struct luxfall_emitter *emitter = &light->emitters[module->emitter];
    if (module->lens != LUXFALL_NO_LENS)
        return luxfall_lens_face(&light->lenses[module->lens]);
    struct luxfall_face face = emitter->die;
    if (face.kind != LUXFALL_POINT && emitter->columns * emitter->rows > 1)
        face = (struct luxfall_face){LUXFALL_RECTANGLE, face.width_mm + (emitter->columns - 1) * emitter->pitch_x_mm,
                                     face.height_mm + (emitter->rows - 1) * emitter->pitch_y_mm};
    return face;
}

size_t face_corners(const struct luxfall_scene *light, size_t module, struct luxfall_vec corners[FACE_CORNERS]) {
    const struct luxfall_module *m = &light->modules[module];
    const struct luxfall_pose *p = &m->pose;
    struct luxfall_face face = outline(light, m);
    size_t count = face.kind == LUXFALL_DISC ? FACE_CORNERS : face.kind == LUXFALL_RECTANGLE ? 4 : 0;
    for (size_t i = 0; i < count; i++) {
        double a = 2 * PI * (double)i / FACE_CORNERS;
        double u = face.kind == LUXFALL_DISC ? cos(a) : i == 0 || i == 3 ? 1 : -1;
        double v = face.kind == LUXFALL_DISC ? sin(a) : i < 2 ? 1 : -1;
        u *= face.width_mm / 2;
        v *= face.height_mm / 2;
        corners[i] = (struct luxfall_vec){p->at_mm.x + u * p->x.x + v * p->y.x, p->at_mm.y + u * p->x.y + v * p->y.y,
                                          p->at_mm.z + u * p->x.z + v * p->y.z};
    }
    return count;
}
