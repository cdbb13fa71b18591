/* Traced lenses, in trade words: a word under `solid`, its keys, and how they become the library's sizes. A kind is
 * one line of the table and its reader. */
#include "scenes/reader.h"

#include <math.h>
#include <stdio.h>
#include <string.h>

static const struct range gap_range = {LENGTH, 0, 1e6, CLOSED, CLOSED};
static const struct range radius_range = {LENGTH, -1e9, 1e9, CLOSED, CLOSED};
static const struct range conic_range = {NUMBER, -1e6, 1e6, CLOSED, CLOSED};
static const struct range power_range = {NUMBER, -1e12, 1e12, CLOSED, CLOSED};
static const struct range texture_range = {ANGLE, 0, 1.9, CLOSED, CLOSED};
static const struct range wanted_range = {ANGLE, 0, 3.14159265358979323846, OPEN, OPEN};
static const struct range share_range = {SHARE, 0, 1, OPEN, CLOSED};
static const struct range draft_range = {ANGLE, 0, 1.5, OPEN, CLOSED};
static const struct range mirror_range = {SHARE, 0, 1, CLOSED, CLOSED};
static const struct range incidence_range = {ANGLE, 0, 3.14159265358979323846 / 2, CLOSED, OPEN};
static const double DEGREE = 3.14159265358979323846 / 180;

struct solid_word {
    const char *word;
    bool (*read)(struct reader *reader, const struct node *map, struct luxfall_lens *lens);
    const char *const *keys;
    enum luxfall_lens_kind kind;
};

static bool take_word(struct reader *reader, const struct node *map, const char *key, const char *const *words,
                      bool *second) {
    const struct node *node = map_value(map, key);
    int word = node == NULL ? 0 : reader_word(reader, node, words);
    *second = word == 1;
    return word >= 0;
}

/* ---- single lenses --------------------------------------------------------------------------------------------- */

static bool take_seat(struct reader *reader, const struct node *map, struct luxfall_singlet *singlet) {
    static const char *const holders[] = {"closed", "open", NULL};
    bool good = reader_take_needed(reader, map, "diameter", &range_size, &singlet->diameter_mm);
    good = reader_take_needed(reader, map, "gap", &gap_range, &singlet->gap_mm) && good;
    return take_word(reader, map, "holder", holders, &singlet->holder_open) && good;
}

/* An oblong body about round sides: "22 mm x 22 mm". */
static bool take_body(struct reader *reader, const struct node *map, struct luxfall_singlet *singlet) {
    const struct node *body = map_value(map, "body");
    struct luxfall_face face;
    if (body == NULL)
        return true;
    if (!reader_face(reader, body, &range_size, false, &face))
        return false;
    singlet->body_mm[0] = face.width_mm;
    singlet->body_mm[1] = face.height_mm;
    if (face.kind == LUXFALL_RECTANGLE)
        return true;
    reader_error(reader, body, "a body has a width and a height, such as '22 mm x 22 mm'; a round lens needs none");
    return false;
}

static bool take_thickness(struct reader *reader, const struct node *map, struct luxfall_singlet *singlet) {
    bool good = take_body(reader, map, singlet);
    return reader_take_needed(reader, map, "thickness", &range_size, &singlet->thickness_mm) && good;
}

/* The curved side must be a part of its sphere and leave an edge. */
static bool check_plano_convex(struct reader *reader, const struct node *map, const struct luxfall_singlet *solid,
                               double radius_mm) {
    double half = solid->diameter_mm / 2, radius = radius_mm;
    if (half > radius) {
        reader_error(reader, map_value(map, "radius"),
                     "a radius of %.6g mm cannot curve a lens of diameter %.6g mm: it must be at least %.6g mm",
                     radius, solid->diameter_mm, half);
        return false;
    }
    double sag = radius - sqrt(radius * radius - half * half);
    if (sag <= solid->thickness_mm)
        return true;
    reader_error(
        reader, map_value(map, "thickness"),
        "a thickness of %.6g mm leaves no edge: the curved side alone is %.6g - sqrt(%.6g^2 - %.6g^2) = %.6g mm "
        "high",
        solid->thickness_mm, radius, radius, half, sag);
    return false;
}

