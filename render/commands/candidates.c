#include "candidates.h"

#include "common_current.h"
#include "wishes.h"

#include <stdlib.h>
#include <string.h>

static int out_of_memory(void) {
    fputs("luxfall compare: error: out of memory\n", stderr);
    return EXIT_MACHINE;
}

static int wrong_words(const char *what) {
    fprintf(stderr, "luxfall compare: error: %s\n", what);
    return EXIT_USER;
}

static char *copy_of(const char *text, size_t length) {
    char *copy = malloc(length + 1);
    if (copy) {
        memcpy(copy, text, length);
        copy[length] = '\0';
    }
    return copy;
}

/* ---- lists of names -------------------------------------------------------------------------------------------- */

/* "narrow, medium" taken apart; without a text: one name, NULL, which changes nothing. */
struct names {
    size_t count;
    char *items[CANDIDATES_MAX];
};

static void names_release(struct names *names) {
    for (size_t i = 0; i < names->count; i++)
        free(names->items[i]);
}

static int wrong_list(const char *option, const char *text, size_t at, const char *what) {
    struct messages told = {0};
    struct scene_place place = {option, 1, (int)at + 1};
    messages_add(&told, MESSAGE_ERROR, place, text, "%s", what);
    messages_print(&told, stderr);
    messages_clear(&told);
    return EXIT_USER;
}

static int names_read(const char *option, const char *text, struct names *out) {
    *out = (struct names){.count = text ? 0 : 1};
    for (size_t at = 0; text; at++) {
        at += strspn(text + at, " ");
        size_t length = strcspn(text + at, ","), named = length;
        while (named > 0 && text[at + named - 1] == ' ')
            named--;
        if (named == 0)
            return wrong_list(option, text, at, "an empty name; write them parted by commas, such as medium, wide");
        if (out->count == CANDIDATES_MAX)
            return wrong_list(option, text, at, "more than 24 of them");
        if (!(out->items[out->count++] = copy_of(text + at, named)))
            return out_of_memory();
        at += length;
        if (text[at] == '\0')
            break;
    }
    return 0;
}

/* ---- what is asked for ----------------------------------------------------------------------------------------- */

struct plan {
    const char *const *scenes;
    const char *at_text;
    size_t scene_count, at_count;
    struct names lenses, emitters;
    struct at_wish at[AT_MAX];
    struct messages messages; /* of all candidates */
};

/* One of all pairs. lens, emitter and at: NULL: as the scene has it. */
struct choice {
    const char *path, *lens, *emitter;
    const struct at_wish *at;
};

static size_t plan_size(const struct plan *plan) {
    return plan->scene_count * plan->lenses.count * plan->emitters.count * plan->at_count;
}

/* Those of one current together, to be set side by side. */
static struct choice plan_choice(const struct plan *plan, size_t index, const struct candidate_wishes *wishes) {
    size_t lens = index % plan->lenses.count, emitter = (index /= plan->lenses.count) % plan->emitters.count,
           scene = (index /= plan->emitters.count) % plan->scene_count, at = index / plan->scene_count;
    return (struct choice){plan->scenes[scene], plan->lenses.items[lens], plan->emitters.items[emitter],
                           wishes->at ? &plan->at[at] : NULL};
}

static int plan_currents(struct plan *plan, const char *at) {
    plan->at_text = at;
    plan->at_count = 1;
    if (!at)
        return 0;
    struct messages told = {0};
    bool read = at_read(at, &told, &plan->at_count, plan->at);
    messages_print(&told, stderr);
    messages_clear(&told);
    return read ? 0 : EXIT_USER;
}

static int plan_make(const struct candidate_wishes *wishes, struct plan *plan) {
    plan->scenes = wishes->scenes;
    while (plan->scenes[plan->scene_count])
        plan->scene_count++;
    if (plan->scene_count > 1 && wishes->lenses)
        return wrong_words("--lenses goes with one SCENE");
    if (plan->scene_count > 1 && wishes->emitters)
        return wrong_words("--emitters goes with one SCENE");
    int status = names_read("--lenses", wishes->lenses, &plan->lenses);
    if (status == 0)
        status = names_read("--emitters", wishes->emitters, &plan->emitters);
    if (status == 0)
        status = plan_currents(plan, wishes->at);
    if (status)
        return status;
    size_t size = plan_size(plan);
    char text[200];
    snprintf(text, sizeof text,
             "%zu candidates (scenes x lenses x emitters x currents: %zu x %zu x %zu x %zu), more than 24", size,
             plan->scene_count, plan->lenses.count, plan->emitters.count, plan->at_count);
    if (size > CANDIDATES_MAX)
        return wrong_words(text);
    return size > 1 ? 0
                    : wrong_words("one candidate alone: give at least two scenes, or one scene with --lenses A,B, "
                                  "--emitters A,B or --at '350 mA, 700 mA'");
}

/* ---- names of candidates --------------------------------------------------------------------------------------- */

/* "scenes/ring.yaml" is "ring". */
static char *name_of_scene(const char *path) {
    const char *slash = strrchr(path, '/'), *name = slash ? slash + 1 : path;
    const char *dot = strrchr(name, '.');
    return copy_of(name, dot && dot > name ? (size_t)(dot - name) : strlen(name));
}

