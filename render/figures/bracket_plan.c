/* The plan: modules seen from above, with numbers, clock hours, aim lines and dimensions. */
#include "bracket_sheet.h"

#include <math.h>
#include <stdio.h>

static const double PI = 3.14159265358979323846;

/* Paper kept free about the modules for labels, and below and left for dimensions; mm. */
enum { LABEL_ROOM = 12, DIMENSION_ROOM = 10, HEAD_ROOM = 6 };
enum { CROWD = 400 };

/* mm of scene. */
static void widen(struct rect *extent, double x, double y) {
    extent->x0 = fmin(extent->x0, x);
    extent->y0 = fmin(extent->y0, y);
    extent->x1 = fmax(extent->x1, x);
    extent->y1 = fmax(extent->y1, y);
}

/* ---- what must lie on the plan --------------------------------------------------------------------------------- */

/* Of the modules' middles, the centre included. */
static struct rect extent_of_middles(const struct luxfall_scene *light) {
    struct rect extent = {0, 0, 0, 0};
    for (size_t i = 0; i < light->module_count; i++)
        widen(&extent, light->modules[i].pose.at_mm.x, light->modules[i].pose.at_mm.y);
    return extent;
}

static struct rect extent_of_all(const struct sheet *sheet) {
    const struct luxfall_scene *light = &sheet->scene->light;
    struct rect extent = extent_of_middles(light);
    for (size_t i = 0; i < light->module_count; i++) {
        struct luxfall_vec corners[FACE_CORNERS], aim = sheet->list.each[i].aim_mm;
        size_t count = face_corners(light, i, corners);
        for (size_t c = 0; c < count; c++)
            widen(&extent, corners[c].x, corners[c].y);
        if (!isnan(aim.x))
            widen(&extent, aim.x, aim.y);
    }
    for (size_t i = 0; i < light->field_count; i++) {
        const struct luxfall_field *f = &light->fields[i];
        widen(&extent, f->x_mm - f->width_mm / 2, f->y_mm - f->height_mm / 2);
        widen(&extent, f->x_mm + f->width_mm / 2, f->y_mm + f->height_mm / 2);
    }
    return extent;
}

static struct drawing place_plan(struct sheet *sheet, struct rect box) {
    struct rect e = extent_of_all(sheet);
    double left = box.x0 + DIMENSION_ROOM + LABEL_ROOM, right = box.x1 - LABEL_ROOM;
    double top = box.y0 + HEAD_ROOM + LABEL_ROOM / 2.0, bottom = box.y1 - DIMENSION_ROOM - LABEL_ROOM;
    struct drawing plan = {.sheet = sheet, .box = box};
    plan.scale = sheet_scale(e.x1 - e.x0, e.y1 - e.y0, right - left, bottom - top, SHEET_SCALE_MOST);
    plan.origin_x = (left + right) / 2 - plan.scale * (e.x0 + e.x1) / 2;
    plan.origin_y = (top + bottom) / 2 + plan.scale * (e.y0 + e.y1) / 2;
    return plan;
}

/* ---- lines ----------------------------------------------------------------------------------------------------- */

static void draw_fields(const struct drawing *plan) {
    const struct luxfall_scene *light = &plan->sheet->scene->light;
    cairo_t *cr = plan->sheet->page->cairo;
    double u = plan->sheet->page->unit;
    sheet_pen(plan->sheet, SHEET_FAINT, 0.15, true);
    for (size_t i = 0; i < light->field_count; i++) {
        const struct luxfall_field *field = &light->fields[i];
        double x = drawing_x(plan, field->x_mm) * u, y = drawing_y(plan, field->y_mm) * u;
        double w = plan->scale * field->width_mm * u, h = plan->scale * field->height_mm * u;
        if (field->round)
            cairo_arc(cr, x, y, w / 2, 0, 2 * PI);
        else
            cairo_rectangle(cr, x - w / 2, y - h / 2, w, h);
        cairo_stroke(cr);
        struct rect frame = {(x - w / 2) / u, (y - h / 2) / u, (x + w / 2) / u, (y + h / 2) / u};
        if (field->round)
            sheet_arc_rules(plan->sheet, x / u, y / u, w / u / 2, 0, 2 * PI);
        else
            sheet_outline_rules(plan->sheet, frame);
    }
}

