/* Snell, Fresnel, total reflection and polarisation against published laws, and values worked out with 50 digits from
 * them.
 *
 * Sources. Born and Wolf, "Principles of Optics", 7th ed. 1999: sec. 1.5.2 (Fresnel in sine and tangent form,
 * Brewster), 1.5.4 (phases of total reflection, Fresnel's rhomb), 1.4 (Stokes). J. W. T. Walsh, Dept. Sci. Ind. Res.
 * Illum. Res. Tech. Paper 2, 1926, and S. Q. Duntley, J. Opt. Soc. Am. 32, 61 (1942): mean reflectance under
 * Lambertian light. The formulas stand here from memory; each was confirmed by a second way, and the values by
 * 50-digit arithmetic. */
#include "lenses/optic.h"

#include <math.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>

#include <cmocka.h>

static const double pi = 3.14159265358979323846;

static double radians(double degrees) {
    return degrees * (pi / 180);
}

/* ---- reflectance of one surface ---- */

static const double indices[4] = {1.41, 1.49, 1.5, 1.586};

/* Values of Born and Wolf eq. 1.5 (21) (7th ed. 1999), from 50 digits and by solving the conditions of continuity
 * too. Angles from the normal in degrees; out_below: the critical angle less so many radians. Rs and Rp for the four
 * indices. */
struct reflectance_row {
    bool out;
    double degrees, below_critical;
    double rs[4], rp[4];
};
static const struct reflectance_row reflectance_rows[] = {
    {false,
     30,
     0,
     {0.0428821566, 0.0561012063, 0.0577961054, 0.0726469097},
     {0.0176050647, 0.0243512984, 0.0252491465, 0.0334085070}},
    {false,
     45,
     0,
     {0.0708091730, 0.0896523577, 0.0920133630, 0.112249362},
     {0.00501393899, 0.00803754523, 0.00846645898, 0.0125999192}},
    {false,
     60,
     0,
     {0.144340458, 0.173098006, 0.176571488, 0.205352248},
     {0.00317179767, 0.00194493805, 0.00180193752, 0.000753246132}},
    {false,
     75,
     0,
     {0.356982351, 0.394993712, 0.399356027, 0.433909782},
     {0.110552024, 0.107318862, 0.106765099, 0.101072807}},
    {false,
     85,
     0,
     {0.704499144, 0.729578074, 0.732345479, 0.753547119},
     {0.495739694, 0.493732960, 0.493253812, 0.487628949}},
    {false,
     89,
     0,
     {0.932183934, 0.938758101, 0.939472161, 0.944870750},
     {0.869656513, 0.869053539, 0.868897738, 0.867021210}},
    {true,
     20,
     0,
     {0.0416026264, 0.0570080647, 0.0590632255, 0.0778569200},
     {0.0184621828, 0.0237396111, 0.0243938109, 0.0298717234}},
    {true,
     30,
     0,
     {0.0703233814, 0.101399302, 0.105772791, 0.148590491},
     {0.00515351186, 0.00472870558, 0.00460754345, 0.00299065619}},
    {true,
     35,
     0,
     {0.105741614, 0.162486640, 0.171085866, 0.265793667},
     {3.79647081e-5, 0.000815479034, 0.00119011684, 0.0117976269}},
    {true,
     39,
     0,
     {0.166177461, 0.289835419, 0.312189939, 0.818720622},
     {0.00791433447, 0.0401306109, 0.0491890250, 0.603286394}},
    {true,
     0,
     1e-3,
     {0.835803300, 0.843541105, 0.844407993, 0.851148583},
     {0.699563992, 0.684790845, 0.682874383, 0.665925175}},
    {true,
     0,
     1e-6,
     {0.994342258, 0.994632059, 0.994664365, 0.994914465},
     {0.988783262, 0.988121617, 0.988034809, 0.987257078}},
};
enum { REFLECTANCE_ROWS = sizeof reflectance_rows / sizeof *reflectance_rows };

