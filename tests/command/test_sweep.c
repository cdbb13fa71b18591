/* luxfall sweep: its numbers are those of luxfall trace on the scene written out at each point, its verdicts those of
 * an independent scan, its mistakes are told. Laws of light by which sweeps are checked: the inverse-square and
 * cosine laws of a small source (International Electrotechnical Vocabulary, IEC 60050-845, part 845-21). */
#include "run.h"

#include "statistics/reference.h"

#include "scenes/scene.h"

#include <errno.h>
#include <jansson.h>
#include <math.h>
#include <signal.h>
#include <time.h>

/* ---- what a sweep says -------------------------------------------------------------------------------------------
 */

/* Runs the command, which must succeed, and reads the JSON it prints. */
static json_t *json_of(const char *command) {
    struct outcome outcome = run("%s --json -", command);
    json_error_t error;
    if (outcome.status != 0)
        print_message("%s\n%s", command, outcome.err);
    assert_int_equal(outcome.status, 0);
    json_t *json = json_loads(outcome.out, 0, &error);
    assert_non_null(json);
    forget(&outcome);
    return json;
}

/* The values (or bands) of a statistic in a field. */
static json_t *values_of(json_t *sweep, const char *name, const char *field, const char *key) {
    json_t *statistics = json_object_get(sweep, "statistics"), *statistic;
    size_t i;
    json_array_foreach(statistics, i, statistic) {
        const char *own = json_string_value(json_object_get(statistic, "field"));
        if (strcmp(json_string_value(json_object_get(statistic, "name")), name) == 0 && own && field &&
            strcmp(own, field) == 0)
            return json_object_get(statistic, key);
    }
    return NULL;
}

static json_t *varied(json_t *sweep, size_t index) {
    return json_object_get(json_array_get(json_object_get(sweep, "vary"), index), "values");
}

static double number_at(json_t *array, size_t index) {
    json_t *value = json_array_get(array, index);
    return json_is_null(value) ? NAN : json_number_value(value);
}

static double best_at(json_t *sweep) {
    return number_at(json_object_get(json_object_get(sweep, "best"), "at"), 0);
}

/* ---- equal to trace ----------------------------------------------------------------------------------------------
 */

/* A path that is varied, and the line of sed that writes the number %s into the scene by other means. */
struct varied_case {
    const char *scene, *vary, *sed;
};

#define DRIVEN "driven.yaml"

/* The ring with an emitter that has a table of currents. The values are invented. */
static void write_driven(void) {
    struct outcome outcome = run(
        "printf 'current_mA,flux_lm,voltage_V\\n100,30,2.7\\n350,95,2.9\\n700,170,3.1\\n1000,220,3.3\\n' > led.csv "
        "&& sed -e 's/^    flux:.*/    drive: led.csv/' -e 's/^    aim: centre/    current: 350 mA/' " RING
        " > " DRIVEN);
    assert_int_equal(outcome.status, 0);
    forget(&outcome);
}

static const struct varied_case cases[] = {
    {RING, "modules.ring.aim=5 mm short..50 mm short/5", "s/^    aim: centre/    aim: %s mm short/"},
    {RING, "modules.ring.ring.distance=120 mm..300 mm/6", "s/distance: 165 mm/distance: %s mm/"},
    {RING, "modules.ring.ring.incidence=10 deg..60 deg/5", "s/incidence: 38 deg/incidence: %s deg/"},
    {RING, "modules.ring.ring.count=3..7", "s/count: 8/count: %s/"},
    {RING, "lenses.medium.beam_angle=18 deg..48 deg/5", "s/beam_angle: 24 deg/beam_angle: %s deg/"},
    {DRIVEN, "modules.ring.current=100 mA..1000 mA/5", "s/current: 350 mA/current: %s mA/"},
    {DRIVEN, "current=120 mA..900 mA/5", "s/current: 350 mA/current: %s mA/"},
};

/* Traces the scene, with the number put in by sed and then written out by check, and says how many of the numbers of
 * the fields differ from the sweep's in the nine digits printed. */
static int differences(const struct varied_case *row, json_t *sweep, size_t point, const char *number,
                       const char *options) {
    static const char *const pairs[][2] = {{"U0", "minimum_over_average"}, {"centre", "centre_lx"}};
    char sed[200], command[400], band[64];
    snprintf(sed, sizeof sed, row->sed, number);
    struct outcome outcome =
        run("sed '%s' %s > put.yaml && ! cmp -s put.yaml %s && luxfall check put.yaml > out.yaml", sed, row->scene,
            row->scene);
    assert_int_equal(outcome.status, 0);
    forget(&outcome);
    snprintf(command, sizeof command, "luxfall trace out.yaml %s", options);
    json_t *traced = json_of(command), *field;
    json_t *fields = json_object_get(json_array_get(json_object_get(traced, "planes"), 0), "fields");
    int different = 0;
    size_t i;
    json_array_foreach(fields, i, field) {
        const char *name = json_string_value(json_object_get(field, "name"));
        for (size_t j = 0; j < 2; j++) {
            double swept = number_at(values_of(sweep, pairs[j][0], name, "values"), point);
            different += swept != json_number_value(json_object_get(field, pairs[j][1]));
            snprintf(band, sizeof band, "%s_u95", pairs[j][1]);
            json_t *u95 = values_of(sweep, pairs[j][0], name, "values_u95");
            if (u95)
                different += number_at(u95, point) != json_number_value(json_object_get(field, band));
        }
    }
    json_decref(traced);
    return different;
}

