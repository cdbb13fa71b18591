/* Sheets of single lenses tell a focal length; a scene takes the curves that make it. Who writes the one is told the
 * other. */
#include "scenes/numbers.h"
#include "scenes/reader.h"

#include <math.h>
#include <string.h>

static const struct range focal_range = {LENGTH, 0, 1e6, OPEN, CLOSED};

/* What a lens knows beside its focal length; 0: not known. */
struct single {
    double focal_mm, index, thickness_mm;
};

/* Behind a length that cannot be read, or a material without an index, stands the formula alone. */
static struct single single_of(struct reader *reader, const struct node *map,
                               const struct luxfall_material *material) {
    struct single lens = {0, 0, 0};
    const struct node *thickness = map_value(map, "thickness");
    struct reason why;
    double thickness_mm = 0;
    if (!reader_quantity(reader, map_value(map, "focal_length"), &focal_range, &lens.focal_mm))
        lens.focal_mm = 0;
    if (material == NULL || luxfall_material_index(material, 0, &lens.index, NULL) != LUXFALL_OK)
        lens.index = 0;
    if (thickness != NULL && thickness->kind == NODE_TEXT &&
        quantity_read(thickness->text, LENGTH, &thickness_mm, &why) && thickness_mm > 0)
        lens.thickness_mm = thickness_mm;
    return lens;
}

/* The lensmaker's equation for two equal sides, the greater of its radii; NaN: none is so short and so thick. */
static double equal_sides_mm(const struct single *lens) {
    double thick = lens->thickness_mm / (lens->index * lens->focal_mm);
    return (lens->index - 1) * lens->focal_mm * (1 + sqrt(1 - thick));
}

static void tell(struct reader *reader, const struct node *key, const struct single *lens, const char *formula,
                 const char *write, double value_mm) {
    if (lens->focal_mm > 0 && lens->index > 0 && value_mm > 0)
        reader_error(reader, key,
                     "'focal_length' follows from the curves: %s; for %.10g mm and n = %.10g write '%s: %.10g mm' "
                     "instead",
                     formula, number_rounded(lens->focal_mm, 6), number_rounded(lens->index, 5), write,
                     number_rounded(value_mm, 4));
    else
        reader_error(reader, key, "'focal_length' follows from the curves: %s", formula);
}

bool tell_focal_length(struct reader *reader, const struct node *map, const struct luxfall_material *material) {
    static const char general[] =
        "1 / f = (n - 1) (1 / R1 + 1 / R2 - (n - 1) d / (n R1 R2)), with the thickness d and the radii R1 and R2 in "
        "the middle, below 0 where a side is hollow (a flat one: 1 / R = 0)";
    const struct node *node = map_value(map, "focal_length");
    const char *word = map_value(map, "solid")->text;
    if (node == NULL)
        return false;
    struct single lens = single_of(reader, map, material);
    if (strcmp(word, "plano-convex") == 0)
        tell(reader, node->key, &lens, "the radius is (n - 1) f", "radius", (lens.index - 1) * lens.focal_mm);
    else if (strcmp(word, "ball") == 0)
        tell(reader, node->key, &lens, "the diameter is 4 f (n - 1) / n, with f from the middle of the ball",
             "diameter", 4 * lens.focal_mm * (lens.index - 1) / lens.index);
    else if (strcmp(word, "biconvex") == 0)
        tell(reader, node->key, &lens,
             "for equal sides the radius is (n - 1) f (1 + sqrt(1 - d / (n f))), with a thickness d of at most n f",
             "radius", lens.thickness_mm > 0 ? equal_sides_mm(&lens) : 0);
    else if (strcmp(word, "meniscus") == 0 || strcmp(word, "aspheric") == 0)
        tell(reader, node->key, &lens, general, "", 0);
    else
        return false;
    return true;
}
