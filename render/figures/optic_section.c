/* The section itself: what is filled, surfaces, board, dies, and the fan of rays. */
#include "optic_sheet.h"

#include <math.h>

const struct ink OPTIC_GLASS = {0.86, 0.91, 0.95, 1}, OPTIC_DIE = {0.95, 0.72, 0.20, 1};

struct flat optic_flat(const struct optic_view *view, struct luxfall_vec at_mm) {
    double section = view->fan->outline->section_rad;
    return (struct flat){at_mm.z, cos(section) * at_mm.x + sin(section) * at_mm.y};
}

struct flat optic_own(const struct optic_view *view, struct flat p) {
    double c = cos(view->lean_rad), s = sin(view->lean_rad);
    return (struct flat){p.z * c + p.u * s, p.u * c - p.z * s};
}

bool optic_is_endless(const struct luxfall_line *line) {
    return line->kind == LUXFALL_SURFACE_ABSORBING && line->loss == LUXFALL_LOSS_HOLDER;
}

double optic_x(const struct optic_view *view, double z_mm) {
    return drawing_x(&view->drawing, z_mm);
}

double optic_y(const struct optic_view *view, double u_mm) {
    return drawing_y(&view->drawing, u_mm);
}

/* ---- pens ------------------------------------------------------------------------------------------------------ */

/* Told apart in grey, too: by width, by lightness, by dashes. */
void optic_pen(struct sheet *sheet, enum optic_stroke stroke) {
    static const struct {
        struct ink ink;
        double width_mm;
        bool dashed;
    } pens[STROKE_COUNT] = {
        [STROKE_SURFACE] = {{0.16, 0.22, 0.30, 1}, 0.35, false},
        [STROKE_TEXTURED] = {{0.16, 0.22, 0.30, 1}, 0.6, true},
        [STROKE_MIRROR] = {{0.16, 0.22, 0.30, 1}, 0.8, false},
        [STROKE_BLACK] = {{0.10, 0.10, 0.11, 1}, 1.0, false},
        [STROKE_MIDDLE_RAY] = {{0.12, 0.36, 0.60, 1}, 0.24, false},
        [STROKE_EDGE_RAY] = {{0.88, 0.60, 0.16, 1}, 0.2, false},
        [STROKE_LOST_RAY] = {{0.76, 0.45, 0.43, 1}, 0.15, true},
    };
    sheet_pen(sheet, pens[stroke].ink, pens[stroke].width_mm, pens[stroke].dashed);
}

enum optic_stroke optic_stroke_of_line(const struct luxfall_line *line) {
    static const enum optic_stroke strokes[] = {[LUXFALL_SURFACE_CLEAR] = STROKE_SURFACE,
                                                [LUXFALL_SURFACE_SCATTERING] = STROKE_TEXTURED,
                                                [LUXFALL_SURFACE_MIRROR] = STROKE_MIRROR,
                                                [LUXFALL_SURFACE_ABSORBING] = STROKE_BLACK};
    return strokes[line->kind];
}

enum optic_stroke optic_stroke_of_path(const struct figure_fan *fan, size_t path) {
    enum luxfall_path_end end = fan->paths->each[path].end;
    if (end == LUXFALL_PATH_ABSORBED || end == LUXFALL_PATH_ABANDONED)
        return STROKE_LOST_RAY;
    return path < fan->middle_count ? STROKE_MIDDLE_RAY : STROKE_EDGE_RAY;
}

static void disc(struct sheet *sheet, double x, double y, double radius, bool filled) {
    double u = sheet->page->unit;
    cairo_new_sub_path(sheet->page->cairo);
    cairo_arc(sheet->page->cairo, x * u, y * u, radius * u, 0, 6.28318530717958648);
    if (filled)
        cairo_fill(sheet->page->cairo);
    else
        cairo_stroke(sheet->page->cairo);
}

void optic_mark_turn(struct sheet *sheet, double x, double y) {
    sheet_pen(sheet, INK_WHITE, 0.15, false);
    disc(sheet, x, y, 0.5, true);
    sheet_pen(sheet, SHEET_INK, 0.15, false);
    disc(sheet, x, y, 0.5, false);
}

