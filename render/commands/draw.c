/* luxfall draw: traced optics in section with a fan of rays, and the whole layout; figures for a build log. */
#include "tracing.h"

#include "module_choice.h"
#include "report.h"
#include "stop.h"
#include "values.h"

#include <stdlib.h>
#include <string.h>

enum { RAYS_USUAL = 29, RAYS_LEAST = 3, RAYS_MOST = 501 };
enum { DRAW_OUT, DRAW_MODULE, DRAW_RAYS, DRAW_WIDTH };
static const struct option draw_options[] = {
    {"out", "DIR",
     "write optic.png and optic.pdf there (optic-2 and so on for further optics), and layout.png and layout.pdf "
     "(default: the folder you are in); the folder is made when missing, the files appear all together or not at all",
     value_text, NULL, COMPLETE_FOLDER},
    {"module", "NAME",
     "draw the optic of this module alone, such as \"ring 3\", or of a group (default: every optic that is traced)",
     value_text, NULL, COMPLETE_NOTHING},
    {"rays", "N", "number of rays from the die's middle, 3 to 501 (default: 29); about half as many from each edge",
     value_rays, NULL, COMPLETE_NOTHING},
    {"width", "PX", "width of the PNG pictures in pixels (default: 3508, A4 at 300 dots an inch)", value_pixels, NULL,
     COMPLETE_NOTHING},
    {NULL, NULL, NULL, NULL, NULL, 0}};

/* ---- which optics ---------------------------------------------------------------------------------------------- */

/* A sheet: one optic with its emitter, as it is built, and all that have it. */
struct sheet_of {
    size_t module;
    char *modules; /* names */
    struct figure_fan fan;
};
struct sheets {
    size_t count;
    struct sheet_of *each;
};

static bool same_covers(const struct luxfall_module *a, const struct luxfall_module *b) {
    return a->cover_count == b->cover_count &&
           memcmp(a->covers, b->covers, a->cover_count * sizeof a->covers[0]) == 0;
}

static bool same_optic(const struct luxfall_module *a, const struct luxfall_module *b) {
    const struct luxfall_assembly *p = &a->built, *q = &b->built;
    return a->emitter == b->emitter && a->lens == b->lens && same_covers(a, b) && p->die_x_mm == q->die_x_mm &&
           p->die_y_mm == q->die_y_mm && p->seat_mm == q->seat_mm && p->decentre_x_mm == q->decentre_x_mm &&
           p->decentre_y_mm == q->decentre_y_mm && p->lean_rad == q->lean_rad &&
           p->lean_azimuth_rad == q->lean_azimuth_rad;
}

/* "ring, lamp": joined. False: out of memory. */
static bool add_name(struct sheet_of *sheet, const char *name) {
    size_t used = sheet->modules ? strlen(sheet->modules) : 0, size = used + strlen(name) + 3;
    char *joined = realloc(sheet->modules, size);
    if (!joined)
        return false;
    snprintf(joined + used, size - used, "%s%s", used ? ", " : "", name);
    sheet->modules = joined;
    return true;
}

static bool add_sheet(struct sheets *sheets, const struct luxfall_scene *light, size_t module, const char *name) {
    size_t i = 0;
    while (i < sheets->count && !same_optic(&light->modules[sheets->each[i].module], &light->modules[module]))
        i++;
    if (i == sheets->count)
        sheets->each[sheets->count++] = (struct sheet_of){.module = module};
    return add_name(&sheets->each[i], name);
}

static void sheets_release(struct sheets *sheets) {
    for (size_t i = 0; i < sheets->count; i++) {
        free(sheets->each[i].modules);
        figure_fan_free(&sheets->each[i].fan);
    }
    free(sheets->each);
}

static int tell_no_memory(void) {
    fputs("luxfall draw: error: out of memory\n", stderr);
    return EXIT_MACHINE;
}

static int choose_one(const struct scene *scene, const char *name, struct sheets *sheets) {
    size_t module;
    int status = module_choose("draw", scene, name, &module);
    if (status)
        return status;
    if (luxfall_known_by_angle(&scene->light, module)) {
        fprintf(stderr, "luxfall draw: error: --module: nothing of '%s' is traced surface by surface; %s\n", name,
                scene->light.modules[module].lens == LUXFALL_NO_LENS
                    ? "it is an LED without a lens, so that there is none to draw"
                    : "its lens sheet tells no surfaces, luxfall check offers a solid in its place");
        return EXIT_USER;
    }
    return add_sheet(sheets, &scene->light, module, scene->light.modules[module].name) ? 0 : tell_no_memory();
}

