#include "figure_difference.h"

#include "caption.h"
#include "map_panel.h"
#include "picture.h"
#include "smoothing.h"

#include <math.h>
#include <stdarg.h>
#include <stdio.h>
#include <stdlib.h>

enum { CAPTION_SPACE = 22 };
static const double dark_share = 0.001, bright_share = 0.1; /* of the peak of the map that is divided by */

/* 100 (b / a - 1) cell by cell. */
struct difference {
    struct luxfall_plane_result plane; /* e_lx: percent, NaN where a is dark */
    float *shown;                      /* the same with 0 there: what is painted under the hatching */
    bool *dark;
    bool noisy;
    double limit; /* round, above what the bright part holds */
};

static void difference_free(struct difference *d) {
    free(d->plane.e_lx);
    free(d->shown);
    free(d->dark);
}

static bool difference_room(struct difference *d, size_t cells) {
    d->plane.e_lx = malloc(cells * sizeof *d->plane.e_lx);
    d->shown = malloc(cells * sizeof *d->shown);
    d->dark = malloc(cells * sizeof *d->dark);
    return d->plane.e_lx != NULL && d->shown != NULL && d->dark != NULL;
}

static void fill(struct difference *d, const float *a, const float *b, double peak) {
    size_t cells = (size_t)d->plane.columns * (size_t)d->plane.rows;
    double most = 0;
    for (size_t i = 0; i < cells; i++) {
        d->dark[i] = !(peak > 0) || !(a[i] >= dark_share * peak);
        d->shown[i] = d->dark[i] ? 0 : (float)(100 * ((double)b[i] / a[i] - 1));
        d->plane.e_lx[i] = d->dark[i] ? NAN : d->shown[i];
        if (!d->dark[i] && a[i] >= bright_share * peak)
            most = fmax(most, fabs(d->shown[i]));
    }
    d->limit = round_above(fmax(most, 1));
}

/* Ray noise smoothed away as on the maps. */
static bool difference_make(struct difference *d, const struct luxfall_plane_result *a,
                            const struct luxfall_plane_result *b) {
    *d = (struct difference){.plane = *a};
    d->plane.e_u95_lx = NULL;
    d->noisy = a->e_u95_lx != NULL || b->e_u95_lx != NULL;
    float *cells_a = picture_cells(a), *cells_b = picture_cells(b);
    bool done = difference_room(d, (size_t)a->columns * (size_t)a->rows) && cells_a != NULL && cells_b != NULL;
    if (done)
        fill(d, cells_a, cells_b, a->peak_lx.value);
    free(cells_a);
    free(cells_b);
    return done;
}

static void make_tone(struct tone *tone, double limit) {
    *tone = (struct tone){.kind = FIGURE_LINEAR, .bottom = -limit, .top = limit, .unit = {"%", 1}};
    snprintf(tone->label, sizeof tone->label, "difference (%%)");
    colour_scale_fill_diverging(&tone->colours);
}

static void note_clipping(struct tone *tone, const struct difference *d) {
    for (size_t i = 0; i < (size_t)d->plane.columns * (size_t)d->plane.rows; i++) {
        tone->over = tone->over || d->shown[i] > 1.001 * d->limit;
        tone->under = tone->under || d->shown[i] < -1.001 * d->limit;
    }
}

/* ---- drawing ----------------------------------------------------------------------------------------------------
 */

static bool add_line(struct map_panel *panel, const struct value_grid *grid, double percent,
                     struct panel_lines *lines) {
    char number[NUMBER_SIZE], label[NUMBER_SIZE + 8];
    short_number_text(percent, number);
    snprintf(label, sizeof label, "%s%s\u202f%%", percent > 0 ? "+" : "", number);
    return panel_lines_add(panel, grid, percent, label, lines);
}

/* At 0 and at the largest 1, 2, 5 x 10^n that the bar holds, to both sides: small differences get their sign too, as
 * colours alone would not tell it in grey. Finer lines than noise allows would be ragged. */
static bool make_lines(struct map_panel *panel, double limit, struct panel_lines *lines) {
    struct value_grid grid;
    bool done = value_grid_for_line(panel->plane, 0.5, &grid);
    *lines = (struct panel_lines){.count = 0};
    done = done && add_line(panel, &grid, 0, lines);
    double level = round_below(limit);
    for (int i = 0; i < (panel->noisy ? 3 : 4) && done; i++, level = round_below(0.99 * level))
        done = add_line(panel, &grid, level, lines) && add_line(panel, &grid, -level, lines);
    value_grid_free(&grid);
    if (!done)
        panel_lines_free(lines);
    return done;
}

static double edge_x(const struct map_panel *panel, int column) {
    return panel_x(panel, (column - panel->plane->columns / 2.0) * panel->plane->cell_mm);
}

static double edge_y(const struct map_panel *panel, int row) {
    return panel_y(panel, (row - panel->plane->rows / 2.0) * panel->plane->cell_mm);
}

/* Runs of dark cells, row by row. */
static void hatch_dark(const struct map_panel *panel, const struct difference *d) {
    cairo_t *cr = panel->page->cairo;
    bool any = false;
    for (int row = 0; row < d->plane.rows; row++) {
        const bool *dark = d->dark + (size_t)row * (size_t)d->plane.columns;
        for (int first = 0, last; first < d->plane.columns; first = last + 1) {
            for (last = first; last < d->plane.columns && dark[last]; last++)
                ;
            double y0 = edge_y(panel, row + 1), y1 = edge_y(panel, row);
            if (last > first)
                cairo_rectangle(cr, edge_x(panel, first), y0, edge_x(panel, last) - edge_x(panel, first), y1 - y0);
            any = any || last > first;
        }
    }
    if (any)
        page_hatch(panel->page);
}