/* Reflectances for s and p; index ratio before / beyond. */
typedef void reflectance_law(double ratio, double angle, double *rs, double *rp);

static void our_reflectance(double ratio, double angle, double *rs, double *rp) {
    const struct fresnel f = fresnel_at(ratio, cos(angle));
    *rs = f.rs * f.rs;
    *rp = f.rp * f.rp;
}
static void indices_swapped(double ratio, double angle, double *rs, double *rp) {
    our_reflectance(1 / ratio, angle, rs, rp);
}
static void s_for_p(double ratio, double angle, double *rs, double *rp) {
    our_reflectance(ratio, angle, rp, rs);
}
static void fifth_power(double ratio, double angle, double *rs, double *rp) { /* the usual approximation */
    const double r0 = pow((ratio - 1) / (ratio + 1), 2);
    *rs = *rp = r0 + (1 - r0) * pow(1 - cos(angle), 5);
}
static void degrees_as_radians(double ratio, double angle, double *rs, double *rp) {
    our_reflectance(ratio, angle * (180 / pi), rs, rp);
}
/* Born and Wolf eq. 1.5 (21a) carried in long double: sine and tangent forms. */
static void sine_and_tangent(double ratio, double angle, double *rs, double *rp) {
    const long double in = angle, out = asinl((long double)ratio * sinl(in));
    const long double s = sinl(in - out) / sinl(in + out), p = tanl(in - out) / tanl(in + out);
    *rs = (double)(s * s);
    *rp = (double)(p * p);
}

static double row_angle(const struct reflectance_row *row, double n) {
    return row->below_critical > 0 ? asin(1 / n) - row->below_critical : radians(row->degrees);
}

static int wrong_reflectances(reflectance_law *law) {
    int wrong = 0;
    for (int i = 0; i < REFLECTANCE_ROWS; i++)
        for (int k = 0; k < 4; k++) {
            const struct reflectance_row *row = &reflectance_rows[i];
            double rs, rp;
            law(row->out ? indices[k] : 1 / indices[k], row_angle(row, indices[k]), &rs, &rp);
            const double tolerance = 5.1e-9; /* half of the last digit given, at its largest */
            wrong += !(fabs(rs / row->rs[k] - 1) < tolerance);
            wrong += !(fabs(rp / row->rp[k] - 1) < tolerance);
        }
    return wrong;
}

static void reflectances_are_fresnels(void **state) {
    (void)state;
    assert_int_equal(wrong_reflectances(our_reflectance), 0);
    assert_int_equal(wrong_reflectances(sine_and_tangent), 0);
}

static void wrong_laws_of_reflectance_fail(void **state) {
    (void)state;
    const int all = REFLECTANCE_ROWS * 8;
    assert_true(wrong_reflectances(indices_swapped) > all / 2);
    assert_int_equal(wrong_reflectances(s_for_p), all);
    assert_int_equal(wrong_reflectances(fifth_power), all);
    assert_int_equal(wrong_reflectances(degrees_as_radians), all);
}

/* 1e-12 against the other form at any angle, away from Brewster (where that form divides by zero) and grazing. */
static void both_forms_agree_to_rounding(void **state) {
    (void)state;
    for (int k = 0; k < 4; k++)
        for (int i = 1; i < 880; i++) {
            double rs, rp, other_s, other_p;
            our_reflectance(1 / indices[k], radians(i * 0.1), &rs, &rp);
            sine_and_tangent(1 / indices[k], radians(i * 0.1), &other_s, &other_p);
            assert_true(fabs(rs - other_s) < 1e-12 * other_s);
            assert_true(fabs(rp - other_p) < 1e-12 * fmax(other_p, 1e-3));
        }
}

