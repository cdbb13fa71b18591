#include "wishes.h"

#include "scenes/keys.h"
#include "scenes/messages.h"
#include "scenes/numbers.h"
#include "scenes/text.h"

#include <math.h>
#include <string.h>

/* ---- a text and its mistakes ----------------------------------------------------------------------------------- */

struct reading {
    const char *option, *text;
    struct messages *messages;
};

/* A stretch of the text, without blanks around it. */
struct part {
    const char *at;
    size_t length;
};

static struct part part_between(const char *from, const char *to) {
    while (from < to && *from == ' ')
        from++;
    while (to > from && to[-1] == ' ')
        to--;
    return (struct part){from, (size_t)(to - from)};
}

__attribute__((format(printf, 3, 4))) static bool refuse(const struct reading *reading, const char *at,
                                                         const char *format, ...) {
    struct scene_place place = {reading->option, 1, (int)(at - reading->text) + 1};
    va_list arguments;
    va_start(arguments, format);
    messages_add_list(reading->messages, MESSAGE_ERROR, place, reading->text, format, arguments);
    va_end(arguments);
    return false;
}

/* Every part of it then fits wherever a part is kept. */
static bool is_plain(const struct reading *reading) {
    size_t length = strlen(reading->text);
    if (length >= WISH_SIZE)
        return refuse(reading, reading->text, "longer than %d bytes", WISH_SIZE - 1);
    return !has_control(reading->text, length) ||
           refuse(reading, reading->text, "a control character, or bytes that are no UTF-8");
}

static void keep(char out[WISH_SIZE], struct part part) {
    memcpy(out, part.at, part.length);
    out[part.length] = '\0';
}

static bool is_word(struct part part, const char *word) {
    return strlen(word) == part.length && memcmp(part.at, word, part.length) == 0;
}

/* A number at the start of a part; *rest is what stands behind it. expected: what should be here, for instance. */
static bool take_number(const struct reading *reading, struct part part, const char *expected, double *number,
                        struct part *rest) {
    char text[WISH_SIZE];
    const char *end = text;
    keep(text, part);
    if (part.length == 0)
        return refuse(reading, part.at, "nothing stands here; %s is expected", expected);
    enum number_status status = number_read(text, number, &end);
    if (status != NUMBER_OK)
        return refuse(reading, part.at, "'%.40s' %s; %s is expected", text, number_complaint(status), expected);
    *rest = part_between(part.at + (end - text), part.at + part.length);
    return true;
}

/* ---- what is varied -------------------------------------------------------------------------------------------- */

/* A decimal of so many digits is a double and back again the same decimal. */
enum { TEXT_DIGITS = 15 };

static const char vary_example[] = "a path and two numbers, such as modules.ring.aim=0 mm short..60 mm short";

/* One end of the range: "disc 18 mm", "20 mm past", "centre". */
struct end {
    struct part before, number, unit;
    double value;
};

static bool take_end(const struct reading *reading, struct part part, struct end *out) {
    const char *number = part.at, *stop = part.at + part.length;
    if (is_word(part, "centre")) {
        *out = (struct end){.before = {part.at, 0}, .number = part, .unit = {stop, 0}};
        return true;
    }
    while (number < stop && !strchr("0123456789.+-", *number))
        number++;
    if (number == stop)
        number = part.at; /* told where it begins */
    out->before = part_between(part.at, number);
    out->number = part_between(number, stop);
    return take_number(reading, out->number, "a number with its unit", &out->value, &out->unit);
}

static bool same_part(struct part a, struct part b) {
    return a.length == b.length && memcmp(a.at, b.at, a.length) == 0;
}

static bool ends_with(struct part part, const char *ending, struct part *stem) {
    size_t length = strlen(ending);
    bool ends = part.length > length && memcmp(part.at + part.length - length, ending, length) == 0;
    if (ends)
        *stem = (struct part){part.at, part.length - length};
    return ends;
}

/* The same length short of the centre and past it have one unit and two signs. */
static bool is_other_side(struct part a, struct part b) {
    struct part stem_a, stem_b;
    return ((ends_with(a, " short", &stem_a) && ends_with(b, " past", &stem_b)) ||
            (ends_with(a, " past", &stem_a) && ends_with(b, " short", &stem_b))) &&
           same_part(stem_a, stem_b);
}

