/* Data files: what is written comes back, and a file that cannot be whole is not there at all. */
#include "fixture.h"
#include "render/files/files.h"

#include <dirent.h>
#include <locale.h>
#include <png.h>
#include <setjmp.h>
#include <signal.h>
#include <stdarg.h>
#include <sys/resource.h>
#include <sys/stat.h>
#include <sys/wait.h>
#include <tiffio.h>
#include <unistd.h>

#include <cmocka.h>

static char folder[64];

static const char *in_folder(const char *name) {
    static char path[128];
    snprintf(path, sizeof path, "%s/%s", folder, name);
    return path;
}

static int make_folder(void **state) {
    (void)state;
    strcpy(folder, "/tmp/luxfall-files-XXXXXX");
    return mkdtemp(folder) == NULL;
}

static int files_in_folder(void) {
    DIR *dir = opendir(folder);
    int count = -2; /* . and .. */
    while (dir != NULL && readdir(dir) != NULL)
        count++;
    closedir(dir);
    return count;
}

/* Also empties it: a test must leave nothing behind. */
static int remove_folder(void **state) {
    (void)state;
    static const char *const names[] = {"map.csv", "map.tiff", "map.png", "statistics.json", "link", "figure.png"};
    for (size_t i = 0; i < sizeof names / sizeof *names; i++)
        unlink(in_folder(names[i]));
    return rmdir(folder);
}

/* A map that is no mirror image of itself. */
static void make_askew(struct fixture *f, double noise) {
    struct fixture_spec spec = {.title = "Askew, \"quoted\" and\nbroken",
                                .columns = 23,
                                .rows = 17,
                                .cell_mm = 0.5,
                                .kind = LUXFALL_AT_RING,
                                .count = 3,
                                .distance_mm = 20,
                                .incidence_deg = 40,
                                .beam_deg = 30,
                                .peak_lx = 84000,
                                .noise = noise,
                                FIXTURE_THREE_ZOOMS(0.2)};
    fixture_make(f, &spec);
    for (int i = 0; i < 23 * 17; i++)
        f->plane.e_lx[i] *= (float)((0.3 + 0.03 * (i % 23)) * (0.4 + 0.03 * (i / 23)));
    f->plane.level_mm = -2.5;
}

/* ---- map.csv ----------------------------------------------------------------------------------------------------
 */

struct table {
    int columns, rows, comments;
    double x[64], y[64], value[64][64];
    bool says_lx, says_level;
};

static void read_table(const char *path, struct table *t) {
    char line[4096];
    FILE *stream = fopen(path, "rb");
    assert_non_null(stream);
    *t = (struct table){.columns = -1};
    while (fgets(line, sizeof line, stream) != NULL) {
        if (line[0] == '#') {
            assert_int_equal(t->columns, -1); /* comments stand before the first row alone */
            t->says_lx = t->says_lx || strcmp(line, "# unit: lx\n") == 0;
            t->says_level = t->says_level || strcmp(line, "# plane_z_mm: -2.5\n") == 0;
            t->comments++;
            continue;
        }
        double *into = t->columns < 0 ? t->x : t->value[t->rows];
        int column = -1;
        for (char *cell = strtok(line, ",\n"); cell != NULL; cell = strtok(NULL, ",\n"), column++) {
            if (column >= 0)
                into[column] = strtod(cell, NULL);
            else if (t->columns >= 0)
                t->y[t->rows] = strtod(cell, NULL);
        }
        if (t->columns >= 0) {
            assert_int_equal(column, t->columns);
            t->rows++;
        } else {
            t->columns = column;
        }
    }
    fclose(stream);
}

