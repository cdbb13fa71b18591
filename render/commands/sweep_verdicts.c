#include "sweep_verdicts.h"

#include <math.h>
#include <stdarg.h>
#include <stdlib.h>
#include <string.h>

static void say(struct verdict *line, const char *format, ...) __attribute__((format(printf, 2, 3)));

static void say(struct verdict *line, const char *format, ...) {
    size_t used = strlen(line->text);
    va_list arguments;
    va_start(arguments, format);
    vsnprintf(line->text + used, sizeof line->text - used, format, arguments);
    va_end(arguments);
}

static void say_value(struct verdict *line, const struct sweep *sweep, size_t quantity,
                      const struct sweep_point *point) {
    char heading[TEXT_CELL], value[FORMAT_SIZE];
    quantity_text(&sweep->quantities[quantity], heading);
    sweep->quantities[quantity].statistic->format(value, point->values[quantity]);
    say(line, "%s %s", heading, value);
}

/* ---- wants ----------------------------------------------------------------------------------------------------- */

static void say_number(struct verdict *line, const struct sweep *sweep, double number) {
    char text[WISH_SIZE];
    vary_text(&sweep->varied[0], number, text);
    say(line, "%s", text);
}

static void say_crossing(struct verdict *line, const struct sweep *sweep, const struct crossing *crossing) {
    if (crossing->whole) {
        double at = crossing->point.number[0];
        say(line, "between ");
        say_number(line, sweep, crossing->rises ? crossing->other : at);
        say(line, " and ");
        say_number(line, sweep, crossing->rises ? at : crossing->other);
        return;
    }
    say(line, "at ");
    say_number(line, sweep, crossing->point.number[0]);
    if (isfinite(crossing->u95))
        say(line, " ±%.2g", crossing->u95);
}

static void say_crossings(struct verdict *line, const struct sweep *sweep, const struct sweep_want *want) {
    say(line, "crossed ");
    for (size_t i = 0; i < want->crossing_count; i++) {
        say(line, i == 0 ? "" : i + 1 == want->crossing_count ? " and " : ", ");
        say_crossing(line, sweep, &want->crossings[i]);
    }
    if (want->crossing_count == CROSSINGS_MAX)
        say(line, ", and perhaps more often than is told");
}

/* The parts of the range that meet the limit, which begin and end at crossings or at the range's own ends. */
static void say_parts(struct verdict *line, const struct sweep *sweep, const struct sweep_want *want) {
    const struct crossing *crossings = want->crossings;
    double from = sweep->points[0].number[0], to = sweep->points[sweep->point_count - 1].number[0];
    bool open = !crossings[0].rises;
    const char *before = "; met from ";
    for (size_t i = 0; i <= want->crossing_count; i++) {
        bool last = i == want->crossing_count;
        double at = last ? to : crossings[i].point.number[0];
        if (open) {
            say(line, "%s", before);
            say_number(line, sweep, from);
            say(line, " to ");
            say_number(line, sweep, at);
            before = " and from ";
        }
        open = !open;
        from = at;
    }
}

static size_t count_met(const struct sweep *sweep, const struct sweep_want *want) {
    size_t met = 0;
    for (size_t i = 0; i < sweep->point_count; i++)
        met += want_is_met(&want->want, sweep->points[i].values[want->quantity].value);
    return met;
}

/* The point nearest to meeting a limit that none meets; NULL: nowhere is there a value. */
static const struct sweep_point *nearest_to_met(const struct sweep *sweep, const struct sweep_want *want) {
    const struct sweep_point *nearest = NULL;
    for (size_t i = 0; i < sweep->point_count; i++) {
        const struct sweep_point *point = &sweep->points[i];
        double value = point->values[want->quantity].value;
        double best = nearest ? nearest->values[want->quantity].value : NAN;
        if (!isnan(value) && (!nearest || (want->want.at_most ? value < best : value > best)))
            nearest = point;
    }
    return nearest;
}

static void judge_want(struct verdict *line, const struct sweep *sweep, const struct sweep_want *want) {
    size_t met = count_met(sweep, want);
    say(line, "%s: ", want->text);
    if (met == sweep->point_count)
        say(line, "met at every point");
    else if (met == 0) {
        const struct sweep_point *nearest = nearest_to_met(sweep, want);
        char at[POINT_TEXT];
        say(line, "met nowhere");
        if (nearest) {
            sweep_point_text(sweep, nearest->number, at);
            say(line, "; nearest to it at %s, ", at);
            say_value(line, sweep, want->quantity, nearest);
        }
    } else if (sweep->varied_count > 1)
        say(line, "met at %zu of %zu points", met, sweep->point_count);
    else {
        say_crossings(line, sweep, want);
        if (want->crossing_count < CROSSINGS_MAX)
            say_parts(line, sweep, want);
    }
}

/* ---- the best -------------------------------------------------------------------------------------------------- */

static const char *sense(enum statistic_best best) {
    return best == BEST_HIGHEST ? "the highest" : best == BEST_LOWEST ? "the lowest" : "the nearest to 1";
}

