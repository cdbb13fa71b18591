/* Outlines of surfaces, and what materials fill, in a section through a lens: found with the very crossings that rays
 * find, so that any kind of surface is drawn. METHODS sec. 13. */
#include "fail.h"
#include "lenses/package.h"
#include "lenses/vector3.h"
#include "tracing/drawn.h"

#include <stdlib.h>
#include <string.h>

/* ---- lists that grow ------------------------------------------------------------------------------------------- */

struct points {
    struct luxfall_vec *at_mm;
    size_t count, room;
};

/* The outline in the making, in the frame of a part; x along the section, y across it: 0. */
struct maker {
    const struct drawn *drawn;
    enum drawn_part part; /* that is drawn now */
    const struct optic *optic;
    struct luxfall_outline *out;
    double cos_section, sin_section;
    double reach_mm; /* of what has no bound */
    double slack_mm;
    size_t line_room, area_room;
    bool no_memory;
};

static void *grown(struct maker *maker, void *items, size_t count, size_t *room, size_t size) {
    if (count < *room)
        return items;
    size_t wanted = *room > 0 ? 2 * *room : 16;
    void *bigger = realloc(items, wanted * size);
    if (!bigger) {
        maker->no_memory = true;
        return items;
    }
    *room = wanted;
    return bigger;
}

static void add_point(struct maker *maker, struct points *points, double u_mm, double z_mm) {
    points->at_mm = grown(maker, points->at_mm, points->count, &points->room, sizeof *points->at_mm);
    if (!maker->no_memory)
        points->at_mm[points->count++] = (struct luxfall_vec){u_mm, 0, z_mm};
}

static void place(const struct maker *maker, double u_mm, double z_mm, double out[3]) {
    out[0] = u_mm * maker->cos_section;
    out[1] = u_mm * maker->sin_section;
    out[2] = z_mm;
}

/* From the section of the lens into the module's frame. */
static void place_all(const struct maker *maker, struct points *points) {
    for (size_t i = 0; i < points->count; i++) {
        double at_mm[3];
        place(maker, points->at_mm[i].x, points->at_mm[i].z, at_mm);
        points->at_mm[i] = drawn_to_module(maker->drawn, maker->part, at_mm, true);
    }
}

/* ---- one surface ----------------------------------------------------------------------------------------------- */

/* Lines that look for a surface: upright ones, one for every u, where it is rather level; level ones out from the
 * axis, one for every z, where it is rather upright. Each finds one branch of it. */
struct look {
    const struct maker *maker;
    const struct patch *patch;
    bool upright, rising, left; /* left: a level line towards the section's lower end */
};

static bool look_at(const struct look *look, double parameter, double *u_mm, double *z_mm) {
    const struct maker *m = look->maker;
    double way = look->left ? -1 : 1, far = 2 * m->reach_mm, from[3], t;
    const double up[3] = {0, 0, 1}, level[3] = {way * m->cos_section, way * m->sin_section, 0};
    place(m, look->upright ? parameter : 0, look->upright ? -far : parameter, from);
    if (!patch_cross(look->patch, from, look->upright ? up : level, look->rising, false, m->slack_mm, &t))
        return false;
    *u_mm = look->upright ? parameter : way * t;
    *z_mm = look->upright ? t - far : parameter;
    return true;
}

/* Slope dz/du of the surface there. */
static double slope_at(const struct maker *maker, const struct patch *patch, double u_mm, double z_mm) {
    double at_mm[3], normal[3];
    place(maker, u_mm, z_mm, at_mm);
    patch_normal(patch, at_mm, normal);
    return -(normal[0] * maker->cos_section + normal[1] * maker->sin_section) / normal[2];
}

/* Found, and by the kind of line that is meant for such a slope. */
static bool look_suits(const struct look *look, double parameter, double *u_mm, double *z_mm) {
    if (!look_at(look, parameter, u_mm, z_mm))
        return false;
    double steep = fabs(slope_at(look->maker, look->patch, *u_mm, *z_mm));
    return look->upright ? steep <= 1 : steep >= 1;
}

