#include "lenses/material.h"
#include "fail.h"

#include <math.h>
#include <stdio.h>
#include <string.h>

enum form {
    FORM_SELLMEIER, /* METHODS eq. (60): B, C, B, C, ... */
    FORM_POWERS,    /* METHODS eq. (61): n^2 = sum a l^p, as a, p, a, p, ... */
    FORM_CAUCHY     /* METHODS eq. (62): A, B, C, ... */
};
enum { TERMS_MAX = 14 };

struct known {
    struct luxfall_material_entry entry;
    enum form form;
    int count;
    double terms[TERMS_MAX];
};

/* Index at 20 C against air. Coefficients after the open refractive-index database, Polyanskiy, Sci. Data 11, 94
 * (2024), which names the papers; METHODS sec. 5. The one-term acrylic is that of the paper from which the other two
 * plastics come: good for n to 0.001, for its change over wavelength to a tenth only. */
static const struct known table[] = {
    {{"acrylic", "PMMA", "Beadie and others, 2015", 0.42, 1.62},
     FORM_POWERS,
     14,
     {2.1778, 0, 6.1209e-3, 2, -1.5004e-3, 4, 2.3678e-2, -2, -4.2137e-3, -4, 7.3417e-4, -6, -4.5042e-5, -8}},
    {{"acrylic one-term", NULL, "Sultanova and others, 2009", 0.437, 1.052}, FORM_SELLMEIER, 2, {1.1819, 0.011313}},
    {{"polycarbonate", "PC", "Sultanova and others, 2009", 0.437, 1.052}, FORM_SELLMEIER, 2, {1.4182, 0.021304}},
    {{"polystyrene", "PS", "Sultanova and others, 2009", 0.437, 1.052}, FORM_SELLMEIER, 2, {1.4435, 0.020216}},
    {{"silicone", "PDMS", "Schneider and others, 2009", 0.35, 0.70}, FORM_SELLMEIER, 2, {1.0093, 0.013185}},
    {{"crown glass", "517642", "the maker's catalogue, by Polyanskiy, 2024", 0.3, 2.5},
     FORM_SELLMEIER,
     6,
     {1.03961212, 0.00600069867, 0.231792344, 0.0200179144, 1.01046945, 103.560653}},
    {{"fused silica", "silica", "Malitson, 1965", 0.21, 3.71},
     FORM_SELLMEIER,
     6,
     {0.6961663, 0.0684043 * 0.0684043, 0.4079426, 0.1162414 * 0.1162414, 0.8974794, 9.896161 * 9.896161}},
};
enum { KNOWN_COUNT = sizeof table / sizeof *table };

const struct luxfall_material_entry *luxfall_material_entry(size_t i) {
    return i < KNOWN_COUNT ? &table[i].entry : NULL;
}

static const struct known *known_as(const char *name) {
    for (size_t i = 0; name && i < KNOWN_COUNT; i++)
        if (strcmp(table[i].entry.name, name) == 0 ||
            (table[i].entry.other_name && strcmp(table[i].entry.other_name, name) == 0))
            return &table[i];
    return NULL;
}

const struct luxfall_material_entry *luxfall_material_known(const struct luxfall_material *material) {
    const struct known *known = material->kind == LUXFALL_MATERIAL_NAMED ? known_as(material->name) : NULL;
    return known ? &known->entry : NULL;
}

/* ---- what makes sense ------------------------------------------------------------------------------------------ */

static enum luxfall_status validate_terms(const struct luxfall_material *material, struct luxfall_error *error) {
    const bool pairs = material->kind == LUXFALL_MATERIAL_SELLMEIER;
    if (material->term_count < 1 || material->term_count > LUXFALL_MATERIAL_TERMS_MAX ||
        (pairs && material->term_count % 2 != 0))
        return fail(error, LUXFALL_E_VALUE, 0, "a material has 1 to %d terms, those of Sellmeier in pairs, not %d",
                    LUXFALL_MATERIAL_TERMS_MAX, material->term_count);
    for (int i = 0; i < material->term_count; i++) {
        if (!isfinite(material->terms[i]))
            return fail(error, LUXFALL_E_VALUE, 0, "term %d of the material is no number", i + 1);
        if (pairs && i % 2 == 1 && material->terms[i] < 0)
            return fail(error, LUXFALL_E_VALUE, 0, "the C of %g um^2 of the material must not be below 0",
                        material->terms[i]);
    }
    return LUXFALL_OK;
}

static enum luxfall_status validate_absorption(const struct luxfall_material *material, struct luxfall_error *error) {
    if (material->transmittance_mm == 0)
        return LUXFALL_OK;
    if (!(material->transmittance_mm > 0 && isfinite(material->transmittance_mm)))
        return fail(error, LUXFALL_E_VALUE, 0, "a transmittance holds over a length above 0 mm, not %g mm",
                    material->transmittance_mm);
    if (!(material->transmittance > 0 && material->transmittance <= 1))
        return fail(error, LUXFALL_E_VALUE, 0, "the transmittance %g of the material must be above 0 and at most 1",
                    material->transmittance);
    return LUXFALL_OK;
}

