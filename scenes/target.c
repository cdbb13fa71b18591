/* The sections `target` and `fields`: where light is looked at. */
#include "scenes/numbers.h"
#include "scenes/reader.h"

#include <math.h>
#include <string.h>

static bool divides(double cell_mm, double side_mm) {
    double cells = side_mm / cell_mm;
    return fabs(cells - round(cells)) < 1e-6;
}

/* A round number near a 1/160 of the shorter side that divides both sides; if none does, a round number. */
static double default_cell_mm(double width_mm, double height_mm) {
    static const double steps[] = {1, 2, 5, 2.5, 1.5, 3, 4, 6, 8};
    double ideal = fmin(width_mm, height_mm) / 160, best = 0, fallback = 0;
    for (int decade = -1; decade <= 1; decade++)
        for (size_t i = 0; i < sizeof steps / sizeof *steps; i++) {
            double cell = number_rounded(steps[i] * pow(10, floor(log10(ideal)) + decade), 12);
            double off = fabs(log(cell / ideal));
            if (i < 3 && (fallback == 0 || off < fabs(log(fallback / ideal))))
                fallback = cell;
            if (off < log(2.01) && divides(cell, width_mm) && divides(cell, height_mm) &&
                (best == 0 || off < fabs(log(best / ideal))))
                best = cell;
        }
    return best > 0 ? best : fallback;
}

/* Whole cells across a side; 0 when there would be far too many. */
static double cells_across(double side_mm, double cell_mm) {
    double cells = fmax(1, round(side_mm / cell_mm));
    return cells <= LUXFALL_CELLS_MAX ? cells : 0;
}

static bool read_levels(struct reader *reader, const struct node *map, struct luxfall_target *target) {
    const struct node *level = map_value(map, "level"), *levels = map_value(map, "levels");
    if (level != NULL && levels != NULL) {
        reader_error(reader, levels->key, "'level' and 'levels' exclude each other");
        return false;
    }
    bool list = levels != NULL && levels->kind == NODE_LIST;
    size_t count = list ? levels->count : 1;
    const struct node *const *nodes = list ? (const struct node *const *)levels->items : levels ? &levels : &level;
    if (count == 0 || count > LUXFALL_LEVELS_MAX) {
        reader_error(reader, levels, "'levels' lists %zu heights; from 1 to %d are taken", count, LUXFALL_LEVELS_MAX);
        return false;
    }
    double *values = arena_take(reader->arena, count, sizeof *values);
    bool good = values != NULL;
    for (size_t i = 0; good && i < count; i++) {
        good = nodes[i] == NULL || reader_quantity(reader, nodes[i], &range_position, &values[i]);
        for (size_t j = 0; good && j < i; j++)
            if (values[j] == values[i]) {
                reader_error(reader, nodes[i], "level %.40s stands twice", nodes[i]->text);
                good = false;
            }
    }
    target->level_mm = values;
    target->level_count = count;
    return good;
}

static void fit_cells(struct reader *reader, const struct node *map, const double size_mm[2], double cell_mm,
                      struct luxfall_target *target) {
    const struct node *cell = map_value(map, "cell"), *place = cell != NULL ? cell : map_value(map, "size");
    double columns = cells_across(size_mm[0], cell_mm), rows = cells_across(size_mm[1], cell_mm);
    double levels = (double)target->level_count;
    if (columns == 0 || rows == 0 || columns * rows * levels > LUXFALL_CELLS_MAX) {
        double least = sqrt(size_mm[0] * size_mm[1] * levels / LUXFALL_CELLS_MAX);
        reader_error(reader, place,
                     "%.6g mm x %.6g mm in cells of %.6g mm on %zu level%s are %.4g cells; at most %d, with cells of "
                     "about %.2g mm",
                     size_mm[0], size_mm[1], cell_mm, target->level_count, target->level_count == 1 ? "" : "s",
                     (size_mm[0] / cell_mm) * (size_mm[1] / cell_mm) * levels, LUXFALL_CELLS_MAX, least * 1.1);
        return;
    }
    target->columns = (int)columns;
    target->rows = (int)rows;
    target->cell_mm = cell_mm;
    if (!divides(cell_mm, size_mm[0]) || !divides(cell_mm, size_mm[1]))
        reader_warn(reader, place,
                    "%.6g mm x %.6g mm is no whole number of %.6g mm cells; the map becomes %.6g mm x %.6g mm "
                    "(%d x %d cells)",
                    size_mm[0], size_mm[1], cell_mm, columns * cell_mm, rows * cell_mm, target->columns,
                    target->rows);
}

