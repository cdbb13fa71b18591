/* The keys of an emitter that tell what it does at a current, and the current at which a module runs. */
#include "scenes/drive_table.h"
#include "scenes/reader.h"
#include "scenes/storage.h"

#include <string.h>

static const struct range flux_range = {FLUX, 0, 1e8, OPEN, CLOSED};
static const struct range current_range = {CURRENT, 0, 1000, OPEN, CLOSED};
static const struct range voltage_range = {VOLTAGE, 0, 1e4, OPEN, CLOSED};

/* ---- emitters -------------------------------------------------------------------------------------------------- */

/* "95 lm", or "95 lm at 350 mA". *current_a stays 0 without a current. */
static bool read_flux(struct reader *reader, const struct node *node, double *flux_lm, double *current_a) {
    if (!reader_is(reader, node, NODE_TEXT))
        return false;
    const char *at = strstr(node->text, " at ");
    if (at == NULL)
        return reader_quantity(reader, node, &flux_range, flux_lm);
    const char *flux = arena_text(reader->arena, node->text, (size_t)(at - node->text));
    return flux != NULL && reader_quantity_text(reader, node, flux, &flux_range, flux_lm) &&
           reader_quantity_text(reader, node, at + 4, &current_range, current_a);
}

static bool make_one_point(struct reader *reader, double current_a, double flux_lm, double voltage_v,
                           struct luxfall_drive *out) {
    double *values = arena_take(reader->arena, 3, sizeof *values);
    if (values == NULL)
        return false;
    values[0] = current_a;
    values[1] = flux_lm;
    values[2] = voltage_v;
    *out = (struct luxfall_drive){1, &values[0], &values[1], voltage_v > 0 ? &values[2] : NULL, NULL};
    return true;
}

static bool read_point(struct reader *reader, const struct node *map, struct luxfall_emitter *emitter) {
    double current_a = 0, voltage_v = 0;
    enum message_kind kind = MESSAGE_WARNING;
    const struct node *node = reader_need(reader, map, "flux"), *voltage = map_value(map, "voltage");
    bool good = node != NULL && read_flux(reader, node, &emitter->flux_lm, &current_a);
    good = reader_take(reader, map, "voltage", &voltage_range, &voltage_v) != REFUSED && good;
    if (!good)
        return false;
    if (voltage != NULL && current_a == 0) {
        reader_error(reader, voltage,
                     "'voltage' needs the current at which it holds; write for instance 'flux: 95 lm at 350 mA'");
        return false;
    }
    const char *slip =
        voltage == NULL ? NULL : efficacy_slip(reader->arena, emitter->flux_lm, voltage_v, current_a, &kind);
    if (slip != NULL && kind == MESSAGE_ERROR)
        reader_error(reader, node, "%s", slip);
    else if (slip != NULL)
        reader_warn(reader, node, "%s", slip);
    return (slip == NULL || kind == MESSAGE_WARNING) &&
           (current_a == 0 || make_one_point(reader, current_a, emitter->flux_lm, voltage_v, &emitter->drive));
}

static bool read_table(struct reader *reader, const struct node *map, const struct node *node,
                       struct emitter_entry *entry) {
    const struct node *flux = map_value(map, "flux"), *voltage = map_value(map, "voltage");
    const struct node *other = flux != NULL ? flux : voltage;
    if (other != NULL) {
        reader_error(reader, reader_name_of(other),
                     "'%s' and 'drive' exclude each other: the table tells both flux and voltage", other->key->text);
        return false;
    }
    const struct source *source = reader_file(reader, node, &entry->drive_file);
    return source != NULL &&
           drive_from_source(reader->arena, reader->messages, source, reader->quiet, &entry->value.drive);
}

bool read_drive(struct reader *reader, const struct node *map, struct emitter_entry *entry) {
    const struct node *table = map_value(map, "drive");
    bool good = reader_take(reader, map, "current_limit", &current_range, &entry->current_limit_a) != REFUSED;
    return (table != NULL ? read_table(reader, map, table, entry) : read_point(reader, map, &entry->value)) && good;
}

/* ---- modules --------------------------------------------------------------------------------------------------- */

struct current_text {
    char text[40];
};