static int choose_sheets(const struct scene *scene, const char *name, struct sheets *sheets) {
    sheets->each = calloc(scene->group_count + 1, sizeof *sheets->each);
    if (!sheets->each)
        return tell_no_memory();
    if (name)
        return choose_one(scene, name, sheets);
    for (size_t g = 0; g < scene->group_count; g++) {
        const struct scene_group *group = &scene->groups[g];
        if (!luxfall_known_by_angle(&scene->light, group->first) &&
            !add_sheet(sheets, &scene->light, group->first, group->name))
            return tell_no_memory();
    }
    return 0;
}

static int follow_rays(struct traced *traced, size_t rays, struct sheets *sheets) {
    for (size_t i = 0; i < sheets->count; i++) {
        struct luxfall_error why;
        struct sheet_of *sheet = &sheets->each[i];
        if (figure_fan_make(&traced->scene->light, sheet->module, rays, &sheet->fan, &why) != LUXFALL_OK)
            return traced_tell(traced, NULL, &why);
    }
    return 0;
}

/* ---- files ----------------------------------------------------------------------------------------------------- */

/* The layout last; of each drawing a PNG and a PDF. */
static void name_of(const struct sheets *sheets, size_t file, char name[64]) {
    const char *ending = file % 2 ? "pdf" : "png";
    size_t sheet = file / 2;
    if (sheet == sheets->count)
        snprintf(name, 64, "layout.%s", ending);
    else if (sheet == 0)
        snprintf(name, 64, "optic.%s", ending);
    else
        snprintf(name, 64, "optic-%zu.%s", sheet + 1, ending);
}

struct drawing_work {
    const struct scene *scene;
    const struct sheets *sheets;
    int width_px;
    const char **staged;
};

static int draw_file(const void *user, size_t file, struct figure_error *error) {
    const struct drawing_work *work = user;
    const struct figure_style style = {.width_px = work->width_px, .pdf = file % 2};
    size_t sheet = file / 2;
    if (sheet == work->sheets->count)
        return figure_layout(work->staged[file], work->scene, &style, error);
    const struct sheet_of *of = &work->sheets->each[sheet];
    const struct figure_optic optic = {&of->fan, of->module, sheet + 1, work->sheets->count, of->modules};
    return figure_optic(work->staged[file], work->scene, &optic, &style, error);
}

static int write_drawings(struct drawing_work *work, const char *folder, struct outputs *outputs,
                          struct figure_error *error) {
    size_t count = 2 * (work->sheets->count + 1);
    work->staged = calloc(count, sizeof *work->staged);
    int status =
        work->staged ? outputs_folder(outputs, folder, error) : figure_fail(error, EXIT_MACHINE, "out of memory");
    for (size_t i = 0; status == 0 && i < count; i++) {
        char name[64];
        name_of(work->sheets, i, name);
        work->staged[i] = traced_stage_file(outputs, folder, name, error);
        status = work->staged[i] ? 0 : error->status;
    }
    if (status == 0)
        status = files_write(count, draw_file, work, error);
    free(work->staged);
    return status;
}

/* ---- words ----------------------------------------------------------------------------------------------------- */

static void print_sheet(const struct scene *scene, const struct sheets *sheets, size_t i) {
    const struct sheet_of *sheet = &sheets->each[i];
    const struct luxfall_module *m = &scene->light.modules[sheet->module];
    const struct luxfall_lens *lens = m->lens == LUXFALL_NO_LENS ? NULL : &scene->light.lenses[m->lens];
    const char *what = lens && lens->kind != LUXFALL_LENS_BEAM ? scene_lens_word(lens)
                       : m->cover_count > 0                    ? "under its covers"
                                                               : "the LED in its package";
    char file[64], said[1024];
    name_of(sheets, 2 * i, file);
    *strrchr(file, '.') = '\0';
    int used =
        snprintf(said, sizeof said, "%.200s (%s) of %.300s in section: %zu rays, %zu leave",
                 lens ? lens->name : "no lens", what, sheet->modules, sheet->fan.paths->count, sheet->fan.leaving);
    for (int k = 0; k < LUXFALL_LOSS_COUNT; k++)
        if (sheet->fan.lost[k] > 0)
            used += snprintf(said + used, sizeof said - (size_t)used, ", %zu %s", sheet->fan.lost[k],
                             figure_loss((enum luxfall_loss)k));
    if (sheet->fan.others > 0)
        used += snprintf(said + used, sizeof said - (size_t)used, ", %zu scattered", sheet->fan.others);
    if (lens && lens->kind == LUXFALL_LENS_COLLIMATOR)
        snprintf(said + used, sizeof said - (size_t)used, "; plausible, not the maker's");
    report_note(stdout, file, said);
}