static void a_csv_map_comes_back(void **state) {
    (void)state;
    struct fixture f;
    struct figure_error error;
    struct table *t = malloc(sizeof *t);
    make_askew(&f, 0.02);
    assert_int_equal(file_map_csv(in_folder("map.csv"), &f.scene, &f.result, 0, &error), 0);
    read_table(in_folder("map.csv"), t);
    assert_true(t->says_lx && t->says_level);
    assert_int_equal(t->columns, 23);
    assert_int_equal(t->rows, 17);
    int mirrored = 0;
    for (int y = 0; y < 17; y++)
        for (int x = 0; x < 23; x++) {
            assert_true(fabs(t->x[x] - (x - 11) * 0.5) < 1e-12);
            assert_true(fabs(t->y[y] - (y - 8) * 0.5) < 1e-12); /* ascending: row 0 is the lowest */
            double lux = f.plane.e_lx[y * 23 + x];
            assert_true(fabs(t->value[y][x] - lux) <= 1e-6 * lux);
            mirrored += fabs(t->value[16 - y][x] - lux) <= 1e-6 * lux;
        }
    assert_true(mirrored < 60); /* twin: read upside down, only the middle row agrees */
    free(t);
    fixture_free(&f);
}

static void read_bytes(const char *path, char *bytes, size_t size) {
    FILE *stream = fopen(path, "rb");
    assert_non_null(stream);
    size_t count = fread(bytes, 1, size - 1, stream);
    bytes[count] = '\0';
    fclose(stream);
}

/* A decimal comma of the user's country must not reach the file. Skipped where no such locale is installed. */
static void csv_numbers_do_not_follow_the_locale(void **state) {
    (void)state;
    static const char *const with_comma[] = {"de_DE.UTF-8", "fr_FR.UTF-8", "de_DE",
                                             "fr_FR",       "es_ES.UTF-8", "it_IT.UTF-8"};
    const char *found = NULL;
    for (size_t i = 0; i < sizeof with_comma / sizeof *with_comma && found == NULL; i++)
        found = setlocale(LC_NUMERIC, with_comma[i]);
    if (found == NULL)
        skip();
    struct fixture f;
    struct figure_error error;
    char bytes[1024];
    make_askew(&f, 0);
    assert_int_equal(file_map_csv(in_folder("map.csv"), &f.scene, &f.result, 0, &error), 0);
    setlocale(LC_NUMERIC, "C");
    read_bytes(in_folder("map.csv"), bytes, sizeof bytes);
    assert_non_null(strstr(bytes, "# cell_mm: 0.5\n"));
    fixture_free(&f);
}

/* ---- map.tiff: TIFF revision 6.0, sections 4 (baseline greyscale) and 19 (sample format) --------------------------
 */