static struct current_text shown(double current_a) {
    struct current_text out;
    quantity_show(current_a, CURRENT, out.text, sizeof out.text);
    return out;
}

#define AMPS(value) shown(value).text

const char *unknown_current(struct arena *arena, const struct luxfall_emitter *emitter, const char *drive_file,
                            double current_a) {
    const struct luxfall_drive *drive = &emitter->drive;
    struct luxfall_operating_point point;
    if (luxfall_drive_at(drive, current_a, &point, NULL) == LUXFALL_OK)
        return NULL;
    const char *text;
    if (drive->count == 0)
        text = arena_format(arena,
                            "emitter '%.60s' gives its flux at no current, so that nothing is known at %s; write its "
                            "flux as '95 lm at 350 mA', or 'drive: led.csv' for several currents",
                            emitter->name, AMPS(current_a));
    else if (drive->count == 1)
        text = arena_format(arena,
                            "emitter '%.60s' is known at %s alone, not at %s: flux does not grow with the current in "
                            "proportion; 'drive: led.csv' takes a table of currents",
                            emitter->name, AMPS(drive->current_a[0]), AMPS(current_a));
    else
        text = arena_format(arena, "emitter '%.60s' is known from %s to %s (%.80s), not at %s", emitter->name,
                            AMPS(drive->current_a[0]), AMPS(drive->current_a[drive->count - 1]), drive_file,
                            AMPS(current_a));
    return text != NULL ? text : "";
}

bool scene_over_limit(const struct scene *scene) {
    const struct storage *storage = scene->storage;
    for (size_t i = 0; i < scene->group_count; i++) {
        double limit_a = storage->emitters[scene->groups[i].emitter].current_limit_a;
        if (limit_a > 0 && scene->groups[i].current_a > limit_a)
            return true;
    }
    return false;
}

static void warn_of_limit(struct reader *reader, const struct node *at, const struct emitter_entry *emitter,
                          double current_a) {
    if (emitter->current_limit_a > 0 && current_a > emitter->current_limit_a)
        reader_warn(
            reader, at,
            "%s is above the limit of emitter '%.60s', %s: it runs hotter than it is made for, gives less "
            "light than told here, lives shorter and may fail; what is near it can burn skin and soften plastic",
            AMPS(current_a), emitter->value.name, AMPS(emitter->current_limit_a));
}

/* A module's current (0: none is named) held against its emitter; what is wrong is told at the node. Without one, it
 * is the current at which its emitter's flux was given. */
static bool settle_current(struct reader *reader, const struct node *at, const struct emitter_entry *emitter,
                           double *current_a) {
    const struct luxfall_drive *drive = &emitter->value.drive;
    if (reader->changes != NULL && reader->changes->current_open) {
        *current_a = drive->count > 0 ? drive->current_a[0] : 0;
        return true;
    }
    if (*current_a == 0 && drive->count > 1) {
        reader_error(reader, at, "no 'current' for this module: emitter '%.60s' is known from %s to %s (%.80s)",
                     emitter->value.name, AMPS(drive->current_a[0]), AMPS(drive->current_a[drive->count - 1]),
                     emitter->drive_file);
        return false;
    }
    if (*current_a == 0 && drive->count == 1)
        *current_a = drive->current_a[0];
    const char *complaint =
        *current_a == 0 ? NULL : unknown_current(reader->arena, &emitter->value, emitter->drive_file, *current_a);
    if (complaint != NULL) {
        reader_error(reader, at, "%s", complaint);
        return false;
    }
    warn_of_limit(reader, at, emitter, *current_a);
    return true;
}

bool choose_current(struct reader *reader, const struct node *map, struct group_entry *entry, bool emitter_known) {
    const struct node *node = map_value(map, "current"), *named = map_value(map, "emitter");
    if (node != NULL && !reader_quantity(reader, node, &current_range, &entry->group.current_a))
        return false;
    const struct node *at = node != NULL ? node : named != NULL ? named : map;
    if (node == NULL && (reader->incomplete || reader_near_key(map, "current")))
        return false;
    return !emitter_known ||
           settle_current(reader, at, &reader->emitters[entry->group.emitter], &entry->group.current_a);
}
