#include "comparison.h"

#include "render/files/files.h"
#include "report.h"

#include <math.h>
#include <string.h>

/* ---- values ---------------------------------------------------------------------------------------------------- */

/* In the order of reading, under headings that leave room for many columns. */
static const struct {
    const char *name, *heading;
} shown[] = {
    {"map centre", "centre"},
    {"spot", "spot at 50 %"},
    {"visible edge", "visible edge"},
    {"current", "current"},
    {"watts", "power"},
    {"price", "price"},
    {"centre", "centre"},
    {"U0", "U0"},
    {"edge/centre", "edge/centre"},
    {"lumens", "lumens in it"},
    {"wasted", "wasted"},
    {"lux per watt", "lux/W"},
    {"lux per price", "lux/price"},
};

const char *comparison_currency(const struct candidates *candidates) {
    const char *currency = candidates->items[0].traced.scene->currency;
    for (size_t i = 1; currency && i < candidates->count; i++) {
        const char *other = candidates->items[i].traced.scene->currency;
        currency = other && strcmp(other, currency) == 0 ? currency : NULL;
    }
    return currency;
}

/* "price, EUR", "lux/EUR". */
static void put_heading(const struct candidates *candidates, const char *heading, char cell[TEXT_CELL]) {
    const char *currency = comparison_currency(candidates), *price = strstr(heading, "price");
    if (price == heading && currency)
        snprintf(cell, TEXT_CELL, "price, %.20s", currency);
    else if (price && currency)
        snprintf(cell, TEXT_CELL, "%.*s%.20s", (int)(price - heading), heading, currency);
    else
        snprintf(cell, TEXT_CELL, "%s", heading);
}

struct luxfall_estimate comparison_value(const struct candidate *candidate, const struct statistic *statistic,
                                         size_t plane, const char *field) {
    const struct traced *traced = &candidate->traced;
    const struct luxfall_scene *light = &traced->scene->light;
    struct statistic_source source = {traced->scene, traced->result, plane, 0};
    while (field && source.field < light->field_count && strcmp(light->fields[source.field].name, field) != 0)
        source.field++;
    if (field && source.field == light->field_count)
        return (struct luxfall_estimate){NAN, NAN};
    return statistic->of(&source);
}

static bool known_of(const struct candidate *candidate, const struct statistic *statistic) {
    const struct luxfall_scene *light = &candidate->traced.scene->light;
    bool of_field = statistic->scope == OF_FIELD;
    for (size_t plane = 0; plane < light->target.level_count; plane++)
        for (size_t i = 0; i < (of_field ? light->field_count : 1); i++)
            if (!isnan(comparison_value(candidate, statistic, plane, of_field ? light->fields[i].name : NULL).value))
                return true;
    return false;
}

struct columns comparison_columns(const struct candidates *candidates, bool of_field) {
    struct columns columns = {0};
    for (size_t i = 0; i < sizeof shown / sizeof *shown; i++) {
        const struct statistic *statistic = statistic_named(shown[i].name);
        bool known = false;
        if ((statistic->scope == OF_FIELD) != of_field)
            continue;
        for (size_t k = 0; k < candidates->count && !known; k++)
            known = known_of(&candidates->items[k], statistic);
        if (!known)
            continue;
        columns.headings[columns.count] = shown[i].heading;
        columns.items[columns.count++] = statistic;
    }
    return columns;
}

/* ---- the best of a column -------------------------------------------------------------------------------------- */

/* How far from the best that could be; less is better. */
static double lack(enum statistic_best best, double value) {
    return best == BEST_NEAREST_ONE ? fabs(value - 1) : best == BEST_LOWEST ? value : -value;
}

static size_t find_best(size_t count, enum statistic_best best, const struct luxfall_estimate *values) {
    size_t first = count;
    for (size_t i = 0; i < count; i++)
        if (isfinite(values[i].value) &&
            (first == count || lack(best, values[i].value) < lack(best, values[first].value)))
            first = i;
    return first;
}

/* Marks the best of a column, and those that their bands, or the digits shown, do not tell from it; but not where
 * this is every one that is known. */
static void mark_best(const struct text_table *table, size_t column, enum statistic_best best,
                      const struct luxfall_estimate *values) {
    size_t count = table->rows - 1, first = find_best(count, best, values), marks = 0, known = 0;
    bool marked[CANDIDATES_MAX];
    if (best == BEST_NONE || first == count)
        return;
    for (size_t i = 0; i < count; i++) {
        double band =
            hypot(isnan(values[i].u95) ? 0 : values[i].u95, isnan(values[first].u95) ? 0 : values[first].u95);
        marked[i] = strcmp(text_table_cell(table, i + 1, column), text_table_cell(table, first + 1, column)) == 0 ||
                    lack(best, values[i].value) - lack(best, values[first].value) <= band;
        marks += marked[i];
        known += !isnan(values[i].value);
    }
    for (size_t i = 0; i < count && marks < known; i++) {
        char *cell = text_table_cell(table, i + 1, column);
        size_t used = strlen(cell);
        if (marked[i])
            snprintf(cell + used, TEXT_CELL - used, " *");
    }
}

/* ---- blocks ---------------------------------------------------------------------------------------------------- */

/* One block of the table: the candidates' maps and lamps (field NULL), or their fields of one name. */
struct block {
    const struct candidates *candidates;
    const struct columns *columns;
    size_t plane;
    const char *field;
};

typedef void table_printer(const struct text_table *table, FILE *stream);

