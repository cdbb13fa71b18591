#include "figure_bracket.h"

#include "picture.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

/* mm of paper. */
static const double margin = SHEET_MARGIN, body_top = SHEET_BODY_TOP, body_bottom = SHEET_BODY_BOTTOM,
                    row_height = 3.8, gap = 3, column_gap = 3, drawings_least = 84, drawings_roomy = 122,
                    plan_share = 0.5;
enum { PAGES_MAX = 16, COLUMNS_MAX = 12, KINDS_SHOWN = SIDES_MAX };

/* ---- tables ---------------------------------------------------------------------------------------------------- */

/* One cell; row 0 is the heading. */
typedef void cell_writer(const struct sheet *sheet, size_t row, size_t column, char out[SHEET_CELL]);

struct table {
    cell_writer *cell;
    size_t columns, rows; /* the heading not counted */
    unsigned words;       /* bit by bit: columns of words */
    double widths[COLUMNS_MAX], width;
};

static struct text cell_text(const char *string, size_t row) {
    return (struct text){.string = string, .size = SHEET_TEXT_MM, .bold = row == 0, .ink = SHEET_INK};
}

static void measure_table(const struct sheet *sheet, struct table *table) {
    table->width = 0;
    for (size_t column = 0; column < table->columns; column++) {
        table->widths[column] = 0;
        for (size_t row = 0; row <= table->rows; row++) {
            char cell[SHEET_CELL];
            table->cell(sheet, row, column, cell);
            struct text text = cell_text(cell, row);
            table->widths[column] =
                fmax(table->widths[column], page_measure(sheet->page, &text).x1 / sheet->page->unit);
        }
        table->width += table->widths[column] + (column ? column_gap : 0);
    }
}

/* Words to the left of their column, numbers to the right. */
static void write_row(struct sheet *sheet, const struct table *table, size_t row, double x, double y, double widest) {
    double u = sheet->page->unit;
    for (size_t column = 0; column < table->columns; column++) {
        char cell[SHEET_CELL];
        table->cell(sheet, row, column, cell);
        bool number = !(table->words >> column & 1);
        struct text text = cell_text(cell, row);
        double width = table->widths[column];
        if (x + width > widest)
            text.cut = (widest - x) * u;
        page_write(sheet->page, &text, (x + (number ? width : 0)) * u, y * u, number ? 1 : 0, 0);
        x += width + column_gap;
    }
}

static void write_table(struct sheet *sheet, const struct table *table, size_t from, size_t to, double x, double y) {
    double widest = SHEET_WIDTH_MM - margin;
    write_row(sheet, table, 0, x, y, widest);
    sheet_pen(sheet, SHEET_INK, 0.2, false);
    sheet_line(sheet, x, y + row_height - 0.3, fmin(x + table->width, widest), y + row_height - 0.3);
    for (size_t row = from; row < to; row++)
        write_row(sheet, table, row + 1, x, y + row_height * (double)(row - from + 1), widest);
}

/* ---- what stands in them --------------------------------------------------------------------------------------- */

/* "ring 1-3, 5; lamp": the members of a kind, group by group. */
static void kind_members(const struct sheet *sheet, size_t kind, char out[SHEET_CELL]) {
    const struct scene *scene = sheet->scene;
    size_t used = 0;
    out[0] = '\0';
    for (size_t g = 0; g < scene->group_count && used < SHEET_CELL - 40; g++) {
        const struct scene_group *group = &scene->groups[g];
        const size_t *of = sheet->list.kind_of + group->first;
        bool named = false;
        for (size_t i = 0; i < group->count && used < SHEET_CELL - 40; i++) {
            size_t last = i;
            if (of[i] != kind)
                continue;
            while (last + 1 < group->count && of[last + 1] == kind)
                last++;
            used += (size_t)snprintf(out + used, SHEET_CELL - used, "%s%.24s",
                                     named  ? ""
                                     : used ? "; "
                                            : "",
                                     named ? "" : group->name);
            if (group->count > 1)
                used += (size_t)snprintf(out + used, SHEET_CELL - used, last > i ? "%s%zu–%zu" : "%s%zu",
                                         named ? ", " : " ", i + 1, last + 1);
            named = true;
            i = last;
        }
    }
}

