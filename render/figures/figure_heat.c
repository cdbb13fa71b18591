#include "figure_heat.h"

#include "caption.h"
#include "lines.h"
#include "picture.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

enum { MARGIN = 30, HEIGHT_MOST = 760, HEIGHT_LEAST = 240, CAPTION_SPACE = 22, LABEL_SIZE = 1024 };
static const double label_size = 18;

struct sheet {
    struct page *page;
    const struct figure_heat *heat;
    struct heat_layout *layout;
    struct clutter clutter;
    char unit_name[UNIT_SIZE], x_label[LABEL_SIZE], y_label[LABEL_SIZE];
    size_t missing; /* values that are not to be had */
};

/* ---- scales -----------------------------------------------------------------------------------------------------
 */

/* The border before cell i of so many (or behind the last): halfway between neighbours, as far outside. */
static double border(const double *at, size_t count, size_t i) {
    if (count == 1) {
        double half = at[0] != 0 ? 0.05 * fabs(at[0]) : 0.5;
        return i == 0 ? at[0] - half : at[0] + half;
    }
    if (i == 0)
        return at[0] - (at[1] - at[0]) / 2;
    if (i == count)
        return at[count - 1] + (at[count - 1] - at[count - 2]) / 2;
    return (at[i - 1] + at[i]) / 2;
}

/* From least to greatest; a map of one value lies in the middle of its bar. */
static void make_tone(struct sheet *s) {
    const struct figure_heat *heat = s->heat;
    struct tone *tone = &s->layout->tone;
    double least = INFINITY, most = -INFINITY;
    for (size_t i = 0; i < heat->columns * heat->rows; i++)
        if (isfinite(heat->value[i])) {
            least = fmin(least, heat->value[i]);
            most = fmax(most, heat->value[i]);
        } else {
            s->missing++;
        }
    if (!(least <= most))
        least = most = 0;
    double size = fmax(fabs(least), fabs(most)), room = size > 0 ? 0.01 * size : 1;
    bool flat = most - least < 0.002 * size || size == 0;
    *tone =
        (struct tone){.kind = FIGURE_LINEAR, .bottom = flat ? least - room : least, .top = flat ? most + room : most};
    colour_scale_fill(&tone->colours);
    tone->unit = (struct shown_unit){s->unit_name, unit_to_show(heat->value_unit, size, s->unit_name)};
    axis_label(tone->label, sizeof tone->label, heat->value_label, s->unit_name);
}

static double page_x(const struct sheet *s, double x) {
    const struct heat_layout *l = s->layout;
    return l->plot.x0 + (x - l->x_from) / (l->x_to - l->x_from) * (l->plot.x1 - l->plot.x0);
}

static double page_y(const struct sheet *s, double y) {
    const struct heat_layout *l = s->layout;
    return l->plot.y1 - (y - l->y_from) / (l->y_to - l->y_from) * (l->plot.y1 - l->plot.y0);
}

static struct axis x_axis(struct sheet *s) {
    const struct heat_layout *l = s->layout;
    double length = l->plot.x1 - l->plot.x0;
    struct axis axis = {.side = SIDE_BELOW, .label = s->x_label, .label_px = length};
    axis.ticks = axis_ticks_of(s->page, SIDE_BELOW, s->heat->columns, s->heat->x, l->x_from, l->x_to, length);
    axis_place(&axis, l->x_from, l->x_to, l->plot.x0, l->plot.x1);
    return axis;
}

static struct axis y_axis(struct sheet *s) {
    const struct heat_layout *l = s->layout;
    double length = l->plot.y1 - l->plot.y0;
    struct axis axis = {.side = SIDE_LEFT, .label = s->y_label, .label_px = length};
    axis.ticks = axis_ticks_of(s->page, SIDE_LEFT, s->heat->rows, s->heat->y, l->y_from, l->y_to, length);
    axis_place(&axis, l->y_from, l->y_to, l->plot.y1, l->plot.y0);
    return axis;
}