static void draw_axes(const struct drawing *plan) {
    struct sheet *sheet = plan->sheet;
    double x = plan->origin_x, y = plan->origin_y;
    struct rect b = plan->box;
    sheet_pen(sheet, SHEET_FAINT, 0.12, true);
    sheet_rule(sheet, b.x0 + DIMENSION_ROOM + 9, y, b.x1 - 9, y); /* clear of dimensions and words of the clock */
    sheet_rule(sheet, x, b.y0 + 5, x, b.y1 - DIMENSION_ROOM - 5);
}

/* Turns at which radii are told already. */
struct told_turns {
    size_t count;
    double each[8];
};

/* The turn between two members of a ring that stays farthest from all modules and other radii. */
static double widest_gap(const struct luxfall_scene *light, const struct scene_group *group,
                         const struct told_turns *told) {
    enum { TRIED_MAX = 24 };
    double best = 0, best_apart = -1;
    for (size_t i = 0; i < group->count && i < TRIED_MAX; i++) {
        struct luxfall_vec at = light->modules[group->first + i].pose.at_mm;
        double turn = atan2(at.y, at.x) + PI / (double)group->count, apart = PI;
        for (size_t j = 0; j < light->module_count; j++) {
            struct luxfall_vec other = light->modules[j].pose.at_mm;
            apart = fmin(apart, fabs(remainder(turn - atan2(other.y, other.x), 2 * PI)));
        }
        for (size_t j = 0; j < told->count; j++)
            apart = fmin(apart, fabs(remainder(turn - told->each[j], 2 * PI)));
        if (apart > best_apart + 1e-6) {
            best = turn;
            best_apart = apart;
        }
    }
    return best;
}

/* Where text is tied to a point so that it lies wholly on that side of it; in its middle where there is no side. */
static double tied(double way) {
    return fabs(way) < 1e-6 ? 0.5 : way > 0 ? 0 : 1;
}

static void draw_radius(const struct drawing *plan, double radius_mm, double turn) {
    struct sheet *sheet = plan->sheet;
    double x = plan->origin_x, y = plan->origin_y, dx = cos(turn), dy = -sin(turn), r = radius_mm * plan->scale;
    enum { INSIDE = 12, OUTSIDE = 3 };
    const double beyond = 2;
    char mm[SHEET_CELL], text[SHEET_CELL + 4];
    struct sheet_place places[INSIDE + OUTSIDE];
    sheet_mm(radius_mm, mm);
    snprintf(text, sizeof text, "R %s", mm);
    for (int i = 0; i < INSIDE; i++) {
        double share = 0.5 + 0.08 * (i / 2), side = i % 2 ? -1 : 1;
        places[i] = (struct sheet_place){x + share * r * dx - side * 0.8 * dy, y + share * r * dy + side * 0.8 * dx,
                                         tied(-side * dy), tied(side * dx)};
    }
    for (int i = 0; i < OUTSIDE; i++) {
        double out = r + (i + 1) * beyond;
        places[INSIDE + i] = (struct sheet_place){x + out * dx, y + out * dy, 0.5 - 0.5 * dx, 0.5 - 0.5 * dy};
    }
    size_t place = sheet_write_over(sheet, text, plan->box, INSIDE + OUTSIDE, places, 0);
    if (place == INSIDE + OUTSIDE && !sheet_label(sheet, text, plan->box, x + r * dx, y + r * dy, 0.4))
        return;
    double end = place < INSIDE || place == INSIDE + OUTSIDE ? r : r + ((double)(place - INSIDE) + 0.7) * beyond;
    sheet_pen(sheet, SHEET_INK, 0.15, false);
    sheet_rule(sheet, x, y, x + end * dx, y + end * dy);
    sheet_arrow(sheet, x, y, x + r * dx, y + r * dy);
}

/* Not a lamp above the centre. */
static bool is_ring(const struct scene *scene, const struct scene_group *group, double *radius_mm) {
    struct luxfall_vec at = scene->light.modules[group->first].pose.at_mm;
    *radius_mm = hypot(at.x, at.y);
    return group->placement.kind == LUXFALL_AT_RING &&
           !bracket_above_centre(&scene->light.modules[group->first].pose);
}

