#include "figure_inspect.h"

#include "caption.h"
#include "map_panel.h"
#include "picture.h"
#include "profile.h"
#include "scenes/numbers.h"

#include <math.h>
#include <stdio.h>
#include <string.h>

enum {
    MARGIN = 30,
    SPOT_MOST = 560,
    SPOT_LEAST = 150,
    BETWEEN = 34,
    CURVE_HEIGHT = 430,
    CAPTION_SPACE = 22,
    RINGS = LUXFALL_RINGS,
    LABEL_SIZE = 96
};
static const double DEGREE = 3.14159265358979323846 / 180, word_size = 19;

struct sheet {
    struct page *page;
    const struct figure_inspect *shown;
    const struct luxfall_inspection *light;
    const struct luxfall_plane_result *plane;
    struct tone tone;
    struct rect map, profile, plot; /* of the spot, of lux along x and y, of candela */
    double last_deg, top_cd;        /* ends of the axes of candela */
    struct axis left, right, below;
};

/* One side of a plane from the axis outwards, or back: 0 is the axis, ring k stands at k + 1. */
static struct luxfall_estimate point_at(const struct sheet *s, size_t plane, bool negative, int i) {
    if (i == 0)
        return s->light->centre_cd;
    if (s->shown->plane_count == 1)
        return s->light->cd[i - 1];
    return s->light->half_plane_cd[s->shown->planes[plane] + (negative ? LUXFALL_HALF_PLANES / 2 : 0)][i - 1];
}

/* ---- scales -----------------------------------------------------------------------------------------------------
 */

static double most_cd(const struct sheet *s) {
    double most = fmax(s->light->centre_cd.value, 0);
    for (size_t i = 0; i < 2 * s->shown->plane_count; i++)
        for (int k = 2; k <= RINGS; k++)
            most = fmax(most, point_at(s, i / 2, i % 2 != 0, k).value);
    return most > 0 ? most : 1;
}

static double bound_cd(const struct sheet *s) {
    return s->light->bound_cd_per_lm * s->light->flux_lm;
}

/* A bound not far above the curve is shown, others would flatten it. */
static bool shows_bound(const struct sheet *s) {
    return bound_cd(s) > 0 && bound_cd(s) < 1.6 * most_cd(s);
}

static void find_scales(struct sheet *s) {
    const struct luxfall_inspection *light = s->light;
    double field_deg = light->field_angle_rad.value / DEGREE;
    s->last_deg = isnan(field_deg) ? 90 : fmin(90, 0.85 * field_deg);
    s->top_cd = 1.12 * most_cd(s);
    if (shows_bound(s))
        s->top_cd = fmax(s->top_cd, 1.1 * bound_cd(s));
}

static double at_x(const struct sheet *s, double angle_deg) {
    return (s->plot.x0 + s->plot.x1) / 2 + angle_deg / s->last_deg * (s->plot.x1 - s->plot.x0) / 2;
}

static double at_y(const struct sheet *s, double cd) {
    return s->plot.y1 - cd / s->top_cd * (s->plot.y1 - s->plot.y0);
}

/* ---- layout -----------------------------------------------------------------------------------------------------
 */

static void make_axes(struct sheet *s) {
    double u = s->page->unit, flux_lm = s->light->flux_lm;
    s->left = (struct axis){.side = SIDE_LEFT, .label = "intensity (cd)"};
    s->left.ticks = axis_ticks(s->page, SIDE_LEFT, 0, s->top_cd, CURVE_HEIGHT * u, 1);
    s->right = (struct axis){.side = SIDE_RIGHT, .label = "per emitter lumen (cd/lm)"};
    s->right.ticks = axis_ticks(s->page, SIDE_RIGHT, 0, s->top_cd / flux_lm, CURVE_HEIGHT * u, 1);
    bool leans = s->light->lean_x_rad.value != 0 || s->light->lean_y_rad.value != 0;
    s->below =
        (struct axis){.side = SIDE_BELOW,
                      .label = leans ? "angle from the middle of the light (deg)" : "angle from the axis (deg)"};
    s->below.ticks = axis_ticks(s->page, SIDE_BELOW, -s->last_deg, s->last_deg, s->page->width_px - 260 * u, 1);
}

