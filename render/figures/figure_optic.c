#include "optic_sheet.h"

#include "caption.h"
#include "picture.h"
#include "ticks.h"

#include <math.h>
#include <stdio.h>

/* mm of paper. */
static const double column_left = 226, body_bottom = 183, row_height = 5.2, sample_width = 12;
static const double head_room = 12, foot_room = 27, right_room = 4;
enum { FACT_SIZE = 320 };
static const double degree = 57.295779513082320877;

/* ---- the view -------------------------------------------------------------------------------------------------- */

static struct rect extent_of(const struct optic_view *view) {
    const struct luxfall_outline *outline = view->fan->outline;
    struct rect e = {INFINITY, INFINITY, -INFINITY, -INFINITY};
    for (size_t i = 0; i < outline->line_count; i++)
        for (size_t k = 0; k < outline->lines[i].count && !optic_is_endless(&outline->lines[i]); k++) {
            struct flat p = optic_flat(view, outline->lines[i].at_mm[k]);
            e = (struct rect){fmin(e.x0, p.z), fmin(e.y0, p.u), fmax(e.x1, p.z), fmax(e.y1, p.u)};
        }
    return e;
}

/* The optic with room for the rays behind it, as large as a usual scale allows. */
static void place_view(struct optic_view *view) {
    struct rect box = view->drawing.box, e = view->optic = extent_of(view);
    double left = box.x0 + optic_sizes_room(view) + 4, right = box.x1 - right_room;
    double top = box.y0 + head_room, bottom = box.y1 - foot_room, low = fmin(e.x0, 0), length = e.x1 - low;
    double half = fmax(1.15 * fmax(e.y1, -e.y0), 0.2 * length), beyond = fmax(0.35 * length, 0.5 * half);
    double scale = sheet_scale(length + beyond, 2 * half, right - left, bottom - top, 100);
    half = fmin((bottom - top) / 2 / scale, 1.4 * half);
    view->drawing.scale = scale;
    view->drawing.origin_x = left - scale * low;
    view->drawing.origin_y = (top + bottom) / 2;
    view->seen = (struct rect){low, -half, low + (right - left) / scale, half};
}

static void draw_view(struct optic_view *view, struct optic_told *told) {
    char scale[SCALE_SIZE], heading[80];
    place_view(view);
    sheet_scale_text(view->drawing.scale, scale);
    snprintf(heading, sizeof heading, "Section through the axis, %s, mm", scale);
    optic_section_draw(view);
    drawing_frame(&view->drawing, heading);
    told->bar = drawing_bar(&view->drawing, &told->bar_mm);
    told->scale = view->drawing.scale;
    optic_sizes_draw(view, told);
}

/* ---- the column: what it is, what the lines are --------------------------------------------------------------- */

struct column {
    struct sheet *sheet;
    double y;
};

static void write_at(struct column *column, const char *words, double x, bool bold, bool moves_on) {
    double u = column->sheet->page->unit;
    struct text text = {.string = words, .size = SHEET_TEXT_MM, .bold = bold, .ink = SHEET_INK};
    text.wrap = (SHEET_WIDTH_MM - SHEET_MARGIN - x) * u;
    text.lines = 3;
    page_write(column->sheet->page, &text, x * u, column->y * u, 0, 0);
    if (moves_on)
        column->y += fmax(row_height, page_measure(column->sheet->page, &text).y1 / u + 1.4);
}

static void fact(struct column *column, const char *name, const char *value) {
    write_at(column, name, column_left, false, false);
    write_at(column, value, column_left + 18, false, true);
}

static void face_text(const struct luxfall_emitter *emitter, char out[FACT_SIZE]) {
    char w[NUMBER_SIZE], h[NUMBER_SIZE], dies[40] = "";
    short_number_text(emitter->die.width_mm, w);
    short_number_text(emitter->die.height_mm, h);
    if (emitter->columns * emitter->rows > 1)
        snprintf(dies, sizeof dies, "%d × %d dies ", emitter->columns, emitter->rows);
    if (emitter->die.kind == LUXFALL_POINT)
        snprintf(out, FACT_SIZE, "%.40s, a point", emitter->name);
    else if (emitter->die.kind == LUXFALL_DISC)
        snprintf(out, FACT_SIZE, "%.40s, %sØ %s mm", emitter->name, dies, w);
    else
        snprintf(out, FACT_SIZE, "%.40s, %s%s × %s mm", emitter->name, dies, w, h);
}