static bool draw_panel(struct map_panel *panel, const struct difference *d, size_t *unnamed) {
    struct panel_lines lines;
    if (!make_lines(panel, d->limit, &lines))
        return false;
    struct luxfall_plane_result painted = d->plane;
    painted.e_lx = d->shown;
    panel->plane = &painted;
    map_image_draw(panel);
    hatch_dark(panel, d);
    panel_lines_draw(panel, &lines);
    panel_frames_draw(panel);
    clutter_add_outline(&panel->clutter, panel->map);
    panel_lines_label(panel, &lines);
    *unnamed = panel_names_draw(panel, &lines);
    map_axes_draw(panel);
    tone_bar_draw(panel->page, panel->tone, panel->room, lines.count, lines.level);
    panel_lines_free(&lines);
    return !panel->clutter.out_of_memory;
}

/* ---- the page ---------------------------------------------------------------------------------------------------
 */

static int check_same_target(const struct luxfall_plane_result *a, const struct luxfall_plane_result *b,
                             struct figure_error *error) {
    if (a->columns == b->columns && a->rows == b->rows && a->cell_mm == b->cell_mm && a->level_mm == b->level_mm)
        return 0;
    return figure_fail(
        error, 2,
        "a difference needs two maps of the same target: one has %d x %d cells of %g mm at level %g mm, "
        "the other %d x %d of %g mm at %g mm",
        a->columns, a->rows, a->cell_mm, a->level_mm, b->columns, b->rows, b->cell_mm, b->level_mm);
}

static char *joined(const char *format, ...) {
    va_list list, again;
    va_start(list, format);
    va_copy(again, list);
    int size = vsnprintf(NULL, 0, format, list) + 1;
    char *text = size > 0 ? malloc((size_t)size) : NULL;
    if (text != NULL)
        vsnprintf(text, (size_t)size, format, again);
    va_end(again);
    va_end(list);
    return text;
}

static char *make_caption(const struct scene *const scenes[2], const struct luxfall_result *const results[2],
                          const char *const names[2], size_t plane) {
    bool smoothed = picture_smoothing(&results[0]->planes[plane]).across > 0 ||
                    picture_smoothing(&results[1]->planes[plane]).across > 0;
    char *last =
        joined("Colours and lines: %s over %s, less 1; dashed lines: less light. Hatched: %s gives under 0.1 %% of "
               "its peak. Frames: fields of %s.%s",
               names[1], names[0], names[0], names[0], smoothed ? " Ray noise is smoothed." : "");
    char *caption = last != NULL ? caption_of_several(2, scenes, results, names, plane, last) : NULL;
    free(last);
    return caption;
}

static int draw_page(struct page *page, const struct scene *scene, const struct difference *d,
                     const struct difference_words *words, struct map_layout *layout, struct figure_error *error) {
    struct tone tone;
    make_tone(&tone, d->limit);
    note_clipping(&tone, d);
    struct map_panel panel = {.page = page, .scene = scene, .plane = &d->plane, .tone = &tone, .text_scale = 1};
    panel.noisy = d->noisy;
    map_panel_lay_out(&panel);
    double below = map_axes_room(page, &d->plane, panel.map.y1 - panel.map.y0, 1).below;
    double caption_y = panel.room.y1 + below + CAPTION_SPACE * page->unit;
    int status = page_paper(page, caption_y + caption_height(page, words->title, words->caption), error);
    size_t unnamed = 0;
    if (status == 0 && !draw_panel(&panel, d, &unnamed))
        status = figure_fail(error, 1, "out of memory while drawing the difference");
    if (status == 0)
        caption_draw(page, words->title, words->caption, caption_y);
    *layout = (struct map_layout){panel.map, panel.room, panel.px_per_mm, unnamed};
    clutter_free(&panel.clutter);
    return status;
}

int figure_difference_draw(struct page *page, const struct scene *const scenes[2],
                           const struct luxfall_result *const results[2], const char *const names[2], size_t plane,
                           const struct figure_style *style, struct difference_words *words,
                           struct map_layout *layout, double *limit, struct figure_error *error) {
    struct difference d = {.limit = 0};
    *words = (struct difference_words){NULL, NULL};
    int status = page_begin(page, style, error);
    if (status == 0)
        status = check_same_target(&results[0]->planes[plane], &results[1]->planes[plane], error);
    if (status != 0)
        return status;
    words->title = joined("%s over %s", names[1], names[0]);
    words->caption = make_caption(scenes, results, names, plane);
    if (words->title != NULL && words->caption != NULL &&
        difference_make(&d, &results[0]->planes[plane], &results[1]->planes[plane]))
        status = draw_page(page, scenes[0], &d, words, layout, error);
    else
        status = figure_fail(error, 1, "out of memory while drawing the difference");
    *limit = d.limit;
    difference_free(&d);
    return status;
}

int figure_difference(const char *path, const struct scene *const scenes[2],
                      const struct luxfall_result *const results[2], const char *const names[2], size_t plane,
                      const struct figure_style *style, struct figure_error *error) {
    struct page page;
    struct map_layout layout;
    struct difference_words words;
    double limit;
    int status = figure_difference_draw(&page, scenes, results, names, plane, style, &words, &layout, &limit, error);
    if (status == 0)
        status = picture_write(path, &page, words.title, words.caption, error);
    free(words.title);
    free(words.caption);
    page_end(&page);
    return status;
}