static void draw_circles(const struct drawing *plan) {
    struct sheet *sheet = plan->sheet;
    double u = sheet->page->unit, radius_mm;
    for (size_t g = 0; g < sheet->scene->group_count; g++) {
        if (!is_ring(sheet->scene, &sheet->scene->groups[g], &radius_mm))
            continue;
        double r = radius_mm * plan->scale;
        sheet_pen(sheet, SHEET_GREY, 0.15, true);
        cairo_arc(sheet->page->cairo, plan->origin_x * u, plan->origin_y * u, r * u, 0, 2 * PI);
        cairo_stroke(sheet->page->cairo);
        sheet_arc_rules(sheet, plan->origin_x, plan->origin_y, r, 0, 2 * PI);
    }
}

static void draw_radii(const struct drawing *plan) {
    const struct scene *scene = plan->sheet->scene;
    struct told_turns told = {0};
    double radius_mm;
    for (size_t g = 0; g < scene->group_count; g++) {
        if (!is_ring(scene, &scene->groups[g], &radius_mm))
            continue;
        double turn = widest_gap(&scene->light, &scene->groups[g], &told);
        draw_radius(plan, radius_mm, turn);
        if (told.count < sizeof told.each / sizeof *told.each)
            told.each[told.count++] = turn;
    }
}

/* What a face covers of the paper; a point has a little room too. */
static struct rect face_box(const struct drawing *plan, size_t module) {
    const struct luxfall_scene *light = &plan->sheet->scene->light;
    struct luxfall_vec corners[FACE_CORNERS], at = light->modules[module].pose.at_mm;
    double x = drawing_x(plan, at.x), y = drawing_y(plan, at.y);
    struct rect box = {x - 0.6, y - 0.6, x + 0.6, y + 0.6};
    size_t count = face_corners(light, module, corners);
    for (size_t i = 0; i < count; i++)
        widen(&box, drawing_x(plan, corners[i].x), drawing_y(plan, corners[i].y));
    return box;
}

static void draw_face(const struct drawing *plan, size_t module) {
    struct sheet *sheet = plan->sheet;
    const struct luxfall_module *m = &sheet->scene->light.modules[module];
    cairo_t *cr = sheet->page->cairo;
    double u = sheet->page->unit, x = drawing_x(plan, m->pose.at_mm.x), y = drawing_y(plan, m->pose.at_mm.y);
    struct luxfall_vec corners[FACE_CORNERS];
    size_t count = face_corners(&sheet->scene->light, module, corners);
    for (size_t i = 0; i < count; i++)
        cairo_line_to(cr, drawing_x(plan, corners[i].x) * u, drawing_y(plan, corners[i].y) * u);
    cairo_close_path(cr);
    page_ink(sheet->page, m->dark ? SHEET_FAINT : INK_WHITE);
    cairo_fill_preserve(cr);
    struct rect face = face_box(plan, module);
    double size = fmin(face.x1 - face.x0, face.y1 - face.y0),
           arm = m->dark ? fmin(1.6, size / 2) : fmin(0.7, size / 5);
    sheet_pen(sheet, SHEET_INK, size < 2.5 ? 0.12 : 0.3, m->dark);
    cairo_stroke(cr);
    sheet_pen(sheet, SHEET_INK, 0.2, false);
    sheet_line(sheet, x - arm, y - (m->dark ? arm : 0), x + arm, y + (m->dark ? arm : 0));
    sheet_line(sheet, x - (m->dark ? arm : 0), y + arm, x + (m->dark ? arm : 0), y - arm);
}

/* From the foot to the aim point. */
static void draw_aim(const struct drawing *plan, size_t module) {
    struct sheet *sheet = plan->sheet;
    const struct luxfall_pose *pose = &sheet->scene->light.modules[module].pose;
    struct luxfall_vec aim = sheet->list.each[module].aim_mm;
    double x = drawing_x(plan, pose->at_mm.x), y = drawing_y(plan, pose->at_mm.y);
    bool meets = !isnan(aim.x);
    double ax = meets ? drawing_x(plan, aim.x) : x + 20 * pose->axis.x;
    double ay = meets ? drawing_y(plan, aim.y) : y - 20 * pose->axis.y;
    sheet_pen(sheet, SHEET_GREY, 0.15, false);
    if (sheet->list.count > CROWD)
        sheet_line(sheet, x, y, ax, ay);
    else
        sheet_rule(sheet, x, y, ax, ay);
    if (hypot(ax - x, ay - y) > 4)
        sheet_arrow(sheet, x, y, ax, ay);
    if (!meets)
        return;
    sheet_pen(sheet, SHEET_INK, 0.2, false);
    sheet_line(sheet, ax - 0.8, ay - 0.8, ax + 0.8, ay + 0.8);
    sheet_line(sheet, ax - 0.8, ay + 0.8, ax + 0.8, ay - 0.8);
}

