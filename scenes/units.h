/* Quantities: a number with its unit. */
#ifndef SCENES_UNITS_H
#define SCENES_UNITS_H

#include <stdbool.h>
#include <stddef.h>

/* What a quantity measures; in brackets the unit that values are kept in. */
enum dimension {
    LENGTH,      /* mm */
    ANGLE,       /* rad */
    WAVELENGTH,  /* um; written in nm */
    FLUX,        /* lm */
    PEAK,        /* cd/lm */
    ILLUMINANCE, /* lx */
    CURRENT,     /* A */
    VOLTAGE,     /* V */
    TEMPERATURE, /* degrees Celsius */
    SHARE,       /* 1; written in % */
    NUMBER,      /* 1; thousand, million */
    DIMENSIONS
};

/* Room for a reason; always ends whole. */
struct reason {
    char text[320];
};

/* Each says true and gives the value, or says false and why, quoting the text. */
bool quantity_read(const char *text, enum dimension dimension, double *out, struct reason *why);
/* "1.2 mm x 3 mm"; the sign is x, a multiplication sign or *. One quantity alone is not a product. */
bool product_read(const char *text, enum dimension dimension, double out[2], struct reason *why);

/* The text holds a product sign. */
bool is_product(const char *text);

/* The value in the unit that people write, the shortest text that quantity_read() turns into the same bits. */
void quantity_write(double value, enum dimension dimension, char *text, size_t size);
/* The same to six digits, for messages. */
void quantity_show(double value, enum dimension dimension, char *text, size_t size);

const char *dimension_name(enum dimension dimension);  /* "a length" */
const char *dimension_units(enum dimension dimension); /* "um, mm, cm, m or in" */

#endif