static bool join_ends(const struct reading *reading, struct end *from, struct end *to, struct vary *out) {
    if (to->unit.length == 0 && is_word(to->number, "centre"))
        to->unit = from->unit;
    if (from->unit.length > 0 && is_other_side(from->unit, to->unit))
        from->value = -from->value;
    else if (from->unit.length > 0 && !same_part(from->unit, to->unit))
        return refuse(reading, to->unit.at, "'%.*s' and '%.*s': both numbers of a range have the same unit",
                      (int)from->unit.length, from->unit.at, (int)to->unit.length, to->unit.at);
    if (from->before.length > 0 && !same_part(from->before, to->before) && to->before.length > 0)
        return refuse(reading, to->before.at, "'%.*s' and '%.*s': both ends of a range begin with the same word",
                      (int)from->before.length, from->before.at, (int)to->before.length, to->before.at);
    struct part before = from->before.length > 0 ? from->before : to->before;
    if (to->unit.length >= sizeof out->unit || before.length >= sizeof out->before)
        return refuse(reading, to->number.at, "too many words beside a number; write %s", vary_example);
    snprintf(out->unit, sizeof out->unit, "%.*s", (int)to->unit.length, to->unit.at);
    snprintf(out->before, sizeof out->before, "%.*s", (int)before.length, before.at);
    out->from = number_rounded(from->value, TEXT_DIGITS);
    out->to = number_rounded(to->value, TEXT_DIGITS);
    return true;
}

/* Where the steps are told: the last sign '/' with a number behind it. A unit may hold one too: cd/lm. */
static const char *sign_of_steps(struct part part) {
    for (size_t i = part.length; i > 0; i--) {
        if (part.at[i - 1] != '/')
            continue;
        struct part behind = part_between(part.at + i, part.at + part.length);
        return behind.length == 0 || strchr("0123456789.+-", behind.at[0]) ? &part.at[i - 1] : NULL;
    }
    return NULL;
}

static bool is_whole(double value) {
    return value == floor(value);
}

static bool take_steps(const struct reading *reading, struct part part, double *steps) {
    struct part rest;
    if (!take_number(reading, part, "a number of values", steps, &rest))
        return false;
    if (rest.length > 0 || !is_whole(*steps) || *steps < 1 || *steps > VARY_STEPS_MAX)
        return refuse(reading, part.at, "'%.*s': a whole number of values from 1 to %d is expected",
                      part.length > 40 ? 40 : (int)part.length, part.at, VARY_STEPS_MAX);
    return true;
}

static bool choose_steps(const struct reading *reading, const struct end *to, bool given, double steps,
                         struct vary *out) {
    double span = fabs(out->to - out->from);
    bool count = out->unit[0] == '\0' && is_whole(out->from) && is_whole(out->to);
    if (!given)
        steps = count ? span + 1 : VARY_STEPS_USUAL;
    if (span == 0 && (!given || steps > 1))
        return refuse(reading, to->number.at,
                      "both numbers are the same; a range is expected, or '/1' for one value");
    if (span > 0 && steps == 1)
        return refuse(reading, to->number.at, "one value, but two different numbers; '/2' or more is expected");
    if (steps > VARY_STEPS_MAX)
        return refuse(reading, to->number.at, "more than %d whole numbers; write how many behind them, such as '/25'",
                      VARY_STEPS_MAX);
    out->steps = (size_t)steps;
    return true;
}

/* "0 mm short..60 mm short/31" */
static bool take_range(const struct reading *reading, struct part range, struct vary *out) {
    struct end from = {{NULL, 0}, {NULL, 0}, {NULL, 0}, 0}, to = from;
    const char *stop = range.at + range.length, *dots = strstr(range.at, "..");
    if (!dots)
        return refuse(reading, range.at, "no '..' between two numbers; write %s", vary_example);
    if (dots[2] == '.')
        return refuse(reading, dots, "more than two dots between the numbers");
    if (strstr(dots + 2, ".."))
        return refuse(reading, strstr(dots + 2, ".."), "a second '..'; a range has two numbers");
    const char *sign = sign_of_steps(part_between(dots + 2, stop));
    double steps = 0;
    return take_end(reading, part_between(range.at, dots), &from) &&
           take_end(reading, part_between(dots + 2, sign ? sign : stop), &to) &&
           (!sign || take_steps(reading, part_between(sign + 1, stop), &steps)) &&
           join_ends(reading, &from, &to, out) && choose_steps(reading, &to, sign != NULL, steps, out);
}

bool vary_read(const char *text, struct messages *messages, struct vary *out) {
    const struct reading reading = {"--vary", text, messages};
    *out = (struct vary){0};
    if (!is_plain(&reading))
        return false;
    const char *sign = strrchr(text, '='), *stop = text + strlen(text);
    if (!sign)
        return refuse(&reading, stop, "no '='; write %s", vary_example);
    struct part path = part_between(text, sign);
    if (path.length == 0)
        return refuse(&reading, text, "no path before '='; write %s", vary_example);
    keep(out->path, path);
    return take_range(&reading, part_between(sign + 1, stop), out);
}