bool optic_shows_turns(const struct figure_fan *fan) {
    size_t turns = 0;
    for (size_t i = 0; i < fan->middle_count; i++)
        for (size_t k = 0; k < fan->paths->each[i].count; k++)
            turns += fan->paths->each[i].turns[k] == LUXFALL_TURN_REFLECTED;
    return turns > 0 && turns < 2 * fan->middle_count && turns < 100;
}

/* ---- solid things ---------------------------------------------------------------------------------------------- */

static void trace_points(const struct optic_view *view, size_t count, const struct luxfall_vec *at_mm) {
    cairo_t *cr = view->sheet->page->cairo;
    double u = view->sheet->page->unit;
    for (size_t i = 0; i < count; i++) {
        struct flat p = optic_flat(view, at_mm[i]);
        (i ? cairo_line_to : cairo_move_to)(cr, optic_x(view, p.z) * u, optic_y(view, p.u) * u);
    }
}

static void fill_areas(const struct optic_view *view) {
    const struct luxfall_outline *outline = view->fan->outline;
    cairo_t *cr = view->sheet->page->cairo;
    for (size_t i = 0; i < outline->area_count; i++) {
        trace_points(view, outline->areas[i].count, outline->areas[i].at_mm);
        cairo_close_path(cr);
    }
    page_ink(view->sheet->page, OPTIC_GLASS);
    cairo_fill(cr);
}

static void draw_surfaces(const struct optic_view *view) {
    const struct luxfall_outline *outline = view->fan->outline;
    for (size_t i = 0; i < outline->line_count; i++) {
        trace_points(view, outline->lines[i].count, outline->lines[i].at_mm);
        optic_pen(view->sheet, optic_stroke_of_line(&outline->lines[i]));
        cairo_stroke(view->sheet->page->cairo);
    }
}

/* The board behind the emitter, hatched: only a foot for it where the optic goes on behind. */
static void draw_board(const struct optic_view *view) {
    const struct luxfall_outline *outline = view->fan->outline;
    struct sheet *sheet = view->sheet;
    double x = optic_x(view, 0), top = optic_y(view, view->seen.y1), bottom = optic_y(view, view->seen.y0);
    if (view->optic.x0 < -0.1 * view->optic.x1) {
        top = optic_y(view, outline->dies[outline->die_count - 1].to_mm) - 1.5;
        bottom = optic_y(view, outline->dies[0].from_mm) + 1.5;
    }
    sheet_pen(sheet, SHEET_FAINT, 0.15, false);
    for (double y = top + 0.4; y < bottom - 1.4; y += 1.8)
        sheet_line(sheet, x - 1.4, y + 1.4, x - 0.3, y);
    sheet_pen(sheet, SHEET_GREY, 0.25, false);
    sheet_line(sheet, x - 0.15, top, x - 0.15, bottom);
}

/* As long as they are, as thick as can be seen. */
static void draw_dies(const struct optic_view *view) {
    const struct luxfall_outline *outline = view->fan->outline;
    cairo_t *cr = view->sheet->page->cairo;
    double u = view->sheet->page->unit;
    for (size_t i = 0; i < outline->die_count; i++) {
        const struct luxfall_span *die = &outline->dies[i];
        double top = optic_y(view, die->to_mm), bottom = fmax(optic_y(view, die->from_mm), top + 0.3);
        double top_x = optic_x(view, die->to_z_mm), bottom_x = optic_x(view, die->from_z_mm);
        cairo_move_to(cr, top_x * u, top * u);
        cairo_line_to(cr, bottom_x * u, bottom * u);
        cairo_line_to(cr, (bottom_x - 1.3) * u, bottom * u);
        cairo_line_to(cr, (top_x - 1.3) * u, top * u);
        cairo_close_path(cr);
        page_ink(view->sheet->page, OPTIC_DIE);
        cairo_fill_preserve(cr);
        sheet_pen(view->sheet, SHEET_INK, 0.15, false);
        cairo_stroke(cr);
    }
}

static void draw_axis(const struct optic_view *view) {
    sheet_pen(view->sheet, SHEET_GREY, 0.12, true);
    sheet_line(view->sheet, optic_x(view, view->seen.x0) - 3, optic_y(view, 0), optic_x(view, view->seen.x1),
               optic_y(view, 0));
}

/* ---- rays ------------------------------------------------------------------------------------------------------ */

