#include "picture.h"

#include "render/files/files.h"

#include <cairo-pdf.h>
#include <png.h>
#include <stdlib.h>
#include <string.h>

static void keep_message(png_structp png, png_const_charp text) {
    struct figure_error *error = png_get_error_ptr(png);
    figure_fail(error, 1, "%s", text);
    png_longjmp(png, 1);
}

static void drop_warning(png_structp png, png_const_charp text) {
    (void)png;
    (void)text;
}

static void put_texts(png_structp png, png_infop info, const char *title, const char *description) {
    const char *keys[] = {"Title", "Software", "Description"};
    const char *values[] = {title, "luxfall " LUXFALL_VERSION, description};
    png_text texts[3] = {0};
    for (int i = 0; i < 3; i++) {
        texts[i].compression = PNG_ITXT_COMPRESSION_NONE; /* iTXt: UTF-8 */
        texts[i].key = (char *)(uintptr_t)keys[i];
        texts[i].text = (char *)(uintptr_t)values[i];
        texts[i].itxt_length = strlen(values[i]);
        texts[i].lang = texts[i].lang_key = NULL;
    }
    png_set_text(png, info, texts, 3);
}

/* Cairo's pixels are native 32-bit words, red in bits 16..23. */
static void pack_row(const unsigned char *pixels, int width, png_bytep row) {
    for (int x = 0; x < width; x++) {
        uint32_t word;
        memcpy(&word, pixels + 4 * (size_t)x, 4);
        row[3 * x] = (png_byte)(word >> 16);
        row[3 * x + 1] = (png_byte)(word >> 8);
        row[3 * x + 2] = (png_byte)word;
    }
}

static void put_head(png_structp png, png_infop info, const struct page *page, const char *title,
                     const char *description) {
    png_uint_32 width = (png_uint_32)page->width_px, height = (png_uint_32)page->height_px;
    png_uint_32 per_metre = (png_uint_32)(width * 1000.0 / page->print_mm + 0.5);
    png_set_IHDR(png, info, width, height, 8, PNG_COLOR_TYPE_RGB, PNG_INTERLACE_NONE, PNG_COMPRESSION_TYPE_DEFAULT,
                 PNG_FILTER_TYPE_DEFAULT);
    png_set_sRGB(png, info, PNG_sRGB_INTENT_PERCEPTUAL);
    png_set_pHYs(png, info, per_metre, per_metre, PNG_RESOLUTION_METER);
    put_texts(png, info, title, description);
    png_set_compression_level(png, 1);
    png_set_filter(png, PNG_FILTER_TYPE_BASE, PNG_FILTER_UP);
    png_write_info(png, info);
}

static int encode(FILE *stream, struct page *page, png_bytep row, const char *title, const char *description,
                  struct figure_error *error) {
    error->status = 0;
    png_structp png = png_create_write_struct(PNG_LIBPNG_VER_STRING, error, keep_message, drop_warning);
    png_infop info = png != NULL ? png_create_info_struct(png) : NULL;
    if (info == NULL) {
        png_destroy_write_struct(&png, NULL);
        return figure_fail(error, 1, "out of memory");
    }
    if (setjmp(png_jmpbuf(png)) == 0) {
        png_init_io(png, stream);
        put_head(png, info, page, title, description);
        const unsigned char *pixels = cairo_image_surface_get_data(page->surface);
        int stride = cairo_image_surface_get_stride(page->surface);
        for (int y = 0; y < (int)page->height_px; y++) {
            pack_row(pixels + (size_t)y * (size_t)stride, (int)page->width_px, row);
            png_write_row(png, row);
        }
        png_write_end(png, info);
    }
    png_destroy_write_struct(&png, &info);
    return error->status;
}

/* One date for all: the same page gives the same bytes at any time. */
static int write_pdf(const char *path, struct page *page, const char *title, const char *description,
                     struct figure_error *error) {
    struct whole_file file;
    cairo_pdf_surface_set_metadata(page->surface, CAIRO_PDF_METADATA_TITLE, title);
    cairo_pdf_surface_set_metadata(page->surface, CAIRO_PDF_METADATA_SUBJECT, description);
    cairo_pdf_surface_set_metadata(page->surface, CAIRO_PDF_METADATA_CREATOR, "luxfall " LUXFALL_VERSION);
    cairo_pdf_surface_set_metadata(page->surface, CAIRO_PDF_METADATA_CREATE_DATE, "2000-01-01T00:00:00Z");
    cairo_surface_finish(page->surface);
    if (cairo_surface_status(page->surface) != CAIRO_STATUS_SUCCESS)
        return figure_fail(error, 1, "%s: out of memory while drawing", path);
    int status = whole_file_begin(&file, path, error);
    if (status != 0)
        return status;
    if (fwrite(page->sent->data, 1, page->sent->len, file.stream) != page->sent->len)
        return whole_file_fail(&file, "the disk took less than was sent", error);
    return whole_file_commit(&file, error);
}

static int write_png(const char *path, struct page *page, const char *title, const char *description,
                     struct figure_error *error) {
    png_bytep row = malloc(3 * (size_t)page->width_px);
    if (row == NULL)
        return figure_fail(error, 1, "%s: out of memory", path);
    struct whole_file file;
    int status = whole_file_begin(&file, path, error);
    if (status == 0) {
        struct figure_error cause;
        if (encode(file.stream, page, row, title, description, &cause) == 0)
            status = whole_file_commit(&file, error);
        else
            status = whole_file_fail(&file, cause.text, error);
    }
    free(row);
    return status;
}

int picture_write(const char *path, struct page *page, const char *title, const char *description,
                  struct figure_error *error) {
    if (page->out_of_memory || cairo_status(page->cairo) != CAIRO_STATUS_SUCCESS)
        return figure_fail(error, 1, "%s: out of memory while drawing", path);
    cairo_surface_flush(page->surface);
    return page->pdf ? write_pdf(path, page, title, description, error)
                     : write_png(path, page, title, description, error);
}
