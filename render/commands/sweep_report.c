/* A sweep as its reader wants it: the table of points and what follows from it. */
#include "sweep.h"

#include "report.h"
#include "sweep_verdicts.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

/* Up to ROWS_ALL points are all shown; of more about ROWS_SHOWN, in a grid about AXIS_SHOWN along each number. */
enum { ROWS_ALL = 32, ROWS_SHOWN = 25, AXIS_SHOWN = 5 };
enum { ROWS_MAX = ROWS_ALL + 8 + WANTS_MAX * CROSSINGS_MAX };

/* ---- rows ------------------------------------------------------------------------------------------------------ */

struct row {
    const struct sweep_point *point;
    char mark[TEXT_CELL];
};

struct rows {
    size_t count;
    struct row items[ROWS_MAX];
};

static bool same_point(const struct sweep *sweep, const struct sweep_point *a, const struct sweep_point *b) {
    for (size_t i = 0; i < sweep->varied_count; i++)
        if (a->number[i] != b->number[i])
            return false;
    return true;
}

/* How far along the sweep a point stands. */
static bool stands_before(const struct sweep *sweep, const struct sweep_point *a, const struct sweep_point *b) {
    for (size_t i = sweep->varied_count; i-- > 0;) {
        const struct vary *varied = &sweep->varied[i];
        if (a->number[i] != b->number[i])
            return (a->number[i] < b->number[i]) == (varied->from <= varied->to);
    }
    return false;
}

/* Puts a point in its place among the rows, or adds the mark to the row that is there. */
static void put_row(const struct sweep *sweep, struct rows *rows, const struct sweep_point *point, const char *mark) {
    size_t at = 0;
    while (at < rows->count && stands_before(sweep, rows->items[at].point, point))
        at++;
    struct row *row = &rows->items[at];
    if (at == rows->count || !same_point(sweep, row->point, point)) {
        memmove(row + 1, row, (rows->count - at) * sizeof *row);
        *row = (struct row){.point = point};
        rows->count++;
    }
    if (mark[0]) {
        size_t used = strlen(row->mark);
        snprintf(row->mark + used, sizeof row->mark - used, "%s%s", used ? ", " : "", mark);
    }
}

/* Every so many of an axis, so that about as many as `shown` are; its last always. */
static bool is_shown(size_t index, size_t count, size_t shown) {
    size_t every = (count - 1 + shown - 2) / (shown - 1);
    return every == 0 || index % every == 0 || index + 1 == count;
}

static void collect_rows(const struct sweep *sweep, struct rows *rows) {
    size_t first = sweep->varied[0].steps;
    size_t shown = sweep->point_count <= ROWS_ALL ? ROWS_ALL : sweep->varied_count == 1 ? ROWS_SHOWN : AXIS_SHOWN;
    for (size_t i = 0; i < sweep->point_count; i++)
        if (is_shown(i % first, first, shown) && is_shown(i / first, sweep->point_count / first, shown))
            put_row(sweep, rows, &sweep->points[i], "");
    for (size_t i = 0; i < sweep->want_count; i++)
        for (size_t j = 0; j < sweep->wants[i].crossing_count; j++)
            put_row(sweep, rows, &sweep->wants[i].crossings[j].point, sweep->wants[i].text);
    if (sweep->best_found)
        put_row(sweep, rows, &sweep->best, "best");
}

/* ---- the table ------------------------------------------------------------------------------------------------- */

static void fill_row(const struct sweep *sweep, const struct text_table *table, size_t index, const struct row *row) {
    char text[WISH_SIZE];
    size_t column = 0;
    for (size_t i = 0; i < sweep->varied_count; i++) {
        vary_text(&sweep->varied[i], row->point->number[i], text);
        text_table_put(table, index, column++, text);
    }
    for (size_t i = 0; i < sweep->quantity_count; i++)
        sweep->quantities[i].statistic->format(text_table_cell(table, index, column++), row->point->values[i]);
    text_table_put(table, index, column, row->mark);
}

static void fill_heading(const struct sweep *sweep, const struct text_table *table) {
    char text[TEXT_CELL];
    size_t column = 0;
    for (size_t i = 0; i < sweep->varied_count; i++)
        text_table_put(table, 0, column++, sweep->varied[i].path);
    for (size_t i = 0; i < sweep->quantity_count; i++) {
        quantity_text(&sweep->quantities[i], text);
        text_table_put(table, 0, column++, text);
    }
}

