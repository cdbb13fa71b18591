/* Where a module's members stand: one function a placement, one line in the table; and where they are aimed. */
#include "scenes/reader.h"

#include <math.h>
#include <string.h>

static const struct range incidence_range = {ANGLE, 0, 3.14159265358979323846 / 2, CLOSED, OPEN};
static const struct range roll_range = {ANGLE, -4 * 3.14159265358979323846, 4 * 3.14159265358979323846, CLOSED,
                                        CLOSED};
static const struct range lean_range = {ANGLE, -3.14159265358979323846 / 2, 3.14159265358979323846 / 2, CLOSED,
                                        CLOSED};

/* Distance and incidence, or radius and height: one pair whole. */
static bool read_slant(struct reader *reader, const struct node *map, struct luxfall_placement *placement) {
    bool slant = map_value(map, "distance") != NULL || map_value(map, "incidence") != NULL;
    bool upright = map_value(map, "radius") != NULL || map_value(map, "height") != NULL;
    if (slant == upright) {
        if (!reader->incomplete)
            reader_error(reader, reader_name_of(map),
                         "a ring takes either distance and incidence, or radius and height");
        return false;
    }
    if (slant) {
        bool good = reader_take_needed(reader, map, "distance", &range_size, &placement->distance_mm);
        return reader_take_needed(reader, map, "incidence", &incidence_range, &placement->incidence_rad) && good;
    }
    double radius = 0, height = 0;
    bool good = reader_take_needed(reader, map, "radius", &range_size, &radius);
    good = reader_take_needed(reader, map, "height", &range_size, &height) && good;
    placement->distance_mm = hypot(radius, height);
    placement->incidence_rad = atan2(radius, height);
    return good;
}

static bool need_count(struct reader *reader, const struct node *map, const char *key, int *out) {
    const struct node *node = reader_need(reader, map, key);
    return node != NULL && reader_count(reader, node, 1, LUXFALL_MODULES_MAX, out);
}

static bool read_ring(struct reader *reader, const struct node *map, struct luxfall_placement *placement) {
    static const char *const known[] = {"count", "distance", "incidence", "radius", "height", "start", NULL};
    bool good = reader_keys(reader, map, "a ring", known);
    placement->kind = LUXFALL_AT_RING;
    good = need_count(reader, map, "count", &placement->count) && good;
    bool stands = read_slant(reader, map, placement);
    good = reader_take(reader, map, "start", &range_azimuth, &placement->azimuth_rad) != REFUSED && good;
    if (good && stands && placement->count > 1 && placement->incidence_rad == 0) {
        reader_error(reader, map_value(map, "incidence"),
                     "with an incidence of 0 all %d modules of the ring would stand in one place", placement->count);
        return false;
    }
    return good && stands;
}

static bool read_single(struct reader *reader, const struct node *map, struct luxfall_placement *placement) {
    static const char *const known[] = {"distance", "incidence", "azimuth", "height", NULL};
    bool good = reader_keys(reader, map, "a single module", known);
    placement->kind = LUXFALL_AT_SINGLE;
    const struct node *height = map_value(map, "height"), *distance = map_value(map, "distance");
    if ((height == NULL) == (distance == NULL)) {
        if (!reader->incomplete)
            reader_error(reader, reader_name_of(map),
                         "a single module takes either distance, incidence and azimuth, or height (right above the "
                         "centre)");
        return false;
    }
    const struct node *slant = map_value(map, map_value(map, "incidence") != NULL ? "incidence" : "azimuth");
    if (height != NULL && slant != NULL) {
        reader_error(reader, slant, "'%s' goes with distance; a height alone is right above the centre",
                     slant->key->text);
        return false;
    }
    good = reader_quantity(reader, height != NULL ? height : distance, &range_size, &placement->distance_mm) && good;
    good = reader_take(reader, map, "incidence", &incidence_range, &placement->incidence_rad) != REFUSED && good;
    return reader_take(reader, map, "azimuth", &range_azimuth, &placement->azimuth_rad) != REFUSED && good;
}

