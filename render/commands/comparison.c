#include "comparison.h"

#include "report.h"
#include "text.h"

#include <math.h>
#include <string.h>

/* A column: how it is shown, and which value is the best. A spot has no best size. */
enum best { BEST_NONE, BEST_HIGHEST, BEST_NEAREST_ONE };
struct column {
    const char *heading;
    void (*format)(char out[FORMAT_SIZE], struct luxfall_estimate value);
    enum best best;
};

static const struct column plane_columns[] = {
    {"centre", format_lux, BEST_HIGHEST},
    {"spot at 50 %", format_mm, BEST_NONE},
    {"visible edge", format_mm, BEST_NONE},
};
static const struct column field_columns[] = {
    {"centre", format_lux, BEST_HIGHEST},
    {"darkest/average", format_ratio, BEST_HIGHEST},
    {"edge/centre", format_ratio, BEST_NEAREST_ONE},
    {"light in it", format_share, BEST_HIGHEST},
};

static struct luxfall_estimate of_plane(const struct luxfall_plane_result *plane, size_t column) {
    const struct luxfall_estimate values[] = {plane->centre_lx, plane->half_peak_diameter_mm,
                                              plane->tenth_peak_diameter_mm};
    return values[column];
}

static struct luxfall_estimate of_field(const struct luxfall_field_result *field, size_t column) {
    const struct luxfall_estimate values[] = {field->centre_lx, field->minimum_over_average, field->edge_over_centre,
                                              field->utilisation};
    return values[column];
}

/* How far from the best that could be; less is better. */
static double lack(enum best best, double value) {
    return best == BEST_NEAREST_ONE ? fabs(value - 1) : -value;
}

static size_t find_best(const struct text_table *table, enum best best, const struct luxfall_estimate *values) {
    size_t first = table->rows;
    for (size_t i = 0; i + 1 < table->rows; i++)
        if (isfinite(values[i].value) &&
            (first == table->rows || lack(best, values[i].value) < lack(best, values[first].value)))
            first = i;
    return first;
}

/* Marks the best of a column, and those that their bands, or the digits shown, do not tell from it. */
static void mark_best(const struct text_table *table, size_t column, enum best best,
                      const struct luxfall_estimate *values) {
    size_t first = find_best(table, best, values);
    if (best == BEST_NONE || first == table->rows)
        return;
    char shown[TEXT_CELL];
    memcpy(shown, text_table_cell(table, first + 1, column), sizeof shown);
    for (size_t i = 0; i + 1 < table->rows; i++) {
        double band =
            hypot(isnan(values[i].u95) ? 0 : values[i].u95, isnan(values[first].u95) ? 0 : values[first].u95);
        char *cell = text_table_cell(table, i + 1, column);
        size_t used = strlen(cell);
        if (i == first || strcmp(cell, shown) == 0 ||
            lack(best, values[i].value) - lack(best, values[first].value) <= band)
            snprintf(cell + used, TEXT_CELL - used, " *");
    }
}

static bool same_field(const struct luxfall_field *a, const struct luxfall_field *b) {
    return strcmp(a->name, b->name) == 0;
}

/* The field of that name in a candidate's scene; NULL: it has none. */
static const struct luxfall_field_result *find_field(const struct traced *traced, size_t plane,
                                                     const struct luxfall_field *wanted) {
    for (size_t i = 0; i < traced->scene->light.field_count; i++)
        if (same_field(&traced->scene->light.fields[i], wanted))
            return &traced->result->planes[plane].fields[i];
    return NULL;
}

/* One block of the table: the candidates' planes (field NULL), or their fields of one name. */
static int print_block(const struct comparison *comparison, size_t plane, const struct luxfall_field *field) {
    const struct column *columns = field ? field_columns : plane_columns;
    size_t column_count = field ? sizeof field_columns / sizeof *columns : sizeof plane_columns / sizeof *columns;
    struct text_table table;
    if (text_table_init(&table, comparison->count + 1, column_count + 1) != 0)
        return comparison_out_of_memory();
    text_table_put(&table, 0, 0, field ? field->name : "whole map");
    for (size_t i = 0; i < comparison->count; i++)
        text_table_put(&table, i + 1, 0, comparison->names[i]);
    for (size_t column = 0; column < column_count; column++) {
        struct luxfall_estimate values[CANDIDATES_MAX];
        text_table_put(&table, 0, column + 1, columns[column].heading);
        for (size_t i = 0; i < comparison->count; i++) {
            const struct traced *traced = &comparison->traced[i];
            const struct luxfall_field_result *found = field ? find_field(traced, plane, field) : NULL;
            values[i] = field ? found ? of_field(found, column) : (struct luxfall_estimate){NAN, NAN}
                              : of_plane(&traced->result->planes[plane], column);
            columns[column].format(text_table_cell(&table, i + 1, column + 1), values[i]);
        }
        mark_best(&table, column + 1, columns[column].best, values);
    }
    putchar('\n');
    text_table_print(&table, "  ", stdout);
    text_table_release(&table);
    return 0;
}

/* A block for the plane and one for every field, those that only later candidates have included. */
static int print_plane_blocks(const struct comparison *comparison, size_t plane) {
    int status = print_block(comparison, plane, NULL);
    for (size_t i = 0; i < comparison->count; i++) {
        const struct luxfall_scene *light = &comparison->traced[i].scene->light;
        for (size_t j = 0; status == 0 && j < light->field_count; j++) {
            bool shown = false;
            for (size_t k = 0; k < i; k++)
                shown |= find_field(&comparison->traced[k], plane, &light->fields[j]) != NULL;
            if (!shown)
                status = print_block(comparison, plane, &light->fields[j]);
        }
    }
    return status;
}

int comparison_print(const struct comparison *comparison) {
    const struct traced *first = &comparison->traced[0];
    int status = 0;
    puts(first->scene->title);
    for (size_t plane = 0; status == 0 && plane < first->result->plane_count; plane++) {
        if (first->result->plane_count > 1)
            printf("\nlevel %g mm\n", first->result->planes[plane].level_mm);
        status = print_plane_blocks(comparison, plane);
    }
    if (status)
        return status;
    puts("\n* the best of its column, or not to be told from it");
    struct report_entry entries[CANDIDATES_MAX];
    for (size_t i = 0; i < comparison->count; i++)
        entries[i] =
            (struct report_entry){comparison->traced[i].scene, comparison->traced[i].result, comparison->names[i]};
    if (report_print_notes(entries, comparison->count, stdout) != 0) {
        fputs("luxfall compare: error: out of memory\n", stderr);
        return EXIT_MACHINE;
    }
    return report_flush("compare");
}