/* R at 0, critical angle, Brewster's angle from outside and from inside, degrees. */
static void special_angles_are_where_they_should_be(void **state) {
    (void)state;
    static const double rows[4][4] = {{0.0289423391471, 45.1714762456, 54.6549770957, 35.3450229043},
                                      {0.0387251818519, 42.1551842508, 56.1328208913, 33.8671791087},
                                      {0.04, 41.8103148958, 56.3099324740, 33.6900675260},
                                      {0.0513497331398, 39.0882779348, 57.7678707704, 32.2321292296}};
    for (int k = 0; k < 4; k++) {
        const double n = indices[k];
        double rs, rp;
        our_reflectance(1 / n, 0, &rs, &rp);
        assert_true(fabs(rs - rows[k][0]) < 1e-13 && fabs(rp - rows[k][0]) < 1e-13);
        our_reflectance(n, 0, &rs, &rp);
        assert_true(fabs(rs - rows[k][0]) < 1e-13);
        assert_false(fresnel_at(n, cos(radians(rows[k][1] - 1e-9))).total);
        assert_true(fresnel_at(n, cos(radians(rows[k][1] + 1e-9))).total);
        our_reflectance(1 / n, radians(rows[k][2]), &rs, &rp);
        assert_true(rp < 1e-23 && rs > 0.1);
        our_reflectance(n, radians(rows[k][3]), &rs, &rp);
        assert_true(rp < 1e-23 && rs > 0.1);
    }
}

/* ---- Walsh: mean over Lambertian light ---- */

/* Walsh 1926, as given by Duntley 1942 (the closed form from memory); the values are also quadratures to 45 digits.
 * Escape: the share of an isotropic source inside that leaves by one flat face. */
struct walsh_row {
    double n, external, internal, escape;
};
static const struct walsh_row walsh_rows[] = {
    {1.41, 0.0783354816330, 0.536409376607, 0.134861922282}, {1.49, 0.0903061852930, 0.590246468760, 0.116824810227},
    {1.5, 0.0917779593424, 0.596345759708, 0.114833136448},  {1.586, 0.104245461780, 0.643891244870, 0.0996370982529},
    {2.5, 0.221866573522, 0.875498651764, 0.0324275395575},  {1.0003, 9.96749951e-5, 6.99345325e-4, 0.486940072032},
};
enum { WALSH_ROWS = sizeof walsh_rows / sizeof *walsh_rows };

/* Integral of reflectance (or transmittance) x sin x (cos or 1) from 0 to `end`; the angle is end (1 - w^4), which
 * takes the roots out of the critical and of the grazing end. Simpson. */
static double mean_over_angles(double ratio, double end, bool through, bool cosine) {
    const int steps = 20000;
    double sum = 0;
    for (int i = 0; i <= steps; i++) {
        const double w = (double)i / steps, angle = end * (1 - w * w * w * w);
        double rs, rp;
        our_reflectance(ratio, angle, &rs, &rp);
        const double mean = 0.5 * (rs + rp), value = through ? 1 - mean : mean;
        const double weight = i == 0 || i == steps ? 1 : i % 2 ? 4 : 2;
        sum += weight * value * sin(angle) * (cosine ? cos(angle) : 1) * end * 4 * w * w * w;
    }
    return sum / (3 * steps);
}

static int wrong_means(bool cosine) {
    int wrong = 0;
    for (int i = 0; i < WALSH_ROWS; i++) {
        const struct walsh_row *row = &walsh_rows[i];
        const double critical = asin(1 / row->n);
        const double external = (cosine ? 2 : 1) * mean_over_angles(1 / row->n, pi / 2, false, cosine);
        const double total = 1 - 1 / (row->n * row->n); /* share of a Lambertian flux beyond the critical angle */
        const double internal = (cosine ? 2 : 1) * mean_over_angles(row->n, critical, false, cosine) + total;
        const double escape = 0.5 * mean_over_angles(row->n, critical, true, !cosine);
        wrong += !(fabs(external - row->external) < 1e-10 * (row->n < 1.05 ? 1e-2 : 1));
        wrong += !(fabs(internal - row->internal) < 1e-10);
        wrong += !(fabs(escape - row->escape) < 1e-10);
    }
    return wrong;
}

