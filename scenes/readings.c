/* The key `readings`: a table of what a lux meter read, each line told for every module of the scene. */
#include "scenes/readings.h"
#include "scenes/keys.h"
#include "scenes/numbers.h"
#include "scenes/storage.h"

#include <math.h>
#include <stdio.h>
#include <string.h>
#include <strings.h>

static const double PLACE_MAX_MM = 10000, LUX_MAX = 1e7;
static const struct range head_range = {LENGTH, 0.1, 1000, CLOSED, CLOSED};
static const double FOOT_CANDLE_LX = 10.7639104167; /* 1 lm/ft2, a foot being 304.8 mm */

/* ---- columns --------------------------------------------------------------------------------------------------- */

enum quantity { AT_X, AT_Y, IN_LUX, U_OF_LUX, AT_LEVEL, AT_CURRENT, A_NOTE, LIT_MODULE, DARK_MODULE, QUANTITIES };

/* A column's name holds its unit; the first name of a quantity is the one that messages give. */
static const struct column {
    const char *name;
    enum quantity quantity;
    double times, over; /* a division by 1000 gives the double that the scene gives for the same text */
} columns[] = {
    {"x_mm", AT_X, 1, 1},
    {"x_cm", AT_X, 10, 1},
    {"x_m", AT_X, 1000, 1},
    {"x_in", AT_X, 25.4, 1},
    {"y_mm", AT_Y, 1, 1},
    {"y_cm", AT_Y, 10, 1},
    {"y_m", AT_Y, 1000, 1},
    {"y_in", AT_Y, 25.4, 1},
    {"lux", IN_LUX, 1, 1},
    {"lx", IN_LUX, 1, 1},
    {"klx", IN_LUX, 1000, 1},
    {"fc", IN_LUX, FOOT_CANDLE_LX, 1},
    {"u_lux", U_OF_LUX, 1, 1},
    {"u_lx", U_OF_LUX, 1, 1},
    {"u_klx", U_OF_LUX, 1000, 1},
    {"u_fc", U_OF_LUX, FOOT_CANDLE_LX, 1},
    {"level_mm", AT_LEVEL, 1, 1},
    {"level_cm", AT_LEVEL, 10, 1},
    {"level_in", AT_LEVEL, 25.4, 1},
    {"current_mA", AT_CURRENT, 1, 1000},
    {"current_A", AT_CURRENT, 1, 1},
    {"note", A_NOTE, 1, 1},
    {"module", LIT_MODULE, 1, 1},
    {"dark", DARK_MODULE, 1, 1},
};
enum { COLUMN_COUNT = sizeof columns / sizeof *columns };

struct bench {
    struct table table;
    const struct scene *scene;
    struct reader *reader;
    const struct node *node; /* of the scene: who names the table */
    int at[QUANTITIES];      /* column of the table, -1: not there */
    const struct column *as[QUANTITIES];
    double dark_lx, head_mm;
    struct scene_reading *readings;
};

static const struct table_cell *cell_of(const struct bench *bench, size_t row, enum quantity quantity) {
    return bench->at[quantity] < 0 ? NULL
                                   : &bench->table.cells[row * bench->table.columns + (size_t)bench->at[quantity]];
}

/* NULL where the column or the cell is empty. */
static const struct table_cell *filled(const struct bench *bench, size_t row, enum quantity quantity) {
    const struct table_cell *cell = cell_of(bench, row, quantity);
    return cell != NULL && cell->text[0] != '\0' ? cell : NULL;
}

static bool name_column(struct bench *bench, size_t index) {
    const struct table_cell *cell = &bench->table.header[index];
    const char *names[COLUMN_COUNT + 1] = {NULL};
    for (size_t i = 0; i < COLUMN_COUNT; i++) {
        names[i] = columns[i].name;
        if (strcasecmp(cell->text, columns[i].name) != 0)
            continue;
        int *at = &bench->at[columns[i].quantity];
        if (*at >= 0) {
            table_tell(&bench->table, MESSAGE_ERROR, cell->place, "'%.40s' and '%.40s' are one column twice",
                       bench->table.header[*at].text, cell->text);
            return false;
        }
        *at = (int)index;
        bench->as[columns[i].quantity] = &columns[i];
        return true;
    }
    const char *near = nearest_word(cell->text, names);
    if (near != NULL)
        table_tell(&bench->table, MESSAGE_ERROR, cell->place, "no column is called '%.40s'; did you mean '%s'?",
                   cell->text, near);
    else if (cell->text[0] != '\0')
        table_tell(&bench->table, MESSAGE_WARNING, cell->place, "the column '%.40s' is not read", cell->text);
    return near == NULL;
}

