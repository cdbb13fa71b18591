#include "figure_section.h"

#include "caption.h"
#include "picture.h"
#include "profile.h"
#include "readings.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>

enum { TOP = 26, CAPTION_SPACE = 20, LEGEND_ROW = 32, LEGEND_SAMPLE = 56, LEGEND_GAP = 34, MARGIN = 36 };

/* ---- one result -------------------------------------------------------------------------------------------------
 */

static char *section_caption(const struct scene *scene, const struct luxfall_result *result, size_t plane,
                             const struct figure_readings *readings) {
    char last[768];
    snprintf(last, sizeof last, "Profiles through the centre, over such discs. Bars and dashed lines: fields.%s",
             result->method == LUXFALL_RAYS ? " Shaded: 95 % band." : "");
    readings_tell_profiles(readings, &result->planes[plane], last, sizeof last);
    return caption_of_plane(scene, result, plane, last);
}

/* The scale reaches the readings too, unless its top is wished for. */
static void reach_readings(struct tone *tone, const struct luxfall_plane_result *plane,
                           const struct figure_style *style) {
    const struct figure_readings *readings = style->readings;
    for (size_t i = 0; style->top_lx == 0 && readings != NULL && i < readings->count; i++) {
        const struct scene_reading *reading = &readings->readings[i];
        bool shown = reading_is_on_profile(reading, plane, 'x') || reading_is_on_profile(reading, plane, 'y');
        double top = reading->lx + (isfinite(reading->u_lx) ? 2 * reading->u_lx : 0);
        if (shown && isfinite(top) && top > tone->top)
            tone->top = figure_top_lx(top);
    }
}

static void draw_profiles(struct page *page, const struct scene *scene, const struct luxfall_plane_result *plane,
                          const struct tone *tone, const struct figure_readings *readings) {
    struct pen pen = pen_of(&tone->colours, 0, 1);
    struct curve curves[] = {{&plane->along_x, pen}, {&plane->along_y, pen}};
    struct profile along_x = {.page = page, .scene = scene, .plane = plane, .tone = tone, .axis = 'x', .first = true};
    along_x.curve_count = 1;
    along_x.readings = readings;
    struct profile along_y = along_x;
    along_x.curves = &curves[0];
    along_y.curves = &curves[1];
    along_y.axis = 'y';
    along_y.first = false;
    along_y.percent_of_lx = plane->peak_lx.value;
    profiles_draw(&along_x, &along_y, TOP * page->unit);
}

int figure_section_draw(struct page *page, const struct scene *scene, const struct luxfall_result *result,
                        size_t plane, const struct figure_style *style, char **caption, struct figure_error *error) {
    const struct luxfall_plane_result *shown = &result->planes[plane];
    struct tone tone;
    *caption = NULL;
    int status = page_begin(page, style, error);
    if (status == 0)
        status = tone_make(&tone, 1, &shown, style, error);
    if (status != 0)
        return status;
    *caption = section_caption(scene, result, plane, style->readings);
    if (*caption == NULL)
        return figure_fail(error, 1, "out of memory while drawing the profiles");
    double caption_y = (TOP + CAPTION_SPACE) * page->unit + profiles_height(page, scene, shown);
    status = page_paper(page, caption_y + caption_height(page, scene->title, *caption), error);
    if (status != 0)
        return status;
    reach_readings(&tone, shown, style);
    draw_profiles(page, scene, shown, &tone, style->readings);
    caption_draw(page, scene->title, *caption, caption_y);
    return 0;
}

int figure_section(const char *path, const struct scene *scene, const struct luxfall_result *result, size_t plane,
                   const struct figure_style *style, struct figure_error *error) {
    struct page page;
    char *caption;
    int status = figure_section_draw(&page, scene, result, plane, style, &caption, error);
    if (status == 0)
        status = picture_write(path, &page, scene->title, caption, error);
    free(caption);
    page_end(&page);
    return status;
}

/* ---- several results --------------------------------------------------------------------------------------------
 */

