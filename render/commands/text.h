/* Words and numbers for a reader: wrapped text, tables in columns, values with their bands. */
#ifndef RENDER_COMMANDS_TEXT_H
#define RENDER_COMMANDS_TEXT_H

#include "luxfall.h"

#include <stdio.h>

/* Text broken between words, going on at column `at` and from then on at `indent`; ends with a newline. */
void print_wrapped(FILE *stream, const char *text, int at, int indent);

/* A value with its 95 % band, to the digits that the band supports; without one, to four digits. "-" for NaN. */
enum { FORMAT_SIZE = 48 };
void format_lux(char out[FORMAT_SIZE], struct luxfall_estimate value);          /* 91.55 klx ±0.2 % */
void format_ratio(char out[FORMAT_SIZE], struct luxfall_estimate value);        /* 0.853 ±0.002 */
void format_share(char out[FORMAT_SIZE], struct luxfall_estimate value);        /* 0.129 is shown as 12.9 % ±0.1 */
void format_mm(char out[FORMAT_SIZE], struct luxfall_estimate value);           /* 61.2 mm ±0.1 */
void format_percent(char out[FORMAT_SIZE], struct luxfall_estimate value);      /* 12.9 is shown as 12.9 % ±0.1 */
void format_degrees(char out[FORMAT_SIZE], struct luxfall_estimate value);      /* 24.1 deg ±0.2 */
void format_candela(char out[FORMAT_SIZE], struct luxfall_estimate value);      /* 461 cd ±3 */
void format_tilt(char out[FORMAT_SIZE], struct luxfall_estimate value);         /* 0.12 %/mm ±0.01 */
void format_lumens(char out[FORMAT_SIZE], struct luxfall_estimate value);       /* 103.1 lm ±0.1 */
void format_watts(char out[FORMAT_SIZE], struct luxfall_estimate value);        /* 8.12 W */
void format_lux_per_watt(char out[FORMAT_SIZE], struct luxfall_estimate value); /* 11.3 klx/W ±0.2 % */
void format_lumens_per_watt(char out[FORMAT_SIZE], struct luxfall_estimate value); /* 78.7 lm/W */
void format_current(char out[FORMAT_SIZE], struct luxfall_estimate value);         /* 0.35 is shown as 350 mA */
void format_price(char out[FORMAT_SIZE], struct luxfall_estimate value); /* 24.80, the currency is told elsewhere */
void format_lm(char out[FORMAT_SIZE], double value_lm);                  /* 760 */
void format_rays(char out[FORMAT_SIZE], uint64_t rays);                  /* 33.6 million */

/* Cells of text, printed in columns as wide as their longest cell (in characters, not bytes). Row 0 is the heading.
 */
struct text_table {
    size_t rows, columns;
    char *cells; /* rows x columns, each TEXT_CELL bytes */
};
enum { TEXT_CELL = 128 };
int text_table_init(struct text_table *table, size_t rows, size_t columns); /* 0, or 1 out of memory */
char *text_table_cell(const struct text_table *table, size_t row, size_t column);
/* Fills a cell; what does not fit is cut between characters, control characters become "?". */
void text_table_put(const struct text_table *table, size_t row, size_t column, const char *text);
/* Every row begins with the prefix. */
void text_table_print(const struct text_table *table, const char *prefix, FILE *stream);
/* The same for a page of Markdown. */
void text_table_print_markdown(const struct text_table *table, FILE *stream);
void text_table_release(struct text_table *table);

#endif
