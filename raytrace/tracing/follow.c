/* The main ways of rays through a module, for drawings. METHODS sec. 13. */
#include "fail.h"
#include "lenses/mirror.h"
#include "lenses/vector3.h"
#include "tracing/drawn.h"

#include <stdlib.h>

/* A path in the making. */
struct trail {
    const struct drawn *drawn;
    enum drawn_part part; /* that it is in */
    struct luxfall_path *path;
    size_t room;
    bool no_memory;
};

static void make_room(struct trail *trail) {
    struct luxfall_path *path = trail->path;
    size_t room = trail->room > 0 ? 2 * trail->room : 8;
    struct luxfall_vec *places = realloc(path->at_mm, room * sizeof *places);
    if (places)
        path->at_mm = places;
    enum luxfall_turn *turns = realloc(path->turns, room * sizeof *turns);
    if (turns)
        path->turns = turns;
    if (places && turns)
        trail->room = room;
    else
        trail->no_memory = true;
}

static void add_place(struct trail *trail, struct luxfall_vec at_mm, enum luxfall_turn turn) {
    struct luxfall_path *path = trail->path;
    if (path->count == trail->room)
        make_room(trail);
    if (trail->no_memory)
        return;
    path->at_mm[path->count] = at_mm;
    path->turns[path->count++] = turn;
}

static void end_path(struct luxfall_path *path, enum luxfall_path_end end, enum luxfall_loss loss) {
    path->end = end;
    path->loss = loss;
}

static enum luxfall_turn through_or_back(struct walk *walk, const struct patch *patch, struct luxfall_path *path) {
    const struct optic_material *materials = walk->optic->materials;
    int beyond = walk->above ? patch->down : patch->up;
    double normal[3];
    struct meeting meeting;
    patch_normal(patch, walk->path.at_mm, normal);
    meeting_find(&walk->path, normal, materials[walk->material].index / materials[beyond].index, &meeting);
    if (meeting.fresnel.total) {
        meeting_reflect(&meeting, &walk->path);
        return LUXFALL_TURN_REFLECTED;
    }
    path->share *= 1 - meeting.reflectance;
    meeting_refract(&meeting, &walk->path);
    walk_cross(walk, patch);
    return LUXFALL_TURN_REFRACTED;
}

static enum luxfall_turn mirrored(struct walk *walk, const struct patch *patch, struct luxfall_path *path) {
    double normal[3];
    struct meeting meeting;
    patch_normal(patch, walk->path.at_mm, normal);
    meeting_find(&walk->path, normal, 1, &meeting);
    meeting_mirror(&meeting, &walk->path);
    path->share *= patch->mirror ? mirror_share(patch->mirror, meeting.fresnel.cos_in) : patch->comes_back;
    return LUXFALL_TURN_MIRRORED;
}

static enum luxfall_turn meet_mainly(struct walk *walk, const struct patch *patch, struct luxfall_path *path) {
    switch (patch->deed) {
    case PATCH_CLEAR:
    case PATCH_FROSTED:
        return through_or_back(walk, patch, path);
    case PATCH_FILM: /* straight on, as through a frosted face */
        path->share *= patch->passes;
        walk_cross(walk, patch);
        return LUXFALL_TURN_REFRACTED;
    case PATCH_MIRROR:
        if (!patch->has_back || walk->material == (walk->above ? patch->up : patch->down))
            return mirrored(walk, patch, path);
        break;
    case PATCH_LAMBERTIAN:
        end_path(path, LUXFALL_PATH_SCATTERED, 0);
        return LUXFALL_TURN_END;
    case PATCH_STOP:
        break;
    }
    end_path(path, LUXFALL_PATH_ABSORBED, optic_loss_cause(patch->loss));
    return LUXFALL_TURN_END;
}

/* Nothing ahead: out, or back down to the board. */
static void leave(struct trail *trail, const struct walk *walk) {
    struct luxfall_vec at = trail->path->at_mm[trail->path->count - 1];
    struct luxfall_vec way = drawn_to_module(trail->drawn, trail->part, walk->path.direction, false);
    bool open = walk->optic->materials[walk->material].open, up = walk->path.direction[2] > 0;
    end_path(trail->path,
             !open ? LUXFALL_PATH_ABANDONED
             : up  ? LUXFALL_PATH_LEAVES
                   : LUXFALL_PATH_ABSORBED,
             optic_loss_cause(optic_returned(walk->optic, walk->path.at_mm, walk->path.direction)));
    if (open && !up && way.z < 0 && at.z > 0)
        add_place(trail, vec_sum(1, at, -at.z / way.z, way), LUXFALL_TURN_END);
}

static void walk_mainly(struct trail *trail, struct walk *walk) {
    struct luxfall_path *path = trail->path;
    end_path(path, LUXFALL_PATH_ABANDONED, 0);
    for (int segments = 0; segments < OPTIC_BOUNCES_MAX && !trail->no_memory; segments++) {
        double t_mm;
        bool going_up = false;
        path->direction = drawn_to_module(trail->drawn, trail->part, walk->path.direction, false);
        int i = walk_next(walk, &t_mm, &going_up);
        if (i < 0) {
            leave(trail, walk);
            return;
        }
        path->share *= exp(-walk->optic->materials[walk->material].absorption_per_mm * fmax(t_mm, 0));
        walk_reach(walk, i, t_mm, going_up);
        struct luxfall_vec at = drawn_to_module(trail->drawn, trail->part, walk->path.at_mm, true);
        enum luxfall_turn turn = meet_mainly(walk, &walk->optic->patches[i], path);
        add_place(trail, at, turn);
        if (turn == LUXFALL_TURN_END)
            return;
    }
}

