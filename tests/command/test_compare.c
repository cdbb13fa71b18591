/* luxfall compare as its users meet it. Every number of a candidate is held against luxfall trace of the scene
 * written out for it; watts against P = U I, their definition; files and messages against the house's contract. */
#include "run.h"

#include <jansson.h>
#include <math.h>

/* Invented parts. "even" has the same voltage at every current, so that watts can be worked out by hand. */
static const char scene_text[] =
    "title: Candidates\n"
    "emitters:\n"
    "  plain: {surface: 1 mm x 1 mm, flux: 80 lm}\n"
    "  even: {surface: 1.2 mm x 1.2 mm, drive: even.csv, price: 2 coins}\n"
    "  steep: {surface: 1.5 mm x 1.5 mm, drive: steep.csv, price: 3 coins}\n"
    "lenses:\n"
    "  narrow: {beam_angle: 14 deg, efficiency: 86 %, face: disc 18 mm, price: 1 coins}\n"
    "  medium: {beam_angle: 24 deg, efficiency: 84 %, face: disc 18 mm, price: 4 coins}\n"
    "  wide/low: {beam_angle: 38 deg, efficiency: 80 %, face: disc 18 mm, price: 1 coins}\n"
    "modules:\n"
    "  - name: ring\n"
    "    emitter: even\n"
    "    lens: medium\n"
    "    current: 350 mA\n"
    "    ring: {count: 4, distance: 165 mm, incidence: 38 deg}\n"
    "    aim: centre\n"
    "target: {size: 400 mm x 400 mm, cell: 5 mm, levels: [0 mm, 10 mm]}\n"
    "fields:\n"
    "  - {name: whole, size: 36 mm x 27 mm}\n"
    "  - {name: small, size: disc 9 mm}\n"
    "rays: 60000\n"
    "seed: 5\n";
static const char even_text[] = "current_mA,voltage_V,flux_lm\n100,3,40\n350,3,120\n700,3,210\n1000,3,270\n";
static const char steep_text[] = "current_mA,voltage_V,flux_lm\n200,2.7,70\n500,2.9,160\n900,3.2,250\n";

static void put_file(const char *path, const char *text) {
    FILE *file = fopen(path, "w");
    assert_non_null(file);
    assert_true(fputs(text, file) >= 0);
    assert_int_equal(fclose(file), 0);
}

static int enter(void **state) {
    if (enter_scratch(state) != 0)
        return -1;
    put_file("lamp.yaml", scene_text);
    put_file("even.csv", even_text);
    put_file("steep.csv", steep_text);
    return 0;
}

static json_t *load(const char *path) {
    json_error_t error;
    json_t *json = json_load_file(path, 0, &error);
    if (!json)
        print_message("%s:%d: %s\n", path, error.line, error.text);
    assert_non_null(json);
    return json;
}

static const json_t *candidate_named(const json_t *comparison, const char *name) {
    size_t i;
    json_t *candidate;
    json_array_foreach(json_object_get(comparison, "candidates"), i,
                       candidate) if (strcmp(json_string_value(json_object_get(candidate, "name")), name) ==
                                      0) return candidate;
    return NULL;
}

/* ---- equal numbers --------------------------------------------------------------------------------------------- */

struct pick {
    const char *lens, *emitter;
    double current_ma;
};

/* The scene of one candidate, changed by hand, as luxfall check writes it out. */
static void write_out(const struct pick *pick, const char *path) {
    struct outcome outcome = run("sed -e 's|^    lens:.*|    lens: %s|' -e 's|^    emitter:.*|    emitter: %s|' -e "
                                 "'s|^    current:.*|    current: %.10g mA|' lamp.yaml > edited.yaml && "
                                 "luxfall check edited.yaml > %s",
                                 pick->lens, pick->emitter, pick->current_ma, path);
    assert_int_equal(outcome.status, 0);
    forget(&outcome);
}

/* Modules, planes and method of luxfall trace are those of the candidate, to the last digit of the files. */
static bool traced_alike(const struct pick *pick, const json_t *candidate, const char *way) {
    static const char *const keys[] = {"method", "seed", "rays_traced", "leaving_lm", "modules", "planes"};
    write_out(pick, "written.yaml");
    struct outcome outcome = run("luxfall trace written.yaml %s --json written.json", way);
    assert_int_equal(outcome.status, 0);
    forget(&outcome);
    json_t *traced = load("written.json"), *compared = json_object_get(candidate, "statistics");
    bool alike = true;
    for (size_t i = 0; i < sizeof keys / sizeof *keys; i++) {
        const json_t *value = json_object_get(traced, keys[i]);
        assert_non_null(value);
        alike &= json_equal(value, json_object_get(compared, keys[i])) == 1;
    }
    json_decref(traced);
    return alike;
}