static bool has_lens(const struct luxfall_scene *light) {
    for (size_t i = 0; i < light->module_count; i++)
        if (light->modules[i].lens != LUXFALL_NO_LENS)
            return true;
    return false;
}

static int print_sheets(const struct scene *scene, const struct sheets *sheets) {
    for (size_t i = 0; i < sheets->count; i++)
        print_sheet(scene, sheets, i);
    if (sheets->count == 0)
        report_note(stdout, "optic",
                    has_lens(&scene->light)
                        ? "none is drawn: no lens of this scene is traced surface by surface, and a lens sheet tells "
                          "no surfaces; luxfall check offers solids in their place"
                        : "none is drawn: the LEDs of this scene have no lens");
    report_note(stdout, "layout", "all modules in plan and from the side, with angles and distances");
    report_note(stdout, "keep in mind", "check every lean and spot before you fix it; do not look into a lit lens");
    return report_flush("draw");
}

static int draw_into(struct traced *traced, const struct option_value *values, struct sheets *sheets,
                     struct outputs *outputs) {
    struct figure_error error = {0};
    struct drawing_work work = {traced->scene, sheets, (int)values[DRAW_WIDTH].count, NULL};
    const char *folder = values[DRAW_OUT].given ? values[DRAW_OUT].text : ".";
    int status = choose_sheets(traced->scene, values[DRAW_MODULE].text, sheets);
    if (status == 0)
        status = follow_rays(traced, values[DRAW_RAYS].given ? values[DRAW_RAYS].count : RAYS_USUAL, sheets);
    if (status)
        return status;
    if (write_drawings(&work, folder, outputs, &error) != 0)
        return tell_error("draw", outputs, &error);
    status = print_sheets(traced->scene, sheets);
    if (status)
        return status;
    stop_phase(STOP_HELD);
    return outputs_commit(outputs, &error) ? tell_error("draw", outputs, &error) : EXIT_DONE;
}

static int draw(const struct option_value *values, const char *const *words) {
    struct traced traced;
    struct outputs outputs = {NULL};
    struct sheets sheets = {0, NULL};
    if (values[DRAW_RAYS].given && (values[DRAW_RAYS].count < RAYS_LEAST || values[DRAW_RAYS].count > RAYS_MOST)) {
        fprintf(stderr, "luxfall draw: error: --rays: a fan has %d to %d rays\n", RAYS_LEAST, RAYS_MOST);
        return EXIT_USER;
    }
    stop_install();
    int status = traced_read(&traced, words[0]);
    if (status == 0)
        status = draw_into(&traced, values, &sheets, &outputs);
    outputs_release(&outputs);
    sheets_release(&sheets);
    traced_release(&traced);
    return status;
}

const struct command command_draw = {
    .name = "draw",
    .words = "SCENE",
    .summary = "draw the traced optics with a fan of rays, and the whole layout, for a build log",
    .about =
        "Draws every optic that is traced surface by surface in a section through its axis, to scale: surfaces, "
        "material, emitter, sizes in mm, and a fan of rays from the middle and the edges of the die, each followed "
        "along its main way. And all modules in plan and from the side: beam axes, fields, angles and distances. "
        "Each as PNG and as PDF, on A4 landscape.\n\n"
        "A lens known by its sheet alone has no surfaces to draw; luxfall check offers a solid of the same beam "
        "angle. A collimator solved from its sizes is plausible, not the maker's. Do not look into a lit lens.",
    .words_min = 1,
    .words_max = 1,
    .words_completion = COMPLETE_SCENE,
    .options = draw_options,
    .run = draw,
};