/* Through the part, from a place in the module's frame. */
static void walk_part(struct trail *trail, enum drawn_part part, struct luxfall_vec from, struct luxfall_vec way) {
    const struct ray_numbers unused = {0};
    struct walk walk;
    double at_mm[3], direction[3];
    trail->part = part;
    drawn_to_part(trail->drawn, part, from, true, at_mm);
    drawn_to_part(trail->drawn, part, way, false, direction);
    walk_start(&walk, drawn_optic(trail->drawn, part), at_mm, direction, unused);
    walk_mainly(trail, &walk);
}

static enum luxfall_status follow(const struct drawn *drawn, const struct luxfall_start *start,
                                  struct luxfall_path *out, struct luxfall_error *error) {
    struct trail trail = {.drawn = drawn, .path = out};
    out->share = 1;
    out->end = LUXFALL_PATH_LEAVES;
    out->direction = start->direction;
    add_place(&trail, start->at_mm, LUXFALL_TURN_START);
    if (!trail.no_memory && drawn->bundle->packed)
        walk_part(&trail, DRAWN_PACKAGE, start->at_mm, start->direction);
    if (!trail.no_memory && out->end == LUXFALL_PATH_LEAVES)
        walk_part(&trail, DRAWN_LENS, out->at_mm[out->count - 1], out->direction);
    return trail.no_memory ? fail_memory(error) : LUXFALL_OK;
}

static bool start_is_sound(const struct luxfall_start *start) {
    return isfinite(vec_length(start->at_mm)) && fabs(vec_length(start->direction) - 1) < 1e-9 &&
           start->direction.z > 0;
}

enum luxfall_status luxfall_follow(const struct luxfall_scene *scene, size_t module, size_t count,
                                   const struct luxfall_start *starts, struct luxfall_paths **out,
                                   struct luxfall_error *error) {
    struct drawn drawn;
    *out = NULL;
    for (size_t i = 0; i < count; i++)
        if (!start_is_sound(&starts[i]))
            return fail(error, LUXFALL_E_VALUE, i, "a ray needs a place and a unit direction away from the board");
    enum luxfall_status status = drawn_begin(scene, module, &drawn, error);
    struct luxfall_paths *paths = status == LUXFALL_OK ? calloc(1, sizeof *paths) : NULL;
    if (paths)
        paths->each = calloc(count + 1, sizeof *paths->each);
    if (status == LUXFALL_OK && (!paths || !paths->each))
        status = fail_memory(error);
    for (size_t i = 0; status == LUXFALL_OK && i < count; i++) {
        paths->count++;
        status = follow(&drawn, &starts[i], &paths->each[i], error);
    }
    drawn_end(&drawn);
    if (status == LUXFALL_OK)
        *out = paths;
    else
        luxfall_paths_free(paths);
    return status;
}

void luxfall_paths_free(struct luxfall_paths *paths) {
    for (size_t i = 0; paths && i < paths->count; i++) {
        free(paths->each[i].at_mm);
        free(paths->each[i].turns);
    }
    if (paths)
        free(paths->each);
    free(paths);
}

/* Height of the dies there: of the one that holds the place or is nearest to it. */
static double die_height_mm(const struct luxfall_outline *outline, double place_mm) {
    const struct luxfall_span *nearest = NULL;
    double least_mm = INFINITY;
    for (size_t i = 0; i < outline->die_count; i++) {
        const struct luxfall_span *die = &outline->dies[i];
        double off_mm = fmax(fmax(die->from_mm - place_mm, place_mm - die->to_mm), 0);
        if (off_mm < least_mm) {
            nearest = die;
            least_mm = off_mm;
        }
    }
    if (!nearest || !(nearest->to_mm > nearest->from_mm))
        return nearest ? nearest->from_z_mm : 0;
    double share = fmin(fmax((place_mm - nearest->from_mm) / (nearest->to_mm - nearest->from_mm), 0), 1);
    return nearest->from_z_mm + share * (nearest->to_z_mm - nearest->from_z_mm);
}

void luxfall_fan(const struct luxfall_outline *outline, double place_mm, double widest_rad, size_t count,
                 struct luxfall_start *out) {
    const double c = cos(outline->section_rad), s = sin(outline->section_rad);
    for (size_t i = 0; i < count; i++) {
        double angle = count > 1 ? widest_rad * (2 * (double)i / (double)(count - 1) - 1) : 0;
        out[i].at_mm = (struct luxfall_vec){place_mm * c, place_mm * s, die_height_mm(outline, place_mm)};
        out[i].direction = (struct luxfall_vec){sin(angle) * c, sin(angle) * s, cos(angle)};
    }
}
