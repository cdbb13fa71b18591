#include "tone.h"

#include <math.h>
#include <stdio.h>
#include <string.h>

enum { BAR_GAP = 38, BAR_WIDTH = 28, BAR_TIP = 18, BAR_TICKS_MOST = 12 };
static const double tick_height = 36;

static double highest_along(const struct luxfall_section *line, double least) {
    for (size_t i = 0; i < line->count; i++)
        least = fmax(least, line->lx[i]);
    return least;
}

/* With the profiles: noise may lift a place of theirs over the peak. */
static double highest(const struct luxfall_plane_result *plane) {
    double peak = isfinite(plane->peak_lx.value) ? plane->peak_lx.value : 0;
    peak = highest_along(&plane->along_x, highest_along(&plane->along_y, peak));
    if (plane->e_u95_lx != NULL && peak > 0)
        return peak; /* by rays a single cell above it is noise */
    for (size_t i = 0; i < (size_t)plane->columns * (size_t)plane->rows; i++)
        peak = fmax(peak, plane->e_lx[i]);
    return peak;
}

static void note_clipping(struct tone *tone, const struct luxfall_plane_result *plane) {
    tone->over = tone->over || highest(plane) > 1.001 * tone->top;
    for (size_t i = 0; i < (size_t)plane->columns * (size_t)plane->rows; i++)
        tone->under = tone->under || (tone->kind == FIGURE_LOG && plane->e_lx[i] < tone->bottom);
}

/* Lowest light of the planes, but no more than four decades below the top; a round number. */
static double log_bottom(size_t count, const struct luxfall_plane_result *const *planes, double top_lx) {
    double least = top_lx / 10;
    for (size_t p = 0; p < count; p++)
        for (size_t i = 0; i < (size_t)planes[p]->columns * (size_t)planes[p]->rows; i++)
            if (planes[p]->e_lx[i] > 0 && planes[p]->e_lx[i] < least)
                least = planes[p]->e_lx[i];
    return round_below(fmax(least, top_lx * 1e-4));
}

double figure_top_lx(double peak_lx) {
    return peak_lx > 0 ? round_above(peak_lx) : 1;
}

int tone_make(struct tone *tone, size_t count, const struct luxfall_plane_result *const *planes,
              const struct figure_style *style, struct figure_error *error) {
    if (style->top_lx != 0 && !(style->top_lx >= 1e-9 && style->top_lx <= 1e15))
        return figure_fail(error, 2, "the top of the colour bar must be an illuminance above 0 lx, it is %g lx",
                           style->top_lx);
    double peak = 0;
    for (size_t p = 0; p < count; p++)
        peak = fmax(peak, highest(planes[p]));
    tone->kind = style->scale;
    tone->top = style->top_lx > 0 ? style->top_lx : figure_top_lx(peak);
    tone->bottom = tone->kind == FIGURE_LOG ? log_bottom(count, planes, tone->top) : 0;
    tone->over = tone->under = false;
    for (size_t p = 0; p < count; p++)
        note_clipping(tone, planes[p]);
    colour_scale_fill(&tone->colours);
    tone->unit = lux_unit(tone->top);
    snprintf(tone->label, sizeof tone->label, "illuminance (%s)", tone->unit.name);
    return 0;
}

/* The rows of a map are the bulk of a picture's work: single precision, and no call per pixel. */
void tone_row(const struct tone *tone, const float *values, int count, uint32_t *pixels) {
    const float steps = COLOUR_SCALE_STEPS - 1, bottom = (float)tone->bottom;
    bool log_scale = tone->kind == FIGURE_LOG;
    float gain = (float)(log_scale ? 1 / log(tone->top / tone->bottom) : 1 / (tone->top - tone->bottom));
    for (int x = 0; x < count; x++) {
        float value = log_scale ? logf(fmaxf(values[x] / bottom, 1)) : values[x] - bottom;
        float step = value * gain * steps + 0.5F;
        step = step > 0 ? step : 0; /* NaN too */
        const unsigned char *c = tone->colours.rgb[(int)(step < steps ? step : steps)];
        pixels[x] = 0xff000000U | (uint32_t)c[0] << 16 | (uint32_t)c[1] << 8 | c[2];
    }
}

double tone_share(const struct tone *tone, double value) {
    double share = tone->kind == FIGURE_LOG
                       ? value > 0 ? log(value / tone->bottom) / log(tone->top / tone->bottom) : 0
                       : (value - tone->bottom) / (tone->top - tone->bottom);
    return share > 0 ? fmin(share, 1) : 0;
}

struct ink tone_ink(const struct tone *tone, double value) {
    const unsigned char *c = colour_scale_at(&tone->colours, tone_share(tone, value));
    return (struct ink){c[0] / 255.0, c[1] / 255.0, c[2] / 255.0, 1};
}

