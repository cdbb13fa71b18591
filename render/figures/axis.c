#include "axis.h"

#include <math.h>
#include <stdio.h>

enum { TICK = 7, TICK_GAP = 6, LABEL_GAP = 10, LABEL_GAP_FLAT = 4, TICKS_MOST = 11, LABEL_LINES = 3 };
static const double tick_size = 19, label_size = 20;

static bool is_upright(enum side side) {
    return side == SIDE_LEFT || side == SIDE_RIGHT;
}

static double scale_of(const struct axis *axis) {
    return axis->text_scale > 0 ? axis->text_scale : 1;
}

/* ---- which numbers ----------------------------------------------------------------------------------------------
 */

static struct text number(const struct axis *axis, int i, char string[NUMBER_SIZE]) {
    tick_text(&axis->ticks, i, string);
    return (struct text){.string = string, .size = tick_size * scale_of(axis), .ink = INK_TEXT};
}

double axis_number_width(struct page *page, const struct axis *axis, int i) {
    char string[NUMBER_SIZE];
    struct text text = number(axis, i, string);
    return page_measure(page, &text).x1;
}

/* The box that holds any of the numbers. */
static struct rect largest_number(struct page *page, const struct axis *axis) {
    struct rect box = {0, 0, 0, 0};
    for (int i = 0; i < axis->ticks.count; i++) {
        char string[NUMBER_SIZE];
        struct text text = number(axis, i, string);
        struct rect size = page_measure(page, &text);
        box.x1 = fmax(box.x1, size.x1);
        box.y1 = fmax(box.y1, size.y1);
    }
    return box;
}

struct ticks axis_ticks(struct page *page, enum side side, double lo, double hi, double length_px,
                        double text_scale) {
    struct axis axis = {.side = side, .text_scale = text_scale};
    for (int at_most = TICKS_MOST; at_most > 1; at_most--) {
        axis.ticks = ticks_linear(lo, hi, at_most);
        if (axis.ticks.count < 2)
            return axis.ticks;
        struct rect largest = largest_number(page, &axis);
        double apart = (axis.ticks.at[1] - axis.ticks.at[0]) / (hi - lo) * length_px;
        if (apart > (is_upright(side) ? 1.7 * largest.y1 : largest.x1 + 0.9 * largest.y1))
            return axis.ticks;
    }
    axis.ticks.count = 1;
    return axis.ticks;
}

struct ticks axis_ticks_of(struct page *page, enum side side, size_t count, const double *values, double lo,
                           double hi, double length_px) {
    struct ticks ticks = axis_ticks(page, side, lo, hi, length_px, 1);
    bool whole = true, single = count > 0;
    for (size_t i = 0; i < count; i++) {
        whole = whole && values[i] == round(values[i]);
        single = single && values[i] == values[0];
    }
    if (single)
        return ticks_single(values[0]);
    if (whole && ticks.decimals > 0)
        for (ticks = (struct ticks){0}; ceil(lo) + ticks.count <= hi && ticks.count < TICKS_MAX; ticks.count++)
            ticks.at[ticks.count] = ceil(lo) + ticks.count;
    return ticks;
}

void axis_label(char *out, size_t size, const char *label, const char *unit) {
    snprintf(out, size, unit != NULL && unit[0] != '\0' ? "%s (%s)" : "%s", label, unit);
}

void axis_place(struct axis *axis, double lo, double hi, double lo_px, double hi_px) {
    for (int i = 0; i < axis->ticks.count; i++)
        axis->px[i] = lo_px + (axis->ticks.at[i] - lo) / (hi - lo) * (hi_px - lo_px);
}

/* ---- drawing ----------------------------------------------------------------------------------------------------
 */

static struct text label_text(struct page *page, const struct axis *axis) {
    struct text text = {.string = axis->label,
                        .size = label_size * scale_of(axis),
                        .upright = is_upright(axis->side),
                        .ink = INK_TEXT};
    struct rect size = page_measure(page, &text);
    if (axis->label_px > 0 && (text.upright ? size.y1 : size.x1) > axis->label_px) {
        text.wrap = axis->label_px;
        text.lines = LABEL_LINES;
        text.centred = true;
    }
    return text;
}

