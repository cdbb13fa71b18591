#!/bin/sh
# Sets the machine up, builds the program and traces the scenes of scenes/: the pictures that gallery/README.md shows.
# Everything that a trace gives besides (statistics, data files, profiles) stays in build/gallery.
set -eu
cd "$(dirname "$0")/.."
. tests/setup.sh

set_up "$to_build"
cmake -S . -B build -DLUXFALL_TESTS=OFF
cmake --build build -j "$jobs"

# picture FILE NAME: a picture of build/gallery becomes gallery/NAME.png, when the page shows it.
picture() {
    if grep -qF "]($2.png)" gallery/README.md; then
        cp "build/gallery/$1.png" "gallery/$2.png"
    fi
}

# trace NAME [OPTION...]: traces a scene and keeps what it says; the map of each level is a picture.
trace() {
    name=$1
    shift
    echo "gallery: $name"
    build/luxfall trace "scenes/$name.yaml" --width 900 --out "build/gallery/$name" "$@" >"build/gallery/$name.txt"
    for map in build/gallery/"$name"/map*.png; do
        level=$(basename "$map" .png)
        picture "$name/$level" "$name${level#map}"
    done
}

mkdir -p build/gallery
for scene in scenes/*.yaml; do
    case $scene in
    scenes/cave-lamp.yaml) trace cave-lamp --scale log ;;
    scenes/reflector-torch.yaml) trace reflector-torch --scale log ;;
    scenes/plano-convex-torch.yaml) trace plano-convex-torch --rays "4 million" ;; # enough for a picture
    *) trace "$(basename "$scene" .yaml)" ;;
    esac
done
picture sorting-ring/section sorting-ring-section

echo "gallery: one lamp by itself"
build/luxfall inspect scenes/collimator-bench.yaml --width 900 --out build/gallery/inspect >build/gallery/inspect.txt
picture inspect/inspect collimator-bench-inspect

echo "gallery: drawings for a build log"
build/luxfall draw scenes/collimator-bench.yaml --width 1600 --out build/gallery/drawn >build/gallery/drawn.txt
picture drawn/optic collimator-bench-drawn
build/luxfall draw scenes/reflector-torch.yaml --width 1600 --out build/gallery/cup >build/gallery/cup.txt
picture cup/optic reflector-torch-drawn
build/luxfall draw scenes/domed-pair.yaml --width 1600 --out build/gallery/domed >build/gallery/domed.txt
picture domed/optic domed-pair-drawn
build/luxfall draw scenes/sorting-ring.yaml --width 1600 --out build/gallery/layout >build/gallery/layout.txt
picture layout/layout sorting-ring-layout

echo "gallery: five lenses on the bench"
build/luxfall compare scenes/bench-lenses.yaml --lenses "bench 10,bench 20,spill 20,bench 30,bench 45" \
    --scale log --width 900 --out build/gallery/compare >build/gallery/compare.txt
picture compare/compare bench-lenses-compare
picture compare/compare-sections bench-lenses-sections

echo "gallery: an evening over the fossil ring"
ring=scenes/fossil-ring.yaml
build/luxfall compare $ring --lenses "bench 20,bench 30,bench 45" --at "350 mA, 700 mA" --method direct --width 900 \
    --out build/gallery/evening >build/gallery/evening.txt
picture evening/compare fossil-ring-compare
build/luxfall compare $ring --lenses "bench 20,bench 30" --at "3 W" --method direct --width 900 \
    --out build/gallery/evening-watts >build/gallery/evening-watts.txt
picture evening-watts/difference fossil-ring-difference
build/luxfall sweep $ring --vary "modules.ring.current=50..700 mA/27" --want "centre >= 50 klx in widest zoom" \
    --method direct --width 900 --out build/gallery/evening-current >build/gallery/evening-current.txt
picture evening-current/sweep fossil-ring-current
build/luxfall sweep $ring --vary "modules.ring.aim=0..48 mm short/49" --want "U0 >= 0.9 in widest zoom" \
    --method direct --width 900 --out build/gallery/evening-aim >build/gallery/evening-aim.txt
picture evening-aim/sweep fossil-ring-aim
build/luxfall sweep $ring --vary "modules.ring.aim=0..48 mm short/25" --vary "modules.ring.ring.incidence=20..60 deg/21" \
    --of "U0 in widest zoom" --want "U0 >= 0.9 in widest zoom" --method direct --width 900 \
    --out build/gallery/evening-grid >build/gallery/evening-grid.txt
picture evening-grid/sweep-1-darkest-average-widest-zoom fossil-ring-grid
build/luxfall check $ring --out build/gallery/evening-sheet >build/gallery/evening-sheet.txt
picture evening-sheet/bracket fossil-ring-bracket
ls -l gallery/*.png