static void a_tiff_map_comes_back_with_its_scale(void **state) {
    (void)state;
    struct fixture f;
    struct figure_error error;
    make_askew(&f, 0);
    assert_int_equal(file_map_tiff(in_folder("map.tiff"), &f.scene, &f.result, 0, &error), 0);
    TIFF *tiff = TIFFOpen(in_folder("map.tiff"), "r");
    assert_non_null(tiff);
    uint32_t width = 0, height = 0;
    uint16_t bits = 0, format = 0, unit = 0, compression = 0, photometric = 9, samples = 0;
    float x_resolution = 0, y_resolution = 0;
    char *description = NULL;
    TIFFGetField(tiff, TIFFTAG_IMAGEWIDTH, &width);
    TIFFGetField(tiff, TIFFTAG_IMAGELENGTH, &height);
    TIFFGetField(tiff, TIFFTAG_BITSPERSAMPLE, &bits);
    TIFFGetField(tiff, TIFFTAG_SAMPLEFORMAT, &format);
    TIFFGetField(tiff, TIFFTAG_SAMPLESPERPIXEL, &samples);
    TIFFGetField(tiff, TIFFTAG_COMPRESSION, &compression);
    TIFFGetField(tiff, TIFFTAG_PHOTOMETRIC, &photometric);
    TIFFGetField(tiff, TIFFTAG_RESOLUTIONUNIT, &unit);
    TIFFGetField(tiff, TIFFTAG_XRESOLUTION, &x_resolution);
    TIFFGetField(tiff, TIFFTAG_YRESOLUTION, &y_resolution);
    TIFFGetField(tiff, TIFFTAG_IMAGEDESCRIPTION, &description);
    assert_int_equal(width, 23);
    assert_int_equal(height, 17);
    assert_int_equal(bits, 32);
    assert_int_equal(format, 3); /* IEEE floating point */
    assert_int_equal(samples, 1);
    assert_int_equal(compression, 1);                      /* none */
    assert_int_equal(photometric, 1);                      /* black is zero */
    assert_int_equal(unit, 3);                             /* centimetre; 2 would be inch */
    assert_true(x_resolution == 20 && y_resolution == 20); /* 0.5 mm a pixel; in pixels per inch it would be 50.8 */
    assert_non_null(strstr(description, "values: lx"));
    assert_non_null(strstr(description, "scale: 0.5 mm per pixel"));
    float row[23];
    for (uint32_t y = 0; y < height; y++) {
        assert_int_equal(TIFFReadScanline(tiff, row, y, 0), 1);
        assert_memory_equal(row, f.plane.e_lx + (16 - y) * 23, sizeof row); /* the top row has the highest y */
        if (y != 8)
            assert_memory_not_equal(row, f.plane.e_lx + y * 23, sizeof row); /* twin: upside down */
    }
    TIFFClose(tiff);
    fixture_free(&f);
}

/* What a program without libtiff sees: TIFF 6.0 section 2, a header and an ascending directory. */
static void tiff_tags_ascend(void **state) {
    (void)state;
    struct fixture f;
    struct figure_error error;
    unsigned char bytes[4096];
    make_askew(&f, 0);
    assert_int_equal(file_map_tiff(in_folder("map.tiff"), &f.scene, &f.result, 0, &error), 0);
    FILE *stream = fopen(in_folder("map.tiff"), "rb");
    assert_int_equal(fread(bytes, 1, sizeof bytes, stream) > 1600, 1);
    fclose(stream);
    const unsigned char little[] = {0x49, 0x49, 0x2a, 0}, big[] = {0x4d, 0x4d, 0, 0x2a};
    bool is_little = memcmp(bytes, little, 4) == 0;
    assert_true(is_little || memcmp(bytes, big, 4) == 0);
    if (is_little) {
        size_t at = (size_t)bytes[4] | (size_t)bytes[5] << 8 | (size_t)bytes[6] << 16;
        int count = bytes[at] | bytes[at + 1] << 8, before = 0;
        assert_in_range(count, 12, 20);
        for (int i = 0; i < count; i++) {
            int tag = bytes[at + 2 + 12 * (size_t)i] | bytes[at + 3 + 12 * (size_t)i] << 8;
            assert_true(tag > before);
            before = tag;
        }
    }
    fixture_free(&f);
}

/* ---- 16-bit PNG: PNG, third edition, and its registered extensions
 * ------------------------------------------------- */

static double lux_from_pcal(png_structp png, png_infop info, unsigned sample) {
    png_charp purpose, units, *parameters;
    png_int_32 x0, x1;
    int type, count;
    assert_true(png_get_pCAL(png, info, &purpose, &x0, &x1, &type, &count, &units, &parameters) != 0);
    assert_string_equal(units, "lx");
    assert_int_equal(type, 0); /* linear: p0 + p1 x sample / (x1 - x0) */
    assert_int_equal(count, 2);
    return strtod(parameters[0], NULL) + strtod(parameters[1], NULL) * sample / (x1 - x0);
}