static void print_plain(const struct text_table *table, FILE *stream) {
    text_table_print(table, "  ", stream);
}

static int print_block(const struct block *block, table_printer *print, FILE *stream) {
    struct text_table table;
    size_t count = block->candidates->count;
    if (text_table_init(&table, count + 1, block->columns->count + 1) != 0)
        return EXIT_MACHINE;
    text_table_put(&table, 0, 0, block->field ? block->field : "whole map");
    for (size_t i = 0; i < count; i++)
        text_table_put(&table, i + 1, 0, block->candidates->items[i].name);
    for (size_t column = 0; column < block->columns->count; column++) {
        const struct statistic *statistic = block->columns->items[column];
        struct luxfall_estimate values[CANDIDATES_MAX];
        put_heading(block->candidates, block->columns->headings[column], text_table_cell(&table, 0, column + 1));
        for (size_t i = 0; i < count; i++) {
            values[i] = comparison_value(&block->candidates->items[i], statistic, block->plane, block->field);
            statistic->format(text_table_cell(&table, i + 1, column + 1), values[i]);
        }
        mark_best(&table, column + 1, statistic->best, values);
    }
    fputc('\n', stream);
    print(&table, stream);
    text_table_release(&table);
    return 0;
}

static bool has_field(const struct candidate *candidate, const char *name) {
    const struct luxfall_scene *light = &candidate->traced.scene->light;
    for (size_t i = 0; i < light->field_count; i++)
        if (strcmp(light->fields[i].name, name) == 0)
            return true;
    return false;
}

/* A block for every field, those that only later candidates have included. */
static int print_fields(struct block block, table_printer *print, FILE *stream) {
    int status = 0;
    for (size_t i = 0; i < block.candidates->count; i++) {
        const struct luxfall_scene *light = &block.candidates->items[i].traced.scene->light;
        for (size_t j = 0; status == 0 && j < light->field_count; j++) {
            bool told = false;
            for (size_t k = 0; k < i; k++)
                told |= has_field(&block.candidates->items[k], light->fields[j].name);
            block.field = light->fields[j].name;
            if (!told)
                status = print_block(&block, print, stream);
        }
    }
    return status;
}

static int print_planes(const struct candidates *candidates, const char *heading, table_printer *print,
                        FILE *stream) {
    const struct luxfall_target *target = &candidates->items[0].traced.scene->light.target;
    struct columns of_map = comparison_columns(candidates, false), of_field = comparison_columns(candidates, true);
    int status = 0;
    for (size_t plane = 0; status == 0 && plane < target->level_count; plane++) {
        if (target->level_count > 1)
            fprintf(stream, "\n%slevel %g mm\n", heading, target->level_mm[plane]);
        status = print_block(&(struct block){candidates, &of_map, plane, NULL}, print, stream);
        if (status == 0)
            status = print_fields((struct block){candidates, &of_field, plane, NULL}, print, stream);
    }
    return status;
}

static int print_notes(const struct candidates *candidates, FILE *stream) {
    struct report_entry entries[CANDIDATES_MAX];
    for (size_t i = 0; i < candidates->count; i++) {
        const struct candidate *candidate = &candidates->items[i];
        entries[i] = (struct report_entry){candidate->traced.scene, candidate->traced.result, candidate->name};
    }
    return report_print_notes(entries, candidates->count, stream) == 0 ? 0 : EXIT_MACHINE;
}

/* ---- on the terminal and in a build log ------------------------------------------------------------------------ */

static const char stars[] = "* the best of its column, or not to be told from it. U0: darkest/average";

const char *comparison_title(const struct candidates *candidates) {
    const char *title = candidates->items[0].traced.scene->title;
    for (size_t i = 1; i < candidates->count; i++)
        if (strcmp(candidates->items[i].traced.scene->title, title) != 0)
            return "Lamps compared";
    return title;
}

int comparison_print(const struct candidates *candidates) {
    puts(comparison_title(candidates));
    int status = print_planes(candidates, "", print_plain, stdout);
    if (status == 0) {
        printf("\n%s\n", stars);
        status = print_notes(candidates, stdout);
    }
    return status;
}

static void print_markdown_scenes(const struct candidates *candidates, FILE *stream) {
    fprintf(stream, "\nForecast by luxfall %s of", luxfall_version());
    for (size_t i = 0; i < candidates->count; i++) {
        const char *path = candidates->items[i].traced.path;
        bool told = false;
        for (size_t k = 0; k < i; k++)
            told |= strcmp(candidates->items[k].traced.path, path) == 0;
        if (!told)
            fprintf(stream, "%s `%s`", i ? "," : "", path);
    }
    fprintf(stream, ", seed %llu.\n", (unsigned long long)candidates->items[0].traced.result->seed);
}

int comparison_markdown(const char *path, const struct candidates *candidates, struct figure_error *error) {
    struct whole_file file;
    int status = whole_file_begin(&file, path, error);
    if (status)
        return status;
    fprintf(file.stream, "# %s\n", comparison_title(candidates));
    print_markdown_scenes(candidates, file.stream);
    status = print_planes(candidates, "## ", text_table_print_markdown, file.stream);
    fprintf(file.stream, "\n\\%s\n\n```text\n", stars);
    if (status == 0)
        status = print_notes(candidates, file.stream);
    if (status)
        return whole_file_fail(&file, "out of memory", error);
    fputs("```\n", file.stream);
    return whole_file_commit(&file, error);
}
