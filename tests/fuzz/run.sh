#!/bin/sh
# SPDX-License-Identifier: MIT
# Usage: tests/fuzz/run.sh SECONDS
# Each parser for that long, from its kept corpus; what it finds new stays in build/fuzz/corpus,
# what breaks a target in build/fuzz/found: copy that file into tests/fuzz/corpus/TARGET.
set -u
cd "$(dirname "$0")/../.." || exit 1
failed=
for source in tests/fuzz/fuzz_*.c; do
    [ -e "$source" ] || continue
    program=$(basename "$source" .c)
    name=${program#fuzz_}
    mkdir -p "build/fuzz/corpus/$name" "build/fuzz/found"
    echo "== $name, $1 s"
    dictionary=
    [ -e "tests/fuzz/$name.dict" ] && dictionary="-dict=tests/fuzz/$name.dict"
    # shellcheck disable=SC2086
    TZ=UTC LC_ALL=C.UTF-8 "build/fuzz/tests/fuzz/$program" -max_total_time="$1" -timeout=10 \
        -rss_limit_mb=2048 -verbosity=0 -print_final_stats=1 $dictionary \
        -artifact_prefix="build/fuzz/found/$name-" "build/fuzz/corpus/$name" \
        "tests/fuzz/corpus/$name" || failed="$failed $name"
done
[ -z "$failed" ] || {
    echo "broken:$failed; see build/fuzz/found" >&2
    exit 1
}
