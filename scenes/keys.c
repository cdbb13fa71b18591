#include "scenes/keys.h"

#include <ctype.h>
#include <string.h>

enum { WORD_MAX = 48 };

static size_t least(size_t a, size_t b) {
    return a < b ? a : b;
}

/* Optimal string alignment distance: Damerau, Comm. ACM 7 (1964) 171, in the row form of Wagner and Fischer,
 * J. ACM 21 (1974) 168. Case does not count. */
size_t word_distance(const char *a, const char *b) {
    size_t n = strlen(a), m = strlen(b);
    if (n > WORD_MAX || m > WORD_MAX)
        return WORD_MAX;
    size_t rows[3][WORD_MAX + 1];
    for (size_t j = 0; j <= m; j++)
        rows[0][j] = j;
    for (size_t i = 1; i <= n; i++) {
        size_t *now = rows[i % 3], *last = rows[(i + 2) % 3], *older = rows[(i + 1) % 3];
        now[0] = i;
        for (size_t j = 1; j <= m; j++) {
            int x = tolower((unsigned char)a[i - 1]), y = tolower((unsigned char)b[j - 1]);
            now[j] = least(least(last[j], now[j - 1]) + 1, last[j - 1] + (x != y));
            if (i > 1 && j > 1 && x == tolower((unsigned char)b[j - 2]) && y == tolower((unsigned char)a[i - 2]))
                now[j] = least(now[j], older[j - 2] + 1);
        }
    }
    return rows[n % 3][m];
}

const char *nearest_word(const char *word, const char *const *known) {
    const char *best = NULL;
    size_t best_distance = WORD_MAX;
    for (; *known != NULL; known++) {
        size_t distance = word_distance(word, *known);
        if (distance < best_distance) {
            best = *known;
            best_distance = distance;
        }
    }
    size_t length = strlen(word);
    return best != NULL &&
                   best_distance <= (length < 3   ? 1
                                     : length < 6 ? 2
                                                  : length / 3) &&
                   best_distance < strlen(best)
               ? best
               : NULL;
}
