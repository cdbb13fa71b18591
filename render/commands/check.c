/* luxfall check: a scene read and checked; printed with every default, and the bracket figures of its modules. */
#include "tracing.h"

#include "text.h"

#include <math.h>

static const struct option check_options[] = {{NULL, NULL, NULL, NULL, NULL, 0}};

static void degrees_cell(char *cell, double angle_rad) {
    snprintf(cell, TEXT_CELL, isnan(angle_rad) ? "-" : "%.2f deg", angle_rad * 57.295779513082321);
}

static void bracket_row(const struct text_table *table, size_t row, const struct luxfall_module *module) {
    struct luxfall_bracket bracket;
    luxfall_bracket(&module->pose, &bracket);
    text_table_put(table, row, 0, module->name);
    degrees_cell(text_table_cell(table, row, 1), bracket.lean_rad);
    degrees_cell(text_table_cell(table, row, 2), bracket.clock_rad);
    snprintf(text_table_cell(table, row, 3), TEXT_CELL, isnan(bracket.distance_mm) ? "-" : "%.2f mm",
             bracket.distance_mm);
    degrees_cell(text_table_cell(table, row, 4), bracket.incidence_rad);
    snprintf(text_table_cell(table, row, 5), TEXT_CELL, isnan(bracket.aim_mm.x) ? "-" : "(%.2f, %.2f) mm",
             bracket.aim_mm.x + 0.0, bracket.aim_mm.y + 0.0);
}

static int print_brackets(const struct luxfall_scene *light) {
    static const char *const headings[] = {"module", "lean", "clock angle", "lens to spot", "incidence", "aimed at"};
    struct text_table table;
    if (text_table_init(&table, light->module_count + 1, 6) != 0) {
        fputs("luxfall check: error: out of memory\n", stderr);
        return EXIT_MACHINE;
    }
    for (size_t i = 0; i < 6; i++)
        text_table_put(&table, 0, i, headings[i]);
    for (size_t i = 0; i < light->module_count; i++)
        bracket_row(&table, i + 1, &light->modules[i]);
    puts("\n# Bracket figures: lean of the axis from vertical; clock angle of the module's foot, counter-clockwise "
         "from\n"
         "# +x; lens to spot along the axis; incidence of the axis on the plane, from its normal.");
    text_table_print(&table, "# ", stdout);
    text_table_release(&table);
    return EXIT_DONE;
}

static int check(const struct option_value *values, const char *const *words) {
    (void)values;
    struct traced traced;
    int status = traced_read(&traced, words[0]);
    if (status == 0 && scene_write(traced.scene, stdout) != 0) {
        fputs("luxfall check: error: the scene could not be written\n", stderr);
        status = EXIT_MACHINE;
    }
    if (status == 0)
        status = print_brackets(&traced.scene->light);
    traced_release(&traced);
    return status;
}

const struct command command_check = {
    .name = "check",
    .words = "SCENE",
    .summary = "check a scene; print it with every default, and the bracket figures of its modules",
    .about =
        "Reads the scene, tells every mistake at its line and column, and prints the scene with every default "
        "written "
        "out. The output is itself a valid scene; the bracket figures of every module (lean from vertical, clock "
        "angle, lens-to-spot distance, incidence) follow as comments.",
    .words_min = 1,
    .words_max = 1,
    .words_completion = COMPLETE_SCENE,
    .options = check_options,
    .run = check,
};
