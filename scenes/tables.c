#include "scenes/tables.h"
#include "scenes/messages.h"
#include "scenes/numbers.h"

#include <string.h>
#include <strings.h>

struct row {
    struct table_cell cells[TABLE_COLUMNS_MAX];
    size_t count;
    bool broken; /* a quote is open, or too many cells: told */
};

void table_tell(const struct table *table, enum message_kind kind, struct scene_place place, const char *format,
                ...) {
    va_list arguments;
    if (kind == MESSAGE_WARNING && table->quiet)
        return;
    va_start(arguments, format);
    const char *line = source_line(table->arena, table->source, place.line);
    messages_add_list(table->messages, kind, place, line, format, arguments);
    va_end(arguments);
}

static bool is_blank(char c) {
    return c == ' ' || c == '\t';
}

static const char *trimmed(struct arena *arena, const char *text, size_t length, size_t *skipped) {
    *skipped = 0;
    while (length > 0 && is_blank(text[0])) {
        text++;
        length--;
        ++*skipped;
    }
    while (length > 0 && is_blank(text[length - 1]))
        length--;
    return arena_text(arena, text, length);
}

/* "a ""b"" c": the length of the quoted text with both quotes, 0 when it is not closed. */
static size_t quoted_length(const char *text) {
    for (size_t i = 1; text[i] != '\0'; i++) {
        if (text[i] == '"' && text[i + 1] == '"')
            i++;
        else if (text[i] == '"')
            return i + 1;
    }
    return 0;
}

static const char *unquoted(struct arena *arena, const char *text, size_t length) {
    char *copy = arena_text(arena, text + 1, length - 2);
    size_t n = 0;
    for (size_t i = 0; copy != NULL && copy[i] != '\0'; i++) {
        copy[n++] = copy[i];
        i += copy[i] == '"';
    }
    if (copy != NULL)
        copy[n] = '\0';
    return copy;
}

static void split_row(const struct table *table, const char *line, int number, char separator, struct row *row) {
    *row = (struct row){.count = 0};
    for (const char *cell = line;;) {
        size_t blanks = 0, length = strcspn(cell, (const char[]){separator, '\0'});
        const char *start = cell;
        while (is_blank(*start) && *start != separator)
            start++;
        struct scene_place place = {table->source->label, number, (int)(start - line) + 1};
        if (row->count == TABLE_COLUMNS_MAX) {
            table_tell(table, MESSAGE_ERROR, place, "more than %d cells in a row", TABLE_COLUMNS_MAX);
            row->broken = true;
            return;
        }
        struct table_cell *out = &row->cells[row->count++];
        out->place = place;
        if (*start == '"') {
            size_t quoted = quoted_length(start);
            if (quoted == 0) {
                table_tell(table, MESSAGE_ERROR, place, "this quote is not closed in its line");
                row->broken = true;
                return;
            }
            out->text = unquoted(table->arena, start, quoted);
            cell = start + quoted;
            cell += strcspn(cell, (const char[]){separator, '\0'});
        } else {
            out->text = trimmed(table->arena, cell, length, &blanks);
            cell += length;
        }
        if (*cell == '\0')
            return;
        cell++;
    }
}

static bool is_number(const char *text) {
    double value;
    const char *rest;
    enum number_status status = number_read(text, &value, &rest);
    return status == NUMBER_COMMA || (status != NUMBER_NONE && text[0] != '\0');
}

static const char *content(const char *line) {
    while (is_blank(*line))
        line++;
    return line;
}

static bool add_remark(struct table *table, const char *line, int number) {
    const char *start = content(content(line) + 1), *colon = strchr(start, ':');
    if (colon == NULL)
        return true;
    struct table_remark *grown = arena_more(table->arena, table->remarks, table->remark_count, sizeof *grown);
    if (grown == NULL)
        return false;
    size_t skipped;
    table->remarks = grown;
    grown[table->remark_count++] =
        (struct table_remark){trimmed(table->arena, start, (size_t)(colon - start), &skipped),
                              trimmed(table->arena, colon + 1, strlen(colon + 1), &skipped),
                              {table->source->label, number, (int)(start - line) + 1}};
    return true;
}

static const char *line_text(const struct table *table, size_t line) {
    const char *text = source_line(table->arena, table->source, (int)line + 1);
    return text != NULL ? text : "";
}

/* Cells of the line at a separator outside quotes, 0 for a line without cells. */
static size_t cells_at(const char *line, char separator) {
    size_t count = 1;
    bool quoted = false;
    for (; *line != '\0'; line++) {
        quoted = *line == '"' ? !quoted : quoted;
        count += *line == separator && !quoted;
    }
    return count;
}

/* The same count, 2 or more, in every line that holds cells. */
static bool splits_evenly(const struct table *table, char separator) {
    size_t count = 0;
    for (size_t i = 0; i < table->source->line_count; i++) {
        const char *line = line_text(table, i);
        if (*content(line) == '#' || *content(line) == '\0' || strncmp(line, "sep=", 4) == 0)
            continue;
        size_t cells = cells_at(line, separator);
        if (cells < 2 || (count != 0 && cells != count))
            return false;
        count = cells;
    }
    return count >= 2;
}

static char find_separator(const struct table *table, size_t *first_line) {
    const char *line = line_text(table, 0);
    *first_line = 0;
    if (strncmp(line, "sep=", 4) == 0 && line[4] != '\0' && line[5] == '\0') {
        *first_line = 1;
        return line[4];
    }
    const struct table_remark *decimal = table_remark(table, "decimal");
    bool comma = decimal != NULL && strcasecmp(decimal->value, "comma") == 0;
    if (!comma && splits_evenly(table, ','))
        return ',';
    return splits_evenly(table, ';') ? ';' : splits_evenly(table, '\t') ? '\t' : comma ? ';' : ',';
}