/* To the digits of the larger end: what is finer is noise of the sum. */
double vary_number(const struct vary *vary, size_t step) {
    if (step == 0 || vary->steps < 2)
        return vary->from;
    if (step + 1 >= vary->steps)
        return vary->to;
    double share = (double)step / (double)(vary->steps - 1);
    double number = vary->from * (1 - share) + vary->to * share, largest = fmax(fabs(vary->from), fabs(vary->to));
    if (fabs(number) < 1e-14 * largest)
        return 0;
    int lost = (int)(floor(log10(largest)) - floor(log10(fabs(number))));
    return number_rounded(number, lost < TEXT_DIGITS - 1 ? TEXT_DIGITS - lost : 1);
}

void vary_text(const struct vary *vary, double number, char out[WISH_SIZE]) {
    struct part unit = {vary->unit, strlen(vary->unit)}, stem = unit;
    bool to_short = ends_with(unit, " short", &stem), to_past = ends_with(unit, " past", &stem);
    char digits[40];
    if ((to_short || to_past) && number == 0) {
        snprintf(out, WISH_SIZE, "centre");
        return;
    }
    bool turned = (to_short || to_past) && number < 0;
    number_write(number_rounded(turned ? -number : number + 0.0, TEXT_DIGITS), digits, sizeof digits);
    snprintf(out, WISH_SIZE, "%s%s%s%s%.*s%s", vary->before, vary->before[0] ? " " : "", digits,
             unit.length > 0 ? " " : "", turned ? (int)stem.length : (int)unit.length, vary->unit,
             !turned    ? ""
             : to_short ? " past"
                        : " short");
}

/* ---- a statistic in a field ------------------------------------------------------------------------------------ */

static const struct statistic *statistic_of(struct part part) {
    char name[WISH_SIZE];
    keep(name, part);
    return statistic_named(name);
}

static bool refuse_name(const struct reading *reading, struct part part) {
    char name[WISH_SIZE], all[600] = "";
    keep(name, part);
    const char *near = statistic_near(name);
    if (near)
        return refuse(reading, part.at, "no statistic '%.40s'; did you mean %s?", name, near);
    for (size_t i = 0; statistics[i].name; i++) {
        size_t used = strlen(all);
        snprintf(all + used, sizeof all - used, "%s%s", i ? ", " : "", statistics[i].name);
    }
    return refuse(reading, part.at, "no statistic '%.40s'; there are %s", name, all);
}

/* The last " in " of a part that ends before stop; NULL: none. */
static const char *last_in(struct part part, const char *stop) {
    for (const char *at = stop - 4; at >= part.at; at--)
        if (memcmp(at, " in ", 4) == 0)
            return at;
    return NULL;
}

static bool take_field(const struct reading *reading, const struct statistic *statistic, struct part field,
                       char out[WISH_SIZE]) {
    if (statistic->scope != OF_FIELD)
        return refuse(reading, field.at, "%s is of the whole %s: no field is expected", statistic->name,
                      statistic->scope == OF_MAP ? "map" : "lamp");
    keep(out, field);
    return true;
}

/* "light in it in widest zoom": names of statistics and of fields may hold an "in", so the longest name is meant. */
static bool take_statistic(const struct reading *reading, struct part part, const struct statistic **out,
                           char field[WISH_SIZE]) {
    const char *stop = part.at + part.length, *in = NULL;
    if (part.length == 0)
        return refuse(reading, part.at, "nothing stands here; a statistic is expected, such as U0 or centre");
    *out = statistic_of(part);
    field[0] = '\0';
    if (*out)
        return true;
    struct part name = part;
    for (in = last_in(part, stop); in; in = last_in(part, in)) {
        name = part_between(part.at, in);
        *out = statistic_of(name);
        if (*out)
            return take_field(reading, *out, part_between(in + 4, stop), field);
    }
    return refuse_name(reading, name);
}

bool of_read(const char *text, struct messages *messages, size_t *count, struct of_wish out[OF_MAX]) {
    const struct reading reading = {"--of", text, messages};
    *count = 0;
    if (!is_plain(&reading))
        return false;
    bool good = true;
    for (const char *at = text;; at++) {
        const char *stop = at + strcspn(at, ",");
        if (*count == OF_MAX)
            return refuse(&reading, at, "more than %d statistics", OF_MAX);
        struct of_wish *wish = &out[(*count)++];
        good = take_statistic(&reading, part_between(at, stop), &wish->statistic, wish->field) && good;
        at = stop;
        if (*at == '\0')
            return good;
    }
}

