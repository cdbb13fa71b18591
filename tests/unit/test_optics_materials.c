/* Refractive index over wavelength, Abbe numbers and absorption of lens materials, and light through slabs that
 * absorb, against published formulas.
 *
 * Sources. Coefficients: the open refractive-index database, Polyanskiy, Sci. Data 11, 94 (2024), and the papers that
 * it names: Beadie and others, Appl. Opt. 54, F139 (2015); Sultanova, Kasarova and Nikolov, Acta Phys. Pol. A 116,
 * 585 (2009); Schneider and others, Sens. Actuators A 151, 95 (2009); Malitson, J. Opt. Soc. Am. 55, 1205 (1965).
 * Spectral lines F' F e d C' C: ISO 7944:1998 (from memory). The values were worked out from those coefficients with
 * 50 digits. */
#include "statistics/workbench.h"
#include "unit/one_ray.h"

/* ---- index and Abbe numbers ---- */

static const double lines_um[6] = {0.47999, 0.48613, 0.54607, 0.58756, 0.64385, 0.65627};
enum line { LINE_F1, LINE_F, LINE_E, LINE_D, LINE_C1, LINE_C };

/* Values: n at the six lines, the two Abbe numbers (derived from Polyanskiy 2024 with 50 digits). */
struct material_row {
    const char *name, *other_name;
    double n[6], vd, ve;
};
static const struct material_row rows[] = {
    {"acrylic one-term",
     NULL,
     {1.49764230, 1.49710502, 1.49281876, 1.49061825, 1.48830754, 1.48787855},
     53.175068,
     52.793932},
    {"acrylic",
     "PMMA",
     {1.49885546, 1.49836337, 1.49449016, 1.49252751, 1.49045575, 1.49006688},
     59.365794,
     58.869897},
    {"polycarbonate",
     "PC",
     {1.60084405, 1.59959842, 1.58975386, 1.58476284, 1.57956704, 1.57860746},
     27.857840,
     27.717889},
    {"polystyrene",
     "PS",
     {1.60696784, 1.60578156, 1.59639575, 1.59163035, 1.58666445, 1.58574679},
     29.530179,
     29.374206},
    {"silicone",
     "PDMS",
     {1.43894665, 1.43838058, 1.43387314, 1.43156493, 1.42914537, 1.42869666},
     44.565095,
     44.267027},
    {"crown glass",
     "517642",
     {1.52282934, 1.52237649, 1.51872218, 1.51680011, 1.51471921, 1.51432243},
     64.166410,
     63.959752},
    {"fused silica",
     "silica",
     {1.46350280, 1.46312665, 1.46007830, 1.45846375, 1.45670397, 1.45636669},
     67.820478,
     67.670225},
};
enum { MATERIALS = sizeof rows / sizeof *rows };

static struct luxfall_material named(const char *name) {
    return (struct luxfall_material){.kind = LUXFALL_MATERIAL_NAMED, .name = name};
}

static double index_at(const struct luxfall_material *material, double wavelength_um) {
    double n = NAN;
    return luxfall_material_index(material, wavelength_um, &n, NULL) == LUXFALL_OK ? n : NAN;
}

static double abbe(const double n[6], enum line middle, enum line blue, enum line red) {
    return (n[middle] - 1) / (n[blue] - n[red]);
}

/* The table has eight decimals; the rest of the 1e-9 is its rounding. */
static bool row_holds(const struct material_row *row, const double n[6]) {
    for (int i = 0; i < 6; i++)
        if (!(fabs(n[i] - row->n[i]) < 5.5e-9))
            return false;
    return fabs(abbe(n, LINE_D, LINE_F, LINE_C) - row->vd) < 1e-6 &&
           fabs(abbe(n, LINE_E, LINE_F1, LINE_C1) - row->ve) < 1e-6;
}

static void indices_at_the_lines(void **state) {
    (void)state;
    for (int m = 0; m < MATERIALS; m++) {
        const struct luxfall_material material = named(rows[m].name);
        double n[6], in_nm[6], mixed[6];
        for (int i = 0; i < 6; i++) {
            n[i] = index_at(&material, lines_um[i]);
            in_nm[i] = index_at(&material, lines_um[i] * 1e3); /* twin: l in nm */
        }
        assert_true(row_holds(&rows[m], n));
        assert_false(row_holds(&rows[m], in_nm));
        memcpy(mixed, n, sizeof mixed); /* twin: F' and C' taken for F and C */
        mixed[LINE_F] = n[LINE_F1];
        mixed[LINE_C] = n[LINE_C1];
        assert_true(fabs(abbe(mixed, LINE_D, LINE_F, LINE_C) - rows[m].vd) > 0.1);
        assert_true(fabs(abbe(n, LINE_D, LINE_F1, LINE_C1) - rows[m].vd) > 0.1);
    }
}

