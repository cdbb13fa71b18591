/* Light of points, discs, rectangles: the library's direct way against closed forms of photometry and radiative
 * exchange.
 *
 * Each family is a table of published or derived values, run through the public interface; its twins ask the same
 * questions with a likely mistake in the asking and must be refused by the same tolerance.
 * Evidence after each source: (memory) cited from memory, its formula checked numerically against an independent
 * quadrature; (derived) worked out from the definition and checked the same way. */
#include "statistics/workbench.h"

typedef struct luxfall_vec vec;

static double dot(vec a, vec b) {
    return a.x * b.x + a.y * b.y + a.z * b.z;
}

static vec minus(vec a, vec b) {
    return (vec){a.x - b.x, a.y - b.y, a.z - b.z};
}

/* The scene turned so that a receiver at `place` with a normal lies at the origin and looks along +z. */
static struct luxfall_pose seen_from(struct luxfall_pose pose, vec place, vec normal) {
    struct luxfall_pose meter = pose_looking(place, normal);
    vec from = minus(pose.at_mm, place), *out[] = {&pose.at_mm, &pose.x, &pose.y, &pose.axis};
    vec in[] = {from, pose.x, pose.y, pose.axis};
    for (int i = 0; i < 4; i++)
        *out[i] = (vec){dot(in[i], meter.x), dot(in[i], meter.y), dot(in[i], meter.axis)};
    return pose;
}

/* Lux on the receiver from one bare emitter. */
static double lux_on(struct luxfall_emitter emitter, struct luxfall_pose pose, vec place, vec normal) {
    struct bench bench = {0};
    bench_map(&bench, 10.0, 10.0, 1.0);
    bench_pose(&bench, seen_from(pose, place, normal), bench_emitter(&bench, emitter), LUXFALL_NO_LENS);
    return bench_reading(&bench, 0.0, 0.0, 0.0);
}

static const vec UP = {0, 0, 1}, DOWN = {0, 0, -1}, ORIGIN = {0, 0, 0};

/* ---- point laws -------------------------------------------------------------------------------------------------
 */

enum point_mistake { POINT_RIGHT, POINT_NO_RECEIVER_COSINE, POINT_SLANT_FOR_HEIGHT, POINT_LAMBERTIAN_FOR_EVEN };

static const double EVEN_ANGLE[] = {0.0, 0.5 * BENCH_PI}, EVEN_RELATIVE[] = {1.0, 1.0};

/* A point of 1 cd at every angle, or of 1 cd on the axis with cos^m. */
static struct luxfall_emitter candela_point(double candela, double m) {
    struct luxfall_emitter emitter =
        cosine_emitter(point_face(), candela * 2.0 * BENCH_PI / (m + 1.0), m > 0 ? m : 1);
    if (m == 0.0)
        emitter.intensity = (struct luxfall_intensity){
            .kind = LUXFALL_CURVE, .curve_count = 2, .curve_angle_rad = EVEN_ANGLE, .curve_relative = EVEN_RELATIVE};
    return emitter;
}

/* IEC 60050-845, photometric distance law: E = I cos(incidence) / d^2 (derived values). */
static struct verdict point_rows(enum point_mistake mistake) {
    static const double rows[4][4] = {{0, 25, 25, 25},
                                      {30, 21.65063509, 16.23797632, 14.0625},
                                      {60, 12.5, 3.125, 1.5625},
                                      {80, 4.341204442, 0.1309033313, 0.02273112492}};
    struct verdict v = {0};
    double m = mistake == POINT_LAMBERTIAN_FOR_EVEN ? 1.0 : 0.0;
    for (int i = 0; i < 4; i++) {
        double t = rows[i][0] * DEG;
        double height = mistake == POINT_SLANT_FOR_HEIGHT ? 2000.0 * cos(t) : 2000.0;
        struct luxfall_pose lamp = pose_down(0, 0, height), above = pose_down(0, 0, 2000.0);
        vec place = {height * tan(t), 0, 0}, leaning = {sin(t), 0, cos(t)};
        if (mistake == POINT_NO_RECEIVER_COSINE)
            leaning = UP;
        verdict_add(&v, lux_on(candela_point(100, 0), above, ORIGIN, leaning), rows[i][1], 1e-8, "meter tilted");
        verdict_add(&v, lux_on(candela_point(100, m), lamp, place, UP), rows[i][2], 1e-8, "plane under an even lamp");
        verdict_add(&v, lux_on(candela_point(100, 1), lamp, place, UP), rows[i][3], 1e-8, "plane, Lambertian");
    }
    return v;
}

