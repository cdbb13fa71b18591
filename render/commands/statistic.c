#include "statistic.h"

#include "scenes/keys.h"

#include <math.h>
#include <string.h>
#include <strings.h>

typedef struct luxfall_estimate estimate;
typedef const struct statistic_source source;

static const estimate unknown = {NAN, NAN};

static estimate exact(double value) {
    return (estimate){value, NAN};
}

/* A value without a band divides one that has one. */
static estimate over(estimate value, double divisor) {
    return divisor > 0 ? (estimate){value.value / divisor, value.u95 / divisor} : unknown;
}

/* ---- of a field ------------------------------------------------------------------------------------------------ */

static const struct luxfall_field_result *field_of(source *of) {
    return &of->result->planes[of->plane].fields[of->field];
}

#define FIELD_VALUE(name)                      \
    static estimate field_##name(source *of) { \
        return field_of(of)->name;             \
    }
FIELD_VALUE(minimum_over_average)
FIELD_VALUE(minimum_over_maximum)
FIELD_VALUE(edge_over_centre)
FIELD_VALUE(centre_lx)
FIELD_VALUE(average_lx)
FIELD_VALUE(minimum_lx)
FIELD_VALUE(maximum_lx)
FIELD_VALUE(variation)
FIELD_VALUE(tilt_percent_per_mm)
FIELD_VALUE(dome_percent)
FIELD_VALUE(utilisation)
FIELD_VALUE(flux_lm)

static estimate field_wasted(source *of) {
    estimate used = field_of(of)->utilisation;
    return (estimate){1 - used.value, used.u95};
}

static estimate field_lux_per_watt(source *of) {
    return over(field_of(of)->centre_lx, of->result->power_w);
}

static estimate field_lux_per_price(source *of) {
    return over(field_of(of)->centre_lx, scene_price(of->scene, NULL));
}

/* ---- of a map -------------------------------------------------------------------------------------------------- */

#define MAP_VALUE(name)                            \
    static estimate map_##name(source *of) {       \
        return of->result->planes[of->plane].name; \
    }
MAP_VALUE(peak_lx)
MAP_VALUE(half_peak_diameter_mm)
MAP_VALUE(tenth_peak_diameter_mm)
MAP_VALUE(centre_lx)

/* ---- of the lamp ----------------------------------------------------------------------------------------------- */

static estimate lamp_watts(source *of) {
    return exact(of->result->power_w);
}

static estimate lamp_lumens(source *of) {
    return exact(of->result->leaving_lm);
}

static estimate lamp_lumens_per_watt(source *of) {
    return over(lamp_lumens(of), of->result->power_w);
}

static estimate lamp_price(source *of) {
    return exact(scene_price(of->scene, NULL));
}

/* One current of all that is lit; modules at several have none in common. */
static estimate lamp_current(source *of) {
    double current_a = NAN;
    bool first = true;
    for (size_t i = 0; i < of->result->module_count; i++) {
        if (of->scene->light.modules[i].dark)
            continue;
        double own = of->result->modules[i].current_a;
        if (!first && own != current_a)
            return unknown;
        current_a = own;
        first = false;
    }
    return exact(current_a);
}

/* ---- the table ------------------------------------------------------------------------------------------------- */