/* ---- digits beyond the table ---- */

/* The same formulas in their own words: 1e-9 and better, at many wavelengths (coefficients: Polyanskiy 2024). */
static double sellmeier(double l, int pairs, const double *b, const double *c) {
    double sum = 1;
    for (int i = 0; i < pairs; i++)
        sum += b[i] / (1 - c[i] / (l * l));
    return sqrt(sum);
}

static double acrylic(double l) {
    const double l2 = l * l;
    return sqrt(2.1778 + 6.1209e-3 * l2 - 1.5004e-3 * l2 * l2 +
                (2.3678e-2 + (-4.2137e-3 + (7.3417e-4 - 4.5042e-5 / l2) / l2) / l2) / l2);
}

static double fused_silica(double l, bool squared) {
    static const double b[] = {0.6961663, 0.4079426, 0.8974794}, c[] = {0.0684043, 0.1162414, 9.896161};
    double square[3];
    for (int i = 0; i < 3; i++)
        square[i] = squared ? c[i] * c[i] : c[i];
    return sellmeier(l, 3, b, square);
}

static void formulas_over_their_range(void **state) {
    (void)state;
    static const double crown_b[] = {1.03961212, 0.231792344, 1.01046945},
                        crown_c[] = {0.00600069867, 0.0200179144, 103.560653};
    static const double one_b[] = {1.1819, 1.4182, 1.4435, 1.0093},
                        one_c[] = {0.011313, 0.021304, 0.020216, 0.013185};
    static const char *const one[] = {"acrylic one-term", "polycarbonate", "polystyrene", "silicone"};
    const struct luxfall_material plastic = named("acrylic"), crown = named("crown glass"),
                                  silica = named("fused silica");
    int unsquared = 0;
    for (int i = 0; i <= 40; i++) {
        const double l = 0.44 + 0.0065 * i;
        assert_true(fabs(index_at(&plastic, l) - acrylic(l)) < 1e-13);
        assert_true(fabs(index_at(&crown, l) - sellmeier(l, 3, crown_b, crown_c)) < 1e-13);
        assert_true(fabs(index_at(&silica, l) - fused_silica(l, true)) < 1e-13);
        unsquared += fabs(index_at(&silica, l) - fused_silica(l, false)) < 1e-3; /* twin: C not squared */
        for (int k = 0; k < 4; k++) {
            const struct luxfall_material material = named(one[k]);
            assert_true(fabs(index_at(&material, l) - sellmeier(l, 1, &one_b[k], &one_c[k])) < 1e-13);
        }
    }
    assert_int_equal(unsquared, 0);
}

/* Measured plastics (Sultanova, Kasarova and Nikolov 2009): n to 0.001. One-term acrylic holds n so well, and its
 * Abbe number six too low; the other one is that of the 2015 paper. */
static void measured_plastics(void **state) {
    (void)state;
    static const struct {
        const char *name;
        double blue, yellow;
    } measured[] = {
        {"acrylic one-term", 1.497, 1.491}, {"polycarbonate", 1.599, 1.585}, {"polystyrene", 1.606, 1.592}};
    for (int i = 0; i < 3; i++) {
        const struct luxfall_material material = named(measured[i].name);
        assert_true(fabs(index_at(&material, lines_um[LINE_F]) - measured[i].blue) < 0.001);
        assert_true(fabs(index_at(&material, lines_um[LINE_D]) - measured[i].yellow) < 0.001);
    }
    double six[6], one[6];
    const struct luxfall_material plastic = named("acrylic"), one_term = named("acrylic one-term");
    for (int i = 0; i < 6; i++) {
        six[i] = index_at(&plastic, lines_um[i]);
        one[i] = index_at(&one_term, lines_um[i]);
    }
    assert_true(fabs(abbe(six, LINE_D, LINE_F, LINE_C) - 59.2) < 0.5);
    assert_true(fabs(abbe(one, LINE_D, LINE_F, LINE_C) - 59.2) > 5);
}

