/* What `luxfall draw` gives its users: drawings as PNG and PDF, whole or not at all, and words about them. */
#include "run.h"

#define CUP SOURCE_DIR "/scenes/collimator-bench.yaml"

static bool there(const char *path) {
    return access(path, F_OK) == 0;
}

static bool begins_with(const char *path, const char *bytes) {
    char *text = read_file(path);
    bool same = text != NULL && strncmp(text, bytes, strlen(bytes)) == 0;
    free(text);
    return same;
}

static void a_traced_lens_is_drawn_in_section(void **state) {
    (void)state;
    struct outcome outcome = run("luxfall draw " CUP " --out cup --width 900");
    assert_int_equal(outcome.status, 0);
    assert_string_equal(outcome.err, "");
    assert_int_equal(entries("cup"), 4);
    assert_true(begins_with("cup/optic.png", "\x89PNG") && begins_with("cup/layout.png", "\x89PNG"));
    assert_true(begins_with("cup/optic.pdf", "%PDF-") && begins_with("cup/layout.pdf", "%PDF-"));
    assert_non_null(strstr(outcome.out, "cup 20 (collimator) of lamp in section: 59 rays, 57 leave, 2 rim"));
    assert_non_null(strstr(outcome.out, "plausible, not the"));
    assert_non_null(strstr(outcome.out, "do not look into a lit lens"));
    forget(&outcome);
}

static void sheets_alone_give_the_layout(void **state) {
    (void)state;
    struct outcome outcome = run("luxfall draw " RING " --out ring --width 900");
    assert_int_equal(outcome.status, 0);
    assert_int_equal(entries("ring"), 2);
    assert_true(there("ring/layout.png") && there("ring/layout.pdf"));
    assert_non_null(strstr(outcome.out, "none is drawn: no lens of this scene is traced surface by surface"));
    assert_null(strstr(outcome.out, "plausible"));
    forget(&outcome);
}

#define TWO_LENSES                                                                                       \
    "emitters: {die: {surface: 1 mm x 1 mm, flux: 95 lm}}\n"                                             \
    "lenses:\n"                                                                                          \
    "  cup: {solid: collimator, material: acrylic, diameter: 20 mm}\n"                                   \
    "  ball: {solid: ball, material: acrylic, diameter: 5 mm, gap: 1 mm}\n"                              \
    "  sheet: {beam_angle: 24 deg, efficiency: 84 %%, face: disc 18 mm}\n"                               \
    "modules:\n"                                                                                         \
    "  - {name: ring, emitter: die, lens: cup, ring: {count: 4, distance: 165 mm, incidence: 38 deg}}\n" \
    "  - {name: lamp, emitter: die, lens: ball, single: {height: 165 mm}}\n"                             \
    "  - {name: more, emitter: die, lens: cup, single: {height: 205 mm}}\n"                              \
    "  - {name: low, emitter: die, lens: cup, single: {height: 245 mm}, built: {seat: -0.3 mm}}\n"       \
    "  - {name: bought, emitter: die, lens: sheet, single: {height: 285 mm}}\n"                          \
    "target: {size: 160 mm x 160 mm, cell: 4 mm}\n"

/* Modules with the same lens, die and way to be built share a drawing. */
static void every_optic_has_a_drawing(void **state) {
    (void)state;
    struct outcome outcome =
        run("cat > two.yaml <<'END'\n" TWO_LENSES "END\nluxfall draw two.yaml --out two --width 600");
    assert_int_equal(outcome.status, 0);
    assert_int_equal(entries("two"), 8);
    assert_true(there("two/optic-2.pdf") && there("two/optic-3.png"));
    assert_non_null(strstr(outcome.out, "cup (collimator) of ring, more in section"));
    assert_non_null(strstr(outcome.out, "cup (collimator) of low in section"));
    forget(&outcome);
    outcome = run("luxfall draw two.yaml --module 'ring 3' --rays 5 --out one --width 600");
    assert_int_equal(outcome.status, 0);
    assert_int_equal(entries("one"), 4);
    assert_non_null(strstr(outcome.out, "of ring 3 in section: 11 rays"));
    forget(&outcome);
    outcome =
        run("sed 's/95 lm/95 lm, package: {cup: {floor: 2 mm, opening: 2.6 mm, depth: 1 mm, reflectance: 90 %%, "
            "finish: white}}/' two.yaml >sunk.yaml && luxfall draw sunk.yaml --module more --out sunk --width 600");
    assert_int_equal(outcome.status, 0);
    assert_non_null(strstr(outcome.out, " scattered; plausible"));
    forget(&outcome);
}

