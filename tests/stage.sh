#!/bin/sh
# A stage of the tests that needs its own build or tool: stage.sh NAME BUILD_FOLDER. CTest runs them when LUXFALL_STAGES is on.
set -eu
cd "$(dirname "$0")/.."
. tests/setup.sh
stage=$1
build=$2

# A build in its own folder, with the stages themselves left out.
configure() {
    cmake -S . -B "$build" -DLUXFALL_TESTS=ON -DLUXFALL_STAGES=OFF "$@"
}

suite() {
    ctest --test-dir "$build" --output-on-failure -j "$jobs" "$@"
}

sources() {
    find raytrace scenes render tests -name '*.[ch]' | sort
}

case $stage in
format)
    sources | xargs clang-format --dry-run -Werror
    ;;
analyse)
    sources | grep '\.c$' | xargs cppcheck --quiet --std=c11 --error-exitcode=1 --suppressions-list=tests/cppcheck.txt \
        --enable=warning,performance,portability -I raytrace -I . -I tests -j "$jobs"
    ;;
clang)
    configure -DCMAKE_C_COMPILER=clang -DLUXFALL_WERROR=ON
    cmake --build "$build" -j "$jobs"
    # What takes long or draws: another compiler's pictures are the same library's.
    suite -E 'house_|axioms|bands|points|independent|verdicts|figures|bracket|sweep|test_(command|compare|inspect)|optics_(lens$|steering|mirrors|leaks|ledger|bounds)'
    ;;
addresses)
    # Fewer scenes; and no statistics: they say nothing about memory and take long.
    export LUXFALL_SCENES=30 ASAN_OPTIONS=detect_stack_use_after_return=1
    export LSAN_OPTIONS="suppressions=$PWD/tests/leaks.supp:print_suppressions=0"
    configure -DCMAKE_C_COMPILER=gcc -DLUXFALL_SANITIZE=address,undefined
    cmake --build "$build" -j "$jobs"
    suite -E 'house_|bands|points|light_faces|independent|verdicts|test_(check|compare|sweep)$|bracket|light_inspect|optics_(lens$|steering|fresnel|texture|mirrors|covers|bounds)'
    ;;
threads)
    # libomp tells the sanitizer of its own hand-overs (archer); libraries that were not built with it are left aside.
    export LUXFALL_SCENES=12 TSAN_OPTIONS=ignore_noninstrumented_modules=1
    configure -DCMAKE_C_COMPILER=clang -DLUXFALL_SANITIZE=thread
    cmake --build "$build" -j "$jobs" --target test_axioms
    suite -R axioms
    ;;
fuzz)
    configure -DCMAKE_C_COMPILER=clang -DLUXFALL_SANITIZE=address,undefined -DLUXFALL_FUZZ=ON
    cmake --build "$build" -j "$jobs" --target fuzz_scene fuzz_csv fuzz_readings fuzz_changes fuzz_wishes
    sh tests/fuzz/run.sh "$build" 10
    ;;
*)
    echo "stage.sh: unknown stage $stage" >&2
    exit 2
    ;;
esac
