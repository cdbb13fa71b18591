#include "text.h"

#include "scenes/text.h"

#include <math.h>
#include <stdbool.h>
#include <stdlib.h>
#include <string.h>

/* ---- values ---------------------------------------------------------------------------------------------------- */

static int within(int low, int value, int high) {
    return value < low ? low : value > high ? high : value;
}

/* Decimals that show a band with one digit, or with two when it begins with 1 or 2. */
static int decimals_of_band(double band) {
    int power = (int)floor(log10(band));
    return within(0, band / pow(10, power) < 2.95 ? 1 - power : -power, 7);
}

static int decimals_of_value(double value, int digits) {
    return fabs(value) > 0 ? within(0, digits - 1 - (int)floor(log10(fabs(value))), 7) : 0;
}

enum { DIGITS = 4 }; /* of a value, at most: a finer one says nothing to a builder */

static int decimals_for(struct luxfall_estimate estimate) {
    int most = decimals_of_value(estimate.value, DIGITS);
    int band = estimate.u95 > 0 ? decimals_of_band(estimate.u95) : most;
    return band < most ? band : most;
}

/* " ±0.2", to its own digits; nothing when there is no band. */
static void append_band(char out[FORMAT_SIZE], double band, const char *unit) {
    size_t used = strlen(out);
    if (isfinite(band) && band > 0)
        snprintf(out + used, FORMAT_SIZE - used, " ±%.*f%s", decimals_of_band(band), fmax(band, 1e-7), unit);
}

static void format_with_unit(char out[FORMAT_SIZE], struct luxfall_estimate value, const char *unit) {
    if (isnan(value.value))
        snprintf(out, FORMAT_SIZE, "-");
    else if (fabs(value.value) < 5e-8 && !(value.u95 > 0))
        snprintf(out, FORMAT_SIZE, "0%s", unit); /* what is left of a difference */
    else
        snprintf(out, FORMAT_SIZE, "%.*f%s", decimals_for(value), value.value, unit);
}

static void format_lux_per(char out[FORMAT_SIZE], struct luxfall_estimate value, const char *per) {
    double unit = fabs(value.value) >= 1e6 ? 1e6 : fabs(value.value) >= 1e3 ? 1e3 : 1;
    char name[16];
    snprintf(name, sizeof name, "%s%s", unit == 1e6 ? " Mlx" : unit == 1e3 ? " klx" : " lx", per);
    format_with_unit(out, (struct luxfall_estimate){value.value / unit, value.u95 / unit}, name);
    append_band(out, 100 * value.u95 / fabs(value.value), " %");
}

void format_lux(char out[FORMAT_SIZE], struct luxfall_estimate value) {
    format_lux_per(out, value, "");
}

void format_lux_per_watt(char out[FORMAT_SIZE], struct luxfall_estimate value) {
    format_lux_per(out, value, "/W");
}

void format_ratio(char out[FORMAT_SIZE], struct luxfall_estimate value) {
    format_with_unit(out, value, "");
    if (isfinite(value.value) && !(value.u95 > 0))
        snprintf(out, FORMAT_SIZE, "%.3f", value.value);
    append_band(out, value.u95, "");
}

void format_share(char out[FORMAT_SIZE], struct luxfall_estimate value) {
    format_with_unit(out, (struct luxfall_estimate){100 * value.value, 100 * value.u95}, " %");
    append_band(out, 100 * value.u95, "");
}

static void format_plain(char out[FORMAT_SIZE], struct luxfall_estimate value, const char *unit) {
    format_with_unit(out, value, unit);
    append_band(out, value.u95, "");
}

void format_mm(char out[FORMAT_SIZE], struct luxfall_estimate value) {
    format_plain(out, value, " mm");
}

void format_percent(char out[FORMAT_SIZE], struct luxfall_estimate value) {
    format_plain(out, value, " %");
}

void format_degrees(char out[FORMAT_SIZE], struct luxfall_estimate value) {
    format_plain(out, value, " deg");
}

void format_candela(char out[FORMAT_SIZE], struct luxfall_estimate value) {
    format_plain(out, value, " cd");
}

void format_tilt(char out[FORMAT_SIZE], struct luxfall_estimate value) {
    format_plain(out, value, " %/mm");
}

void format_lumens(char out[FORMAT_SIZE], struct luxfall_estimate value) {
    format_plain(out, value, " lm");
}

void format_watts(char out[FORMAT_SIZE], struct luxfall_estimate value) {
    format_plain(out, value, " W");
}

void format_lumens_per_watt(char out[FORMAT_SIZE], struct luxfall_estimate value) {
    format_plain(out, value, " lm/W");
}

