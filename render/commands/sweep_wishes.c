/* --vary, --of and --want against the scene: what to change, what to keep, what to judge by. */
#include "sweep.h"

#include "scenes/keys.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

/* ---- told mistakes --------------------------------------------------------------------------------------------- */

static int tell(struct messages *messages) {
    messages_print(messages, stderr);
    bool lost = messages->out_of_memory, wrong = messages->errors > 0;
    messages_clear(messages);
    if (lost)
        fputs("luxfall sweep: error: out of memory\n", stderr);
    return lost ? EXIT_MACHINE : wrong ? EXIT_USER : 0;
}

static int wrong_words(const char *what) {
    fprintf(stderr, "luxfall sweep: error: %s\n", what);
    return EXIT_USER;
}

/* The scene's own name of a field; NULL after a message at its place in the text. */
static const char *find_field(const struct luxfall_scene *light, const char *name, const char *option,
                              const char *text, struct messages *messages) {
    const char *names[LUXFALL_FIELDS_MAX + 1] = {NULL};
    for (size_t i = 0; i < light->field_count; i++) {
        names[i] = light->fields[i].name;
        if (strcmp(names[i], name) == 0)
            return names[i];
    }
    const char *at = strstr(text, name), *near = nearest_word(name, names);
    struct scene_place place = {.file = option, .line = 1, .column = at ? (int)(at - text) + 1 : 1};
    if (near)
        messages_add(messages, MESSAGE_ERROR, place, text, "the scene has no field '%s'; did you mean '%s'?", name,
                     near);
    else
        messages_add(messages, MESSAGE_ERROR, place, text, "the scene has no field '%s'; the first is '%s'", name,
                     light->field_count ? names[0] : "");
    return NULL;
}

/* ---- quantities ------------------------------------------------------------------------------------------------ */

static bool same_quantity(const struct quantity *quantity, const struct statistic *statistic, const char *field) {
    return quantity->statistic == statistic &&
           (quantity->field == field || (quantity->field && field && strcmp(quantity->field, field) == 0));
}

/* Its index, added when it is new; NO_QUANTITY: no room. */
static size_t keep(struct sweep *sweep, const struct statistic *statistic, const char *field) {
    field = statistic->scope == OF_FIELD ? field : NULL;
    for (size_t i = 0; i < sweep->quantity_count; i++)
        if (same_quantity(&sweep->quantities[i], statistic, field))
            return i;
    if (sweep->quantity_count == QUANTITIES_MAX)
        return NO_QUANTITY;
    sweep->quantities[sweep->quantity_count] = (struct quantity){statistic, field};
    return sweep->quantity_count++;
}

void quantity_text(const struct quantity *quantity, char out[TEXT_CELL]) {
    const char *label = quantity->statistic->label;
    if (quantity->field)
        snprintf(out, TEXT_CELL, "%.40s, %.80s", label, quantity->field);
    else
        snprintf(out, TEXT_CELL, "%.40s", label);
}

static bool keep_everywhere(struct sweep *sweep, const struct statistic *statistic) {
    const struct luxfall_scene *light = &sweep->base.scene->light;
    if (statistic->scope != OF_FIELD)
        return keep(sweep, statistic, NULL) != NO_QUANTITY;
    for (size_t i = 0; i < light->field_count; i++)
        if (keep(sweep, statistic, light->fields[i].name) == NO_QUANTITY)
            return false;
    return true;
}

static int wish_of(struct sweep *sweep, const char *text) {
    struct of_wish wishes[OF_MAX];
    struct messages messages = {0};
    size_t count = 0;
    bool room = true;
    if (!of_read(text, &messages, &count, wishes))
        return tell(&messages);
    for (size_t i = 0; room && i < count; i++) {
        if (wishes[i].field[0] == '\0' || wishes[i].statistic->scope != OF_FIELD) {
            room = keep_everywhere(sweep, wishes[i].statistic);
            continue;
        }
        const char *field = find_field(&sweep->base.scene->light, wishes[i].field, "--of", text, &messages);
        room = !field || keep(sweep, wishes[i].statistic, field) != NO_QUANTITY;
    }
    return room ? tell(&messages) : wrong_words("--of: too many statistics and fields; name the fields: U0 in ...");
}

static int wish_want(struct sweep *sweep, const char *text) {
    struct messages messages = {0};
    struct sweep_want wish = {.text = text};
    if (sweep->want_count == WANTS_MAX)
        return wrong_words("--want: more than 8 of them");
    if (!want_read(text, &messages, &wish.want) || !want_fits(text, &wish.want, sweep->base.scene, &messages))
        return tell(&messages);
    const struct luxfall_scene *light = &sweep->base.scene->light;
    const char *field = light->field_count ? light->fields[0].name : NULL;
    if (wish.want.field[0] && wish.want.statistic->scope == OF_FIELD)
        field = find_field(light, wish.want.field, "--want", text, &messages);
    if (messages.errors)
        return tell(&messages);
    wish.quantity = keep(sweep, wish.want.statistic, field);
    if (wish.quantity == NO_QUANTITY)
        return wrong_words("--want: too many statistics and fields");
    sweep->wants[sweep->want_count++] = wish;
    return tell(&messages);
}

