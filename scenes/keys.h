/* Words near to a mistyped one. */
#ifndef SCENES_KEYS_H
#define SCENES_KEYS_H

#include <stddef.h>

/* Insertions, deletions, replacements and swaps of neighbours between two words; long words count as far. */
size_t word_distance(const char *a, const char *b);

/* The nearest of the words (NULL at their end) if it is near enough to be meant, or NULL. */
const char *nearest_word(const char *word, const char *const *known);

#endif
