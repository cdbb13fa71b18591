#include "profile.h"

#include <math.h>
#include <stdio.h>

enum {
    MARGIN = 30,
    PLOT_HEIGHT = 470,
    BETWEEN = 76,
    TICK = 7,
    TICK_GAP = 6,
    LABEL_GAP = 12,
    ROW = 30,
    ROWS_MAX = 12
};
static const double tick_size = 19, label_size = 20, name_size = 18;

/* ---- fields along a line ----------------------------------------------------------------------------------------
 */

static double half_extent(const struct luxfall_plane_result *plane, char axis) {
    return plane->cell_mm * (axis == 'x' ? plane->columns : plane->rows) / 2;
}

struct span {
    double from_mm, to_mm;
};

/* Where the line through the centre meets a field; false when it passes by, or off the map. */
static bool field_span(const struct luxfall_field *field, const struct luxfall_plane_result *plane, char axis,
                       struct span *span) {
    double along = axis == 'x' ? field->x_mm : field->y_mm, off = axis == 'x' ? field->y_mm : field->x_mm;
    double half = (axis == 'x' ? field->width_mm : field->height_mm) / 2;
    double half_off = (axis == 'x' ? field->height_mm : field->width_mm) / 2, border = half_extent(plane, axis);
    if (fabs(off) >= half_off)
        return false;
    if (field->round)
        half = sqrt(half * half - off * off);
    *span = (struct span){along - half, along + half};
    return span->to_mm > -border && span->from_mm < border;
}

size_t profile_rows(const struct scene *scene, const struct luxfall_plane_result *plane, char axis) {
    size_t rows = 0;
    struct span span;
    for (size_t i = 0; i < scene->light.field_count; i++)
        rows += field_span(&scene->light.fields[i], plane, axis, &span);
    return rows < ROWS_MAX ? rows : ROWS_MAX;
}

/* ---- axes -------------------------------------------------------------------------------------------------------
 */

static double at_x(const struct profile *p, double mm) {
    return (p->plot.x0 + p->plot.x1) / 2 + mm / half_extent(p->plane, p->axis) * (p->plot.x1 - p->plot.x0) / 2;
}

static double at_y(const struct profile *p, double lux) {
    return p->plot.y1 - tone_share(p->tone, lux) * (p->plot.y1 - p->plot.y0);
}

static struct ticks upright_ticks(const struct tone *tone, double unit_lx) {
    return tone->kind == FIGURE_LOG ? ticks_log(tone->bottom_lx / unit_lx, tone->top_lx / unit_lx, 12)
                                    : ticks_linear(0, tone->top_lx / unit_lx, 11);
}

static double widest(struct page *page, const struct ticks *ticks) {
    double width = 0;
    for (int i = 0; i < ticks->count; i++) {
        char number[NUMBER_SIZE];
        tick_text(ticks, i, number);
        width = fmax(width, page_measure(page, &(struct text){.string = number, .size = tick_size}).x1);
    }
    return width;
}

static double line_height(struct page *page, double size) {
    return page_measure(page, &(struct text){.string = "0", .size = size}).y1;
}

double profile_left(struct page *page, const struct tone *tone) {
    struct ticks ticks = upright_ticks(tone, lux_unit(tone->top_lx).size);
    return (TICK + TICK_GAP + LABEL_GAP) * page->unit + widest(page, &ticks) + line_height(page, label_size);
}

double profile_right(struct page *page, const struct tone *tone, double percent_of_lx) {
    if (!(percent_of_lx > 0))
        return 0;
    struct ticks ticks = upright_ticks(tone, percent_of_lx / 100);
    return (TICK + TICK_GAP + LABEL_GAP) * page->unit + widest(page, &ticks) + line_height(page, label_size);
}

double profile_below(struct page *page) {
    return (TICK + TICK_GAP + 4) * page->unit + line_height(page, tick_size) + line_height(page, label_size);
}

static void draw_flat_axis(const struct profile *p) {
    struct page *page = p->page;
    double u = page->unit, half = half_extent(p->plane, p->axis), width = p->plot.x1 - p->plot.x0;
    struct shown_unit unit = length_unit(2 * half);
    struct ticks ticks = {0};
    for (int at_most = 9; at_most > 1; at_most--) {
        ticks = ticks_linear(-half / unit.size, half / unit.size, at_most);
        double apart = ticks.count > 1 ? (ticks.at[1] - ticks.at[0]) * unit.size / (2 * half) * width : width;
        if (apart > widest(page, &ticks) + 24 * u)
            break;
    }
    for (int i = 0; i < ticks.count; i++) {
        char number[NUMBER_SIZE];
        tick_text(&ticks, i, number);
        double x = at_x(p, ticks.at[i] * unit.size);
        page_ink(page, INK_TEXT);
        page_line(page, x, p->plot.y1, x, p->plot.y1 + TICK * u);
        page_write(page, &(struct text){.string = number, .size = tick_size, .ink = INK_TEXT}, x,
                   p->plot.y1 + (TICK + TICK_GAP) * u, 0.5, 0);
    }
    char label[32];
    snprintf(label, sizeof label, "%c (%s)", p->axis, unit.name);
    page_write(page, &(struct text){.string = label, .size = label_size, .ink = INK_TEXT}, at_x(p, 0),
               p->plot.y1 + (TICK + TICK_GAP + 4) * u + line_height(page, tick_size), 0.5, 0);
}

