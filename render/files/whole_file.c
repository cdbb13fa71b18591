#define _XOPEN_SOURCE 700 /* realpath */
#include "files.h"

#include <errno.h>
#include <fcntl.h>
#include <limits.h>
#include <stdatomic.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <unistd.h>

/* Temporaries open now, for a signal handler to remove: the only state of the house that outlives a call. */
enum { OPEN_MAX_FILES = 16 };
enum { SLOT_FREE, SLOT_FILLING, SLOT_OPEN };
static struct {
    atomic_int state;
    char path[PATH_MAX];
} open_files[OPEN_MAX_FILES];

static bool remember(const char *temporary) {
    if (strlen(temporary) >= PATH_MAX)
        return false;
    for (int i = 0; i < OPEN_MAX_FILES; i++) {
        int expected = SLOT_FREE;
        if (atomic_compare_exchange_strong(&open_files[i].state, &expected, SLOT_FILLING)) {
            strcpy(open_files[i].path, temporary);
            atomic_store(&open_files[i].state, SLOT_OPEN);
            return true;
        }
    }
    return false;
}

static void forget(const char *temporary) {
    for (int i = 0; i < OPEN_MAX_FILES; i++)
        if (atomic_load(&open_files[i].state) == SLOT_OPEN && strcmp(open_files[i].path, temporary) == 0)
            atomic_store(&open_files[i].state, SLOT_FREE);
}

void whole_file_discard_all(void) {
    for (int i = 0; i < OPEN_MAX_FILES; i++)
        if (atomic_load(&open_files[i].state) == SLOT_OPEN)
            unlink(open_files[i].path);
}

static void release(struct whole_file *file) {
    free(file->path);
    free(file->temporary);
    *file = (struct whole_file){0};
}

void whole_file_discard(struct whole_file *file) {
    if (file->stream != NULL)
        fclose(file->stream);
    if (file->temporary != NULL) {
        unlink(file->temporary);
        forget(file->temporary);
    }
    release(file);
}

int whole_file_fail(struct whole_file *file, const char *cause, struct figure_error *error) {
    char why[256];
    snprintf(why, sizeof why, "%s",
             file->stream != NULL && ferror(file->stream) && errno != 0 ? strerror(errno) : cause);
    figure_fail(error, 1, "%s could not be written: %s", file->path, why);
    whole_file_discard(file);
    return 1;
}

static FILE *open_new(const char *path) {
    int fd = open(path, O_WRONLY | O_CREAT | O_EXCL | O_CLOEXEC, 0666);
    FILE *stream = fd >= 0 ? fdopen(fd, "wb") : NULL;
    if (stream == NULL && fd >= 0) {
        int kept = errno;
        close(fd);
        unlink(path);
        errno = kept;
    }
    return stream;
}

/* A new name beside the target, free because it is made with O_EXCL; remembered first, so that no signal can come
 * between. */
static FILE *open_beside(struct whole_file *file) {
    size_t size = strlen(file->path) + 48;
    file->temporary = malloc(size);
    if (file->temporary == NULL)
        return NULL;
    const char *slash = strrchr(file->path, '/');
    int folder = slash != NULL ? (int)(slash - file->path) + 1 : 0;
    FILE *stream = NULL;
    errno = EEXIST;
    for (unsigned attempt = 0; attempt < 1000 && stream == NULL && errno == EEXIST; attempt++) {
        snprintf(file->temporary, size, "%.*s.%s.%ld-%u.part", folder, file->path, file->path + folder,
                 (long)getpid(), attempt);
        if (!remember(file->temporary)) {
            errno = strlen(file->temporary) >= PATH_MAX ? ENAMETOOLONG : EMFILE;
            return NULL;
        }
        stream = open_new(file->temporary);
        if (stream == NULL) {
            int kept = errno;
            forget(file->temporary);
            errno = kept;
        }
    }
    return stream;
}

/* The file that is meant: a link's own target, so that the link stays. */
static char *resolved(const char *path) {
    struct stat info;
    if (lstat(path, &info) == 0 && S_ISLNK(info.st_mode)) {
        char *target = realpath(path, NULL);
        if (target != NULL)
            return target;
    }
    return strdup(path);
}

int whole_file_begin(struct whole_file *file, const char *path, struct figure_error *error) {
    *file = (struct whole_file){.path = resolved(path)};
    if (file->path == NULL)
        return figure_fail(error, 1, "%s could not be written: out of memory", path);
    struct stat info;
    bool there = stat(file->path, &info) == 0;
    if (there && S_ISDIR(info.st_mode))
        errno = EISDIR;
    else if (there && !S_ISREG(info.st_mode))
        file->stream = fopen(file->path, "wb");
    else
        file->stream = open_beside(file);
    if (file->stream != NULL)
        return 0;
    figure_fail(error, 1, "%s could not be written: %s", path, strerror(errno));
    release(file);
    return 1;
}

int whole_file_commit(struct whole_file *file, struct figure_error *error) {
    errno = 0;
    bool lost = ferror(file->stream) != 0;
    lost = fflush(file->stream) != 0 || lost;
    int kept = errno;
    lost = fclose(file->stream) != 0 || lost;
    file->stream = NULL;
    if (kept == 0)
        kept = errno;
    if (!lost && file->temporary != NULL && rename(file->temporary, file->path) != 0) {
        lost = true;
        kept = errno;
    }
    if (lost)
        return whole_file_fail(file, kept != 0 ? strerror(kept) : "the disk took less than was sent", error);
    if (file->temporary != NULL)
        forget(file->temporary);
    release(file);
    return 0;
}