/* The last parameter from a good one towards a bad one that is good. */
static double edge_between(const struct look *look, double good, double bad, double *u_mm, double *z_mm) {
    double u, z;
    for (int i = 0; i < 50; i++) {
        double middle = (good + bad) / 2;
        *(look_suits(look, middle, &u, &z) ? &good : &bad) = middle;
    }
    look_suits(look, good, u_mm, z_mm);
    return good;
}

static enum luxfall_surface_kind kind_of(const struct patch *patch) {
    switch (patch->deed) {
    case PATCH_CLEAR:
        return LUXFALL_SURFACE_CLEAR;
    case PATCH_MIRROR:
        return LUXFALL_SURFACE_MIRROR;
    case PATCH_STOP:
        return LUXFALL_SURFACE_ABSORBING;
    case PATCH_FROSTED:
    case PATCH_FILM:
    case PATCH_LAMBERTIAN:
        break;
    }
    return LUXFALL_SURFACE_SCATTERING;
}

/* Where the surface meets the axis and how it is curved there, if it does. */
static void tell_vertex(const struct maker *maker, const struct patch *patch, struct luxfall_line *line) {
    const double aside_mm = 1e-4 * maker->reach_mm;
    line->vertex_radius_mm = NAN;
    for (int rising = 0; rising < 2; rising++) {
        struct look look = {maker, patch, true, rising, false};
        double u, near, far, vertex_mm[3] = {0, 0, 0};
        if (!look_at(&look, 0, &u, &vertex_mm[2]) || !look_at(&look, aside_mm, &u, &near) ||
            !look_at(&look, 2 * aside_mm, &u, &far))
            continue;
        double slope = slope_at(maker, patch, aside_mm, near), farther = slope_at(maker, patch, 2 * aside_mm, far);
        bool curved = fabs(slope) > 1e-6 * aside_mm / maker->reach_mm && fabs(farther) > 1.5 * fabs(slope);
        line->vertex_radius_mm = curved ? aside_mm / slope : 0;
        line->vertex_mm = drawn_to_module(maker->drawn, maker->part, vertex_mm, true);
    }
}

/* Points in a straight line with their neighbours go. */
static void straighten(const struct maker *maker, struct points *points) {
    size_t kept = 1;
    for (size_t i = 1; i + 1 < points->count; i++) {
        struct luxfall_vec a = points->at_mm[kept - 1], b = points->at_mm[i], c = points->at_mm[i + 1];
        double along = hypot(c.x - a.x, c.z - a.z), off = (b.x - a.x) * (c.z - a.z) - (b.z - a.z) * (c.x - a.x);
        if (fabs(off) > maker->slack_mm * along)
            points->at_mm[kept++] = b;
    }
    if (points->count > 1)
        points->at_mm[kept++] = points->at_mm[points->count - 1];
    points->count = kept;
}

/* Takes the points over. */
static void add_line(struct maker *maker, const struct patch *patch, struct points *points) {
    const struct optic *optic = maker->optic;
    struct luxfall_outline *out = maker->out;
    if (!maker->no_memory && points->count > 1)
        straighten(maker, points);
    out->lines = grown(maker, out->lines, out->line_count, &maker->line_room, sizeof *out->lines);
    if (maker->no_memory || points->count < 2) {
        free(points->at_mm);
    } else {
        place_all(maker, points);
        struct luxfall_line *line = &out->lines[out->line_count++];
        *line = (struct luxfall_line){.kind = kind_of(patch),
                                      .loss = optic_loss_cause(patch->loss),
                                      .surface = (size_t)(patch - optic->patches) +
                                                 (maker->part == DRAWN_PACKAGE ? OPTIC_PATCHES_MAX : 0),
                                      .of_package = maker->part == DRAWN_PACKAGE,
                                      .index_under = optic->materials[patch->down].index,
                                      .index_over = optic->materials[patch->up].index,
                                      .count = points->count,
                                      .at_mm = points->at_mm};
        tell_vertex(maker, patch, line);
    }
    *points = (struct points){NULL, 0, 0};
}