bool want_is_met(const struct want *want, double value) {
    return want->at_most ? value <= want->limit : value >= want->limit;
}

/* ---- what is varied -------------------------------------------------------------------------------------------- */

static bool ends_in(const char *path, const char *key) {
    size_t length = strlen(path), own = strlen(key);
    return length >= own && strcmp(path + length - own, key) == 0;
}

bool sweep_varies(const struct sweep *sweep, const char *key) {
    for (size_t i = 0; i < sweep->varied_count; i++) {
        const char *path = sweep->varied[i].path;
        if (strcmp(path, key) == 0 || (ends_in(path, key) && path[strlen(path) - strlen(key) - 1] == '.'))
            return true;
    }
    return false;
}

/* "current" is that of every module, and so the same number as any one's own. */
static bool both_are_currents(const struct vary varied[2]) {
    bool all = false;
    for (size_t i = 0; i < 2; i++) {
        const char *last = strrchr(varied[i].path, '.');
        if (strcmp(last ? last + 1 : varied[i].path, "current") != 0)
            return false;
        all |= last == NULL;
    }
    return all;
}

static int wish_vary(struct sweep *sweep, const struct option_value *vary) {
    if (!vary->given)
        return wrong_words("--vary is missing, such as --vary 'modules.ring.aim=0 mm short..60 mm short'");
    if (vary->text_count > VARIED_MAX)
        return wrong_words("--vary: more than two of them; a sweep varies one or two numbers");
    struct messages messages = {0};
    double points = 1;
    for (size_t i = 0; i < vary->text_count; i++) {
        if (!vary_read(vary->texts[i], &messages, &sweep->varied[i]))
            return tell(&messages);
        points *= (double)sweep->varied[i].steps;
    }
    sweep->varied_count = vary->text_count;
    if (points > POINTS_MAX)
        return wrong_words("--vary: more than 10000 points; write fewer steps after the numbers, as in 0..60/25");
    if (sweep->varied_count == 2 && strcmp(sweep->varied[0].path, sweep->varied[1].path) == 0)
        return wrong_words("--vary: the same path twice");
    if (sweep->varied_count == 2 && both_are_currents(sweep->varied))
        return wrong_words(
            "--vary: 'current' is that of all modules, the other path's too: one of the two would be lost");
    sweep->point_count = (size_t)points;
    return tell(&messages);
}

double sweep_step(const struct vary *varied) {
    return 1e-4 * fabs(varied->to - varied->from);
}

double sweep_rounded(double number, double step) {
    int decimals = step > 0 ? (int)ceil(-log10(step)) : 15;
    double unit = pow(10, abs(decimals));
    return decimals >= 0 ? round(number * unit) / unit : round(number / unit) * unit;
}

void sweep_point_text(const struct sweep *sweep, const double *number, char out[POINT_TEXT]) {
    char text[VARIED_MAX][WISH_SIZE] = {""};
    for (size_t i = 0; i < sweep->varied_count; i++)
        vary_text(&sweep->varied[i], number[i], text[i]);
    snprintf(out, POINT_TEXT, "%s%s%s", text[0], sweep->varied_count > 1 ? ", " : "", text[1]);
}

/* ---- all together ---------------------------------------------------------------------------------------------- */

/* The field that is judged: of the first want, else of the first statistic, else the scene's first. */
static const char *judged_field(const struct sweep *sweep) {
    const struct luxfall_scene *light = &sweep->base.scene->light;
    size_t first = sweep->want_count ? sweep->wants[0].quantity : 0;
    const char *field = sweep->quantity_count ? sweep->quantities[first].field : NULL;
    return field || light->field_count == 0 ? field : light->fields[0].name;
}

/* What verdicts are told by is kept too: the light at the centre of the judged field, how even it is where an aim is
 * priced, and over a current the watts and what they buy. */
static void keep_what_verdicts_need(struct sweep *sweep, bool of_given) {
    const char *field = judged_field(sweep);
    bool current = sweep_varies(sweep, "current"), aim = sweep_varies(sweep, "aim");
    sweep->lux = sweep->even = sweep->watts = sweep->lux_per_watt = NO_QUANTITY;
    if (field && (aim || (!of_given && !current)))
        sweep->even = keep(sweep, statistic_named("U0"), field);
    sweep->lux = keep(sweep, statistic_named(field ? "centre" : "map centre"), field);
    if (current) {
        sweep->lux_per_watt = keep(sweep, statistic_named("lux per watt"), field);
        sweep->watts = keep(sweep, statistic_named("watts"), field);
    }
    sweep->judged = current && !of_given ? sweep->lux_per_watt : 0;
}

int sweep_wish(struct sweep *sweep, const struct option_value *vary, const struct option_value *of,
               const struct option_value *want) {
    int status = wish_vary(sweep, vary);
    for (size_t i = 0; status == 0 && i < of->text_count; i++)
        status = wish_of(sweep, of->texts[i]);
    for (size_t i = 0; status == 0 && i < want->text_count; i++)
        status = wish_want(sweep, want->texts[i]);
    if (status)
        return status;
    keep_what_verdicts_need(sweep, of->given);
    return 0;
}
