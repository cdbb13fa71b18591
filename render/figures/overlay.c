#include "map_panel.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>

static const double name_size = 18.5, line_label_size = 17, SMALL_NAME = 160;

/* ---- lines of equal value ---------------------------------------------------------------------------------------
 */

bool panel_lines_add(struct map_panel *panel, const struct value_grid *grid, double level, const char *label,
                     struct panel_lines *lines) {
    struct contours *traced = &lines->lines[lines->count];
    if (!contours_trace(grid, level, traced))
        return false;
    for (size_t i = 0; i < traced->point_count; i++)
        traced->points[i] =
            (struct contour_point){panel_x(panel, traced->points[i].x), panel_y(panel, traced->points[i].y)};
    lines->level[lines->count] = level;
    snprintf(lines->label[lines->count], sizeof lines->label[0], "%s", label);
    lines->count++;
    return true;
}

bool panel_lines_make(struct map_panel *panel, size_t count, const double *shares, struct panel_lines *lines) {
    *lines = (struct panel_lines){.count = 0};
    double peak = panel->plane->peak_lx.value;
    if (!(peak > 0) || !isfinite(peak))
        return true;
    bool done = true;
    for (size_t i = 0; i < count && done; i++) {
        struct value_grid grid;
        char label[16];
        /* a narrow space (U+202F): the line would show through a wide one */
        snprintf(label, sizeof label, "%.0f\u202f%%", 100 * shares[i]);
        done = value_grid_for_line(panel->plane, shares[i], &grid) &&
               panel_lines_add(panel, &grid, shares[i] * peak, label, lines);
        value_grid_free(&grid);
    }
    if (!done)
        panel_lines_free(lines);
    return done;
}

void panel_lines_free(struct panel_lines *lines) {
    for (size_t i = 0; i < LEVELS_MAX; i++)
        contours_free(&lines->lines[i]);
    lines->count = 0;
}

static void clip_to_map(const struct map_panel *panel) {
    cairo_rectangle(panel->page->cairo, panel->map.x0, panel->map.y0, panel->map.x1 - panel->map.x0,
                    panel->map.y1 - panel->map.y0);
    cairo_clip(panel->page->cairo);
}

/* By rays, what is left of the noise may cross a level in specks. */
static bool is_speck(const struct map_panel *panel, const struct contour_point *points, size_t count) {
    return (panel->noisy || panel->plane->e_u95_lx != NULL) &&
           line_length(points, count) < (line_is_ring(points, count) ? 16 : 40) * panel->page->unit;
}

void panel_lines_draw(struct map_panel *panel, const struct panel_lines *lines) {
    cairo_t *cr = panel->page->cairo;
    double dash[] = {8 * panel->page->unit, 5 * panel->page->unit};
    cairo_save(cr);
    clip_to_map(panel);
    cairo_set_line_width(cr, 1.6 * panel->page->unit);
    for (size_t l = 0; l < lines->count; l++) {
        struct ink ink = tone_reading_ink(panel->tone, lines->level[l]);
        ink.opacity = 0.85;
        page_ink(panel->page, ink);
        const struct contours *c = &lines->lines[l];
        for (size_t i = 0; i < c->line_count; i++)
            if (!is_speck(panel, c->points + c->starts[i], c->starts[i + 1] - c->starts[i]))
                line_path(cr, c->points + c->starts[i], c->starts[i + 1] - c->starts[i]);
        if (lines->level[l] < 0) /* less light than none: a difference; its sign shows without colours */
            cairo_set_dash(cr, dash, 2, 0);
        cairo_stroke(cr);
        cairo_set_dash(cr, NULL, 0, 0);
    }
    cairo_restore(cr);
}

void panel_lines_gather(const struct map_panel *panel, const struct panel_lines *lines, size_t but_level,
                        struct clutter *gathered) {
    for (size_t l = 0; l < lines->count; l++) {
        const struct contours *c = &lines->lines[l];
        for (size_t i = 0; i < c->line_count && l != but_level; i++) {
            const struct contour_point *points = c->points + c->starts[i];
            size_t count = c->starts[i + 1] - c->starts[i];
            if (is_speck(panel, points, count))
                continue;
            for (size_t k = 1; k < count; k++)
                clutter_add_line(gathered,
                                 (struct segment){points[k - 1].x, points[k - 1].y, points[k].x, points[k].y});
        }
    }
}

