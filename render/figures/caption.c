#include "caption.h"

#include "contours.h"
#include "smoothing.h"
#include "ticks.h"

#include "scenes/units.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

enum { CAPTION_MARGIN = 36, CAPTION_GAP = 8, GROUPS_TOLD = 3, FIELDS_TOLD = 4 };
static const double title_size = 24, body_size = 18.5;
static const double degree = 57.295779513082320877;

/* ---- numbers ----------------------------------------------------------------------------------------------------
 */

static const char *short_number(double value, char text[NUMBER_SIZE]) {
    short_number_text(value, text);
    return text;
}

static void put(FILE *out, double value, const char *unit) {
    char number[NUMBER_SIZE];
    fprintf(out, "%s%s", short_number(value, number), unit);
}

/* "91.6 ± 0.2 klx": digits down to the second one of the band. */
static void put_lux(FILE *out, struct luxfall_estimate e) {
    struct shown_unit unit = lux_unit(fabs(e.value));
    double value = e.value / unit.size, band = e.u95 / unit.size;
    if (!isfinite(value)) {
        fputs("not to be had", out);
        return;
    }
    int decimals = 3 - (value != 0 ? (int)floor(log10(fabs(value)) + 1e-12) : 0);
    if (isfinite(band) && band > 0)
        decimals = 1 - (int)floor(log10(band));
    decimals = decimals < 0 ? 0 : decimals > 4 ? 4 : decimals;
    fprintf(out, "%.*f", decimals, value);
    if (isfinite(band))
        fprintf(out, "\u00a0±\u00a0%.*f", decimals, band);
    fprintf(out, "\u00a0%s", unit.name);
}

static void put_count(FILE *out, uint64_t count) {
    char number[NUMBER_SIZE];
    double value = (double)count;
    if (count < 10000)
        fprintf(out, "%llu", (unsigned long long)count);
    else if (count < 1000000)
        fprintf(out, "%.0f\u00a0thousand", value / 1e3);
    else {
        number_text(value / (count < 1000000000 ? 1e6 : 1e9), 3, number);
        fprintf(out, "%s\u00a0%s", number, count < 1000000000 ? "million" : "thousand\u00a0million");
    }
}

/* ---- modules ----------------------------------------------------------------------------------------------------
 */

static void put_lens(FILE *out, const struct luxfall_scene *light, size_t index) {
    if (index == LUXFALL_NO_LENS) {
        fputs("no lens", out);
        return;
    }
    const struct luxfall_lens *lens = &light->lenses[index];
    if (lens->kind != LUXFALL_LENS_BEAM) {
        const struct luxfall_material_entry *material =
            luxfall_lens_has_material(lens) ? luxfall_material_known(&lens->material) : NULL;
        fprintf(out, "lens %s (%s%s%s, traced)", lens->name, scene_lens_word(lens), material ? ", " : "",
                material ? material->name : "");
        return;
    }
    fprintf(out, "lens %s (", lens->name);
    put(out, lens->beam.beam_angle_rad * degree, "° beam");
    if (lens->beam.field_angle_rad > 0) {
        fputs(", ", out);
        put(out, lens->beam.field_angle_rad * degree, "° field");
    }
    fputs(")", out);
}

static void put_shift(FILE *out, const char *what, double value, const char *unit) {
    if (value == 0)
        return;
    fprintf(out, ", %s ", what);
    put(out, value, unit);
}

const char *figure_loss(enum luxfall_loss loss) {
    static const char *const words[LUXFALL_LOSS_COUNT] = {
        [LUXFALL_LOSS_DATASHEET] = "efficiency of the lenses",
        [LUXFALL_LOSS_HOLDER] = "holder",
        [LUXFALL_LOSS_SOURCE] = "back upon its source",
        [LUXFALL_LOSS_RETURNED] = "thrown back to the board",
        [LUXFALL_LOSS_RIM] = "rim of the lens",
        [LUXFALL_LOSS_MATERIAL] = "absorbed in the lens",
        [LUXFALL_LOSS_COVER] = "absorbed by covers",
        [LUXFALL_LOSS_STOP] = "on stops",
        [LUXFALL_LOSS_MIRROR] = "absorbed by the mirror",
    };
    return words[loss];
}

