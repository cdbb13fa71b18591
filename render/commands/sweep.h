/* What luxfall sweep varies, keeps and finds. */
#ifndef RENDER_COMMANDS_SWEEP_H
#define RENDER_COMMANDS_SWEEP_H

#include "progress.h"
#include "tracing.h"
#include "wishes.h"

enum {
    VARIED_MAX = 2,
    POINT_TEXT = 2 * WISH_SIZE + 4,
    WANTS_MAX = 8,
    QUANTITIES_MAX = 64,
    POINTS_MAX = 10000,
    CROSSINGS_MAX = 16
};

#define NO_QUANTITY SIZE_MAX

/* A column: a statistic, in a field where it is one of fields. */
struct quantity {
    const struct statistic *statistic;
    const char *field; /* the scene's own name; NULL: of the map or the lamp */
};

struct sweep_point {
    double number[VARIED_MAX]; /* in the unit of each --vary */
    struct luxfall_estimate values[QUANTITIES_MAX];
    bool over_limit; /* the current of an emitter is above its limit */
};

/* Where a limit is crossed, of one varied number. */
struct crossing {
    struct sweep_point point; /* traced there; on the side that meets the limit */
    double u95;               /* by rays: half-width of the 95 % band of the number, in its unit; otherwise NaN */
    double other;             /* whole: the number beside it that misses the limit */
    bool rises;               /* met above, missed below */
    bool whole;               /* the scene takes no number in between, such as half a module */
};

struct sweep_want {
    struct want want;
    const char *text; /* as written */
    size_t quantity;
    size_t crossing_count;
    struct crossing crossings[CROSSINGS_MAX];
};

/* What the best aim costs, and the same modules aimed at the centre: centre lux and U0 of the judged field. */
enum { PRICED_LEVELS = 3 }; /* as the scene has it, 10 mm lower, 10 mm higher */
struct sweep_price {
    bool known;
    double level_mm[PRICED_LEVELS];
    struct priced_aim {
        struct luxfall_estimate lx[PRICED_LEVELS], even[PRICED_LEVELS];
        struct luxfall_estimate dark_even; /* U0 with the worst single module dark */
        size_t dark;                       /* which, an index of the scene's modules */
    } best, centre;
};

struct sweep {
    struct tracing tracing;
    struct traced base;   /* the scene as written; its messages gather the warnings of all points, told once each */
    struct messages told; /* the same without the numbers they were told at */
    struct traced shown;  /* the brightest point, for notes and cautions */
    const struct sweep_point *shown_point;
    double shown_lx;
    size_t varied_count, quantity_count, want_count;
    struct vary varied[VARIED_MAX];
    struct quantity quantities[QUANTITIES_MAX];
    struct sweep_want wants[WANTS_MAX];
    size_t lux, even, watts, lux_per_watt; /* quantities that verdicts are told by; NO_QUANTITY: not asked for */
    size_t judged;                         /* the quantity whose best is looked for where nothing is wanted */
    size_t point_count;                    /* the first varied number runs fastest */
    struct sweep_point *points;
    bool best_found;
    struct sweep_point best;
    struct sweep_price price;
};

/* Says so and returns the status. */
int sweep_out_of_memory(void);

/* ---- sweep_wishes.c */

/* Reads --vary, --of and --want against the scene; 0 or an exit status after telling stderr. */
int sweep_wish(struct sweep *sweep, const struct option_value *vary, const struct option_value *of,
               const struct option_value *want);
/* One of the varied paths is this key, or ends in it. */
bool sweep_varies(const struct sweep *sweep, const char *key);
/* The finest step of a varied number that a sweep tells apart: a ten-thousandth of its range. */
double sweep_step(const struct vary *varied);
/* The number with as few decimals as a step needs. */
double sweep_rounded(double number, double step);
/* "31.9 mm short", or of two varied numbers "31.9 mm short, 350 mA". */
void sweep_point_text(const struct sweep *sweep, const double *number, char out[POINT_TEXT]);
/* "darkest/average, widest zoom" */
void quantity_text(const struct quantity *quantity, char out[TEXT_CELL]);
bool want_is_met(const struct want *want, double value);

/* ---- sweep_trace.c */

/* The level that is judged: of several, the nearest to 0. */
double sweep_level_mm(const struct luxfall_target *target);
/* Reads the scene at the numbers of each point and traces it, side by side by the direct way; fills in the values. 0
 * or an exit status after telling stderr. */
int sweep_trace_points(struct sweep *sweep, size_t count, struct sweep_point *points);
/* One point, quietly: with *refused set the scene takes no such number, and the status is 0. */
int sweep_try_point(struct sweep *sweep, struct sweep_point *point, bool *refused);
/* The same of scenes that are read already. */
int sweep_trace_scenes(struct sweep *sweep, size_t count, struct scene *scenes, struct sweep_point *points);
/* Reads the scene with these texts in the varied places, one each. Says nothing but out of memory. */
int sweep_read_at(const struct sweep *sweep, const char *const *texts, struct scene **out, struct messages *messages);

/* ---- sweep_verdict.c, sweep_price.c */

/* Points that differ in this varied number alone have the same values: nothing that is told depends on it. */
bool sweep_is_idle(const struct sweep *sweep, size_t varied);
/* Only floors under light are wanted. */
bool sweep_wants_light_alone(const struct sweep *sweep);
/* The point of the most lux per watt; NULL: not asked for or not known. */
const struct sweep_point *sweep_most_per_watt(const struct sweep *sweep);
/* Crossings of every want, and the best point. */
int sweep_judge(struct sweep *sweep);
/* What the best aim costs, where modules' aim is varied; otherwise nothing. */
int sweep_find_price(struct sweep *sweep);

/* ---- sweep_report.c */

/* The table and the verdicts, for a terminal or as Markdown; 0 or an exit status. */
int sweep_print(const struct sweep *sweep, FILE *stream);
int sweep_print_markdown(const struct sweep *sweep, FILE *stream);

#endif
