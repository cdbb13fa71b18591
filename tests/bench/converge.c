/* Error against time for the ways to trace a ring of collimators, as METHODS sec. 6 shows it: a table, and the
 * picture when a path is given. Each way runs on one thread with so many rays, several times with other seeds; its
 * error is the root mean square over the cells of a 24 mm field of the difference to a long run with yet another
 * seed, relative to the mean. */
#include "luxfall.h"
#include "render/figures/page.h"
#include "render/figures/picture.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <time.h>

enum { MEMBERS = 8, SIDE = 24, CELLS = SIDE * SIDE, SEEDS = 4, RUNGS = 6, WAYS = 3 };
static const uint64_t FEWEST_RAYS = 1 << 16, REFERENCE_RAYS = 1 << 26;
static const double PI = 3.14159265358979323846;

struct way {
    const char *name;
    bool shared; /* one bundle for all modules and images */
    enum luxfall_points points;
    double seconds[RUNGS], error[RUNGS];
    struct ink ink;
};

/* ---- the lamp ---- */

struct lamp {
    struct luxfall_emitter emitters[MEMBERS];
    struct luxfall_lens lens;
    struct luxfall_module modules[MEMBERS];
    struct luxfall_scene scene;
};

/* Sizes are invented. Where nothing is to be shared, every module has an emitter of its own, off by next to nothing,
 * which leaves no symmetry to it. */
static void lamp_make(struct lamp *lamp, bool shared) {
    static const double level_mm = 0;
    struct luxfall_pose poses[MEMBERS];
    const struct luxfall_placement ring = {.kind = LUXFALL_AT_RING,
                                           .count = MEMBERS,
                                           .distance_mm = 160,
                                           .incidence_rad = 35 * PI / 180,
                                           .aim = LUXFALL_AIM_CENTRE};
    struct luxfall_error error;
    if (luxfall_place(&ring, poses, &error) != LUXFALL_OK)
        exit(1);
    *lamp =
        (struct lamp){.lens = {.name = "collimator",
                               .kind = LUXFALL_LENS_COLLIMATOR,
                               .material = {.kind = LUXFALL_MATERIAL_INDEX, .index = 1.49},
                               .collimator = {.diameter_mm = 20, .height_mm = 11, .hollow_mm = 6, .middle_mm = 4}}};
    for (int i = 0; i < MEMBERS; i++) {
        lamp->emitters[i] =
            (struct luxfall_emitter){.name = "die",
                                     .die = {.kind = LUXFALL_RECTANGLE, .width_mm = 1.2, .height_mm = 1.2},
                                     .columns = 1,
                                     .rows = 1,
                                     .flux_lm = 100,
                                     .intensity = {.kind = LUXFALL_COSINE, .viewing_angle_rad = 2 * PI / 3}};
        lamp->modules[i] =
            (struct luxfall_module){.name = "ring", .emitter = shared ? 0 : (size_t)i, .pose = poses[i], .scale = 1};
        if (!shared)
            lamp->modules[i].built.die_x_mm = lamp->modules[i].built.die_y_mm = 1e-9 * (i + 1);
    }
    lamp->scene = (struct luxfall_scene){.emitters = lamp->emitters,
                                         .emitter_count = MEMBERS,
                                         .lenses = &lamp->lens,
                                         .lens_count = 1,
                                         .modules = lamp->modules,
                                         .module_count = MEMBERS,
                                         .target = {SIDE, SIDE, 1, 1, &level_mm}};
}

static double now_s(void) {
    struct timespec t;
    clock_gettime(CLOCK_PROCESS_CPUTIME_ID, &t);
    return (double)t.tv_sec + 1e-9 * (double)t.tv_nsec;
}

