/* The pictures as a reader meets them: nothing overlaps, colours mean what the bar says, sizes and texts are there.
 * Pictures are compared decoded, never as bytes. */
#include "audit.h"
#include "decoded.h"
#include "fixture.h"
#include "render/figures/caption.h"
#include "render/figures/contours.h"
#include "render/figures/figure_compare.h"
#include "render/figures/figure_map.h"
#include "render/figures/figure_section.h"
#include "render/figures/lines.h"
#include "render/figures/picture.h"
#include "render/figures/smoothing.h"

#include <setjmp.h>
#include <stdarg.h>
#include <sys/wait.h>
#include <unistd.h>

#include <cmocka.h>

static const int widths[] = {240, 700, 1400, 2600};
enum { WIDTHS = sizeof widths / sizeof *widths };

/* ---- layout -----------------------------------------------------------------------------------------------------
 */

static int map_faults(const struct fixture *f, struct figure_style style, size_t *texts, size_t *unnamed) {
    struct page page;
    struct map_layout layout = {.unnamed_fields = 0};
    struct figure_error error = {0, ""};
    char *caption;
    assert_int_equal(figure_map_draw(&page, &f->scene, &f->result, 0, &style, &layout, &caption, &error), 0);
    char what[128];
    snprintf(what, sizeof what, "map of %s, %d px, %s", f->scene.title, style.width_px,
             style.scale == FIGURE_LOG ? "log" : "linear");
    int faults = audit_page(&page, 0.5 * page.unit, what);
    *texts = page.text_count;
    *unnamed = layout.unnamed_fields;
    free(caption);
    page_end(&page);
    return faults;
}

static void no_text_on_any_map_touches_another(void **state) {
    (void)state;
    for (int c = 0; c < FIXTURE_CASES; c++) {
        struct fixture f;
        fixture_make(&f, &fixture_cases[c]);
        for (int w = 0; w < WIDTHS; w++)
            for (int log_scale = 0; log_scale < 2; log_scale++) {
                size_t texts, unnamed;
                struct figure_style style = {.width_px = widths[w], .scale = log_scale ? FIGURE_LOG : FIGURE_LINEAR};
                assert_int_equal(map_faults(&f, style, &texts, &unnamed), 0);
                assert_in_range(texts, 8, 400);
                assert_true(unnamed == 0 || widths[w] < 700); /* on a stamp a name may give way */
            }
        fixture_free(&f);
    }
}

/* One cell, one row, one column, and cells far smaller than pixels. */
static void maps_of_any_shape_can_be_drawn(void **state) {
    (void)state;
    static const int shapes[][2] = {{1, 1}, {1, 1000}, {1000, 1}, {2, 3}, {700, 900}};
    for (size_t i = 0; i < sizeof shapes / sizeof *shapes; i++) {
        struct fixture f;
        struct fixture_spec spec = fixture_cases[0];
        size_t texts, unnamed;
        spec.columns = shapes[i][0];
        spec.rows = shapes[i][1];
        fixture_make(&f, &spec);
        assert_int_equal(map_faults(&f, (struct figure_style){.width_px = 1000}, &texts, &unnamed), 0);
        f.plane.peak_lx.value = f.plane.e_lx[0] = NAN; /* not to be had */
        assert_int_equal(
            map_faults(&f, (struct figure_style){.width_px = 1000, .scale = FIGURE_LOG}, &texts, &unnamed), 0);
        fixture_free(&f);
    }
}

static void no_text_on_any_section_touches_another(void **state) {
    (void)state;
    for (int c = 0; c < FIXTURE_CASES; c++) {
        struct fixture f;
        fixture_make(&f, &fixture_cases[c]);
        for (int w = 0; w < WIDTHS; w++)
            for (int log_scale = 0; log_scale < 2; log_scale++) {
                struct page page;
                struct figure_error error = {0, ""};
                char *caption;
                struct figure_style style = {.width_px = widths[w], .scale = log_scale ? FIGURE_LOG : FIGURE_LINEAR};
                assert_int_equal(figure_section_draw(&page, &f.scene, &f.result, 0, &style, &caption, &error), 0);
                assert_int_equal(audit_page(&page, 0.5 * page.unit, f.scene.title), 0);
                free(caption);
                page_end(&page);
            }
        fixture_free(&f);
    }
}

