/* Starting scenes for `luxfall new`: commented, valid, with invented parts. */
#include "scenes/scene.h"

#include <string.h>

#define EMITTER                                                                                            \
    "emitters:\n"                                                                                          \
    "  led:                              # the names are yours\n"                                          \
    "    surface: 1.2 mm x 1.2 mm        # of the light-emitting area; or: disc 3 mm, point\n"             \
    "    flux: 95 lm at 350 mA           # as it runs, hot; or drive: led.csv, a table of currents\n"      \
    "    voltage: 2.9 V                  # at that current: then watts are known, too\n"                   \
    "    # price: 1.20 EUR               # parts with a price, here and below, tell what the lamp costs\n" \
    "    intensity: lambertian           # or: {viewing_angle: 120 deg}, {curve: file.csv}\n\n"

#define EFFORT                                                                                               \
    "accuracy: 0.5 %                     # 95 % band of each field's average, centre, minimum; or rays: 20 " \
    "million\n"                                                                                              \
    "seed: 1\n"

static const char ring[] =
    "# A ring of modules that lean towards the middle of a stage. All parts are invented.\n"
    "title: Ring light\n\n" EMITTER "lenses:\n"
    "  medium:\n"
    "    beam_angle: 24 deg              # full angle at 50 % of the centre-beam intensity, never half\n"
    "    # field_angle: 44 deg           # full angle at 10 %, if the sheet has it\n"
    "    # peak: 4.2 cd/lm               # centre-beam candela per LED lumen, if the sheet has it\n"
    "    efficiency: 84 %                # lumens out of the lens per LED lumen\n"
    "    face: disc 18 mm                # what the light leaves from\n\n"
    "modules:\n"
    "  - name: ring\n"
    "    emitter: led\n"
    "    lens: medium\n"
    "    # distance: from the middle of the stage to the lens face; incidence: from straight above\n"
    "    ring: {count: 8, distance: 165 mm, incidence: 38 deg, start: 0 deg}   # or radius and height\n"
    "    aim: centre                     # or: 36 mm short (evener, less light); 100 mm past; down\n"
    "    # dark: [3]                     # members that are off or blocked\n\n"
    "target: {size: 160 mm x 160 mm, cell: 1 mm}   # or: levels: [-10 mm, 0 mm, 10 mm]\n\n"
    "fields:                             # what the camera sees at each zoom mark\n"
    "  - {name: widest zoom, size: 36 mm x 27 mm}\n"
    "  - {name: closest zoom, size: 4.5 mm x 3.4 mm}\n\n" EFFORT;

static const char single[] =
    "# One module over a small field: the way to compare lenses. All parts are invented.\n"
    "title: One lamp\n\n" EMITTER "lenses:\n"
    "  narrow:\n"
    "    beam_angle: 15 deg              # full angle at 50 % of the centre-beam intensity, never half\n"
    "    efficiency: 86 %                # lumens out of the lens per LED lumen\n"
    "    face: disc 20 mm                # what the light leaves from\n"
    "  wide: {beam_angle: 40 deg, efficiency: 86 %, face: disc 20 mm}\n\n"
    "modules:\n"
    "  - name: lamp\n"
    "    emitter: led\n"
    "    lens: narrow                    # or wide; luxfall compare --lenses narrow,wide shows both\n"
    "    # azimuth: counter-clockwise from the right; or: single: {height: 200 mm} for straight above\n"
    "    single: {distance: 200 mm, incidence: 30 deg, azimuth: 90 deg}\n"
    "    aim: centre                     # or: 20 mm short; 20 mm past; down; [5 mm, 0 mm]\n\n"
    "target: {size: 200 mm x 200 mm, cell: 1 mm}\n\n"
    "fields:\n"
    "  - {name: sample, size: disc 40 mm}\n\n" EFFORT;

