/* Tables of meter readings: what is taken, and every refusal word for word. */
#include "unit/readings_text.h"
#include "unit/scene_text.h"

#include <math.h>

struct outcome_of_table {
    struct scene *scene;
    bool good;
    char *said;
};

static struct outcome_of_table take(const char *table, double head_mm) {
    struct messages messages = {0};
    struct outcome_of_table taken = {0};
    taken.scene = scene_with_readings(readings_scene, table, strlen(table), head_mm, &messages, &taken.good);
    assert_non_null(taken.scene);
    taken.said = printed(&messages);
    messages_clear(&messages);
    return taken;
}

static void done(struct outcome_of_table *taken) {
    free(taken->said);
    scene_free(taken->scene);
}

static void assert_says(const char *table, bool good, const char *expected) {
    struct outcome_of_table taken = take(table, 10);
    if (taken.good != good || strncmp(taken.said, expected, strlen(expected)) != 0)
        fail_msg("of\n%s\nexpected\n%s\nand it said (%s)\n%s", table, expected, taken.good ? "taken" : "refused",
                 taken.said);
    done(&taken);
}

static void a_cross_is_read(void **state) {
    (void)state;
    struct outcome_of_table taken =
        take("# stage_distance_mm: 100\n# meter_aperture_mm: 12\n# dark_lux: 2.5\nx_mm,y_mm,lux\n"
             "0,0,10250\n10,0,9870\n-10,0,9905\n0,10,9840\n0,-10,9890\n",
             0);
    assert_true(taken.good);
    assert_string_equal(taken.said, "");
    assert_int_equal(taken.scene->reading_count, 5);
    assert_true(taken.scene->head_mm == 12 && taken.scene->dark_lx == 2.5);
    const struct scene_reading *reading = &taken.scene->readings[2];
    assert_true(reading->lx == 9902.5 && reading->taken.x_mm == -10 && reading->taken.head_mm == 12);
    assert_true(reading->taken.level_mm == 5); /* the scene's first level where none is said */
    assert_true(isnan(reading->u_lx) && isnan(reading->current_a) && reading->taken.dark == NULL);
    assert_true(reading->place.line == 7 && reading->place.column == 7);
    done(&taken);
}

/* 1 fc is 10.7639 lx, 1 in is 25.4 mm (definitions). */
static void units_stand_in_the_names(void **state) {
    (void)state;
    struct outcome_of_table taken = take("y_in;x_cm;fc;u_fc;level_cm\n1;2;100;3;-1\n", 10);
    assert_true(taken.good);
    const struct scene_reading *reading = taken.scene->readings;
    assert_true(reading->taken.x_mm == 20 && reading->taken.y_mm == 25.4 && reading->taken.level_mm == -10);
    assert_true(fabs(reading->lx - 1076.39) < 0.01 && fabs(reading->u_lx - 32.2917) < 0.001);
    done(&taken);
    taken = take("x_mm,y_mm,klx\n0,0,10.25\n", 10);
    assert_true(taken.good && taken.scene->readings[0].lx == 10250);
    done(&taken);
}

static void assert_lit(const char *module, const char *dark, const char *lit) {
    char table[200];
    snprintf(table, sizeof table, "x_mm,y_mm,lux,module,dark\n0,0,1,%s,%s\n", module, dark);
    struct outcome_of_table taken = take(table, 10);
    if (!taken.good)
        fail_msg("'%s' but '%s': %s", module, dark, taken.said);
    const bool *list = taken.scene->readings[0].taken.dark;
    for (size_t m = 0; m < 4; m++)
        assert_int_equal(list != NULL && list[m], lit[m] == '-');
    done(&taken);
}

