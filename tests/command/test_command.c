/* The program as its users meet it: exit status, streams, messages, interrupted runs. The contract under test is the
 * house's own: 0 done, 1 the machine could not, 2 the user's words or files are wrong, 130 stopped; results on
 * standard output, talk on standard error; outputs whole or not at all. */
#define _XOPEN_SOURCE 700 /* pseudo-terminals */

#include "run.h"

#include <errno.h>
#include <jansson.h>
#include <signal.h>
#include <time.h>

static const struct row mistakes[] = {
    {"luxfall", 2, "usage: luxfall COMMAND"},
    {"luxfall trase", 2, "unknown command 'trase'; did you mean 'trace'?"},
    {"luxfall --versoin", 2, "unknown option '--versoin'; did you mean '--version'?"},
    {"luxfall trace", 2, "SCENE is missing"},
    {"luxfall trace a.yaml b.yaml", 2, "'b.yaml' is one word too many"},
    {"luxfall trace missing.yaml", 2, "missing.yaml"},
    {"luxfall check .", 2, "."},
    {"luxfall trace --outt here a.yaml", 2, "did you mean '--out'?"},
    {"luxfall trace a.yaml --rays", 2, "--rays needs a value"},
    {"luxfall trace a.yaml --linear-png=yes", 2, "--linear-png takes no value"},
    {"luxfall trace a.yaml --seed -1", 2, "--seed: '-1' is not a whole number"},
    {"luxfall trace a.yaml --seed 12x", 2, "--seed: '12x' is not a whole number"},
    {"luxfall trace a.yaml --rays 1e400", 2, "--rays: '1e400'"},
    {"luxfall trace a.yaml --rays 12x", 2, "--rays: '12x' ends in 'x'"},
    {"luxfall trace a.yaml --rays 0", 2, "--rays: '0' is out of range"},
    {"luxfall trace a.yaml --accuracy nan", 2, "--accuracy: 'nan' is not a percentage"},
    {"luxfall trace a.yaml --accuracy -1", 2, "--accuracy: '-1' is out of range"},
    {"luxfall trace a.yaml --threads 0", 2, "--threads: '0'"},
    {"luxfall trace a.yaml --method ray", 2, "did you mean 'rays'?"},
    {"luxfall trace a.yaml --accuracy 1 --rays 5", 2, "exclude each other"},
    {"luxfall trace a.yaml --method direct --rays 5", 2, "the direct way has no noise"},
    {"luxfall trace a.yaml --width 900", 2, "give --out DIR too"},
    {"LUXFALL_VECTORS=wide luxfall trace a.yaml", 2, "LUXFALL_VECTORS: 'wide' is none of"},
    {"luxfall new rng", 2, "did you mean 'ring'?"},
    {"luxfall compare " RING, 2, "at least two scenes"},
    {"luxfall compare " RING " --lenses medium,", 2, "empty name"},
    {"luxfall compare " RING " --lenses medium,mediun", 2, "mediun"},
    {"luxfall compare " RING " " RING " --lenses a,b", 2, "--lenses goes with one SCENE"},
    {"luxfall --print-completion fish", 2, "'fish' is none of bash"},
};

static void every_mistake_has_its_message_and_status(void **state) {
    (void)state;
    for (size_t i = 0; i < sizeof mistakes / sizeof *mistakes; i++)
        assert_true(fails_as(&mistakes[i]));
    /* Twins: a run that succeeds, a status that is another, words that are not said. */
    assert_false(fails_as(&(struct row){"luxfall --version", 0, ""}));
    assert_false(fails_as(&(struct row){"luxfall trase", 1, "did you mean"}));
    assert_false(fails_as(&(struct row){"luxfall trase", 2, "did you mean 'check'"}));
}