static uint32_t draw(uint32_t *state, uint32_t below) {
    *state = *state * 1664525u + 1013904223u; /* any spread will do */
    return (*state >> 8) % below;
}

static void every_number_is_that_of_trace(void **state) {
    (void)state;
    static const char *const lenses[] = {"narrow", "medium", "wide/low"}, *const emitters[] = {"even", "steep"};
    uint32_t random = 20260;
    for (int round = 0; round < 4; round++) {
        const char *way = round % 2 ? "--seed 11 --rays 40000" : "--method direct";
        const char *first = lenses[draw(&random, 3)], *second = lenses[draw(&random, 3)];
        if (first == second)
            second = first == lenses[0] ? lenses[2] : lenses[0];
        int low_ma = 200 + (int)draw(&random, 300), high_ma = 500 + (int)draw(&random, 400);
        struct outcome outcome =
            run("luxfall compare lamp.yaml --lenses '%s, %s' --emitters even,steep --at 'current "
                "%d mA, %d mA' %s --json both.json",
                first, second, low_ma, high_ma, way);
        assert_int_equal(outcome.status, 0);
        forget(&outcome);
        json_t *comparison = load("both.json");
        assert_int_equal(json_array_size(json_object_get(comparison, "candidates")), 8);
        for (int i = 0; i < 8; i++) {
            struct pick pick = {i & 1 ? first : second, emitters[i / 2 % 2], i & 4 ? low_ma : high_ma};
            char name[200];
            snprintf(name, sizeof name, "%s, %s, %.0f mA", pick.lens, pick.emitter, pick.current_ma);
            const json_t *candidate = candidate_named(comparison, name);
            assert_non_null(candidate);
            assert_true(traced_alike(&pick, candidate, way));
            /* Twins: a current that is a little off, and another lens. */
            struct pick other = pick;
            other.current_ma += 0.001;
            assert_false(traced_alike(&other, candidate, way));
            other = pick;
            other.lens = i & 1 ? second : first;
            assert_false(traced_alike(&other, candidate, way));
        }
        json_decref(comparison);
    }
}

/* Twin of the seed: the same scene with another one is another sample. */
static void another_seed_is_told_apart(void **state) {
    (void)state;
    struct outcome outcome = run("luxfall compare lamp.yaml --lenses narrow,medium --seed 3 --json seed.json");
    assert_int_equal(outcome.status, 0);
    forget(&outcome);
    json_t *comparison = load("seed.json");
    const struct pick pick = {"narrow", "even", 350};
    assert_true(traced_alike(&pick, candidate_named(comparison, "narrow"), "--seed 3"));
    assert_false(traced_alike(&pick, candidate_named(comparison, "narrow"), "--seed 4"));
    json_decref(comparison);
}

/* ---- equal watts ----------------------------------------------------------------------------------------------- */

static double number_of(const json_t *object, const char *key) {
    const json_t *value = json_object_get(object, key);
    return json_is_number(value) ? json_number_value(value) : NAN;
}

static bool draws(const json_t *comparison, const char *name, double current_a, double power_w) {
    const json_t *lamp = json_object_get(candidate_named(comparison, name), "lamp");
    return fabs(number_of(lamp, "power_w") / power_w - 1) < 1e-8 && /* nine digits are written */
           (isnan(current_a) || fabs(number_of(lamp, "current_a") / current_a - 1) < 1e-8);
}

/* P = U I is the definition of power: four modules at 3 V draw 6 W at 0.5 A each. */
static void watts_are_those_of_the_whole_lamp(void **state) {
    (void)state;
    struct outcome outcome =
        run("luxfall compare lamp.yaml --emitters even,steep --at '6 W, 7.5 W' --method direct --json watts.json");
    assert_string_equal(outcome.err, "");
    assert_int_equal(outcome.status, 0);
    forget(&outcome);
    json_t *comparison = load("watts.json");
    assert_true(draws(comparison, "even, 6 W", 6.0 / (4 * 3), 6));
    assert_true(draws(comparison, "even, 7.5 W", 7.5 / (4 * 3), 7.5));
    assert_true(draws(comparison, "steep, 6 W", NAN, 6));
    assert_true(draws(comparison, "steep, 7.5 W", NAN, 7.5));
    assert_true(traced_alike(&(struct pick){"medium", "even", 500}, candidate_named(comparison, "even, 6 W"),
                             "--method direct"));
    /* Twins: watts a module, and the current of one module for all. */
    assert_false(draws(comparison, "even, 6 W", 6.0 / 3, 6));
    assert_false(draws(comparison, "even, 6 W", 6.0 / (4 * 3), 24));
    json_decref(comparison);
}

