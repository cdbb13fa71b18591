/* What luxfall inspect says of a module. */
#include "inspected.h"
#include "render/figures/figures.h"
#include "report.h"
#include "scenes/numbers.h"
#include "text.h"

#include <math.h>
#include <stdarg.h>
#include <string.h>

enum { SAID_SIZE = 900 };
static const double DEGREE = 3.14159265358979323846 / 180;

static void say(char said[SAID_SIZE], const char *format, ...) __attribute__((format(printf, 2, 3)));

static void say(char said[SAID_SIZE], const char *format, ...) {
    size_t used = strlen(said);
    va_list arguments;
    va_start(arguments, format);
    vsnprintf(said + used, SAID_SIZE - used, format, arguments);
    va_end(arguments);
}

static const char *degrees(char out[FORMAT_SIZE], struct luxfall_estimate rad) {
    format_degrees(out, (struct luxfall_estimate){rad.value / DEGREE, rad.u95 / DEGREE});
    return isnan(rad.value) ? "not to be had" : out;
}

/* By so much of the beam that the module's axis, on which the stage is lit, is not the light's. */
static bool leans_away(const struct luxfall_inspection *light) {
    double lean_rad = hypot(light->lean_x_rad.value, light->lean_y_rad.value);
    return inspected_is_aside(light) && 8 * lean_rad > light->beam_angle_rad.value;
}

static void note_stage(const struct inspected *inspected, FILE *stream) {
    const struct luxfall_plane_result *plane = &inspected->spot->planes[0];
    char centre[FORMAT_SIZE], half[FORMAT_SIZE], tenth[FORMAT_SIZE], said[SAID_SIZE] = "";
    format_lux(centre, plane->centre_lx);
    format_mm(half, plane->half_peak_diameter_mm);
    format_mm(tenth, plane->tenth_peak_diameter_mm);
    say(said,
        "straight down from %.5g mm: centre %s over a disc of %.3g mm, spot at 50 %% of the peak %s, visible edge "
        "at 10 %% %s",
        inspected->distance_mm, centre, plane->disc_mm, half, tenth);
    double far_lx = inspected->light.centre_cd.value / pow(inspected->distance_mm * 1e-3, 2);
    double more = far_lx / plane->centre_lx.value - 1,
           unsure = fmax(0, plane->centre_lx.u95 / plane->centre_lx.value);
    if (fabs(more) > 0.01 && fabs(more) > unsure + 0.005 && !leans_away(&inspected->light)) {
        format_lux(centre, (struct luxfall_estimate){far_lx, NAN});
        say(said, "; the candela below by inverse squares would promise %s", centre);
        if (more < 1)
            say(said, ", %.2g %% %s", 100 * fabs(more), more > 0 ? "too many" : "too few");
        else if (isfinite(more))
            say(said, ", %.10g times as many", number_rounded(more + 1, 2));
    }
    report_note(stream, "on the stage", said);
}

/* A ring that is clearly brighter than the axis: a beam with a hole. */
static int brightest_ring(const struct luxfall_inspection *light) {
    int best = -1;
    double centre = light->centre_cd.value;
    for (int k = 2; k < LUXFALL_RINGS; k++) {
        double here = light->cd[k].value, sure = here - (isnan(light->cd[k].u95) ? 0 : 2 * light->cd[k].u95);
        if (sure > 1.03 * centre && (best < 0 || here > light->cd[best].value))
            best = k;
    }
    return best;
}

/* Planes where the light is not round, and where its middle is when that is aside. */
static void say_round(const struct luxfall_inspection *light, char said[SAID_SIZE]) {
    int planes[LUXFALL_HALF_PLANES / 2];
    size_t count = inspected_planes(light, planes);
    char beam[FORMAT_SIZE];
    for (size_t i = 0; i < count && count > 1; i++)
        say(said, "%s%s %s", i ? ", " : " (", inspected_plane_name(planes[i]),
            degrees(beam, light->plane_beam_rad[planes[i]]));
    say(said, "%s", count > 1 ? ")" : "");
    if (!inspected_is_aside(light))
        return;
    double x = light->lean_x_rad.value / DEGREE, y = light->lean_y_rad.value / DEGREE, towards = atan2(y, x) / DEGREE;
    say(said, " about the middle of the light, %.3g deg aside, towards %.3g deg from the module's x to its y",
        hypot(x, y), towards < -0.5 ? towards + 360 : fabs(towards));
}

