#!/bin/bash
# SPDX-License-Identifier: MIT
# A bench that is idle lays a backup of the day and of the month beside its log; `log restore`
# takes one, and never under an open bench.
set -u
. tests/terminal/lib.sh

quick_recipe
start 80x24 "$coatbell begin $TMPDIR/quick.yaml --temp 23 --rh 50"
do_not_know
wait_for 'SPACE when'
laid() { ls "$log".daily-????-??-?? "$log".monthly-????-??; }
until_true laid >/dev/null 2>&1 || die "no backup: $(ls "$(dirname "$log")")"
[ "$(stat -c %a "$log".daily-*)" = 600 ] || die "others may read it"
"$coatbell" log check --log "$(echo "$log".daily-*)" | grep -q '^nothing to mend' || die "it is not whole"
keys Space
wait_for 'BKSP'
"$coatbell" log backup "$TMPDIR/now.db" --log "$log" || die "no backup beside a running bench"
"$coatbell" log restore "$TMPDIR/now.db" --log "$log" --yes && die "restored under an open bench"
keys q
wait_for 'ended with 0'
"$coatbell" log restore "$(echo "$log".daily-*)" --log "$log" 2>"$TMPDIR/err" && die "events are gone"
grep -q 'events that the backup has not; --yes' "$TMPDIR/err" || die "$(cat "$TMPDIR/err")"
"$coatbell" log restore "$TMPDIR/now.db" --log "$log" --yes || die "not restored"
"$coatbell" log export --log "$log" | grep -q coat_on || die "the coat is gone"

# An event that is gone from a finished unit of a log of years is met by the copy alone, and said.
command -v sqlite3 >/dev/null || skip "no sqlite3"
rm -f "$log"*
"$tools/make_log" "$log" 10000 20 >/dev/null || die "no log of years"
gone="(SELECT unit FROM event WHERE event = 'unit_finished' ORDER BY row LIMIT 1)"
sqlite3 "$log" "DELETE FROM event WHERE row = (SELECT min(row) FROM event WHERE event = 'coat_on' AND unit = $gone)"
start 120x40 "$coatbell"
wait_for 'no backup of the log today: it is damaged; see'
! laid >/dev/null 2>&1 || die "a bad log is kept"