/* Walks through the legend's entries; draws them when curves are given. Returns its height. */
static double legend(struct page *page, size_t count, const char *const *names, const struct curve *curves,
                     double top) {
    double u = page->unit, left = MARGIN * u, right = page->width_px - MARGIN * u, x = left,
           y = top + LEGEND_ROW * u / 2;
    for (size_t i = 0; i < count; i++) {
        struct text text = {.string = names[i], .size = 19, .ink = INK_TEXT};
        double width = page_measure(page, &text).x1, most = right - left - (LEGEND_SAMPLE + 10) * u;
        if (width > most)
            width = text.cut = most;
        double entry = (LEGEND_SAMPLE + 10) * u + width;
        if (x > left && x + entry > right) {
            x = left;
            y += LEGEND_ROW * u;
        }
        if (curves != NULL) {
            pen_take(page, curves[i].pen);
            page_line(page, x, y, x + LEGEND_SAMPLE * u, y);
            pen_rest(page);
            page_write(page, &text, x + (LEGEND_SAMPLE + 10) * u, y, 0, 0.5);
        }
        x += entry + LEGEND_GAP * u;
    }
    return y + LEGEND_ROW * u / 2 - top;
}

/* The plane that reaches farthest sets the axes. */
static const struct luxfall_plane_result *widest(size_t count, const struct luxfall_plane_result *const *planes) {
    const struct luxfall_plane_result *best = planes[0];
    for (size_t i = 1; i < count; i++)
        if (planes[i]->columns * planes[i]->cell_mm > best->columns * best->cell_mm)
            best = planes[i];
    return best;
}

static void draw_overlay(struct page *page, size_t count, const struct scene *scene,
                         const struct luxfall_plane_result *const *planes, const struct tone *tone,
                         const char *const *names, struct curve *curves) {
    struct curve *along_x = curves, *along_y = curves + count;
    const struct luxfall_plane_result *plane = widest(count, planes);
    for (size_t i = 0; i < count; i++) {
        along_x[i].pen = along_y[i].pen = pen_of(&tone->colours, i, count);
        along_x[i].section = &planes[i]->along_x;
        along_y[i].section = &planes[i]->along_y;
    }
    struct profile x = {.page = page, .scene = scene, .plane = plane, .tone = tone, .axis = 'x', .first = true};
    x.curve_count = count;
    struct profile y = x;
    x.curves = along_x;
    y.curves = along_y;
    y.axis = 'y';
    y.first = false;
    double top = TOP * page->unit;
    top += legend(page, count, names, along_x, top) + 12 * page->unit;
    profiles_draw(&x, &y, top);
}

static int compare_page(struct page *page, size_t count, const struct scene *const *scenes,
                        const struct luxfall_plane_result *const *planes, const char *const *names,
                        const struct tone *tone, const char *caption, struct figure_error *error) {
    double caption_y = (TOP + 12 + CAPTION_SPACE) * page->unit + legend(page, count, names, NULL, 0) +
                       profiles_height(page, scenes[0], widest(count, planes));
    struct curve *curves = calloc(2 * count, sizeof *curves);
    if (curves == NULL)
        return figure_fail(error, 1, "out of memory while drawing the profiles");
    int status = page_paper(page, caption_y + caption_height(page, "Profiles compared", caption), error);
    if (status == 0) {
        draw_overlay(page, count, scenes[0], planes, tone, names, curves);
        caption_draw(page, "Profiles compared", caption, caption_y);
    }
    free(curves);
    return status;
}

int figure_compare_sections_draw(struct page *page, size_t count, const struct scene *const *scenes,
                                 const struct luxfall_result *const *results, const char *const *names, size_t plane,
                                 const struct figure_style *style, char **caption, struct figure_error *error) {
    *caption = NULL;
    int status = page_begin(page, style, error);
    const struct luxfall_plane_result **planes = calloc(count, sizeof *planes);
    struct tone tone;
    if (status == 0 && planes == NULL)
        status = figure_fail(error, 1, "out of memory while drawing the profiles");
    for (size_t i = 0; status == 0 && i < count; i++)
        planes[i] = &results[i]->planes[plane];
    if (status == 0)
        status = tone_make(&tone, count, planes, style, error);
    if (status == 0) {
        *caption = caption_of_several(count, scenes, results, names, plane,
                                      "Profiles through the centre. Bars and dashed lines: fields of the first.");
        status = *caption == NULL ? figure_fail(error, 1, "out of memory while drawing the profiles")
                                  : compare_page(page, count, scenes, planes, names, &tone, *caption, error);
    }
    free(planes);
    return status;
}

int figure_compare_sections(const char *path, size_t count, const struct scene *const *scenes,
                            const struct luxfall_result *const *results, const char *const *names, size_t plane,
                            const struct figure_style *style, struct figure_error *error) {
    struct page page;
    char *caption;
    int status = figure_compare_sections_draw(&page, count, scenes, results, names, plane, style, &caption, error);
    if (status == 0)
        status = picture_write(path, &page, "Profiles compared", caption, error);
    free(caption);
    page_end(&page);
    return status;
}