/* ---- names ---- */

static void every_material_has_names_and_a_range(void **state) {
    (void)state;
    const struct luxfall_material_entry *entry;
    size_t count = 0;
    for (; (entry = luxfall_material_entry(count)) != NULL; count++) {
        const struct luxfall_material by_name = named(entry->name), by_other = named(entry->other_name);
        assert_true(entry->low_um > 0 && entry->low_um < 0.45 && entry->high_um >= 0.65);
        assert_true(strlen(entry->source) > 8);
        assert_ptr_equal(luxfall_material_known(&by_name), entry);
        assert_true(entry->other_name == NULL || luxfall_material_known(&by_other) == entry);
        assert_true(isfinite(index_at(&by_name, entry->low_um)) && isfinite(index_at(&by_name, entry->high_um)));
    }
    assert_int_equal(count, MATERIALS); /* a material without a row above is told here */
    for (int m = 0; m < MATERIALS; m++) {
        const struct luxfall_material by_name = named(rows[m].name), by_other = named(rows[m].other_name);
        assert_non_null(luxfall_material_known(&by_name));
        assert_true(rows[m].other_name == NULL || index_at(&by_other, 0.55) == index_at(&by_name, 0.55));
    }
    const struct luxfall_material none = named("butter"), nameless = named(NULL), constant = {.index = 1.5};
    assert_null(luxfall_material_known(&none));
    assert_null(luxfall_material_known(&nameless));
    assert_null(luxfall_material_known(&constant));
}

/* ---- a user's own numbers ---- */

static bool refused(const struct luxfall_material *material, double wavelength_um, const char *word) {
    struct luxfall_error error = {0};
    double n = 7;
    return luxfall_material_index(material, wavelength_um, &n, &error) == LUXFALL_E_VALUE && n == 7 &&
           error.status == LUXFALL_E_VALUE && strstr(error.text, word) != NULL;
}

/* The crown glass of the table by its own terms (Polyanskiy 2024), and hand-made Cauchy terms. */
static const struct luxfall_material own_crown = {
    .kind = LUXFALL_MATERIAL_SELLMEIER,
    .term_count = 6,
    .terms = {1.03961212, 0.00600069867, 0.231792344, 0.0200179144, 1.01046945, 103.560653}};

static void own_terms_and_constants(void **state) {
    (void)state;
    const struct luxfall_material constant = {.kind = LUXFALL_MATERIAL_INDEX, .index = 1.49},
                                  crown = named("crown glass");
    const struct luxfall_material cauchy = {
        .kind = LUXFALL_MATERIAL_CAUCHY, .term_count = 3, .terms = {1.5, 0.004, 0.0002}};
    assert_true(index_at(&constant, 0.4) == 1.49 && index_at(&constant, 0.8) == 1.49);
    assert_true(index_at(&own_crown, 0.5) == index_at(&crown, 0.5));
    assert_true(index_at(&crown, 0) == index_at(&crown, LUXFALL_WAVELENGTH_UM));
    assert_true(fabs(index_at(&cauchy, 0.5) - (1.5 + 0.016 + 0.0032)) < 1e-15); /* derived by hand, l^2 = 1/4 */
    struct luxfall_material nm = cauchy;                                        /* twin: B and C meant for nm */
    nm.terms[1] *= 1e6;
    nm.terms[2] *= 1e12;
    assert_true(refused(&nm, 0.5, "wavelengths in um"));
    struct luxfall_material unsquared = own_crown; /* C as a wavelength: 0.141 for 0.02 passes, so n shows it */
    unsquared.terms[3] = sqrt(own_crown.terms[3]);
    assert_true(fabs(index_at(&unsquared, 0.58756) - 1.5168) > 0.04);
}

/* ---- where a formula breaks down ---- */