static void kind_aim(const struct sheet *sheet, size_t kind, char out[SHEET_CELL]) {
    const struct bracket_kind *k = &sheet->list.kinds[kind];
    const struct luxfall_bracket *bracket = &sheet->list.each[k->first];
    struct luxfall_vec at = sheet->scene->light.modules[k->first].pose.at_mm, aim = bracket->aim_mm;
    double across = fabs(at.x * aim.y - at.y * aim.x), along = at.x * aim.x + at.y * aim.y;
    if (isnan(aim.x))
        snprintf(out, SHEET_CELL, "does not meet the stage");
    else if (bracket->lean_rad < 1e-4)
        snprintf(out, SHEET_CELL, "straight down");
    else if (isnan(k->aim_mm))
        snprintf(out, SHEET_CELL, "see below");
    else if (k->aim_mm < 0.05)
        snprintf(out, SHEET_CELL, "the centre");
    else if (across < 0.01 * hypot(at.x, at.y) && hypot(at.x, at.y) > 0.05)
        snprintf(out, SHEET_CELL, "%.1f mm %s", k->aim_mm, along > 0 ? "before the centre" : "past the centre");
    else
        snprintf(out, SHEET_CELL, "%.1f mm aside", k->aim_mm);
}

static void to_spot_heading(const struct sheet *sheet, char out[SHEET_CELL]) {
    const struct luxfall_scene *light = &sheet->scene->light;
    snprintf(out, SHEET_CELL, "%s, mm", spot_heading(light->modules, light->module_count));
}

static void kind_cell(const struct sheet *sheet, size_t row, size_t column, char out[SHEET_CELL]) {
    static const char *const headings[] = {
        "bracket", "modules", "count", "foot to centre, mm", "height z, mm", "lean", "incidence", NULL, "aimed at"};
    if (row == 0 && headings[column] == NULL) {
        to_spot_heading(sheet, out);
        return;
    }
    if (row == 0) {
        snprintf(out, SHEET_CELL, "%s", headings[column]);
        return;
    }
    const struct bracket_kind *kind = &sheet->list.kinds[row - 1];
    const struct luxfall_bracket *bracket = &sheet->list.each[kind->first];
    switch (column) {
    case 0:
        bracket_kind_letter(row - 1, out);
        break;
    case 1:
        kind_members(sheet, row - 1, out);
        break;
    case 2:
        snprintf(out, SHEET_CELL, "%zu", kind->count);
        break;
    case 3:
        if (isnan(kind->radius_mm))
            snprintf(out, SHEET_CELL, "differs");
        else
            sheet_mm(kind->radius_mm, out);
        break;
    case 4:
        sheet_mm(sheet->scene->light.modules[kind->first].pose.at_mm.z, out);
        break;
    case 5:
        sheet_degrees(bracket->lean_rad, out);
        break;
    case 6:
        sheet_degrees(bracket->incidence_rad, out);
        break;
    case 7:
        sheet_mm(bracket->distance_mm, out);
        break;
    default:
        kind_aim(sheet, row - 1, out);
    }
}

/* What a column of the places holds. */
enum place_column {
    NUMBER,
    NAME,
    BRACKET,
    X,
    Y,
    Z,
    LEAN,
    CLOCK,
    HOUR,
    INCIDENCE,
    DISTANCE,
    AIM_X,
    AIM_Y,
};

static void place_value(const struct sheet *sheet, size_t module, enum place_column column, char out[SHEET_CELL]) {
    const struct luxfall_module *m = &sheet->scene->light.modules[module];
    const struct luxfall_bracket *bracket = &sheet->list.each[module];
    bool clock = !bracket_above_centre(&m->pose);
    const double lengths[] = {[X] = m->pose.at_mm.x,       [Y] = m->pose.at_mm.y,
                              [Z] = m->pose.at_mm.z,       [DISTANCE] = bracket->distance_mm,
                              [AIM_X] = bracket->aim_mm.x, [AIM_Y] = bracket->aim_mm.y};
    if (column == NUMBER)
        snprintf(out, SHEET_CELL, "%zu", module + 1);
    else if (column == NAME)
        snprintf(out, SHEET_CELL, "%.40s%s", m->name, m->dark ? " (dark)" : "");
    else if (column == BRACKET)
        bracket_kind_letter(sheet->list.kind_of[module], out);
    else if (column == HOUR && clock)
        clock_hour_text(bracket->clock_rad, out);
    else if (column == LEAN || column == INCIDENCE || column == CLOCK || column == HOUR)
        sheet_degrees(column == LEAN        ? bracket->lean_rad
                      : column == INCIDENCE ? bracket->incidence_rad
                      : clock               ? bracket->clock_rad
                                            : NAN,
                      out);
    else
        sheet_mm(lengths[column], out);
}

