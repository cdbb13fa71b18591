#include "scenes/drive_table.h"
#include "scenes/keys.h"
#include "scenes/units.h"

enum { POINTS_MAX = 10000 };

enum { CURRENT_MA, CURRENT_A, FLUX_LM, VOLTAGE_V, JUNCTION_C, KINDS };

/* A number is read / over; it must be above `above` and at most `most`. */
static const struct {
    const char *name;
    double over, above, most;
} kinds[KINDS] = {
    [CURRENT_MA] = {"current_mA", 1000, 0, 1e6}, [CURRENT_A] = {"current_A", 1, 0, 1000},
    [FLUX_LM] = {"flux_lm", 1, 0, 1e8},          [VOLTAGE_V] = {"voltage_V", 1, 0, 1e4},
    [JUNCTION_C] = {"junction_C", 1, -100, 400},
};

static int column_of(const struct table *table, size_t kind) {
    return table_column(table, (const char *const[]){kinds[kind].name, NULL});
}

static struct scene_place cell_place(const struct table *table, size_t row, int column) {
    return table->cells[row * table->columns + (size_t)column].place;
}

static struct scene_place whole(const struct table *table) {
    return (struct scene_place){table->source->label, 0, 0};
}

/* ---- columns --------------------------------------------------------------------------------------------------- */

/* A column with a name near to one that is not there is more likely a typo than a remark. */
static void warn_of_near_names(const struct table *table) {
    for (size_t i = 0; i < table->columns; i++) {
        const char *missing[KINDS + 1] = {NULL};
        bool known = false;
        for (size_t kind = 0, count = 0; kind < KINDS; kind++) {
            int column = column_of(table, kind);
            known = known || column == (int)i;
            if (column < 0)
                missing[count++] = kinds[kind].name;
        }
        const char *near = known ? NULL : nearest_word(table->header[i].text, missing);
        if (near != NULL)
            table_tell(table, MESSAGE_WARNING, table->header[i].place,
                       "the column '%.40s' is not read; did you mean '%s'?", table->header[i].text, near);
    }
}

static bool check_columns(const struct table *table) {
    bool milli = column_of(table, CURRENT_MA) >= 0, ampere = column_of(table, CURRENT_A) >= 0;
    if (!table->has_header) {
        table_tell(table, MESSAGE_ERROR, table->cells[0].place,
                   "a first row with the names of the columns is needed: current_mA, voltage_V, flux_lm");
        return false;
    }
    if (milli && ampere) {
        table_tell(table, MESSAGE_ERROR, table->header[column_of(table, CURRENT_A)].place,
                   "'current_mA' and 'current_A' exclude each other");
        return false;
    }
    bool current = milli || ampere;
    if (!current || column_of(table, FLUX_LM) < 0) {
        table_tell(table, MESSAGE_ERROR, table->header[0].place, "no column %s; the columns are %s",
                   current ? "flux_lm" : "current_mA or current_A", table_names(table));
        return false;
    }
    warn_of_near_names(table);
    if (column_of(table, VOLTAGE_V) < 0)
        table_tell(table, MESSAGE_WARNING, table->header[0].place,
                   "no column voltage_V: watts and lux per watt will not be known");
    return true;
}

/* NULL: not there, or after messages (*good is then false). */
static const double *read_column(const struct table *table, size_t kind, bool *good) {
    int column = column_of(table, kind);
    double *values = column < 0 ? NULL : arena_take(table->arena, table->row_count, sizeof *values);
    *good = *good && (column < 0 || values != NULL);
    for (size_t i = 0; values != NULL && i < table->row_count; i++) {
        if (!table_number(table, i, (size_t)column, &values[i])) {
            *good = false;
        } else if (!(values[i] > kinds[kind].above && values[i] <= kinds[kind].most)) {
            table_tell(table, MESSAGE_ERROR, cell_place(table, i, column),
                       "'%s' is %.6g; it must be above %g and at most %g", kinds[kind].name, values[i],
                       kinds[kind].above, kinds[kind].most);
            *good = false;
        }
        values[i] /= kinds[kind].over;
    }
    return values;
}

/* ---- what the numbers say -------------------------------------------------------------------------------------- */