static void draw_leader(struct map_panel *panel, struct segment line, const struct text *text) {
    cairo_t *cr = panel->page->cairo;
    page_ink(panel->page, text->halo);
    cairo_set_line_width(cr, 4.5 * panel->page->unit);
    page_line(panel->page, line.x0, line.y0, line.x1, line.y1);
    page_ink(panel->page, text->ink);
    cairo_set_line_width(cr, 1.4 * panel->page->unit);
    page_line(panel->page, line.x0, line.y0, line.x1, line.y1);
}

/* On the line the colour of the map itself is the halo: the line pauses for its label. */
static void write_line_label(struct map_panel *panel, const struct label_place *place, struct text *text) {
    struct rect box = place->box;
    double u = panel->page->unit;
    if (place->leader) {
        panel_ink_over(panel, box, text);
        draw_leader(panel, place->line, text);
        cairo_arc(panel->page->cairo, place->line.x1, place->line.y1, 2.6 * u, 0, 6.28318530717958648);
        cairo_fill(panel->page->cairo);
        clutter_add_leader(&panel->clutter, place->line);
    }
    page_write(panel->page, text, (box.x0 + box.x1) / 2, (box.y0 + box.y1) / 2, 0.5, 0.5);
    clutter_add_box(&panel->clutter, rect_grown(box, 3 * u));
}

static void label_level(struct map_panel *panel, const struct panel_lines *lines, size_t level,
                        const struct clutter *others) {
    struct text text = {.string = lines->label[level], .size = line_label_size * panel->text_scale, .halo_width = 5};
    text.ink = tone_reading_ink(panel->tone, lines->level[level]);
    text.halo = tone_ink(panel->tone, lines->level[level]);
    struct rect size = page_measure(panel->page, &text);
    const struct contours *c = &lines->lines[level];
    int written = 0;
    for (size_t i = 0; i < c->line_count && written < 3; i++) {
        const struct contour_point *points = c->points + c->starts[i];
        size_t count = c->starts[i + 1] - c->starts[i];
        if (line_length(points, count) < 2.2 * size.x1)
            continue;
        struct text own = text;
        struct label_place place =
            line_label_place(&panel->clutter, others, panel->map, points, count, size, 4 * panel->page->unit);
        if (place.found)
            write_line_label(panel, &place, &own);
        written += place.found;
    }
}

void panel_lines_label(struct map_panel *panel, const struct panel_lines *lines) {
    for (size_t l = 0; l < lines->count; l++) {
        struct clutter others = {0};
        panel_lines_gather(panel, lines, l, &others);
        label_level(panel, lines, l, &others);
        panel->clutter.out_of_memory |= others.out_of_memory;
        clutter_free(&others);
    }
}

/* ---- fields -----------------------------------------------------------------------------------------------------
 */

static struct rect frame_of(const struct map_panel *panel, const struct luxfall_field *field) {
    return (struct rect){
        panel_x(panel, field->x_mm - field->width_mm / 2), panel_y(panel, field->y_mm + field->height_mm / 2),
        panel_x(panel, field->x_mm + field->width_mm / 2), panel_y(panel, field->y_mm - field->height_mm / 2)};
}

/* A round frame as a clutter of twelve chords. */
static void add_outline(struct clutter *clutter, const struct luxfall_field *field, struct rect frame) {
    if (!field->round) {
        clutter_add_outline(clutter, frame);
        return;
    }
    double cx = (frame.x0 + frame.x1) / 2, cy = (frame.y0 + frame.y1) / 2, r = (frame.x1 - frame.x0) / 2;
    for (int i = 0; i < 12; i++) {
        double a = i * 0.52359877559829887, b = a + 0.52359877559829887;
        clutter_add_line(clutter,
                         (struct segment){cx + r * cos(a), cy + r * sin(a), cx + r * cos(b), cy + r * sin(b)});
    }
}