static bool find_columns(struct bench *bench) {
    const struct table *table = &bench->table;
    bool good = true;
    for (int i = 0; i < QUANTITIES; i++)
        bench->at[i] = -1;
    if (!table->has_header) {
        table_tell(table, MESSAGE_ERROR, table->cells[0].place,
                   "the first row must name the columns with their units, such as 'x_mm,y_mm,lux'");
        return false;
    }
    for (size_t i = 0; i < table->columns; i++)
        good = name_column(bench, i) && good;
    for (int i = AT_X; i <= IN_LUX && good; i++)
        if (bench->at[i] < 0) {
            static const char *const needed[] = {"x_mm (or x_cm, x_m, x_in)", "y_mm (or y_cm, y_m, y_in)",
                                                 "lux (or klx, fc)"};
            table_tell(table, MESSAGE_ERROR, table->header[0].place, "no column %s", needed[i]);
            good = false;
        }
    return good;
}

/* ---- remarks --------------------------------------------------------------------------------------------------- */

/* TAKEN, ABSENT, or REFUSED after a message. */
static enum taken take_remark(const struct bench *bench, const char *key, double low, double high, double *out) {
    const struct table_remark *remark = table_remark(&bench->table, key);
    const char *rest;
    double value = 0;
    if (remark == NULL)
        return ABSENT;
    if (number_read(remark->value, &value, &rest) != NUMBER_OK || *rest != '\0' || !(value >= low && value <= high)) {
        table_tell(&bench->table, MESSAGE_ERROR, remark->place,
                   "'# %s: %.40s': a number from %.6g to %.6g is expected; the unit stands in the name", key,
                   remark->value, low, high);
        return REFUSED;
    }
    *out = value;
    return TAKEN;
}

/* The file and the scene must not differ on the head, and one of them must tell it. */
static bool settle_head(struct bench *bench) {
    double of_file = 0, of_scene = bench->head_mm;
    enum taken taken = take_remark(bench, "meter_aperture_mm", head_range.low, head_range.high, &of_file);
    if (taken == REFUSED)
        return false;
    if (taken == TAKEN && of_scene > 0 && of_scene != of_file) {
        table_tell(&bench->table, MESSAGE_ERROR, table_remark(&bench->table, "meter_aperture_mm")->place,
                   "the meter's head is %.6g mm here and %.6g mm in the scene", of_file, of_scene);
        return false;
    }
    bench->head_mm = taken == TAKEN ? of_file : of_scene;
    if (bench->head_mm > 0)
        return true;
    reader_error(
        bench->reader, bench->node,
        "the diameter of the meter's head is not known: write 'readings: {file: %.60s, head: 10 mm}' here, or "
        "'# meter_aperture_mm: 10' in that file",
        bench->scene->readings_file);
    return false;
}

static bool read_remarks(struct bench *bench) {
    double stage_mm = 0;
    bool good = settle_head(bench);
    good = take_remark(bench, "dark_lux", 0, LUX_MAX, &bench->dark_lx) != REFUSED && good;
    enum taken stage = take_remark(bench, "stage_distance_mm", 0.1, 1e6, &stage_mm);
    if (stage != TAKEN)
        return good && stage == ABSENT;
    double nearest = INFINITY, off = INFINITY;
    for (size_t m = 0; m < bench->scene->light.module_count; m++) {
        const struct luxfall_vec at = bench->scene->light.modules[m].pose.at_mm;
        const double from[] = {at.z, sqrt(at.x * at.x + at.y * at.y + at.z * at.z)};
        for (int i = 0; i < 2; i++)
            if (fabs(from[i] - stage_mm) < off) {
                nearest = from[i];
                off = fabs(nearest - stage_mm);
            }
    }
    if (off > 0.02 * stage_mm && isfinite(nearest))
        table_tell(&bench->table, MESSAGE_WARNING, table_remark(&bench->table, "stage_distance_mm")->place,
                   "the stage stood %.6g mm from the lamp, the scene's modules stand %.6g mm from the centre: light "
                   "goes with the square of that",
                   stage_mm, nearest);
    return good;
}

/* ---- which modules were lit ------------------------------------------------------------------------------------ */