/* How it is put together, where that is not as drawn. */
void caption_put_built(FILE *out, const struct luxfall_assembly *built) {
    put_shift(out, "die", hypot(built->die_x_mm, built->die_y_mm), " mm aside");
    put_shift(out, "lens", fabs(built->seat_mm), built->seat_mm > 0 ? " mm high" : " mm low");
    put_shift(out, "lens", hypot(built->decentre_x_mm, built->decentre_y_mm), " mm aside");
    put_shift(out, "lens leaning", built->lean_rad * degree, "°");
}

/* The package that the light is traced out of. */
static void put_package(FILE *out, const struct luxfall_scene *light, size_t module) {
    const struct luxfall_package *package = &light->emitters[light->modules[module].emitter].package;
    if (!luxfall_traces_package(light, module))
        return;
    fputs(package->depth_mm > 0 ? ", dies in a cup" : ", dies", out);
    if (package->dome_mm > 0) {
        fputs(" under a dome of ", out);
        put(out, package->dome_mm, " mm");
    }
    put_shift(out, "die", hypot(package->die_x_mm, package->die_y_mm), " mm aside in it");
    put_shift(out, "die leaning", package->die_lean_rad * degree, "°");
}

static void put_covers(FILE *out, const struct luxfall_scene *light, const struct scene_group *group) {
    for (size_t i = 0; i < group->cover_count; i++) {
        const struct luxfall_cover *cover = &light->covers[group->covers[i]];
        fprintf(out, "%s%s (%s", i == 0 ? ", under " : " and ", cover->name, scene_cover_word(cover));
        if (cover->spread_rad > 0)
            fprintf(out, ", %.3g°", cover->spread_rad * degree);
        fputs(")", out);
    }
}

static void put_current(FILE *out, double current_a) {
    char current[40];
    quantity_show(current_a, CURRENT, current, sizeof current);
    if (current_a > 0)
        fprintf(out, " at %s", current);
}

static void put_flux(FILE *out, const struct scene *scene, const struct luxfall_result *result,
                     const struct scene_group *group) {
    double least = INFINITY, most = 0;
    size_t dark = 0;
    for (size_t i = group->first; i < group->first + group->count; i++) {
        if (scene->light.modules[i].dark) {
            dark++;
            continue;
        }
        least = fmin(least, result->modules[i].flux_lm);
        most = fmax(most, result->modules[i].flux_lm);
    }
    if (dark < group->count) {
        if (most > least * 1.0005)
            put(out, least, " to ");
        put(out, most, " lm");
        fputs(group->count - dark > 1 ? " each" : "", out);
        put_current(out, group->current_a);
    }
    if (dark > 0)
        fprintf(out, "%s%zu dark", dark < group->count ? ", " : "", dark);
}

static void put_place(FILE *out, const struct scene *scene, const struct scene_group *group) {
    const struct luxfall_placement *p = &group->placement;
    struct luxfall_vec at = scene->light.modules[group->first].pose.at_mm;
    char x[NUMBER_SIZE], y[NUMBER_SIZE], z[NUMBER_SIZE];
    switch (p->kind) {
    case LUXFALL_AT_RING:
    case LUXFALL_AT_SINGLE:
        put(out, sqrt(at.x * at.x + at.y * at.y + at.z * at.z), " mm from the centre, ");
        put(out, atan2(hypot(at.x, at.y), at.z) * degree, "° off its normal");
        break;
    case LUXFALL_AT_LINE:
        put(out, p->pitch_x_mm, " mm apart, ");
        put(out, p->height_mm, " mm up");
        break;
    case LUXFALL_AT_GRID:
        fprintf(out, "%d × %d, ", p->columns, p->rows);
        if (p->columns > 1)
            put(out, p->pitch_x_mm, p->rows > 1 ? " × " : " mm apart, ");
        if (p->rows > 1)
            put(out, p->pitch_y_mm, " mm apart, ");
        put(out, p->height_mm, " mm up");
        break;
    case LUXFALL_AT_POINT:
        fprintf(out, "at (%s, %s, %s) mm", short_number(at.x, x), short_number(at.y, y), short_number(at.z, z));
        break;
    }
}

