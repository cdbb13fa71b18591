#include "map_panel.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>

enum { MARKS_MAX = 160 };
static const double number_size = 17, arrow_length = 25, arrow_half_width = 9, foot_radius = 6;

/* One mark for modules that stand, or are seen, in the same place. */
struct mark {
    double x, y;        /* px, on the map */
    double dx, dy;      /* outside the map: direction to the foot; else 0 */
    size_t first, last; /* module numbers, from 1 */
    size_t count;
    bool dark; /* all of them */
};

static struct mark mark_of(const struct map_panel *panel, size_t module) {
    const struct luxfall_module *m = &panel->scene->light.modules[module];
    struct mark mark = {
        panel_x(panel, m->pose.at_mm.x), panel_y(panel, m->pose.at_mm.y), 0, 0, module + 1, module + 1, 1, m->dark};
    double inset = 3 * panel->page->unit;
    struct rect inner = rect_grown(panel->map, -inset);
    double cx = (inner.x0 + inner.x1) / 2, cy = (inner.y0 + inner.y1) / 2, dx = mark.x - cx, dy = mark.y - cy;
    double stretch = fmax(fabs(dx) / (inner.x1 - cx), fabs(dy) / (inner.y1 - cy));
    if (stretch > 1) {
        double length = hypot(dx, dy);
        mark.x = cx + dx / stretch;
        mark.y = cy + dy / stretch;
        mark.dx = dx / length;
        mark.dy = dy / length;
    }
    return mark;
}

static bool joins(const struct mark *mark, const struct mark *other, double apart) {
    bool outside = mark->dx != 0 || mark->dy != 0, other_outside = other->dx != 0 || other->dy != 0;
    return outside == other_outside && hypot(mark->x - other->x, mark->y - other->y) < (outside ? 1.9 : 1) * apart;
}

/* Gathers the modules into marks that stand apart; -1 when more than MARKS_MAX are needed at this distance. */
static int gather(const struct map_panel *panel, double apart, struct mark *marks) {
    int count = 0;
    for (size_t m = 0; m < panel->scene->light.module_count; m++) {
        struct mark mark = mark_of(panel, m);
        int i = 0;
        while (i < count && !joins(&marks[i], &mark, apart))
            i++;
        if (i == MARKS_MAX)
            return -1;
        if (i == count) {
            marks[count++] = mark;
            continue;
        }
        marks[i].last = mark.last;
        marks[i].count++;
        marks[i].dark = marks[i].dark && mark.dark;
    }
    return count;
}

static struct rect mark_box(const struct mark *mark, double u) {
    if (mark->dx == 0 && mark->dy == 0)
        return rect_grown((struct rect){mark->x, mark->y, mark->x, mark->y}, (foot_radius + 2) * u);
    double tail_x = mark->x - mark->dx * arrow_length * u, tail_y = mark->y - mark->dy * arrow_length * u;
    struct rect box = {fmin(mark->x, tail_x), fmin(mark->y, tail_y), fmax(mark->x, tail_x), fmax(mark->y, tail_y)};
    return rect_grown(box, arrow_half_width * 0.7 * u);
}

static void mark_path(cairo_t *cr, const struct mark *mark, double u) {
    cairo_new_sub_path(cr);
    if (mark->dx == 0 && mark->dy == 0) {
        cairo_arc(cr, mark->x, mark->y, foot_radius * u, 0, 6.28318530717958648);
        return;
    }
    double back_x = mark->x - mark->dx * arrow_length * u, back_y = mark->y - mark->dy * arrow_length * u;
    double side_x = -mark->dy * arrow_half_width * u, side_y = mark->dx * arrow_half_width * u;
    double notch_x = mark->x - mark->dx * arrow_length * 0.72 * u,
           notch_y = mark->y - mark->dy * arrow_length * 0.72 * u;
    cairo_move_to(cr, mark->x, mark->y);
    cairo_line_to(cr, back_x + side_x, back_y + side_y);
    cairo_line_to(cr, notch_x, notch_y);
    cairo_line_to(cr, back_x - side_x, back_y - side_y);
    cairo_close_path(cr);
}