/* Other points whose bands do not tell them from the best. */
static size_t count_alike(const struct sweep *sweep) {
    struct luxfall_estimate best = sweep->best.values[sweep->judged];
    size_t alike = 0;
    for (size_t i = 0; i < sweep->point_count; i++) {
        struct luxfall_estimate value = sweep->points[i].values[sweep->judged];
        alike += value.value != best.value && fabs(value.value - best.value) <= hypot(value.u95, best.u95);
    }
    return alike;
}

/* No want and no kink holds it there: the range does. */
static bool at_an_end(const struct sweep *sweep, const struct sweep_point *point) {
    double at = point->number[0];
    return sweep->varied_count == 1 && sweep->point_count > 1 &&
           (at == sweep->points[0].number[0] || at == sweep->points[sweep->point_count - 1].number[0]);
}

static void judge_best(struct verdict *line, const struct sweep *sweep) {
    char at[POINT_TEXT];
    const char *what = sweep->want_count > 1 ? "all" : "it";
    if (!sweep->best_found) {
        say(line, "no point meets %s", sweep->want_count > 1 ? "all that is wanted" : what);
        return;
    }
    sweep_point_text(sweep, sweep->best.number, at);
    bool light_alone = sweep_wants_light_alone(sweep);
    say(line, "%s", at);
    if (sweep->want_count)
        say(line, " meets %s at the %s light", what, light_alone ? "least" : "most");
    for (size_t i = 0; i < sweep->quantity_count; i++) {
        say(line, i ? "; " : ": ");
        say_value(line, sweep, i, &sweep->best);
        if (sweep->want_count == 0 && i == sweep->judged) {
            say(line, ", %s of the points", sense(sweep->quantities[i].statistic->best));
            size_t alike = count_alike(sweep);
            if (alike > 0)
                say(line, " (bands do not tell %zu other%s from it)", alike, alike == 1 ? "" : "s");
        }
    }
    if (sweep->best.over_limit)
        say(line, "; above the current limit");
    if (at_an_end(sweep, &sweep->best))
        say(line, "; the end of the range: beyond it there may be better");
}

/* ---- currents -------------------------------------------------------------------------------------------------- */

static void judge_lux_per_watt(struct verdict *line, const struct sweep *sweep) {
    const struct sweep_point *most = sweep_most_per_watt(sweep);
    if (!most) {
        say(line, "not to be had: the voltage of an emitter is not known");
        return;
    }
    char at[POINT_TEXT];
    sweep_point_text(sweep, most->number, at);
    say(line, "most at %s: ", at);
    say_value(line, sweep, sweep->lux_per_watt, most);
    say(line, ", ");
    say_value(line, sweep, sweep->watts, most);
    if (most->over_limit)
        say(line, "; above the current limit");
    if (at_an_end(sweep, most))
        say(line, "; the end of the range: beyond it there may be more");
}

/* Points at currents that an emitter is not made for; nothing where there is none. */
static bool judge_limit(struct verdict *line, const struct sweep *sweep) {
    const struct sweep_point *first = NULL;
    size_t count = 0;
    for (size_t i = 0; i < sweep->point_count; i++) {
        if (sweep->points[i].over_limit && !first)
            first = &sweep->points[i];
        count += sweep->points[i].over_limit;
    }
    if (!first)
        return false;
    char at[POINT_TEXT];
    sweep_point_text(sweep, first->number, at);
    line->label = "limit";
    say(line,
        "%zu of %zu points, the first at %s, are above the current limit of an emitter: hotter than it is made "
        "for, less light than told here",
        count, sweep->point_count, at);
    return true;
}

static struct verdict *judge_idle(struct verdict *line, const struct sweep *sweep) {
    for (size_t i = 0; i < sweep->varied_count; i++)
        if (sweep_is_idle(sweep, i)) {
            line->label = "idle";
            say(line++, "nothing that is told here depends on %s", sweep->varied[i].path);
        }
    return line;
}

struct verdicts *verdicts_make(const struct sweep *sweep) {
    struct verdicts *verdicts = calloc(1, sizeof *verdicts);
    if (!verdicts)
        return NULL;
    struct verdict *line = verdicts->lines;
    for (size_t i = 0; i < sweep->want_count; i++, line++) {
        line->label = "want";
        judge_want(line, sweep, &sweep->wants[i]);
    }
    struct verdict *idle = line;
    line = judge_idle(line, sweep);
    if (sweep->best_found || (sweep->want_count && (size_t)(line - idle) < sweep->varied_count)) {
        line->label = "best";
        judge_best(line++, sweep);
    }
    if (sweep->lux_per_watt != NO_QUANTITY) {
        line->label = "lux per watt";
        judge_lux_per_watt(line++, sweep);
    }
    line += judge_limit(line, sweep);
    const struct luxfall_target *target = &sweep->base.scene->light.target;
    if (target->level_count > 1) {
        line->label = "level";
        say(line++, "%g mm is judged, of %zu levels the nearest to 0", sweep_level_mm(target), target->level_count);
    }
    verdicts->count = (size_t)(line - verdicts->lines);
    return verdicts;
}