/* A focal length stands where the curves should: that is told there. */
static bool is_told_as_focal(const struct node *map, const char *key) {
    return map_value(map, key) == NULL && map_value(map, "focal_length") != NULL;
}

static bool read_plano_convex(struct reader *reader, const struct node *map, struct luxfall_lens *lens) {
    static const char *const sides[] = {"away", "towards", NULL};
    struct luxfall_singlet *singlet = &lens->singlet;
    bool towards = false;
    double radius_mm = 0;
    bool good = take_seat(reader, map, singlet);
    good = !is_told_as_focal(map, "radius") && reader_take_needed(reader, map, "radius", &range_size, &radius_mm) &&
           good;
    good = take_thickness(reader, map, singlet) && good;
    good = take_word(reader, map, "curved", sides, &towards) && good;
    (towards ? &singlet->towards : &singlet->away)->radius_mm = radius_mm;
    return good && check_plano_convex(reader, map, singlet, radius_mm);
}

static bool read_radii(struct reader *reader, const struct node *map, struct luxfall_singlet *singlet) {
    const struct node *radii = is_told_as_focal(map, "radii") ? NULL : reader_need(reader, map, "radii");
    double radius_mm[2];
    if (radii == NULL || !reader_vector(reader, radii, &radius_range, 2, radius_mm))
        return false;
    singlet->towards.radius_mm = radius_mm[0];
    singlet->away.radius_mm = radius_mm[1];
    return true;
}

/* One radius for both sides, or two. */
static bool read_biconvex(struct reader *reader, const struct node *map, struct luxfall_lens *lens) {
    struct luxfall_singlet *singlet = &lens->singlet;
    bool one = map_value(map, "radius") != NULL;
    bool good = take_seat(reader, map, singlet);
    good = take_thickness(reader, map, singlet) && good;
    good = (one ? reader_take_needed(reader, map, "radius", &range_size, &singlet->towards.radius_mm)
                : read_radii(reader, map, singlet)) &&
           good;
    if (one)
        singlet->away.radius_mm = singlet->towards.radius_mm;
    if (!good || (singlet->towards.radius_mm > 0 && singlet->away.radius_mm > 0))
        return good;
    reader_error(reader, map_value(map, "radii"), "both sides of a biconvex lens bulge: their radii are above 0 mm");
    return false;
}

static bool read_meniscus(struct reader *reader, const struct node *map, struct luxfall_lens *lens) {
    struct luxfall_singlet *singlet = &lens->singlet;
    bool good = take_seat(reader, map, singlet);
    good = take_thickness(reader, map, singlet) && good;
    good = read_radii(reader, map, singlet) && good;
    if (!good || singlet->towards.radius_mm * singlet->away.radius_mm < 0)
        return good;
    reader_error(reader, map_value(map, "radii"),
                 "a meniscus has one hollow side, whose radius is written below 0, such as [-40 mm, 15 mm], the side "
                 "towards the emitter first");
    return false;
}

static bool read_ball(struct reader *reader, const struct node *map, struct luxfall_lens *lens) {
    struct luxfall_singlet *singlet = &lens->singlet;
    bool good = take_seat(reader, map, singlet);
    singlet->thickness_mm = singlet->diameter_mm;
    singlet->towards.radius_mm = singlet->away.radius_mm = singlet->diameter_mm / 2;
    return good;
}

static bool read_powers(struct reader *reader, const struct node *node, struct luxfall_side *side) {
    if (!reader_is(reader, node, NODE_LIST))
        return false;
    if (node->count > LUXFALL_POWERS_MAX) {
        reader_error(reader, node, "'powers' lists at most %d numbers, for r^4, r^6 and so on", LUXFALL_POWERS_MAX);
        return false;
    }
    side->power_count = (int)node->count;
    return reader_vector(reader, node, &power_range, node->count, side->powers);
}