/* Every stretch of a branch over a range of the parameter, to its very ends. */
static void add_branch(struct maker *maker, const struct look *look, double low, double high) {
    enum { STEPS = 256 };
    struct points run = {NULL, 0, 0};
    double u, z, before = low;
    bool was = false;
    for (int i = 0; i <= STEPS && !maker->no_memory; i++) {
        double here = i == STEPS ? high : low + (high - low) * i / STEPS, edge_u, edge_z;
        bool is = look_suits(look, here, &u, &z);
        if (i > 0 && is != was) {
            edge_between(look, is ? here : before, is ? before : here, &edge_u, &edge_z);
            add_point(maker, &run, edge_u, edge_z);
        }
        if (is)
            add_point(maker, &run, u, z);
        else if (was)
            add_line(maker, look->patch, &run);
        was = is;
        before = here;
    }
    add_line(maker, look->patch, &run);
}

/* Facets as they are, from rim to rim; smooth ones in short steps. */
static void add_facets(struct maker *maker, const struct patch *patch) {
    const int last = patch->point_count - 1, steps = patch->smooth ? 16 : 1;
    struct points run = {NULL, 0, 0};
    for (int i = -last * steps; i <= last * steps; i++) {
        int facet = abs(i) / steps, step = abs(i) % steps;
        const struct profile_point *p = &patch->points[facet];
        double radius = p->radius_mm + (step > 0 ? (p[1].radius_mm - p->radius_mm) * step / steps : 0);
        if (i == 0 && radius > 0)
            add_line(maker, patch, &run);
        add_point(maker, &run, i < 0 ? -radius : radius, patch->vertex_mm + patch_height(patch, radius));
    }
    add_line(maker, patch, &run);
}

static void add_surface(struct maker *maker, const struct patch *patch) {
    double inner = fmax(patch->radius_low_mm, 0), outer = fmin(patch->radius_high_mm, maker->reach_mm);
    double low = fmax(patch->z_low_mm, -maker->reach_mm), high = fmin(patch->z_high_mm, maker->reach_mm);
    if (patch->point_count > 0)
        add_facets(maker, patch);
    for (int way = 0; way < 4 && patch->point_count == 0; way++) {
        struct look upright = {maker, patch, true, way & 1, false};
        struct look level = {maker, patch, false, way & 1, way & 2};
        if (inner > 0)
            add_branch(maker, &upright, way & 2 ? inner : -outer, way & 2 ? outer : -inner);
        else if (!(way & 2))
            add_branch(maker, &upright, -outer, outer);
        if (high > low)
            add_branch(maker, &level, low, high);
    }
}

/* ---- what is filled -------------------------------------------------------------------------------------------- */

/* A level line through the optic: stretches of clear material, in order. */
struct stretch {
    double from_mm, to_mm;
    int material;
};
struct slice {
    double z_mm;
    size_t count, room;
    struct stretch *each;
};

static void add_stretch(struct maker *maker, struct slice *slice, double from_mm, double to_mm, int material) {
    slice->each = grown(maker, slice->each, slice->count, &slice->room, sizeof *slice->each);
    if (!maker->no_memory)
        slice->each[slice->count++] = (struct stretch){from_mm, to_mm, material};
}

/* What a level line from far away begins in: the air, or under the rim of a cup what is behind its wall. */
static int outside_at(const struct maker *maker, double z_mm) {
    const struct optic *optic = maker->optic;
    int outside = 0;
    for (int i = 0; i < optic->patch_count && maker->part == DRAWN_PACKAGE; i++) {
        const struct patch *patch = &optic->patches[i];
        if (patch->deed != PATCH_CLEAR && z_mm >= patch->z_low_mm && z_mm <= patch->z_high_mm && patch->a > 0)
            outside = patch->up;
    }
    return outside;
}