static void note_beam(const struct luxfall_inspection *light, FILE *stream) {
    char beam[FORMAT_SIZE], field[FORMAT_SIZE], candela[FORMAT_SIZE], per_lm[FORMAT_SIZE], said[SAID_SIZE] = "";
    format_candela(candela, light->centre_cd);
    format_candela(per_lm, (struct luxfall_estimate){light->centre_cd.value / light->flux_lm,
                                                     light->centre_cd.u95 / light->flux_lm});
    say(said, "beam angle %s", degrees(beam, light->beam_angle_rad));
    say_round(light, said);
    say(said, ", field angle %s; centre beam %s, %s per emitter lumen", degrees(field, light->field_angle_rad),
        candela, per_lm);
    if (light->rays_traced > 0 && light->beam_angle_rad.value < DEGREE)
        say(said, "; finer than rings of a quarter of a degree can tell: its candela are at least these");
    int ring = brightest_ring(light);
    if (ring >= 0)
        say(said, "; brighter off the axis: %.10g cd at %.3g deg%s", number_rounded(light->cd[ring].value, 4),
            (ring + 0.5) / 4, light->level_cd.value > light->centre_cd.value ? ", of which the angles are" : "");
    report_note(stream, "beam", said);
}

/* What the figures of a sheet are worth, and what it cannot tell. */
static int note_sheet(const struct inspected *inspected, FILE *stream) {
    const struct luxfall_scene *light = &inspected->scene->light;
    const struct luxfall_module *module = &inspected->alone;
    struct luxfall_beam_solution beam;
    char said[SAID_SIZE] = "";
    if (module->lens == LUXFALL_NO_LENS || light->lenses[module->lens].kind != LUXFALL_LENS_BEAM)
        return 0;
    if (luxfall_beam_solve(&light->lenses[module->lens].beam, NULL, &beam, NULL) != LUXFALL_OK)
        return EXIT_MACHINE; /* the figures were checked when the scene was read */
    say(said,
        "the peak is %.2f of that of a bell of this beam and efficiency (%.10g cd/lm; an even disc of light: "
        "%.10g)%s; "
        "what another die, a low seat or a shift would do, a traced solid tells: luxfall check offers one of this "
        "beam angle",
        beam.bell_ratio, number_rounded(beam.bell_cd_per_lm, 4), number_rounded(beam.flat_top_cd_per_lm, 4),
        beam.bell_ratio > 1.1   ? ", a flat-topped beam"
        : beam.bell_ratio < 0.7 ? ", much light outside the main beam"
                                : "");
    report_note(stream, "sheet", said);
    return 0;
}

static void note_bounds(const struct luxfall_inspection *light, FILE *stream) {
    char said[SAID_SIZE] = "";
    double reached = light->centre_cd.value / light->flux_lm;
    if (!(light->bound_cd_per_lm > 0))
        return;
    if (light->package_index > 0)
        say(said,
            "die, package (n = %.4g) and face allow %.10g cd/lm on the axis, of which this is %.3g %%; and a full "
            "beam, to its foot, of %.3g deg at the narrowest",
            light->package_index, number_rounded(light->bound_cd_per_lm, 4), 100 * reached / light->bound_cd_per_lm,
            light->floor_rad / DEGREE);
    else
        say(said,
            "die and face allow %.10g cd/lm on the axis with bare dies, of which this is %.3g %%, %.10g under a dome "
            "(n = 1.5); and a full beam, to its foot, of %.3g or %.3g deg at the narrowest",
            number_rounded(light->bound_cd_per_lm, 4), 100 * reached / light->bound_cd_per_lm,
            number_rounded(light->bound_domed_cd_per_lm, 4), light->floor_rad / DEGREE,
            light->floor_domed_rad / DEGREE);
    say(said, "; both where the whole face is lit and no light returns to the dies and leaves them again");
    report_note(stream, "bounds", said);
}

static void note_light(const struct luxfall_inspection *light, FILE *stream) {
    char out[FORMAT_SIZE], share[FORMAT_SIZE], said[SAID_SIZE] = "";
    format_lumens(out, light->leaving_lm);
    format_share(share, light->efficiency);
    say(said, "%.10g lm of the emitter = %s out (%s)", number_rounded(light->flux_lm, 4), out, share);
    for (enum luxfall_loss i = 0; i < LUXFALL_LOSS_COUNT; i++) {
        if (!(light->loss_lm[i].value > 0))
            continue;
        format_lumens(out, light->loss_lm[i]);
        say(said, " + %s %s", figure_loss(i), out);
    }
    if (light->abandoned_lm.value > 0)
        say(said, " + %.2g lm abandoned", light->abandoned_lm.value);
    report_note(stream, "light", said);
}

