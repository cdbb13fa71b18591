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

static struct contour_point centre_of(const struct contour_point *points, size_t count) {
    struct contour_point centre = {0, 0};
    for (size_t i = 0; i < count; i++) {
        centre.x += points[i].x / (double)count;
        centre.y += points[i].y / (double)count;
    }
    return centre;
}

/* From the lower right. */
static double turn_away(double x, double y) {
    return fabs(remainder(atan2(y, x) - 0.9, 6.28318530717958648));
}

bool line_label_spot(const struct clutter *clutter, const struct clutter *others, struct rect within,
                     const struct contour_point *points, size_t count, struct rect size, double pad,
                     struct rect *box) {
    struct contour_point centre = centre_of(points, count);
    double best = 1e9;
    size_t step = count / 120 + 1;
    for (size_t i = 0; i < count; i += step) {
        double x = points[i].x, y = points[i].y;
        struct rect trial = {x - size.x1 / 2 - pad, y - size.y1 / 2, x + size.x1 / 2 + pad, y + size.y1 / 2};
        if (!rect_holds(rect_grown(within, -pad), trial) || !clutter_is_free(clutter, trial))
            continue;
        double cost = turn_away(x - centre.x, y - centre.y) + 20 * clutter_lines_under(clutter, trial) +
                      cost_of_others(others, rect_grown(trial, pad / 2));
        if (cost < best && cost < 20) {
            best = cost;
            *box = trial;
        }
    }
    return best < 1e9;
}

static bool passes_under(const struct contour_point *points, size_t count, struct rect box) {
    for (size_t i = 1; i < count; i++)
        if (segment_meets_rect((struct segment){points[i - 1].x, points[i - 1].y, points[i].x, points[i].y}, box))
            return true;
    return false;
}

/* As far out from a point of the line, in this direction. */
static struct label_place place_off(struct contour_point on, double way, double out, struct rect size, double pad) {
    double dx = cos(way), dy = sin(way), w = size.x1 / 2 + pad, h = size.y1 / 2;
    double x = on.x + dx * (out + w * fabs(dx)), y = on.y + dy * (out + h * fabs(dy));
    struct label_place place = {.leader = true, .box = {x - w, y - h, x + w, y + h}};
    place.line = leader_to_point(rect_grown(place.box, -pad / 2), on.x, on.y);
    return place;
}

/* Outward from the line, the nearest place that is free of everything. */
static struct label_place place_beside(const struct clutter *clutter, const struct clutter *others,
                                       struct rect within, const struct contour_point *points, size_t count,
                                       struct rect size, double pad) {
    enum { DIRECTIONS = 3, DISTANCES = 8 };
    struct contour_point centre = centre_of(points, count);
    struct label_place best = {0};
    double least = INFINITY;
    for (size_t i = 0; i < count; i += count / 48 + 1)
        for (int k = 0; k < DIRECTIONS * DISTANCES; k++) {
            double x = points[i].x - centre.x, y = points[i].y - centre.y, out = (2 + k / DIRECTIONS) * 2 * pad;
            struct label_place trial = place_off(points[i], atan2(y, x) + 0.6 * (k % DIRECTIONS - 1), out, size, pad);
            double cost = out / pad + turn_away(x, y);
            if (cost >= least || !rect_holds(rect_grown(within, -pad), trial.box) ||
                !clutter_is_free(clutter, trial.box) || clutter_lines_under(clutter, trial.box) > 0 ||
                clutter_lines_under(others, trial.box) > 0 || passes_under(points, count, trial.box))
                continue;
            cost += 2 * (leader_crossings(others, trial.line) + leader_crossings(clutter, trial.line));
            if (cost >= least || !leader_is_free(clutter, trial.line))
                continue;
            least = cost;
            best = trial;
            best.found = true;
        }
    return best;
}

struct label_place line_label_place(const struct clutter *clutter, const struct clutter *others, struct rect within,
                                    const struct contour_point *points, size_t count, struct rect size, double pad) {
    struct label_place on = {0};
    on.found = line_label_spot(clutter, others, within, points, count, size, pad, &on.box);
    if (on.found && clutter_lines_under(others, rect_grown(on.box, pad / 2)) == 0)
        return on;
    struct label_place beside = place_beside(clutter, others, within, points, count, size, pad);
    return beside.found ? beside : on;
}
