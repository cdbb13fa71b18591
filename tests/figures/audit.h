/* Looks at a finished page: does any text touch another, or leave the paper? */
#ifndef TESTS_FIGURES_AUDIT_H
#define TESTS_FIGURES_AUDIT_H

#include "render/figures/page.h"

#include <stdio.h>

/* Counts the faults and names them on standard error. Texts must stay `apart` px from each other and the border. */
static inline int audit_page(const struct page *page, double apart, const char *what) {
    struct rect paper = {apart, apart, page->width_px - apart, page->height_px - apart};
    int faults = 0;
    for (size_t i = 0; i < page->text_count; i++) {
        struct rect ink = page->texts[i].ink;
        if (!rect_holds(paper, ink)) {
            fprintf(stderr, "%s: \"%s\" leaves the paper: %.1f..%.1f, %.1f..%.1f\n", what, page->texts[i].start,
                    ink.x0, ink.x1, ink.y0, ink.y1);
            faults++;
        }
        for (size_t j = i + 1; j < page->text_count; j++)
            if (rects_meet(rect_grown(ink, apart), page->texts[j].ink)) {
                fprintf(stderr, "%s: \"%s\" touches \"%s\"\n", what, page->texts[i].start, page->texts[j].start);
                faults++;
            }
    }
    return faults;
}

#endif
