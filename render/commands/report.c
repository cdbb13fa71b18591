#include "report.h"

#include "expense.h"
#include "hint.h"
#include "measured.h"
#include "options.h"
#include "render/figures/figures.h"
#include "report_camera.h"
#include "scenes/numbers.h"
#include "text.h"

#include <errno.h>
#include <math.h>
#include <stdlib.h>
#include <string.h>

/* From here on the caution about bright beams is printed; our own thresholds, below any grading by a test lab. */
#define BRIGHT_CD 300.0
#define BRIGHT_LX 20e3
/* About half of direct sun at noon. */
#define WARMING_LX 50e3
/* White paper, 90 %, in 100 klx of direct sun: 0.9 E/pi. */
#define SUNLIT_PAPER_CD_PER_M2 28.6e3

enum { NOTE_INDENT = 14 };

void report_note(FILE *stream, const char *label, const char *text) {
    print_wrapped(stream, text, fprintf(stream, "%-*s", NOTE_INDENT, label), NOTE_INDENT);
}

int report_flush(const char *command) {
    if (fflush(stdout) == 0 && !ferror(stdout))
        return 0;
    fprintf(stderr, "luxfall %s: error: standard output: %s\n", command, strerror(errno));
    return EXIT_MACHINE;
}

/* ---- planes and fields ----------------------------------------------------------------------------------------- */

/* Where a peak lies is not known to a fraction of a cell. Adding 0 takes the sign from a zero. */
static double to_tenth_of(double cell_mm, double at_mm) {
    return round(at_mm / cell_mm * 10) * cell_mm / 10 + 0.0;
}

static void print_plane(const struct luxfall_plane_result *plane, FILE *stream) {
    char centre[FORMAT_SIZE], peak[FORMAT_SIZE], spot[FORMAT_SIZE], edge[FORMAT_SIZE];
    format_lux(centre, plane->centre_lx);
    format_lux(peak, plane->peak_lx);
    format_mm(spot, plane->half_peak_diameter_mm);
    format_mm(edge, plane->tenth_peak_diameter_mm);
    const char *half = isnan(plane->half_peak_diameter_mm.value) ? "not to be had" : spot;
    const char *tenth = isnan(plane->tenth_peak_diameter_mm.value) ? "not to be had" : edge;
    fprintf(stream, "\nlevel %g mm    centre %s, peak %s", plane->level_mm, centre, peak);
    if (isfinite(plane->peak_x_mm))
        fprintf(stream, " at (%.4g, %.4g) mm", to_tenth_of(plane->cell_mm, plane->peak_x_mm),
                to_tenth_of(plane->cell_mm, plane->peak_y_mm));
    fprintf(stream, "; over discs of %.3g mm", plane->disc_mm);
    fprintf(stream, "\n              spot at 50 %% of the peak %s, visible edge at 10 %% %s\n", half, tenth);
}

static void size_cell(char *cell, const struct luxfall_field *field) {
    if (field->round)
        snprintf(cell, TEXT_CELL, "disc %g mm", field->width_mm);
    else
        snprintf(cell, TEXT_CELL, "%g x %g mm", field->width_mm, field->height_mm);
}

static int print_fields(const struct scene *scene, const struct luxfall_plane_result *plane, FILE *stream) {
    static const char *const headings[] = {"field",           "size",        "centre",
                                           "darkest/average", "edge/centre", "light in it"};
    enum { COLUMNS = sizeof headings / sizeof *headings };
    struct text_table table;
    size_t count = scene->light.field_count;
    if (count == 0)
        return 0;
    if (text_table_init(&table, count + 1, COLUMNS) != 0)
        return EXIT_MACHINE;
    for (size_t i = 0; i < COLUMNS; i++)
        text_table_put(&table, 0, i, headings[i]);
    for (size_t i = 0; i < count; i++) {
        const struct luxfall_field_result *field = &plane->fields[i];
        text_table_put(&table, i + 1, 0, scene->light.fields[i].name);
        size_cell(text_table_cell(&table, i + 1, 1), &scene->light.fields[i]);
        format_lux(text_table_cell(&table, i + 1, 2), field->centre_lx);
        format_ratio(text_table_cell(&table, i + 1, 3), field->minimum_over_average);
        format_ratio(text_table_cell(&table, i + 1, 4), field->edge_over_centre);
        format_share(text_table_cell(&table, i + 1, 5), field->utilisation);
    }
    text_table_print(&table, "  ", stream);
    text_table_release(&table);
    return 0;
}

