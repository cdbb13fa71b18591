#include "labels.h"

#include <math.h>
#include <stdlib.h>

void clutter_free(struct clutter *clutter) {
    free(clutter->boxes);
    free(clutter->lines);
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

bool segment_meets_rect(struct segment s, struct rect r) {
    double enter = 0, leave = 1;
    return cut(s.x0, s.x1 - s.x0, r.x0, r.x1, &enter, &leave) && cut(s.y0, s.y1 - s.y0, r.y0, r.y1, &enter, &leave);
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

/* The shortest line from the label's box to the frame's outline; a round frame is met on its circle. */
static struct segment leader_between(struct rect box, struct rect frame, bool round) {
    double cx = (box.x0 + box.x1) / 2, cy = (box.y0 + box.y1) / 2;
    double fx = clamp(cx, frame.x0, frame.x1), fy = clamp(cy, frame.y0, frame.y1);
    if (round) {
        double mx = (frame.x0 + frame.x1) / 2, my = (frame.y0 + frame.y1) / 2, radius = (frame.x1 - frame.x0) / 2;
        double nx = clamp(mx, box.x0, box.x1) - mx, ny = clamp(my, box.y0, box.y1) - my, away = hypot(nx, ny);
        fx = mx + nx * radius / away;
        fy = my + ny * radius / away;
    }
    return (struct segment){clamp(fx, box.x0, box.x1), clamp(fy, box.y0, box.y1), fx, fy};
}

static int boxes_under(const struct clutter *c, struct segment line) {
    int count = 0;
    for (size_t i = 0; i < c->box_count; i++)
        count += segment_meets_rect(line, c->boxes[i]);
    return count;
}

static void consider(const struct clutter *c, struct rect bounds, struct label_place trial, double base, double *best,
                     struct label_place *place) {
    if (base >= *best || !rect_holds(bounds, trial.box) || !clutter_is_free(c, trial.box))
        return;
    double cost = base + 30 * clutter_lines_under(c, trial.box);
    if (cost >= *best || (trial.leader && boxes_under(c, trial.line) > 0))
        return;
    *best = cost;
    *place = trial;
    place->found = true;
}

/* Beside the frame or inside its corners: no leader needed. */
static void consider_beside(const struct clutter *c, struct rect f, struct rect bounds, double w, double h,
                            double gap, bool round, double *best, struct label_place *place) {
    double corner = round ? 20 : 0; /* a round frame has no corners to stand at */
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
            consider(c, bounds, trial, spots[i].cost, best, place);
        }
}

/* Farther off, in rings about the frame. */
static void consider_away(const struct clutter *c, struct rect f, struct rect bounds, double w, double h, double gap,
                          bool round, double *best, struct label_place *place) {
    double cx = (f.x0 + f.x1) / 2, cy = (f.y0 + f.y1) / 2;
    for (int ring = 1; ring <= 24; ring++)
        for (int turn = 0; turn < 24; turn++) {
            double angle = turn * 6.28318530717958648 / 24 - 0.6, out = gap + ring * 0.9 * h;
            double x = cx + cos(angle) * ((f.x1 - f.x0) / 2 + out + w / 2);
            double y = cy + sin(angle) * ((f.y1 - f.y0) / 2 + out + h / 2);
            struct label_place trial = {.leader = true, .box = {x - w / 2, y - h / 2, x + w / 2, y + h / 2}};
            trial.line = leader_between(trial.box, f, round);
            consider(c, bounds, trial, 20 + 2.0 * ring + 0.05 * turn, best, place);
        }
}

struct label_place label_for_frame(const struct clutter *clutter, struct rect frame, struct rect bounds, double width,
                                   double height, double gap, bool round, bool leaders) {
    struct label_place place = {0};
    double best = INFINITY;
    consider_beside(clutter, frame, bounds, width, height, gap, round, &best, &place);
    if (leaders)
        consider_away(clutter, frame, bounds, width, height, gap, round, &best, &place);
    return place;
}
