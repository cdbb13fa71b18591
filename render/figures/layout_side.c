/* All modules from the side, over the stage with its fields. */
#include "layout_sheet.h"

#include "ticks.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

enum { HEAD = 13, FOOT = 17, SIDE = 8, HEIGHTS_MAX = 3, HEIGHT_COLUMN = 11, FIELDS_SHOWN = 4 };
enum { CROWD = 400 }; /* bodies as small as theirs are no hindrance */
static const struct ink field_ink = {0.85, 0.58, 0.16, 1}, aim_ink = {0.12, 0.36, 0.60, 1},
                        body_ink = {0.88, 0.90, 0.92, 1};
static const double same_mm = 0.05;

double layout_across(const struct layout_side *side, struct luxfall_vec at) {
    return side->along_y ? at.y : at.x;
}

/* ---- where it lies --------------------------------------------------------------------------------------------- */

/* From the side that shows more of it. */
static bool is_longer_along_y(const struct luxfall_scene *light) {
    double x[2] = {0, 0}, y[2] = {0, 0};
    for (size_t i = 0; i < light->module_count; i++) {
        struct luxfall_vec at = light->modules[i].pose.at_mm;
        x[0] = fmin(x[0], at.x);
        x[1] = fmax(x[1], at.x);
        y[0] = fmin(y[0], at.y);
        y[1] = fmax(y[1], at.y);
    }
    return y[1] - y[0] > x[1] - x[0] + same_mm;
}

static void widen(struct rect *extent, double u, double z) {
    *extent = (struct rect){fmin(extent->x0, u), fmin(extent->y0, z), fmax(extent->x1, u), fmax(extent->y1, z)};
}

static struct rect extent_of(const struct sheet *sheet, const struct layout_side *side) {
    const struct luxfall_scene *light = &sheet->scene->light;
    struct rect e = {0, 0, 0, 0};
    for (size_t i = 0; i < light->module_count; i++) {
        struct luxfall_vec corners[FACE_CORNERS], aim = sheet->list.each[i].aim_mm;
        size_t count = face_corners(light, i, corners);
        widen(&e, layout_across(side, light->modules[i].pose.at_mm), light->modules[i].pose.at_mm.z);
        for (size_t c = 0; c < count; c++)
            widen(&e, layout_across(side, corners[c]), corners[c].z);
        if (!isnan(aim.x) && !light->modules[i].dark)
            widen(&e, layout_across(side, aim), 0);
    }
    for (size_t i = 0; i < light->field_count && i < FIELDS_SHOWN; i++) {
        const struct luxfall_field *f = &light->fields[i];
        double middle = side->along_y ? f->y_mm : f->x_mm, half = (side->along_y ? f->height_mm : f->width_mm) / 2;
        widen(&e, middle - half, 0);
        widen(&e, middle + half, 0);
    }
    for (size_t i = 0; i < light->target.level_count; i++)
        widen(&e, 0, light->target.level_mm[i]);
    return e;
}

/* Heights of the lens faces, the highest first, each once. */
static size_t heights_of(const struct luxfall_scene *light, double z_mm[HEIGHTS_MAX]) {
    size_t count = 0;
    double below = INFINITY;
    while (count < HEIGHTS_MAX) {
        double next = -INFINITY;
        for (size_t i = 0; i < light->module_count; i++) {
            double z = light->modules[i].pose.at_mm.z;
            next = z < below && z > next ? z : next;
        }
        if (!isfinite(next))
            break;
        z_mm[count++] = next;
        below = next - same_mm;
    }
    return count;
}

static void place(struct sheet *sheet, struct rect box, struct layout_side *side) {
    struct rect e = extent_of(sheet, side);
    double z_mm[HEIGHTS_MAX], left = box.x0 + SIDE + HEIGHT_COLUMN * (double)heights_of(&sheet->scene->light, z_mm);
    double right = box.x1 - SIDE, top = box.y0 + HEAD, bottom = box.y1 - FOOT;
    struct drawing d = {.sheet = sheet, .box = box};
    d.scale = sheet_scale(e.x1 - e.x0, e.y1 - e.y0, right - left, bottom - top, SHEET_SCALE_MOST);
    d.origin_x = (left + right) / 2 - d.scale * (e.x0 + e.x1) / 2;
    d.origin_y = bottom + d.scale * e.y0;
    side->drawing = d;
}

