#include "sweep_panel.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

enum { LEADER = 20, SAMPLE = 40, KEY_GAP = 8, KEY_LINES = 3, DOTS_APART = 40 };
static const double key_size = 18, key_share = 0.23, dot_radius = 4;

/* ---- scale ------------------------------------------------------------------------------------------------------
 */

struct range {
    double from, to;
};

static void stretch(struct range *range, double value) {
    if (isfinite(value)) {
        range->from = fmin(range->from, value);
        range->to = fmax(range->to, value);
    }
}

static struct range values_range(const struct sweep_panel *p) {
    struct range range = {INFINITY, -INFINITY};
    for (size_t s = 0; s < p->told->series_count; s++) {
        const struct figure_series *series = &p->told->series[s];
        for (size_t i = 0; i < p->sweep->count; i++) {
            stretch(&range, series->value[i]);
            if (series->u95 != NULL) {
                stretch(&range, series->value[i] - series->u95[i]);
                stretch(&range, series->value[i] + series->u95[i]);
            }
        }
    }
    return range;
}

/* From 0 where that costs less than half of the height; never so close that some percent of a flat curve look like
 * hills. */
static struct range shown_range(struct range values) {
    struct range shown = values;
    double size = fmax(fabs(values.from), fabs(values.to));
    if (size == 0)
        return (struct range){0, 1};
    if (values.from >= 0 && values.from < values.to / 2)
        shown.from = 0;
    if (values.to <= 0 && values.to > values.from / 2)
        shown.to = 0;
    const double least = 0.04 * size;
    if (shown.to - shown.from < least) {
        double middle = (values.from + values.to) / 2;
        shown = (struct range){middle - least / 2, middle + least / 2};
    }
    double margin = 0.05 * (shown.to - shown.from);
    if (shown.from != 0)
        shown.from = values.from >= 0 ? fmax(0, shown.from - margin) : shown.from - margin;
    if (shown.to != 0)
        shown.to = values.to <= 0 ? fmin(0, shown.to + margin) : shown.to + margin;
    return shown;
}

void sweep_panel_scale(struct sweep_panel *p) {
    struct range values = values_range(p);
    p->empty = !(values.from <= values.to);
    stretch(&values, p->told->want);
    if (!(values.from <= values.to))
        values = (struct range){0, 0};
    p->unit = unit_to_show(p->told->unit, fmax(fabs(values.from), fabs(values.to)), p->unit_name);
    axis_label(p->label, sizeof p->label, p->told->label, p->unit_name);
    struct range shown = shown_range((struct range){values.from / p->unit, values.to / p->unit});
    p->from = shown.from;
    p->to = shown.to;
}

double sweep_panel_x(const struct sweep_panel *p, double x) {
    return p->plot.x0 + (x - p->x_from) / (p->x_to - p->x_from) * (p->plot.x1 - p->plot.x0);
}

double sweep_panel_y(const struct sweep_panel *p, double value) {
    return p->plot.y1 - (value / p->unit - p->from) / (p->to - p->from) * (p->plot.y1 - p->plot.y0);
}

static struct axis left_axis(const struct sweep_panel *p) {
    double height = p->plot.y1 - p->plot.y0;
    struct axis axis = {.side = SIDE_LEFT, .label = p->label, .label_px = height};
    if (p->empty && !isfinite(p->told->want))
        return axis;
    axis.ticks = axis_ticks(p->page, SIDE_LEFT, p->from, p->to, height, 1);
    axis_place(&axis, p->from, p->to, p->plot.y1, p->plot.y0);
    return axis;
}

double sweep_panel_left(const struct sweep_panel *p) {
    struct axis axis = left_axis(p);
    return axis_depth(p->page, &axis);
}

/* ---- names at the curves' ends ----------------------------------------------------------------------------------
 */

/* A sample of the line and its name; y: the middle of both, end_y: where the curve ends. */
struct key {
    char label[1024];
    struct pen pen;
    bool limit; /* the line of the wanted value */
    bool led;   /* from the curve's end by a thin line */
    double end_y, height, y;
};

static struct text key_text(const struct sweep_panel *p, const char *label) {
    return (struct text){.string = label,
                         .size = key_size,
                         .wrap = key_share * p->page->width_px,
                         .lines = KEY_LINES,
                         .ink = INK_TEXT};
}

static double last_value(const struct sweep_panel *p, const struct figure_series *series) {
    for (size_t i = p->sweep->count; i-- > 0;)
        if (isfinite(series->value[i]) && isfinite(p->sweep->x[i]))
            return series->value[i];
    return NAN;
}

static void name_limit(const struct sweep_panel *p, char *label, size_t size) {
    char number[NUMBER_SIZE];
    short_number_text(p->told->want / p->unit, number);
    snprintf(label, size, p->unit_name[0] != '\0' ? "wanted: %s\u00a0%s" : "wanted: %s", number, p->unit_name);
}

