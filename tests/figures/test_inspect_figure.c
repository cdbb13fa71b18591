/* One module by itself: words touch nothing, the curve of intensity runs where its candela are. All data are
 * invented.
 */
#include "audit.h"
#include "fixture.h"
#include "render/figures/figure_inspect.h"

#include <setjmp.h>
#include <stdarg.h>
#include <unistd.h>

#include <cmocka.h>

static const double DEGREE = 3.14159265358979323846 / 180;

/* A bell of this beam, wider along y by the factor; moved towards x. */
static double bell_cd(double angle_rad, int half, double beam_rad, double wide) {
    double width_rad = half % 4 == 0 ? beam_rad : half % 4 == 2 ? wide * beam_rad : sqrt(wide) * beam_rad;
    return 1000 * exp(-log(2) * pow(2 * angle_rad / width_rad, 2));
}

static void make_light(struct luxfall_inspection *light, double beam_deg, double wide, double band, double bound) {
    double beam_rad = beam_deg * DEGREE;
    *light = (struct luxfall_inspection){.flux_lm = 105, .rays_traced = band > 0 ? 1000000 : 0};
    for (int k = 0; k < LUXFALL_RINGS; k++) {
        double angle_rad = (k + 0.5) * 90 / LUXFALL_RINGS * DEGREE;
        light->cd[k] = fixture_estimate(bell_cd(angle_rad, 1, beam_rad, wide), band);
        for (int half = 0; half < LUXFALL_HALF_PLANES; half++)
            light->half_plane_cd[half][k] = fixture_estimate(bell_cd(angle_rad, half, beam_rad, wide), band);
    }
    light->level_cd = light->centre_cd = fixture_estimate(1000, band);
    light->beam_angle_rad = fixture_estimate(beam_rad, band);
    light->field_angle_rad = fixture_estimate(beam_deg < 100 ? 1.8226 * beam_rad : NAN, band);
    light->bound_cd_per_lm = bound;
}

static const struct fixture_spec spec = {.title = "A lamp by itself",
                                         .columns = 120,
                                         .rows = 120,
                                         .cell_mm = 1,
                                         .kind = LUXFALL_AT_RING,
                                         .count = 1,
                                         .distance_mm = 250,
                                         .beam_deg = 10,
                                         .peak_lx = 90e3,
                                         .noise = 0.01};

static void draw(struct page *page, const struct luxfall_inspection *light, size_t planes, int width_px,
                 struct inspect_layout *layout) {
    struct fixture f;
    struct figure_error error = {0, ""};
    fixture_make(&f, &spec);
    const struct figure_inspect shown = {
        "A lamp by itself, whose title is long enough to be told in more than one line "
        "of a narrow picture",
        "lamp: 1 module, a lens\nAbove: on the stage, 250 mm straight below.",
        &f.scene,
        &f.result,
        light,
        planes,
        {0, 2, 1, 3},
        {"along x", "along y", "at 45°", "at 135°"}};
    assert_int_equal(figure_inspect_draw(page, &shown, &(struct figure_style){.width_px = width_px}, layout, &error),
                     0);
    fixture_free(&f);
}

static void no_text_touches_another(void **state) {
    (void)state;
    static const int widths[] = {240, 600, 1200, 2600};
    static const double beams[] = {2, 24, 120}, bounds[] = {0, 10.5, 14};
    static struct luxfall_inspection light;
    struct inspect_layout layout;
    int faults = 0;
    for (size_t w = 0; w < 4; w++)
        for (size_t b = 0; b < 3; b++)
            for (size_t planes = 1; planes <= 4; planes++) {
                struct page page;
                make_light(&light, beams[b], 1 + 0.2 * (double)planes, planes > 1 ? 0.01 : 0, bounds[b]);
                draw(&page, &light, planes, widths[w], &layout);
                faults += audit_page(&page, 0.5 * page.unit, "inspection");
                page_end(&page);
            }
    assert_int_equal(faults, 0);
}

/* How dark the page is at a place, 0 to 255. */
static int ink_at(const struct page *page, double x, double y) {
    const unsigned char *data = cairo_image_surface_get_data(page->surface);
    int stride = cairo_image_surface_get_stride(page->surface), least = 255;
    for (int i = -1; i <= 1; i++)
        for (int j = -1; j <= 1; j++) {
            const unsigned char *pixel = data + ((int)y + j) * stride + 4 * ((int)x + i);
            least = pixel[2] < least ? pixel[2] : least;
        }
    return 255 - least;
}

/* Places of a round bell that are dark on the page, of 20; the beam's angle as a reader takes it. */
static int places_found(const struct page *page, const struct inspect_layout *l, double beam_deg) {
    int found = 0;
    for (int i = 1; i <= 20; i++) {
        double angle_deg = (i % 2 ? -1 : 1) * 0.03 * i * 24, middle = (l->plot.x0 + l->plot.x1) / 2;
        double cd = bell_cd(angle_deg * DEGREE, 0, beam_deg * DEGREE, 1);
        double x = middle + angle_deg / l->last_deg * (l->plot.x1 - l->plot.x0) / 2;
        found += ink_at(page, x, l->plot.y1 - cd / l->top_cd * (l->plot.y1 - l->plot.y0)) > 100;
    }
    return found;
}

static void the_curve_runs_where_its_candela_are(void **state) {
    (void)state;
    static struct luxfall_inspection light;
    struct inspect_layout layout;
    struct page page;
    make_light(&light, 24, 1, 0, 0);
    draw(&page, &light, 1, 1200, &layout);
    cairo_surface_flush(page.surface);
    assert_int_equal(places_found(&page, &layout, 24), 20);
    assert_true(places_found(&page, &layout, 12) < 6); /* twin: the half angle for the full one */
    page_end(&page);
}

/* Half planes are known a third as well as their mean, and the worse the nearer to the axis: the curve has its shape
 * all the same, up to the ring where the axis takes over. */
static void a_noisy_middle_keeps_its_shape(void **state) {
    (void)state;
    static struct luxfall_inspection light;
    struct inspect_layout layout;
    struct page page;
    make_light(&light, 24, 1, 0.003, 0);
    for (int k = 0; k < LUXFALL_RINGS; k++)
        for (int half = 0; half < LUXFALL_HALF_PLANES; half++)
            light.half_plane_cd[half][k].u95 = 36 / sqrt(k + 0.5);
    draw(&page, &light, 2, 1200, &layout);
    cairo_surface_flush(page.surface);
    assert_int_equal(places_found(&page, &layout, 24), 20);
    assert_true(places_found(&page, &layout, 12) < 6); /* twin: the half angle for the full one */
    page_end(&page);
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(no_text_touches_another),
        cmocka_unit_test(the_curve_runs_where_its_candela_are),
        cmocka_unit_test(a_noisy_middle_keeps_its_shape),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
