/* Runs the built program as a user would: in a scratch folder of its own, through a shell in which `luxfall` is it.
 */
#ifndef TESTS_COMMAND_RUN_H
#define TESTS_COMMAND_RUN_H

#include <dirent.h>
#include <fcntl.h>
#include <limits.h>
#include <spawn.h>
#include <stdarg.h>
#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <sys/wait.h>
#include <unistd.h>

#include <setjmp.h>

#include <cmocka.h>

#define RING SOURCE_DIR "/scenes/sorting-ring.yaml"

extern char **environ;

struct outcome {
    int status;
    char *out, *err;
};

static inline char *read_file(const char *path) {
    FILE *file = fopen(path, "rb");
    if (!file)
        return NULL;
    size_t size = 0, room = 1 << 16;
    char *text = malloc(room);
    for (size_t got; text && (got = fread(text + size, 1, room - size - 1, file)) > 0;) {
        size += got;
        if (size + 1 == room) {
            char *more = realloc(text, room *= 2);
            if (!more)
                free(text);
            text = more;
        }
    }
    fclose(file);
    if (text)
        text[size] = '\0';
    return text;
}

/* Stages that want less of everything (stage.sh) leave out what runs the same code at length. */
static inline bool less_is_wanted(void) {
    return getenv("LUXFALL_SCENES") != NULL;
}

/* A scratch folder below the working folder, entered; `luxfall` is found in it through PATH. */
static inline int enter_scratch(void **state) {
    static char name[PATH_MAX];
    char bin[PATH_MAX + 4], link_name[PATH_MAX + 16], path[2 * PATH_MAX];
    snprintf(name, sizeof name, "command-XXXXXX");
    if (!mkdtemp(name) || chdir(name) != 0 || !getcwd(name, sizeof name))
        return -1;
    snprintf(bin, sizeof bin, "%s/bin", name);
    snprintf(link_name, sizeof link_name, "%s/luxfall", bin);
    snprintf(path, sizeof path, "%s:%s", bin, getenv("PATH"));
    if (mkdir(bin, 0777) != 0 || symlink(PROGRAM, link_name) != 0 || mkdir("files", 0777) != 0 || chdir("files") != 0)
        return -1;
    setenv("PATH", path, 1);
    unsetenv("LUXFALL_VECTORS");
    *state = name;
    return 0;
}

static inline int leave_scratch(void **state) {
    char command[PATH_MAX + 16];
    snprintf(command, sizeof command, "rm -rf '%s'", (const char *)*state);
    return chdir("/") == 0 && system(command) == 0 ? 0 : -1;
}

/* Starts a shell command with its streams; -1 leaves a stream as it is. */
static inline pid_t start(const char *command, int out, int err) {
    const char *const words[] = {"sh", "-c", command, NULL};
    posix_spawn_file_actions_t actions;
    pid_t pid;
    posix_spawn_file_actions_init(&actions);
    if (out >= 0)
        posix_spawn_file_actions_adddup2(&actions, out, STDOUT_FILENO);
    if (err >= 0)
        posix_spawn_file_actions_adddup2(&actions, err, STDERR_FILENO);
    assert_int_equal(posix_spawnp(&pid, "sh", &actions, NULL, (char *const *)words, environ), 0);
    posix_spawn_file_actions_destroy(&actions);
    return pid;
}

static inline int wait_for(pid_t pid) {
    int status;
    assert_int_equal(waitpid(pid, &status, 0), pid);
    assert_true(WIFEXITED(status));
    return WEXITSTATUS(status);
}

static inline struct outcome run(const char *command, ...) __attribute__((format(printf, 1, 2)));

static inline struct outcome run(const char *command, ...) {
    char text[4 * PATH_MAX];
    va_list arguments;
    va_start(arguments, command);
    assert_in_range(vsnprintf(text, sizeof text, command, arguments), 1, sizeof text - 1);
    va_end(arguments);
    int out = open("../out", O_RDWR | O_CREAT | O_TRUNC, 0666),
        err = open("../err", O_RDWR | O_CREAT | O_TRUNC, 0666);
    assert_true(out >= 0 && err >= 0);
    struct outcome outcome = {.status = wait_for(start(text, out, err))};
    close(out);
    close(err);
    outcome.out = read_file("../out");
    outcome.err = read_file("../err");
    assert_non_null(outcome.out);
    assert_non_null(outcome.err);
    return outcome;
}

static inline void forget(struct outcome *outcome) {
    free(outcome->out);
    free(outcome->err);
}

/* Entries of a folder, hidden ones too; -1 when there is no such folder. */
static inline int entries(const char *folder) {
    DIR *open_folder = opendir(folder);
    if (!open_folder)
        return -1;
    int count = 0;
    for (const struct dirent *entry; (entry = readdir(open_folder)) != NULL;)
        count += strcmp(entry->d_name, ".") != 0 && strcmp(entry->d_name, "..") != 0;
    closedir(open_folder);
    return count;
}

/* One row, one run: what is typed, how it ends, and words that must stand on standard error. */
struct row {
    const char *command;
    int status;
    const char *said;
};

/* Nothing on standard output, the words on standard error, the status. */
static inline bool fails_as(const struct row *row) {
    struct outcome outcome = run("%s", row->command);
    bool right = outcome.status == row->status && outcome.out[0] == '\0' && strstr(outcome.err, row->said) != NULL;
    if (!right)
        print_message("%s\nstatus %d, standard output: %s\nstandard error: %s\n", row->command, outcome.status,
                      outcome.out, outcome.err);
    forget(&outcome);
    return right;
}

#endif