/* The map, and the processor time that it took. */
static double trace(const struct lamp *lamp, enum luxfall_points points, uint64_t rays, uint64_t seed, int threads,
                    float map[CELLS]) {
    struct luxfall_options options;
    struct luxfall_result *result;
    struct luxfall_error error;
    luxfall_options_init(&options);
    options.accuracy = 0;
    options.rays = rays;
    options.seed = seed;
    options.threads = threads;
    options.points = points;
    options.free_only = true;
    double start = now_s();
    if (luxfall_trace(&lamp->scene, &options, &result, &error) != LUXFALL_OK) {
        fprintf(stderr, "%s\n", error.text);
        exit(1);
    }
    double seconds = now_s() - start;
    memcpy(map, result->planes[0].e_lx, CELLS * sizeof *map);
    luxfall_result_free(result);
    return seconds;
}

/* ---- measuring ---- */

static double square_error(const float map[CELLS], const float reference[CELLS]) {
    double sum = 0, mean = 0;
    for (int i = 0; i < CELLS; i++) {
        sum += ((double)map[i] - reference[i]) * ((double)map[i] - reference[i]) / CELLS;
        mean += (double)reference[i] / CELLS;
    }
    return sum / (mean * mean);
}

static void measure(struct way *way, const float reference[CELLS]) {
    static struct lamp lamp;
    lamp_make(&lamp, way->shared);
    for (int rung = 0; rung < RUNGS; rung++) {
        uint64_t rays = FEWEST_RAYS << (2 * rung);
        for (int seed = 1; seed <= SEEDS; seed++) {
            float map[CELLS];
            way->seconds[rung] += trace(&lamp, way->points, rays / MEMBERS, (uint64_t)seed, 1, map) / SEEDS;
            way->error[rung] += square_error(map, reference) / SEEDS;
        }
        way->error[rung] = sqrt(way->error[rung]);
    }
}

/* Time that a way needs for an error, on the straight line between its rungs in logarithms. */
static double seconds_for(const struct way *way, double error) {
    for (int i = 1; i < RUNGS; i++)
        if (way->error[i] <= error && way->error[i - 1] > error) {
            double f = log(way->error[i - 1] / error) / log(way->error[i - 1] / way->error[i]);
            return way->seconds[i - 1] * pow(way->seconds[i] / way->seconds[i - 1], f);
        }
    return NAN;
}

static void print_table(const struct way ways[WAYS]) {
    for (int w = 0; w < WAYS; w++) {
        printf("%s\n", ways[w].name);
        for (int i = 0; i < RUNGS; i++)
            printf("  %9.4f s  %8.4f %%\n", ways[w].seconds[i], 100 * ways[w].error[i]);
    }
    for (double error = 0.03; error > 0.002; error /= 3)
        printf("to %.3g %%: %.3g, %.3g, %.3g s\n", 100 * error, seconds_for(&ways[0], error),
               seconds_for(&ways[1], error), seconds_for(&ways[2], error));
}

/* ---- drawing ---- */

/* Logarithms of both axes, to whole decades. */
struct frame {
    struct rect box;
    double x0, x1, y0, y1;
};

static double at_x(const struct frame *f, double v) {
    return f->box.x0 + (log10(v) - f->x0) / (f->x1 - f->x0) * (f->box.x1 - f->box.x0);
}

static double at_y(const struct frame *f, double v) {
    return f->box.y1 - (log10(v) - f->y0) / (f->y1 - f->y0) * (f->box.y1 - f->box.y0);
}

static struct frame frame_of(const struct way ways[WAYS], const struct page *page) {
    struct frame f = {{110, 30, page->width_px - 40, page->height_px - 90}, 9, -9, 9, -9};
    for (int w = 0; w < WAYS; w++)
        for (int i = 0; i < RUNGS; i++) {
            f.x0 = fmin(f.x0, floor(log10(ways[w].seconds[i])));
            f.x1 = fmax(f.x1, ceil(log10(ways[w].seconds[i])));
            f.y0 = fmin(f.y0, floor(log10(100 * ways[w].error[i])));
            f.y1 = fmax(f.y1, ceil(log10(100 * ways[w].error[i])));
        }
    return f;
}

static void write_at(struct page *page, const char *string, struct ink ink, bool upright, double x, double y,
                     double ax, double ay) {
    const struct text text = {.string = string, .size = 20, .upright = upright, .ink = ink};
    page_write(page, &text, x, y, ax, ay);
}