/* "flat", or {radius: 20 mm, conic: -1, powers: [1e-5, -2e-8]}. */
static bool read_side(struct reader *reader, const struct node *map, const char *key, struct luxfall_side *side) {
    static const char *const flat[] = {"flat", NULL}, *const known[] = {"radius", "conic", "powers", NULL};
    const struct node *node = reader_need(reader, map, key);
    if (node == NULL)
        return false;
    if (node->kind == NODE_TEXT)
        return reader_word(reader, node, flat) == 0;
    if (!reader_is(reader, node, NODE_MAP))
        return false;
    const struct node *powers = map_value(node, "powers");
    bool good = reader_keys(reader, node, "a side of a lens", known);
    good = reader_take(reader, node, "radius", &radius_range, &side->radius_mm) != REFUSED && good;
    good = reader_take(reader, node, "conic", &conic_range, &side->conic) != REFUSED && good;
    return (powers == NULL || read_powers(reader, powers, side)) && good;
}

static bool read_aspheric(struct reader *reader, const struct node *map, struct luxfall_lens *lens) {
    struct luxfall_singlet *singlet = &lens->singlet;
    bool good = take_seat(reader, map, singlet);
    good = take_thickness(reader, map, singlet) && good;
    good = read_side(reader, map, "towards", &singlet->towards) && good;
    return read_side(reader, map, "away", &singlet->away) && good;
}

/* ---- collimators ----------------------------------------------------------------------------------------------- */

/* A sheet's beam: the texture is found for the die that the sheet lists. */
static bool read_wanted(struct reader *reader, const struct node *map, struct luxfall_lens *lens) {
    const struct node *wanted = map_value(map, "beam_angle"), *texture = map_value(map, "texture");
    const struct node *listed = map_value(map, "listed_die");
    struct luxfall_face die = {LUXFALL_POINT, 0, 0};
    struct luxfall_collimator_plan plan;
    struct luxfall_error error;
    double beam_angle_rad = 0, efficiency = 0;
    if (listed == NULL)
        reader_error(reader, wanted,
                     "a beam angle holds for one die: add the one that the sheet lists, or else your LED's, as "
                     "'listed_die: 1.2 mm x 1.2 mm'");
    bool good = listed != NULL && reader_face(reader, listed, &range_size, false, &die);
    good = reader_quantity(reader, wanted, &wanted_range, &beam_angle_rad) && good;
    good = reader_take(reader, map, "efficiency", &share_range, &efficiency) != REFUSED && good;
    if (map_value(map, "lenslets") != NULL) {
        reader_error(reader, map_value(map, "lenslets"),
                     "'beam_angle' asks for a texture; lenslets cannot be given beside it");
        return false;
    }
    if (texture != NULL) {
        reader_error(reader, texture, "'texture' is found from 'beam_angle' and cannot be given beside it");
        return false;
    }
    if (!good)
        return false;
    if (luxfall_collimator_for_beam(lens, &die, beam_angle_rad, &plan, &error) != LUXFALL_OK) {
        reader_error(reader, wanted, "%s", error.text);
        return false;
    }
    lens->collimator.texture_rad = plan.texture_rad;
    char sheet[48] = "";
    if (efficiency > 0)
        snprintf(sheet, sizeof sheet, " (the sheet says %.3g %%)", 100 * efficiency);
    reader_warn(reader, wanted,
                "made up to fit: a face texture of %.3g deg on a collimator of %.3g deg, %.3g %% of the light comes "
                "out%s; plausible, not the maker's lens",
                plan.texture_rad / DEGREE, plan.clear_rad / DEGREE, 100 * plan.efficiency, sheet);
    return true;
}

/* {pitch: 1 mm, radius: 2 mm, cells: hexagonal}; a radius below 0 makes them hollow. */
bool take_lenslets(struct reader *reader, const struct node *map, struct luxfall_lenslets *lenslets) {
    static const char *const known[] = {"pitch", "radius", "cells", NULL}, *const cells[] = {"square", "hexagonal",
                                                                                             NULL};
    const struct node *node = map_value(map, "lenslets");
    if (node == NULL)
        return true;
    if (!reader_is(reader, node, NODE_MAP))
        return false;
    bool good = reader_keys(reader, node, "lenslets", known);
    good = reader_take_needed(reader, node, "pitch", &range_size, &lenslets->pitch_mm) && good;
    good = reader_take_needed(reader, node, "radius", &radius_range, &lenslets->radius_mm) && good;
    return take_word(reader, node, "cells", cells, &lenslets->hexagonal) && good;
}

