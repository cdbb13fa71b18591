/* Where the lines of a text may break. */
#ifndef RENDER_FIGURES_WRAPPING_H
#define RENDER_FIGURES_WRAPPING_H

/* A copy in which no line breaks between a number and its unit, beside the sign between two numbers or within the
 * numbers of a place: "260 lm", "75.9 ± 1.3 klx", "(4.5, −0.5) mm". NULL out of memory; the caller frees. */
char *words_kept_together(const char *words);

#endif
