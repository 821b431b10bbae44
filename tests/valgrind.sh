#!/bin/bash
# SPDX-License-Identifier: MIT
# Usage: tests/valgrind.sh [TEST...]
# Memcheck over every unit test and two evenings of the program: one played, one on a terminal. It
# fails on memory that was never set, that is not ours any more, or that nobody gives back. Nothing is
# suppressed.
set -u
cd "$(dirname "$0")/.." || exit 1
jobs=${JOBS:-$(nproc 2>/dev/null || echo 2)}
out=build/valgrind/out
rm -rf "$out"
mkdir -p "$out"
export out

one() {
    local name=$1 log=$out/${1//\//@} rc=0
    shift
    TEST_TIMEOUT=900 tests/seal.sh "$@" >"$log" 2>&1 || rc=$?
    if [ "$rc" -ne 0 ]; then
        printf 'FAILED  %s ended with %s\n' "$name" "$rc"
        grep -E '^==|does not|FAILED' "$log" | head -40
    fi
    return "$rc"
}
export -f one

list() {
    if [ $# -gt 0 ]; then
        printf '%s\n' "$@"
        return
    fi
    for source in tests/unit/*/test_*.c; do
        name=${source#tests/}
        echo "${name%.c}"
    done
    echo play
    echo terminal
}

run() {
    local check='valgrind -q --error-exitcode=9 --leak-check=full --errors-for-leak-kinds=definite,indirect,possible'
    case $1 in
    play | terminal)
        one "$1" env CHECK="$check" CB_BUILD="$PWD/build/valgrind" bash tests/tools/valgrind_evening.sh "$1"
        ;;
    *) # shellcheck disable=SC2086 # words of the call
        one "$1" $check "build/valgrind/tests/$1" ;;
    esac
}
export -f run

# shellcheck disable=SC2016 # expanded by the inner bash
list "$@" | xargs -r -n1 -P"$jobs" bash -c 'run "$0" || exit 1' || {
    echo "not clean; see $out" >&2
    exit 1
}
echo "$(list "$@" | wc -l) programs clean"
