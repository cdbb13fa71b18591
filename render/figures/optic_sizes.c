/* Sizes of a drawn optic: distances along the axis under it, diameters left of the board, radii beside the curves. */
#include "optic_sheet.h"

#include "ticks.h"

#include <math.h>
#include <stdio.h>
#include <string.h>

enum { SIZES_MAX = 5, COLUMN = 12, ROW = 6 };
static const double same_mm = 1e-3; /* nobody measures finer */

/* A size across the axis, and the two places it runs between. */
struct across {
    double mm;
    struct flat low, high;
};
struct sizes {
    size_t count;
    struct across each[SIZES_MAX];
};

static void size_text(const char *before, double mm, char out[SHEET_CELL]) {
    char number[NUMBER_SIZE];
    short_number_text(mm, number);
    snprintf(out, SHEET_CELL, "%s%s", before, number);
}

static void keep_told(struct optic_told *told, double mm, struct segment line) {
    if (told->count == OPTIC_TOLD_MAX)
        return;
    told->mm[told->count] = mm;
    told->line[told->count++] = line;
}

/* ---- across ---------------------------------------------------------------------------------------------------- */

/* The whole optic across the lens. */
static struct across widest(const struct optic_view *view) {
    const struct luxfall_outline *outline = view->fan->outline;
    struct across out = {0};
    double low = INFINITY, high = -INFINITY;
    for (size_t i = 0; i < outline->line_count; i++)
        for (size_t k = 0; k < outline->lines[i].count && !optic_is_endless(&outline->lines[i]); k++) {
            struct flat p = optic_flat(view, outline->lines[i].at_mm[k]);
            double across = optic_own(view, p).u;
            out.low = across < low ? p : out.low;
            out.high = across > high ? p : out.high;
            low = fmin(low, across);
            high = fmax(high, across);
        }
    out.mm = high - low;
    return out;
}

/* An end of a line, and the way on beyond it. */
struct line_end {
    struct flat at;
    double way;
};
static struct line_end end_of(const struct optic_view *view, const struct luxfall_line *line, bool last) {
    struct flat at = optic_flat(view, line->at_mm[last ? line->count - 1 : 0]);
    struct flat before = optic_flat(view, line->at_mm[last ? line->count - 2 : 1]);
    return (struct line_end){at, atan2(at.u - before.u, at.z - before.z)};
}

/* Another line goes on from this end without a corner. */
static bool goes_on(const struct optic_view *view, size_t line, struct line_end end) {
    const struct luxfall_outline *outline = view->fan->outline;
    const double straight_rad = 0.1, half_turn = 3.14159265358979323846;
    for (size_t i = 0; i < outline->line_count; i++)
        for (int last = 0; last < 2 && i != line; last++) {
            struct line_end other = end_of(view, &outline->lines[i], last);
            if (hypot(other.at.z - end.at.z, other.at.u - end.at.u) < same_mm &&
                fabs(remainder(other.way - end.way - half_turn, 2 * half_turn)) < straight_rad)
                return true;
        }
    return false;
}

/* Ascending, each once; the largest ones when there are too many. */
static void keep_size(struct sizes *sizes, struct across size) {
    size_t at = 0;
    while (at < sizes->count && sizes->each[at].mm < size.mm - same_mm)
        at++;
    if (at < sizes->count && fabs(sizes->each[at].mm - size.mm) <= same_mm)
        return;
    if (sizes->count == SIZES_MAX) {
        if (at == 0)
            return;
        memmove(&sizes->each[0], &sizes->each[1], (at - 1) * sizeof size);
        sizes->each[at - 1] = size;
        return;
    }
    memmove(&sizes->each[at + 1], &sizes->each[at], (sizes->count - at) * sizeof size);
    sizes->each[at] = size;
    sizes->count++;
}

/* Where the lens's axis is, and how it leans; or that of the LED's package, which stands on the board. */
struct axis {
    double at_mm, lean_rad;
};