/* At the scene's own current, 150 mA, "steep" is not known: watts do not ask for it. */
static void watts_do_not_ask_for_the_current_as_written(void **state) {
    (void)state;
    struct outcome outcome = run("sed 's/current: 350 mA/current: 150 mA/' lamp.yaml > low.yaml && luxfall compare "
                                 "low.yaml --emitters even,steep --at '6 W' --method direct --json low.json");
    assert_string_equal(outcome.err, "");
    assert_int_equal(outcome.status, 0);
    forget(&outcome);
    json_t *comparison = load("low.json");
    assert_true(draws(comparison, "even, 6 W", 6.0 / (4 * 3), 6));
    assert_true(draws(comparison, "steep, 6 W", NAN, 6));
    json_decref(comparison);
    outcome = run("luxfall compare low.yaml --emitters even,steep --method direct");
    assert_int_equal(outcome.status, 2); /* the twin: without watts the current as written is asked for */
    forget(&outcome);
}

/* One module dark: three share the watts. */
static void dark_modules_draw_nothing(void **state) {
    (void)state;
    struct outcome outcome = run("sed 's/^    aim: centre/    aim: centre\\n    dark: [2]/' lamp.yaml > dark.yaml && "
                                 "luxfall compare lamp.yaml dark.yaml --at '6 W' --method direct --json dark.json");
    assert_int_equal(outcome.status, 0);
    forget(&outcome);
    json_t *comparison = load("dark.json");
    assert_true(draws(comparison, "lamp, 6 W", 6.0 / (4 * 3), 6));
    assert_true(draws(comparison, "dark, 6 W", 6.0 / (3 * 3), 6));
    assert_false(draws(comparison, "dark, 6 W", 6.0 / (4 * 3), 6));
    json_decref(comparison);
}

/* ---- files ----------------------------------------------------------------------------------------------------- */

static int lines_of(const char *path, const char *begin) {
    char *text = read_file(path);
    int count = 0;
    assert_non_null(text);
    for (const char *line = text; line; line = strchr(line, '\n') ? strchr(line, '\n') + 1 : NULL)
        count += strncmp(line, begin, strlen(begin)) == 0 && *line;
    free(text);
    return count;
}

/* The cell of a row that begins so, under a heading; cells with commas stand in quotes. */
static double csv_number(const char *path, const char *row, const char *heading) {
    char *text = read_file(path);
    double found = NAN;
    int column = 0;
    assert_non_null(text);
    char *end = strchr(text, '\n'), *at = strstr(text, heading);
    assert_true(at && end && at < end);
    for (const char *c = text; c < at; c++)
        column += *c == ',';
    char *line = strstr(end, row);
    assert_non_null(line);
    for (bool quoted = false; *line && *line != '\n' && column > 0; line++) {
        quoted ^= *line == '"';
        column -= *line == ',' && !quoted;
    }
    if (*line != ',' && *line != '\r')
        found = strtod(line, NULL);
    free(text);
    return found;
}

static void the_folder_holds_pictures_tables_and_candidates(void **state) {
    (void)state;
    struct outcome outcome =
        run("luxfall compare lamp.yaml --lenses 'narrow, wide/low' --at '350 mA' --method direct --out both");
    assert_int_equal(outcome.status, 0);
    /* Three pictures of either level, two tables, two folders of one statistics.json and four files a level. */
    assert_int_equal(entries("both"), 2 * 3 + 2 + 2);
    assert_int_equal(entries("both/narrow, 350 mA"), 1 + 2 * 4);
    assert_int_equal(entries("both/wide-low, 350 mA"), 1 + 2 * 4);
    assert_non_null(strstr(outcome.out, "wide/low, 350 mA"));
    forget(&outcome);
    /* A row a candidate for the map and each of the two fields, of either level. */
    assert_int_equal(lines_of("both/compare.md", "| narrow, 350 mA |"), 2 * 3);
    assert_int_equal(lines_of("both/compare.md", "## level"), 2);
    assert_int_equal(lines_of("both/compare.md", "caution"), 1);
    assert_int_equal(lines_of("both/compare.csv", "\"wide/low, 350 mA\","), 2 * 2);
    json_t *statistics = load("both/narrow, 350 mA/statistics.json");
    const json_t *plane = json_array_get(json_object_get(statistics, "planes"), 1);
    const json_t *field = json_array_get(json_object_get(plane, "fields"), 0);
    const char *row = "\"narrow, 350 mA\",10,whole,";
    assert_true(csv_number("both/compare.csv", row, "U0") == number_of(field, "minimum_over_average"));
    assert_true(csv_number("both/compare.csv", row, "spot") ==
                number_of(json_object_get(plane, "spot"), "half_peak_diameter_mm"));
    assert_false(csv_number("both/compare.csv", "\"narrow, 350 mA\",0,whole,", "U0") ==
                 number_of(field, "minimum_over_average"));
    json_decref(statistics);
}

