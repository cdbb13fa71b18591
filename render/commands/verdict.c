/* One line for the person with the meter: what the readings say of lamp and forecast. */
#include "measured.h"

#include <math.h>
#include <stdarg.h>
#include <string.h>

/* What a hand-held meter of good class is off by, and the scales that flux bin, warmth and meter class explain.
 * (common practice, no source) */
static const double METER = 0.05, SCALE_LOW = 0.7, SCALE_HIGH = 1.1;
static const double DEAD = -0.85; /* of a module's light */
enum { JUDGED_FROM = 5, NAMED_MAX = 3 };

struct words {
    char *text;
    size_t used;
};

__attribute__((format(printf, 2, 3))) static void say(struct words *words, const char *format, ...) {
    va_list arguments;
    size_t room = VERDICT_SIZE - words->used;
    va_start(arguments, format);
    int length = vsnprintf(words->text + words->used, room, format, arguments);
    va_end(arguments);
    if (length > 0)
        words->used += (size_t)length < room ? (size_t)length : room - 1;
}

/* Between two parts of the line. */
static void part(struct words *words) {
    if (words->used > 0)
        say(words, "; ");
}

static void say_scale(struct words *words, double scale, bool everywhere) {
    double high = 100 * (1 / scale - 1);
    if (!(scale >= SCALE_LOW / 4 && scale <= 4 * SCALE_HIGH))
        say(words,
            "the readings are %.3g of the forecast: suspect the meter's range or unit (klx, x10, x100) first, then a "
            "wrong lens, current or distance",
            scale);
    else if (!(scale >= SCALE_LOW && scale <= SCALE_HIGH))
        say(words,
            "the readings are %.2f of the forecast, outside 0.7 to 1.1: suspect a wrong lens, current or distance",
            scale);
    else if (fabs(1 / scale - 1) > METER)
        say(words, "forecast %.0f %% %s %s", fabs(high), high > 0 ? "high" : "low",
            everywhere ? "everywhere: flux or current" : "on the whole");
}

static void say_falloff(struct words *words, const struct luxfall_suspect *suspect) {
    bool faster = suspect->effect < 0;
    part(words);
    say(words,
        "falls off %s to all sides than forecast, %.0f %% at the outermost reading: beam %s than the sheet, or the "
        "camera where the lux come from a picture",
        faster ? "faster" : "slower", 100 * fabs(suspect->effect), faster ? "narrower" : "wider");
}

/* ---- modules --------------------------------------------------------------------------------------------------- */

static double degrees(double rad) {
    return fmod(rad * 57.29577951308232 + 360, 360);
}

struct accused {
    size_t count, module[LUXFALL_SUSPECTS_MAX];
    bool level, aim;
    const struct luxfall_suspect *side; /* NULL: a tilt alone does not explain it */
};

static void accuse(struct accused *accused, size_t module) {
    for (size_t i = 0; i < accused->count; i++)
        if (accused->module[i] == module)
            return;
    accused->module[accused->count++] = module;
}

static struct accused who(const struct luxfall_judgement *judgement) {
    struct accused accused = {0};
    for (size_t i = 0; i < judgement->suspect_count; i++) {
        const struct luxfall_suspect *suspect = &judgement->suspects[i];
        accused.side = suspect->pattern == LUXFALL_PATTERN_SIDE ? suspect : accused.side;
        accused.level |= suspect->pattern == LUXFALL_PATTERN_LEVEL;
        accused.aim |= suspect->pattern == LUXFALL_PATTERN_AIM;
        if (suspect->pattern == LUXFALL_PATTERN_LEVEL || suspect->pattern == LUXFALL_PATTERN_AIM)
            accuse(&accused, suspect->module);
    }
    return accused;
}

static void say_one_module(struct words *words, const struct measured *measured, const struct accused *accused) {
    const struct luxfall_suspect *best = &measured->judgement.suspects[0];
    const char *name = measured->scene->light.modules[accused->module[0]].name;
    if (accused->aim && accused->level)
        say(words, "%.60s weak, blocked or aims wide", name);
    else if (accused->aim)
        say(words, "%.60s aims wide, towards %.0f deg", name, degrees(best->azimuth_rad));
    else if (best->effect > 0)
        say(words, "%.60s sends %.0f %% more than the others", name, 100 * best->effect);
    else if (best->effect < DEAD)
        say(words, "%.60s dark or blocked", name);
    else
        say(words, "%.60s weak, blocked or aims wide: it sends %.0f %% less than forecast", name,
            -100 * best->effect);
}

/* With modules read alone there is no side of the field to speak of. */
static bool all_read_together(const struct scene *scene) {
    for (size_t i = 0; i < scene->reading_count; i++)
        if (scene->readings[i].module)
            return false;
    return true;
}

static void say_modules(struct words *words, const struct measured *measured) {
    const struct luxfall_suspect *best = &measured->judgement.suspects[0];
    const struct luxfall_module *modules = measured->scene->light.modules;
    struct accused accused = who(&measured->judgement);
    part(words);
    if (all_read_together(measured->scene)) {
        say(words, "one side %.0f %% low", 100 * best->across);
        if (accused.side && accused.count != 1)
            say(words, ", towards %.0f deg", degrees(accused.side->azimuth_rad));
        say(words, ": ");
    }
    if (accused.count == 0 || accused.count > NAMED_MAX) {
        say(words, "a module weak, blocked or aimed wide, but the readings do not tell which; read each alone");
        return;
    }
    if (accused.count == 1) {
        say_one_module(words, measured, &accused);
        return;
    }
    for (size_t i = 0; i < accused.count; i++)
        say(words, "%s%.60s", i == 0 ? "" : i + 1 < accused.count ? ", " : " or ", modules[accused.module[i]].name);
    say(words, " weak, blocked or aims wide; read each alone");
}

/* ---- the line -------------------------------------------------------------------------------------------------- */

static double furthest(const struct measured *measured) {
    double residual = fabs(measured_residual(measured, measured->furthest));
    return isfinite(residual) ? residual : 0;
}

void verdict_write(const struct measured *measured, char out[VERDICT_SIZE]) {
    const struct luxfall_judgement *judgement = &measured->judgement;
    struct words words = {out, 0};
    bool pattern = judgement->suspect_count > 0, strays = furthest(measured) > METER;
    out[0] = '\0';
    say_scale(&words, measured->fit.scale, !pattern && !strays);
    if (pattern && judgement->suspects[0].pattern == LUXFALL_PATTERN_FALLOFF)
        say_falloff(&words, &judgement->suspects[0]);
    else if (pattern)
        say_modules(&words, measured);
    else if (strays) {
        part(&words);
        say(&words,
            "single readings stray by up to %.0f %%, in no pattern that one cause explains: check place, "
            "level and zero of the meter",
            100 * furthest(measured));
    }
    if (words.used == 0)
        say(&words, "agrees within the meter's 5 %%");
    if (judgement->used < JUDGED_FROM) {
        part(&words);
        say(&words, "a pattern needs five readings or more");
    }
}