/* From the plot to the far side of the numbers. */
static double numbers_depth(struct page *page, const struct axis *axis) {
    struct rect largest = largest_number(page, axis);
    return (TICK + TICK_GAP) * page->unit + (is_upright(axis->side) ? largest.x1 : largest.y1);
}

static double label_gap(const struct page *page, const struct axis *axis) {
    return (is_upright(axis->side) ? LABEL_GAP : LABEL_GAP_FLAT) * scale_of(axis) * page->unit;
}

double axis_depth(struct page *page, const struct axis *axis) {
    double depth = numbers_depth(page, axis);
    if (axis->label == NULL)
        return depth;
    struct text text = label_text(page, axis);
    struct rect size = page_measure(page, &text);
    return depth + label_gap(page, axis) + (text.upright ? size.x1 : size.y1);
}

/* Writes at a distance outside the plot, centred on `along`. */
static void write_outside(struct page *page, const struct axis *axis, struct rect plot, const struct text *text,
                          double along, double out) {
    switch (axis->side) {
    case SIDE_LEFT:
        page_write(page, text, plot.x0 - out, along, 1, 0.5);
        break;
    case SIDE_RIGHT:
        page_write(page, text, plot.x1 + out, along, 0, 0.5);
        break;
    case SIDE_ABOVE:
        page_write(page, text, along, plot.y0 - out, 0.5, 1);
        break;
    case SIDE_BELOW:
        page_write(page, text, along, plot.y1 + out, 0.5, 0);
        break;
    }
}

static void draw_tick(struct page *page, enum side side, struct rect plot, double along) {
    double tick = TICK * page->unit * (side == SIDE_LEFT || side == SIDE_ABOVE ? -1 : 1);
    page_ink(page, INK_TEXT);
    if (is_upright(side)) {
        double x = side == SIDE_LEFT ? plot.x0 : plot.x1;
        page_line(page, x, along, x + tick, along);
    } else {
        double y = side == SIDE_ABOVE ? plot.y0 : plot.y1;
        page_line(page, along, y, along, y + tick);
    }
}

void axis_draw(struct page *page, const struct axis *axis, struct rect plot) {
    double u = page->unit;
    cairo_set_line_width(page->cairo, 1.5 * u);
    for (int i = 0; i < axis->ticks.count; i++) {
        char string[NUMBER_SIZE];
        struct text text = number(axis, i, string);
        draw_tick(page, axis->side, plot, axis->px[i]);
        write_outside(page, axis, plot, &text, axis->px[i], (TICK + TICK_GAP) * u);
    }
    if (axis->label == NULL)
        return;
    double middle = is_upright(axis->side) ? (plot.y0 + plot.y1) / 2 : (plot.x0 + plot.x1) / 2;
    struct text text = label_text(page, axis);
    write_outside(page, axis, plot, &text, middle, numbers_depth(page, axis) + label_gap(page, axis));
}

/* ---- pens -------------------------------------------------------------------------------------------------------
 */

struct pen pen_of(const struct colour_scale *colours, size_t index, size_t count) {
    double share = count > 1 ? 0.1 + 0.55 * (double)index / ((double)count - 1) : 0.24;
    const unsigned char *c = colour_scale_at(colours, share);
    return (struct pen){{c[0] / 255.0, c[1] / 255.0, c[2] / 255.0, 1}, (int)(index % 6)};
}

void pen_take(struct page *page, struct pen pen) {
    static const double dashes[][4] = {{0},           {14, 6, 14, 6}, {3, 5, 3, 5},
                                       {16, 5, 3, 5}, {26, 7, 26, 7}, {8, 4, 8, 4}};
    int style = pen.style % 6;
    double dash[4];
    for (int i = 0; i < 4; i++)
        dash[i] = dashes[style][i] * page->unit;
    cairo_set_dash(page->cairo, dash, style == 0 ? 0 : 4, 0);
    cairo_set_line_width(page->cairo, 2.6 * page->unit);
    page_ink(page, pen.ink);
}

void pen_rest(struct page *page) {
    cairo_set_dash(page->cairo, NULL, 0, 0);
}