static void an_unknown_key_is_told_at_its_place(void **state) {
    (void)state;
    struct outcome outcome =
        run("luxfall new ring | sed 's/^    flux:/    fluks:/' > typo.yaml; luxfall trace typo.yaml --out typo");
    assert_int_equal(outcome.status, 2);
    assert_non_null(strstr(outcome.err, "typo.yaml:"));
    assert_non_null(strstr(outcome.err, "fluks"));
    assert_non_null(strstr(outcome.err, "flux"));
    assert_int_equal(entries("typo"), -1);
    forget(&outcome);
}

static void the_machine_refusing_is_status_1_and_leaves_nothing(void **state) {
    (void)state;
    static const struct row refusals[] = {
        {"luxfall trace " RING " --method direct --out file/below", 1, "file"},
        {"luxfall trace " RING " --method direct --out file", 1, "file"},
        {"luxfall trace " RING " --method direct --json file/x.json", 1, "file/x.json"},
        {"luxfall trace " RING " --method direct --json .", 1, "is a folder"},
        {"luxfall trace " RING " --method direct > /dev/full", 1, "No space left"},
        {"luxfall trace " RING " --method direct --json - > /dev/full", 1, "No space left"},
        {"luxfall trace " RING " --method direct --json /dev/full", 1, "No space left"},
        {"luxfall trace " RING " --method direct --out new > /dev/full", 1, "No space left"},
        {"luxfall new ring > /dev/full", 1, "No space left"},
        {"luxfall check " RING " > /dev/full", 1, "No space left"},
        {"luxfall --help > /dev/full", 1, "No space left"},
    };
    int before;
    struct outcome outcome = run("echo old > file; mkdir old; echo old > old/map.csv");
    forget(&outcome);
    before = entries(".");
    for (size_t i = 0; i < sizeof refusals / sizeof *refusals; i++)
        assert_true(fails_as(&refusals[i]));
    /* The new folder went again, and a folder that was there keeps its old file. */
    assert_int_equal(entries("."), before);
    assert_true(fails_as(&(struct row){"luxfall trace " RING " --method direct --out old > /dev/full", 1, "space"}));
    assert_int_equal(entries("old"), 1);
    char *kept = read_file("old/map.csv");
    assert_string_equal(kept, "old\n");
    free(kept);
}

/* ---- results -----------------------------------------------------------------------------------------------------
 */

static bool is_json_alone(const char *text) {
    json_error_t error;
    json_t *json = json_loads(text, JSON_REJECT_DUPLICATES, &error);
    bool good = json && json_is_array(json_object_get(json, "planes"));
    json_decref(json);
    return good;
}

static void json_on_standard_output_stands_alone(void **state) {
    (void)state;
    struct outcome json = run("luxfall trace " RING " --method direct --json - --out withjson"), table;
    assert_int_equal(json.status, 0);
    assert_true(is_json_alone(json.out));
    char *file = read_file("withjson/statistics.json");
    assert_non_null(file);
    assert_true(is_json_alone(file));
    table = run("luxfall trace " RING " --method direct");
    assert_int_equal(table.status, 0);
    assert_non_null(strstr(table.out, "widest zoom"));
    assert_non_null(strstr(table.out, "lens sheet"));
    /* Twin: the table before the JSON is no JSON. */
    char *both = malloc(strlen(table.out) + strlen(json.out) + 1);
    strcat(strcpy(both, table.out), json.out);
    assert_false(is_json_alone(both));
    assert_false(is_json_alone("{}"));
    free(both);
    free(file);
    forget(&json);
    forget(&table);
}

static void a_folder_gets_all_files_and_nothing_hidden(void **state) {
    (void)state;
    static const char *const files[] = {"map.png", "section.png", "statistics.json", "map.csv", "map.tiff"};
    struct outcome outcome = run("luxfall trace " RING " --method direct --out a/b/all --linear-png");
    assert_int_equal(outcome.status, 0);
    assert_int_equal(entries("a/b/all"), 6);
    for (size_t i = 0; i < sizeof files / sizeof *files; i++) {
        char path[64];
        struct stat status;
        snprintf(path, sizeof path, "a/b/all/%s", files[i]);
        assert_int_equal(stat(path, &status), 0);
        assert_true(status.st_size > 100);
    }
    assert_null(strchr(outcome.err, '\r'));
    forget(&outcome);
    outcome = run("sed 's/level: 0 mm/levels: [0 mm, -2.5 mm]/' " RING
                  " > two.yaml && luxfall trace two.yaml --method direct --out two");
    assert_int_equal(outcome.status, 0);
    assert_int_equal(entries("two"), 9);
    assert_int_equal(access("two/map_-2.5mm.png", R_OK), 0);
    assert_int_equal(access("two/map_0mm.csv", R_OK), 0);
    forget(&outcome);
}