static void lambertian_means_are_walshs(void **state) {
    (void)state;
    assert_int_equal(wrong_means(true), 0);
    assert_true(wrong_means(false) >= 3 * WALSH_ROWS - 1); /* twin: the cosine at the wrong place */
    for (int i = 0; i < 5; i++) { /* the closed form of 1926 itself; at 1.0003 it loses its digits */
        const double n = walsh_rows[i].n, n2 = n * n, n4 = n2 * n2;
        const double closed = 0.5 + (n - 1) * (3 * n + 1) / (6 * (n + 1) * (n + 1)) +
                              n2 * pow(n2 - 1, 2) / pow(n2 + 1, 3) * log((n - 1) / (n + 1)) -
                              2 * n * n2 * (n2 + 2 * n - 1) / ((n2 + 1) * (n4 - 1)) +
                              8 * n4 * (n4 + 1) / ((n2 + 1) * pow(n4 - 1, 2)) * log(n);
        assert_true(fabs(closed - 2 * mean_over_angles(1 / n, pi / 2, false, true)) < 1e-10);
        assert_true(fabs(1 - (1 - closed) / n2 - walsh_rows[i].internal) < 1e-10);
    }
}

/* ---- directions ---- */

/* Snell's law as vectors and Fresnel's reflectances (Born and Wolf 1999, sec. 3.2.2 and 1.5.2), from 50 digits; every
 * row was checked for n sin = n' sin' and unit length to 40 of them. */
struct turn {
    double ratio, direction[3], normal[3];
    double through[3], back[3], reflectance; /* reflectance 1: total; a back of zeros is not looked at */
    double tolerance;
};
#define SEVENTH(a, b, c) \
    { a / 7.0, b / 7.0, c / 7.0 }
static const struct turn turns[] = {
    {1 / 1.49, {0, 0, 1}, {0, 0, -1}, {0, 0, 1}, {0, 0, -1}, 0.0387251818519, 4.5e-16},
    {1 / 1.49,
     {0.6, 0, 0.8},
     {0.28, 0, -0.96},
     {0.27921766433215036, 0, 0.96022783542495716},
     {0.936, 0, -0.352},
     0.0630084717159,
     4.5e-16},
    {1 / 1.49,
     {0.6, 0, 0.8},
     {-0.28, 0, 0.96},
     {0.27921766433215036, 0, 0.96022783542495716},
     {0.936, 0, -0.352},
     0.0630084717159,
     4.5e-16},
    {1 / 1.586,
     SEVENTH(2, 3, 6),
     {1 / 3.0, -2 / 3.0, -2 / 3.0},
     {0.036008205765871859, 0.55850061242790319, 0.82872219412489473},
     {0.79365079365079365, -0.58730158730158730, -0.15873015873015873},
     0.0578747000851,
     4.5e-16},
    {1.49,
     SEVENTH(2, 3, 6),
     {0.15617376188860607, -0.31234752377721214, -0.93704257133163640},
     {0.51776653272353748, 0.45446693455292505, 0.72482937508734657},
     {0},
     0.0461096844314,
     4.5e-16},
    {1 / 1.49,
     {0.99999999984769129, 0, 1.7453292519057202e-5},
     {0, 0, -1},
     {0.67114093949509483, 0, 0.74132977771949878},
     {0},
     0.999898245473,
     4.5e-16},
    {1.49,
     {0.67114093885598566, 0, 0.74132977829809732},
     {0, 0, -1},
     {0.99999999889541863, 0, 4.7001731213948e-5},
     {0},
     0.999726001965,
     1e-11},
    {1.49, {0.67114094033864521, 0, 0.74132977695581347}, {0, 0, -1}, {0}, {0}, 1, 0},
};
enum { TURNS = sizeof turns / sizeof *turns };

