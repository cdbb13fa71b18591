/* Files of one run appear together or not at all. The contract is the house's own. */
#include "run.h"

#include "render/commands/outputs.h"

static void write_text(const char *path, const char *text) {
    FILE *file = fopen(path, "w");
    assert_non_null(file);
    fputs(text, file);
    assert_int_equal(fclose(file), 0);
}

static void assert_text(const char *path, const char *wanted) {
    char *text = read_file(path);
    assert_non_null(text);
    assert_string_equal(text, wanted);
    free(text);
}

static void stage(struct outputs *outputs, const char *path, const char *text) {
    struct figure_error error = {0};
    const char *staged = outputs_stage(outputs, path, &error);
    assert_non_null(staged);
    write_text(staged, text);
}

static void all_move_together(void **state) {
    (void)state;
    struct outputs outputs = {NULL};
    struct figure_error error = {0};
    assert_int_equal(outputs_folder(&outputs, "x/y", &error), 0);
    write_text("x/y/one", "old");
    stage(&outputs, "x/y/one", "new");
    stage(&outputs, "x/y/two", "new");
    assert_text("x/y/one", "old");
    assert_int_not_equal(access("x/y/two", F_OK), 0);
    assert_int_equal(outputs_commit(&outputs, &error), 0);
    outputs_release(&outputs);
    assert_text("x/y/one", "new");
    assert_text("x/y/two", "new");
    assert_int_equal(entries("x/y"), 2);
}

/* One place refuses after others were filled: all stand as they stood. Staged last, a place is filled first. */
static void a_refused_place_takes_all_back(void **state) {
    (void)state;
    struct outputs outputs = {NULL};
    struct figure_error error = {0};
    assert_int_equal(outputs_folder(&outputs, "r", &error), 0);
    write_text("r/old", "old");
    stage(&outputs, "r/taken", "new");
    stage(&outputs, "r/old", "new");
    stage(&outputs, "r/fresh", "new");
    unlink(outputs_stage(&outputs, "r/spare", &error)); /* never written: nothing to move */
    assert_int_not_equal(outputs_commit(&outputs, &error), 0);
    assert_non_null(strstr(error.text, "r/spare"));
    outputs_release(&outputs);
    assert_text("r/old", "old");
    assert_int_equal(entries("r"), 1);
}

static void discarded_outputs_leave_no_folder(void **state) {
    (void)state;
    struct outputs outputs = {NULL};
    struct figure_error error = {0};
    assert_int_equal(outputs_folder(&outputs, "d/e/f", &error), 0);
    stage(&outputs, "d/e/f/one", "new");
    assert_int_equal(entries("d/e/f"), 1); /* twin: before, something is there */
    outputs_release(&outputs);
    assert_int_equal(entries("d"), -1);
}

static void errors_name_the_place(void **state) {
    (void)state;
    struct outputs outputs = {NULL};
    struct figure_error error = {0};
    const char *staged = outputs_stage(&outputs, "place.png", &error);
    snprintf(error.text, sizeof error.text, "%s: disk full", staged);
    outputs_name_place(&outputs, &error);
    assert_string_equal(error.text, "place.png: disk full");
    assert_null(outputs_stage(&outputs, "nowhere/place.png", &error));
    assert_int_equal(error.status, 1);
    assert_non_null(strstr(error.text, "nowhere/place.png"));
    outputs_release(&outputs);
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(all_move_together),
        cmocka_unit_test(a_refused_place_takes_all_back),
        cmocka_unit_test(discarded_outputs_leave_no_folder),
        cmocka_unit_test(errors_name_the_place),
    };
    return cmocka_run_group_tests(tests, enter_scratch, leave_scratch);
}