static void number_text(double number, char out[40]) {
    snprintf(out, 40, "%.15g", number);
}

/* Random points of every case. The twin puts the number of another point into the scene. */
static void every_number_is_that_of_trace(const char *options, size_t points) {
    write_driven();
    srand(20);
    for (size_t i = 0; i < sizeof cases / sizeof *cases; i++) {
        char command[600], number[40];
        snprintf(command, sizeof command, "luxfall sweep %s --vary '%s' --of 'U0, centre' %s", cases[i].scene,
                 cases[i].vary, options);
        json_t *sweep = json_of(command), *numbers = varied(sweep, 0);
        for (size_t j = 0; j < points; j++) {
            size_t point = (size_t)rand() % json_array_size(numbers), other = point ? point - 1 : 1;
            number_text(number_at(numbers, point), number);
            assert_int_equal(differences(&cases[i], sweep, point, number, options), 0);
            number_text(number_at(numbers, other), number);
            assert_true(j > 0 || differences(&cases[i], sweep, point, number, options) > 0);
        }
        json_decref(sweep);
    }
}

static void directly_every_number_is_that_of_trace(void **state) {
    (void)state;
    every_number_is_that_of_trace("--method direct", 3);
}

static void by_rays_every_number_and_band_is_that_of_trace(void **state) {
    (void)state;
    if (less_is_wanted())
        skip();
    every_number_is_that_of_trace("--rays 20e3 --seed 7", 2);
}

static void threads_change_nothing(void **state) {
    (void)state;
    static const char *const ways[] = {"--threads 1", "--threads 2", "--threads 5"};
    for (size_t i = 0; i < 3; i++) {
        struct outcome outcome =
            run("luxfall sweep " RING " --vary 'modules.ring.aim=0 mm short..60 mm short/9' --want 'U0 >= 0.95' "
                "--method direct --json threads%zu.json %s > threads%zu.txt",
                i, ways[i], i);
        assert_int_equal(outcome.status, 0);
        forget(&outcome);
        outcome = run("cmp threads0.json threads%zu.json && cmp threads0.txt threads%zu.txt", i, i);
        assert_int_equal(outcome.status, 0);
        forget(&outcome);
    }
}

/* ---- laws of light -----------------------------------------------------------------------------------------------
 */

/* A small Lambertian source of 100 lm, 200 mm above a small field, aimed at it. */
static const char small_source[] =
    "emitters:\n  die: {surface: point, flux: 100 lm, intensity: lambertian}\n"
    "modules:\n  - {name: lamp, emitter: die, single: {distance: 200 mm, incidence: 0 deg, azimuth: 0 deg}}\n"
    "target: {size: 20 mm x 20 mm, cell: 1 mm}\n"
    "fields:\n  - {name: spot, size: 1 mm x 1 mm, reading: disc 0.1 mm}\n";

static void write_file(const char *path, const char *text) {
    FILE *file = fopen(path, "w");
    assert_non_null(file);
    fputs(text, file);
    assert_int_equal(fclose(file), 0);
}

/* The largest relative difference of the centre lux from what a law says of each number. */
static double worst_of_law(const char *vary, double (*law)(double number)) {
    char command[300];
    snprintf(command, sizeof command, "luxfall sweep small.yaml --vary '%s' --of centre --method direct", vary);
    json_t *sweep = json_of(command), *numbers = varied(sweep, 0);
    json_t *values = values_of(sweep, "centre", "spot", "values");
    double worst = 0;
    for (size_t i = 0; i < json_array_size(numbers); i++)
        worst = fmax(worst, fabs(number_at(values, i) / law(number_at(numbers, i)) - 1));
    json_decref(sweep);
    return worst;
}

/* I0 = flux / pi; E = I0 cos(i) / d^2. */
static double inverse_square(double distance_mm) {
    return 100 / REF_PI / (distance_mm * distance_mm * 1e-6);
}

static double inverse_only(double distance_mm) {
    return inverse_square(200) * 200 / distance_mm;
}

static double cosine(double incidence_deg) {
    return inverse_square(200) * cos(incidence_deg * REF_DEG);
}