/* One surface; `clamp`, `inverted`, `unturned`: the twins. Returns the reflectance. */
enum turn_way { TURN_OURS, TURN_INVERTED, TURN_NORMAL_UNTURNED, TURN_CLAMPED };

static double turn_at(const struct turn *turn, enum turn_way way, double through[3], double back[3]) {
    static const double nowhere[3] = {0, 0, 0};
    struct path in, out;
    struct meeting meeting;
    path_start(&in, nowhere, turn->direction);
    meeting_find(&in, turn->normal, way == TURN_INVERTED ? 1 / turn->ratio : turn->ratio, &meeting);
    if (way == TURN_NORMAL_UNTURNED)
        for (int i = 0; i < 3; i++)
            meeting.normal[i] = turn->normal[i];
    if (way == TURN_CLAMPED && meeting.fresnel.total)
        meeting.reflectance = 0.999; /* goes on along the surface */
    out = in;
    meeting_reflect(&meeting, &out);
    for (int i = 0; i < 3; i++)
        back[i] = out.direction[i];
    out = in;
    meeting_refract(&meeting, &out);
    for (int i = 0; i < 3; i++)
        through[i] = out.direction[i];
    return meeting.reflectance;
}

static bool turn_is_right(const struct turn *turn, enum turn_way way) {
    double through[3], back[3];
    const double reflectance = turn_at(turn, way, through, back);
    if (turn->reflectance == 1)
        return reflectance == 1;
    const bool look_back = turn->back[0] != 0 || turn->back[2] != 0;
    bool right = fabs(reflectance - turn->reflectance) < (turn->tolerance > 1e-15 ? 1e-9 : 6e-13);
    for (int i = 0; i < 3; i++) {
        right = right && fabs(through[i] - turn->through[i]) <= turn->tolerance;
        right = right && (!look_back || fabs(back[i] - turn->back[i]) <= turn->tolerance);
    }
    return right;
}

static int wrong_turns(enum turn_way way) {
    int wrong = 0;
    for (int i = 0; i < TURNS; i++)
        wrong += !turn_is_right(&turns[i], way);
    return wrong;
}

static void rays_turn_as_snell_says(void **state) {
    (void)state;
    assert_int_equal(wrong_turns(TURN_OURS), 0);
    assert_true(wrong_turns(TURN_INVERTED) >= TURNS - 2);
    assert_int_equal(wrong_turns(TURN_NORMAL_UNTURNED), 1);
    assert_int_equal(wrong_turns(TURN_CLAMPED), 1);
}

/* ---- polarisation ---- */

/* Incidence at Brewster's angle leaves light that swings in s alone; a second such plate, its plane of incidence
 * turned by phi, sends back Rs cos^2 phi of it (Malus 1809; Born and Wolf sec. 1.5.3). Twin: the reference is not
 * turned. */
static void two_brewster_plates_obey_malus(void **state) {
    (void)state;
    static const double nowhere[3] = {0, 0, 0}, plate[3] = {0, 0, 1};
    const double n = 1.49, brewster = atan(n), rs = pow((1 - n * n) / (1 + n * n), 2);
    const double in[3] = {sin(brewster), 0, -cos(brewster)};
    int twin_wrong = 0;
    for (int i = 0; i < 36; i++) {
        const double phi = radians(10 * i + 3);
        struct path path;
        struct meeting meeting;
        path_start(&path, nowhere, in);
        meeting_find(&path, plate, 1 / n, &meeting);
        meeting_reflect(&meeting, &path);
        assert_true(fabs(path.q - 1) < 1e-14 && fabs(path.u) < 1e-14 && fabs(path.v) < 1e-14);
        /* The reflected ray d; the second normal stands at Brewster's angle from -d, turned by phi about d. */
        const double *d = path.direction, y[3] = {0, 1, 0};
        const double x[3] = {y[1] * d[2] - y[2] * d[1], y[2] * d[0] - y[0] * d[2], y[0] * d[1] - y[1] * d[0]};
        double second[3];
        for (int k = 0; k < 3; k++)
            second[k] = -cos(brewster) * d[k] + sin(brewster) * (cos(phi) * x[k] + sin(phi) * y[k]);
        const double unturned = rs * 0.5 * (1 + path.q);
        meeting_find(&path, second, 1 / n, &meeting);
        assert_true(fabs(meeting.reflectance - rs * cos(phi) * cos(phi)) < 1e-14);
        twin_wrong += fabs(unturned - rs * cos(phi) * cos(phi)) > 1e-3;
    }
    assert_true(twin_wrong > 30);
}

