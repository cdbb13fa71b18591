#include "map_panel.h"

#include "axis.h"
#include "smoothing.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>

enum { MARGIN = 30, MAP_HEIGHT_MOST = 900, PANEL_LEAST = 240 };

void map_panel_lay_out(struct map_panel *panel) {
    const struct luxfall_plane_result *plane = panel->plane;
    double u = panel->page->unit, width_mm = plane->columns * plane->cell_mm,
           height_mm = plane->rows * plane->cell_mm;
    double bar = tone_bar_width(panel->page, panel->tone, MAP_HEIGHT_MOST * u);
    double left = map_axes_room(panel->page, plane, MAP_HEIGHT_MOST * u, 1).left;
    double free_width = panel->page->width_px - 2 * MARGIN * u - bar - left;
    double scale = fmin(free_width / width_mm, MAP_HEIGHT_MOST * u / height_mm);
    double width = fmax(1, round(width_mm * scale)), height = fmax(1, round(height_mm * scale));
    double room_width = fmax(width, round(PANEL_LEAST * u)), room_height = fmax(height, round(PANEL_LEAST * u));
    double x0 = round((panel->page->width_px - left - room_width - bar) / 2 + left), y0 = round(MARGIN * u);
    panel->map = (struct rect){x0, y0 + room_height - height, x0 + width, y0 + room_height};
    panel->room = (struct rect){x0, y0, x0 + room_width, y0 + room_height};
    panel->px_per_mm = width_mm > height_mm ? width / width_mm : height / height_mm;
}

double panel_x(const struct map_panel *p, double x_mm) {
    return (p->map.x0 + p->map.x1) / 2 + x_mm * p->px_per_mm;
}

double panel_y(const struct map_panel *p, double y_mm) {
    return (p->map.y0 + p->map.y1) / 2 - y_mm * p->px_per_mm;
}

static int cell_at(double mm, int cells, double cell_mm) {
    double cell = floor(mm / cell_mm + cells / 2.0);
    return cell < 0 ? 0 : cell > cells - 1 ? cells - 1 : (int)cell;
}

double panel_lux_at(const struct map_panel *p, double x_px, double y_px) {
    const struct luxfall_plane_result *plane = p->plane;
    int column = cell_at((x_px - panel_x(p, 0)) / p->px_per_mm, plane->columns, plane->cell_mm);
    int row = cell_at((panel_y(p, 0) - y_px) / p->px_per_mm, plane->rows, plane->cell_mm);
    return plane->e_lx[(size_t)row * (size_t)plane->columns + (size_t)column];
}

/* Spread of the colours under a box, as a share of the scale. */
static double tone_spread(const struct map_panel *panel, struct rect box) {
    double least = 1, most = 0;
    for (int i = 0; i < 4; i++) {
        double lux = panel_lux_at(panel, i & 1 ? box.x1 : box.x0, i & 2 ? box.y1 : box.y0);
        least = fmin(least, tone_share(panel->tone, lux));
        most = fmax(most, tone_share(panel->tone, lux));
    }
    return most - least;
}

void panel_ink_over(const struct map_panel *panel, struct rect box, struct text *text) {
    text->halo_width = 4;
    if (!rects_meet(box, panel->map)) {
        text->ink = INK_TEXT;
        text->halo = INK_WHITE;
        return;
    }
    double lux = panel_lux_at(panel, (box.x0 + box.x1) / 2, (box.y0 + box.y1) / 2);
    text->ink = tone_reading_ink(panel->tone, lux);
    text->halo = tone_ink(panel->tone, lux);
    text->halo.opacity = 0.85;
    if (tone_spread(panel, box) > 0.16) { /* one colour would stand out as a patch: a soft shade instead */
        bool dark = text->ink.r < 0.5;
        text->halo = dark ? INK_WHITE : INK_NIGHT;
        text->halo.opacity = 0.5;
        text->halo_width = 3;
    }
}

/* ---- the image --------------------------------------------------------------------------------------------------
 */

/* Which cells a pixel shows: where a cell is larger than a pixel, two neighbours and the way between them; where it
 * is smaller, the mean from first to last. */
struct sample {
    int first, last;
    float share; /* of the last; negative: the mean */
};

static void fill_samples(struct sample *samples, int pixels, int cells, bool downwards) {
    double cells_per_px = (double)cells / pixels;
    for (int i = 0; i < pixels; i++) {
        int at = downwards ? pixels - 1 - i : i;
        if (cells_per_px <= 1) {
            double c = (at + 0.5) * cells_per_px - 0.5;
            c = c < 0 ? 0 : c > cells - 1 ? cells - 1 : c;
            int first = (int)c;
            samples[i] = (struct sample){first, first + 1 < cells ? first + 1 : first, (float)(c - first)};
        } else {
            int first = (int)(at * cells_per_px), last = (int)ceil((at + 1) * cells_per_px) - 1;
            samples[i] = (struct sample){first, last < cells ? last : cells - 1, -1};
        }
    }
}

