#include "common_current.h"

#include <math.h>

/* Currents at which every lit emitter is known. */
struct span {
    double low_a, high_a;
    size_t lit;
};

static double power_at(const struct luxfall_scene *light, double current_a) {
    double power_w = 0;
    for (size_t i = 0; i < light->module_count; i++) {
        struct luxfall_operating_point point;
        if (light->modules[i].dark)
            continue;
        if (luxfall_drive_at(&light->emitters[light->modules[i].emitter].drive, current_a, &point, NULL) !=
            LUXFALL_OK)
            return NAN;
        power_w += point.power_w;
    }
    return power_w;
}

/* The emitter of a lit module whose voltage is not known; NULL: all are. */
static const char *unknown_emitter(const struct luxfall_scene *light) {
    for (size_t i = 0; i < light->module_count; i++) {
        const struct luxfall_emitter *emitter = &light->emitters[light->modules[i].emitter];
        if (!light->modules[i].dark && (emitter->drive.count == 0 || !emitter->drive.voltage_v))
            return emitter->name;
    }
    return NULL;
}

static struct span span_of(const struct luxfall_scene *light) {
    struct span span = {0, INFINITY, 0};
    for (size_t i = 0; i < light->module_count; i++) {
        const struct luxfall_drive *drive = &light->emitters[light->modules[i].emitter].drive;
        if (light->modules[i].dark)
            continue;
        span.low_a = fmax(span.low_a, drive->current_a[0]);
        span.high_a = fmin(span.high_a, drive->current_a[drive->count - 1]);
        span.lit++;
    }
    return span;
}

/* Power grows with current: halved until no double lies between. */
static double solve(const struct luxfall_scene *light, struct span span, double wanted_w) {
    double low = span.low_a, high = span.high_a;
    if (power_at(light, low) >= wanted_w)
        return low;
    for (double middle = low + (high - low) / 2; middle > low && middle < high; middle = low + (high - low) / 2)
        *(power_at(light, middle) < wanted_w ? &low : &high) = middle;
    return high;
}

static void refuse_watts(const struct scene *scene, double wanted_w, const struct span *span,
                         const struct wish_place *wish, struct messages *messages) {
    double least_w = power_at(&scene->light, span->low_a), most_w = power_at(&scene->light, span->high_a);
    if (span->low_a == span->high_a)
        messages_add(messages, MESSAGE_ERROR, wish->place, wish->source,
                     "the lit modules of %s are known at %.4g mA alone, where they draw %.4g W, not %.4g W; "
                     "'drive: led.csv' takes a table of currents",
                     scene->path, 1e3 * span->low_a, least_w, wanted_w);
    else
        messages_add(
            messages, MESSAGE_ERROR, wish->place, wish->source,
            "%.4g W is outside of what is known: the lit modules of %s draw from %.4g W at %.4g mA to %.4g W "
            "at %.4g mA, all together",
            wanted_w, scene->path, least_w, 1e3 * span->low_a, most_w, 1e3 * span->high_a);
}

bool common_current(const struct scene *scene, double wanted_w, const struct wish_place *wish,
                    struct messages *messages, double *out_a) {
    const struct luxfall_scene *light = &scene->light;
    const char *unknown = unknown_emitter(light);
    struct span span = {0};
    if (!unknown)
        span = span_of(light);
    double least_w = span.lit && span.low_a <= span.high_a ? power_at(light, span.low_a) : NAN;
    double most_w = isnan(least_w) ? NAN : power_at(light, span.high_a);
    if (unknown)
        messages_add(messages, MESSAGE_ERROR, wish->place, wish->source,
                     "watts need volts, and the emitter '%.60s' of %s does not say them: give it "
                     "'drive: led.csv' with current_mA, voltage_V and flux_lm, or 'voltage: 2.9 V' beside "
                     "'flux: 95 lm at 350 mA'",
                     unknown, scene->path);
    else if (span.lit == 0)
        messages_add(messages, MESSAGE_ERROR, wish->place, wish->source, "no module of %s is lit: none draws watts",
                     scene->path);
    else if (isnan(least_w))
        messages_add(messages, MESSAGE_ERROR, wish->place, wish->source,
                     "the emitters of %s share no current at which all are known", scene->path);
    else if (!(wanted_w >= least_w && wanted_w <= most_w))
        refuse_watts(scene, wanted_w, &span, wish, messages);
    else {
        *out_a = solve(light, span, wanted_w);
        return true;
    }
    return false;
}
