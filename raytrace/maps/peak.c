#include "maps/peak.h"

#include <stdbool.h>
#include <stddef.h>

/* Keeps the list in falling order. */
static int insert(struct peak_place *list, int count, struct peak_place place) {
    int at = count;
    while (at > 0 && list[at - 1].lx < place.lx)
        at--;
    if (at >= PEAK_CANDIDATES)
        return count;
    int kept = count < PEAK_CANDIDATES ? count : PEAK_CANDIDATES - 1;
    for (int i = kept; i > at; i--)
        list[i] = list[i - 1];
    list[at] = place;
    return kept + 1;
}

static bool is_local_maximum(const double *lx, int columns, int rows, int i, int j) {
    double here = lx[(size_t)j * (size_t)columns + (size_t)i];
    for (int dj = -1; dj <= 1; dj++) {
        for (int di = -1; di <= 1; di++) {
            int x = i + di, y = j + dj;
            if (x >= 0 && y >= 0 && x < columns && y < rows && lx[(size_t)y * (size_t)columns + (size_t)x] > here)
                return false;
        }
    }
    return true;
}

int peak_candidates(const double *lx, int columns, int rows, struct peak_place out[PEAK_CANDIDATES]) {
    int count = 0;
    for (int j = 0; j < rows; j++) {
        for (int i = 0; i < columns; i++) {
            double here = lx[(size_t)j * (size_t)columns + (size_t)i];
            bool good = count < PEAK_CANDIDATES || here > out[PEAK_CANDIDATES - 1].lx;
            if (good && is_local_maximum(lx, columns, rows, i, j))
                count = insert(out, count, (struct peak_place){i + 0.5, j + 0.5, here});
        }
    }
    return count;
}
