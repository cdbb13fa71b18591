#!/bin/sh
# Sets the machine up, builds everything with warnings as errors and runs every test: the suite itself, then the stages
# of tests/stage.sh as tests of their own. Ends with ctest's summary. Arguments go to ctest, e.g. -R beam.
set -eu
cd "$(dirname "$0")/.."
. tests/setup.sh

set_up "$to_build" "$to_test"
cmake -S . -B build -DLUXFALL_TESTS=ON -DLUXFALL_WERROR=ON -DLUXFALL_STAGES=ON
cmake --build build -j "$jobs"
exec ctest --test-dir build --output-on-failure -j "$jobs" "$@"
