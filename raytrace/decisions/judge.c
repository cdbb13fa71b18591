/* What pattern reading / forecast shows, and which one cause explains it. METHODS section 10, eq. (52)-(53). */
#include "decisions/sittings.h"
#include "fail.h"
#include "numbers/beta.h"
#include "numbers/vec.h"

#include <stdlib.h>

enum { READINGS_MIN = 5, MODULES_TOLD = 64 };
static const double BRIGHT_SHARE = 0.05; /* of the highest forecast: darker readings are a meter's weak ground */
static const double PROBE_RAD = PI / 180;
/* A pattern worth a word, a chance that is none, and odds (as twice their logarithm) that leave a cause out. */
static const double EFFECT_MIN = 0.02, CHANCE_MAX = 0.01, ODDS = 2 * 2.995732273553991;
static const double NOISE_FLOOR = 0.002;        /* a meter's last digit, and what a straight line misses */
static const double AIM_MAX_RAD = 6 * PI / 180; /* beyond these a cause is no cause */
static const double LEVEL_MIN = -1.2, LEVEL_MAX = 0.5;

enum column { SQUARE, ACROSS, UP, FIRST_OF_MODULES };
enum module_column {
    LEVEL,
    LEAN_X,
    LEAN_Y,
    LEAN_XX,
    LEAN_YY,
    SEEN_COLUMNS,
    BENT_X = SEEN_COLUMNS,
    BENT_Y,
    MODULE_COLUMNS
};

struct evidence {
    size_t count;   /* readings that are judged */
    size_t *index;  /* their number among all */
    double *ratio;  /* reading over forecast, their mean taken as 1 */
    double *weight; /* they add to count */
    size_t modules; /* told apart; 0: none */
    size_t column_count;
    double *columns; /* column_count x count: what a small unit of each cause adds to ratio */
    double squares;  /* of ratio about its mean, the floor included */
};

/* ---- what each cause would do ---------------------------------------------------------------------------------- */

static double *column_of(const struct evidence *evidence, size_t column) {
    return evidence->columns + column * evidence->count;
}

static double *module_column(const struct evidence *evidence, size_t module, enum module_column column) {
    return column_of(evidence, FIRST_OF_MODULES + module * MODULE_COLUMNS + column);
}

static struct luxfall_pose leant(struct luxfall_pose pose, struct luxfall_vec towards, double angle_rad) {
    struct luxfall_vec hinge = vec_cross(pose.axis, towards);
    if (!(vec_length(hinge) > 1e-9))
        return pose;
    hinge = vec_unit(hinge);
    pose.x = vec_turn(pose.x, hinge, angle_rad);
    pose.y = vec_turn(pose.y, hinge, angle_rad);
    pose.axis = vec_turn(pose.axis, hinge, angle_rad);
    return pose;
}

/* Light of the lamp and what it gains when it leans along x and along y: by a radian, and by its square. */
static void see_lamp(const struct sitting *sitting, const struct luxfall_reading *reading, const struct lamp *lamp,
                     double out[SEEN_COLUMNS]) {
    static const struct luxfall_vec ways[] = {{1, 0, 0}, {0, 1, 0}};
    out[LEVEL] = sitting_lx(sitting, reading, lamp);
    for (int way = 0; way < 2; way++) {
        struct lamp turned = *lamp;
        turned.pose = leant(lamp->pose, ways[way], PROBE_RAD);
        double on = sitting_lx(sitting, reading, &turned);
        turned.pose = leant(lamp->pose, ways[way], -PROBE_RAD);
        double back = sitting_lx(sitting, reading, &turned);
        out[LEAN_X + way] = (on - back) / (2 * PROBE_RAD);
        out[LEAN_XX + way] = (on + back - 2 * out[LEVEL]) / (PROBE_RAD * PROBE_RAD);
    }
}

struct question {
    const struct sittings *all;
    const double *forecast;
    const size_t *place; /* of each reading among those judged; SIZE_MAX: not judged */
};

static void see_sitting(const struct question *question, const struct sitting *sitting,
                        const struct evidence *evidence) {
    for (size_t k = 0; k < sitting->count; k++) {
        size_t i = sitting->index[k], at = question->place[i];
        for (size_t l = 0; at != SIZE_MAX && l < sitting->stage.lamp_count; l++) {
            const struct lamp *lamp = &sitting->stage.lamps[l];
            double seen[SEEN_COLUMNS];
            see_lamp(sitting, &question->all->readings[i], lamp, seen);
            for (int column = 0; column < SEEN_COLUMNS; column++)
                module_column(evidence, lamp->module, (enum module_column)column)[at] =
                    seen[column] / question->forecast[i];
        }
    }
}

/* ---- least squares --------------------------------------------------------------------------------------------- */

