/* What a lamp takes and costs, in one line. */
#ifndef RENDER_COMMANDS_EXPENSE_H
#define RENDER_COMMANDS_EXPENSE_H

#include "scenes/scene.h"

enum { EXPENSE_SIZE = 600 };
/* "8 modules at 350 mA, 2.9 V: 8.12 W; 11.3 klx/W at the centre of widest zoom; 24.80 EUR": of that, what is known.
 * False: nothing of it. */
bool expense_line(const struct scene *scene, const struct luxfall_result *result, char text[EXPENSE_SIZE]);

#endif