static void put_aim(FILE *out, const struct luxfall_placement *p) {
    char x[NUMBER_SIZE], y[NUMBER_SIZE];
    switch (p->aim) {
    case LUXFALL_AIM_CENTRE:
        fputs("aimed at the centre", out);
        break;
    case LUXFALL_AIM_SHORT:
        fputs("aimed ", out);
        put(out, p->aim_mm, " mm short");
        break;
    case LUXFALL_AIM_PAST:
        fputs("aimed ", out);
        put(out, p->aim_mm, " mm past");
        break;
    case LUXFALL_AIM_DOWN:
        fputs("aimed down", out);
        break;
    case LUXFALL_AIM_POINT:
        fprintf(out, "aimed at (%s, %s) mm", short_number(p->aim_x_mm, x), short_number(p->aim_y_mm, y));
        break;
    }
    if (p->lean_rad != 0) {
        fputs(", lean ", out);
        put(out, p->lean_rad * degree, "° towards\u00a0");
        put(out, p->lean_azimuth_rad * degree, "°");
    }
}

static void put_group(FILE *out, const struct scene *scene, const struct luxfall_result *result,
                      const struct scene_group *group) {
    fprintf(out, "%s: %zu %s, ", group->name != NULL ? group->name : "modules", group->count,
            group->count == 1 ? "module" : "modules");
    put_lens(out, &scene->light, group->lens);
    put_package(out, &scene->light, group->first);
    caption_put_built(out, &group->built);
    put_covers(out, &scene->light, group);
    fputs(", ", out);
    put_flux(out, scene, result, group);
    fputs(", ", out);
    put_place(out, scene, group);
    fputs(", ", out);
    put_aim(out, &group->placement);
    fputs(".", out);
}

/* ---- the whole text ---------------------------------------------------------------------------------------------
 */

static void put_method(FILE *out, const struct luxfall_result *result) {
    if (result->method == LUXFALL_DIRECT) {
        fputs("Direct integral over the lens faces", out);
        if (isfinite(result->quadrature_error)) {
            fputs(", its own error ", out);
            if (result->quadrature_error < 1e-5)
                fputs("below 0.001 %", out);
            else
                fprintf(out, "%.3f %%", 100 * result->quadrature_error);
        }
        return;
    }
    put_count(out, result->rays_traced);
    fputs(" rays traced, ", out);
    put_count(out, result->rays_cast);
    fprintf(out, " landings, seed %llu", (unsigned long long)result->seed);
}

/* Peak and centre; disc_mm: told to be read over such discs, 0: not told. */
static void put_plane(FILE *out, const struct luxfall_result *result, const struct luxfall_plane_result *plane,
                      double disc_mm) {
    char x[NUMBER_SIZE], y[NUMBER_SIZE];
    if (!(plane->peak_lx.value > 0)) {
        fputs("No light on this plane.\n", out);
        return;
    }
    double step = pow(10, floor(log10(plane->cell_mm / 2))); /* to a fraction of a cell */
    fputs("Peak ", out);
    put_lux(out, plane->peak_lx);
    if (isfinite(plane->peak_x_mm))
        fprintf(out, " at (%s, %s) mm", short_number(step * round(plane->peak_x_mm / step), x),
                short_number(step * round(plane->peak_y_mm / step), y));
    fputs(", centre ", out);
    put_lux(out, plane->centre_lx);
    if (disc_mm > 0)
        fprintf(out, ", over discs of %s mm", short_number(disc_mm, x));
    fputs(result->method == LUXFALL_RAYS ? " (± 95 % band).\n" : ".\n", out);
}