static void a_png_map_comes_back_through_its_own_scale(void **state) {
    (void)state;
    struct fixture f;
    struct figure_error error;
    make_askew(&f, 0);
    assert_int_equal(file_map_png16(in_folder("map.png"), &f.scene, &f.result, 0, &error), 0);
    FILE *stream = fopen(in_folder("map.png"), "rb");
    png_structp png = png_create_read_struct(PNG_LIBPNG_VER_STRING, NULL, NULL, NULL);
    png_infop info = png_create_info_struct(png);
    png_init_io(png, stream);
    png_read_info(png, info);
    assert_int_equal(png_get_bit_depth(png, info), 16);
    assert_int_equal(png_get_color_type(png, info), PNG_COLOR_TYPE_GRAY);
    png_fixed_point gamma = 0;
    png_get_gAMA_fixed(png, info, &gamma);
    assert_int_equal(gamma, 100000); /* linear; 45455 would be 1/2.2 */
    int unit = 0;
    png_charp cell_width, cell_height;
    assert_true(png_get_sCAL_s(png, info, &unit, &cell_width, &cell_height) != 0);
    assert_int_equal(unit, 1); /* metre */
    assert_true(strtod(cell_width, NULL) == 5e-4 && strtod(cell_height, NULL) == 5e-4);
    double step = lux_from_pcal(png, info, 1);
    int swapped = 0;
    for (int y = 0; y < 17; y++) {
        png_byte row[46];
        png_read_row(png, row, NULL);
        for (int x = 0; x < 23; x++) {
            double lux = f.plane.e_lx[(16 - y) * 23 + x];
            unsigned sample = (unsigned)row[2 * x] << 8 | row[2 * x + 1];
            assert_true(fabs(lux_from_pcal(png, info, sample) - lux) <= 0.5001 * step);
            unsigned little = (unsigned)row[2 * x + 1] << 8 | row[2 * x];
            swapped += fabs(lux_from_pcal(png, info, little) - lux) <= 0.5001 * step;
        }
    }
    assert_true(swapped < 20); /* twin: samples taken as little-endian */
    png_destroy_read_struct(&png, &info, NULL);
    fclose(stream);
    fixture_free(&f);
}

/* Whole chunks, byte for byte: layouts of the standard, CRC-32 of ISO 3309 over type and data. */
static void png_chunks_have_the_bytes_of_the_standard(void **state) {
    (void)state;
    static const unsigned char gama[] = {0, 0, 0, 4, 'g', 'A', 'M', 'A', 0, 1, 0x86, 0xa0, 0x31, 0xe8, 0x96, 0x5f};
    static const unsigned char iend[] = {0, 0, 0, 0, 'I', 'E', 'N', 'D', 0xae, 0x42, 0x60, 0x82};
    static const unsigned char wrong[] = {0, 0, 0, 4, 'g', 'A', 'M', 'A', 0, 0, 0xb1, 0x8f, 0x0b, 0xfc, 0x61, 0x05};
    struct fixture f;
    struct figure_error error;
    unsigned char bytes[8192];
    make_askew(&f, 0);
    assert_int_equal(file_map_png16(in_folder("map.png"), &f.scene, &f.result, 0, &error), 0);
    FILE *stream = fopen(in_folder("map.png"), "rb");
    size_t count = fread(bytes, 1, sizeof bytes, stream);
    fclose(stream);
    int found_gama = 0, found_wrong = 0;
    for (size_t i = 0; i + sizeof gama <= count; i++) {
        found_gama += memcmp(bytes + i, gama, sizeof gama) == 0;
        found_wrong += memcmp(bytes + i, wrong, sizeof wrong) == 0;
    }
    assert_int_equal(found_gama, 1);
    assert_int_equal(found_wrong, 0);
    assert_memory_equal(bytes + count - sizeof iend, iend, sizeof iend);
    fixture_free(&f);
}

/* ---- statistics.json ----------------------------------------------------------------------------------------------
 */

static const char *const field_estimates[] = {"centre_lx",
                                              "average_lx",
                                              "minimum_lx",
                                              "maximum_lx",
                                              "minimum_over_average",
                                              "minimum_over_maximum",
                                              "edge_over_centre",
                                              "variation",
                                              "tilt_percent_per_mm",
                                              "tilt_direction_deg",
                                              "dome_percent",
                                              "flux_lm",
                                              "utilisation"};