static double cosine_twice(double incidence_deg) {
    return cosine(incidence_deg) * cos(incidence_deg * REF_DEG);
}

static void sweeps_follow_the_laws_of_a_small_source(void **state) {
    (void)state;
    const char *distance = "modules.lamp.single.distance=50 mm..1000 mm/20";
    const char *incidence = "modules.lamp.single.incidence=0 deg..80 deg/17";
    write_file("small.yaml", small_source);
    assert_true(worst_of_law(distance, inverse_square) < 1e-5); /* a disc of 0.1 mm at 50 mm: 1e-6 */
    assert_true(worst_of_law(incidence, cosine) < 1e-5);
    /* Twins: the square forgotten, the cosine taken twice. */
    assert_false(worst_of_law(distance, inverse_only) < 1e-5);
    assert_false(worst_of_law(incidence, cosine_twice) < 1e-5);
}

/* At the centre of a ring every module gives the same. */
static void light_is_in_proportion_to_the_count(void **state) {
    (void)state;
    json_t *sweep = json_of("luxfall sweep " RING " --vary modules.ring.ring.count=2..12 --method direct");
    json_t *counts = varied(sweep, 0), *lux = values_of(sweep, "centre", "widest zoom", "values");
    assert_int_equal(json_array_size(counts), 11);
    double each = number_at(lux, 0) / number_at(counts, 0);
    for (size_t i = 0; i < json_array_size(counts); i++) {
        assert_float_equal(number_at(lux, i) / number_at(counts, i) / each, 1, 2e-6);
        assert_true(i == 0 || fabs(number_at(lux, i) / number_at(lux, 0) - 1) > 0.1); /* twin: it does change */
    }
    json_decref(sweep);
}

/* ---- the aim of the ring -----------------------------------------------------------------------------------------
 */

static struct scene *ring_aimed(double short_mm) {
    char *text = read_file(RING), *scene_text = NULL;
    char *at = strstr(text, "aim: centre");
    size_t size = 0;
    struct messages messages = {0};
    struct scene *scene = NULL;
    assert_non_null(at);
    FILE *out = open_memstream(&scene_text, &size);
    fprintf(out, "%.*s", (int)(at - text), text);
    if (short_mm > 0)
        fprintf(out, "aim: %.10g mm short%s", short_mm, at + strlen("aim: centre"));
    else
        fputs(at, out);
    fclose(out);
    assert_int_equal(scene_read_text("aimed.yaml", scene_text, size, true, &scene, &messages), 0);
    messages_clear(&messages);
    free(scene_text);
    free(text);
    return scene;
}

/* The most light at the centre of the first field among aims that keep its U0 at the limit, from 0 to 60 mm short on
 * a fine grid, by the library alone. */
static double most_light_lx(double limit) {
    enum { STEPS = 240 };
    double most = 0;
    struct luxfall_options options;
    luxfall_options_init(&options);
    options.method = LUXFALL_DIRECT;
    options.fields_only = true;
    for (int i = 0; i <= STEPS; i++) {
        struct scene *scene = ring_aimed(60.0 * i / STEPS);
        struct luxfall_result *result;
        assert_int_equal(luxfall_trace(&scene->light, &options, &result, NULL), LUXFALL_OK);
        const struct luxfall_field_result *field = &result->planes[0].fields[0];
        if (field->minimum_over_average.value >= limit)
            most = fmax(most, field->centre_lx.value);
        luxfall_result_free(result);
        scene_free(scene);
    }
    return most;
}

/* Numbers of the best point. */
static double best_value(json_t *sweep, const char *name) {
    json_t *statistics = json_object_get(json_object_get(sweep, "best"), "statistics"), *statistic;
    size_t i;
    json_array_foreach(statistics, i,
                       statistic) if (strcmp(json_string_value(json_object_get(statistic, "name")), name) ==
                                      0) return json_number_value(json_object_get(statistic, "value"));
    return NAN;
}

static bool finds_the_most_light(const char *command, double limit, double most_lx) {
    json_t *sweep = json_of(command);
    double lx = best_value(sweep, "centre"), even = best_value(sweep, "U0");
    json_decref(sweep);
    return fabs(lx / most_lx - 1) < 0.01 && even >= limit;
}

static void the_best_aim_is_that_of_a_fine_scan(void **state) {
    (void)state;
    double most_lx = most_light_lx(0.95);
    assert_true(most_lx > 0);
    assert_true(finds_the_most_light("luxfall sweep " RING
                                     " --vary 'modules.ring.aim=0 mm short..60 mm short' --want "
                                     "'U0 >= 0.95 in widest zoom' --method direct",
                                     0.95, most_lx));
    /* Few points do as well, since the crossing is found with the scene itself. */
    assert_true(finds_the_most_light("luxfall sweep " RING
                                     " --vary 'modules.ring.aim=0 mm short..60 mm short/7' --want "
                                     "'U0 >= 0.95 in widest zoom' --method direct",
                                     0.95, most_lx));
    /* Twin: another limit, which the same verdict must not meet. */
    assert_false(finds_the_most_light("luxfall sweep " RING
                                      " --vary 'modules.ring.aim=0 mm short..60 mm short' --want "
                                      "'U0 >= 0.93 in widest zoom' --method direct",
                                      0.95, most_lx));
}