static const char *const place_headings[] = {
    [NUMBER] = "no.",      [NAME] = "module",    [BRACKET] = "bracket", [X] = "x, mm",   [Y] = "y, mm",
    [Z] = "z, mm",         [LEAN] = "lean",      [CLOCK] = "clock",     [HOUR] = "hour", [INCIDENCE] = "incidence",
    [AIM_X] = "aim x, mm", [AIM_Y] = "aim y, mm"};

static void place_cell(const struct sheet *sheet, size_t row, const enum place_column *columns, size_t column,
                       char out[SHEET_CELL]) {
    if (row == 0 && columns[column] == DISTANCE)
        to_spot_heading(sheet, out);
    else if (row == 0)
        snprintf(out, SHEET_CELL, "%s", place_headings[columns[column]]);
    else
        place_value(sheet, row - 1, columns[column], out);
}

/* Few kinds: what they share stands in a table of its own. */
static const enum place_column short_columns[] = {NUMBER, NAME, BRACKET, X, Y, CLOCK, HOUR, AIM_X, AIM_Y};
static void short_cell(const struct sheet *sheet, size_t row, size_t column, char out[SHEET_CELL]) {
    place_cell(sheet, row, short_columns, column, out);
}

static const enum place_column full_columns[] = {NUMBER, NAME, X,         Y,        Z,     LEAN,
                                                 CLOCK,  HOUR, INCIDENCE, DISTANCE, AIM_X, AIM_Y};
static void full_cell(const struct sheet *sheet, size_t row, size_t column, char out[SHEET_CELL]) {
    place_cell(sheet, row, full_columns, column, out);
}

/* ---- pages ----------------------------------------------------------------------------------------------------- */

/* How the tables spread over the pages. */
struct spread {
    struct table kinds, places;
    bool few;                /* kinds that have a table */
    size_t blocks;           /* tables of places side by side */
    size_t first_rows, rows; /* of a block, on the first page and on the others */
    size_t pages, shown;     /* places shown in all */
};

static size_t divided_up(size_t a, size_t b) {
    return (a + b - 1) / b;
}

static double kinds_height(const struct spread *spread) {
    return spread->few ? row_height * (double)(spread->kinds.rows + 1) + gap : 0;
}

static size_t rows_that_fit(double height) {
    double rows = floor(height / row_height) - 1;
    return rows > 1 ? (size_t)rows : 1;
}

static struct spread spread_tables(const struct sheet *sheet) {
    size_t count = sheet->list.count;
    struct spread spread = {.few = sheet->list.kind_count <= KINDS_SHOWN};
    spread.kinds = (struct table){
        .cell = kind_cell, .words = 1U << 0 | 1U << 1 | 1U << 8, .columns = 9, .rows = sheet->list.kind_count};
    spread.places = (struct table){.cell = spread.few ? short_cell : full_cell, .rows = count};
    spread.places.words = spread.few ? 1U << 1 | 1U << 2 : 1U << 1;
    spread.places.columns =
        spread.few ? sizeof short_columns / sizeof *short_columns : sizeof full_columns / sizeof *full_columns;
    if (spread.few)
        measure_table(sheet, &spread.kinds);
    measure_table(sheet, &spread.places);
    double wide = SHEET_WIDTH_MM - 2 * margin, between = 2 * column_gap;
    spread.blocks = (size_t)fmax(1, floor((wide + between) / (spread.places.width + between)));
    double room = body_bottom - body_top - gap - kinds_height(&spread);
    spread.rows = rows_that_fit(body_bottom - body_top);
    spread.first_rows = divided_up(count, spread.blocks);
    if (spread.first_rows > rows_that_fit(room - drawings_least)) /* a second page: then the drawings have room */
        spread.first_rows = rows_that_fit(room - drawings_roomy);
    size_t on_first = spread.first_rows * spread.blocks, rest = count > on_first ? count - on_first : 0;
    spread.pages = 1 + divided_up(rest, spread.rows * spread.blocks);
    if (spread.pages > PAGES_MAX)
        spread.pages = PAGES_MAX;
    spread.shown = on_first + (spread.pages - 1) * spread.rows * spread.blocks;
    spread.shown = spread.shown < count ? spread.shown : count;
    return spread;
}

/* Blocks side by side, each filled before the next. */
static void write_places(struct sheet *sheet, const struct spread *spread, size_t from, size_t rows, double y) {
    for (size_t block = 0; block < spread->blocks && from < spread->shown; block++) {
        size_t to = from + rows < spread->shown ? from + rows : spread->shown;
        write_table(sheet, &spread->places, from, to,
                    margin + (double)block * (spread->places.width + 2 * column_gap), y);
        from = to;
    }
}

