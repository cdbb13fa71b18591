/* The key `camera`, and what a field says of its own zoom. */
#include "scenes/reader.h"

#include <stdio.h>
#include <string.h>

static const struct range f_number_range = {NUMBER, 0.1, 10000, CLOSED, CLOSED};
static const struct range magnification_range = {NUMBER, 0, 1000, CLOSED, CLOSED};
static const struct range iso_range = {NUMBER, 0.1, 1e8, CLOSED, CLOSED};
static const struct range share_range = {SHARE, 0, 1, OPEN, CLOSED};

#define REFLECTANCE 0.5
#define TRANSMISSION 0.7

/* "8" or "f/8". */
static bool read_f_number(struct reader *reader, const struct node *node, double *out) {
    if (!reader_is(reader, node, NODE_TEXT))
        return false;
    bool slashed = strncmp(node->text, "f/", 2) == 0 || strncmp(node->text, "F/", 2) == 0;
    const char *number = node->text + (slashed ? 2 : 0);
    struct reason why;
    if (!quantity_read(number, NUMBER, out, &why)) {
        reader_error(
            reader, node,
            "'%.40s' is no f-number, which is focal length over aperture and has no unit; write for instance "
            "8 or f/8",
            node->text);
        return false;
    }
    return reader_in_range(reader, node, &f_number_range, *out);
}

/* "1.5", "1.5x" or "1.5 x". */
static bool read_magnification(struct reader *reader, const struct node *node, double *out) {
    if (!reader_is(reader, node, NODE_TEXT))
        return false;
    size_t length = strlen(node->text);
    char number[80];
    struct reason why;
    length -= length > 1 && (node->text[length - 1] == 'x' || node->text[length - 1] == 'X');
    snprintf(number, sizeof number, "%.*s", (int)(length < 79 ? length : 79), node->text);
    if (length >= sizeof number || !quantity_read(number, NUMBER, out, &why)) {
        reader_error(reader, node,
                     "'%.40s' is no magnification, which is the size on the sensor over the size on the stage; write "
                     "for instance 1.5 or 1.5x",
                     node->text);
        return false;
    }
    return reader_in_range(reader, node, &magnification_range, *out);
}

/* What a map says of f-number and magnification; the rest stays. */
static void read_zoom(struct reader *reader, const struct node *map, struct luxfall_camera *camera) {
    const struct node *f_number = map_value(map, "f_number"), *magnification = map_value(map, "magnification");
    if (f_number != NULL)
        read_f_number(reader, f_number, &camera->f_number);
    if (magnification != NULL)
        read_magnification(reader, magnification, &camera->magnification);
}

static bool any_field_says(const struct reader *reader, const char *key) {
    for (size_t i = 0; reader->fields != NULL && i < reader->scene->light.field_count; i++)
        if (map_value(reader->fields[i], key) != NULL)
            return true;
    return false;
}

/* Two of the camera's figures are seldom known and one is often inside the f-number: what was taken is told once. */
static void warn_of_defaults(struct reader *reader, const struct node *map) {
    const bool reflectance = map_value(map, "reflectance") != NULL,
               transmission = map_value(map, "transmission") != NULL;
    const bool magnification = map_value(map, "magnification") != NULL || any_field_says(reader, "magnification");
    if (reflectance && transmission && magnification)
        return;
    reader_warn(reader, reader_name_of(map), "taken for the camera, since nothing is said: %s%s%s%s%s",
                reflectance ? "" : "reflectance 50 %", reflectance || transmission ? "" : ", ",
                transmission ? "" : "transmission 70 %", magnification || (reflectance && transmission) ? "" : ", ",
                magnification ? "" : "magnification 0 (the f-number is the effective one)");
}

static void read_fields_cameras(struct reader *reader) {
    struct scene *scene = reader->scene;
    size_t count = scene->light.field_count;
    scene->field_cameras = arena_take(reader->arena, count, sizeof *scene->field_cameras);
    for (size_t i = 0; scene->field_cameras != NULL && i < count; i++) {
        scene->field_cameras[i] = scene->camera;
        if (reader->fields[i]->kind == NODE_MAP)
            read_zoom(reader, reader->fields[i], &scene->field_cameras[i]);
    }
}

/* A zoom of a camera that is not there. */
static void refuse_lone_zooms(struct reader *reader) {
    static const char *const keys[] = {"f_number", "magnification"};
    for (size_t i = 0; reader->fields != NULL && i < reader->scene->light.field_count; i++)
        for (size_t k = 0; k < 2; k++) {
            const struct node *node = map_value(reader->fields[i], keys[k]);
            if (node != NULL)
                reader_error(reader, node->key,
                             "'%s' of a field changes the scene's 'camera', which is missing; add for instance "
                             "camera: {f_number: 8, iso: 100}",
                             keys[k]);
        }
}

void read_camera(struct reader *reader, const struct node *map) {
    static const char *const known[] = {"f_number", "magnification", "iso", "reflectance", "transmission", NULL};
    struct luxfall_camera *camera = &reader->scene->camera;
    if (map == NULL) {
        refuse_lone_zooms(reader);
        return;
    }
    if (!reader_is(reader, map, NODE_MAP))
        return;
    *camera = (struct luxfall_camera){.reflectance = REFLECTANCE, .transmission = TRANSMISSION};
    reader->scene->has_camera = true;
    reader_keys(reader, map, "the camera", known);
    reader_need(reader, map, "f_number");
    read_zoom(reader, map, camera);
    reader_take_needed(reader, map, "iso", &iso_range, &camera->iso);
    reader_take(reader, map, "reflectance", &share_range, &camera->reflectance);
    reader_take(reader, map, "transmission", &share_range, &camera->transmission);
    read_fields_cameras(reader);
    warn_of_defaults(reader, map);
}