/* A walk straight on, from material to material. */
static struct slice slice_at(struct maker *maker, double z_mm) {
    struct slice slice = {.z_mm = z_mm};
    const struct ray_numbers unused = {0};
    struct walk walk;
    double start = -3 * maker->reach_mm, at = start, from[3], t_mm;
    const double along[3] = {maker->cos_section, maker->sin_section, 0};
    bool going_up = false;
    place(maker, start, z_mm, from);
    walk_start(&walk, maker->optic, from, along, unused);
    walk.material = outside_at(maker, z_mm);
    for (int i; !maker->no_memory && (i = walk_next(&walk, &t_mm, &going_up)) >= 0;) {
        if (maker->optic->materials[walk.material].index > 1)
            add_stretch(maker, &slice, at, at + fmax(t_mm, 0), walk.material);
        at += fmax(t_mm, 0);
        walk_reach(&walk, i, t_mm, going_up);
        walk_cross(&walk, &maker->optic->patches[i]);
    }
    return slice;
}

static bool same_stretches(const struct slice *a, const struct slice *b) {
    if (a->count != b->count)
        return false;
    for (size_t i = 0; i < a->count; i++)
        if (a->each[i].material != b->each[i].material || a->each[i].from_mm > b->each[i].to_mm ||
            b->each[i].from_mm > a->each[i].to_mm)
            return false;
    return true;
}

/* Slices from one change of the stretches to the next: of each of them both edges become an area. */
struct stack {
    struct maker *maker;
    size_t count, room;
    struct slice *slices;
};

static void close_stack(struct stack *stack) {
    struct maker *maker = stack->maker;
    struct luxfall_outline *out = maker->out;
    for (size_t k = 0; stack->count > 1 && k < stack->slices[0].count; k++) {
        struct points edge = {NULL, 0, 0};
        for (size_t i = 0; i < stack->count; i++)
            add_point(maker, &edge, stack->slices[i].each[k].from_mm, stack->slices[i].z_mm);
        for (size_t i = stack->count; i-- > 0;)
            add_point(maker, &edge, stack->slices[i].each[k].to_mm, stack->slices[i].z_mm);
        out->areas = grown(maker, out->areas, out->area_count, &maker->area_room, sizeof *out->areas);
        if (maker->no_memory) {
            free(edge.at_mm);
            break;
        }
        straighten(maker, &edge);
        place_all(maker, &edge);
        out->areas[out->area_count++] = (struct luxfall_area){
            maker->optic->materials[stack->slices[0].each[k].material].index, edge.count, edge.at_mm};
    }
    for (size_t i = 0; i < stack->count; i++)
        free(stack->slices[i].each);
    stack->count = 0;
}

static void push(struct stack *stack, struct slice slice) {
    stack->slices = grown(stack->maker, stack->slices, stack->count, &stack->room, sizeof slice);
    if (stack->maker->no_memory)
        free(slice.each);
    else
        stack->slices[stack->count++] = slice;
}

/* From the last slice of the stack up to a height; where the stretches change, as near to the change as can be seen.
 */
static void climb(struct stack *stack, double z_mm) {
    struct maker *maker = stack->maker;
    const double fine_mm = 1e-5 * maker->reach_mm;
    while (!maker->no_memory && stack->slices[stack->count - 1].z_mm < z_mm) {
        const double low = stack->slices[stack->count - 1].z_mm;
        double high = z_mm;
        struct slice slice = slice_at(maker, high);
        while (!maker->no_memory && !same_stretches(&stack->slices[stack->count - 1], &slice) &&
               high - low > fine_mm) {
            free(slice.each);
            high = (low + high) / 2;
            slice = slice_at(maker, high);
        }
        if (!same_stretches(&stack->slices[stack->count - 1], &slice))
            close_stack(stack);
        push(stack, slice);
    }
}

static int by_height(const void *a, const void *b) {
    const double x = *(const double *)a, y = *(const double *)b;
    return x < y ? -1 : x > y;
}