static void formulas_break_down_with_a_word(void **state) {
    (void)state;
    const struct luxfall_material crown = named("crown glass"), plastic = named("acrylic"), none = named("acrilic");
    /* Poles of the crown glass at sqrt(0.02002) = 141.5 nm and 10.2 um (definition). Between 77.5 and 141.5 nm the
     * formula has plausible values again: at 100 nm n^2 = 3.36 or so. */
    double square = 1 + 1.03961212 * 0.01 / (0.01 - 0.00600069867) + 0.231792344 * 0.01 / (0.01 - 0.0200179144);
    assert_true(square > 1 && square < 16);
    assert_true(refused(&crown, 0.1, "141.5 nm") && refused(&crown, 11, "1.018e+04 nm"));
    assert_true(refused(&crown, 0.1, "300 to 2500 nm"));
    assert_true(refused(&own_crown, 0.1, "pole") && refused(&own_crown, sqrt(0.0200179144), "pole"));
    assert_true(refused(&plastic, 0.12, "n^2"));
    assert_true(isfinite(index_at(&plastic, 0.405)) &&
                isfinite(index_at(&crown, 0.2))); /* outside, and still sound */
    assert_true(refused(&none, 0.55, "'acrilic'"));
    assert_true(refused(&crown, -0.5, "wavelength") && refused(&crown, NAN, "wavelength"));
}

static void senseless_materials_are_refused(void **state) {
    (void)state;
    struct luxfall_material m = {.index = 1};
    assert_true(refused(&m, 0.55, "index"));
    m.index = NAN;
    assert_true(refused(&m, 0.55, "index"));
    m = own_crown;
    m.term_count = 5;
    assert_true(refused(&m, 0.55, "pairs"));
    m.term_count = 14;
    assert_true(refused(&m, 0.55, "14"));
    m = own_crown;
    m.terms[1] = -0.006;
    assert_true(refused(&m, 0.55, "-0.006"));
    m.terms[1] = INFINITY;
    assert_true(refused(&m, 0.55, "term 2"));
    m = (struct luxfall_material){.index = 1.5, .transmittance = 1.01, .transmittance_mm = 10};
    assert_true(refused(&m, 0.55, "1.01"));
    m.transmittance = 0;
    assert_true(refused(&m, 0.55, "transmittance"));
    m = (struct luxfall_material){.index = 1.5, .transmittance = 0.9, .transmittance_mm = -1};
    assert_true(refused(&m, 0.55, "-1 mm"));
    m = (struct luxfall_material){.kind = (enum luxfall_material_kind)9};
    assert_true(refused(&m, 0.55, "kind"));
}

/* ---- Beer-Lambert ---- */

/* Values (derived; Born and Wolf, "Principles of Optics", 7th ed. 1999, for the law): what is left after a length.
 * The fourth is the imaginary index 2.2e-7 at 550 nm, 4 pi k / l = 0.005026548246 per mm; the last an internal
 * transmittance of 0.998 per 10 mm. */
static void what_is_left_after_a_length(void **state) {
    (void)state;
    static const struct {
        double per_mm, length_mm, left;
    } cases[] = {{0.0005, 10, 0.995012479193},
                 {0.005, 10, 0.951229424501},
                 {0.05, 100, 0.00673794699909},
                 {0.005026548246, 10, 0.9509769233},
                 {0.0002002002671, 25, 0.9950074975}};
    for (size_t i = 0; i < sizeof cases / sizeof *cases; i++) {
        const struct luxfall_material m = {
            .index = 1.5, .transmittance = cases[i].left, .transmittance_mm = cases[i].length_mm};
        const double a = luxfall_material_absorption_per_mm(&m);
        assert_true(fabs(a / cases[i].per_mm - 1) < 1e-7);
        assert_true(fabs(exp(-a * cases[i].length_mm) / cases[i].left - 1) < 1e-10);
        assert_true(fabs(-log10(cases[i].left) / cases[i].length_mm / cases[i].per_mm - 1) > 0.5); /* twin: log10 */
    }
    const struct luxfall_material sheet = {.index = 1.5, .transmittance = 0.998, .transmittance_mm = 10};
    assert_true(fabs(luxfall_material_absorption_per_mm(&sheet) / 0.0002002002671 - 1) < 1e-9);
    const struct luxfall_material clear = {.index = 1.5},
                                  whole = {.index = 1.5, .transmittance = 1, .transmittance_mm = 3};
    assert_true(luxfall_material_absorption_per_mm(&clear) == 0 && luxfall_material_absorption_per_mm(&whole) == 0);
}

/* ---- slabs that absorb ---- */

struct slab {
    double passed, returned, absorbed;
};
enum slab_twin { SLAB_OURS, SLAB_AVERAGED, SLAB_NO_SLANT, SLAB_FIRST_ONLY, SLAB_ONE_WAY };