static json_t *member(json_t *object, const char *key) {
    json_t *value = json_object_get(object, key);
    if (value == NULL)
        fail_msg("no key \"%s\"", key);
    return value;
}

static json_t *band_of(json_t *object, const char *key) {
    char name[64];
    snprintf(name, sizeof name, "%s_u95", key);
    return json_object_get(object, name);
}

static json_t *first_plane(json_t *root) {
    return json_array_get(member(root, "planes"), 0);
}

static void every_estimate_has_its_band_by_rays(void **state) {
    (void)state;
    struct fixture f;
    make_askew(&f, 0.02);
    json_t *root = statistics_json(&f.scene, &f.result, NULL, NULL);
    assert_non_null(root);
    assert_string_equal(json_string_value(member(root, "method")), "rays");
    assert_null(json_object_get(root, "quadrature_error"));
    json_t *plane = first_plane(root), *field = json_array_get(member(plane, "fields"), 0);
    for (size_t i = 0; i < sizeof field_estimates / sizeof *field_estimates; i++) {
        member(field, field_estimates[i]);
        assert_non_null(band_of(field, field_estimates[i]));
    }
    static const char *const ledger[] = {"emitted", "on_map", "off_map", "absorbed", "abandoned"};
    for (size_t i = 0; i < 5; i++)
        assert_true(json_is_number(band_of(member(plane, "flux_lm"), ledger[i])));
    assert_non_null(band_of(member(plane, "map"), "peak_lx"));
    assert_non_null(band_of(member(plane, "map"), "centre_lx"));
    assert_non_null(band_of(member(plane, "spot"), "half_peak_diameter_mm"));
    assert_null(band_of(field, "centre_direct_lx")); /* no estimate of the rays: no band */
    json_decref(root);
    fixture_free(&f);
}

static int keys_with_bands(json_t *value) {
    int count = 0;
    const char *key;
    json_t *inner;
    size_t i;
    json_object_foreach(value, key, inner) count +=
        (strstr(key, "_u95") == key + strlen(key) - 4) + keys_with_bands(inner);
    json_array_foreach(value, i, inner) count += keys_with_bands(inner);
    return count;
}

static void nothing_has_a_band_by_the_direct_way(void **state) {
    (void)state;
    struct fixture f;
    make_askew(&f, 0);
    json_t *root = statistics_json(&f.scene, &f.result, NULL, NULL);
    /* only the distance from the direct value has u95 in its name, and it is null here */
    assert_int_equal(keys_with_bands(root), (int)f.scene.light.field_count);
    json_decref(root);
    fixture_free(&f);
}

static void what_is_not_to_be_had_is_null(void **state) {
    (void)state;
    struct fixture f;
    make_askew(&f, 0.02);
    json_t *root = statistics_json(&f.scene, &f.result, NULL, NULL), *plane = first_plane(root);
    json_t *field = json_array_get(member(plane, "fields"), 0);
    assert_true(json_is_null(member(field, "tilt_direction_deg")));
    assert_true(json_is_null(band_of(field, "tilt_direction_deg")));
    assert_true(json_is_null(member(member(plane, "spot"), "tenth_peak_diameter_mm")));
    assert_true(json_is_real(member(field, "dome_percent")));
    json_decref(root);
    fixture_free(&f);
}

