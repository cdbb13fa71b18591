#include "lines.h"

#include <math.h>

bool line_is_ring(const struct contour_point *points, size_t count) {
    return points[0].x == points[count - 1].x && points[0].y == points[count - 1].y;
}

double line_length(const struct contour_point *points, size_t count) {
    double length = 0;
    for (size_t i = 1; i < count; i++)
        length += hypot(points[i].x - points[i - 1].x, points[i].y - points[i - 1].y);
    return length;
}

static struct contour_point middle(struct contour_point a, struct contour_point b) {
    return (struct contour_point){(a.x + b.x) / 2, (a.y + b.y) / 2};
}

/* Through the middles of the pieces, with the crossings as guides: round where marching squares are angular. */
void line_path(cairo_t *cr, const struct contour_point *points, size_t count) {
    bool ring = count > 3 && line_is_ring(points, count);
    struct contour_point at = ring ? middle(points[0], points[1]) : points[0];
    cairo_move_to(cr, at.x, at.y);
    size_t pieces = ring ? count - 1 : count - 2;
    for (size_t i = 1; i <= pieces && count > 2; i++) {
        struct contour_point guide = points[i], to = middle(guide, points[ring && i == count - 1 ? 1 : i + 1]);
        cairo_curve_to(cr, at.x + (guide.x - at.x) * 2 / 3, at.y + (guide.y - at.y) * 2 / 3,
                       to.x + (guide.x - to.x) * 2 / 3, to.y + (guide.y - to.y) * 2 / 3, to.x, to.y);
        at = to;
    }
    if (ring)
        cairo_close_path(cr);
    else
        cairo_line_to(cr, points[count - 1].x, points[count - 1].y);
}

/* Below the 20 of a frame, however many pieces of other lines lie under the box: a label there is better than none.
 */
static double cost_of_others(const struct clutter *others, struct rect box) {
    double under = others != NULL ? clutter_lines_under(others, box) : 0;
    return under > 0 ? 4 + 10 * under / (under + 10) : 0;
}

bool line_label_spot(const struct clutter *clutter, const struct clutter *others, struct rect within,
                     const struct contour_point *points, size_t count, struct rect size, double pad,
                     struct rect *box) {
    double best = 1e9, middle_x = 0, middle_y = 0;
    for (size_t i = 0; i < count; i++) {
        middle_x += points[i].x / (double)count;
        middle_y += points[i].y / (double)count;
    }
    size_t step = count / 120 + 1;
    for (size_t i = 0; i < count; i += step) {
        double x = points[i].x, y = points[i].y;
        struct rect trial = {x - size.x1 / 2 - pad, y - size.y1 / 2, x + size.x1 / 2 + pad, y + size.y1 / 2};
        if (!rect_holds(rect_grown(within, -pad), trial) || !clutter_is_free(clutter, trial))
            continue;
        double away = fabs(remainder(atan2(y - middle_y, x - middle_x) - 0.9, 6.28318530717958648));
        double cost =
            away + 20 * clutter_lines_under(clutter, trial) + cost_of_others(others, rect_grown(trial, pad / 2));
        if (cost < best && cost < 20) {
            best = cost;
            *box = trial;
        }
    }
    return best < 1e9;
}
