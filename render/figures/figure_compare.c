#include "figure_compare.h"

#include "caption.h"
#include "map_panel.h"
#include "picture.h"
#include "smoothing.h"

#include <math.h>
#include <stdlib.h>

enum {
    MARGIN = 28,
    GAP = 30,
    TITLE_GAP = 8,
    TITLE_LINES = 3,
    MAP_HEIGHT_MOST = 620,
    BAR_LEAST = 240,
    BAR_MOST = 900,
    CAPTION_SPACE = 20
};
static const double title_size = 20, text_scale = 0.86;
static const double shares[] = {0.5, 0.1};

/* The panels in rows and columns, one scale in mm for all unless their maps differ too much in size. */
struct sheet {
    struct page *page;
    size_t count, columns, rows;
    const struct scene *const *scenes;
    const struct luxfall_plane_result **planes;
    const char *const *names;
    const struct tone *tone;
    double column_px, axis_left, axis_below, title_px, map_height; /* of every panel */
    double shared_px_per_mm;                                       /* 0: each map its own */
};

static double width_mm(const struct luxfall_plane_result *plane) {
    return plane->columns * plane->cell_mm;
}

static double height_mm(const struct luxfall_plane_result *plane) {
    return plane->rows * plane->cell_mm;
}

static double own_scale(const struct sheet *s, size_t i) {
    double inner = s->column_px - s->axis_left - GAP * s->page->unit;
    return fmin(inner / width_mm(s->planes[i]), MAP_HEIGHT_MOST * s->page->unit / height_mm(s->planes[i]));
}

static double panel_scale(const struct sheet *s, size_t i) {
    return s->shared_px_per_mm > 0 ? s->shared_px_per_mm : own_scale(s, i);
}

/* Over its map, in as many lines as it takes: what tells one candidate from another may stand last. */
static struct text title_of(const struct sheet *s, size_t i) {
    return (struct text){.string = s->names[i],
                         .size = title_size,
                         .bold = true,
                         .wrap = s->column_px - GAP * s->page->unit,
                         .lines = TITLE_LINES,
                         .centred = true,
                         .ink = INK_TEXT};
}

static void lay_out(struct sheet *s) {
    double u = s->page->unit, bar = tone_bar_width(s->page, s->tone, BAR_LEAST * u), least = INFINITY, most = 0;
    s->columns = s->count <= 3 ? s->count : s->count == 4 ? 2 : s->count <= 9 ? 3 : 4;
    s->rows = (s->count + s->columns - 1) / s->columns;
    s->column_px = (s->page->width_px - 2 * MARGIN * u - bar) / (double)s->columns;
    s->title_px = s->axis_left = s->axis_below = s->map_height = 0;
    for (size_t i = 0; i < s->count; i++) {
        struct text title = title_of(s, i);
        s->title_px = fmax(s->title_px, TITLE_GAP * u + page_measure(s->page, &title).y1);
        struct axes_room room = map_axes_room(s->page, s->planes[i], MAP_HEIGHT_MOST * u, text_scale);
        s->axis_left = fmax(s->axis_left, room.left);
        s->axis_below = fmax(s->axis_below, room.below);
    }
    for (size_t i = 0; i < s->count; i++) {
        least = fmin(least, own_scale(s, i));
        most = fmax(most, own_scale(s, i));
    }
    s->shared_px_per_mm = most < 3 * least ? least : 0;
    for (size_t i = 0; i < s->count; i++)
        s->map_height = fmax(s->map_height, height_mm(s->planes[i]) * panel_scale(s, i));
    s->map_height = ceil(fmax(s->map_height, 60 * u));
}

static double row_px(const struct sheet *s) {
    return s->title_px + s->map_height + s->axis_below + GAP * s->page->unit;
}

static double sheet_height(const struct sheet *s) {
    return fmax((double)s->rows * row_px(s), s->title_px + (BAR_LEAST + GAP) * s->page->unit);
}

static struct map_panel panel_at(const struct sheet *s, size_t i) {
    double u = s->page->unit, scale = panel_scale(s, i);
    double left = MARGIN * u + s->column_px * (double)(i % s->columns) + s->axis_left;
    double bottom = MARGIN * u + row_px(s) * (double)(i / s->columns) + s->title_px + s->map_height;
    double width = fmax(1, round(width_mm(s->planes[i]) * scale)),
           height = fmax(1, round(height_mm(s->planes[i]) * scale));
    left += (s->column_px - s->axis_left - GAP * u - width) / 2;
    struct map_panel panel = {.page = s->page, .scene = s->scenes[i], .plane = s->planes[i], .tone = s->tone};
    panel.map = (struct rect){round(left), round(bottom) - height, round(left) + width, round(bottom)};
    panel.room = panel.map;
    panel.px_per_mm = scale;
    panel.text_scale = text_scale;
    return panel;
}

