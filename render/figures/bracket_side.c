/* Side views: a member of every kind of bracket in the vertical plane of its beam axis. */
#include "bracket_sheet.h"

#include <math.h>
#include <stdio.h>

static const double PI = 3.14159265358979323846;

enum { SIDE_MARGIN = 7, SIDE_HEAD = 10, SIDE_FOOT = 15, HEIGHT_ROOM = 6, WORDS_ROOM = 20 };

/* A module in its plane: u runs from the foot the way the axis leans, z up. */
struct side {
    size_t module;
    struct luxfall_vec along;   /* the direction of u, level */
    double z, spot_u, centre_u; /* centre_u: NaN where the centre lies off the plane */
    double reach_u;             /* that the view must show beyond the foot, spot or not */
    double face_mm, lean_rad;
};

static double dot_level(struct luxfall_vec a, struct luxfall_vec b) {
    return a.x * b.x + a.y * b.y;
}

/* The way the axis leans; straight down: from the foot to the centre; above it: +x. */
static struct luxfall_vec direction_along(const struct luxfall_pose *pose) {
    struct luxfall_vec way = pose->axis;
    if (hypot(way.x, way.y) < 1e-4)
        way = bracket_above_centre(pose) ? (struct luxfall_vec){1, 0, 0}
                                         : (struct luxfall_vec){-pose->at_mm.x, -pose->at_mm.y, 0};
    double length = hypot(way.x, way.y);
    return (struct luxfall_vec){way.x / length, way.y / length, 0};
}

static struct side side_of(const struct sheet *sheet, size_t kind) {
    size_t module = sheet->list.kinds[kind].first;
    const struct luxfall_pose *pose = &sheet->scene->light.modules[module].pose;
    const struct luxfall_bracket *bracket = &sheet->list.each[module];
    struct luxfall_vec along = direction_along(pose), corners[FACE_CORNERS];
    struct side side = {.module = module, .along = along, .z = pose->at_mm.z, .lean_rad = bracket->lean_rad};
    side.spot_u = bracket->distance_mm * sin(bracket->lean_rad);
    double off = along.x * pose->at_mm.y - along.y * pose->at_mm.x;
    side.centre_u = fabs(off) < 0.01 ? -dot_level(pose->at_mm, along) : NAN;
    size_t count = face_corners(&sheet->scene->light, module, corners);
    for (size_t i = 0; i < count; i++)
        side.face_mm = fmax(side.face_mm, 2 * hypot(dot_level(corners[i], along) - dot_level(pose->at_mm, along),
                                                    corners[i].z - pose->at_mm.z));
    side.reach_u = isnan(side.spot_u) ? side.z : side.spot_u;
    return side;
}

/* Extent of the view along u. The centre is drawn only when it does not make the view much smaller. */
static void reach(const struct side *side, double *low, double *high) {
    *low = -side->face_mm / 2;
    *high = fmax(side->reach_u, 0) + side->face_mm / 2;
    if (side->centre_u < 1.6 * side->reach_u && side->centre_u > -0.6 * side->reach_u) {
        *low = fmin(*low, side->centre_u);
        *high = fmax(*high, side->centre_u);
    }
}

/* ---- one view -------------------------------------------------------------------------------------------------- */

static void draw_stage(const struct drawing *view) {
    struct sheet *sheet = view->sheet;
    double y = view->origin_y, x0 = view->box.x0 + 2, x1 = view->box.x1 - 2;
    sheet_pen(sheet, SHEET_FAINT, 0.12, false);
    for (double x = x0 + 1; x < x1 - 1; x += 2)
        sheet_line(sheet, x, y + 1.2, x + 1.2, y);
    sheet_pen(sheet, SHEET_INK, 0.35, false);
    sheet_rule(sheet, x0, y, x1, y);
}

static void draw_lens(const struct drawing *view, const struct side *side) {
    struct sheet *sheet = view->sheet;
    double half = fmax(view->scale * side->face_mm / 2, 0.6), back = fmin(fmax(half, 1.5), 4);
    double x = drawing_x(view, 0), y = drawing_y(view, side->z);
    double ax = sin(side->lean_rad), ay = cos(side->lean_rad); /* the axis on paper, downwards */
    sheet_pen(sheet, SHEET_INK, 0.6, false);
    sheet_rule(sheet, x - half * ay, y + half * ax, x + half * ay, y - half * ax);
    sheet_pen(sheet, SHEET_GREY, 0.2, false);
    sheet_rule(sheet, x - half * ay, y + half * ax, x - back * ax - half / 2 * ay, y - back * ay + half / 2 * ax);
    sheet_rule(sheet, x + half * ay, y - half * ax, x - back * ax + half / 2 * ay, y - back * ay - half / 2 * ax);
    sheet_rule(sheet, x - back * ax - half / 2 * ay, y - back * ay + half / 2 * ax, x - back * ax + half / 2 * ay,
               y - back * ay - half / 2 * ax);
}

/* Of the arcs of lean and incidence: neither may leave its corner. */
static double arc_radius(const struct drawing *view, const struct side *side) {
    return fmin(13, 0.4 * view->scale * hypot(side->z, fmin(side->reach_u, side->z)));
}

