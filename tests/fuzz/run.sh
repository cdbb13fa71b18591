#!/bin/sh
# Fuzzes every target: fuzz/run.sh BUILD SECONDS. BUILD was configured with clang and LUXFALL_FUZZ (tests/stage.sh fuzz does
# so). New inputs go to BUILD/fuzz; the corpora of the tree are only read. An input that takes over 2 s is a finding too.
set -eu
here=$(cd "$(dirname "$0")" && pwd)
build=$1
seconds=$2
for source in "$here"/fuzz_*.c; do
    target=$(basename "$source" .c)
    name=${target#fuzz_}
    mkdir -p "$build/fuzz/$name"
    echo "== $target: $seconds s"
    (cd "$build/fuzz" && "$build/tests/$target" -max_total_time="$seconds" -timeout=2 -rss_limit_mb=1024 -max_len=65536 \
        -print_final_stats=1 -artifact_prefix="$build/fuzz/found-$name-" "$name" "$here/corpus_$name")
done