const struct statistic statistics[] = {
    {"U0", "uniformity|darkest/average|minimum/average|min/average|min/avg", "darkest/average", "", 1, OF_FIELD,
     BEST_HIGHEST, format_ratio, field_minimum_over_average},
    {"min/max", "minimum/maximum|darkest/brightest", "darkest/brightest", "", 1, OF_FIELD, BEST_HIGHEST, format_ratio,
     field_minimum_over_maximum},
    {"edge/centre", "corner/centre|edge over centre|edge/center", "edge/centre", "", 1, OF_FIELD, BEST_NEAREST_ONE,
     format_ratio, field_edge_over_centre},
    {"centre", "centre lux|center|lux", "centre", "lx", 1, OF_FIELD, BEST_HIGHEST, format_lux, field_centre_lx},
    {"average", "average lux|mean|avg", "average", "lx", 1, OF_FIELD, BEST_HIGHEST, format_lux, field_average_lx},
    {"minimum", "min|darkest", "darkest", "lx", 1, OF_FIELD, BEST_HIGHEST, format_lux, field_minimum_lx},
    {"maximum", "max|brightest", "brightest", "lx", 1, OF_FIELD, BEST_NONE, format_lux, field_maximum_lx},
    {"variation", "scatter", "variation", "%", 0.01, OF_FIELD, BEST_LOWEST, format_share, field_variation},
    {"tilt", "slope", "tilt", "%/mm", 1, OF_FIELD, BEST_LOWEST, format_tilt, field_tilt_percent_per_mm},
    {"dome", "hump", "dome", "%", 1, OF_FIELD, BEST_NONE, format_percent, field_dome_percent},
    {"share", "utilisation|utilization|light in it|share in it", "light in it", "%", 0.01, OF_FIELD, BEST_HIGHEST,
     format_share, field_utilisation},
    {"wasted", "waste|light beside it", "wasted", "%", 0.01, OF_FIELD, BEST_LOWEST, format_share, field_wasted},
    {"lumens", "lm|flux|lumens in it", "lumens in it", "lm", 1, OF_FIELD, BEST_HIGHEST, format_lumens, field_flux_lm},
    {"lux per watt", "lx/W|lux/W|lux/watt", "lux per watt", "lx/W", 1, OF_FIELD, BEST_HIGHEST, format_lux_per_watt,
     field_lux_per_watt},
    {"lux per price", "lx/price|lux/price", "lux per price", "lx", 1, OF_FIELD, BEST_HIGHEST, format_lux,
     field_lux_per_price},
    {"peak", "peak lux", "peak", "lx", 1, OF_MAP, BEST_HIGHEST, format_lux, map_peak_lx},
    {"spot", "spot at 50 %|spot diameter|half peak", "spot at 50 %", "mm", 1, OF_MAP, BEST_NONE, format_mm,
     map_half_peak_diameter_mm},
    {"visible edge", "spot at 10 %|tenth peak", "visible edge", "mm", 1, OF_MAP, BEST_NONE, format_mm,
     map_tenth_peak_diameter_mm},
    {"map centre", "map center|centre of the map", "centre of the map", "lx", 1, OF_MAP, BEST_HIGHEST, format_lux,
     map_centre_lx},
    {"watts", "W|power", "power", "W", 1, OF_LAMP, BEST_LOWEST, format_watts, lamp_watts},
    {"lamp lumens", "lumens of the lamp|lamp flux", "lumens of the lamp", "lm", 1, OF_LAMP, BEST_HIGHEST,
     format_lumens, lamp_lumens},
    {"lumens per watt", "lm/W|lumens/W|efficacy", "lumens per watt", "lm/W", 1, OF_LAMP, BEST_HIGHEST,
     format_lumens_per_watt, lamp_lumens_per_watt},
    {"price", "cost", "price", "", 1, OF_LAMP, BEST_LOWEST, format_price, lamp_price},
    {"current", "amperes|mA", "current", "mA", 0.001, OF_LAMP, BEST_NONE, format_current, lamp_current},
    {0},
};

/* ---- names ----------------------------------------------------------------------------------------------------- */

/* The index-th word for a statistic: its name, then its aliases. False behind the last. */
static bool word_of(const struct statistic *statistic, size_t index, char out[STATISTIC_WORD]) {
    const char *word = index == 0 ? statistic->name : statistic->aliases;
    for (size_t i = 1; word && i < index; i++) {
        const char *sign = strchr(word, '|');
        word = sign ? sign + 1 : NULL;
    }
    if (!word)
        return false;
    snprintf(out, STATISTIC_WORD, "%.*s", (int)strcspn(word, "|"), word);
    return true;
}

const struct statistic *statistic_named(const char *name) {
    char word[STATISTIC_WORD];
    for (const struct statistic *statistic = statistics; statistic->name; statistic++)
        for (size_t i = 0; word_of(statistic, i, word); i++)
            if (strcasecmp(word, name) == 0)
                return statistic;
    return NULL;
}

const char *statistic_near(const char *name) {
    enum { WORDS_MAX = 200 };
    static const struct statistic *const first = statistics;
    char words[WORDS_MAX][STATISTIC_WORD];
    const char *known[WORDS_MAX + 1] = {NULL};
    size_t owner[WORDS_MAX], count = 0;
    for (const struct statistic *statistic = first; statistic->name; statistic++)
        for (size_t i = 0; count < WORDS_MAX && word_of(statistic, i, words[count]); i++) {
            known[count] = words[count];
            owner[count++] = (size_t)(statistic - first);
        }
    const char *near = nearest_word(name, known);
    for (size_t i = 0; near && i < count; i++)
        if (known[i] == near)
            return statistics[owner[i]].name;
    return NULL;
}