static void warnings_say_where(void **state) {
    (void)state;
    struct fixture f;
    char text[] = "the field lies where no light falls", other[] = "an error, which is no warning";
    struct message items[] = {
        {.kind = MESSAGE_WARNING, .place = {"scene.yaml", 12, 5}, .text = text},
        {.kind = MESSAGE_ERROR, .place = {"scene.yaml", 1, 1}, .text = other},
        {.kind = MESSAGE_WARNING, .place = {"scene.yaml", 0, 0}, .text = text},
    };
    struct messages messages = {.items = items, .count = 3, .errors = 1};
    make_askew(&f, 0);
    json_t *root = statistics_json(&f.scene, &f.result, NULL, &messages), *warnings = member(root, "warnings");
    assert_int_equal(json_array_size(warnings), 2);
    assert_string_equal(json_string_value(member(json_array_get(warnings, 0), "at")), "scene.yaml:12:5");
    assert_string_equal(json_string_value(member(json_array_get(warnings, 0), "text")), text);
    assert_string_equal(json_string_value(member(json_array_get(warnings, 1), "at")), "scene.yaml");
    json_decref(root);
    fixture_free(&f);
}

static void a_huge_seed_keeps_its_digits(void **state) {
    (void)state;
    struct fixture f;
    make_askew(&f, 0);
    f.result.seed = UINT64_MAX;
    json_t *root = statistics_json(&f.scene, &f.result, NULL, NULL);
    assert_string_equal(json_string_value(member(root, "seed")), "18446744073709551615");
    json_decref(root);
    f.result.seed = 77;
    root = statistics_json(&f.scene, &f.result, NULL, NULL);
    assert_int_equal(json_integer_value(member(root, "seed")), 77);
    json_decref(root);
    fixture_free(&f);
}

static void the_same_result_gives_the_same_text(void **state) {
    (void)state;
    struct fixture f;
    struct figure_error error;
    static char first[65536], second[65536];
    make_askew(&f, 0.02);
    assert_int_equal(file_statistics(in_folder("statistics.json"), &f.scene, &f.result, NULL, NULL, &error), 0);
    read_bytes(in_folder("statistics.json"), first, sizeof first);
    assert_int_equal(file_statistics(in_folder("statistics.json"), &f.scene, &f.result, NULL, NULL, &error), 0);
    read_bytes(in_folder("statistics.json"), second, sizeof second);
    assert_string_equal(first, second);
    f.plane.peak_lx.value *= 1.001; /* twin: another result, another text */
    assert_int_equal(file_statistics(in_folder("statistics.json"), &f.scene, &f.result, NULL, NULL, &error), 0);
    read_bytes(in_folder("statistics.json"), second, sizeof second);
    assert_string_not_equal(first, second);
    fixture_free(&f);
}

/* ---- whole or not at all ------------------------------------------------------------------------------------------
 */

typedef int writer(const char *path, const struct fixture *f, struct figure_error *error);

static int write_statistics(const char *path, const struct fixture *f, struct figure_error *error) {
    return file_statistics(path, &f->scene, &f->result, NULL, NULL, error);
}
static int write_csv(const char *path, const struct fixture *f, struct figure_error *error) {
    return file_map_csv(path, &f->scene, &f->result, 0, error);
}
static int write_tiff(const char *path, const struct fixture *f, struct figure_error *error) {
    return file_map_tiff(path, &f->scene, &f->result, 0, error);
}
static int write_png16(const char *path, const struct fixture *f, struct figure_error *error) {
    return file_map_png16(path, &f->scene, &f->result, 0, error);
}
static int write_map(const char *path, const struct fixture *f, struct figure_error *error) {
    return figure_map(path, &f->scene, &f->result, 0, &(struct figure_style){.width_px = 300}, error);
}
static int write_section(const char *path, const struct fixture *f, struct figure_error *error) {
    return figure_section(path, &f->scene, &f->result, 0, &(struct figure_style){.width_px = 300}, error);
}
static writer *const writers[] = {write_statistics, write_csv, write_tiff, write_png16, write_map, write_section};
enum { WRITERS = sizeof writers / sizeof *writers };