static bool keep_row(struct table *table, const struct row *row, struct table_cell **rows) {
    struct table_cell *kept = arena_take(table->arena, row->count, sizeof *kept);
    if (kept == NULL)
        return false;
    memcpy(kept, row->cells, row->count * sizeof *kept);
    *rows = kept;
    return true;
}

static bool take_row(struct table *table, struct row *row, size_t expected, struct table_cell ***rows) {
    if (row->count == expected + 1 && row->cells[expected].text != NULL && row->cells[expected].text[0] == '\0')
        row->count--; /* a separator at the end of the line */
    if (row->count != expected) {
        table_tell(table, MESSAGE_ERROR, row->cells[0].place, "%zu cells in this row; the first row has %zu",
                   row->count, expected);
        return false;
    }
    if (table->row_count == TABLE_ROWS_MAX) {
        table_tell(table, MESSAGE_ERROR, row->cells[0].place, "more than %d rows", TABLE_ROWS_MAX);
        return false;
    }
    struct table_cell **grown = arena_more(table->arena, *rows, table->row_count, sizeof *grown);
    if (grown == NULL || !keep_row(table, row, &grown[table->row_count]))
        return false;
    *rows = grown;
    table->row_count++;
    return true;
}

static bool read_rows(struct table *table, struct table_cell ***rows) {
    size_t first_line = 0;
    char separator = find_separator(table, &first_line);
    bool good = true, begun = false;
    for (size_t i = first_line; i < table->source->line_count && table->row_count <= TABLE_ROWS_MAX; i++) {
        const char *line = line_text(table, i);
        struct row row;
        if (*content(line) == '#' || *content(line) == '\0')
            continue;
        split_row(table, line, (int)i + 1, separator, &row);
        if (row.broken || table->arena->failed) {
            good = false;
            continue;
        }
        if (!begun) {
            begun = true;
            table->columns = row.count;
            table->has_header = !is_number(row.cells[0].text);
            if (table->has_header) {
                memcpy(table->header, row.cells, row.count * sizeof *row.cells);
                continue;
            }
        }
        good = take_row(table, &row, table->columns, rows) && good;
    }
    return good;
}

static bool read_remarks(struct table *table) {
    for (size_t i = 0; i < table->source->line_count; i++) {
        const char *line = line_text(table, i);
        if (*content(line) == '#' && !add_remark(table, line, (int)i + 1))
            return false;
    }
    const struct table_remark *decimal = table_remark(table, "decimal");
    table->decimal_comma = decimal != NULL && strcasecmp(decimal->value, "comma") == 0;
    return !table->arena->failed;
}

bool table_read(struct arena *arena, struct messages *messages, const struct source *source, bool quiet,
                struct table *out) {
    *out = (struct table){.source = source, .arena = arena, .messages = messages, .quiet = quiet};
    struct table_cell **rows = NULL;
    if (source->line_count > TABLE_LINES_MAX) {
        table_tell(out, MESSAGE_ERROR, (struct scene_place){source->label, 0, 0}, "more than %d lines",
                   TABLE_LINES_MAX);
        return false;
    }
    if (!read_remarks(out) || !read_rows(out, &rows))
        return false;
    if (out->row_count == 0) {
        table_tell(out, MESSAGE_ERROR, (struct scene_place){source->label, 0, 0}, "no rows of numbers in this table");
        return false;
    }
    out->cells = arena_take(arena, out->row_count * out->columns, sizeof *out->cells);
    if (out->cells == NULL)
        return false;
    for (size_t i = 0; i < out->row_count; i++)
        memcpy(&out->cells[i * out->columns], rows[i], out->columns * sizeof *out->cells);
    return true;
}

const struct table_remark *table_remark(const struct table *table, const char *key) {
    for (size_t i = 0; i < table->remark_count; i++)
        if (strcasecmp(table->remarks[i].key, key) == 0)
            return &table->remarks[i];
    return NULL;
}

int table_column(const struct table *table, const char *const *names) {
    for (size_t i = 0; table->has_header && i < table->columns; i++)
        for (size_t k = 0; names[k] != NULL; k++)
            if (strcasecmp(table->header[i].text, names[k]) == 0)
                return (int)i;
    return -1;
}

const char *table_names(const struct table *table) {
    const char *names = "";
    for (size_t i = 0; names != NULL && i < table->columns && i < 8; i++)
        names = arena_format(table->arena, "%s%s%.40s", names, i ? ", " : "", table->header[i].text);
    return names != NULL ? names : "";
}

bool table_number(const struct table *table, size_t row, size_t column, double *out) {
    const struct table_cell *cell = &table->cells[row * table->columns + column];
    size_t length = strlen(cell->text);
    char *text = arena_text(table->arena, cell->text, length);
    const char *rest = text;
    if (text == NULL)
        return false;
    char *comma = strchr(text, ',');
    if (table->decimal_comma && comma != NULL)
        *comma = '.';
    enum number_status status = number_read(text, out, &rest);
    if (status == NUMBER_OK && *rest == '\0')
        return true;
    if (status == NUMBER_OK)
        table_tell(table, MESSAGE_ERROR, cell->place,
                   "'%.40s' is not a number alone; units stand in the column's name", cell->text);
    else
        table_tell(table, MESSAGE_ERROR, cell->place, "'%.40s' %s; a number is expected", cell->text,
                   number_complaint(status));
    return false;
}
