#include "figure_map.h"

#include "caption.h"
#include "map_panel.h"
#include "picture.h"
#include "readings.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>

enum { CAPTION_SPACE = 22 };

static const double shares[] = {0.9, 0.8, 0.5, 0.1};
static const char last_line[] = "Lines: 90, 80, 50 and 10 % of the peak. Frames: fields. Arrows and dots: feet "
                                "of the modules, by number.";

/* The legend; where colours were smoothed it says so. */
static void write_last_line(const struct luxfall_plane_result *plane, const struct figure_readings *readings,
                            char *out, size_t size) {
    char smoothed[FIGURE_SMOOTHED_SIZE];
    int n = snprintf(out, size, "%s", last_line);
    if (figure_smoothed_text(plane, smoothed))
        snprintf(out + n, size - (size_t)n, "\n%s", smoothed);
    readings_tell_map(readings, plane, out, size);
}

static int draw_panel(struct map_panel *panel, const struct figure_readings *readings, struct map_layout *layout,
                      struct figure_error *error) {
    struct panel_lines lines;
    if (!panel_lines_make(panel, sizeof shares / sizeof *shares, shares, &lines))
        return figure_fail(error, 1, "out of memory while drawing the map");
    map_image_draw(panel);
    panel_lines_draw(panel, &lines);
    panel_frames_draw(panel);
    clutter_add_outline(&panel->clutter, panel->map);
    panel_readings_draw(panel, readings);
    panel_feet_draw(panel, &lines);
    panel_readings_label(panel, readings);
    panel_lines_label(panel, &lines);
    layout->unnamed_fields = panel_names_draw(panel, &lines);
    map_axes_draw(panel);
    tone_bar_draw(panel->page, panel->tone, panel->room, lines.count, lines.level);
    panel_lines_free(&lines);
    if (panel->clutter.out_of_memory)
        return figure_fail(error, 1, "out of memory while drawing the map");
    return 0;
}

int figure_map_draw(struct page *page, const struct scene *scene, const struct luxfall_result *result, size_t plane,
                    const struct figure_style *style, struct map_layout *layout, char **caption,
                    struct figure_error *error) {
    const struct luxfall_plane_result *shown = &result->planes[plane];
    struct tone tone;
    *caption = NULL;
    int status = page_begin(page, style, error);
    if (status == 0)
        status = tone_make(&tone, 1, &shown, style, error);
    if (status != 0)
        return status;
    char legend[768];
    write_last_line(shown, style->readings, legend, sizeof legend);
    *caption = caption_of_plane(scene, result, plane, legend);
    if (*caption == NULL)
        return figure_fail(error, 1, "out of memory while drawing the map");
    struct map_panel panel = {.page = page, .scene = scene, .plane = shown, .tone = &tone, .text_scale = 1};
    map_panel_lay_out(&panel);
    double below = map_axes_room(page, shown, panel.map.y1 - panel.map.y0, 1).below;
    double caption_y = panel.room.y1 + below + CAPTION_SPACE * page->unit;
    status = page_paper(page, caption_y + caption_height(page, scene->title, *caption), error);
    if (status == 0)
        status = draw_panel(&panel, style->readings, layout, error);
    if (status == 0)
        caption_draw(page, scene->title, *caption, caption_y);
    *layout = (struct map_layout){panel.map, panel.room, panel.px_per_mm, layout->unnamed_fields};
    clutter_free(&panel.clutter);
    return status;
}

int figure_map(const char *path, const struct scene *scene, const struct luxfall_result *result, size_t plane,
               const struct figure_style *style, struct figure_error *error) {
    struct page page;
    struct map_layout layout = {.unnamed_fields = 0};
    char *caption;
    int status = figure_map_draw(&page, scene, result, plane, style, &layout, &caption, error);
    if (status == 0)
        status = picture_write(path, &page, scene->title, caption, error);
    free(caption);
    page_end(&page);
    return status;
}
