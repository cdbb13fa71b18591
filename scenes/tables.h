/* Tables as text: comma, semicolon or tab between cells, # comments, an optional header row. */
#ifndef SCENES_TABLES_H
#define SCENES_TABLES_H

#include "scenes/source.h"

enum { TABLE_COLUMNS_MAX = 64, TABLE_ROWS_MAX = 50000, TABLE_LINES_MAX = 100000 };

struct table_cell {
    const char *text;
    struct scene_place place;
};

struct table_remark {
    const char *key, *value; /* "# key: value" */
    struct scene_place place;
};

struct table {
    const struct source *source;
    struct arena *arena;
    struct messages *messages;
    bool has_header, decimal_comma;
    bool quiet; /* no warnings */
    struct table_cell header[TABLE_COLUMNS_MAX];
    size_t columns, row_count;
    struct table_cell *cells; /* row_count x columns */
    struct table_remark *remarks;
    size_t remark_count;
};

/* False after messages. quiet: errors alone are told. */
bool table_read(struct arena *arena, struct messages *messages, const struct source *source, bool quiet,
                struct table *out);
bool table_number(const struct table *table, size_t row, size_t column, double *out);
const struct table_remark *table_remark(const struct table *table, const char *key);
void table_tell(const struct table *table, enum message_kind kind, struct scene_place place, const char *format, ...)
    __attribute__((format(printf, 4, 5)));
/* Names of the columns, for a message. */
const char *table_names(const struct table *table);
/* Column of one of the names (NULL at the end), or -1. */
int table_column(const struct table *table, const char *const *names);

#endif