static void no_text_on_any_comparison_touches_another(void **state) {
    (void)state;
    struct fixture f[FIXTURE_CASES];
    const struct scene *scenes[FIXTURE_CASES];
    const struct luxfall_result *results[FIXTURE_CASES];
    const char *names[FIXTURE_CASES];
    for (int c = 0; c < FIXTURE_CASES; c++) {
        fixture_make(&f[c], &fixture_cases[c]);
        scenes[c] = &f[c].scene;
        results[c] = &f[c].result;
        names[c] = f[c].scene.title;
    }
    for (size_t count = 1; count <= FIXTURE_CASES; count++)
        for (int sections = 0; sections < 2; sections++) {
            struct page page;
            struct figure_error error = {0, ""};
            struct figure_style style = {.width_px = 900};
            char *caption;
            int status =
                sections
                    ? figure_compare_sections_draw(&page, count, scenes, results, names, 0, &style, &caption, &error)
                    : figure_compare_draw(&page, count, scenes, results, names, 0, &style, &caption, &error);
            assert_int_equal(status, 0);
            assert_int_equal(audit_page(&page, 0.5 * page.unit, sections ? "profiles" : "maps"), 0);
            free(caption);
            page_end(&page);
        }
    for (int c = 0; c < FIXTURE_CASES; c++)
        fixture_free(&f[c]);
}

/* Twin: a page whose words do touch, and one with words over its edge. */
static void the_audit_sees_touching_and_leaving_words(void **state) {
    (void)state;
    struct page page;
    struct figure_error error;
    assert_int_equal(page_begin(&page, &(struct figure_style){.width_px = 400}, &error), 0);
    assert_int_equal(page_paper(&page, 200, &error), 0);
    struct text text = {.string = "half frame", .size = 60, .ink = INK_TEXT};
    page_write(&page, &text, 200, 100, 0.5, 0.5);
    assert_int_equal(audit_page(&page, 1, "twin"), 0);
    page_write(&page, &text, 210, 112, 0.5, 0.5);
    assert_int_equal(audit_page(&page, 1, "twin, expected"), 1);
    page_write(&page, &text, 380, 20, 0.5, 0.5);
    assert_int_equal(audit_page(&page, 1, "twin, expected"), 2);
    text.upright = true;
    page_write(&page, &text, 60, 195, 0.5, 0.5);
    assert_int_equal(audit_page(&page, 1, "twin, expected"), 3);
    page_end(&page);
}

/* ---- pixels -----------------------------------------------------------------------------------------------------
 */

/* A lamp that stands askew: no mirror image of its map passes for the map. */
static const struct fixture_spec askew = {.title = "Askew",
                                          .columns = 60,
                                          .rows = 40,
                                          .cell_mm = 2,
                                          .kind = LUXFALL_AT_RING,
                                          .count = 3,
                                          .distance_mm = 120,
                                          .incidence_deg = 50,
                                          .beam_deg = 30,
                                          .peak_lx = 8000};

static void make_askew(struct fixture *f) {
    fixture_make(f, &askew);
    for (int y = 0; y < askew.rows; y++)
        for (int x = 0; x < askew.columns; x++)
            f->plane.e_lx[y * askew.columns + x] *=
                (float)((0.3 + 0.7 * x / askew.columns) * (0.4 + 0.6 * y / askew.rows));
}

/* Share of the cells whose middle on the picture has the colour of their lux, rows counted upwards or (the twin)
 * downwards. Lines, dots and words take the rest. */
