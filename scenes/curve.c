#include "scenes/curve.h"
#include "scenes/reader.h"

#include <math.h>
#include <string.h>
#include <strings.h>

static const double PI = 3.14159265358979323846;

enum { POINTS_MAX = 10000 };

struct curve {
    struct table table;
    size_t angle_column, value_column;
    double *angle_deg, *value;
    size_t count;
    double peak;
};

static struct scene_place cell_place(const struct curve *curve, size_t row, size_t column) {
    return curve->table.cells[row * curve->table.columns + column].place;
}

static struct scene_place whole(const struct curve *curve) {
    return (struct scene_place){curve->table.source->label, 0, 0};
}

/* What multiplies the values to give fractions; 0 where the numbers must tell. */
static bool find_columns(struct curve *curve, double *factor) {
    static const char *const angles[] = {"angle_deg", "angle", "theta_deg", NULL}, *const fraction[] = {"rel", NULL},
                             *const percent[] = {"rel_percent", NULL}, *const candela[] = {"intensity_cd", NULL};
    const struct table *table = &curve->table;
    *factor = 0;
    curve->angle_column = 0;
    curve->value_column = 1;
    if (table->columns < 2) {
        table_tell(table, MESSAGE_ERROR, cell_place(curve, 0, 0),
                   "one column only; an angle and an intensity are needed");
        return false;
    }
    if (!table->has_header)
        return true;
    int angle = table_column(table, angles), value = -1;
    const char *const *const kinds[] = {fraction, percent, candela};
    const double factors[] = {1, 0.01, 1};
    for (size_t i = 0; i < 3 && value < 0; i++) {
        value = table_column(table, kinds[i]);
        *factor = factors[i];
    }
    if (angle < 0 || value < 0) {
        table_tell(table, MESSAGE_ERROR, table->header[0].place, "no column %s; the columns are %s",
                   angle < 0 ? "angle_deg" : "rel, rel_percent or intensity_cd", table_names(table));
        return false;
    }
    curve->angle_column = (size_t)angle;
    curve->value_column = (size_t)value;
    return true;
}

static bool read_points(struct curve *curve) {
    const struct table *table = &curve->table;
    bool good = true;
    if (table->row_count > POINTS_MAX || table->row_count < 2) {
        table_tell(table, MESSAGE_ERROR, whole(curve), "%zu rows; a curve takes 2 to %d", table->row_count,
                   POINTS_MAX);
        return false;
    }
    curve->count = table->row_count;
    curve->angle_deg = arena_take(table->arena, curve->count, sizeof *curve->angle_deg);
    curve->value = arena_take(table->arena, curve->count, sizeof *curve->value);
    if (curve->angle_deg == NULL || curve->value == NULL)
        return false;
    for (size_t i = 0; i < curve->count; i++) {
        good = table_number(table, i, curve->angle_column, &curve->angle_deg[i]) && good;
        good = table_number(table, i, curve->value_column, &curve->value[i]) && good;
    }
    for (size_t i = 0; good && i < curve->count; i++)
        curve->peak = fmax(curve->peak, curve->value[i]);
    return good;
}

static bool check_order(const struct curve *curve) {
    bool good = true;
    for (size_t i = 1; i < curve->count; i++) {
        if (curve->angle_deg[i] > curve->angle_deg[i - 1])
            continue;
        good = false;
        table_tell(&curve->table, MESSAGE_ERROR, cell_place(curve, i, curve->angle_column),
                   "the angle %.6g deg does not ascend: line %d has %.6g deg", curve->angle_deg[i],
                   cell_place(curve, i - 1, curve->angle_column).line, curve->angle_deg[i - 1]);
    }
    return good;
}

static bool check_peak(const struct curve *curve, double factor) {
    const struct scene_place place = cell_place(curve, 0, curve->value_column);
    bool fraction = curve->peak >= 0.5 && curve->peak <= 1.2, percent = curve->peak >= 20 && curve->peak <= 120;
    if (!(curve->peak > 0))
        table_tell(&curve->table, MESSAGE_ERROR, place, "all intensities are 0");
    else if (factor == 0 && !fraction && !percent)
        table_tell(&curve->table, MESSAGE_ERROR, place,
                   "the peak of %.6g is neither a fraction (about 1) nor percent (about 100); name the column rel, "
                   "rel_percent or intensity_cd",
                   curve->peak);
    else
        return true;
    return false;
}

static bool clamp_negatives(struct curve *curve) {
    bool good = true, told = false;
    for (size_t i = 0; i < curve->count; i++) {
        double value = curve->value[i];
        if (value >= 0)
            continue;
        struct scene_place place = cell_place(curve, i, curve->value_column);
        if (value < -0.01 * curve->peak) {
            table_tell(&curve->table, MESSAGE_ERROR, place, "the intensity %.6g is negative", value);
            good = false;
        } else if (!told) {
            table_tell(&curve->table, MESSAGE_WARNING, place,
                       "negative intensities, at most 1 %% of the peak, are "
                       "taken as 0");
            told = true;
        }
        curve->value[i] = 0;
    }
    return good;
}

