#!/bin/bash
# SPDX-License-Identifier: MIT
# A log that is written over or cut short under a running bench: the next press is NOT SAVED and ends in
# the file for `log import`; what was put there is left as it is; put back, the press is saved after all.
set -u
. tests/terminal/lib.sh
quick_recipe
"$coatbell" begin --log "$TMPDIR/other.db" "$TMPDIR/quick.yaml" --name Other </dev/null >/dev/null ||
    die "no other log"
start 80x24 "$coatbell" begin "$TMPDIR/quick.yaml" --temp 23 --rh 50
do_not_know
wait_for 'SPACE when'
keys Space
on() { [ "$(events coat_on | wc -l)" -eq "$1" ]; }
until_true on 1 || die "no coat"
rescued() { find "$HOME" -maxdepth 1 -name 'coatbell-unsaved-*.jsonl'; }

# Cut short, and put back before anybody leaves.
cp "$log" "$TMPDIR/whole.db"
: >"$log"
keys Space
wait_for '^ NOT SAVED  the log was written over or cut short: put'
screen | grep -q 'all well' && die "all well beside NOT SAVED"
keys Right # still taking keys
cp "$TMPDIR/whole.db" "$log"
wait_gone 'NOT SAVED'
until_true on 2 || die "the press is not in the log that was put back"

# Another log over it: the press is kept, and nothing of the old log gets into the new one.
cp "$TMPDIR/other.db" "$log"
keys Space
wait_for '^ NOT SAVED  the log was written over'
keys q
wait_for 'q again'
keys q
wait_for 'ended with 74'
[ "$(rescued | wc -l)" -eq 1 ] || die "the unsaved press is nowhere"
grep -c '"event":"coat_on"' "$(rescued)" | grep -qx 1 || die "another press is in the file"
cmp "$TMPDIR/other.db" "$log" || die "the log that was put there has been written to"
"$coatbell" log import "$(rescued)" >/dev/null || die "what was put aside can't be imported"
on 1 || die "the press did not arrive"
"$coatbell" units | grep -q '^Other ' || die "the other log is not what it was"