static const char line[] =
    "# A bar of modules that shine straight down on a strip. All parts are invented.\n"
    "title: Line bar\n\n" EMITTER "lenses:\n"
    "  wide:\n"
    "    beam_angle: 30 deg              # full angle at 50 % of the centre-beam intensity, never half\n"
    "    efficiency: 86 %                # lumens out of the lens per LED lumen\n"
    "    face: disc 20 mm                # what the light leaves from\n\n"
    "modules:\n"
    "  - name: bar\n"
    "    emitter: led\n"
    "    lens: wide\n"
    "    # pitch: from centre to centre; direction: counter-clockwise from the right\n"
    "    line: {count: 8, pitch: 40 mm, height: 150 mm, direction: 0 deg}\n"
    "    aim: down\n"
    "    # scale: [130 %, 100 %, 100 %, 100 %, 100 %, 100 %, 100 %, 130 %]   # more light at the ends\n\n"
    "target: {size: 400 mm x 120 mm, cell: 1 mm}\n\n"
    "fields:\n"
    "  - {name: strip, size: 240 mm x 10 mm}\n\n" EFFORT;

static const char grid[] =
    "# Rows and columns of modules over a tray, straight down. All parts are invented.\n"
    "title: Grid over a tray\n\n" EMITTER "lenses:\n"
    "  flood:\n"
    "    beam_angle: 45 deg              # full angle at 50 % of the centre-beam intensity, never half\n"
    "    efficiency: 85 %                # lumens out of the lens per LED lumen\n"
    "    face: disc 20 mm                # what the light leaves from\n\n"
    "modules:\n"
    "  - name: grid\n"
    "    emitter: led\n"
    "    lens: flood\n"
    "    grid: {columns: 4, rows: 3, pitch: 150 mm x 130 mm, height: 600 mm}   # counted from the lower left\n"
    "    aim: down\n\n"
    "target: {size: 800 mm x 600 mm, cell: 5 mm, level: 0 mm}   # level: 80 mm shows the top of tall plants\n\n"
    "fields:\n"
    "  - {name: tray, size: 540 mm x 280 mm}\n\n" EFFORT;

static const char stand[] =
    "# A copy stand: four heads beside a flat original. All parts are invented.\n"
    "title: Copy stand\n\n"
    "emitters:\n"
    "  head:                             # the names are yours\n"
    "    surface: disc 9 mm              # of the light-emitting area; or: 6 mm x 6 mm, point\n"
    "    flux: 900 lm                    # as it runs, hot\n"
    "    intensity: lambertian           # or: {viewing_angle: 120 deg}, {curve: file.csv}\n\n"
    "lenses:\n"
    "  wide:\n"
    "    beam_angle: 60 deg              # full angle at 50 % of the centre-beam intensity, never half\n"
    "    efficiency: 85 %                # lumens out of the lens per LED lumen\n"
    "    face: disc 50 mm                # what the light leaves from\n\n"
    "modules:                            # at: [right, up in the picture, above the original]\n"
    "  - {name: right back, emitter: head, lens: wide, at: [600 mm, 300 mm, 600 mm], aim: centre}\n"
    "  - {name: left back, emitter: head, lens: wide, at: [-600 mm, 300 mm, 600 mm], aim: centre}\n"
    "  - {name: left front, emitter: head, lens: wide, at: [-600 mm, -300 mm, 600 mm], aim: centre}\n"
    "  - {name: right front, emitter: head, lens: wide, at: [600 mm, -300 mm, 600 mm], aim: centre}\n"
    "    # aim: 100 mm past lights large originals more evenly with wide lenses\n\n"
    "target: {size: 600 mm x 450 mm, cell: 3 mm}\n\n"
    "fields:\n"
    "  - {name: A3 sheet, size: 420 mm x 297 mm}\n"
    "  - {name: A4 sheet, size: 297 mm x 210 mm}\n\n" EFFORT;

const char *const scene_starter_kinds[] = {"ring", "single", "line", "grid", "stand", NULL};

const char *scene_starter(const char *kind) {
    static const char *const texts[] = {ring, single, line, grid, stand};
    for (size_t i = 0; scene_starter_kinds[i] != NULL; i++)
        if (strcmp(scene_starter_kinds[i], kind) == 0)
            return texts[i];
    return NULL;
}