static double angle_of_peak(const struct curve *curve) {
    size_t best = 0;
    for (size_t i = 1; i < curve->count; i++)
        if (curve->value[i] > curve->value[best])
            best = i;
    return curve->angle_deg[best];
}

/* "# axis_centre: 90" makes an elevation axis an angle from the normal. */
static bool shift_axis(struct curve *curve) {
    const struct table_remark *remark = table_remark(&curve->table, "axis_centre");
    struct scene_place last = cell_place(curve, curve->count - 1, curve->angle_column);
    double first_deg = curve->angle_deg[0], last_deg = curve->angle_deg[curve->count - 1], centre = 0;
    struct reason why;
    if (remark != NULL && !quantity_read(remark->value, NUMBER, &centre, &why)) {
        table_tell(&curve->table, MESSAGE_ERROR, remark->place, "%s", why.text);
        return false;
    }
    if (remark == NULL && first_deg >= 0 && last_deg > 150 && fabs(angle_of_peak(curve) - 90) <= 20) {
        table_tell(
            &curve->table, MESSAGE_ERROR, last,
            "angles to %.6g deg with the peak near 90 deg: if 90 is the axis, say so in a line '# axis_centre: 90'",
            last_deg);
        return false;
    }
    for (size_t i = 0; i < curve->count; i++)
        curve->angle_deg[i] -= centre;
    return true;
}

static bool check_span(const struct curve *curve) {
    double first = curve->angle_deg[0], last = curve->angle_deg[curve->count - 1];
    struct scene_place place = cell_place(curve, curve->count - 1, curve->angle_column);
    if (first < -180 || last > 180) {
        table_tell(&curve->table, MESSAGE_ERROR, first < -180 ? cell_place(curve, 0, curve->angle_column) : place,
                   "angles run from %.6g to %.6g deg; at most from -180 to 180", first, last);
        return false;
    }
    if (fabs(first) <= 1.6 && last <= 1.6 && curve->count >= 5) {
        table_tell(&curve->table, MESSAGE_ERROR, place,
                   "the last angle is %.6g deg; are these radians? Degrees are "
                   "expected",
                   last);
        return false;
    }
    return true;
}

/* Straight lines between points, 0 outside. */
static double at_angle(const struct curve *curve, double angle_deg) {
    size_t low = 0, high = curve->count - 1;
    if (angle_deg < curve->angle_deg[0] || angle_deg > curve->angle_deg[high])
        return 0;
    while (high - low > 1) {
        size_t middle = (low + high) / 2;
        *(curve->angle_deg[middle] <= angle_deg ? &low : &high) = middle;
    }
    double part = (angle_deg - curve->angle_deg[low]) / (curve->angle_deg[high] - curve->angle_deg[low]);
    return curve->value[low] + part * (curve->value[high] - curve->value[low]);
}

/* Writes the ascending angles |a| of a full curve, 0 with them, into out; returns how many. */
static size_t fold_angles(const struct curve *curve, double *out) {
    size_t right = 0, count = 0;
    while (right < curve->count && curve->angle_deg[right] < 0)
        right++;
    size_t left = right;
    out[count++] = 0;
    while (left > 0 || right < curve->count) {
        double a = left > 0 ? -curve->angle_deg[left - 1] : INFINITY;
        double b = right < curve->count ? curve->angle_deg[right] : INFINITY;
        double next = fmin(a, b);
        left -= a == next;
        right += b == next;
        if (next > out[count - 1])
            out[count++] = next;
    }
    return count;
}

static bool fold(struct curve *curve) {
    double first = curve->angle_deg[0], last = curve->angle_deg[curve->count - 1];
    double step = fmin(curve->angle_deg[1] - first, last - curve->angle_deg[curve->count - 2]), asymmetry = 0;
    if (fabs(first + last) > step * (1 + 1e-9) || last <= 0) {
        table_tell(&curve->table, MESSAGE_ERROR, cell_place(curve, 0, curve->angle_column),
                   "a full curve must reach equally far to both sides; this one runs from %.6g to %.6g deg", first,
                   last);
        return false;
    }
    double *angle = arena_take(curve->table.arena, curve->count + 1, sizeof *angle);
    double *value = arena_take(curve->table.arena, curve->count + 1, sizeof *value);
    if (angle == NULL || value == NULL)
        return false;
    size_t count = fold_angles(curve, angle);
    double reach = fmin(-first, last);
    while (count > 1 && angle[count - 1] > reach)
        count--;
    for (size_t i = 0; i < count; i++) {
        double left = at_angle(curve, -angle[i]), right = at_angle(curve, angle[i]);
        value[i] = (left + right) / 2;
        asymmetry = fmax(asymmetry, fabs(left - right) / curve->peak);
    }
    if (asymmetry >= 0.0005)
        table_tell(&curve->table, MESSAGE_WARNING, whole(curve),
                   "a full curve: the mean of its halves is taken; they differ by up to %.1f %% of the peak",
                   100 * asymmetry);
    curve->angle_deg = angle;
    curve->value = value;
    curve->count = count;
    return true;
}