static bool read_line(struct reader *reader, const struct node *map, struct luxfall_placement *placement) {
    static const char *const known[] = {"count", "pitch", "height", "direction", NULL};
    bool good = reader_keys(reader, map, "a line", known);
    placement->kind = LUXFALL_AT_LINE;
    good = need_count(reader, map, "count", &placement->count) && good;
    if (map_value(map, "pitch") != NULL || placement->count != 1)
        good = reader_take_needed(reader, map, "pitch", &range_size, &placement->pitch_x_mm) && good;
    good = reader_take_needed(reader, map, "height", &range_size, &placement->height_mm) && good;
    return reader_take(reader, map, "direction", &range_azimuth, &placement->azimuth_rad) != REFUSED && good;
}

static bool read_grid_pitch(struct reader *reader, const struct node *map, struct luxfall_placement *placement) {
    if (map_value(map, "pitch") == NULL && placement->columns == 1 && placement->rows == 1)
        return true;
    const struct node *node = reader_need(reader, map, "pitch");
    if (node == NULL || !reader_is(reader, node, NODE_TEXT))
        return false;
    double pitch[2] = {0, 0};
    bool product = is_product(node->text);
    if (product ? !reader_product(reader, node, &range_size, pitch)
                : !reader_quantity(reader, node, &range_size, &pitch[0]))
        return false;
    placement->pitch_x_mm = pitch[0];
    placement->pitch_y_mm = product ? pitch[1] : pitch[0];
    return true;
}

static bool read_grid(struct reader *reader, const struct node *map, struct luxfall_placement *placement) {
    static const char *const known[] = {"columns", "rows", "pitch", "height", NULL};
    bool good = reader_keys(reader, map, "a grid", known);
    placement->kind = LUXFALL_AT_GRID;
    good = need_count(reader, map, "columns", &placement->columns) && good;
    good = need_count(reader, map, "rows", &placement->rows) && good;
    good = read_grid_pitch(reader, map, placement) && good;
    good = reader_take_needed(reader, map, "height", &range_size, &placement->height_mm) && good;
    if (good && (long)placement->columns * placement->rows > LUXFALL_MODULES_MAX) {
        reader_error(reader, map, "%d columns x %d rows are %ld modules; at most %d", placement->columns,
                     placement->rows, (long)placement->columns * placement->rows, LUXFALL_MODULES_MAX);
        return false;
    }
    return good;
}

static bool read_at(struct reader *reader, const struct node *node, struct luxfall_placement *placement) {
    double at[3] = {0};
    placement->kind = LUXFALL_AT_POINT;
    bool good = reader_vector(reader, node, &range_position, 3, at);
    placement->at_mm = (struct luxfall_vec){at[0], at[1], at[2]};
    return good;
}

static const struct placement_kind {
    const char *key;
    enum node_kind shape;
    bool (*read)(struct reader *reader, const struct node *node, struct luxfall_placement *placement);
} placement_kinds[] = {
    {"ring", NODE_MAP, read_ring}, {"single", NODE_MAP, read_single}, {"line", NODE_MAP, read_line},
    {"grid", NODE_MAP, read_grid}, {"at", NODE_LIST, read_at},
};
enum { PLACEMENT_KINDS = sizeof placement_kinds / sizeof *placement_kinds };

