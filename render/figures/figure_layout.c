#include "layout_sheet.h"

#include "picture.h"

#include <math.h>
#include <stdio.h>

/* mm of paper. */
static const double body_bottom = 184, gap = 3, middle = 150, upper_share = 0.46;

static void write_caption(struct sheet *sheet) {
    char words[900], kinds[120] = "";
    if (sheet->list.kind_count > SIDES_MAX)
        snprintf(kinds, sizeof kinds, " %zu different brackets: the side views below show %d of them.",
                 sheet->list.kind_count, SIDES_MAX);
    snprintf(
        words, sizeof words,
        "Plan, whole side view and the side views of each kind of bracket, to scale. Lines with arrows are beam "
        "axes, dashed frames and bars are fields; lean and incidence are true angles in the plane of each axis, "
        "distances end at the lens face.%s Print on A4 landscape at 100\u00a0%%; luxfall check --out gives the table "
        "to build from. Estimates: check every lean with an angle gauge and every spot on paper before you fix "
        "it. Do not look into a lit lens; start at low current. Lens fronts and heatsinks burn skin.",
        kinds);
    sheet_footer(sheet, words, body_bottom + 3);
}

int figure_layout_draw(struct page *page, const struct scene *scene, const struct figure_style *style,
                       struct sheet_layout *plan, struct layout_side *side, struct figure_error *error) {
    struct sheet sheet = {.page = page, .scene = scene};
    int status = sheet_begin(page, style, error);
    if (status == 0 && bracket_list_make(&scene->light, &sheet.list) != 0)
        status = figure_fail(error, 1, "out of memory while drawing the layout");
    if (status == 0) {
        double right = SHEET_WIDTH_MM - SHEET_MARGIN,
               split = SHEET_BODY_TOP + upper_share * (body_bottom - SHEET_BODY_TOP);
        sheet_header(&sheet, "Layout");
        bracket_plan_draw(&sheet, (struct rect){SHEET_MARGIN, SHEET_BODY_TOP, middle - gap, body_bottom}, plan);
        layout_side_draw(&sheet, (struct rect){middle, SHEET_BODY_TOP, right, split}, side);
        bracket_sides_draw(&sheet, (struct rect){middle, split + gap, right, body_bottom});
        write_caption(&sheet);
        page->out_of_memory |= sheet.clutter.out_of_memory;
    }
    bracket_list_free(&sheet.list);
    side->clutter = sheet.clutter;
    return status;
}

int figure_layout(const char *path, const struct scene *scene, const struct figure_style *style,
                  struct figure_error *error) {
    struct page page;
    struct sheet_layout plan;
    struct layout_side side;
    int status = figure_layout_draw(&page, scene, style, &plan, &side, error);
    if (status == 0)
        status = picture_write(path, &page, scene->title,
                               "All modules in plan and from the side, to scale, with angles and distances.", error);
    clutter_free(&side.clutter);
    page_end(&page);
    return status;
}