/* One polarisation, R at each surface and a left after one crossing: T = (1-R)^2 a / (1 - R^2 a^2), R + (1-R)^2 R a^2
 * / (1 - R^2 a^2) (derived by the series of inner reflections; Born and Wolf 1999, sec. 1.6). */
static struct slab slab_of(double r, double a, enum slab_twin twin) {
    const double once = (1 - r) * (1 - r), inner = twin == SLAB_ONE_WAY ? r * r : r * r * a * a;
    const double series = twin == SLAB_FIRST_ONLY ? 1 : 1 / (1 - inner);
    const double back = twin == SLAB_FIRST_ONLY ? 0 : once * r * a * (twin == SLAB_ONE_WAY ? 1 : a) * series;
    const double passed = once * a * series;
    return (struct slab){passed, r + back, 1 - passed - r - back};
}

static struct slab slab_at(double n, double deg, double mm, double per_mm, enum slab_twin twin) {
    const double c = cos(deg * DEG), s = sin(deg * DEG) / n, d = sqrt(1 - s * s);
    const double rs = pow((c - n * d) / (c + n * d), 2), rp = pow((n * c - d) / (n * c + d), 2);
    const double a = exp(-per_mm * mm / (twin == SLAB_NO_SLANT ? 1 : d));
    if (twin == SLAB_AVERAGED)
        return slab_of((rs + rp) / 2, a, twin);
    const struct slab p = slab_of(rp, a, twin), q = slab_of(rs, a, twin);
    return (struct slab){(p.passed + q.passed) / 2, (p.returned + q.returned) / 2, (p.absorbed + q.absorbed) / 2};
}

/* Published forms, values (derived with 50 digits): index 1.49, 3 mm, 0.05 per mm, at 0 and 60 deg. */
static void slab_values(void **state) {
    (void)state;
    const struct slab straight = slab_at(1.49, 0, 3, 0.05, SLAB_OURS);
    const struct slab averaged = slab_at(1.49, 60, 3, 0.05, SLAB_AVERAGED);
    const struct slab exact = slab_at(1.49, 60, 3, 0.05, SLAB_OURS);
    assert_true(fabs(straight.passed - 0.7962211527) < 1e-10 && fabs(straight.returned - 0.06526408714) < 1e-11);
    assert_true(fabs(straight.absorbed - 0.1385147602) < 1e-10);
    assert_true(fabs(averaged.passed - 0.6961412465) < 1e-10 && fabs(averaged.returned - 0.1381921819) < 1e-10);
    assert_true(fabs(averaged.absorbed - 0.1656665716) < 1e-10);
    assert_true(fabs(exact.passed - 0.7045618004) < 1e-10);
    assert_true(fabs(slab_at(1.49, 60, 3, 0, SLAB_OURS).passed - 0.8505025337) < 1e-10);
}

/* A lens so flat that it is a plate: 1e-6 mm of sag where the light goes through. */
static struct luxfall_lens plate(double n, double mm, double per_mm, bool towards) {
    struct luxfall_lens lens = {.name = "plate", .kind = LUXFALL_LENS_SINGLET, .material = {.index = n}};
    lens.singlet = (struct luxfall_singlet){.diameter_mm = 2000, .thickness_mm = mm, .gap_mm = 1};
    *(towards ? &lens.singlet.towards : &lens.singlet.away) = (struct luxfall_side){.radius_mm = 1e8};
    lens.material.transmittance = exp(-per_mm * 10);
    lens.material.transmittance_mm = per_mm > 0 ? 10 : 0;
    return lens;
}

static struct slab traced_slab(const struct luxfall_lens *lens, double deg, int rays, uint64_t seed) {
    const struct solid_ray in = {{0, 0, 0}, {sin(deg * DEG) * cos(1), sin(deg * DEG) * sin(1), cos(deg * DEG)}};
    struct pcg32 random = pcg32_seed(seed, 11);
    struct optic optic;
    int ends[3] = {0};
    assert_int_equal(solid_validate(lens, NULL), LUXFALL_OK);
    assert_int_equal(solid_optic(lens, 0.55, &optic, NULL), LUXFALL_OK);
    for (int i = 0; i < rays; i++) {
        struct solid_outcome out;
        optic_trace_ray(&optic, &in, &random, &out);
        assert_true(out.fate == OPTIC_EXIT || out.fate == OPTIC_ABSORBED);
        assert_true(out.fate == OPTIC_EXIT || out.loss == LUXFALL_LOSS_RETURNED || out.loss == LUXFALL_LOSS_MATERIAL);
        ends[out.fate == OPTIC_EXIT ? 0 : out.loss == LUXFALL_LOSS_RETURNED ? 1 : 2]++;
    }
    return (struct slab){(double)ends[0] / rays, (double)ends[1] / rays, (double)ends[2] / rays};
}

