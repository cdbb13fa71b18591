#include "figure_sweep.h"

#include "caption.h"
#include "picture.h"
#include "sweep_marks.h"

#include <math.h>
#include <stdlib.h>

enum { MARGIN = 30, BETWEEN = 30, CAPTION_SPACE = 20, LABEL_SIZE = 1024, TOP_TICKS_MOST = 10 };

/* The page as it is laid out, from top to bottom: the second axis, the marks' names, the panels, the axis. */
struct sheet {
    struct page *page;
    const struct figure_sweep *sweep;
    struct colour_scale colours;
    struct sweep_panel *panels;
    struct mark_label *marks;
    size_t mark_count; /* those that lie on the axis */
    double x_from, x_to;
    double left, right;       /* of all plots */
    double top, panels_top;   /* of the marks' names, of the first panel */
    struct axis below, above; /* above: no ticks and no label where there is none */
    char x_label[LABEL_SIZE], x2_label[LABEL_SIZE];
};

/* ---- across -----------------------------------------------------------------------------------------------------
 */

/* From the least to the greatest; about a single one, some room. */
static void find_x_range(struct sheet *s) {
    s->x_from = INFINITY;
    s->x_to = -INFINITY;
    for (size_t i = 0; i < s->sweep->count; i++)
        if (isfinite(s->sweep->x[i])) {
            s->x_from = fmin(s->x_from, s->sweep->x[i]);
            s->x_to = fmax(s->x_to, s->sweep->x[i]);
        }
    if (!(s->x_from <= s->x_to))
        s->x_from = s->x_to = 0;
    double room = 0.05 * fmax(fabs(s->x_from), fabs(s->x_to));
    if (s->x_to - s->x_from <= 1e-9 * room) {
        s->x_from -= room > 0 ? room : 1;
        s->x_to += room > 0 ? room : 1;
    }
}

static double page_x(const struct sheet *s, double x) {
    return s->left + (x - s->x_from) / (s->x_to - s->x_from) * (s->right - s->left);
}

/* Where the second number has this value: on the straight line between two neighbours. */
static double x_of_second(const struct figure_sweep *sweep, double value) {
    size_t before = sweep->count;
    for (size_t i = 0; i < sweep->count; i++) {
        if (!isfinite(sweep->x[i]) || !isfinite(sweep->x2[i]))
            continue;
        if (before < sweep->count) {
            double from = sweep->x2[before], to = sweep->x2[i];
            double slack = 1e-9 * fabs(to - from); /* a tick is a rounded number */
            if (from != to && value >= fmin(from, to) - slack && value <= fmax(from, to) + slack)
                return sweep->x[before] + (value - from) / (to - from) * (sweep->x[i] - sweep->x[before]);
        }
        before = i;
    }
    return NAN;
}

/* Leaves out ticks that lie nowhere; false when two numbers would touch. */
static bool place_second(struct sheet *s, struct axis *axis) {
    struct ticks all = axis->ticks;
    double end = -INFINITY;
    axis->ticks.count = 0;
    for (int i = 0; i < all.count; i++) {
        double x = x_of_second(s->sweep, all.at[i]);
        if (!isfinite(x))
            continue;
        axis->ticks.at[axis->ticks.count] = all.at[i];
        axis->px[axis->ticks.count++] = page_x(s, x);
    }
    bool falling = axis->ticks.count > 1 && axis->px[1] < axis->px[0];
    for (int n = 0; n < axis->ticks.count; n++) {
        int i = falling ? axis->ticks.count - 1 - n : n;
        double half = axis_number_width(s->page, axis, i) / 2, apart = 18 * s->page->unit;
        if (axis->px[i] - half < end + apart)
            return false;
        end = axis->px[i] + half;
    }
    return true;
}

/* The same number everywhere, or the number of one place. */
static void place_single(struct sheet *s, double value) {
    size_t i = 0;
    while (!isfinite(s->sweep->x[i]) || !isfinite(s->sweep->x2[i]))
        i++;
    s->above.ticks = ticks_single(value);
    s->above.px[0] = page_x(s, s->sweep->x[i]);
}

static void make_second_axis(struct sheet *s) {
    double from = INFINITY, to = -INFINITY;
    for (size_t i = 0; i < s->sweep->count; i++)
        if (isfinite(s->sweep->x[i]) && isfinite(s->sweep->x2[i])) {
            from = fmin(from, s->sweep->x2[i]);
            to = fmax(to, s->sweep->x2[i]);
        }
    if (from == to) {
        place_single(s, from);
        return;
    }
    for (int at_most = TOP_TICKS_MOST; at_most > 1; at_most--) {
        s->above.ticks = ticks_linear(from, to, at_most);
        if (place_second(s, &s->above))
            return;
    }
    s->above.ticks.count = s->above.ticks.count > 0;
}

static void make_axes(struct sheet *s) {
    const struct figure_sweep *sweep = s->sweep;
    double width = s->right - s->left;
    axis_label(s->x_label, LABEL_SIZE, sweep->x_label, sweep->x_unit);
    s->below = (struct axis){.side = SIDE_BELOW, .label = s->x_label, .label_px = width};
    s->below.ticks = axis_ticks_of(s->page, SIDE_BELOW, sweep->count, sweep->x, s->x_from, s->x_to, width);
    axis_place(&s->below, s->x_from, s->x_to, s->left, s->right);
    s->above = (struct axis){.side = SIDE_ABOVE};
    if (sweep->x2 == NULL || sweep->x2_label == NULL)
        return;
    axis_label(s->x2_label, LABEL_SIZE, sweep->x2_label, sweep->x2_unit);
    s->above.label = s->x2_label;
    s->above.label_px = width;
    make_second_axis(s);
}

