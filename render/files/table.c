#include "table.h"

void number_locale_begin(struct number_locale *locale) {
    locale->plain = newlocale(LC_NUMERIC_MASK, "C", (locale_t)0);
    locale->before = locale->plain != (locale_t)0 ? uselocale(locale->plain) : (locale_t)0;
}

void number_locale_end(struct number_locale *locale) {
    if (locale->plain == (locale_t)0)
        return;
    uselocale(locale->before);
    freelocale(locale->plain);
}

double cell_centre_mm(int index, int cells, double cell_mm) {
    return (index + 0.5 - cells / 2.0) * cell_mm;
}