/* Names of modules and groups, NULL at the end. */
static const char *const *lamp_words(const struct bench *bench) {
    const struct scene *scene = bench->scene;
    size_t count = 0;
    const char **words =
        arena_take(bench->table.arena, scene->light.module_count + scene->group_count + 1, sizeof *words);
    for (size_t m = 0; words != NULL && m < scene->light.module_count; m++)
        words[count++] = scene->light.modules[m].name;
    for (size_t g = 0; words != NULL && g < scene->group_count; g++)
        words[count++] = scene->groups[g].name;
    return words;
}

static bool refuse_word(const struct bench *bench, const struct table_cell *cell) {
    const struct scene *scene = bench->scene;
    const char *const *words = lamp_words(bench), *near = words != NULL ? nearest_word(cell->text, words) : NULL;
    table_tell(
        &bench->table, MESSAGE_ERROR, cell->place,
        "no module is called '%.40s'%s%.60s%s: a module such as '%.60s', or a group such as '%.60s', is expected",
        cell->text, near ? "; did you mean '" : "", near ? near : "", near ? "'?" : "",
        scene->light.modules[scene->light.module_count - 1].name, scene->groups[0].name);
    return false;
}

/* Marks the modules that a word means: one by its full name, a group by its, a number where there is one group. */
static bool mark(const struct bench *bench, const struct table_cell *cell, bool *marked) {
    const struct scene *scene = bench->scene;
    size_t count = scene->light.module_count;
    const char *rest;
    double number = 0;
    bool found = false;
    if (scene->group_count == 1 && number_read(cell->text, &number, &rest) == NUMBER_OK && *rest == '\0') {
        if (number >= 1 && number <= (double)count && number == floor(number))
            return marked[(size_t)number - 1] = true;
        table_tell(&bench->table, MESSAGE_ERROR, cell->place,
                   "no module has the number %.40s; they count from 1 to %zu", cell->text, count);
        return false;
    }
    for (size_t g = 0; g < scene->group_count; g++) {
        const struct scene_group *group = &scene->groups[g];
        bool whole = strcmp(cell->text, group->name) == 0;
        for (size_t m = group->first; m < group->first + group->count; m++)
            if (whole || strcmp(cell->text, scene->light.modules[m].name) == 0)
                found = marked[m] = true;
    }
    return found || refuse_word(bench, cell);
}

static bool same_text(const struct table_cell *a, const struct table_cell *b) {
    return (a == NULL && b == NULL) || (a != NULL && b != NULL && strcmp(a->text, b->text) == 0);
}

/* Readings of one lighting share one list, so that a like pointer means a like lamp. */
static bool *list_before(const struct bench *bench, size_t row) {
    for (size_t i = 0; i < row; i++)
        if (same_text(filled(bench, i, LIT_MODULE), filled(bench, row, LIT_MODULE)) &&
            same_text(filled(bench, i, DARK_MODULE), filled(bench, row, DARK_MODULE)))
            return (bool *)bench->readings[i].taken.dark;
    return NULL;
}

static bool *new_list(const struct bench *bench, size_t row) {
    const struct table_cell *lit = filled(bench, row, LIT_MODULE), *out = filled(bench, row, DARK_MODULE);
    size_t count = bench->scene->light.module_count, shining = 0;
    bool *dark = arena_take(bench->table.arena, count + 1, sizeof *dark);
    bool *marked = arena_take(bench->table.arena, count + 1, sizeof *marked);
    if (dark == NULL || marked == NULL || (lit != NULL && !mark(bench, lit, marked)))
        return NULL;
    for (size_t m = 0; m < count; m++) {
        dark[m] = lit != NULL ? !marked[m] : bench->scene->light.modules[m].dark;
        marked[m] = false;
    }
    if (out != NULL && !mark(bench, out, marked))
        return NULL;
    for (size_t m = 0; m < count; m++) {
        dark[m] = dark[m] || marked[m];
        shining += !dark[m];
    }
    if (shining > 0)
        return dark;
    table_tell(&bench->table, MESSAGE_ERROR, (out != NULL ? out : lit)->place, "no module is lit here");
    return NULL;
}

static bool take_lighting(const struct bench *bench, size_t row, struct scene_reading *out) {
    const struct table_cell *lit = filled(bench, row, LIT_MODULE), *dark = filled(bench, row, DARK_MODULE);
    out->module = lit != NULL ? lit->text : NULL;
    out->dark = dark != NULL ? dark->text : NULL;
    if (lit == NULL && dark == NULL)
        return true;
    out->taken.dark = list_before(bench, row);
    if (out->taken.dark == NULL)
        out->taken.dark = new_list(bench, row);
    return out->taken.dark != NULL;
}

