/* The progress line: on a terminal only, after half a second, erased at the end. */
#ifndef RENDER_COMMANDS_PROGRESS_H
#define RENDER_COMMANDS_PROGRESS_H

#include "luxfall.h"

#include <stdio.h>

struct progress {
    FILE *stream;      /* NULL: nothing is shown */
    const char *label; /* begins the line: what is traced */
    double (*seconds)(void *clock_user);
    void *clock_user;
    double began, stage_began, shown; /* seconds */
    bool pilot;
    int width; /* characters on the line now */
};

/* Shows on the stream when it is a terminal. seconds NULL: the machine's monotonic clock. */
void progress_begin(struct progress *progress, FILE *stream, bool terminal, const char *label,
                    double (*seconds)(void *clock_user), void *clock_user);
void progress_show(struct progress *progress, const struct luxfall_progress *now);
/* The same line with words in place of rays. */
void progress_say(struct progress *progress, const char *text);
void progress_end(struct progress *progress);

#endif
