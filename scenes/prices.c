/* What parts cost: the key `price`, the sections `sinks` and `boards`, and the sum. */
#include "scenes/numbers.h"
#include "scenes/reader.h"

#include <math.h>
#include <string.h>

enum { PARTS_MAX = 2000, CURRENCY_BYTES = 16 };

static const double PRICE_MAX = 1e9;

/* ---- a price --------------------------------------------------------------------------------------------------- */

/* Any word or sign: EUR, kr., a dollar sign. What begins like a number would not read back. */
static bool is_currency(const char *text) {
    return text[0] != '\0' && strlen(text) <= CURRENCY_BYTES && text[strcspn(text, " \t0123456789+-,\"\\")] == '\0';
}

static bool split_price(struct reader *reader, const struct node *node, double *price, const char **currency) {
    const char *rest = node->text;
    enum number_status status = number_read(node->text, price, &rest);
    if (status != NUMBER_OK) {
        reader_error(reader, node, "'%.40s' %s; a price is a number and its currency, for instance 1.20 EUR",
                     node->text, number_complaint(status));
        return false;
    }
    *currency = rest + strspn(rest, " \t");
    if (!is_currency(*currency)) {
        reader_error(reader, node,
                     **currency == '\0'
                         ? "'%.40s' has no currency; a price is a number and a word, for instance 1.20 EUR"
                         : "'%.40s' is no price; one number and one word are expected, such as 1.20 EUR",
                     node->text);
        return false;
    }
    if (*price >= 0 && *price <= PRICE_MAX)
        return true;
    reader_error(reader, node, "'price' is %.40s; it must be at least 0 and at most %g", node->text, PRICE_MAX);
    return false;
}

static bool same_currency(struct reader *reader, const struct node *node, const char *currency) {
    if (reader->priced == NULL) {
        reader->priced = node;
        reader->scene->currency = currency;
    }
    if (strcmp(reader->scene->currency, currency) == 0)
        return true;
    if (!reader->mixed)
        reader_error(reader, node, "a price in %s; %s:%d has one in %s, and a scene keeps to one currency", currency,
                     reader->priced->place.file, reader->priced->place.line, reader->scene->currency);
    reader->mixed = true;
    return false;
}

bool take_price(struct reader *reader, const struct node *map, double *price) {
    const struct node *node = map_value(map, "price");
    const char *currency = NULL;
    *price = NAN;
    return node == NULL || (reader_is(reader, node, NODE_TEXT) && split_price(reader, node, price, &currency) &&
                            same_currency(reader, node, currency));
}

/* ---- sinks and boards ------------------------------------------------------------------------------------------ */

static const struct part_entry *earlier_part(const struct part_list *list, const char *name) {
    for (size_t i = 0; i < list->count; i++)
        if (strcmp(list->items[i].value.name, name) == 0)
            return &list->items[i];
    return NULL;
}

static bool read_plain_part(struct reader *reader, const struct node *map, const char *what, double *price) {
    static const char *const known[] = {"price", NULL};
    char phrase[24];
    snprintf(phrase, sizeof phrase, "a %s", what);
    if (!reader_is(reader, map, NODE_MAP))
        return false;
    bool good = reader_keys(reader, map, phrase, known);
    return take_price(reader, map, price) && good;
}

void read_plain_parts(struct reader *reader, const struct node *map, const char *what, struct part_list *list) {
    if (!reader_is(reader, map, NODE_MAP))
        return;
    for (size_t i = 0; i < map->count; i++) {
        const struct node *key = map->keys[i];
        const char *name = reader_name(reader, key);
        const struct part_entry *earlier = name == NULL ? NULL : earlier_part(list, name);
        if (earlier != NULL)
            reader_error(reader, key, "%s '%s' stands twice; the first is in %s:%d", what, name,
                         reader_name_of(earlier->node)->place.file, reader_name_of(earlier->node)->place.line);
        else if (list->count == PARTS_MAX)
            reader_error(reader, key, "more than %d entries", PARTS_MAX);
        if (name == NULL || earlier != NULL || list->count == PARTS_MAX)
            continue;
        struct part_entry *grown = arena_more(reader->arena, list->items, list->count, sizeof *grown);
        if (grown == NULL)
            return;
        list->items = grown;
        struct part_entry *entry = &grown[list->count++];
        *entry = (struct part_entry){.value.name = name, .node = map->items[i]};
        entry->sound = read_plain_part(reader, map->items[i], what, &entry->value.price);
    }
}

/* ---- the sum --------------------------------------------------------------------------------------------------- */

struct sum {
    double price;
    const char *missing; /* the first part without a price */
};

static void add(struct sum *sum, const char *name, double price) {
    sum->price += price;
    if (isnan(price) && sum->missing == NULL)
        sum->missing = name;
}

double scene_price(const struct scene *scene, const char **missing) {
    const struct luxfall_scene *light = &scene->light;
    struct sum sum = {scene->currency == NULL ? NAN : 0, NULL};
    for (size_t g = 0; g < scene->group_count && scene->currency != NULL; g++) {
        const struct scene_group *group = &scene->groups[g];
        struct sum one = {0, sum.missing};
        add(&one, light->emitters[group->emitter].name, scene->emitter_prices[group->emitter]);
        if (group->lens != LUXFALL_NO_LENS)
            add(&one, light->lenses[group->lens].name, scene->lens_prices[group->lens]);
        if (group->sink != SCENE_NONE)
            add(&one, scene->sinks[group->sink].name, scene->sinks[group->sink].price);
        if (group->board != SCENE_NONE)
            add(&one, scene->boards[group->board].name, scene->boards[group->board].price);
        sum = (struct sum){sum.price + (double)group->count * one.price, one.missing};
    }
    if (missing != NULL)
        *missing = sum.missing;
    return sum.price;
}