static double from_axis(const struct axis *axis, struct flat p) {
    return p.u * cos(axis->lean_rad) - p.z * sin(axis->lean_rad) - axis->at_mm;
}

static struct axis axis_of_package(const struct optic_view *view) {
    const struct luxfall_outline *outline = view->fan->outline;
    double low = INFINITY, high = -INFINITY;
    for (size_t i = 0; i < outline->line_count; i++)
        for (size_t k = 0; k < outline->lines[i].count && outline->lines[i].of_package; k++) {
            double u = optic_flat(view, outline->lines[i].at_mm[k]).u;
            low = fmin(low, u);
            high = fmax(high, u);
        }
    return (struct axis){(low + high) / 2, 0};
}

/* The other side of the axis. */
static struct flat mirrored(const struct axis *axis, struct flat p) {
    double c = cos(axis->lean_rad), s = sin(axis->lean_rad), by = -2 * from_axis(axis, p);
    return (struct flat){p.z - s * by, p.u + c * by};
}

/* The whole, and where surfaces end in a corner on its upper half. */
static struct sizes sizes_across(const struct optic_view *view) {
    const struct luxfall_outline *outline = view->fan->outline;
    const struct across whole = widest(view);
    const struct axis lens = {(optic_own(view, whole.low).u + optic_own(view, whole.high).u) / 2, view->lean_rad},
                      package = axis_of_package(view);
    struct sizes sizes = {0};
    keep_size(&sizes, whole);
    for (size_t i = 0; i < outline->line_count; i++)
        for (int last = 0; last < 2 && !optic_is_endless(&outline->lines[i]); last++) {
            const struct axis *axis = outline->lines[i].of_package ? &package : &lens;
            struct line_end end = end_of(view, &outline->lines[i], last);
            double reach = from_axis(axis, end.at);
            if (reach > same_mm && !goes_on(view, i, end))
                keep_size(&sizes, (struct across){2 * reach, mirrored(axis, end.at), end.at});
        }
    return sizes;
}

static bool has_die(const struct luxfall_outline *outline) {
    return outline->dies[outline->die_count - 1].to_mm - outline->dies[0].from_mm > same_mm;
}

double optic_sizes_room(const struct optic_view *view) {
    return 8 + COLUMN * (double)(sizes_across(view).count + has_die(view->fan->outline));
}

static void extension(struct sheet *sheet, double x0, double y0, double x1, double y1) {
    sheet_pen(sheet, SHEET_FAINT, 0.12, false);
    sheet_line(sheet, x0, y0, x1, y1);
}

static void draw_across(const struct optic_view *view, const struct across *size, const char *name, double x,
                        struct optic_told *told) {
    double low = optic_y(view, size->low.u), high = optic_y(view, size->high.u);
    struct segment line = {x, low, x, high};
    char text[SHEET_CELL];
    size_text(name, size->mm, text);
    if (!sheet_dimension(view->sheet, line, text, view->drawing.box))
        return;
    extension(view->sheet, optic_x(view, size->low.z) - 0.6, low, x - 1, low);
    extension(view->sheet, optic_x(view, size->high.z) - 0.6, high, x - 1, high);
    keep_told(told, size->mm, line);
}

static const char *sign_of(const struct optic_view *view, double width_mm) {
    for (size_t i = 0; i < view->oblong_count; i++)
        if (fabs(view->oblong_mm[i] - width_mm) < same_mm)
            return "";
    return "Ø ";
}

static void draw_sizes_across(const struct optic_view *view, struct optic_told *told) {
    const struct luxfall_outline *outline = view->fan->outline;
    const struct sizes sizes = sizes_across(view);
    double x = optic_x(view, fmin(view->optic.x0, 0)) - 9;
    if (has_die(outline)) {
        const struct luxfall_span *first = &outline->dies[0], *last = &outline->dies[outline->die_count - 1];
        const struct across die = {hypot(last->to_mm - first->from_mm, last->to_z_mm - first->from_z_mm),
                                   {first->from_z_mm, first->from_mm},
                                   {last->to_z_mm, last->to_mm}};
        char name[16];
        snprintf(name, sizeof name, "%s ", view->source);
        draw_across(view, &die, name, x, told);
        x -= COLUMN;
    }
    for (size_t i = 0; i < sizes.count; i++, x -= COLUMN)
        draw_across(view, &sizes.each[i], sign_of(view, sizes.each[i].mm), x, told);
}