/* Heights at which to slice: of every bounded surface its ends, and more of them near to the ends than between. */
static size_t heights_of(const struct maker *maker, double *heights) {
    enum { BETWEEN = 64 };
    const double aside_mm = 1e-7 * maker->reach_mm;
    size_t count = 0;
    for (int i = 0; i < maker->optic->patch_count; i++) {
        const struct patch *patch = &maker->optic->patches[i];
        if (!isfinite(patch->z_low_mm) || !isfinite(patch->z_high_mm))
            continue;
        heights[count++] = patch->z_low_mm - aside_mm;
        heights[count++] = patch->z_high_mm + aside_mm;
        double low = patch->z_low_mm + aside_mm, high = patch->z_high_mm - aside_mm;
        for (int k = 0; k <= BETWEEN && high > low; k++)
            heights[count++] = low + (high - low) * (1 - cos(PI * k / BETWEEN)) / 2;
    }
    qsort(heights, count, sizeof *heights, by_height);
    return count;
}

static void add_areas(struct maker *maker) {
    enum { HEIGHTS_A_PATCH = 67 };
    double *heights = malloc(OPTIC_PATCHES_MAX * HEIGHTS_A_PATCH * sizeof *heights);
    struct stack stack = {.maker = maker};
    if (!heights) {
        maker->no_memory = true;
        return;
    }
    size_t count = heights_of(maker, heights);
    if (count > 0)
        push(&stack, slice_at(maker, heights[0]));
    for (size_t i = 1; i < count && !maker->no_memory; i++)
        climb(&stack, heights[i]);
    close_stack(&stack);
    free(stack.slices);
    free(heights);
}

/* ---- the emitter ----------------------------------------------------------------------------------------------- */

/* Half of what a line through the middle has in a face. */
static double half_chord(const struct luxfall_face *face, double c, double s) {
    if (face->kind == LUXFALL_RECTANGLE)
        return fmin(face->width_mm / 2 / fabs(c), face->height_mm / 2 / fabs(s));
    return face->width_mm / 2;
}

/* A place of the dies along the section, and how high it lies in a package. METHODS eq. (101). */
static void place_die_end(const struct maker *maker, double along_mm, double *at_mm, double *z_mm) {
    const struct bundle *b = maker->drawn->bundle;
    const struct luxfall_emitter *emitter = &maker->drawn->one.emitters[b->first->emitter];
    const struct luxfall_package *p = &emitter->package;
    const double *die_mm = b->mounting.die_mm, c = maker->cos_section, s = maker->sin_section;
    *at_mm = along_mm + c * die_mm[0] + s * die_mm[1];
    *z_mm = 0;
    if (!b->packed)
        return;
    double slope = cos(maker->out->section_rad - p->die_lean_azimuth_rad);
    *at_mm += c * p->die_x_mm + s * p->die_y_mm - along_mm * slope * slope * (1 - cos(p->die_lean_rad));
    *z_mm = package_die_mm(emitter) - along_mm * slope * sin(p->die_lean_rad);
}

static void add_dies(struct maker *maker) {
    const struct bundle *b = maker->drawn->bundle;
    const double c = maker->cos_section, s = maker->sin_section;
    bool along_x = fabs(s) < 1e-6, along_y = fabs(c) < 1e-6;
    size_t count = along_x ? (size_t)b->columns : along_y ? (size_t)b->rows : 1;
    struct luxfall_face face = b->face;
    if (!along_x && !along_y && b->columns * b->rows > 1)
        face = (struct luxfall_face){LUXFALL_RECTANGLE, face.width_mm + (b->columns - 1) * b->pitch_x_mm,
                                     face.height_mm + (b->rows - 1) * b->pitch_y_mm};
    double half = half_chord(&face, c, s);
    double pitch = count < 2 ? 0 : along_x ? b->pitch_x_mm : b->pitch_y_mm;
    maker->out->dies = calloc(count, sizeof *maker->out->dies);
    maker->no_memory |= !maker->out->dies;
    for (size_t i = 0; i < count && maker->out->dies; i++) {
        double at = ((double)i - (double)(count - 1) / 2) * pitch;
        struct luxfall_span *die = &maker->out->dies[i];
        place_die_end(maker, at - half, &die->from_mm, &die->from_z_mm);
        place_die_end(maker, at + half, &die->to_mm, &die->to_z_mm);
        maker->out->die_count++;
    }
}

