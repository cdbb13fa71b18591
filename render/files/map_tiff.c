#include "files.h"
#include "table.h"

#include <stdlib.h>
#include <string.h>
#include <tiffio.h>

/* The file is made in memory, where writing cannot fail for the disk's sake, and then saved as a whole. */
struct memory {
    unsigned char *bytes;
    toff_t size, room, at;
};

static tsize_t memory_read(thandle_t handle, void *to, tsize_t size) {
    struct memory *m = handle;
    toff_t left = m->at < m->size ? m->size - m->at : 0, count = (toff_t)size < left ? (toff_t)size : left;
    memcpy(to, m->bytes + m->at, count);
    m->at += count;
    return (tsize_t)count;
}

static tsize_t memory_write(thandle_t handle, void *from, tsize_t size) {
    struct memory *m = handle;
    toff_t end = m->at + (toff_t)size;
    if (end > m->room) {
        toff_t room = end > 2 * m->room ? end : 2 * m->room;
        unsigned char *bytes = realloc(m->bytes, room);
        if (bytes == NULL)
            return 0;
        memset(bytes + m->room, 0, room - m->room);
        m->bytes = bytes;
        m->room = room;
    }
    memcpy(m->bytes + m->at, from, (size_t)size);
    m->at = end;
    m->size = end > m->size ? end : m->size;
    return size;
}

static toff_t memory_seek(thandle_t handle, toff_t offset, int whence) {
    struct memory *m = handle;
    m->at = whence == SEEK_SET ? offset : whence == SEEK_CUR ? m->at + offset : m->size + offset;
    return m->at;
}

static int memory_close(thandle_t handle) {
    (void)handle;
    return 0;
}

static toff_t memory_size(thandle_t handle) {
    return ((struct memory *)handle)->size;
}

/* What a reader without our words needs: the unit of the values, the scale, which way is up. */
static void describe(char *text, size_t size, const struct scene *scene, const struct luxfall_plane_result *plane) {
    snprintf(
        text, size,
        "illuminance map: %.200s\nvalues: lx (32-bit float, means over square cells)\nscale: %.10g mm per pixel\n"
        "rows: top row has the highest y; the origin is the centre of the map\nlevel: %.10g mm\n",
        scene->title, plane->cell_mm, plane->level_mm);
}

/* Rows are strips of their own, uncompressed: what image-analysis programs read most surely. Tags as in TIFF 6.0. */
static void put_tags(TIFF *tiff, const struct luxfall_plane_result *plane, const char *description) {
    TIFFSetField(tiff, TIFFTAG_IMAGEWIDTH, (uint32_t)plane->columns);
    TIFFSetField(tiff, TIFFTAG_IMAGELENGTH, (uint32_t)plane->rows);
    TIFFSetField(tiff, TIFFTAG_BITSPERSAMPLE, 32);
    TIFFSetField(tiff, TIFFTAG_SAMPLEFORMAT, SAMPLEFORMAT_IEEEFP);
    TIFFSetField(tiff, TIFFTAG_SAMPLESPERPIXEL, 1);
    TIFFSetField(tiff, TIFFTAG_COMPRESSION, COMPRESSION_NONE);
    TIFFSetField(tiff, TIFFTAG_PHOTOMETRIC, PHOTOMETRIC_MINISBLACK);
    TIFFSetField(tiff, TIFFTAG_PLANARCONFIG, PLANARCONFIG_CONTIG);
    TIFFSetField(tiff, TIFFTAG_ORIENTATION, ORIENTATION_TOPLEFT);
    TIFFSetField(tiff, TIFFTAG_ROWSPERSTRIP, 16);
    TIFFSetField(tiff, TIFFTAG_RESOLUTIONUNIT, RESUNIT_CENTIMETER);
    TIFFSetField(tiff, TIFFTAG_XRESOLUTION, 10 / plane->cell_mm);
    TIFFSetField(tiff, TIFFTAG_YRESOLUTION, 10 / plane->cell_mm);
    TIFFSetField(tiff, TIFFTAG_IMAGEDESCRIPTION, description);
    TIFFSetField(tiff, TIFFTAG_SOFTWARE, "luxfall " LUXFALL_VERSION);
}

static bool encode(struct memory *memory, const struct luxfall_plane_result *plane, const char *description) {
    TIFF *tiff = TIFFClientOpen("map", "wl", memory, memory_read, memory_write, memory_seek, memory_close,
                                memory_size, NULL, NULL);
    if (tiff == NULL)
        return false;
    put_tags(tiff, plane, description);
    bool done = true;
    float *row = malloc((size_t)plane->columns * sizeof *row); /* a copy: libtiff may swap bytes in place */
    for (int y = 0; y < plane->rows && done; y++) {
        done = row != NULL;
        if (done) {
            size_t from = (size_t)(plane->rows - 1 - y) * (size_t)plane->columns;
            memcpy(row, plane->e_lx + from, (size_t)plane->columns * sizeof *row);
            done = TIFFWriteScanline(tiff, row, (uint32_t)y, 0) == 1;
        }
    }
    done = done && TIFFWriteDirectory(tiff) == 1;
    TIFFClose(tiff);
    free(row);
    return done;
}

int file_map_tiff(const char *path, const struct scene *scene, const struct luxfall_result *result, size_t plane,
                  struct figure_error *error) {
    char description[512];
    struct memory memory = {0};
    struct number_locale locale;
    number_locale_begin(&locale);
    describe(description, sizeof description, scene, &result->planes[plane]);
    number_locale_end(&locale);
    struct whole_file file;
    int status = 1;
    if (!encode(&memory, &result->planes[plane], description)) {
        figure_fail(error, 1, "%s could not be written: out of memory", path);
    } else if (whole_file_begin(&file, path, error) == 0) {
        fwrite(memory.bytes, 1, memory.size, file.stream); /* commit asks the stream for errors */
        status = whole_file_commit(&file, error);
    }
    free(memory.bytes);
    return status;
}
