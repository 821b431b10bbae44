#!/bin/sh
# SPDX-License-Identifier: MIT
# Usage: tests/bench.sh [quick]   (make bench [QUICK=1]; needs the release build and its tools)
# Runs every measuring program and ends with the page that sums them up; all of it stays in
# build/release/bench.txt. quick: the page on less, with the tables of few painters and recipes.
set -u
cd "$(dirname "$0")/.." || exit 1
tools=build/release/tests/tools
tables=build/release/bench.txt
: >"$tables"

run() {
    name=$1
    shift
    echo "== $name" | tee -a "$tables"
    "$tools/$name" "$@" 2>&1 | tee -a "$tables"
}

if [ "${1-}" = quick ]; then
    run bench_learn 5
    run bench_plan 4
else
    for program in tests/tools/bench_*.c; do
        program=$(basename "$program" .c)
        [ "$program" = bench_page ] || run "$program"
    done
fi
echo "== bench_page"
"$tools/bench_page" "$tables" "${1-}" | tee "$tables.page"
cat "$tables.page" >>"$tables" && rm "$tables.page"