void format_current(char out[FORMAT_SIZE], struct luxfall_estimate value) {
    bool milli = fabs(value.value) < 1;
    if (isnan(value.value))
        snprintf(out, FORMAT_SIZE, "-");
    else
        snprintf(out, FORMAT_SIZE, "%.4g %s", milli ? 1000 * value.value : value.value, milli ? "mA" : "A");
}

void format_price(char out[FORMAT_SIZE], struct luxfall_estimate value) {
    snprintf(out, FORMAT_SIZE, isnan(value.value) ? "-" : "%.2f", value.value);
}

void format_lm(char out[FORMAT_SIZE], double value_lm) {
    snprintf(out, FORMAT_SIZE, "%.*f", decimals_of_value(value_lm, DIGITS), value_lm);
}

void format_rays(char out[FORMAT_SIZE], uint64_t rays) {
    if (rays >= 1000000)
        snprintf(out, FORMAT_SIZE, "%.3g million", (double)rays / 1e6);
    else
        snprintf(out, FORMAT_SIZE, "%llu", (unsigned long long)rays);
}

/* ---- tables ---------------------------------------------------------------------------------------------------- */

int text_table_init(struct text_table *table, size_t rows, size_t columns) {
    *table = (struct text_table){rows, columns, calloc(rows * columns, TEXT_CELL)};
    return table->cells ? 0 : 1;
}

char *text_table_cell(const struct text_table *table, size_t row, size_t column) {
    return table->cells + (row * table->columns + column) * TEXT_CELL;
}

void text_table_put(const struct text_table *table, size_t row, size_t column, const char *text) {
    char *cell = text_table_cell(table, row, column);
    size_t used = 0, left = strlen(text);
    while (left > 0) {
        uint32_t code = 0;
        size_t length = utf8_character(text, left, &code);
        bool plain = length > 0 && !character_is_control(code);
        length = length ? length : 1;
        if (used + length >= TEXT_CELL)
            break;
        memcpy(cell + used, plain ? text : "?", plain ? length : 1);
        used += plain ? length : 1;
        text += length;
        left -= length;
    }
    cell[used] = '\0';
}

/* Columns that the text takes on a screen. */
static int screen_width(const char *text) {
    int width = 0;
    size_t left = strlen(text);
    while (left > 0) {
        uint32_t code;
        size_t length = utf8_character(text, left, &code);
        width += length ? character_columns(code) : 1;
        text += length ? length : 1;
        left -= length ? length : 1;
    }
    return width;
}

static int column_width(const struct text_table *table, size_t column) {
    int width = 0;
    for (size_t row = 0; row < table->rows; row++) {
        int own = screen_width(text_table_cell(table, row, column));
        width = own > width ? own : width;
    }
    return width;
}

/* Cells of a row up to the last that holds anything. */
static size_t filled_cells(const struct text_table *table, size_t row) {
    size_t count = table->columns;
    while (count > 0 && text_table_cell(table, row, count - 1)[0] == '\0')
        count--;
    return count;
}

void text_table_print(const struct text_table *table, const char *prefix, FILE *stream) {
    for (size_t row = 0; row < table->rows; row++) {
        size_t filled = filled_cells(table, row);
        for (size_t column = 0; column < filled; column++) {
            const char *text = text_table_cell(table, row, column);
            bool last = column + 1 == filled;
            int pad = last ? 0 : column_width(table, column) - screen_width(text);
            fprintf(stream, "%s%s%*s", column ? "   " : prefix, text, pad, "");
        }
        fputc('\n', stream);
    }
}

/* What Markdown would read as a mark of its own is told to be a character. */
static void put_markdown_cell(const char *text, FILE *stream) {
    fputs(" ", stream);
    for (; *text; text++) {
        if (strchr("\\|*_`<>[]~", *text))
            fputc('\\', stream);
        fputc(*text, stream);
    }
    fputs(" |", stream);
}

void text_table_print_markdown(const struct text_table *table, FILE *stream) {
    for (size_t row = 0; row < table->rows; row++) {
        fputc('|', stream);
        for (size_t column = 0; column < table->columns; column++)
            put_markdown_cell(text_table_cell(table, row, column), stream);
        fputc('\n', stream);
        if (row > 0)
            continue;
        fputs("| --- |", stream);
        for (size_t column = 1; column < table->columns; column++)
            fputs(" ---: |", stream);
        fputc('\n', stream);
    }
}

void text_table_release(struct text_table *table) {
    free(table->cells);
    table->cells = NULL;
}
