/* The key `camera`: what it is read to, what is taken where nothing is said, and every refusal at its place. */
#include "unit/scene_text.h"

#include <math.h>

#define CAMERA "camera: {f_number: 8, magnification: 1.5, iso: 100, reflectance: 50 %, transmission: 70 %}\n"

static char *scene_with(const char *camera, const char *in_field) {
    char field[200], *with_field, *text;
    snprintf(field, sizeof field, "size: 36 mm x 27 mm%s", in_field);
    with_field = with(sound_scene, "size: 36 mm x 27 mm", field);
    text = with(with_field, "seed: 1\n", camera);
    free(with_field);
    return text;
}

static struct luxfall_camera camera_of(const char *camera, const char *in_field, size_t warnings) {
    char *text = scene_with(camera, in_field);
    struct outcome outcome = read_sound(text);
    assert_int_equal(outcome.warnings, warnings);
    assert_true(outcome.scene->has_camera);
    struct luxfall_camera own = outcome.scene->field_cameras[0];
    outcome_clear(&outcome);
    free(text);
    return own;
}

static void a_camera_is_read_as_written(void **state) {
    (void)state;
    struct luxfall_camera own = camera_of(CAMERA, "", 0), same = camera_of(CAMERA, ", f_number: f/8", 0);
    assert_true(own.f_number == 8 && own.magnification == 1.5 && own.iso == 100);
    assert_true(own.reflectance == 0.5 && own.transmission == 0.7);
    assert_true(same.f_number == 8 && same.magnification == 1.5);
    own = camera_of(CAMERA, ", f_number: F/11.3, magnification: 6x", 0);
    assert_true(own.f_number == 11.3 && own.magnification == 6 && own.iso == 100);
    assert_true(camera_of(CAMERA, ", magnification: 0.5 x", 0).magnification == 0.5);
}

static void what_is_not_said_is_taken_and_told(void **state) {
    (void)state;
    struct luxfall_camera own = camera_of("camera: {f_number: 22, iso: 400}\n", "", 1);
    assert_true(own.magnification == 0 && own.reflectance == 0.5 && own.transmission == 0.7);
    char *text = scene_with("camera: {f_number: 22, iso: 400, reflectance: 90 %}\n", "");
    struct outcome outcome = read_text(text);
    assert_non_null(strstr(outcome.said, "s.yaml:14:1: warning: taken for the camera, since nothing is said: "
                                         "transmission 70 %, magnification 0 (the f-number is the effective one)"));
    assert_null(strstr(outcome.said, "reflectance 50 %")); /* twin: what was said is not told as taken */
    outcome_clear(&outcome);
    free(text);
}

static void slips_are_told_at_their_place(void **state) {
    (void)state;
    static const char *const cases[][3] = {
        {"camera: {f_number: 22 mm, iso: 100}\n", "",
         "s.yaml:14:20: error: '22 mm' is no f-number, which is focal length over aperture and has no unit; write "
         "for "
         "instance 8 or f/8"},
        {"camera: {f_number: 1/8, iso: 100}\n", "", "s.yaml:14:20: error: '1/8' is no f-number"},
        {"camera: {f_number: 0, iso: 100}\n", "",
         "s.yaml:14:20: error: 'f_number' is 0; it must be at least 0.1 and at most 10000"},
        {"camera: {f_number: 8, iso: 0}\n", "", "s.yaml:14:28: error: 'iso' is 0; it must be at least"},
        {"camera: {f_number: 8, iso: 100, reflectance: 0.5}\n", "",
         "s.yaml:14:46: error: '0.5' has no unit; a share is written in %: 50 % or 0.5 %"},
        {"camera: {f_number: 8, iso: 100, transmission: 170 %}\n", "",
         "s.yaml:14:47: error: 'transmission' is 170 %"},
        {"camera: {f_number: 8, iso: 100, magnification: -1}\n", "", "s.yaml:14:48: error: 'magnification' is -1"},
        {"camera: {f_number: 8, iso: 100, magnification: 1:2}\n", "",
         "s.yaml:14:48: error: '1:2' is no magnification, which is the size on the sensor over the size on the "
         "stage"},
        {"camera: {f_number: 8}\n", "", "s.yaml:14:1: error: missing key 'iso'"},
        {"camera: {iso: 100}\n", "", "s.yaml:14:1: error: missing key 'f_number'"},
        {"camera: {f_number: 8, iso: 100, apperture: 3}\n", "", "s.yaml:14:33: error: unknown key 'apperture'"},
        {"camera: 8\n", "", "s.yaml:14:9: error: 'camera' is text; a map of keys and values is expected"},
        {"seed: 1\n", ", f_number: 8",
         "s.yaml:13:39: error: 'f_number' of a field changes the scene's 'camera', which is missing; add for "
         "instance "
         "camera: {f_number: 8, iso: 100}"},
        {CAMERA, ", magnification: two", "s.yaml:13:54: error: 'two' is no magnification"},
    };
    for (size_t i = 0; i < sizeof cases / sizeof *cases; i++) {
        char *text = scene_with(cases[i][0], cases[i][1]);
        struct outcome outcome = read_text(text);
        if (outcome.errors != 1 || strstr(outcome.said, cases[i][2]) == NULL)
            fail_msg("expected\n%s\nand it said\n%s", cases[i][2], outcome.said);
        outcome_clear(&outcome);
        free(text);
    }
}

static void a_camera_comes_back_from_its_own_text(void **state) {
    (void)state;
    char *text = scene_with("camera: {f_number: 2.8, iso: 1e3, reflectance: 33.3 %}\n", ", magnification: 0.1");
    struct outcome first = read_text(text);
    char *once = written(first.scene);
    struct outcome second = read_text(once);
    char *twice = written(second.scene);
    assert_string_equal(once, twice);
    assert_int_equal(second.warnings, 0);
    assert_memory_equal(&first.scene->field_cameras[0], &second.scene->field_cameras[0],
                        sizeof(struct luxfall_camera));
    assert_true(first.scene->camera.magnification != second.scene->field_cameras[0].magnification); /* twin */
    outcome_clear(&first);
    outcome_clear(&second);
    free(text);
    free(once);
    free(twice);
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(a_camera_is_read_as_written),
        cmocka_unit_test(what_is_not_said_is_taken_and_told),
        cmocka_unit_test(slips_are_told_at_their_place),
        cmocka_unit_test(a_camera_comes_back_from_its_own_text),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