static void draw_axis(const struct drawing *view, const struct side *side) {
    struct sheet *sheet = view->sheet;
    double x = drawing_x(view, 0), y = drawing_y(view, side->z);
    bool meets = !isnan(side->spot_u);
    double sx = meets ? drawing_x(view, side->spot_u) : x + view->scale * side->z * sin(side->lean_rad);
    double sy = meets ? view->origin_y : y + view->scale * side->z * cos(side->lean_rad);
    sheet_pen(sheet, SHEET_GREY, 0.15, true);
    sheet_rule(sheet, x, y, x, view->origin_y);
    if (meets)
        sheet_rule(sheet, sx, sy, sx, sy - fmax(arc_radius(view, side) + 2, fmin(view->scale * side->z, 30)));
    sheet_pen(sheet, SHEET_INK, 0.2, false);
    sheet_rule(sheet, x, y, sx, sy);
    sheet_arrow(sheet, x, y, sx, sy);
}

/* An arc from straight down (or up, at the spot) to the axis. */
static void draw_arc(const struct drawing *view, double x_mm, double z_mm, double from_rad, double to_rad, double r) {
    struct sheet *sheet = view->sheet;
    double u = sheet->page->unit;
    sheet_pen(sheet, SHEET_INK, 0.15, false);
    cairo_arc(sheet->page->cairo, drawing_x(view, x_mm) * u, drawing_y(view, z_mm) * u, r * u, from_rad, to_rad);
    cairo_stroke(sheet->page->cairo);
    sheet_arc_rules(sheet, drawing_x(view, x_mm), drawing_y(view, z_mm), r, from_rad, to_rad);
}

/* Words about a point of the axis: right of it, then up and down along it, clear of lines; else farther off with a
 * leader. Where `name value` has no room at all, the value alone. */
enum { NEAR_PLACES = 12, ANGLE_PLACES = 3 };
static const double ups[NEAR_PLACES] = {0, -2, 2, -4, 4, -6, 6, -8, -10, -12, -15, -18};

static void write_near(const struct drawing *view, const char *name, const char *value, double x, double y,
                       double lean_rad, size_t count) {
    double clear = 1.7 * fmin(tan(fmin(lean_rad, 1.5)), 3); /* the axis runs under the corner of a box beside it */
    struct rect bounds = {view->box.x0 + 1, view->box.y0 + 1, view->box.x1 - 1, view->origin_y - 0.8};
    struct sheet_place places[NEAR_PLACES];
    char text[2 * SHEET_CELL];
    for (size_t i = 0; i < count; i++)
        places[i] =
            (struct sheet_place){x + 1 + clear + fmin(ups[i] * tan(fmin(lean_rad, 1.4)), 12), y + ups[i], 0, 0.5};
    snprintf(text, sizeof text, "%s %s", name, value);
    if (sheet_write_over(view->sheet, text, bounds, count, places, 0) == count &&
        !sheet_label(view->sheet, text, bounds, x, y, 0.4) &&
        !sheet_write_free(view->sheet, text, bounds, count, places))
        sheet_write_free(view->sheet, value, bounds, count, places);
}

static void write_angle(const struct drawing *view, const char *name, double rad, double x, double y,
                        double lean_rad) {
    char degrees[SHEET_CELL];
    sheet_degrees(rad, degrees);
    write_near(view, name, degrees, x, y, lean_rad, ANGLE_PLACES);
}

static void draw_angles(const struct drawing *view, const struct side *side) {
    const struct luxfall_bracket *bracket = &view->sheet->list.each[side->module];
    double x = drawing_x(view, 0), y = drawing_y(view, side->z), lean = side->lean_rad;
    double r = arc_radius(view, side);
    if (lean < 0.001) {
        write_near(view, "lean 0.0°:", "straight down", x, y + 0.35 * view->scale * side->z, 0, NEAR_PLACES);
        return;
    }
    draw_arc(view, 0, side->z, PI / 2 - lean, PI / 2, r);
    write_angle(view, "lean", lean, x + r * sin(lean), y + r * cos(lean), lean);
    if (isnan(side->spot_u))
        return;
    double sx = drawing_x(view, side->spot_u), sy = view->origin_y;
    draw_arc(view, side->spot_u, 0, -PI / 2 - lean, -PI / 2, r);
    write_angle(view, "incidence", bracket->incidence_rad, sx, sy - r, 0);
}

static void write_distance(const struct drawing *view, const struct side *side) {
    const struct luxfall_bracket *bracket = &view->sheet->list.each[side->module];
    char mm[SHEET_CELL];
    if (isnan(bracket->distance_mm))
        return;
    size_t count = NEAR_PLACES; /* as far as the lens */
    while (count > 1 && -ups[count - 1] > 0.5 * view->scale * side->z)
        count--;
    sheet_mm(bracket->distance_mm, mm);
    write_near(view, spot_heading(&view->sheet->scene->light.modules[side->module], 1), mm,
               drawing_x(view, 0.55 * side->spot_u), drawing_y(view, 0.45 * side->z), side->lean_rad, count);
}

