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
    scenes/plano-convex-torch.yaml) trace plano-convex-torch --rays "4 million" ;; # enough for a picture
    *) trace "$(basename "$scene" .yaml)" ;;
    esac
done
picture sorting-ring/section sorting-ring-section

echo "gallery: five lenses on the bench"
build/luxfall compare scenes/bench-lenses.yaml --lenses "bench 10,bench 20,spill 20,bench 30,bench 45" \
    --scale log --width 900 --out build/gallery/compare >build/gallery/compare.txt
picture compare/compare bench-lenses-compare
picture compare/compare-sections bench-lenses-sections
ls -l gallery/*.png