/* Sizes that are left out are usual ones. */
static bool read_collimator(struct reader *reader, const struct node *map, struct luxfall_lens *lens) {
    struct luxfall_collimator *solid = &lens->collimator;
    bool good = reader_take_needed(reader, map, "diameter", &range_size, &solid->diameter_mm);
    good = reader_take(reader, map, "height", &range_size, &solid->height_mm) != REFUSED && good;
    good = reader_take(reader, map, "hollow", &range_size, &solid->hollow_mm) != REFUSED && good;
    good = reader_take(reader, map, "middle", &range_size, &solid->middle_mm) != REFUSED && good;
    good = reader_take(reader, map, "texture", &texture_range, &solid->texture_rad) != REFUSED && good;
    good = take_lenslets(reader, map, &solid->lenslets) && good;
    if (!good)
        return false;
    luxfall_collimator_usual(lens);
    return map_value(map, "beam_angle") == NULL || read_wanted(reader, map, lens);
}

/* ---- Fresnel lenses ---------------------------------------------------------------------------------------------
 */

static bool read_fresnel(struct reader *reader, const struct node *map, struct luxfall_lens *lens) {
    static const char *const sides[] = {"away", "towards", NULL}, *const holders[] = {"closed", "open", NULL};
    struct luxfall_fresnel *solid = &lens->fresnel;
    solid->draft_rad = 3 * DEGREE; /* common practice, no source */
    bool good = reader_take_needed(reader, map, "diameter", &range_size, &solid->diameter_mm);
    good = reader_take_needed(reader, map, "thickness", &range_size, &solid->thickness_mm) && good;
    good = reader_take_needed(reader, map, "focal_length", &range_size, &solid->focal_mm) && good;
    good = reader_take_needed(reader, map, "pitch", &range_size, &solid->pitch_mm) && good;
    good = reader_take_needed(reader, map, "gap", &gap_range, &solid->gap_mm) && good;
    good = reader_take(reader, map, "draft", &draft_range, &solid->draft_rad) != REFUSED && good;
    good = take_word(reader, map, "grooves", sides, &solid->grooves_towards) && good;
    return take_word(reader, map, "holder", holders, &solid->holder_open) && good;
}

/* "88 %", or over the angle of incidence [[0 deg, 88 %], [80 deg, 95 %]]. */
static bool read_mirror(struct reader *reader, const struct node *map, struct luxfall_mirror *mirror) {
    const struct node *node = reader_need(reader, map, "reflectance");
    if (node == NULL)
        return false;
    if (node->kind != NODE_LIST) {
        mirror->count = 1;
        return reader_quantity(reader, node, &mirror_range, &mirror->share[0]);
    }
    if (node->count < 1 || node->count > LUXFALL_MIRROR_POINTS_MAX) {
        reader_error(reader, node, "'reflectance' lists 1 to %d pairs of an angle of incidence and a share",
                     LUXFALL_MIRROR_POINTS_MAX);
        return false;
    }
    mirror->count = (int)node->count;
    for (size_t i = 0; i < node->count; i++) {
        const struct node *pair = node->items[i];
        if (!reader_is(reader, pair, NODE_LIST))
            return false;
        if (pair->count != 2) {
            reader_error(reader, pair, "a pair is expected, such as [60 deg, 90 %%]");
            return false;
        }
        if (!reader_quantity(reader, pair->items[0], &incidence_range, &mirror->incidence_rad[i]) ||
            !reader_quantity(reader, pair->items[1], &mirror_range, &mirror->share[i]))
            return false;
    }
    return true;
}

/* ---- light pipes ------------------------------------------------------------------------------------------------
 */

/* Words may hold an x, which is no sign of a product then. */
static bool is_word(const char *text) {
    return (text[0] >= 'a' && text[0] <= 'z') || (text[0] >= 'A' && text[0] <= 'Z');
}

