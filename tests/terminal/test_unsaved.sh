#!/bin/bash
# SPDX-License-Identifier: MIT
# A log that can't be written (here: a limit on the size of files) keeps the program running with
# NOT SAVED; it tries again, and what is unsaved at the end is put elsewhere for `log import`.
set -u
. tests/terminal/lib.sh
command -v prlimit >/dev/null || skip "no prlimit"
quick_recipe
start 80x24 "$coatbell" begin "$TMPDIR/quick.yaml" --temp 23 --rh 50
do_not_know
wait_for 'SPACE when'
pid=$(bench_pid)

full() {
    prlimit --pid "$pid" --fsize="$(stat -c %s "$log-wal")": || skip "prlimit may not limit here"
}
room() {
    prlimit --pid "$pid" --fsize=unlimited: || die "the limit can't be taken back"
}
on() { [ "$(events coat_on | wc -l)" -eq "$1" ]; }

full
keys Space
wait_for 'NOT SAVED'
screen | head -1 | grep -q 'NOT SAVED' || die "NOT SAVED is not in the top row"
on 0 || die "it was saved after all"
keys Right # still taking keys
room
wait_gone 'NOT SAVED'
until_true on 1 || die "the press did not reach the log when there was room again"

full
keys Space
wait_for 'NOT SAVED'
keys q
until_true screen_has 'q again|again|ended with' || die "q says nothing"
keys q
wait_for 'ended with 74'
saved=$(find "$HOME" "$TMPDIR" -maxdepth 1 -name 'coatbell-unsaved-*.jsonl' | head -1)
[ -n "$saved" ] || die "the unsaved press is nowhere"
on 1 || die "the second press is in the log"
"$coatbell" log import "$saved" >/dev/null || die "what was put aside can't be imported"
on 2 || die "the import did not bring the press back"
"$coatbell" log import "$saved" >/dev/null
on 2 || die "importing twice brings it twice"