static void draw_modules(const struct drawing *plan) {
    const struct luxfall_scene *light = &plan->sheet->scene->light;
    for (size_t i = 0; i < light->module_count; i++)
        if (!light->modules[i].dark)
            draw_aim(plan, i);
    for (size_t i = 0; i < light->module_count; i++)
        draw_face(plan, i);
}

/* ---- words ----------------------------------------------------------------------------------------------------- */

/* The way on the paper in which a label stands first: outward; of a line or a grid, across its first direction. */
static double label_way(const struct drawing *plan, size_t module) {
    const struct scene *scene = plan->sheet->scene;
    struct luxfall_vec at = scene->light.modules[module].pose.at_mm;
    for (size_t g = 0; g < scene->group_count; g++) {
        const struct scene_group *group = &scene->groups[g];
        if (module - group->first < group->count && group->placement.kind == LUXFALL_AT_LINE)
            return -group->placement.azimuth_rad - PI / 2;
        if (module - group->first < group->count && group->placement.kind == LUXFALL_AT_GRID)
            return -PI / 2;
    }
    return bracket_above_centre(&scene->light.modules[module].pose) ? -PI / 4 : atan2(-at.y, at.x);
}

/* At a corner of the face, beside the line through its middle: the octants of the paper clockwise from the right. */
static struct sheet_place place_in_octant(struct rect face, int octant) {
    const double gap = 0.8, off = 0.4;
    double way = (octant + 0.5) * PI / 4, x = (face.x0 + face.x1) / 2, y = (face.y0 + face.y1) / 2;
    bool right = cos(way) > 0, below = sin(way) > 0;
    if (fabs(cos(way)) > fabs(sin(way)))
        return (struct sheet_place){right ? face.x1 + gap : face.x0 - gap, below ? y + off : y - off, right ? 0 : 1,
                                    below ? 0 : 1};
    return (struct sheet_place){right ? x + off : x - off, below ? face.y1 + gap : face.y0 - gap, right ? 0 : 1,
                                below ? 0 : 1};
}

/* That way first, then round the face, then straight beside it, where a large one leaves room, or at its corners. */
enum { LABEL_TURNS = 8, LABEL_SIDES = 4, LABEL_OCTANTS = 8, LEADERS_MOST = 60 };
enum { LABEL_PLACES = LABEL_TURNS + LABEL_SIDES + LABEL_OCTANTS };
static void label_places(const struct drawing *plan, size_t module, struct sheet_place places[LABEL_PLACES]) {
    struct rect face = face_box(plan, module);
    double x = (face.x0 + face.x1) / 2, y = (face.y0 + face.y1) / 2;
    double outward = label_way(plan, module);
    for (int i = 0; i < LABEL_TURNS + LABEL_SIDES; i++) {
        static const double turns[LABEL_TURNS] = {0, 0.3, -0.3, 0.6, -0.6, 1.2, -1.2, PI};
        double way = i < LABEL_TURNS ? outward + turns[i] : (i - LABEL_TURNS) * PI / 2, dx = cos(way), dy = sin(way);
        places[i] = (struct sheet_place){x + dx * ((face.x1 - face.x0) / 2 + 0.8),
                                         y + dy * ((face.y1 - face.y0) / 2 + 0.8), 0.5 - 0.5 * dx, 0.5 - 0.5 * dy};
    }
    int nearest = (int)floor(outward / (PI / 4));
    for (int i = 0; i < LABEL_OCTANTS; i++) {
        static const int steps[LABEL_OCTANTS] = {0, -1, 1, -2, 2, -3, 3, 4};
        places[LABEL_TURNS + LABEL_SIDES + i] = place_in_octant(face, nearest + steps[i]);
    }
}

static void label_text(const struct sheet *sheet, size_t module, bool hour, char out[SHEET_CELL]) {
    char clock[CLOCK_SIZE];
    clock_hour_text(sheet->list.each[module].clock_rad, clock);
    bool foot = !bracket_above_centre(&sheet->scene->light.modules[module].pose);
    snprintf(out, SHEET_CELL, hour && foot ? "%zu · %s" : "%zu", module + 1, clock);
}