/* U0 and centre lux of the ring at an aim by the tests' own quadrature. */
static struct ref_field reckoned(double short_mm) {
    struct scene *scene = ring_aimed(short_mm);
    struct ref_light light = ref_light_make(&scene->light, NULL, 6);
    struct ref_field field = ref_field_make(&light, &scene->light.fields[0], 0, 4);
    ref_light_free(&light);
    scene_free(scene);
    return field;
}

static void the_curve_over_aims_is_that_of_an_own_quadrature(void **state) {
    (void)state;
    json_t *sweep =
        json_of("luxfall sweep " RING " --vary 'modules.ring.aim=0 mm short..60 mm short/5' --method direct");
    json_t *even = values_of(sweep, "U0", "widest zoom", "values");
    json_t *lux = values_of(sweep, "centre", "widest zoom", "values");
    for (size_t i = 0; i < 5; i++) {
        struct ref_field field = reckoned(15.0 * (double)i);
        assert_float_equal(number_at(even, i), field.minimum_over_average, 1e-4);
        assert_float_equal(number_at(lux, i) / field.centre_lx, 1, 1e-4);
        /* Twin: the aim missed by one point of the sweep. */
        assert_true(i == 0 || fabs(number_at(even, i - 1) - field.minimum_over_average) > 1e-4);
    }
    json_decref(sweep);
}

/* The price of the aim: each of its numbers is one that trace gives for the scene so changed. */
static double traced_centre(const char *sed) {
    struct outcome outcome = run("sed %s " RING " > priced.yaml", sed);
    assert_int_equal(outcome.status, 0);
    forget(&outcome);
    json_t *traced = json_of("luxfall trace priced.yaml --method direct");
    json_t *field =
        json_array_get(json_object_get(json_array_get(json_object_get(traced, "planes"), 0), "fields"), 0);
    double lx = json_number_value(json_object_get(field, "centre_lx"));
    json_decref(traced);
    return lx;
}

static double traced_even_dark(int module) {
    struct outcome outcome =
        run("sed 's/^    aim: centre/    aim: 36 mm short\\n    dark: [%d]/' " RING " > dark.yaml", module);
    assert_int_equal(outcome.status, 0);
    forget(&outcome);
    json_t *traced = json_of("luxfall trace dark.yaml --method direct");
    json_t *field =
        json_array_get(json_object_get(json_array_get(json_object_get(traced, "planes"), 0), "fields"), 0);
    double even = json_number_value(json_object_get(field, "minimum_over_average"));
    json_decref(traced);
    return even;
}

static void the_price_of_an_aim_is_traced(void **state) {
    (void)state;
    json_t *sweep =
        json_of("luxfall sweep " RING " --vary 'modules.ring.aim=36 mm short..36 mm short/1' --method direct");
    json_t *price = json_object_get(json_object_get(sweep, "best"), "price");
    json_t *here = json_object_get(price, "here"), *centre = json_object_get(price, "aimed_at_centre");
    static const double levels_mm[] = {0, -10, 10};
    for (size_t i = 0; i < 3; i++) {
        char sed[200];
        json_t *own = json_array_get(json_object_get(here, "levels"), i);
        json_t *aimed = json_array_get(json_object_get(centre, "levels"), i);
        assert_float_equal(json_number_value(json_object_get(own, "level_mm")), levels_mm[i], 0);
        snprintf(sed, sizeof sed, "-e 's/aim: centre/aim: 36 mm short/' -e 's/level: 0 mm}/level: %g mm}/'",
                 levels_mm[i]);
        assert_float_equal(json_number_value(json_object_get(own, "centre_lx")), traced_centre(sed), 0);
        snprintf(sed, sizeof sed, "-e 's/level: 0 mm}/level: %g mm}/'", levels_mm[i]);
        assert_float_equal(json_number_value(json_object_get(aimed, "centre_lx")), traced_centre(sed), 0);
    }
    double worst = 1;
    for (int i = 1; i <= 8; i++)
        worst = fmin(worst, traced_even_dark(i));
    assert_float_equal(json_number_value(json_object_get(here, "minimum_over_average_worst_dark")), worst, 0);
    assert_true(json_number_value(json_object_get(centre, "minimum_over_average_worst_dark")) != worst); /* twin */
    json_decref(sweep);
}

/* ---- limits ------------------------------------------------------------------------------------------------------
 */