/* ---- the stage ------------------------------------------------------------------------------------------------- */

static void draw_levels(const struct layout_side *side) {
    const struct drawing *d = &side->drawing;
    const struct luxfall_target *target = &d->sheet->scene->light.target;
    double half = d->scale * target->cell_mm * (side->along_y ? target->rows : target->columns) / 2;
    double x0 = fmax(d->origin_x - half, d->box.x0 + 2), x1 = fmin(d->origin_x + half, d->box.x1 - 2);
    for (size_t i = 0; i < target->level_count; i++) {
        double y = drawing_y(d, target->level_mm[i]);
        sheet_pen(d->sheet, SHEET_GREY, 0.18, true);
        if (target->level_mm[i] != 0)
            sheet_rule(d->sheet, x0, y, x1, y);
    }
    sheet_pen(d->sheet, SHEET_FAINT, 0.12, false);
    for (double x = d->box.x0 + 3; x < d->box.x1 - 3; x += 2)
        sheet_line(d->sheet, x, d->origin_y + 1.2, x + 1.2, d->origin_y);
    sheet_pen(d->sheet, SHEET_INK, 0.35, false);
    sheet_rule(d->sheet, d->box.x0 + 2, d->origin_y, d->box.x1 - 2, d->origin_y);
}

/* Does a name such as "circle of 40 mm" tell this size itself? */
static bool name_tells(const char *name, const char *number) {
    for (const char *at = name; (at = strstr(at, number)) != NULL; at++) {
        const char *unit = at + strlen(number);
        unit += *unit == ' ';
        if ((at == name || strchr("0123456789.", at[-1]) == NULL) && strncmp(unit, "mm", 2) == 0)
            return true;
    }
    return false;
}

static void draw_fields(const struct layout_side *side) {
    const struct drawing *d = &side->drawing;
    const struct luxfall_scene *light = &d->sheet->scene->light;
    for (size_t i = 0; i < light->field_count && i < FIELDS_SHOWN; i++) {
        const struct luxfall_field *f = &light->fields[i];
        double middle = side->along_y ? f->y_mm : f->x_mm, wide = side->along_y ? f->height_mm : f->width_mm;
        double x0 = drawing_x(d, middle - wide / 2), x1 = drawing_x(d, middle + wide / 2);
        double y = d->origin_y + 3 + 3.3 * (double)i;
        char number[NUMBER_SIZE], words[SHEET_CELL];
        short_number_text(wide, number);
        bool told = name_tells(f->name, number);
        snprintf(words, sizeof words, "%.40s%s%s", f->name, told ? "" : " ", told ? "" : number);
        const struct sheet_place places[] = {{x1 + 1.5, y, 0, 0.5}, {x0 - 1.5, y, 1, 0.5}};
        sheet_pen(d->sheet, field_ink, 0.9, false);
        sheet_rule(d->sheet, x0, y, fmax(x1, x0 + 0.3), y);
        sheet_write_free(d->sheet, words, d->box, 2, places);
    }
}

/* ---- modules --------------------------------------------------------------------------------------------------- */

static void draw_aim(const struct layout_side *side, size_t module) {
    const struct drawing *d = &side->drawing;
    const struct luxfall_pose *pose = &d->sheet->scene->light.modules[module].pose;
    struct luxfall_vec aim = d->sheet->list.each[module].aim_mm;
    double x = drawing_x(d, layout_across(side, pose->at_mm)), y = drawing_y(d, pose->at_mm.z);
    bool meets = !isnan(aim.x);
    double ax = meets ? drawing_x(d, layout_across(side, aim)) : x + 25 * layout_across(side, pose->axis);
    double ay = meets ? d->origin_y : y - 25 * pose->axis.z;
    sheet_pen(d->sheet, aim_ink, 0.2, false);
    if (side->crowded)
        sheet_line(d->sheet, x, y, ax, ay);
    else
        sheet_rule(d->sheet, x, y, ax, ay);
    sheet_arrow(d->sheet, x, y, ax, ay);
}