static void material_text(const struct luxfall_material *material, double wavelength_um, char out[FACT_SIZE]) {
    const struct luxfall_material_entry *known = luxfall_material_known(material);
    double index = NAN;
    char number[NUMBER_SIZE];
    if (luxfall_material_index(material, wavelength_um, &index, NULL) != LUXFALL_OK)
        index = NAN;
    number_text(index, 5, number);
    snprintf(out, FACT_SIZE, "%s%sn %s at %.0f nm", known ? known->name : "", known ? ", " : "", number,
             1000 * wavelength_um);
}

/* What it is, and of which resin. */
static void write_package(struct column *column, const struct luxfall_package *package, double wavelength_um) {
    char cell[FACT_SIZE], resin[FACT_SIZE];
    material_text(&package->material, wavelength_um, resin);
    snprintf(cell, sizeof cell, "%s%s%s, %.100s",
             package->depth_mm > 0 ? (package->wall_mirror ? "mirror" : "white") : "",
             package->depth_mm > 0 ? " cup" : "",
             package->dome_mm > 0 ? (package->depth_mm > 0 ? " and dome" : "dome") : "", resin);
    fact(column, "package", cell);
}

static bool is_as_drawn(const struct luxfall_assembly *b) {
    return b->die_x_mm == 0 && b->die_y_mm == 0 && b->seat_mm == 0 && b->decentre_x_mm == 0 &&
           b->decentre_y_mm == 0 && b->lean_rad == 0;
}

static void built_text(const struct luxfall_assembly *built, char out[FACT_SIZE]) {
    snprintf(out, FACT_SIZE, ", as drawn");
    FILE *stream = is_as_drawn(built) ? NULL : fmemopen(out, FACT_SIZE, "w");
    if (!stream)
        return;
    caption_put_built(stream, built);
    fclose(stream);
}

static void rays_text(const struct figure_fan *fan, char out[FACT_SIZE]) {
    int used = snprintf(out, FACT_SIZE, "%zu: %zu leave", fan->paths->count, fan->leaving);
    const char *before = "; lost: ";
    for (int i = 0; i < LUXFALL_LOSS_COUNT && used < FACT_SIZE; i++) {
        if (fan->lost[i] == 0)
            continue;
        used += snprintf(out + used, (size_t)(FACT_SIZE - used), "%s%zu %s", before, fan->lost[i],
                         figure_loss((enum luxfall_loss)i));
        before = ", ";
    }
    if (fan->others > 0 && used < FACT_SIZE)
        snprintf(out + used, (size_t)(FACT_SIZE - used), "; %zu scattered", fan->others);
}

static void covers_text(const struct luxfall_scene *light, const struct luxfall_module *m, char out[FACT_SIZE]) {
    int used = 0;
    for (size_t i = 0; i < m->cover_count && used < FACT_SIZE; i++)
        used += snprintf(out + used, (size_t)(FACT_SIZE - used), "%s%.60s", i ? ", " : "",
                         light->covers[m->covers[i]].name);
}

/* Of curves that are no circles, one row each. */
static void write_vertices(struct column *column, const struct optic_view *view) {
    const struct luxfall_outline *outline = view->fan->outline;
    for (size_t i = 0; i < outline->line_count; i++) {
        if (!optic_is_curved_at_axis(view, &outline->lines[i]) || optic_is_circle(view, &outline->lines[i]))
            continue;
        char cell[FACT_SIZE], radius[NUMBER_SIZE], at[NUMBER_SIZE];
        short_number_text(fabs(outline->lines[i].vertex_radius_mm), radius);
        short_number_text(optic_told_mm(view, optic_flat(view, outline->lines[i].vertex_mm)), at);
        snprintf(cell, sizeof cell, "R %s mm at %s mm", radius, at);
        fact(column, "vertex", cell);
    }
}

