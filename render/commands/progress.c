#include "progress.h"

#include <math.h>
#include <time.h>

#define FIRST_S 0.5
#define EVERY_S 0.1

static double machine_seconds(void *unused) {
    (void)unused;
    struct timespec now;
    clock_gettime(CLOCK_MONOTONIC, &now);
    return (double)now.tv_sec + 1e-9 * (double)now.tv_nsec;
}

void progress_begin(struct progress *progress, FILE *stream, bool terminal, const char *label,
                    double (*seconds)(void *clock_user), void *clock_user) {
    *progress = (struct progress){.stream = terminal ? stream : NULL, .label = label, .pilot = true};
    progress->seconds = seconds ? seconds : machine_seconds;
    progress->clock_user = clock_user;
    progress->began = progress->stage_began = progress->seconds(clock_user);
    progress->shown = -INFINITY;
}

static void time_left(char out[32], double spent_s, const struct luxfall_progress *now) {
    double left_s = spent_s * ((double)now->rays_planned / (double)now->rays_done - 1);
    if (!(now->rays_done > 0) || !(left_s >= 0))
        out[0] = '\0';
    else if (left_s < 100)
        snprintf(out, 32, ", %.0f s left", ceil(left_s));
    else
        snprintf(out, 32, ", %.0f min left", fmin(ceil(left_s / 60), 1e6));
}

static bool due(const struct progress *progress, double clock_s) {
    return progress->stream && clock_s - progress->began >= FIRST_S && clock_s - progress->shown >= EVERY_S;
}

static void put_line(struct progress *progress, double clock_s, const char *text) {
    char line[200];
    int bytes = snprintf(line, sizeof line, "%.60s: %s", progress->label, text);
    fprintf(progress->stream, "\r%s", line);
    for (int i = bytes; i < progress->width; i++)
        fputc(' ', progress->stream);
    progress->width = bytes;
    progress->shown = clock_s;
    fflush(progress->stream);
}

void progress_say(struct progress *progress, const char *text) {
    double clock_s = progress->seconds(progress->clock_user);
    if (due(progress, clock_s))
        put_line(progress, clock_s, text);
}

void progress_show(struct progress *progress, const struct luxfall_progress *now) {
    if (!progress->stream)
        return;
    double clock_s = progress->seconds(progress->clock_user);
    if (progress->pilot && !now->pilot)
        progress->stage_began = clock_s;
    progress->pilot = now->pilot;
    if (!due(progress, clock_s))
        return;
    char left[32], band[40] = "", text[140];
    time_left(left, clock_s - progress->stage_began, now);
    if (isfinite(now->band))
        snprintf(band, sizeof band, ", band ±%.2g %%", 100 * now->band);
    snprintf(text, sizeof text, "%s%.1f of %.1f million rays%s%s", now->pilot ? "pilot, " : "",
             (double)now->rays_done / 1e6, (double)now->rays_planned / 1e6, band, left);
    put_line(progress, clock_s, text);
}

void progress_end(struct progress *progress) {
    if (progress->stream && progress->width > 0) {
        fprintf(progress->stream, "\r%*s\r", progress->width, "");
        fflush(progress->stream);
    }
    progress->width = 0;
}