static json_t *first_want(json_t *sweep) {
    return json_array_get(json_object_get(sweep, "wants"), 0);
}

/* The small source gives 100 lm / pi / d^2: a wanted lux is met up to a distance that is known. */
static double crossing_mm(const char *options, double *band_mm) {
    char command[300];
    snprintf(command, sizeof command,
             "luxfall sweep small.yaml --vary 'modules.lamp.single.distance=100 mm..400 mm/13' --want 'centre >= 500 "
             "lx' %s",
             options);
    json_t *sweep = json_of(command), *crossings = json_object_get(first_want(sweep), "crossings");
    assert_int_equal(json_array_size(crossings), 1);
    double at_mm = json_number_value(json_object_get(json_array_get(crossings, 0), "at"));
    *band_mm = json_number_value(json_object_get(json_array_get(crossings, 0), "at_u95"));
    assert_float_equal(best_at(sweep), at_mm, 0); /* just enough light: nothing but light was wanted */
    json_decref(sweep);
    return at_mm;
}

static void a_limit_is_crossed_where_the_law_says(void **state) {
    (void)state;
    write_file("small.yaml", small_source);
    double wanted_mm = sqrt(100 / REF_PI / 500) * 1e3, band_mm;
    double at_mm = crossing_mm("--method direct", &band_mm);
    assert_true(fabs(at_mm - wanted_mm) <= 0.03 && at_mm <= wanted_mm); /* a ten-thousandth of the range */
    /* By rays: a straight line over 25 mm of the curve, and the band of the light. */
    double by_rays_mm = crossing_mm("--rays 200e3 --seed 3", &band_mm);
    assert_true(band_mm > 0);
    assert_true(fabs(by_rays_mm - wanted_mm) < band_mm + 0.5);
    /* Twin: the place where the light of twice the distance's square would be. */
    assert_false(fabs(at_mm - wanted_mm * 1.001) <= 0.03);
}

static bool says(const char *command, const char *words) {
    struct outcome outcome = run("%s", command);
    bool said = outcome.status == 0 && strstr(outcome.out, words) != NULL;
    if (!said)
        print_message("%s\nends with %d\n%s%s\n", command, outcome.status, outcome.out, outcome.err);
    forget(&outcome);
    return said;
}

#define AIMS "luxfall sweep " RING " --method direct --vary 'modules.ring.aim=0 mm short..60 mm short/16' "
#define COUNTS "luxfall sweep " RING " --method direct --vary modules.ring.ring.count=3..12 "

static void verdicts_in_words(void **state) {
    (void)state;
    assert_true(says(AIMS "--want 'U0 >= 0.5'", "U0 >= 0.5: met at every point"));
    assert_true(says(AIMS "--want 'U0 >= 0.999'", "U0 >= 0.999: met nowhere; nearest to it at 40 mm short"));
    assert_true(says(AIMS "--want 'U0 >= 0.999'", "best          no point meets it"));
    assert_true(says(AIMS "--want 'U0 <= 0.9'", "met from"));
    assert_true(says(COUNTS "--want 'centre >= 60 klx'", "crossed between 5 and 6; met from 6 to 12"));
    assert_true(says(COUNTS "--want 'centre >= 60 klx'", "6 meets it at the least light"));
    assert_true(says(COUNTS "--want 'centre <= 60 klx'", "5 meets it at the most light"));
    assert_true(says(AIMS, "the highest of the points"));
    assert_true(says(AIMS, "worst module dark"));
    assert_false(says(COUNTS, "worst module dark")); /* twin: no aim is varied */
    assert_true(says("luxfall sweep " RING " --rays 2000 --vary 'modules.ring.aim=38 mm short..40 mm short/3' "
                     "| tr -s '\\n ' ' '",
                     "bands do not tell 2 others from it"));
    assert_false(says("luxfall sweep " RING " --rays 2000 --vary 'modules.ring.aim=0 mm short..40 mm short/3' "
                      "| tr -s '\\n ' ' '",
                      "from it")); /* twin: points far apart */
}

/* What is varied in vain is told, and nothing is called best. */
static void idle_numbers_are_told(void **state) {
    (void)state;
    static const char seeds[] = "luxfall sweep " RING " --vary 'seed=1..4' --want 'U0 >= 0.5' --method direct";
    assert_true(says(seeds, "idle          nothing that is told here depends on seed"));
    assert_false(says(seeds, "best "));
    assert_false(says("luxfall sweep " RING " --vary 'seed=1..4' --rays 1000", "nothing that is told")); /* twin */
    static const char both[] = "luxfall sweep " RING " --vary 'seed=1..4' --vary 'modules.ring.aim=5 mm short..50 mm "
                               "short/4' --method direct";
    assert_true(says(both, "depends on seed"));
    assert_false(says(both, "depends on modules"));
    assert_true(says(both, "the highest of the points"));
}