static void draw_heights(const struct drawing *view, const struct side *side) {
    struct sheet *sheet = view->sheet;
    double x = drawing_x(view, -side->face_mm / 2) - 4, y = drawing_y(view, side->z);
    char text[SHEET_CELL];
    sheet_pen(sheet, SHEET_FAINT, 0.12, false);
    sheet_rule(sheet, x - 1, y, drawing_x(view, 0), y);
    sheet_mm(side->z, text);
    sheet_dimension(sheet, (struct segment){x, view->origin_y, x, y}, text, view->box);
}

/* Under the stage: from the foot to the spot and to the centre; one line when they are one. */
static void draw_distances(const struct drawing *view, const struct side *side) {
    struct sheet *sheet = view->sheet;
    double x = drawing_x(view, 0), y = view->origin_y + 3.5;
    bool spot = side->spot_u > 0.05, centre = fabs(side->centre_u) > 0.05;
    bool one = spot && centre && fabs(side->spot_u - side->centre_u) < 0.05;
    const double ends[] = {side->spot_u, side->centre_u};
    const char *const names[] = {one ? "foot to centre" : "foot to spot", "foot to centre"};
    for (int i = 0; i < 2; i++) {
        double end = drawing_x(view, ends[i]);
        if (!(i == 0 ? spot : centre && !one) || !(end > view->box.x0 + 1 && end < view->box.x1 - 1))
            continue;
        char mm[SHEET_CELL], text[2 * SHEET_CELL];
        sheet_mm(fabs(ends[i]), mm);
        snprintf(text, sizeof text, "%s %s", names[i], mm);
        sheet_pen(sheet, SHEET_FAINT, 0.12, false);
        sheet_rule(sheet, x, view->origin_y, x, y + 0.8);
        sheet_rule(sheet, end, view->origin_y, end, y + 0.8);
        sheet_dimension(sheet, (struct segment){fmax(x, end), y, fmin(x, end), y}, text, view->box);
        y += 5.5;
    }
}

/* Shorter where the view is narrow. */
static void write_heading(const struct drawing *view, size_t kind) {
    const struct sheet *sheet = view->sheet;
    char letter[KIND_SIZE], scale[SCALE_SIZE], text[96];
    bool several = sheet->list.kinds[kind].count > 1, narrow = view->box.x1 - view->box.x0 < 60;
    bracket_kind_letter(kind, letter);
    sheet_scale_text(view->scale, scale);
    snprintf(text, sizeof text, "%s, %s: module %zu%s%s, mm", letter, scale, sheet->list.kinds[kind].first + 1,
             !several ? ""
             : narrow ? " …"
                      : " and its like",
             narrow ? "" : ", in its plane");
    drawing_frame(view, text);
}

static void draw_view(struct drawing *view, size_t kind) {
    struct side side = side_of(view->sheet, kind);
    double low, high;
    reach(&side, &low, &high);
    double left = view->box.x0 + SIDE_MARGIN + HEIGHT_ROOM, right = view->box.x1 - SIDE_MARGIN;
    double spare = right - left - view->scale * (high - low);
    view->origin_x = left + fmax(0, fmin(spare / 2, spare - WORDS_ROOM)) - view->scale * low;
    view->origin_y = view->box.y1 - SIDE_FOOT;
    sheet_clip(view->sheet, view->box);
    draw_stage(view);
    draw_axis(view, &side);
    draw_lens(view, &side);
    sheet_unclip(view->sheet);
    write_heading(view, kind);
    draw_heights(view, &side);
    draw_distances(view, &side);
    draw_angles(view, &side);
    write_distance(view, &side);
}

/* ---- all of them ----------------------------------------------------------------------------------------------- */

void bracket_sides_draw(struct sheet *sheet, struct rect box) {
    size_t count = sheet->list.kind_count < SIDES_MAX ? sheet->list.kind_count : SIDES_MAX;
    size_t columns = count > 4 ? 3 : count > 1 ? 2 : 1, rows = count > 2 ? 2 : 1;
    const double gap = 2;
    double wide = (box.x1 - box.x0 - gap * (double)(columns - 1)) / (double)columns;
    double high = (box.y1 - box.y0 - gap * (double)(rows - 1)) / (double)rows, scale = INFINITY;
    for (size_t k = 0; k < count; k++) {
        struct side side = side_of(sheet, k);
        double low, end;
        reach(&side, &low, &end);
        scale = fmin(scale, sheet_scale(end - low, side.z, wide - 2 * SIDE_MARGIN - HEIGHT_ROOM,
                                        high - SIDE_HEAD - SIDE_FOOT, SHEET_SCALE_MOST));
    }
    for (size_t k = 0; k < count; k++) {
        double x = box.x0 + (double)(k % columns) * (wide + gap), y = box.y0 + (double)(k / columns) * (high + gap);
        struct drawing view = {.sheet = sheet, .box = {x, y, x + wide, y + high}, .scale = scale};
        draw_view(&view, k);
    }
}