static double cells_in_colour(const struct fixture *f, const struct picture *picture, const struct map_layout *layout,
                              bool upwards) {
    struct colour_scale scale;
    colour_scale_fill(&scale);
    int right = 0;
    for (int y = 0; y < askew.rows; y++)
        for (int x = 0; x < askew.columns; x++) {
            double px = layout->map.x0 + (x + 0.5) * askew.cell_mm * layout->px_per_mm;
            double py = layout->map.y1 - (y + 0.5) * askew.cell_mm * layout->px_per_mm;
            float lux = f->plane.e_lx[(upwards ? y : askew.rows - 1 - y) * askew.columns + x];
            right += colour_miss(picture, px, py, colour_scale_at(&scale, lux / 8000)) <= 4;
        }
    return right / (double)(askew.columns * askew.rows);
}

static void draw_askew(struct fixture *f, struct picture *picture, struct map_layout *layout) {
    struct figure_error error = {0, ""};
    struct figure_style style = {.width_px = 1400, .top_lx = 8000};
    struct page page;
    char *caption, path[] = "/tmp/luxfall-picture-XXXXXX";
    int fd = mkstemp(path);
    assert_true(fd >= 0);
    close(fd);
    make_askew(f);
    f->lens.beam.field_angle_rad = 52 * acos(-1) / 180;
    *layout = (struct map_layout){.unnamed_fields = 0};
    assert_int_equal(figure_map_draw(&page, &f->scene, &f->result, 0, &style, layout, &caption, &error), 0);
    page_end(&page);
    free(caption);
    assert_int_equal(figure_map(path, &f->scene, &f->result, 0, &style, &error), 0);
    read_picture(path, picture);
    unlink(path);
}

static void the_map_has_the_colours_of_its_lux_the_right_way_up(void **state) {
    (void)state;
    struct fixture f;
    struct picture picture;
    struct map_layout layout;
    draw_askew(&f, &picture, &layout);
    assert_true(cells_in_colour(&f, &picture, &layout, true) > 0.9);
    assert_true(cells_in_colour(&f, &picture, &layout, false) < 0.5); /* twin */
    free_picture(&picture);
    fixture_free(&f);
}

static void the_bar_has_the_colours_of_the_scale_at_its_lux(void **state) {
    (void)state;
    struct fixture f;
    struct picture picture;
    struct map_layout layout;
    struct colour_scale scale;
    colour_scale_fill(&scale);
    draw_askew(&f, &picture, &layout);
    double x = layout.bar_panel.x1 + 38 + 14;
    const double shares[] = {0.03, 0.2, 0.31, 0.45, 0.6, 0.72, 0.97};
    for (size_t i = 0; i < sizeof shares / sizeof *shares; i++) {
        double y = layout.bar_panel.y1 - shares[i] * (layout.bar_panel.y1 - layout.bar_panel.y0);
        assert_in_range(colour_miss(&picture, x, y, colour_scale_at(&scale, shares[i])), 0, 3);
        if (shares[i] != 0.45) /* twin: a bar upside down */
            assert_true(colour_miss(&picture, x, y, colour_scale_at(&scale, 1 - shares[i])) > 10);
    }
    free_picture(&picture);
    fixture_free(&f);
}

static void a_picture_tells_its_size_and_what_it_shows(void **state) {
    (void)state;
    struct fixture f;
    struct picture picture;
    struct map_layout layout;
    draw_askew(&f, &picture, &layout);
    assert_int_equal(picture.width, 1400);
    assert_int_equal(picture.unit, PNG_RESOLUTION_METER); /* pHYs unit 1 = metre: PNG, third edition, 11.3.4.3 */
    assert_int_equal(picture.per_metre_x, (int)(1400 / 0.170 + 0.5));
    assert_int_equal(picture.per_metre_y, picture.per_metre_x);
    assert_string_equal(picture.title, "Askew");
    assert_string_equal(picture.software, "luxfall " LUXFALL_VERSION);
    assert_non_null(strstr(picture.description,
                           "3 modules, lens medium (30° beam, 52° field), 95 lm each, 120 mm from the centre"));
    assert_non_null(strstr(picture.description, "luxfall " LUXFALL_VERSION));
    free_picture(&picture);
    fixture_free(&f);
}