struct ink tone_reading_ink(const struct tone *tone, double value) {
    return colour_scale_wants_dark_ink(&tone->colours, tone_share(tone, value)) ? INK_NIGHT : INK_WHITE;
}

/* The bar's axis, in its own unit; height_px rules how many numbers it has and where its words break. */
static struct axis bar_axis(const struct page *page, const struct tone *tone, double height_px) {
    double bottom = tone->bottom / tone->unit.size, top = tone->top / tone->unit.size;
    int at_most = (int)fmin(height_px / (tick_height * page->unit), BAR_TICKS_MOST);
    struct axis axis = {.side = SIDE_RIGHT, .label = tone->label, .label_px = height_px};
    axis.ticks = tone->kind == FIGURE_LOG ? ticks_log(bottom, top, at_most) : ticks_linear(bottom, top, at_most);
    return axis;
}

double tone_bar_width(struct page *page, const struct tone *tone, double height_px) {
    struct axis axis = bar_axis(page, tone, height_px);
    return page->unit * (BAR_GAP + BAR_WIDTH) + axis_depth(page, &axis);
}

/* Every row of pixels has its own colour; the tips past the ends say that some light is off the scale. */
static void draw_bar(struct page *page, const struct tone *tone, struct rect bar) {
    cairo_t *cr = page->cairo;
    for (int y = (int)bar.y0; y < (int)bar.y1; y++) {
        const unsigned char *c = colour_scale_at(&tone->colours, (bar.y1 - y - 0.5) / (bar.y1 - bar.y0));
        cairo_set_source_rgb(cr, c[0] / 255.0, c[1] / 255.0, c[2] / 255.0);
        cairo_rectangle(cr, bar.x0, y, bar.x1 - bar.x0, 1);
        cairo_fill(cr);
    }
    double middle = (bar.x0 + bar.x1) / 2, tip = BAR_TIP * page->unit;
    cairo_move_to(cr, bar.x0, bar.y0);
    if (tone->over)
        cairo_line_to(cr, middle, bar.y0 - tip);
    cairo_line_to(cr, bar.x1, bar.y0);
    cairo_line_to(cr, bar.x1, bar.y1);
    if (tone->under)
        cairo_line_to(cr, middle, bar.y1 + tip);
    cairo_line_to(cr, bar.x0, bar.y1);
    cairo_close_path(cr);
    cairo_set_line_width(cr, 1.3 * page->unit);
    page_ink(page, INK_TEXT);
    cairo_stroke(cr);
}

static void fill_tips(struct page *page, const struct tone *tone, struct rect bar) {
    cairo_t *cr = page->cairo;
    double middle = (bar.x0 + bar.x1) / 2, tip = BAR_TIP * page->unit;
    const double ends[2][3] = {{tone->over, bar.y0, -tip}, {tone->under, bar.y1, tip}};
    for (int i = 0; i < 2; i++)
        if (ends[i][0] != 0) {
            page_ink(page, tone_ink(tone, i == 0 ? INFINITY : -INFINITY));
            cairo_move_to(cr, bar.x0, ends[i][1]);
            cairo_line_to(cr, middle, ends[i][1] + ends[i][2]);
            cairo_line_to(cr, bar.x1, ends[i][1]);
            cairo_fill(cr);
        }
}

static double bar_y(const struct tone *tone, struct rect bar, double value) {
    return bar.y1 - tone_share(tone, value) * (bar.y1 - bar.y0);
}

void tone_bar_draw(struct page *page, const struct tone *tone, struct rect panel, size_t mark_count,
                   const double *marks) {
    double u = page->unit, x0 = round(panel.x1 + BAR_GAP * u), x1 = round(x0 + BAR_WIDTH * u);
    struct rect bar = {x0, round(panel.y0 + (tone->over ? BAR_TIP * u : 0)), x1,
                       round(panel.y1 - (tone->under ? BAR_TIP * u : 0))};
    struct axis axis = bar_axis(page, tone, panel.y1 - panel.y0);
    fill_tips(page, tone, bar);
    draw_bar(page, tone, bar);
    cairo_set_line_width(page->cairo, 1.3 * u);
    for (size_t i = 0; i < mark_count; i++)
        if (marks[i] > tone->bottom && marks[i] < tone->top) {
            page_ink(page, tone_reading_ink(tone, marks[i]));
            page_line(page, x0 + 1, bar_y(tone, bar, marks[i]), x1 - 1, bar_y(tone, bar, marks[i]));
        }
    for (int i = 0; i < axis.ticks.count; i++)
        axis.px[i] = bar_y(tone, bar, axis.ticks.at[i] * tone->unit.size);
    axis_draw(page, &axis, bar);
}