static bool same_files(const char *one, const char *other) {
    static const char *const files[] = {"statistics.json", "map.csv", "map.tiff"};
    for (size_t i = 0; i < sizeof files / sizeof *files; i++) {
        struct outcome outcome = run("cmp %s/%s %s/%s", one, files[i], other, files[i]);
        int status = outcome.status;
        forget(&outcome);
        if (status != 0)
            return false;
    }
    return true;
}

/* The last but one masks the wide forms of our kernels and, by the C library's own tunables, of its functions. */
static void the_same_seed_gives_the_same_bytes(void **state) {
    (void)state;
    static const char *const ways[][2] = {
        {"", "--threads 1"},
        {"", "--threads 1"},
        {"", "--threads 2"},
        {"", "--threads 3"},
        {"", "--threads 7"},
        {"GLIBC_TUNABLES=glibc.cpu.hwcaps=-AVX2,-FMA,-AVX512F LUXFALL_VECTORS=plain ", "--threads 2"},
        {"", "--seed 2"}};
    enum { COUNT = sizeof ways / sizeof *ways };
    char name[16];
    for (size_t i = 0; i < COUNT; i++) {
        struct outcome outcome =
            run("%sluxfall trace " RING " --rays 200e3 --seed 7 %s --out same%zu", ways[i][0], ways[i][1], i);
        assert_int_equal(outcome.status, 0);
        forget(&outcome);
    }
    for (size_t i = 1; i < COUNT; i++) {
        snprintf(name, sizeof name, "same%zu", i);
        assert_int_equal(same_files("same0", name), i < COUNT - 1); /* twin: another seed, given last */
    }
}

static void check_and_new_give_scenes(void **state) {
    (void)state;
    static const char *const kinds[] = {"ring", "single", "line", "grid", "stand"};
    for (size_t i = 0; i < sizeof kinds / sizeof *kinds; i++) {
        struct outcome outcome = run("luxfall new %s > new.yaml && luxfall check new.yaml > checked.yaml && "
                                     "luxfall check checked.yaml > again.yaml && "
                                     "grep -v '^#' checked.yaml > checked.txt && grep -v '^#' again.yaml > again.txt "
                                     "&& cmp checked.txt again.txt && "
                                     "grep -q '^# module .*incidence' checked.yaml",
                                     kinds[i]);
        assert_int_equal(outcome.status, 0);
        assert_string_equal(outcome.err, "");
        forget(&outcome);
    }
    struct outcome outcome = run("luxfall check " RING);
    assert_int_equal(outcome.status, 0);
    assert_non_null(strstr(outcome.out, "165.00 mm      38.00 deg"));
    forget(&outcome);
}

static void compare_marks_the_best(void **state) {
    (void)state;
    struct outcome outcome =
        run("sed 's/^lenses:/lenses:\\n  wide: {beam_angle: 36 deg, efficiency: 84 %%, face: disc 18 mm}/' " RING
            " > both.yaml && luxfall compare both.yaml --lenses 'medium, wide' --method direct --out cmp --json "
            "cmp.json");
    assert_int_equal(outcome.status, 0);
    /* medium has the most light, wide is the more even: design figures 91.55 klx and U0 0.930. */
    assert_non_null(strstr(outcome.out, "91.55 klx *"));
    assert_non_null(strstr(outcome.out, "0.930 *"));
    assert_null(strstr(outcome.out, "0.853 *"));
    assert_int_equal(entries("cmp"), 7); /* two folders, map, sections, difference, two tables */
    assert_int_equal(entries("cmp/wide"), 5);
    json_t *json = json_load_file("cmp.json", 0, NULL);
    assert_int_equal(json_array_size(json_object_get(json, "candidates")), 2);
    json_decref(json);
    forget(&outcome);
}