/* ---- seams ----------------------------------------------------------------------------------------------------- */

static double highest(const struct optic_view *view) {
    const struct luxfall_outline *outline = view->fan->outline;
    double top = 0;
    for (size_t i = 0; i < outline->line_count; i++)
        for (size_t k = 0; k < outline->lines[i].count && !optic_is_endless(&outline->lines[i]); k++)
            top = fmax(top, optic_own(view, optic_flat(view, outline->lines[i].at_mm[k])).z);
    return top;
}

/* Of the cover that ends at this height: the lower end of its edge; a sheet has none. */
static double foot_of(const struct optic_view *view, double top_mm) {
    const struct luxfall_outline *outline = view->fan->outline;
    double foot = top_mm;
    for (size_t i = 0; i < outline->line_count; i++) {
        const struct luxfall_line *line = &outline->lines[i];
        double first = optic_own(view, optic_flat(view, line->at_mm[0])).z;
        double last = optic_own(view, optic_flat(view, line->at_mm[line->count - 1])).z;
        bool edge = line->kind == LUXFALL_SURFACE_ABSORBING &&
                    (line->loss == LUXFALL_LOSS_COVER || line->loss == LUXFALL_LOSS_STOP);
        if (edge && fabs(fmax(first, last) - top_mm) < same_mm)
            foot = fmin(foot, fmin(first, last));
    }
    return foot;
}

/* From the uppermost cover down. */
void optic_seams_find(struct optic_view *view, const struct luxfall_scene *light,
                      const struct luxfall_module *module) {
    double top = highest(view);
    for (size_t i = module->cover_count; i-- > 0;) {
        double foot = foot_of(view, top), gap = light->covers[module->covers[i]].gap_mm;
        top = foot - fmax(gap, LUXFALL_CONTACT_MM);
        if (gap < LUXFALL_CONTACT_MM)
            view->seams[view->seam_count++] = (struct optic_seam){(foot + top) / 2, LUXFALL_CONTACT_MM - gap};
    }
}

double optic_told_mm(const struct optic_view *view, struct flat p) {
    double z = optic_own(view, p).z, told = z;
    for (size_t i = 0; i < view->seam_count; i++)
        told -= z > view->seams[i].z_mm ? view->seams[i].air_mm : 0;
    return told;
}

/* ---- along ----------------------------------------------------------------------------------------------------- */

/* Into its place along the axis, once; parts that touch have one between them. */
static void keep_place(const struct optic_view *view, struct flat *places, size_t *count, struct flat place) {
    double mm = optic_told_mm(view, place);
    size_t at = *count;
    while (at > 0 && optic_told_mm(view, places[at - 1]) > mm)
        at--;
    if (*count == SIZES_MAX + 2 || (at > 0 && mm - optic_told_mm(view, places[at - 1]) < same_mm) ||
        (at < *count && optic_told_mm(view, places[at]) - mm < same_mm))
        return;
    memmove(&places[at + 1], &places[at], (*count - at) * sizeof *places);
    places[at] = place;
    ++*count;
}

/* Tubes and mirrors stand about the axis: their ends are measured. */
static bool stands_about(const struct luxfall_line *line) {
    bool stop = line->kind == LUXFALL_SURFACE_ABSORBING && line->loss == LUXFALL_LOSS_STOP;
    return isnan(line->vertex_radius_mm) && (stop || line->kind == LUXFALL_SURFACE_MIRROR);
}

/* On the lens's axis: ends on both sides of a leaning one are one place; where a wall goes on in another piece
 * nothing ends. */