static void frame_path(cairo_t *cr, const struct luxfall_field *field, struct rect frame) {
    cairo_new_sub_path(cr);
    if (field->round)
        cairo_arc(cr, (frame.x0 + frame.x1) / 2, (frame.y0 + frame.y1) / 2, (frame.x1 - frame.x0) / 2, 0,
                  6.28318530717958648);
    else
        cairo_rectangle(cr, frame.x0, frame.y0, frame.x1 - frame.x0, frame.y1 - frame.y0);
}

/* White on a dark casing: it shows on every colour. */
void panel_frames_draw(struct map_panel *panel) {
    cairo_t *cr = panel->page->cairo;
    double u = panel->page->unit * panel->text_scale;
    cairo_save(cr);
    clip_to_map(panel);
    for (size_t i = 0; i < panel->scene->light.field_count; i++) {
        const struct luxfall_field *field = &panel->scene->light.fields[i];
        struct rect frame = frame_of(panel, field);
        add_outline(&panel->clutter, field, frame);
        frame_path(cr, field, frame);
        struct ink casing = INK_NIGHT;
        casing.opacity = 0.75;
        page_ink(panel->page, casing);
        cairo_set_line_width(cr, 4.4 * u);
        cairo_stroke_preserve(cr);
        page_ink(panel->page, INK_WHITE);
        cairo_set_line_width(cr, 2 * u);
        cairo_stroke(cr);
    }
    cairo_restore(cr);
}

/* Writes one name; false when there is no room for it. */
static bool draw_name(struct map_panel *panel, const struct luxfall_field *field, const struct clutter *lines,
                      bool leaders) {
    struct rect frame = frame_of(panel, field), map = panel->map;
    if (!rects_meet(frame, map) || rect_holds(frame, map))
        return true; /* its frame is not to be seen */
    double u = panel->page->unit, pad = 5 * u * panel->text_scale;
    struct text text = {.string = field->name, .size = name_size * panel->text_scale};
    double room = panel->room.x1 - panel->room.x0; /* a small map must give more of itself to a name */
    text.cut = fmax(0.45 * room, fmin(0.8 * room, SMALL_NAME * u));
    struct rect size = page_measure(panel->page, &text);
    if (size.x1 < text.cut * 0.999)
        text.cut = 0;
    struct label_place place =
        label_for_frame(&panel->clutter, &(struct label_wish){frame, rect_grown(panel->room, -pad), size.x1 + 2 * pad,
                                                              size.y1, pad, field->round, leaders, lines, true});
    if (!place.found)
        return false;
    panel_ink_over(panel, place.box, &text);
    if (place.leader) {
        draw_leader(panel, place.line, &text);
        clutter_add_leader(&panel->clutter, place.line);
    }
    page_write(panel->page, &text, place.box.x0 + pad, (place.box.y0 + place.box.y1) / 2, 0, 0.5);
    clutter_add_box(&panel->clutter, rect_grown(place.box, 1.5 * u));
    return true;
}

static double area(const struct luxfall_field *field) {
    return field->width_mm * field->height_mm;
}

/* Large fields take their natural places first: the small ones inside them then look for what is left. */
static size_t draw_names(struct map_panel *panel, const struct clutter *lines) {
    size_t count = panel->scene->light.field_count, unnamed = 0;
    const struct luxfall_field *fields = panel->scene->light.fields;
    double previous = INFINITY;
    size_t done = 0;
    while (done < count) { /* a selection by falling area; equals in the scene's order */
        double next = -1;
        for (size_t i = 0; i < count; i++)
            if (area(&fields[i]) < previous)
                next = fmax(next, area(&fields[i]));
        for (size_t i = 0; i < count; i++)
            if (area(&fields[i]) == next) {
                unnamed += !draw_name(panel, &fields[i], lines, count <= 24);
                done++;
            }
        if (next < 0)
            break;
        previous = next;
    }
    return unnamed;
}

size_t panel_names_draw(struct map_panel *panel, const struct panel_lines *lines) {
    struct clutter along = {0};
    panel_lines_gather(panel, lines, SIZE_MAX, &along);
    size_t unnamed = draw_names(panel, &along);
    panel->clutter.out_of_memory |= along.out_of_memory;
    clutter_free(&along);
    return unnamed;
}
