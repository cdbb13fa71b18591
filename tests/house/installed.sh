#!/bin/sh
# The library as others meet it: installs it, moves the installed tree, and builds a project outside the source tree with
# find_package and with pkg-config, from luxfall.h alone. installed.sh TREE BUILD
set -eu
tree=$1
build=$2
place=$build/house/installed
rm -rf "$place"
mkdir -p "$place/project"

cat >"$place/project/CMakeLists.txt" <<'END'
cmake_minimum_required(VERSION 3.25)
project(consumer LANGUAGES C)
find_package(luxfall 0.1 REQUIRED)
add_executable(consumer consumer.c)
target_link_libraries(consumer PRIVATE luxfall::luxfall)
END
cat >"$place/project/consumer.c" <<'END'
#include <luxfall.h>

#include <stdio.h>

int main(void)
{
    struct luxfall_emitter die = {.name = "die", .columns = 1, .rows = 1, .flux_lm = 100,
                                  .die = {LUXFALL_RECTANGLE, 1, 1},
                                  .intensity = {.kind = LUXFALL_COSINE, .viewing_angle_rad = 2.0943951023931953}};
    struct luxfall_module lamp = {.name = "lamp", .lens = LUXFALL_NO_LENS, .scale = 1};
    struct luxfall_placement down = {.kind = LUXFALL_AT_SINGLE, .distance_mm = 1000};
    struct luxfall_error error = {.text = ""};
    const double level_mm = 0;
    struct luxfall_scene scene = {.emitters = &die, .emitter_count = 1, .modules = &lamp, .module_count = 1,
                                  .target = {1, 1, 1, 1, &level_mm}};
    double lx = 0;
    if (luxfall_place(&down, &lamp.pose, &error) != LUXFALL_OK ||
        luxfall_direct_reading(&scene, 0, 0, 0, 0, &lx, &error) != LUXFALL_OK) {
        fprintf(stderr, "%s\n", error.text);
        return 1;
    }
    printf("%s %.2f\n", luxfall_version(), lx);
    return 0;
}
END

# 100 lm of a Lambertian die at 1 m: E = 100/pi lx on the axis.
says_31_83() {
    said=$("$@")
    case $said in
    *" 31.83") ;;
    *) echo "installed.sh: $* said '$said', not 31.83 lx" >&2; exit 1 ;;
    esac
}

# A prefix that is moved after the installation: nothing in it may remember where it was made.
consume() {
    kind=$1
    cmake --install "$2" --component library --prefix "$place/before-$kind" >/dev/null
    mv "$place/before-$kind" "$place/$kind"
    library=$(dirname "$(find "$place/$kind" -name 'libluxfall.*' | head -n 1)")

    cmake -S "$place/project" -B "$place/$kind-cmake" -DCMAKE_PREFIX_PATH="$place/$kind" >/dev/null
    cmake --build "$place/$kind-cmake" >/dev/null
    says_31_83 "$place/$kind-cmake/consumer"

    export PKG_CONFIG_PATH="$library/pkgconfig"
    # shellcheck disable=SC2046
    cc -std=c17 "$place/project/consumer.c" -o "$place/$kind-pc" $(pkg-config --cflags --libs luxfall)
    says_31_83 env LD_LIBRARY_PATH="$library" "$place/$kind-pc"
}

consume static "$build"
cmake -S "$tree" -B "$place/shared-build" -DBUILD_SHARED_LIBS=ON -DLUXFALL_TESTS=OFF >/dev/null
cmake --build "$place/shared-build" --target luxfall_shared >/dev/null
consume shared "$place/shared-build"