static float blend(const float *line, size_t stride, struct sample s) {
    if (s.share >= 0) {
        float a = line[(size_t)s.first * stride];
        return a + s.share * (line[(size_t)s.last * stride] - a);
    }
    float sum = 0;
    for (int i = s.first; i <= s.last; i++)
        sum += line[(size_t)i * stride];
    return sum / (float)(s.last - s.first + 1);
}

static void paint_rows(const struct map_panel *panel, const float *cells, cairo_surface_t *image,
                       const struct sample *across, const struct sample *down, float *row) {
    const struct luxfall_plane_result *plane = panel->plane;
    int width = cairo_image_surface_get_width(image), height = cairo_image_surface_get_height(image);
    int stride = cairo_image_surface_get_stride(image);
    unsigned char *pixels = cairo_image_surface_get_data(image);
    size_t columns = (size_t)plane->columns;
    for (int y = 0; y < height; y++) {
        for (size_t x = 0; x < columns; x++)
            row[x] = blend(cells + x, columns, down[y]);
        for (int x = 0; x < width; x++)
            row[columns + (size_t)x] = blend(row, 1, across[x]);
        tone_row(panel->tone, row + columns, width, (uint32_t *)(void *)(pixels + (size_t)y * (size_t)stride));
    }
}

static void paint_image(struct map_panel *panel, cairo_surface_t *image) {
    int width = cairo_image_surface_get_width(image), height = cairo_image_surface_get_height(image);
    struct sample *samples = malloc(((size_t)width + (size_t)height) * sizeof *samples);
    float *row = malloc(((size_t)panel->plane->columns + (size_t)width) * sizeof *row);
    float *cells = picture_cells(panel->plane);
    if (samples != NULL && row != NULL && cells != NULL && cairo_surface_status(image) == CAIRO_STATUS_SUCCESS) {
        fill_samples(samples, width, panel->plane->columns, false);
        fill_samples(samples + width, height, panel->plane->rows, true);
        paint_rows(panel, cells, image, samples, samples + width, row);
        cairo_surface_mark_dirty(image);
        cairo_set_source_surface(panel->page->cairo, image, panel->map.x0, panel->map.y0);
        cairo_paint(panel->page->cairo);
    } else {
        panel->page->out_of_memory = true;
    }
    free(cells);
    free(samples);
    free(row);
}

void map_image_draw(struct map_panel *panel) {
    int width = (int)(panel->map.x1 - panel->map.x0), height = (int)(panel->map.y1 - panel->map.y0);
    cairo_surface_t *image = cairo_image_surface_create(CAIRO_FORMAT_RGB24, width, height);
    cairo_surface_flush(image);
    paint_image(panel, image);
    cairo_surface_destroy(image);
}

/* ---- the axes ---------------------------------------------------------------------------------------------------
 */

static double extent_mm(const struct luxfall_plane_result *plane) {
    return plane->cell_mm * (plane->columns > plane->rows ? plane->columns : plane->rows);
}

/* One axis of the map; its label is written into the text given. */
static struct axis map_axis(struct page *page, const struct luxfall_plane_result *plane, enum side side,
                            double length_px, double text_scale, char label[16]) {
    struct shown_unit unit = length_unit(extent_mm(plane));
    double half = plane->cell_mm * (side == SIDE_LEFT ? plane->rows : plane->columns) / 2 / unit.size;
    snprintf(label, 16, "%c (%s)", side == SIDE_LEFT ? 'y' : 'x', unit.name);
    struct axis axis = {.side = side, .label = label, .text_scale = text_scale};
    axis.ticks = axis_ticks(page, side, -half, half, length_px, text_scale);
    return axis;
}

struct axes_room map_axes_room(struct page *page, const struct luxfall_plane_result *plane, double height_px,
                               double text_scale) {
    char label[16];
    struct axis up = map_axis(page, plane, SIDE_LEFT, height_px, text_scale, label), across = up;
    across.side = SIDE_BELOW;
    return (struct axes_room){axis_depth(page, &up), axis_depth(page, &across)};
}

static void draw_axis(struct map_panel *panel, enum side side, double length_px) {
    char label[16];
    struct axis axis = map_axis(panel->page, panel->plane, side, length_px, panel->text_scale, label);
    double unit = length_unit(extent_mm(panel->plane)).size;
    for (int i = 0; i < axis.ticks.count; i++)
        axis.px[i] =
            side == SIDE_LEFT ? panel_y(panel, axis.ticks.at[i] * unit) : panel_x(panel, axis.ticks.at[i] * unit);
    axis_draw(panel->page, &axis, panel->map);
}

void map_axes_draw(struct map_panel *panel) {
    cairo_t *cr = panel->page->cairo;
    draw_axis(panel, SIDE_BELOW, panel->map.x1 - panel->map.x0);
    draw_axis(panel, SIDE_LEFT, panel->map.y1 - panel->map.y0);
    page_ink(panel->page, INK_TEXT);
    cairo_rectangle(cr, panel->map.x0, panel->map.y0, panel->map.x1 - panel->map.x0, panel->map.y1 - panel->map.y0);
    cairo_stroke(cr);
}