/* ---- stopped -----------------------------------------------------------------------------------------------------
 */

static void pause_ms(long ms) {
    nanosleep(&(struct timespec){ms / 1000, ms % 1000 * 1000000}, NULL);
}

/* Starts a command whose standard error is a terminal; *master is the end that reads what it says. */
static pid_t start_on_terminal(const char *command, int *master) {
    *master = posix_openpt(O_RDWR | O_NOCTTY);
    assert_true(*master >= 0 && grantpt(*master) == 0 && unlockpt(*master) == 0);
    int slave = open(ptsname(*master), O_RDWR | O_NOCTTY);
    assert_true(slave >= 0);
    assert_int_equal(fcntl(*master, F_SETFD, FD_CLOEXEC), 0);
    pid_t pid = start(command, -1, slave);
    close(slave);
    return pid;
}

enum { SAID_MAX = 1 << 20 };

/* Reads what is said up to the word, or all of it; the caller frees. When the last holder of the other end has gone,
 * read() fails. */
static char *read_until(int master, const char *word) {
    char *said = calloc(1, SAID_MAX);
    size_t size = 0;
    assert_non_null(said);
    for (ssize_t got; !(word && strstr(said, word)) && size < SAID_MAX - 1 &&
                      (got = read(master, said + size, SAID_MAX - 1 - size)) > 0;)
        size += (size_t)got;
    return said;
}

static void a_signal_while_tracing_leaves_nothing(void **state) {
    (void)state;
    static const int numbers[] = {SIGINT, SIGTERM};
    for (size_t i = 0; i < 2; i++) {
        int master;
        pid_t pid =
            start_on_terminal("exec luxfall trace " RING " --rays 1e12 --out stopped --json stopped.json", &master);
        char *said = read_until(master, "million rays");
        kill(pid, numbers[i]);
        char *after = read_until(master, NULL);
        close(master);
        assert_int_equal(wait_for(pid), 130);
        assert_non_null(strstr(said, "million rays"));
        assert_non_null(strstr(after, "stopped; nothing was written"));
        free(said);
        free(after);
        assert_int_equal(entries("stopped"), -1);
        assert_int_not_equal(access("stopped.json", F_OK), 0);
    }
}

/* Waits until something stands in the folder; false when the program ended before. */
static bool wait_for_entry(const char *folder, pid_t pid) {
    for (int i = 0; i < 20000; i++) {
        if (entries(folder) > 0)
            return true;
        if (waitpid(pid, NULL, WNOHANG) != 0)
            return false;
        pause_ms(1);
    }
    return false;
}

static void a_signal_while_pictures_are_drawn_leaves_nothing(void **state) {
    (void)state;
    struct outcome made = run("mkdir drawn && echo old > drawn/map.csv");
    forget(&made);
    pid_t pid =
        start("exec luxfall trace " RING " --method direct --width 8000 --out stopdrawn > ../out 2>&1", -1, -1);
    assert_true(wait_for_entry("stopdrawn", pid));
    kill(pid, SIGINT);
    assert_int_equal(wait_for(pid), 130);
    assert_int_equal(entries("stopdrawn"), -1);
    /* The same into a folder that stood before: its old file stays and nothing joins it. */
    pid = start("exec luxfall trace " RING " --method direct --width 8000 --out drawn > ../out 2>&1", -1, -1);
    for (int i = 0; i < 5000 && entries("drawn") < 2; i++)
        pause_ms(1);
    kill(pid, SIGINT);
    assert_int_equal(wait_for(pid), 130);
    assert_int_equal(entries("drawn"), 1);
    /* Twin: a program that does not clean up, as this one when it is killed outright, does leave something. */
    pid = start("exec luxfall trace " RING " --method direct --width 8000 --out killed > ../out 2>&1", -1, -1);
    assert_true(wait_for_entry("killed", pid));
    kill(pid, SIGKILL);
    assert_int_equal(waitpid(pid, NULL, 0), pid);
    assert_int_not_equal(entries("killed"), -1);
}