/* The same law with lamp and receiver askew, metres, 1 cd on the axis. The last receiver faces away. */
static struct verdict point_askew(enum point_mistake mistake) {
    static const struct {
        vec at, axis;
        double m;
        vec place, normal;
        double lux;
    } cases[] = {
        {{0, 0, 1}, {0, 0, -1}, 1, {1, 0, 0}, {0, 0, 1}, 0.2500000000},
        {{0, 0, 2}, {1, 0, -2}, 1, {0.5, 0.25, 0}, {0, 0, 1}, 0.2164209460},
        {{0.3, -0.2, 0.5}, {-3, 2, -5}, 20, {0.05, 0.02, 0}, {0, 0, 1}, 2.146407700},
        {{0.3, -0.2, 0.5}, {-3, 2, -5}, 20, {0.05, 0.02, 0}, {1, 0, 2}, 2.399756762},
        {{0, 0, 1}, {0, 0, -1}, 1, {0, 0, 0}, {3, 0, -1}, 0.0},
    };
    struct verdict v = {0};
    for (size_t i = 0; i < sizeof cases / sizeof *cases; i++) {
        vec at = {1e3 * cases[i].at.x, 1e3 * cases[i].at.y, 1e3 * cases[i].at.z};
        vec place = {1e3 * cases[i].place.x, 1e3 * cases[i].place.y, 1e3 * cases[i].place.z};
        vec normal = mistake == POINT_NO_RECEIVER_COSINE ? minus(at, place) : cases[i].normal;
        double lux = lux_on(candela_point(1, cases[i].m), pose_looking(at, cases[i].axis), place, normal);
        verdict_add(&v, lux, cases[i].lux, 1e-8, "lamp and meter askew");
    }
    return v;
}

static void point_laws(void **state) {
    (void)state;
    struct verdict rows = point_rows(POINT_RIGHT), askew = point_askew(POINT_RIGHT);
    verdict_holds(&rows, 12);
    verdict_holds(&askew, 5);
    for (int mistake = POINT_NO_RECEIVER_COSINE; mistake <= POINT_LAMBERTIAN_FOR_EVEN; mistake++) {
        struct verdict twin = point_rows((enum point_mistake)mistake);
        verdict_fails(&twin);
    }
    struct verdict twin = point_askew(POINT_NO_RECEIVER_COSINE);
    verdict_fails(&twin);
}

/* ---- discs ------------------------------------------------------------------------------------------------------
 */

/* Share of a Lambertian face's lumens per area at a receiver: the configuration factor from the receiver. */
static double factor(struct luxfall_face face, struct luxfall_pose pose, vec place, vec normal) {
    double area_m2 = 1e-6 * face.width_mm * face.height_mm * (face.kind == LUXFALL_DISC ? 0.25 * BENCH_PI : 1.0);
    return lux_on(cosine_emitter(face, 1.0, 1.0), pose, place, normal) * area_m2;
}

enum disc_mistake { DISC_RIGHT, DISC_FROM_RIM, DISC_SLANT, DISC_POINT };

static double disc_factor(double a, double r, double z, double tilt_deg, enum disc_mistake mistake) {
    vec place = {mistake == DISC_FROM_RIM ? r + a : r, 0, 0};
    vec normal = {-sin(tilt_deg * DEG), 0, cos(tilt_deg * DEG)};
    double height = mistake == DISC_SLANT ? hypot(r, z) : z;
    if (mistake == DISC_POINT)
        return factor(disc_face(1e-3 * a), pose_down(0, 0, height), place, normal) * 1e6;
    return factor(disc_face(2.0 * a), pose_down(0, 0, height), place, normal);
}