/* Phase difference after one total reflection of light that swings at 45 deg, in degrees. */
static double total_phase(double n, double angle_deg) {
    static const double nowhere[3] = {0, 0, 0}, normal[3] = {0, 0, 1};
    const double angle = radians(angle_deg), in[3] = {sin(angle), 0, cos(angle)};
    struct path path;
    struct meeting meeting;
    path_start(&path, nowhere, in);
    meeting_find(&path, normal, n, &meeting);
    path.u = 1;
    meeting_reflect(&meeting, &path);
    assert_true(fabs(path.u * path.u + path.v * path.v - 1) < 1e-14);
    return atan2(fabs(path.v), path.u) * (180 / pi);
}

/* Fresnel's rhomb, index 1.51: 45 deg a reflection at 48 deg 37' and 54 deg 37', at most 45 deg 56' at 51 deg 20'
 * (Born and Wolf sec. 1.5.4), printed to minutes of arc. Two of them turn light at 45 deg into circular light. */
static void fresnels_rhomb_makes_circular_light(void **state) {
    (void)state;
    const double minute = 1 / 60.0;
    assert_true(fabs(total_phase(1.51, 48 + 37 * minute) - 45) < 2 * minute);
    assert_true(fabs(total_phase(1.51, 54 + 37 * minute) - 45) < 2 * minute);
    assert_true(fabs(total_phase(1.51, 51 + 20 * minute) - (45 + 56 * minute)) < 2 * minute);
    assert_true(fabs(total_phase(1.49, 54 + 37 * minute) - 45) > 20 * minute); /* twin: another glass */

    static const double nowhere[3] = {0, 0, 0}, above[3] = {0, 0, 1}, below[3] = {0, 0, -1};
    const double angle = radians(54 + 37 * minute), in[3] = {sin(angle), 0, cos(angle)};
    struct path path;
    struct meeting meeting;
    path_start(&path, nowhere, in);
    meeting_find(&path, above, 1.51, &meeting);
    path.u = 1;
    meeting_reflect(&meeting, &path);
    meeting_find(&path, below, 1.51, &meeting);
    meeting_reflect(&meeting, &path);
    assert_true(fabs(path.v) > 0.999999 && fabs(path.u) < 1.5e-3 && fabs(path.q) < 1e-12);
}

/* ---- slabs in air: every path followed to its end ---- */

struct slab_row {
    double n, degrees;
    int slabs;
    double exact, averaged;
};
static const struct slab_row slab_rows[] = {
    {1.49, 0, 1, 0.9254370982, 0.9254370982},   {1.49, 45, 1, 0.9097504314, 0.9068595384},
    {1.49, 60, 1, 0.8505025337, 0.8390441493},  {1.49, 80, 1, 0.4597927722, 0.4430132403},
    {1.586, 60, 1, 0.8288803194, 0.8131499198}, {1.49, 0, 5, 0.7128333931, 0.7128333931},
    {1.49, 45, 5, 0.7144359703, 0.6607057751},  {1.49, 60, 5, 0.6520806294, 0.5104223165},
    {1.49, 80, 5, 0.1616123489, 0.1372430325},  {1.586, 60, 5, 0.6357605790, 0.4653483865},
};
enum { SLAB_ROWS = sizeof slab_rows / sizeof *slab_rows };