static void what_nobody_knows_has_no_column(void **state) {
    (void)state;
    struct outcome known = run("luxfall compare lamp.yaml --lenses narrow,medium --method direct");
    assert_int_equal(known.status, 0);
    assert_non_null(strstr(known.out, "lx/W"));
    assert_non_null(strstr(known.out, "coins"));
    struct outcome unknown =
        run("grep -v '    current:' lamp.yaml | sed 's/, price: [0-9] coins//' > unpriced.yaml && luxfall "
            "compare unpriced.yaml --lenses narrow,medium --emitters plain --method direct");
    assert_int_equal(unknown.status, 0);
    assert_null(strstr(unknown.out, "lx/W"));
    assert_null(strstr(unknown.out, "coins"));
    forget(&known);
    forget(&unknown);
}

/* Marks that stand in a column of the first table, of two candidates. */
static int marks_in_column(const char *text, const char *heading) {
    const char *head = strstr(text, heading);
    assert_non_null(head);
    const char *line = head;
    while (line > text && line[-1] != '\n')
        line--;
    ptrdiff_t column = head - line;
    int marks = 0;
    for (int row = 0; row < 2; row++) {
        line = strchr(line, '\n') + 1;
        for (const char *at = line + column; *at != '\n' && at < line + column + (ptrdiff_t)strlen(heading); at++)
            marks += *at == '*';
    }
    return marks;
}

/* A price that only one candidate has is no best. */
static void one_known_value_is_no_best(void **state) {
    (void)state;
    struct outcome both = run("luxfall compare lamp.yaml --lenses narrow,medium --method direct");
    struct outcome one = run("sed 's/, price: 4 coins//' lamp.yaml > half.yaml && luxfall compare half.yaml --lenses "
                             "narrow,medium --method direct");
    assert_int_equal(one.status, 0);
    assert_true(marks_in_column(both.out, "price, coins") == 1);
    assert_true(marks_in_column(one.out, "price, coins") == 0);
    forget(&both);
    forget(&one);
}

static void a_difference_is_made_of_the_two_that_are_named(void **state) {
    (void)state;
    struct outcome outcome = run("luxfall compare lamp.yaml --lenses narrow,medium,wide/low --at '350 mA' --method "
                                 "direct --difference 'medium, 350 mA, wide/low, 350 mA' --out named");
    assert_string_equal(outcome.err, "");
    assert_int_equal(outcome.status, 0);
    assert_int_equal(access("named/difference_0mm.png", R_OK), 0);
    forget(&outcome);
    /* Of three nobody has named two: none. */
    outcome = run("luxfall compare lamp.yaml --lenses narrow,medium,wide/low --method direct --out unnamed");
    assert_int_equal(outcome.status, 0);
    assert_int_not_equal(access("unnamed/difference_0mm.png", R_OK), 0);
    forget(&outcome);
}

/* ---- mistakes -------------------------------------------------------------------------------------------------- */