static void a_map_keeps_its_cells_square(void **state) {
    (void)state;
    for (int c = 0; c < FIXTURE_CASES; c++) {
        struct fixture f;
        struct page page;
        struct map_layout layout = {.unnamed_fields = 0};
        struct figure_error error;
        struct figure_style style = {0};
        char *caption;
        fixture_make(&f, &fixture_cases[c]);
        assert_int_equal(figure_map_draw(&page, &f.scene, &f.result, 0, &style, &layout, &caption, &error), 0);
        double across = (layout.map.x1 - layout.map.x0) / f.plane.columns,
               up = (layout.map.y1 - layout.map.y0) / f.plane.rows;
        assert_true(fabs(across / up - 1) < 0.02); /* whole pixels on a strip of some forty */
        free(caption);
        page_end(&page);
        fixture_free(&f);
    }
}

/* ---- lines ------------------------------------------------------------------------------------------------------
 */

/* Largest distance of the line at half the peak from the circle it must be, in mm; a bell E = exp(-ln 2 (2 r / w)^2)
 * falls to a half at r = w / 2. */
static double half_line_miss(double width_mm, double centre_x_mm, double wanted_radius_mm) {
    enum { CELLS = 120 };
    struct luxfall_plane_result plane = {.columns = CELLS, .rows = CELLS, .cell_mm = 1, .peak_lx = {1000, NAN}};
    plane.e_lx = malloc(CELLS * CELLS * sizeof *plane.e_lx);
    for (int i = 0; i < CELLS * CELLS; i++) {
        double x = i % CELLS + 0.5 - CELLS / 2.0 - centre_x_mm, y = i / CELLS + 0.5 - CELLS / 2.0;
        plane.e_lx[i] = (float)(1000 * exp2(-4 * (x * x + y * y) / (width_mm * width_mm)));
    }
    struct value_grid grid;
    struct contours contours;
    assert_true(value_grid_for_line(&plane, 0.5, &grid));
    assert_true(contours_trace(&grid, 500, &contours));
    assert_int_equal(contours.line_count, 1);
    double worst = 0;
    for (size_t i = 0; i < contours.point_count; i++)
        worst = fmax(worst, fabs(hypot(contours.points[i].x - centre_x_mm, contours.points[i].y) - wanted_radius_mm));
    assert_true(contours.points[0].x == contours.points[contours.point_count - 1].x);
    contours_free(&contours);
    value_grid_free(&grid);
    free(plane.e_lx);
    return worst;
}

static void the_half_line_of_a_bell_is_its_circle(void **state) {
    (void)state;
    assert_true(half_line_miss(50, 0, 25) < 0.01);
    assert_true(half_line_miss(30, 20, 15) < 0.02);
    assert_true(half_line_miss(50, 0, 25.5) > 0.4); /* twin: half a cell off */
}

enum { RING_POINTS = 121 };

/* A ring to label, another beside it, and lines so dense that no place is clear. */
struct rings {
    struct contour_point own[RING_POINTS];
    struct clutter frames, other, dense;
};

static void rings_make(double own, double other, struct rings *out) {
    *out = (struct rings){.own = {{0, 0}}};
    for (int i = 0; i < RING_POINTS; i++) {
        double at = i * 2 * acos(-1) / (RING_POINTS - 1), next = (i + 1) * 2 * acos(-1) / (RING_POINTS - 1);
        out->own[i].x = own * cos(at);
        out->own[i].y = own * sin(at);
        clutter_add_line(&out->other,
                         (struct segment){other * cos(at), other * sin(at), other * cos(next), other * sin(next)});
        clutter_add_line(&out->dense, (struct segment){-200, 3.0 * i - 180, 200, 3.0 * i - 180});
    }
}

static void rings_free(struct rings *rings) {
    clutter_free(&rings->other);
    clutter_free(&rings->dense);
}

