#include "files.h"
#include "table.h"

#include <math.h>

/* Seven digits hold a mean of lux as closely as any meter or map of single precision. */
static void put_lux(FILE *out, float lux) {
    if (isfinite(lux))
        fprintf(out, ",%.7g", (double)lux);
    else
        fputc(',', out); /* an empty cell is a missing value */
}

/* A comment ends with its line: a title's control characters become blanks. */
static void put_comment(FILE *out, const char *key, const char *text) {
    fprintf(out, "# %s: ", key);
    for (const char *c = text; *c != '\0'; c++)
        fputc((unsigned char)*c < ' ' ? ' ' : *c, out);
    fputc('\n', out);
}

static void put_head(FILE *out, const struct scene *scene, const struct luxfall_result *result,
                     const struct luxfall_plane_result *plane) {
    fputs("# format: illuminance-map 1\n# quantity: illuminance\n# unit: lx\n# x_unit: mm\n# y_unit: mm\n"
          "# rows: y ascending; first row holds x; first column holds y\n# values: means over cells, at their "
          "centres\n",
          out);
    fprintf(out, "# cell_mm: %.10g\n# plane_z_mm: %.10g\n", plane->cell_mm, plane->level_mm);
    put_comment(out, "title", scene->title);
    put_comment(out, "software", "luxfall " LUXFALL_VERSION);
    fprintf(out, "# method: %s\n", result->method == LUXFALL_RAYS ? "rays" : "direct");
    if (result->method == LUXFALL_RAYS)
        fprintf(out, "# seed: %llu\n# rays_traced: %llu\n", (unsigned long long)result->seed,
                (unsigned long long)result->rays_traced);
}

static void put_map(FILE *out, const struct luxfall_plane_result *plane) {
    fputs("y\\x", out);
    for (int x = 0; x < plane->columns; x++)
        fprintf(out, ",%.10g", cell_centre_mm(x, plane->columns, plane->cell_mm));
    fputc('\n', out);
    for (int y = 0; y < plane->rows; y++) {
        fprintf(out, "%.10g", cell_centre_mm(y, plane->rows, plane->cell_mm));
        for (int x = 0; x < plane->columns; x++)
            put_lux(out, plane->e_lx[(size_t)y * (size_t)plane->columns + (size_t)x]);
        fputc('\n', out);
    }
}

int file_map_csv(const char *path, const struct scene *scene, const struct luxfall_result *result, size_t plane,
                 struct figure_error *error) {
    struct whole_file file;
    if (whole_file_begin(&file, path, error) != 0)
        return error->status;
    struct number_locale locale;
    number_locale_begin(&locale);
    put_head(file.stream, scene, result, &result->planes[plane]);
    put_map(file.stream, &result->planes[plane]);
    number_locale_end(&locale);
    return whole_file_commit(&file, error);
}
