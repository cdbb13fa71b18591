#include "readings.h"

#include <math.h>
#include <stdio.h>
#include <string.h>

static const double ratio_size = 17, least_radius = 5, middle_radius = 14;

/* ---- which ones -------------------------------------------------------------------------------------------------
 */

bool reading_is_on_map(const struct scene_reading *reading, const struct luxfall_plane_result *plane) {
    double half_width = plane->columns * plane->cell_mm / 2, half_height = plane->rows * plane->cell_mm / 2;
    return reading->module == NULL && isnan(reading->current_a) &&
           fabs(reading->taken.level_mm - plane->level_mm) < 1e-6 && fabs(reading->taken.x_mm) <= half_width &&
           fabs(reading->taken.y_mm) <= half_height;
}

bool reading_is_on_profile(const struct scene_reading *reading, const struct luxfall_plane_result *plane, char axis) {
    double off = axis == 'x' ? reading->taken.y_mm : reading->taken.x_mm;
    return reading_is_on_map(reading, plane) && fabs(off) <= reading->taken.head_mm / 2 + 1e-9;
}

/* Where more can be written behind a line. */
struct tail {
    char *at;
    size_t size;
};

static struct tail tail_of(char *line, size_t size) {
    size_t used = strlen(line);
    return (struct tail){line + used, size - used};
}

static void tell_rest(size_t count, const char *why, char *line, size_t size) {
    struct tail tail = tail_of(line, size);
    if (count > 0)
        snprintf(tail.at, tail.size,
                 "\n%zu reading%s not shown: of single modules, another current or level, or off %s.", count,
                 count == 1 ? "" : "s", why);
}

void readings_tell_map(const struct figure_readings *readings, const struct luxfall_plane_result *plane, char *line,
                       size_t size) {
    size_t shown = 0, count = readings != NULL ? readings->count : 0;
    for (size_t i = 0; i < count; i++)
        shown += reading_is_on_map(&readings->readings[i], plane);
    struct tail tail = tail_of(line, size);
    if (shown > 0)
        snprintf(tail.at, tail.size, "\nRings: %zu reading%s, the meter's head to scale, and reading over forecast.",
                 shown, shown == 1 ? "" : "s");
    tell_rest(count - shown, "the map", line, size);
}

void readings_tell_profiles(const struct figure_readings *readings, const struct luxfall_plane_result *plane,
                            char *line, size_t size) {
    size_t shown = 0, count = readings != NULL ? readings->count : 0;
    bool bars = false;
    for (size_t i = 0; i < count; i++) {
        const struct scene_reading *reading = &readings->readings[i];
        if (!reading_is_on_profile(reading, plane, 'x') && !reading_is_on_profile(reading, plane, 'y'))
            continue;
        shown++;
        bars |= isfinite(reading->u_lx);
    }
    struct tail tail = tail_of(line, size);
    if (shown > 0)
        snprintf(tail.at, tail.size,
                 "\nDots: %zu reading%s within half a head of the lines%s; rings: the forecast over the head.", shown,
                 shown == 1 ? "" : "s", bars ? ", bars their 95 % band" : "");
    tell_rest(count - shown, "the lines", line, size);
}

/* ---- on the map -------------------------------------------------------------------------------------------------
 */

static struct rect ring_of(const struct map_panel *panel, const struct scene_reading *reading) {
    double radius = fmax(reading->taken.head_mm / 2 * panel->px_per_mm, least_radius * panel->page->unit);
    double x = panel_x(panel, reading->taken.x_mm), y = panel_y(panel, reading->taken.y_mm);
    return rect_grown((struct rect){x, y, x, y}, radius);
}

static struct rect middle_of(const struct map_panel *panel, struct rect ring) {
    double x = (ring.x0 + ring.x1) / 2, y = (ring.y0 + ring.y1) / 2;
    return rect_grown((struct rect){x, y, x, y}, fmin(0.7 * (ring.x1 - x), middle_radius * panel->page->unit));
}