/* The spot, its bar, and the profile, whose upright axis is the bar's, fill the width. Returns where they end. */
static double lay_out_spot(struct sheet *s) {
    double u = s->page->unit, bar = tone_bar_width(s->page, &s->tone, SPOT_MOST * u);
    struct axes_room room = map_axes_room(s->page, s->plane, SPOT_MOST * u, 1);
    double right = profile_right(s->page, &s->tone, s->plane->peak_lx.value);
    double free = s->page->width_px - 2 * MARGIN * u - room.left - bar - BETWEEN * u - right;
    double side = round(fmin(SPOT_MOST * u, fmax(SPOT_LEAST * u, 0.5 * free)));
    double x0 = round(MARGIN * u + room.left), y0 = round(MARGIN * u);
    s->map = (struct rect){x0, y0, x0 + side, y0 + side};
    double x1 = round(s->map.x1 + bar + BETWEEN * u);
    s->profile = (struct rect){x1, y0, round(s->page->width_px - MARGIN * u - right), y0 + side};
    return s->map.y1 + room.below + BETWEEN * u;
}

/* Returns where the caption begins. */
static double lay_out(struct sheet *s) {
    double u = s->page->unit, y0 = round(lay_out_spot(s));
    find_scales(s);
    make_axes(s);
    s->plot = (struct rect){round(MARGIN * u + axis_depth(s->page, &s->left)), y0,
                            round(s->page->width_px - MARGIN * u - axis_depth(s->page, &s->right)),
                            round(y0 + CURVE_HEIGHT * u)};
    axis_place(&s->left, 0, s->top_cd, s->plot.y1, s->plot.y0);
    axis_place(&s->right, 0, s->top_cd / s->light->flux_lm, s->plot.y1, s->plot.y0);
    axis_place(&s->below, -s->last_deg, s->last_deg, s->plot.x0, s->plot.x1);
    return s->plot.y1 + axis_depth(s->page, &s->below) + CAPTION_SPACE * u;
}

/* ---- the stage --------------------------------------------------------------------------------------------------
 */

static bool draw_spot(const struct sheet *s) {
    static const double shares[] = {0.9, 0.5, 0.1};
    struct map_panel panel = {.page = s->page,
                              .scene = s->shown->stage,
                              .plane = s->plane,
                              .tone = &s->tone,
                              .map = s->map,
                              .room = s->map};
    struct panel_lines lines;
    panel.px_per_mm = (s->map.x1 - s->map.x0) / (s->plane->columns * s->plane->cell_mm);
    panel.text_scale = 1;
    if (!panel_lines_make(&panel, sizeof shares / sizeof *shares, shares, &lines))
        return false;
    map_image_draw(&panel);
    panel_lines_draw(&panel, &lines);
    clutter_add_outline(&panel.clutter, panel.map);
    panel_lines_label(&panel, &lines);
    map_axes_draw(&panel);
    tone_bar_draw(s->page, &s->tone, panel.room, lines.count, lines.level);
    panel_lines_free(&lines);
    bool whole = !panel.clutter.out_of_memory;
    clutter_free(&panel.clutter);
    return whole;
}

static struct pen pen_at(const struct sheet *s, size_t i) {
    return pen_of(&s->tone.colours, i, s->shown->plane_count);
}

/* Lux along x; along y too where the light differs there. */
static void draw_profile(const struct sheet *s) {
    struct curve curves[2] = {{&s->plane->along_x, pen_at(s, 0)}};
    struct profile profile = {.page = s->page,
                              .scene = s->shown->stage,
                              .plane = s->plane,
                              .tone = &s->tone,
                              .plot = s->profile,
                              .axis = 'x',
                              .percent_of_lx = s->plane->peak_lx.value,
                              .curve_count = 1,
                              .curves = curves};
    for (size_t i = 1; i < s->shown->plane_count; i++)
        if (s->shown->planes[i] == LUXFALL_HALF_PLANES / 4)
            curves[profile.curve_count++] = (struct curve){&s->plane->along_y, pen_at(s, i)};
    profile.both = profile.curve_count > 1;
    profile_draw(&profile);
}

/* ---- candela ----------------------------------------------------------------------------------------------------
 */

static double ring_deg(int ring) {
    return (ring + 0.5) * 90 / RINGS;
}

/* Rings about the axis are small, and the axis stands for them until one is known half as well; at most those of the
 * cone that the axis is taken from, METHODS eq. (97): what lies beyond is the beam's shape. */
