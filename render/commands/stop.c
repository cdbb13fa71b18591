/* A signal handler can reach nothing but static objects: the three here are the program's only ones that change,
 * beside the list of unfinished outputs in outputs.c. */
#include "stop.h"

#include "options.h"
#include "outputs.h"

#include <errno.h>
#include <pthread.h>
#include <signal.h>
#include <stdio.h>
#include <string.h>
#include <unistd.h>

static volatile sig_atomic_t wanted, phase;
static pthread_t main_thread;

static const char farewell[] = "luxfall: stopped; nothing was written\n";

/* A worker thread may be the one that receives the signal. The clean-up must not run beside the main thread, which
 * could be about to make one more file: it is handed over. */
static void on_signal(int number) {
    int kept = errno;
    if (!pthread_equal(pthread_self(), main_thread)) {
        pthread_kill(main_thread, number);
        errno = kept;
        return;
    }
    bool first = !wanted;
    wanted = 1;
    if (phase == STOP_HELD || (phase == STOP_BY_FLAG && first)) {
        errno = kept;
        return;
    }
    outputs_discard_unfinished();
    ssize_t ignored = write(STDERR_FILENO, farewell, sizeof farewell - 1);
    (void)ignored; /* the program ends here, said or not */
    _exit(EXIT_STOPPED);
}

void stop_install(void) {
    static const int numbers[] = {SIGINT, SIGTERM, SIGHUP};
    main_thread = pthread_self();
    for (size_t i = 0; i < sizeof numbers / sizeof *numbers; i++) {
        struct sigaction action, before;
        memset(&action, 0, sizeof action);
        action.sa_handler = on_signal;
        sigemptyset(&action.sa_mask);
        for (size_t j = 0; j < sizeof numbers / sizeof *numbers; j++)
            sigaddset(&action.sa_mask, numbers[j]);
        action.sa_flags = SA_RESTART;
        /* A caller that ignores the signal (nohup, a background job) goes on doing so. */
        if (sigaction(numbers[i], NULL, &before) == 0 && before.sa_handler != SIG_IGN)
            sigaction(numbers[i], &action, NULL);
    }
}

void stop_phase(enum stop_phase now) {
    phase = now;
}

bool stop_wanted(void) {
    return wanted != 0;
}

int stop_report(void) {
    fputs(farewell, stderr);
    return EXIT_STOPPED;
}