static void the_end_of_a_range_is_told(void **state) {
    (void)state;
    static const char over[] =
        "luxfall sweep " RING " --method direct --vary 'modules.ring.aim=%s mm short/10' | tr -s "
        "'\\n ' ' '";
    char to_40[200], to_10[200];
    snprintf(to_40, sizeof to_40, over, "5 mm short..60");
    snprintf(to_10, sizeof to_10, over, "5 mm short..10");
    assert_false(says(to_40, "beyond it there may be better"));
    assert_true(says(to_10, "the end of the range: beyond it there may be better"));
}

static void points_over_the_limit_are_told(void **state) {
    (void)state;
    write_driven();
    struct outcome outcome = run("sed 's/^    drive:.*/&\\n    current_limit: 700 mA/' " DRIVEN " >limited.yaml");
    forget(&outcome);
    static const char hot[] =
        "luxfall sweep limited.yaml --vary 'current=100 mA..1000 mA/10' --want 'centre >= 190 klx' "
        "--method direct | tr -s '\\n ' ' '";
    assert_true(says(hot, "limit 3 of 10 points, the first at 800 mA, are above the current limit of an emitter"));
    assert_true(says(hot, "; above the current limit"));
    assert_false(says("luxfall sweep limited.yaml --vary 'current=100 mA..700 mA/10' --method direct", "limit "));
    json_t *sweep =
        json_of("luxfall sweep limited.yaml --vary 'current=100 mA..1000 mA/10' --want 'centre >= 190 klx' "
                "--method direct");
    assert_true(json_is_true(json_object_get(json_object_get(sweep, "best"), "above_current_limit")));
    json_decref(sweep);
}

static void a_long_table_is_shortened_and_says_so(void **state) {
    (void)state;
    struct outcome outcome = run("luxfall sweep " RING
                                 " --method direct --vary 'modules.ring.aim=1 mm short..60 mm short/119' --out long");
    int rows = 0;
    assert_int_equal(outcome.status, 0);
    assert_non_null(strstr(outcome.out, "119 points were swept, some of them are shown; sweep.csv holds all"));
    for (const char *at = outcome.out; (at = strstr(at, " mm short ")) != NULL; at++)
        rows++;
    assert_in_range(rows, 20, 30);
    forget(&outcome);
    outcome = run("wc -l < long/sweep.csv");
    assert_int_equal(atoi(outcome.out), 120);
    forget(&outcome);
}

/* ---- currents ----------------------------------------------------------------------------------------------------
 */

static void over_a_current_lux_and_lux_per_watt_are_told(void **state) {
    (void)state;
    write_driven();
    json_t *sweep = json_of("luxfall sweep " DRIVEN
                            " --vary 'current=100 mA..1000 mA/10' --want 'centre >= 100 klx' --method direct");
    json_t *lux = values_of(sweep, "centre", "widest zoom", "values");
    /* At the table's own rows the flux is the table's: 8 modules, and lux in proportion to lumens. */
    double each = number_at(lux, 0) / 30;
    assert_float_equal(number_at(lux, 6) / each / 170, 1, 1e-6);
    assert_float_equal(number_at(lux, 9) / each / 220, 1, 1e-6);
    assert_true(fabs(number_at(lux, 9) / number_at(lux, 0) - 10) > 1); /* twin: not in proportion to the current */
    double at_ma = best_at(sweep);
    assert_true(at_ma > 350 && at_ma < 450);
    assert_float_equal(best_value(sweep, "centre"), 100000, 50);
    json_decref(sweep);
    /* Lumens per watt fall in the table from 111 at 100 mA: most lux per watt there. */
    assert_true(
        says("luxfall sweep " DRIVEN " --vary 'current=100 mA..1000 mA/10' --method direct", "most at 100 mA"));
}

/* ---- two numbers
 * --------------------------------------------------------------------------------------------------- */

static void two_numbers_make_a_grid(void **state) {
    (void)state;
    json_t *sweep =
        json_of("luxfall sweep " RING " --vary 'modules.ring.aim=10 mm short..40 mm short/4' --vary "
                "'lenses.medium.beam_angle=20 deg..30 deg/3' --method direct --want 'U0 >= 0.9' --out grid");
    json_t *lux = values_of(sweep, "centre", "widest zoom", "values");
    assert_int_equal(json_array_size(varied(sweep, 0)), 4);
    assert_int_equal(json_array_size(varied(sweep, 1)), 3);
    assert_int_equal(json_array_size(lux), 3);
    assert_int_equal(json_array_size(json_array_get(lux, 0)), 4);
    const char *sed = "-e 's/aim: centre/aim: 30 mm short/' -e 's/beam_angle: 24 deg/beam_angle: 25 deg/'";
    assert_float_equal(number_at(json_array_get(lux, 1), 2), traced_centre(sed), 0);
    assert_true(number_at(json_array_get(lux, 2), 1) != traced_centre(sed)); /* twin: rows for columns */
    assert_int_equal(entries("grid"), 5);
    json_decref(sweep);
}

