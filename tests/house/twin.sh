#!/bin/sh
# Plants one fault after the other in a copy of the tree; the check of house.sh must find each. twin.sh CHECK TREE BUILD
set -eu
check=$1
here=$2/tests/house
place=$3/house/twin-$check
rm -rf "$place"
mkdir -p "$place/build"
(cd "$2" && tar -cf - --exclude='./build*' --exclude=./.git .) | tar -xf - -C "$place"
cp "$3/libluxfall.a" "$place/build/"
cd "$place"
house() {
    sh "$here/house.sh" "$check" "$place" "$place/build"
}

# finds TEXT: the check fails now and its words hold TEXT.
finds() {
    if found=$(house); then
        echo "twin.sh: $check did not find the planted fault ($1)" >&2
        exit 1
    fi
    echo "$found" | grep -qF -- "$1" && return
    echo "twin.sh: $check found something else than '$1': $found" >&2
    exit 1
}

# The object code of some C text becomes part of the library.
plant_object() {
    cat >planted.c
    cc -c planted.c -o planted.o
    ar r build/libluxfall.a planted.o 2>/dev/null
    rm planted.c planted.o
}

# One more enumerator before this one.
plant_before() {
    sed "s/^\(.*[^A-Z_]\)$1\b/\1$1_PLANTED, $1/" "$2" >planted && mv planted "$2"
}

case $check in
arrow)
    echo '#include "scenes/scene.h"' >raytrace/maps/planted.c
    finds 'raytrace/maps/planted.c:1'
    rm raytrace/maps/planted.c
    echo '#include "render/files/files.h"' >scenes/planted.c
    finds 'scenes/planted.c:1'
    rm scenes/planted.c
    echo '#include "tracing/kernels.h"' >render/figures/planted.c
    finds 'render/figures/planted.c:1'
    ;;
quiet)
    echo 'void f(void) { printf("here"); }' >raytrace/maps/planted.c
    finds 'raytrace/maps/planted.c:1'
    rm raytrace/maps/planted.c
    echo '#include <stdlib.h>
void (*luxfall_planted(void))(int) { return exit; }' | plant_object
    finds 'U exit'
    ;;
globals)
    echo 'static int planted_count; int *luxfall_planted(void) { return &planted_count; }' | plant_object
    finds 'planted_count'
    ;;
top)
    echo >NOTES.md
    finds 'NOTES.md'
    rm NOTES.md raytrace/METHODS.md
    finds 'raytrace/METHODS.md: missing'
    ;;
words)
    printf '/* TO%s: later */\n' DO >raytrace/maps/planted.c
    finds 'raytrace/maps/planted.c:1'
    rm raytrace/maps/planted.c
    printf 'See /wo%s/notes.\n' rk >>README.md
    finds 'README.md'
    ;;
sources)
    printf '/* Of Walsh 1926. */\n/* ---- reflectances ---- */\nstatic const double VALUES[] = {\n    0.0425531};\n' >tests/unit/test_optics_planted.c
    finds 'test_optics_planted.c:2'
    for numbers in 'Of 2000 rays.' 'In 1024 rays, 2000 of them' 'At 1600, 1700, 1800 mm.' 'From 0.91972222 on.' 'ISO 16640-1.' 'Rays (2000).'; do
        printf '/* ---- shares ---- */\n/* %s */\nstatic const double VALUES[] = {\n    0.0425531};\n' "$numbers" >tests/unit/test_optics_planted.c
        finds 'test_optics_planted.c:1'
    done
    ;;
registered)
    mkdir -p build/tests tests/unit
    echo 'add_test([=[test_other]=] "test_other")' >build/tests/CTestTestfile.cmake
    echo >tests/unit/test_planted.c
    finds 'CTest does not run it'
    ;;
functions)
    {
        printf 'int planted(int a,\n            int b) {\n'
        yes '    a += b;' | head -n 90
        printf '    return a;\n}\n'
    } >raytrace/maps/planted.c
    finds 'planted has 94 lines'
    ;;
kinds)
    sed 's/LUXFALL_AIM_PAST,/LUXFALL_AIM_PAST, LUXFALL_AIM_PLANTED,/' raytrace/luxfall.h >planted && mv planted raytrace/luxfall.h
    finds 'LUXFALL_AIM_PLANTED: no scene can name it'
    echo 'const struct command command_planted = {0};' >render/commands/planted.c
    finds 'command_planted: not in the table'
    echo 'const struct solid_kind solid_planted = {0};' >raytrace/lenses/planted.c
    finds 'solid_planted: not in the table'
    echo 'int file_planted(void);' >>render/files/files.h
    finds 'file_planted: no command'
    for planted in LUXFALL_LENS_PIPE LUXFALL_COVER_STOP LUXFALL_SECTION_ROUND; do
        plant_before $planted raytrace/luxfall.h
        finds "${planted}_PLANTED: tests/properties/test_optics_kinds.c does not ask"
    done
    for planted in PATCH_WALL PATCH_FILM; do
        plant_before $planted raytrace/lenses/optic.h
        finds "${planted}_PLANTED: tests/properties/test_optics_kinds.c does not ask"
    done
    ;;
equations)
    echo '/* METHODS eq. (4)-(999). */' >raytrace/maps/planted.c
    finds 'no equation (999)'
    rm raytrace/maps/planted.c
    sed 's/eq\. (33)/eq. (34)/' raytrace/tracing/kernels_impl.h >planted && mv planted raytrace/tracing/kernels_impl.h
    finds 'no code cites equation (33)'
    cp "$2/raytrace/tracing/kernels_impl.h" raytrace/tracing/
    sed '/^- \[BW99\]/d' raytrace/METHODS.md >planted && mv planted raytrace/METHODS.md
    finds '[BW99] does not stand among its sources'
    ;;
gallery)
    cp scenes/sorting-ring.yaml scenes/planted.yaml
    finds 'scenes/planted.yaml: gallery/README.md shows no picture of it'
    rm gallery/sorting-ring.png
    finds 'sorting-ring.png is missing'
    ;;
says)
    cp "$3/luxfall" build/
    sed 's/12\.91 %/22.91 %/' README.md >planted && mv planted README.md
    finds '23 %'
    ;;
optics)
    cp "$3/luxfall" build/
    sed 's/draft: 3 deg, //; s/`draft`/It/' scenes/OPTICS.md >planted && cp planted scenes/OPTICS.md
    finds "says nothing of 'draft'"
    sed 's/pitch: 0.5 mm/pitch: 0.5/; s/^It leans/The draft leans/' planted >scenes/OPTICS.md
    finds 'error:'
    cp planted scenes/OPTICS.md
    printf '#!/bin/sh\n"%s/luxfall" "$@" | sed /small_end/d\n' "$3" >build/luxfall
    finds 'does not come back'
    printf '#!/bin/sh\n"%s/luxfall" "$@" | sed "/ body: /d"\n' "$3" >build/luxfall
    finds "'body' of scenes/OPTICS.md is lost"
    rm build/luxfall
    finds 'no program'
    ;;
readme)
    printf 'seed: 2\n' >>scenes/sorting-ring.yaml
    finds 'EOF on -'
    ;;
*)
    echo "twin.sh: unknown check $check" >&2
    exit 2
    ;;
esac
rm -rf "$place"