static void round_path(cairo_t *cr, struct rect ring, double radius) {
    cairo_new_sub_path(cr);
    cairo_arc(cr, (ring.x0 + ring.x1) / 2, (ring.y0 + ring.y1) / 2, radius, 0, 6.28318530717958648);
}

/* Dark on a white casing, the other way round than the fields' frames, with a dot in the middle. */
static void draw_ring(struct map_panel *panel, struct rect ring, double u) {
    static const struct {
        double wider, dot;
        const struct ink *ink;
    } coats[] = {{4.2, 3.4, &INK_WHITE}, {1.8, 2.2, &INK_NIGHT}};
    cairo_t *cr = panel->page->cairo;
    for (size_t i = 0; i < 2; i++) {
        page_ink(panel->page, *coats[i].ink);
        cairo_set_line_width(cr, coats[i].wider * u);
        round_path(cr, ring, (ring.x1 - ring.x0) / 2);
        cairo_stroke(cr);
        round_path(cr, ring, coats[i].dot * u);
        cairo_fill(cr);
    }
}

void panel_readings_draw(struct map_panel *panel, const struct figure_readings *readings) {
    cairo_t *cr = panel->page->cairo;
    cairo_save(cr);
    cairo_rectangle(cr, panel->map.x0, panel->map.y0, panel->map.x1 - panel->map.x0, panel->map.y1 - panel->map.y0);
    cairo_clip(cr);
    for (size_t i = 0; readings != NULL && i < readings->count; i++) {
        if (!reading_is_on_map(&readings->readings[i], panel->plane))
            continue;
        struct rect ring = ring_of(panel, &readings->readings[i]);
        draw_ring(panel, ring, panel->page->unit * panel->text_scale);
        clutter_add_outline(&panel->clutter, ring);
        clutter_add_box(&panel->clutter, middle_of(panel, ring));
    }
    cairo_restore(cr);
}

/* "−8 %"; empty where nothing was forecast. */
static void write_ratio(double reading, double forecast, char out[16]) {
    double percent = round(100 * (reading / forecast - 1));
    out[0] = '\0';
    if (!(forecast > 0) || !isfinite(percent) || fabs(percent) >= 1e6)
        return;
    snprintf(out, 16, "%s%.0f\u202f%%", percent < 0 ? "\u2212" : percent > 0 ? "+" : "", fabs(percent));
}

/* Beside the ring, or inside it beside its middle. */
static struct label_place find_place(const struct map_panel *panel, struct rect ring, double width, double height,
                                     double gap) {
    struct label_wish wish = {ring, rect_grown(panel->room, -gap), width, height, gap, .round = true};
    struct label_place place = label_for_frame(&panel->clutter, &wish);
    wish.frame = middle_of(panel, ring);
    return place.found ? place : label_for_frame(&panel->clutter, &wish);
}

static void label_reading(struct map_panel *panel, const struct scene_reading *reading, const char *ratio) {
    double u = panel->page->unit * panel->text_scale;
    struct text text = {.string = ratio, .size = ratio_size * panel->text_scale, .bold = true};
    struct rect size = page_measure(panel->page, &text);
    struct label_place place = find_place(panel, ring_of(panel, reading), size.x1 + 2 * u, size.y1, 5 * u);
    if (!place.found)
        return;
    panel_ink_over(panel, place.box, &text);
    page_write(panel->page, &text, place.box.x0 + u, (place.box.y0 + place.box.y1) / 2, 0, 0.5);
    clutter_add_box(&panel->clutter, place.box);
}

void panel_readings_label(struct map_panel *panel, const struct figure_readings *readings) {
    for (size_t i = 0; readings != NULL && i < readings->count; i++) {
        char ratio[16];
        write_ratio(readings->readings[i].lx, readings->forecast_lx[i].value, ratio);
        if (reading_is_on_map(&readings->readings[i], panel->plane) && ratio[0] != '\0')
            label_reading(panel, &readings->readings[i], ratio);
    }
}