/* Names of the series that have one, and of the limit; returns how many. */
static size_t list_keys(const struct sweep_panel *p, struct key *keys) {
    size_t count = 0, series_count = p->told->series_count;
    for (size_t s = 0; s < series_count; s++) {
        const struct figure_series *series = &p->told->series[s];
        double last = last_value(p, series);
        if (series->label == NULL || series->label[0] == '\0')
            continue;
        struct key *key = &keys[count++];
        *key = (struct key){.pen = pen_of(p->colours, s, series_count), .end_y = sweep_panel_y(p, last)};
        snprintf(key->label, sizeof key->label, isfinite(last) ? "%s" : "%s: no values", series->label);
        if (!isfinite(last))
            key->end_y = (p->plot.y0 + p->plot.y1) / 2;
        key->led = isfinite(last);
    }
    if (isfinite(p->told->want)) {
        keys[count] = (struct key){.limit = true, .led = true, .end_y = sweep_panel_y(p, p->told->want)};
        name_limit(p, keys[count].label, sizeof keys[count].label);
        count++;
    }
    for (size_t i = 0; i < count; i++) {
        struct text text = key_text(p, keys[i].label);
        keys[i].height = page_measure(p->page, &text).y1 + KEY_GAP / 2.0 * p->page->unit;
    }
    return count;
}

static struct key *make_keys(const struct sweep_panel *p, size_t *count) {
    struct key *keys = calloc(p->told->series_count + 1, sizeof *keys);
    if (keys == NULL)
        p->page->out_of_memory = true;
    *count = keys != NULL ? list_keys(p, keys) : 0;
    return keys;
}

double sweep_panel_right(const struct sweep_panel *p) {
    size_t count;
    double widest = 0;
    struct key *keys = make_keys(p, &count);
    for (size_t i = 0; i < count; i++) {
        struct text text = key_text(p, keys[i].label);
        widest = fmax(widest, page_measure(p->page, &text).x1);
    }
    free(keys);
    return count > 0 ? widest + (LEADER + SAMPLE + KEY_GAP) * p->page->unit : 0;
}

double sweep_panel_least_height(const struct sweep_panel *p) {
    size_t count;
    double height = 0;
    struct key *keys = make_keys(p, &count);
    for (size_t i = 0; i < count; i++)
        height += keys[i].height;
    free(keys);
    return height;
}

static int by_end(const void *a, const void *b) {
    double first = ((const struct key *)a)->end_y, second = ((const struct key *)b)->end_y;
    return first < second ? -1 : first > second;
}

/* As near to the curves' ends as they can stand without touching: where some would touch, the lot of them stands
 * about the middle of its ends. Each name wants end - (height of the names above it); pools of falling wishes are
 * averaged until none falls. */
static void spread_keys(const struct sweep_panel *p, struct key *keys, size_t count) {
    double above = 0, total = 0;
    qsort(keys, count, sizeof *keys, by_end);
    for (size_t i = 0; i < count; i++) {
        keys[i].y = keys[i].end_y - total - keys[i].height / 2;
        total += keys[i].height;
    }
    for (size_t i = 0; i < count; i++) {
        size_t first = i + 1;
        double sum = 0, mean = INFINITY;
        while (first > 0 && (mean == INFINITY || keys[first - 1].y > mean)) {
            sum += keys[--first].y;
            mean = sum / (double)(i + 1 - first);
        }
        for (size_t k = first; k <= i; k++)
            keys[k].y = mean;
    }
    for (size_t i = 0; i < count; i++) {
        double most = fmax(p->plot.y0, p->plot.y1 - total), start = fmin(fmax(keys[i].y, p->plot.y0), most);
        keys[i].y = start + above + keys[i].height / 2;
        above += keys[i].height;
    }
}

static void limit_pen(struct page *page) {
    pen_rest(page);
    page_ink(page, INK_TEXT);
    cairo_set_line_width(page->cairo, 1.2 * page->unit);
}

static void draw_key(const struct sweep_panel *p, const struct key *key) {
    struct page *page = p->page;
    double u = page->unit, sample = p->plot.x1 + LEADER * u, name = sample + (SAMPLE + KEY_GAP) * u;
    struct ink soft = INK_SOFT;
    soft.opacity = 0.7;
    page_ink(page, soft);
    cairo_set_line_width(page->cairo, u);
    if (key->led)
        page_line(page, p->plot.x1 + 3 * u, key->end_y, sample - 3 * u, key->y);
    if (key->limit)
        limit_pen(page);
    else
        pen_take(page, key->pen);
    page_line(page, sample, key->y, sample + SAMPLE * u, key->y);
    pen_rest(page);
    struct text text = key_text(p, key->label);
    page_write(page, &text, name, key->y, 0, 0.5);
}

static void draw_keys(const struct sweep_panel *p) {
    size_t count;
    struct key *keys = make_keys(p, &count);
    if (count > 0)
        spread_keys(p, keys, count);
    for (size_t i = 0; i < count; i++)
        draw_key(p, &keys[i]);
    free(keys);
}

/* ---- curves -----------------------------------------------------------------------------------------------------
 */

static bool is_point(const struct sweep_panel *p, const double *value, size_t i) {
    return isfinite(p->sweep->x[i]) && isfinite(value[i]);
}

static bool has_band(const struct sweep_panel *p, const struct figure_series *series, size_t i) {
    return is_point(p, series->value, i) && isfinite(series->u95[i]);
}

