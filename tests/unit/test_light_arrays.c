/* Flattest spacing of lamps that face a plane: the curvature of the library's illuminance at the centre must change
 * sign within 1e-6 of each value.
 * Form of the problem: Moreno, Avendano-Alejo and Tzonchev, Applied Optics 45 (2006) 2265-2272 (abstract seen,
 * formulas from memory). Their receiver has no cosine; the values here keep it (derived, from second derivatives),
 * and the published form is the twin. */
#include "statistics/workbench.h"

enum { Z_MM = 100 };

/* How lamps stand about the centre for a spacing given as a multiple of Z_MM. */
enum layout {
    PAIR,
    RING_3,
    RING_4,
    RING_6,
    SQUARE_2,
    LINE_4,
    LINE_6,
    SQUARE_4,
    SQUARE_6,
    RING_8_AND_ONE,
    RING_12_AND_ONE
};

static void add_lamp(struct bench *b, double x_mm, double y_mm) {
    bench_pose(b, pose_down(x_mm, y_mm, Z_MM), 0, b->lens_count ? 0 : LUXFALL_NO_LENS);
}

static void add_grid(struct bench *b, int columns, int rows, double pitch_mm) {
    for (int i = 0; i < columns * rows; i++)
        add_lamp(b, (i % columns - 0.5 * (columns - 1)) * pitch_mm, (i / columns - 0.5 * (rows - 1)) * pitch_mm);
}

static void add_ring(struct bench *b, int count, double radius_mm) {
    for (int i = 0; i < count; i++)
        add_lamp(b, radius_mm * cos(2 * BENCH_PI * i / count), radius_mm * sin(2 * BENCH_PI * i / count));
}

static void lay_out(struct bench *b, enum layout layout, double spacing_mm) {
    static const int columns[] = {
        [PAIR] = 2, [SQUARE_2] = 2, [LINE_4] = 4, [LINE_6] = 6, [SQUARE_4] = 4, [SQUARE_6] = 6};
    static const int lamps[] = {
        [RING_3] = 3, [RING_4] = 4, [RING_6] = 6, [RING_8_AND_ONE] = 8, [RING_12_AND_ONE] = 12};
    b->module_count = 0;
    switch (layout) {
    case PAIR:
    case LINE_4:
    case LINE_6:
        add_grid(b, columns[layout], 1, spacing_mm);
        break;
    case SQUARE_2:
    case SQUARE_4:
    case SQUARE_6:
        add_grid(b, columns[layout], columns[layout], spacing_mm);
        break;
    case RING_8_AND_ONE:
    case RING_12_AND_ONE:
        add_lamp(b, 0, 0);
        /* fall through */
    default:
        add_ring(b, lamps[layout], spacing_mm);
    }
}

/* Second derivative along x at the centre over E there, in 1/Z^2: three steps, errors of the sixth power. */
static double curvature(const struct bench *b) {
    static const double weights[] = {-49.0 / 18.0, 3.0 / 2.0, -3.0 / 20.0, 1.0 / 90.0};
    double h = 0.01 * Z_MM, centre = bench_reading(b, 0, 0, 0), sum = weights[0] * centre;
    for (int k = 1; k <= 3; k++)
        sum += weights[k] * (bench_reading(b, k * h, 0, 0) + bench_reading(b, -k * h, 0, 0));
    return sum / (h * h) * Z_MM * Z_MM / centre;
}

/* True when the dome turns over within 1e-6 of the spacing. */
static bool turns_over(struct bench *b, enum layout layout, double spacing) {
    lay_out(b, layout, spacing * (1 - 1e-6) * Z_MM);
    double narrower = curvature(b);
    lay_out(b, layout, spacing * (1 + 1e-6) * Z_MM);
    return narrower < 0.0 && curvature(b) > 0.0;
}

struct spacing {
    double m; /* power, or beam angle in degrees */
    enum layout layout;
    double plane, published; /* published 0: none */
};

