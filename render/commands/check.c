/* luxfall check: a scene read and checked; printed with every default, and the bracket figures of its modules. */
#include "tracing.h"

#include "as_solid.h"
#include "render/figures/bracket_kinds.h"
#include "report.h"
#include "stop.h"
#include "text.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

enum { CHECK_OUT };
static const struct option check_options[] = {{"out", "DIR",
                                               "write bracket.png there, a workshop sheet for A4 landscape with "
                                               "plan, side views and table; bracket-2.png and so "
                                               "on when the table is long; the folder is made when missing",
                                               value_text, NULL, COMPLETE_FOLDER},
                                              {NULL, NULL, NULL, NULL, NULL, 0}};

static void degrees_cell(char *cell, double angle_rad) {
    snprintf(cell, TEXT_CELL, isnan(angle_rad) ? "-" : "%.2f deg", angle_rad * 57.295779513082321);
}

static void hour_cell(char *cell, const struct luxfall_module *module, double clock_rad) {
    char hour[CLOCK_SIZE];
    clock_hour_text(clock_rad, hour);
    snprintf(cell, TEXT_CELL, "%s", bracket_above_centre(&module->pose) ? "-" : hour);
}

static void bracket_row(const struct text_table *table, size_t row, const struct luxfall_module *module) {
    struct luxfall_bracket bracket;
    luxfall_bracket(&module->pose, &bracket);
    text_table_put(table, row, 0, module->name);
    degrees_cell(text_table_cell(table, row, 1), bracket.lean_rad);
    degrees_cell(text_table_cell(table, row, 2), bracket.clock_rad);
    hour_cell(text_table_cell(table, row, 3), module, bracket.clock_rad);
    snprintf(text_table_cell(table, row, 4), TEXT_CELL, isnan(bracket.distance_mm) ? "-" : "%.2f mm",
             bracket.distance_mm);
    degrees_cell(text_table_cell(table, row, 5), bracket.incidence_rad);
    snprintf(text_table_cell(table, row, 6), TEXT_CELL, isnan(bracket.aim_mm.x) ? "-" : "(%.2f, %.2f) mm",
             bracket.aim_mm.x + 0.0, bracket.aim_mm.y + 0.0);
}

static int print_brackets(const struct luxfall_scene *light) {
    const char *to_spot = spot_heading(light->modules, light->module_count);
    const char *const headings[] = {"module", "lean", "clock angle", "hour", to_spot, "incidence", "aimed at"};
    enum { COLUMNS = sizeof headings / sizeof *headings };
    struct text_table table;
    if (text_table_init(&table, light->module_count + 1, COLUMNS) != 0) {
        fputs("luxfall check: error: out of memory\n", stderr);
        return EXIT_MACHINE;
    }
    for (size_t i = 0; i < COLUMNS; i++)
        text_table_put(&table, 0, i, headings[i]);
    for (size_t i = 0; i < light->module_count; i++)
        bracket_row(&table, i + 1, &light->modules[i]);
    printf("\n# Bracket figures: lean of the axis from vertical; clock angle of the module's foot, counter-clockwise "
           "from\n"
           "# +x, and as an hour with 12 at +y, seen from above; %s along the axis; incidence of the axis on the\n"
           "# plane, from its normal.\n",
           to_spot);
    text_table_print(&table, "# ", stdout);
    text_table_release(&table);
    return EXIT_DONE;
}

/* ---- the sheet ------------------------------------------------------------------------------------------------- */

static const char *stage_page(struct outputs *outputs, const char *folder, size_t number,
                              struct figure_error *error) {
    size_t size = strlen(folder) + sizeof "/bracket-99999.png";
    char *name = malloc(size);
    if (!name) {
        figure_fail(error, EXIT_MACHINE, "out of memory");
        return NULL;
    }
    snprintf(name, size, number == 1 ? "%s/bracket.png" : "%s/bracket-%zu.png", folder, number);
    const char *staged = outputs_stage(outputs, name, error);
    free(name);
    return staged;
}

static int write_sheet(const struct scene *scene, const char *folder, struct outputs *outputs,
                       struct figure_error *error) {
    const struct figure_style style = {0};
    size_t pages = 0;
    int status = figure_bracket_pages(scene, &style, &pages, error);
    if (status == 0)
        status = outputs_folder(outputs, folder, error);
    for (size_t number = 1; status == 0 && number <= pages; number++) {
        const char *path = stage_page(outputs, folder, number, error);
        status = path ? figure_bracket(path, scene, number, &style, error) : error->status;
    }
    return status;
}

static int print_scene(const struct scene *scene) {
    if (scene_write(scene, stdout) != 0) {
        fputs("luxfall check: error: the scene could not be written\n", stderr);
        return EXIT_MACHINE;
    }
    int status = print_brackets(&scene->light);
    if (status == 0)
        as_solid_print(&scene->light, stdout);
    return status ? status : report_flush("check");
}

static int check_into(const struct scene *scene, const char *folder, struct outputs *outputs) {
    struct figure_error error = {0};
    if (folder && write_sheet(scene, folder, outputs, &error) != 0)
        return tell_error("check", outputs, &error);
    int status = print_scene(scene);
    if (status)
        return status;
    stop_phase(STOP_HELD);
    return outputs_commit(outputs, &error) ? tell_error("check", outputs, &error) : EXIT_DONE;
}

static int check(const struct option_value *values, const char *const *words) {
    struct traced traced;
    struct outputs outputs = {NULL};
    stop_install();
    int status = traced_read(&traced, words[0]);
    if (status == 0)
        status = check_into(traced.scene, values[CHECK_OUT].text, &outputs);
    outputs_release(&outputs);
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
        "angle and hour, distance from lens or LED to spot, incidence) follow as comments, and for each datasheet "
        "lens a traced "
        "solid of the same beam angle to paste in its place, with what it does not keep of the sheet.\n\n"
        "With --out they also come as a workshop sheet to print: plan and side views to scale, and their table. "
        "Check "
        "every lean with a gauge; do not look into a lit lens.",
    .words_min = 1,
    .words_max = 1,
    .words_completion = COMPLETE_SCENE,
    .options = check_options,
    .run = check,
};