/* "disc 6 mm", "6 mm x 9 mm" or "hexagon 6 mm". */
static bool read_section(struct reader *reader, const struct node *node, struct luxfall_pipe *pipe) {
    struct luxfall_face face;
    static const char hexagon[] = "hexagon ";
    if (reader_is(reader, node, NODE_TEXT) && strncmp(node->text, hexagon, sizeof hexagon - 1) == 0) {
        pipe->section = LUXFALL_SECTION_HEXAGON;
        bool good = reader_quantity_text(reader, node, node->text + sizeof hexagon - 1, &range_size, &pipe->width_mm);
        pipe->height_mm = pipe->width_mm;
        return good;
    }
    if (node->kind != NODE_TEXT)
        return false;
    if (is_word(node->text) && strncmp(node->text, "disc ", 5) != 0) {
        reader_error(reader, node, "'%.40s' is no section; write 'disc 6 mm', '6 mm x 4 mm' or 'hexagon 6 mm'",
                     node->text);
        return false;
    }
    if (!reader_face(reader, node, &range_size, false, &face))
        return false;
    pipe->section = face.kind == LUXFALL_DISC ? LUXFALL_SECTION_ROUND : LUXFALL_SECTION_RECTANGLE;
    pipe->width_mm = face.width_mm;
    pipe->height_mm = face.height_mm;
    return true;
}

static bool read_pipe(struct reader *reader, const struct node *map, struct luxfall_lens *lens) {
    static const char *const holders[] = {"closed", "open", NULL};
    struct luxfall_pipe *pipe = &lens->pipe;
    const struct node *section = reader_need(reader, map, "section");
    bool good = section != NULL && read_section(reader, section, pipe);
    good = reader_take_needed(reader, map, "length", &range_size, &pipe->length_mm) && good;
    good = reader_take_needed(reader, map, "gap", &gap_range, &pipe->gap_mm) && good;
    good = take_word(reader, map, "holder", holders, &pipe->holder_open) && good;
    if (map_value(map, "reflectance") == NULL)
        return good;
    if (map_value(map, "material") == NULL)
        return read_mirror(reader, map, &pipe->mirror) && good;
    reader_error(reader, map_value(map, "material"),
                 "a light pipe is of a 'material', or hollow with a 'reflectance' of its walls, not both");
    return false;
}

/* ---- mirrors ----------------------------------------------------------------------------------------------------
 */

/* Without a hole told, the cup begins beside the emitter. */
static bool read_reflector(struct reader *reader, const struct node *map, struct luxfall_lens *lens) {
    struct luxfall_reflector *cup = &lens->reflector;
    bool good = reader_take_needed(reader, map, "opening", &range_size, &cup->opening_mm);
    good = reader_take_needed(reader, map, "focal_length", &range_size, &cup->focal_mm) && good;
    good = reader_take(reader, map, "second_focus", &range_size, &cup->second_focus_mm) != REFUSED && good;
    good = reader_take(reader, map, "hole", &range_size, &cup->hole_mm) != REFUSED && good;
    good = read_mirror(reader, map, &cup->mirror) && good;
    if (good && cup->hole_mm == 0)
        cup->hole_mm = 3 * cup->focal_mm;
    return good;
}

static bool read_concentrator(struct reader *reader, const struct node *map, struct luxfall_lens *lens) {
    struct luxfall_concentrator *cup = &lens->concentrator;
    bool good = reader_take_needed(reader, map, "small_end", &range_size, &cup->small_mm);
    good = reader_take_needed(reader, map, "beam", &wanted_range, &cup->beam_rad) && good;
    return read_mirror(reader, map, &cup->mirror) && good;
}

/* ---- turned bodies ----------------------------------------------------------------------------------------------
 */

