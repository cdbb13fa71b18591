/* Ctrl-C and its kin: what is half-made is removed, "stopped; nothing was written" is said, the exit status is 130.
 */
#ifndef RENDER_COMMANDS_STOP_H
#define RENDER_COMMANDS_STOP_H

#include <stdbool.h>

enum stop_phase {
    STOP_AT_ONCE, /* the handler itself cleans up and ends the program: while pictures and files are made */
    STOP_BY_FLAG, /* the first signal sets a flag that the work looks at, the second ends at once: while tracing */
    STOP_HELD     /* only the flag: while finished files are put in their places */
};

/* Takes over SIGINT, SIGTERM and SIGHUP; the calling thread is the one that a signal interrupts from now on. */
void stop_install(void);
void stop_phase(enum stop_phase phase);
bool stop_wanted(void);
/* Says so and returns the exit status. */
int stop_report(void);

#endif