static double face_size_mm(const struct luxfall_scene *light, size_t module) {
    struct luxfall_vec corners[FACE_CORNERS], at = light->modules[module].pose.at_mm;
    size_t count = face_corners(light, module, corners);
    double size = 0;
    for (size_t i = 0; i < count; i++)
        size = fmax(size, hypot(hypot(corners[i].x - at.x, corners[i].y - at.y), corners[i].z - at.z));
    return size;
}

struct corner {
    double x, y; /* mm of paper */
};
enum { BODY_CORNERS = 2 * FACE_CORNERS };

/* The face, or the back of a body as deep as it is wide, half as large; returns the count. */
static size_t face_on_paper(const struct layout_side *side, size_t module, bool back, struct corner *out) {
    const struct drawing *d = &side->drawing;
    const struct luxfall_scene *light = &d->sheet->scene->light;
    const struct luxfall_pose *pose = &light->modules[module].pose;
    struct luxfall_vec corners[FACE_CORNERS];
    size_t count = face_corners(light, module, corners);
    double at = layout_across(side, pose->at_mm), size = back ? 0.5 : 1,
           depth = back ? face_size_mm(light, module) : 0;
    for (size_t i = 0; i < count; i++) {
        double x = at + size * (layout_across(side, corners[i]) - at) - depth * layout_across(side, pose->axis);
        double z = pose->at_mm.z + size * (corners[i].z - pose->at_mm.z) - depth * pose->axis.z;
        out[i] = (struct corner){drawing_x(d, x), drawing_y(d, z)};
    }
    return count;
}

static double turn_of(struct corner a, struct corner b, struct corner c) {
    return (b.x - a.x) * (c.y - a.y) - (b.y - a.y) * (c.x - a.x);
}

static int by_x(const void *a, const void *b) {
    const struct corner *p = a, *q = b;
    return p->x != q->x ? (p->x < q->x ? -1 : 1) : (p->y > q->y) - (p->y < q->y);
}

/* Convex hull by A. M. Andrew's two chains (Information Processing Letters 9, 1979). */
static size_t hull_of(struct corner *corners, size_t count, struct corner hull[2 * BODY_CORNERS]) {
    size_t kept = 0;
    qsort(corners, count, sizeof *corners, by_x);
    for (size_t pass = 0; pass < 2; pass++)
        for (size_t i = 0, first = kept; i < count; i++) {
            struct corner next = corners[pass ? count - 1 - i : i];
            while (kept >= first + 2 && turn_of(hull[kept - 2], hull[kept - 1], next) <= 0)
                kept--;
            hull[kept++] = next;
        }
    return kept;
}

static void paint_corners(struct sheet *sheet, size_t count, const struct corner *corners, struct ink fill) {
    cairo_t *cr = sheet->page->cairo;
    double u = sheet->page->unit;
    for (size_t i = 0; i < count; i++)
        cairo_line_to(cr, corners[i].x * u, corners[i].y * u);
    cairo_close_path(cr);
    page_ink(sheet->page, fill);
    cairo_fill_preserve(cr);
}

double layout_radius(const struct layout_side *side, size_t module) {
    return fmax(1.15 * side->drawing.scale * face_size_mm(&side->drawing.sheet->scene->light, module), 0.7);
}