/* Two rings that the label of the outer one does not span: rather above or below than across the inner one, even
 * where the lower right would be its place. Where no place is clear it still gets one. Twin: not told of the other
 * line. */
static void a_label_covers_no_other_line_if_it_may(void **state) {
    (void)state;
    struct rings r;
    struct rect size = {0, 0, 36, 14}, within = {-200, -200, 200, 200}, box;
    rings_make(36, 25, &r);
    assert_true(line_label_spot(&r.frames, &r.other, within, r.own, RING_POINTS, size, 4, &box));
    assert_int_equal(clutter_lines_under(&r.other, box), 0);
    assert_true(line_label_spot(&r.frames, &r.dense, within, r.own, RING_POINTS, size, 4, &box));
    assert_true(line_label_spot(&r.frames, NULL, within, r.own, RING_POINTS, size, 4, &box));
    assert_true(clutter_lines_under(&r.other, box) > 0);
    rings_free(&r);
}

/* Rings as close as a label is high: it stands beside them with a leader to its own, not on the line, where another
 * is under it (twin). Where no place is free it stands on the line. */
static void a_label_stands_beside_crowded_lines(void **state) {
    (void)state;
    struct rings r;
    struct rect size = {0, 0, 36, 14}, within = {-200, -200, 200, 200}, box;
    rings_make(20, 29, &r);
    struct label_place place = line_label_place(&r.frames, &r.other, within, r.own, RING_POINTS, size, 4);
    assert_true(place.found && place.leader);
    assert_int_equal(clutter_lines_under(&r.other, place.box), 0);
    assert_true(fabs(hypot(place.line.x1, place.line.y1) - 20) < 1e-9);
    assert_true(hypot(place.line.x0, place.line.y0) > 29);
    assert_true(line_label_spot(&r.frames, &r.other, within, r.own, RING_POINTS, size, 4, &box));
    assert_true(clutter_lines_under(&r.other, box) > 0);
    place = line_label_place(&r.frames, &r.dense, within, r.own, RING_POINTS, size, 4);
    assert_true(place.found && !place.leader);
    rings_free(&r);
}

/* Where lines are everywhere, only a label that need not be is left out. */
static void a_label_is_left_out_only_if_it_may(void **state) {
    (void)state;
    struct clutter dense = {0};
    struct label_wish wish = {{-10, -10, 10, 10}, {-200, -200, 200, 200}, 60, 20, 4, .leaders = true};
    for (int i = 0; i < 200; i++)
        clutter_add_line(&dense, (struct segment){-200, 2.0 * i - 200, 200, 2.0 * i - 200});
    assert_true(label_for_frame(&dense, &wish).found);
    wish.optional = true;
    assert_false(label_for_frame(&dense, &wish).found);
    clutter_free(&dense);
    assert_true(label_for_frame(&dense, &wish).found);
}

/* Room above the frame alone, and a leader of another name through it: better no name than one upon the leader. A
 * line of the map there is borne. */
static void a_name_hides_no_leader(void **state) {
    (void)state;
    struct label_wish wish = {{-10, -10, 10, 10}, {-34, -34, 34, 10}, 60, 20, 4, .leaders = true};
    struct segment across = {-12, -40, -12, -10};
    struct clutter lines = {0}, leaders = {0};
    clutter_add_line(&lines, across);
    clutter_add_leader(&leaders, across);
    struct label_place over = label_for_frame(&lines, &wish);
    assert_true(over.found && segment_meets_rect(across, over.box));
    assert_false(label_for_frame(&leaders, &wish).found);
    clutter_free(&lines);
    clutter_free(&leaders);
}