static int print_table(const struct sweep *sweep, bool markdown, FILE *stream) {
    struct text_table table;
    struct rows *rows = calloc(1, sizeof *rows);
    if (rows)
        collect_rows(sweep, rows);
    if (!rows || text_table_init(&table, rows->count + 1, sweep->varied_count + sweep->quantity_count + 1) != 0) {
        free(rows);
        return sweep_out_of_memory();
    }
    fill_heading(sweep, &table);
    for (size_t i = 0; i < rows->count; i++)
        fill_row(sweep, &table, i + 1, &rows->items[i]);
    if (markdown)
        text_table_print_markdown(&table, stream);
    else
        text_table_print(&table, "  ", stream);
    if (rows->count < sweep->point_count)
        fprintf(stream, "\n%s%zu points were swept, some of them are shown; %s\n", markdown ? "" : "  ",
                sweep->point_count, sweep->tracing.out ? "sweep.csv holds all" : "--out DIR and --json hold all");
    text_table_release(&table);
    free(rows);
    return 0;
}

/* ---- the price of an aim ----------------------------------------------------------------------------------------
 */

static void fill_price(const struct sweep *sweep, const struct text_table *table, size_t row,
                       const struct priced_aim *aim) {
    char lux[FORMAT_SIZE], even[PRICED_LEVELS][FORMAT_SIZE], dark[FORMAT_SIZE];
    format_lux(lux, aim->lx[0]);
    format_ratio(dark, aim->dark_even);
    for (size_t i = 0; i < PRICED_LEVELS; i++)
        format_ratio(even[i], aim->even[i]);
    snprintf(text_table_cell(table, row, 1), TEXT_CELL, "%s, %.0f %%", lux,
             100 * aim->lx[0].value / sweep->price.centre.lx[0].value);
    text_table_put(table, row, 2, even[0]);
    for (size_t i = 1; i < PRICED_LEVELS; i++)
        snprintf(text_table_cell(table, row, 2 + i), TEXT_CELL, "%+.1f %%, %s",
                 100 * (aim->lx[i].value / aim->lx[0].value - 1), even[i]);
    snprintf(text_table_cell(table, row, 5), TEXT_CELL, "%s (%.60s)", dark,
             sweep->base.scene->light.modules[aim->dark].name);
}

static int print_price(const struct sweep *sweep, bool markdown, FILE *stream) {
    static const char *const headings[] = {
        "price of the aim",     "centre", "U0", "10 mm lower: centre, U0", "10 mm higher: centre, U0",
        "worst module dark: U0"};
    enum { COLUMNS = sizeof headings / sizeof *headings };
    struct text_table table;
    char at[POINT_TEXT];
    if (!sweep->price.known)
        return 0;
    if (text_table_init(&table, 3, COLUMNS) != 0)
        return sweep_out_of_memory();
    for (size_t i = 0; i < COLUMNS; i++)
        text_table_put(&table, 0, i, headings[i]);
    sweep_point_text(sweep, sweep->best.number, at);
    text_table_put(&table, 1, 0, at);
    text_table_put(&table, 2, 0, "aimed at the centre");
    fill_price(sweep, &table, 1, &sweep->price.best);
    fill_price(sweep, &table, 2, &sweep->price.centre);
    if (markdown)
        text_table_print_markdown(&table, stream);
    else
        text_table_print(&table, "  ", stream);
    text_table_release(&table);
    fputc('\n', stream);
    return 0;
}

/* ---- all of it ------------------------------------------------------------------------------------------------- */

static void print_notes(const struct sweep *sweep, FILE *stream) {
    bool by_rays = sweep->tracing.options.method == LUXFALL_RAYS;
    char name[POINT_TEXT];
    sweep_point_text(sweep, sweep->shown_point->number, name);
    report_print_notes(&(struct report_entry){sweep->shown.scene, sweep->shown.result, by_rays ? name : NULL}, 1,
                       stream);
}

static int print_tables(const struct sweep *sweep, bool markdown, FILE *stream) {
    fprintf(stream, "%s%s\n\n", markdown ? "# " : "", sweep->base.scene->title);
    int status = print_table(sweep, markdown, stream);
    fputc('\n', stream);
    return status ? status : print_price(sweep, markdown, stream);
}

int sweep_print(const struct sweep *sweep, FILE *stream) {
    struct verdicts *verdicts = verdicts_make(sweep);
    int status = verdicts ? print_tables(sweep, false, stream) : sweep_out_of_memory();
    for (size_t i = 0; status == 0 && i < verdicts->count; i++)
        report_note(stream, verdicts->lines[i].label, verdicts->lines[i].text);
    if (status == 0)
        print_notes(sweep, stream);
    free(verdicts);
    return status;
}

int sweep_print_markdown(const struct sweep *sweep, FILE *stream) {
    struct verdicts *verdicts = verdicts_make(sweep);
    int status = verdicts ? print_tables(sweep, true, stream) : sweep_out_of_memory();
    for (size_t i = 0; status == 0 && i < verdicts->count; i++)
        fprintf(stream, "- **%s**: %s\n", verdicts->lines[i].label, verdicts->lines[i].text);
    if (status == 0) {
        fputs("\n```\n", stream);
        print_notes(sweep, stream);
        fputs("```\n", stream);
    }
    free(verdicts);
    return status;
}