static bool read_points(struct reader *reader, const struct node *list, struct luxfall_profile *profile) {
    double *radius_mm = arena_take(reader->arena, list->count + 1, sizeof *radius_mm);
    double *height_mm = arena_take(reader->arena, list->count + 1, sizeof *height_mm);
    if (radius_mm == NULL || height_mm == NULL)
        return false;
    for (size_t i = 0; i < list->count; i++) {
        const struct node *pair = list->items[i];
        if (!reader_is(reader, pair, NODE_LIST))
            return false;
        if (pair->count != 2) {
            reader_error(reader, pair, "a point is a radius and a height, such as [10 mm, 2.5 mm]");
            return false;
        }
        if (!reader_quantity(reader, pair->items[0], &gap_range, &radius_mm[i]) ||
            !reader_quantity(reader, pair->items[1], &range_position, &height_mm[i]))
            return false;
    }
    *profile = (struct luxfall_profile){list->count, radius_mm, height_mm, profile->smooth};
    return true;
}

/* [[0 mm, 0 mm], [10 mm, 1 mm]], or {points: [...], joined: smooth}. */
static bool read_profile(struct reader *reader, const struct node *map, const char *key,
                         struct luxfall_profile *profile) {
    static const char *const known[] = {"points", "joined", NULL}, *const ways[] = {"straight", "smooth", NULL};
    const struct node *node = reader_need(reader, map, key), *points = node;
    if (node == NULL)
        return false;
    if (node->kind == NODE_MAP) {
        bool good = reader_keys(reader, node, "a profile", known);
        points = reader_need(reader, node, "points");
        if (!take_word(reader, node, "joined", ways, &profile->smooth) || !good || points == NULL)
            return false;
    }
    return reader_is(reader, points, NODE_LIST) && read_points(reader, points, profile);
}

static bool read_turned(struct reader *reader, const struct node *map, struct luxfall_lens *lens) {
    static const char *const holders[] = {"closed", "open", NULL};
    struct luxfall_turned *body = &lens->turned;
    bool good = read_profile(reader, map, "towards", &body->towards);
    good = read_profile(reader, map, "away", &body->away) && good;
    good = reader_take_needed(reader, map, "gap", &gap_range, &body->gap_mm) && good;
    return take_word(reader, map, "holder", holders, &body->holder_open) && good;
}

/* ---- the table ------------------------------------------------------------------------------------------------- */

#define COMMON "solid", "material", "price", "diameter"
static const char *const plano_convex_keys[] = {COMMON, "body",   "radius", "thickness",
                                                "gap",  "curved", "holder", NULL};
static const char *const biconvex_keys[] = {COMMON, "body", "radius", "radii", "thickness", "gap", "holder", NULL};
static const char *const meniscus_keys[] = {COMMON, "body", "radii", "thickness", "gap", "holder", NULL};
static const char *const ball_keys[] = {COMMON, "gap", "holder", NULL};
static const char *const aspheric_keys[] = {COMMON, "body", "thickness", "gap", "holder", "towards", "away", NULL};
static const char *const collimator_keys[] = {COMMON,     "height",     "hollow",     "middle",     "texture",
                                              "lenslets", "beam_angle", "listed_die", "efficiency", NULL};

static const char *const fresnel_keys[] = {COMMON,  "thickness", "focal_length", "pitch", "gap",
                                           "draft", "grooves",   "holder",       NULL};

static const char *const pipe_keys[] = {"solid", "material", "price",       "section", "length",
                                        "gap",   "holder",   "reflectance", NULL};

static const char *const reflector_keys[] = {"solid",        "price", "opening",     "focal_length",
                                             "second_focus", "hole",  "reflectance", NULL};
static const char *const concentrator_keys[] = {"solid", "price", "small_end", "beam", "reflectance", NULL};

static const char *const turned_keys[] = {"solid", "material", "price", "towards", "away", "gap", "holder", NULL};