/* Configuration factors of a disc: heat-transfer texts and view-factor catalogues (memory), all derived. */
static struct verdict discs(enum disc_mistake mistake) {
    static const double cases[][5] = {
        {1, 0, 1, 0.5, 0},
        {1, 0.5, 1, 0.437982632705, 0.116312611303},
        {1, 1, 1, 0.276393202250, 0.170820393250},
        {1, 3, 2, 0.0256583509747, 0.0355990603530},
        {10, 20, 200, 0.00244486792787, 0.000243883106972},
        {1, 2, 0.1, 0.00110009924154, 0.0165197425714},
        {1, 1, 0.01, 0.497500031249, 0.495018749805},
    };
    struct verdict v = {0};
    for (size_t i = 0; i < sizeof cases / sizeof *cases; i++) {
        const double *c = cases[i];
        verdict_add(&v, disc_factor(c[0], c[1], c[2], 0, mistake), c[3], 1e-6, "disc, parallel");
        if (c[1] > c[0]) /* the whole disc in front of an upright receiver */
            verdict_add(&v, disc_factor(c[0], c[1], c[2], 90, mistake), c[4], 1e-6, "disc, upright");
    }
    verdict_add(&v, disc_factor(1, 2, 1, 30, mistake), 0.0884194655840, 1e-6, "disc, tilted 30 deg");
    verdict_add(&v, disc_factor(10, 20, 200, 40, mistake), 0.00202964252968, 1e-6, "disc, tilted 40 deg");
    return v;
}

static double annulus_factor(double inner, double outer, double r, double z) {
    return disc_factor(outer, r, z, 0, DISC_RIGHT) - disc_factor(inner, r, z, 0, DISC_RIGHT);
}

/* Annulus = outer disc less inner disc (derived). The twin puts the area on the mean radius. */
static struct verdict annuli(bool thin_ring) {
    static const double cases[][5] = {{1, 2, 0, 3, 0.207692307692},
                                      {1, 2, 1.5, 3, 0.172949414711},
                                      {40, 60, 0, 100, 0.126774847870},
                                      {40, 60, 10, 100, 0.125958422076}};
    struct verdict v = {0};
    for (size_t i = 0; i < sizeof cases / sizeof *cases; i++) {
        double inner = cases[i][0], outer = cases[i][1], area = outer * outer - inner * inner;
        double mean = 0.5 * (inner + outer), got = annulus_factor(inner, outer, cases[i][2], cases[i][3]);
        if (thin_ring)
            got = annulus_factor(mean - 5e-4, mean + 5e-4, cases[i][2], cases[i][3]) * area / (2e-3 * mean);
        verdict_add(&v, got, cases[i][4], 1e-6, "annulus");
    }
    return v;
}

static void disc_factors(void **state) {
    (void)state;
    struct verdict right = discs(DISC_RIGHT), rings = annuli(false), thin = annuli(true);
    verdict_holds(&right, 12);
    verdict_holds(&rings, 4);
    verdict_fails(&thin);
    for (int mistake = DISC_FROM_RIM; mistake <= DISC_POINT; mistake++) {
        struct verdict twin = discs((enum disc_mistake)mistake);
        verdict_fails(&twin);
    }
}

/* ---- rectangles -------------------------------------------------------------------------------------------------
 */

/* A rectangle x0..x1, y0..y1 parallel to the receiver at distance c. */
static double parallel_factor(double x0, double x1, double y0, double y1, double c) {
    vec at = {0.5 * (x0 + x1), 0.5 * (y0 + y1), c};
    return factor(oblong_face(x1 - x0, y1 - y0), pose_looking(at, DOWN), ORIGIN, UP);
}

