#!/bin/bash
# SPDX-License-Identifier: MIT
# The same tests over many more logs, recipes, flips and faults than make check has time for, as
# many at a time as there are cores; prints what each says. Environment: JOBS.
set -u
cd "$(dirname "$0")/.." || exit 1
unset MAKEFLAGS MFLAGS MAKELEVEL FLAVOUR
make=${MAKE:-make}
jobs=${JOBS:-$(nproc 2>/dev/null || echo 2)}
work=$(mktemp -d /tmp/coatbell-sweep.XXXXXX) || exit 1
trap 'rm -rf "$work"' EXIT
trap 'exit 130' INT TERM HUP
export work

# A test and its arguments, the longest first.
list() {
    cat <<'END'
fault/test_writes 1
property/test_learn_year 40
property/test_plan 200
property/test_plan 200 401
property/test_hours.sh 200
property/test_findings.sh 60 300
fault/test_write_commands 1
fault/test_swaps 1
property/test_noise 24
property/test_soak 24
property/test_memory.sh 3000
property/test_hours_front 50
property/test_kept 100
house/test_dist.sh builds
property/test_presses 300
fault/test_flips 1000
END
}

programs=$(list | sed -n 's/^\([^ .]*\) .*/build\/release\/tests\/\1/p' | sort -u)
# shellcheck disable=SC2086 # a list of words
"$make" -j"$jobs" FLAVOUR=release all tools $programs || exit 1

one() {
    local name=$1 out start=$SECONDS rc=0
    out=$work/$(printf '%s' "$*" | tr '/ ' '@_')
    shift
    case $name in
    *.sh) set -- bash "tests/$name" "$@" ;;
    *) set -- "build/release/tests/$name" "$@" ;;
    esac
    TEST_TIMEOUT=1200 tests/seal.sh "$@" >"$out" 2>&1 || rc=$?
    [ "$rc" -eq 0 ] || touch "$work/failed"
    printf '== %s: exit %s, %s s\n%s\n' "$*" "$rc" $((SECONDS - start)) "$(cat "$out")"
}
export -f one

# shellcheck disable=SC2016 # expanded by the inner bash
list | xargs -d '\n' -n1 -P"$jobs" bash -c 'read -r -a words <<<"$0"; one "${words[@]}"'
one terminal/test_together.sh 60 # whose seconds must be those of the program
[ ! -e "$work/failed" ]