void read_target(struct reader *reader, const struct node *map) {
    static const char *const known[] = {"size", "cell", "level", "levels", NULL};
    struct luxfall_target *target = &reader->scene->light.target;
    double size[2] = {0}, cell = 0;
    if (!reader_is(reader, map, NODE_MAP))
        return;
    reader->target = map;
    reader->scene->target_place = reader_name_of(map)->place;
    reader_keys(reader, map, "the target", known);
    const struct node *node = reader_need(reader, map, "size");
    bool good = node != NULL && reader_product(reader, node, &range_size, size);
    enum taken taken = reader_take(reader, map, "cell", &range_size, &cell);
    read_levels(reader, map, target);
    if (!good || taken == REFUSED)
        return;
    fit_cells(reader, map, size, taken == TAKEN ? cell : default_cell_mm(size[0], size[1]), target);
}

static bool read_reading(struct reader *reader, const struct node *map, struct luxfall_field *field) {
    const struct node *node = map_value(map, "reading");
    struct luxfall_face face = {.kind = LUXFALL_DISC,
                                .width_mm = number_rounded(fmin(field->width_mm, field->height_mm) / 10, 12)};
    if (node != NULL && !reader_face(reader, node, &range_size, false, &face))
        return false;
    field->reading_mm = face.width_mm;
    if (face.kind != LUXFALL_DISC) {
        reader_error(reader, node, "a reading is taken over a disc; write for instance 'disc 3 mm'");
        return false;
    }
    if (face.width_mm > fmin(field->width_mm, field->height_mm))
        reader_warn(reader, node, "a reading of %.6g mm is wider than the field itself: it looks beyond its edges",
                    face.width_mm);
    return true;
}

static bool read_field(struct reader *reader, const struct node *map, size_t index, struct luxfall_field *field) {
    static const char *const known[] = {"name", "size", "at", "reading", "magnification", "f_number", NULL};
    if (!reader_is(reader, map, NODE_MAP))
        return false;
    bool good = reader_keys(reader, map, "a field", known);
    const struct node *name = map_value(map, "name"), *size = reader_need(reader, map, "size");
    const struct node *at = map_value(map, "at");
    struct luxfall_face face = {0};
    field->name = name != NULL ? reader_name(reader, name) : arena_format(reader->arena, "field %zu", index + 1);
    bool sized = size != NULL && reader_face(reader, size, &range_size, false, &face);
    field->round = face.kind == LUXFALL_DISC;
    field->width_mm = face.width_mm;
    field->height_mm = face.height_mm;
    double spot[2] = {0};
    good = (at == NULL || reader_vector(reader, at, &range_position, 2, spot)) && good;
    field->x_mm = spot[0];
    field->y_mm = spot[1];
    return sized && read_reading(reader, map, field) && field->name != NULL && good;
}

static void refuse_same_name(struct reader *reader, const struct node *map, const struct luxfall_field *fields,
                             size_t index) {
    for (size_t i = 0; i < index; i++)
        if (fields[i].name != NULL && fields[index].name != NULL && strcmp(fields[i].name, fields[index].name) == 0) {
            const struct node *name = map_value(map, "name");
            reader_error(reader, name != NULL ? name : map, "a second field is named '%.60s'", fields[i].name);
            return;
        }
}

void read_fields(struct reader *reader, const struct node *list) {
    struct scene *scene = reader->scene;
    if (!reader_is(reader, list, NODE_LIST))
        return;
    if (list->count > LUXFALL_FIELDS_MAX) {
        reader_error(reader, list->items[LUXFALL_FIELDS_MAX], "more than %d fields", LUXFALL_FIELDS_MAX);
        return;
    }
    struct luxfall_field *fields = arena_take(reader->arena, list->count, sizeof *fields);
    scene->field_places = arena_take(reader->arena, list->count, sizeof *scene->field_places);
    reader->fields = arena_take(reader->arena, list->count, sizeof *reader->fields);
    if (fields == NULL || scene->field_places == NULL || reader->fields == NULL)
        return;
    for (size_t i = 0; i < list->count; i++) {
        reader->fields[i] = list->items[i];
        scene->field_places[i] = list->items[i]->place;
        read_field(reader, list->items[i], i, &fields[i]);
        refuse_same_name(reader, list->items[i], fields, i);
    }
    scene->light.fields = fields;
    scene->light.field_count = list->count;
}