static double weighted_mean(const struct evidence *evidence, const double *values) {
    double sum = 0;
    for (size_t i = 0; i < evidence->count; i++)
        sum += evidence->weight[i] * values[i];
    return sum / (double)evidence->count;
}

/* Sum of weight (a - mean a) (b - mean b). */
static double together(const struct evidence *evidence, const double *a, const double *b) {
    double mean_a = weighted_mean(evidence, a), mean_b = weighted_mean(evidence, b), sum = 0;
    for (size_t i = 0; i < evidence->count; i++)
        sum += evidence->weight[i] * (a[i] - mean_a) * (b[i] - mean_b);
    return sum;
}

struct trial {
    struct luxfall_suspect suspect;
    const double *u, *v; /* columns; v NULL: one alone */
    double by_u, by_v;   /* how much of each */
    double left;         /* of evidence.squares */
    double most;         /* the furthest that it moves a reading */
    double score;        /* Bayes's information criterion, eq. (53); less is better */
};

/* Eq. (52). False: the columns are level, or one is the other. */
static bool fit(const struct evidence *evidence, struct trial *trial) {
    const double *u = trial->u, *v = trial->v, *ratio = evidence->ratio;
    double n = (double)evidence->count, uu = together(evidence, u, u), ur = together(evidence, u, ratio);
    double vv = v ? together(evidence, v, v) : 1, vr = v ? together(evidence, v, ratio) : 0;
    double uv = v ? together(evidence, u, v) : 0, determinant = uu * vv - uv * uv;
    double mean_u = weighted_mean(evidence, u), mean_v = v ? weighted_mean(evidence, v) : 1;
    if (!(uu > 1e-10 * n * mean_u * mean_u) || !(vv > 1e-10 * mean_v * mean_v) || !(determinant > 1e-6 * uu * vv))
        return false;
    trial->by_u = (ur * vv - vr * uv) / determinant;
    trial->by_v = v ? (vr * uu - ur * uv) / determinant : 0;
    trial->left = fmin(1, 1 - (trial->by_u * ur + trial->by_v * vr) / evidence->squares);
    trial->score = n * log(trial->left) + (v ? 2 : 1) * log(n);
    return trial->left > 0;
}

/* Half the curvature of a lean of by_u and by_v goes into the columns; a beam whose profile is a product of one over
 * x and one over y, as the bell, gains L_x L_y / L where it leans both ways. */
static void bend(const struct evidence *evidence, size_t module, double by_u, double by_v) {
    for (size_t i = 0; i < evidence->count; i++) {
        double column[MODULE_COLUMNS];
        for (int k = LEVEL; k < SEEN_COLUMNS; k++)
            column[k] = module_column(evidence, module, (enum module_column)k)[i];
        double both = column[LEVEL] > 0 ? column[LEAN_X] * column[LEAN_Y] / column[LEVEL] : 0;
        module_column(evidence, module, BENT_X)[i] = column[LEAN_X] + (by_u * column[LEAN_XX] + by_v * both) / 2;
        module_column(evidence, module, BENT_Y)[i] = column[LEAN_Y] + (by_v * column[LEAN_YY] + by_u * both) / 2;
    }
}

/* An aim is off by degrees, where light over lean is no straight line: fitted anew along its curve, a few times. */
static bool fit_aim(const struct evidence *evidence, struct trial *trial) {
    enum { TIMES = 4 };
    bool good = true;
    for (int i = 0; i < TIMES && good; i++) {
        double lean = hypot(trial->by_u, trial->by_v), kept = lean > AIM_MAX_RAD ? AIM_MAX_RAD / lean : 1;
        bend(evidence, trial->suspect.module, kept * trial->by_u, kept * trial->by_v);
        good = fit(evidence, trial);
    }
    return good;
}

static double fitted(const struct evidence *evidence, const struct trial *trial, size_t i) {
    double value = trial->by_u * (trial->u[i] - weighted_mean(evidence, trial->u));
    return trial->v ? value + trial->by_v * (trial->v[i] - weighted_mean(evidence, trial->v)) : value;
}

/* ---- what a trial tells ---------------------------------------------------------------------------------------- */

/* The furthest that it moves a reading; *across: from the lowest to the highest. */
static double greatest(const struct evidence *evidence, const struct trial *trial, double *across) {
    double low = 0, high = 0;
    for (size_t i = 0; i < evidence->count; i++) {
        double value = fitted(evidence, trial, i);
        low = fmin(low, value);
        high = fmax(high, value);
    }
    *across = high - low;
    return fmax(high, -low);
}

