/* From nodes to values: units, ranges, words, names; every refusal at its place. */
#include "scenes/keys.h"
#include "scenes/messages.h"
#include "scenes/numbers.h"
#include "scenes/reader.h"

#include <math.h>
#include <string.h>

static const double TURN = 2 * 3.14159265358979323846;

enum { NAME_MAX_BYTES = 120, LISTED_KEYS_BYTES = 300 };

const struct range range_size = {LENGTH, 0, 1e6, OPEN, CLOSED};
const struct range range_position = {LENGTH, -1e6, 1e6, CLOSED, CLOSED};
const struct range range_azimuth = {ANGLE, -TURN, TURN, CLOSED, CLOSED};

static void tell(struct reader *reader, enum message_kind kind, const struct node *node, const char *format,
                 va_list arguments) {
    const char *line = source_line(reader->arena, node->source, node->place.line);
    messages_add_list(reader->messages, kind, node->place, line, format, arguments);
}

void reader_error(struct reader *reader, const struct node *node, const char *format, ...) {
    va_list arguments;
    va_start(arguments, format);
    tell(reader, MESSAGE_ERROR, node, format, arguments);
    va_end(arguments);
}

void reader_warn(struct reader *reader, const struct node *node, const char *format, ...) {
    va_list arguments;
    if (reader->quiet)
        return;
    va_start(arguments, format);
    tell(reader, MESSAGE_WARNING, node, format, arguments);
    va_end(arguments);
}

const struct node *reader_name_of(const struct node *node) {
    return node->key != NULL ? node->key : node;
}

/* The value as messages call it. */
static const char *label(struct reader *reader, const struct node *node) {
    const struct node *key = node->key != NULL ? node->key : node->list;
    const char *text =
        key == NULL ? "this" : arena_format(reader->arena, node->key ? "'%.60s'" : "an entry of '%.60s'", key->text);
    return text != NULL ? text : "";
}

bool reader_is(struct reader *reader, const struct node *node, enum node_kind kind) {
    if (node->refused || (node->kind != kind && node->open))
        return false; /* an echo of what was told */
    if (node->kind == kind && (kind != NODE_TEXT || node->text[0] != '\0'))
        return true;
    if (node->kind == NODE_TEXT && node->text[0] == '\0') {
        if (!reader->incomplete)
            reader_error(reader, reader_name_of(node), "%s has no value", label(reader, node));
    } else
        reader_error(reader, node, "%s is %s; %s is expected", label(reader, node), node_kind_name(node->kind),
                     node_kind_name(kind));
    return false;
}

const char *reader_listed(struct reader *reader, const char *const *words) {
    char text[LISTED_KEYS_BYTES] = "";
    size_t used = 0;
    for (size_t i = 0; words[i] != NULL; i++) {
        size_t length = strlen(words[i]);
        if (used + length + 8 > sizeof text)
            break;
        const char *joint = i == 0 ? "" : words[i + 1] == NULL ? " or " : ", ";
        used += (size_t)snprintf(text + used, sizeof text - used, "%s%s", joint, words[i]);
    }
    const char *copy = arena_text(reader->arena, text, used);
    return copy != NULL ? copy : "";
}

bool reader_keys(struct reader *reader, const struct node *map, const char *what, const char *const *known) {
    bool all = true;
    for (size_t i = 0; i < map->count; i++) {
        const struct node *key = map->keys[i];
        size_t k = 0;
        while (known[k] != NULL && strcmp(known[k], key->text) != 0)
            k++;
        if (known[k] != NULL)
            continue;
        all = false;
        const char *near = nearest_word(key->text, known);
        if (near != NULL)
            reader_error(reader, key, "unknown key '%.60s' in %s; did you mean '%s'?", key->text, what, near);
        else
            reader_error(reader, key, "unknown key '%.60s' in %s; it takes %s", key->text, what,
                         reader_listed(reader, known));
    }
    return all;
}

/* A key that is a near miss of the missing one has been told as unknown: no echo of that. */
bool reader_near_key(const struct node *map, const char *key) {
    const char *const wanted[] = {key, NULL};
    for (size_t i = 0; i < map->count; i++)
        if (nearest_word(map->keys[i]->text, wanted) != NULL)
            return true;
    return false;
}