/* Lambert, Photometria, 1760, the polygon formula in its corner forms; view-factor catalogues (memory), derived. */
static struct verdict rectangles(bool centred) {
    static const double parallel[][4] = {{1, 1, 1, 0.138531605995},
                                         {2, 1, 1, 0.167375009914},
                                         {0.7, 0.7, 100, 1.55961654769e-5},
                                         {10, 10, 0.1, 0.249979543986},
                                         {1000, 1, 1, 0.176776695191}};
    static const double upright[][4] = {{1, 1, 1, 0.0557341970026},
                                        {2, 1, 1, 0.0686972988756},
                                        {1, 10, 0.1, 0.233978629506},
                                        {5, 0.2, 3, 0.000518635688099}};
    static const double anywhere[][6] = {{-0.7, 0.7, -0.7, 0.7, 1, 0.380175554606},
                                         {1, 3, -2, 1, 2, 0.110758597582},
                                         {-1, 1, 4, 5, 0.5, 0.000381467164440}};
    struct verdict v = {0};
    for (size_t i = 0; i < sizeof parallel / sizeof *parallel; i++) {
        const double *c = parallel[i];
        double shift = centred ? 0.5 : 0.0;
        double got = parallel_factor(-shift * c[0], (1 - shift) * c[0], -shift * c[1], (1 - shift) * c[1], c[2]);
        verdict_add(&v, got, c[3], 1e-6, "rectangle, parallel, under its corner");
    }
    for (size_t i = 0; i < sizeof upright / sizeof *upright; i++) {
        const double *c = upright[i];
        vec at = {c[2], 0.5 * c[0], 0.5 * c[1]}, axis = {-1, 0, 0};
        double got = factor(oblong_face(c[0], c[1]), pose_looking(at, axis), ORIGIN, UP);
        verdict_add(&v, got, c[3], 1e-6, "rectangle, upright");
    }
    for (size_t i = 0; i < sizeof anywhere / sizeof *anywhere; i++) {
        const double *c = anywhere[i];
        verdict_add(&v, parallel_factor(c[0], c[1], c[2], c[3], c[4]), c[5], 1e-6, "rectangle, off the corner");
    }
    return v;
}

/* A bare die, 120 lm, on the axis at 100 mm (derived from the corner form). The twins radiate into 4 pi and 2 pi. */
static struct verdict bare_die(double flux_lm) {
    struct verdict v = {0};
    struct luxfall_pose lamp = pose_down(0, 0, 100);
    verdict_add(&v, lux_on(cosine_emitter(oblong_face(1.4, 1.4), flux_lm, 1), lamp, ORIGIN, UP), 3819.469096, 1e-8,
                "1.4 mm die at 100 mm");
    verdict_add(&v, lux_on(cosine_emitter(point_face(), flux_lm, 1), lamp, ORIGIN, UP), 3819.718634, 1e-8,
                "point at 100 mm");
    return v;
}

static void rectangle_factors(void **state) {
    (void)state;
    struct verdict right = rectangles(false), centred = rectangles(true);
    struct verdict die = bare_die(120), whole = bare_die(30), half = bare_die(60);
    verdict_holds(&right, 12);
    verdict_holds(&die, 2);
    verdict_fails(&centred);
    verdict_fails(&whole);
    verdict_fails(&half);
}

/* ---- face to field ----------------------------------------------------------------------------------------------
 */

/* Share of a Lambertian face's lumens that lands in the only field. */
static double exchange(struct luxfall_face face, vec at, struct luxfall_field field) {
    struct bench bench = {0};
    bench_map(&bench, 1.0, 1.0, 0.5);
    field.name = "field";
    bench.fields[bench.field_count++] = field;
    bench_pose(&bench, pose_looking(at, DOWN), bench_emitter(&bench, cosine_emitter(face, 1.0, 1.0)),
               LUXFALL_NO_LENS);
    struct luxfall_result *result = bench_direct(&bench);
    double share = result->planes[0].fields[0].flux_lm.value;
    luxfall_result_free(result);
    return share;
}

/* Coaxial discs: textbook form (memory), derived. The twin takes F21 for F12. */
static struct verdict disc_exchange(bool swapped) {
    static const double cases[][4] = {{1, 1, 1, 0.381966011250},
                                      {1, 2, 3, 0.291796067501},
                                      {10, 60, 200, 0.0823953981731},
                                      {1, 0.1, 5, 0.000384473195680},
                                      {1, 2, 5, 0.133931252681}};
    struct verdict v = {0};
    for (size_t i = 0; i < sizeof cases / sizeof *cases; i++) {
        double from = cases[i][swapped ? 1 : 0], to = cases[i][swapped ? 0 : 1];
        struct luxfall_field field = {.round = true, .width_mm = 2 * to, .height_mm = 2 * to};
        double got = exchange(disc_face(2 * from), (vec){0, 0, cases[i][2]}, field);
        verdict_add(&v, got, cases[i][3], 1e-6, "coaxial discs");
    }
    return v;
}