/* ---- files and stops
 * ----------------------------------------------------------------------------------------------- */

static void a_folder_gets_every_file_and_json_stands_alone(void **state) {
    (void)state;
    static const char *const files[] = {"all/sweep.png", "all/sweep.csv", "all/sweep.json", "all/sweep.md"};
    struct outcome outcome = run(AIMS "--out all --json - > alone.json && cmp alone.json all/sweep.json");
    assert_int_equal(outcome.status, 0);
    assert_int_equal(entries("all"), 4);
    for (size_t i = 0; i < 4; i++) {
        struct stat status;
        assert_int_equal(stat(files[i], &status), 0);
        assert_true(status.st_size > 400);
    }
    forget(&outcome);
}

#define SWEEP "luxfall sweep " RING " --method direct --vary "
#define AIM "'modules.ring.aim=0 mm short..60 mm short/3' "

static const struct row mistakes[] = {
    {"luxfall sweep " RING, 2, "--vary is missing, such as --vary 'modules.ring.aim=0 mm short..60 mm short'"},
    {"luxfall sweep --vary " AIM, 2, "SCENE is missing"},
    {SWEEP "'modules.rng.aim=1 mm short..2 mm short/2'", 2,
     "--vary:1:9: error: no 'rng' in 'modules'; did you mean 'ring'?"},
    {SWEEP "'modules.ring.amm=1 mm short..2 mm short/2'", 2,
     "--vary:1:14: error: unknown key 'amm' in a module; did you mean 'aim'?"},
    {SWEEP "'modules.ring.ring.distance=150 deg..250 deg/3'", 2,
     "'150 deg' is an angle; a length is expected, with um, mm, cm, m or in"},
    {SWEEP "'modules.ring.ring.distance=150 deg..250 deg/3'", 2,
     "the scene cannot be traced with modules.ring.ring.distance: 150 deg"},
    {SWEEP "'modules.ring.ring.incidence=65 deg..95 deg/7'", 2,
     "'incidence' is 90 deg; it must be at least 0 deg and below 90 deg"},
    {SWEEP "'modules.ring.ring.incidence=65 deg..95 deg/7'", 2,
     "the scene cannot be traced with modules.ring.ring.incidence: 90 deg"},
    {SWEEP "modules.ring.ring.count=3..4/3", 2, "'count' is 3.5; a whole number is expected"},
    {SWEEP AIM "--want 'U0 >= 0.9 in widest zoon'", 2,
     "--want:1:14: error: the scene has no field 'widest zoon'; did you mean 'widest zoom'?"},
    {SWEEP AIM "--of 'U0 in wide'", 2, "--of:1:7: error: the scene has no field 'wide'; the first is 'widest zoom'"},
    {SWEEP AIM "--want 'U1 >= 0.9'", 2, "--want:1:1: error: no statistic 'U1'; did you mean U0?"},
    {SWEEP AIM "--want 'U0 >= 0.9 lx'", 2,
     "--want:1:11: error: '0.9 lx': unknown unit; a limit of U0 takes no unit, %"},
    {SWEEP AIM "--want 'centre >= 5'", 2,
     "--want:1:11: error: '5' has no unit; a limit of centre takes lx, klx, Mlx"},
    {SWEEP AIM "--want 'price <= 3 EUR'", 2, "--want:1:12: error: a price in EUR, but the scene gives no price"},
    {SWEEP AIM "--of 'U0, centr'", 2, "--of:1:5: error: no statistic 'centr'; did you mean centre?"},
    {SWEEP "'modules.ring.aim=0 mm short..60 deg'", 2,
     "--vary:1:33: error: 'mm short' and 'deg': both numbers of a range have the same unit"},
    {SWEEP AIM "--vary " AIM, 2, "--vary: the same path twice"},
    {SWEEP AIM "--vary " AIM "--vary " AIM, 2, "more than two of them; a sweep varies one or two numbers"},
    {SWEEP AIM "--width 900", 2, "give --out DIR too"},
    {SWEEP AIM "--top 9", 2, "unknown option '--top'"},
    {SWEEP AIM "--rays 9", 2, "the direct way has no noise"},
};

static void every_mistake_has_its_message(void **state) {
    (void)state;
    for (size_t i = 0; i < sizeof mistakes / sizeof *mistakes; i++)
        assert_true(fails_as(&mistakes[i]));
    /* Twins: a sweep that succeeds, another status, other words. */
    assert_false(fails_as(&(struct row){SWEEP AIM, 0, ""}));
    assert_false(fails_as(&(struct row){mistakes[2].command, 1, mistakes[2].said}));
    assert_false(fails_as(&(struct row){mistakes[2].command, 2, mistakes[3].said}));
}

