#!/bin/bash
# SPDX-License-Identifier: MIT
# A bench may stay open for days (tests/tools/memory.c): 24 hours in which films fall due and no key
# is pressed leave what the process holds as it was, to 1 %; where keys are pressed an event costs
# at most 1 KiB of the heap, and of what is held no more than that and SQLite's cache of 2 MB.
# Usage: test_memory.sh [PRESSES]; `make sweep` has more.
set -u
memory=${CB_BUILD:-build/release}/tests/tools/memory
presses=${1:-400}
work=$(mktemp -d) || exit 1
trap 'rm -rf "$work"' EXIT
faults=0

# run HOW COUNT RULE: RULE is of awk, over heap held (before and after, KiB) and events.
run() {
    "$memory" "$1" "$2" "$work/$1.db" >"$work/said" || exit 1
    echo "$1 $2: $(cat "$work/said")"
    if ! awk -v least="$4" '{ heap = $2; heap2 = $3; held = $5; held2 = $6; events = $8
            exit !(events >= least && ('"$3"')) }' "$work/said"; then
        echo "FAILED: $1 $2: it grows, or less than $4 events were written"
        faults=1
    fi
}
run idle 24 'heap2 <= 1.01 * heap && held2 <= 1.01 * held' 15
run press "$presses" 'heap2 - heap <= events && held2 - held <= events + 2048' "$presses"
exit "$faults"
