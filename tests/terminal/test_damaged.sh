#!/bin/bash
# SPDX-License-Identifier: MIT
# A log that the disk has damaged: the bench says so and offers to go on with what can be read, in a
# fresh log; the damaged one stays beside it. One event that is damaged is left out, and it is said.
set -u
. tests/terminal/lib.sh

quick_recipe
start 80x24 "$coatbell begin $TMPDIR/quick.yaml --temp 23 --rh 50"
do_not_know
wait_for 'SPACE when Tarred rope is on figure 1'
keys Space
wait_for 'BKSP takes it back'
keys q
wait_for 'ended with 0'
"$coatbell" log export "$TMPDIR/before.jsonl" || die "no export of a whole log"
cp "$log" "$TMPDIR/whole.db"

# The head of the file is gone: no other program would call it a database.
printf 'XXXXXXXXXXXXXXXX' | dd of="$log" conv=notrunc status=none
"$coatbell" status >"$TMPDIR/out" 2>"$TMPDIR/err" && die "status says nothing of it"
grep -q 'coatbell: ' "$TMPDIR/err" || die "status says nothing of it"
"$coatbell" log export "$TMPDIR/saved.jsonl" 2>"$TMPDIR/err"
[ $? -eq 1 ] || die "the export of a damaged log does not end with 1"
events=$(wc -l <"$TMPDIR/before.jsonl")
grep -q "$events of $events events saved" "$TMPDIR/err" || die "export: $(cat "$TMPDIR/err")"
cmp -s "$TMPDIR/saved.jsonl" "$TMPDIR/before.jsonl" || die "other events were saved than there were"
"$coatbell" log import "$TMPDIR/saved.jsonl" --strict --log "$TMPDIR/new.db" >/dev/null ||
    die "what was saved does not come in again"
start 80x24 "$coatbell"
wait_for 'events can be read. Go on with them in a fresh log'
keys n Enter
wait_for 'ended with 65'
[ ! -e "$log.damaged" ] || die "it was put aside, though the answer was no"
start 80x24 "$coatbell"
wait_for 'events can be read. Go on with them in a fresh log'
keys y Enter
wait_for 'SPACE when Tarred rope is on figure 2'
keys q
wait_for 'ended with 0'
[ -s "$log.damaged" ] || die "the damaged log is gone"
[ "$(stat -c %a "$log")" = 600 ] || die "the fresh log is open to others"
"$coatbell" log export "$TMPDIR/after.jsonl" || die "no export of the fresh log"
head -n "$(wc -l <"$TMPDIR/before.jsonl")" "$TMPDIR/after.jsonl" | cmp -s - "$TMPDIR/before.jsonl" ||
    die "the fresh log holds other events than the damaged one did"

# One letter of the coat's own row.
cp "$TMPDIR/whole.db" "$log"
rm -f "$log-wal" "$log-shm"
at=$(grep -abo 'coat_on' "$log" | tail -1 | cut -d: -f1)
printf 'x' | dd of="$log" bs=1 seek="$at" conv=notrunc status=none
"$coatbell" units >"$TMPDIR/out" 2>"$TMPDIR/err"
[ $? -eq 65 ] || die "units: no word by its exit code"
grep -q '1 event is damaged' "$TMPDIR/err" || die "units: $(cat "$TMPDIR/err")"
start 80x24 "$coatbell"
wait_for 'SPACE when Tarred rope is on figure 1'
wait_for '1 event of the log is damaged'
keys q
wait_for 'ended with 0'