/* A warning of the scene comes once, one that points alone have once with the first of them. */
static void warnings_come_once(void **state) {
    (void)state;
    struct outcome outcome =
        run("sed 's/face: disc 18 mm/# no face/' " RING " > warned.yaml; luxfall sweep warned.yaml "
            "--method direct --vary " AIM " 2>&1 >/dev/null | grep -c warning");
    assert_string_equal(outcome.out, "1\n");
    forget(&outcome);
    outcome =
        run("luxfall sweep " RING " --method direct --of spot --vary 'modules.ring.aim=1 mm short..60 mm short/9' "
            "2>&1 >/dev/null | grep warning");
    assert_non_null(strstr(outcome.out, "warning: at 30.5 mm short: the map's edge cuts the visible edge"));
    assert_null(strstr(outcome.out, "at 37.875 mm short"));
    forget(&outcome);
}

static void what_cannot_be_written_is_told_and_leaves_nothing(void **state) {
    (void)state;
    write_file("file", "old\n");
    int before = entries(".");
    static const struct row rows[] = {
        {AIMS "--out file", 1, "file"},
        {AIMS "--out file/below", 1, "file"},
        {AIMS "--json /dev/full", 1, "No space left"},
        {AIMS "> /dev/full", 1, "No space left"},
        {AIMS "--json - > /dev/full", 1, "No space left"},
        {AIMS "--out new > /dev/full", 1, "No space left"},
    };
    for (size_t i = 0; i < sizeof rows / sizeof *rows; i++)
        assert_true(fails_as(&rows[i]));
    assert_int_equal(entries("."), before);
}

static void pause_ms(long ms) {
    nanosleep(&(struct timespec){ms / 1000, ms % 1000 * 1000000}, NULL);
}

/* The staged files stand in the folder while the points are traced. */
static void a_signal_leaves_nothing(void **state) {
    (void)state;
    static const char *const commands[] = {
        "exec luxfall sweep " RING " --vary 'modules.ring.aim=1 mm short..60 mm short/1000' --method direct --out "
        "stopped > ../out 2> ../err",
        "exec luxfall sweep " RING " --vary 'modules.ring.aim=1 mm short..60 mm short/9' --rays 1e11 --out stopped > "
        "../out 2> ../err",
    };
    for (size_t i = 0; i < 2; i++) {
        pid_t pid = start(commands[i], -1, -1);
        for (int j = 0; j < 5000 && entries("stopped") < 0; j++)
            pause_ms(1);
        pause_ms(300);
        kill(pid, SIGINT);
        assert_int_equal(wait_for(pid), 130);
        char *said = read_file("../err");
        assert_string_equal(said, "luxfall: stopped; nothing was written\n");
        free(said);
        assert_int_equal(entries("stopped"), -1);
    }
    /* Twin: killed outright it does leave the folder. */
    pid_t pid = start(commands[0], -1, -1);
    for (int j = 0; j < 5000 && entries("stopped") < 0; j++)
        pause_ms(1);
    kill(pid, SIGKILL);
    assert_int_equal(waitpid(pid, NULL, 0), pid);
    assert_int_not_equal(entries("stopped"), -1);
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(directly_every_number_is_that_of_trace),
        cmocka_unit_test(by_rays_every_number_and_band_is_that_of_trace),
        cmocka_unit_test(threads_change_nothing),
        cmocka_unit_test(sweeps_follow_the_laws_of_a_small_source),
        cmocka_unit_test(light_is_in_proportion_to_the_count),
        cmocka_unit_test(the_best_aim_is_that_of_a_fine_scan),
        cmocka_unit_test(the_curve_over_aims_is_that_of_an_own_quadrature),
        cmocka_unit_test(the_price_of_an_aim_is_traced),
        cmocka_unit_test(a_limit_is_crossed_where_the_law_says),
        cmocka_unit_test(verdicts_in_words),
        cmocka_unit_test(idle_numbers_are_told),
        cmocka_unit_test(the_end_of_a_range_is_told),
        cmocka_unit_test(points_over_the_limit_are_told),
        cmocka_unit_test(a_long_table_is_shortened_and_says_so),
        cmocka_unit_test(over_a_current_lux_and_lux_per_watt_are_told),
        cmocka_unit_test(two_numbers_make_a_grid),
        cmocka_unit_test(a_folder_gets_every_file_and_json_stands_alone),
        cmocka_unit_test(every_mistake_has_its_message),
        cmocka_unit_test(warnings_come_once),
        cmocka_unit_test(what_cannot_be_written_is_told_and_leaves_nothing),
        cmocka_unit_test(a_signal_leaves_nothing),
    };
    return cmocka_run_group_tests(tests, enter_scratch, leave_scratch);
}
