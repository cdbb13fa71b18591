/* Room for labels: what is taken on a page, and where a label may still stand. Positions in px. */
#ifndef RENDER_FIGURES_LABELS_H
#define RENDER_FIGURES_LABELS_H

#include "page.h"

struct segment {
    double x0, y0, x1, y1;
};

/* Boxes that no label may touch, and lines that a label should rather not cover. */
struct clutter {
    struct rect *boxes;
    size_t box_count, box_room;
    struct segment *lines;
    size_t line_count, line_room;
    struct segment *leaders; /* of labels: among the lines too, but no name may cover one */
    size_t leader_count, leader_room;
    bool out_of_memory;
};
void clutter_free(struct clutter *clutter);
void clutter_add_box(struct clutter *clutter, struct rect box);
void clutter_add_line(struct clutter *clutter, struct segment line);
void clutter_add_leader(struct clutter *clutter, struct segment leader);
void clutter_add_outline(struct clutter *clutter, struct rect rect);

bool segment_meets_rect(struct segment segment, struct rect rect);
/* Leaves what lies in the rectangle; false: nothing does. */
bool segment_cut(struct segment *segment, struct rect rect);
bool clutter_is_free(const struct clutter *clutter, struct rect box);
int clutter_lines_under(const struct clutter *clutter, struct rect box);

/* A place for a label. */
struct label_place {
    bool found, leader; /* leader: a line from the label to what it names is needed */
    struct rect box;
    struct segment line; /* from the label to that */
};

/* A label of a frame. */
struct label_wish {
    struct rect frame, bounds;
    double width, height, gap;
    bool round, leaders;         /* the frame is a circle; a place farther off will do */
    const struct clutter *lines; /* that it leaves clear if it may; NULL: none */
    bool optional;               /* none is better than one over very many lines */
};
/* Looks around and inside the frame first, then farther away with a leader; never outside the bounds. */
struct label_place label_for_frame(const struct clutter *clutter, const struct label_wish *wish);

/* The shortest line from a box to a point outside; is it clear of all boxes? */
struct segment leader_to_point(struct rect box, double x, double y);
bool leader_is_free(const struct clutter *clutter, struct segment leader);
/* Lines that it crosses. */
int leader_crossings(const struct clutter *clutter, struct segment leader);

#endif