const struct node *reader_need(struct reader *reader, const struct node *map, const char *key) {
    const struct node *node = map_value(map, key);
    if (node == NULL && !reader->incomplete && !reader_near_key(map, key))
        reader_error(reader, reader_name_of(map), "missing key '%s'", key);
    return node;
}

static const char *words_for_range(const struct range *range, char *text, size_t size) {
    char low[48], high[48];
    quantity_show(range->low, range->dimension, low, sizeof low);
    quantity_show(range->high, range->dimension, high, sizeof high);
    snprintf(text, size, "%s %s and %s %s", range->at_low == OPEN ? "above" : "at least", low,
             range->at_high == OPEN ? "below" : "at most", high);
    return text;
}

bool reader_in_range(struct reader *reader, const struct node *node, const struct range *range, double value) {
    bool above = range->at_low == OPEN ? value > range->low : value >= range->low;
    bool below = range->at_high == OPEN ? value < range->high : value <= range->high;
    if (above && below)
        return true;
    char shown[48], words[128];
    quantity_show(value, range->dimension, shown, sizeof shown);
    reader_error(reader, node, "%s is %s; it must be %s", label(reader, node), shown,
                 words_for_range(range, words, sizeof words));
    return false;
}

bool reader_quantity_text(struct reader *reader, const struct node *node, const char *text, const struct range *range,
                          double *out) {
    struct reason why;
    double value = 0;
    if (!quantity_read(text, range->dimension, &value, &why)) {
        reader_error(reader, node, "%s", why.text);
        return false;
    }
    if (!reader_in_range(reader, node, range, value))
        return false;
    *out = value;
    return true;
}

bool reader_quantity(struct reader *reader, const struct node *node, const struct range *range, double *out) {
    return reader_is(reader, node, NODE_TEXT) && reader_quantity_text(reader, node, node->text, range, out);
}

static bool product_text(struct reader *reader, const struct node *node, const char *text, const struct range *range,
                         double out[2]) {
    struct reason why;
    double value[2];
    if (!product_read(text, range->dimension, value, &why)) {
        reader_error(reader, node, "%s", why.text);
        return false;
    }
    if (!reader_in_range(reader, node, range, value[0]) || !reader_in_range(reader, node, range, value[1]))
        return false;
    out[0] = value[0];
    out[1] = value[1];
    return true;
}

bool reader_product(struct reader *reader, const struct node *node, const struct range *range, double out[2]) {
    return reader_is(reader, node, NODE_TEXT) && product_text(reader, node, node->text, range, out);
}

bool reader_whole(struct reader *reader, const struct node *node, uint64_t low, uint64_t high, uint64_t *out) {
    if (!reader_is(reader, node, NODE_TEXT))
        return false;
    struct reason why;
    double value = 0;
    uint64_t whole = 0;
    size_t digits = strspn(node->text, "0123456789");
    bool plain = node->text[digits] == '\0' && digits > 0 && digits <= 18;
    if (plain) {
        for (size_t i = 0; i < digits; i++)
            whole = 10 * whole + (uint64_t)(node->text[i] - '0');
    } else if (!quantity_read(node->text, NUMBER, &value, &why)) {
        reader_error(reader, node, "%s", why.text);
        return false;
    } else if (value != floor(value)) {
        char shown[40];
        number_write(value, shown, sizeof shown);
        reader_error(reader, node, "%s is %s; a whole number is expected", label(reader, node), shown);
        return false;
    } else {
        whole = value < 0 ? 0 : value > 9e18 ? UINT64_MAX : (uint64_t)value;
    }
    if (value < 0 || whole < low || whole > high) {
        reader_error(reader, node, "%s is %.40s; it must be a whole number from %llu to %llu", label(reader, node),
                     node->text, (unsigned long long)low, (unsigned long long)high);
        return false;
    }
    *out = whole;
    return true;
}

bool reader_count(struct reader *reader, const struct node *node, int low, int high, int *out) {
    uint64_t whole = 0;
    if (!reader_whole(reader, node, (uint64_t)low, (uint64_t)high, &whole))
        return false;
    *out = (int)whole;
    return true;
}

