/* From values to colours: the scale of one picture, and the bar that explains it. */
#ifndef RENDER_FIGURES_TONE_H
#define RENDER_FIGURES_TONE_H

#include "axis.h"

struct tone {
    struct colour_scale colours;
    enum figure_scale kind;
    double bottom, top;     /* lux, or what the label says */
    bool over, under;       /* there are values above the top, below the bottom */
    char label[1024];       /* with the unit that the bar's numbers are in */
    struct shown_unit unit; /* value / size is shown */
};

/* One scale of illuminance for the planes of several results. Status 2 for a top that is no illuminance. */
int tone_make(struct tone *tone, size_t count, const struct luxfall_plane_result *const *planes,
              const struct figure_style *style, struct figure_error *error);
/* Pixels of a row of values, as Cairo's 32-bit words. */
void tone_row(const struct tone *tone, const float *values, int count, uint32_t *pixels);
/* Share of the scale, 0..1, clipped. */
double tone_share(const struct tone *tone, double value);
struct ink tone_ink(const struct tone *tone, double value);
/* Ink that reads on the colour of this value. */
struct ink tone_reading_ink(const struct tone *tone, double value);

/* px that the bar and its words take to the right of a panel; and the drawing beside the panel. marks: thin lines
 * across the bar, where the labelled lines of the map are. */
double tone_bar_width(struct page *page, const struct tone *tone, double height_px);
void tone_bar_draw(struct page *page, const struct tone *tone, struct rect panel, size_t mark_count,
                   const double *marks);

#endif