int report_covers(const struct luxfall_scene *light, size_t count, const size_t *covers,
                  const struct luxfall_estimate *lm, FILE *stream) {
    char *text = NULL, value[FORMAT_SIZE];
    size_t size, told = 0;
    FILE *out = open_memstream(&text, &size);
    for (size_t i = 0; out && i < count; i++) {
        if (!(lm[i].value > 0))
            continue;
        format_lumens(value, lm[i]);
        fprintf(out, told++ > 0 ? ", %.200s %s" : "%.200s absorbs %s", light->covers[covers ? covers[i] : i].name,
                value);
    }
    bool good = out && fclose(out) == 0;
    if (good && told > 1)
        report_note(stream, "covers", text);
    free(text);
    return good ? 0 : EXIT_MACHINE;
}

static void print_ledger(const struct luxfall_ledger *ledger, FILE *stream) {
    char emitted[FORMAT_SIZE], on[FORMAT_SIZE], off[FORMAT_SIZE], absorbed[FORMAT_SIZE], text[600];
    format_lm(emitted, ledger->emitted_lm.value);
    format_lm(on, ledger->on_map_lm.value);
    format_lm(off, ledger->off_map_lm.value);
    format_lm(absorbed, ledger->absorbed_lm.value);
    int used = snprintf(text, sizeof text, "%s lm emitted = %s on the map + %s off it + %s absorbed", emitted, on,
                        off, absorbed);
    const char *between = " (";
    for (enum luxfall_loss i = 0; i < LUXFALL_LOSS_COUNT; i++) {
        if (!(ledger->loss_lm[i].value > 0))
            continue;
        format_lm(absorbed, ledger->loss_lm[i].value);
        used += snprintf(text + used, sizeof text - (size_t)used, "%s%s %s", between, figure_loss(i), absorbed);
        between = ", ";
    }
    used += snprintf(text + used, sizeof text - (size_t)used, "%s", *between == ',' ? ")" : "");
    if (ledger->abandoned_lm.value > 0)
        snprintf(text + used, sizeof text - (size_t)used, " + %.2g abandoned", ledger->abandoned_lm.value);
    report_note(stream, "light", text);
}

/* ---- notes ----------------------------------------------------------------------------------------------------- */

/* The direct way of all entries, with the error of the worst. */
static void note_direct(const struct report_entry *entries, size_t count, FILE *stream) {
    double error = 0;
    for (size_t i = 0; i < count; i++)
        error = fmax(error, entries[i].result->quadrature_error);
    char text[200];
    snprintf(text, sizeof text, "the direct integral over the lens faces, without noise, to a relative error of %.1g",
             error);
    report_note(stream, "method", text);
}

static void note_rays(const struct report_entry *entry, FILE *stream) {
    const struct luxfall_result *result = entry->result;
    char text[500], rays[FORMAT_SIZE], at_fields[FORMAT_SIZE];
    int used = entry->name ? snprintf(text, sizeof text, "%.80s: ", entry->name) : 0;
    format_rays(rays, result->rays_traced);
    format_rays(at_fields, result->rays_to_fields);
    used += snprintf(text + used, sizeof text - (size_t)used, "%s rays", rays);
    if (result->rays_to_fields > 0)
        used += snprintf(text + used, sizeof text - (size_t)used, " (%s of them at the fields)", at_fields);
    snprintf(text + used, sizeof text - (size_t)used, ", %d replicates, seed %llu; every ± is a 95 %% band",
             result->replicates, (unsigned long long)result->seed);
    report_note(stream, "method", text);
}

/* How far the rays are from the direct integral at any field's centre, in bands; negative: not to be had. */
static double furthest_difference(const struct luxfall_result *result) {
    double furthest = -1;
    for (size_t i = 0; result->method == LUXFALL_RAYS && i < result->plane_count; i++)
        for (size_t j = 0; j < result->field_count; j++)
            furthest = fmax(furthest, fabs(result->planes[i].fields[j].centre_difference_in_u95));
    return furthest;
}

static void note_check(const struct report_entry *entries, size_t count, FILE *stream) {
    double furthest = -1;
    for (size_t i = 0; i < count; i++)
        furthest = fmax(furthest, furthest_difference(entries[i].result));
    if (furthest < 0)
        return;
    char text[200];
    snprintf(text, sizeof text, "the direct integral at the fields' centres differs by %.1f of a band at most",
             furthest);
    report_note(stream, "check", text);
}

/* A diffuser stands over it: its candela are not those of its lens. */
static bool softened(const struct luxfall_scene *light, const struct luxfall_module *module) {
    for (size_t i = 0; i < module->cover_count; i++) {
        const struct luxfall_cover *cover = &light->covers[module->covers[i]];
        if (luxfall_cover_spreads(cover))
            return true;
    }
    return false;
}