bool reader_vector(struct reader *reader, const struct node *node, const struct range *range, size_t count,
                   double *out) {
    static const char *const shapes[] = {"", "", "[x, y]", "[x, y, z]"};
    if (node->kind != NODE_LIST || node->count != count) {
        reader_error(reader, node, "%s takes %s, each a length with its unit", label(reader, node), shapes[count]);
        return false;
    }
    bool good = true;
    for (size_t i = 0; i < count; i++)
        good = reader_quantity(reader, node->items[i], range, &out[i]) && good;
    return good;
}

int reader_word(struct reader *reader, const struct node *node, const char *const *words) {
    if (!reader_is(reader, node, NODE_TEXT))
        return -1;
    for (int i = 0; words[i] != NULL; i++)
        if (strcmp(words[i], node->text) == 0)
            return i;
    const char *near = nearest_word(node->text, words);
    if (near != NULL)
        reader_error(reader, node, "'%.40s' is not known here; did you mean '%s'?", node->text, near);
    else
        reader_error(reader, node, "'%.40s' is not known here; %s takes %s", node->text, label(reader, node),
                     reader_listed(reader, words));
    return -1;
}

const char *reader_name(struct reader *reader, const struct node *node) {
    if (!reader_is(reader, node, NODE_TEXT))
        return NULL;
    if (strlen(node->text) <= NAME_MAX_BYTES)
        return node->text;
    reader_error(reader, node, "'%.40s...' is longer than %d bytes", node->text, NAME_MAX_BYTES);
    return NULL;
}

static bool disc_text(struct reader *reader, const struct node *node, const char *text, const struct range *range,
                      struct luxfall_face *out) {
    double diameter = 0;
    if (!reader_quantity_text(reader, node, text, range, &diameter))
        return false;
    *out = (struct luxfall_face){LUXFALL_DISC, diameter, diameter};
    return true;
}

bool reader_face(struct reader *reader, const struct node *node, const struct range *range, bool point_allowed,
                 struct luxfall_face *out) {
    if (!reader_is(reader, node, NODE_TEXT))
        return false;
    const char *text = node->text, *point = point_allowed ? ", or 'point'" : "";
    if (strncmp(text, "disc ", 5) == 0)
        return disc_text(reader, node, text + 5, range, out);
    if (point_allowed && strcmp(text, "point") == 0) {
        *out = (struct luxfall_face){.kind = LUXFALL_POINT};
        return true;
    }
    double value = 0, sides[2];
    struct reason why;
    if (strncmp(text, "disk ", 5) == 0 || strncmp(text, "circle ", 7) == 0 || strncmp(text, "round ", 6) == 0)
        reader_error(reader, node, "'%.40s': a round one is written 'disc 18 mm'", text);
    else if (!is_product(text) && quantity_read(text, LENGTH, &value, &why))
        reader_error(reader, node, "'%.40s' is one length: write 'disc %.40s', or two lengths such as %.40s x %.40s",
                     text, text, text, text);
    else if (!is_product(text))
        reader_error(reader, node, "'%.40s' is no size; write 'disc 18 mm' or '12 mm x 18 mm'%s", text, point);
    else if (product_text(reader, node, text, range, sides)) {
        *out = (struct luxfall_face){LUXFALL_RECTANGLE, sides[0], sides[1]};
        return true;
    }
    return false;
}

enum taken reader_take(struct reader *reader, const struct node *map, const char *key, const struct range *range,
                       double *out) {
    const struct node *node = map_value(map, key);
    if (node == NULL)
        return ABSENT;
    return reader_quantity(reader, node, range, out) ? TAKEN : REFUSED;
}

enum taken reader_take_count(struct reader *reader, const struct node *map, const char *key, int low, int high,
                             int *out) {
    const struct node *node = map_value(map, key);
    if (node == NULL)
        return ABSENT;
    return reader_count(reader, node, low, high, out) ? TAKEN : REFUSED;
}

bool reader_take_needed(struct reader *reader, const struct node *map, const char *key, const struct range *range,
                        double *out) {
    const struct node *node = reader_need(reader, map, key);
    return node != NULL && reader_quantity(reader, node, range, out);
}
