#!/bin/bash
# SPDX-License-Identifier: MIT
# Usage: tests/fuzz/run.sh SECONDS [TARGET...]
# Each parser for that long, as many at a time as there are cores, from its kept corpus, under
# address and undefined-behaviour sanitizers. A line each: what was run, what was found. What is new
# stays in build/fuzz/corpus; what breaks a target in build/fuzz/found, with its output in
# build/fuzz/TARGET.out: copy that file into tests/fuzz/corpus/TARGET.
# Fails on a crash, a leak, more than 2 GiB, an input that takes longer than a second (LIMIT; of the
# app, whose input is a whole evening, ten times as long). That is by the clock: where neighbours
# take the machine, a longer LIMIT is fair.
set -u
cd "$(dirname "$0")/../.." || exit 1
seconds=${1:?how many seconds for each}
shift
jobs=${JOBS:-$(nproc 2>/dev/null || echo 2)}
export seconds LIMIT=${LIMIT:-1}
mkdir -p build/fuzz/found

one() {
    local name=$1 out=build/fuzz/$1.out rc=0 dictionary='' limit=$LIMIT
    [ "$name" = app ] && limit=$((10 * LIMIT))
    mkdir -p "build/fuzz/corpus/$name"
    [ -e "tests/fuzz/$name.dict" ] && dictionary="-dict=tests/fuzz/$name.dict"
    # shellcheck disable=SC2086 # none or one word
    TZ=UTC LC_ALL=C.UTF-8 "build/fuzz/tests/fuzz/fuzz_$name" -max_total_time="$seconds" \
        -timeout="$limit" -rss_limit_mb=2048 -verbosity=1 -print_final_stats=1 $dictionary \
        -artifact_prefix="build/fuzz/found/$name-" "build/fuzz/corpus/$name" \
        "tests/fuzz/corpus/$name" >"$out" 2>&1 </dev/null || rc=$?
    runs=$(sed -n 's/^stat::number_of_executed_units: *//p' "$out")
    slowest=$(sed -n 's/^stat::slowest_unit_time_sec: *//p' "$out")
    covered=$(sed -n 's/.* cov: \([0-9]*\) .*/\1/p' "$out" | tail -1)
    found=$(find build/fuzz/found -name "$name-*" | wc -l)
    printf '%-8s %9s runs, %6s edges, slowest %s s, %s found%s\n' "$name" "${runs:-?}" \
        "${covered:-?}" "${slowest:-?}" "$found" \
        "$([ "$rc" -eq 0 ] || echo ", ended with $rc: see $out")"
    [ "$rc" -eq 0 ] || grep -E 'does not hold|^SUMMARY|^Base64' "$out" # for who has no more than this
    return "$rc"
}
export -f one

targets=("$@")
# First what is too large to be found by trying: how much work it makes, in the release build.
[ ${#targets[@]} -gt 0 ] || build/release/tests/tools/bench_hostile --judge || {
    echo "an input that takes seconds" >&2
    exit 1
}
if [ ${#targets[@]} -eq 0 ]; then
    for source in tests/fuzz/fuzz_*.c; do
        name=$(basename "$source" .c)
        targets+=("${name#fuzz_}")
    done
fi
# shellcheck disable=SC2016 # expanded by the inner bash
printf '%s\n' "${targets[@]}" | xargs -r -n1 -P"$jobs" bash -c 'one "$0" || exit 1' || {
    echo "broken; see build/fuzz/found" >&2
    exit 1
}