static void put_fields(FILE *out, const struct scene *scene, const struct luxfall_result *result,
                       const struct luxfall_plane_result *plane) {
    size_t told = 0;
    for (size_t i = 0; i < result->field_count && plane->fields != NULL; i++) {
        struct luxfall_estimate u0 = plane->fields[i].minimum_over_average;
        if (!isfinite(u0.value))
            continue;
        if (told == FIELDS_TOLD) {
            fprintf(out, " and %zu more", result->field_count - i);
            break;
        }
        int decimals = isfinite(u0.u95) && u0.u95 > 0 ? (int)fmin(fmax(ceil(-log10(u0.u95)), 3), 5) : 3;
        fprintf(out, "%s%s %.*f", told == 0 ? "Darkest/average (U0): " : ", ", scene->light.fields[i].name, decimals,
                u0.value);
        if (isfinite(u0.u95))
            fprintf(out, "\u00a0±\u00a0%.*f", decimals, u0.u95);
        told++;
    }
    if (told > 0)
        fputs(".\n", out);
}

static void put_groups(FILE *out, const struct scene *scene, const struct luxfall_result *result) {
    size_t told = scene->group_count <= GROUPS_TOLD + 1 ? scene->group_count : GROUPS_TOLD;
    for (size_t i = 0; i < told; i++) {
        put_group(out, scene, result, &scene->groups[i]);
        fputs("\n", out);
    }
    if (told < scene->group_count)
        fprintf(out, "And %zu more groups.\n", scene->group_count - told);
}

char *figure_lamp_text(const struct scene *scene, const struct luxfall_result *result) {
    char *text = NULL;
    size_t size = 0;
    FILE *out = open_memstream(&text, &size);
    if (out == NULL)
        return NULL;
    put_groups(out, scene, result);
    bool lost = ferror(out) != 0;
    if (fclose(out) != 0 || lost) {
        free(text);
        return NULL;
    }
    return text;
}

/* Lines take more smoothing than colours where the colours show fine stripes and rings. */
bool figure_smoothed_text(const struct luxfall_plane_result *plane, char out[FIGURE_SMOOTHED_SIZE]) {
    struct smoothing smoothed = picture_smoothing(plane);
    double colours_mm = 2 * fmax(smoothed.across, smoothed.up), lines_mm = 0;
    for (double share = 0.9; share > 0; share -= 0.4)
        lines_mm = fmax(lines_mm, value_grid_smoothed_mm(plane, share));
    bool apart = lines_mm > 1.5 * fmax(colours_mm, 2 * plane->cell_mm);
    char lines[40] = "";
    if (apart)
        snprintf(lines, sizeof lines, " (of the lines: over %.2g mm)", lines_mm);
    if (colours_mm > 0)
        snprintf(out, FIGURE_SMOOTHED_SIZE,
                 "Ray noise smoothed over %.2g mm%s; the data files hold the cells as counted.", colours_mm, lines);
    else if (apart)
        snprintf(out, FIGURE_SMOOTHED_SIZE,
                 "Ray noise of the lines smoothed over %.2g mm; the data files hold the cells as "
                 "counted.",
                 lines_mm);
    return colours_mm > 0 || apart;
}

char *caption_of_plane(const struct scene *scene, const struct luxfall_result *result, size_t index,
                       const char *last_line) {
    const struct luxfall_plane_result *plane = &result->planes[index];
    char *text = NULL;
    size_t size = 0;
    FILE *out = open_memstream(&text, &size);
    if (out == NULL)
        return NULL;
    put_groups(out, scene, result);
    put_method(out, result);
    fputs("; ", out);
    put(out, plane->cell_mm, " mm cells, level ");
    put(out, plane->level_mm, " mm, luxfall " LUXFALL_VERSION ".\n");
    put_plane(out, result, plane, plane->disc_mm);
    put_fields(out, scene, result, plane);
    fputs(last_line, out);
    bool lost = ferror(out) != 0;
    if (fclose(out) != 0 || lost) {
        free(text);
        return NULL;
    }
    return text;
}

/* Where the modules of a scene stand and how they were traced: what several scenes mostly share. */
static void put_arrangement(FILE *out, const struct scene *scene, const struct luxfall_result *result) {
    const struct scene_group *group = &scene->groups[0];
    if (scene->group_count == 1) {
        fprintf(out, "%s: %zu %s, ", group->name != NULL ? group->name : "modules", group->count,
                group->count == 1 ? "module" : "modules");
        put_place(out, scene, group);
        fputs(", ", out);
        put_aim(out, &group->placement);
        fputs(". ", out);
    } else {
        fprintf(out, "%zu modules in %zu groups. ", scene->light.module_count, scene->group_count);
    }
    if (result->method == LUXFALL_DIRECT)
        fputs("Direct integral. ", out);
}