static const struct row mistakes[] = {
    {"luxfall compare lamp.yaml", 2, "at least two scenes"},
    {"luxfall compare lamp.yaml lamp.yaml", 2, "the same name, 'lamp'"},
    {"luxfall compare lamp.yaml --lenses narrow", 2, "at least two"},
    {"luxfall compare lamp.yaml --lenses narrow,,wide", 2, "--lenses:1:8: error: an empty name"},
    {"luxfall compare lamp.yaml --lenses narrow,medum", 2, "did you mean 'medium'"},
    {"luxfall compare lamp.yaml --lenses narrow,wide/low --emitters even,evn", 2,
     "--emitters:1:1: error: no emitter is named 'evn'; did you mean 'even'?"},
    {"luxfall compare lamp.yaml lamp.yaml --emitters even,steep", 2, "--emitters goes with one SCENE"},
    {"luxfall compare lamp.yaml --lenses narrow,narrow", 2, "the same name, 'narrow'"},
    {"luxfall compare lamp.yaml --at '350 mA, 350 mA'", 2, "--at:1:9: error: 350 mA stands twice"},
    {"luxfall compare lamp.yaml --lenses narrow,wide/low --at '350 mA, 9 A'", 2, "--at:1:9: error: emitter 'even'"},
    {"luxfall compare lamp.yaml --emitters even,plain --at '350 mA'", 2, "plain"},
    {"luxfall compare lamp.yaml --at '350 mA, 3 mm'", 2, "--at:1:11: error"},
    {"luxfall compare lamp.yaml --at '6 W, 900 W'", 2, "--at:1:6: error: 900 W is outside"},
    {"luxfall compare lamp.yaml --emitters plain,even --at '6 W'", 2, "plain"},
    {"luxfall compare lamp.yaml --lenses narrow,medium,wide/low --emitters even,steep --at '201 mA, 202 mA, 203 mA, "
     "204 mA, 205 mA'",
     2, "30 candidates"},
    {"luxfall compare lamp.yaml --lenses narrow,medium --difference narrow,medium", 2, "give --out DIR too"},
    {"luxfall compare lamp.yaml --lenses narrow,medium --difference narrow,wide --out no", 2,
     "--difference:1:1: error"},
    {"luxfall compare lamp.yaml --lenses narrow,medium --difference narrow,narrow --out no", 2,
     "does not differ from itself"},
    {"sed 's/levels: .*}/level: 5 mm}/' lamp.yaml > five.yaml; luxfall compare lamp.yaml five.yaml", 2, "levels"},
    {"luxfall compare lamp.yaml --lenses narrow,medium --method direct --out lamp.yaml", 1, "lamp.yaml"},
    {"luxfall compare lamp.yaml --lenses narrow,medium --method direct --out no > /dev/full", 1, "No space left"},
    {"luxfall compare lamp.yaml --lenses narrow,medium --method direct --json /dev/full", 1, "No space left"},
    {"luxfall compare lamp.yaml --lenses narrow,medium --method direct --json lamp.yaml/x", 1, "lamp.yaml/x"},
};

static void every_mistake_has_its_message_and_leaves_nothing(void **state) {
    (void)state;
    bool right = true;
    for (size_t i = 0; i < sizeof mistakes / sizeof *mistakes; i++)
        right &= fails_as(&mistakes[i]);
    assert_true(right);
    assert_int_equal(entries("no"), -1);
    /* Twins: a run that succeeds, words that are not said. */
    assert_false(fails_as(&(struct row){"luxfall compare lamp.yaml --at '350 mA, 500 mA' --method direct", 2, ""}));
    assert_false(fails_as(&(struct row){"luxfall compare lamp.yaml", 2, "the same name"}));
}

/* Twenty levels of many cells take long enough to be stopped while they are traced beside each other. */
static void a_signal_leaves_nothing(void **state) {
    (void)state;
    struct outcome outcome =
        run("sed -e 's/cell: 5 mm/cell: 2 mm/' -e \"s/levels: .*]/levels: [$(seq -s ' mm, ' 20) mm]/\" lamp.yaml > "
            "slow.yaml; timeout --preserve-status -s INT 0.4 luxfall compare slow.yaml --lenses "
            "narrow,medium,wide/low --at '300 mA, 400 mA, 500 mA' --method direct --out stopped");
    assert_int_equal(outcome.status, 130);
    assert_string_equal(outcome.out, "");
    assert_non_null(strstr(outcome.err, "stopped; nothing was written"));
    assert_int_equal(entries("stopped"), -1);
    forget(&outcome);
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(every_number_is_that_of_trace),
        cmocka_unit_test(another_seed_is_told_apart),
        cmocka_unit_test(watts_are_those_of_the_whole_lamp),
        cmocka_unit_test(watts_do_not_ask_for_the_current_as_written),
        cmocka_unit_test(dark_modules_draw_nothing),
        cmocka_unit_test(the_folder_holds_pictures_tables_and_candidates),
        cmocka_unit_test(what_nobody_knows_has_no_column),
        cmocka_unit_test(one_known_value_is_no_best),
        cmocka_unit_test(a_difference_is_made_of_the_two_that_are_named),
        cmocka_unit_test(every_mistake_has_its_message_and_leaves_nothing),
        cmocka_unit_test(a_signal_leaves_nothing),
    };
    return cmocka_run_group_tests(tests, enter, leave_scratch);
}