static bool write_label(const struct drawing *plan, size_t module, bool hour) {
    struct sheet_place places[LABEL_PLACES];
    char text[SHEET_CELL];
    label_places(plan, module, places);
    label_text(plan->sheet, module, hour, text);
    if (sheet_write_over(plan->sheet, text, plan->box, LABEL_PLACES, places, 0) < LABEL_PLACES)
        return true;
    struct rect face = face_box(plan, module);
    double x = (face.x0 + face.x1) / 2, y = (face.y0 + face.y1) / 2,
           across = fmin(face.x1 - face.x0, face.y1 - face.y0);
    return (plan->sheet->list.count <= LEADERS_MOST && sheet_label(plan->sheet, text, plan->box, x, y, across / 2)) ||
           sheet_write_free(plan->sheet, text, plan->box, LABEL_PLACES, places);
}

/* Members whose number must be there when not every one has room: first and last of a group. */
static bool ends_group(const struct scene *scene, size_t module) {
    for (size_t g = 0; g < scene->group_count; g++) {
        size_t first = scene->groups[g].first, last = first + scene->groups[g].count - 1;
        if (module == first || module == last)
            return true;
    }
    return false;
}

/* Room for a label of this width at every module that takes one? Judged by the nearest neighbours' distance. */
static bool room_for_labels(const struct drawing *plan, size_t step, double width_mm, double height_mm) {
    const struct luxfall_scene *light = &plan->sheet->scene->light;
    for (size_t i = 0; i < light->module_count; i += step)
        for (size_t j = i + step; j < light->module_count; j += step) {
            struct luxfall_vec a = light->modules[i].pose.at_mm, b = light->modules[j].pose.at_mm;
            double dx = plan->scale * fabs(a.x - b.x), dy = plan->scale * fabs(a.y - b.y);
            if (dx < width_mm && dy < height_mm)
                return false;
        }
    return true;
}

static size_t write_labels(const struct drawing *plan) {
    static const size_t steps[] = {1, 2, 5, 10, 20, 50, 100, 200, 500, 1000, 2000, 5000, 10000};
    const struct sheet *sheet = plan->sheet;
    size_t s = 0, written = 0, count = sheet->list.count;
    bool hour = room_for_labels(plan, 1, 11, 3.6);
    while (count > LEADERS_MOST && !room_for_labels(plan, steps[s], hour ? 11 : 6, 3.2) &&
           s + 1 < sizeof steps / sizeof *steps)
        s++;
    for (size_t i = 0; i < count; i++)
        if (i % steps[s] == 0 || ends_group(sheet->scene, i))
            written += write_label(plan, i, hour);
    return written;
}

static void keep_free(const struct drawing *plan) {
    double u = plan->sheet->page->unit;
    if (plan->sheet->list.count > CROWD)
        return; /* faces as small as that are no hindrance */
    for (size_t i = 0; i < plan->sheet->list.count; i++) {
        struct rect box = face_box(plan, i);
        clutter_add_box(&plan->sheet->clutter, (struct rect){box.x0 * u, box.y0 * u, box.x1 * u, box.y1 * u});
    }
}

static void write_clock(const struct drawing *plan) {
    struct rect b = plan->box;
    double x = plan->origin_x, y = plan->origin_y;
    const struct sheet_place top[] = {{x, b.y0 + 1.2, 0.5, 0}, {x + 1, b.y0 + 1.2, 0, 0}, {x + 1, b.y0 + 6, 0, 0}};
    sheet_write_free(plan->sheet, "12 o'clock, +y", b, 3, top); /* beside the heading */
    sheet_write(plan->sheet, "3, +x", b.x1 - 1, y, 1, 0.5);
    sheet_write(plan->sheet, "9", b.x0 + 1, y, 0, 0.5);
    const struct sheet_place foot[] = {{x, b.y1 - 1, 0.5, 1}, {x + 1, b.y1 - 1, 0, 1}, {x + 1, b.y1 - 6, 0, 1}};
    sheet_write_free(plan->sheet, "6", b, 3, foot); /* beside the bar */
}

/* ---- dimensions ------------------------------------------------------------------------------------------------ */

static void extension(struct sheet *sheet, double x0, double y0, double x1, double y1) {
    sheet_pen(sheet, SHEET_FAINT, 0.12, false);
    sheet_rule(sheet, x0, y0, x1, y1);
}