static void progress_is_for_terminals(void **state) {
    (void)state;
    int master;
    if (less_is_wanted())
        skip();
    pid_t pid = start_on_terminal("luxfall trace " RING " --rays 30e6 --threads 1 > ../out", &master);
    char *said = read_until(master, NULL);
    close(master);
    assert_int_equal(wait_for(pid), 0);
    assert_non_null(strstr(said, "million rays"));
    const char *last = strrchr(said, '\r');
    assert_non_null(last);
    assert_string_equal(last, "\r"); /* erased at the end */
    free(said);
    struct outcome outcome = run("luxfall trace " RING " --rays 30e6 --threads 1 --json -");
    assert_int_equal(outcome.status, 0);
    assert_null(strstr(outcome.err, "million rays"));
    assert_null(strchr(outcome.err, '\r'));
    forget(&outcome);
}

/* ---- README ------------------------------------------------------------------------------------------------------
 */

/* Runs the lines of README's sh blocks that begin with luxfall, in order, in a folder with the repository's scenes.
 * Returns how many there are; *failed counts those that did not end with 0. */
static int run_readme(const char *path, int *failed) {
    FILE *readme = fopen(path, "r");
    char line[4096];
    bool inside = false;
    int count = 0;
    *failed = 0;
    assert_non_null(readme);
    while (fgets(line, sizeof line, readme)) {
        line[strcspn(line, "\n")] = '\0';
        if (strncmp(line, "```", 3) == 0)
            inside = !inside && strcmp(line, "```sh") == 0;
        else if (inside && strncmp(line, "luxfall ", 8) == 0) {
            struct outcome outcome = run("%s", line);
            if (outcome.status != 0)
                print_message("README: %s\nends with %d: %s\n", line, outcome.status, outcome.err);
            *failed += outcome.status != 0;
            count++;
            forget(&outcome);
        }
    }
    fclose(readme);
    return count;
}

static void the_commands_of_the_readme_run(void **state) {
    (void)state;
    int failed;
    if (less_is_wanted())
        skip();
    assert_int_equal(symlink(SOURCE_DIR "/scenes", "scenes"), 0);
    assert_true(run_readme(SOURCE_DIR "/README.md", &failed) > 0);
    assert_int_equal(failed, 0);
    assert_true(run_readme(SOURCE_DIR "/scenes/README.md", &failed) > 5);
    assert_int_equal(failed, 0);
    /* Twin: a README with a command that does not run. */
    FILE *twin = fopen("twin.md", "w");
    fputs("text\n```sh\nluxfall trace scenes/none.yaml\n```\nluxfall none\n", twin);
    fclose(twin);
    assert_int_equal(run_readme("twin.md", &failed), 1);
    assert_int_equal(failed, 1);
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(every_mistake_has_its_message_and_status),
        cmocka_unit_test(an_unknown_key_is_told_at_its_place),
        cmocka_unit_test(the_machine_refusing_is_status_1_and_leaves_nothing),
        cmocka_unit_test(json_on_standard_output_stands_alone),
        cmocka_unit_test(a_folder_gets_all_files_and_nothing_hidden),
        cmocka_unit_test(the_same_seed_gives_the_same_bytes),
        cmocka_unit_test(check_and_new_give_scenes),
        cmocka_unit_test(compare_marks_the_best),
        cmocka_unit_test(a_signal_while_tracing_leaves_nothing),
        cmocka_unit_test(a_signal_while_pictures_are_drawn_leaves_nothing),
        cmocka_unit_test(progress_is_for_terminals),
        cmocka_unit_test(the_commands_of_the_readme_run),
    };
    return cmocka_run_group_tests(tests, enter_scratch, leave_scratch);
}
