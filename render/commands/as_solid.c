#include "as_solid.h"

#include "text.h"

#include "scenes/numbers.h"
#include "scenes/scene.h"

#include <math.h>

static const double DEGREE = 3.14159265358979323846 / 180;
enum { RAYS = 1000000 }; /* tell the middle of the beam to some 2 %, in a fraction of a second */

/* The first module that has the lens; NULL: none. */
static const struct luxfall_module *user_of(const struct luxfall_scene *light, size_t lens) {
    for (size_t m = 0; m < light->module_count; m++)
        if (light->modules[m].lens == lens)
            return &light->modules[m];
    return NULL;
}

/* The module with the solid for its lens and nothing over it. */
static enum luxfall_status trace_solid(const struct luxfall_scene *light, const struct luxfall_module *module,
                                       const struct luxfall_lens *solid, struct luxfall_inspection *out,
                                       struct luxfall_error *error) {
    struct luxfall_module alone = *module;
    struct luxfall_scene scene = *light;
    struct luxfall_options options;
    luxfall_options_init(&options);
    options.rays = RAYS;
    alone.lens = 0;
    alone.cover_count = 0;
    alone.dark = false;
    scene.lenses = solid;
    scene.lens_count = 1;
    scene.modules = &alone;
    scene.module_count = 1;
    return luxfall_inspect(&scene, 0, &options, out, error);
}

static double rounded(double value) {
    return number_rounded(value, 3);
}

/* With its band. NaN: its light falls to a tenth nowhere above the plane of its face. */
static void print_angle(const char *before, struct luxfall_estimate angle_rad, FILE *out) {
    char text[FORMAT_SIZE] = "none";
    if (!isnan(angle_rad.value))
        format_degrees(text, (struct luxfall_estimate){angle_rad.value / DEGREE, angle_rad.u95 / DEGREE});
    fprintf(out, "%s%s", before, text);
}

/* What of the sheet the solid does not follow, with both figures. */
static void print_not_kept(const struct luxfall_beam *beam, const struct luxfall_inspection *traced, FILE *out) {
    if (beam->peak_cd_per_lm > 0)
        fprintf(out, "#   it does not keep the sheet's peak: %.10g cd/lm there, %.10g cd/lm here\n",
                number_rounded(beam->peak_cd_per_lm, 4), rounded(traced->centre_cd.value / traced->flux_lm));
    if (beam->field_angle_rad > 0) {
        fprintf(out, "#   it does not keep the sheet's field angle: %.10g deg there, ",
                number_rounded(beam->field_angle_rad / DEGREE, 4));
        print_angle("", traced->field_angle_rad, out);
        fputs(" here\n", out);
    }
    fprintf(out, "#   it does not keep the sheet's efficiency: %.10g %% there, %.10g %% here\n",
            number_rounded(100 * beam->efficiency, 4), rounded(100 * traced->efficiency.value));
}

/* What the solid's figures are worth for the lens that was bought: candela go as one over the square of the angle. */
static void print_band(double angle_deg, double peak_cd_per_lm, FILE *out) {
    const double band = 0.15; /* common practice, no source */
    fprintf(out, "#   worth: a beam of %.10g to %.10g deg, %.10g to %.10g cd/lm on the axis\n",
            rounded((1 - band) * angle_deg), rounded((1 + band) * angle_deg),
            rounded(peak_cd_per_lm / pow(1 + band, 2)), rounded(peak_cd_per_lm / pow(1 - band, 2)));
}

static void print_figures(const struct luxfall_beam *beam, const struct luxfall_inspection *traced, FILE *out) {
    char peak[FORMAT_SIZE];
    double peak_cd_per_lm = traced->centre_cd.value / traced->flux_lm;
    format_candela(peak, (struct luxfall_estimate){peak_cd_per_lm, traced->centre_cd.u95 / traced->flux_lm});
    print_angle("#   alone with this LED it gives (±: 95 % band): beam ", traced->beam_angle_rad, out);
    print_angle(", field angle ", traced->field_angle_rad, out);
    fprintf(out, ", %s per lumen on the axis\n", peak);
    print_not_kept(beam, traced, out);
    print_band(traced->beam_angle_rad.value / DEGREE, peak_cd_per_lm, out);
}

static void print_lens(const struct luxfall_scene *light, const struct luxfall_lens *lens,
                       const struct luxfall_module *module, FILE *out) {
    struct scene_offer offer;
    struct luxfall_inspection traced;
    struct luxfall_error error = {.text = ""};
    fprintf(out, "# %s: ", lens->name);
    if (scene_offer_solid(&light->emitters[module->emitter], lens, &offer, &error) != LUXFALL_OK ||
        trace_solid(light, module, &offer.lens, &traced, &error) != LUXFALL_OK) {
        fprintf(out, "none, %s\n", error.text);
        return;
    }
    fprintf(out, "%s\n", offer.text);
    print_figures(&lens->beam, &traced, out);
}

void as_solid_print(const struct luxfall_scene *light, FILE *out) {
    bool first = true;
    for (size_t l = 0; l < light->lens_count; l++) {
        const struct luxfall_module *module = user_of(light, l);
        if (module == NULL || light->lenses[l].kind != LUXFALL_LENS_BEAM)
            continue;
        if (first)
            fputs("\n# As solids: a datasheet beam says what one lens did with one LED. In its place a traced solid "
                  "made up\n# from its beam angle and face tells what another die, a low seat or a shift would do. "
                  "It knows of no other\n# figure of the sheet. Solids of other usual sizes agree with its beam "
                  "within 5 %, with dies up to twice\n# as wide. How far the maker's lens lies from it no sheet "
                  "tells; as a rule some 15 % of the beam angle\n# (common practice, no source). Plausible, not the "
                  "maker's.\n",
                  out);
        first = false;
        print_lens(light, &light->lenses[l], module, out);
    }
}
