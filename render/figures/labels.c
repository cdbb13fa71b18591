#include "labels.h"

#include <math.h>
#include <stdlib.h>

void clutter_free(struct clutter *clutter) {
    free(clutter->boxes);
    free(clutter->lines);
    free(clutter->leaders);
    *clutter = (struct clutter){0};
}

/* Doubles a full array; false, and remembered, when there is no memory. */
static bool grown(void **items, size_t *room, size_t count, size_t size, bool *out_of_memory) {
    if (count < *room)
        return true;
    size_t wanted = *room != 0 ? 2 * *room : 64;
    void *bigger = realloc(*items, wanted * size);
    if (bigger == NULL) {
        *out_of_memory = true;
        return false;
    }
    *items = bigger;
    *room = wanted;
    return true;
}

void clutter_add_box(struct clutter *c, struct rect box) {
    void *items = c->boxes;
    if (!grown(&items, &c->box_room, c->box_count, sizeof box, &c->out_of_memory))
        return;
    c->boxes = items;
    c->boxes[c->box_count++] = box;
}

void clutter_add_line(struct clutter *c, struct segment line) {
    void *items = c->lines;
    if (!grown(&items, &c->line_room, c->line_count, sizeof line, &c->out_of_memory))
        return;
    c->lines = items;
    c->lines[c->line_count++] = line;
}

void clutter_add_leader(struct clutter *c, struct segment leader) {
    clutter_add_line(c, leader);
    void *items = c->leaders;
    if (!grown(&items, &c->leader_room, c->leader_count, sizeof leader, &c->out_of_memory))
        return;
    c->leaders = items;
    c->leaders[c->leader_count++] = leader;
}

void clutter_add_outline(struct clutter *c, struct rect r) {
    clutter_add_line(c, (struct segment){r.x0, r.y0, r.x1, r.y0});
    clutter_add_line(c, (struct segment){r.x0, r.y1, r.x1, r.y1});
    clutter_add_line(c, (struct segment){r.x0, r.y0, r.x0, r.y1});
    clutter_add_line(c, (struct segment){r.x1, r.y0, r.x1, r.y1});
}

/* Cuts the segment by one pair of parallel sides; false when nothing is left. */
static bool cut(double from, double along, double lo, double hi, double *enter, double *leave) {
    if (along == 0)
        return from >= lo && from <= hi;
    double a = (lo - from) / along, b = (hi - from) / along;
    *enter = fmax(*enter, fmin(a, b));
    *leave = fmin(*leave, fmax(a, b));
    return *enter <= *leave;
}

bool segment_cut(struct segment *segment, struct rect r) {
    struct segment s = *segment;
    double enter = 0, leave = 1, dx = s.x1 - s.x0, dy = s.y1 - s.y0;
    if (!cut(s.x0, dx, r.x0, r.x1, &enter, &leave) || !cut(s.y0, dy, r.y0, r.y1, &enter, &leave))
        return false;
    *segment = (struct segment){s.x0 + enter * dx, s.y0 + enter * dy, s.x0 + leave * dx, s.y0 + leave * dy};
    return true;
}

bool segment_meets_rect(struct segment segment, struct rect rect) {
    return segment_cut(&segment, rect);
}

bool clutter_is_free(const struct clutter *c, struct rect box) {
    for (size_t i = 0; i < c->box_count; i++)
        if (rects_meet(c->boxes[i], box))
            return false;
    return true;
}

int clutter_lines_under(const struct clutter *c, struct rect box) {
    int count = 0;
    for (size_t i = 0; i < c->line_count; i++)
        count += segment_meets_rect(c->lines[i], box);
    return count;
}

static double clamp(double value, double lo, double hi) {
    return value < lo ? lo : value > hi ? hi : value;
}

struct segment leader_to_point(struct rect box, double x, double y) {
    return (struct segment){clamp(x, box.x0, box.x1), clamp(y, box.y0, box.y1), x, y};
}

bool leader_is_free(const struct clutter *c, struct segment leader) {
    for (size_t i = 0; i < c->box_count; i++)
        if (segment_meets_rect(leader, c->boxes[i]))
            return false;
    return true;
}

/* On which side of the line a point lies. */
static bool is_left(struct segment line, double x, double y) {
    return (line.x1 - line.x0) * (y - line.y0) > (line.y1 - line.y0) * (x - line.x0);
}

int leader_crossings(const struct clutter *c, struct segment a) {
    int count = 0;
    for (size_t i = 0; i < c->line_count; i++) {
        struct segment b = c->lines[i];
        count += is_left(a, b.x0, b.y0) != is_left(a, b.x1, b.y1) && is_left(b, a.x0, a.y0) != is_left(b, a.x1, a.y1);
    }
    return count;
}

/* ---- labels of frames -------------------------------------------------------------------------------------------
 */

/* The shortest line from the label's box to the frame's outline, or one that meets it somewhat aside of that, -1 to
 * 1; a round frame is met on its circle. */