/* As the engine traces it: a stack of infinite planes, air between them. */
static struct optic stack_of(double n, int slabs) {
    struct optic optic = {.material_count = 2, .size_mm = 2 * slabs};
    optic.materials[0] = (struct optic_material){1, 0, true, 0};
    optic.materials[1] = (struct optic_material){n, 0, false, 0};
    for (int i = 0; i < 2 * slabs; i++) {
        struct patch *patch = &optic.patches[optic.patch_count++];
        *patch = patch_plane(i + 1);
        patch->down = i % 2;
        patch->up = !patch->down;
    }
    return optic;
}

static bool path_gets_through(const struct slab_row *row, const struct optic *stack, struct pcg32 *random) {
    static const double below[3] = {0, 0, 0};
    const double angle = radians(row->degrees), in[3] = {sin(angle) * 0.6, sin(angle) * 0.8, cos(angle)};
    struct optic_outcome out;
    optic_trace(stack, below, in, random, &out);
    assert_true(out.fate == OPTIC_EXIT || (out.fate == OPTIC_ABSORBED && out.loss == LUXFALL_LOSS_RETURNED));
    return out.fate == OPTIC_EXIT;
}

/* Twin: polarisation forgotten at every surface. */
static bool forgetful_path_gets_through(const struct slab_row *row, struct pcg32 *random) {
    static const double nowhere[3] = {0, 0, 0}, normal[3] = {0, 0, 1};
    const double angle = radians(row->degrees), in[3] = {sin(angle) * 0.6, sin(angle) * 0.8, cos(angle)};
    struct path path;
    path_start(&path, nowhere, in);
    int layer = 0; /* 0 before the stack, odd in material, 2 slabs behind it */
    do {
        struct meeting meeting;
        path.q = path.u = path.v = 0;
        meeting_find(&path, normal, layer % 2 ? row->n : 1 / row->n, &meeting);
        const int step = path.direction[2] > 0 ? 1 : -1;
        if (0x1p-32 * pcg32_next(random) < meeting.reflectance) {
            meeting_reflect(&meeting, &path);
        } else {
            meeting_refract(&meeting, &path);
            layer += step;
        }
    } while (layer > 0 && layer < 2 * row->slabs);
    return layer > 0;
}

/* Share of the paths that come through, less the expected one, in standard errors. */
static double slab_deviation(const struct slab_row *row, bool forget, double expected) {
    struct pcg32 random = pcg32_seed(20260101, (uint64_t)(row - slab_rows));
    const struct optic stack = stack_of(row->n, row->slabs);
    const long paths =
        row->slabs == 1 ? 500000 : 100000; /* so many that every twin stands out by more than 6 errors */
    long through = 0;
    for (long i = 0; i < paths; i++)
        through += forget ? forgetful_path_gets_through(row, &random) : path_gets_through(row, &stack, &random);
    const double error = sqrt(expected * (1 - expected) / (double)paths);
    return ((double)through / (double)paths - expected) / error;
}

/* Exact: the series of all reflections summed for s and for p, then averaged (Born and Wolf sec. 1.6.2 without
 * interference; T = (1 - R) / (1 + (2 m - 1) R) for m slabs). The twin forgets the polarisation at every surface, and
 * so meets the other column. */
static void slabs_let_through_what_both_polarisations_do(void **state) {
    (void)state;
    for (int i = 0; i < SLAB_ROWS; i++) {
        assert_true(fabs(slab_deviation(&slab_rows[i], false, slab_rows[i].exact)) < 4);
        if (slab_rows[i].degrees > 0) {
            assert_true(fabs(slab_deviation(&slab_rows[i], true, slab_rows[i].exact)) > 4);
            assert_true(fabs(slab_deviation(&slab_rows[i], true, slab_rows[i].averaged)) < 4);
        }
    }
}