/* A body in the way of words: its outline, and a box that a leader to its circle does not enter. */
static void keep_off_body(const struct layout_side *side, size_t module, size_t count, const struct corner *hull) {
    struct sheet *sheet = side->drawing.sheet;
    struct luxfall_vec at = sheet->scene->light.modules[module].pose.at_mm;
    double u = sheet->page->unit, x = drawing_x(&side->drawing, layout_across(side, at)) * u,
           y = drawing_y(&side->drawing, at.z) * u;
    for (size_t i = 0; i < count && !side->crowded; i++) {
        struct corner a = hull[i], b = hull[(i + 1) % count];
        clutter_add_line(&sheet->clutter, (struct segment){a.x * u, a.y * u, b.x * u, b.y * u});
    }
    if (!side->crowded)
        clutter_add_box(&sheet->clutter,
                        rect_grown((struct rect){x, y, x, y}, 0.7 * layout_radius(side, module) * u));
}

static void draw_module(const struct layout_side *side, size_t module) {
    struct sheet *sheet = side->drawing.sheet;
    const struct luxfall_module *m = &sheet->scene->light.modules[module];
    struct corner face[FACE_CORNERS], body[BODY_CORNERS], hull[2 * BODY_CORNERS];
    size_t count = face_on_paper(side, module, false, face);
    face_on_paper(side, module, false, body);
    size_t all = count + face_on_paper(side, module, true, body + count), outer = hull_of(body, all, hull);
    double u = sheet->page->unit, x = drawing_x(&side->drawing, layout_across(side, m->pose.at_mm));
    keep_off_body(side, module, outer, hull);
    paint_corners(sheet, outer, hull, body_ink);
    sheet_pen(sheet, SHEET_GREY, 0.2, m->dark);
    cairo_stroke(sheet->page->cairo);
    paint_corners(sheet, count, face, INK_WHITE);
    sheet_pen(sheet, SHEET_INK, 0.4, m->dark);
    cairo_stroke(sheet->page->cairo);
    sheet_pen(sheet, SHEET_INK, 0.2, false);
    cairo_new_sub_path(sheet->page->cairo);
    cairo_arc(sheet->page->cairo, x * u, drawing_y(&side->drawing, m->pose.at_mm.z) * u, 0.35 * u, 0,
              6.28318530717958648);
    cairo_fill(sheet->page->cairo);
}

static void draw_heights(struct layout_side *side) {
    const struct drawing *d = &side->drawing;
    double z_mm[HEIGHTS_MAX], x = d->box.x0 + SIDE + 2;
    size_t count = heights_of(&d->sheet->scene->light, z_mm);
    for (size_t i = 0; i < count; i++, x += HEIGHT_COLUMN) {
        double y = drawing_y(d, z_mm[i]);
        char text[SHEET_CELL];
        sheet_mm(z_mm[i], text);
        if (!sheet_dimension(d->sheet, (struct segment){x, d->origin_y, x, y}, text, d->box))
            continue;
        sheet_pen(d->sheet, SHEET_FAINT, 0.12, false);
        sheet_rule(d->sheet, x - 1, y, d->box.x1 - SIDE, y);
        if (i > 0)
            continue;
        side->height_mm = z_mm[i];
        side->height = (struct segment){x, d->origin_y, x, y};
    }
}

void layout_side_draw(struct sheet *sheet, struct rect box, struct layout_side *side) {
    const struct luxfall_scene *light = &sheet->scene->light;
    char scale[SCALE_SIZE], heading[80];
    *side = (struct layout_side){.along_y = is_longer_along_y(light), .crowded = light->module_count > CROWD};
    place(sheet, box, side);
    sheet_scale_text(side->drawing.scale, scale);
    snprintf(heading, sizeof heading, "All of it from %s, %s, mm",
             side->along_y ? "+x, y to the right" : "−y, x to the right", scale);
    draw_heights(side);
    sheet_clip(sheet, box);
    draw_levels(side);
    for (size_t i = 0; i < light->module_count; i++)
        if (!light->modules[i].dark)
            draw_aim(side, i);
    for (size_t i = 0; i < light->module_count; i++)
        draw_module(side, i);
    sheet_unclip(sheet);
    drawing_frame(&side->drawing, heading);
    draw_fields(side);
    layout_numbers_write(side);
}