/* Linux answers every write to this device with "no space left". */
static void a_full_device_is_told_by_name(void **state) {
    (void)state;
    if (access("/dev/full", W_OK) != 0)
        skip();
    struct fixture f;
    make_askew(&f, 0.02);
    for (int i = 0; i < WRITERS; i++) {
        struct figure_error error = {0, ""};
        assert_int_equal(writers[i]("/dev/full", &f, &error), 1);
        assert_int_equal(error.status, 1);
        assert_non_null(strstr(error.text, "/dev/full"));
        assert_non_null(strstr(error.text, "No space left on device"));
    }
    struct stat info;
    assert_int_equal(stat("/dev/full", &info), 0);
    assert_true(S_ISCHR(info.st_mode)); /* nothing took its place */
    fixture_free(&f);
}

/* A disk that fills half-way: the old file stays as it was and nothing lies beside it. */
static void a_disk_that_fills_leaves_the_old_file(void **state) {
    (void)state;
    struct fixture f;
    make_askew(&f, 0.02);
    for (int i = 0; i < WRITERS; i++) {
        FILE *old = fopen(in_folder("figure.png"), "wb");
        fputs("the old one", old);
        fclose(old);
        fflush(NULL);
        pid_t child = fork();
        if (child == 0) {
            struct figure_error error = {0, ""};
            struct rlimit limit = {700, 700};
            signal(SIGXFSZ, SIG_IGN);
            setrlimit(RLIMIT_FSIZE, &limit);
            int status = writers[i](in_folder("figure.png"), &f, &error);
            _exit(status == 1 && strstr(error.text, "File too large") != NULL ? 0 : 1);
        }
        int status;
        char bytes[64];
        waitpid(child, &status, 0);
        assert_true(WIFEXITED(status) && WEXITSTATUS(status) == 0);
        read_bytes(in_folder("figure.png"), bytes, sizeof bytes);
        assert_string_equal(bytes, "the old one");
        assert_int_equal(unlink(in_folder("figure.png")), 0);
        assert_int_equal(rmdir(folder), 0); /* nothing else lies there */
        assert_int_equal(mkdir(folder, 0700), 0);
    }
    fixture_free(&f);
}

static void a_place_that_takes_no_files_is_told(void **state) {
    (void)state;
    struct fixture f;
    make_askew(&f, 0);
    FILE *plain = fopen(in_folder("map.csv"), "wb");
    fclose(plain);
    char under_a_file[160], missing[160];
    snprintf(under_a_file, sizeof under_a_file, "%s/map.csv/map.png", folder);
    snprintf(missing, sizeof missing, "%s/nowhere/map.png", folder);
    int before = files_in_folder();
    for (int i = 0; i < WRITERS; i++) {
        struct figure_error error = {0, ""};
        assert_int_equal(writers[i](under_a_file, &f, &error), 1);
        assert_non_null(strstr(error.text, "Not a directory"));
        assert_non_null(strstr(error.text, under_a_file));
        assert_int_equal(writers[i](missing, &f, &error), 1);
        assert_non_null(strstr(error.text, "No such file or directory"));
        assert_int_equal(writers[i](folder, &f, &error), 1);
        assert_non_null(strstr(error.text, "Is a directory"));
    }
    assert_int_equal(files_in_folder(), before);
    fixture_free(&f);
}

static void a_committed_file_is_all_that_stays(void **state) {
    (void)state;
    struct whole_file file;
    struct figure_error error;
    char bytes[64];
    int before = files_in_folder();
    assert_int_equal(whole_file_begin(&file, in_folder("figure.png"), &error), 0);
    fputs("first", file.stream);
    assert_int_equal(access(in_folder("figure.png"), F_OK), -1); /* not there before the commit */
    assert_int_equal(whole_file_commit(&file, &error), 0);
    assert_int_equal(whole_file_begin(&file, in_folder("figure.png"), &error), 0);
    fputs("second", file.stream);
    whole_file_discard(&file);
    whole_file_discard(&file); /* twice does no harm */
    read_bytes(in_folder("figure.png"), bytes, sizeof bytes);
    assert_string_equal(bytes, "first");
    assert_int_equal(files_in_folder(), before + 1);
}