/* ---- down -------------------------------------------------------------------------------------------------------
 */

static double base_height(const struct sheet *s) {
    size_t count = s->sweep->panel_count;
    return (count == 1 ? 470 : count == 2 ? 350 : 270) * s->page->unit;
}

static void make_panels(struct sheet *s) {
    double left = 0, right = 0, height = round(base_height(s));
    for (size_t i = 0; i < s->sweep->panel_count; i++) {
        struct sweep_panel *p = &s->panels[i];
        *p = (struct sweep_panel){.page = s->page, .sweep = s->sweep, .colours = &s->colours};
        p->told = &s->sweep->panels[i];
        p->x_from = s->x_from;
        p->x_to = s->x_to;
        sweep_panel_scale(p);
        p->plot.y1 = fmax(height, ceil(sweep_panel_least_height(p)));
        left = fmax(left, sweep_panel_left(p));
        right = fmax(right, sweep_panel_right(p));
    }
    s->left = round(MARGIN * s->page->unit + left);
    s->right = round(s->page->width_px - MARGIN * s->page->unit - right);
}

static void place_marks(struct sheet *s, int *rows) {
    for (size_t i = 0; i < s->sweep->mark_count; i++) {
        const struct figure_mark *mark = &s->sweep->marks[i];
        if (mark->x >= s->x_from && mark->x <= s->x_to)
            s->marks[s->mark_count++] = (struct mark_label){.string = mark->label, .x = page_x(s, mark->x)};
    }
    double margin = MARGIN * s->page->unit;
    *rows = mark_labels_place(s->page, s->marks, s->mark_count, s->left, s->page->width_px - margin);
}

/* Returns where the caption begins. */
static double lay_out(struct sheet *s) {
    double u = s->page->unit;
    int rows;
    find_x_range(s);
    make_panels(s);
    make_axes(s);
    place_marks(s, &rows);
    s->top = round(MARGIN * u + (s->above.label != NULL ? axis_depth(s->page, &s->above) : 0));
    double y = s->panels_top = round(s->top + mark_labels_height(s->page, rows));
    for (size_t i = 0; i < s->sweep->panel_count; i++) {
        double height = s->panels[i].plot.y1;
        s->panels[i].plot = (struct rect){s->left, y, s->right, y + height};
        y += height + round(BETWEEN * u);
    }
    return y - round(BETWEEN * u) + axis_depth(s->page, &s->below) + CAPTION_SPACE * u;
}

/* ---- drawing ----------------------------------------------------------------------------------------------------
 */

/* Where names of marks stand between the second axis and the plots, thin sides lead down from its rule. */
static void draw_second_axis(const struct sheet *s) {
    struct rect strip = {s->left, s->top, s->right, s->panels_top};
    if (s->above.label == NULL)
        return;
    page_ink(s->page, INK_RULE);
    cairo_set_line_width(s->page->cairo, s->page->unit);
    page_line(s->page, s->left, s->top, s->left, s->panels_top);
    page_line(s->page, s->right, s->top, s->right, s->panels_top);
    axis_draw(s->page, &s->above, strip);
    page_line(s->page, s->left, s->top, s->right, s->top);
}

static void draw_sheet(const struct sheet *s) {
    size_t count = s->sweep->panel_count;
    struct rect last = s->panels[count - 1].plot;
    for (size_t i = 0; i < count; i++)
        sweep_panel_draw_grid(&s->panels[i], &s->below);
    draw_second_axis(s);
    mark_lines_draw(s->page, s->marks, s->mark_count, s->top, last.y1);
    mark_labels_draw(s->page, s->marks, s->mark_count, s->top);
    for (size_t i = 0; i < count; i++)
        sweep_panel_draw(&s->panels[i]);
    axis_draw(s->page, &s->below, last);
}

int figure_sweep_draw(struct page *page, const struct figure_sweep *sweep, const struct figure_style *style,
                      struct sweep_panel *panels, struct figure_error *error) {
    int status = page_begin(page, style, error);
    if (status != 0)
        return status;
    if (sweep->panel_count == 0 || sweep->count == 0)
        return figure_fail(error, 2, "there is no curve to draw");
    struct sheet sheet = {.page = page, .sweep = sweep, .panels = panels};
    sheet.marks = calloc(sweep->mark_count + 1, sizeof *sheet.marks);
    if (sheet.marks == NULL)
        return figure_fail(error, 1, "out of memory while drawing the curves");
    colour_scale_fill(&sheet.colours);
    double caption_y = lay_out(&sheet);
    status = page_paper(page, caption_y + caption_height(page, sweep->title, sweep->caption), error);
    if (status == 0) {
        draw_sheet(&sheet);
        caption_draw(page, sweep->title, sweep->caption, caption_y);
    }
    free(sheet.marks);
    return status;
}

int figure_sweep(const char *path, const struct figure_sweep *sweep, const struct figure_style *style,
                 struct figure_error *error) {
    struct page page = {0};
    struct sweep_panel *panels = calloc(sweep->panel_count + 1, sizeof *panels);
    if (panels == NULL)
        return figure_fail(error, 1, "out of memory while drawing the curves");
    int status = figure_sweep_draw(&page, sweep, style, panels, error);
    if (status == 0)
        status = picture_write(path, &page, sweep->title, sweep->caption, error);
    free(panels);
    page_end(&page);
    return status;
}