/* ---- numbers of a row ------------------------------------------------------------------------------------------ */

static bool take_number(const struct bench *bench, size_t row, enum quantity quantity, double *out) {
    double number = 0;
    if (!table_number(&bench->table, row, (size_t)bench->at[quantity], &number))
        return false;
    *out = number * bench->as[quantity]->times / bench->as[quantity]->over;
    return true;
}

static bool take_place(const struct bench *bench, size_t row, enum quantity quantity, double *out) {
    static const char *const names[] = {[AT_X] = "x", [AT_Y] = "y", [AT_LEVEL] = "the level"};
    if (!take_number(bench, row, quantity, out))
        return false;
    if (fabs(*out) <= PLACE_MAX_MM)
        return true;
    table_tell(&bench->table, MESSAGE_ERROR, cell_of(bench, row, quantity)->place,
               "%s is %.6g mm; a place within %.6g mm of the centre is expected", names[quantity], *out,
               PLACE_MAX_MM);
    return false;
}

static bool take_lux(const struct bench *bench, size_t row, struct scene_reading *out) {
    double lx = 0;
    if (!take_number(bench, row, IN_LUX, &lx))
        return false;
    if (lx > LUX_MAX)
        table_tell(&bench->table, MESSAGE_ERROR, out->place, "%.6g lx is more than the sun by far; at most %.6g lx",
                   lx, LUX_MAX);
    else if (lx < -3 * bench->dark_lx)
        table_tell(&bench->table, MESSAGE_ERROR, out->place,
                   "%.6g lx is below 0 by more than three times the dark reading of %.6g lx", lx, bench->dark_lx);
    out->lx = lx - bench->dark_lx;
    return lx <= LUX_MAX && lx >= -3 * bench->dark_lx;
}

/* Weights need all uncertainties or none. */
static bool take_uncertainty(const struct bench *bench, size_t row, struct scene_reading *out) {
    out->u_lx = NAN;
    if (bench->at[U_OF_LUX] < 0)
        return true;
    if (filled(bench, row, U_OF_LUX) == NULL) {
        table_tell(&bench->table, MESSAGE_ERROR, cell_of(bench, row, IN_LUX)->place,
                   "this reading has no %.20s; give it for every reading or for none",
                   bench->table.header[bench->at[U_OF_LUX]].text);
        return false;
    }
    if (!take_number(bench, row, U_OF_LUX, &out->u_lx))
        return false;
    if (out->u_lx > 0 && out->u_lx <= LUX_MAX)
        return true;
    table_tell(&bench->table, MESSAGE_ERROR, cell_of(bench, row, U_OF_LUX)->place,
               "a standard uncertainty of %.6g lx; it must be above 0", out->u_lx);
    return false;
}

static bool take_note(const struct bench *bench, size_t row, struct scene_reading *out) {
    const struct table_cell *note = filled(bench, row, A_NOTE);
    out->note = note != NULL ? note->text : NULL;
    return true;
}

static bool is_dark(const struct bench *bench, const struct scene_reading *reading, size_t module) {
    return reading->taken.dark != NULL ? reading->taken.dark[module] : bench->scene->light.modules[module].dark;
}

/* ---- current --------------------------------------------------------------------------------------------------- */

/* The flux of a lit module must be known at the current. */
static bool current_is_known(const struct bench *bench, const struct table_cell *cell, double current_a,
                             const struct luxfall_module *module) {
    const struct storage *storage = bench->scene->storage;
    const char *why = unknown_current(bench->table.arena, &bench->scene->light.emitters[module->emitter],
                                      storage->emitters[module->emitter].drive_file, current_a);
    if (why != NULL)
        table_tell(&bench->table, MESSAGE_ERROR, cell->place, "%s", why);
    return why == NULL;
}

/* The lit modules take the current; readings of one lighting and current share the list. */
static const double *currents_of(const struct bench *bench, size_t row, const struct scene_reading *now) {
    const struct luxfall_scene *light = &bench->scene->light;
    for (size_t i = 0; i < row; i++)
        if (bench->readings[i].current_a == now->current_a && bench->readings[i].taken.dark == now->taken.dark)
            return bench->readings[i].taken.current_a;
    double *list = arena_take(bench->table.arena, light->module_count, sizeof *list);
    for (size_t m = 0; list != NULL && m < light->module_count; m++)
        list[m] = is_dark(bench, now, m) ? light->modules[m].current_a : now->current_a;
    return list;
}