/* ---- Walsh, traced: light at one flat face ---- */

enum source { SOURCE_ISOTROPIC, SOURCE_LAMBERTIAN, SOURCE_HEMISPHERE };

/* Share of the light of a point 1 mm before a plane that goes through it. */
static double share_through_face(double before, double beyond, enum source source, int rays, uint64_t seed) {
    struct optic face = {.material_count = 2, .patch_count = 1, .size_mm = 1};
    static const double at[3] = {0, 0, 0};
    struct pcg32 random = pcg32_seed(seed, 12);
    int through = 0;
    face.materials[0] = (struct optic_material){before, 0, true, 0};
    face.materials[1] = (struct optic_material){beyond, 0, true, 0};
    face.patches[0] = patch_plane(1);
    face.patches[0].up = 1;
    for (int i = 0; i < rays; i++) {
        const double u = pcg32_double(&random), around = 2 * pi * pcg32_double(&random);
        const double z = source == SOURCE_LAMBERTIAN ? sqrt(1 - u) : source == SOURCE_ISOTROPIC ? 1 - 2 * u : 1 - u;
        const double s = sqrt(1 - z * z), direction[3] = {s * cos(around), s * sin(around), z};
        struct optic_outcome out;
        optic_trace(&face, at, direction, &random, &out);
        through += out.fate == OPTIC_EXIT;
    }
    return (double)through / rays;
}

static double errors_off(double seen, double expected, int rays) {
    return fabs(seen - expected) / sqrt(expected * (1 - expected) / rays);
}

/* Walsh 1926: what a Lambertian light loses at the face from outside and from inside, and what of an isotropic one
 * escapes, counting the reflections. Twins: the cosine forgotten; inside taken for outside; the geometric escape (1 -
 * sqrt(1 - 1/n^2)) / 2. */
static void traced_means_are_walshs(void **state) {
    (void)state;
    const int rays = 100000;
    for (int i = 0; i < 5; i++) {
        const struct walsh_row *row = &walsh_rows[i];
        const double in = share_through_face(1, row->n, SOURCE_LAMBERTIAN, rays, 2 * (uint64_t)i);
        const double out = share_through_face(row->n, 1, SOURCE_LAMBERTIAN, rays, 2 * (uint64_t)i + 1);
        const double escape = share_through_face(row->n, 1, SOURCE_ISOTROPIC, rays, 20 + (uint64_t)i);
        assert_true(errors_off(in, 1 - row->external, rays) < 4);
        assert_true(errors_off(out, 1 - row->internal, rays) < 4);
        assert_true(errors_off(escape, row->escape, rays) < 4);
        const double even_in = share_through_face(1, row->n, SOURCE_HEMISPHERE, rays, 40 + (uint64_t)i);
        const double even_out = share_through_face(row->n, 1, SOURCE_HEMISPHERE, rays, 60 + (uint64_t)i);
        assert_true(errors_off(even_in, 1 - row->external, rays) > 4);
        assert_true(errors_off(even_out, 1 - row->internal, rays) > 4);
        assert_true(errors_off(in, 1 - row->internal, rays) > 4);
        assert_true(errors_off(escape, (1 - sqrt(1 - 1 / (row->n * row->n))) / 2, rays) > 4);
    }
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(reflectances_are_fresnels),
        cmocka_unit_test(wrong_laws_of_reflectance_fail),
        cmocka_unit_test(both_forms_agree_to_rounding),
        cmocka_unit_test(special_angles_are_where_they_should_be),
        cmocka_unit_test(lambertian_means_are_walshs),
        cmocka_unit_test(rays_turn_as_snell_says),
        cmocka_unit_test(two_brewster_plates_obey_malus),
        cmocka_unit_test(fresnels_rhomb_makes_circular_light),
        cmocka_unit_test(slabs_let_through_what_both_polarisations_do),
        cmocka_unit_test(traced_means_are_walshs),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