/* ---- what is wanted -------------------------------------------------------------------------------------------- */

/* A limit is number x times / over. */
static const struct limit_unit {
    const char *of, *written;
    double times, over;
} limit_units[] = {
    {"lx", "lx", 1, 1},        {"lx", "klx", 1e3, 1},  {"lx", "Mlx", 1e6, 1},  {"lx/W", "lx/W", 1, 1},
    {"lx/W", "klx/W", 1e3, 1}, {"%", "%", 1, 1},       {"mm", "mm", 1, 1},     {"mm", "cm", 10, 1},
    {"mm", "m", 1000, 1},      {"W", "W", 1, 1},       {"W", "mW", 1, 1000},   {"W", "kW", 1000, 1},
    {"lm", "lm", 1, 1},        {"lm", "klm", 1000, 1}, {"lm/W", "lm/W", 1, 1}, {"%/mm", "%/mm", 1, 1},
    {"mA", "mA", 1, 1000},     {"mA", "A", 1, 1},      {"", "", 1, 1},         {"", "%", 1, 100},
};
enum { LIMIT_UNITS = sizeof limit_units / sizeof *limit_units };

static bool is_price(const struct statistic *statistic) {
    return statistic->format == format_price;
}

static bool refuse_unit(const struct reading *reading, const struct statistic *statistic, struct part limit,
                        struct part unit) {
    char known[80] = "";
    for (size_t i = 0; i < LIMIT_UNITS; i++) {
        size_t used = strlen(known);
        if (strcmp(limit_units[i].of, statistic->unit) == 0)
            snprintf(known + used, sizeof known - used, "%s%s", used ? ", " : "",
                     limit_units[i].written[0] ? limit_units[i].written : "no unit");
    }
    int shown = limit.length > 40 ? 40 : (int)limit.length;
    if (unit.length == 0)
        return refuse(reading, limit.at, "'%.*s' has no unit; a limit of %s takes %s", shown, limit.at,
                      statistic->name, known);
    return refuse(reading, unit.at, "'%.*s': unknown unit; a limit of %s takes %s", shown, limit.at, statistic->name,
                  known);
}

/* A price may name its currency: any word, which is held against the scene's later. */
static bool take_currency(const struct reading *reading, struct part unit, struct want *out) {
    if (unit.length >= sizeof out->currency || memchr(unit.at, ' ', unit.length))
        return refuse(reading, unit.at, "a price and its currency are expected, such as 30 EUR");
    snprintf(out->currency, sizeof out->currency, "%.*s", (int)unit.length, unit.at);
    return true;
}

static bool take_limit(const struct reading *reading, struct part limit, struct want *out) {
    struct part unit;
    double number = 0;
    if (!take_number(reading, limit, "a limit with its unit", &number, &unit))
        return false;
    out->limit = number;
    if (is_price(out->statistic))
        return take_currency(reading, unit, out);
    if (number == 0 && unit.length == 0)
        return true;
    for (size_t i = 0; i < LIMIT_UNITS; i++)
        if (strcmp(limit_units[i].of, out->statistic->unit) == 0 && is_word(unit, limit_units[i].written)) {
            bool share = is_word(unit, "%") && out->statistic->unit_size == 0.01;
            out->limit = number * limit_units[i].times / (share ? 100 : limit_units[i].over);
            return true;
        }
    return refuse_unit(reading, out->statistic, limit, unit);
}

static const struct sense {
    const char *written;
    bool at_most;
} senses[] = {
    {">=", false}, {"≥", false}, {">", false}, {" at least ", false},
    {"<=", true},  {"≤", true},  {"<", true},  {" at most ", true},
};
enum { SENSES = sizeof senses / sizeof *senses };

/* The first of them in the text; where two begin in one place, the longer. */
static const struct sense *find_sense(const char *text, const char **at) {
    const struct sense *found = NULL;
    for (size_t i = 0; i < SENSES; i++) {
        const char *here = strstr(text, senses[i].written);
        if (here && (!found || here < *at)) {
            found = &senses[i];
            *at = here;
        }
    }
    return found;
}

/* What stands behind the sense: a limit, and perhaps a field. */
static bool take_limit_and_field(const struct reading *reading, struct part part, struct want *out) {
    const char *stop = part.at + part.length, *in = NULL;
    for (const char *at = part.at; !in && at + 4 <= stop; at++)
        if (memcmp(at, " in ", 4) == 0)
            in = at;
    if (!take_limit(reading, part_between(part.at, in ? in : stop), out))
        return false;
    if (!in)
        return true;
    struct part field = part_between(in + 4, stop);
    if (out->field[0] != '\0')
        return refuse(reading, field.at, "a second field; '%.60s' stands before the limit", out->field);
    return take_field(reading, out->statistic, field, out->field);
}

