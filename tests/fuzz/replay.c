/* Runs a fuzz target over the files named, or over the files of the folders named, without libFuzzer. Each input has
 * two seconds. */
#include <dirent.h>
#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>
#include <sys/stat.h>
#include <unistd.h>

enum { SECONDS_AN_INPUT = 2, PATH_BYTES = 4096 };

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size);

static int fault(const char *what, const char *path) {
    fprintf(stderr, "replay: %s: %s\n", path, what);
    return 1;
}

static int replay_file(const char *path) {
    FILE *file = fopen(path, "rb");
    if (!file)
        return fault("cannot be opened", path);
    struct stat about;
    uint8_t *data = NULL;
    size_t size = 0;
    if (fstat(fileno(file), &about) == 0 && (data = malloc((size_t)about.st_size + 1)) != NULL)
        size = fread(data, 1, (size_t)about.st_size, file);
    fclose(file);
    if (!data || size != (size_t)about.st_size) {
        free(data);
        return fault("cannot be read", path);
    }
    printf("%s\n", path);
    fflush(stdout);
    alarm(SECONDS_AN_INPUT);
    LLVMFuzzerTestOneInput(data, size);
    alarm(0);
    free(data);
    return 0;
}

static int replay_folder(const char *path, size_t *seen) {
    DIR *folder = opendir(path);
    if (!folder)
        return fault("is no folder", path);
    int status = 0;
    for (struct dirent *entry; (entry = readdir(folder));) {
        char file[PATH_BYTES];
        if (entry->d_name[0] == '.')
            continue;
        if (snprintf(file, sizeof file, "%s/%s", path, entry->d_name) >= (int)sizeof file)
            status |= fault("path too long", path);
        else
            status |= replay_file(file);
        ++*seen;
    }
    closedir(folder);
    return status;
}

int main(int count, char **names) {
    int status = 0;
    size_t seen = 0;
    for (int i = 1; i < count; i++) {
        struct stat about;
        if (stat(names[i], &about) != 0)
            status |= fault("missing", names[i]);
        else if (S_ISDIR(about.st_mode))
            status |= replay_folder(names[i], &seen);
        else
            status |= replay_file(names[i]), seen++;
    }
    if (seen == 0)
        return fault("no input found", "nothing to do");
    return status;
}
