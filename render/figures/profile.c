#include "profile.h"

#include "readings.h"

#include <math.h>
#include <stdio.h>

enum { MARGIN = 30, PLOT_HEIGHT = 470, BETWEEN = 76, ROW = 30, ROWS_MAX = 12 };
static const double name_size = 18;

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
    return tone->kind == FIGURE_LOG ? ticks_log(tone->bottom / unit_lx, tone->top / unit_lx, 12)
                                    : ticks_linear(0, tone->top / unit_lx, 11);
}

/* Numbers at the left or the right of the plot, in a unit of unit_lx. */
static struct axis upright_axis(const struct tone *tone, enum side side, double unit_lx, const char *label) {
    return (struct axis){.side = side, .ticks = upright_ticks(tone, unit_lx), .label = label};
}

double profile_left(struct page *page, const struct tone *tone) {
    struct axis axis = upright_axis(tone, SIDE_LEFT, lux_unit(tone->top).size, "illuminance");
    return axis_depth(page, &axis);
}

double profile_right(struct page *page, const struct tone *tone, double percent_of_lx) {
    if (!(percent_of_lx > 0))
        return 0;
    struct axis axis = upright_axis(tone, SIDE_RIGHT, percent_of_lx / 100, "percent");
    return axis_depth(page, &axis);
}

double profile_below(struct page *page) {
    struct axis axis = {.side = SIDE_BELOW, .ticks = {.count = 1}, .label = "x (mm)"};
    return axis_depth(page, &axis);
}

static void draw_flat_axis(const struct profile *p) {
    double extent = 2 * half_extent(p->plane, p->axis), width = p->plot.x1 - p->plot.x0;
    struct shown_unit unit = length_unit(extent);
    double half = extent / 2 / unit.size;
    char label[32];
    if (p->both)
        snprintf(label, sizeof label, "x, y (%s)", unit.name);
    else
        snprintf(label, sizeof label, "%c (%s)", p->axis, unit.name);
    struct axis axis = {.side = SIDE_BELOW, .label = label};
    axis.ticks = axis_ticks(p->page, SIDE_BELOW, -half, half, width, 1);
    axis_place(&axis, -half, half, p->plot.x0, p->plot.x1);
    axis_draw(p->page, &axis, p->plot);
}

static void draw_upright_axis(const struct profile *p, enum side side, double unit_lx, const char *label) {
    struct axis axis = upright_axis(p->tone, side, unit_lx, label);
    for (int i = 0; i < axis.ticks.count; i++)
        axis.px[i] = at_y(p, axis.ticks.at[i] * unit_lx);
    axis_draw(p->page, &axis, p->plot);
}

static void draw_axes(const struct profile *p) {
    struct shown_unit unit = lux_unit(p->tone->top);
    draw_flat_axis(p);
    if (p->first) {
        char label[64];
        snprintf(label, sizeof label, "illuminance (%s)", unit.name);
        draw_upright_axis(p, SIDE_LEFT, unit.size, label);
    }
    if (p->percent_of_lx > 0)
        draw_upright_axis(p, SIDE_RIGHT, p->percent_of_lx / 100, "percent of the peak");
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

static void draw_band(const struct profile *p, const struct curve *curve) {
    const struct luxfall_section *s = curve->section;
    cairo_t *cr = p->page->cairo;
    struct ink ink = curve->pen.ink;
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
    pen_take(p->page, curve->pen);
    for (size_t i = 0; i < s->count; i++)
        if (isfinite(s->lx[i]))
            cairo_line_to(p->page->cairo, at_x(p, s->at_mm[i]), at_y(p, s->lx[i]));
    cairo_stroke(p->page->cairo);
    pen_rest(p->page);
}

/* ---- readings ---------------------------------------------------------------------------------------------------
 */

static void round_path(const struct profile *p, double x, double y, double radius) {
    cairo_new_sub_path(p->page->cairo);
    cairo_arc(p->page->cairo, x, y, radius * p->page->unit, 0, 6.28318530717958648);
}

static void draw_bar(const struct profile *p, double x, double low_lx, double high_lx) {
    double ends[] = {at_y(p, low_lx), at_y(p, high_lx)}, half = 5 * p->page->unit;
    page_line(p->page, x, ends[0], x, ends[1]);
    for (int i = 0; i < 2; i++)
        page_line(p->page, x - half, ends[i], x + half, ends[i]);
}

/* The forecast as an open ring; the reading as a dot that fits into it, with a bar of twice the standard uncertainty
 * each way. */
static void draw_reading(const struct profile *p, const struct scene_reading *reading, double forecast_lx) {
    double x = at_x(p, p->axis == 'x' ? reading->taken.x_mm : reading->taken.y_mm), u = p->page->unit;
    page_ink(p->page, INK_NIGHT);
    cairo_set_line_width(p->page->cairo, 1.6 * u);
    if (isfinite(forecast_lx)) {
        round_path(p, x, at_y(p, forecast_lx), 7);
        cairo_stroke(p->page->cairo);
    }
    if (!isfinite(reading->lx))
        return;
    if (isfinite(reading->u_lx))
        draw_bar(p, x, reading->lx - 2 * reading->u_lx, reading->lx + 2 * reading->u_lx);
    round_path(p, x, at_y(p, reading->lx), 4);
    cairo_fill(p->page->cairo);
}

static void draw_readings(const struct profile *p) {
    for (size_t i = 0; p->readings != NULL && i < p->readings->count; i++)
        if (reading_is_on_profile(&p->readings->readings[i], p->plane, p->axis))
            draw_reading(p, &p->readings->readings[i], p->readings->forecast_lx[i].value);
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
    draw_readings(p);
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
