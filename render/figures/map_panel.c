#include "map_panel.h"

#include "smoothing.h"

#include <math.h>
#include <stdlib.h>

enum { TICK = 7, TICK_GAP = 6, LABEL_GAP = 10 };
static const double tick_size = 19, label_size = 20;

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

static struct rect number_box(struct page *page, const struct ticks *ticks, int i, double size) {
    char number[NUMBER_SIZE];
    tick_text(ticks, i, number);
    return page_measure(page, &(struct text){.string = number, .size = size});
}

/* Ticks along an axis of cells, thinned until their numbers stand well apart. */
static struct ticks axis_ticks(struct page *page, const struct luxfall_plane_result *plane, int cells, double px,
                               bool upright, double text_scale) {
    double half = plane->cell_mm * cells / 2 / length_unit(extent_mm(plane)).size;
    for (int at_most = 11; at_most > 1; at_most--) {
        struct ticks ticks = ticks_linear(-half, half, at_most);
        double apart = ticks.count > 1 ? (ticks.at[1] - ticks.at[0]) / (2 * half) * px : px, needed = 0;
        for (int i = 0; i < ticks.count; i++) {
            struct rect box = number_box(page, &ticks, i, tick_size * text_scale);
            needed = fmax(needed, upright ? 1.7 * box.y1 : box.x1 + 1.2 * box.y1);
        }
        if (apart >= needed)
            return ticks;
    }
    return (struct ticks){.count = 1};
}

struct axes_room map_axes_room(struct page *page, const struct luxfall_plane_result *plane, double height_px,
                               double text_scale) {
    struct ticks ticks = axis_ticks(page, plane, plane->rows, height_px, true, text_scale);
    double widest = 0, gaps = (TICK + TICK_GAP + LABEL_GAP * text_scale) * page->unit;
    for (int i = 0; i < ticks.count; i++)
        widest = fmax(widest, number_box(page, &ticks, i, tick_size * text_scale).x1);
    double label = page_measure(page, &(struct text){.string = "x (mm)", .size = label_size * text_scale}).y1;
    double number = page_measure(page, &(struct text){.string = "0", .size = tick_size * text_scale}).y1;
    return (struct axes_room){gaps + widest + label, gaps + number + label};
}

static void draw_x_axis(struct map_panel *panel, struct shown_unit unit) {
    struct page *page = panel->page;
    double u = page->unit, size = tick_size * panel->text_scale, bottom = panel->map.y1;
    double number_top = bottom + (TICK + TICK_GAP) * u;
    double number_height = page_measure(page, &(struct text){.string = "0", .size = size}).y1;
    struct ticks ticks = axis_ticks(page, panel->plane, panel->plane->columns, panel->map.x1 - panel->map.x0, false,
                                    panel->text_scale);
    for (int i = 0; i < ticks.count; i++) {
        char number[NUMBER_SIZE];
        tick_text(&ticks, i, number);
        double x = panel_x(panel, ticks.at[i] * unit.size);
        page_ink(page, INK_TEXT);
        page_line(page, x, bottom, x, bottom + TICK * u);
        page_write(page, &(struct text){.string = number, .size = size, .ink = INK_TEXT}, x, number_top, 0.5, 0);
    }
    char label[32];
    snprintf(label, sizeof label, "x (%s)", unit.name);
    page_write(page, &(struct text){.string = label, .size = label_size * panel->text_scale, .ink = INK_TEXT},
               panel_x(panel, 0), number_top + number_height + LABEL_GAP * panel->text_scale * u * 0.4, 0.5, 0);
}

static void draw_y_axis(struct map_panel *panel, struct shown_unit unit) {
    struct page *page = panel->page;
    double u = page->unit, size = tick_size * panel->text_scale, left = panel->map.x0, widest = 0;
    double height = panel->map.y1 - panel->map.y0;
    struct ticks ticks = axis_ticks(page, panel->plane, panel->plane->rows, height, true, panel->text_scale);
    for (int i = 0; i < ticks.count; i++) {
        char number[NUMBER_SIZE];
        tick_text(&ticks, i, number);
        double y = panel_y(panel, ticks.at[i] * unit.size);
        page_ink(page, INK_TEXT);
        page_line(page, left - TICK * u, y, left, y);
        page_write(page, &(struct text){.string = number, .size = size, .ink = INK_TEXT},
                   left - (TICK + TICK_GAP) * u, y, 1, 0.5);
        widest = fmax(widest, number_box(page, &ticks, i, size).x1);
    }
    char label[32];
    snprintf(label, sizeof label, "y (%s)", unit.name);
    struct text text = {.string = label, .size = label_size * panel->text_scale, .upright = true, .ink = INK_TEXT};
    page_write(page, &text, left - (TICK + TICK_GAP + LABEL_GAP * panel->text_scale) * u - widest, panel_y(panel, 0),
               1, 0.5);
}

void map_axes_draw(struct map_panel *panel) {
    struct shown_unit unit = length_unit(extent_mm(panel->plane));
    cairo_t *cr = panel->page->cairo;
    cairo_set_line_width(cr, 1.5 * panel->page->unit);
    draw_x_axis(panel, unit);
    draw_y_axis(panel, unit);
    page_ink(panel->page, INK_TEXT);
    cairo_rectangle(cr, panel->map.x0, panel->map.y0, panel->map.x1 - panel->map.x0, panel->map.y1 - panel->map.y0);
    cairo_stroke(cr);
}