static bool check_order(const struct table *table, int column, const double *current_a) {
    bool good = true;
    for (size_t i = 1; i < table->row_count; i++) {
        char now[40], before[40];
        if (current_a[i] > current_a[i - 1])
            continue;
        good = false;
        quantity_show(current_a[i], CURRENT, now, sizeof now);
        quantity_show(current_a[i - 1], CURRENT, before, sizeof before);
        table_tell(table, MESSAGE_ERROR, cell_place(table, i, column),
                   "the current %s does not ascend: line %d has %s", now, cell_place(table, i - 1, column).line,
                   before);
    }
    return good;
}

/* 683 lm/W at 540 THz defines the candela; the eye has hardly more at any wavelength. That LEDs for a lamp have 1 to
 * 350 lm/W is common practice, no source. */
const char *efficacy_slip(struct arena *arena, double flux_lm, double voltage_v, double current_a,
                          enum message_kind *kind) {
    double watts = voltage_v * current_a, efficacy = flux_lm / watts;
    if (efficacy >= 1 && efficacy <= 350)
        return NULL;
    char current[40];
    quantity_show(current_a, CURRENT, current, sizeof current);
    *kind = efficacy > 683 ? MESSAGE_ERROR : MESSAGE_WARNING;
    const char *text = arena_format(arena, "%.6g lm from %.6g V x %s = %.4g W are %.3g lm/W, %s; is a unit wrong?",
                                    flux_lm, voltage_v, current, watts, efficacy,
                                    efficacy > 683   ? "more than any light has (683 lm/W)"
                                    : efficacy > 350 ? "more than LEDs give"
                                                     : "very little for an LED");
    return text != NULL ? text : "";
}

/* Beyond the most that an emitter gives it is only hot: no mistake, but rarely meant. */
static void warn_of_falling_flux(const struct table *table, const struct luxfall_drive *drive) {
    for (size_t i = 1; i < drive->count; i++)
        if (drive->flux_lm[i] < drive->flux_lm[i - 1]) {
            table_tell(table, MESSAGE_WARNING, cell_place(table, i, column_of(table, FLUX_LM)),
                       "the flux falls from %.6g lm to %.6g lm as the current rises; are columns exchanged?",
                       drive->flux_lm[i - 1], drive->flux_lm[i]);
            return;
        }
}

static bool check_volts(const struct table *table, const struct luxfall_drive *drive) {
    int flux = column_of(table, FLUX_LM), voltage = column_of(table, VOLTAGE_V);
    enum message_kind kind = MESSAGE_WARNING;
    const char *slip = NULL;
    for (size_t i = 0; i < drive->count && slip == NULL; i++) {
        slip = efficacy_slip(table->arena, drive->flux_lm[i], drive->voltage_v[i], drive->current_a[i], &kind);
        if (slip != NULL)
            table_tell(table, kind, cell_place(table, i, flux), "%s", slip);
    }
    for (size_t i = 1; i < drive->count; i++)
        if (drive->voltage_v[i] < drive->voltage_v[i - 1]) {
            table_tell(table, MESSAGE_WARNING, cell_place(table, i, voltage),
                       "the voltage falls from %.6g V to %.6g V as the current rises; are columns exchanged?",
                       drive->voltage_v[i - 1], drive->voltage_v[i]);
            break;
        }
    return slip == NULL || kind == MESSAGE_WARNING;
}

bool drive_from_source(struct arena *arena, struct messages *messages, const struct source *source, bool quiet,
                       struct luxfall_drive *out) {
    struct table table;
    if (!table_read(arena, messages, source, quiet, &table) || !check_columns(&table))
        return false;
    if (table.row_count < 2 || table.row_count > POINTS_MAX) {
        table_tell(&table, MESSAGE_ERROR, whole(&table), "%zu %s; a drive takes 2 to %d", table.row_count,
                   table.row_count == 1 ? "row" : "rows", POINTS_MAX);
        return false;
    }
    bool good = true;
    size_t current = column_of(&table, CURRENT_MA) >= 0 ? CURRENT_MA : CURRENT_A;
    struct luxfall_drive drive = {.count = table.row_count};
    drive.current_a = read_column(&table, current, &good);
    drive.flux_lm = read_column(&table, FLUX_LM, &good);
    drive.voltage_v = read_column(&table, VOLTAGE_V, &good);
    drive.junction_c = read_column(&table, JUNCTION_C, &good);
    good = good && check_order(&table, column_of(&table, current), drive.current_a);
    good = good && (drive.voltage_v == NULL || check_volts(&table, &drive));
    if (good)
        warn_of_falling_flux(&table, &drive);
    *out = drive;
    return good;
}