static void a_link_stays_a_link(void **state) {
    (void)state;
    struct whole_file file;
    struct figure_error error;
    struct stat info;
    char bytes[64];
    FILE *target = fopen(in_folder("map.csv"), "wb");
    fclose(target);
    char goal[128];
    strcpy(goal, in_folder("map.csv"));
    assert_int_equal(symlink(goal, in_folder("link")), 0);
    assert_int_equal(whole_file_begin(&file, in_folder("link"), &error), 0);
    fputs("through the link", file.stream);
    assert_int_equal(whole_file_commit(&file, &error), 0);
    assert_int_equal(lstat(in_folder("link"), &info), 0);
    assert_true(S_ISLNK(info.st_mode));
    read_bytes(goal, bytes, sizeof bytes);
    assert_string_equal(bytes, "through the link");
    unlink(in_folder("link"));
}

/* What Ctrl-C does: a child with two files open gets the signal, cleans up in the handler and leaves. */
static void on_signal(int number) {
    whole_file_discard_all();
    _exit(128 + number);
}

static void a_signal_leaves_nothing_half_written(void **state) {
    (void)state;
    int before = files_in_folder(), pipe_ends[2];
    assert_int_equal(pipe(pipe_ends), 0);
    fflush(NULL);
    pid_t child = fork();
    if (child == 0) {
        struct whole_file one, two;
        struct figure_error error;
        signal(SIGINT, on_signal);
        bool open = whole_file_begin(&one, in_folder("map.png"), &error) == 0 &&
                    whole_file_begin(&two, in_folder("map.tiff"), &error) == 0;
        fputs("half a picture", one.stream);
        fflush(one.stream);
        if (write(pipe_ends[1], open ? "y" : "n", 1) != 1)
            _exit(3);
        for (;;)
            pause();
    }
    char answer;
    assert_int_equal(read(pipe_ends[0], &answer, 1), 1);
    assert_int_equal(answer, 'y');
    assert_int_equal(files_in_folder(), before + 2); /* they were there indeed */
    kill(child, SIGINT);
    int status;
    waitpid(child, &status, 0);
    assert_int_equal(WEXITSTATUS(status), 130);
    assert_int_equal(files_in_folder(), before);
    close(pipe_ends[0]);
    close(pipe_ends[1]);
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(a_csv_map_comes_back),
        cmocka_unit_test(csv_numbers_do_not_follow_the_locale),
        cmocka_unit_test(a_tiff_map_comes_back_with_its_scale),
        cmocka_unit_test(tiff_tags_ascend),
        cmocka_unit_test(a_png_map_comes_back_through_its_own_scale),
        cmocka_unit_test(png_chunks_have_the_bytes_of_the_standard),
        cmocka_unit_test(every_estimate_has_its_band_by_rays),
        cmocka_unit_test(nothing_has_a_band_by_the_direct_way),
        cmocka_unit_test(what_is_not_to_be_had_is_null),
        cmocka_unit_test(warnings_say_where),
        cmocka_unit_test(a_huge_seed_keeps_its_digits),
        cmocka_unit_test(the_same_result_gives_the_same_text),
        cmocka_unit_test(a_full_device_is_told_by_name),
        cmocka_unit_test(a_place_that_takes_no_files_is_told),
        cmocka_unit_test(a_committed_file_is_all_that_stays),
        cmocka_unit_test(a_link_stays_a_link),
        cmocka_unit_test(a_signal_leaves_nothing_half_written),
    };
    const struct CMUnitTest own_folder[] = {cmocka_unit_test(a_disk_that_fills_leaves_the_old_file)};
    int failed = cmocka_run_group_tests_name("files", tests, make_folder, remove_folder);
    return failed + cmocka_run_group_tests_name("full disk", own_folder, make_folder, remove_folder);
}
