#!/bin/bash
# SPDX-License-Identifier: MIT
# With no unit open the review view is that of the last one finished, from its first row to its last.
set -u
. tests/terminal/lib.sh
mkdir -p "$(dirname "$log")"
"$coatbell" demo --history "$log" || die "no history"
for size in 50x15 80x24; do
    start "$size" "$coatbell"
    wait_for 'on the bench tonight'
    keys Escape F5
    wait_for 'ferry stairs'
    wait_for 'Where the hours went'
    keys Down Down
    wait_for '>Oilskins'
    keys End
    wait_for 'middle dry time'
    keys Home
    wait_for 'Where the hours went'
    keys q
    wait_for 'ended with 0'
done

# Of a unit begun and finished in the last session the log gives the bench no coats any more: its review
# is the one that is kept, and asks nothing that nobody has to answer.
rm -f "$log"*
quick_recipe
cat >"$TMPDIR/one.play" <<END
begin $TMPDIR/quick.yaml -n 2
at +20m
key SPACE
at +2m
key SPACE
at +9m
key SPACE
at +3m
key SPACE
key f
at +1m
key q
export $TMPDIR/one.jsonl
END
"$coatbell" play "$TMPDIR/one.play" || die "no evening"
"$coatbell" log import "$TMPDIR/one.jsonl" >"$TMPDIR/said" || die "no import"
hands_on=$("$coatbell" review | grep -m1 '^ hands-on' | cut -c1-25)
start 80x24 "$coatbell"
wait_for 'on the bench tonight'
keys Escape F5
wait_for 'Quick watch'
wait_for "$hands_on"
screen_lacks ENTER || die "asks what cannot be answered"
keys q
wait_for 'ended with 0'