static void note_where(const struct luxfall_inspection *light, FILE *stream) {
    char beam[FORMAT_SIZE], field[FORMAT_SIZE], said[SAID_SIZE] = "";
    format_share(beam, light->in_beam);
    format_share(field, light->in_field);
    say(said, "%s of what leaves within the beam angle, %s within the field angle", beam, field);
    report_note(stream, "where", said);
}

static const char *from_distance(char out[FORMAT_SIZE], struct luxfall_estimate far_mm) {
    char mm[FORMAT_SIZE];
    if (isnan(far_mm.value))
        return "no distance that was looked at";
    if (far_mm.u95 > far_mm.value / 2)
        return "a distance on that so few rays do not tell";
    if (isnan(far_mm.u95) && far_mm.value >= 1000)
        snprintf(mm, sizeof mm, "%.3g m", far_mm.value / 1000);
    else if (isnan(far_mm.u95))
        snprintf(mm, sizeof mm, "%.3g mm", far_mm.value);
    else
        format_mm(mm, far_mm);
    snprintf(out, FORMAT_SIZE, "%.*s on", FORMAT_SIZE - 4, mm);
    return out;
}

static void note_far(const struct inspected *inspected, FILE *stream) {
    const struct luxfall_inspection *light = &inspected->light;
    const struct luxfall_scene *scene = &inspected->scene->light;
    char said[SAID_SIZE] = "", near_mm[FORMAT_SIZE], far_mm[FORMAT_SIZE];
    if (light->far_1_percent_mm.value == 0)
        return; /* a point */
    say(said,
        "candela are what the module sends seen from far away: lux on the axis = cd / m² within 5 %% from %s, "
        "within 1 %% from %s",
        from_distance(near_mm, light->far_5_percent_mm), from_distance(far_mm, light->far_1_percent_mm));
    double face_mm = inspected->alone.lens == LUXFALL_NO_LENS
                         ? 0
                         : luxfall_lens_diameter_mm(&scene->lenses[inspected->alone.lens]);
    if (face_mm > 0 && light->far_1_percent_mm.value > 6 * face_mm)
        say(said, "; five face widths, %.4g mm, are the rule for a Lambertian face (common practice, no source)",
            5 * face_mm);
    report_note(stream, "far away", said);
}

static void note_others(const struct inspected *inspected, FILE *stream) {
    const struct scene *scene = inspected->scene;
    char said[SAID_SIZE] = "";
    size_t named = 0;
    for (size_t i = 0; i < scene->group_count && named < 12; i++)
        if (inspected->module < scene->groups[i].first ||
            inspected->module >= scene->groups[i].first + scene->groups[i].count)
            say(said, "%s%.60s", named++ ? ", " : "", scene->groups[i].name);
    if (named > 0) {
        say(said, "%s: --module NAME", scene->group_count > named + 1 ? " and more" : "");
        report_note(stream, "others", said);
    }
}

int inspected_print(const struct inspected *inspected, FILE *stream) {
    const struct luxfall_scene *light = &inspected->scene->light;
    const struct luxfall_module *module = &inspected->alone;
    fprintf(stream, "%s: %s, %s%s%s", inspected->scene->title, module->name, light->emitters[module->emitter].name,
            module->lens == LUXFALL_NO_LENS ? " without a lens" : " behind ",
            module->lens == LUXFALL_NO_LENS ? "" : light->lenses[module->lens].name);
    for (size_t i = 0; i < module->cover_count; i++)
        fprintf(stream, "%s%s", i == 0 ? " under " : " and ", light->covers[module->covers[i]].name);
    fputs("\n\n", stream);
    note_stage(inspected, stream);
    note_beam(&inspected->light, stream);
    if (note_sheet(inspected, stream) != 0)
        return EXIT_MACHINE;
    note_bounds(&inspected->light, stream);
    note_light(&inspected->light, stream);
    if (report_covers(light, module->cover_count, module->covers, inspected->light.cover_lm, stream) != 0)
        return EXIT_MACHINE;
    note_where(&inspected->light, stream);
    note_far(inspected, stream);
    note_others(inspected, stream);
    return report_print_notes(&(struct report_entry){&inspected->stage, inspected->spot, NULL}, 1, stream);
}
