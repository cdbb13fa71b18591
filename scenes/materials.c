/* What a traced lens is made of, and whether its index is known for the light that goes through it. */
#include "scenes/keys.h"
#include "scenes/reader.h"

#include <math.h>
#include <string.h>

enum { MATERIALS_MAX = 64, LISTED_BYTES = 400 };

static const struct range index_range = {NUMBER, 1, 4, OPEN, CLOSED};
static const struct range term_range = {NUMBER, -1e12, 1e12, CLOSED, CLOSED};
static const struct range transmittance_range = {SHARE, 0, 1, OPEN, CLOSED};

/* ---- by name --------------------------------------------------------------------------------------------------- */

static const char *names_listed(struct reader *reader) {
    char text[LISTED_BYTES];
    size_t used = 0;
    const struct luxfall_material_entry *entry;
    for (size_t i = 0; (entry = luxfall_material_entry(i)) != NULL && used < sizeof text; i++)
        used += (size_t)snprintf(text + used, sizeof text - used, "%s%s%s%s%s", i == 0 ? "" : ", ", entry->name,
                                 entry->other_name != NULL ? " (" : "", entry->other_name ? entry->other_name : "",
                                 entry->other_name != NULL ? ")" : "");
    const char *copy = arena_text(reader->arena, text, strlen(text));
    return copy != NULL ? copy : "";
}

/* The names that a slip may have meant; NULL at the end. */
static void names_known(const char *names[MATERIALS_MAX]) {
    const struct luxfall_material_entry *entry;
    size_t count = 0;
    for (size_t i = 0; (entry = luxfall_material_entry(i)) != NULL && count + 3 < MATERIALS_MAX; i++) {
        names[count++] = entry->name;
        if (entry->other_name != NULL)
            names[count++] = entry->other_name;
    }
    names[count] = NULL;
}

/* A near miss, or a part of a name: "crown". */
static const char *name_meant(const char *text) {
    const char *names[MATERIALS_MAX];
    names_known(names);
    const char *near = nearest_word(text, names);
    for (size_t i = 0; near == NULL && names[i] != NULL; i++)
        if (strstr(names[i], text) != NULL)
            near = names[i];
    return near;
}

static void refuse_name(struct reader *reader, const struct node *node) {
    const char *near = name_meant(node->text);
    double number = 0;
    struct reason why;
    if (quantity_read(node->text, NUMBER, &number, &why))
        reader_error(reader, node, "an index is written 'material: {index: %.40s}'", node->text);
    else
        reader_error(reader, node, "no material '%.40s' is known%s%s%s: there are %s, or {index: 1.49}", node->text,
                     near != NULL ? " (did you mean '" : "", near != NULL ? near : "", near != NULL ? "'?)" : "",
                     names_listed(reader));
}

static bool read_name(struct reader *reader, const struct node *node, struct luxfall_material *material) {
    if (node->kind == NODE_LIST && !node->refused) {
        reader_error(reader, node, "a material is a name such as acrylic, or its index: {index: 1.49}");
        return false;
    }
    if (!reader_is(reader, node, NODE_TEXT))
        return false;
    *material = (struct luxfall_material){.kind = LUXFALL_MATERIAL_NAMED, .name = node->text};
    const struct luxfall_material_entry *entry = luxfall_material_known(material);
    if (entry == NULL) {
        refuse_name(reader, node);
        return false;
    }
    material->name = entry->name;
    return true;
}

/* ---- by numbers ------------------------------------------------------------------------------------------------ */

static bool read_index(struct reader *reader, const struct node *node, struct luxfall_material *material) {
    material->kind = LUXFALL_MATERIAL_INDEX;
    return reader_quantity(reader, node, &index_range, &material->index);
}

static bool read_pair(struct reader *reader, const struct node *pair, double terms[2]) {
    if (pair->kind != NODE_LIST || pair->count != 2) {
        reader_error(reader, pair, "'sellmeier' takes pairs [B, C], C in um^2: [[1.0093, 0.013185]]");
        return false;
    }
    bool good = reader_quantity(reader, pair->items[0], &term_range, &terms[0]);
    good = reader_quantity(reader, pair->items[1], &term_range, &terms[1]) && good;
    if (good && terms[1] < 0) {
        reader_error(reader, pair->items[1], "C is a wavelength squared, in um^2, and cannot be %.6g", terms[1]);
        return false;
    }
    return good;
}

static bool read_sellmeier(struct reader *reader, const struct node *node, struct luxfall_material *material) {
    const size_t most = LUXFALL_MATERIAL_TERMS_MAX / 2;
    material->kind = LUXFALL_MATERIAL_SELLMEIER;
    if (!reader_is(reader, node, NODE_LIST))
        return false;
    if (node->count < 1 || node->count > most) {
        reader_error(reader, node, "'sellmeier' has %zu pairs; 1 to %zu are expected, as in [[1.0093, 0.013185]]",
                     node->count, most);
        return false;
    }
    for (size_t i = 0; i < node->count; i++)
        if (!read_pair(reader, node->items[i], &material->terms[2 * i]))
            return false;
    material->term_count = 2 * (int)node->count;
    return true;
}