static bool draw_panel(const struct sheet *s, size_t i) {
    struct map_panel panel = panel_at(s, i);
    struct panel_lines lines;
    if (!panel_lines_make(&panel, sizeof shares / sizeof *shares, shares, &lines))
        return false;
    map_image_draw(&panel);
    panel_lines_draw(&panel, &lines);
    panel_frames_draw(&panel);
    clutter_add_outline(&panel.clutter, panel.map);
    panel_lines_label(&panel, &lines);
    panel_names_draw(&panel, &lines);
    map_axes_draw(&panel);
    panel_lines_free(&lines);
    struct text title = title_of(s, i);
    double width = page_measure(s->page, &title).x1, middle = (panel.map.x0 + panel.map.x1) / 2;
    double first = MARGIN * s->page->unit + s->column_px * (double)(i % s->columns);
    double last = first + s->column_px - GAP * s->page->unit / 2; /* clear of the neighbour, or of the bar */
    middle = fmin(fmax(middle, first + width / 2), last - width / 2);
    page_write(s->page, &title, middle, panel.map.y0 - TITLE_GAP * s->page->unit, 0.5, 1);
    bool whole = !panel.clutter.out_of_memory;
    clutter_free(&panel.clutter);
    return whole;
}

static int draw_sheet(const struct sheet *s, struct figure_error *error) {
    double u = s->page->unit, top = MARGIN * u + s->title_px;
    for (size_t i = 0; i < s->count; i++)
        if (!draw_panel(s, i))
            return figure_fail(error, 1, "out of memory while drawing the maps");
    double height = sheet_height(s) - s->title_px - s->axis_below - GAP * u;
    height = fmin(fmax(height, BAR_LEAST * u), BAR_MOST * u);
    struct rect beside = {0, top, MARGIN * u + s->column_px * (double)s->columns - GAP * u, top + height};
    tone_bar_draw(s->page, s->tone, beside, 0, NULL);
    return 0;
}

/* The legend; by rays it owns up to the smoothing. */
static const char *last_line(size_t count, const struct luxfall_result *const *results, size_t plane) {
    for (size_t i = 0; i < count; i++)
        if (picture_smoothing(&results[i]->planes[plane]).across > 0)
            return "Lines: 50 and 10 % of each peak. Frames: fields. One colour scale for all. Ray noise of the "
                   "colours "
                   "is smoothed.";
    return "Lines: 50 and 10 % of each peak. Frames: fields. One colour scale for all.";
}

static int compare(struct sheet *s, const struct luxfall_result *const *results, size_t plane, char **caption,
                   struct figure_error *error) {
    *caption = caption_of_several(s->count, s->scenes, results, s->names, plane, last_line(s->count, results, plane));
    if (*caption == NULL)
        return figure_fail(error, 1, "out of memory while drawing the maps");
    lay_out(s);
    double caption_y = MARGIN * s->page->unit + sheet_height(s) + (CAPTION_SPACE - GAP) * s->page->unit;
    int status = page_paper(s->page, caption_y + caption_height(s->page, "Maps compared", *caption), error);
    if (status == 0)
        status = draw_sheet(s, error);
    if (status == 0)
        caption_draw(s->page, "Maps compared", *caption, caption_y);
    return status;
}

int figure_compare_draw(struct page *page, size_t count, const struct scene *const *scenes,
                        const struct luxfall_result *const *results, const char *const *names, size_t plane,
                        const struct figure_style *style, char **caption, struct figure_error *error) {
    struct tone tone;
    *caption = NULL;
    int status = page_begin(page, style, error);
    struct sheet sheet = {.page = page, .count = count, .scenes = scenes, .names = names, .tone = &tone};
    sheet.planes = calloc(count, sizeof *sheet.planes);
    if (status == 0 && sheet.planes == NULL)
        status = figure_fail(error, 1, "out of memory while drawing the maps");
    for (size_t i = 0; status == 0 && i < count; i++)
        sheet.planes[i] = &results[i]->planes[plane];
    if (status == 0)
        status = tone_make(&tone, count, sheet.planes, style, error);
    if (status == 0)
        status = compare(&sheet, results, plane, caption, error);
    free(sheet.planes);
    return status;
}

int figure_compare(const char *path, size_t count, const struct scene *const *scenes,
                   const struct luxfall_result *const *results, const char *const *names, size_t plane,
                   const struct figure_style *style, struct figure_error *error) {
    struct page page;
    char *caption;
    int status = figure_compare_draw(&page, count, scenes, results, names, plane, style, &caption, error);
    if (status == 0)
        status = picture_write(path, &page, "Maps compared", caption, error);
    free(caption);
    page_end(&page);
    return status;
}
