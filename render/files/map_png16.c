#include "files.h"
#include "table.h"

#include <math.h>
#include <png.h>
#include <stdlib.h>
#include <string.h>

static void keep_message(png_structp png, png_const_charp text) {
    figure_fail(png_get_error_ptr(png), 1, "%s", text);
    png_longjmp(png, 1);
}

static void drop_warning(png_structp png, png_const_charp text) {
    (void)png;
    (void)text;
}

/* What a sample means, in text of the file's own: lux at full scale, lux per step, size of a cell. */
struct scaling {
    double top_lx;
    char top[32], step[32], cell_m[32], comment[320];
};

static struct scaling scaling_of(const struct luxfall_plane_result *plane) {
    struct scaling s = {0};
    for (size_t i = 0; i < (size_t)plane->columns * (size_t)plane->rows; i++)
        if (isfinite(plane->e_lx[i]))
            s.top_lx = fmax(s.top_lx, plane->e_lx[i]);
    if (s.top_lx == 0)
        s.top_lx = 1;
    struct number_locale locale;
    number_locale_begin(&locale);
    snprintf(s.top, sizeof s.top, "%.9g", s.top_lx);
    snprintf(s.step, sizeof s.step, "%.9g", s.top_lx / 65535);
    snprintf(s.cell_m, sizeof s.cell_m, "%.9g", plane->cell_mm / 1000);
    snprintf(
        s.comment, sizeof s.comment,
        "linear illuminance: lux = sample x %s; sample 65535 is %s lx; %.9g mm per pixel; level %.9g mm; top row has "
        "the highest y",
        s.step, s.top, plane->cell_mm, plane->level_mm);
    number_locale_end(&locale);
    return s;
}

static void put_texts(png_structp png, png_infop info, const char *title, const char *comment) {
    const char *keys[] = {"Title", "Software", "Comment"};
    const char *values[] = {title, "luxfall " LUXFALL_VERSION, comment};
    png_text texts[3] = {0};
    for (int i = 0; i < 3; i++) {
        texts[i].compression = PNG_ITXT_COMPRESSION_NONE;
        texts[i].key = (char *)(uintptr_t)keys[i];
        texts[i].text = (char *)(uintptr_t)values[i];
        texts[i].itxt_length = strlen(values[i]);
    }
    png_set_text(png, info, texts, 3);
}

/* sCAL is the size of the subject, pCAL what a sample stands for (PNG extensions, value = p0 + p1 x sample / 65535).
 */
static void put_head(png_structp png, png_infop info, const struct luxfall_plane_result *plane, struct scaling *s,
                     const char *title) {
    char zero[] = "0", *parameters[] = {zero, s->top};
    png_set_IHDR(png, info, (png_uint_32)plane->columns, (png_uint_32)plane->rows, 16, PNG_COLOR_TYPE_GRAY,
                 PNG_INTERLACE_NONE, PNG_COMPRESSION_TYPE_DEFAULT, PNG_FILTER_TYPE_DEFAULT);
    png_set_gAMA_fixed(png, info, 100000);
    png_set_sCAL_s(png, info, PNG_SCALE_METER, s->cell_m, s->cell_m);
    png_set_pCAL(png, info, "illuminance", 0, 65535, PNG_EQUATION_LINEAR, 2, "lx", parameters);
    put_texts(png, info, title, s->comment);
    png_write_info(png, info);
}

static void fill_row(const struct luxfall_plane_result *plane, int y, double top_lx, png_bytep row) {
    for (int x = 0; x < plane->columns; x++) {
        double share = plane->e_lx[(size_t)(plane->rows - 1 - y) * (size_t)plane->columns + (size_t)x] / top_lx;
        unsigned sample = share > 0 ? (unsigned)(65535 * fmin(share, 1) + 0.5) : 0;
        row[2 * x] = (png_byte)(sample >> 8);
        row[2 * x + 1] = (png_byte)sample;
    }
}

static int encode(FILE *stream, const struct luxfall_plane_result *plane, const char *title, png_bytep row,
                  struct figure_error *error) {
    struct scaling scaling = scaling_of(plane);
    error->status = 0;
    png_structp png = png_create_write_struct(PNG_LIBPNG_VER_STRING, error, keep_message, drop_warning);
    png_infop info = png != NULL ? png_create_info_struct(png) : NULL;
    if (info == NULL) {
        png_destroy_write_struct(&png, NULL);
        return figure_fail(error, 1, "out of memory");
    }
    if (setjmp(png_jmpbuf(png)) == 0) {
        png_init_io(png, stream);
        put_head(png, info, plane, &scaling, title);
        for (int y = 0; y < plane->rows; y++) {
            fill_row(plane, y, scaling.top_lx, row);
            png_write_row(png, row);
        }
        png_write_end(png, info);
    }
    png_destroy_write_struct(&png, &info);
    return error->status;
}

int file_map_png16(const char *path, const struct scene *scene, const struct luxfall_result *result, size_t plane,
                   struct figure_error *error) {
    png_bytep row = malloc(2 * (size_t)result->planes[plane].columns);
    if (row == NULL)
        return figure_fail(error, 1, "%s could not be written: out of memory", path);
    struct whole_file file;
    int status = whole_file_begin(&file, path, error);
    if (status == 0) {
        struct figure_error cause;
        if (encode(file.stream, &result->planes[plane], scene->title, row, &cause) == 0)
            status = whole_file_commit(&file, error);
        else
            status = whole_file_fail(&file, cause.text, error);
    }
    free(row);
    return status;
}