static void keep_ends(const struct optic_view *view, size_t line, struct flat *places, size_t *count) {
    for (int last = 0; last < 2; last++) {
        struct line_end end = end_of(view, &view->fan->outline->lines[line], last);
        if (goes_on(view, line, end))
            continue;
        double z = optic_own(view, end.at).z;
        keep_place(view, places, count, (struct flat){z * cos(view->lean_rad), z * sin(view->lean_rad)});
    }
}

/* Board and vertices along the lens's axis, ends of what stands about it; of an optic with neither, both its ends. */
static size_t places_along(const struct optic_view *view, struct flat places[SIZES_MAX + 2]) {
    const struct luxfall_outline *outline = view->fan->outline;
    size_t count = 0;
    keep_place(view, places, &count, (struct flat){0, 0});
    for (size_t i = 0; i < outline->line_count; i++)
        if (!isnan(outline->lines[i].vertex_radius_mm))
            keep_place(view, places, &count, optic_flat(view, outline->lines[i].vertex_mm));
    for (size_t i = 0; i < outline->line_count; i++)
        if (stands_about(&outline->lines[i]))
            keep_ends(view, i, places, &count);
    if (count > 1)
        return count;
    keep_place(view, places, &count, (struct flat){view->optic.x0, 0});
    keep_place(view, places, &count, (struct flat){view->optic.x1, 0});
    return count;
}

static void draw_along(const struct optic_view *view, struct flat from, struct flat to, double y,
                       struct optic_told *told) {
    struct segment line = {optic_x(view, to.z), y, optic_x(view, from.z), y};
    double mm = optic_told_mm(view, to) - optic_told_mm(view, from);
    char text[SHEET_CELL];
    size_text("", mm, text);
    if (sheet_dimension(view->sheet, line, text, view->drawing.box))
        keep_told(told, mm, line);
}

static void draw_sizes_along(const struct optic_view *view, struct optic_told *told) {
    struct flat places[SIZES_MAX + 2];
    double y = optic_y(view, view->seen.y0) + 5;
    size_t count = places_along(view, places);
    for (size_t i = 0; i < count; i++)
        extension(view->sheet, optic_x(view, places[i].z), optic_y(view, places[i].u), optic_x(view, places[i].z),
                  y + (count > 2 && (i == 0 || i + 1 == count) ? ROW : 0) + 1);
    for (size_t i = 1; i < count; i++)
        draw_along(view, places[i - 1], places[i], y, told);
    if (count > 2)
        draw_along(view, places[0], places[count - 1], y + ROW, told);
}

/* ---- radii ----------------------------------------------------------------------------------------------------- */

bool optic_is_curved_at_axis(const struct optic_view *view, const struct luxfall_line *line) {
    bool over = false, under = false;
    if (line->vertex_radius_mm == 0 || isnan(line->vertex_radius_mm))
        return false;
    double axis = optic_flat(view, line->vertex_mm).u;
    for (size_t k = 0; k < line->count; k++) {
        double u = optic_flat(view, line->at_mm[k]).u;
        over = over || u >= axis;
        under = under || u <= axis;
    }
    return over && under;
}

/* A leaning lens turns by too little to move the centre where it shows. */
static struct flat centre_of(const struct optic_view *view, const struct luxfall_line *line) {
    struct flat vertex = optic_flat(view, line->vertex_mm), a = optic_flat(view, line->at_mm[0]);
    struct flat b = optic_flat(view, line->at_mm[line->count - 1]);
    double along_z = -(b.u - a.u), along_u = b.z - a.z, length = hypot(along_z, along_u);
    double sign = along_z < 0 ? -1 : 1, r = line->vertex_radius_mm * sign / length;
    return (struct flat){vertex.z + r * along_z, vertex.u + r * along_u};
}

bool optic_is_circle(const struct optic_view *view, const struct luxfall_line *line) {
    struct flat centre = centre_of(view, line);
    for (size_t k = 0; k < line->count; k++) {
        struct flat p = optic_flat(view, line->at_mm[k]);
        double off = hypot(p.z - centre.z, p.u - centre.u) - fabs(line->vertex_radius_mm);
        if (fabs(off) > 1e-4 * fabs(line->vertex_radius_mm))
            return false;
    }
    return true;
}

