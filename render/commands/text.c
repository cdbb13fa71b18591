#include "text.h"

#include "scenes/text.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

/* ---- values ---------------------------------------------------------------------------------------------------- */

/* Decimals that show a band with one digit, or with two when it begins with 1 or 2. */
static int decimals_of_band(double band) {
    int power = (int)floor(log10(band));
    int decimals = band / pow(10, power) < 2.95 ? 1 - power : -power;
    return decimals < 0 ? 0 : decimals > 6 ? 6 : decimals;
}

static int decimals_of_value(double value, int digits) {
    if (!(fabs(value) > 0))
        return 0;
    int decimals = digits - 1 - (int)floor(log10(fabs(value)));
    return decimals < 0 ? 0 : decimals > 6 ? 6 : decimals;
}

static int decimals_for(struct luxfall_estimate estimate, int digits) {
    int decimals = decimals_of_value(estimate.value, digits + 2);
    if (!(estimate.u95 > 0))
        return decimals_of_value(estimate.value, digits);
    int band = decimals_of_band(estimate.u95);
    return band < decimals ? band : decimals;
}

void format_lux(char out[FORMAT_SIZE], struct luxfall_estimate value) {
    double unit = fabs(value.value) >= 1e6 ? 1e6 : fabs(value.value) >= 1e3 ? 1e3 : 1;
    const char *name = unit == 1e6 ? "Mlx" : unit == 1e3 ? "klx" : "lx";
    if (isnan(value.value)) {
        snprintf(out, FORMAT_SIZE, "-");
        return;
    }
    struct luxfall_estimate scaled = {value.value / unit, value.u95 / unit};
    int used = snprintf(out, FORMAT_SIZE, "%.*f %s", decimals_for(scaled, 4), scaled.value, name);
    double percent = 100 * value.u95 / fabs(value.value);
    if (isfinite(percent) && percent > 0)
        snprintf(out + used, FORMAT_SIZE - (size_t)used, " ±%.*f %%", decimals_of_band(percent), percent);
}

static void format_with_band(char out[FORMAT_SIZE], struct luxfall_estimate value, int digits, const char *unit) {
    if (isnan(value.value)) {
        snprintf(out, FORMAT_SIZE, "-");
        return;
    }
    int decimals = decimals_for(value, digits);
    int used = snprintf(out, FORMAT_SIZE, "%.*f%s", decimals, value.value, unit);
    if (value.u95 > 0)
        snprintf(out + used, FORMAT_SIZE - (size_t)used, " ±%.*f", decimals, value.u95);
}

void format_ratio(char out[FORMAT_SIZE], struct luxfall_estimate value) {
    if (isfinite(value.value) && !(value.u95 > 0))
        snprintf(out, FORMAT_SIZE, "%.3f", value.value);
    else
        format_with_band(out, value, 3, "");
}

void format_share(char out[FORMAT_SIZE], struct luxfall_estimate value) {
    format_with_band(out, (struct luxfall_estimate){100 * value.value, 100 * value.u95}, 3, " %");
}

void format_mm(char out[FORMAT_SIZE], struct luxfall_estimate value) {
    format_with_band(out, value, 4, " mm");
}

void format_lm(char out[FORMAT_SIZE], double value_lm) {
    snprintf(out, FORMAT_SIZE, "%.*f", decimals_of_value(value_lm, 4), value_lm);
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

void text_table_print(const struct text_table *table, const char *prefix, FILE *stream) {
    for (size_t row = 0; row < table->rows; row++) {
        for (size_t column = 0; column < table->columns; column++) {
            const char *text = text_table_cell(table, row, column);
            bool last = column + 1 == table->columns;
            int pad = last ? 0 : column_width(table, column) - screen_width(text);
            fprintf(stream, "%s%s%*s", column ? "   " : prefix, text, pad, "");
        }
        fputc('\n', stream);
    }
}

void text_table_release(struct text_table *table) {
    free(table->cells);
    table->cells = NULL;
}