/* Parallel rectangles: textbook form, and the sum over corner pairs of Ehlert and Smith, J. Thermophysics and Heat
 * Transfer 7 (1993) (memory), derived. The twin shifts the field by half its width. */
static struct verdict rectangle_exchange(double shift) {
    static const double cases[][10] = {/* face x0 x1 y0 y1, field x0 x1 y0 y1, gap, share */
                                       {0, 1, 0, 1, 0, 1, 0, 1, 1, 0.199824895698},
                                       {0, 1, 0, 2, 0, 1, 0, 2, 1, 0.285875384851},
                                       {0, 1, 0, 1, 0, 1, 0, 1, 10, 0.00316205683876},
                                       {0, 1, 0, 1, 2, 4, 1, 3, 2, 0.0372900924781},
                                       {-0.7, 0.7, -0.7, 0.7, -20, 20, -15, 15, 100, 0.0366714109854},
                                       {-0.7, 0.7, -0.7, 0.7, 30, 31, 30, 31, 100, 2.26268972416e-5}};
    struct verdict v = {0};
    for (size_t i = 0; i < sizeof cases / sizeof *cases; i++) {
        const double *c = cases[i];
        struct luxfall_field field = {.width_mm = c[5] - c[4],
                                      .height_mm = c[7] - c[6],
                                      .x_mm = 0.5 * (c[4] + c[5]) + shift * (c[5] - c[4]),
                                      .y_mm = 0.5 * (c[6] + c[7])};
        vec at = {0.5 * (c[0] + c[1]), 0.5 * (c[2] + c[3]), c[8]};
        verdict_add(&v, exchange(oblong_face(c[1] - c[0], c[3] - c[2]), at, field), c[9], 1e-6, "rectangles");
    }
    return v;
}

/* The same exchange is the mean of a map's cell, here the cell [30,31] x [30,31] mm; the twin takes its neighbour. */
static struct verdict cell_mean(int column) {
    struct bench bench = {0};
    struct verdict v = {0};
    bench_map(&bench, 62.0, 62.0, 1.0);
    bench_pose(&bench, pose_down(0, 0, 100), bench_emitter(&bench, cosine_emitter(oblong_face(1.4, 1.4), 1.0, 1.0)),
               LUXFALL_NO_LENS);
    struct luxfall_result *result = bench_direct(&bench);
    verdict_add(&v, 1e-6 * (double)result->planes[0].e_lx[61 * 62 + column], 2.26268972416e-5, 1e-6, "cell");
    luxfall_result_free(result);
    return v;
}

/* Even light of a point on a centred rectangle: solid angle 4 atan(ab / (d sqrt(a^2 + b^2 + d^2))) (derived). */
static struct verdict point_on_rectangle(double sides) {
    static const double cases[][4] = {
        {1, 1, 1, 2.09439510239}, {20, 15, 200, 0.0297677867504}, {60, 60, 200, 0.330651666557}};
    struct verdict v = {0};
    for (size_t i = 0; i < sizeof cases / sizeof *cases; i++) {
        struct bench bench = {0};
        bench_map(&bench, 1.0, 1.0, 0.5);
        bench_field(&bench, sides * cases[i][0], sides * cases[i][1]);
        bench_pose(&bench, pose_down(0, 0, cases[i][2]), bench_emitter(&bench, candela_point(1.0, 0)),
                   LUXFALL_NO_LENS);
        struct luxfall_result *result = bench_direct(&bench);
        verdict_add(&v, result->planes[0].fields[0].flux_lm.value, cases[i][3], 1e-6, "point on a rectangle");
        luxfall_result_free(result);
    }
    return v;
}

static void face_to_field(void **state) {
    (void)state;
    struct verdict discs12 = disc_exchange(false), discs21 = disc_exchange(true);
    struct verdict oblong = rectangle_exchange(0.0), shifted = rectangle_exchange(0.5);
    struct verdict cell = cell_mean(61), neighbour = cell_mean(60);
    struct verdict half_sides = point_on_rectangle(2.0), full_sides = point_on_rectangle(1.0);
    verdict_holds(&discs12, 5);
    verdict_fails(&discs21);
    verdict_holds(&oblong, 6);
    verdict_fails(&shifted);
    verdict_holds(&cell, 1);
    verdict_fails(&neighbour);
    verdict_holds(&half_sides, 3);
    verdict_fails(&full_sides);
}