/* The band of points first .. last - 1; a single one is a bar with ends. */
static void draw_band_run(const struct sweep_panel *p, const struct figure_series *s, size_t first, size_t last) {
    cairo_t *cr = p->page->cairo;
    if (last - first == 1) {
        double x = sweep_panel_x(p, p->sweep->x[first]), end = 6 * p->page->unit;
        double low = sweep_panel_y(p, s->value[first] - s->u95[first]),
               high = sweep_panel_y(p, s->value[first] + s->u95[first]);
        page_line(p->page, x, low, x, high);
        page_line(p->page, x - end, low, x + end, low);
        page_line(p->page, x - end, high, x + end, high);
        return;
    }
    for (size_t i = first; i < last; i++)
        cairo_line_to(cr, sweep_panel_x(p, p->sweep->x[i]), sweep_panel_y(p, s->value[i] + s->u95[i]));
    for (size_t i = last; i-- > first;)
        cairo_line_to(cr, sweep_panel_x(p, p->sweep->x[i]), sweep_panel_y(p, s->value[i] - s->u95[i]));
    cairo_close_path(cr);
    cairo_fill(cr);
}

static void draw_bands(const struct sweep_panel *p, const struct figure_series *series, struct ink ink) {
    ink.opacity = 0.28;
    page_ink(p->page, ink);
    cairo_set_line_width(p->page->cairo, 2.6 * p->page->unit);
    for (size_t first = 0, last; first < p->sweep->count; first = last + 1) {
        last = first;
        while (last < p->sweep->count && has_band(p, series, last))
            last++;
        if (last > first)
            draw_band_run(p, series, first, last);
    }
}

static void draw_dot(const struct sweep_panel *p, const double *value, size_t i) {
    cairo_new_sub_path(p->page->cairo);
    cairo_arc(p->page->cairo, sweep_panel_x(p, p->sweep->x[i]), sweep_panel_y(p, value[i]),
              dot_radius * p->page->unit, 0, 6.28318530717958648);
    cairo_fill(p->page->cairo);
}

/* Points between gaps always show; all of them where they are few. */
static void draw_dots(const struct sweep_panel *p, const double *value) {
    size_t count = p->sweep->count;
    bool all = (p->plot.x1 - p->plot.x0) / (double)count > DOTS_APART * p->page->unit;
    for (size_t i = 0; i < count; i++) {
        bool alone = (i == 0 || !is_point(p, value, i - 1)) && (i + 1 == count || !is_point(p, value, i + 1));
        if (is_point(p, value, i) && (all || alone))
            draw_dot(p, value, i);
    }
}

static void draw_series(const struct sweep_panel *p, size_t index) {
    const struct figure_series *series = &p->told->series[index];
    struct pen pen = pen_of(p->colours, index, p->told->series_count);
    if (series->u95 != NULL)
        draw_bands(p, series, pen.ink);
    pen_take(p->page, pen);
    for (size_t i = 0; i < p->sweep->count; i++) {
        if (!is_point(p, series->value, i))
            cairo_new_sub_path(p->page->cairo);
        else
            cairo_line_to(p->page->cairo, sweep_panel_x(p, p->sweep->x[i]), sweep_panel_y(p, series->value[i]));
    }
    cairo_stroke(p->page->cairo);
    pen_rest(p->page);
    draw_dots(p, series->value);
}

/* ---- the panel --------------------------------------------------------------------------------------------------
 */

void sweep_panel_draw_grid(const struct sweep_panel *p, const struct axis *across) {
    struct axis up = left_axis(p);
    page_ink(p->page, INK_RULE);
    cairo_set_line_width(p->page->cairo, p->page->unit);
    for (int i = 0; i < up.ticks.count; i++)
        page_line(p->page, p->plot.x0, up.px[i], p->plot.x1, up.px[i]);
    for (int i = 0; i < across->ticks.count; i++)
        page_line(p->page, across->px[i], p->plot.y0, across->px[i], p->plot.y1);
}

static void draw_limit(const struct sweep_panel *p) {
    double y = sweep_panel_y(p, p->told->want);
    limit_pen(p->page);
    page_line(p->page, p->plot.x0, y, p->plot.x1, y);
}

void sweep_panel_draw(const struct sweep_panel *p) {
    struct page *page = p->page;
    struct axis axis = left_axis(p);
    if (isfinite(p->told->want))
        draw_limit(p);
    for (size_t s = 0; s < p->told->series_count; s++)
        draw_series(p, s);
    if (p->empty)
        page_write(page, &(struct text){.string = "no values", .size = key_size, .ink = INK_SOFT},
                   (p->plot.x0 + p->plot.x1) / 2, (2 * p->plot.y0 + p->plot.y1) / 3, 0.5, 0.5);
    axis_draw(page, &axis, p->plot);
    page_ink(page, INK_TEXT);
    cairo_rectangle(page->cairo, p->plot.x0, p->plot.y0, p->plot.x1 - p->plot.x0, p->plot.y1 - p->plot.y0);
    cairo_stroke(page->cairo);
    draw_keys(p);
}