/* A lens sheet has no surfaces, what stands over it has; so has it over no lens at all. */
static void covers_are_drawn_over_any_light(void **state) {
    (void)state;
    struct outcome outcome =
        run("luxfall draw " SOURCE_DIR "/scenes/collimator-diffused.yaml --out film --width 600");
    assert_int_equal(outcome.status, 0);
    assert_non_null(strstr(outcome.out, "59 rays, 57 leave"));
    forget(&outcome);
    outcome = run("sed 's/^modules:/covers: {pane: {kind: window, diameter: 30 mm, thickness: 2 mm, material: "
                  "acrylic}}\\nmodules:/; s/lens: sheet/lens: sheet, cover: pane/; s/lens: ball/lens: none, cover: "
                  "pane/' two.yaml > panes.yaml && luxfall draw panes.yaml --out panes --width 600");
    assert_int_equal(outcome.status, 0);
    assert_int_equal(entries("panes"), 10);
    assert_non_null(strstr(outcome.out, "sheet (under its covers) of bought in section"));
    assert_non_null(strstr(outcome.out, "no lens (under its covers) of lamp in section"));
    forget(&outcome);
}

static void the_folder_is_the_one_you_are_in(void **state) {
    (void)state;
    struct outcome outcome = run("mkdir here && cd here && luxfall draw " CUP " --width 400 && ls | wc -l");
    assert_int_equal(outcome.status, 0);
    assert_int_equal(entries("here"), 4);
    forget(&outcome);
}

/* The same bytes at another time, on any number of threads. */
static void drawings_come_again_to_the_byte(void **state) {
    (void)state;
    struct outcome outcome =
        run("luxfall draw " CUP " --out once --width 500 && sleep 1.1 && TZ=Asia/Tokyo OMP_NUM_THREADS=1 luxfall "
            "draw " CUP " --out twice --width 500 >/dev/null && for f in optic.png optic.pdf layout.png layout.pdf; "
            "do cmp once/$f twice/$f || exit 3; done; luxfall draw " CUP " --out other --rays 31 --width 500 "
            ">/dev/null; cmp -s once/optic.pdf other/optic.pdf && exit 4; true");
    assert_int_equal(outcome.status, 0);
    forget(&outcome);
}

/* Twin: a sheet's lens is told as a sheet (sheets_alone_give_the_layout). */
static void without_lenses_none_is_missed(void **state) {
    (void)state;
    struct outcome outcome =
        run("sed 's/lens: medium/lens: none/' " RING " >bare.yaml && luxfall draw bare.yaml --out bare --width 600");
    assert_int_equal(outcome.status, 0);
    assert_non_null(strstr(outcome.out, "none is drawn: the LEDs of this scene have no lens\n"));
    assert_null(strstr(outcome.out, "sheet"));
    forget(&outcome);
}

static const struct row mistakes[] = {
    {"luxfall draw " CUP " --module lmap", 2, "luxfall draw: error: no module is named 'lmap'; did you mean 'lamp'?"},
    {"luxfall draw " RING " --module 'ring 2' --out none", 2, "nothing of 'ring 2' is traced surface by surface"},
    {"luxfall draw bare.yaml --module 'ring 2' --out none", 2,
     "it is an LED without a lens, so that there is none to"},
    {"luxfall draw " CUP " --rays 2", 2, "--rays: a fan has 3 to 501 rays"},
    {"luxfall draw " CUP " --rays 502", 2, "--rays: a fan has 3 to 501 rays"},
    {"luxfall draw " CUP " --rays few", 2, "'few' is not a number of rays"},
    {"luxfall draw " CUP " --ray 20", 2, "did you mean '--rays'?"},
    {"luxfall draw " CUP " --width 100", 2, "--width"},
    {"luxfall draw missing.yaml --out none", 2, "missing.yaml"},
    {"luxfall draw", 2, "luxfall draw"},
    {"sed 's/diameter: 20 mm/diameter: 5 mm/' " CUP " >thin.yaml; luxfall draw thin.yaml --out none", 2,
     "thin.yaml:"},
    {"touch file; luxfall draw " CUP " --out file/deep", 1, "cannot make the folder 'file'"},
    {"mkdir full && ln -s /dev/full full/optic.pdf && luxfall draw " CUP " --width 400 --out full", 1,
     "/dev/full could not be written: No space left"},
    {"mkdir taken && mkdir taken/layout.pdf && luxfall draw " CUP " --width 400 --out taken", 1,
     "'taken/layout.pdf' is a folder"},
};

static void every_mistake_has_its_message(void **state) {
    (void)state;
    for (size_t i = 0; i < sizeof mistakes / sizeof *mistakes; i++)
        assert_true(fails_as(&mistakes[i]));
    assert_false(there("none"));
    assert_int_equal(entries("full"), 1);
    assert_int_equal(entries("taken"), 1);
    struct outcome outcome = run("luxfall draw " CUP " --width 400 --out none > /dev/full");
    assert_int_equal(outcome.status, 1);
    assert_false(there("none"));
    forget(&outcome);
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(a_traced_lens_is_drawn_in_section), cmocka_unit_test(sheets_alone_give_the_layout),
        cmocka_unit_test(every_optic_has_a_drawing),         cmocka_unit_test(covers_are_drawn_over_any_light),
        cmocka_unit_test(the_folder_is_the_one_you_are_in),  cmocka_unit_test(drawings_come_again_to_the_byte),
        cmocka_unit_test(without_lenses_none_is_missed),     cmocka_unit_test(every_mistake_has_its_message),
    };
    return cmocka_run_group_tests(tests, enter_scratch, leave_scratch);
}
