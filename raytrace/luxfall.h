/* Luxfall: where the light of LEDs behind lenses falls.
 *
 * The public header of the library: shapes of all data, units, ranges, errors, ownership, thread rules.
 * Units are in the names: _mm, _rad, _lm, _lx, _cd. Lumens are lumens of emitters, lux are lm/m^2.
 *
 * Frame. x right, y up in the picture, z from the target to the lamp; the origin is the centre of the target plane
 * that the lamp is aimed at. A module has its own right-handed frame (x, y, axis): light leaves along +axis.
 *
 * Ownership. Structs given to the library are read only and stay the caller's, with everything they point to.
 * Results belong to the caller and go back through luxfall_result_free(), which accepts NULL.
 * Threads. No global state: calls on different data may run at the same time. luxfall_trace() starts its own threads.
 * The library never prints and never exits. Every function that can fail returns an enum luxfall_status and, when its
 * error pointer is not NULL, writes a sentence there.
 *
 * Sources of the physics stand in raytrace/METHODS.md under the equation numbers cited in the code. */
#ifndef LUXFALL_H
#define LUXFALL_H

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

#ifdef __cplusplus
extern "C" {
#endif

#define LUXFALL_VERSION "0.1.0"

#if defined(__GNUC__)
#define LUXFALL_API __attribute__((visibility("default")))
#define LUXFALL_CHECKED __attribute__((warn_unused_result))
#else
#define LUXFALL_API
#define LUXFALL_CHECKED
#endif

LUXFALL_API const char *luxfall_version(void);

/* ---- errors ---------------------------------------------------------------------------------------------------- */

enum luxfall_status {
    LUXFALL_OK = 0,
    LUXFALL_E_MEMORY, /* an allocation failed */
    LUXFALL_E_VALUE,  /* a value is out of its range; the text says which */
    LUXFALL_E_BEAM,   /* datasheet figures that no such beam meets; the text shows the sum */
    LUXFALL_E_METHOD, /* the direct way asked of light not known by angle (a traced lens, a cover, a package) */
    LUXFALL_E_STOPPED /* the progress function asked to stop */
};

struct luxfall_error {
    enum luxfall_status status;
    size_t item;    /* index of the emitter, lens, cover, module or field that the text speaks of, if any */
    char text[480]; /* no capital at the start, no full stop, no newline */
};

/* ---- what shines ----------------------------------------------------------------------------------------------- */

struct luxfall_vec {
    double x, y, z;
};

enum luxfall_face_kind { LUXFALL_POINT, LUXFALL_DISC, LUXFALL_RECTANGLE };

/* A flat face. Disc: width_mm = height_mm = diameter. Rectangle: width along the module's x, height along its y. */
struct luxfall_face {
    enum luxfall_face_kind kind;
    double width_mm, height_mm; /* > 0, a point: 0 */
};

enum luxfall_intensity_kind { LUXFALL_COSINE, LUXFALL_CURVE };

/* Relative intensity over the angle from the normal, 0 to 90 deg.
 * COSINE: cos^m with m = -ln 2 / ln cos(viewing_angle / 2); 120 deg is Lambertian. METHODS eq. (2).
 * CURVE: straight lines between points, angles ascending from 0, at least two, none negative, not all zero; nothing
 * beyond the last angle. */
struct luxfall_intensity {
    enum luxfall_intensity_kind kind;
    double viewing_angle_rad; /* COSINE: full angle at 50 %, 0 < angle < pi */
    size_t curve_count;       /* CURVE */
    const double *curve_angle_rad;
    const double *curve_relative;
};

/* What an emitter does at a current: points with currents ascending from above 0, flux and voltage above 0. Between
 * them flux, voltage and junction temperature follow a monotone cubic through the points; outside them nothing is
 * known. One point: known at that current alone. METHODS sec. 9. */
struct luxfall_drive {
    size_t count; /* 0: nothing is known */
    const double *current_a;
    const double *flux_lm;    /* all dies together */
    const double *voltage_v;  /* over the whole emitter; NULL: not known */
    const double *junction_c; /* degrees Celsius at which the flux holds; NULL: not said */
};

/* NaN where not known. */
struct luxfall_operating_point {
    double current_a, flux_lm, voltage_v, power_w, junction_c;
};

/* Error VALUE: the current lies outside the points; the text names their range. Power is voltage times current. */
LUXFALL_API LUXFALL_CHECKED enum luxfall_status luxfall_drive_at(const struct luxfall_drive *drive, double current_a,
                                                                 struct luxfall_operating_point *out,
                                                                 struct luxfall_error *error);

/* ---- what bends ------------------------------------------------------------------------------------------------ */

enum luxfall_material_kind {
    LUXFALL_MATERIAL_INDEX,     /* one index at every wavelength */
    LUXFALL_MATERIAL_NAMED,     /* a published formula; METHODS eq. (60), (61) */
    LUXFALL_MATERIAL_SELLMEIER, /* n^2 = 1 + sum B l^2 / (l^2 - C), l in um */
    LUXFALL_MATERIAL_CAUCHY     /* n = A + B / l^2 + C / l^4 + ..., l in um */
};
#define LUXFALL_MATERIAL_TERMS_MAX 12

/* A clear material, from the air. METHODS sec. 5. */
struct luxfall_material {
    enum luxfall_material_kind kind;
    double index;     /* INDEX: above 1, at most 4 */
    const char *name; /* NAMED: name or other name of a luxfall_material_entry */
    int term_count;   /* SELLMEIER: even; CAUCHY */
    double
        terms[LUXFALL_MATERIAL_TERMS_MAX]; /* SELLMEIER: B, C, B, C, ... with C >= 0 in um^2; CAUCHY: A, B, C, ... */
    double transmittance;                  /* internal, above 0 and at most 1, over the next; METHODS eq. (63) */
    double transmittance_mm;               /* 0: nothing is absorbed */
};

/* What is known of a named material. */
struct luxfall_material_entry {
    const char *name, *other_name; /* "acrylic", "PMMA"; other_name may be NULL */
    const char *source;            /* of its formula */
    double low_um, high_um;        /* where it holds */
};
/* The i-th of them; NULL past the last. */
LUXFALL_API const struct luxfall_material_entry *luxfall_material_entry(size_t i);
/* That of a NAMED material; NULL for another kind or name. */
LUXFALL_API const struct luxfall_material_entry *luxfall_material_known(const struct luxfall_material *material);

/* The index at a wavelength (0: LUXFALL_WAVELENGTH_UM). A named formula goes on outside the range where it holds,
 * which luxfall_material_entry tells, until it breaks down. Error VALUE: it has broken down (a pole between its range
 * and the wavelength; for the user's own terms between LUXFALL_WAVELENGTH_UM and it), the index is not above 1 and at
 * most 4, or the material makes no sense. */
LUXFALL_API LUXFALL_CHECKED enum luxfall_status luxfall_material_index(const struct luxfall_material *material,
                                                                       double wavelength_um, double *out,
                                                                       struct luxfall_error *error);
/* What it absorbs, per mm: the share exp(-a t) is left after t mm. */
LUXFALL_API double luxfall_material_absorption_per_mm(const struct luxfall_material *material);

/* ---- packed dies ----------------------------------------------------------------------------------------------- */

/* What stands about the dies of an LED: clear resin under a dome or a flat top, in a reflecting cup or on a plain
 * floor; all of revolution about the emitter's axis, the floor at z = 0, from which lenses count their gap. None
 * where dome_mm and depth_mm are both 0: then the dies shine into the air. METHODS eq. (95), (100), (101). Packed
 * dies shine by the cosine law inside the resin, and what comes out of the package is followed, surface by surface:
 * where a traced lens or a cover is met, and of an LED without a lens. The beam of a datasheet lens stays what its
 * sheet says. flux_lm is what leaves the bare package, so what is lost inside it costs nothing. Light that comes back
 * to the package ends there. */
struct luxfall_package {
    struct luxfall_material material;
    double dome_mm;        /* diameter of the dome at its foot; 0: a flat top, level with the rim of the cup */
    double dome_height_mm; /* of its top over the floor; half a ball and less is a part of a sphere, more of it stands
                            * on a straight collar */
    double floor_mm, opening_mm, depth_mm; /* cup: diameters at its bottom and its rim, 0 < floor <= opening; 0: none.
                                            * A dome over it is at least as wide as the opening */
    double wall, bottom; /* shares that the cup's wall, with the rim that a wider dome covers, and the floor send back
                          * in all directions, 0..1; the rest is absorbed */
    bool wall_mirror;    /* the wall sends back as a mirror */
    double die_height_mm;                      /* of the dies' lowest point over the floor, 0 or more */
    double die_x_mm, die_y_mm;                 /* of their middle, off the axis */
    double die_lean_rad, die_lean_azimuth_rad; /* so that they look towards this azimuth, from the module's x to its
                                                * y; at most 30 deg */
};

/* Is there one? */
LUXFALL_API bool luxfall_packed(const struct luxfall_package *package);
/* Its highest point, 0 without one. */
LUXFALL_API double luxfall_package_top_mm(const struct luxfall_package *package);

/* Dies in columns x rows, centred, all alike; each point of each die shines with the same intensity. */
struct luxfall_emitter {
    const char *name;
    struct luxfall_face die;
    int columns, rows;             /* 1 or more */
    double pitch_x_mm, pitch_y_mm; /* centre to centre; unused for a single column or row */
    double flux_lm;                /* all dies together, of modules that name no current; 0: they must name one */
    struct luxfall_intensity intensity;
    struct luxfall_drive drive; /* asked for modules that name a current */
    struct luxfall_package package;
    double wavelength_um; /* one for all of its light: traced lenses ask for it; 0: LUXFALL_WAVELENGTH_UM */
};
#define LUXFALL_WAVELENGTH_UM 0.55     /* near the top of V, by which light has lumens */
#define LUXFALL_WAVELENGTH_LOW_UM 0.36 /* light that has lumens: V of CIE 018 is tabled from here */
#define LUXFALL_WAVELENGTH_HIGH_UM 0.83

/* Can the dies of an emitter, sound in themselves, be packed so? Without a package: yes. Errors: MEMORY; VALUE: sizes
 * that do not fit, dies that are not all in the resin, an intensity that is no cosine law of 120 deg, no index at the
 * emitter's wavelength, or less than a hundredth of the light comes out. */
LUXFALL_API LUXFALL_CHECKED enum luxfall_status luxfall_package_check(const struct luxfall_emitter *emitter,
                                                                      struct luxfall_error *error);

/* ---- lenses -----------------------------------------------------------------------------------------------------
 */

enum luxfall_lens_kind {
    LUXFALL_LENS_BEAM,
    LUXFALL_LENS_SINGLET,
    LUXFALL_LENS_COLLIMATOR,
    LUXFALL_LENS_FRESNEL,
    LUXFALL_LENS_PIPE,
    LUXFALL_LENS_REFLECTOR,
    LUXFALL_LENS_CONCENTRATOR,
    LUXFALL_LENS_TURNED
};

/* A datasheet beam, figures as printed; 0 = not given. Every point of the face sends the same beam. METHODS sec. 3.
 */
struct luxfall_beam {
    double beam_angle_rad;  /* full angle at 50 % of the centre-beam intensity */
    double field_angle_rad; /* full angle at 10 % */
    double peak_cd_per_lm;  /* centre-beam candela per emitter lumen */
    double skirt_rad;       /* full angle at 50 % of the skirt, used when a peak below the bell's asks for one */
    double efficiency;      /* lumens out of the lens per emitter lumen, 0..1 */
    struct luxfall_face face;
};

/* One side of a lens, as it bends light: the conic of ISO 10110-12 and even powers of the distance r from the axis.
 */
#define LUXFALL_POWERS_MAX 6
struct luxfall_side {
    double radius_mm; /* of curvature at the middle; > 0 bulges out of the lens, < 0 hollow; 0: flat */
    double conic;     /* 0 sphere, -1 paraboloid, ... */
    int power_count;
    double powers[LUXFALL_POWERS_MAX]; /* of r^4, r^6, ...: added to how far the side falls back into the lens, mm */
};

/* A single lens, traced surface by surface; light travels from the emitter plane (z = 0) along +z. METHODS sec. 5. */
struct luxfall_singlet {
    double diameter_mm;                /* of the ground, absorbing rim; in a body, of its round sides */
    double body_mm[2];                 /* along x and y, of an oblong body about them, its edges ground; 0: none */
    double thickness_mm;               /* at the middle */
    double gap_mm;                     /* emitter surface to the middle of the nearer side */
    struct luxfall_side towards, away; /* the emitter */
    bool holder_open;                  /* light that misses the lens goes on; otherwise the holder absorbs it */
};

/* Small lenses side by side on a face, each a part of a sphere over a cell of its own. */
struct luxfall_lenslets {
    double pitch_mm;  /* middle to middle; 0: none */
    double radius_mm; /* of curvature: > 0 they bulge, < 0 they are hollow; more than from a middle to a corner */
    bool hexagonal;   /* cells; otherwise square, along x and y */
};

/* A collimator with total reflection: a hollow over the emitter, a middle that refracts and a wall that reflects,
 * both solved so that light of a point in the middle of the emitter leaves straight on; a flat face above. METHODS
 * sec. 5. */
struct luxfall_collimator {
    double diameter_mm;               /* of the face */
    double height_mm;                 /* of the face over the emitter */
    double hollow_mm;                 /* diameter of the hollow */
    double middle_mm;                 /* height of the middle's lowest point over the emitter */
    double texture_rad;               /* full width at half of what a textured face adds to each ray; 0: clear */
    struct luxfall_lenslets lenslets; /* on the face, which then is clear; height_mm ends at their lowest points */
};

/* A flat lens with straight-sided grooves, traced surface by surface: each facet sends light of a point on the axis,
 * a focal length before the nearer side, straight on through its middle. METHODS eq. (73), (74). */
#define LUXFALL_GROOVES_MAX 1000
struct luxfall_fresnel {
    double diameter_mm; /* of the ground, absorbing rim */
    double thickness_mm, focal_mm;
    double pitch_mm;      /* groove to groove; the least number of them that fills the lens is at most GROOVES_MAX */
    double draft_rad;     /* of the grooves' steep sides from upright, 0.5 to 45 deg */
    double gap_mm;        /* emitter surface to the nearer side */
    bool grooves_towards; /* the emitter; otherwise away from it */
    bool holder_open;     /* light that misses the lens goes on; otherwise the holder absorbs it */
};

/* What a mirror sends back, over the angle of incidence: straight lines between points, level beyond them. */
#define LUXFALL_MIRROR_POINTS_MAX 8
struct luxfall_mirror {
    int count; /* 1: the same at every angle */
    double incidence_rad[LUXFALL_MIRROR_POINTS_MAX], share[LUXFALL_MIRROR_POINTS_MAX]; /* ascending; 0..1 */
};

enum luxfall_section_kind { LUXFALL_SECTION_ROUND, LUXFALL_SECTION_RECTANGLE, LUXFALL_SECTION_HEXAGON };

/* A straight light pipe, traced surface by surface: of clear material, its sides polished and bare, or hollow, its
 * walls mirrors. */
struct luxfall_pipe {
    enum luxfall_section_kind section;
    double width_mm, height_mm; /* along x and y; ROUND: the diameter, HEXAGON: across flats, along x; both alike */
    double length_mm;
    double gap_mm;    /* emitter surface to the near end */
    bool holder_open; /* light that misses the near end goes on; otherwise the holder absorbs it, as of hollow ones */
    struct luxfall_mirror mirror; /* of the walls; count 0: the pipe is of lens.material */
};

/* A mirror cup with the middle of the emitter in its focus; what it does not catch leaves by the opening. Air alone.
 */
struct luxfall_reflector {
    double opening_mm;      /* diameter at the rim */
    double focal_mm;        /* from the bottom's vertex to the focus */
    double second_focus_mm; /* from there to an ellipsoid's second focus; 0: a paraboloid */
    double hole_mm;         /* diameter of the hole at the bottom */
    struct luxfall_mirror mirror;
};

/* A compound parabolic concentrator of mirrors, the emitter in its small end. Air alone. */
struct luxfall_concentrator {
    double small_mm; /* diameter of the small end */
    double beam_rad; /* full acceptance angle: light of the small end leaves within it, 4 to 162 deg */
    struct luxfall_mirror mirror;
};

/* One side of a turned body: points from the axis to the rim. */
#define LUXFALL_PROFILE_POINTS_MAX 500
struct luxfall_profile {
    size_t count;                        /* 2 or more */
    const double *radius_mm, *height_mm; /* radii ascend from 0 to the rim; heights over the body's own level 0 */
    bool smooth; /* joined by a cubic spline, level on the axis; otherwise by straight lines. METHODS eq. (85) */
};

/* A clear body of revolution between two profiles, as a lathe turns it; its rim is ground and absorbs. */
struct luxfall_turned {
    struct luxfall_profile towards, away; /* the emitter; both end at the same radius, away lies above towards */
    double gap_mm;                        /* emitter surface to the body's level 0 */
    bool holder_open;                     /* light that misses the body goes on; otherwise the holder absorbs it */
};

struct luxfall_lens {
    const char *name;
    enum luxfall_lens_kind kind;
    struct luxfall_beam beam;                 /* LENS_BEAM */
    struct luxfall_material material;         /* of all other kinds, which are traced surface by surface */
    struct luxfall_singlet singlet;           /* LENS_SINGLET */
    struct luxfall_collimator collimator;     /* LENS_COLLIMATOR */
    struct luxfall_fresnel fresnel;           /* LENS_FRESNEL */
    struct luxfall_pipe pipe;                 /* LENS_PIPE */
    struct luxfall_reflector reflector;       /* LENS_REFLECTOR */
    struct luxfall_concentrator concentrator; /* LENS_CONCENTRATOR */
    struct luxfall_turned turned;             /* LENS_TURNED */
};

/* Is it a body of lens.material? Mirrors and datasheet beams are not. */
LUXFALL_API bool luxfall_lens_has_material(const struct luxfall_lens *lens);

/* Can a lens of these sizes be made? Errors: VALUE, BEAM; the text says why not. */
LUXFALL_API LUXFALL_CHECKED enum luxfall_status luxfall_lens_check(const struct luxfall_lens *lens,
                                                                   struct luxfall_error *error);

/* Sizes of a collimator of which its diameter and material alone are known: height, hollow and middle that are 0
 * become what is usual (common practice, no source): a hollow of 0.3 diameters, its middle 0.2 above the emitter, the
 * face just above the wall, each to the micrometre. Stays as it is where no wall fits. */
LUXFALL_API void luxfall_collimator_usual(struct luxfall_lens *lens);

/* A collimator as a sheet speaks of it. */
struct luxfall_collimator_plan {
    double texture_rad; /* of the face, that makes the beam as wide as wanted; to 0.01 deg */
    double clear_rad;   /* beam angle of the same collimator with a clear face */
    double efficiency;  /* lumens out per emitter lumen, clear */
};
/* The texture for a beam angle of 3 to 90 deg with a Lambertian die: traced by 32768 rays, the same ones each time.
 * Plausible, not any maker's. METHODS eq. (71), (72). Errors: MEMORY; VALUE: the beam is too narrow for die and
 * diameter, the die does not fit into the hollow, or the lens makes no sense. */
LUXFALL_API LUXFALL_CHECKED enum luxfall_status
luxfall_collimator_for_beam(const struct luxfall_lens *lens, const struct luxfall_face *die, double beam_angle_rad,
                            struct luxfall_collimator_plan *out, struct luxfall_error *error);

/* What stands over a lens, or over the emitter where there is none. METHODS eq. (93), (94). */
enum luxfall_cover_kind {
    LUXFALL_COVER_WINDOW, /* a clear plate, or one frosted on top */
    LUXFALL_COVER_FILM,   /* a thin diffuser: turns what passes and what comes back by a Gaussian */
    LUXFALL_COVER_OPAL,   /* a thin diffuser: what passes and what comes back has a cosine law */
    LUXFALL_COVER_STOP    /* a black ring or tube: a nozzle, an objective's barrel */
};

/* About the axis of the lens, and fixed to it. Light beside it goes on. */
struct luxfall_cover {
    const char *name;
    enum luxfall_cover_kind kind;
    double diameter_mm;         /* outer, > 0; 0 for an oblong one: */
    double width_mm, height_mm; /* along the module's x and y, > 0; not of a STOP */
    double gap_mm; /* from what is under it (the highest point of the lens, its face, the dies, their package, or the
                    * top of the cover before it), 0 or more */
    struct luxfall_material material; /* WINDOW */
    double thickness_mm;              /* WINDOW: > 0; STOP: its height, 0 or more */
    double spread_rad;         /* full width at half of the Gaussian intensity that a ray is turned by: FILM; of a
                                * WINDOW's upper side, 0: clear */
    double passes, comes_back; /* FILM, OPAL: shares of the light that meets it; the rest is absorbed */
    double hole_mm;            /* STOP: diameter of the hole, below the outer one; 0: none */
    struct luxfall_lenslets lenslets; /* WINDOW: on its upper side, which then is clear, over its thickness */
};
#define LUXFALL_COVERS_MAX 4 /* over one module */
/* Air between parts that lie upon each other (roughness and dust; common practice, no source). Without any, surfaces
 * would be level, and nobody could tell which of them light meets first. */
#define LUXFALL_CONTACT_MM 0.01

/* Its diameter, or its longest diagonal; and its area. */
LUXFALL_API double luxfall_cover_across_mm(const struct luxfall_cover *cover);
LUXFALL_API double luxfall_cover_area_mm2(const struct luxfall_cover *cover);

/* It turns light that passes: an opal, a film, a texture or lenslets. */
LUXFALL_API bool luxfall_cover_spreads(const struct luxfall_cover *cover);

/* Can such a cover be made? Error VALUE; the text says why not. */
LUXFALL_API LUXFALL_CHECKED enum luxfall_status luxfall_cover_check(const struct luxfall_cover *cover,
                                                                    struct luxfall_error *error);

/* Outline across the axis: the face of a datasheet lens; the disc of a round solid, the rectangle of a rectangular
 * light pipe, the disc about a hexagonal one. */
LUXFALL_API struct luxfall_face luxfall_lens_face(const struct luxfall_lens *lens);

/* Width that it has for the dies: of the hollow, the hole at the bottom, the small end, else of its face. */
LUXFALL_API double luxfall_lens_entry_mm(const struct luxfall_lens *lens);

/* Diameter of what stands in the light's way: of a datasheet lens its face's longer side, 0 for a point. */
LUXFALL_API double luxfall_lens_diameter_mm(const struct luxfall_lens *lens);

/* The beam that meets the figures, and what the figures are worth. METHODS eq. (4)-(9). */
struct luxfall_beam_solution {
    double width_rad, power;       /* core: exp(-ln 2 (2 a / width)^power) */
    double skirt_rad, skirt_share; /* skirt: a bell, its share of I(0); 0 = none */
    double peak_cd_per_lm;         /* I(0) per emitter lumen, efficiency inside */
    double bell_cd_per_lm;         /* that of the bell of the same beam angle and efficiency */
    double flat_top_cd_per_lm;     /* that of an even disc of the same beam angle and efficiency */
    double best_cd_per_lm;         /* the most that this family of beams reaches */
    double bell_ratio;             /* peak / bell */
    double core_share;             /* share of the lens's flux in the core */
    double floor_rad;              /* narrowest full beam that die and face allow, n = 1; 0 = no bound (point) */
    double floor_domed_rad;        /* the same for n = 1.5 */
    double bound_cd_per_lm;        /* the most the face can send on axis, n = 1; 0 = no bound */
    double bound_domed_cd_per_lm;  /* the same for n = 1.5 */
};

/* Solves a datasheet beam. emitter may be NULL (no die, no bounds). Errors: VALUE, BEAM. */
LUXFALL_API LUXFALL_CHECKED enum luxfall_status luxfall_beam_solve(const struct luxfall_beam *beam,
                                                                   const struct luxfall_emitter *emitter,
                                                                   struct luxfall_beam_solution *out,
                                                                   struct luxfall_error *error);

/* Relative intensity of a solved beam at an angle from the axis, 1 at 0. METHODS eq. (4). */
LUXFALL_API double luxfall_beam_relative(const struct luxfall_beam_solution *beam, double angle_rad);

/* ---- where modules stand --------------------------------------------------------------------------------------- */

/* Position and right-handed frame of a module: x cross y = axis, unit vectors. */
struct luxfall_pose {
    struct luxfall_vec
        at_mm; /* centre of the lens face, of the last vertex of a solid, of the emitter without a lens */
    struct luxfall_vec x, y, axis;
};

enum luxfall_placement_kind {
    LUXFALL_AT_RING,   /* count, distance_mm, incidence_rad, azimuth_rad (of the first) */
    LUXFALL_AT_SINGLE, /* distance_mm, incidence_rad, azimuth_rad */
    LUXFALL_AT_LINE,   /* count, pitch_x_mm, height_mm, azimuth_rad (direction) */
    LUXFALL_AT_GRID,   /* columns, rows, pitch_x_mm, pitch_y_mm, height_mm */
    LUXFALL_AT_POINT   /* at_mm */
};

enum luxfall_aim_kind {
    LUXFALL_AIM_CENTRE,
    LUXFALL_AIM_SHORT, /* aim_mm before the centre, towards the module's own foot */
    LUXFALL_AIM_PAST,  /* aim_mm beyond it */
    LUXFALL_AIM_DOWN,
    LUXFALL_AIM_POINT /* aim_x_mm, aim_y_mm on the plane z = 0 */
};

struct luxfall_placement {
    enum luxfall_placement_kind kind;
    int count;         /* RING, LINE */
    int columns, rows; /* GRID */
    double distance_mm, incidence_rad, azimuth_rad;
    double pitch_x_mm, pitch_y_mm, height_mm;
    struct luxfall_vec at_mm;
    enum luxfall_aim_kind aim;
    double aim_mm, aim_x_mm, aim_y_mm;
    double lean_rad, lean_azimuth_rad; /* the axis turns by lean towards this azimuth */
    double roll_rad;                   /* then about the axis, counter-clockwise seen from above */
};

/* Members of a placement. */
LUXFALL_API size_t luxfall_placement_count(const struct luxfall_placement *placement);

/* Fills poses[0 .. count-1]; members along a ring counter-clockwise, along a line in its direction, a grid row by row
 * from its lower left. Error VALUE: a module below the plane, or short/past of a module right above the centre. */
LUXFALL_API LUXFALL_CHECKED enum luxfall_status
luxfall_place(const struct luxfall_placement *placement, struct luxfall_pose *poses, struct luxfall_error *error);

/* Bracket figures of a pose. Where the axis does not meet the plane z = 0: aim, distance, incidence are NaN. */
struct luxfall_bracket {
    double lean_rad;      /* axis from straight down */
    double clock_rad;     /* azimuth of the module's foot, 0 .. 2 pi, counter-clockwise from +x; 0 above the centre */
    double distance_mm;   /* along the axis to the plane */
    double incidence_rad; /* of the axis on the plane, from its normal */
    struct luxfall_vec aim_mm;
};
LUXFALL_API void luxfall_bracket(const struct luxfall_pose *pose, struct luxfall_bracket *out);

#define LUXFALL_NO_LENS SIZE_MAX

/* How a module was put together, against its drawing: all 0 where it is as drawn. Lengths along the module's x and y,
 * which stay those of the board, as the pose does: it tells where the lens would be. METHODS eq. (90)-(92). */
struct luxfall_assembly {
    double die_x_mm, die_y_mm;           /* the emitter sideways on the board */
    double seat_mm;                      /* the lens seated higher over the board, below 0 lower */
    double decentre_x_mm, decentre_y_mm; /* the lens sideways on the board */
    double lean_rad, lean_azimuth_rad;   /* the lens leans about where its axis meets the board, at most 30 deg, so
                                          * that its light goes towards this azimuth, from the module's x to its y */
};
#define LUXFALL_ASSEMBLY_MAX_MM 1000 /* each length, either way */

/* Can this emitter shine through this lens (NULL: none), put together so? Both are sound in themselves. Errors:
 * MEMORY; BEAM, as of luxfall_beam_solve(); VALUE: a part of the emitter or its package would lie inside the lens, a
 * value is out of range, the lens is not traced (a datasheet beam, none) and cannot follow, or its material has no
 * index for the emitter. */
LUXFALL_API LUXFALL_CHECKED enum luxfall_status luxfall_assembly_check(const struct luxfall_emitter *emitter,
                                                                       const struct luxfall_lens *lens,
                                                                       const struct luxfall_assembly *built,
                                                                       struct luxfall_error *error);

struct luxfall_module {
    const char *name;
    size_t emitter, lens; /* indices; lens may be LUXFALL_NO_LENS */
    struct luxfall_pose pose;
    double scale; /* multiplies the emitter's flux, > 0 */
    bool dark;    /* out: sends nothing, draws nothing */
    double
        current_a; /* the emitter's drive tells flux and voltage there; 0: its flux_lm stands, power is not known */
    struct luxfall_assembly built;
    size_t cover_count;                /* at most LUXFALL_COVERS_MAX */
    size_t covers[LUXFALL_COVERS_MAX]; /* indices, from the lens on */
};

/* ---- where light falls ----------------------------------------------------------------------------------------- */

/* The map: columns x rows square cells about the origin, on each level. A cell owns its lower edges. */
struct luxfall_target {
    int columns, rows; /* 1 or more, at most LUXFALL_CELLS_MAX cells over all levels together */
    double cell_mm;
    size_t level_count; /* 1 .. LUXFALL_LEVELS_MAX */
    const double *level_mm;
};
#define LUXFALL_CELLS_MAX 1000000
#define LUXFALL_LEVELS_MAX 64
#define LUXFALL_MODULES_MAX 10000
#define LUXFALL_FIELDS_MAX 100

struct luxfall_field {
    const char *name;
    bool round; /* width_mm = height_mm = diameter */
    double width_mm, height_mm;
    double x_mm, y_mm; /* centre */
    double reading_mm; /* diameter of a reading; 0: a tenth of the shorter side */
};

struct luxfall_scene {
    const struct luxfall_emitter *emitters;
    size_t emitter_count;
    const struct luxfall_lens *lenses;
    size_t lens_count;
    const struct luxfall_module *modules;
    size_t module_count;
    struct luxfall_target target;
    const struct luxfall_field *fields;
    size_t field_count;
    const struct luxfall_cover *covers;
    size_t cover_count;
};

/* The light of this module of a checked scene is known by angle: it is not traced through a solid or a cover, nor out
 * of a package into the open. */
LUXFALL_API bool luxfall_known_by_angle(const struct luxfall_scene *scene, size_t module);

/* The LED of this module of a checked scene has a package that its light is traced out of. */
LUXFALL_API bool luxfall_traces_package(const struct luxfall_scene *scene, size_t module);

/* ---- how to work ----------------------------------------------------------------------------------------------- */

enum luxfall_method { LUXFALL_RAYS, LUXFALL_DIRECT };
enum luxfall_points { LUXFALL_SCRAMBLED, LUXFALL_RANDOM };
enum luxfall_vectors { LUXFALL_VECTORS_BEST, LUXFALL_VECTORS_PLAIN, LUXFALL_VECTORS_AVX2, LUXFALL_VECTORS_AVX512 };

#define LUXFALL_REPLICATES 32

struct luxfall_progress {
    bool pilot;
    uint64_t rays_done, rays_planned; /* of this stage */
    double band; /* widest relative 95 % half-width seen so far over the fields; NaN = none yet */
};

struct luxfall_options {
    size_t size; /* sizeof(struct luxfall_options); later fields are then optional */
    enum luxfall_method method;
    uint64_t seed;
    double accuracy;   /* wanted relative half-width of the 95 % band of average, centre, minimum; 0: use rays */
    uint64_t rays;     /* free rays over all replicates when accuracy is 0; rounded up to a whole share */
    uint64_t rays_cap; /* never more than this; 0: 2^30, and 2^33 landings */
    int threads;       /* 0: all processors */
    enum luxfall_points points;
    enum luxfall_vectors vectors;
    bool free_only;   /* no rays launched at the fields: everything from free rays */
    bool fields_only; /* direct: the fields alone, to the same bits and sooner: e_lx and sections stay empty; map,
                       * spot, ledger and centre_direct_lx NaN. By rays it is not heeded */
    bool (*progress)(void *user,
                     const struct luxfall_progress *now); /* false stops; one call at a time; NULL: none */
    void *user;
};

/* Fills in the defaults: rays, accuracy 0.005, seed 1, all threads, scrambled points, best vectors. */
LUXFALL_API void luxfall_options_init(struct luxfall_options *options);

/* ---- what comes out -------------------------------------------------------------------------------------------- */

/* A value and the half-width of its 95 % band, same unit. By the direct way u95 is NaN. Not to be had: both NaN. */
struct luxfall_estimate {
    double value, u95;
};

struct luxfall_field_result {
    double reading_mm;
    double width_mm, height_mm;
    struct luxfall_estimate centre_lx, average_lx, minimum_lx, maximum_lx;
    double centre_direct_lx;         /* NaN where some light is not known by angle */
    double centre_difference_in_u95; /* (centre - direct) / u95 of centre; NaN by the direct way */
    struct luxfall_estimate minimum_over_average, minimum_over_maximum, edge_over_centre, variation;
    struct luxfall_estimate tilt_percent_per_mm, tilt_direction_deg, dome_percent;
    struct luxfall_estimate flux_lm, utilisation;
};

/* Where absorbed light ends. */
enum luxfall_loss {
    LUXFALL_LOSS_DATASHEET, /* 1 - efficiency of a datasheet lens */
    LUXFALL_LOSS_HOLDER,    /* missed the solid */
    LUXFALL_LOSS_SOURCE,    /* back into what sent it: upon a die, its package, or the face of a datasheet lens */
    LUXFALL_LOSS_RETURNED,  /* came back down to the board beside it */
    LUXFALL_LOSS_RIM,       /* met the ground rim */
    LUXFALL_LOSS_MATERIAL,  /* absorbed on its way through the solid */
    LUXFALL_LOSS_MIRROR,    /* absorbed by a mirror */
    LUXFALL_LOSS_COVER,     /* absorbed by a film, an opal or a window, its edge included */
    LUXFALL_LOSS_STOP,      /* met a stop */
    LUXFALL_LOSS_COUNT
};
LUXFALL_API const char *luxfall_loss_name(enum luxfall_loss loss);

/* emitted = on_map + off_map + absorbed + abandoned; by rays exactly so in quanta. */
struct luxfall_ledger {
    struct luxfall_estimate emitted_lm, on_map_lm, off_map_lm, absorbed_lm, abandoned_lm;
    struct luxfall_estimate loss_lm[LUXFALL_LOSS_COUNT];                                       /* sum = absorbed */
    uint64_t emitted_quanta, on_map_quanta, off_map_quanta, absorbed_quanta, abandoned_quanta; /* rays; else 0 */
};

/* Means over reading discs (diameter: a 1/40 of the map's shorter side) along an axis through the origin. */
struct luxfall_section {
    size_t count;
    double *at_mm, *lx, *u95_lx;
};

struct luxfall_plane_result {
    double level_mm;
    struct luxfall_ledger ledger;
    struct luxfall_estimate *cover_lm; /* cover_count, in the scene's order: of COVER or STOP, what each absorbs */
    int columns, rows;
    double cell_mm;
    float *e_lx;     /* rows x columns, row-major, row 0 lowest y, means over cells */
    float *e_u95_lx; /* the band of each cell; by the direct way NULL */
    double disc_mm;  /* diameter over which peak and centre are read */
    struct luxfall_estimate peak_lx, centre_lx;
    double peak_x_mm, peak_y_mm;
    struct luxfall_estimate half_peak_diameter_mm,
        tenth_peak_diameter_mm; /* NaN: cut by the map's edge, or no light */
    struct luxfall_section along_x, along_y;
    struct luxfall_field_result *fields; /* field_count, in the scene's order */
};

struct luxfall_module_result {
    struct luxfall_bracket bracket;
    double flux_lm;                                   /* of its emitter, scale included; 0 when dark */
    double current_a, voltage_v, power_w, junction_c; /* NaN: not known; when dark current and power are 0 */
};

struct luxfall_result {
    enum luxfall_method method;
    uint64_t seed;
    uint64_t rays_traced;    /* launched: free ones and those at the fields */
    uint64_t rays_to_fields; /* those at the fields */
    uint64_t rays_cast; /* landings computed: placements and symmetries of every free ray, and those at the fields */
    int replicates;
    bool accuracy_reached; /* the bands are as narrow as wanted */
    bool cap_reached;      /* the cap on rays or landings came before the rays that the pilot asked for */
    double accuracy_wanted;
    double accuracy_worst;   /* relative: the widest band of average, centre, minimum that was got */
    double quadrature_error; /* direct: relative error of that way; METHODS section 4 */
    size_t plane_count, field_count, module_count, cover_count;
    struct luxfall_plane_result *planes;
    struct luxfall_module_result *modules;
    double leaving_lm; /* lumens that leave the lenses */
    double power_w;    /* of all lit modules together; NaN: not known of one of them */
};

/* What a module of a checked scene does: at its current, or what its emitter's flux_lm says where it names none;
 * scale multiplies the flux alone. A dark module: 0 A, 0 lm, 0 W, the rest NaN. Error VALUE: its emitter is not known
 * at that current, or has no flux without one. */
LUXFALL_API LUXFALL_CHECKED enum luxfall_status luxfall_module_at(const struct luxfall_scene *scene, size_t module,
                                                                  struct luxfall_operating_point *out,
                                                                  struct luxfall_error *error);

/* Traces the scene, by rays or the direct way as the options say. On success *out is a new result.
 * Errors: MEMORY, VALUE, BEAM, METHOD, STOPPED. Same binary, scene and seed: same bits on any number of threads. */
LUXFALL_API LUXFALL_CHECKED enum luxfall_status luxfall_trace(const struct luxfall_scene *scene,
                                                              const struct luxfall_options *options,
                                                              struct luxfall_result **out,
                                                              struct luxfall_error *error);
LUXFALL_API void luxfall_result_free(struct luxfall_result *result);

/* Illuminance at a point of a level, averaged over a disc of reading_mm (0: the point), the direct way.
 * Light known by angle only: METHOD otherwise. */
LUXFALL_API LUXFALL_CHECKED enum luxfall_status luxfall_direct_reading(const struct luxfall_scene *scene, double x_mm,
                                                                       double y_mm, double level_mm,
                                                                       double reading_mm, double *out_lx,
                                                                       struct luxfall_error *error);

/* ---- readings of a meter --------------------------------------------------------------------------------------- */

#define LUXFALL_ALL_MODULES SIZE_MAX

/* One reading, as it was taken. */
struct luxfall_reading {
    double x_mm, y_mm, level_mm;
    double head_mm;          /* diameter of the meter's head; 0: a point */
    const bool *dark;        /* module_count of them: out while it was read; NULL: as the scene has them */
    const double *current_a; /* module_count of them: the current while it was read; NULL: as the scene has them */
};

/* What each reading should have been: mean over the head. Where all light is known by angle, the direct way: u95 is
 * NaN. Otherwise by rays, as the options say. out: count of them. Errors as of luxfall_trace(). */
LUXFALL_API LUXFALL_CHECKED enum luxfall_status
luxfall_forecast_readings(const struct luxfall_scene *scene, size_t count, const struct luxfall_reading *readings,
                          const struct luxfall_options *options, struct luxfall_estimate *out,
                          struct luxfall_error *error);

/* Least squares of reading = scale x forecast, weighted by 1/u^2 where u is not NULL. METHODS sec. 10. */
struct luxfall_scale_fit {
    double scale, scale_u; /* and its standard uncertainty, from the residuals; NaN for a single reading */
    double residual_sd; /* of the readings about the fit, count - 1 degrees of freedom, in their unit; with u that of
                         * a reading of mean weight; NaN for a single reading */
};
/* Error VALUE: no reading, no forecast above 0, or a value that is no number. */
LUXFALL_API LUXFALL_CHECKED enum luxfall_status luxfall_scale_fit(size_t count, const double *forecast,
                                                                  const double *reading, const double *u,
                                                                  struct luxfall_scale_fit *out,
                                                                  struct luxfall_error *error);

/* What one cause may do to reading / forecast when the scale is taken out. */
enum luxfall_pattern {
    LUXFALL_PATTERN_FALLOFF, /* brighter or darker to all sides, with the square of the distance from the origin */
    LUXFALL_PATTERN_SIDE,    /* one side is low, the other high */
    LUXFALL_PATTERN_LEVEL,   /* one module sends more or less than the others */
    LUXFALL_PATTERN_AIM      /* one module looks elsewhere */
};

struct luxfall_suspect {
    enum luxfall_pattern pattern;
    size_t module;      /* LEVEL, AIM */
    double across;      /* from the reading that it lowers most to the one that it raises most, over their mean */
    double effect;      /* FALLOFF: outermost reading against innermost; LEVEL: of the module's light; below 0: less
                         * than forecast; else 0 */
    double azimuth_rad; /* SIDE: of the low side; AIM: towards which the module looks too far */
    double chance;      /* that noise alone would do as well, with all that was tried counted */
};

/* Causes that explain the readings clearly better than chance, the best first; one that another beats by odds of
 * twenty to one is left out. Nothing but the scale is fitted. METHODS sec. 10. */
#define LUXFALL_SUSPECTS_MAX 16
struct luxfall_judgement {
    size_t used; /* readings judged: those with at least 5 % of the highest forecast; under five nothing is judged */
    bool modules_told_apart; /* LEVEL and AIM were tried: all light is known by angle, at most 64 modules */
    size_t suspect_count;
    struct luxfall_suspect suspects[LUXFALL_SUSPECTS_MAX];
};

/* forecast: as luxfall_forecast_readings() gave it; reading: in the same unit; u: standard uncertainties or NULL.
 * Errors: MEMORY, VALUE, BEAM. */
LUXFALL_API LUXFALL_CHECKED enum luxfall_status
luxfall_judge_readings(const struct luxfall_scene *scene, size_t count, const struct luxfall_reading *readings,
                       const double *forecast, const double *reading, const double *u,
                       const struct luxfall_options *options, struct luxfall_judgement *out,
                       struct luxfall_error *error);

/* ---- cameras --------------------------------------------------------------------------------------------------- */

/* METHODS sec. 11. */
struct luxfall_camera {
    double f_number;      /* as engraved, > 0 */
    double magnification; /* size on the sensor over size on the stage, 0 or more; 0 where f_number is the effective
                             one */
    double iso;           /* > 0 */
    double reflectance;   /* of the object, diffuse, 0..1 */
    double transmission;  /* of the optics, 0..1 */
};
/* Lux on the sensor under lux on the object; and the shutter time, s, that fills the sensor (ISO 12232: 78 lx s over
 * the ISO speed). */
LUXFALL_API double luxfall_sensor_lx(const struct luxfall_camera *camera, double object_lx);
LUXFALL_API double luxfall_shutter_s(const struct luxfall_camera *camera, double object_lx);
/* Stops that a ratio of light is below 1: -log2. */
LUXFALL_API double luxfall_stops(double ratio);

/* How bright the lit faces look, and which facets mirror them into a camera straight above a place. METHODS eq.
 * (57). */
struct luxfall_glare {
    double face_cd_per_m2; /* the brightest face on its axis; of a traced lens, the dies behind it, under a cover what
                            * it would be without, of packed dies in the air; 0: points only */
    double mirrored_cd_per_m2; /* the brightest face as the place sees it, traced light left out; 0: none */
    double slope_low_rad, slope_high_rad; /* of the facets that mirror a face straight up; NaN: none do */
};
/* Errors as of luxfall_trace(). */
LUXFALL_API LUXFALL_CHECKED enum luxfall_status luxfall_glare_at(const struct luxfall_scene *scene,
                                                                 struct luxfall_vec place_mm,
                                                                 struct luxfall_glare *out,
                                                                 struct luxfall_error *error);

/* ---- one module by itself -------------------------------------------------------------------------------------- */

#define LUXFALL_RINGS 360 /* of a quarter of a degree, from the axis outwards */
#define LUXFALL_HALF_PLANES \
    8 /* every 45 deg, from the module's x towards its y; each the middle of so many degrees */

/* What a module sends, seen from far away. Angles are about the mean direction of its light, which is the module's
 * axis unless something is aside; x and y are then turned with it, the shortest way. By rays with bands where the
 * lens is traced; where light is known by angle exact, u95 NaN. Not to be had: NaN. METHODS eq. (96)-(99). */
struct luxfall_inspection {
    double flux_lm; /* of its emitter, scale included */
    struct luxfall_estimate leaving_lm, efficiency;
    struct luxfall_estimate loss_lm[LUXFALL_LOSS_COUNT], abandoned_lm; /* flux = leaving + all of these */
    struct luxfall_estimate cover_lm[LUXFALL_COVERS_MAX]; /* of COVER or STOP: what each absorbs, from the lens on */
    struct luxfall_estimate cd[LUXFALL_RINGS];            /* mean over each ring */
    struct luxfall_estimate half_plane_cd[LUXFALL_HALF_PLANES][LUXFALL_RINGS];
    struct luxfall_estimate centre_cd; /* on the axis of the light */
    struct luxfall_estimate
        level_cd; /* of which the angles are: on the axis, but of a beam with a hole its greatest ring */
    struct luxfall_estimate beam_angle_rad, field_angle_rad;         /* full angles at 50 % and 10 % of it */
    struct luxfall_estimate plane_beam_rad[LUXFALL_HALF_PLANES / 2]; /* beam angles in each plane, both its halves */
    struct luxfall_estimate lean_x_rad, lean_y_rad; /* mean direction of the light, from the module's axis */
    struct luxfall_estimate in_beam, in_field;      /* shares of the leaving light within beam and field angle */
    /* From here on lux on the axis are cd / m^2 within 5 % and 1 %; from the last vertex, the face or the die. */
    struct luxfall_estimate far_5_percent_mm, far_1_percent_mm;
    /* The most that face and dies can send on axis, nothing lost, and the narrowest full beam; 0: no bound. The dies
     * stand in air, or in their package where that is traced; domed: under a dome of n = 1.5, where none is. */
    double bound_cd_per_lm, bound_domed_cd_per_lm, floor_rad, floor_domed_rad;
    double package_index; /* of what they stand in; 0: no package is traced */
    /* traced = out + lost + abandoned, to the ray; all 0 where exact. beside: of those out, at 90 deg or more from
     * the axis, in no ring. */
    uint64_t rays_traced, rays_out, rays_lost[LUXFALL_LOSS_COUNT], rays_abandoned, rays_beside;
};
/* The module as it is in a checked scene, dark or not. Of the options rays (0: LUXFALL_INSPECTION_RAYS), seed,
 * points, vectors, threads and progress count. Errors as of luxfall_trace(). Any number of threads and any vector
 * width give the same bits. */
#define LUXFALL_INSPECTION_RAYS 16000000
LUXFALL_API LUXFALL_CHECKED enum luxfall_status luxfall_inspect(const struct luxfall_scene *scene, size_t module,
                                                                const struct luxfall_options *options,
                                                                struct luxfall_inspection *out,
                                                                struct luxfall_error *error);

/* ---- how a module is drawn ------------------------------------------------------------------------------------- */

/* Places are in the module's own frame: x and y its own, z along its axis, the emitter's surface at z = 0 (under a
 * cover over a lens sheet's beam: the face). METHODS sec. 13. */

enum luxfall_surface_kind {
    LUXFALL_SURFACE_CLEAR,      /* refracts, or reflects totally */
    LUXFALL_SURFACE_SCATTERING, /* textured, or a diffuser */
    LUXFALL_SURFACE_MIRROR,
    LUXFALL_SURFACE_ABSORBING
};

/* A piece of a surface in the section; a surface may have several. */
struct luxfall_line {
    enum luxfall_surface_kind kind;
    enum luxfall_loss loss;         /* ABSORBING: what its light is told under */
    size_t surface;                 /* the same for pieces of one */
    bool of_package;                /* of the LED; otherwise of the lens or what stands over it */
    double index_under, index_over; /* of the materials on its two sides, air 1; over: towards +z, or outside */
    double vertex_radius_mm; /* of curvature on the axis, > 0 with the centre on the +z side; 0: flat or a tip; NaN:
                              * it does not meet the axis */
    struct luxfall_vec vertex_mm; /* where it does */
    size_t count;                 /* 2 or more */
    struct luxfall_vec *at_mm;
};

/* An area of the section that one material fills. A body may come in several, which meet in level lines. */
struct luxfall_area {
    double index;
    size_t count;
    struct luxfall_vec *at_mm; /* a closed polygon */
};

/* A die along the section, from its axis (0) on, and how high its two ends lie. */
struct luxfall_span {
    double from_mm, to_mm, from_z_mm, to_z_mm;
};

/* A traced module cut by a plane through the axis of its lens, and a traced package by one through its own. Surfaces
 * without a bound end at a size of the optic. */
struct luxfall_outline {
    double section_rad;   /* of the plane, from the module's x towards its y */
    double wavelength_um; /* for which the indices hold */
    size_t line_count, area_count, die_count;
    struct luxfall_line *lines;
    struct luxfall_area *areas;
    struct luxfall_span *dies; /* ascending; a point: from = to */
};
/* section_rad NaN: the plane in which lens and emitter are out of place, else 0. On success *out is new and goes back
 * through luxfall_outline_free(), which accepts NULL. Errors as of luxfall_trace(); VALUE too where nothing of the
 * module is traced surface by surface. */
LUXFALL_API LUXFALL_CHECKED enum luxfall_status luxfall_outline(const struct luxfall_scene *scene, size_t module,
                                                                double section_rad, struct luxfall_outline **out,
                                                                struct luxfall_error *error);
LUXFALL_API void luxfall_outline_free(struct luxfall_outline *outline);

struct luxfall_start {
    struct luxfall_vec at_mm;
    struct luxfall_vec direction; /* unit, z > 0 */
};
/* Rays in the section from one place of the emitter, on the die that is nearest there, at even angles from -widest to
 * widest off the axis (the first towards the section's lower end); one: along it. */
LUXFALL_API void luxfall_fan(const struct luxfall_outline *outline, double place_mm, double widest_rad, size_t count,
                             struct luxfall_start *out);

enum luxfall_path_end {
    LUXFALL_PATH_LEAVES,
    LUXFALL_PATH_ABSORBED,
    LUXFALL_PATH_SCATTERED, /* by a diffuser with a cosine law: no way is the main one */
    LUXFALL_PATH_ABANDONED  /* after very many reflections */
};
enum luxfall_turn {
    LUXFALL_TURN_START,
    LUXFALL_TURN_REFRACTED,
    LUXFALL_TURN_REFLECTED, /* totally */
    LUXFALL_TURN_MIRRORED,
    LUXFALL_TURN_END
};

/* The main way of a ray: through every clear surface that does not reflect it totally, textures taken as clear, films
 * as air. Weaker reflections are left out. Nothing is drawn by chance. */
struct luxfall_path {
    enum luxfall_path_end end;
    enum luxfall_loss loss; /* ABSORBED */
    size_t count;           /* of places: the start, every surface met, and the board where the path ends on it */
    struct luxfall_vec *at_mm;
    enum luxfall_turn *turns;     /* what happens there; the last of a path that LEAVES is no END */
    struct luxfall_vec direction; /* unit, after the last place; ABSORBED: before it */
    double share;                 /* of the ray's light that goes this way up to there */
};
struct luxfall_paths {
    size_t count;
    struct luxfall_path *each; /* in the order of the starts */
};
/* As luxfall_outline(). Error VALUE, too: a start that is no such one; the item is its index. */
LUXFALL_API LUXFALL_CHECKED enum luxfall_status luxfall_follow(const struct luxfall_scene *scene, size_t module,
                                                               size_t count, const struct luxfall_start *starts,
                                                               struct luxfall_paths **out,
                                                               struct luxfall_error *error);
LUXFALL_API void luxfall_paths_free(struct luxfall_paths *paths);

/* Name of the vector width that the options lead to on this machine: "plain", "avx2", "avx512". */
LUXFALL_API const char *luxfall_vectors_name(enum luxfall_vectors wanted);

#ifdef __cplusplus
}
#endif
#endif
