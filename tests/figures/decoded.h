/* A picture as a reader's program decodes it. */
#ifndef TESTS_FIGURES_DECODED_H
#define TESTS_FIGURES_DECODED_H

#include <png.h>

#include <stdio.h>
#include <stdlib.h>
#include <string.h>

struct picture {
    png_uint_32 width, height, per_metre_x, per_metre_y;
    int unit;
    unsigned char *rgb;
    char *title, *software, *description;
};

static inline void picture_texts(png_structp png, png_infop info, struct picture *picture) {
    png_textp texts;
    int count = 0;
    png_get_text(png, info, &texts, &count);
    for (int i = 0; i < count; i++) {
        char **kept = strcmp(texts[i].key, "Title") == 0      ? &picture->title
                      : strcmp(texts[i].key, "Software") == 0 ? &picture->software
                                                              : &picture->description;
        *kept = strdup(texts[i].text);
    }
}

static inline void read_picture(const char *path, struct picture *picture) {
    *picture = (struct picture){0};
    FILE *stream = fopen(path, "rb");
    if (stream == NULL)
        abort();
    png_structp png = png_create_read_struct(PNG_LIBPNG_VER_STRING, NULL, NULL, NULL);
    png_infop info = png_create_info_struct(png);
    png_init_io(png, stream);
    png_read_info(png, info);
    picture->width = png_get_image_width(png, info);
    picture->height = png_get_image_height(png, info);
    png_get_pHYs(png, info, &picture->per_metre_x, &picture->per_metre_y, &picture->unit);
    if (png_get_bit_depth(png, info) != 8 || png_get_color_type(png, info) != PNG_COLOR_TYPE_RGB)
        abort();
    picture->rgb = malloc(3 * (size_t)picture->width * picture->height);
    for (png_uint_32 y = 0; y < picture->height; y++)
        png_read_row(png, picture->rgb + 3 * (size_t)picture->width * y, NULL);
    png_read_end(png, info);
    picture_texts(png, info, picture);
    png_destroy_read_struct(&png, &info, NULL);
    fclose(stream);
}

static inline void free_picture(struct picture *picture) {
    free(picture->rgb);
    free(picture->title);
    free(picture->software);
    free(picture->description);
}

static inline int colour_miss(const struct picture *picture, double x, double y, const unsigned char *wanted) {
    const unsigned char *c = picture->rgb + 3 * ((size_t)y * picture->width + (size_t)x);
    int miss = 0;
    for (int i = 0; i < 3; i++)
        miss = abs(c[i] - wanted[i]) > miss ? abs(c[i] - wanted[i]) : miss;
    return miss;
}

#endif
