#include "outputs.h"

#include "options.h"
#include "render/files/files.h"

#include <errno.h>
#include <fcntl.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <unistd.h>

struct output {
    struct output *older;
    bool folder, placed, kept_aside;
    char *path, *staged, *aside; /* of a folder: path alone */
};

/* The unfinished outputs, for the signal handler. */
static struct output *volatile unfinished;

static struct output *add(struct outputs *outputs, const char *path, struct figure_error *error) {
    struct output *output = calloc(1, sizeof *output);
    if (output)
        output->path = strdup(path);
    if (!output || !output->path) {
        free(output);
        figure_fail(error, EXIT_MACHINE, "out of memory");
        return NULL;
    }
    output->older = outputs->newest;
    outputs->newest = output;
    return output;
}

static bool is_folder(const char *path) {
    struct stat status;
    return stat(path, &status) == 0 && S_ISDIR(status.st_mode);
}

static int make_folder(struct outputs *outputs, const char *path, struct figure_error *error) {
    if (is_folder(path))
        return 0;
    struct output *made = add(outputs, path, error);
    if (!made)
        return error->status;
    if (mkdir(path, 0777) != 0)
        return figure_fail(error, EXIT_MACHINE, "cannot make the folder '%s': %s", path,
                           strerror(errno == EEXIST ? ENOTDIR : errno));
    made->folder = true;
    unfinished = made;
    return 0;
}

int outputs_folder(struct outputs *outputs, const char *path, struct figure_error *error) {
    char *parent = strdup(path);
    if (!parent)
        return figure_fail(error, EXIT_MACHINE, "out of memory");
    int status = 0;
    for (char *slash = parent + 1; status == 0 && *parent && (slash = strchr(slash, '/')) != NULL; slash++) {
        *slash = '\0';
        status = make_folder(outputs, parent, error);
        *slash = '/';
    }
    free(parent);
    return status ? status : make_folder(outputs, path, error);
}

/* FOLDER/.luxfall-PID-KINDNAME beside FOLDER/NAME. */
static char *hidden_name(const char *path, const char *kind) {
    const char *slash = strrchr(path, '/');
    const char *name = slash ? slash + 1 : path;
    size_t size = strlen(path) + strlen(kind) + 40;
    char *hidden = malloc(size);
    if (hidden)
        snprintf(hidden, size, "%.*s.luxfall-%ld-%s%s", (int)(name - path), path, (long)getpid(), kind, name);
    return hidden;
}

/* A run of seconds should not end with "permission denied": the place is tried before. */
static int try_place(const struct output *output, struct figure_error *error) {
    int descriptor = open(output->staged, O_WRONLY | O_CREAT | O_TRUNC, 0666);
    if (descriptor < 0)
        return figure_fail(error, EXIT_MACHINE, "cannot write '%s': %s", output->path, strerror(errno));
    close(descriptor);
    unlink(output->staged);
    return 0;
}

const char *outputs_stage(struct outputs *outputs, const char *path, struct figure_error *error) {
    struct stat status;
    struct output *output = add(outputs, path, error);
    if (!output)
        return NULL;
    if (stat(path, &status) == 0 && !S_ISREG(status.st_mode)) {
        output->placed = true; /* a device or a pipe takes what comes; nothing may be put in its place */
        if (S_ISDIR(status.st_mode))
            figure_fail(error, EXIT_MACHINE, "'%s' is a folder", path);
        return S_ISDIR(status.st_mode) ? NULL : output->path;
    }
    output->staged = hidden_name(path, "");
    output->aside = hidden_name(path, "before-");
    if (!output->staged || !output->aside) {
        figure_fail(error, EXIT_MACHINE, "out of memory");
        return NULL;
    }
    unfinished = output;
    return try_place(output, error) == 0 ? output->staged : NULL;
}

static int place(struct output *output, struct figure_error *error) {
    if (rename(output->path, output->aside) == 0)
        output->kept_aside = true;
    else if (errno != ENOENT)
        return figure_fail(error, EXIT_MACHINE, "cannot replace '%s': %s", output->path, strerror(errno));
    if (rename(output->staged, output->path) != 0)
        return figure_fail(error, EXIT_MACHINE, "cannot write '%s': %s", output->path, strerror(errno));
    output->placed = true;
    return 0;
}

static void take_back(struct output *output) {
    if (output->placed)
        unlink(output->path);
    if (output->kept_aside)
        rename(output->aside, output->path);
    output->placed = output->kept_aside = false;
}

int outputs_commit(struct outputs *outputs, struct figure_error *error) {
    int status = 0;
    for (struct output *output = outputs->newest; output && status == 0; output = output->older)
        if (output->staged)
            status = place(output, error);
    for (struct output *output = outputs->newest; output; output = output->older) {
        if (output->folder)
            output->placed = status == 0;
        else if (status && output->staged)
            take_back(output);
        else if (output->kept_aside)
            unlink(output->aside);
    }
    return status;
}

static void remove_unfinished(const struct output *newest) {
    for (const struct output *output = newest; output; output = output->older) {
        if (output->placed)
            continue;
        if (output->folder)
            rmdir(output->path);
        else if (output->staged)
            unlink(output->staged);
    }
}

void outputs_release(struct outputs *outputs) {
    unfinished = NULL;
    remove_unfinished(outputs->newest);
    while (outputs->newest) {
        struct output *output = outputs->newest;
        outputs->newest = output->older;
        free(output->path);
        free(output->staged);
        free(output->aside);
        free(output);
    }
}

void outputs_discard_unfinished(void) {
    whole_file_discard_all();
    remove_unfinished(unfinished);
}

void outputs_name_place(const struct outputs *outputs, struct figure_error *error) {
    for (const struct output *output = outputs->newest; output; output = output->older) {
        char *found = output->staged ? strstr(error->text, output->staged) : NULL;
        if (!found)
            continue;
        char told[sizeof error->text];
        snprintf(told, sizeof told, "%.*s%s%s", (int)(found - error->text), error->text, output->path,
                 found + strlen(output->staged));
        memcpy(error->text, told, sizeof told);
        return;
    }
}