static int first_ring(const struct sheet *s, size_t plane) {
    double cone_deg = 0.15 * s->light->beam_angle_rad.value / DEGREE / 2;
    int i = 1;
    while (ring_deg(i - 1) < cone_deg && (point_at(s, plane, false, i).u95 > 2 * s->light->level_cd.u95 ||
                                          point_at(s, plane, true, i).u95 > 2 * s->light->level_cd.u95))
        i++;
    return i;
}

/* Values, moved by so many of their bands, from one end of the axis to the other. */
static void add_curve(const struct sheet *s, size_t plane, double bands, bool backwards) {
    int first = first_ring(s, plane);
    for (int i = -RINGS; i <= RINGS; i++) {
        int at = backwards ? -i : i, ring = at < 0 ? -at : at;
        struct luxfall_estimate cd = point_at(s, plane, at < 0, ring);
        double angle_deg = (at < 0 ? -1 : 1) * (ring > 0 ? ring_deg(ring - 1) : 0);
        if (ring == 0 || ring >= first)
            cairo_line_to(s->page->cairo, at_x(s, angle_deg), at_y(s, cd.value + (bands != 0 ? bands * cd.u95 : 0)));
    }
}

static void draw_curve(const struct sheet *s, size_t plane) {
    cairo_t *cr = s->page->cairo;
    struct pen pen = pen_at(s, plane);
    struct ink soft = pen.ink;
    soft.opacity = 0.28;
    if (s->light->rays_traced > 0) {
        add_curve(s, plane, 1, false);
        add_curve(s, plane, -1, true);
        cairo_close_path(cr);
        page_ink(s->page, soft);
        cairo_fill(cr);
    }
    add_curve(s, plane, 0, false);
    pen_take(s->page, pen);
    cairo_stroke(cr);
    pen_rest(s->page);
}

static void draw_grid(const struct sheet *s) {
    page_ink(s->page, INK_RULE);
    cairo_set_line_width(s->page->cairo, s->page->unit);
    for (int i = 0; i < s->left.ticks.count; i++)
        page_line(s->page, s->plot.x0, s->left.px[i], s->plot.x1, s->left.px[i]);
    for (int i = 0; i < s->below.ticks.count; i++)
        page_line(s->page, s->below.px[i], s->plot.y0, s->below.px[i], s->plot.y1);
}

static void draw_tip(const struct sheet *s, double x, double y, double way) {
    double u = s->page->unit;
    cairo_move_to(s->page->cairo, x, y);
    cairo_line_to(s->page->cairo, x - way * 13 * u, y - 4.5 * u);
    cairo_line_to(s->page->cairo, x - way * 13 * u, y + 4.5 * u);
    cairo_close_path(s->page->cairo);
    cairo_fill(s->page->cairo);
}

/* An arrow from side to side at the height of its fraction, its name over it; beside it where it is short. */
static void draw_angle(const struct sheet *s, const char *name, struct luxfall_estimate angle_rad, double fraction) {
    double half_deg = angle_rad.value / DEGREE / 2, y = at_y(s, fraction * s->light->level_cd.value);
    if (!(half_deg > 0 && half_deg <= s->last_deg))
        return;
    char label[LABEL_SIZE];
    snprintf(label, sizeof label, "%s %.3g° at %.3g %%", name, 2 * half_deg, 100 * fraction);
    double x0 = at_x(s, -half_deg), x1 = at_x(s, half_deg), u = s->page->unit;
    page_ink(s->page, INK_SOFT);
    cairo_set_line_width(s->page->cairo, 1.5 * u);
    page_line(s->page, x0, y, x1, y);
    draw_tip(s, x0, y, -1);
    draw_tip(s, x1, y, 1);
    struct text text = {.string = label, .size = word_size, .ink = INK_TEXT, .halo = INK_WHITE, .halo_width = 5};
    double width = page_measure(s->page, &text).x1, beside = x1 + 16 * u;
    if (width > 0.8 * (x1 - x0) && beside + width < s->plot.x1 - 8 * u)
        page_write(s->page, &text, beside, y, 0, 0.5);
    else
        page_write(s->page, &text, at_x(s, 0), y - 5 * u, 0.5, 1);
}

