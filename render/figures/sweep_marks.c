#include "sweep_marks.h"

#include <limits.h>
#include <math.h>

enum { ROW = 30, BELOW_ROWS = 6, GAP = 7, UNPLACED = -1, FEW = 7 };
static const double label_size = 18;

static struct text label_text(const struct mark_label *label) {
    return (struct text){.string = label->string,
                         .size = label_size,
                         .cut = label->cut,
                         .ink = INK_TEXT,
                         .halo = INK_WHITE,
                         .halo_width = 4};
}

static void take_side(struct page *page, struct mark_label *label, bool leftwards, double left, double right) {
    label->cut = 0;
    struct text text = label_text(label);
    double gaps = 2 * GAP * page->unit, width = page_measure(page, &text).x1 + gaps;
    double room = leftwards ? label->x - left : right - label->x;
    label->lacks = fmax(width - room, 0);
    if (width > room)
        label->cut = fmax(room - gaps, 1);
    width = fmin(width, room);
    label->leftwards = leftwards;
    label->x0 = label->x - (leftwards ? width : 0);
    label->x1 = label->x + (leftwards ? 0 : width);
    label->row = UNPLACED;
}

static bool line_under(const struct mark_label *label, const struct mark_label *other) {
    return other->x > label->x0 && other->x < label->x1;
}

/* Whether the label's line would run through the label of one that has no row yet. */
static bool must_wait(const struct mark_label *labels, size_t count, size_t at) {
    for (size_t i = 0; i < count; i++)
        if (i != at && labels[i].row == UNPLACED && line_under(&labels[i], &labels[at]))
            return true;
    return false;
}

static bool row_is_taken(const struct mark_label *labels, size_t count, int row, const struct mark_label *label) {
    for (size_t i = 0; i < count; i++)
        if (labels[i].row == row && labels[i].x0 < label->x1 && label->x0 < labels[i].x1)
            return true;
    return false;
}

/* Fills one row from those that have none; true when something was placed. Of labels that all wait for each other the
 * first goes ahead. */
static size_t fill_row(struct mark_label *labels, size_t count, int row) {
    size_t placed = 0, first = count;
    for (size_t i = 0; i < count; i++) {
        if (labels[i].row != UNPLACED)
            continue;
        if (first == count)
            first = i;
        if (must_wait(labels, count, i) || row_is_taken(labels, count, row, &labels[i]))
            continue;
        labels[i].row = row;
        placed++;
    }
    if (placed == 0 && first < count) {
        labels[first].row = row;
        placed = 1;
    }
    return placed;
}

static int fill_rows(struct mark_label *labels, size_t count) {
    int rows = 0;
    for (size_t placed = 0; placed < count; rows++)
        placed += fill_row(labels, count, rows);
    return rows;
}

/* Lines through labels are worst, then labels cut short, then many rows, then labels at the left of their lines. */
static int cost_of(const struct mark_label *labels, size_t count, int rows) {
    int cost = 10 * rows;
    for (size_t i = 0; i < count; i++) {
        cost += labels[i].leftwards + (labels[i].cut > 0 ? 100 + (int)labels[i].lacks : 0);
        for (size_t k = 0; k < count; k++)
            cost += k != i && labels[k].row <= labels[i].row && line_under(&labels[i], &labels[k]) ? 10000 : 0;
    }
    return cost;
}

static int try_sides(struct page *page, struct mark_label *labels, size_t count, unsigned sides, double left,
                     double right) {
    for (size_t i = 0; i < count; i++)
        take_side(page, &labels[i], i < 32 && (sides >> i & 1), left, right);
    return fill_rows(labels, count);
}

/* The sides with more room. */
static unsigned roomy_sides(const struct mark_label *labels, size_t count, double left, double right) {
    unsigned sides = 0;
    for (size_t i = 0; i < count; i++)
        sides |= i < 32 && labels[i].x - left > right - labels[i].x ? 1U << i : 0;
    return sides;
}

int mark_labels_place(struct page *page, struct mark_label *labels, size_t count, double left, double right) {
    unsigned best_sides = roomy_sides(labels, count, left, right);
    int best = INT_MAX;
    for (unsigned sides = 0; count <= FEW && sides < 1U << count; sides++) {
        int rows = try_sides(page, labels, count, sides, left, right), cost = cost_of(labels, count, rows);
        if (cost < best) {
            best = cost;
            best_sides = sides;
        }
    }
    return try_sides(page, labels, count, best_sides, left, right);
}

double mark_labels_height(const struct page *page, int rows) {
    return rows > 0 ? (rows * ROW + BELOW_ROWS) * page->unit : 0;
}

void mark_lines_draw(struct page *page, const struct mark_label *labels, size_t count, double top, double bottom) {
    double u = page->unit, dash[] = {7 * u, 4 * u};
    page_ink(page, INK_SOFT);
    cairo_set_line_width(page->cairo, 1.4 * u);
    cairo_set_dash(page->cairo, dash, 2, 0);
    for (size_t i = 0; i < count; i++)
        page_line(page, labels[i].x, top + labels[i].row * ROW * u + 4 * u, labels[i].x, bottom);
    cairo_set_dash(page->cairo, NULL, 0, 0);
}

void mark_labels_draw(struct page *page, const struct mark_label *labels, size_t count, double top) {
    double u = page->unit;
    for (size_t i = 0; i < count; i++) {
        struct text text = label_text(&labels[i]);
        double x = labels[i].x + (labels[i].leftwards ? -GAP : GAP) * u;
        page_write(page, &text, x, top + (labels[i].row + 0.5) * ROW * u, labels[i].leftwards ? 1 : 0, 0.5);
    }
}
