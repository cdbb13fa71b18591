#include "module_choice.h"

#include "options.h"
#include "scenes/keys.h"

#include <stdlib.h>
#include <string.h>

static size_t first_lit(const struct luxfall_scene *light) {
    for (size_t i = 0; i < light->module_count; i++)
        if (!light->modules[i].dark)
            return i;
    return 0;
}

static int tell_unknown(const char *command, const struct scene *scene, const char *name) {
    const char **names = calloc(scene->group_count + 1, sizeof *names);
    for (size_t i = 0; names && i < scene->group_count; i++)
        names[i] = scene->groups[i].name;
    const char *near = names ? nearest_word(name, names) : NULL;
    fprintf(stderr, "luxfall %s: error: no module is named '%s'%s%s%s\n", command, name,
            near ? "; did you mean '" : "", near ? near : "", near ? "'?" : "");
    free(names);
    return EXIT_USER;
}

int module_choose(const char *command, const struct scene *scene, const char *name, size_t *module) {
    const struct luxfall_scene *light = &scene->light;
    if (!name) {
        *module = first_lit(light);
        return 0;
    }
    for (size_t i = 0; i < light->module_count; i++)
        if (strcmp(light->modules[i].name, name) == 0) {
            *module = i;
            return 0;
        }
    for (size_t i = 0; i < scene->group_count; i++)
        if (strcmp(scene->groups[i].name, name) == 0) {
            *module = scene->groups[i].first;
            return 0;
        }
    return tell_unknown(command, scene, name);
}