/* Returns where the caption begins. */
static double lay_out(struct sheet *s) {
    const struct figure_heat *heat = s->heat;
    struct heat_layout *l = s->layout;
    double u = s->page->unit,
           x[] = {border(heat->x, heat->columns, 0), border(heat->x, heat->columns, heat->columns)};
    double y[] = {border(heat->y, heat->rows, 0), border(heat->y, heat->rows, heat->rows)};
    l->x_from = fmin(x[0], x[1]);
    l->x_to = fmax(x[0], x[1]);
    l->y_from = fmin(y[0], y[1]);
    l->y_to = fmax(y[0], y[1]);
    axis_label(s->x_label, LABEL_SIZE, heat->x_label, heat->x_unit);
    axis_label(s->y_label, LABEL_SIZE, heat->y_label, heat->y_unit);
    double height = round(fmin(fmax(0.55 * s->page->width_px, HEIGHT_LEAST * u), HEIGHT_MOST * u));
    l->plot = (struct rect){0, round(MARGIN * u), 0, round(MARGIN * u) + height};
    struct axis up = y_axis(s);
    l->plot.x0 = round(MARGIN * u + axis_depth(s->page, &up));
    l->plot.x1 = round(s->page->width_px - MARGIN * u - tone_bar_width(s->page, &l->tone, height));
    struct axis across = x_axis(s);
    return l->plot.y1 + axis_depth(s->page, &across) + CAPTION_SPACE * u;
}

/* ---- the cells --------------------------------------------------------------------------------------------------
 */

static double value_at(const struct figure_heat *heat, size_t column, size_t row) {
    return heat->value[row * heat->columns + column];
}

/* Whole pixels, so that no seam shows between cells. */
static void cell_path(const struct sheet *s, size_t column, size_t row) {
    const struct figure_heat *h = s->heat;
    double xa = round(page_x(s, border(h->x, h->columns, column))), ya = round(page_y(s, border(h->y, h->rows, row)));
    double xb = round(page_x(s, border(h->x, h->columns, column + 1))),
           yb = round(page_y(s, border(h->y, h->rows, row + 1)));
    cairo_rectangle(s->page->cairo, fmin(xa, xb), fmin(ya, yb), fabs(xb - xa), fabs(yb - ya));
}

static void draw_cells(const struct sheet *s) {
    for (size_t row = 0; row < s->heat->rows; row++)
        for (size_t column = 0; column < s->heat->columns; column++) {
            double value = value_at(s->heat, column, row);
            if (!isfinite(value))
                continue;
            cell_path(s, column, row);
            page_ink(s->page, tone_ink(&s->layout->tone, value));
            cairo_fill(s->page->cairo);
        }
    for (size_t row = 0; row < s->heat->rows; row++)
        for (size_t column = 0; column < s->heat->columns; column++)
            if (!isfinite(value_at(s->heat, column, row)))
                cell_path(s, column, row);
    if (s->missing > 0)
        page_hatch(s->page);
}

/* ---- what is wanted, what is best -------------------------------------------------------------------------------
 */

/* The values as a grid on the page, both axes ascending in px. */
static bool make_grid(const struct sheet *s, struct value_grid *grid) {
    const struct figure_heat *h = s->heat;
    if (!value_grid_make(grid, (int)h->columns, (int)h->rows))
        return false;
    bool right = h->x[h->columns - 1] >= h->x[0], up = h->y[h->rows - 1] >= h->y[0];
    for (size_t i = 0; i < h->columns; i++)
        grid->x[i] = page_x(s, h->x[right ? i : h->columns - 1 - i]);
    for (size_t i = 0; i < h->rows; i++)
        grid->y[i] = page_y(s, h->y[up ? h->rows - 1 - i : i]);
    for (size_t row = 0; row < h->rows; row++)
        for (size_t column = 0; column < h->columns; column++)
            grid->value[row * h->columns + column] =
                (float)value_at(h, right ? column : h->columns - 1 - column, up ? h->rows - 1 - row : row);
    return true;
}

static void name_want(const struct sheet *s, char *out, size_t size) {
    char number[NUMBER_SIZE];
    short_number_text(s->heat->want / s->layout->tone.unit.size, number);
    snprintf(out, size, s->unit_name[0] != '\0' ? "wanted: %s\u00a0%s" : "wanted: %s", number, s->unit_name);
}