bool read_placement(struct reader *reader, const struct node *module, struct group_entry *entry) {
    const struct placement_kind *kind = NULL;
    for (size_t i = 0; i < PLACEMENT_KINDS; i++) {
        const struct node *node = map_value(module, placement_kinds[i].key);
        if (node == NULL)
            continue;
        if (kind != NULL) {
            reader_error(reader, node->key, "a second placement, '%s'; this module already has '%s'",
                         placement_kinds[i].key, kind->key);
            return false;
        }
        kind = &placement_kinds[i];
        entry->placement = node;
    }
    if (kind == NULL) {
        if (!reader->incomplete)
            reader_error(reader, module, "this module stands nowhere; it takes ring, single, line, grid or at");
        return false;
    }
    if (kind->shape == NODE_MAP && !reader_is(reader, entry->placement, NODE_MAP))
        return false;
    return kind->read(reader, entry->placement, &entry->group.placement);
}

static bool ends_with(const char *text, const char *ending, size_t *before) {
    size_t length = strlen(text), tail = strlen(ending);
    *before = length - tail;
    return length > tail && strcmp(text + length - tail, ending) == 0;
}

static bool read_aim_text(struct reader *reader, const struct node *node, struct luxfall_placement *placement) {
    static const char *const words[] = {"centre", "down", NULL};
    size_t before = 0;
    bool is_short = ends_with(node->text, " short", &before);
    if (is_short || ends_with(node->text, " past", &before)) {
        const char *length = arena_text(reader->arena, node->text, before);
        placement->aim = is_short ? LUXFALL_AIM_SHORT : LUXFALL_AIM_PAST;
        return length != NULL && reader_quantity_text(reader, node, length, &range_size, &placement->aim_mm);
    }
    double value;
    struct reason why;
    if (quantity_read(node->text, LENGTH, &value, &why)) {
        reader_error(reader, node,
                     "'%.40s' short or past? Write '%.40s short' (on the module's own side) or '%.40s past'",
                     node->text, node->text, node->text);
        return false;
    }
    if (strchr("0123456789+-.", node->text[0]) != NULL) {
        reader_error(reader, node,
                     "'aim' takes centre, down, a length such as '36 mm short' or '100 mm past', or [x, y]");
        return false;
    }
    int word = reader_word(reader, node, words);
    placement->aim = word == 1 ? LUXFALL_AIM_DOWN : LUXFALL_AIM_CENTRE;
    return word >= 0;
}

static bool take_aim(struct reader *reader, const struct node *node, struct luxfall_placement *placement) {
    if (node == NULL)
        return true;
    if (node->kind != NODE_LIST)
        return reader_is(reader, node, NODE_TEXT) && read_aim_text(reader, node, placement);
    double spot[2] = {0};
    placement->aim = LUXFALL_AIM_POINT;
    bool good = reader_vector(reader, node, &range_position, 2, spot);
    placement->aim_x_mm = spot[0];
    placement->aim_y_mm = spot[1];
    return good;
}

bool read_lean(struct reader *reader, const struct node *node, const struct range *range, double *angle_rad,
               double *azimuth_rad) {
    if (!reader_is(reader, node, NODE_TEXT))
        return false;
    const char *towards = strstr(node->text, " towards ");
    if (towards == NULL && strcmp(node->text, "0") == 0)
        return true;
    if (towards == NULL) {
        reader_error(reader, node, "'%s' takes how far and where to, for instance '2 deg towards 90 deg'",
                     node->key->text);
        return false;
    }
    const char *angle = arena_text(reader->arena, node->text, (size_t)(towards - node->text));
    return angle != NULL && reader_quantity_text(reader, node, angle, range, angle_rad) &&
           reader_quantity_text(reader, node, towards + 9, &range_azimuth, azimuth_rad);
}

bool read_aim(struct reader *reader, const struct node *module, struct group_entry *entry) {
    struct luxfall_placement *placement = &entry->group.placement;
    entry->aim = map_value(module, "aim");
    bool good = take_aim(reader, entry->aim, placement);
    const struct node *lean = map_value(module, "lean");
    if (lean != NULL)
        good = read_lean(reader, lean, &lean_range, &placement->lean_rad, &placement->lean_azimuth_rad) && good;
    return reader_take(reader, module, "roll", &roll_range, &placement->roll_rad) != REFUSED && good;
}
