/* Luxfall's own false-colour scale: deep blue through rose to warm light, L* rising in even steps from one end to the
 * other, so that it keeps its order in grey print and for colour-blind readers. */
#ifndef RENDER_FIGURES_COLOUR_SCALE_H
#define RENDER_FIGURES_COLOUR_SCALE_H

#define COLOUR_SCALE_STEPS 512

struct colour_scale {
    unsigned char rgb[COLOUR_SCALE_STEPS][3]; /* 8-bit sRGB, dark to bright */
};

void colour_scale_fill(struct colour_scale *scale);

/* For differences: from deep blue over near white in the middle to deep brown; L* falls evenly to both sides. */
void colour_scale_fill_diverging(struct colour_scale *scale);

/* The colour at t in 0..1; outside it the end colours, NaN the dark end. */
const unsigned char *colour_scale_at(const struct colour_scale *scale, double t);

/* True where dark ink reads better than white on the colour at t. */
int colour_scale_wants_dark_ink(const struct colour_scale *scale, double t);

#endif