static bool take_current(const struct bench *bench, size_t row, struct scene_reading *out) {
    const struct table_cell *cell = filled(bench, row, AT_CURRENT);
    out->current_a = NAN;
    if (cell == NULL)
        return true;
    if (!take_number(bench, row, AT_CURRENT, &out->current_a))
        return false;
    if (!(out->current_a > 0 && out->current_a <= 1000)) {
        table_tell(&bench->table, MESSAGE_ERROR, cell->place, "a current of %.6g A; it must be above 0",
                   out->current_a);
        return false;
    }
    const struct luxfall_scene *light = &bench->scene->light;
    for (size_t m = 0; m < light->module_count; m++)
        if (!is_dark(bench, out, m) && !current_is_known(bench, cell, out->current_a, &light->modules[m]))
            return false;
    out->taken.current_a = currents_of(bench, row, out);
    return out->taken.current_a != NULL;
}

/* ---- rows ------------------------------------------------------------------------------------------------------ */

static bool take_row(const struct bench *bench, size_t row, struct scene_reading *out) {
    bool good = true;
    *out = (struct scene_reading){
        .place = cell_of(bench, row, IN_LUX)->place,
        .taken = {.head_mm = bench->head_mm, .level_mm = bench->scene->light.target.level_mm[0]},
    };
    good = take_place(bench, row, AT_X, &out->taken.x_mm) && good;
    good = take_place(bench, row, AT_Y, &out->taken.y_mm) && good;
    if (filled(bench, row, AT_LEVEL) != NULL)
        good = take_place(bench, row, AT_LEVEL, &out->taken.level_mm) && good;
    good = take_lux(bench, row, out) && good;
    good = take_uncertainty(bench, row, out) && good;
    good = take_note(bench, row, out) && good;
    bool lighting = take_lighting(bench, row, out);
    return (!lighting || take_current(bench, row, out)) && lighting && good;
}

/* A dark reading above all others was taken with the lamp lit, or in another unit. */
static bool leaves_light(const struct bench *bench, size_t count) {
    double highest_lx = -INFINITY;
    for (size_t i = 0; i < count; i++)
        highest_lx = fmax(highest_lx, bench->readings[i].lx + bench->dark_lx);
    if (!(bench->dark_lx > 0) || highest_lx > bench->dark_lx)
        return true;
    table_tell(&bench->table, MESSAGE_ERROR, table_remark(&bench->table, "dark_lux")->place,
               "%.6g lx in the dark is no less than the highest reading, %.6g lx: nothing would be left of any",
               bench->dark_lx, highest_lx);
    return false;
}

bool readings_from_source(struct reader *reader, const struct node *node, const struct source *source,
                          double head_mm) {
    struct scene *scene = reader->scene;
    struct bench bench = {.scene = scene, .reader = reader, .node = node, .head_mm = head_mm};
    if (!table_read(reader->arena, reader->messages, source, false, &bench.table) || !find_columns(&bench))
        return false;
    size_t count = bench.table.row_count;
    if (count > READINGS_MAX) {
        table_tell(&bench.table, MESSAGE_ERROR, (struct scene_place){source->label, 0, 0},
                   "%zu readings; at most %d are taken", count, READINGS_MAX);
        return false;
    }
    bool good = read_remarks(&bench);
    bench.readings = arena_take(reader->arena, count, sizeof *bench.readings);
    if (bench.readings == NULL)
        return false;
    for (size_t i = 0; i < count; i++)
        good = take_row(&bench, i, &bench.readings[i]) && good;
    good = good && leaves_light(&bench, count);
    scene->head_mm = bench.head_mm;
    scene->dark_lx = bench.dark_lx;
    scene->readings = bench.readings;
    scene->reading_count = count;
    return good;
}

void read_readings(struct reader *reader, const struct node *node) {
    static const char *const known[] = {"file", "head", NULL};
    const struct node *file = node;
    double head_mm = 0;
    if (node->kind == NODE_MAP) {
        bool good = reader_keys(reader, node, "readings", known);
        file = reader_need(reader, node, "file");
        if (reader_take(reader, node, "head", &head_range, &head_mm) == REFUSED || !good)
            return;
    }
    const struct source *source = file == NULL ? NULL : reader_file(reader, file, &reader->scene->readings_file);
    if (source != NULL)
        readings_from_source(reader, file, source, head_mm);
}