/* The scene, unless there is but one; the lens; the emitter; the current. */
static char *name_of_choice(const struct choice *choice, bool scene_told) {
    char *scene = scene_told ? name_of_scene(choice->path) : NULL, *name = NULL;
    const char *parts[] = {scene, choice->lens, choice->emitter, choice->at ? choice->at->text : NULL};
    size_t size = 1, used = 0, count = sizeof parts / sizeof *parts;
    for (size_t i = 0; i < count; i++)
        size += parts[i] ? strlen(parts[i]) + 2 : 0;
    if (!scene_told || scene)
        name = calloc(size, 1);
    for (size_t i = 0; name && i < count; i++)
        if (parts[i])
            used += (size_t)snprintf(name + used, size - used, "%s%s", used ? ", " : "", parts[i]);
    free(scene);
    return name;
}

/* A name may hold a slash or begin with a point, and must not lead out of the folder. */
static char *folder_of_name(const char *name) {
    char *folder = copy_of(name, strlen(name));
    for (size_t i = 0; folder && folder[i]; i++)
        if (folder[i] == '/' || (i == 0 && folder[i] == '.'))
            folder[i] = '-';
    return folder;
}

static int check_folders(const struct candidates *candidates) {
    for (size_t i = 0; i < candidates->count; i++)
        for (size_t j = 0; j < i; j++)
            if (strcmp(candidates->items[i].folder, candidates->items[j].folder) == 0) {
                fprintf(stderr,
                        "luxfall compare: error: two candidates have the same name, '%s': they could not be told "
                        "apart, nor their folders\n",
                        candidates->items[i].name);
                return EXIT_USER;
            }
    return 0;
}

/* ---- reading --------------------------------------------------------------------------------------------------- */

/* Adds the messages of one candidate to those of all: what the same place says again is dropped there. */
static void gather(struct messages *all, const struct messages *own) {
    for (size_t i = 0; i < own->count; i++)
        messages_add(all, own->items[i].kind, own->items[i].place, own->items[i].source, "%s", own->items[i].text);
    all->out_of_memory |= own->out_of_memory;
}

/* Where the wish stands in the list of them. */
static struct wish_place place_of_wish(const struct plan *plan, const struct at_wish *wish) {
    size_t at = 0;
    for (const struct at_wish *before = plan->at; before < wish; before++)
        at += strcspn(plan->at_text + at, ",") + 1;
    at += strspn(plan->at_text + at, " ");
    return (struct wish_place){{"--at", 1, (int)at + 1}, plan->at_text};
}

/* The current that was named, or that draws the watts: for this the scene is read at any first. */
static int find_current(struct plan *plan, const struct choice *choice, struct scene_changes *changes) {
    changes->current_a = choice->at->value;
    if (!choice->at->watts)
        return 0;
    struct scene *scene = NULL;
    struct messages messages = {0};
    const struct wish_place place = place_of_wish(plan, choice->at);
    changes->current_a = 0;
    changes->current_open = true;
    int status = scene_read_changed(choice->path, changes, &scene, &messages);
    changes->current_open = false;
    if (status == 0 && !common_current(scene, choice->at->value, &place, &messages, &changes->current_a))
        status = EXIT_USER;
    if (status)
        gather(&plan->messages, &messages);
    scene_free(scene);
    messages_clear(&messages);
    return status;
}

static int read_candidate(struct plan *plan, const struct choice *choice, struct candidate *out) {
    out->traced.path = choice->path;
    out->name = name_of_choice(choice, plan->scene_count > 1);
    out->folder = out->name ? folder_of_name(out->name) : NULL;
    if (!out->folder)
        return out_of_memory();
    struct scene_changes changes = {.lens = choice->lens,
                                    .emitter = choice->emitter,
                                    .origin = "--lenses",
                                    .emitter_origin = "--emitters",
                                    .current_origin = "--at"};
    int status = choice->at ? find_current(plan, choice, &changes) : 0;
    if (status == 0) {
        status = scene_read_changed(choice->path, &changes, &out->traced.scene, &out->traced.messages);
        gather(&plan->messages, &out->traced.messages);
    }
    return status;
}

/* All are read, so that every mistake is told in one go. */
static int read_all(struct plan *plan, const struct candidate_wishes *wishes, struct candidates *out) {
    int status = 0;
    for (size_t i = 0, count = plan_size(plan); i < count && status != EXIT_MACHINE; i++) {
        struct choice choice = plan_choice(plan, i, wishes);
        int own = read_candidate(plan, &choice, &out->items[out->count++]);
        status = own == EXIT_MACHINE || status == 0 ? own : status;
    }
    messages_print(&plan->messages, stderr);
    if (plan->messages.out_of_memory)
        return out_of_memory();
    return status;
}

static bool same_levels(const struct candidates *candidates) {
    const struct luxfall_target *first = &candidates->items[0].traced.scene->light.target;
    for (size_t i = 1; i < candidates->count; i++) {
        const struct luxfall_target *target = &candidates->items[i].traced.scene->light.target;
        if (target->level_count != first->level_count ||
            memcmp(target->level_mm, first->level_mm, first->level_count * sizeof *first->level_mm) != 0)
            return false;
    }
    return true;
}

int candidates_read(const struct candidate_wishes *wishes, struct candidates *out) {
    struct plan plan = {0};
    int status = plan_make(wishes, &plan);
    if (status == 0)
        status = read_all(&plan, wishes, out);
    if (status == 0)
        status = check_folders(out);
    if (status == 0 && !same_levels(out))
        status = wrong_words("the scenes differ in the levels of their targets: nothing to set side by side");
    names_release(&plan.lenses);
    names_release(&plan.emitters);
    messages_clear(&plan.messages);
    return status;
}

void candidates_release(struct candidates *candidates) {
    for (size_t i = 0; i < candidates->count; i++) {
        struct candidate *candidate = &candidates->items[i];
        traced_release(&candidate->traced);
        free(candidate->staged);
        free(candidate->folder);
        free(candidate->name);
    }
}