/* Ink of a word that is once on the map of one module, from its foot. */
static struct rect ink_from_foot(const struct fixture *f, const char *word, double *px_per_mm) {
    struct page page;
    struct map_layout layout = {.unnamed_fields = 0};
    struct figure_error error = {0, ""};
    struct figure_style style = {.width_px = 1200};
    struct rect ink = {0, 0, 0, 0};
    int found = 0;
    char *caption;
    assert_int_equal(figure_map_draw(&page, &f->scene, &f->result, 0, &style, &layout, &caption, &error), 0);
    free(caption);
    double x = (layout.map.x0 + layout.map.x1) / 2 + f->modules[0].pose.at_mm.x * layout.px_per_mm;
    double y = (layout.map.y0 + layout.map.y1) / 2;
    for (size_t i = 0; i < page.text_count; i++)
        if (strcmp(page.texts[i].start, word) == 0 && ++found)
            ink = (struct rect){page.texts[i].ink.x0 - x, page.texts[i].ink.y0 - y, page.texts[i].ink.x1 - x,
                                page.texts[i].ink.y1 - y};
    assert_int_equal(found, 1);
    *px_per_mm = layout.px_per_mm;
    page_end(&page);
    return ink;
}

/* Does a line of the map pass under a box, placed from the foot? By the lux at places in it: on both sides of a share
 * of the peak. */
static bool on_a_line(const struct fixture *f, struct rect box, double px_per_mm) {
    static const double shares[] = {0.9, 0.8, 0.5, 0.1};
    enum { PLACES = 9 };
    double least = INFINITY, most = 0, factor = f->plane.centre_lx.value / fixture_lux(f, 0, 0);
    for (int i = 0; i < PLACES * PLACES; i++) {
        double across = box.x0 + (box.x1 - box.x0) * (i % PLACES) / (PLACES - 1);
        double up = box.y0 + (box.y1 - box.y0) * (i / PLACES) / (PLACES - 1);
        double lux = factor * fixture_lux(f, f->modules[0].pose.at_mm.x + across / px_per_mm, -up / px_per_mm);
        least = fmin(least, lux);
        most = fmax(most, lux);
    }
    for (int i = 0; i < 4; i++)
        if (least < shares[i] * f->plane.peak_lx.value && most > shares[i] * f->plane.peak_lx.value)
            return true;
    return false;
}

/* Feet beside the spot, more and more so. Twin: numbers where they stand when no line is near. */
static void numbers_of_feet_keep_off_the_lines(void **state) {
    (void)state;
    struct fixture_spec spec = {.title = "Leaning lamp",
                                .columns = 160,
                                .rows = 160,
                                .cell_mm = 1,
                                .kind = LUXFALL_AT_RING,
                                .count = 1,
                                .distance_mm = 165,
                                .peak_lx = 90000};
    struct fixture f;
    double px_per_mm;
    spec.beam_deg = 170;
    spec.incidence_deg = 5;
    fixture_make(&f, &spec);
    struct rect natural = ink_from_foot(&f, "1", &px_per_mm);
    fixture_free(&f);
    int met = 0;
    spec.beam_deg = 24;
    for (spec.incidence_deg = 4; spec.incidence_deg < 24; spec.incidence_deg += 2) {
        fixture_make(&f, &spec);
        assert_false(on_a_line(&f, ink_from_foot(&f, "1", &px_per_mm), px_per_mm));
        met += on_a_line(&f, natural, px_per_mm);
        fixture_free(&f);
    }
    assert_true(met > 0);
}

/* Round fields about a spot, smaller and larger than its lines. Twin: names where they stand when no line is near. */
static void names_of_fields_keep_off_the_lines(void **state) {
    (void)state;
    struct fixture_spec spec = {.title = "Lamp overhead",
                                .columns = 160,
                                .rows = 160,
                                .cell_mm = 1,
                                .kind = LUXFALL_AT_RING,
                                .count = 1,
                                .distance_mm = 165,
                                .peak_lx = 90000,
                                .field_count = 1};
    struct fixture f;
    double px_per_mm;
    int met = 0;
    for (double across = 20; across < 90; across += 4) {
        spec.fields[0] = (struct luxfall_field){
            .name = "circle of that size", .round = true, .width_mm = across, .height_mm = across};
        spec.beam_deg = 170;
        fixture_make(&f, &spec);
        struct rect natural = ink_from_foot(&f, spec.fields[0].name, &px_per_mm);
        fixture_free(&f);
        spec.beam_deg = 24;
        fixture_make(&f, &spec);
        assert_false(on_a_line(&f, ink_from_foot(&f, spec.fields[0].name, &px_per_mm), px_per_mm));
        met += on_a_line(&f, natural, px_per_mm);
        fixture_free(&f);
    }
    assert_true(met > 3);
}

