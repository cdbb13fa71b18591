#!/bin/sh
# Sets the machine up, builds the program and traces every scene of scenes/: the pictures of gallery/.
set -eu
cd "$(dirname "$0")/.."
. tests/setup.sh

set_up "$to_build"
cmake -S . -B build -DLUXFALL_TESTS=OFF
cmake --build build -j "$jobs" --target luxfall_program