static bool read_cauchy(struct reader *reader, const struct node *node, struct luxfall_material *material) {
    const size_t most = LUXFALL_MATERIAL_TERMS_MAX / 2;
    material->kind = LUXFALL_MATERIAL_CAUCHY;
    if (!reader_is(reader, node, NODE_LIST))
        return false;
    if (node->count < 1 || node->count > most) {
        reader_error(reader, node, "'cauchy' has %zu terms; 1 to %zu are expected, as in [1.478, 0.0043]",
                     node->count, most);
        return false;
    }
    bool good = true;
    for (size_t i = 0; i < node->count; i++)
        good = reader_quantity(reader, node->items[i], &term_range, &material->terms[i]) && good;
    material->term_count = (int)node->count;
    return good;
}

/* "99.8 % per 10 mm" */
static bool read_transmittance(struct reader *reader, const struct node *map, struct luxfall_material *material) {
    const struct node *node = map_value(map, "transmittance");
    if (node == NULL)
        return true;
    if (!reader_is(reader, node, NODE_TEXT))
        return false;
    const char *per = strstr(node->text, " per ");
    if (per == NULL) {
        reader_error(reader, node, "'%.40s' says over no length; write '99.8 %% per 10 mm', surfaces not counted",
                     node->text);
        return false;
    }
    const char *share = arena_text(reader->arena, node->text, (size_t)(per - node->text));
    return share != NULL &&
           reader_quantity_text(reader, node, share, &transmittance_range, &material->transmittance) &&
           reader_quantity_text(reader, node, per + 5, &range_size, &material->transmittance_mm);
}

static bool read_map(struct reader *reader, const struct node *map, struct luxfall_material *material) {
    static const char *const known[] = {"name", "index", "sellmeier", "cauchy", "transmittance", NULL};
    static bool (*const readers[])(struct reader *, const struct node *,
                                   struct luxfall_material *) = {read_name, read_index, read_sellmeier, read_cauchy};
    bool good = reader_keys(reader, map, "a material", known);
    int given = 0, chosen = 0;
    for (int i = 0; i < 4; i++)
        if (map_value(map, known[i]) != NULL) {
            given++;
            chosen = i;
        }
    if (given != 1) {
        if (good && !reader->incomplete)
            reader_error(reader, map, "a material takes one of name, index, sellmeier and cauchy, and here are %s",
                         given == 0 ? "none" : "more");
        return false;
    }
    good = readers[chosen](reader, map_value(map, known[chosen]), material) && good;
    return read_transmittance(reader, map, material) && good;
}

bool read_material(struct reader *reader, const struct node *lens, struct luxfall_material *material) {
    const struct node *node = reader_need(reader, lens, "material");
    if (node == NULL)
        return false;
    if (node->kind == NODE_MAP)
        return read_map(reader, node, material);
    return read_name(reader, node, material);
}

/* ---- with the light that goes through -------------------------------------------------------------------------- */

/* At the wavelength where one is written, else at the material. */
static const struct node *place_of(const struct lens_entry *lens, const struct emitter_entry *emitter) {
    const struct node *wavelength = map_value(emitter->node, "wavelength");
    return wavelength != NULL ? wavelength : map_value(lens->node, "material");
}

/* What passes through a plate, both surfaces counted; METHODS eq. (25). */
static double plate_passes(double index) {
    const double r = (index - 1) / (index + 1);
    return (1 - r * r) / (1 + r * r);
}

/* Sheets print the transmittance of a plate, surfaces and all; those are traced by themselves. */
static void judge_transmittance(struct reader *reader, const struct lens_entry *lens,
                                const struct luxfall_material *material, double index) {
    const double plate = plate_passes(index), inside = material->transmittance / plate;
    if (material->transmittance_mm > 0 && inside > 0.96 && inside <= 1.001)
        reader_warn(reader, map_value(map_value(lens->node, "material"), "transmittance"),
                    "%.4g %% is about what passes a clear plate of index %.4g, %.4g %%, because its two surfaces "
                    "reflect; they are traced by themselves: without them it is %.4g %% per %.6g mm",
                    100 * material->transmittance, index, 100 * plate, 100 * fmin(inside, 1),
                    material->transmittance_mm);
}

void judge_material(struct reader *reader, struct lens_entry *lens, const struct emitter_entry *emitter) {
    const struct luxfall_material *material = &lens->value.material;
    const double wavelength_um = emitter->value.wavelength_um;
    struct luxfall_error error;
    double index = 0;
    if (luxfall_material_index(material, wavelength_um, &index, &error) != LUXFALL_OK) {
        reader_error(reader, map_value(lens->node, "material"), "light of emitter '%.60s' in lens '%.60s': %s",
                     emitter->value.name, lens->value.name, error.text);
        lens->sound = false;
        return;
    }
    judge_transmittance(reader, lens, material, index);
    const struct luxfall_material_entry *entry = luxfall_material_known(material);
    if (entry != NULL && (wavelength_um < entry->low_um || wavelength_um > entry->high_um))
        reader_warn(reader, place_of(lens, emitter),
                    "the formula of %s (lens '%.60s') holds from %g to %g nm; carried on to %g nm it says n = %.4f, "
                    "which nobody has measured here",
                    entry->name, lens->value.name, entry->low_um * 1e3, entry->high_um * 1e3, wavelength_um * 1e3,
                    index);
}