/* Candela on the axis of the brightest lit module with a datasheet lens. */
static double brightest_cd(const struct luxfall_scene *light) {
    double most = 0;
    for (size_t i = 0; i < light->module_count; i++) {
        const struct luxfall_module *module = &light->modules[i];
        struct luxfall_beam_solution beam;
        struct luxfall_operating_point point;
        if (module->dark || module->lens == LUXFALL_NO_LENS || light->lenses[module->lens].kind != LUXFALL_LENS_BEAM)
            continue;
        if (softened(light, module))
            continue;
        if (luxfall_beam_solve(&light->lenses[module->lens].beam, NULL, &beam, NULL) == LUXFALL_OK &&
            luxfall_module_at(light, i, &point, NULL) == LUXFALL_OK)
            most = fmax(most, beam.peak_cd_per_lm * point.flux_lm);
    }
    return most;
}

/* A datasheet lens, or one that is traced. */
static bool has_lens(const struct luxfall_scene *light, bool traced) {
    for (size_t i = 0; i < light->module_count; i++)
        if (light->modules[i].lens != LUXFALL_NO_LENS &&
            (light->lenses[light->modules[i].lens].kind != LUXFALL_LENS_BEAM) == traced)
            return true;
    return false;
}

/* Of maps, and of fields where they were asked for alone. */
static double highest_peak_lx(const struct luxfall_result *result) {
    double peak_lx = 0;
    for (size_t i = 0; i < result->plane_count; i++) {
        const struct luxfall_plane_result *plane = &result->planes[i];
        peak_lx = fmax(peak_lx, plane->peak_lx.value);
        for (size_t j = 0; j < result->field_count && !plane->e_lx; j++)
            peak_lx = fmax(peak_lx, plane->fields[j].maximum_lx.value);
    }
    return peak_lx;
}

/* The brightest face on its axis; 0 where all are points. */
static int brightest_face(const struct report_entry *entries, size_t count, double *cd_per_m2) {
    struct luxfall_glare glare;
    for (size_t i = 0; i < count; i++) {
        if (luxfall_glare_at(&entries[i].scene->light, (struct luxfall_vec){0}, &glare, NULL) != LUXFALL_OK)
            return 1;
        *cd_per_m2 = fmax(*cd_per_m2, glare.face_cd_per_m2);
    }
    return 0;
}

static int caution_of_face(char *text, size_t size, double cd_per_m2) {
    if (cd_per_m2 < SUNLIT_PAPER_CD_PER_M2)
        return 0;
    return snprintf(
        text, size,
        "a lit face shows up to %.10g Mcd/m², %.10g times white paper in full sun: what that does to an eye "
        "is for a laboratory to tell (IEC 62471); ",
        number_rounded(cd_per_m2 / 1e6, 2), number_rounded(cd_per_m2 / SUNLIT_PAPER_CD_PER_M2, 2));
}

static int note_cautions(const struct report_entry *entries, size_t count, FILE *stream) {
    double peak_lx = 0, cd = 0, cd_per_m2 = 0;
    bool bright = false; /* a traced lens images the die: bright, whatever its candela */
    for (size_t i = 0; i < count; i++) {
        peak_lx = fmax(peak_lx, highest_peak_lx(entries[i].result));
        cd = fmax(cd, brightest_cd(&entries[i].scene->light));
        bright |= has_lens(&entries[i].scene->light, true);
    }
    if (brightest_face(entries, count, &cd_per_m2) != 0)
        return 1;
    char text[900] = "";
    int used = 0;
    if (cd >= BRIGHT_CD)
        used = snprintf(text, sizeof text,
                        "bright beams, up to %.0f cd a module: do not look into a lit lens, start at low "
                        "current, beware of mirrors and eyepieces; ",
                        cd);
    else if (bright || peak_lx >= BRIGHT_LX)
        used = snprintf(text, sizeof text,
                        "bright light: do not look into a lit lens, beware of mirrors and eyepieces; ");
    used += caution_of_face(text + used, sizeof text - (size_t)used, cd_per_m2);
    if (peak_lx >= WARMING_LX)
        used += snprintf(text + used, sizeof text - (size_t)used, "it warms and bleaches what it lights; ");
    snprintf(text + used, sizeof text - (size_t)used,
             "an estimate from typical data, no assessment of any product: check with a meter; local codes and "
             "licensed practice decide");
    report_note(stream, "caution", text);
    return 0;
}