static double roughness(const struct fixture *f, bool smoothed) {
    struct luxfall_plane_result plane = f->plane;
    if (!smoothed)
        plane.e_u95_lx = NULL; /* as if there were no noise */
    struct value_grid grid;
    struct contours contours;
    assert_true(value_grid_for_line(&plane, 0.5, &grid));
    assert_true(contours_trace(&grid, 0.5 * plane.peak_lx.value, &contours));
    double length = 0;
    for (size_t l = 0; l < contours.line_count; l++)
        for (size_t i = contours.starts[l] + 1; i < contours.starts[l + 1]; i++)
            length += hypot(contours.points[i].x - contours.points[i - 1].x,
                            contours.points[i].y - contours.points[i - 1].y);
    contours_free(&contours);
    value_grid_free(&grid);
    return length;
}

static void ray_noise_does_not_make_lines_ragged(void **state) {
    (void)state;
    struct fixture noisy, clean;
    struct fixture_spec spec = fixture_cases[0];
    spec.noise = 0.2;
    fixture_make(&noisy, &spec);
    spec.noise = 0;
    fixture_make(&clean, &spec);
    double true_length = roughness(&clean, false);
    assert_true(fabs(roughness(&noisy, true) / true_length - 1) < 0.03);
    assert_true(roughness(&noisy, false) / true_length > 1.3); /* twin: without the smoothing */
    fixture_free(&noisy);
    fixture_free(&clean);
}

/* A bell of 80 mm with stripes 8 mm apart and noise of 4 %: the width in mm that its picture is smoothed by, and how
 * much of the stripes is left of 1. */
static double smoothed_mm(double stripes, double *left) {
    enum { CELLS = 120 };
    struct luxfall_plane_result plane = {
        .columns = CELLS, .rows = CELLS, .cell_mm = 1, .peak_lx = {1000, 1}, .half_peak_diameter_mm = {80, 1}};
    plane.e_lx = malloc(CELLS * CELLS * sizeof *plane.e_lx);
    plane.e_u95_lx = malloc(CELLS * CELLS * sizeof *plane.e_u95_lx);
    uint32_t random = 1;
    for (int i = 0; i < CELLS * CELLS; i++) {
        double x = i % CELLS + 0.5 - CELLS / 2.0, y = i / CELLS + 0.5 - CELLS / 2.0;
        double light = 1000 * exp2(-4 * (x * x + y * y) / 6400) * (1 + stripes * cos(x * 2 * acos(-1) / 8));
        random = random * 1664525 + 1013904223;
        plane.e_lx[i] = (float)(light * (1 + 0.04 * sqrt(12) * (random / 4294967296.0 - 0.5)));
        plane.e_u95_lx[i] = (float)(2 * 0.04 * light);
    }
    float *cells = picture_cells(&plane);
    double sum = 0;
    for (int i = 0; i < CELLS * CELLS; i++) {
        double x = i % CELLS + 0.5 - CELLS / 2.0, y = i / CELLS + 0.5 - CELLS / 2.0;
        if (fabs(x) < 40 && fabs(y) < 40)
            sum += cells[i] * exp2(4 * (x * x + y * y) / 6400) * cos(x * 2 * acos(-1) / 8) / 1000 * 2 / 6400;
    }
    struct smoothing nodes = picture_smoothing(&plane);
    free(cells);
    free(plane.e_lx);
    free(plane.e_u95_lx);
    *left = stripes > 0 ? sum / stripes : 0;
    return nodes.across;
}