/* White with a dark rim; a dark module is the other way round. */
static void draw_mark(struct map_panel *panel, const struct mark *mark) {
    cairo_t *cr = panel->page->cairo;
    double u = panel->page->unit * panel->text_scale;
    mark_path(cr, mark, u);
    page_ink(panel->page, mark->dark ? INK_NIGHT : INK_WHITE);
    cairo_fill_preserve(cr);
    page_ink(panel->page, mark->dark ? INK_WHITE : INK_NIGHT);
    cairo_set_line_width(cr, 1.6 * u);
    cairo_stroke(cr);
}

static void mark_words(const struct mark *mark, char words[32]) {
    if (mark->count == 1)
        snprintf(words, 32, "%zu", mark->first);
    else if (mark->last - mark->first + 1 == mark->count)
        snprintf(words, 32, "%zu–%zu", mark->first, mark->last);
    else if (mark->count == 2)
        snprintf(words, 32, "%zu, %zu", mark->first, mark->last);
    else
        snprintf(words, 32, "%zu modules", mark->count);
}

/* Around the mark in eight turns, first behind the arrow's tail or to the right of the foot, then farther off. */
static struct rect number_box(const struct mark *mark, int trial, struct rect size, double u) {
    int turn = trial % 8, ring = trial / 8 % 3;
    bool arrow = mark->dx != 0 || mark->dy != 0;
    double angle = (arrow ? atan2(-mark->dy, -mark->dx) : 0) + (turn + 1) / 2 * (turn % 2 ? 0.785398 : -0.785398);
    double dx = cos(angle), dy = sin(angle),
           out = (arrow ? arrow_length + 9 : foot_radius + 5) * u * (1 + 0.3 * ring);
    double x = mark->x + dx * (out + 2 * u + size.x1 / 2 * fabs(dx)),
           y = mark->y + dy * (out + size.y1 / 2 * fabs(dy));
    return (struct rect){x - size.x1 / 2 - 2 * u, y - size.y1 / 2, x + size.x1 / 2 + 2 * u, y + size.y1 / 2};
}

/* Clear of lines and frames if it may be, close to its mark; else of frames alone, also farther off; else of words.
 * Where there is no room at all the number is left out. */
static bool number_fits(const struct map_panel *panel, const struct clutter *lines, int trial, struct rect box) {
    return clutter_is_free(&panel->clutter, box) && (trial >= 40 || clutter_lines_under(&panel->clutter, box) == 0) &&
           (trial >= 16 || clutter_lines_under(lines, box) == 0);
}

static void draw_number(struct map_panel *panel, const struct clutter *lines, const struct mark *mark) {
    char words[32];
    mark_words(mark, words);
    double u = panel->page->unit * panel->text_scale;
    struct text text = {.string = words, .size = number_size * panel->text_scale};
    struct rect size = page_measure(panel->page, &text), bounds = rect_grown(panel->map, -3 * u);
    for (int trial = 0; trial < 64; trial++) {
        struct rect box = number_box(mark, trial < 16 ? trial : trial - 16, size, u);
        if (!rect_holds(bounds, box) || !number_fits(panel, lines, trial, box))
            continue;
        panel_ink_over(panel, box, &text);
        page_write(panel->page, &text, (box.x0 + box.x1) / 2, (box.y0 + box.y1) / 2, 0.5, 0.5);
        clutter_add_box(&panel->clutter, box);
        return;
    }
}

void panel_feet_draw(struct map_panel *panel, const struct panel_lines *lines) {
    struct mark *marks = malloc(MARKS_MAX * sizeof *marks);
    if (marks == NULL) {
        panel->page->out_of_memory = true;
        return;
    }
    double u = panel->page->unit * panel->text_scale, apart = 2.2 * foot_radius * u;
    int count = gather(panel, apart, marks);
    while (count < 0)
        count = gather(panel, apart *= 1.5, marks);
    for (int i = 0; i < count; i++) {
        draw_mark(panel, &marks[i]);
        clutter_add_box(&panel->clutter, mark_box(&marks[i], u));
    }
    struct clutter along = {0};
    panel_lines_gather(panel, lines, SIZE_MAX, &along);
    for (int i = 0; i < count; i++)
        draw_number(panel, &along, &marks[i]);
    panel->clutter.out_of_memory |= along.out_of_memory;
    clutter_free(&along);
    free(marks);
}
