/* Numbers in files, the same on every machine: a point as decimal sign whatever the locale. */
#ifndef RENDER_FILES_TABLE_H
#define RENDER_FILES_TABLE_H

#include <locale.h>

/* Takes the plain locale for numbers in this thread until number_locale_end(). */
struct number_locale {
    locale_t plain, before;
};
void number_locale_begin(struct number_locale *locale);
void number_locale_end(struct number_locale *locale);

/* Centre of a cell on an axis of cells about the origin, in mm. */
double cell_centre_mm(int index, int cells, double cell_mm);

#endif
