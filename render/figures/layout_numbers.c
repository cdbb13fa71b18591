/* Numbers of the modules in the whole side view. */
#include "layout_sheet.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>

enum { NUMBERS_TOGETHER = 4, NUMBERS_OF_MANY = 1, ROW_MAX = 40 };
static const double same_mm = 0.05;

static bool at_one_place(const struct layout_side *side, size_t a, size_t b) {
    const struct luxfall_module *m = side->drawing.sheet->scene->light.modules;
    double dx = layout_across(side, m[a].pose.at_mm) - layout_across(side, m[b].pose.at_mm),
           dz = m[a].pose.at_mm.z - m[b].pose.at_mm.z;
    return side->drawing.scale * hypot(dx, dz) < 1.5;
}

/* "2, 8": modules that are seen in one place share a label; "1…": of many the first. False: it is told with one
 * before. */
static bool numbers_of(const struct layout_side *side, size_t module, char words[SHEET_CELL]) {
    const struct luxfall_scene *light = &side->drawing.sheet->scene->light;
    int used = 0, first = 0;
    size_t seen = 0;
    for (size_t i = 0; i < light->module_count; i++) {
        if (!at_one_place(side, i, module))
            continue;
        if (i < module)
            return false;
        if (seen++ < NUMBERS_TOGETHER)
            used += snprintf(words + used, SHEET_CELL - (size_t)used, "%s%zu", used ? ", " : "", i + 1);
        first = seen <= NUMBERS_OF_MANY ? used : first;
    }
    if (seen > NUMBERS_TOGETHER)
        snprintf(words + first, SHEET_CELL - (size_t)first, "…");
    return true;
}

/* Above the body if it may be, or below, right, left, clear of all lines; of a crowd, above or not at all. */
static bool write_beside(const struct layout_side *side, size_t module, const char *words) {
    const struct drawing *d = &side->drawing;
    struct luxfall_vec at = d->sheet->scene->light.modules[module].pose.at_mm;
    double x = drawing_x(d, layout_across(side, at)), y = drawing_y(d, at.z), r = layout_radius(side, module) + 0.8;
    const struct sheet_place places[] = {
        {x, y - r, 0.5, 1}, {x, y + r, 0.5, 0}, {x + r, y, 0, 0.5}, {x - r, y, 1, 0.5}};
    size_t count = side->crowded ? 1 : sizeof places / sizeof *places;
    return sheet_write_over(d->sheet, words, d->box, count, places, 0) < count;
}

/* Of those that wait, the highest; module_count: none does. */
static size_t highest_of(const struct luxfall_scene *light, const bool *waits) {
    size_t best = light->module_count;
    for (size_t i = 0; i < light->module_count; i++)
        if (waits[i] && (best == light->module_count ||
                         light->modules[i].pose.at_mm.z > light->modules[best].pose.at_mm.z + same_mm))
            best = i;
    return best;
}

/* ---- a row of them ----------------------------------------------------------------------------------------------
 */

/* The uppermost modules' numbers in one row over them, each with a leader. */
struct row {
    size_t count;
    struct {
        size_t module;
        double x, width;
        char words[SHEET_CELL];
    } each[ROW_MAX];
};

static void add_to_row(const struct layout_side *side, struct row *row, size_t module, const char *words) {
    double x =
        drawing_x(&side->drawing, layout_across(side, side->drawing.sheet->scene->light.modules[module].pose.at_mm));
    size_t at = row->count++;
    for (; at > 0 && row->each[at - 1].x > x; at--)
        row->each[at] = row->each[at - 1];
    row->each[at].module = module;
    row->each[at].x = x;
    row->each[at].width = sheet_width(side->drawing.sheet, words);
    snprintf(row->each[at].words, sizeof row->each[at].words, "%s", words);
}

/* False: they are too many. */
static bool gather_row(const struct layout_side *side, struct row *row) {
    const struct luxfall_scene *light = &side->drawing.sheet->scene->light;
    double top_mm = -INFINITY;
    char words[SHEET_CELL];
    for (size_t i = 0; i < light->module_count; i++)
        top_mm = fmax(top_mm, light->modules[i].pose.at_mm.z);
    for (size_t i = 0; i < light->module_count; i++) {
        if (light->modules[i].pose.at_mm.z < top_mm - same_mm || !numbers_of(side, i, words))
            continue;
        if (row->count == ROW_MAX)
            return false;
        add_to_row(side, row, i, words);
    }
    return true;
}

/* Most of them would touch the next, if each stood over its own module. */
static bool is_crowded(const struct row *row) {
    size_t touching = 0;
    for (size_t i = 1; i < row->count; i++)
        touching += row->each[i].x - row->each[i - 1].x < (row->each[i].width + row->each[i - 1].width) / 2;
    return 2 * touching + 1 > row->count;
}

/* Where they are crowded over their modules and have room side by side. */
static void write_row(struct layout_side *side, bool *waits) {
    const struct drawing *d = &side->drawing;
    const double gap = 1.8, heading = 8, rise = 11;
    struct row row = {0};
    if (!gather_row(side, &row) || row.count == 0 || !is_crowded(&row))
        return;
    double wide = -gap, middle = (row.each[0].x + row.each[row.count - 1].x) / 2;
    for (size_t i = 0; i < row.count; i++)
        wide += row.each[i].width + gap;
    double low = d->box.x0 + 1, high = d->box.x1 - 1 - wide, at = fmin(fmax(middle - wide / 2, low), high);
    double foot = drawing_y(d, d->sheet->scene->light.modules[row.each[0].module].pose.at_mm.z) -
                  layout_radius(side, row.each[0].module);
    double y = fmax(foot - rise, d->box.y0 + heading + SHEET_TEXT_MM);
    if (high < low || y > foot - 3)
        return;
    for (size_t i = 0; i < row.count; at += row.each[i++].width + gap) {
        double x = at + row.each[i].width / 2;
        sheet_pen(d->sheet, SHEET_GREY, 0.12, false);
        sheet_rule(d->sheet, row.each[i].x, foot, x, y + 0.3);
        sheet_write(d->sheet, row.each[i].words, x, y, 0.5, 1);
        waits[row.each[i].module] = false;
    }
    side->numbered += row.count;
}

/* ---- all of them ------------------------------------------------------------------------------------------------
 */

/* Those that have room beside them, then the others with leaders, from the top down. */
void layout_numbers_write(struct layout_side *side) {
    const struct drawing *d = &side->drawing;
    const struct luxfall_scene *light = &d->sheet->scene->light;
    bool *waits = calloc(light->module_count, sizeof *waits);
    char words[SHEET_CELL];
    if (waits == NULL) {
        d->sheet->page->out_of_memory = true;
        return;
    }
    for (size_t i = 0; i < light->module_count; i++)
        waits[i] = numbers_of(side, i, words);
    write_row(side, waits);
    for (size_t i = 0; i < light->module_count; i++)
        if (waits[i] && numbers_of(side, i, words) && write_beside(side, i, words)) {
            waits[i] = false;
            side->numbered++;
        }
    for (size_t i; !side->crowded && (i = highest_of(light, waits)) < light->module_count; waits[i] = false) {
        struct luxfall_vec at = light->modules[i].pose.at_mm;
        numbers_of(side, i, words);
        side->numbered += sheet_label(d->sheet, words, d->box, drawing_x(d, layout_across(side, at)),
                                      drawing_y(d, at.z), layout_radius(side, i));
    }
    free(waits);
}
