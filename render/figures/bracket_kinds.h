/* Modules by what their brackets have in common. */
#ifndef RENDER_FIGURES_BRACKET_KINDS_H
#define RENDER_FIGURES_BRACKET_KINDS_H

#include "scenes/scene.h"

/* Brackets that are made alike: the same lens and emitter at the same height, lean, distance, incidence, and the same
 * turn of the lean against the direction of the foot. Only the clock angle differs, and where it may the radius. */
struct bracket_kind {
    size_t first, count;      /* a member, and how many there are */
    double radius_mm, aim_mm; /* of foot and of aim point from the centre; NaN: not the same for all, or no aim */
};

struct bracket_list {
    size_t count, kind_count;
    struct luxfall_bracket *each; /* of every module */
    size_t *kind_of;
    struct bracket_kind *kinds;
};

/* Returns 0, or 1 out of memory. */
int bracket_list_make(const struct luxfall_scene *light, struct bracket_list *out);
void bracket_list_free(struct bracket_list *list);

/* "A", "B", ... "Z", "AA", ... */
enum { KIND_SIZE = 12 };
void bracket_kind_letter(size_t kind, char out[KIND_SIZE]);

/* The clock's hour that lies in an angle counter-clockwise from +x, 12 at +y, such as "4:30". */
enum { CLOCK_SIZE = 8 };
void clock_hour_text(double clock_rad, char out[CLOCK_SIZE]);

/* The foot is the centre, to what anyone can measure: no clock angle. */
bool bracket_above_centre(const struct luxfall_pose *pose);

/* What the distance of these modules to their spots is from, as a heading: "lens to spot", "LED to spot" where none
 * has a lens; of both kinds "to spot". */
const char *spot_heading(const struct luxfall_module *modules, size_t count);

#endif