/* A label beside a curve: where its leader meets the curve, and where the text is tied to it. */
struct radius_label {
    double x, y, text_x, text_y;
    struct sheet_place place;
    int cost;
};

/* Of the words, in pixels. */
static struct rect box_of(const struct radius_label *label, struct rect size, double unit) {
    double left = label->text_x * unit - label->place.ax * size.x1,
           top = label->text_y * unit - label->place.ay * size.y1;
    return (struct rect){left, top, left + size.x1, top + size.y1};
}

static void try_label(const struct optic_view *view, const char *words, struct radius_label label,
                      struct radius_label *best) {
    double u = view->sheet->page->unit;
    struct text text = {.string = words, .size = SHEET_TEXT_MM};
    struct rect size = page_measure(view->sheet->page, &text);
    struct rect box = box_of(&label, size, u);
    label.cost = 10 * clutter_lines_under(&view->sheet->clutter, box) +
                 (int)hypot(label.text_x - label.x, label.text_y - label.y);
    if (label.cost < best->cost && clutter_is_free(&view->sheet->clutter, rect_grown(box, 0.5 * u)))
        *best = label;
}

/* Rays pause behind the words. */
static void clear_behind(const struct optic_view *view, const char *words, const struct radius_label *label) {
    struct page *page = view->sheet->page;
    struct text text = {.string = words, .size = SHEET_TEXT_MM};
    struct rect box = rect_grown(box_of(label, page_measure(page, &text), page->unit), 0.3 * page->unit);
    page_ink(page, INK_WHITE);
    cairo_rectangle(page->cairo, box.x0, box.y0, box.x1 - box.x0, box.y1 - box.y0);
    cairo_fill(page->cairo);
}

/* Away from the centre, from any place of the curve; where the fewest rays are under the words. */
static void draw_radius(const struct optic_view *view, const struct luxfall_line *line) {
    struct flat centre = centre_of(view, line);
    struct radius_label best = {.cost = 1 << 30};
    char words[SHEET_CELL];
    size_text("R ", fabs(line->vertex_radius_mm), words);
    size_t margin = line->count / 8; /* near its ends it would not be clear which curve is meant */
    for (size_t k = margin; k + margin < line->count; k += 1 + line->count / 48) {
        struct flat on = optic_flat(view, line->at_mm[k]);
        double x = optic_x(view, on.z), y = optic_y(view, on.u);
        double dx = x - optic_x(view, centre.z), dy = y - optic_y(view, centre.u), length = hypot(dx, dy);
        for (double away = 6; away < 26; away += 2) {
            double tx = x + away * dx / length, ty = y + away * dy / length;
            struct radius_label label = {x, y, tx, ty, {tx, ty, dx > 0 ? 0 : 1, 0.5}, 0};
            try_label(view, words, label, &best);
        }
    }
    if (best.cost == 1 << 30)
        return;
    clear_behind(view, words, &best);
    if (!sheet_write_free(view->sheet, words, view->drawing.box, 1, &best.place))
        return;
    double side = best.place.ax == 0 ? -0.6 : 0.6;
    sheet_pen(view->sheet, SHEET_INK, 0.15, false);
    sheet_line(view->sheet, best.text_x + side, best.text_y, best.x, best.y);
    sheet_arrow(view->sheet, best.text_x, best.text_y, best.x, best.y);
}

static void draw_radii(const struct optic_view *view) {
    const struct luxfall_outline *outline = view->fan->outline;
    for (size_t i = 0; i < outline->line_count; i++)
        if (optic_is_curved_at_axis(view, &outline->lines[i]) && optic_is_circle(view, &outline->lines[i]))
            draw_radius(view, &outline->lines[i]);
}

void optic_sizes_draw(const struct optic_view *view, struct optic_told *told) {
    draw_sizes_along(view, told);
    draw_sizes_across(view, told);
    optic_section_as_clutter(view);
    draw_radii(view);
}