static double errors_apart(double seen, double expected, int rays) {
    return fabs(seen - expected) / sqrt((expected * (1 - expected) + 1e-12) / rays);
}

static double slabs_apart(const struct slab *seen, const struct slab *expected, int rays) {
    return fmax(errors_apart(seen->passed, expected->passed, rays),
                fmax(errors_apart(seen->returned, expected->returned, rays),
                     errors_apart(seen->absorbed, expected->absorbed, rays)));
}

static void light_through_slabs_that_absorb(void **state) {
    (void)state;
    static const struct {
        double n, deg, mm, per_mm;
    } cases[] = {
        {1.49, 0, 3, 0.05}, {1.49, 60, 3, 0.05}, {1.49, 80, 3, 0.05}, {1.586, 70, 20, 0.02}, {2.4, 75, 8, 0.04}};
    const int rays = 400000;
    int caught[5] = {0};
    for (size_t i = 0; i < sizeof cases / sizeof *cases; i++) {
        const struct luxfall_lens lens = plate(cases[i].n, cases[i].mm, cases[i].per_mm, i % 2);
        const struct slab seen = traced_slab(&lens, cases[i].deg, rays, 60 + i);
        for (int twin = SLAB_OURS; twin <= SLAB_ONE_WAY; twin++) {
            const struct slab expected =
                slab_at(cases[i].n, cases[i].deg, cases[i].mm, cases[i].per_mm, (enum slab_twin)twin);
            caught[twin] += slabs_apart(&seen, &expected, rays) > 4;
        }
        print_message("[          ] passed %.4f returned %.4f absorbed %.4f\n", seen.passed, seen.returned,
                      seen.absorbed);
    }
    assert_int_equal(caught[SLAB_OURS], 0);
    assert_int_equal(caught[SLAB_AVERAGED], 4); /* all that are slanted */
    assert_int_equal(caught[SLAB_NO_SLANT], 4);
    assert_int_equal(caught[SLAB_FIRST_ONLY], 5);
    assert_true(caught[SLAB_ONE_WAY] >= 3);
}

/* ---- the ledger ---- */

static struct luxfall_result *traced(const struct luxfall_material *material, double wavelength_um, int threads) {
    struct bench b = {0};
    struct luxfall_emitter emitter = cosine_emitter(oblong_face(1, 1), 100, 1.0);
    struct luxfall_lens lens = {
        .name = "lens",
        .kind = LUXFALL_LENS_SINGLET,
        .singlet = {
            .diameter_mm = 20, .thickness_mm = 6, .gap_mm = 3, .away = {.radius_mm = 12}, .holder_open = true}};
    lens.material = *material;
    emitter.wavelength_um = wavelength_um;
    bench_map(&b, 300, 300, 5);
    bench_pose(&b, pose_down(0, 0, 200), bench_emitter(&b, emitter), bench_lens(&b, lens));
    bench_field(&b, 20, 20);
    struct luxfall_options options = bench_rays(1 << 14, 3);
    options.threads = threads;
    return bench_trace(&b, &options);
}

static bool same_plane(const struct luxfall_result *a, const struct luxfall_result *b) {
    const struct luxfall_plane_result *p = a->planes, *q = b->planes;
    return memcmp(p->e_lx, q->e_lx, (size_t)(p->columns * p->rows) * sizeof *p->e_lx) == 0 &&
           memcmp(&p->ledger, &q->ledger, sizeof p->ledger) == 0;
}