/* "acrylic, n = 1.4943 at 550 nm (Beadie and others, 2015); 99.8 % per 10 mm inside" */
static void print_material(const struct luxfall_material *material, double wavelength_um, char *text, size_t size) {
    const struct luxfall_material_entry *entry = luxfall_material_known(material);
    double index = NAN;
    int used = 0;
    if (luxfall_material_index(material, wavelength_um, &index, NULL) != LUXFALL_OK)
        index = NAN; /* told when the scene was read */
    if (material->kind == LUXFALL_MATERIAL_INDEX)
        used = snprintf(text, size, "n = %.6g at every wavelength", index);
    else
        used = snprintf(text, size, "%s, n = %.4f at %g nm%s%s%s", entry ? entry->name : "the scene's own formula",
                        index, wavelength_um * 1e3, entry ? " (" : "", entry ? entry->source : "", entry ? ")" : "");
    if (material->transmittance_mm > 0 && used > 0 && (size_t)used < size)
        snprintf(text + used, size - (size_t)used, "; %.4g %% per %g mm inside", 100 * material->transmittance,
                 material->transmittance_mm);
}

/* What is traced, each once. */
struct traced_list {
    char text[2000];
    size_t used;
};

static void list_traced(struct traced_list *list, const char *name, const char *what) {
    char text[400];
    snprintf(text, sizeof text, "%.120s: %s", name, what);
    if (!strstr(list->text, text) && list->used + strlen(text) + 4 < sizeof list->text)
        list->used += (size_t)snprintf(list->text + list->used, sizeof list->text - list->used, "%s%s",
                                       list->used > 0 ? "; " : "", text);
}

/* Package and lens of a module. */
static void list_module(struct traced_list *list, const struct luxfall_scene *light, size_t i) {
    const struct luxfall_module *module = &light->modules[i];
    const struct luxfall_emitter *emitter = &light->emitters[module->emitter];
    const struct luxfall_lens *lens = module->lens == LUXFALL_NO_LENS ? NULL : &light->lenses[module->lens];
    char material[240];
    if (luxfall_traces_package(light, i)) {
        print_material(&emitter->package.material, emitter->wavelength_um, material, sizeof material);
        list_traced(list, emitter->name, material);
    }
    if (!lens || lens->kind == LUXFALL_LENS_BEAM)
        return;
    if (luxfall_lens_has_material(lens))
        print_material(&lens->material, emitter->wavelength_um, material, sizeof material);
    else
        snprintf(material, sizeof material, "%s, of mirrors", scene_lens_word(lens));
    list_traced(list, lens->name, material);
}

static void note_traced(const struct report_entry *entries, size_t count, FILE *stream) {
    struct traced_list list = {.used = 0};
    for (size_t e = 0; e < count; e++)
        for (size_t i = 0; i < entries[e].scene->light.module_count; i++)
            list_module(&list, &entries[e].scene->light, i);
    if (list.used > 0)
        report_note(stream, "traced", list.text);
}

int report_print_notes(const struct report_entry *entries, size_t count, FILE *stream) {
    bool datasheet = false, direct = entries[0].result->method == LUXFALL_DIRECT; /* as all of them */
    if (direct)
        note_direct(entries, count, stream);
    for (size_t i = 0; i < count; i++) {
        if (!direct)
            note_rays(&entries[i], stream);
        datasheet |= has_lens(&entries[i].scene->light, false);
    }
    note_check(entries, count, stream);
    if (datasheet)
        report_note(
            stream, "lens sheets",
            "the beam is taken from the lens sheet, every point of the face sends the same, and it does not "
            "follow another die, a low seat or a shift; luxfall check offers a solid of its beam angle that does");
    note_traced(entries, count, stream);
    return note_cautions(entries, count, stream);
}

static int out_of_memory(void) {
    fputs("luxfall: error: out of memory\n", stderr);
    return EXIT_MACHINE;
}

int report_print(const struct scene *scene, const struct luxfall_result *result, const struct measured *measured,
                 FILE *stream) {
    fprintf(stream, "%s\n", scene->title);
    for (size_t i = 0; i < result->plane_count; i++) {
        print_plane(&result->planes[i], stream);
        if (print_fields(scene, &result->planes[i], stream) != 0 ||
            report_exposure(scene, &result->planes[i], stream) != 0)
            return out_of_memory();
        print_ledger(&result->planes[i].ledger, stream);
        if (report_covers(&scene->light, result->cover_count, NULL, result->planes[i].cover_lm, stream) != 0)
            return out_of_memory();
    }
    if (measured && measured_print(measured, stream) != 0)
        return out_of_memory();
    fputc('\n', stream);
    char expense[EXPENSE_SIZE];
    if (expense_line(scene, result, expense))
        report_note(stream, "drive", expense);
    report_camera(scene, stream);
    if (report_highlights(scene, &result->planes[0], stream) != 0 ||
        report_print_notes(&(struct report_entry){scene, result, NULL}, 1, stream) != 0)
        return out_of_memory();
    char text[HINT_SIZE];
    if (hint_find(scene, result, text))
        report_note(stream, "hint", text);
    return 0;
}