/* Outermost reading against innermost. */
static double fall(const struct evidence *evidence, const struct trial *trial) {
    size_t inner = 0, outer = 0;
    for (size_t i = 0; i < evidence->count; i++) {
        inner = trial->u[i] < trial->u[inner] ? i : inner;
        outer = trial->u[i] > trial->u[outer] ? i : outer;
    }
    return fitted(evidence, trial, outer) - fitted(evidence, trial, inner);
}

/* Fills in the effect; false: more than such a cause can do. */
static bool weigh(const struct evidence *evidence, struct trial *trial) {
    struct luxfall_suspect *suspect = &trial->suspect;
    trial->most = greatest(evidence, trial, &suspect->across);
    suspect->azimuth_rad = atan2(trial->by_v, trial->by_u);
    switch (suspect->pattern) {
    case LUXFALL_PATTERN_FALLOFF:
        suspect->effect = fall(evidence, trial);
        break;
    case LUXFALL_PATTERN_SIDE:
        suspect->azimuth_rad = atan2(-trial->by_v, -trial->by_u);
        break;
    case LUXFALL_PATTERN_LEVEL:
        suspect->effect = trial->by_u / (1 - trial->by_u * weighted_mean(evidence, trial->u));
        if (!(suspect->effect >= LEVEL_MIN && suspect->effect <= LEVEL_MAX))
            return false;
        break;
    case LUXFALL_PATTERN_AIM:
        if (hypot(trial->by_u, trial->by_v) > AIM_MAX_RAD)
            return false;
        break;
    }
    return true;
}

static int by_score(const void *a, const void *b) {
    const struct trial *p = a, *q = b;
    return (p->score > q->score) - (p->score < q->score);
}

static struct trial trial_of(const struct evidence *evidence, size_t number) {
    if (number == 0)
        return (struct trial){.suspect.pattern = LUXFALL_PATTERN_FALLOFF, .u = column_of(evidence, SQUARE)};
    if (number == 1)
        return (struct trial){
            .suspect.pattern = LUXFALL_PATTERN_SIDE, .u = column_of(evidence, ACROSS), .v = column_of(evidence, UP)};
    size_t module = (number - 2) / 2;
    struct luxfall_suspect suspect = {.pattern = LUXFALL_PATTERN_LEVEL, .module = module};
    if (number % 2 == 0)
        return (struct trial){.suspect = suspect, .u = module_column(evidence, module, LEVEL)};
    suspect.pattern = LUXFALL_PATTERN_AIM;
    return (struct trial){.suspect = suspect,
                          .u = module_column(evidence, module, BENT_X),
                          .v = module_column(evidence, module, BENT_Y)};
}

/* trials: the best first. The best must be clear of chance and worth a word; those that it does not beat stand beside
 * it, whatever they would be worth alone. */
static void pass_sentence(const struct evidence *evidence, struct trial *trials, size_t count,
                          struct luxfall_judgement *out) {
    double best = INFINITY;
    for (size_t i = 0; i < count && out->suspect_count < LUXFALL_SUSPECTS_MAX; i++) {
        struct trial *trial = &trials[i];
        if (!weigh(evidence, trial))
            continue;
        if (out->suspect_count == 0 && (trial->suspect.chance > CHANCE_MAX || trial->most < EFFECT_MIN))
            return;
        best = fmin(best, trial->score);
        if (trial->score > best + ODDS)
            return;
        out->suspects[out->suspect_count++] = trial->suspect;
    }
}

static void choose(const struct evidence *evidence, struct trial *trials, struct luxfall_judgement *out) {
    size_t wanted = 2 + 2 * evidence->modules, count = 0;
    for (size_t number = 0; number < wanted; number++) {
        trials[count] = trial_of(evidence, number);
        int k = trials[count].v ? 2 : 1, dof = (int)evidence->count - 1 - k;
        bool aim = trials[count].suspect.pattern == LUXFALL_PATTERN_AIM;
        if (dof < 1 || !(aim ? fit_aim : fit)(evidence, &trials[count]))
            continue;
        trials[count].suspect.chance = chance_of_f(trials[count].left, k, dof);
        count++;
    }
    qsort(trials, count, sizeof *trials, by_score);
    for (size_t i = 0; i < count; i++)
        trials[i].suspect.chance = fmin(1, trials[i].suspect.chance * (double)count);
    pass_sentence(evidence, trials, count, out);
}

/* ---- gathering ------------------------------------------------------------------------------------------------- */