static void modules_are_named_as_people_do(void **state) {
    (void)state;
    assert_lit("", "", "****");
    assert_lit("ring 2", "", "-*--");
    assert_lit("ring", "", "***-");
    assert_lit("back", "", "---*");
    assert_lit("ring", "ring 3", "**--");
    assert_lit("", "back", "***-");
    struct outcome_of_table taken = take("x_mm,y_mm,lux,module\n0,0,1,ring 1\n0,0,1,ring 2\n0,0,1,ring 1\n", 10);
    const struct scene_reading *readings = taken.scene->readings;
    assert_true(readings[0].taken.dark == readings[2].taken.dark && readings[0].taken.dark != readings[1].taken.dark);
    done(&taken);
}

static void one_group_goes_by_numbers(void **state) {
    (void)state;
    struct messages messages = {0};
    bool good = false;
    const char *table = "x_mm,y_mm,lux,module\n0,0,1,8\n0,0,1,9\n";
    struct scene *scene = scene_with_readings(sound_scene, table, strlen(table), 10, &messages, &good);
    char *said = printed(&messages);
    assert_false(good);
    assert_string_equal(
        said, "b.csv:3:7: error: no module has the number 9; they count from 1 to 8\n    0,0,1,9\n          ^\n");
    assert_false(scene->readings[0].taken.dark[7]);
    assert_true(scene->readings[0].taken.dark[0]);
    free(said);
    messages_clear(&messages);
    scene_free(scene);
}

static void what_is_refused(void **state) {
    (void)state;
    static const struct {
        const char *table, *said;
    } slips[] = {
        {"1,2,3\n",
         "b.csv:1:1: error: the first row must name the columns with their units, such as 'x_mm,y_mm,lux'"},
        {"x_mm,y_mm,lux\n", "b.csv: error: no rows of numbers in this table"},
        {"", "b.csv: error: no rows of numbers in this table"},
        {"x_mm,y_mm,note\n0,0,a\n", "b.csv:1:1: error: no column lux (or klx, fc)"},
        {"x_mm,y_mm,lux,u_luxx\n0,0,1,1\n", "b.csv:1:15: error: no column is called 'u_luxx'; did you mean 'u_lux'?"},
        {"x_mm,x_in,y_mm,lux\n0,0,0,1\n", "b.csv:1:6: error: 'x_mm' and 'x_in' are one column twice"},
        {"x_mm,y_mm,lux\n0,0,ten\n", "b.csv:2:5: error: 'ten' does not begin with a number; a number is expected"},
        {"x_mm,y_mm,lux\n0,0,1 klx\n",
         "b.csv:2:5: error: '1 klx' is not a number alone; units stand in the column's name"},
        {"x_mm,y_mm,lux\n10001,0,1\n",
         "b.csv:2:1: error: x is 10001 mm; a place within 10000 mm of the centre is expected"},
        {"x_m,y_m,lux\n0,-11,1\n",
         "b.csv:2:3: error: y is -11000 mm; a place within 10000 mm of the centre is expected"},
        {"x_mm,y_mm,klx\n0,0,1e5\n", "b.csv:2:5: error: 1e+08 lx is more than the sun by far; at most 1e+07 lx"},
        {"x_mm,y_mm,lux\n0,0,-0.1\n",
         "b.csv:2:5: error: -0.1 lx is below 0 by more than three times the dark reading of 0 lx"},
        {"# dark_lux: 2\nx_mm,y_mm,lux\n0,0,-6.1\n",
         "b.csv:3:5: error: -6.1 lx is below 0 by more than three times the dark reading of 2 lx"},
        {"x_mm,y_mm,lux,u_lux\n0,0,5,1\n0,0,5,\n",
         "b.csv:3:5: error: this reading has no u_lux; give it for every reading or for none"},
        {"x_mm,y_mm,lux,u_lux\n0,0,5,0\n", "b.csv:2:7: error: a standard uncertainty of 0 lx; it must be above 0"},
        {"x_mm,y_mm,lux,module\n0,0,5,ring 4\n", "b.csv:2:7: error: no module is called 'ring 4'; did you mean 'ring "
                                                 "1'?: a module such as 'back', or a group "
                                                 "such as 'ring', is expected"},
        {"x_mm,y_mm,lux,module,dark\n0,0,5,ring 1,ring\n", "b.csv:2:14: error: no module is lit here"},
        {"x_mm,y_mm,lux,current_mA\n0,0,5,0\n", "b.csv:2:7: error: a current of 0 A; it must be above 0"},
        {"x_mm,y_mm,lux,current_mA\n0,0,5,500\n",
         "b.csv:2:7: error: emitter 'die' is known at 350 mA alone, not at 500 mA: flux does not grow with the "
         "current in proportion; 'drive: led.csv' takes a table of currents"},
        {"# meter_aperture_mm: ten\nx_mm,y_mm,lux\n0,0,5\n", "b.csv:1:3: error: '# meter_aperture_mm: ten': a number "
                                                             "from 0.1 to 1000 is expected; the unit stands in the "
                                                             "name"},
        {"# meter_aperture_mm: 12\nx_mm,y_mm,lux\n0,0,5\n",
         "b.csv:1:3: error: the meter's head is 12 mm here and 10 mm in the scene"},
        {"# dark_lux: -1\nx_mm,y_mm,lux\n0,0,5\n",
         "b.csv:1:3: error: '# dark_lux: -1': a number from 0 to 1e+07 is expected; the unit stands in the name"},
    };
    for (size_t i = 0; i < sizeof slips / sizeof *slips; i++)
        assert_says(slips[i].table, false, slips[i].said);
}