/* ---- all of it ------------------------------------------------------------------------------------------------- */

/* The plane in which things are out of place, between -90 and 90 deg. */
static double section_of(const struct drawn *drawn) {
    const struct bundle *bundle = drawn->bundle;
    const struct mounting *m = &bundle->mounting;
    const struct luxfall_package *p = &drawn->one.emitters[bundle->first->emitter].package;
    double dx = m->foot_mm[0] - m->die_mm[0], dy = m->foot_mm[1] - m->die_mm[1];
    double section = bundle->built->lean_rad > 0                             ? bundle->built->lean_azimuth_rad
                     : hypot(dx, dy) > 0                                     ? atan2(dy, dx)
                     : bundle->packed && p->die_lean_rad > 0                 ? p->die_lean_azimuth_rad
                     : bundle->packed && hypot(p->die_x_mm, p->die_y_mm) > 0 ? atan2(p->die_y_mm, p->die_x_mm)
                                                                             : 0;
    section = remainder(section, PI);
    return section <= -PI / 2 * (1 - 1e-9) ? PI / 2 : section;
}

static void make_part(enum drawn_part part, struct maker *maker) {
    const struct optic *optic = drawn_optic(maker->drawn, part);
    maker->part = part;
    maker->optic = optic;
    maker->reach_mm = optic->size_mm;
    for (int i = 0; i < optic->patch_count; i++) {
        const double bounds[] = {optic->patches[i].radius_high_mm, optic->patches[i].z_high_mm,
                                 -optic->patches[i].z_low_mm};
        for (int k = 0; k < 3; k++)
            maker->reach_mm = isfinite(bounds[k]) ? fmax(maker->reach_mm, bounds[k]) : maker->reach_mm;
    }
    maker->slack_mm = 1e-9 * maker->reach_mm;
    for (int i = 0; i < optic->patch_count; i++)
        add_surface(maker, &optic->patches[i]);
    add_areas(maker);
}

static void make_outline(const struct drawn *drawn, struct maker *maker) {
    maker->cos_section = cos(maker->out->section_rad);
    maker->sin_section = sin(maker->out->section_rad);
    make_part(DRAWN_LENS, maker);
    if (drawn->bundle->packed)
        make_part(DRAWN_PACKAGE, maker);
    add_dies(maker);
}

enum luxfall_status luxfall_outline(const struct luxfall_scene *scene, size_t module, double section_rad,
                                    struct luxfall_outline **out, struct luxfall_error *error) {
    struct drawn drawn;
    *out = NULL;
    enum luxfall_status status = drawn_begin(scene, module, &drawn, error);
    struct luxfall_outline *outline = status == LUXFALL_OK ? calloc(1, sizeof *outline) : NULL;
    if (status == LUXFALL_OK && !outline)
        status = fail_memory(error);
    if (status == LUXFALL_OK) {
        struct maker maker = {.drawn = &drawn, .out = outline};
        double wavelength_um = scene->emitters[drawn.alone.emitter].wavelength_um;
        outline->section_rad = isfinite(section_rad) ? section_rad : section_of(&drawn);
        outline->wavelength_um = wavelength_um > 0 ? wavelength_um : LUXFALL_WAVELENGTH_UM;
        make_outline(&drawn, &maker);
        status = maker.no_memory ? fail_memory(error) : LUXFALL_OK;
    }
    drawn_end(&drawn);
    if (status == LUXFALL_OK)
        *out = outline;
    else
        luxfall_outline_free(outline);
    return status;
}

void luxfall_outline_free(struct luxfall_outline *outline) {
    for (size_t i = 0; outline && i < outline->line_count; i++)
        free(outline->lines[i].at_mm);
    for (size_t i = 0; outline && i < outline->area_count; i++)
        free(outline->areas[i].at_mm);
    if (outline) {
        free(outline->lines);
        free(outline->areas);
        free(outline->dies);
    }
    free(outline);
}
