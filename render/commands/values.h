/* Checked converters, one a kind of value: the whole text must be used, and the range is theirs to hold. */
#ifndef RENDER_COMMANDS_VALUES_H
#define RENDER_COMMANDS_VALUES_H

#include "options.h"

#define CONVERTER(name)                                                                                \
    bool name(const struct option *option, const char *text, struct option_value *value, char *reason, \
              size_t reason_size)

CONVERTER(value_text);    /* any text but the empty one */
CONVERTER(value_choice);  /* one of option->choices: its index in choice */
CONVERTER(value_percent); /* "0.5", "0.5%", "0.5 %": 0.005 in number; over 0, at most 50 % */
CONVERTER(value_rays);    /* "20000000", "20e6", "20 million", "500 thousand": 1 .. 2^40 in count */
CONVERTER(value_seed);    /* whole number, 0 .. 2^63 - 1, in count */
CONVERTER(value_threads); /* 1 .. 1024 in count */
CONVERTER(value_pixels);  /* a width that figures take, in count */
CONVERTER(value_length);  /* "250 mm", "25 cm": mm in number, over 0, at most 1e6 */
CONVERTER(value_lux);     /* "120000", "120 klx", "300 lx": lux in number, over 0, at most 1e9 */

#endif
