#include "as_solid.h"

#include <math.h>

static const double DEGREE = 3.14159265358979323846 / 180;

/* The first module that has the lens; NULL: none. */
static const struct luxfall_module *user_of(const struct luxfall_scene *light, size_t lens) {
    for (size_t m = 0; m < light->module_count; m++)
        if (light->modules[m].lens == lens)
            return &light->modules[m];
    return NULL;
}

/* All dies together, as the one that a sheet would list. */
static struct luxfall_face die_of(const struct luxfall_emitter *emitter) {
    struct luxfall_face die = emitter->die;
    if (emitter->columns == 1 && emitter->rows == 1)
        return die;
    return (struct luxfall_face){LUXFALL_RECTANGLE, die.width_mm + (emitter->columns - 1) * emitter->pitch_x_mm,
                                 die.height_mm + (emitter->rows - 1) * emitter->pitch_y_mm};
}

static enum luxfall_status plan(const struct luxfall_beam *beam, const struct luxfall_face *die,
                                struct luxfall_error *error) {
    struct luxfall_collimator_plan unused;
    struct luxfall_lens lens = {.name = "solid",
                                .kind = LUXFALL_LENS_COLLIMATOR,
                                .material = {.kind = LUXFALL_MATERIAL_NAMED, .name = "acrylic"},
                                .collimator = {.diameter_mm = beam->face.width_mm}};
    luxfall_collimator_usual(&lens);
    return luxfall_collimator_for_beam(&lens, die, beam->beam_angle_rad, &unused, error);
}

static void print_plan(const struct luxfall_beam *beam, const struct luxfall_face *die, FILE *out) {
    fprintf(out, "{solid: collimator, material: acrylic, diameter: %.6g mm, beam_angle: %.6g deg, ",
            beam->face.width_mm, beam->beam_angle_rad / DEGREE);
    if (die->kind == LUXFALL_DISC)
        fprintf(out, "listed_die: disc %.6g mm, ", die->width_mm);
    else
        fprintf(out, "listed_die: %.6g mm x %.6g mm, ", die->width_mm, die->height_mm);
    fprintf(out, "efficiency: %.4g %%}\n", 100 * beam->efficiency);
}

/* What the solid's figures are worth for the lens that was bought: candela go as one over the square of the angle. */
static void print_band(const struct luxfall_beam *beam, FILE *out) {
    const double band = 0.15; /* common practice, no source */
    struct luxfall_beam_solution solution;
    if (luxfall_beam_solve(beam, NULL, &solution, NULL) != LUXFALL_OK)
        return; /* told when the scene was read */
    double angle_deg = beam->beam_angle_rad / DEGREE, peak = solution.peak_cd_per_lm;
    fprintf(out, "#   worth: a beam of %.3g to %.3g deg, %.3g to %.3g cd/lm on the axis\n", (1 - band) * angle_deg,
            (1 + band) * angle_deg, peak / pow(1 + band, 2), peak / pow(1 - band, 2));
}

static void print_lens(const struct luxfall_scene *light, const struct luxfall_lens *lens,
                       const struct luxfall_module *module, FILE *out) {
    struct luxfall_face die = die_of(&light->emitters[module->emitter]);
    struct luxfall_error error = {.text = ""};
    fprintf(out, "# %s: ", lens->name);
    if (lens->beam.face.kind != LUXFALL_DISC)
        fputs("none, a collimator has a round face\n", out);
    else if (die.kind == LUXFALL_POINT)
        fputs("none, the emitter has no size\n", out);
    else if (plan(&lens->beam, &die, &error) != LUXFALL_OK)
        fprintf(out, "none, %s\n", error.text);
    else {
        print_plan(&lens->beam, &die, out);
        print_band(&lens->beam, out);
    }
}

void as_solid_print(const struct luxfall_scene *light, FILE *out) {
    bool first = true;
    for (size_t l = 0; l < light->lens_count; l++) {
        const struct luxfall_module *module = user_of(light, l);
        if (module == NULL || light->lenses[l].kind != LUXFALL_LENS_BEAM)
            continue;
        if (first)
            fputs("\n# As solids: a datasheet beam says what one lens did with one LED. In its place a traced solid "
                  "made up\n# from the same figures tells what another die, a low seat or a shift would do. "
                  "Solids of other usual\n# sizes agree with its beam within 5 %, with dies up to twice as wide. "
                  "How far the maker's lens lies from it\n# no sheet tells; as a rule some 15 % of the beam angle "
                  "(common practice, no source). Plausible, not the maker's.\n",
                  out);
        first = false;
        print_lens(light, &light->lenses[l], module, out);
    }
}