static void gather_readings(const struct question *question, const double *reading, const double *u,
                            struct evidence *evidence) {
    double weights = 0;
    for (size_t k = 0; k < evidence->count; k++) {
        size_t i = evidence->index[k];
        const struct luxfall_reading *taken = &question->all->readings[i];
        evidence->ratio[k] = reading[i] / question->forecast[i];
        evidence->weight[k] = u ? pow(question->forecast[i] / u[i], 2) : 1;
        weights += evidence->weight[k];
        column_of(evidence, SQUARE)[k] = taken->x_mm * taken->x_mm + taken->y_mm * taken->y_mm;
        column_of(evidence, ACROSS)[k] = taken->x_mm;
        column_of(evidence, UP)[k] = taken->y_mm;
    }
    for (size_t k = 0; k < evidence->count; k++)
        evidence->weight[k] *= (double)evidence->count / weights;
    double mean = weighted_mean(evidence, evidence->ratio);
    for (size_t k = 0; k < evidence->count; k++)
        evidence->ratio[k] /= mean;
    evidence->squares =
        together(evidence, evidence->ratio, evidence->ratio) + (double)evidence->count * NOISE_FLOOR * NOISE_FLOOR;
}

/* Which readings are judged; place[i] is then their number among those. */
static void pick(size_t count, const double *forecast, struct evidence *evidence, size_t *place) {
    double highest = 0;
    for (size_t i = 0; i < count; i++)
        highest = fmax(highest, forecast[i]);
    for (size_t i = 0; i < count; i++) {
        bool bright = forecast[i] > 0 && forecast[i] >= BRIGHT_SHARE * highest;
        place[i] = bright ? evidence->count : SIZE_MAX;
        if (bright)
            evidence->index[evidence->count++] = i;
    }
}

/* What each module adds to each reading; no modules are told apart where some light is not known by angle. */
static enum luxfall_status gather_modules(const struct question *question, struct sittings *all,
                                          struct evidence *evidence, struct luxfall_error *error) {
    enum luxfall_status status = LUXFALL_OK;
    for (bool more = true; more && status == LUXFALL_OK;) {
        struct sitting sitting;
        status = sitting_next(all, &sitting, error);
        more = sitting.count > 0;
        if (more && status == LUXFALL_OK) {
            if (sitting.way)
                see_sitting(question, &sitting, evidence);
            else
                more = (evidence->modules = 0) > 0;
        }
        sitting_free(&sitting);
    }
    return status;
}

static enum luxfall_status judge(struct sittings *all, struct question *question, const double *reading,
                                 const double *u, struct evidence *evidence, struct luxfall_judgement *out,
                                 struct luxfall_error *error) {
    gather_readings(question, reading, u, evidence);
    enum luxfall_status status = LUXFALL_OK;
    if (evidence->modules > 0)
        status = gather_modules(question, all, evidence, error);
    if (status != LUXFALL_OK)
        return status;
    out->modules_told_apart = evidence->modules > 0;
    struct trial *trials = calloc(2 + 2 * evidence->modules, sizeof *trials);
    if (!trials)
        return fail_memory(error);
    choose(evidence, trials, out);
    free(trials);
    return LUXFALL_OK;
}

static bool evidence_make(size_t count, size_t modules, struct evidence *out) {
    out->modules = modules;
    out->column_count = FIRST_OF_MODULES + modules * MODULE_COLUMNS;
    out->index = calloc(count + 1, sizeof *out->index);
    out->ratio = calloc(count + 1, sizeof *out->ratio);
    out->weight = calloc(count + 1, sizeof *out->weight);
    out->columns = calloc((count + 1) * out->column_count, sizeof *out->columns);
    return out->index && out->ratio && out->weight && out->columns;
}

static void evidence_free(struct evidence *evidence) {
    free(evidence->index);
    free(evidence->ratio);
    free(evidence->weight);
    free(evidence->columns);
}

enum luxfall_status luxfall_judge_readings(const struct luxfall_scene *scene, size_t count,
                                           const struct luxfall_reading *readings, const double *forecast,
                                           const double *reading, const double *u,
                                           const struct luxfall_options *options, struct luxfall_judgement *out,
                                           struct luxfall_error *error) {
    struct sittings all = {0};
    struct evidence evidence = {0};
    struct luxfall_options read;
    *out = (struct luxfall_judgement){0};
    enum luxfall_status status = options_read(options, &read, error);
    if (status == LUXFALL_OK)
        status = sittings_make(scene, count, readings, read.threads, &all, error);
    if (status != LUXFALL_OK)
        return status;
    size_t *place = calloc(count + 1, sizeof *place);
    struct question question = {&all, forecast, place};
    size_t modules = scene->module_count <= MODULES_TOLD ? scene->module_count : 0;
    if (place && evidence_make(count, modules, &evidence)) {
        pick(count, forecast, &evidence, place);
        out->used = evidence.count;
        if (evidence.count >= READINGS_MIN)
            status = judge(&all, &question, reading, u, &evidence, out, error);
    } else {
        status = fail_memory(error);
    }
    evidence_free(&evidence);
    free(place);
    sittings_free(&all);
    return status;
}
