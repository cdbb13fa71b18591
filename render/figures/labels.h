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
    bool out_of_memory;
};
void clutter_free(struct clutter *clutter);
void clutter_add_box(struct clutter *clutter, struct rect box);
void clutter_add_line(struct clutter *clutter, struct segment line);
void clutter_add_outline(struct clutter *clutter, struct rect rect);

bool segment_meets_rect(struct segment segment, struct rect rect);
bool clutter_is_free(const struct clutter *clutter, struct rect box);
int clutter_lines_under(const struct clutter *clutter, struct rect box);

/* A place for the label of a frame. */
struct label_place {
    bool found, leader; /* leader: a line from the label to the frame is needed */
    struct rect box;
    struct segment line; /* from the label to the frame */
};
/* Looks around and inside the frame first, then farther away with a leader; never outside the bounds. */
struct label_place label_for_frame(const struct clutter *clutter, struct rect frame, struct rect bounds, double width,
                                   double height, double gap, bool round, bool leaders);

#endif
