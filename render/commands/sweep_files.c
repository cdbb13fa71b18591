#include "sweep_files.h"

#include "render/files/table.h"

#include <ctype.h>
#include <math.h>
#include <stdlib.h>
#include <string.h>

/* ---- tables ---------------------------------------------------------------------------------------------------- */

/* A cell of CSV: in quotes, and control characters become blanks. */
static void put_cell(FILE *out, const char *text) {
    fputc('"', out);
    for (const char *c = text; *c; c++) {
        if (*c == '"')
            fputc('"', out);
        fputc((unsigned char)*c < ' ' ? ' ' : *c, out);
    }
    fputc('"', out);
}

static void put_number(FILE *out, double value) {
    if (isfinite(value))
        fprintf(out, ",%.9g", value);
    else
        fputc(',', out); /* an empty cell is a missing value */
}

/* "U0 in widest zoom"; with its unit in brackets, and what it is of it. */
static void put_heading(FILE *out, const struct quantity *quantity, const char *what) {
    char text[2 * TEXT_CELL];
    const struct statistic *statistic = quantity->statistic;
    const char *unit = statistic->unit_size == 1 ? statistic->unit : "";
    snprintf(text, sizeof text, "%s%s%.100s%s%s%s%s", statistic->name, quantity->field ? " in " : "",
             quantity->field ? quantity->field : "", what, unit[0] ? " [" : "", unit, unit[0] ? "]" : "");
    fputc(',', out);
    put_cell(out, text);
}

static void put_table(const struct sweep *sweep, FILE *out) {
    bool by_rays = sweep->tracing.options.method == LUXFALL_RAYS;
    char text[POINT_TEXT];
    for (size_t i = 0; i < sweep->varied_count; i++) {
        const struct vary *varied = &sweep->varied[i];
        bool unit = varied->unit[0] != '\0';
        snprintf(text, sizeof text, "%s%s%s%s", varied->path, unit ? " [" : "", varied->unit, unit ? "]" : "");
        fputs(i ? "," : "", out);
        put_cell(out, text);
    }
    for (size_t i = 0; i < sweep->quantity_count; i++) {
        put_heading(out, &sweep->quantities[i], "");
        if (by_rays)
            put_heading(out, &sweep->quantities[i], " u95");
    }
    fputc('\n', out);
    for (size_t i = 0; i < sweep->point_count; i++) {
        const struct sweep_point *point = &sweep->points[i];
        for (size_t j = 0; j < sweep->varied_count; j++)
            fprintf(out, "%s%.15g", j ? "," : "", point->number[j]);
        for (size_t j = 0; j < sweep->quantity_count; j++) {
            put_number(out, point->values[j].value);
            if (by_rays)
                put_number(out, point->values[j].u95);
        }
        fputc('\n', out);
    }
}

/* ---- writers ----------------------------------------------------------------------------------------------------
 */

static bool write_csv(const struct sweep *sweep, FILE *stream) {
    struct number_locale locale;
    number_locale_begin(&locale);
    put_table(sweep, stream);
    number_locale_end(&locale);
    return true;
}

bool sweep_write_json(const struct sweep *sweep, FILE *stream) {
    json_t *json = sweep_json(sweep);
    bool made = json && json_dumpf(json, stream, STATISTICS_DUMP) == 0;
    json_decref(json);
    fputc('\n', stream);
    return made;
}

static bool write_markdown(const struct sweep *sweep, FILE *stream) {
    return sweep_print_markdown(sweep, stream) == 0;
}

static int write_text(const struct sweep *sweep, bool (*write)(const struct sweep *sweep, FILE *stream),
                      const char *path, struct figure_error *error) {
    struct whole_file file;
    if (whole_file_begin(&file, path, error) != 0)
        return error->status;
    return write(sweep, file.stream) ? whole_file_commit(&file, error)
                                     : whole_file_fail(&file, "out of memory", error);
}

/* Texts first, then the pictures: curves, or a heat map of every quantity. */
static const struct {
    const char *name;
    bool (*write)(const struct sweep *sweep, FILE *stream);
} texts[] = {{"sweep.csv", write_csv}, {"sweep.json", sweep_write_json}, {"sweep.md", write_markdown}};
enum { TEXTS = sizeof texts / sizeof *texts };

static size_t file_count(const struct sweep *sweep) {
    return TEXTS + (sweep->varied_count == 1 ? 1 : sweep->quantity_count);
}

/* "sweep-2-darkest-average-widest-zoom.png": letters, digits and hyphens of the heading. */
static void picture_name(const struct sweep *sweep, size_t quantity, char out[2 * TEXT_CELL]) {
    if (sweep->varied_count == 1) {
        snprintf(out, 2 * TEXT_CELL, "sweep.png");
        return;
    }
    char heading[TEXT_CELL];
    quantity_text(&sweep->quantities[quantity], heading);
    int used = snprintf(out, 2 * TEXT_CELL, "sweep-%zu-", quantity + 1);
    for (const char *c = heading; *c; c++) {
        bool kept = isalnum((unsigned char)*c) || (unsigned char)*c >= 0x80;
        if (kept || out[used - 1] != '-')
            out[used++] = kept ? *c : '-';
    }
    snprintf(out + used, (size_t)(2 * TEXT_CELL - used), ".png");
}

int sweep_stage(const struct sweep *sweep, struct outputs *outputs, struct sweep_staged *staged,
                struct figure_error *error) {
    const struct tracing *tracing = &sweep->tracing;
    *staged = (struct sweep_staged){0};
    if (tracing->json && strcmp(tracing->json, "-") != 0 &&
        !(staged->json = outputs_stage(outputs, tracing->json, error)))
        return error->status;
    if (!tracing->out)
        return 0;
    if (outputs_folder(outputs, tracing->out, error) != 0)
        return error->status;
    for (size_t i = 0; i < file_count(sweep); i++) {
        char picture[2 * TEXT_CELL];
        picture_name(sweep, i < TEXTS ? 0 : i - TEXTS, picture);
        const char *name = i < TEXTS ? texts[i].name : picture;
        size_t size = strlen(tracing->out) + strlen(name) + 2;
        char *path = malloc(size);
        if (!path)
            return figure_fail(error, EXIT_MACHINE, "out of memory");
        snprintf(path, size, "%s/%s", tracing->out, name);
        staged->paths[staged->count] = outputs_stage(outputs, path, error);
        free(path);
        if (!staged->paths[staged->count++])
            return error->status;
    }
    return 0;
}

struct written {
    const struct sweep *sweep;
    const struct sweep_staged *staged;
};

static int write_one(const void *user, size_t index, struct figure_error *error) {
    const struct written *written = user;
    const char *path = written->staged->paths[index];
    if (index < TEXTS)
        return write_text(written->sweep, texts[index].write, path, error);
    if (written->sweep->varied_count == 1)
        return sweep_write_curves(written->sweep, path, error);
    return sweep_write_heat(written->sweep, index - TEXTS, path, error);
}

int sweep_write(const struct sweep *sweep, const struct sweep_staged *staged, struct figure_error *error) {
    const struct written written = {sweep, staged};
    int status = staged->json ? write_text(sweep, sweep_write_json, staged->json, error) : 0;
    return status ? status : files_write(staged->count, write_one, &written, error);
}