static void what_is_only_told(void **state) {
    (void)state;
    assert_says("x_mm,y_mm,lux,time\n0,0,5,12:30\n", true, "b.csv:1:15: warning: the column 'time' is not read");
    assert_says(
        "# stage_distance_mm: 150\nx_mm,y_mm,lux\n0,0,5\n", true,
        "b.csv:1:3: warning: the stage stood 150 mm from the lamp, the scene's modules stand 120.416 mm from the "
        "centre: light goes with the square of that");
    assert_says("x_mm,y_mm,lux,current_mA\n0,0,5,350\n", true, "");
}

static void a_head_must_be_known(void **state) {
    (void)state;
    struct outcome_of_table taken = take("x_mm,y_mm,lux\n0,0,5\n", 0);
    assert_false(taken.good);
    assert_string_equal(taken.said,
                        "s.yaml:1:11: error: the diameter of the meter's head is not known: write 'readings: {file: "
                        "b.csv, head: 10 mm}' here, or '# meter_aperture_mm: 10' in that file\n    readings: b.csv\n"
                        "              ^\n");
    done(&taken);
}

static void the_key_is_read_as_written(void **state) {
    (void)state;
    assert_slip("seed: 1", "readings: b.csv", "s.yaml:14:11: error: no other file is opened here");
    assert_slip("seed: 1", "readings: {head: 10 mm}", "s.yaml:14:1: error: missing key 'file'");
    assert_slip("seed: 1", "readings: {file: b.csv, heads: 10 mm}",
                "s.yaml:14:25: error: unknown key 'heads' in readings; did you mean 'head'?");
    assert_slip("seed: 1", "readings: {file: b.csv, head: 10}",
                "s.yaml:14:31: error: '10' has no unit; a length takes um, mm, cm, m or in, for instance 10 mm");
    assert_slip("seed: 1", "readings: {file: b.csv, head: 2 m}",
                "s.yaml:14:31: error: 'head' is 2000 mm; it must be at least 0.1 mm and at most 1000 mm");
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(a_cross_is_read),
        cmocka_unit_test(units_stand_in_the_names),
        cmocka_unit_test(modules_are_named_as_people_do),
        cmocka_unit_test(one_group_goes_by_numbers),
        cmocka_unit_test(what_is_refused),
        cmocka_unit_test(what_is_only_told),
        cmocka_unit_test(a_head_must_be_known),
        cmocka_unit_test(the_key_is_read_as_written),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