/* Far out on the way of a ray that leaves. */
static struct flat far_end(const struct optic_view *view, const struct luxfall_path *path) {
    struct luxfall_vec end = path->at_mm[path->count - 1], way = path->direction;
    double far = 2 * (view->seen.x1 - view->seen.x0 + view->seen.y1 - view->seen.y0);
    return optic_flat(view, (struct luxfall_vec){end.x + far * way.x, end.y + far * way.y, end.z + far * way.z});
}

static void draw_ray(const struct optic_view *view, size_t number) {
    const struct luxfall_path *path = &view->fan->paths->each[number];
    double u = view->sheet->page->unit;
    trace_points(view, path->count, path->at_mm);
    if (path->end == LUXFALL_PATH_LEAVES) {
        struct flat out = far_end(view, path);
        cairo_line_to(view->sheet->page->cairo, optic_x(view, out.z) * u, optic_y(view, out.u) * u);
    }
    optic_pen(view->sheet, optic_stroke_of_path(view->fan, number));
    cairo_stroke(view->sheet->page->cairo);
}

static void clutter_line(const struct optic_view *view, struct flat a, struct flat b) {
    double u = view->sheet->page->unit;
    clutter_add_line(&view->sheet->clutter, (struct segment){optic_x(view, a.z) * u, optic_y(view, a.u) * u,
                                                             optic_x(view, b.z) * u, optic_y(view, b.u) * u});
}

void optic_section_as_clutter(const struct optic_view *view) {
    const struct luxfall_outline *outline = view->fan->outline;
    const struct luxfall_paths *paths = view->fan->paths;
    for (size_t i = 0; i < paths->count; i++) {
        const struct luxfall_path *path = &paths->each[i];
        for (size_t k = 0; k + 1 < path->count; k++)
            clutter_line(view, optic_flat(view, path->at_mm[k]), optic_flat(view, path->at_mm[k + 1]));
        if (path->end == LUXFALL_PATH_LEAVES)
            clutter_line(view, optic_flat(view, path->at_mm[path->count - 1]), far_end(view, path));
    }
    for (size_t i = 0; i < outline->line_count; i++)
        for (size_t k = 0; k + 1 < outline->lines[i].count; k++)
            clutter_line(view, optic_flat(view, outline->lines[i].at_mm[k]),
                         optic_flat(view, outline->lines[i].at_mm[k + 1]));
    clutter_line(view, (struct flat){0, view->seen.y0}, (struct flat){0, view->seen.y1});
}

/* Where it turned back, and where it ended. */
static void mark_ray(const struct optic_view *view, size_t number) {
    const struct luxfall_path *path = &view->fan->paths->each[number];
    bool shown = number < view->fan->middle_count && optic_shows_turns(view->fan);
    for (size_t i = 1; shown && i < path->count; i++) {
        struct flat p = optic_flat(view, path->at_mm[i]);
        if (path->turns[i] == LUXFALL_TURN_REFLECTED)
            optic_mark_turn(view->sheet, optic_x(view, p.z), optic_y(view, p.u));
    }
    struct flat end = optic_flat(view, path->at_mm[path->count - 1]);
    if (path->end == LUXFALL_PATH_LEAVES)
        return;
    optic_pen(view->sheet, optic_stroke_of_path(view->fan, number));
    disc(view->sheet, optic_x(view, end.z), optic_y(view, end.u), 0.45, true);
}

static void draw_rays(const struct optic_view *view) {
    static const enum optic_stroke order[] = {STROKE_LOST_RAY, STROKE_EDGE_RAY, STROKE_MIDDLE_RAY};
    for (int pass = 0; pass < 3; pass++)
        for (size_t i = 0; i < view->fan->paths->count; i++)
            if (optic_stroke_of_path(view->fan, i) == order[pass])
                draw_ray(view, i);
}

void optic_section_draw(const struct optic_view *view) {
    struct rect seen = view->seen;
    double left = optic_x(view, seen.x0) - 1.5;
    sheet_clip(view->sheet,
               (struct rect){left, optic_y(view, seen.y1), optic_x(view, seen.x1), optic_y(view, seen.y0)});
    fill_areas(view);
    draw_board(view);
    draw_rays(view);
    draw_surfaces(view);
    for (size_t i = 0; i < view->fan->paths->count; i++)
        mark_ray(view, i);
    draw_dies(view);
    sheet_unclip(view->sheet);
    draw_axis(view);
}