static char *arrangement_text(const struct scene *scene, const struct luxfall_result *result) {
    char *text = NULL;
    size_t size = 0;
    FILE *out = open_memstream(&text, &size);
    if (out != NULL)
        put_arrangement(out, scene, result);
    if (out != NULL && fclose(out) == 0)
        return text;
    free(text);
    return NULL;
}

/* The arrangement that all share, or NULL. */
static char *shared_arrangement(size_t count, const struct scene *const *scenes,
                                const struct luxfall_result *const *results) {
    char *first = arrangement_text(scenes[0], results[0]);
    for (size_t i = 1; i < count && first != NULL; i++) {
        char *other = arrangement_text(scenes[i], results[i]);
        if (other == NULL || strcmp(first, other) != 0) {
            free(first);
            first = NULL;
        }
        free(other);
    }
    return first;
}

/* Lens and flux where there is one group of modules; rays where they were traced. */
static void put_own(FILE *out, const struct scene *scene, const struct luxfall_result *result) {
    if (scene->group_count == 1) {
        put_lens(out, &scene->light, scene->groups[0].lens);
        put_package(out, &scene->light, scene->groups[0].first);
        caption_put_built(out, &scene->groups[0].built);
        put_covers(out, &scene->light, &scene->groups[0]);
        fputs(", ", out);
        put_flux(out, scene, result, &scene->groups[0]);
        fputs(". ", out);
    }
    if (result->method == LUXFALL_RAYS) {
        put_count(out, result->rays_traced);
        fprintf(out, " rays, seed %llu. ", (unsigned long long)result->seed);
    }
}

char *caption_of_several(size_t count, const struct scene *const *scenes, const struct luxfall_result *const *results,
                         const char *const *names, size_t index, const char *last_line) {
    char *text = NULL;
    size_t size = 0;
    FILE *out = open_memstream(&text, &size);
    if (out == NULL)
        return NULL;
    char *shared = shared_arrangement(count, scenes, results);
    if (shared != NULL)
        fprintf(out, "%s\n", shared);
    for (size_t i = 0; i < count; i++) {
        fprintf(out, "%s: ", names[i]);
        if (shared == NULL)
            put_arrangement(out, scenes[i], results[i]);
        put_own(out, scenes[i], results[i]);
        put_plane(out, results[i], &results[i]->planes[index], 0);
    }
    free(shared);
    fputs(last_line, out);
    fprintf(out, " Level ");
    put(out, results[0]->planes[index].level_mm, " mm, luxfall " LUXFALL_VERSION ".");
    bool lost = ferror(out) != 0;
    if (fclose(out) != 0 || lost) {
        free(text);
        return NULL;
    }
    return text;
}

static struct text title_text(const struct page *page, const char *title) {
    double width = page->width_px - 2 * CAPTION_MARGIN * page->unit;
    return (struct text){.string = title, .size = title_size, .bold = true, .wrap = width, .ink = INK_TEXT};
}

static struct text body_text(const struct page *page, const char *body) {
    double width = page->width_px - 2 * CAPTION_MARGIN * page->unit;
    return (struct text){.string = body, .size = body_size, .wrap = width, .ink = INK_SOFT};
}

double caption_height(struct page *page, const char *title, const char *body) {
    struct text head = title_text(page, title), rest = body_text(page, body);
    return page_measure(page, &head).y1 + page_measure(page, &rest).y1 + (CAPTION_GAP + CAPTION_MARGIN) * page->unit;
}

void caption_draw(struct page *page, const char *title, const char *body, double y) {
    struct text head = title_text(page, title), rest = body_text(page, body);
    double x = CAPTION_MARGIN * page->unit;
    page_write(page, &head, x, y, 0, 0);
    page_write(page, &rest, x, y + page_measure(page, &head).y1 + CAPTION_GAP * page->unit, 0, 0);
}