static void write_facts(struct column *column, const struct optic_view *view, const struct figure_optic *optic) {
    const struct scene *scene = view->sheet->scene;
    const struct luxfall_module *m = &scene->light.modules[optic->module];
    const struct luxfall_lens *lens = m->lens == LUXFALL_NO_LENS ? NULL : &scene->light.lenses[m->lens];
    bool traced = lens && lens->kind != LUXFALL_LENS_BEAM;
    char cell[FACT_SIZE], turn[NUMBER_SIZE];
    fact(column, "modules", optic->modules);
    fact(column, "lens", lens ? lens->name : "none");
    if (traced) {
        fact(column, "kind", scene_lens_word(lens));
        if (luxfall_lens_has_material(lens)) {
            material_text(&lens->material, optic->fan->outline->wavelength_um, cell);
            fact(column, "material", cell);
        }
        write_vertices(column, view);
    }
    if (m->cover_count > 0) {
        covers_text(&scene->light, m, cell);
        fact(column, m->cover_count > 1 ? "covers" : "cover", cell);
    }
    face_text(&scene->light.emitters[m->emitter], cell);
    fact(column, "emitter", cell);
    if (luxfall_traces_package(&scene->light, optic->module))
        write_package(column, &scene->light.emitters[m->emitter].package, optic->fan->outline->wavelength_um);
    built_text(&m->built, cell);
    fact(column, "built", cell + 2); /* after the comma */
    short_number_text(optic->fan->outline->section_rad * degree, turn);
    snprintf(cell, sizeof cell, "%s° from the module's x", turn);
    fact(column, "section", cell);
    rays_text(optic->fan, cell);
    fact(column, "rays", cell);
}

static void legend_row(struct column *column, enum optic_stroke stroke, const char *words) {
    double y = column->y + 1.8;
    optic_pen(column->sheet, stroke);
    sheet_line(column->sheet, column_left, y, column_left + sample_width, y);
    write_at(column, words, column_left + 18, false, true);
}

static void write_legend(struct column *column, const struct optic_view *view) {
    const struct figure_fan *fan = view->fan;
    char middle[40], edge[40];
    snprintf(middle, sizeof middle, "ray of the %s's middle", view->source);
    snprintf(edge, sizeof edge, "ray of the %s's edge", view->source);
    const char *const words[STROKE_COUNT] = {
        [STROKE_SURFACE] = "clear surface",
        [STROKE_TEXTURED] = "textured, or a diffuser",
        [STROKE_MIRROR] = "mirror",
        [STROKE_BLACK] = "absorbs: rim, holder, stop, floor",
        [STROKE_MIDDLE_RAY] = middle,
        [STROKE_EDGE_RAY] = edge,
        [STROKE_LOST_RAY] = "ray that is lost",
    };
    bool used[STROKE_COUNT] = {false};
    for (size_t i = 0; i < fan->outline->line_count; i++)
        used[optic_stroke_of_line(&fan->outline->lines[i])] = true;
    for (size_t i = 0; i < fan->paths->count; i++)
        used[optic_stroke_of_path(fan, i)] = true;
    for (int i = 0; i < STROKE_COUNT; i++)
        if (used[i])
            legend_row(column, (enum optic_stroke)i, words[i]);
    if (!optic_shows_turns(fan))
        return;
    optic_mark_turn(column->sheet, column_left + sample_width / 2, column->y + 1.8);
    write_at(column, "total reflection", column_left + 18, false, true);
}

static void write_column(const struct optic_view *view, const struct figure_optic *optic) {
    struct column column = {view->sheet, SHEET_BODY_TOP + 1.2};
    write_at(&column, "What is drawn", column_left, true, true);
    write_facts(&column, view, optic);
    column.y += 4;
    write_at(&column, "Lines", column_left, true, true);
    write_legend(&column, view);
}

/* ---- words ----------------------------------------------------------------------------------------------------- */

static void write_caption(const struct optic_view *view, const struct figure_optic *optic) {
    struct sheet *sheet = view->sheet;
    const struct luxfall_module *m = &sheet->scene->light.modules[optic->module];
    bool solved = m->lens != LUXFALL_NO_LENS && sheet->scene->light.lenses[m->lens].kind == LUXFALL_LENS_COLLIMATOR;
    char words[1200], step[NUMBER_SIZE], edge_step[NUMBER_SIZE];
    short_number_text(optic->fan->step_rad * degree, step);
    short_number_text(optic->fan->edge_step_rad * degree, edge_step);
    const char *at_zero =
        luxfall_traces_package(&sheet->scene->light, optic->module) ? "floor of the package" : view->source;
    snprintf(
        words, sizeof words,
        "%sThe %s lies at 0. %sRays start in the section, every %s° from the %s's middle and every %s° from its "
        "edges, "
        "and "
        "are followed surface by surface along their main way: refracted, totally "
        "reflected or mirrored. The weaker reflections at every surface and all scatter are left out, so the fan "
        "shows "
        "where light goes, not how much; luxfall inspect tells that. Print on A4 landscape at 100\u00a0%%. Do not "
        "look into a lit lens; start at low current. Estimates: lens fronts get hot, and real lenses differ.",
        solved ? "A collimator solved from its sizes: plausible, not the maker's. " : "", at_zero,
        view->seam_count > 0
            ? "Parts that touch are traced with 0.01 mm of air between them; the sizes leave it out. "
            : "",
        step, view->source, edge_step);
    sheet_footer(sheet, words, body_bottom + 3);
}