static bool start_at_axis(struct curve *curve) {
    struct scene_place place = cell_place(curve, 0, curve->angle_column);
    double first = curve->angle_deg[0];
    if (first == 0)
        return true;
    if (first > 5) {
        table_tell(&curve->table, MESSAGE_ERROR, place, "the first angle is %.6g deg; a half curve starts at 0",
                   first);
        return false;
    }
    table_tell(&curve->table, MESSAGE_WARNING, place,
               "the first angle is %.6g deg; from 0 to there the curve is taken "
               "as level",
               first);
    double *angle = arena_take(curve->table.arena, curve->count + 1, sizeof *angle);
    double *value = arena_take(curve->table.arena, curve->count + 1, sizeof *value);
    if (angle == NULL || value == NULL)
        return false;
    memcpy(angle + 1, curve->angle_deg, curve->count * sizeof *angle);
    memcpy(value + 1, curve->value, curve->count * sizeof *value);
    value[0] = value[1];
    curve->angle_deg = angle;
    curve->value = value;
    curve->count++;
    return true;
}

static bool to_half(struct curve *curve) {
    const struct table_remark *remark = table_remark(&curve->table, "curve");
    bool full = curve->angle_deg[0] < 0;
    if (remark != NULL && strcasecmp(remark->value, full ? "full" : "half") != 0) {
        table_tell(&curve->table, MESSAGE_ERROR, remark->place,
                   "'# curve: %.20s', but the angles are those of a %s curve", remark->value, full ? "full" : "half");
        return false;
    }
    return full ? fold(curve) : start_at_axis(curve);
}

/* A flat die sends nothing behind itself. */
static void cut_at_horizon(struct curve *curve) {
    size_t kept = curve->count;
    double behind = 0;
    while (kept > 0 && curve->angle_deg[kept - 1] > 90) {
        kept--;
        behind = fmax(behind, curve->value[kept]);
    }
    if (behind > 0.02 * curve->peak)
        table_tell(&curve->table, MESSAGE_WARNING, whole(curve),
                   "light beyond 90 deg, up to %.1f %% of the peak, is left out", 100 * behind / curve->peak);
    if (kept < curve->count && kept > 0 && curve->angle_deg[kept - 1] < 90) {
        curve->value[kept] = at_angle(curve, 90);
        curve->angle_deg[kept++] = 90;
    }
    curve->count = kept;
    double last = curve->angle_deg[kept - 1], rest = curve->value[kept - 1] / curve->peak;
    if (last < 90 && rest > 0.02)
        table_tell(&curve->table, MESSAGE_WARNING, whole(curve),
                   "the curve ends at %.6g deg with %.1f %% of the peak; beyond that no light is taken", last,
                   100 * rest);
}

/* Somewhere before 90 deg; a straight line rises from its lower end on. */
static bool some_light(const struct curve *curve) {
    for (size_t i = 0; i < curve->count; i++)
        if (curve->value[i] > 0 && (curve->angle_deg[i] < 90 || (i > 0 && curve->angle_deg[i - 1] < 90)))
            return true;
    return false;
}

bool curve_from_source(struct arena *arena, struct messages *messages, const struct source *source, bool quiet,
                       struct luxfall_intensity *out) {
    struct curve curve = {.peak = 0};
    double factor = 0;
    if (!table_read(arena, messages, source, quiet, &curve.table) || !find_columns(&curve, &factor) ||
        !read_points(&curve))
        return false;
    bool good = check_order(&curve);
    good = check_peak(&curve, factor) && good;
    if (!good || !clamp_negatives(&curve) || !shift_axis(&curve) || !check_span(&curve) || !to_half(&curve))
        return false;
    if (!some_light(&curve)) {
        table_tell(&curve.table, MESSAGE_ERROR, whole(&curve), "no light within 90 deg of the axis");
        return false;
    }
    cut_at_horizon(&curve);
    double *angle_rad = arena_take(arena, curve.count, sizeof *angle_rad);
    if (angle_rad == NULL || curve.count < 2)
        return false;
    for (size_t i = 0; i < curve.count; i++) {
        angle_rad[i] = curve.angle_deg[i] * PI / 180;
        curve.value[i] /= curve.peak;
    }
    *out = (struct luxfall_intensity){LUXFALL_CURVE, 0, curve.count, angle_rad, curve.value};
    return true;
}

bool read_curve(struct reader *reader, const struct node *node, struct luxfall_intensity *out,
                const char **file_from_scene) {
    const struct source *source = reader_file(reader, node, file_from_scene);
    return source != NULL && curve_from_source(reader->arena, reader->messages, source, reader->quiet, out);
}