static void draw_bound(const struct sheet *s) {
    double u = s->page->unit, y = at_y(s, bound_cd(s)), dash[] = {9 * u, 6 * u};
    char label[LABEL_SIZE];
    if (!shows_bound(s))
        return;
    page_ink(s->page, INK_SOFT);
    cairo_set_line_width(s->page->cairo, 1.6 * u);
    cairo_set_dash(s->page->cairo, dash, 2, 0);
    page_line(s->page, s->plot.x0, y, s->plot.x1, y);
    pen_rest(s->page);
    snprintf(label, sizeof label, "%s and face allow %.10g cd", s->light->package_index > 0 ? "package" : "die",
             number_rounded(bound_cd(s), 4));
    struct text text = {.string = label, .size = word_size, .ink = INK_TEXT, .halo = INK_WHITE, .halo_width = 5};
    page_write(s->page, &text, s->plot.x1 - 12 * u, y + 6 * u, 1, 0);
}

static void draw_legend(const struct sheet *s) {
    double u = s->page->unit, y = s->plot.y0 + 22 * u, bound_y = at_y(s, bound_cd(s));
    if (shows_bound(s) && bound_y < y + 28 * u * (double)s->shown->plane_count)
        y = fmax(y, bound_y + 22 * u);
    for (size_t i = 0; i < s->shown->plane_count && s->shown->plane_count > 1; i++, y += 28 * u) {
        struct text text = {.string = s->shown->plane_names[i], .size = word_size, .ink = INK_TEXT};
        pen_take(s->page, pen_at(s, i));
        page_line(s->page, s->plot.x0 + 14 * u, y, s->plot.x0 + 62 * u, y);
        pen_rest(s->page);
        page_write(s->page, &text, s->plot.x0 + 72 * u, y, 0, 0.5);
    }
}

static void draw_candela(const struct sheet *s) {
    cairo_t *cr = s->page->cairo;
    draw_grid(s);
    cairo_save(cr);
    cairo_rectangle(cr, s->plot.x0, s->plot.y0, s->plot.x1 - s->plot.x0, s->plot.y1 - s->plot.y0);
    cairo_clip(cr);
    for (size_t i = s->shown->plane_count; i-- > 0;)
        draw_curve(s, i);
    cairo_restore(cr);
    draw_bound(s);
    draw_angle(s, "beam angle", s->light->beam_angle_rad, 0.5);
    draw_angle(s, "field angle", s->light->field_angle_rad, 0.1);
    draw_legend(s);
    page_ink(s->page, INK_TEXT);
    cairo_set_line_width(cr, 1.5 * s->page->unit);
    cairo_rectangle(cr, s->plot.x0, s->plot.y0, s->plot.x1 - s->plot.x0, s->plot.y1 - s->plot.y0);
    cairo_stroke(cr);
    axis_draw(s->page, &s->left, s->plot);
    axis_draw(s->page, &s->right, s->plot);
    axis_draw(s->page, &s->below, s->plot);
}

/* ---- the page ---------------------------------------------------------------------------------------------------
 */

int figure_inspect_draw(struct page *page, const struct figure_inspect *shown, const struct figure_style *style,
                        struct inspect_layout *layout, struct figure_error *error) {
    struct sheet s = {.page = page, .shown = shown, .light = shown->light, .plane = &shown->spot->planes[0]};
    int status = page_begin(page, style, error);
    if (status == 0)
        status = tone_make(&s.tone, 1, &s.plane, style, error);
    if (status != 0)
        return status;
    double caption_y = lay_out(&s);
    status = page_paper(page, caption_y + caption_height(page, shown->title, shown->caption), error);
    if (status != 0)
        return status;
    if (!draw_spot(&s))
        return figure_fail(error, 1, "out of memory while drawing the spot");
    draw_profile(&s);
    draw_candela(&s);
    caption_draw(page, shown->title, shown->caption, caption_y);
    *layout = (struct inspect_layout){s.plot, s.last_deg, s.top_cd};
    return 0;
}

int figure_inspect(const char *path, const struct figure_inspect *shown, const struct figure_style *style,
                   struct figure_error *error) {
    struct page page = {0};
    struct inspect_layout layout;
    int status = figure_inspect_draw(&page, shown, style, &layout, error);
    if (status == 0)
        status = picture_write(path, &page, shown->title, shown->caption, error);
    page_end(&page);
    return status;
}