static struct segment leader_to_frame(struct rect box, struct rect frame, bool round, double aside) {
    double cx = (box.x0 + box.x1) / 2 + aside * (frame.x1 - frame.x0) / 3;
    double cy = (box.y0 + box.y1) / 2 + aside * (frame.y1 - frame.y0) / 3;
    if (!round)
        return leader_to_point(box, clamp(cx, frame.x0, frame.x1), clamp(cy, frame.y0, frame.y1));
    double mx = (frame.x0 + frame.x1) / 2, my = (frame.y0 + frame.y1) / 2, radius = (frame.x1 - frame.x0) / 2;
    double way = atan2(clamp(my, box.y0, box.y1) - my, clamp(mx, box.x0, box.x1) - mx) + 1.2 * aside;
    return leader_to_point(box, mx + radius * cos(way), my + radius * sin(way));
}

/* As much as a leader of some length, however many pieces of lines lie under the box. */
static double cost_of_lines(const struct clutter *lines, struct rect box) {
    double under = lines != NULL ? clutter_lines_under(lines, box) : 0;
    return under > 0 ? 24 + 10 * under / (under + 10) : 0;
}

/* Would its letters lie over another label's leader? The gap at their ends may. */
static bool hides_leader(const struct clutter *c, const struct label_wish *wish, struct rect box) {
    struct rect letters = {box.x0 + wish->gap, box.y0, box.x1 - wish->gap, box.y1};
    for (size_t i = 0; i < c->leader_count; i++)
        if (segment_meets_rect(c->leaders[i], letters))
            return true;
    return false;
}

static void consider(const struct clutter *c, const struct label_wish *wish, struct label_place trial, double base,
                     double *best, struct label_place *place) {
    if (base >= *best || !rect_holds(wish->bounds, trial.box) || !clutter_is_free(c, trial.box) ||
        hides_leader(c, wish, trial.box))
        return;
    double cost = base + 30 * clutter_lines_under(c, trial.box) + cost_of_lines(wish->lines, trial.box);
    if (trial.leader && cost < *best)
        cost += 5 * leader_crossings(c, trial.line);
    if (cost >= *best || (trial.leader && !leader_is_free(c, trial.line)))
        return;
    *best = cost;
    *place = trial;
    place->found = true;
}

/* Beside the frame or inside its corners: no leader needed. */
static void consider_beside(const struct clutter *c, const struct label_wish *wish, double *best,
                            struct label_place *place) {
    struct rect f = wish->frame;
    double w = wish->width, h = wish->height, gap = wish->gap;
    double corner = wish->round ? 20 : 0; /* a round frame has no corners to stand at */
    double middle_x = (f.x0 + f.x1 - w) / 2, middle_y = (f.y0 + f.y1 - h) / 2;
    bool wide = f.x1 - f.x0 > w + 2 * gap, tall = f.y1 - f.y0 > h + 2 * gap;
    const struct {
        double x, y, cost;
        bool allowed;
    } spots[] = {
        {f.x0, f.y0 - gap - h, corner, true},
        {f.x0, f.y1 + gap, corner + 1, true},
        {f.x1 - w, f.y0 - gap - h, corner + 2, wide},
        {f.x1 - w, f.y1 + gap, corner + 3, wide},
        {middle_x, f.y0 - gap - h, 4, true},
        {middle_x, f.y1 + gap, 5, true},
        {f.x0 + gap, f.y0 + gap, corner + 6, wide && tall},
        {f.x0 + gap, f.y1 - gap - h, corner + 7, wide && tall},
        {f.x1 - gap - w, f.y0 + gap, corner + 8, wide && tall},
        {f.x1 - gap - w, f.y1 - gap - h, corner + 9, wide && tall},
        {f.x1 + gap, middle_y, 10, true},
        {f.x0 - gap - w, middle_y, 11, true},
    };
    for (size_t i = 0; i < sizeof spots / sizeof *spots; i++)
        if (spots[i].allowed) {
            struct label_place trial = {.box = {spots[i].x, spots[i].y, spots[i].x + w, spots[i].y + h}};
            consider(c, wish, trial, spots[i].cost, best, place);
        }
}

/* Farther off, in rings about the frame. */
static void consider_away(const struct clutter *c, const struct label_wish *wish, double *best,
                          struct label_place *place) {
    enum { RINGS = 24, TURNS = 48 };
    struct rect f = wish->frame;
    double w = wish->width, h = wish->height, cx = (f.x0 + f.x1) / 2, cy = (f.y0 + f.y1) / 2;
    for (int ring = 1; ring <= RINGS; ring++)
        for (int turn = 0; turn < TURNS; turn++) {
            double angle = (turn - TURNS / 12) * 6.28318530717958648 / TURNS, out = wish->gap + ring * 0.9 * h;
            double x = cx + cos(angle) * ((f.x1 - f.x0) / 2 + out + w / 2);
            double y = cy + sin(angle) * ((f.y1 - f.y0) / 2 + out + h / 2);
            struct label_place trial = {.leader = true, .box = {x - w / 2, y - h / 2, x + w / 2, y + h / 2}};
            for (int aside = 0; aside < 3; aside++) {
                trial.line = leader_to_frame(trial.box, f, wish->round, aside < 2 ? aside : -1);
                consider(c, wish, trial, 20 + 2.0 * ring + 1.2 * turn / TURNS + (aside > 0 ? 1 : 0), best, place);
            }
        }
}

struct label_place label_for_frame(const struct clutter *clutter, const struct label_wish *wish) {
    struct label_place place = {0};
    double best = wish->optional ? 150 : INFINITY;
    consider_beside(clutter, wish, &best, &place);
    if (wish->leaders)
        consider_away(clutter, wish, &best, &place);
    return place;
}