static const struct spacing COSINES[] = {
    {1, PAIR, 0.8944271910, 1.000000000},
    {5, PAIR, 0.6666666667, 0.7071067812},
    {30, PAIR, 0.3429971703, 0.3481553119},
    {64.73, PAIR, 0.2412441683, 0.2430185682},
    {80.93, PAIR, 0.2170198373, 0.2183088712},
    {1, RING_3, 0.7071067812, 0.8164965809},
    {5, RING_4, 0.5000000000, 0.5345224838},
    {30, RING_6, 0.2461829820, 0.2500000000},
    {64.73, RING_4, 0.1718400776, 0.1731228669},
    {80.93, RING_6, 0.1543676832, 0.1552956051},
    {1, SQUARE_2, 1.000000000, 1.154700538},
    {5, SQUARE_2, 0.7071067812, 0.7559289460},
    {30, SQUARE_2, 0.3481553119, 0.3535533906},
    {64.73, SQUARE_2, 0.2430185682, 0.2448327063},
    {80.93, SQUARE_2, 0.2183088712, 0.2196211508},
    {30, LINE_4, 0.267084632, 0.271136187},
    {30, LINE_6, 0.227154535, 0.230639697},
    {30, SQUARE_4, 0.271127154, 0.275368423},
    {30, SQUARE_6, 0.230634681, 0.234285336},
    {80.93, SQUARE_6, 0.143864071, 0.144733025},
    {80.93, LINE_4, 0.168655026, 0.169658379},
    {80.93, LINE_6, 0.143010743, 0.143864196},
    {80.93, SQUARE_4, 0.169658083, 0.170679569},
    {80.93, RING_8_AND_ONE, 0.2050300994, 0.2063690183},
    {80.93, RING_12_AND_ONE, 0.1778772879, 0.1789629807},
    {30, RING_12_AND_ONE, 0.2872179177, 0.2918687214},
};

static const struct spacing BELLS[] = {
    {10, RING_6, 0.1039630861, 0}, {20, RING_6, 0.2030117946, 0}, {30, RING_6, 0.2932333597, 0},
    {45, RING_4, 0.4075782585, 0}, {60, RING_4, 0.4965366640, 0}, {10, PAIR, 0.1465017869, 0},
    {20, PAIR, 0.2833093951, 0},   {30, PAIR, 0.4037248866, 0},
};

static void cosine_arrays(void **state) {
    (void)state;
    for (size_t i = 0; i < sizeof COSINES / sizeof *COSINES; i++) {
        const struct spacing *s = &COSINES[i];
        struct bench b = {0};
        bench_map(&b, 10.0, 10.0, 1.0);
        bench_emitter(&b, cosine_emitter(point_face(), 100.0, s->m));
        if (!turns_over(&b, s->layout, s->plane))
            fail_msg("m = %g, layout %d: no turn at %.10g", s->m, s->layout, s->plane);
        assert_false(turns_over(&b, s->layout, s->published));
        assert_false(turns_over(&b, s->layout, 0.5 * s->plane)); /* radius for diameter */
    }
}

static void bell_arrays(void **state) {
    (void)state;
    for (size_t i = 0; i < sizeof BELLS / sizeof *BELLS; i++) {
        const struct spacing *s = &BELLS[i];
        struct bench b = {0};
        bench_map(&b, 10.0, 10.0, 1.0);
        bench_emitter(&b, cosine_emitter(point_face(), 100.0, 1.0));
        bench_lens(&b, beam_lens(s->m, 0, 0, 0.86, point_face()));
        if (!turns_over(&b, s->layout, s->plane))
            fail_msg("%g deg, layout %d: no turn at %.10g", s->m, s->layout, s->plane);
        double power =
            -log(2.0) / log(cos(0.5 * s->m * DEG)); /* the cosine of the same beam angle: 0.06 % off or more */
        double like_cosine = s->layout == PAIR ? 2.0 / sqrt(power + 4.0) : sqrt(2.0 / (power + 3.0));
        assert_false(turns_over(&b, s->layout, like_cosine));
    }
}

int main(void) {
    const struct CMUnitTest tests[] = {cmocka_unit_test(cosine_arrays), cmocka_unit_test(bell_arrays)};
    return cmocka_run_group_tests(tests, NULL, NULL);
}