static void draw_first(struct sheet *sheet, const struct spread *spread, struct sheet_layout *layout) {
    double places_y = body_bottom - row_height * (double)(spread->first_rows + 1);
    double kinds_y = places_y - kinds_height(spread), right = SHEET_WIDTH_MM - margin;
    double bottom = kinds_y - gap, middle = margin + plan_share * (right - margin);
    bracket_plan_draw(sheet, (struct rect){margin, body_top, middle - 1, bottom}, layout);
    bracket_sides_draw(sheet, (struct rect){middle + 1, body_top, right, bottom});
    if (spread->few)
        write_table(sheet, &spread->kinds, 0, spread->kinds.rows, margin, kinds_y);
    write_places(sheet, spread, 0, spread->first_rows, places_y);
}

static void draw_header(struct sheet *sheet, size_t number, size_t pages) {
    char which[64];
    snprintf(which, sizeof which, "Bracket sheet %zu of %zu", number, pages);
    sheet_header(sheet, which);
}

static void draw_footer(struct sheet *sheet, const struct spread *spread) {
    char words[900], cut[120] = "", kinds[160] = "";
    if (spread->shown < sheet->list.count)
        snprintf(cut, sizeof cut, " Modules %zu to %zu found no room: luxfall check lists them.", spread->shown + 1,
                 sheet->list.count);
    if (!spread->few)
        snprintf(kinds, sizeof kinds, " %zu different brackets: side views show %d of them.", sheet->list.kind_count,
                 SIDES_MAX);
    snprintf(words, sizeof words,
             "Print on A4 landscape at 100\u00a0%%, not fitted to the page, and lay a ruler on the scale bar. Clock "
             "angles run "
             "counter-clockwise from +x, hours clockwise from 12 at +y, both seen from above. Side views lie in the "
             "vertical plane of the beam axis; z and distances end at the lens face. Crossed and dashed: dark.%s%s "
             "Estimates: check every lean with an angle gauge and every spot on paper before you fix it. Do not look "
             "into a lit lens; start at low current. Lens fronts and heatsinks burn skin and soften printed parts.",
             kinds, cut);
    sheet_footer(sheet, words, body_bottom + 2.5);
}

/* ---- a picture ------------------------------------------------------------------------------------------------- */

int figure_bracket_draw(struct page *page, const struct scene *scene, size_t number, const struct figure_style *style,
                        struct sheet_layout *layout, struct figure_error *error) {
    struct sheet sheet = {.page = page, .scene = scene};
    int status = sheet_begin(page, style, error);
    if (status == 0 && bracket_list_make(&scene->light, &sheet.list) != 0)
        status = figure_fail(error, 1, "out of memory while drawing the bracket sheet");
    if (status == 0) {
        struct spread spread = spread_tables(&sheet);
        draw_header(&sheet, number, spread.pages);
        if (number == 1)
            draw_first(&sheet, &spread, layout);
        else
            write_places(&sheet, &spread, spread.blocks * (spread.first_rows + (number - 2) * spread.rows),
                         spread.rows, body_top);
        draw_footer(&sheet, &spread);
        page->out_of_memory |= sheet.clutter.out_of_memory;
    }
    bracket_list_free(&sheet.list);
    clutter_free(&sheet.clutter);
    return status;
}

int figure_bracket(const char *path, const struct scene *scene, size_t number, const struct figure_style *style,
                   struct figure_error *error) {
    struct page page;
    struct sheet_layout layout;
    int status = figure_bracket_draw(&page, scene, number, style, &layout, error);
    if (status == 0)
        status =
            picture_write(path, &page, scene->title,
                          "A workshop sheet: brackets in plan and side view to scale, and the table of them.", error);
    page_end(&page);
    return status;
}

int figure_bracket_pages(const struct scene *scene, const struct figure_style *style, size_t *pages,
                         struct figure_error *error) {
    struct page page;
    struct sheet sheet = {.page = &page, .scene = scene};
    int status = sheet_begin(&page, style, error);
    if (status == 0 && bracket_list_make(&scene->light, &sheet.list) != 0)
        status = figure_fail(error, 1, "out of memory while drawing the bracket sheet");
    if (status == 0)
        *pages = spread_tables(&sheet).pages;
    bracket_list_free(&sheet.list);
    page_end(&page);
    return status;
}