/* Dark on a white casing: it shows on every colour. */
static void stroke_cased(struct page *page, double width) {
    page_ink(page, INK_WHITE);
    cairo_set_line_width(page->cairo, 2.6 * width * page->unit);
    cairo_stroke_preserve(page->cairo);
    page_ink(page, INK_NIGHT);
    cairo_set_line_width(page->cairo, width * page->unit);
    cairo_stroke(page->cairo);
}

static struct text note(const char *string) {
    return (struct text){
        .string = string, .size = label_size, .ink = INK_NIGHT, .halo = {1, 1, 1, 0.85}, .halo_width = 4};
}

static size_t nearest(const double *at, size_t count, double wanted) {
    size_t best = 0;
    for (size_t i = 1; i < count; i++)
        if (fabs(at[i] - wanted) < fabs(at[best] - wanted))
            best = i;
    return best;
}

/* "best: 33 mm short, 40 deg: 0.962" */
static void name_best(const struct sheet *s, char *out, size_t size) {
    const struct figure_heat *h = s->heat;
    char x[NUMBER_SIZE], y[NUMBER_SIZE], value[NUMBER_SIZE];
    double best = value_at(h, nearest(h->x, h->columns, h->best_x), nearest(h->y, h->rows, h->best_y));
    short_number_text(h->best_x, x);
    short_number_text(h->best_y, y);
    number_text(best / s->layout->tone.unit.size, 3, value);
    const char *space[] = {h->x_unit[0] != '\0' ? "\u00a0" : "", h->y_unit[0] != '\0' ? "\u00a0" : "",
                           s->unit_name[0] != '\0' ? "\u00a0" : ""};
    snprintf(out, size, "best: %s%s%s, %s%s%s: %s%s%s", x, space[0], h->x_unit, y, space[1], h->y_unit,
             isfinite(best) ? value : "no value", space[2], isfinite(best) ? s->unit_name : "");
}

static void draw_best(struct sheet *s) {
    struct page *page = s->page;
    double u = page->unit, x = page_x(s, s->heat->best_x), y = page_y(s, s->heat->best_y), arm = 11 * u;
    if (!isfinite(x) || !isfinite(y))
        return;
    cairo_move_to(page->cairo, x - arm, y);
    cairo_line_to(page->cairo, x + arm, y);
    cairo_move_to(page->cairo, x, y - arm);
    cairo_line_to(page->cairo, x, y + arm);
    stroke_cased(page, 2.4);
    struct rect cross = rect_grown((struct rect){x, y, x, y}, arm), bounds = rect_grown(s->layout->plot, -4 * u);
    char words[256];
    name_best(s, words, sizeof words);
    struct text text = note(words);
    struct rect size = page_measure(page, &text);
    if (size.x1 > 0.6 * (bounds.x1 - bounds.x0)) {
        text.wrap = 0.6 * (bounds.x1 - bounds.x0);
        size = page_measure(page, &text);
    }
    struct label_place place =
        label_for_frame(&s->clutter, &(struct label_wish){cross, bounds, size.x1, size.y1, 5 * u, .leaders = true});
    clutter_add_box(&s->clutter, cross);
    if (!place.found)
        return;
    page_write(page, &text, place.box.x0, place.box.y0, 0, 0);
    clutter_add_box(&s->clutter, place.box);
}

static void draw_lines(struct sheet *s, const struct contours *lines) {
    for (size_t i = 0; i < lines->line_count; i++)
        line_path(s->page->cairo, lines->points + lines->starts[i], lines->starts[i + 1] - lines->starts[i]);
    stroke_cased(s->page, 1.8);
    for (size_t i = 0; i < lines->line_count; i++)
        for (size_t k = lines->starts[i] + 1; k < lines->starts[i + 1]; k++)
            clutter_add_line(&s->clutter, (struct segment){lines->points[k - 1].x, lines->points[k - 1].y,
                                                           lines->points[k].x, lines->points[k].y});
}