static void the_ledger_closes_with_absorption(void **state) {
    (void)state;
    double before_lm = 0;
    for (int i = 0; i < 12; i++) {
        const struct luxfall_material m = {.kind = LUXFALL_MATERIAL_NAMED,
                                           .name = "acrylic",
                                           .transmittance = exp(-0.1 * i * i),
                                           .transmittance_mm = 10};
        struct luxfall_result *result = traced(&m, 0, 1), *again = traced(&m, 0.55, 3);
        const struct luxfall_ledger *l = &result->planes[0].ledger;
        const double absorbed_lm = l->loss_lm[LUXFALL_LOSS_MATERIAL].value;
        assert_true(l->emitted_quanta ==
                    l->on_map_quanta + l->off_map_quanta + l->absorbed_quanta + l->abandoned_quanta);
        assert_true(fabs(l->emitted_lm.value - 100) < 1e-4);
        assert_true(i == 0 ? absorbed_lm == 0 : absorbed_lm > before_lm); /* the darker, the more */
        assert_true(same_plane(result, again)); /* 0 stands for 550 nm, and three threads for one */
        before_lm = absorbed_lm;
        luxfall_result_free(result);
        luxfall_result_free(again);
    }
    assert_true(before_lm > 40);
}

/* No absorption asked for: the same bits as ever, whichever way the index is said. And blue bends more than red. */
static void clear_materials_draw_no_numbers(void **state) {
    (void)state;
    const struct luxfall_material plastic = named("acrylic");
    struct luxfall_material constant = {.index = index_at(&plastic, 0.55)}, whole = plastic;
    whole.transmittance = 1;
    whole.transmittance_mm = 10;
    struct luxfall_result *a = traced(&plastic, 0.55, 1), *b = traced(&constant, 0.45, 2),
                          *c = traced(&whole, 0.55, 1);
    struct luxfall_result *blue = traced(&plastic, 0.45, 1), *red = traced(&plastic, 0.65, 1);
    assert_true(same_plane(a, b) && same_plane(a, c));
    assert_false(same_plane(a, blue) || same_plane(a, red));
    const double centre_blue = blue->planes[0].centre_lx.value, centre_red = red->planes[0].centre_lx.value;
    assert_true(centre_blue > 1.005 * centre_red); /* die inside the focal length: more bent, more gathered */
    luxfall_result_free(a);
    luxfall_result_free(b);
    luxfall_result_free(c);
    luxfall_result_free(blue);
    luxfall_result_free(red);
}

/* What a scene cannot mean is told with the lens that it is about. */
static void tracing_tells_of_an_index_that_is_not_there(void **state) {
    (void)state;
    const struct luxfall_material cases[] = {
        named("butter"), {.kind = LUXFALL_MATERIAL_CAUCHY, .term_count = 2, .terms = {1.5, 4000}}};
    for (int i = 0; i < 2; i++) {
        struct bench b = {0};
        struct luxfall_lens lens = plate(1.5, 3, 0, false), sound = plate(1.5, 3, 0, false);
        lens.material = cases[i];
        bench_map(&b, 100, 100, 5);
        bench_lens(&b, sound);
        bench_pose(&b, pose_down(0, 0, 200), bench_emitter(&b, cosine_emitter(point_face(), 9, 1.0)),
                   bench_lens(&b, lens));
        struct luxfall_scene scene = bench_scene(&b);
        struct luxfall_options options = bench_rays(1 << 10, 3);
        struct luxfall_result *result = NULL;
        struct luxfall_error error = {0};
        assert_int_equal(luxfall_trace(&scene, &options, &result, &error), LUXFALL_E_VALUE);
        assert_int_equal(error.item, 1);
        assert_non_null(strstr(error.text, i == 0 ? "butter" : "no index at 550 nm"));
        assert_null(result);
        b.emitters[0].wavelength_um = 550; /* nm for um */
        b.lenses[1] = sound;
        scene = bench_scene(&b);
        assert_int_equal(luxfall_trace(&scene, &options, &result, &error), LUXFALL_E_VALUE);
        assert_non_null(strstr(error.text, "wavelength"));
    }
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(indices_at_the_lines),
        cmocka_unit_test(formulas_over_their_range),
        cmocka_unit_test(measured_plastics),
        cmocka_unit_test(every_material_has_names_and_a_range),
        cmocka_unit_test(own_terms_and_constants),
        cmocka_unit_test(formulas_break_down_with_a_word),
        cmocka_unit_test(senseless_materials_are_refused),
        cmocka_unit_test(what_is_left_after_a_length),
        cmocka_unit_test(slab_values),
        cmocka_unit_test(light_through_slabs_that_absorb),
        cmocka_unit_test(the_ledger_closes_with_absorption),
        cmocka_unit_test(clear_materials_draw_no_numbers),
        cmocka_unit_test(tracing_tells_of_an_index_that_is_not_there),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