/* Numbers at the left (side -1) or the right (1) of the plot, in a unit of unit_lx. */
static void draw_upright_axis(const struct profile *p, int side, double unit_lx, const char *label) {
    struct page *page = p->page;
    double u = page->unit, x = side < 0 ? p->plot.x0 : p->plot.x1;
    struct ticks ticks = upright_ticks(p->tone, unit_lx);
    for (int i = 0; i < ticks.count; i++) {
        char number[NUMBER_SIZE];
        tick_text(&ticks, i, number);
        double y = at_y(p, ticks.at[i] * unit_lx);
        page_ink(page, INK_TEXT);
        page_line(page, x, y, x + side * TICK * u, y);
        page_write(page, &(struct text){.string = number, .size = tick_size, .ink = INK_TEXT},
                   x + side * (TICK + TICK_GAP) * u, y, side < 0 ? 1 : 0, 0.5);
    }
    double label_x = x + side * ((TICK + TICK_GAP + LABEL_GAP) * u + widest(page, &ticks));
    page_write(page, &(struct text){.string = label, .size = label_size, .upright = true, .ink = INK_TEXT}, label_x,
               (p->plot.y0 + p->plot.y1) / 2, side < 0 ? 1 : 0, 0.5);
}

static void draw_axes(const struct profile *p) {
    struct shown_unit unit = lux_unit(p->tone->top_lx);
    cairo_set_line_width(p->page->cairo, 1.5 * p->page->unit);
    draw_flat_axis(p);
    if (p->first) {
        char label[64];
        snprintf(label, sizeof label, "illuminance (%s)", unit.name);
        draw_upright_axis(p, -1, unit.size, label);
    }
    if (p->percent_of_lx > 0)
        draw_upright_axis(p, 1, p->percent_of_lx / 100, "percent of the peak");
    page_ink(p->page, INK_TEXT);
    cairo_rectangle(p->page->cairo, p->plot.x0, p->plot.y0, p->plot.x1 - p->plot.x0, p->plot.y1 - p->plot.y0);
    cairo_stroke(p->page->cairo);
}

static void draw_grid(const struct profile *p) {
    struct ticks ticks = upright_ticks(p->tone, 1);
    page_ink(p->page, INK_RULE);
    cairo_set_line_width(p->page->cairo, p->page->unit);
    for (int i = 0; i < ticks.count; i++)
        page_line(p->page, p->plot.x0, at_y(p, ticks.at[i]), p->plot.x1, at_y(p, ticks.at[i]));
}

/* ---- fields -----------------------------------------------------------------------------------------------------
 */

/* Name on the bar when it is long enough, else beside it, on the side with more room. */
static void draw_field_name(const struct profile *p, const char *name, struct span span, double y) {
    struct text text = {.string = name, .size = name_size, .ink = INK_TEXT, .halo = INK_WHITE, .halo_width = 5};
    double u = p->page->unit, gap = 8 * u, width = page_measure(p->page, &text).x1;
    double x0 = fmax(at_x(p, span.from_mm), p->plot.x0), x1 = fmin(at_x(p, span.to_mm), p->plot.x1);
    double left = x0 - gap - p->plot.x0, right = p->plot.x1 - x1 - gap, inside = x1 - x0 - 30 * u;
    double x, room;
    if (width <= inside || (inside > left && inside > right)) {
        room = inside;
        x = (x0 + x1 - fmin(width, room)) / 2;
    } else if (width <= right || right >= left) {
        room = right;
        x = x1 + gap;
    } else {
        room = left;
        x = x0 - gap - fmin(width, room);
    }
    if (width > room)
        text.cut = room;
    page_write(p->page, &text, x, y, 0, 0.5);
}

/* A bar with ends, and dashed edges from there down through the plot; an edge off the map is left out. */
static void draw_field(const struct profile *p, struct span span, double y) {
    cairo_t *cr = p->page->cairo;
    double u = p->page->unit, half = half_extent(p->plane, p->axis), dash[] = {5 * u, 4 * u};
    double ends[2] = {span.from_mm, span.to_mm};
    page_ink(p->page, INK_SOFT);
    for (int i = 0; i < 2; i++) {
        if (fabs(ends[i]) >= half)
            continue;
        double x = at_x(p, ends[i]);
        cairo_set_line_width(cr, 1.2 * u);
        cairo_set_dash(cr, dash, 2, 0);
        page_line(p->page, x, y + 6 * u, x, p->plot.y1);
        cairo_set_dash(cr, NULL, 0, 0);
        cairo_set_line_width(cr, 2 * u);
        page_line(p->page, x, y - 6 * u, x, y + 6 * u);
    }
    page_line(p->page, at_x(p, fmax(span.from_mm, -half)), y, at_x(p, fmin(span.to_mm, half)), y);
}