/* ---- what a meter sees ------------------------------------------------------------------------------------------
 */

enum meter_mistake { METER_RIGHT, METER_DIAMETER_FOR_RADIUS, METER_LEAN_OTHER_WAY, METER_SAME_HEIGHT };

/* A cos^4 plane at 100 mm over a patch at 50 mm: disc mean E + (a^2/8) lap E + ..., square E + (s^2/24) lap E + ...
 * (derived), and a head 10 mm too high under a lamp at 200 mm. */
static struct verdict patches(enum meter_mistake mistake) {
    struct verdict v = {0};
    struct bench bench = {0};
    bench_map(&bench, 10.0, 10.0, 1.0);
    double scale = mistake == METER_DIAMETER_FOR_RADIUS ? 0.5 : 1.0;
    bench_field(&bench, 20.0 * scale, 20.0 * scale)->x_mm = 50.0;
    bench_pose(&bench, pose_down(0, 0, 100), bench_emitter(&bench, cosine_emitter(point_face(), 1.0, 1.0)),
               LUXFALL_NO_LENS);
    struct luxfall_result *result = bench_direct(&bench);
    double under = bench_reading(&bench, 0, 0, 0), square = result->planes[0].fields[0].average_lx.value / under;
    luxfall_result_free(result);
    verdict_add(&v, bench_reading(&bench, 50, 0, 0) / under, 0.64, 1e-9, "point");
    verdict_add(&v, bench_reading(&bench, 50, 0, 20 * scale) / under, 0.6379439644, 1e-7, "20 mm disc");
    verdict_add(&v, square, 0.6372503103, 1e-7, "20 mm square");
    bench.modules[0].pose = pose_down(0, 0, 200);
    double low = bench_reading(&bench, 0, 0, 0);
    bench.level_mm[0] = mistake == METER_SAME_HEIGHT ? 0.0 : 10.0;
    verdict_add(&v, bench_reading(&bench, 0, 0, 0) / low, 1.108033241, 1e-9, "head too high");
    return v;
}

/* A meter that leans 1 deg from or towards the lamp (derived: cos(i +- 1 deg)/cos i). */
static struct verdict leaning_meter(enum meter_mistake mistake) {
    static const double cases[][3] = {{30, -1.0228456, 0.99238467},
                                      {45, -1.7604711, 1.7300102},
                                      {60, -3.0380760, 3.0076150},
                                      {80, -9.9129820, 9.8825210}};
    struct verdict v = {0};
    double sense = mistake == METER_LEAN_OTHER_WAY ? -1.0 : 1.0;
    for (size_t i = 0; i < sizeof cases / sizeof *cases; i++) {
        double incidence = cases[i][0] * DEG, lean = sense * DEG;
        vec at = {200.0 * sin(incidence), 0, 200.0 * cos(incidence)};
        struct luxfall_pose lamp = pose_looking(at, minus(ORIGIN, at));
        double level = lux_on(candela_point(1, 20), lamp, ORIGIN, UP);
        double away = lux_on(candela_point(1, 20), lamp, ORIGIN, (vec){-sin(lean), 0, cos(lean)});
        double towards = lux_on(candela_point(1, 20), lamp, ORIGIN, (vec){sin(lean), 0, cos(lean)});
        verdict_add(&v, 100.0 * (away / level - 1.0), cases[i][1], 1e-6, "lean away");
        verdict_add(&v, 100.0 * (towards / level - 1.0), cases[i][2], 1e-6, "lean towards");
    }
    return v;
}

static void meters(void **state) {
    (void)state;
    struct verdict patch = patches(METER_RIGHT), lean = leaning_meter(METER_RIGHT);
    struct verdict small = patches(METER_DIAMETER_FOR_RADIUS), low = patches(METER_SAME_HEIGHT);
    struct verdict other = leaning_meter(METER_LEAN_OTHER_WAY);
    verdict_holds(&patch, 4);
    verdict_holds(&lean, 8);
    verdict_fails(&small);
    verdict_fails(&low);
    verdict_fails(&other);
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(point_laws),    cmocka_unit_test(disc_factors), cmocka_unit_test(rectangle_factors),
        cmocka_unit_test(face_to_field), cmocka_unit_test(meters),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