bool want_read(const char *text, struct messages *messages, struct want *out) {
    const struct reading reading = {"--want", text, messages};
    const char *at = NULL, *stop = text + strlen(text);
    *out = (struct want){0};
    if (!is_plain(&reading))
        return false;
    const struct sense *sense = find_sense(text, &at);
    if (!sense) {
        const char *sign = strchr(text, '=');
        return refuse(&reading, sign ? sign : stop, "'>=' or '<=' and a limit are expected, such as U0 >= 0.9");
    }
    out->at_most = sense->at_most;
    return take_statistic(&reading, part_between(text, at), &out->statistic, out->field) &&
           take_limit_and_field(&reading, part_between(at + strlen(sense->written), stop), out);
}

bool want_fits(const char *text, const struct want *want, const struct scene *scene, struct messages *messages) {
    const struct reading reading = {"--want", text, messages};
    if (want->currency[0] == '\0' || (scene->currency && strcmp(scene->currency, want->currency) == 0))
        return true;
    struct part whole = part_between(text, text + strlen(text)); /* which the currency ends */
    const char *at = whole.at + whole.length - strlen(want->currency);
    if (!scene->currency)
        return refuse(&reading, at, "a price in %s, but the scene gives no price", want->currency);
    return refuse(&reading, at, "a price in %s; the scene has its prices in %.40s", want->currency, scene->currency);
}

/* ---- at which current or power --------------------------------------------------------------------------------- */

static const struct at_unit {
    const char *name;
    double over, most;
    bool watts;
} at_units[] = {{"mA", 1000, 1000, false}, {"A", 1, 1000, false}, {"mW", 1000, 1e6, true}, {"W", 1, 1e6, true}};
enum { AT_UNITS = sizeof at_units / sizeof *at_units };

static bool begins_with(struct part *part, const char *word) {
    size_t length = strlen(word);
    bool begins = part->length > length && memcmp(part->at, word, length) == 0 && part->at[length] == ' ';
    if (begins)
        *part = part_between(part->at + length, part->at + part->length);
    return begins;
}

static bool take_at(const struct reading *reading, struct part part, struct at_wish *out) {
    bool current = begins_with(&part, "current"), power = !current && begins_with(&part, "power");
    const char *expected = current ? "a current in mA or A"
                           : power ? "a power in W"
                                   : "a current in mA or A, or a power in W";
    struct part unit;
    double number = 0;
    if (!take_number(reading, part, expected, &number, &unit))
        return false;
    const struct at_unit *found = NULL;
    for (size_t i = 0; i < AT_UNITS && !found; i++)
        found = is_word(unit, at_units[i].name) ? &at_units[i] : NULL;
    int shown = part.length > 40 ? 40 : (int)part.length;
    if (!found || (current && found->watts) || (power && !found->watts))
        return refuse(reading, unit.at, "'%.*s': %s is expected", shown, part.at, expected);
    *out = (struct at_wish){.watts = found->watts, .value = number / found->over};
    if (!(out->value > 0 && out->value <= found->most))
        return refuse(reading, part.at, "'%.*s' is out of range: above 0, at most %g %s", shown, part.at, found->most,
                      found->watts ? "W" : "A");
    char digits[32];
    number_write(number, digits, sizeof digits);
    snprintf(out->text, sizeof out->text, "%.24s %s", digits, found->name);
    return true;
}

static bool at_is_new(const struct reading *reading, struct part part, size_t count, const struct at_wish *out) {
    for (size_t i = 0; i < count; i++)
        if (out[i].watts == out[count].watts && out[i].value == out[count].value)
            return refuse(reading, part.at, "%s stands twice", out[count].text);
    return true;
}

bool at_read(const char *text, struct messages *messages, size_t *count, struct at_wish out[AT_MAX]) {
    const struct reading reading = {"--at", text, messages};
    *count = 0;
    if (!is_plain(&reading))
        return false;
    bool good = true;
    for (const char *at = text;; at++) {
        const char *stop = at + strcspn(at, ",");
        struct part part = part_between(at, stop);
        if (*count == AT_MAX)
            return refuse(&reading, at, "more than %d of them", AT_MAX);
        out[*count] = (struct at_wish){0};
        good = take_at(&reading, part, &out[*count]) && at_is_new(&reading, part, *count, out) && good;
        *count += 1;
        at = stop;
        if (*at == '\0')
            return good;
    }
}