/* On the first line that is long enough. Its own line is under it, others should not be. */
static void label_want(struct sheet *s, const struct contours *lines) {
    char words[128];
    name_want(s, words, sizeof words);
    struct text text = note(words);
    struct rect size = page_measure(s->page, &text), box;
    struct clutter words_alone = {.boxes = s->clutter.boxes, .box_count = s->clutter.box_count};
    for (size_t i = 0; i < lines->line_count; i++) {
        const struct contour_point *points = lines->points + lines->starts[i];
        size_t count = lines->starts[i + 1] - lines->starts[i];
        if (line_length(points, count) < 1.5 * size.x1 ||
            !line_label_spot(&words_alone, NULL, s->layout->plot, points, count, size, 4 * s->page->unit, &box))
            continue;
        page_write(s->page, &text, (box.x0 + box.x1) / 2, (box.y0 + box.y1) / 2, 0.5, 0.5);
        return;
    }
}

/* The best point's words are placed between the line and its words: they keep off the line if they can. */
static bool draw_notes(struct sheet *s) {
    struct value_grid grid = {0};
    struct contours lines = {0};
    bool wanted = isfinite(s->heat->want);
    bool done = !wanted || (make_grid(s, &grid) && contours_trace(&grid, (double)(float)s->heat->want, &lines));
    if (done && wanted)
        draw_lines(s, &lines);
    draw_best(s);
    if (done && wanted)
        label_want(s, &lines);
    contours_free(&lines);
    value_grid_free(&grid);
    return done && !s->clutter.out_of_memory;
}

/* ---- the page ---------------------------------------------------------------------------------------------------
 */

static bool draw_sheet(struct sheet *s) {
    struct rect plot = s->layout->plot;
    struct axis up = y_axis(s), across = x_axis(s);
    draw_cells(s);
    bool done = draw_notes(s);
    axis_draw(s->page, &across, plot);
    axis_draw(s->page, &up, plot);
    page_ink(s->page, INK_TEXT);
    cairo_rectangle(s->page->cairo, plot.x0, plot.y0, plot.x1 - plot.x0, plot.y1 - plot.y0);
    cairo_stroke(s->page->cairo);
    size_t marks = isfinite(s->heat->want);
    tone_bar_draw(s->page, &s->layout->tone, plot, marks, &s->heat->want);
    return done;
}

static char *make_caption(const struct sheet *s) {
    static const char hatched[] = "\nHatched: not to be had.";
    size_t size = strlen(s->heat->caption) + sizeof hatched;
    char *caption = malloc(size);
    if (caption != NULL)
        snprintf(caption, size, "%s%s", s->heat->caption, s->missing > 0 ? hatched : "");
    return caption;
}

int figure_heat_draw(struct page *page, const struct figure_heat *heat, const struct figure_style *style,
                     struct heat_layout *layout, char **caption, struct figure_error *error) {
    *caption = NULL;
    int status = page_begin(page, style, error);
    if (status != 0)
        return status;
    if (heat->columns == 0 || heat->rows == 0)
        return figure_fail(error, 2, "there is nothing to draw");
    struct sheet s = {.page = page, .heat = heat, .layout = layout};
    make_tone(&s);
    *caption = make_caption(&s);
    if (*caption == NULL)
        return figure_fail(error, 1, "out of memory while drawing the heat map");
    double caption_y = lay_out(&s);
    status = page_paper(page, caption_y + caption_height(page, heat->title, *caption), error);
    if (status == 0 && !draw_sheet(&s))
        status = figure_fail(error, 1, "out of memory while drawing the heat map");
    if (status == 0)
        caption_draw(page, heat->title, *caption, caption_y);
    clutter_free(&s.clutter);
    return status;
}

int figure_heat(const char *path, const struct figure_heat *heat, const struct figure_style *style,
                struct figure_error *error) {
    struct page page;
    struct heat_layout layout;
    char *caption;
    int status = figure_heat_draw(&page, heat, style, &layout, &caption, error);
    if (status == 0)
        status = picture_write(path, &page, heat->title, caption, error);
    free(caption);
    page_end(&page);
    return status;
}