static void draw_grid(struct page *page, const struct frame *f) {
    char label[32];
    page_ink(page, INK_RULE);
    cairo_set_line_width(page->cairo, 1);
    for (double d = f->x0; d <= f->x1; d++)
        page_line(page, at_x(f, pow(10, d)), f->box.y0, at_x(f, pow(10, d)), f->box.y1);
    for (double d = f->y0; d <= f->y1; d++)
        page_line(page, f->box.x0, at_y(f, pow(10, d)), f->box.x1, at_y(f, pow(10, d)));
    for (double d = f->x0; d <= f->x1; d++) {
        snprintf(label, sizeof label, "%g", pow(10, d));
        write_at(page, label, INK_TEXT, false, at_x(f, pow(10, d)), f->box.y1 + 8, 0.5, 0);
    }
    for (double d = f->y0; d <= f->y1; d++) {
        snprintf(label, sizeof label, "%g", pow(10, d));
        write_at(page, label, INK_TEXT, false, f->box.x0 - 10, at_y(f, pow(10, d)), 1, 0.5);
    }
    write_at(page, "processor time, s", INK_TEXT, false, (f->box.x0 + f->box.x1) / 2, f->box.y1 + 42, 0.5, 0);
    write_at(page, "error of a 1 mm cell, % of the mean (rms)", INK_TEXT, true, 20, (f->box.y0 + f->box.y1) / 2, 0,
             0.5);
}

static void draw_way(struct page *page, const struct frame *f, const struct way *way, int line) {
    cairo_t *cr = page->cairo;
    page_ink(page, way->ink);
    cairo_set_line_width(cr, 3);
    for (int i = 0; i < RUNGS; i++)
        cairo_line_to(cr, at_x(f, way->seconds[i]), at_y(f, 100 * way->error[i]));
    cairo_stroke(cr);
    for (int i = 0; i < RUNGS; i++) {
        cairo_arc(cr, at_x(f, way->seconds[i]), at_y(f, 100 * way->error[i]), 6, 0, 2 * PI);
        cairo_fill(cr);
    }
    double y = f->box.y1 - 100 + 34 * line;
    page_line(page, f->box.x0 + 20, y, f->box.x0 + 60, y);
    write_at(page, way->name, INK_TEXT, false, f->box.x0 + 72, y, 0, 0.5);
}

static int draw(const char *path, const struct way ways[WAYS]) {
    const struct figure_style style = {.width_px = 1400};
    struct figure_error error = {0};
    struct page page;
    int status = page_begin(&page, &style, &error);
    if (status == 0)
        status = page_paper(&page, 800, &error);
    if (status == 0) {
        struct frame frame = frame_of(ways, &page);
        draw_grid(&page, &frame);
        for (int w = 0; w < WAYS; w++)
            draw_way(&page, &frame, &ways[w], w);
        status = picture_write(path, &page, "Error against time", "ring of eight traced collimators", &error);
    }
    if (status != 0)
        fprintf(stderr, "%s\n", error.text);
    page_end(&page);
    return status;
}

int main(int count, char **words) {
    static struct way ways[WAYS] = {
        {.name = "every module by itself, random numbers", .points = LUXFALL_RANDOM, .ink = {0.80, 0.36, 0.0, 1}},
        {.name = "exit rays reused, random numbers",
         .shared = true,
         .points = LUXFALL_RANDOM,
         .ink = {0.0, 0.45, 0.70, 1}},
        {.name = "exit rays reused, scrambled points",
         .shared = true,
         .points = LUXFALL_SCRAMBLED,
         .ink = {0.0, 0.58, 0.40, 1}},
    };
    static struct lamp lamp;
    static float reference[CELLS];
    lamp_make(&lamp, true);
    trace(&lamp, LUXFALL_SCRAMBLED, REFERENCE_RAYS, 99, 0, reference);
    for (int w = 0; w < WAYS; w++)
        measure(&ways[w], reference);
    print_table(ways);
    return count > 1 ? draw(words[1], ways) : 0;
}
