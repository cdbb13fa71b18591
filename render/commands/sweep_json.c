/* A sweep as JSON: values as luxfall trace has them in statistics.json. */
#include "sweep_files.h"

#include <math.h>
#include <string.h>

/* json_*_new calls take NULL for "lost": `lost` gathers them all. */
struct writer {
    const struct sweep *sweep;
    bool lost;
};

static void put(struct writer *w, json_t *object, const char *key, json_t *value) {
    w->lost |= json_object_set_new(object, key, value) != 0;
}

static void append(struct writer *w, json_t *array, json_t *value) {
    w->lost |= json_array_append_new(array, value) != 0;
}

static json_t *number(double value) {
    return isfinite(value) ? json_real(value) : json_null();
}

static bool by_rays(const struct writer *w) {
    return w->sweep->tracing.options.method == LUXFALL_RAYS;
}

static json_t *varied_json(struct writer *w, size_t index) {
    const struct vary *varied = &w->sweep->varied[index];
    json_t *object = json_object(), *values = json_array();
    size_t apart = index == 0 ? 1 : w->sweep->varied[0].steps;
    for (size_t i = 0; i < varied->steps; i++)
        append(w, values, number(w->sweep->points[i * apart].number[index]));
    put(w, object, "path", json_string(varied->path));
    put(w, object, "unit", json_string(varied->unit));
    put(w, object, "values", values);
    return object;
}

/* One value a point; of two varied numbers an array of the first's values for every value of the second. */
static json_t *values_json(struct writer *w, size_t quantity, bool bands) {
    const struct sweep *sweep = w->sweep;
    json_t *all = json_array(), *row = all;
    for (size_t i = 0; i < sweep->point_count; i++) {
        if (sweep->varied_count > 1 && i % sweep->varied[0].steps == 0)
            append(w, all, row = json_array());
        struct luxfall_estimate value = sweep->points[i].values[quantity];
        append(w, row, number(bands ? value.u95 : value.value));
    }
    return all;
}

static void put_heading(struct writer *w, json_t *object, const struct quantity *quantity) {
    put(w, object, "name", json_string(quantity->statistic->name));
    put(w, object, "field", quantity->field ? json_string(quantity->field) : json_null());
    put(w, object, "unit", json_string(quantity->statistic->unit_size == 1 ? quantity->statistic->unit : ""));
}

static json_t *statistics_json_of(struct writer *w) {
    json_t *array = json_array();
    for (size_t i = 0; i < w->sweep->quantity_count; i++) {
        json_t *object = json_object();
        put_heading(w, object, &w->sweep->quantities[i]);
        put(w, object, "values", values_json(w, i, false));
        if (by_rays(w))
            put(w, object, "values_u95", values_json(w, i, true));
        append(w, array, object);
    }
    return array;
}

static json_t *point_json(struct writer *w, const struct sweep_point *point) {
    json_t *object = json_object(), *at = json_array(), *values = json_array();
    char text[POINT_TEXT];
    for (size_t i = 0; i < w->sweep->varied_count; i++)
        append(w, at, number(point->number[i]));
    sweep_point_text(w->sweep, point->number, text);
    for (size_t i = 0; i < w->sweep->quantity_count; i++) {
        json_t *value = json_object();
        put_heading(w, value, &w->sweep->quantities[i]);
        put(w, value, "value", number(point->values[i].value));
        if (by_rays(w))
            put(w, value, "value_u95", number(point->values[i].u95));
        append(w, values, value);
    }
    put(w, object, "at", at);
    put(w, object, "text", json_string(text));
    put(w, object, "statistics", values);
    put(w, object, "above_current_limit", json_boolean(point->over_limit));
    return object;
}

static json_t *crossing_json(struct writer *w, const struct crossing *crossing) {
    json_t *object = json_object();
    put(w, object, "at", number(crossing->point.number[0]));
    if (by_rays(w))
        put(w, object, "at_u95", number(crossing->u95));
    put(w, object, "met", json_string(crossing->rises ? "from here on" : "up to here"));
    if (crossing->whole)
        put(w, object, "missed_at", number(crossing->other));
    return object;
}

