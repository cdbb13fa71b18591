/* Runs a fuzz target over folders of files and over broken copies of them, for compilers without a fuzzer.
 * An input may take 2 s at most. */
#include <dirent.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <time.h>

int LLVMFuzzerTestOneInput(const unsigned char *data, size_t size);

enum { FILE_BYTES_MAX = 1 << 16, SECONDS_MAX = 2 };

static double seconds_now(void) {
    struct timespec now;
    clock_gettime(CLOCK_MONOTONIC, &now);
    return (double)now.tv_sec + 1e-9 * (double)now.tv_nsec;
}

static void run(const char *name, const char *what, const unsigned char *data, size_t size) {
    double begin = seconds_now();
    LLVMFuzzerTestOneInput(data, size);
    double took = seconds_now() - begin;
    if (took > SECONDS_MAX) {
        fprintf(stderr, "%s (%s, %zu bytes) took %.1f s\n", name, what, size, took);
        exit(1);
    }
}

/* The file cut at many places, and with one byte changed at many. */
static void run_broken(const char *name, unsigned char *data, size_t size) {
    static const unsigned char bytes[] = {'\0', '\t', '\n', '\r', '[', '{',  '"', '*',
                                          '&',  ':',  '-',  '9',  'e', 0xC3, 0xFF};
    size_t step = size / 25 + 1;
    for (size_t i = 0; i < size; i += step) {
        unsigned char kept = data[i];
        run(name, "cut", data, i);
        for (size_t b = 0; b < sizeof bytes; b++) {
            data[i] = bytes[b];
            run(name, "changed", data, size);
        }
        data[i] = kept;
    }
}

/* What no small file shows. */
static void run_large(void) {
    static const char *const patterns[] = {
        "1", " ", "\n", "[", "{", "- ", "a: ", "&a *a ", "\"", "\r", "x:\n", ",", "#\n", "1,2\n"};
    size_t size = 1 << 20;
    char *data = malloc(size);
    if (data == NULL)
        exit(1);
    for (size_t p = 0; p < sizeof patterns / sizeof *patterns; p++) {
        size_t length = strlen(patterns[p]);
        for (size_t i = 0; i < size; i++)
            data[i] = patterns[p][i % length];
        run("1 MiB", patterns[p], (const unsigned char *)data, size);
    }
    free(data);
}

static size_t run_file(const char *folder, const char *name) {
    char path[1024];
    unsigned char *data = malloc(FILE_BYTES_MAX);
    snprintf(path, sizeof path, "%s/%s", folder, name);
    FILE *file = fopen(path, "rb");
    if (data == NULL || file == NULL) {
        perror(path);
        exit(1);
    }
    size_t size = fread(data, 1, FILE_BYTES_MAX, file);
    fclose(file);
    run(name, "whole", data, size);
    run_broken(name, data, size);
    free(data);
    return 1;
}

int main(int argc, char **argv) {
    size_t count = 0;
    for (int i = 1; i < argc; i++) {
        DIR *folder = opendir(argv[i]);
        if (folder == NULL) {
            perror(argv[i]);
            return 1;
        }
        for (struct dirent *entry = readdir(folder); entry != NULL; entry = readdir(folder))
            if (entry->d_name[0] != '.')
                count += run_file(argv[i], entry->d_name);
        closedir(folder);
    }
    run_large();
    printf("%zu files\n", count);
    return count > 0 ? 0 : 1; /* an empty corpus is a mistake */
}