/* Between the outermost middles, the centre among them: below and to the left. */
static void draw_dimensions(const struct drawing *plan, struct sheet_layout *layout) {
    struct sheet *sheet = plan->sheet;
    struct rect e = extent_of_middles(&sheet->scene->light), b = plan->box;
    double x0 = drawing_x(plan, e.x0), x1 = drawing_x(plan, e.x1), y0 = drawing_y(plan, e.y0);
    double y1 = drawing_y(plan, e.y1), below = b.y1 - DIMENSION_ROOM, left = b.x0 + DIMENSION_ROOM - 2;
    char text[SHEET_CELL];
    if (e.x1 - e.x0 > 1e-3) {
        extension(sheet, x0, y0, x0, below + 1);
        extension(sheet, x1, y0, x1, below + 1);
        sheet_mm(e.x1 - e.x0, text);
        layout->width = (struct segment){x0, below, x1, below};
        layout->width_mm = sheet_dimension(sheet, layout->width, text, b) ? e.x1 - e.x0 : 0;
    }
    if (e.y1 - e.y0 > 1e-3) {
        extension(sheet, x0, y0, left - 1, y0);
        extension(sheet, x0, y1, left - 1, y1);
        sheet_mm(e.y1 - e.y0, text);
        sheet_dimension(sheet, (struct segment){left, y0, left, y1}, text, b);
    }
}

/* From a line's or a grid's first member to its neighbour, beside the faces: side 1 on the right hand of the way. */
static void draw_pitch(const struct drawing *plan, size_t from, size_t to, double side) {
    const struct luxfall_module *modules = plan->sheet->scene->light.modules;
    struct luxfall_vec a = modules[from].pose.at_mm, b = modules[to].pose.at_mm;
    double x0 = drawing_x(plan, a.x), y0 = drawing_y(plan, a.y), x1 = drawing_x(plan, b.x), y1 = drawing_y(plan, b.y);
    struct rect face = face_box(plan, from);
    double length = hypot(x1 - x0, y1 - y0),
           off = hypot(face.x1 - face.x0, face.y1 - face.y0) / 2 + (side < 0 ? 6 : 3);
    if (!(length > 3))
        return; /* no room for arrows */
    double dx = side * off * (y0 - y1) / length, dy = side * off * (x1 - x0) / length;
    char text[SHEET_CELL];
    sheet_mm(hypot(a.x - b.x, a.y - b.y), text);
    if (!sheet_dimension(plan->sheet, (struct segment){x0 + dx, y0 + dy, x1 + dx, y1 + dy}, text, plan->box))
        return;
    extension(plan->sheet, x0, y0, x0 + 1.2 * dx, y0 + 1.2 * dy);
    extension(plan->sheet, x1, y1, x1 + 1.2 * dx, y1 + 1.2 * dy);
}

static void draw_pitches(const struct drawing *plan) {
    const struct scene *scene = plan->sheet->scene;
    for (size_t g = 0; g < scene->group_count; g++) {
        const struct scene_group *group = &scene->groups[g];
        size_t first = group->first, columns = (size_t)group->placement.columns;
        bool grid = group->placement.kind == LUXFALL_AT_GRID, line = group->placement.kind == LUXFALL_AT_LINE;
        if ((grid && columns > 1) || (line && group->count > 1))
            draw_pitch(plan, first, first + 1, 1);
        if (grid && group->placement.rows > 1)
            draw_pitch(plan, first, first + columns, -1);
    }
}

void bracket_plan_draw(struct sheet *sheet, struct rect box, struct sheet_layout *layout) {
    struct drawing plan = place_plan(sheet, box);
    char scale[SCALE_SIZE], heading[64];
    sheet_scale_text(plan.scale, scale);
    snprintf(heading, sizeof heading, "Plan from above, %s, mm", scale);
    sheet_clip(sheet, box);
    draw_axes(&plan);
    draw_fields(&plan);
    draw_modules(&plan);
    sheet_unclip(sheet);
    drawing_frame(&plan, heading);
    layout->bar = drawing_bar(&plan, &layout->bar_mm);
    write_clock(&plan);
    keep_free(&plan);
    draw_circles(&plan);
    draw_dimensions(&plan, layout);
    layout->numbered = write_labels(&plan);
    draw_radii(&plan);
    draw_pitches(&plan);
    layout->plan = plan;
}