/* What stands out of the noise is no noise. Twin: stripes of a twentieth of it go with it. */
static void smoothing_leaves_stripes_of_light(void **state) {
    (void)state;
    double left;
    assert_true(smoothed_mm(0, &left) > 6);
    assert_true(smoothed_mm(0.3, &left) < 2 && left > 0.8);
    assert_true(smoothed_mm(0.002, &left) > 6);
    assert_true(smoothed_mm(0.1, &left) < 4 && left > 0.7);
}

/* ---- wishes and lacks -------------------------------------------------------------------------------------------
 */

static void impossible_wishes_are_the_users_errors(void **state) {
    (void)state;
    struct fixture f;
    struct figure_error error = {0, ""};
    fixture_make(&f, &fixture_cases[6]);
    struct figure_style wide = {.width_px = 900000}, dark = {.top_lx = -4};
    assert_int_equal(figure_map("/tmp/never.png", &f.scene, &f.result, 0, &wide, &error), 2);
    assert_int_equal(figure_map("/tmp/never.png", &f.scene, &f.result, 0, &dark, &error), 2);
    assert_int_equal(access("/tmp/never.png", F_OK), -1);
    fixture_free(&f);
}

/* In a child of its own, since fontconfig reads its settings once. */
static void no_font_at_all_is_told(void **state) {
    (void)state;
    char settings[] = "/tmp/luxfall-fonts-XXXXXX";
    int fd = mkstemp(settings);
    assert_true(fd >= 0);
    const char nothing[] =
        "<?xml version=\"1.0\"?><!DOCTYPE fontconfig SYSTEM \"fonts.dtd\"><fontconfig></fontconfig>";
    assert_int_equal(write(fd, nothing, sizeof nothing - 1), sizeof nothing - 1);
    close(fd);
    fflush(NULL);
    pid_t child = fork();
    if (child == 0) {
        struct page page;
        struct figure_error error = {0, ""};
        setenv("FONTCONFIG_FILE", settings, 1);
        int status = page_begin(&page, &(struct figure_style){0}, &error);
        _exit(status == 1 && strstr(error.text, "fonts-dejavu-core") != NULL ? 0 : 1);
    }
    int status;
    assert_int_equal(waitpid(child, &status, 0), child);
    unlink(settings);
    assert_true(WIFEXITED(status));
    assert_int_equal(WEXITSTATUS(status), 0);
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(no_font_at_all_is_told), /* first: before this process has read its own fonts */
        cmocka_unit_test(no_text_on_any_map_touches_another),
        cmocka_unit_test(maps_of_any_shape_can_be_drawn),
        cmocka_unit_test(no_text_on_any_section_touches_another),
        cmocka_unit_test(no_text_on_any_comparison_touches_another),
        cmocka_unit_test(the_audit_sees_touching_and_leaving_words),
        cmocka_unit_test(the_map_has_the_colours_of_its_lux_the_right_way_up),
        cmocka_unit_test(the_bar_has_the_colours_of_the_scale_at_its_lux),
        cmocka_unit_test(a_picture_tells_its_size_and_what_it_shows),
        cmocka_unit_test(a_map_keeps_its_cells_square),
        cmocka_unit_test(the_half_line_of_a_bell_is_its_circle),
        cmocka_unit_test(a_label_covers_no_other_line_if_it_may),
        cmocka_unit_test(a_label_stands_beside_crowded_lines),
        cmocka_unit_test(a_label_is_left_out_only_if_it_may),
        cmocka_unit_test(numbers_of_feet_keep_off_the_lines),
        cmocka_unit_test(names_of_fields_keep_off_the_lines),
        cmocka_unit_test(a_name_hides_no_leader),
        cmocka_unit_test(smoothing_leaves_stripes_of_light),
        cmocka_unit_test(ray_noise_does_not_make_lines_ragged),
        cmocka_unit_test(impossible_wishes_are_the_users_errors),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