/* Width between the two sides that stand across a direction, measured along another. */
static double along(double across_mm, double from_rad) {
    return across_mm / fmax(fabs(cos(from_rad)), 1e-9);
}

static void add_oblong(struct optic_view *view, double width_mm, double height_mm) {
    double turn = view->fan->outline->section_rad;
    view->oblong_mm[view->oblong_count++] = fmin(along(width_mm, turn), along(height_mm, turn - 90 / degree));
}

/* Parts that are not of revolution. */
static void find_oblong(const struct luxfall_scene *light, const struct luxfall_module *m, struct optic_view *view) {
    const struct luxfall_lens *lens = m->lens == LUXFALL_NO_LENS ? NULL : &light->lenses[m->lens];
    double turn = view->fan->outline->section_rad;
    if (lens && lens->kind == LUXFALL_LENS_SINGLET && lens->singlet.body_mm[0] > 0)
        add_oblong(view, lens->singlet.body_mm[0], lens->singlet.body_mm[1]);
    if (lens && lens->kind == LUXFALL_LENS_PIPE && lens->pipe.section == LUXFALL_SECTION_RECTANGLE)
        add_oblong(view, lens->pipe.width_mm, lens->pipe.height_mm);
    if (lens && lens->kind == LUXFALL_LENS_PIPE && lens->pipe.section == LUXFALL_SECTION_HEXAGON)
        view->oblong_mm[view->oblong_count++] =
            fmin(along(lens->pipe.width_mm, turn), fmin(along(lens->pipe.width_mm, turn - 60 / degree),
                                                        along(lens->pipe.width_mm, turn + 60 / degree)));
    for (size_t i = 0; i < m->cover_count; i++) {
        const struct luxfall_cover *cover = &light->covers[m->covers[i]];
        if (cover->diameter_mm == 0)
            add_oblong(view, cover->width_mm, cover->height_mm);
    }
}

int figure_optic_draw(struct page *page, const struct scene *scene, const struct figure_optic *optic,
                      const struct figure_style *style, struct optic_told *told, struct figure_error *error) {
    const struct luxfall_module *m = &scene->light.modules[optic->module];
    const struct luxfall_lens *lens = m->lens == LUXFALL_NO_LENS ? NULL : &scene->light.lenses[m->lens];
    struct sheet sheet = {.page = page, .scene = scene};
    int status = sheet_begin(page, style, error);
    *told = (struct optic_told){0};
    if (status == 0) {
        struct optic_view view = {.sheet = &sheet, .fan = optic->fan};
        char which[64];
        view.lean_rad = m->built.lean_rad * cos(m->built.lean_azimuth_rad - optic->fan->outline->section_rad);
        view.source = lens && lens->kind == LUXFALL_LENS_BEAM ? "face" : "die";
        find_oblong(&scene->light, m, &view);
        optic_seams_find(&view, &scene->light, m);
        view.drawing.sheet = &sheet;
        view.drawing.box = (struct rect){SHEET_MARGIN, SHEET_BODY_TOP, column_left - 5, body_bottom};
        snprintf(which, sizeof which, "Drawn optic %zu of %zu", optic->number, optic->count);
        sheet_header(&sheet, which);
        draw_view(&view, told);
        write_column(&view, optic);
        write_caption(&view, optic);
        page->out_of_memory |= sheet.clutter.out_of_memory;
    }
    clutter_free(&sheet.clutter);
    return status;
}

int figure_optic(const char *path, const struct scene *scene, const struct figure_optic *optic,
                 const struct figure_style *style, struct figure_error *error) {
    struct page page;
    struct optic_told told;
    int status = figure_optic_draw(&page, scene, optic, style, &told, error);
    if (status == 0)
        status = picture_write(path, &page, scene->title,
                               "A traced optic in section, to scale, with its sizes and a fan of rays.", error);
    page_end(&page);
    return status;
}