/* Edges first, names over them: a name may lie across another field's edge, never on another name. */
static void draw_fields(const struct profile *p) {
    double u = p->page->unit, row = ROW * u, top = p->plot.y0 - 6 * u + row / 2;
    top -= (double)profile_rows(p->scene, p->plane, p->axis) * row;
    for (int pass = 0; pass < 2; pass++) {
        size_t rows = 0;
        for (size_t i = 0; i < p->scene->light.field_count && rows < ROWS_MAX; i++) {
            const struct luxfall_field *field = &p->scene->light.fields[i];
            struct span span;
            if (!field_span(field, p->plane, p->axis, &span))
                continue;
            double y = top + (double)rows++ * row;
            if (pass == 0)
                draw_field(p, span, y);
            else
                draw_field_name(p, field->name, span, y);
        }
    }
}

/* ---- curves -----------------------------------------------------------------------------------------------------
 */

void curve_pen(struct page *page, const struct curve *curve) {
    static const double dashes[][4] = {{0},           {14, 6, 14, 6}, {3, 5, 3, 5},
                                       {16, 5, 3, 5}, {26, 7, 26, 7}, {8, 4, 8, 4}};
    int style = curve->style % 6;
    double dash[4];
    for (int i = 0; i < 4; i++)
        dash[i] = dashes[style][i] * page->unit;
    cairo_set_dash(page->cairo, dash, style == 0 ? 0 : 4, 0);
    cairo_set_line_width(page->cairo, 2.6 * page->unit);
    page_ink(page, curve->ink);
}

static void draw_band(const struct profile *p, const struct curve *curve) {
    const struct luxfall_section *s = curve->section;
    cairo_t *cr = p->page->cairo;
    struct ink ink = curve->ink;
    bool any = false;
    for (size_t i = 0; i < s->count; i++)
        if (isfinite(s->u95_lx[i])) {
            cairo_line_to(cr, at_x(p, s->at_mm[i]), at_y(p, s->lx[i] + s->u95_lx[i]));
            any = true;
        }
    if (!any)
        return;
    for (size_t i = s->count; i-- > 0;)
        if (isfinite(s->u95_lx[i]))
            cairo_line_to(cr, at_x(p, s->at_mm[i]), at_y(p, s->lx[i] - s->u95_lx[i]));
    cairo_close_path(cr);
    ink.opacity = 0.28;
    page_ink(p->page, ink);
    cairo_fill(cr);
}

static void draw_curve(const struct profile *p, const struct curve *curve) {
    const struct luxfall_section *s = curve->section;
    draw_band(p, curve);
    curve_pen(p->page, curve);
    for (size_t i = 0; i < s->count; i++)
        if (isfinite(s->lx[i]))
            cairo_line_to(p->page->cairo, at_x(p, s->at_mm[i]), at_y(p, s->lx[i]));
    cairo_stroke(p->page->cairo);
    cairo_set_dash(p->page->cairo, NULL, 0, 0);
}

void profile_draw(const struct profile *p) {
    cairo_t *cr = p->page->cairo;
    draw_grid(p);
    draw_fields(p);
    cairo_save(cr);
    cairo_rectangle(cr, p->plot.x0, p->plot.y0, p->plot.x1 - p->plot.x0, p->plot.y1 - p->plot.y0);
    cairo_clip(cr);
    for (size_t i = 0; i < p->curve_count; i++)
        draw_curve(p, &p->curves[i]);
    cairo_restore(cr);
    draw_axes(p);
}

/* ---- side by side -----------------------------------------------------------------------------------------------
 */

static double rows_height(struct page *page, const struct scene *scene, const struct luxfall_plane_result *plane) {
    size_t x = profile_rows(scene, plane, 'x'), y = profile_rows(scene, plane, 'y');
    return (double)(x > y ? x : y) * ROW * page->unit;
}

double profiles_height(struct page *page, const struct scene *scene, const struct luxfall_plane_result *plane) {
    return rows_height(page, scene, plane) + PLOT_HEIGHT * page->unit + profile_below(page);
}

double profiles_draw(struct profile *along_x, struct profile *along_y, double y0) {
    struct page *page = along_x->page;
    double u = page->unit, left = MARGIN * u + profile_left(page, along_x->tone);
    double right = page->width_px - MARGIN * u - profile_right(page, along_y->tone, along_y->percent_of_lx);
    double width = (right - left - BETWEEN * u) / 2, top = y0 + rows_height(page, along_x->scene, along_x->plane);
    double bottom = top + PLOT_HEIGHT * u;
    along_x->plot = (struct rect){round(left), round(top), round(left + width), round(bottom)};
    along_y->plot = (struct rect){round(right - width), round(top), round(right), round(bottom)};
    profile_draw(along_x);
    profile_draw(along_y);
    return bottom + profile_below(page);
}
