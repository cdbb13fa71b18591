#include "ticks.h"

#include <math.h>
#include <stdbool.h>
#include <stdio.h>
#include <string.h>

static double decade(double value) {
    return pow(10, floor(log10(value) + 1e-9));
}

double round_step(double value) {
    double base = decade(value), lead = value / base;
    return base * (lead <= 1 + 1e-9 ? 1 : lead <= 2 + 1e-9 ? 2 : lead <= 5 + 1e-9 ? 5 : 10);
}

static int decimals_of(double step) {
    int decimals = (int)-floor(log10(step) + 1e-9);
    return decimals > 0 ? decimals : 0;
}

struct ticks ticks_linear(double lo, double hi, int at_most) {
    struct ticks ticks = {0};
    if (!(hi > lo))
        return ticks;
    if (at_most > TICKS_MAX)
        at_most = TICKS_MAX;
    double step = round_step((hi - lo) / (at_most > 2 ? at_most : 2));
    while (floor(hi / step + 1e-6) - ceil(lo / step - 1e-6) + 1 > at_most)
        step = round_step(step * 1.01);
    for (double n = ceil(lo / step - 1e-6); n <= floor(hi / step + 1e-6) && ticks.count < TICKS_MAX; n++)
        ticks.at[ticks.count++] = n * step;
    ticks.decimals = decimals_of(step);
    return ticks;
}

struct ticks ticks_log(double lo, double hi, int at_most) {
    static const struct { int count, leads[3]; } sets[] = {{3, {1, 2, 5}}, {1, {1}}};
    struct ticks ticks = {0};
    for (size_t s = 0; s < 2; s++) {
        ticks.count = 0;
        for (double base = decade(lo); base <= hi * (1 + 1e-9); base *= 10)
            for (int i = 0; i < sets[s].count; i++) {
                double at = base * sets[s].leads[i];
                if (at >= lo * (1 - 1e-9) && at <= hi * (1 + 1e-9) && ticks.count < TICKS_MAX)
                    ticks.at[ticks.count++] = at;
            }
        if (ticks.count <= at_most)
            break;
    }
    ticks.decimals = -1;
    return ticks;
}

struct ticks ticks_single(double value) {
    struct ticks ticks = {.count = 1, .at = {value}};
    int most = value != 0 ? 3 - (int)floor(log10(fabs(value)) + 1e-9) : 0;
    while (ticks.decimals < most &&
           fabs(value * pow(10, ticks.decimals) - round(value * pow(10, ticks.decimals))) > 1e-6)
        ticks.decimals++;
    return ticks;
}

/* Copies with the typographic minus; "-0" loses its sign. */
static void typeset(const char *plain, char text[NUMBER_SIZE]) {
    if (*plain == '-' && strspn(plain + 1, "0.") == strlen(plain + 1))
        plain++;
    if (*plain == '-')
        snprintf(text, NUMBER_SIZE, "\u2212%s", plain + 1);
    else
        snprintf(text, NUMBER_SIZE, "%s", plain);
}

void tick_text(const struct ticks *ticks, int i, char text[NUMBER_SIZE]) {
    char plain[NUMBER_SIZE - 2];
    double at = ticks->at[i];
    int decimals = ticks->decimals >= 0 ? ticks->decimals : decimals_of(decade(at));
    snprintf(plain, sizeof plain, "%.*f", decimals, at);
    typeset(plain, text);
}

struct shown_unit length_unit(double extent_mm) {
    if (extent_mm > 2500)
        return (struct shown_unit){"m", 1000};
    return extent_mm > 1000 ? (struct shown_unit){"cm", 10} : (struct shown_unit){"mm", 1};
}

struct shown_unit lux_unit(double top_lx) {
    if (top_lx >= 1e6)
        return (struct shown_unit){"Mlx", 1e6};
    return top_lx >= 4000 ? (struct shown_unit){"klx", 1e3} : (struct shown_unit){"lx", 1};
}

double unit_to_show(const char *unit, double largest, char name[UNIT_SIZE]) {
    bool lux = strncmp(unit, "lx", 2) == 0 && (unit[2] == '\0' || unit[2] == '/');
    struct shown_unit shown = lux ? lux_unit(largest) : (struct shown_unit){"", 1};
    snprintf(name, UNIT_SIZE, "%s%s", shown.name, lux ? unit + 2 : unit);
    return shown.size;
}

double round_above(double value) {
    static const double leads[] = {1, 1.2, 1.5, 2, 2.5, 3, 4, 5, 6, 8, 10};
    double base = decade(value);
    size_t i = 0;
    while (leads[i] * base < value * (1 - 1e-9) && i + 1 < sizeof leads / sizeof *leads)
        i++;
    return leads[i] * base;
}

double round_below(double value) {
    double base = decade(value), lead = value / base * (1 + 1e-9);
    return base * (lead >= 5 ? 5 : lead >= 2 ? 2 : 1);
}

void number_text(double value, int digits, char text[NUMBER_SIZE]) {
    char plain[NUMBER_SIZE - 2];
    double size = fabs(value);
    if (size >= 1e-4 && size < 1e7) {
        int decimals = digits - 1 - (int)floor(log10(size) + 1e-12);
        snprintf(plain, sizeof plain, "%.*f", decimals > 0 ? decimals : 0, value);
    } else {
        snprintf(plain, sizeof plain, "%.*g", digits, value);
    }
    typeset(plain, text);
}

void short_number_text(double value, char text[NUMBER_SIZE]) {
    number_text(value, 4, text);
    if (strchr(text, '.') == NULL || strchr(text, 'e') != NULL)
        return;
    size_t n = strlen(text);
    while (text[n - 1] == '0')
        text[--n] = '\0';
    if (text[n - 1] == '.')
        text[n - 1] = '\0';
}