enum luxfall_status material_validate(const struct luxfall_material *material, struct luxfall_error *error) {
    enum luxfall_status status = LUXFALL_OK;
    switch (material->kind) {
    case LUXFALL_MATERIAL_INDEX:
        if (!(material->index > 1 && material->index <= 4))
            return fail(error, LUXFALL_E_VALUE, 0, "the index %g of the lens must be above 1 and at most 4",
                        material->index);
        break;
    case LUXFALL_MATERIAL_NAMED:
        if (!luxfall_material_known(material))
            return fail(error, LUXFALL_E_VALUE, 0, "no material '%.60s' is known",
                        material->name ? material->name : "");
        break;
    case LUXFALL_MATERIAL_SELLMEIER:
    case LUXFALL_MATERIAL_CAUCHY:
        status = validate_terms(material, error);
        break;
    default:
        return fail(error, LUXFALL_E_VALUE, 0, "there is no material of kind %d", (int)material->kind);
    }
    return status == LUXFALL_OK ? validate_absorption(material, error) : status;
}

double luxfall_material_absorption_per_mm(const struct luxfall_material *material) {
    return material->transmittance_mm > 0 ? fmax(-log(material->transmittance) / material->transmittance_mm, 0) : 0;
}

/* ---- index ----------------------------------------------------------------------------------------------------- */

/* low and high: where it holds; of the user's own terms the one wavelength at which they are taken to. */
struct formula {
    enum form form;
    int count;
    const double *terms;
    double low_um, high_um;
};

static struct formula formula_of(const struct luxfall_material *material) {
    const struct known *known = material->kind == LUXFALL_MATERIAL_NAMED ? known_as(material->name) : NULL;
    if (known)
        return (struct formula){known->form, known->count, known->terms, known->entry.low_um, known->entry.high_um};
    return (struct formula){material->kind == LUXFALL_MATERIAL_CAUCHY ? FORM_CAUCHY : FORM_SELLMEIER,
                            material->term_count, material->terms, LUXFALL_WAVELENGTH_UM, LUXFALL_WAVELENGTH_UM};
}

static double sellmeier_square(const double *terms, int count, double l_um) {
    const double l2 = l_um * l_um;
    double square = 1;
    for (int i = 0; i < count; i += 2)
        square += terms[i] * l2 / (l2 - terms[i + 1]);
    return square;
}

static double powers_square(const double *terms, int count, double l_um) {
    double square = 0;
    for (int i = 0; i < count; i += 2)
        square += terms[i] * pow(l_um, terms[i + 1]);
    return square;
}

static double cauchy_index(const double *terms, int count, double l_um) {
    double index = 0;
    for (int i = count - 1; i >= 0; i--)
        index = terms[i] + index / (l_um * l_um);
    return index;
}

static double square_at(const struct formula *formula, double l_um) {
    if (formula->form == FORM_SELLMEIER)
        return sellmeier_square(formula->terms, formula->count, l_um);
    if (formula->form == FORM_POWERS)
        return powers_square(formula->terms, formula->count, l_um);
    const double index = cauchy_index(formula->terms, formula->count, l_um);
    return index > 0 ? index * index : 0;
}

/* Beyond an absorption line a Sellmeier formula has values again, and they mean nothing. NaN: none on the way. */
static double pole_on_the_way_um(const struct formula *formula, double l_um) {
    const double held_um = fmin(fmax(l_um, formula->low_um), formula->high_um);
    for (int i = 0; formula->form == FORM_SELLMEIER && i < formula->count; i += 2) {
        const double pole_um = sqrt(formula->terms[i + 1]);
        if (formula->terms[i] != 0 && pole_um >= fmin(l_um, held_um) && pole_um <= fmax(l_um, held_um))
            return pole_um;
    }
    return NAN;
}

static enum luxfall_status fail_index(const struct luxfall_material *material, double l_um, double square,
                                      double pole_um, struct luxfall_error *error) {
    const struct luxfall_material_entry *entry = luxfall_material_known(material);
    char formula[160];
    if (entry)
        snprintf(formula, sizeof formula, "the formula of %s, which holds from %g to %g nm,", entry->name,
                 entry->low_um * 1e3, entry->high_um * 1e3);
    else
        snprintf(formula, sizeof formula, "the formula of these terms, with wavelengths in um%s,",
                 material->kind == LUXFALL_MATERIAL_SELLMEIER ? " and C in um^2" : "");
    if (isfinite(pole_um))
        return fail(error, LUXFALL_E_VALUE, 0, "no index at %g nm: %s has a pole on the way there, at %.4g nm",
                    l_um * 1e3, formula, pole_um * 1e3);
    return fail(error, LUXFALL_E_VALUE, 0,
                "no index at %g nm: %s gives n^2 = %.4g, and n must be above 1 and at most 4", l_um * 1e3, formula,
                square);
}

enum luxfall_status luxfall_material_index(const struct luxfall_material *material, double wavelength_um, double *out,
                                           struct luxfall_error *error) {
    enum luxfall_status status = material_validate(material, error);
    if (status != LUXFALL_OK)
        return status;
    const double l_um = wavelength_um == 0 ? LUXFALL_WAVELENGTH_UM : wavelength_um;
    if (!(l_um > 0 && isfinite(l_um)))
        return fail(error, LUXFALL_E_VALUE, 0, "%g um is no wavelength", l_um);
    if (material->kind == LUXFALL_MATERIAL_INDEX) {
        *out = material->index;
        return LUXFALL_OK;
    }
    const struct formula formula = formula_of(material);
    const double square = square_at(&formula, l_um), pole_um = pole_on_the_way_um(&formula, l_um);
    if (isfinite(pole_um) || !(square > 1 && square <= 16))
        return fail_index(material, l_um, square, pole_um, error);
    *out = sqrt(square);
    return LUXFALL_OK;
}