static const struct solid_word solids[] = {
    {"plano-convex", read_plano_convex, plano_convex_keys, LUXFALL_LENS_SINGLET},
    {"biconvex", read_biconvex, biconvex_keys, LUXFALL_LENS_SINGLET},
    {"meniscus", read_meniscus, meniscus_keys, LUXFALL_LENS_SINGLET},
    {"ball", read_ball, ball_keys, LUXFALL_LENS_SINGLET},
    {"aspheric", read_aspheric, aspheric_keys, LUXFALL_LENS_SINGLET},
    {"collimator", read_collimator, collimator_keys, LUXFALL_LENS_COLLIMATOR},
    {"light pipe", read_pipe, pipe_keys, LUXFALL_LENS_PIPE},
    {"reflector", read_reflector, reflector_keys, LUXFALL_LENS_REFLECTOR},
    {"concentrator", read_concentrator, concentrator_keys, LUXFALL_LENS_CONCENTRATOR},
    {"fresnel", read_fresnel, fresnel_keys, LUXFALL_LENS_FRESNEL},
    {"turned", read_turned, turned_keys, LUXFALL_LENS_TURNED},
};
enum { SOLIDS = sizeof solids / sizeof *solids };

int word_index(const char *word, const char *const *words) {
    for (int i = 0; words[i] != NULL; i++)
        if (strcmp(words[i], word) == 0)
            return i;
    return -1;
}

bool is_key_of_solids(const char *word) {
    for (int i = 0; i < SOLIDS; i++)
        if (word_index(word, solids[i].keys) >= 0)
            return true;
    return false;
}

/* A key of a datasheet beam is no typing slip; it is told as what it is. True: all keys are its own. */
static bool keys_of_solid(struct reader *reader, const struct node *map, const char *const *keys,
                          const struct luxfall_material *material) {
    static const char *const beam[] = {"beam_angle", "field_angle", "peak", "skirt", "efficiency", "face", NULL};
    bool mixed = tell_focal_length(reader, map, material);
    for (size_t i = 0; i < map->count; i++)
        if (word_index(map->keys[i]->text, beam) >= 0 && word_index(map->keys[i]->text, keys) < 0) {
            mixed = true;
            reader_error(reader, map->keys[i],
                         "'%s' belongs to a datasheet beam; a solid is traced and needs no such figure",
                         map->keys[i]->text);
        }
    return !mixed && reader_keys(reader, map, "a traced lens", keys);
}

bool read_solid(struct reader *reader, const struct node *map, struct luxfall_lens *lens) {
    const char *words[SOLIDS + 1] = {NULL};
    struct luxfall_error error;
    for (int i = 0; i < SOLIDS; i++)
        words[i] = solids[i].word;
    int word = reader_word(reader, map_value(map, "solid"), words);
    if (word < 0)
        return false;
    lens->kind = solids[word].kind;
    bool mirrors = !luxfall_lens_has_material(lens) || map_value(map, "reflectance") != NULL;
    bool good = mirrors || read_material(reader, map, &lens->material);
    good = keys_of_solid(reader, map, solids[word].keys, good ? &lens->material : NULL) && good;
    good = solids[word].read(reader, map, lens) && good;
    if (!good || luxfall_lens_check(lens, &error) == LUXFALL_OK)
        return good;
    reader_error(reader, map_value(map, "solid"), "%s", error.text);
    return false;
}

static bool is_ball(const struct luxfall_singlet *s) {
    return s->towards.radius_mm == s->diameter_mm / 2 && s->away.radius_mm == s->diameter_mm / 2 &&
           s->thickness_mm == s->diameter_mm;
}

const char *scene_lens_word(const struct luxfall_lens *lens) {
    if (lens->kind == LUXFALL_LENS_BEAM)
        return "beam";
    for (int i = 0; i < SOLIDS; i++)
        if (solids[i].kind == lens->kind && lens->kind != LUXFALL_LENS_SINGLET)
            return solids[i].word;
    const struct luxfall_side *towards = &lens->singlet.towards, *away = &lens->singlet.away;
    if (towards->conic != 0 || away->conic != 0 || towards->power_count + away->power_count > 0)
        return "aspheric";
    if (towards->radius_mm * away->radius_mm < 0)
        return "meniscus";
    if (towards->radius_mm > 0 && away->radius_mm > 0)
        return is_ball(&lens->singlet) ? "ball" : "biconvex";
    return towards->radius_mm >= 0 && away->radius_mm >= 0 && towards->radius_mm + away->radius_mm > 0
               ? "plano-convex"
               : "aspheric";
}