static json_t *wants_json(struct writer *w) {
    json_t *array = json_array();
    for (size_t i = 0; i < w->sweep->want_count; i++) {
        const struct sweep_want *want = &w->sweep->wants[i];
        json_t *object = json_object(), *crossings = json_array();
        size_t met = 0;
        for (size_t j = 0; j < w->sweep->point_count; j++)
            met += want_is_met(&want->want, w->sweep->points[j].values[want->quantity].value);
        for (size_t j = 0; j < want->crossing_count; j++)
            append(w, crossings, crossing_json(w, &want->crossings[j]));
        put(w, object, "want", json_string(want->text));
        put(w, object, "points_that_meet_it", json_integer((json_int_t)met));
        put(w, object, "crossings", crossings);
        append(w, array, object);
    }
    return array;
}

static void put_estimate(struct writer *w, json_t *object, const char *key, struct luxfall_estimate value) {
    char band[64];
    put(w, object, key, number(value.value));
    snprintf(band, sizeof band, "%s_u95", key);
    if (by_rays(w))
        put(w, object, band, number(value.u95));
}

static json_t *aim_json(struct writer *w, const struct priced_aim *aim) {
    json_t *object = json_object(), *levels = json_array();
    for (size_t i = 0; i < PRICED_LEVELS; i++) {
        json_t *level = json_object();
        put(w, level, "level_mm", number(w->sweep->price.level_mm[i]));
        put_estimate(w, level, "centre_lx", aim->lx[i]);
        put_estimate(w, level, "minimum_over_average", aim->even[i]);
        append(w, levels, level);
    }
    put(w, object, "levels", levels);
    put(w, object, "worst_dark", json_string(w->sweep->base.scene->light.modules[aim->dark].name));
    put_estimate(w, object, "minimum_over_average_worst_dark", aim->dark_even);
    return object;
}

static json_t *price_json(struct writer *w) {
    const struct sweep_price *price = &w->sweep->price;
    json_t *object = json_object();
    put(w, object, "field", json_string(w->sweep->quantities[w->sweep->lux].field));
    put(w, object, "centre_lux_kept", number(price->best.lx[0].value / price->centre.lx[0].value));
    put(w, object, "here", aim_json(w, &price->best));
    put(w, object, "aimed_at_centre", aim_json(w, &price->centre));
    return object;
}

static json_t *warnings_json(struct writer *w) {
    json_t *array = json_array();
    const struct messages *messages = &w->sweep->base.messages;
    for (size_t i = 0; i < messages->count; i++) {
        const struct message *m = &messages->items[i];
        json_t *object = json_object();
        const char *file = m->place.file ? m->place.file : "";
        put(w, object, "at",
            m->place.line > 0 ? json_sprintf("%s:%d:%d", file, m->place.line, m->place.column) : json_string(file));
        put(w, object, "text", json_string(m->text));
        append(w, array, object);
    }
    return array;
}

json_t *sweep_json(const struct sweep *sweep) {
    struct writer w = {sweep, false};
    json_t *root = json_object(), *vary = json_array();
    put(&w, root, "luxfall", json_string(luxfall_version()));
    put(&w, root, "scene", json_string(sweep->base.path));
    put(&w, root, "title", json_string(sweep->base.scene->title));
    put(&w, root, "method", json_string(by_rays(&w) ? "rays" : "direct"));
    put(&w, root, "seed", json_integer((json_int_t)sweep->shown.result->seed));
    put(&w, root, "level_mm", number(sweep_level_mm(&sweep->base.scene->light.target)));
    for (size_t i = 0; i < sweep->varied_count; i++)
        append(&w, vary, varied_json(&w, i));
    put(&w, root, "vary", vary);
    put(&w, root, "statistics", statistics_json_of(&w));
    put(&w, root, "wants", wants_json(&w));
    json_t *best = sweep->best_found ? point_json(&w, &sweep->best) : json_null();
    if (sweep->price.known)
        put(&w, best, "price", price_json(&w));
    put(&w, root, "best", best);
    put(&w, root, "warnings", warnings_json(&w));
    if (!w.lost)
        return root;
    json_decref(root);
    return NULL;
}
